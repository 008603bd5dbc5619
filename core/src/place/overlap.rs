//! How much ground two outlines have in common.

use super::{Bounds, Local, ShapeView};
use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Polygon};

/// The area that lies in both outlines, in square metres; 0 for outlines that only touch.
///
/// # Source
/// The overlay of the `geo` crate.
///
/// ```
/// use yardring_core::place::{Local, Shapes, overlap};
/// let mut s = Shapes::default();
/// for x in [0.0, 15.0, 20.0] {
///     s.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(dx, y)| Local { x: x + dx, y }));
///     s.end_part();
///     s.end_shape();
/// }
/// assert!((overlap(s.get(0), s.get(1)) - 150.0).abs() < 1e-6);
/// assert_eq!(overlap(s.get(0), s.get(2)), 0.0);
/// ```
pub fn overlap(a: ShapeView<'_>, b: ShapeView<'_>) -> f64 {
    if a.is_empty() || b.is_empty() || !a.bounds().touches(b.bounds()) {
        return 0.0;
    }
    polygons(a, b.bounds()).intersection(&polygons(b, a.bounds())).unsigned_area()
}

/// Rings with more corners than this are cut down to the other outline's surroundings before they are laid over it: the outline of a
/// county's roads has twenty thousand and touches every lot.
const LONG: usize = 64;
/// How far round the other outline a long ring is kept, in metres.
const ROUND: f64 = 1.0;

/// A shape's polygons, as far as they lie near a box.
fn polygons(shape: ShapeView<'_>, near: &Bounds) -> MultiPolygon {
    let near = near.grown(ROUND);
    let line = |ring: &[Local]| {
        let cut = if ring.len() > LONG { cut_to(ring, &near) } else { ring.to_vec() };
        LineString::new(cut.iter().map(|p| Coord { x: p.x, y: p.y }).collect())
    };
    let part = |part: super::PartView<'_>| {
        let mut rings = part.rings().map(line);
        Some(Polygon::new(rings.next()?, rings.collect()))
    };
    MultiPolygon::new(shape.parts().filter_map(part).collect())
}

/// The part of a ring's ground inside a box. Where the ring leaves the box and comes back the cut runs along the box's edge, to and fro
/// where there is no ground between, which counts nothing.
///
/// # Source
/// I. Sutherland, G. Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974), from memory.
fn cut_to(ring: &[Local], to: &Bounds) -> Vec<Local> {
    let sides: [&dyn Fn(&Local) -> f64; 4] = [&|p| p.x - to.min.x, &|p| to.max.x - p.x, &|p| p.y - to.min.y, &|p| to.max.y - p.y];
    sides.into_iter().fold(ring.to_vec(), |ring, inside| {
        let mut kept = Vec::new();
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let (da, db) = (inside(a), inside(b));
            if da >= 0.0 {
                kept.push(*a);
            }
            if (da >= 0.0) != (db >= 0.0) {
                let t = da / (da - db);
                kept.push(Local { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) });
            }
        }
        kept
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;

    /// Areas by hand: a square with a hole against a square over the hole's corner.
    #[test]
    fn holes_and_parts_count() {
        let square = |x: f64, y: f64, side: f64| [(x, y), (x + side, y), (x + side, y + side), (x, y + side)].map(|(x, y)| Local { x, y });
        let mut s = Shapes::default();
        s.push_ring(&square(0.0, 0.0, 100.0));
        s.push_ring(&square(40.0, 40.0, 20.0));
        s.end_part();
        s.push_ring(&square(200.0, 0.0, 10.0));
        s.end_part();
        s.end_shape();
        s.push_ring(&square(50.0, 50.0, 200.0));
        s.end_part();
        s.end_shape();
        s.push_ring(&square(195.0, -5.0, 10.0));
        s.end_part();
        s.end_shape();
        assert!((overlap(s.get(0), s.get(1)) - 2400.0).abs() < 1e-6);
        assert!((overlap(s.get(2), s.get(0)) - 25.0).abs() < 1e-6);
    }

    /// A comb of 200 teeth, 1 m wide and 2 m apart, over squares that meet some of them: the share is the teeth's.
    #[test]
    fn long_outlines_are_cut_down_without_losing_ground() {
        let mut s = Shapes::default();
        let tooth = |k: u32| [(0.0, 0.0), (0.0, 50.0), (1.0, 50.0), (1.0, 0.0)].map(|(x, y)| Local { x: x + 2.0 * f64::from(k), y });
        let mut comb = vec![Local { x: 400.0, y: -1.0 }, Local { x: 0.0, y: -1.0 }];
        comb.extend((0..200).flat_map(tooth));
        s.push_ring(&comb);
        s.end_part();
        s.end_shape();
        for (x, y) in [(100.0, 20.0), (100.0, -5.0), (0.0, 45.0), (390.0, 60.0)] {
            s.push_ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(dx, dy)| Local { x: x + dx, y: y + dy }));
            s.end_part();
            s.end_shape();
        }
        // The back of the comb is 1 m high; its last tooth ends at 399 and the slanting side beyond it holds nothing here.
        let found: Vec<f64> = (1..5).map(|i| (overlap(s.get(0), s.get(i)) * 1e6).round() / 1e6).collect();
        assert_eq!(found, [50.0, 35.0, 25.0, 0.0]);
    }
}
