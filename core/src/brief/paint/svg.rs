//! A sheet as SVG. Letters are outlines kept once each, so that the picture is the same on every machine.

use super::super::ink::Rgb;
use super::hatch;
use super::lettering::{Hand, Lettering, Weight};
use super::packed::{Packed, letters};
use super::sheet::{Framed, Sheet};
use crate::files::escaped;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use tiny_skia::{Path, PathSegment, Pixmap, Point, Transform};

/// A page being drawn as SVG 1.1. It keeps to paths, groups, re-used outlines and pictures, which every program draws: hatching is lines, and
/// what leaves the map is covered by the page.
///
/// # Source
/// W3C, Scalable Vector Graphics (SVG) 1.1 (Second Edition), 2011.
#[derive(Default)]
pub struct Svg {
    size: (u32, u32),
    title: String,
    body: String,
    /// Whether a part is open at the level now drawn on.
    open: bool,
    /// Outlines of letters by weight and number in the type.
    letters: BTreeMap<(bool, u16), String>,
    /// The page's colour, laid over whatever leaves the frame.
    ground: Option<Rgb>,
    frame: (u32, u32, u32, u32),
}

impl Svg {
    /// A page of one colour.
    pub fn new(size: (u32, u32), title: &str, ground: Rgb) -> Self {
        let mut page = Self { size, title: escaped(title).into_owned(), ground: Some(ground), ..Self::default() };
        let _ = writeln!(page.body, "<rect width=\"{}\" height=\"{}\" fill=\"{}\"/>", size.0, size.1, colour(ground));
        page
    }

    /// The file's text.
    pub fn finish(mut self) -> String {
        self.close();
        let (w, h) = self.size;
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" version=\"1.1\" width=\"{w}\" \
             height=\"{h}\" viewBox=\"0 0 {w} {h}\">\n<title>{}</title>\n<defs>\n",
            self.title
        );
        for ((semibold, glyph), d) in &self.letters {
            let _ = writeln!(out, "<path id=\"{}\" d=\"{d}\"/>", letter_id(*semibold, *glyph));
        }
        out.push_str("</defs>\n");
        out.push_str(&self.body);
        out.push_str("</svg>\n");
        out
    }

    fn close(&mut self) {
        if std::mem::take(&mut self.open) {
            self.body.push_str("</g>\n");
        }
    }

    fn path(&mut self, path: &Path, how: &str) {
        self.body.push_str("<path d=\"");
        outline(path, &mut self.body);
        let _ = writeln!(self.body, "\" {how}/>");
    }

    fn stroke(&mut self, path: &Path, ink: Rgb, width: f32, ends: &str) {
        let how = format!("fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"{ends}", colour(ink), short(width));
        self.path(path, &how);
    }
}

impl Sheet for Svg {
    fn fill(&mut self, path: &Path, ink: Rgb) {
        self.path(path, &format!("fill=\"{}\"", colour(ink)));
    }

    fn fill_even_odd(&mut self, path: &Path, ink: Rgb) {
        self.path(path, &format!("fill=\"{}\" fill-rule=\"evenodd\"", colour(ink)));
    }

    fn wash(&mut self, path: &Path, ink: Rgb, share: f32) {
        self.path(path, &format!("fill=\"{}\" fill-opacity=\"{}\" fill-rule=\"evenodd\"", colour(ink), short(share)));
    }

    fn picture(&mut self, picture: &Pixmap, (x, y): (f32, f32), scale: f32) {
        let Some(packed) = Packed::of(picture) else { return };
        let [wide, high] = [picture.width(), picture.height()].map(|v| short(v as f32 * scale));
        let _ = write!(
            self.body,
            "<image x=\"{}\" y=\"{}\" width=\"{wide}\" height=\"{high}\" preserveAspectRatio=\"none\" xlink:href=\"data:{};base64,",
            short(x),
            short(y),
            packed.kind()
        );
        self.body.push_str(&letters(packed.bytes()));
        self.body.push_str("\"/>\n");
    }

    fn hatch(&mut self, path: &Path, ink: Rgb, apart: u32, width: f32) {
        if let Some(lines) = hatch::lines(path, apart as f32) {
            self.line(&lines, ink, width);
        }
    }

    fn line(&mut self, path: &Path, ink: Rgb, width: f32) {
        self.stroke(path, ink, width, "");
    }

    fn soft_line(&mut self, path: &Path, ink: Rgb, width: f32) {
        self.stroke(path, ink, width, " stroke-linecap=\"round\"");
    }

    fn letters(&mut self, lettering: &Lettering, text: &str, hand: Hand, at: Transform) {
        let semibold = hand.weight == Weight::Semibold;
        let scale = hand.size / lettering.units(hand.weight);
        // The type's own units, y upwards.
        let t = at.pre_scale(scale, -scale);
        let numbers = [t.sx, t.ky, t.kx, t.sy].map(|v| format!("{v:.5}")).join(" ");
        let _ = write!(
            self.body,
            "<g role=\"img\" aria-label=\"{}\" fill=\"{}\" transform=\"matrix({numbers} {} {})\">",
            escaped(text),
            colour(hand.ink),
            short(t.tx),
            short(t.ty)
        );
        for glyph in lettering.glyphs(text, hand.weight) {
            if let Some(path) = lettering.outline(glyph.id, hand.weight) {
                let shape = self.letters.entry((semibold, glyph.id)).or_default();
                if shape.is_empty() {
                    outline(&path, shape);
                }
                let _ = write!(self.body, "<use xlink:href=\"#{}\" x=\"{}\"/>", letter_id(semibold, glyph.id), short(glyph.from));
            }
        }
        self.body.push_str("</g>\n");
    }

    fn part(&mut self, name: &'static str) {
        self.close();
        let _ = writeln!(self.body, "<g id=\"{name}\">");
        self.open = true;
    }
}

impl Framed for Svg {
    fn enter(&mut self, frame: (u32, u32, u32, u32)) {
        self.close();
        let _ = writeln!(self.body, "<g transform=\"translate({} {})\">", frame.0, frame.1);
        self.frame = frame;
    }

    fn leave(&mut self) {
        self.close();
        self.body.push_str("</g>\n");
        let ((w, h), (x, y, wide, high)) = (self.size, self.frame);
        let Some(ground) = self.ground.map(colour) else { return };
        // The page with a hole where the map is.
        let _ = writeln!(
            self.body,
            "<path d=\"M0 0H{w}V{h}H0zM{x} {y}V{}H{}V{y}z\" fill=\"{ground}\" fill-rule=\"evenodd\"/>",
            y + high,
            x + wide
        );
    }
}

fn letter_id(semibold: bool, glyph: u16) -> String {
    format!("{}{glyph}", if semibold { 's' } else { 'r' })
}

fn colour(ink: Rgb) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.0, ink.1, ink.2)
}

/// A number in hundredths, as short as it can be written.
fn short(v: f32) -> String {
    let mut out = String::new();
    push((v * 100.0).round() as i64, &mut out);
    out
}

/// Adds a number given in hundredths, a space before it where the number before would run into it.
fn push(hundredths: i64, out: &mut String) {
    let after_digit = out.ends_with(|c: char| c.is_ascii_digit());
    if after_digit && hundredths >= 0 {
        out.push(' ');
    }
    if hundredths < 0 {
        out.push('-');
    }
    let (whole, rest) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
    if whole > 0 || rest == 0 {
        let _ = write!(out, "{whole}");
    }
    match rest {
        0 => {}
        r if r % 10 == 0 => drop(write!(out, ".{}", r / 10)),
        r => drop(write!(out, ".{r:02}")),
    }
}

/// Adds a path, each place told from the one before: hundredths of a pixel are exact and long outlines stay short.
fn outline(path: &Path, out: &mut String) {
    let mut pen = Pen { at: (0, 0), start: (0, 0), out };
    for segment in path.segments() {
        match segment {
            PathSegment::MoveTo(p) => {
                pen.step('m', &[p]);
                pen.start = pen.at;
            }
            PathSegment::LineTo(p) => pen.step('l', &[p]),
            PathSegment::QuadTo(a, p) => pen.step('q', &[a, p]),
            PathSegment::CubicTo(a, b, p) => pen.step('c', &[a, b, p]),
            PathSegment::Close => {
                pen.out.push('z');
                pen.at = pen.start;
            }
        }
    }
}

struct Pen<'a> {
    at: (i64, i64),
    start: (i64, i64),
    out: &'a mut String,
}

impl Pen<'_> {
    fn step(&mut self, how: char, places: &[Point]) {
        let whole = |p: &Point| ((p.x * 100.0).round() as i64, (p.y * 100.0).round() as i64);
        if how == 'l' && places.first().map(whole) == Some(self.at) {
            return; // no longer than nothing
        }
        self.out.push(how);
        for (x, y) in places.iter().map(whole) {
            push(x - self.at.0, self.out);
            push(y - self.at.1, self.out);
        }
        if let Some(last) = places.last() {
            self.at = whole(last);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiny_skia::PathBuilder;

    /// Path data as SVG 1.1, section 8.3, reads it: "m" begins a subpath relative to the place before, "z" goes back to its start.
    #[test]
    fn paths_are_short_and_exact() {
        let mut path = PathBuilder::new();
        path.move_to(10.0, 20.5);
        path.line_to(10.25, 20.5);
        path.line_to(10.25, 20.502);
        path.line_to(9.0, 20.0);
        path.close();
        path.move_to(10.0, 20.5);
        path.quad_to(11.0, 21.0, 12.0, 20.5);
        let mut out = String::new();
        outline(&path.finish().unwrap(), &mut out);
        assert_eq!(out, "m10 20.5l.25 0l-1.25-.5zm0 0q1 .5 2 0");
    }
}
