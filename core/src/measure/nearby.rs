//! Which units lie near which, for questions of clustering.

use crate::place::{Bounds, BoxIndex, Local, Shapes, within};

/// For each unit the other units near it, in rising order. A unit is not its own neighbour.
///
/// ```
/// use yardring_core::measure::Nearby;
/// let row = Nearby::from_lists(&[vec![1], vec![0, 2], vec![1]]);
/// assert_eq!((row.len(), row.of(1)), (3, &[0, 2][..]));
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Nearby {
    first: Vec<u32>,
    near: Vec<u32>,
}

impl Nearby {
    /// From the numbers of the neighbours of each unit.
    pub fn from_lists<L: AsRef<[u32]>>(lists: &[L]) -> Self {
        let mut out = Self { first: vec![0], near: Vec::new() };
        for list in lists {
            out.near.extend_from_slice(list.as_ref());
            out.first.push(out.near.len() as u32);
        }
        out
    }

    /// Points no more than `metres` apart.
    pub fn points(places: &[Local], metres: f64) -> Self {
        let boxes: Vec<Bounds> = places.iter().map(|p| Bounds::of(&[*p])).collect();
        Self::found(&boxes, metres, |i, j| places[i].distance(places[j]) <= metres)
    }

    /// Outlines no more than `metres` apart at their nearest. Where a unit has no outline its box stands for it.
    pub fn outlines(outlines: &Shapes, boxes: &[Bounds], metres: f64) -> Self {
        let close = |i: usize, j: usize| {
            let (a, b) = (outlines.get(i), outlines.get(j));
            if a.is_empty() || b.is_empty() { boxes[i].distance(&boxes[j]) <= metres } else { within(a, b, metres) }
        };
        Self::found(boxes, metres, close)
    }

    fn found(boxes: &[Bounds], metres: f64, close: impl Fn(usize, usize) -> bool) -> Self {
        let index = BoxIndex::new(boxes);
        let mut out = Self { first: vec![0], near: Vec::new() };
        for (i, here) in boxes.iter().enumerate() {
            if !here.is_empty() {
                index.each_touching(&here.grown(metres), |j| {
                    if i != j && close(i, j) {
                        out.near.push(j as u32);
                    }
                });
            }
            out.first.push(out.near.len() as u32);
        }
        out
    }

    /// How many units there are.
    pub fn len(&self) -> usize {
        self.first.len() - 1
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The neighbours of a unit.
    pub fn of(&self, unit: usize) -> &[u32] {
        &self.near[self.first[unit] as usize..self.first[unit + 1] as usize]
    }

    /// Units without a neighbour.
    pub fn alone(&self) -> usize {
        (0..self.len()).filter(|&i| self.of(i).is_empty()).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_stands_for_a_missing_outline() {
        let square = |x: f64| {
            let at = |dx: f64, y: f64| Local { x: x + dx, y };
            [at(0.0, 0.0), at(10.0, 0.0), at(10.0, 10.0), at(0.0, 10.0)]
        };
        let mut shapes = Shapes::default();
        shapes.push_ring(&square(0.0));
        shapes.end_part();
        shapes.end_shape();
        shapes.end_shape();
        shapes.push_ring(&square(60.0));
        shapes.end_part();
        shapes.end_shape();
        let boxes = [Bounds::of(&square(0.0)), Bounds::of(&square(30.0)), Bounds::of(&square(60.0))];
        assert_eq!(Nearby::outlines(&shapes, &boxes, 25.0), Nearby::from_lists(&[vec![1], vec![0, 2], vec![1]]));
        assert_eq!(Nearby::outlines(&shapes, &boxes, 19.0).alone(), 3);
    }
}
