//! Counts by block, by round and for the whole district.

use super::{Counts, Intervals, in_order};
use crate::survey::{BlockId, RoundId, Standing, Survey, standings};
use std::collections::BTreeMap;

/// The counts of the whole district; `standings` in the order of the premises.
pub fn district(standings: &[Standing]) -> Counts {
    standings.iter().map(Counts::of).sum()
}

/// The counts of every block that has a premise, in the order of the blocks (alphabetical), the premises without a block
/// last under `None`.
pub fn by_block(survey: &Survey, standings: &[Standing]) -> Vec<(Option<BlockId>, Counts)> {
    let blocks = survey.blocks.len();
    let mut counts = vec![Counts::default(); blocks + 1];
    for (standing, block) in standings.iter().zip(survey.premises.block.iter()) {
        counts[block.map_or(blocks, BlockId::row)] += Counts::of(standing);
    }
    let name = |i: usize| (i < blocks).then_some(BlockId(i as u32));
    counts.into_iter().enumerate().filter(|(_, c)| c.premises > 0).map(|(i, c)| (name(i), c)).collect()
}

/// What was counted and how sure it is for every land use that the county writes, in alphabetical order, premises without one
/// first; empty where the county's file had no such column.
pub fn by_land_use<'a>(survey: &'a Survey, standings: &[Standing]) -> Vec<(&'a str, Counts, Intervals)> {
    let uses = &survey.premises.land_use;
    let mut groups: BTreeMap<&str, Vec<Standing>> = BTreeMap::new();
    for (name, standing) in uses.iter().zip(standings) {
        groups.entry(name).or_default().push(*standing);
    }
    let of = |(name, all): (&'a str, Vec<Standing>)| (name, district(&all), Intervals::of_district(&all));
    groups.into_iter().map(of).collect()
}

/// The counts of the whole district in every round, oldest first.
pub fn by_round(survey: &Survey) -> Vec<(RoundId, Counts)> {
    in_order(survey).into_iter().map(|r| (r, district(&standings(survey, r)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::VisitId;
    use std::sync::Arc;

    #[test]
    fn blocks_come_in_order_and_the_blockless_last() {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        s.blocks.block_id = Arc::new(["A", "B", "empty"].into_iter().collect());
        s.premises.parcel_id = Arc::new(["1", "2", "3", "4"].into_iter().collect());
        s.premises.block = Arc::new(vec![Some(BlockId(1)), None, Some(BlockId(0)), Some(BlockId(1))]);
        let seen = Standing { attempts: 2, counted: Some(VisitId(0)), wet: 3, positive_containers: 1, ..Standing::default() };
        let tried = Standing { attempts: 1, ..Standing::default() };
        let found = by_block(&s, &[seen, tried, Standing::default(), tried]);
        let brief: Vec<_> = found.iter().map(|(b, c)| (b.map(|b| b.0), c.premises, c.attempted, c.inspected)).collect();
        assert_eq!(brief, [(Some(0), 1, 0, 0), (Some(1), 2, 2, 1), (None, 1, 1, 0)]);
        assert_eq!(found[1].1.house_index(), Some(100.0));
    }
}
