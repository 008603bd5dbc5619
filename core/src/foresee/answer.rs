//! The chances of all yards that nobody has seen.

use super::forward::{self, Forward};
use super::judge::{Judgement, Told};
use super::kernel::FOLLOWED;
use super::lore::Lore;
use super::pulls::Pulls;
use super::rates::{BlockRates, overall};
use super::refusal::Refusal;
use super::scores::Scores;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::survey::{PremiseId, Standing, Survey};
use crate::units::Metres;

/// The chance that one premise is positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Which premise.
    pub premise: PremiseId,
    /// The chance, 0 to 1.
    pub probability: f64,
    /// The lower end of the 95 % interval of the yard's own chance; [`super::INTERVALS`] says how often it holds.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// Inspected yards near enough to matter.
    pub neighbours: u32,
    /// What moves it off the chance of the usual inspected yard.
    pub pulls: Pulls,
}

/// What is foreseen for a round, and how well the same way of foreseeing did on yards that it was not learnt from.
#[derive(Clone, Debug, PartialEq)]
pub struct Foreseen {
    /// One row for every premise that nobody knows of in the round, in the order of the premises; not to be shown after a refusal. Where
    /// larvae or pupae were seen from outside nothing has to be foreseen.
    pub chances: Vec<Chance>,
    /// Premises not inspected where larvae or pupae were seen from outside: they have no chance.
    pub seen_from_outside: usize,
    /// How they were worked out.
    pub model: Model,
    /// Why the chances must not be shown.
    pub refusal: Option<Refusal>,
    /// How they did on whole blocks set aside; `None` when there was too little to learn from.
    pub judged: Option<Judgement>,
    /// Scores of the kernel beta-binomial model alone on the same blocks.
    pub kernel: Option<Scores>,
    /// How they did forward in time; `None` when there is too little before or after.
    pub forward: Option<Forward>,
    /// How many parts the blocks were split into.
    pub folds: usize,
    /// Inspected yards with an outline.
    pub inspected: usize,
    /// How many of them were positive.
    pub positive: usize,
}

/// How chances were worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Model {
    /// What was found nearby, and the district's rate.
    Nearby {
        /// The length over which a yard tells of others, in metres.
        length: Metres,
        /// How many yards the district's rate is worth.
        weight: f64,
    },
    /// Two smooth surfaces over the district, and the traits of the parcels.
    Spatial {
        /// The lengths over which the fine and the coarse surface hold together, in metres.
        lengths: [Metres; 2],
        /// Their standard deviations, in log odds.
        deviations: [f64; 2],
    },
}

/// Inspected yards count as near, and are numbered with a chance, up to so many lengths of the fine surface.
const NEAR: f64 = 2.0;

impl Model {
    /// How far from a premise inspected yards count as near: those that [`Chance::neighbours`] numbers. Farther ones tell less of it.
    pub fn near(&self) -> Metres {
        match self {
            Self::Nearby { length, .. } => Metres(FOLLOWED * length.0),
            Self::Spatial { lengths, .. } => Metres(NEAR * lengths[0].0),
        }
    }
}

/// Foresees the chance of larvae or pupae at every premise that was not inspected in the round and where none were seen from outside;
/// `standings` are those of the round, in the order of the premises.
///
/// Two models are learnt, and the one that foretells the blocks set aside better (by log score) is used. Lengths and strengths
/// are learnt from the data.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn foresee(survey: &Survey, standings: &[Standing], watch: &dyn Watch) -> Result<Foreseen, Cancelled> {
    let lore = Lore::learnt(survey, standings, Yards::of(survey, standings), watch)?;
    let yards = &lore.yards;
    let mut out = Foreseen {
        chances: Vec::new(),
        seen_from_outside: standings.iter().filter(|s| s.seen_from_outside()).count(),
        model: lore.model(),
        refusal: Refusal::for_numbers(yards.seen.len(), yards.positives()),
        judged: None,
        kernel: None,
        forward: None,
        folds: 0,
        inspected: yards.seen.len(),
        positive: yards.positives(),
    };
    if out.refusal.is_none() {
        out.judge(&lore);
        out.forward = forward::judged(survey, standings, &lore, watch)?;
        out.refusal = out.refusal.or_else(|| Refusal::for_forward(&out.forward.as_ref()?.judged));
    }
    let unseen: Vec<usize> = (0..standings.len()).filter(|&i| standings[i].unknown()).collect();
    out.chances = lore.chances(&unseen, watch)?;
    Ok(out)
}

impl Foreseen {
    /// Judges on the blocks set aside.
    fn judge(&mut self, lore: &Lore) {
        let (yards, folds) = (&lore.yards, &lore.folds);
        let by_block = BlockRates::learnt(yards, folds.groups()).left_out(yards, folds.groups());
        let told = Told {
            positive: &yards.positive,
            group: folds.groups(),
            chances: lore.held_out(),
            overall: &overall(yards),
            by_block: &by_block,
        };
        self.folds = folds.each().count();
        self.kernel = Scores::of(&yards.positive, &lore.by_kernel);
        self.judged = told.judged();
        self.refusal = self.judged.as_ref().and_then(Refusal::for_judgement);
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::{district, shuffled};
    use super::*;
    use crate::job::Unwatched;

    #[test]
    fn finds_the_worse_part_of_a_district_and_holds_its_intervals() {
        let (survey, standings) = district(45, 0.35, 0.05, 3);
        let found = foresee(&survey, &standings, &Unwatched).unwrap();
        assert_eq!(found.refusal, None);
        let judged = found.judged.as_ref().unwrap();
        assert!(judged.scores.brier < judged.overall.brier && judged.gain.unwrap().low > 0.0);
        assert_eq!(found.chances.len(), standings.iter().filter(|s| !s.inspected()).count());
        assert!(found.chances.iter().all(|c| 0.0 <= c.low && c.low <= c.probability && c.probability <= c.high && c.high <= 1.0));
        let mean = |west: bool| {
            let part: Vec<f64> = found.chances.iter().filter(|c| (c.premise.row() % 45 < 15) == west).map(|c| c.probability).collect();
            part.iter().sum::<f64>() / part.len() as f64
        };
        assert!(mean(true) > 0.25 && mean(false) < 0.1, "{} {}", mean(true), mean(false));
        assert_eq!(found, foresee(&survey, &standings, &Unwatched).unwrap());
    }

    #[test]
    fn where_larvae_were_seen_over_the_fence_nothing_is_foreseen() {
        let (survey, mut standings) = district(45, 0.35, 0.05, 3);
        let unseen = |standings: &[Standing]| standings.iter().filter(|s| !s.inspected()).count();
        let row = standings.iter().position(|s| !s.inspected()).unwrap();
        let before = foresee(&survey, &standings, &Unwatched).unwrap();
        assert_eq!((before.chances.len(), before.seen_from_outside), (unseen(&standings), 0));
        standings[row].source = true;
        let found = foresee(&survey, &standings, &Unwatched).unwrap();
        assert_eq!((found.chances.len(), found.seen_from_outside), (unseen(&standings) - 1, 1));
        assert!(found.chances.iter().all(|c| c.premise.row() != row));
        assert_eq!(found.inspected, before.inspected, "and no more is learnt from it than before");
    }

    /// Where every yard has the same chance there is nothing to learn, and chances are refused in 19 of 20 districts or more.
    #[test]
    fn pure_chance_is_refused() {
        let mut shown = Vec::new();
        for seed in 1..=20 {
            let (survey, standings) = district(30, 0.12, 0.12, seed);
            let found = foresee(&survey, &standings, &Unwatched).unwrap();
            assert!(found.judged.is_some(), "seed {seed} has enough to learn from");
            if found.refusal.is_none() {
                shown.push(seed);
            }
        }
        assert!(shown.len() <= 1, "shown for seeds {shown:?}");
        let (survey, standings) = district(10, 0.3, 0.3, 1);
        let found = foresee(&survey, &standings, &Unwatched).unwrap();
        assert!(matches!(found.refusal, Some(Refusal::FewInspected(_))) && found.judged.is_none());
    }

    /// What was found in a district with a worse part, dealt out by lot: refused in 19 of 20 shuffles or more. The count is printed:
    /// `cargo test --lib shuffled -- --nocapture`.
    #[test]
    fn shuffled_results_are_refused() {
        let (survey, standings) = district(45, 0.35, 0.05, 3);
        assert_eq!(foresee(&survey, &standings, &Unwatched).unwrap().refusal, None, "as it was found there is something to learn");
        let refused = |seed: &u64| foresee(&survey, &shuffled(&standings, *seed), &Unwatched).unwrap().refusal.is_some();
        let count = (1..=20).filter(refused).count();
        println!("refused in {count} of 20 shuffles");
        assert!(count >= 19, "refused in {count} of 20 shuffles");
    }

    #[test]
    fn stops_when_asked() {
        struct Stop;
        impl Watch for Stop {
            fn progress(&self, _: &str, _: u64, _: u64) {}
            fn cancelled(&self) -> bool {
                true
            }
        }
        let (survey, standings) = district(30, 0.3, 0.1, 1);
        assert_eq!(foresee(&survey, &standings, &Stop), Err(Cancelled));
    }
}
