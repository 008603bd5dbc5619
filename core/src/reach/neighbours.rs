//! Neighbours: premises that share a fence line.

use crate::place::{BoxIndex, FENCE_GAP, FENCE_LENGTH, shared_line};
use crate::survey::{PremiseId, Survey};
use crate::units::Metres;

/// A premise on the other side of a fence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Neighbour {
    /// Which premise.
    pub premise: PremiseId,
    /// How long the common fence line is.
    pub fence: Metres,
}

/// The premises that share a fence line of at least a metre with a premise, in their order; `index` is the tree over the
/// boxes of all outlines. Premises that face each other over a street are not among them.
pub fn neighbours(survey: &Survey, index: &BoxIndex, premise: PremiseId) -> Vec<Neighbour> {
    let outlines = &survey.premises.outline;
    let here = outlines.get(premise.row());
    let mut found = Vec::new();
    if here.is_empty() {
        return found;
    }
    index.each_touching(&here.bounds().grown(FENCE_GAP), |row| {
        let fence = if row == premise.row() { 0.0 } else { shared_line(here, outlines.get(row)) };
        if fence >= FENCE_LENGTH {
            found.push(Neighbour { premise: PremiseId(row as u32), fence: Metres(fence) });
        }
    });
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reach::made_up::neighbourhood;

    /// By a look at every pair; and a neighbour's neighbour is oneself.
    #[test]
    fn agree_with_a_look_at_every_pair() {
        let survey = neighbourhood(200, 9);
        let outlines = &survey.premises.outline;
        let index = BoxIndex::new(outlines.bounds());
        let of =
            |row: usize| -> Vec<usize> { neighbours(&survey, &index, PremiseId(row as u32)).iter().map(|n| n.premise.row()).collect() };
        for row in 0..200 {
            let slow: Vec<usize> =
                (0..200).filter(|&o| o != row && shared_line(outlines.get(row), outlines.get(o)) >= FENCE_LENGTH).collect();
            assert_eq!(of(row), slow);
            assert!(slow.iter().all(|&o| of(o).contains(&row)));
        }
        assert!((0..200).map(|row| of(row).len()).sum::<usize>() > 400);
    }
}
