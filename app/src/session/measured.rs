//! Measures of the brief desk and call-backs of the plan desk: what was asked, what was worked out, and the yards behind a number.

use super::{Derived, RoundKey};
use crate::sets::Set;
use jiff::civil::Date;
use yardring_core::foresee::{CallBack, Species};
use yardring_core::measure::{Beside, Clustering, Crowd, KeyContainers, KindCounts, RoundChange};
use yardring_core::survey::{BlockId, KindId, PremiseId, RoundId};

/// The yards behind a number, to be listed and lit up on the map.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Traced {
    /// Which number.
    pub of: Trace,
    /// The yards: those that speak for the number first, then the others, each group by address. With what each adds, in words.
    pub yards: Vec<(PremiseId, String)>,
    /// How many of them speak for the number.
    pub speak: usize,
}

/// A number whose yards somebody wants to see.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trace {
    /// The house index of a block: its inspected yards.
    Block(BlockId),
    /// What a kind of container gives: yards where it was found.
    Kind(KindId),
    /// The yards that the reach is drawn round.
    Sources,
    /// The inspected yards inside the reach.
    Inside,
    /// Yards inspected in both rounds that changed, of those compared.
    Changed,
    /// The indices of the whole district: all inspected yards.
    District,
    /// The circle in which positive yards crowd most: inspected yards in it.
    Crowd,
    /// The chance of a premise: inspected yards near enough to matter.
    Near(PremiseId),
}

/// Which rounds are compared, beside which blocks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Compare {
    /// The earlier round; without one, the round before the later.
    pub from: Option<RoundId>,
    /// Blocks where nothing was done, or those where something was.
    pub beside: Beside,
}

/// What a change answers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChangeKey {
    /// The survey's revision.
    pub revision: u64,
    /// The two rounds.
    pub rounds: (RoundId, RoundId),
    /// What the change is told beside.
    pub beside: Beside,
}

/// What call-backs answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DueKey {
    /// The round's picture they rest on.
    pub round: RoundKey,
    /// The day they are seen from.
    pub on: Date,
    /// The species whose growth sets the last safe day.
    pub species: Species,
}

/// Kinds of container, what each gives.
#[derive(Debug)]
pub struct KindsAnswer {
    /// The kinds found, most productive first.
    pub kinds: Vec<(KindId, KindCounts, yardring_core::measure::KindShare)>,
    /// What contributions are shares of, and the shares.
    pub key: KeyContainers,
    /// All measures of the groups that may be asked for.
    pub sets: Sets,
}

/// All measures of groups of premises.
#[derive(Debug)]
pub struct Sets {
    /// The district.
    pub district: Set,
    /// The blocks that have a premise, in their order, those in no block last.
    pub blocks: Vec<(Option<BlockId>, Set)>,
    /// The rounds, oldest first.
    pub rounds: Vec<Set>,
    /// The county's land uses, in alphabetical order.
    pub land_uses: Vec<Set>,
}

/// Clusters of blocks, and the crowd.
#[derive(Debug)]
pub struct ClustersAnswer {
    /// Whether rates lie together.
    pub found: Clustering,
    /// The circle in which positives crowd most.
    pub crowd: Option<Crowd>,
}

/// Visits that are due.
#[derive(Debug)]
pub struct DueAnswer {
    /// All of them, overdue first.
    pub list: Vec<CallBack>,
    /// The strip: overdue ones, then the days from the day they are seen from.
    pub days: Vec<DueDay>,
}

/// One field of the strip of days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueDay {
    /// The day; `None` for what is overdue.
    pub day: Option<Date>,
    /// Rows of the list that fall on it.
    pub rows: Vec<u32>,
    /// How many of them must not wait longer: what was left there can fly after that day.
    pub last_safe: u32,
}

/// What was asked and worked out.
#[derive(Debug, Default)]
pub struct Measured {
    /// The yards behind a number.
    pub traced: Option<Traced>,
    /// Which rounds are compared.
    pub compare: Compare,
    /// Kinds of container.
    pub kinds: Derived<RoundKey, KindsAnswer>,
    /// The change between two rounds.
    pub change: Derived<ChangeKey, RoundChange>,
    /// Clusters, once somebody has asked for them.
    pub clusters: Derived<RoundKey, ClustersAnswer>,
    /// Whether clusters are wanted.
    pub clusters_wanted: bool,
    /// The round whose chances somebody asked for in a district too large to begin by itself.
    pub chances_wanted: Option<RoundKey>,
    /// Visits that are due.
    pub due: Derived<DueKey, DueAnswer>,
    /// The day they are seen from; without one, the day after the round.
    pub on: Option<Date>,
    /// The species whose growth sets the last safe day.
    pub species: Species,
}
