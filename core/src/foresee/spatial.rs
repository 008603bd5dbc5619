//! The spatial logistic model over the whole district, and what it says of yards set aside.

use super::folds::{FOLDS, Folds};
use super::scores::{Line as Calibration, calibration, chance, log_loss, log_odds};
use super::surface::{Layout, Lesson, Odds, Strengths, Surface, lines};
use super::traits::Traits;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use rayon::prelude::*;

/// The model, fitted to all inspected yards.
#[derive(Clone, Debug)]
pub(super) struct Spatial {
    layout: Layout,
    surface: Surface,
    /// What it says of each inspected yard when its block is set aside.
    pub held_out: Vec<f64>,
    calibration: Calibration,
}

impl Spatial {
    /// Fits the model with strengths that are learnt already and judges it on the parts set aside; `None` when the numbers break
    /// down.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub(super) fn fitted(
        yards: &Yards,
        traits: &Traits,
        folds: &Folds,
        strengths: Strengths,
        watch: &dyn Watch,
    ) -> Result<Option<Self>, Cancelled> {
        let Some(mut whole) = Self::plain(yards, traits, strengths, watch)? else { return Ok(None) };
        let lines = lines(&whole.layout, yards, traits);
        let lesson = Lesson { layout: &whole.layout, lines: &lines, positive: &yards.positive, learnt: &[] };
        let one = |fold: u8| {
            watch.step("judging on blocks set aside", u64::from(fold), FOLDS as u64)?;
            let learnt: Vec<usize> = (0..lines.len()).filter(|&i| folds.learnt(i, fold)).collect();
            let part = Surface::fitted(&Lesson { learnt: &learnt, ..lesson }, strengths, Some(whole.surface.heights()));
            let aside = (0..lines.len()).filter(|&i| folds.fold(i) == fold);
            Ok(part.map(|part| aside.map(|i| (i, chance(part.odds(&lines[i]).of_mean_chance()))).collect::<Vec<_>>()))
        };
        let parts: Result<Vec<_>, Cancelled> = (0..FOLDS as u8).into_par_iter().map(one).collect();
        let Some(parts) = parts?.into_iter().collect::<Option<Vec<_>>>() else { return Ok(None) };
        whole.held_out = vec![0.0; lines.len()];
        parts.into_iter().flatten().for_each(|(i, p)| whole.held_out[i] = p);
        whole.calibration = straightened(yards, folds, &mut whole.held_out);
        Ok(Some(whole))
    }

    /// Fits the model to all yards and sets none aside; `None` when the numbers break down.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub(super) fn plain(yards: &Yards, traits: &Traits, strengths: Strengths, watch: &dyn Watch) -> Result<Option<Self>, Cancelled> {
        watch.step("fitting the district", 0, 0)?;
        let layout = Layout::new(&yards.at, strengths.spacing, traits.len());
        let lines = lines(&layout, yards, traits);
        let all: Vec<usize> = (0..lines.len()).collect();
        let lesson = Lesson { layout: &layout, lines: &lines, positive: &yards.positive, learnt: &all };
        let surface = Surface::fitted(&lesson, strengths, None);
        Ok(surface.map(|surface| Self { layout, surface, held_out: Vec::new(), calibration: Calibration::SAME }))
    }

    /// The chance at a premise and the ends of its interval, so many standard deviations away. A line that straightens chances by
    /// drawing them in says that the model knows less than it thinks: the interval is not drawn in with them.
    pub(super) fn chance(&self, place: Option<Local>, traits: &Traits, row: usize, deviations: f64) -> [f64; 3] {
        let odds: Odds = self.surface.odds(&self.layout.line(place, traits, row));
        let far = deviations * odds.deviation * self.calibration.slope.max(1.0);
        let middle = self.calibration.at(odds.middle);
        [self.calibration.at(odds.of_mean_chance()), middle - far, middle + far].map(chance)
    }
}

/// Straightens the chances of the yards set aside, each part by a line learnt from the other parts, when that foretells the
/// outcomes better; gives back the line for all other yards.
///
/// # Source
/// J. C. Platt, in Advances in Large Margin Classifiers (1999), 61–74, on log odds; from memory.
fn straightened(yards: &Yards, folds: &Folds, held_out: &mut Vec<f64>) -> Calibration {
    let line_of = |fold: Option<u8>, chances: &[f64]| {
        let kept: Vec<usize> = (0..chances.len()).filter(|&i| Some(folds.fold(i)) != fold).collect();
        let (y, p): (Vec<bool>, Vec<f64>) = kept.iter().map(|&i| (yards.positive[i], chances[i])).unzip();
        calibration(&y, &p)
    };
    let lines: Option<Vec<Calibration>> = (0..FOLDS as u8).map(|fold| line_of(Some(fold), held_out)).collect();
    let (Some(lines), Some(whole)) = (lines, line_of(None, held_out)) else { return Calibration::SAME };
    let straight: Vec<f64> = held_out.iter().enumerate().map(|(i, &p)| chance(lines[usize::from(folds.fold(i))].at(log_odds(p)))).collect();
    if whole.slope > 0.0 && log_loss(&yards.positive, &straight) < log_loss(&yards.positive, held_out) {
        *held_out = straight;
        return whole;
    }
    Calibration::SAME
}
