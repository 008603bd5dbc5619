//! The chances of all yards that nobody has seen.

use super::folds::{FOLDS, Folds};
use super::kernel::{self, Kernel, nearby};
use super::learn;
use super::near::Near;
use super::refusal::Refusal;
use super::scores::{Scores, chance, log_loss, log_odds};
use super::spatial::Spatial;
use super::surface::Strengths;
use super::traits::Traits;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::survey::{PremiseId, Standing, Survey};
use crate::units::Metres;
use rayon::prelude::*;

/// The two-sided 95 % point of the normal distribution, from memory.
const Z: f64 = 1.959_963_984_540_054;

/// The chance that one premise is positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Which premise.
    pub premise: PremiseId,
    /// The chance, 0 to 1.
    pub probability: f64,
    /// The lower end of its 95 % interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// Inspected yards near enough to matter.
    pub neighbours: u32,
}

/// What is foreseen for a round, and how well the same way of foreseeing did on blocks set aside.
#[derive(Clone, Debug, PartialEq)]
pub struct Foreseen {
    /// One row for every premise not inspected in the round, in the order of the premises; not to be shown after a refusal.
    pub chances: Vec<Chance>,
    /// How they were worked out.
    pub model: Model,
    /// Why the chances must not be shown.
    pub refusal: Option<Refusal>,
    /// Scores on blocks set aside; `None` when there was too little to learn from. So are those below.
    pub scores: Option<Scores>,
    /// The same when every yard gets the rate of the yards learnt from.
    pub overall: Option<Scores>,
    /// The same for the kernel beta-binomial model alone.
    pub kernel: Option<Scores>,
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

/// Foresees the chance of larvae or pupae at every premise not inspected in the round; `standings` are those of the round, in
/// the order of the premises.
///
/// Two models are learnt, and the one that foretells the blocks set aside better (by log score) is used. Lengths and strengths
/// are learnt from the data.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn foresee(survey: &Survey, standings: &[Standing], watch: &dyn Watch) -> Result<Foreseen, Cancelled> {
    let yards = Yards::of(survey, standings);
    let near = Near::new(&yards.at);
    let folds = Folds::of(&yards, &near);
    let (kernel, by_kernel) = kernel::learnt(&yards, &near, &folds, watch)?;
    let mut out = Foreseen::unjudged(&yards, kernel);
    let mut district = District { survey, standings, yards, near, kernel, spatial: None };
    if out.refusal.is_none() {
        let spatial = district.spatial(&folds, watch)?;
        let loss = |chances: &[f64]| log_loss(&district.yards.positive, chances);
        let better = spatial.filter(|s| loss(&s.1.held_out) < loss(&by_kernel));
        out.judge(&district.yards, &folds, &by_kernel, better.as_ref().map(|s| s.1.held_out.as_slice()));
        if let Some((_, _, strengths)) = &better {
            out.model = Model::Spatial { lengths: strengths.lengths().map(Metres), deviations: strengths.deviation };
        }
        district.spatial = better.map(|s| (s.0, s.1));
    }
    out.chances = district.chances(&out.model, watch)?;
    Ok(out)
}

impl Foreseen {
    fn unjudged(yards: &Yards, kernel: Kernel) -> Self {
        Self {
            chances: Vec::new(),
            model: Model::Nearby { length: Metres(kernel.length), weight: kernel.weight },
            refusal: Refusal::for_numbers(yards.seen.len(), yards.positives()),
            scores: None,
            overall: None,
            kernel: None,
            folds: 0,
            inspected: yards.seen.len(),
            positive: yards.positives(),
        }
    }

    fn judge(&mut self, yards: &Yards, folds: &Folds, by_kernel: &[f64], by_surfaces: Option<&[f64]>) {
        self.folds = FOLDS;
        self.overall = Scores::of(&yards.positive, &overall(yards, folds));
        self.kernel = Scores::of(&yards.positive, by_kernel);
        self.scores = Scores::of(&yards.positive, by_surfaces.unwrap_or(by_kernel));
        self.refusal = self.scores.zip(self.overall).and_then(|(s, b)| Refusal::for_scores(&s, &b));
    }
}

/// A district and what was learnt about it.
struct District<'a> {
    survey: &'a Survey,
    standings: &'a [Standing],
    yards: Yards,
    near: Near,
    kernel: Kernel,
    spatial: Option<(Traits, Spatial)>,
}

/// How many premises one thread takes at a time.
const STRIDE: usize = 1024;

impl District<'_> {
    fn spatial(&self, folds: &Folds, watch: &dyn Watch) -> Result<Option<(Traits, Spatial, Strengths)>, Cancelled> {
        let traits = Traits::of(self.survey, self.standings, &self.yards);
        let Some(strengths) = learn::learnt(&self.yards, &traits, &self.near, watch)? else { return Ok(None) };
        let fitted = Spatial::fitted(&self.yards, &traits, folds, strengths, watch)?;
        Ok(fitted.map(|s| (traits, s, strengths)))
    }

    /// The chances of all premises not inspected.
    fn chances(&self, model: &Model, watch: &dyn Watch) -> Result<Vec<Chance>, Cancelled> {
        watch.step("working out chances", 0, 0)?;
        let unseen: Vec<usize> = (0..self.standings.len()).filter(|&i| !self.standings[i].inspected()).collect();
        let parts: Result<Vec<Vec<Chance>>, Cancelled> = unseen
            .par_chunks(STRIDE)
            .map(|rows| if watch.cancelled() { Err(Cancelled) } else { Ok(rows.iter().map(|&r| self.chance(r, model)).collect()) })
            .collect();
        Ok(parts?.concat())
    }

    fn chance(&self, row: usize, model: &Model) -> Chance {
        let place = self.yards.place[row];
        let (ends, neighbours) = match (&self.spatial, model) {
            (Some((traits, spatial)), Model::Spatial { lengths, .. }) => {
                let mut yards = 0;
                if let Some(p) = place {
                    self.near.each(p, 2.0 * lengths[0].0, |_, _| yards += 1);
                }
                (spatial.chance(place, traits, row, Z), yards)
            }
            _ => {
                let found = place.map(|p| nearby(&self.yards, &self.near, p, self.kernel.length, |_| true)).unwrap_or_default();
                let probability = self.kernel.chance(&found);
                let (middle, far) = (log_odds(probability), Z * self.kernel.log_odds_deviation(&found));
                ([probability, chance(middle - far), chance(middle + far)], found.yards)
            }
        };
        let [probability, low, high] = ends;
        Chance { premise: PremiseId(row as u32), probability, low: low.min(probability), high: high.max(probability), neighbours }
    }
}

/// The rate of the yards learnt from, for every yard set aside.
fn overall(yards: &Yards, folds: &Folds) -> Vec<f64> {
    let rate = |fold: u8| {
        let learnt: Vec<usize> = (0..yards.seen.len()).filter(|&i| folds.learnt(i, fold)).collect();
        let positive = learnt.iter().filter(|&&i| yards.positive[i]).count();
        (positive as f64 + 0.5) / (learnt.len() as f64 + 1.0)
    };
    let rates: Vec<f64> = (0..FOLDS as u8).map(rate).collect();
    (0..yards.seen.len()).map(|i| rates[usize::from(folds.fold(i))]).collect()
}

#[cfg(test)]
mod tests {
    use super::super::made_up::district;
    use super::*;
    use crate::job::Unwatched;

    #[test]
    fn finds_the_worse_part_of_a_district_and_holds_its_intervals() {
        let (survey, standings) = district(45, 0.35, 0.05, 3);
        let found = foresee(&survey, &standings, &Unwatched).unwrap();
        assert_eq!(found.refusal, None);
        assert!(found.scores.unwrap().brier < found.overall.unwrap().brier);
        assert_eq!(found.chances.len(), standings.iter().filter(|s| !s.inspected()).count());
        assert!(found.chances.iter().all(|c| 0.0 <= c.low && c.low <= c.probability && c.probability <= c.high && c.high <= 1.0));
        let mean = |west: bool| {
            let part: Vec<f64> = found.chances.iter().filter(|c| (c.premise.row() % 45 < 15) == west).map(|c| c.probability).collect();
            part.iter().sum::<f64>() / part.len() as f64
        };
        assert!(mean(true) > 0.25 && mean(false) < 0.1, "{} {}", mean(true), mean(false));
        assert_eq!(found, foresee(&survey, &standings, &Unwatched).unwrap());
    }

    /// Where every yard has the same chance there is nothing to learn; what luck lets through still has to pass the rules.
    #[test]
    fn shows_chances_only_by_the_rules() {
        for seed in 1..=4 {
            let (survey, standings) = district(30, 0.12, 0.12, seed);
            let found = foresee(&survey, &standings, &Unwatched).unwrap();
            let (scores, overall) = (found.scores.unwrap(), found.overall.unwrap());
            let straight = scores.calibration_slope.is_some_and(|s| (0.7..=1.4).contains(&s));
            assert_eq!(found.refusal.is_none(), scores.brier < overall.brier && straight, "seed {seed}");
        }
        let (survey, standings) = district(10, 0.3, 0.3, 1);
        let found = foresee(&survey, &standings, &Unwatched).unwrap();
        assert!(matches!(found.refusal, Some(Refusal::FewInspected(_))) && found.scores.is_none());
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
