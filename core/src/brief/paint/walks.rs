//! The walks of a day, all crews on one map: numbered stops joined along the way walked, and where the crews meet.

use super::super::ink::{self, Stop, WalkInk};
use super::body::Body;
use super::lettering::{Hand, Lettering, Weight};
use super::marks;
use super::sheet::Sheet;
use super::view::View;
use crate::place::Local;
use crate::walks::CrewWalk;
use tiny_skia::{Path, PathBuilder, StrokeDash};

/// Pixels of the reference sheet between the stops of a walk below which their numbers are left out.
const ROOM_FOR_NUMBERS: f64 = 20.0;
/// More strokes than these in one line would be a tone and no pattern.
const MOST_STROKES: f32 = 5_000.0;

type Pixel = (f32, f32);

impl Body<'_> {
    /// Draws the walks: lines first, so that no line crosses a stop.
    pub fn walks(&self, view: &View, sheet: &mut dyn Sheet, lettering: &Lettering) {
        let Some(day) = self.walks else { return };
        let walked = || day.walks.iter().enumerate().filter(|(_, w)| !w.doors.is_empty());
        for (crew, walk) in walked() {
            let way: Vec<Pixel> = walk.path.iter().map(|&p| view.pixel(p)).collect();
            line(sheet, &way, ink::walk(crew), self.unit);
        }
        for (crew, walk) in walked() {
            self.stops(view, sheet, lettering, (walk, ink::walk(crew)));
        }
        flag(sheet, view.pixel(day.meeting_point), self.unit);
    }

    fn stops(&self, view: &View, sheet: &mut dyn Sheet, lettering: &Lettering, (walk, how): (&CrewWalk, WalkInk)) {
        let numbered = spacing(walk) * view.scale >= ROOM_FOR_NUMBERS * f64::from(self.unit);
        let radius = if numbered { 9.0 } else { 3.5 } * self.unit;
        let figures = if how.hollow { how.tint } else { ink::SHEET };
        let hand = Hand { weight: Weight::Semibold, size: 10.5 * self.unit, ink: figures };
        for (door, number) in walk.doors.iter().zip(1..) {
            let (x, y) = view.pixel(door.at);
            stop(sheet, how, (x, y), radius);
            if numbered {
                let text = number.to_string();
                lettering.write(sheet, &text, (x - lettering.width(&text, hand) / 2.0, y + 0.36 * hand.size), hand);
            }
        }
    }
}

/// A walk's line in its tint and pattern, on a light one so that it is seen on any fill.
pub fn line(sheet: &mut dyn Sheet, way: &[Pixel], how: WalkInk, unit: f32) {
    let Some(path) = joined(way, false) else { return };
    sheet.line(&path, ink::SHEET, 5.0 * unit);
    let (stroke, gap) = (how.pattern.0 * unit, how.pattern.1 * unit);
    let long: f32 = way.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum();
    let broken = Some(()).filter(|()| gap > 0.0 && long / (stroke + gap) < MOST_STROKES);
    let broken = broken.and_then(|()| path.dash(&StrokeDash::new(vec![stroke, gap], 0.0)?, 1.0));
    sheet.line(broken.as_ref().unwrap_or(&path), how.tint, 2.5 * unit);
}

/// The mark of a stop, about as large as a disc of some radius.
pub fn stop(sheet: &mut dyn Sheet, how: WalkInk, (x, y): Pixel, radius: f32) {
    let shape = |r: f32| match how.stop {
        Stop::Disc => PathBuilder::from_circle(x, y, r),
        Stop::Square => joined(&[(-0.92, -0.92), (0.92, -0.92), (0.92, 0.92), (-0.92, 0.92)].map(|(a, b)| (x + a * r, y + b * r)), true),
        Stop::Diamond => joined(&[(0.0, -1.38), (1.38, 0.0), (0.0, 1.38), (-1.38, 0.0)].map(|(a, b)| (x + a * r, y + b * r)), true),
    };
    let (inside, edge) = if how.hollow { (ink::SHEET, how.tint) } else { (how.tint, ink::SHEET) };
    if let Some(path) = shape(radius) {
        sheet.line(&path, ink::SHEET, 0.4 * radius + 1.0);
        sheet.fill(&path, inside);
        sheet.line(&path, edge, 0.2 * radius);
    }
}

/// A filled flag on its pole: walks begin and end here.
fn flag(sheet: &mut dyn Sheet, (x, y): Pixel, unit: f32) {
    let at = |(a, b): (f32, f32)| (x + a * unit, y + b * unit);
    if let Some(pole) = joined(&[at((0.0, 0.0)), at((0.0, -22.0))], false) {
        sheet.line(&pole, ink::SHEET, 4.5 * unit);
        sheet.line(&pole, ink::INK, 2.0 * unit);
    }
    if let Some(cloth) = joined(&[(0.0, -22.0), (15.0, -17.0), (0.0, -12.0)].map(at), true) {
        sheet.line(&cloth, ink::SHEET, 2.0 * unit);
        sheet.fill(&cloth, ink::INK);
    }
    marks::dot(sheet, (x, y), 4.0 * unit, ink::INK);
}

fn joined(places: &[Pixel], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (k, &(x, y)) in places.iter().enumerate() {
        if k == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
    }
    if closed {
        path.close();
    }
    path.finish()
}

/// Metres from one stop to the next, on average.
fn spacing(walk: &CrewWalk) -> f64 {
    let stops: Vec<Local> = walk.doors.iter().map(|d| d.at).collect();
    let total: f64 = stops.windows(2).map(|w| w[0].distance(w[1])).sum();
    if stops.len() > 1 { total / (stops.len() - 1) as f64 } else { f64::INFINITY }
}
