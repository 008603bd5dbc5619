//! The ground within a radius of one shape.

use super::ground::united;
use super::thinned::Convex;
use crate::place::{Local, ShapeView, signed_area};
use geo::algorithm::buffer::{BufferStyle, LineJoin};
use geo::{Buffer, Coord, LineString, MultiPolygon, Polygon};
use std::f64::consts::TAU;

/// Sides of a full circle. A circle of 96 sides with its corners on the true one has 0.07 % less area.
pub(super) const SIDES: f64 = 96.0;

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
        let holes: Vec<LineString> = rings.map(line).collect();
        match convex(outer) {
            Some(corners) if holes.is_empty() => out.convex.push(Convex::new(offset(&corners, radius))),
            None if holes.is_empty() => out.other.extend(bent(outer, radius)),
            _ => out.other.extend(general(outer, holes, radius)),
        }
    }
}

/// The corners of a ring, counter-clockwise and without repeats, when it nowhere turns the other way; also for a ring of one
/// place. `None` for any other.
fn convex(ring: &[Local]) -> Option<Vec<Local>> {
    let mut corners = ring.to_vec();
    corners.dedup();
    while corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    if corners.len() == 1 {
        return Some(corners);
    }
    if signed_area(&corners) < 0.0 {
        corners.reverse();
    }
    let n = corners.len();
    let mut turned = 0.0;
    for i in 0..n {
        let (a, b, c) = (corners[i], corners[(i + 1) % n], corners[(i + 2) % n]);
        let (u, v) = ((b.x - a.x, b.y - a.y), (c.x - b.x, c.y - b.y));
        let (cross, dot) = (u.0 * v.1 - u.1 * v.0, u.0 * v.0 + u.1 * v.1);
        if cross < 0.0 || (cross == 0.0 && dot < 0.0) {
            return None;
        }
        turned += cross.atan2(dot);
    }
    (n >= 3 && (turned - TAU).abs() < 1e-6).then_some(corners)
}

/// The offset of a ring that somewhere turns the other way. Its raw offset goes through each such corner itself; what this
/// winds round at least once is the ground within the radius.
///
/// Done here and not by [`general`], which asks the system for its processors several times a ring: a sixth of the reach's time.
fn bent(ring: &[Local], radius: f64) -> Vec<Polygon> {
    let mut corners = ring.to_vec();
    corners.dedup();
    if corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    if corners.len() < 3 || signed_area(&corners) == 0.0 {
        return general(ring, Vec::new(), radius).0;
    }
    if signed_area(&corners) < 0.0 {
        corners.reverse();
    }
    let n = corners.len();
    let mut raw: Vec<[f64; 2]> = Vec::with_capacity(SIDES as usize + 3 * n);
    for (i, &corner) in corners.iter().enumerate() {
        let (before, after) = (corners[(i + n - 1) % n], corners[(i + 1) % n]);
        let cross = (corner.x - before.x) * (after.y - corner.y) - (corner.y - before.y) * (after.x - corner.x);
        let (from, to) = facing(before, corner, after);
        if cross >= 0.0 {
            arc(corner, radius, (from, to), |p| raw.push([p.x, p.y]));
        } else {
            arc(corner, radius, (from, from), |p| raw.push([p.x, p.y]));
            raw.push([corner.x, corner.y]);
            arc(corner, radius, (to, to), |p| raw.push([p.x, p.y]));
        }
    }
    let rings = |piece: Vec<Vec<[f64; 2]>>| {
        let mut lines = piece.into_iter().map(|ring| LineString::new(ring.into_iter().map(|[x, y]| Coord { x, y }).collect()));
        Some(Polygon::new(lines.next()?, lines.collect()))
    };
    united(&vec![raw]).into_iter().filter_map(rings).collect()
}

/// Places on a circle between two directions, at most [`SIDES`] to the whole.
fn arc(centre: Local, radius: f64, (from, to): (f64, f64), mut each: impl FnMut(Local)) {
    let steps = ((to - from) / (TAU / SIDES)).ceil().max(1.0);
    let last = if to > from { steps as u32 } else { 0 };
    for k in 0..=last {
        let angle = from + (to - from) * f64::from(k) / steps;
        each(Local { x: centre.x + radius * angle.cos(), y: centre.y + radius * angle.sin() });
    }
}

/// The true round offset of a convex ring: every edge moved out, every corner an arc.
fn offset(corners: &[Local], radius: f64) -> Vec<[f64; 2]> {
    let n = corners.len();
    let mut out: Vec<[f64; 2]> = Vec::with_capacity(SIDES as usize + 2 * n);
    for (i, c) in corners.iter().enumerate() {
        let (from, to) = match n {
            1 => (0.0, TAU),
            _ => facing(corners[(i + n - 1) % n], *c, corners[(i + 1) % n]),
        };
        arc(*c, radius, (from, to), |p| out.push([p.x, p.y]));
    }
    out.dedup();
    while out.len() > 1 && out.first() == out.last() {
        out.pop();
    }
    out
}

/// The directions in which the edges before and after a corner face outwards, the second not less than the first.
fn facing(before: Local, corner: Local, after: Local) -> (f64, f64) {
    let outwards = |a: Local, b: Local| (a.x - b.x).atan2(b.y - a.y);
    let (from, to) = (outwards(before, corner), outwards(corner, after));
    (from, if to < from { to + TAU } else { to })
}

/// The offset of any other polygon.
fn general(outer: &[Local], holes: Vec<LineString>, radius: f64) -> MultiPolygon {
    let style = BufferStyle::new(radius).line_join(LineJoin::Round(TAU / SIDES));
    Polygon::new(line(outer), holes).buffer_with_style(style)
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
            let ours = MultiPolygon::new(ours.other.into_iter().chain(convex).collect());
            let theirs = general(&ring, Vec::new(), radius);
            let off = ours.xor(&theirs).unsigned_area();
            prop_assert!(off <= 0.002 * theirs.unsigned_area(), "{off} of {}", theirs.unsigned_area());
        }
    }
}
