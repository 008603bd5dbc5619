//! The chances of all yards that nobody has seen.

use super::folds::{FOLDS, Folds};
use super::kernel::{self, Kernel, nearby};
use super::near::Near;
use super::refusal::Refusal;
use super::scores::{Scores, chance, log_odds};
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::survey::{PremiseId, Standing, Survey};
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

/// Foresees the chance of larvae or pupae at every premise not inspected in the round; `standings` are those of the round, in
/// the order of the premises.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn foresee(survey: &Survey, standings: &[Standing], watch: &dyn Watch) -> Result<Foreseen, Cancelled> {
    let yards = Yards::of(survey, standings);
    let unseen: Vec<usize> = (0..standings.len()).filter(|&i| !standings[i].inspected()).collect();
    let refused = Refusal::for_numbers(yards.seen.len(), yards.positives());
    let near = Near::new(&yards.at);
    let mut out = Foreseen {
        chances: Vec::new(),
        refusal: refused,
        scores: None,
        overall: None,
        kernel: None,
        folds: 0,
        inspected: yards.seen.len(),
        positive: yards.positives(),
    };
    let folds = Folds::of(&yards, &near);
    let (kernel, held_out) = kernel::learnt(&yards, &near, &folds, watch)?;
    if refused.is_none() {
        out.folds = FOLDS;
        out.kernel = Scores::of(&yards.positive, &held_out);
        out.overall = Scores::of(&yards.positive, &overall(&yards, &folds));
        out.scores = out.kernel;
        out.refusal = out.scores.zip(out.overall).and_then(|(s, b)| Refusal::for_scores(&s, &b));
    }
    watch.step("working out chances", 0, 0)?;
    out.chances = unseen.par_iter().map(|&row| by_kernel(&yards, &near, &kernel, row)).collect();
    Ok(out)
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

fn by_kernel(yards: &Yards, near: &Near, kernel: &Kernel, row: usize) -> Chance {
    let found = yards.place[row].map(|p| nearby(yards, near, p, kernel.length, |_| true)).unwrap_or_default();
    let probability = kernel.chance(&found);
    let (middle, far) = (log_odds(probability), Z * kernel.log_odds_deviation(&found));
    Chance {
        premise: PremiseId(row as u32),
        probability,
        low: chance(middle - far).min(probability),
        high: chance(middle + far).max(probability),
        neighbours: found.yards,
    }
}
