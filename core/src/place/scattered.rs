//! Finding boxes that lie in any order.

use super::{Bounds, BoxIndex, hilbert};

/// A tree over boxes in no order of the ground: it puts them along a space-filling curve itself, and a box keeps its number. Where
/// boxes lie along such a curve already, [`BoxIndex`] alone is enough.
///
/// ```
/// use yardring_core::place::{Bounds, Local, ScatteredIndex};
/// let at = |x: f64| Bounds::of(&[Local { x, y: 0.0 }]);
/// let index = ScatteredIndex::new(&[at(90.0), Bounds::EMPTY, at(5.0)]);
/// let mut found = Vec::new();
/// index.each_touching(&at(5.0), |i| found.push(i));
/// assert_eq!(found, [2]);
/// ```
#[derive(Clone, Debug)]
pub struct ScatteredIndex {
    index: BoxIndex,
    /// The number of each box of the tree.
    order: Vec<u32>,
}

impl ScatteredIndex {
    /// The tree over some boxes; empty ones are left aside.
    pub fn new(boxes: &[Bounds]) -> Self {
        let extent = boxes.iter().fold(Bounds::EMPTY, |all, b| all.union(*b));
        let mut order: Vec<u32> = (0..boxes.len() as u32).filter(|&i| !boxes[i as usize].is_empty()).collect();
        order.sort_by_cached_key(|&i| (hilbert(boxes[i as usize].centre(), &extent), i));
        let along: Vec<Bounds> = order.iter().map(|&i| boxes[i as usize]).collect();
        Self { index: BoxIndex::new(&along), order }
    }

    /// Whether there is no box to find.
    pub fn is_empty(&self) -> bool {
        self.order.is_empty()
    }

    /// Calls `found` with the number of every box that touches another one, in an order of the ground.
    pub fn each_touching(&self, wanted: &Bounds, mut found: impl FnMut(usize)) {
        self.index.each_touching(wanted, |k| found(self.order[k] as usize));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Local;
    use proptest::prelude::*;

    proptest! {
        /// Against a look at every box.
        #[test]
        fn finds_what_a_look_at_every_box_finds(
            places in prop::collection::vec((0.0..1000.0, 0.0..1000.0, prop::bool::weighted(0.1)), 0..200),
            x in 0.0..1000.0,
            y in 0.0..1000.0,
            wide in 0.0..300.0,
        ) {
            let of = |&(x, y, empty): &(f64, f64, bool)| if empty { Bounds::EMPTY } else { Bounds::of(&[Local { x, y }]).grown(9.0) };
            let boxes: Vec<Bounds> = places.iter().map(of).collect();
            let wanted = Bounds::of(&[Local { x, y }]).grown(wide);
            let mut found = Vec::new();
            ScatteredIndex::new(&boxes).each_touching(&wanted, |i| found.push(i));
            found.sort_unstable();
            let slow: Vec<usize> = (0..boxes.len()).filter(|&i| !boxes[i].is_empty() && boxes[i].touches(&wanted)).collect();
            prop_assert_eq!(found, slow);
        }
    }
}
