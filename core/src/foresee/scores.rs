//! How good foretold chances were, once it is known what was there.

/// Chances are kept this far from 0 and 1 where their logarithm is taken.
const CLIP: f64 = 1e-6;

/// Scores of chances against outcomes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scores {
    /// Mean squared difference of chance and outcome; 0 is perfect.
    pub brier: f64,
    /// Mean negative natural logarithm of the chance given to what was there; 0 is perfect.
    pub log_score: f64,
    /// Chance that a positive yard was ranked above another one; 0.5 is no better than drawing lots. `None` with one outcome.
    pub auc: Option<f64>,
    /// How log odds of outcomes rise with foretold log odds; 1 is right, below 1 the chances are too bold. `None` with one
    /// outcome or when all chances are the same.
    pub calibration_slope: Option<f64>,
    /// Log odds of outcomes where the foretold log odds are 0; 0 is right.
    pub calibration_intercept: Option<f64>,
}

impl Scores {
    /// The scores of chances; `None` when there are no yards.
    ///
    /// # Source
    /// G. W. Brier, Monthly Weather Review 78 (1950), 1–3; the area under the curve as the rank-sum statistic with half for
    /// ties; calibration as a logistic regression on log odds, D. R. Cox, Biometrika 45 (1958), 562–565; from memory.
    ///
    /// ```
    /// use yardring_core::foresee::Scores;
    /// let s = Scores::of(&[true, false], &[0.8, 0.4]).unwrap();
    /// assert!((s.brier - 0.1).abs() < 1e-12 && s.auc == Some(1.0));
    /// ```
    pub fn of(positive: &[bool], chances: &[f64]) -> Option<Self> {
        if positive.is_empty() {
            return None;
        }
        let squares = positive.iter().zip(chances).map(|(&y, p)| (p - f64::from(u8::from(y))).powi(2));
        let line = calibration(positive, chances);
        Some(Self {
            brier: squares.sum::<f64>() / positive.len() as f64,
            log_score: log_loss(positive, chances),
            auc: auc(positive, chances),
            calibration_slope: line.map(|l| l.slope),
            calibration_intercept: line.map(|l| l.intercept),
        })
    }
}

/// The log odds of a chance.
pub(super) fn log_odds(chance: f64) -> f64 {
    let p = chance.clamp(CLIP, 1.0 - CLIP);
    (p / (1.0 - p)).ln()
}

/// The chance with some log odds.
pub(super) fn chance(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}

/// Mean negative logarithm of the chance given to what was there; 0 when there are no yards.
pub(super) fn log_loss(positive: &[bool], chances: &[f64]) -> f64 {
    let loss = |(&y, &p): (&bool, &f64)| {
        let p = p.clamp(CLIP, 1.0 - CLIP);
        -if y { p.ln() } else { (1.0 - p).ln() }
    };
    positive.iter().zip(chances).map(loss).sum::<f64>() / positive.len().max(1) as f64
}

/// How much more a chance than a rate says of what was there, in natural logarithms.
pub(super) fn log_gain(positive: bool, chance: f64, rate: f64) -> f64 {
    let ln = |p: f64| {
        let p = p.clamp(CLIP, 1.0 - CLIP);
        if positive { p.ln() } else { (1.0 - p).ln() }
    };
    ln(chance) - ln(rate)
}

fn auc(positive: &[bool], chances: &[f64]) -> Option<f64> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|&a, &b| chances[a].total_cmp(&chances[b]));
    let (mut below, mut wins, mut others, mut at) = (0.0, 0.0, 0.0, 0);
    while at < order.len() {
        let same = order[at..].iter().take_while(|&&i| chances[i] == chances[order[at]]).count();
        let yes = order[at..at + same].iter().filter(|&&i| positive[i]).count() as f64;
        let no = same as f64 - yes;
        wins += yes * (below + no / 2.0);
        below += no;
        others += yes;
        at += same;
    }
    (others > 0.0 && below > 0.0).then(|| wins / (others * below))
}

/// A straight line from foretold log odds to those of the outcomes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Where it passes 0.
    pub intercept: f64,
    /// How steep it is.
    pub slope: f64,
}

impl Line {
    /// The line that changes nothing.
    pub(super) const SAME: Self = Self { intercept: 0.0, slope: 1.0 };

    /// The log odds on the line.
    pub(super) fn at(self, log_odds: f64) -> f64 {
        self.intercept + self.slope * log_odds
    }
}

/// The calibration line by maximum likelihood (Newton's method); `None` when there is none.
pub(super) fn calibration(positive: &[bool], chances: &[f64]) -> Option<Line> {
    let x: Vec<f64> = chances.iter().map(|&p| log_odds(p)).collect();
    let mut line = Line::SAME;
    for _ in 0..50 {
        let (mut g, mut h) = ([0.0; 2], [0.0; 3]);
        for (&y, &x) in positive.iter().zip(&x) {
            let p = chance(line.at(x));
            let (left, w) = (f64::from(u8::from(y)) - p, p * (1.0 - p));
            g = [g[0] + left, g[1] + left * x];
            h = [h[0] + w, h[1] + w * x, h[2] + w * x * x];
        }
        let determinant = h[0] * h[2] - h[1] * h[1];
        if determinant.is_nan() || determinant <= 1e-9 * h[0] * h[2] {
            return None;
        }
        let step = [(h[2] * g[0] - h[1] * g[1]) / determinant, (h[0] * g[1] - h[1] * g[0]) / determinant];
        line = Line { intercept: line.intercept + step[0], slope: line.slope + step[1] };
        if step[0].abs() + step[1].abs() < 1e-10 {
            return Some(line);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIRST: ([u8; 10], [f64; 10]) = ([1, 0, 0, 1, 0, 0, 0, 1, 0, 0], [0.7, 0.2, 0.1, 0.4, 0.3, 0.05, 0.5, 0.8, 0.1, 0.2]);
    const SECOND: ([u8; 10], [f64; 10]) = ([1, 0, 0, 0, 1, 0, 1, 0, 0, 0], [0.15, 0.25, 0.6, 0.3, 0.35, 0.1, 0.55, 0.45, 0.05, 0.15]);

    /// The two sets of the project's scientific reference, section 7.3, computed there with general libraries.
    #[test]
    fn agrees_with_the_worked_scores() {
        let yes = |y: &[u8]| y.iter().map(|&v| v == 1).collect::<Vec<bool>>();
        let ten = Scores::of(&yes(&FIRST.0), &FIRST.1).unwrap();
        assert!((ten.brier - 0.09325).abs() < 1e-12 && (ten.log_score - 0.325_423).abs() < 1e-6);
        assert!((ten.auc.unwrap() - 0.952_381).abs() < 1e-6);
        let twenty = Scores::of(&yes(&[FIRST.0, SECOND.0].concat()), &[FIRST.1, SECOND.1].concat()).unwrap();
        assert!((twenty.brier - 0.1515).abs() < 1e-12 && (twenty.log_score - 0.463_834).abs() < 1e-6);
        assert!((twenty.auc.unwrap() - 0.815_476).abs() < 1e-6);
        assert!((twenty.calibration_intercept.unwrap() - 0.043_417).abs() < 1e-6);
        assert!((twenty.calibration_slope.unwrap() - 1.243_178).abs() < 1e-6);
    }

    #[test]
    fn one_outcome_has_no_ranking_and_equal_chances_no_line() {
        let s = Scores::of(&[false, false], &[0.1, 0.2]).unwrap();
        assert_eq!((s.auc, s.calibration_slope), (None, None));
        let s = Scores::of(&[true, false, false], &[0.3, 0.3, 0.3]).unwrap();
        assert_eq!((s.auc, s.calibration_slope), (Some(0.5), None));
        assert_eq!(Scores::of(&[], &[]), None);
    }
}
