//! How much ground two outlines have in common.

use super::{Local, ShapeView};
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
    polygons(a).intersection(&polygons(b)).unsigned_area()
}

fn polygons(shape: ShapeView<'_>) -> MultiPolygon {
    let line = |ring: &[Local]| LineString::new(ring.iter().map(|p| Coord { x: p.x, y: p.y }).collect());
    let part = |part: super::PartView<'_>| {
        let mut rings = part.rings().map(line);
        Some(Polygon::new(rings.next()?, rings.collect()))
    };
    MultiPolygon::new(shape.parts().filter_map(part).collect())
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
}
