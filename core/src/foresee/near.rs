//! Inspected yards near a place.

use crate::place::{Bounds, Local, ScatteredIndex};

/// The inspected yards, found by where they are.
#[derive(Clone, Debug)]
pub(super) struct Near {
    index: ScatteredIndex,
    at: Vec<Local>,
}

impl Near {
    /// An index over places.
    pub(super) fn new(at: &[Local]) -> Self {
        let boxes: Vec<Bounds> = at.iter().map(|p| Bounds::of(&[*p])).collect();
        Self { index: ScatteredIndex::new(&boxes), at: at.to_vec() }
    }

    /// Calls `found` with the number and the squared distance of every place at most `radius` metres away.
    pub(super) fn each(&self, p: Local, radius: f64, mut found: impl FnMut(usize, f64)) {
        self.index.each_touching(&Bounds::of(&[p]).grown(radius), |i| {
            let (dx, dy) = (self.at[i].x - p.x, self.at[i].y - p.y);
            let squared = dx * dx + dy * dy;
            if squared <= radius * radius {
                found(i, squared);
            }
        });
    }

    /// The distance from a place to the nearest other one than itself, looked for in growing rings; `None` when there is none
    /// within `radius` metres.
    pub(super) fn nearest_other(&self, i: usize, radius: f64) -> Option<f64> {
        let mut ring = radius / 64.0;
        while ring <= radius {
            let mut least = f64::INFINITY;
            self.each(self.at[i], ring, |j, squared| {
                if j != i && squared > 0.0 {
                    least = least.min(squared);
                }
            });
            if least.is_finite() {
                return Some(least.sqrt());
            }
            ring *= 2.0;
        }
        None
    }

    /// The usual distance from an inspected yard to the next one: the median, in metres; 0 when there are too few.
    pub(super) fn usual_spacing(&self) -> f64 {
        let step = (self.at.len() / 2000).max(1);
        let mut found: Vec<f64> = (0..self.at.len()).step_by(step).filter_map(|i| self.nearest_other(i, 2048.0)).collect();
        found.sort_by(f64::total_cmp);
        found.get(found.len() / 2).copied().unwrap_or(0.0)
    }
}
