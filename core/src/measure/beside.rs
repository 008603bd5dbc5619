//! What a change is told beside: the blocks where nothing was done.

use crate::survey::BlockId;

/// Which blocks were left alone while the others were treated.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Beside {
    /// No control area: everything was treated.
    #[default]
    Nothing,
    /// These blocks were left alone; all other premises were treated.
    Control(Vec<BlockId>),
    /// These blocks were treated; all other premises are the control, those without a block too.
    Treated(Vec<BlockId>),
}

impl Beside {
    /// The blocks that are named, be they control or treated.
    pub fn blocks(&self) -> &[BlockId] {
        match self {
            Self::Nothing => &[],
            Self::Control(blocks) | Self::Treated(blocks) => blocks,
        }
    }

    /// The same with other blocks named, in their order and none twice; without any, nothing is compared.
    ///
    /// ```
    /// use yardring_core::measure::Beside;
    /// use yardring_core::survey::BlockId;
    /// let two = Beside::Treated(Vec::new()).naming([BlockId(4), BlockId(1), BlockId(4)]);
    /// assert_eq!(two, Beside::Treated(vec![BlockId(1), BlockId(4)]));
    /// assert_eq!(two.naming([]), Beside::Nothing);
    /// ```
    #[must_use]
    pub fn naming(&self, blocks: impl IntoIterator<Item = BlockId>) -> Self {
        let mut blocks: Vec<BlockId> = blocks.into_iter().collect();
        blocks.sort_unstable();
        blocks.dedup();
        match self {
            _ if blocks.is_empty() => Self::Nothing,
            Self::Treated(_) => Self::Treated(blocks),
            Self::Nothing | Self::Control(_) => Self::Control(blocks),
        }
    }

    /// For each premise whether it lies in the control area, from the block of each; a survey has so many blocks.
    pub fn controls(&self, of_premises: &[Option<BlockId>], blocks: usize) -> Vec<bool> {
        let mut named = vec![false; blocks];
        self.blocks().iter().filter(|b| b.row() < blocks).for_each(|b| named[b.row()] = true);
        let inside = |block: &Option<BlockId>| block.is_some_and(|b| named[b.row()]);
        of_premises.iter().map(|block| inside(block) == matches!(self, Self::Control(_)) && *self != Self::Nothing).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn premises_without_a_block_are_treated_unless_the_treated_blocks_are_named() {
        let of_premises = [Some(BlockId(0)), Some(BlockId(1)), None, Some(BlockId(2))];
        let controls = |beside: Beside| beside.controls(&of_premises, 3);
        assert_eq!(controls(Beside::Nothing), [false; 4]);
        assert_eq!(controls(Beside::Control(vec![BlockId(1)])), [false, true, false, false]);
        assert_eq!(controls(Beside::Treated(vec![BlockId(0), BlockId(1)])), [false, false, true, true]);
        assert_eq!(controls(Beside::Treated(vec![BlockId(7)])), [true; 4], "a block that is gone treats nothing");
    }
}
