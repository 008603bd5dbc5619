//! The ground within a radius of one shape.

use crate::place::{Local, ShapeView, signed_area};
use geo::algorithm::buffer::{BufferStyle, LineJoin};
use geo::{Buffer, Coord, LineString, MultiPolygon, Polygon};
use std::f64::consts::TAU;

/// Sides of a full circle. A circle of 96 sides with its corners on the true one has 0.07 % less area.
pub(super) const SIDES: f64 = 96.0;

/// Adds the ground within `radius` of a shape, as outlines that run counter-clockwise, to be united.
pub(super) fn push_buffer(shape: ShapeView<'_>, radius: f64, out: &mut Vec<Polygon>) {
    for part in shape.parts() {
        let mut rings = part.rings();
        let Some(outer) = rings.next() else { continue };
        let holes: Vec<LineString> = rings.map(line).collect();
        match convex(outer) {
            Some(corners) if holes.is_empty() => out.push(Polygon::new(offset(&corners, radius), Vec::new())),
            _ => out.extend(general(outer, holes, radius)),
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

/// The true round offset of a convex ring: every edge moved out, every corner an arc.
fn offset(corners: &[Local], radius: f64) -> LineString {
    let n = corners.len();
    let mut out: Vec<Coord> = Vec::with_capacity(SIDES as usize + 2 * n);
    for (i, c) in corners.iter().enumerate() {
        let (from, to) = match n {
            1 => (0.0, TAU),
            _ => facing(corners[(i + n - 1) % n], *c, corners[(i + 1) % n]),
        };
        let steps = ((to - from) / (TAU / SIDES)).ceil().max(1.0);
        for k in 0..=steps as u32 {
            let angle = from + (to - from) * f64::from(k) / steps;
            out.push(Coord { x: c.x + radius * angle.cos(), y: c.y + radius * angle.sin() });
        }
    }
    LineString::new(out)
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
