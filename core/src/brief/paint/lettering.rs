//! Words on a picture: the outlines of letters from the type that the program carries.

use super::super::ink::Rgb;
use super::sheet::Sheet;
use std::ops::Range;
use tiny_skia::{Path, PathBuilder, Transform};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

/// Open Sans, regular and semibold (Apache License 2.0, beside the files); all figures have one width.
pub const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/OpenSans-Regular.ttf");
pub const SEMIBOLD: &[u8] = include_bytes!("../../../assets/fonts/OpenSans-Semibold.ttf");

/// How heavy letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    Regular,
    Semibold,
}

/// How letters are written: their weight, size in pixels and ink.
#[derive(Clone, Copy, Debug)]
pub struct Hand {
    pub weight: Weight,
    pub size: f32,
    pub ink: Rgb,
}

/// One letter of a text.
pub struct Glyph {
    /// Its number in the type.
    pub id: u16,
    /// Where it begins, in the type's own units.
    pub from: f32,
    /// Where the next one begins after it.
    pub advance: f32,
    /// The bytes of the text that it shows.
    pub bytes: Range<usize>,
}

/// The type, ready to write with.
pub struct Lettering {
    regular: Face<'static>,
    semibold: Face<'static>,
}

impl Lettering {
    /// The type that the program carries; `None` when its files are broken.
    pub fn new() -> Option<Self> {
        Some(Self { regular: Face::parse(REGULAR, 0).ok()?, semibold: Face::parse(SEMIBOLD, 0).ok()? })
    }

    fn face(&self, weight: Weight) -> &Face<'static> {
        if weight == Weight::Regular { &self.regular } else { &self.semibold }
    }

    /// The file of the type.
    pub fn file(&self, weight: Weight) -> &'static [u8] {
        if weight == Weight::Regular { REGULAR } else { SEMIBOLD }
    }

    /// The type's own units in a letter's size.
    pub fn units(&self, weight: Weight) -> f32 {
        f32::from(self.face(weight).units_per_em())
    }

    /// The letters of a text in the type's own units. One that the type lacks is the type's own empty box.
    pub fn glyphs(&self, text: &str, weight: Weight) -> impl Iterator<Item = Glyph> {
        let face = self.face(weight);
        text.char_indices().scan(0.0, move |from, (at, c)| {
            let glyph = Glyph {
                id: face.glyph_index(c).unwrap_or_default().0,
                from: *from,
                advance: advance(face, c),
                bytes: at..at + c.len_utf8(),
            };
            *from += glyph.advance;
            Some(glyph)
        })
    }

    /// The outline of one letter in the type's own units, y upwards; `None` for one that shows nothing.
    pub fn outline(&self, glyph: u16, weight: Weight) -> Option<Path> {
        let mut pen = Pen { path: PathBuilder::new(), x: 0.0, scale: 1.0 };
        self.face(weight).outline_glyph(GlyphId(glyph), &mut pen);
        pen.path.finish()?.transform(Transform::from_scale(1.0, -1.0))
    }

    /// How wide a text is, in pixels.
    pub fn width(&self, text: &str, hand: Hand) -> f32 {
        let units: f32 = self.glyphs(text, hand.weight).map(|g| g.advance).sum();
        units * hand.size / self.units(hand.weight)
    }

    /// The outlines of a text that begins at 0, 0 and stands on the line y = 0; `None` when nothing would be seen.
    pub fn outlines(&self, text: &str, hand: Hand) -> Option<Path> {
        let scale = hand.size / self.units(hand.weight);
        let mut pen = Pen { path: PathBuilder::new(), x: 0.0, scale };
        for glyph in self.glyphs(text, hand.weight) {
            pen.x = glyph.from * scale;
            self.face(hand.weight).outline_glyph(GlyphId(glyph.id), &mut pen);
        }
        pen.path.finish()
    }

    /// Writes a text that begins at a place; `y` is the line that it stands on. Gives back where it ends.
    pub fn write(&self, sheet: &mut dyn Sheet, text: &str, (x, y): (f32, f32), hand: Hand) -> f32 {
        sheet.letters(self, text, hand, Transform::from_translate(x, y));
        x + self.width(text, hand)
    }

    /// Writes a text that ends at a place.
    pub fn write_to(&self, sheet: &mut dyn Sheet, text: &str, (x, y): (f32, f32), hand: Hand) {
        self.write(sheet, text, (x - self.width(text, hand), y), hand);
    }

    /// A text in lines no wider than a width, broken between words.
    pub fn broken(&self, text: &str, width: f32, hand: Hand) -> Vec<String> {
        self.broken_after(0.0, text, width, hand)
    }

    /// The same where some of the first line's width is taken already; the first line is empty where nothing fits behind that.
    pub fn broken_after(&self, taken: f32, text: &str, width: f32, hand: Hand) -> Vec<String> {
        let blank = self.width(" ", hand);
        let mut lines: Vec<String> = if taken > 0.0 { vec![String::new()] } else { Vec::new() };
        let mut used = taken;
        for word in text.split_whitespace() {
            let wide = self.width(word, hand);
            match lines.last_mut() {
                Some(line) if used + blank + wide <= width => {
                    line.push_str(if line.is_empty() { "" } else { " " });
                    line.push_str(word);
                    used += blank + wide;
                }
                _ => {
                    lines.push(word.to_owned());
                    used = wide;
                }
            }
        }
        lines
    }

    /// A text, cut short with "…" where it is wider than a width.
    pub fn cut(&self, text: &str, width: f32, hand: Hand) -> String {
        if self.width(text, hand) <= width {
            return text.to_owned();
        }
        let mut kept: String = text.to_owned();
        while !kept.is_empty() && self.width(&format!("{kept}…"), hand) > width {
            kept.pop();
        }
        format!("{}…", kept.trim_end())
    }
}

fn advance(face: &Face<'_>, c: char) -> f32 {
    let glyph = face.glyph_index(c).unwrap_or_default();
    f32::from(face.glyph_hor_advance(glyph).unwrap_or(0))
}

/// Draws the outlines of letters one after the other.
struct Pen {
    path: PathBuilder,
    x: f32,
    scale: f32,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        (self.x + x * self.scale, -y * self.scale)
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.line_to(x, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.at(x1, y1), self.at(x, y));
        self.path.quad_to(x1, y1, x, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.cubic_to(x1, y1, x2, y2, x, y);
    }

    fn close(&mut self) {
        self.path.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::ink::INK;

    const HAND: Hand = Hand { weight: Weight::Regular, size: 20.0, ink: INK };

    #[test]
    fn figures_have_one_width_and_accents_have_letters() {
        let l = Lettering::new().unwrap();
        let widths: Vec<f32> = ('0'..='9').map(|c| l.width(&c.to_string(), HAND)).collect();
        assert!(widths.iter().all(|w| (w - widths[0]).abs() < 1e-4));
        for c in "ü–·²ñ…°".chars() {
            assert!(l.regular.glyph_index(c).is_some() && l.semibold.glyph_index(c).is_some(), "{c}");
        }
    }

    #[test]
    fn lines_break_between_words_and_lose_none() {
        let l = Lettering::new().unwrap();
        let text = "Enter no yard without permission or other lawful authority.";
        let lines = l.broken(text, 160.0, HAND);
        assert!(lines.len() > 2 && lines.iter().all(|line| l.width(line, HAND) <= 160.0));
        assert_eq!(lines.join(" "), text);
        let after = l.broken_after(100.0, text, 160.0, HAND);
        assert!(l.width(&after[0], HAND) <= 60.0 && after.iter().skip(1).all(|line| l.width(line, HAND) <= 160.0));
        assert_eq!(
            (after.join(" "), l.broken_after(159.0, "gutter", 160.0, HAND)),
            (text.to_owned(), vec![String::new(), "gutter".to_owned()])
        );
        assert!(l.width(&l.cut(text, 160.0, HAND), HAND) <= 160.0);
    }
}
