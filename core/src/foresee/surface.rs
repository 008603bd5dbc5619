//! The spatial logistic model: two smooth surfaces and the traits of a premise, fitted by Laplace's method.

use super::lattice::{Lattice, TOUCHED};
use super::pulls::{Known, Pulls};
use super::scores::chance;
use super::skyline::{Factor, Skyline};
use super::traits::Traits;
use super::yards::Yards;
use crate::job::Watch;
use crate::place::{Bounds, Local};

/// Standard deviation of the district's own log odds before anything is known: wide enough to say nothing.
const WIDE: f64 = 10.0;

/// What is learnt from the data before the surfaces themselves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Strengths {
    /// Spacing of the bumps of the fine and the coarse surface, in metres.
    pub spacing: [f64; 2],
    /// Standard deviations of the two surfaces, in log odds.
    pub deviation: [f64; 2],
    /// Standard deviation of the weights of traits.
    pub traits: f64,
}

/// Length of a surface over the spacing of its bumps: √(2/3), see [`Lattice`].
const LENGTH_OF_SPACING: f64 = 0.816_496_580_927_726;

impl Strengths {
    /// The lengths over which the two surfaces hold together, in metres.
    pub(super) fn lengths(&self) -> [f64; 2] {
        self.spacing.map(|s| s * LENGTH_OF_SPACING)
    }
}

/// Where the unknowns of the model stand: bumps of the fine surface, then of the coarse one, then traits.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    lattices: [Lattice; 2],
    traits: usize,
    first: Vec<usize>,
}

/// One premise in the model: unknowns and how much each counts. Bumps that no inspected yard reaches are unknown still.
#[derive(Clone, Debug, Default)]
pub(super) struct Line {
    terms: Vec<(usize, f64)>,
    /// The squared weights of bumps nobody reaches, for each surface.
    loose: [f64; 2],
}

impl Layout {
    /// The unknowns for inspected yards at some places.
    pub(super) fn new(at: &[Local], spacing: [f64; 2], traits: usize) -> Self {
        let all = Bounds::of(at);
        let eastwards = all.width() > all.height();
        let lattices = spacing.map(|s| Lattice::over(at, s, eastwards));
        let first = lattices[0].first_linked();
        Self { lattices, traits, first }
    }

    fn len(&self) -> usize {
        self.lattices[0].len() + self.lattices[1].len() + self.traits
    }

    /// The trait that an unknown weighs; `None` for a bump.
    fn weighed(&self, unknown: usize) -> Option<usize> {
        unknown.checked_sub(self.len() - self.traits)
    }

    /// The terms of one premise, in rising order of the unknowns.
    pub(super) fn line(&self, place: Option<Local>, traits: &Traits, row: usize) -> Line {
        let mut line = Line { terms: Vec::with_capacity(2 * TOUCHED + self.traits), loose: [0.0; 2] };
        let mut before = 0;
        for (k, lattice) in self.lattices.iter().enumerate() {
            match place.map(|p| lattice.touched(p)) {
                None => line.loose[k] = 1.0,
                Some(touched) => {
                    for (bump, weight) in touched {
                        match bump {
                            Some(bump) => line.terms.push((before + bump, weight)),
                            None => line.loose[k] += weight * weight,
                        }
                    }
                }
            }
            before += lattice.len();
        }
        line.terms.extend(traits.row(row).enumerate().filter(|t| t.1 != 0.0).map(|(k, v)| (before + k, v)));
        line
    }

    /// One over the variance of each unknown before anything was seen.
    fn precisions(&self, s: &Strengths) -> Vec<f64> {
        let [fine, coarse] = [0, 1].map(|k| vec![s.deviation[k].powi(-2); self.lattices[k].len()]);
        let mut traits = vec![s.traits.powi(-2); self.traits];
        if let Some(level) = traits.first_mut() {
            *level = WIDE.powi(-2);
        }
        [fine, coarse, traits].concat()
    }
}

/// A fitted model.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    /// The most likely unknowns.
    pub heights: Vec<f64>,
    /// The logarithm of the marginal likelihood, to a constant.
    pub ln_marginal: f64,
    factor: Factor,
}

/// Yards to learn from: their lines and outcomes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lesson<'a> {
    /// Where the unknowns stand.
    pub layout: &'a Layout,
    /// One line for each yard.
    pub lines: &'a [Line],
    /// Whether it was positive.
    pub positive: &'a [bool],
    /// How much each counts; one that stands beyond the end counts 1.
    pub weights: &'a [f64],
    /// The yards to learn from, by their numbers.
    pub learnt: &'a [usize],
}

impl Lesson<'_> {
    /// Line, outcome and weight of each yard to learn from.
    fn yards(&self) -> impl Iterator<Item = (&Line, bool, f64)> {
        self.learnt.iter().map(|&i| (&self.lines[i], self.positive[i], self.weights.get(i).copied().unwrap_or(1.0)))
    }

    /// Where a search begins: the district's own rate, and nothing else.
    fn level(&self) -> Vec<f64> {
        let positive = self.yards().filter(|y| y.1).count() as f64;
        let rate = (positive + 0.5) / (self.learnt.len() as f64 + 1.0);
        let mut heights = vec![0.0; self.layout.len()];
        let first_trait = heights.len() - self.layout.traits;
        heights[first_trait..].iter_mut().take(1).for_each(|h| *h = (rate / (1.0 - rate)).ln());
        heights
    }
}

/// How many steps Newton's method may take.
const STEPS: usize = 60;

/// A step that gains less is the last one.
const ENOUGH: f64 = 1e-6;

/// The curvature of an earlier step serves on while each step gains less than this share of what the one before gained.
const SERVES: f64 = 0.1;

/// At the top the curvature of a place so much lower is as good.
const AS_GOOD: f64 = 0.02;

/// The most likely unknowns by Newton's method, from `start` on; `None` when the numbers break down and when somebody asked to
/// stop. Most of the time goes into
/// factoring the curvature, so that one serves for several steps while they get shorter fast enough.
///
/// # Source
/// C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning (2006), sections 3.4 and 3.4.4, written for
/// weights of bumps instead of function values; from memory.
pub(super) fn fit(lesson: &Lesson<'_>, strengths: &Strengths, start: Option<&[f64]>, watch: &dyn Watch) -> Option<Fit> {
    let precisions = lesson.layout.precisions(strengths);
    let n = lesson.layout.len();
    let mut heights = start.filter(|s| s.len() == n).map_or_else(|| lesson.level(), <[f64]>::to_vec);
    let mut value = worth(lesson, &heights, &precisions);
    let mut curve = Curve { factor: factored(lesson, &heights, &precisions, watch)?, value };
    let mut before = f64::INFINITY;
    for _ in 0..STEPS {
        if watch.cancelled() {
            return None;
        }
        let mut step = slope(lesson, &heights, &precisions);
        curve.factor.solve(&mut step);
        let (next, better) = (0..12).map(|k| tried(lesson, &heights, &step, 0.5f64.powi(k), &precisions)).find(|t| t.1 >= value - 1e-9)?;
        let gained = better - value;
        (heights, value) = (next, better);
        let done = gained < ENOUGH;
        if (done && value - curve.value > AS_GOOD) || (!done && gained > SERVES * before) {
            curve = Curve { factor: factored(lesson, &heights, &precisions, watch)?, value };
        }
        if done {
            let half = precisions.iter().map(|p| p.ln()).sum::<f64>() - curve.factor.ln_determinant();
            return Some(Fit { heights, ln_marginal: value + half / 2.0, factor: curve.factor });
        }
        before = gained;
    }
    None
}

/// The factored curvature, and the value where it was taken.
struct Curve {
    factor: Factor,
    value: f64,
}

fn tried(lesson: &Lesson<'_>, heights: &[f64], step: &[f64], part: f64, precisions: &[f64]) -> (Vec<f64>, f64) {
    let next: Vec<f64> = heights.iter().zip(step).map(|(h, s)| h + part * s).collect();
    let value = worth(lesson, &next, precisions);
    (next, value)
}

impl Line {
    /// The log odds of a premise.
    pub(super) fn log_odds(&self, heights: &[f64]) -> f64 {
        self.terms.iter().map(|&(k, w)| w * heights[k]).sum()
    }
}

/// The logarithm of likelihood and prior together, to a constant.
fn worth(lesson: &Lesson<'_>, heights: &[f64], precisions: &[f64]) -> f64 {
    let likelihood = |(line, positive, weight): (&Line, bool, f64)| {
        let odds = line.log_odds(heights);
        let against = if positive { -odds } else { odds };
        -weight * (against.max(0.0) + (-against.abs()).exp().ln_1p())
    };
    let data: f64 = lesson.yards().map(likelihood).sum();
    data - heights.iter().zip(precisions).map(|(h, p)| h * h * p).sum::<f64>() / 2.0
}

/// The slope at some heights.
fn slope(lesson: &Lesson<'_>, heights: &[f64], precisions: &[f64]) -> Vec<f64> {
    let mut slope: Vec<f64> = heights.iter().zip(precisions).map(|(h, p)| -h * p).collect();
    for (line, positive, weight) in lesson.yards() {
        let left = weight * (f64::from(u8::from(positive)) - chance(line.log_odds(heights)));
        line.terms.iter().for_each(|&(i, a)| slope[i] += left * a);
    }
    slope
}

/// The factored curvature at some heights; `None` when the numbers break down and when somebody asked to stop.
fn factored(lesson: &Lesson<'_>, heights: &[f64], precisions: &[f64], watch: &dyn Watch) -> Option<Factor> {
    let layout = lesson.layout;
    let mut curvature = Skyline::new(layout.first.clone(), layout.len() - layout.first.len());
    for (line, _, weight) in lesson.yards() {
        let p = chance(line.log_odds(heights));
        curvature.add_products_of(&line.terms, weight * p * (1.0 - p));
    }
    precisions.iter().enumerate().for_each(|(i, &p)| curvature.add(i, i, p));
    curvature.factored(watch)
}

/// What a fitted model says of any premise.
#[derive(Clone, Debug)]
pub(super) struct Surface {
    heights: Vec<f64>,
    spread: Skyline,
    strengths: Strengths,
}

/// Log odds and their standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Odds {
    /// The most likely log odds.
    pub middle: f64,
    /// Their standard deviation.
    pub deviation: f64,
}

impl Odds {
    /// The log odds of the mean chance: doubt draws the chance towards one half.
    ///
    /// # Source
    /// D. J. C. MacKay, Neural Computation 4 (1992), 720–736; from memory.
    pub(super) fn of_mean_chance(self) -> f64 {
        self.middle / (1.0 + std::f64::consts::PI * self.deviation.powi(2) / 8.0).sqrt()
    }
}

impl Surface {
    /// The model fitted to some yards, from `start` on, with the spread of its unknowns worked out; `None` when the numbers break
    /// down and when somebody asked to stop.
    pub(super) fn fitted(lesson: &Lesson<'_>, strengths: Strengths, start: Option<&[f64]>, watch: &dyn Watch) -> Option<Self> {
        let fit = fit(lesson, &strengths, start, watch)?;
        let mut surface = Self { spread: fit.factor.inverse(watch)?, heights: fit.heights, strengths };
        let mut shift = surface.pull_of_skew(lesson);
        fit.factor.solve(&mut shift);
        surface.heights.iter_mut().zip(&shift).for_each(|(h, s)| *h += s);
        Some(surface)
    }

    /// The slope by which the mean of the unknowns lies off their most likely values: where few yards are positive the log odds
    /// may be far below the likeliest ones more easily than far above.
    ///
    /// # Source
    /// The first correction to Laplace's approximation of a mean, −½ H⁻¹ Σ p(1−p)(1−2p) v a: L. Tierney and J. B. Kadane, Journal
    /// of the American Statistical Association 81 (1986), 82–86; from memory. The test beside it adds the distribution up.
    fn pull_of_skew(&self, lesson: &Lesson<'_>) -> Vec<f64> {
        let mut slope = vec![0.0; self.heights.len()];
        for (line, _, weight) in lesson.yards() {
            let odds = self.odds(line);
            let p = chance(odds.middle);
            let by = -0.5 * weight * p * (1.0 - p) * (1.0 - 2.0 * p) * odds.deviation.powi(2);
            line.terms.iter().for_each(|&(i, a)| slope[i] += by * a);
        }
        slope
    }

    /// The mean heights of the bumps and weights of the traits.
    pub(super) fn heights(&self) -> &[f64] {
        &self.heights
    }

    /// The covariance of the log odds of two premises; `None` where they lie too far apart for it to be kept. What no inspected
    /// yard reaches is taken as the same for both: such premises lie side by side.
    pub(super) fn together(&self, one: &Line, other: &Line) -> Option<f64> {
        let loose = |k: usize| (one.loose[k] * other.loose[k]).sqrt() * self.strengths.deviation[k].powi(2);
        let mut sum = loose(0) + loose(1);
        for &(i, a) in &one.terms {
            for &(j, b) in &other.terms {
                sum += a * b * self.spread.kept(i, j)?;
            }
        }
        Some(sum)
    }

    /// What moves the log odds of a premise: the ground and the traits, each with what it is known from.
    pub(super) fn pulls(&self, layout: &Layout, line: &Line, traits: &Traits) -> Pulls {
        let mut pulls = Pulls::default();
        for &(unknown, weight) in &line.terms {
            let from = layout.weighed(unknown).map_or(Some(Known::Nearby), |k| traits.known(k));
            from.into_iter().for_each(|known| pulls.add(known, weight * self.heights[unknown]));
        }
        pulls
    }

    /// Log odds of a premise.
    pub(super) fn odds(&self, line: &Line) -> Odds {
        let mut variance: f64 = (0..2).map(|k| line.loose[k] * self.strengths.deviation[k].powi(2)).sum();
        for (at, &(i, a)) in line.terms.iter().enumerate() {
            let before: f64 = line.terms[..at].iter().map(|&(j, b)| b * self.spread.get(i, j)).sum();
            variance += a * (a * self.spread.get(i, i) + 2.0 * before);
        }
        Odds { middle: line.log_odds(&self.heights), deviation: variance.max(0.0).sqrt() }
    }
}

/// The lines of all inspected yards.
pub(super) fn lines(layout: &Layout, yards: &Yards, traits: &Traits) -> Vec<Line> {
    yards.seen.iter().zip(&yards.at).map(|(&row, &p)| layout.line(Some(p), traits, row)).collect()
}

#[cfg(test)]
mod tests {
    use super::super::made_up::district;
    use super::*;
    use crate::job::Unwatched;

    const STRENGTHS: Strengths = Strengths { spacing: [120.0, 500.0], deviation: [0.6, 0.9], traits: 0.5 };

    /// At the most likely heights, going either way along any of them makes the outcomes less likely; and the spread of a
    /// yard's log odds is the one that a finite difference of the solution gives.
    #[test]
    fn the_fit_is_the_top_of_the_hill() {
        let (survey, standings) = district(20, 0.4, 0.1, 5);
        let yards = Yards::of(&survey, &standings);
        let traits = Traits::of(&survey, &standings, &yards);
        let layout = Layout::new(&yards.at, STRENGTHS.spacing, traits.len());
        let lines = lines(&layout, &yards, &traits);
        let all: Vec<usize> = (0..lines.len()).collect();
        let lesson = Lesson { layout: &layout, lines: &lines, positive: &yards.positive, weights: &[], learnt: &all };
        let found = fit(&lesson, &STRENGTHS, None, &Unwatched).unwrap();
        let precisions = layout.precisions(&STRENGTHS);
        let top = worth(&lesson, &found.heights, &precisions);
        for k in 0..found.heights.len() {
            for by in [-0.02, 0.02] {
                let mut moved = found.heights.clone();
                moved[k] += by;
                assert!(worth(&lesson, &moved, &precisions) < top, "{k}");
            }
        }
        let surface = Surface::fitted(&lesson, STRENGTHS, None, &Unwatched).unwrap();
        let mut column = vec![0.0; found.heights.len()];
        lines[7].terms.iter().for_each(|&(i, w)| column[i] += w);
        found.factor.solve(&mut column);
        let variance = lines[7].log_odds(&column);
        assert!((surface.odds(&lines[7]).deviation.powi(2) - variance).abs() < 1e-10);
        assert!((surface.together(&lines[7], &lines[7]).unwrap() - variance).abs() < 1e-10);
        assert!((surface.together(&lines[7], &lines[8]).unwrap() - lines[8].log_odds(&column)).abs() < 1e-10);
    }

    /// One unknown, the district's own log odds, with 3 positives among 40 yards: its mean by adding up the distribution over a
    /// fine grid. The correction takes away four fifths of the error of the likeliest value or more.
    #[test]
    fn the_mean_is_nearer_than_the_likeliest_value() {
        let layout = Layout { lattices: [0, 1].map(|_| Lattice::over(&[], 100.0, true)), traits: 1, first: Vec::new() };
        let lines: Vec<Line> = (0..40).map(|_| Line { terms: vec![(0, 1.0)], loose: [0.0; 2] }).collect();
        let positive: Vec<bool> = (0..40).map(|i| i < 3).collect();
        let learnt: Vec<usize> = (0..40).collect();
        let lesson = Lesson { layout: &layout, lines: &lines, positive: &positive, weights: &[], learnt: &learnt };
        let likeliest = fit(&lesson, &STRENGTHS, None, &Unwatched).unwrap().heights[0];
        let mean = Surface::fitted(&lesson, STRENGTHS, None, &Unwatched).unwrap().heights[0];
        let grid = (0..40_000).map(|i| -12.0 + f64::from(i) * 4e-4);
        let weighed = grid.map(|h| (h, (3.0 * h - 40.0 * h.exp().ln_1p() - h * h / 200.0).exp()));
        let (all, sum) = weighed.fold((0.0, 0.0), |(w, s), (h, by)| (w + by, s + h * by));
        let exact = sum / all;
        assert!((likeliest - exact) > 0.1 && (mean - exact).abs() < (likeliest - exact).abs() / 5.0, "{likeliest} {mean} {exact}");
    }

    /// Far from every inspected yard nothing is known but what held before.
    #[test]
    fn far_away_the_spread_is_the_one_before_anything_was_seen() {
        let (survey, standings) = district(20, 0.4, 0.1, 5);
        let yards = Yards::of(&survey, &standings);
        let traits = Traits::of(&survey, &standings, &yards);
        let layout = Layout::new(&yards.at, STRENGTHS.spacing, traits.len());
        let [near, far] = [yards.at[0], Local { x: 90_000.0, y: 0.0 }].map(|p| layout.line(Some(p), &traits, 0).loose);
        assert!(near[0] < 0.2 && (0.5..2.5).contains(&far[0]) && (0.5..2.5).contains(&far[1]), "{near:?} {far:?}");
    }
}
