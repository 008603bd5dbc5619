//! Writing pages of a PDF: words, lines and boxes in points from the upper left corner, in type that the file carries.

use super::super::ink::Rgb;
use super::super::paint::document;
use super::super::paint::lettering::{Hand, Lettering, REGULAR, SEMIBOLD, Weight};
use super::SheetError;
use krilla::color::rgb;
use krilla::document::Document;
use krilla::geom::{Path, PathBuilder, Point, Rect, Transform};
use krilla::graphic::Graphic;
use krilla::page::PageSettings;
use krilla::paint::{Fill, LineCap, LineJoin, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};

/// A place on a page: points from the left and from the top.
pub type At = (f32, f32);

/// The type, as pages carry it and as words are measured in it.
pub struct Press {
    regular: Font,
    semibold: Font,
    pub lettering: Lettering,
}

impl Press {
    /// # Errors
    /// [`SheetError::Type`] when the type that the program carries is broken.
    pub fn new() -> Result<Self, SheetError> {
        let font = |bytes: &'static [u8]| Font::new(bytes.into(), 0).ok_or(SheetError::Type);
        Ok(Self { regular: font(REGULAR)?, semibold: font(SEMIBOLD)?, lettering: Lettering::new().ok_or(SheetError::Type)? })
    }

    /// Draws pages one after the other and gives the bytes of the file. `draw` is told the number of the page, from 0.
    ///
    /// # Errors
    /// [`SheetError::Page`] when a page has no size, [`SheetError::Pdf`] when the file cannot be made.
    pub fn print(
        &self,
        title: &str,
        size: (f32, f32),
        pages: usize,
        draw: &mut dyn FnMut(usize, &mut Leaf<'_, '_>),
    ) -> Result<Vec<u8>, SheetError> {
        let mut document = document(title);
        for number in 0..pages {
            self.add(&mut document, size, |leaf| draw(number, leaf))?;
        }
        finished(document)
    }

    /// Draws one more page of a file.
    ///
    /// # Errors
    /// [`SheetError::Page`] when the page has no size.
    pub fn add(&self, document: &mut Document, size: (f32, f32), draw: impl FnOnce(&mut Leaf<'_, '_>)) -> Result<(), SheetError> {
        let settings = PageSettings::from_wh(size.0, size.1).ok_or(SheetError::Page)?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        draw(&mut Leaf { surface: &mut surface, press: self });
        surface.finish();
        page.finish();
        Ok(())
    }
}

/// The bytes of a file whose pages are drawn.
///
/// # Errors
/// [`SheetError::Pdf`] when the file cannot be made.
pub fn finished(document: Document) -> Result<Vec<u8>, SheetError> {
    document.finish().map_err(|e| SheetError::Pdf { reason: format!("{e:?}") })
}

/// One page being drawn.
pub struct Leaf<'a, 's> {
    surface: &'a mut Surface<'s>,
    pub press: &'a Press,
}

/// How a line is drawn: its ink and its width in points.
#[derive(Clone, Copy, Debug)]
pub struct Line(pub Rgb, pub f32);

impl Leaf<'_, '_> {
    /// How wide a text is, in points.
    pub fn width(&self, text: &str, hand: Hand) -> f32 {
        self.press.lettering.width(text, hand)
    }

    /// A text, cut short where it is wider than a width.
    pub fn cut(&self, text: &str, width: f32, hand: Hand) -> String {
        self.press.lettering.cut(text, width, hand)
    }

    /// Writes a text that begins at a place; the second number is the line that it stands on. Gives back where it ends.
    pub fn write(&mut self, text: &str, at: At, hand: Hand) -> f32 {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(hand.ink)));
        self.letters(text, at, hand);
        at.0 + self.width(text, hand)
    }

    /// Writes a text that ends at a place.
    pub fn write_to(&mut self, text: &str, at: At, hand: Hand) {
        self.write(text, (at.0 - self.width(text, hand), at.1), hand);
    }

    /// Writes a text with its middle at a place, on a pale ground of its own shape, turned by some degrees clockwise.
    pub fn write_round(&mut self, text: &str, at: At, turned: f32, hand: Hand, ground: Rgb) {
        let from = (at.0 - self.width(text, hand) / 2.0, at.1 + hand.size * 0.34);
        self.surface.push_transform(&Transform::from_rotate_at(turned, at.0, at.1));
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(stroke(Line(ground, hand.size * 0.32))));
        self.letters(text, from, hand);
        self.write(text, from, hand);
        self.surface.pop();
    }

    fn letters(&mut self, text: &str, at: At, hand: Hand) {
        let font = if hand.weight == Weight::Regular { &self.press.regular } else { &self.press.semibold };
        self.surface.draw_text(Point::from_xy(at.0, at.1), font.clone(), hand.size, text, false, TextDirection::LeftToRight);
    }

    /// Writes a text in lines below one another; gives back the line after the last.
    pub fn lines(&mut self, text: &str, at: At, width: f32, hand: Hand, step: f32) -> f32 {
        let mut y = at.1;
        for line in self.press.lettering.broken(text, width, hand) {
            self.write(&line, (at.0, y), hand);
            y += step;
        }
        y
    }

    /// A line through some places.
    pub fn line(&mut self, places: &[At], line: Line) {
        if let Some(path) = trace(places, false) {
            self.outlined(&path, line);
        }
    }

    /// A closed shape with or without a fill, with or without an edge.
    pub fn shape(&mut self, rings: &[Vec<At>], ground: Option<Rgb>, edge: Option<Line>) {
        let mut path = PathBuilder::new();
        rings.iter().for_each(|ring| follow(&mut path, ring, true));
        if let Some(path) = path.finish() {
            self.surface.set_fill(ground.map(|ink| Fill { rule: krilla::paint::FillRule::EvenOdd, ..fill(ink) }));
            self.surface.set_stroke(edge.map(stroke));
            self.surface.draw_path(&path);
        }
    }

    /// An upright box: left, top, width, height.
    pub fn frame(&mut self, (x, y, w, h): (f32, f32, f32, f32), ground: Option<Rgb>, edge: Option<Line>) {
        self.shape(&[vec![(x, y), (x + w, y), (x + w, y + h), (x, y + h)]], ground, edge);
    }

    /// A disc.
    pub fn disc(&mut self, (x, y): At, radius: f32, ground: Rgb, edge: Line) {
        // Control points of a quarter circle: 4/3·(√2 − 1), the usual approximation (from memory; off by 0.03 % of the radius).
        let (r, k) = (radius, radius * 0.552_285);
        let mut path = PathBuilder::new();
        path.move_to(x + r, y);
        path.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
        path.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
        path.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
        path.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
        path.close();
        if let Some(path) = path.finish() {
            self.surface.set_fill(Some(fill(ground)));
            self.surface.set_stroke(Some(stroke(edge)));
            self.surface.draw_path(&path);
        }
    }

    /// Draws inside a box only.
    pub fn within(&mut self, (x, y, w, h): (f32, f32, f32, f32), draw: impl FnOnce(&mut Self)) {
        let mut path = PathBuilder::new();
        if let Some(rect) = Rect::from_xywh(x, y, w, h) {
            path.push_rect(rect);
        }
        let Some(path) = path.finish() else { return };
        self.surface.push_clip_path(&path, &krilla::paint::FillRule::NonZero);
        draw(self);
        self.surface.pop();
    }

    /// Draws something that stands on many pages of this file; the file holds it once.
    pub fn once(&mut self, draw: impl FnOnce(&mut Leaf<'_, '_>)) -> Graphic {
        let mut builder = self.surface.stream_builder();
        let mut surface = builder.surface();
        draw(&mut Leaf { surface: &mut surface, press: self.press });
        surface.finish();
        Graphic::new(builder.finish(), false)
    }

    /// Puts what was drawn once on this page, its upper left corner at a place.
    pub fn stamp(&mut self, drawn: &Graphic, (x, y): At) {
        self.surface.push_transform(&Transform::from_translate(x, y));
        self.surface.draw_graphic(drawn.clone());
        self.surface.pop();
    }

    fn outlined(&mut self, path: &Path, line: Line) {
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(stroke(line)));
        self.surface.draw_path(path);
    }
}

fn fill(ink: Rgb) -> Fill {
    Fill { paint: rgb::Color::new(ink.0, ink.1, ink.2).into(), ..Fill::default() }
}

fn stroke(Line(ink, width): Line) -> Stroke {
    let paint = rgb::Color::new(ink.0, ink.1, ink.2).into();
    Stroke { paint, width, line_cap: LineCap::Round, line_join: LineJoin::Round, ..Stroke::default() }
}

fn trace(places: &[At], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    follow(&mut path, places, closed);
    path.finish()
}

fn follow(path: &mut PathBuilder, places: &[At], closed: bool) {
    for (i, &(x, y)) in places.iter().enumerate() {
        if i == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
    }
    if closed && !places.is_empty() {
        path.close();
    }
}
