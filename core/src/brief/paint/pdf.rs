//! A sheet as one page of PDF, its type embedded as far as it is used.

use super::super::ink::{self, Rgb};
use super::lettering::{Hand, Lettering, Weight};
use super::packed::Packed;
use super::page::rectangle;
use super::sheet::{Framed, Sheet, slants};
use crate::survey::Language;
use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Rect, Size, Transform};
use krilla::image::Image;
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Paint, Pattern, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use tiny_skia::PathSegment;

/// Points of the page for a pixel of the picture: 96 pixels are an inch, as on the web. Source: W3C, CSS Values and Units 3.
const POINTS: f32 = 0.75;

/// A file without pages, with its title.
pub fn document(title: &str) -> Document {
    document_in(Language::English, title)
}

/// The same in a language, so that a program that reads pages aloud knows how.
pub fn document_in(language: Language, title: &str) -> Document {
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title(title.to_owned()).language(language.word().to_owned()).creator("Yardring".to_owned()));
    document
}

/// Draws a file of one page; `None` when it could not be made.
pub fn page<E>(
    size: (u32, u32),
    title: &str,
    lettering: &Lettering,
    draw: impl FnOnce(&mut dyn Framed) -> Result<(), E>,
) -> Result<Option<Vec<u8>>, E> {
    let mut document = document(title);
    Ok(if add(&mut document, size, lettering, draw)? { document.finish().ok() } else { None })
}

/// Draws one more page of a file, its paper first; `false` when it could not be made.
pub fn add<E>(
    document: &mut Document,
    size: (u32, u32),
    lettering: &Lettering,
    draw: impl FnOnce(&mut dyn Framed) -> Result<(), E>,
) -> Result<bool, E> {
    let (w, h) = (size.0 as f32 * POINTS, size.1 as f32 * POINTS);
    let fonts = [Weight::Regular, Weight::Semibold].map(|weight| Font::new(lettering.file(weight).into(), 0));
    let ([Some(regular), Some(semibold)], Some(settings)) = (fonts, PageSettings::from_wh(w, h)) else { return Ok(false) };
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    surface.push_transform(&Transform::from_scale(POINTS, POINTS));
    let mut sheet = Pdf { surface, regular, semibold };
    if let Some(paper) = rectangle(0.0, 0.0, size.0 as f32, size.1 as f32) {
        sheet.fill(&paper, ink::SHEET);
    }
    draw(&mut sheet)?;
    sheet.surface.pop();
    drop(sheet);
    page.finish();
    Ok(true)
}

/// A page being drawn as PDF.
struct Pdf<'a> {
    surface: Surface<'a>,
    regular: Font,
    semibold: Font,
}

impl Pdf<'_> {
    fn filled(&mut self, path: &tiny_skia::Path, paint: Paint, rule: FillRule) {
        let Some(path) = turned(path) else { return };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint, rule, ..Fill::default() }));
        self.surface.draw_path(&path);
    }

    fn stroked(&mut self, path: &tiny_skia::Path, ink: Rgb, width: f32, line_cap: LineCap) {
        let Some(path) = turned(path) else { return };
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(stroke(ink, width, line_cap)));
        self.surface.draw_path(&path);
    }
}

impl Sheet for Pdf<'_> {
    fn fill(&mut self, path: &tiny_skia::Path, ink: Rgb) {
        self.filled(path, colour(ink).into(), FillRule::NonZero);
    }

    fn fill_even_odd(&mut self, path: &tiny_skia::Path, ink: Rgb) {
        self.filled(path, colour(ink).into(), FillRule::EvenOdd);
    }

    fn wash(&mut self, path: &tiny_skia::Path, ink: Rgb, share: f32) {
        let Some(path) = turned(path) else { return };
        let opacity = NormalizedF32::new(share.clamp(0.0, 1.0)).unwrap_or(NormalizedF32::ONE);
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint: colour(ink).into(), rule: FillRule::EvenOdd, opacity }));
        self.surface.draw_path(&path);
    }

    fn picture(&mut self, picture: &tiny_skia::Pixmap, (x, y): (f32, f32), scale: f32) {
        let image = match Packed::of(picture) {
            Some(Packed::Jpeg(bytes)) => Image::from_jpeg(bytes.into(), true),
            Some(Packed::Png(bytes)) => Image::from_png(bytes.into(), true),
            None => return,
        };
        let size = Size::from_wh(picture.width() as f32 * scale, picture.height() as f32 * scale);
        if let (Ok(image), Some(size)) = (image, size) {
            self.surface.push_transform(&Transform::from_translate(x, y));
            self.surface.draw_image(image, size);
            self.surface.pop();
        }
    }

    fn hatch(&mut self, path: &tiny_skia::Path, ink: Rgb, apart: u32, width: f32) {
        let side = apart as f32;
        let mut builder = self.surface.stream_builder();
        let mut tile = builder.surface();
        tile.set_stroke(Some(stroke(ink, width, LineCap::Butt)));
        for [from, to] in slants(side) {
            let mut line = PathBuilder::new();
            line.move_to(from.0, from.1);
            line.line_to(to.0, to.1);
            if let Some(line) = line.finish() {
                tile.draw_path(&line);
            }
        }
        tile.finish();
        let pattern = Pattern { stream: builder.finish(), transform: Transform::identity(), width: side, height: side };
        self.filled(path, pattern.into(), FillRule::NonZero);
    }

    fn line(&mut self, path: &tiny_skia::Path, ink: Rgb, width: f32) {
        self.stroked(path, ink, width, LineCap::Butt);
    }

    fn soft_line(&mut self, path: &tiny_skia::Path, ink: Rgb, width: f32) {
        self.stroked(path, ink, width, LineCap::Round);
    }

    fn letters(&mut self, lettering: &Lettering, text: &str, hand: Hand, at: tiny_skia::Transform) {
        let units = lettering.units(hand.weight);
        let glyphs: Vec<KrillaGlyph> = lettering
            .glyphs(text, hand.weight)
            .map(|g| KrillaGlyph::new(GlyphId::new(g.id.into()), g.advance / units, 0.0, 0.0, 0.0, g.bytes, None))
            .collect();
        let font = if hand.weight == Weight::Regular { &self.regular } else { &self.semibold };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint: colour(hand.ink).into(), ..Fill::default() }));
        self.surface.push_transform(&Transform::from_row(at.sx, at.ky, at.kx, at.sy, at.tx, at.ty));
        self.surface.draw_glyphs(Point::from_xy(0.0, 0.0), &glyphs, font.clone(), text, hand.size, false);
        self.surface.pop();
    }
}

impl Framed for Pdf<'_> {
    fn enter(&mut self, (x, y, w, h): (u32, u32, u32, u32)) {
        self.surface.push_transform(&Transform::from_translate(x as f32, y as f32));
        let mut frame = PathBuilder::new();
        if let Some(rectangle) = Rect::from_xywh(0.0, 0.0, w as f32, h as f32) {
            frame.push_rect(rectangle);
        }
        if let Some(frame) = frame.finish() {
            self.surface.push_clip_path(&frame, &FillRule::NonZero);
        }
    }

    fn leave(&mut self) {
        self.surface.pop();
        self.surface.pop();
    }
}

fn colour(ink: Rgb) -> rgb::Color {
    rgb::Color::new(ink.0, ink.1, ink.2)
}

fn stroke(ink: Rgb, width: f32, line_cap: LineCap) -> Stroke {
    Stroke { paint: colour(ink).into(), width, line_cap, line_join: LineJoin::Round, ..Stroke::default() }
}

/// The same path for the library that writes the file.
fn turned(path: &tiny_skia::Path) -> Option<Path> {
    let mut out = PathBuilder::new();
    for segment in path.segments() {
        match segment {
            PathSegment::MoveTo(p) => out.move_to(p.x, p.y),
            PathSegment::LineTo(p) => out.line_to(p.x, p.y),
            PathSegment::QuadTo(a, p) => out.quad_to(a.x, a.y, p.x, p.y),
            PathSegment::CubicTo(a, b, p) => out.cubic_to(a.x, a.y, b.x, b.y, p.x, p.y),
            PathSegment::Close => out.close(),
        }
    }
    out.finish()
}
