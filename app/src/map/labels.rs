//! Names along streets, where there is room for them.

use super::camera::Camera;
use super::scene::{Inks, StreetNames};
use egui::emath::Rot2;
use egui::epaint::TextShape;
use egui::{Painter, Pos2, Rect, Vec2};
use std::collections::BTreeMap;
use std::sync::Arc;
use yardring_core::place::Local;

/// Fewest points to a metre at which names are drawn.
const NEAR_ENOUGH: f64 = 0.5;
/// Most streets looked at in one frame.
const MOST_STREETS: usize = 600;
/// Most degrees by which a street may turn under its name.
const STRAIGHT: f32 = 14.0;

/// Most points between two pieces of one street that are named as one, as at a crossing.
const CROSSING: f32 = 30.0;
/// Degrees by which pieces that are named as one may differ.
const SAME_WAY: f32 = 6.0;

/// A straight piece of a street on the screen, from left to right.
type Piece = (Pos2, Pos2);

/// Draws each name once, along the longest straight stretch of its street in view, where it hides nothing in `keep_free`.
pub(super) fn paint(painter: &Painter, streets: &StreetNames, camera: &Camera, inks: &Inks, keep_free: &[Rect]) {
    if camera.points_per_metre < NEAR_ENOUGH {
        return;
    }
    let mut by_name: BTreeMap<&str, Vec<Piece>> = BTreeMap::new();
    let mut looked_at = 0;
    streets.index.each_touching(&camera.view(), |i| {
        looked_at += 1;
        if looked_at > MOST_STREETS || i >= streets.names.len() || streets.names.get(i).is_empty() {
            return;
        }
        let pieces = streets.lines.get(i).rings().filter_map(|run| longest_straight(run, camera)).map(rightwards);
        by_name.entry(streets.names.get(i)).or_default().extend(pieces);
    });
    let mut stretches: Vec<(&str, Piece)> = by_name.into_iter().filter_map(|(name, pieces)| Some((name, longest(pieces)?))).collect();
    // Long streets are named first; of equally long ones the first by name.
    stretches.sort_by(|a, b| length(&b.1).total_cmp(&length(&a.1)).then(a.0.cmp(b.0)));
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let mut taken = keep_free.to_vec();
    for (name, stretch) in stretches {
        let galley = painter.layout_no_wrap(name.to_owned(), font.clone(), inks.street_name);
        if let Some((middle, along)) = place(&galley, stretch, &taken) {
            taken.push(around(&galley, middle, along));
            write(painter, galley, middle, along, inks);
        }
    }
}

fn length(piece: &Piece) -> f32 {
    piece.0.distance(piece.1)
}

fn rightwards((a, b): Piece) -> Piece {
    if b.x < a.x { (b, a) } else { (a, b) }
}

/// The longest stretch that pieces of one street make, joined across crossings.
fn longest(mut pieces: Vec<Piece>) -> Option<Piece> {
    pieces.sort_by(|a, b| a.0.x.total_cmp(&b.0.x).then(a.0.y.total_cmp(&b.0.y)).then(a.1.x.total_cmp(&b.1.x)));
    let mut made: Vec<Piece> = Vec::new();
    for piece in pieces {
        let goes_on = |m: &&mut Piece| m.1.distance(piece.0) < CROSSING && turn(m.1 - m.0, piece.1 - m.0) < SAME_WAY;
        match made.iter_mut().find(goes_on) {
            Some(m) => m.1 = piece.1,
            None => made.push(piece),
        }
    }
    made.into_iter().max_by(|a, b| length(a).total_cmp(&length(b)))
}

/// Where along a stretch a name has room: in its middle, or a third to either side.
fn place(galley: &egui::Galley, (from, to): Piece, taken: &[Rect]) -> Option<(Pos2, Rot2)> {
    let spare = from.distance(to) - galley.size().x - 20.0;
    if spare < 0.0 {
        return None;
    }
    let way = (to - from).normalized();
    let along = Rot2::from_angle(way.angle());
    let middle = from + (to - from) * 0.5;
    let tries = [0.0, -0.2, 0.2, -0.4, 0.4].map(|share| middle + way * spare * share);
    let free = |at: &Pos2| taken.iter().all(|t| !t.intersects(around(galley, *at, along)));
    tries.into_iter().find(free).map(|at| (at, along))
}

fn half_sides(galley: &egui::Galley, along: Rot2) -> (Vec2, Vec2) {
    (along * Vec2::new(galley.size().x / 2.0, 0.0), along * Vec2::new(0.0, galley.size().y / 2.0))
}

/// The upright box round a turned name.
fn around(galley: &egui::Galley, middle: Pos2, along: Rot2) -> Rect {
    let (right, down) = half_sides(galley, along);
    Rect::from_center_size(middle, Vec2::new(right.x.abs() + down.x.abs(), right.y.abs() + down.y.abs()) * 2.0)
}

/// A name with a halo of paper round its letters.
fn write(painter: &Painter, galley: Arc<egui::Galley>, middle: Pos2, along: Rot2, inks: &Inks) {
    let (right, down) = half_sides(&galley, along);
    let corner = middle - right - down;
    for step in 0..8 {
        let aside = Vec2::angled(step as f32 * std::f32::consts::FRAC_PI_4) * 1.6;
        let halo = TextShape::new(corner + aside, Arc::clone(&galley), inks.paper).with_override_text_color(inks.paper);
        painter.add(halo.with_angle(along.angle()));
    }
    painter.add(TextShape::new(corner, galley, inks.street_name).with_angle(along.angle()));
}

/// The longest part of a street in view that hardly turns, as its two ends on the screen.
fn longest_straight(run: &[Local], camera: &Camera) -> Option<(Pos2, Pos2)> {
    let view = camera.rect.shrink(4.0);
    let mut best: Option<(Pos2, Pos2)> = None;
    let mut current: Option<(Pos2, Pos2)> = None;
    for pair in run.windows(2) {
        let Some((a, b)) = clipped(camera.on_screen(pair[0]), camera.on_screen(pair[1]), view) else {
            current = None;
            continue;
        };
        current = match current {
            Some((from, to)) if to.distance(a) < 0.5 && turn(to - from, b - a) < STRAIGHT => Some((from, b)),
            _ => Some((a, b)),
        };
        let length = |ends: Option<(Pos2, Pos2)>| ends.map_or(0.0, |(a, b)| a.distance(b));
        if length(current) > length(best) {
            best = current;
        }
    }
    best
}

/// Degrees between two directions.
fn turn(a: Vec2, b: Vec2) -> f32 {
    let (cross, dot) = (a.x * b.y - a.y * b.x, a.dot(b));
    cross.atan2(dot).abs().to_degrees()
}

/// The part of a line inside a box; `None` when they do not meet.
///
/// # Source
/// Y.-D. Liang and B. A. Barsky, A new concept and method for line clipping, ACM Trans. Graphics 3 (1984), from memory.
fn clipped(a: Pos2, b: Pos2, view: Rect) -> Option<(Pos2, Pos2)> {
    let d = b - a;
    let (mut enter, mut leave) = (0.0f32, 1.0f32);
    for (step, room) in [(-d.x, a.x - view.min.x), (d.x, view.max.x - a.x), (-d.y, a.y - view.min.y), (d.y, view.max.y - a.y)] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    (enter < leave).then(|| (a + d * enter, a + d * leave))
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    #[test]
    fn lines_are_cut_at_the_box() {
        let view = Rect::from_min_max(pos2(0.0, 0.0), pos2(10.0, 10.0));
        assert_eq!(clipped(pos2(-10.0, 5.0), pos2(30.0, 5.0), view), Some((pos2(0.0, 5.0), pos2(10.0, 5.0))));
        assert_eq!(clipped(pos2(2.0, 2.0), pos2(8.0, 3.0), view), Some((pos2(2.0, 2.0), pos2(8.0, 3.0))));
        assert_eq!(clipped(pos2(-5.0, 5.0), pos2(5.0, 20.0), view), None);
        assert_eq!(clipped(pos2(20.0, 0.0), pos2(20.0, 10.0), view), None);
    }

    #[test]
    fn pieces_of_a_street_are_named_as_one_across_a_crossing() {
        let piece = |x: f32, y: f32| (pos2(x, y), pos2(x + 80.0, y + 1.0));
        let one = longest(vec![piece(100.0, 51.0), piece(0.0, 50.0), piece(0.0, 400.0), piece(200.0, 52.0)]).unwrap();
        assert_eq!(one, (pos2(0.0, 50.0), pos2(280.0, 53.0)));
        assert_eq!(longest(Vec::new()), None);
    }

    #[test]
    fn a_name_lies_on_the_longest_straight_part() {
        let camera = Camera {
            rect: Rect::from_min_max(pos2(0.0, 0.0), pos2(1000.0, 1000.0)),
            centre: Local { x: 500.0, y: -500.0 },
            points_per_metre: 1.0,
        };
        let run = [(0.0, 0.0), (100.0, 0.0), (100.0, -200.0), (110.0, -500.0), (300.0, -500.0)].map(|(x, y)| Local { x, y });
        let (from, to) = longest_straight(&run, &camera).unwrap();
        assert!((from - pos2(100.0, 4.0)).length() < 3.0 && (to - pos2(110.0, 500.0)).length() < 1e-3, "{from:?} {to:?}");
    }
}
