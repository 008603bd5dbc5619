//! When chances must not be shown.

use super::judge::Judgement;
use std::fmt;

/// Fewer inspected yards than this teach nothing.
///
/// # Source
/// A programme's convention (the project's scientific reference, section 7.4); no biology in it. So are those below.
const FEWEST_INSPECTED: usize = 100;

/// Fewer positive yards than this teach nothing.
const FEWEST_POSITIVE: usize = 15;

/// Slopes of the calibration line between which chances may be shown.
const SLOPES: std::ops::RangeInclusive<f64> = 0.7..=1.4;

/// Why no chances are shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Refusal {
    /// Too few yards with an outline were inspected in the round; how many there are.
    FewInspected(usize),
    /// Too few of them were positive; how many there are.
    FewPositive(usize),
    /// On blocks set aside the chances did no better than the district's rate for every yard; the skill, 0 or below.
    NoSkill(f64),
    /// On blocks set aside the chances did a little better than one rate for all, but not by more than luck does.
    Luck,
    /// On blocks set aside the chances were too bold (slope below 0.7) or too timid (above 1.4); `None` when they were all the
    /// same.
    OffScale(Option<f64>),
}

impl Refusal {
    /// Whether there is too little to learn from.
    pub(super) fn for_numbers(inspected: usize, positive: usize) -> Option<Self> {
        match () {
            () if inspected < FEWEST_INSPECTED => Some(Self::FewInspected(inspected)),
            () if positive < FEWEST_POSITIVE => Some(Self::FewPositive(positive)),
            () => None,
        }
    }

    /// Whether chances failed on the blocks set aside.
    pub(super) fn for_judgement(judged: &Judgement) -> Option<Self> {
        let skill = 1.0 - judged.scores.brier / judged.overall.brier;
        if skill.is_nan() || skill <= 0.0 {
            return Some(Self::NoSkill(skill));
        }
        if judged.gain.is_none_or(|g| g.low <= 0.0) {
            return Some(Self::Luck);
        }
        let slope = judged.scores.calibration_slope;
        (!slope.is_some_and(|s| SLOPES.contains(&s))).then_some(Self::OffScale(slope))
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FewInspected(n) => {
                write!(f, "only {n} yards were inspected in this round; chances need at least {FEWEST_INSPECTED}")
            }
            Self::FewPositive(n) => write!(f, "only {n} yards were positive in this round; chances need at least {FEWEST_POSITIVE}"),
            Self::NoSkill(_) => f.write_str(
                "on blocks set aside the chances did no better than one rate for the whole district, so what was found here says \
                 nothing yet about other yards",
            ),
            Self::Luck => f.write_str(
                "on blocks set aside the chances beat one rate for the whole district by no more than luck would; more blocks \
                 inspected may change that",
            ),
            Self::OffScale(Some(s)) if *s < 1.0 => {
                write!(f, "on blocks set aside the chances were too bold (slope {s:.2}; 0.7 to 1.4 is allowed)")
            }
            Self::OffScale(Some(s)) => {
                write!(f, "on blocks set aside the chances were too timid (slope {s:.2}; 0.7 to 1.4 is allowed)")
            }
            Self::OffScale(None) => f.write_str("on blocks set aside all yards got the same chance"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::judge::Gain;
    use super::super::scores::Scores;
    use super::*;

    fn judged(brier: f64, slope: f64, low: f64) -> Judgement {
        let scores =
            |brier| Scores { brier, log_score: 0.3, auc: Some(0.6), calibration_slope: Some(slope), calibration_intercept: Some(0.0) };
        Judgement {
            yards: 200,
            positive: 50,
            scores: scores(brier),
            overall: scores(0.2),
            by_block: scores(0.2),
            curve: Vec::new(),
            gain: Some(Gain { mean: 0.01, low, blocks: 20 }),
        }
    }

    #[test]
    fn refuses_by_the_rules_of_the_reference() {
        assert_eq!(Refusal::for_numbers(99, 50), Some(Refusal::FewInspected(99)));
        assert_eq!(Refusal::for_numbers(100, 14), Some(Refusal::FewPositive(14)));
        assert_eq!(Refusal::for_numbers(100, 15), None);
        assert!(matches!(Refusal::for_judgement(&judged(0.2, 1.0, 0.001)), Some(Refusal::NoSkill(_))));
        assert_eq!(Refusal::for_judgement(&judged(0.19, 1.0, 0.0)), Some(Refusal::Luck));
        let unsure = Judgement { gain: None, ..judged(0.19, 1.0, 0.001) };
        assert_eq!(Refusal::for_judgement(&unsure), Some(Refusal::Luck));
        for (slope, refused) in [(0.69, true), (0.7, false), (1.4, false), (1.41, true)] {
            assert_eq!(Refusal::for_judgement(&judged(0.19, slope, 0.001)).is_some(), refused);
        }
    }
}
