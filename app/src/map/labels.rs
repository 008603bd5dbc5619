//! Names along streets, where there is room for them.

use super::camera::Camera;
use super::scene::{Inks, StreetNames};
use super::written::{Line, Taken, Words};
use egui::{Painter, Pos2, Rect, Vec2};
use std::collections::{BTreeMap, BTreeSet};
use yardring_core::place::Local;

/// Fewest points to a metre at which names are drawn.
const NEAR_ENOUGH: f64 = 0.5;
/// Most streets looked at in one frame.
const MOST_STREETS: usize = 600;
/// Most names that appear in one frame: laying out their letters takes longest the first time.
const MOST_NEW: usize = 4;
/// Most points between two pieces of one street that are named as one, as at a crossing.
const CROSSING: f32 = 30.0;
/// Degrees by which pieces that are named as one may differ where they meet.
const SAME_WAY: f32 = 25.0;
/// Pieces of one street that are tried for its name, the longest first.
const MOST_PIECES: usize = 4;

/// A piece of a street on the screen.
type Piece = Vec<Pos2>;

/// The names that the last frame wrote or tried to.
pub(super) type Tried = BTreeSet<String>;

/// Draws each name once, along the longest piece of its street in view that has room, where it hides nothing in `keep_free`.
pub(super) fn paint(painter: &Painter, streets: &StreetNames, camera: &Camera, inks: &Inks, keep_free: &[Rect], tried: &mut Tried) {
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
        let pieces = by_name.entry(streets.names.get(i)).or_default();
        streets.lines.get(i).rings().for_each(|run| in_view(run, camera, pieces));
    });
    let mut named: Vec<(&str, Vec<Line>)> = by_name.into_iter().map(|(name, pieces)| (name, joined(pieces))).collect();
    // Long streets are named first; of equally long ones the first by name.
    let longest = |lines: &[Line]| lines.first().map_or(0.0, Line::length);
    named.sort_by(|a, b| longest(&b.1).total_cmp(&longest(&a.1)).then(a.0.cmp(b.0)));
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let mut taken = Taken::default();
    keep_free.iter().for_each(|sign| taken.take(vec![*sign]));
    let (before, mut new) = (std::mem::take(tried), 0);
    for (name, lines) in named {
        if !before.contains(name) {
            new += 1;
            if new > MOST_NEW {
                painter.ctx().request_repaint();
                continue;
            }
        }
        tried.insert(name.to_owned());
        let words = Words::new(painter, name, &font, inks.street_name);
        if let Some(placed) = lines.iter().take(MOST_PIECES).find_map(|line| line.place(&words, &taken)) {
            taken.take(placed.boxes());
            placed.write(painter, name, &font, inks.street_name, inks.paper);
        }
    }
}

/// Adds the parts of a street that are in view, as the screen shows them.
fn in_view(run: &[Local], camera: &Camera, pieces: &mut Vec<Piece>) {
    let view = camera.rect.shrink(4.0);
    let mut goes_on = false;
    for pair in run.windows(2) {
        let Some((a, b)) = clipped(camera.on_screen(pair[0]), camera.on_screen(pair[1]), view) else {
            goes_on = false;
            continue;
        };
        match pieces.last_mut().filter(|p| goes_on && p.last().is_some_and(|end| end.distance(a) < 0.5)) {
            Some(piece) => piece.push(b),
            None => pieces.push(vec![a, b]),
        }
        goes_on = true;
    }
}

/// Pieces of one street joined across crossings, the longest first.
fn joined(mut pieces: Vec<Piece>) -> Vec<Line> {
    for piece in &mut pieces {
        if piece.first().map(|p| (p.x, p.y)) > piece.last().map(|p| (p.x, p.y)) {
            piece.reverse();
        }
    }
    let start = |p: &Piece| p.first().copied().unwrap_or_default();
    pieces.sort_by(|a, b| start(a).x.total_cmp(&start(b).x).then(start(a).y.total_cmp(&start(b).y)).then(a.len().cmp(&b.len())));
    let mut made: Vec<Piece> = Vec::new();
    for piece in pieces {
        match made.iter_mut().find(|m| follows(m, &piece)) {
            Some(m) => m.extend(piece),
            None => made.push(piece),
        }
    }
    let mut lines: Vec<Line> = made.into_iter().filter_map(Line::new).collect();
    lines.sort_by(|a, b| b.length().total_cmp(&a.length()));
    lines
}

/// Whether one piece goes on where another ends, in much the same direction.
fn follows(piece: &[Pos2], next: &[Pos2]) -> bool {
    let ([.., before, end], [start, after, ..]) = (piece, next) else { return false };
    let (way, on) = (*end - *before, *after - *start);
    let gap = *start - *end;
    gap.length() < CROSSING && turn(way, on) < SAME_WAY && (gap.length() < 1.0 || turn(way, gap) < SAME_WAY)
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
        let piece = |x: f32, y: f32| vec![pos2(x, y), pos2(x + 80.0, y + 1.0)];
        let mut turned = piece(200.0, 52.0);
        turned.reverse();
        let lines = joined(vec![piece(100.0, 51.0), piece(0.0, 50.0), piece(0.0, 400.0), turned]);
        assert_eq!(lines.len(), 2);
        assert!((lines[0].length() - 280.0).abs() < 1.0 && (lines[1].length() - 80.0).abs() < 1.0);
        assert!(joined(Vec::new()).is_empty());
        let corner = joined(vec![vec![pos2(0.0, 0.0), pos2(80.0, 0.0)], vec![pos2(85.0, 5.0), pos2(85.0, 90.0)]]);
        assert_eq!(corner.len(), 2, "round a corner it is another piece");
    }

    #[test]
    fn a_street_that_leaves_the_view_is_cut_in_two() {
        let camera = Camera {
            rect: Rect::from_min_max(pos2(0.0, 0.0), pos2(1000.0, 1000.0)),
            centre: Local { x: 500.0, y: -500.0 },
            points_per_metre: 1.0,
        };
        let run = [(0.0, -100.0), (500.0, -100.0), (500.0, 300.0), (600.0, 300.0), (600.0, -400.0)].map(|(x, y)| Local { x, y });
        let mut pieces = Vec::new();
        in_view(&run, &camera, &mut pieces);
        assert_eq!(pieces.len(), 2);
        assert_eq!(pieces[0], [pos2(4.0, 100.0), pos2(500.0, 100.0), pos2(500.0, 4.0)]);
        assert_eq!(pieces[1], [pos2(600.0, 4.0), pos2(600.0, 400.0)]);
    }
}
