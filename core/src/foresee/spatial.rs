//! The spatial logistic model over the whole district, and what it says of yards set aside.

use super::apart::{Apart, Aside, BlockAside};
use super::folds::{FOLDS, Folds};
use super::pulls::Pulls;
use super::scores::{Line as Calibration, calibration, chance, log_loss, log_odds};
use super::surface::{Layout, Lesson, Line, Odds, Strengths, Surface, lines};
use super::traits::Traits;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What is done meanwhile, in words.
const JUDGING: &str = "judging on blocks set aside";
const FITTING: &str = "fitting the district";

/// The model, fitted to all inspected yards.
#[derive(Clone, Debug)]
pub(super) struct Spatial {
    layout: Layout,
    surface: Surface,
    /// What moves the log odds of the inspected yards, on average.
    usual: Pulls,
    /// What it says of each inspected yard when its block is set aside.
    pub held_out: Vec<f64>,
    calibration: Calibration,
    apart: Apart,
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
        let known = Told::of(&whole.layout, yards, traits);
        let lesson = known.lesson(&whole.layout, &[]);
        let inspected = yards.seen.len();
        let one = |fold: u8| {
            watch.step(JUDGING, u64::from(fold), FOLDS as u64)?;
            let looks = (0..yards.looks.all.len()).filter(|&k| folds.look_learnt(k, fold)).map(|k| inspected + k);
            let learnt: Vec<usize> = (0..inspected).filter(|&i| folds.learnt(i, fold)).chain(looks).collect();
            let part = Surface::fitted(&Lesson { learnt: &learnt, ..lesson }, strengths, Some(whole.surface.heights()), watch);
            watch.step(JUDGING, u64::from(fold), FOLDS as u64)?;
            Ok(part.map(|part| SetAside::of(&part, &lesson, folds, fold)))
        };
        let parts: Result<Vec<_>, Cancelled> = (0..FOLDS as u8).into_par_iter().map(one).collect();
        let Some(parts) = parts?.into_iter().collect::<Option<Vec<_>>>() else { return Ok(None) };
        whole.held_out = vec![0.0; inspected];
        parts.iter().flat_map(|p| &p.chances).for_each(|&(i, p)| whole.held_out[i] = p);
        whole.calibration = straightened(yards, folds, &mut whole.held_out);
        let blocks = parts.into_iter().flat_map(|p| p.blocks).map(|b| b.straightened(whole.calibration));
        whole.apart = Apart::learnt(&blocks.collect::<Vec<_>>(), watch)?;
        Ok(Some(whole))
    }

    /// Fits the model to all yards and sets none aside; `None` when the numbers break down.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub(super) fn plain(yards: &Yards, traits: &Traits, strengths: Strengths, watch: &dyn Watch) -> Result<Option<Self>, Cancelled> {
        watch.step(FITTING, 0, 0)?;
        let places: Vec<Local> = yards.at.iter().copied().chain(yards.looks.all.iter().map(|l| l.at)).collect();
        let layout = Layout::new(&places, strengths.spacing, traits.len());
        let known = Told::of(&layout, yards, traits);
        let all: Vec<usize> = (0..known.lines.len()).collect();
        let surface = Surface::fitted(&known.lesson(&layout, &all), strengths, None, watch);
        watch.step(FITTING, 0, 0)?;
        let Some(surface) = surface else { return Ok(None) };
        let usual = Pulls::mean(known.lines[..yards.seen.len()].iter().map(|line| surface.pulls(&layout, line, traits)));
        let (calibration, apart) = (Calibration::SAME, Apart::default());
        Ok(Some(Self { layout, surface, usual, held_out: Vec::new(), calibration, apart }))
    }

    /// The chance at a premise and the ends of its 95 % interval, and what moves it off the usual inspected yard. A line that straightens chances by drawing them in says that the
    /// model knows less than it thinks: the interval is not drawn in with them.
    pub(super) fn chance(&self, place: Option<Local>, traits: &Traits, row: usize) -> ([f64; 3], Pulls) {
        let line = self.layout.line(place, traits, row);
        let odds: Odds = self.surface.odds(&line);
        let far = self.apart.reach((odds.deviation * self.calibration.slope.max(1.0)).powi(2));
        let middle = self.calibration.at(odds.middle);
        let ends = [self.calibration.at(odds.of_mean_chance()), middle - far, middle + far].map(chance);
        (ends, self.surface.pulls(&self.layout, &line, traits).off(&self.usual))
    }
}

/// What the district tells: the inspected yards, then the looks from outside.
struct Told {
    lines: Vec<Line>,
    positive: Vec<bool>,
    weights: Vec<f64>,
}

impl Told {
    fn of(layout: &Layout, yards: &Yards, traits: &Traits) -> Self {
        let looks = &yards.looks;
        let mut lines = lines(layout, yards, traits);
        lines.extend(looks.all.iter().map(|l| layout.line(Some(l.at), traits, l.row)));
        let positive = yards.positive.iter().copied().chain(looks.all.iter().map(|l| l.larvae)).collect();
        let weights = vec![1.0; yards.seen.len()].into_iter().chain((0..looks.all.len()).map(|k| looks.weight(k))).collect();
        Self { lines, positive, weights }
    }

    fn lesson<'a>(&'a self, layout: &'a Layout, learnt: &'a [usize]) -> Lesson<'a> {
        Lesson { layout, lines: &self.lines, positive: &self.positive, weights: &self.weights, learnt }
    }
}

/// What one part, set aside, was foretold.
struct SetAside {
    /// The chance of each of its yards.
    chances: Vec<(usize, f64)>,
    /// Its blocks of two yards and more.
    blocks: Vec<BlockAside>,
}

/// Yards of a block are compared with so many that come after them: with those near by, whose covariance is kept.
const BESIDE: usize = 4;

impl SetAside {
    fn of(surface: &Surface, lesson: &Lesson<'_>, folds: &Folds, fold: u8) -> Self {
        let mut out = Self { chances: Vec::new(), blocks: Vec::new() };
        let mut groups: BTreeMap<u32, Vec<(&Line, Aside)>> = BTreeMap::new();
        for i in (0..folds.groups().len()).filter(|&i| folds.fold(i) == fold) {
            let odds = surface.odds(&lesson.lines[i]);
            out.chances.push((i, chance(odds.of_mean_chance())));
            let aside = Aside { middle: odds.middle, variance: odds.deviation.powi(2), positive: lesson.positive[i] };
            groups.entry(folds.groups()[i]).or_default().push((&lesson.lines[i], aside));
        }
        out.blocks = groups.into_values().filter_map(|yards| block_aside(surface, &yards)).collect();
        out
    }
}

/// The yards of a block with what their log odds have in common; `None` where no two are near enough to tell.
fn block_aside(surface: &Surface, yards: &[(&Line, Aside)]) -> Option<BlockAside> {
    let beside = |k: usize| yards[k + 1..].iter().take(BESIDE).filter_map(move |other| surface.together(yards[k].0, other.0));
    let shared: Vec<f64> = (0..yards.len()).flat_map(beside).collect();
    let common = shared.iter().sum::<f64>() / shared.len().max(1) as f64;
    (!shared.is_empty()).then(|| BlockAside { common: common.max(0.0), yards: yards.iter().map(|y| y.1).collect() })
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
