//! A place inside an outline, to stand for it.

use super::distance::edges;
use super::{Local, ShapeView, signed_area};

/// A place inside an outline, for a list, a label or a measure from one point: the centre of gravity of its largest part
/// when the outline holds it, otherwise the middle of the widest stretch half-way up that part. `None` for an outline without
/// places; a place of the outline itself when it bounds no ground.
///
/// # Source
/// Centre of gravity by the usual sum over edges (from memory); the scan line is common practice, no source.
///
/// ```
/// use yardring_core::place::{Local, Shapes, inside};
/// let mut s = Shapes::default();
/// s.push_ring(&[(0.0, 0.0), (40.0, 0.0), (40.0, 4.0), (4.0, 4.0), (4.0, 40.0), (0.0, 40.0)].map(|(x, y)| Local { x, y }));
/// s.end_part();
/// s.end_shape();
/// assert!(s.get(0).holds(inside(s.get(0)).unwrap()));
/// ```
pub fn inside(shape: ShapeView<'_>) -> Option<Local> {
    let first = *shape.places().first()?;
    let largest = shape.parts().filter_map(|p| p.rings().next()).map(|r| (signed_area(r).abs(), r)).max_by(|a, b| a.0.total_cmp(&b.0))?;
    if largest.0.is_nan() || largest.0 <= 0.0 {
        return Some(first);
    }
    let centre = centre_of_gravity(largest.1);
    Some(if shape.holds(centre) { centre } else { widest_stretch(shape, largest.1).unwrap_or(first) })
}

fn centre_of_gravity(ring: &[Local]) -> Local {
    let o = ring[0];
    let (mut x, mut y, mut twice) = (0.0, 0.0, 0.0);
    for (a, b) in edges(ring) {
        let (a, b) = (Local { x: a.x - o.x, y: a.y - o.y }, Local { x: b.x - o.x, y: b.y - o.y });
        let cross = a.x * b.y - b.x * a.y;
        x += (a.x + b.x) * cross;
        y += (a.y + b.y) * cross;
        twice += cross;
    }
    Local { x: o.x + x / (3.0 * twice), y: o.y + y / (3.0 * twice) }
}

/// The middle of the widest stretch inside the outline, at the height half-way between the two corners of the ring about
/// its middle.
fn widest_stretch(shape: ShapeView<'_>, ring: &[Local]) -> Option<Local> {
    let mut heights: Vec<f64> = ring.iter().map(|p| p.y).collect();
    heights.sort_unstable_by(f64::total_cmp);
    heights.dedup();
    let above = (heights.len() / 2).max(1);
    let y = f64::midpoint(*heights.get(above - 1)?, *heights.get(above)?);
    let mut crossings: Vec<f64> = shape
        .rings()
        .flat_map(edges)
        .filter(|(a, b)| (a.y > y) != (b.y > y))
        .map(|(a, b)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    crossings.sort_unstable_by(f64::total_cmp);
    let widest = crossings.chunks_exact(2).max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])))?;
    Some(Local { x: f64::midpoint(widest[0], widest[1]), y })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;

    #[test]
    fn a_ring_round_a_hole_is_stood_for_from_its_rim() {
        let square = |from: f64, to: f64| [(from, from), (to, from), (to, to), (from, to)].map(|(x, y)| Local { x, y });
        let mut s = Shapes::default();
        s.push_ring(&square(0.0, 10.0));
        s.push_ring(&square(2.0, 8.0));
        s.end_part();
        s.end_shape();
        s.end_shape();
        s.push_ring(&square(0.0, 6.0));
        s.end_part();
        s.end_shape();
        let rim = inside(s.get(0)).unwrap();
        assert!(s.get(0).holds(rim), "{rim:?}");
        assert_eq!(inside(s.get(1)), None);
        assert_eq!(inside(s.get(2)), Some(Local { x: 3.0, y: 3.0 }));
    }
}
