//! Lengths and strengths of the surfaces, learnt from what was found.

use super::near::Near;
use super::surface::{Fit, Layout, Lesson, Line, Strengths, fit, lines};
use super::traits::Traits;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::place::Bounds;
use rayon::join;
use std::sync::Arc;

/// Lengths and strengths are learnt from at most so many yards, those in the middle of the curve that the premises lie along:
/// one piece of ground, large enough for both surfaces.
const MOST: usize = 6000;

/// More bumps of the fine surface than this take too long.
const MOST_FINE: f64 = 9000.0;

/// More bumps of the coarse surface than this take too long.
const MOST_COARSE: f64 = 250.0;

/// Before anything is seen, the lengths of the two surfaces lie between these with 95 in 100, in metres: a yard and its
/// neighbours, a neighbourhood and the next. Without this, lengths learnt from some hundred positives chose doors no better on 19
/// made-up counties, and worse on the first three.
///
/// # Source
/// The fine one: the project's scientific reference, section 7.2 (range prior 30 to 200 m). The coarse one: common practice, no
/// source: some blocks to a part of a town.
const LENGTHS: [[f64; 2]; 2] = [[30.0, 200.0], [300.0, 3000.0]];

/// Before anything is seen, a surface is stronger than this (standard deviation in log odds) with 5 in 100.
///
/// # Source
/// The form, a penalty for every surface that is not needed: D. Simpson and others, Statistical Science 32 (2017), 1–28; from
/// memory. The size: common practice, no source; half of all yards then lie within a factor of three of the usual odds.
const STRONG: f64 = 1.5;

/// The rate of the exponential law that is held of every strength before anything is seen.
pub(super) fn strength_rate() -> f64 {
    -(0.05f64).ln() / STRONG
}

/// What is done meanwhile, in words.
const LEARNING: &str = "learning how far and how strongly yards are alike";

/// Models tried at most.
const TRIES: u64 = 60;

/// A search for the strengths under which the outcomes are most likely.
struct Search<'a> {
    yards: Yards,
    all: Vec<usize>,
    traits: &'a Traits,
    range: [[f64; 2]; 2],
    watch: &'a dyn Watch,
    tries: u64,
}

/// A model tried, to go on from.
#[derive(Clone)]
struct Tried {
    strengths: Strengths,
    value: f64,
    ground: Arc<LaidOut>,
    heights: Vec<f64>,
}

/// Where the unknowns and the yards stand for some spacing.
struct LaidOut {
    layout: Layout,
    lines: Vec<Line>,
}

/// The strengths with the highest marginal likelihood under what is held before anything is seen, by a search that goes along
/// one of them at a time, in steps of 2 and √2: finer ones foretell blocks set aside no better; `None` when no model could be
/// fitted.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub(super) fn learnt(yards: &Yards, traits: &Traits, near: &Near, watch: &dyn Watch) -> Result<Option<Strengths>, Cancelled> {
    let all = Bounds::of(&yards.at);
    let floor = |most: f64| (all.width() * all.height() / most).sqrt();
    let usual = near.usual_spacing().max(1.0);
    let longest = 2.0 * all.width().max(all.height());
    let least = [(2.0 * usual).max(floor(MOST_FINE)), (4.0 * usual).max(floor(MOST_COARSE))];
    let mut search = Search::over(middle(yards), traits, [least, [longest; 2]], watch);
    let fine = (8.0 * usual).max(least[0]);
    let start = Strengths { spacing: [fine, (4.0 * fine).max(least[1])], deviation: [0.7, 0.7], traits: 0.5 };
    let first = search.tried(&start, None);
    watch.step(LEARNING, 0, TRIES)?;
    let Some(mut best) = first else { return Ok(None) };
    for step in [2.0, 2f64.sqrt()] {
        let mut better = true;
        while better && search.tries < TRIES {
            better = false;
            for k in 0..5 {
                watch.step(LEARNING, search.tries, TRIES)?;
                better |= search.along(k, step, &mut best);
            }
        }
    }
    watch.step(LEARNING, TRIES, TRIES)?;
    Ok(Some(best.strengths))
}

/// The yards in the middle of their order, which is an order along the ground.
fn middle(yards: &Yards) -> Yards {
    let n = yards.seen.len();
    let from = n.saturating_sub(MOST) / 2;
    yards.kept(&(from..(from + MOST).min(n)).collect::<Vec<usize>>())
}

/// The strengths with one of them multiplied.
fn changed(s: &Strengths, which: usize, by: f64) -> Strengths {
    let mut s = *s;
    match which {
        0 | 1 => s.spacing[which] *= by,
        2 | 3 => s.deviation[which - 2] *= by,
        _ => s.traits *= by,
    }
    s
}

/// The logarithm of what is held of strengths before anything is seen, to a constant, as a density over their logarithms: the
/// steps of the search are factors.
fn ln_prior(s: &Strengths) -> f64 {
    let length = |(l, [low, high]): (f64, [f64; 2])| {
        let (middle, deviation) = (f64::midpoint(low.ln(), high.ln()), (high / low).ln() / (2.0 * 1.96));
        -((l.ln() - middle) / deviation).powi(2) / 2.0
    };
    let strength = |d: f64| d.ln() - strength_rate() * d;
    let lengths: f64 = s.lengths().into_iter().zip(LENGTHS).map(length).sum();
    lengths + s.deviation.iter().chain([&s.traits]).map(|&d| strength(d)).sum::<f64>()
}

impl<'a> Search<'a> {
    fn over(yards: Yards, traits: &'a Traits, range: [[f64; 2]; 2], watch: &'a dyn Watch) -> Self {
        let all = (0..yards.seen.len()).collect();
        Self { yards, all, traits, range, watch, tries: 0 }
    }

    /// Goes along one strength, up or down, as long as it gets better; whether it did. Both ways are tried at once.
    fn along(&mut self, which: usize, step: f64, best: &mut Tried) -> bool {
        let next = |from: &Tried, by: f64| self.tried(&changed(&from.strengths, which, by), Some(from));
        let (up, down) = join(|| next(best, step), || next(best, 1.0 / step));
        self.tries += 2;
        let gain = |t: &Option<Tried>| t.as_ref().map_or(f64::NEG_INFINITY, |t| t.value);
        let (mut found, by) = if gain(&up) >= gain(&down) { (up, step) } else { (down, 1.0 / step) };
        let mut better = false;
        while let Some(tried) = found.filter(|t| t.value > best.value + 1e-3) {
            (*best, better) = (tried, true);
            found = (self.tries < TRIES).then(|| self.tried(&changed(&best.strengths, which, by), Some(best))).flatten();
            self.tries += 1;
        }
        better
    }

    /// A model with the logarithm of its marginal likelihood and of what was held before together; `None` outside what can be
    /// learnt, and when somebody asked to stop. It goes on from the heights of another one where the bumps are the same.
    fn tried(&self, s: &Strengths, from: Option<&Tried>) -> Option<Tried> {
        let [least, most] = self.range;
        let inside = |k: usize| (least[k]..=most[k]).contains(&s.spacing[k]);
        let fits = inside(0) && inside(1) && s.spacing[1] > s.spacing[0];
        let weighs = s.deviation.iter().chain([&s.traits]).all(|d| (0.02..8.0).contains(d));
        if !(fits && weighs) {
            return None;
        }
        let same = from.filter(|t| t.strengths.spacing == s.spacing);
        let ground = same.map_or_else(|| Arc::new(self.laid_out(s.spacing)), |t| Arc::clone(&t.ground));
        let lesson =
            Lesson { layout: &ground.layout, lines: &ground.lines, positive: &self.yards.positive, weights: &[], learnt: &self.all };
        let Fit { heights, ln_marginal, .. } = fit(&lesson, s, same.map(|t| &*t.heights), self.watch)?;
        Some(Tried { strengths: *s, value: ln_marginal + ln_prior(s), ground, heights })
    }

    fn laid_out(&self, spacing: [f64; 2]) -> LaidOut {
        let layout = Layout::new(&self.yards.at, spacing, self.traits.len());
        let lines = lines(&layout, &self.yards, self.traits);
        LaidOut { layout, lines }
    }
}

#[cfg(test)]
mod tests {
    use super::super::looks::Looks;
    use super::super::made_up::Numbers;
    use super::super::scores::chance;
    use super::*;
    use crate::job::Unwatched;
    use crate::place::Local;
    use std::f64::consts::TAU;

    /// The ends of the intervals are as likely as the definition of a normal interval of 95 in 100 says: exp(−1.96²/2) of the
    /// middle; and the exponential law has its 5 in 100 above the strength named, here by adding up its density.
    #[test]
    fn what_is_held_before_has_the_shares_that_it_names() {
        let usual = Strengths { spacing: [77.46 / 0.816_497, 948.7 / 0.816_497], deviation: [0.5, 0.5], traits: 0.5 };
        let short = Strengths { spacing: [30.0 / 0.816_497, usual.spacing[1]], ..usual };
        assert!((ln_prior(&usual) - ln_prior(&short) - 1.96f64.powi(2) / 2.0).abs() < 1e-3);
        let density = |d: f64| (ln_prior(&Strengths { traits: d, ..usual })).exp() / d;
        let above = |from: f64| (0..200_000).map(|i| density(from + (f64::from(i) + 0.5) * 1e-4)).sum::<f64>();
        assert!((above(1.5) / above(0.0) - 0.05).abs() < 1e-3);
    }

    /// Outcomes drawn from a surface of a known length and strength, a sum of waves: whether breeding is alike over 80 m or over
    /// 300 m, the surface that carries more of it gets that length within a factor of two.
    ///
    /// # Source
    /// Waves with normal frequencies add up to a squared exponential covariance: A. Rahimi and B. Recht, Advances in Neural
    /// Information Processing Systems 20 (2007); from memory.
    #[test]
    fn the_length_that_made_the_outcomes_is_learnt() {
        for (length, seed) in [(80.0, 3), (300.0, 4)] {
            let (yards, traits) = waves(length, 1.6, seed);
            let found = learnt(&yards, &traits, &Near::new(&yards.at), &Unwatched).unwrap().unwrap();
            let stronger = usize::from(found.deviation[1] > found.deviation[0]);
            let ratio = found.lengths()[stronger] / length;
            assert!((0.5..2.0).contains(&ratio), "{found:?} for {length}");
        }
    }

    /// 2,500 yards 30 m apart on a square, one in four positive or so.
    fn waves(length: f64, strength: f64, seed: u64) -> (Yards, Traits) {
        let mut numbers = Numbers(seed);
        let normal = |n: &mut Numbers| (-2.0 * (n.next() + 1e-9).ln()).sqrt() * (TAU * n.next()).cos();
        let mut wave = || [normal(&mut numbers) / length, normal(&mut numbers) / length, TAU * numbers.next()];
        let all: Vec<[f64; 3]> = (0..200).map(|_| wave()).collect();
        let at: Vec<Local> = (0..2500).map(|i| Local { x: f64::from(i % 50) * 30.0, y: f64::from(i / 50) * 30.0 }).collect();
        let odds = |p: &Local| -1.3 + strength * 0.1 * all.iter().map(|[a, b, c]| (a * p.x + b * p.y + c).cos()).sum::<f64>();
        let positive = at.iter().map(|p| numbers.next() < chance(odds(p))).collect();
        let n = at.len();
        let place = at.iter().copied().map(Some).collect();
        (
            Yards { place, seen: (0..n).collect(), at, positive, block: vec![None; n], day: vec![None; n], looks: Looks::default() },
            Traits::none(n),
        )
    }
}
