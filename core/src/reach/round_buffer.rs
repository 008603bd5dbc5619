//! The ground within a radius of one shape.

use super::convex_pieces::{convex_pieces, counter_clockwise};
use super::ground::united;
use super::thinned::Convex;
use crate::place::{Local, PartView, ShapeView, signed_area};
use geo::algorithm::buffer::{BufferStyle, LineJoin};
use geo::{Buffer, Coord, LineString, MultiPolygon, Polygon};
use std::f64::consts::TAU;
use std::sync::OnceLock;

/// Sides of a full circle. A circle of 96 sides with its corners on the true one has 0.07 % less area.
pub(super) const SIDES: f64 = 96.0;
/// Directions nearer to each other than this, in radians, are one: within 10 km they part by a hundredth of a millimetre.
const ONE_DIRECTION: f64 = 1e-9;

/// Grounds to be united, all running counter-clockwise.
#[derive(Debug, Default)]
pub(super) struct Rings {
    pub convex: Vec<Convex>,
    pub other: Vec<Polygon>,
}

/// Adds the ground within `radius` of a shape.
pub(super) fn push_buffer(shape: ShapeView<'_>, radius: f64, out: &mut Rings) {
    for part in shape.parts() {
        let mut rings = part.rings();
        let Some(outer) = rings.next() else { continue };
        let corners = counter_clockwise(outer);
        match convex_pieces(&corners).filter(|_| rings.next().is_none()) {
            Some(pieces) => out.convex.extend(pieces.iter().map(|corners| Convex::new(offset(corners, radius)))),
            None if part.rings().len() == 1 && signed_area(&corners) > 0.0 => out.other.extend(bent(&corners, radius)),
            None => out.other.extend(general(part, radius)),
        }
    }
}

/// A direction: its angle and its unit vector.
#[derive(Clone, Copy, Debug)]
struct Direction {
    angle: f64,
    unit: [f64; 2],
}

impl Direction {
    /// Outwards from the edge of a ring that runs counter-clockwise.
    fn outwards(a: Local, b: Local) -> Self {
        let (x, y) = (b.y - a.y, a.x - b.x);
        let long = x.hypot(y);
        Self { angle: y.atan2(x), unit: [x / long, y / long] }
    }

    /// The directions of the circle's corners between this one and another to its left.
    fn to(self, other: Self) -> impl Iterator<Item = [f64; 2]> {
        let turn = (other.angle - self.angle).rem_euclid(TAU);
        let of_circle = |angle: f64| angle * SIDES / TAU;
        let (first, last) = if turn > TAU - ONE_DIRECTION {
            (1, 0)
        } else {
            let (from, to) = (self.angle + ONE_DIRECTION, self.angle + turn - ONE_DIRECTION);
            (of_circle(from).floor() as i64 + 1, of_circle(to).ceil() as i64 - 1)
        };
        (first..=last).map(|k| circle()[k.rem_euclid(SIDES as i64) as usize])
    }

    fn is_nearly(self, other: Self) -> bool {
        let ([a, b], [c, d]) = (self.unit, other.unit);
        a * c + b * d > 0.0 && (a * d - b * c).abs() < ONE_DIRECTION
    }
}

/// The directions of the corners of every circle. Arcs round one place, as of the lots that meet there, lie on each other so, where they would
/// cross at every corner.
fn circle() -> &'static [[f64; 2]] {
    static CORNERS: OnceLock<Vec<[f64; 2]>> = OnceLock::new();
    CORNERS.get_or_init(|| {
        let corner = |k: u32| (f64::from(k) / SIDES * TAU).sin_cos();
        (0..SIDES as u32).map(corner).map(|(sin, cos)| [cos, sin]).collect()
    })
}

/// The corners of a ring that runs counter-clockwise, each with where the edges before and after it face.
fn faces(corners: &[Local]) -> impl Iterator<Item = (Local, Direction, Direction)> {
    let n = corners.len();
    let facing: Vec<Direction> = (0..n).map(|i| Direction::outwards(corners[i], corners[(i + 1) % n])).collect();
    (0..n).map(move |i| (corners[i], facing[(i + n - 1) % n], facing[i]))
}

/// The true round offset of a convex ring: every edge moved out, every corner an arc.
fn offset(corners: &[Local], radius: f64) -> Vec<[f64; 2]> {
    let n = corners.len();
    let mut out: Vec<[f64; 2]> = Vec::with_capacity(SIDES as usize + 2 * n);
    let mut push = |c: Local, [x, y]: [f64; 2]| out.push([c.x + radius * x, c.y + radius * y]);
    if n == 1 {
        circle().iter().for_each(|&unit| push(corners[0], unit));
        return out;
    }
    for (corner, before, after) in faces(corners) {
        push(corner, before.unit);
        before.to(after).for_each(|unit| push(corner, unit));
        if !before.is_nearly(after) {
            push(corner, after.unit);
        }
    }
    out.dedup();
    while out.len() > 1 && out.first() == out.last() {
        out.pop();
    }
    out
}

/// The offset of a ring that turns the other way in several corners. Its raw offset goes through each of these; what this winds round
/// at least once is the ground within the radius.
///
/// Done here and not by [`general`], which asks the system for its processors several times a ring.
fn bent(corners: &[Local], radius: f64) -> Vec<Polygon> {
    let outwards = |c: Local, [x, y]: [f64; 2]| [c.x + radius * x, c.y + radius * y];
    let mut raw: Vec<[f64; 2]> = Vec::with_capacity(SIDES as usize + 3 * corners.len());
    for (corner, before, after) in faces(corners) {
        raw.push(outwards(corner, before.unit));
        if before.unit[0] * after.unit[1] - before.unit[1] * after.unit[0] < 0.0 {
            raw.push([corner.x, corner.y]);
        } else {
            raw.extend(before.to(after).map(|unit| outwards(corner, unit)));
        }
        raw.push(outwards(corner, after.unit));
    }
    let polygon = |piece: Vec<Vec<[f64; 2]>>| {
        let mut lines = piece.into_iter().map(|ring| LineString::new(ring.into_iter().map(|[x, y]| Coord { x, y }).collect()));
        Some(Polygon::new(lines.next()?, lines.collect()))
    };
    united(&[raw]).into_iter().filter_map(polygon).collect()
}

/// The offset of a polygon with holes, or without area.
fn general(part: PartView<'_>, radius: f64) -> MultiPolygon {
    let mut lines = part.rings().map(line);
    let Some(outer) = lines.next() else { return MultiPolygon::new(Vec::new()) };
    let style = BufferStyle::new(radius).line_join(LineJoin::Round(TAU / SIDES));
    Polygon::new(outer, lines.collect()).buffer_with_style(style)
}

fn line(ring: &[Local]) -> LineString {
    LineString::new(ring.iter().map(|p| Coord { x: p.x, y: p.y }).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;
    use geo::{Area, BooleanOps};
    use proptest::prelude::*;

    proptest! {
        /// Against the buffer of the `geo` crate, on stars of all kinds: the grounds differ by no more than the arcs allow.
        #[test]
        fn a_bent_ring_grows_as_geo_grows_it(spokes in proptest::collection::vec(5.0..60.0f64, 4..12), radius in 1.0..80.0f64, clockwise: bool) {
            let n = spokes.len() as f64;
            let place = |(k, r): (usize, &f64)| {
                let (sin, cos) = (k as f64 / n * TAU).sin_cos();
                Local { x: r * cos, y: r * sin }
            };
            let mut ring: Vec<Local> = spokes.iter().enumerate().map(place).collect();
            if clockwise {
                ring.reverse();
            }
            let mut s = Shapes::default();
            s.push_ring(&ring);
            s.end_part();
            s.end_shape();
            let mut ours = Rings::default();
            push_buffer(s.get(0), radius, &mut ours);
            prop_assert!(ours.other.is_empty() || ours.convex.is_empty());
            let convex = ours.convex.into_iter().map(|c| {
                Polygon::new(LineString::new(c.into_corners().into_iter().map(|[x, y]| Coord { x, y }).collect()), Vec::new())
            });
            let ours = geo::unary_union(&ours.other.into_iter().chain(convex).collect::<Vec<_>>());
            let theirs = general(s.get(0).parts().next().unwrap(), radius);
            let off = ours.xor(&theirs).unsigned_area();
            prop_assert!(off <= 0.002 * theirs.unsigned_area(), "{off} of {}", theirs.unsigned_area());
        }
    }
}
