//! All measures of some groups of premises: of the district, of its blocks, rounds and land uses. The window and the command line show
//! the same.

use crate::tables::{self, Group};
use yardring_core::measure::{Access, Counts, Intervals, Spot, access, by_land_use, district, in_order};
use yardring_core::survey::{RoundId, Standing, Survey, standings};

/// A group with its measures, how sure they are, where it stands among the others, and how far crews got in it.
#[derive(Clone, Debug)]
pub struct Set {
    /// Its name, its counts, its intervals, and where it stands.
    pub group: Group,
    /// How far crews got.
    pub access: Access,
}

impl Set {
    /// Its name.
    pub fn name(&self) -> &str {
        &self.group.0
    }

    /// What was counted.
    pub fn counts(&self) -> &Counts {
        &self.group.1
    }

    /// How sure its indices are.
    pub fn sure(&self) -> &Intervals {
        &self.group.2
    }

    /// Where it stands among the others; only blocks do.
    pub fn spot(&self) -> &Spot {
        &self.group.3
    }
}

/// Sets as groups and how far crews got in each, as [`tables::indices`] wants them.
pub fn parted(sets: Vec<Set>) -> (Vec<Group>, Vec<Access>) {
    sets.into_iter().map(|s| (s.group, s.access)).unzip()
}

/// The whole district in a round.
pub fn of_district(survey: &Survey, name: &str, round: Option<RoundId>, standings: &[Standing]) -> Set {
    let access = round.map_or_else(Access::default, |r| access(survey, r, standings, 1, |_| Some(0))[0]);
    Set { group: (name.to_owned(), district(standings), Intervals::of_district(standings), Spot::default()), access }
}

/// Every block that has a premise, in the order of [`yardring_core::measure::by_block`]; the name of premises in no block is empty.
pub fn of_blocks(survey: &Survey, round: Option<RoundId>, standings: &[Standing]) -> Vec<Set> {
    let access = tables::blocks_access(survey, round, standings);
    tables::blocks(survey, standings).into_iter().zip(access).map(|(group, access)| Set { group, access }).collect()
}

/// The whole district in every round, oldest first.
pub fn of_rounds(survey: &Survey) -> Vec<Set> {
    let one = |round: RoundId| of_district(survey, &survey.rounds[round.row()].name, Some(round), &standings(survey, round));
    in_order(survey).into_iter().map(one).collect()
}

/// Every land use that the county writes, in alphabetical order; empty where its file had no such column.
pub fn of_land_uses(survey: &Survey, round: RoundId, standings: &[Standing]) -> Vec<Set> {
    let found = by_land_use(survey, standings);
    let place = |i: usize| found.binary_search_by_key(&survey.premises.land_use.get(i), |f| f.0).ok();
    let access = access(survey, round, standings, found.len(), place);
    let name = |name: &str| if name.is_empty() { "none written".to_owned() } else { name.to_owned() };
    let sets = found.iter().zip(access);
    sets.map(|((n, counts, sure), access)| Set { group: (name(n), *counts, *sure, Spot::default()), access }).collect()
}
