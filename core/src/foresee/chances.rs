//! The chances of a round as other rooms ask for them: by premise, or not at all with the reason.

use super::answer::{Chance, Foreseen, foresee};
use super::refusal::Refusal;
use crate::job::{Cancelled, Watch};
use crate::reach::Gap;
use crate::survey::{PremiseId, RoundId, Survey, standings};

/// The chance of every premise that nobody knows of in a round. There are none without skill: whoever holds this may show it.
#[derive(Clone, Debug, PartialEq)]
pub struct Chances {
    foreseen: Foreseen,
}

/// Why there are no chances.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NoChances {
    /// They must not be shown.
    #[error("{0}")]
    Refused(Refusal),
    /// Somebody asked to stop.
    #[error(transparent)]
    Stopped(#[from] Cancelled),
}

/// The chances of larvae or pupae at the premises that were not inspected in a round and where none were seen from outside, judged on
/// blocks set aside.
///
/// # Errors
/// [`NoChances`] when there is too little to learn from, when they did no better than one rate for all, or when somebody asked
/// to stop.
///
/// ```
/// use yardring_core::foresee::{NoChances, Refusal, chances};
/// use yardring_core::job::Unwatched;
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::survey::{RoundId, Survey};
/// let survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
/// let none = chances(&survey, RoundId(0), &Unwatched).unwrap_err();
/// assert_eq!(none, NoChances::Refused(Refusal::FewInspected(0)));
/// ```
pub fn chances(survey: &Survey, round: RoundId, watch: &dyn Watch) -> Result<Chances, NoChances> {
    let foreseen = foresee(survey, &standings(survey, round), watch)?;
    Chances::shown(foreseen).map_err(|(refusal, _)| NoChances::Refused(refusal))
}

impl Chances {
    /// Takes what was foreseen, if it may be shown.
    ///
    /// # Errors
    /// The [`Refusal`] when it may not, and what was foreseen, for its scores.
    pub fn shown(foreseen: Foreseen) -> Result<Self, (Refusal, Box<Foreseen>)> {
        match foreseen.refusal {
            Some(refusal) => Err((refusal, Box::new(foreseen))),
            None => Ok(Self { foreseen }),
        }
    }

    /// The chance at a premise; `None` where it was inspected, and where larvae or pupae were seen from outside.
    pub fn at(&self, premise: PremiseId) -> Option<&Chance> {
        let all = &self.foreseen.chances;
        all.binary_search_by_key(&premise, |c| c.premise).ok().map(|i| &all[i])
    }

    /// The chance of each of so many premises in their order; `None` where [`Self::at`] has none.
    pub fn by_premise(&self, premises: usize) -> Vec<Option<f64>> {
        let mut out = vec![None; premises];
        self.foreseen.chances.iter().for_each(|c| out[c.premise.row()] = Some(c.probability));
        out
    }

    /// How the chances were worked out and judged.
    pub fn foreseen(&self) -> &Foreseen {
        &self.foreseen
    }

    /// How many of some premises may be expected to be positive: the sum of their chances.
    pub fn expected(&self, premises: impl IntoIterator<Item = PremiseId>) -> f64 {
        premises.into_iter().filter_map(|p| self.at(p)).map(|c| c.probability).sum()
    }

    /// Puts the gaps where larvae or pupae were seen first, then those with the highest chances. Equal ones keep their order.
    pub fn rank(&self, gaps: &mut [Gap]) {
        gaps.sort_by(|a, b| self.certainty(b).total_cmp(&self.certainty(a)));
    }

    /// How sure it is that a gap is positive, to sort by: its chance, above all chances where larvae or pupae were seen, below all where
    /// nothing is foreseen.
    pub fn certainty(&self, gap: &Gap) -> f64 {
        if gap.seen_positive { 2.0 } else { self.at(gap.premise).map_or(-1.0, |c| c.probability) }
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::district;
    use super::*;
    use crate::job::Unwatched;
    use crate::reach::{Wanted, gaps, sources};

    #[test]
    fn ranks_gaps_by_chance_and_adds_them_up() {
        let (survey, mut standings) = district(45, 0.35, 0.05, 3);
        let chances = Chances::shown(foresee(&survey, &standings, &Unwatched).unwrap()).unwrap();
        for s in &mut standings {
            s.source = s.positive();
        }
        let wanted = Wanted::default();
        let mut found = gaps(&survey, &standings, &sources(&survey, &standings, &wanted), &wanted, &Unwatched).unwrap();
        let before = found.clone();
        chances.rank(&mut found);
        assert!(found.len() > 300 && found != before);
        let of = |g: &Gap| chances.at(g.premise).unwrap().probability;
        assert!(found.is_sorted_by(|a, b| of(a) >= of(b)));
        let all = chances.expected(found.iter().map(|g| g.premise));
        assert!((all - before.iter().map(of).sum::<f64>()).abs() < 1e-9);
        found[7].seen_positive = true;
        let seen = found[7].premise;
        chances.rank(&mut found);
        assert_eq!(found[0].premise, seen, "a find is more than any chance");
        let inspected = standings.iter().position(|s| s.inspected()).unwrap();
        assert_eq!(chances.at(PremiseId(inspected as u32)), None);
    }

    #[test]
    fn what_must_not_be_shown_is_not_handed_out() {
        let (survey, standings) = district(10, 0.3, 0.3, 1);
        let (refusal, _) = Chances::shown(foresee(&survey, &standings, &Unwatched).unwrap()).unwrap_err();
        assert!(matches!(refusal, Refusal::FewInspected(n) if n < 100));
    }
}
