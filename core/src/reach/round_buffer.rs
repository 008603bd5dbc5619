//! The ground within a radius of one shape.

use super::convex_pieces::convex_pieces;
use super::thinned::Convex;
use crate::place::{Local, PartView, ShapeView};
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

/// Adds the ground within `radius` of a shape: that of each of its convex pieces, which needs nothing but arcs.
pub(super) fn push_buffer(shape: ShapeView<'_>, radius: f64, out: &mut Rings) {
    for part in shape.parts() {
        match convex_pieces(part) {
            Some(pieces) => out.convex.extend(pieces.iter().map(|corners| Convex::new(offset(corners, radius)))),
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
        (self.unit[0] * other.unit[1] - self.unit[1] * other.unit[0]).abs() < ONE_DIRECTION
    }
}

/// The directions of the corners of every circle: arcs round one place, as of the lots that meet there, lie on each other then, and their
/// union has no end of crossings less.
fn circle() -> &'static [[f64; 2]] {
    static CORNERS: OnceLock<Vec<[f64; 2]>> = OnceLock::new();
    CORNERS.get_or_init(|| {
        let corner = |k: u32| (f64::from(k) / SIDES * TAU).sin_cos();
        (0..SIDES as u32).map(corner).map(|(sin, cos)| [cos, sin]).collect()
    })
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
    let faces: Vec<Direction> = (0..n).map(|i| Direction::outwards(corners[i], corners[(i + 1) % n])).collect();
    for (i, &corner) in corners.iter().enumerate() {
        let (before, after) = (faces[(i + n - 1) % n], faces[i]);
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

/// The offset of a polygon that has no convex pieces.
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
        /// Against the buffer of the `geo` crate, on stars of all kinds, with a hole or without: the grounds differ by no more than the
        /// arcs allow.
        #[test]
        fn a_bent_ring_grows_as_geo_grows_it(
            spokes in proptest::collection::vec(5.0..60.0f64, 4..12),
            hole in proptest::option::of(0.1..0.9f64),
            radius in 1.0..80.0f64,
            clockwise: bool,
        ) {
            let n = spokes.len() as f64;
            let star = |share: f64| {
                let place = |(k, r): (usize, &f64)| {
                    let (sin, cos) = (k as f64 / n * TAU).sin_cos();
                    Local { x: share * r * cos, y: share * r * sin }
                };
                let mut ring: Vec<Local> = spokes.iter().enumerate().map(place).collect();
                if clockwise {
                    ring.reverse();
                }
                ring
            };
            let mut s = Shapes::default();
            s.push_ring(&star(1.0));
            hole.iter().for_each(|&share| s.push_ring(&star(share)));
            s.end_part();
            s.end_shape();
            let mut ours = Rings::default();
            push_buffer(s.get(0), radius, &mut ours);
            prop_assert!(ours.other.is_empty());
            let polygon = |corners: Vec<[f64; 2]>| Polygon::new(LineString::new(corners.into_iter().map(|[x, y]| Coord { x, y }).collect()), Vec::new());
            let rings: Vec<Polygon> = ours.convex.into_iter().map(|c| polygon(c.into_corners())).collect();
            let theirs = general(s.get(0).parts().next().unwrap(), radius);
            let off = geo::unary_union(&rings).xor(&theirs).unsigned_area();
            prop_assert!(off <= 0.002 * theirs.unsigned_area(), "{off} of {}", theirs.unsigned_area());
        }
    }
}
