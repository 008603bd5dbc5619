//! Which premise lies under a place.

use yardring_core::place::{Bounds, BoxIndex, Local, Shapes};
use yardring_core::survey::PremiseId;

/// The premise whose outline holds a place; of several the smallest, and of equal ones the first row. `None` for open ground.
///
/// ```
/// use yardring::map::premise_at;
/// use yardring_core::place::{BoxIndex, Local, Shapes};
/// let mut shapes = Shapes::default();
/// shapes.push_ring(&[Local { x: 0.0, y: 0.0 }, Local { x: 20.0, y: 0.0 }, Local { x: 0.0, y: 30.0 }]);
/// shapes.end_part();
/// shapes.end_shape();
/// let index = BoxIndex::new(shapes.bounds());
/// assert!(premise_at(&shapes, &index, Local { x: 2.0, y: 2.0 }).is_some());
/// assert!(premise_at(&shapes, &index, Local { x: 19.0, y: 29.0 }).is_none());
/// ```
pub fn premise_at(outlines: &Shapes, index: &BoxIndex, place: Local) -> Option<PremiseId> {
    let mut best: Option<(f64, usize)> = None;
    index.each_touching(&Bounds::of(&[place]), |i| {
        if i < outlines.len() && outlines.get(i).holds(place) {
            let area = outlines.get(i).area();
            if best.is_none_or(|b| area < b.0) {
                best = Some((area, i));
            }
        }
    });
    best.map(|(_, i)| PremiseId(i as u32))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_of_stacked_outlines_is_taken() {
        let mut shapes = Shapes::default();
        for side in [30.0, 10.0, 10.0, 20.0] {
            let p = |x: f64, y: f64| Local { x, y };
            shapes.push_ring(&[p(0.0, 0.0), p(side, 0.0), p(side, side), p(0.0, side)]);
            shapes.end_part();
            shapes.end_shape();
        }
        shapes.end_shape();
        let index = BoxIndex::new(shapes.bounds());
        let at = |x: f64| premise_at(&shapes, &index, Local { x, y: x });
        assert_eq!([at(5.0), at(15.0), at(25.0), at(35.0)], [Some(PremiseId(1)), Some(PremiseId(3)), Some(PremiseId(0)), None]);
    }
}
