//! How far apart two outlines are.

use super::{Bounds, Local, ShapeView};

/// Least distance between two outlines in metres: 0 when they touch, overlap or one lies inside the other. Every ring is
/// taken as closed, so a ring of one place measures as a point. An outline with no place is infinitely far from all.
///
/// # Source
/// Common practice, no source: the least of all distances from the corners of each to the edges of the other, unless
/// edges cross or one holds the other.
///
/// ```
/// use yardring_core::place::{Local, Shapes, distance};
/// let mut s = Shapes::default();
/// for x in [0.0, 25.0] {
///     s.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(dx, y)| Local { x: x + dx, y }));
///     s.end_part();
///     s.end_shape();
/// }
/// assert_eq!(distance(s.get(0), s.get(1)), 5.0);
/// ```
pub fn distance(a: ShapeView<'_>, b: ShapeView<'_>) -> f64 {
    nearest_under(a, b, f64::INFINITY).unwrap_or(f64::INFINITY)
}

/// Whether two outlines are at most some metres apart. Stops at the first places that prove it.
pub fn within(a: ShapeView<'_>, b: ShapeView<'_>, metres: f64) -> bool {
    a.bounds().distance(b.bounds()) <= metres && {
        let enough = metres * metres;
        // Two corners that are near enough prove it at once; in a reach most outlines have such.
        let corners = a.places().first().zip(b.places().first());
        if corners.is_some_and(|(p, q)| (p.x - q.x).powi(2) + (p.y - q.y).powi(2) <= enough) {
            return true;
        }
        squared(a, b, enough.next_up(), enough) <= enough || (a.bounds().touches(b.bounds()) && one_holds_the_other(a, b))
    }
}

/// The distance between two outlines when it is less than `limit` metres; otherwise `None`, sooner than [`distance`] would
/// tell.
pub fn nearest_under(a: ShapeView<'_>, b: ShapeView<'_>, limit: f64) -> Option<f64> {
    if a.is_empty() || b.is_empty() || a.bounds().distance(b.bounds()) >= limit {
        return None;
    }
    let least = squared(a, b, limit * limit, 0.0);
    if least == 0.0 || (a.bounds().touches(b.bounds()) && one_holds_the_other(a, b)) {
        return Some(0.0);
    }
    let metres = least.sqrt();
    (metres < limit).then_some(metres)
}

/// Whether some part of one lies wholly inside the other, given that no edges cross.
fn one_holds_the_other(a: ShapeView<'_>, b: ShapeView<'_>) -> bool {
    let some_inside =
        |of: ShapeView<'_>, other: ShapeView<'_>| of.parts().filter_map(|p| p.rings().next()?.first().copied()).any(|p| other.holds(p));
    some_inside(a, b) || some_inside(b, a)
}

/// The least squared distance between edges, looking only for less than `least` and content with `enough`.
fn squared(a: ShapeView<'_>, b: ShapeView<'_>, mut least: f64, enough: f64) -> f64 {
    for ring in a.rings() {
        for (p, q) in edges(ring) {
            let edge = box_of(p, q);
            if box_squared(&edge, b.bounds()) >= least {
                continue;
            }
            for other in b.rings() {
                least = edge_to_ring(p, q, &edge, other, least);
                if least <= enough {
                    return least;
                }
            }
        }
    }
    least
}

fn edge_to_ring(p: Local, q: Local, edge: &Bounds, ring: &[Local], mut least: f64) -> f64 {
    for (r, s) in edges(ring) {
        let apart = box_squared(edge, &box_of(r, s));
        if apart >= least {
            continue;
        }
        if apart == 0.0 && cross(p, q, r, s) {
            return 0.0;
        }
        // The first corner of an edge is the last one of the edge before it, so each corner is looked at once.
        least = least.min(to_edge(q, r, s)).min(to_edge(s, p, q));
    }
    least
}

/// The edges of a closed ring; one edge of no length for a ring of one place.
pub(super) fn edges(ring: &[Local]) -> impl Iterator<Item = (Local, Local)> {
    let before = ring.last().into_iter().chain(ring);
    before.zip(ring).map(|(a, b)| (*a, *b))
}

/// The box round an edge of finite ends. By comparing alone: what `f64::min` does besides for what is no number costs as much again.
fn box_of(p: Local, q: Local) -> Bounds {
    let in_order = |a: f64, b: f64| if a < b { (a, b) } else { (b, a) };
    let ((west, east), (south, north)) = (in_order(p.x, q.x), in_order(p.y, q.y));
    Bounds { min: Local { x: west, y: south }, max: Local { x: east, y: north } }
}

fn box_squared(a: &Bounds, b: &Bounds) -> f64 {
    let dx = (a.min.x - b.max.x).max(b.min.x - a.max.x).max(0.0);
    let dy = (a.min.y - b.max.y).max(b.min.y - a.max.y).max(0.0);
    dx * dx + dy * dy
}

/// Squared distance from a place to an edge.
fn to_edge(p: Local, a: Local, b: Local) -> f64 {
    let (ex, ey) = (b.x - a.x, b.y - a.y);
    let (px, py) = (p.x - a.x, p.y - a.y);
    let length = ex * ex + ey * ey;
    let along = if length > 0.0 { ((px * ex + py * ey) / length).clamp(0.0, 1.0) } else { 0.0 };
    let (dx, dy) = (px - along * ex, py - along * ey);
    dx * dx + dy * dy
}

/// Whether two edges cross in their interiors.
fn cross(p: Local, q: Local, r: Local, s: Local) -> bool {
    let side = |a: Local, b: Local, c: Local| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
    let opposite = |u: f64, v: f64| (u > 0.0 && v < 0.0) || (u < 0.0 && v > 0.0);
    opposite(side(p, q, r), side(p, q, s)) && opposite(side(r, s, p), side(r, s, q))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;
    use geo::{Coord, Distance, Euclidean, LineString, Polygon};
    use proptest::prelude::*;

    fn star(x: f64, y: f64, radii: &[f64]) -> Vec<Local> {
        let turn = std::f64::consts::TAU / radii.len() as f64;
        radii.iter().enumerate().map(|(i, r)| (turn * i as f64, r)).map(|(t, r)| Local { x: x + r * t.cos(), y: y + r * t.sin() }).collect()
    }

    fn arena(rings: &[&[Local]]) -> Shapes {
        let mut s = Shapes::default();
        for ring in rings {
            s.push_ring(ring);
            s.end_part();
            s.end_shape();
        }
        s
    }

    fn polygon(ring: &[Local]) -> Polygon {
        Polygon::new(LineString::new(ring.iter().map(|p| Coord { x: p.x, y: p.y }).collect()), Vec::new())
    }

    proptest! {
        /// Against the geo crate's own distance between polygons.
        #[test]
        fn agrees_with_the_geo_crate(
            a in proptest::collection::vec(1.0f64..30.0, 3..12),
            b in proptest::collection::vec(1.0f64..30.0, 3..12),
            x in -90.0f64..90.0,
            y in -90.0f64..90.0,
        ) {
            let (a, b) = (star(0.0, 0.0, &a), star(x, y, &b));
            let s = arena(&[&a, &b]);
            let expected = Euclidean.distance(&polygon(&a), &polygon(&b));
            let found = distance(s.get(0), s.get(1));
            prop_assert!((found - expected).abs() < 1e-9, "{} for {}", found, expected);
            prop_assert!(within(s.get(0), s.get(1), found + 1e-9));
            prop_assert_eq!(within(s.get(0), s.get(1), found - 1e-9), found == 0.0 && found - 1e-9 >= 0.0);
            prop_assert_eq!(nearest_under(s.get(0), s.get(1), found + 1.0), Some(found));
            prop_assert_eq!(nearest_under(s.get(0), s.get(1), found), None);
        }
    }

    #[test]
    fn a_yard_inside_another_is_at_no_distance_unless_in_its_hole() {
        let square = |from: f64, to: f64| [(from, from), (to, from), (to, to), (from, to)].map(|(x, y)| Local { x, y });
        let mut s = arena(&[&square(0.0, 100.0), &square(45.0, 55.0)]);
        assert_eq!((distance(s.get(0), s.get(1)), within(s.get(1), s.get(0), 0.0)), (0.0, true));
        s.push_ring(&square(0.0, 100.0));
        s.push_ring(&square(40.0, 60.0));
        s.end_part();
        s.end_shape();
        s.end_shape();
        assert_eq!(distance(s.get(2), s.get(1)), 5.0);
        assert_eq!(distance(s.get(2), s.get(3)), f64::INFINITY);
        assert!(!within(s.get(2), s.get(1), 4.999) && within(s.get(2), s.get(1), 5.0));
    }
}
