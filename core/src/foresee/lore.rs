//! What was learnt from some inspected yards, ready to be asked about any premise.

use super::answer::{Chance, Model};
use super::apart::Apart;
use super::folds::Folds;
use super::kernel::{self, Kernel, nearby};
use super::learn;
use super::near::Near;
use super::pulls::Pulls;
use super::refusal::Refusal;
use super::scores::{chance, log_loss, log_odds};
use super::spatial::Spatial;
use super::surface::Strengths;
use super::traits::Traits;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::survey::{PremiseId, Standing, Survey};
use crate::units::Metres;
use rayon::prelude::*;

/// How many premises one thread takes at a time.
const STRIDE: usize = 1024;

/// What was learnt.
#[derive(Clone, Debug)]
pub(super) struct Lore {
    /// The yards it was learnt from.
    pub yards: Yards,
    /// How they were set aside in turn.
    pub folds: Folds,
    /// What the plain model says of each when its block is set aside.
    pub by_kernel: Vec<f64>,
    near: Near,
    kernel: Kernel,
    spatial: Option<Mapped>,
}

/// The spatial model with what it needs.
#[derive(Clone, Debug)]
struct Mapped {
    traits: Traits,
    fitted: Spatial,
    strengths: Strengths,
}

impl Lore {
    /// Learns both models; the spatial one is kept when it foretells the blocks set aside better (by log score). With too few
    /// yards it is not tried.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub(super) fn learnt(survey: &Survey, standings: &[Standing], yards: Yards, watch: &dyn Watch) -> Result<Self, Cancelled> {
        let near = Near::new(&yards.at);
        let folds = Folds::of(&yards, &near);
        let (kernel, by_kernel) = kernel::learnt(&yards, &near, &folds, watch)?;
        let mut lore = Self { yards, folds, by_kernel, near, kernel, spatial: None };
        if Refusal::for_numbers(lore.yards.seen.len(), lore.yards.positives()).is_none() {
            let mapped = lore.mapped(survey, standings, watch)?;
            let loss = |chances: &[f64]| log_loss(&lore.yards.positive, chances);
            lore.spatial = mapped.filter(|m| loss(&m.fitted.held_out) < loss(&lore.by_kernel));
        }
        Ok(lore)
    }

    /// The same way of foreseeing, learnt from other yards: the model, its lengths and its strengths are kept, what was found is
    /// not. Nothing is set aside, and so nothing straightened.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub(super) fn learnt_again(&self, survey: &Survey, standings: &[Standing], yards: Yards, watch: &dyn Watch) -> Result<Self, Cancelled> {
        let near = Near::new(&yards.at);
        let folds = Folds::of(&yards, &near);
        let kernel = Kernel { rate: yards.rate(), ..self.kernel };
        let mut lore = Self { yards, folds, by_kernel: Vec::new(), near, kernel, spatial: None };
        if let Some(strengths) = self.spatial.as_ref().map(|m| m.strengths) {
            let traits = Traits::of(survey, standings, &lore.yards);
            let fitted = Spatial::plain(&lore.yards, &traits, strengths, watch)?;
            lore.spatial = fitted.map(|fitted| Mapped { traits, fitted, strengths });
        }
        Ok(lore)
    }

    fn mapped(&self, survey: &Survey, standings: &[Standing], watch: &dyn Watch) -> Result<Option<Mapped>, Cancelled> {
        let traits = Traits::of(survey, standings, &self.yards);
        let Some(strengths) = learn::learnt(&self.yards, &traits, &self.near, watch)? else { return Ok(None) };
        let fitted = Spatial::fitted(&self.yards, &traits, &self.folds, strengths, watch)?;
        Ok(fitted.map(|fitted| Mapped { traits, fitted, strengths }))
    }

    /// How chances are worked out.
    pub(super) fn model(&self) -> Model {
        match &self.spatial {
            Some(m) => Model::Spatial { lengths: m.strengths.lengths().map(Metres), deviations: m.strengths.deviation },
            None => Model::Nearby { length: Metres(self.kernel.length), weight: self.kernel.weight },
        }
    }

    /// What the model says of each yard when its block is set aside.
    pub(super) fn held_out(&self) -> &[f64] {
        self.spatial.as_ref().map_or(&self.by_kernel, |m| &m.fitted.held_out)
    }

    /// The chances of some premises, in their order.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub(super) fn chances(&self, rows: &[usize], watch: &dyn Watch) -> Result<Vec<Chance>, Cancelled> {
        watch.step("working out chances", 0, 0)?;
        let parts: Result<Vec<Vec<Chance>>, Cancelled> = rows
            .par_chunks(STRIDE)
            .map(|rows| if watch.cancelled() { Err(Cancelled) } else { Ok(rows.iter().map(|&r| self.chance(r)).collect()) })
            .collect();
        Ok(parts?.concat())
    }

    fn chance(&self, row: usize) -> Chance {
        let place = self.yards.place[row];
        let ((ends, pulls), neighbours) = match &self.spatial {
            Some(m) => {
                let mut yards = 0;
                if let Some(p) = place {
                    self.near.each(p, self.model().near().0, |_, _| yards += 1);
                }
                (m.fitted.chance(place, &m.traits, row), yards)
            }
            None => {
                let found = place.map(|p| nearby(&self.yards, &self.near, p, self.kernel.length, |_| true, |_| true)).unwrap_or_default();
                let probability = self.kernel.chance(&found);
                let known = self.kernel.log_odds_deviation(&found).powi(2);
                let (middle, far) = (log_odds(probability), Apart::default().reach(known));
                let pulls = Pulls::nearby(middle - log_odds(self.kernel.rate));
                (([probability, chance(middle - far), chance(middle + far)], pulls), found.yards)
            }
        };
        let [probability, low, high] = ends;
        let (low, high) = (low.min(probability), high.max(probability));
        Chance { premise: PremiseId(row as u32), probability, low, high, neighbours, pulls }
    }
}
