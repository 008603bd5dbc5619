//! Signs for premises and signals, told apart by shape before hue.

use super::super::ink::{self, ClassInk, Mark, Rgb};
use super::sheet::Sheet;
use super::view::View;
use crate::place::{Local, ShapeView, Shapes};
use crate::survey::SignalKind;
use tiny_skia::{Path, PathBuilder};

/// Draws a sign round a place, `size` pixels high.
pub fn draw(sheet: &mut dyn Sheet, mark: Mark, at: (f32, f32), size: f32, class: &ClassInk) {
    let ink = class.mark_ink;
    let thick = (size * 0.13).max(1.0);
    match mark {
        Mark::None => {}
        Mark::SlantingStroke => stroke(sheet, (at.0 - size * 0.4, at.1 + size * 0.4), (at.0 + size * 0.4, at.1 - size * 0.4), ink, thick),
        Mark::Bar => stroke(sheet, (at.0 - size * 0.45, at.1), (at.0 + size * 0.45, at.1), ink, thick * 1.7),
        Mark::LowerHalf => half_box(sheet, at, size, ink),
        Mark::HollowDrop => with(drop(at, size * 0.72), |p| sheet.line(p, ink, (size * 0.1).max(0.9))),
        Mark::Drop => with(drop(at, size * 0.85), |p| sheet.fill(p, ink)),
        Mark::RingedDrop => {
            with(drop((at.0, at.1 - size * 0.02), size * 0.55), |p| sheet.fill(p, ink));
            with(PathBuilder::from_circle(at.0, at.1, size * 0.47), |p| sheet.line(p, ink, (size * 0.09).max(0.9)));
        }
    }
}

fn with(path: Option<Path>, draw: impl FnOnce(&Path)) {
    if let Some(path) = &path {
        draw(path);
    }
}

fn stroke(sheet: &mut dyn Sheet, from: (f32, f32), to: (f32, f32), ink: Rgb, width: f32) {
    let mut path = PathBuilder::new();
    path.move_to(from.0, from.1);
    path.line_to(to.0, to.1);
    with(path.finish(), |p| sheet.soft_line(p, ink, width));
}

/// A drop, its point up.
fn drop((x, y): (f32, f32), height: f32) -> Option<Path> {
    let (r, bend) = (height * 0.31, 0.552_285);
    let middle = y + height * 0.5 - r;
    let mut path = PathBuilder::new();
    path.move_to(x, y - height * 0.5);
    path.cubic_to(x + r * 0.25, y - height * 0.25, x + r, middle - r * 0.75, x + r, middle);
    path.cubic_to(x + r, middle + r * bend, x + r * bend, middle + r, x, middle + r);
    path.cubic_to(x - r * bend, middle + r, x - r, middle + r * bend, x - r, middle);
    path.cubic_to(x - r, middle - r * 0.75, x - r * 0.25, y - height * 0.25, x, y - height * 0.5);
    path.close();
    path.finish()
}

/// The lower half of a swatch.
fn half_box(sheet: &mut dyn Sheet, (x, y): (f32, f32), size: f32, ink: Rgb) {
    let mut path = PathBuilder::new();
    path.move_to(x - size * 0.7, y);
    path.line_to(x + size * 0.7, y);
    path.line_to(x + size * 0.7, y + size * 0.5);
    path.line_to(x - size * 0.7, y + size * 0.5);
    path.close();
    with(path.finish(), |p| sheet.fill(p, ink));
}

/// Fills the southern half of an outline.
pub fn lower_half(sheet: &mut dyn Sheet, view: &View, shape: ShapeView<'_>, ink: Rgb) {
    let waist = shape.bounds().centre().y;
    let mut half = Shapes::default();
    for ring in shape.rings() {
        half.push_ring(&below(ring, waist));
    }
    half.end_part();
    half.end_shape();
    let mut path = PathBuilder::new();
    view.add(&mut path, half.get(0));
    with(path.finish(), |p| sheet.fill(p, ink));
}

/// The part of a ring south of a line, its cuts closed along the line.
fn below(ring: &[Local], waist: f64) -> Vec<Local> {
    let mut out = Vec::with_capacity(ring.len() + 2);
    let Some(&last) = ring.last() else { return out };
    let mut a = last;
    for &b in ring {
        if (a.y > waist) != (b.y > waist) {
            out.push(Local { x: a.x + (b.x - a.x) * (waist - a.y) / (b.y - a.y), y: waist });
        }
        if b.y <= waist {
            out.push(b);
        }
        a = b;
    }
    out
}

/// A filled dot, with a pale rim where it is large enough to have one.
pub fn dot(sheet: &mut dyn Sheet, (x, y): (f32, f32), radius: f32, ink: Rgb) {
    if radius > 2.0 {
        with(PathBuilder::from_circle(x, y, radius * 1.45), |p| sheet.fill(p, ink::SHEET));
    }
    with(PathBuilder::from_circle(x, y, radius), |p| sheet.fill(p, ink));
}

/// A trap as a triangle, a complaint as a square on its corner, a case as a ring.
pub fn signal(sheet: &mut dyn Sheet, kind: SignalKind, (x, y): (f32, f32), size: f32) {
    let corners: &[(f32, f32)] = match kind {
        SignalKind::Trap => &[(0.0, -0.75), (0.75, 0.6), (-0.75, 0.6)],
        SignalKind::Complaint => &[(0.0, -0.8), (0.8, 0.0), (0.0, 0.8), (-0.8, 0.0)],
        SignalKind::Case => return with(PathBuilder::from_circle(x, y, size * 0.7), |p| sheet.line(p, ink::WARNING, size * 0.25)),
    };
    let mut path = PathBuilder::new();
    for (i, c) in corners.iter().enumerate() {
        let (px, py) = (x + c.0 * size, y + c.1 * size);
        if i == 0 { path.move_to(px, py) } else { path.line_to(px, py) }
    }
    path.close();
    with(path.finish(), |p| {
        sheet.line(p, ink::INK, size * 0.42);
        sheet.fill(p, ink::SHEET);
        sheet.line(p, ink::INK, size * 0.18);
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_southern_half_of_a_square_is_half_of_it() {
        let ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Local { x, y });
        assert_eq!(crate::place::signed_area(&below(&ring, 5.0)), 50.0);
        assert!(below(&ring, -1.0).is_empty());
    }
}
