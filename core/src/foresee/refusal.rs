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
    /// Forward in time the chances did no better than one rate for all, by Brier score and by log score; the skill by the first, 0 or
    /// below.
    NoForwardSkill(f64),
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
        let skill = skill(judged);
        if skill.is_nan() || skill <= 0.0 {
            return Some(Self::NoSkill(skill));
        }
        if judged.gain.is_none_or(|g| g.low <= 0.0) {
            return Some(Self::Luck);
        }
        let slope = judged.scores.calibration_slope;
        (!slope.is_some_and(|s| SLOPES.contains(&s))).then_some(Self::OffScale(slope))
    }

    /// Whether chances failed forward in time, where there was enough to judge them on. The two scores weigh what is said of rare yards
    /// differently; while one of them still tells skill there is some, and [`Judgement::words`] say how much.
    pub(super) fn for_forward(judged: &Judgement) -> Option<Self> {
        let (skill, gain) = (skill(judged), judged.overall.log_score - judged.scores.log_score);
        let enough = Self::for_numbers(judged.yards, judged.positive).is_none();
        let none = |v: f64| v.is_nan() || v <= 0.0;
        (enough && none(skill) && none(gain)).then_some(Self::NoForwardSkill(skill))
    }
}

/// The Brier skill against one rate for all: 1 is perfect, 0 no better.
fn skill(judged: &Judgement) -> f64 {
    1.0 - judged.scores.brier / judged.overall.brier
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
            Self::NoForwardSkill(_) => f.write_str(
                "forward in time, learnt from what came before and judged on what was found later, the chances did no better than one \
                 rate for all; more yards inspected in this round, or the next round, may mend that",
            ),
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
        let forward = |brier: f64, log_score: f64| {
            let mut told = judged(brier, 1.0, 0.001);
            told.scores.log_score = log_score;
            told
        };
        // One rate for all has a Brier score of 0.2 and a log score of 0.3 here.
        for (brier, log_score, refused) in
            [(0.2, 0.3, true), (0.21, 0.31, true), (0.21, 0.29, false), (0.19, 0.31, false), (0.19, 0.29, false)]
        {
            assert_eq!(Refusal::for_forward(&forward(brier, log_score)).is_some(), refused, "{brier} {log_score}");
        }
        let few = Judgement { positive: 14, ..forward(0.21, 0.31) };
        assert_eq!(Refusal::for_forward(&few), None, "too few to judge by");
        for (slope, refused) in [(0.69, true), (0.7, false), (1.4, false), (1.41, true)] {
            assert_eq!(Refusal::for_judgement(&judged(0.19, slope, 0.001)).is_some(), refused);
        }
    }
}
