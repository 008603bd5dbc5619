//! A sheet of pixels.

use super::super::ink::Rgb;
use super::lettering::{Hand, Lettering};
use super::sheet::{Sheet, slants};
use tiny_skia::{
    Color, FillRule, FilterQuality, LineCap, LineJoin, Paint, Path, Pattern, Pixmap, PixmapPaint, SpreadMode, Stroke, Transform,
};

/// A sheet of pixels.
pub struct Canvas {
    pixels: Pixmap,
}

impl Canvas {
    /// A sheet of one colour; `None` when it would have no pixel or too many.
    pub fn new(width: u32, height: u32, ground: Rgb) -> Option<Self> {
        let mut pixels = Pixmap::new(width, height)?;
        pixels.fill(colour(ground));
        Some(Self { pixels })
    }

    /// Lays another sheet on this one.
    pub fn lay(&mut self, sheet: &Self, x: i32, y: i32) {
        self.pixels.draw_pixmap(x, y, sheet.pixels.as_ref(), &PixmapPaint::default(), Transform::identity(), None);
    }

    /// The sheet as the bytes of a PNG file; `None` when it cannot be written.
    pub fn png(&self) -> Option<Vec<u8>> {
        self.pixels.encode_png().ok()
    }
}

impl Sheet for Canvas {
    fn fill(&mut self, path: &Path, ink: Rgb) {
        self.pixels.fill_path(path, &solid(ink), FillRule::Winding, Transform::identity(), None);
    }

    fn fill_even_odd(&mut self, path: &Path, ink: Rgb) {
        self.pixels.fill_path(path, &solid(ink), FillRule::EvenOdd, Transform::identity(), None);
    }

    fn wash(&mut self, path: &Path, ink: Rgb, share: f32) {
        let mut paint = solid(ink);
        let mut tint = colour(ink);
        tint.apply_opacity(share);
        paint.set_color(tint);
        self.pixels.fill_path(path, &paint, FillRule::EvenOdd, Transform::identity(), None);
    }

    fn picture(&mut self, picture: &Pixmap, (x, y): (f32, f32), scale: f32) {
        let place = Transform::from_row(scale, 0.0, 0.0, scale, x, y);
        let quality = if scale == 1.0 { FilterQuality::Nearest } else { FilterQuality::Bilinear };
        self.pixels.draw_pixmap(0, 0, picture.as_ref(), &PixmapPaint { quality, ..PixmapPaint::default() }, place, None);
    }

    fn hatch(&mut self, path: &Path, ink: Rgb, apart: u32, width: f32) {
        let Some(tile) = hatching(ink, apart, width) else { return };
        let shader = Pattern::new(tile.as_ref(), SpreadMode::Repeat, FilterQuality::Nearest, 1.0, Transform::identity());
        let paint = Paint { shader, anti_alias: true, ..Paint::default() };
        self.pixels.fill_path(path, &paint, FillRule::Winding, Transform::identity(), None);
    }

    fn line(&mut self, path: &Path, ink: Rgb, width: f32) {
        let stroke = Stroke { width, line_cap: LineCap::Butt, line_join: LineJoin::Round, ..Stroke::default() };
        self.pixels.stroke_path(path, &solid(ink), &stroke, Transform::identity(), None);
    }

    fn soft_line(&mut self, path: &Path, ink: Rgb, width: f32) {
        let stroke = Stroke { width, line_cap: LineCap::Round, line_join: LineJoin::Round, ..Stroke::default() };
        self.pixels.stroke_path(path, &solid(ink), &stroke, Transform::identity(), None);
    }

    fn letters(&mut self, lettering: &Lettering, text: &str, hand: Hand, at: Transform) {
        if let Some(path) = lettering.outlines(text, hand).and_then(|p| p.transform(at)) {
            self.fill(&path, hand.ink);
        }
    }
}

fn colour(ink: Rgb) -> Color {
    Color::from_rgba8(ink.0, ink.1, ink.2, 255)
}

fn solid(ink: Rgb) -> Paint<'static> {
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color(colour(ink));
    paint
}

/// A square tile of slanting lines that fits itself on every side.
fn hatching(ink: Rgb, apart: u32, width: f32) -> Option<Pixmap> {
    let mut tile = Pixmap::new(apart, apart)?;
    let side = apart as f32;
    let mut lines = tiny_skia::PathBuilder::new();
    for [from, to] in slants(side) {
        lines.move_to(from.0, from.1);
        lines.line_to(to.0, to.1);
    }
    let stroke = Stroke { width, ..Stroke::default() };
    tile.stroke_path(&lines.finish()?, &solid(ink), &stroke, Transform::identity(), None);
    Some(tile)
}
