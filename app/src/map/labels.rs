//! Names along streets, where there is room for them.

use super::camera::Camera;
use super::scene::{Inks, StreetNames};
use egui::emath::Rot2;
use egui::epaint::TextShape;
use egui::{FontId, Painter, Pos2, Rect, Vec2};
use yardring_core::place::Local;

/// Fewest points to a metre at which names are drawn.
const NEAR_ENOUGH: f64 = 0.5;
/// Most streets looked at in one frame.
const MOST_STREETS: usize = 600;
/// The same name is not drawn twice within so many points.
const APART: f32 = 320.0;
/// Most degrees by which a street may turn under its name.
const STRAIGHT: f32 = 14.0;

/// Draws the names of the streets in view.
pub(super) fn paint(painter: &Painter, streets: &StreetNames, camera: &Camera, inks: &Inks) {
    if camera.points_per_metre < NEAR_ENOUGH {
        return;
    }
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let mut placed = Placed::default();
    let mut looked_at = 0;
    streets.index.each_touching(&camera.view(), |i| {
        looked_at += 1;
        if looked_at > MOST_STREETS || i >= streets.names.len() || streets.names.get(i).is_empty() {
            return;
        }
        for run in streets.lines.get(i).rings() {
            placed.try_street(painter, streets.names.get(i), run, camera, &font, inks);
        }
    });
}

/// Names drawn so far in this frame: where, and how much room each takes.
#[derive(Default)]
struct Placed<'a> {
    names: Vec<(&'a str, Rect)>,
}

impl<'a> Placed<'a> {
    fn try_street(&mut self, painter: &Painter, name: &'a str, run: &[Local], camera: &Camera, font: &FontId, inks: &Inks) {
        let Some((from, to)) = longest_straight(run, camera) else { return };
        let galley = painter.layout_no_wrap(name.to_owned(), font.clone(), inks.street_name);
        if from.distance(to) < galley.size().x + 20.0 {
            return;
        }
        let (from, to) = if to.x < from.x { (to, from) } else { (from, to) };
        let along = Rot2::from_angle((to - from).angle());
        let middle = from + (to - from) * 0.5;
        let (right, down) = (along * Vec2::new(galley.size().x / 2.0, 0.0), along * Vec2::new(0.0, galley.size().y / 2.0));
        let reach = Vec2::new(right.x.abs() + down.x.abs(), right.y.abs() + down.y.abs());
        let room = Rect::from_center_size(middle, reach * 2.0);
        if self.names.iter().any(|(n, r)| r.intersects(room) || (*n == name && r.center().distance(middle) < APART)) {
            return;
        }
        self.names.push((name, room));
        let corner = middle - right - down;
        painter.add(TextShape::new(corner, galley, inks.street_name).with_angle(along.angle()));
    }
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
