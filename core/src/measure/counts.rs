//! What was counted in some premises, and the indices that follow from it.

use super::{Interval, wilson};
use crate::survey::Standing;
use std::ops::AddAssign;

/// What was counted in a group of premises in one round. Containers and pupae are those of the visit that counts for
/// each inspected premise; nothing seen from outside a yard enters.
///
/// ```
/// use yardring_core::measure::Counts;
/// let c = Counts { premises: 40, attempted: 30, inspected: 20, positive_premises: 7, wet_containers: 80,
///     positive_containers: 17, pupae: 97 };
/// assert_eq!((c.house_index(), c.container_index(), c.breteau_index()), (Some(35.0), Some(21.25), Some(85.0)));
/// assert_eq!(Counts::default().house_index(), None);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Premises there are.
    pub premises: u64,
    /// Premises at which somebody tried, whatever the outcome.
    pub attempted: u64,
    /// Premises inspected.
    pub inspected: u64,
    /// Inspected premises with larvae or pupae.
    pub positive_premises: u64,
    /// Containers that held water.
    pub wet_containers: u64,
    /// Containers that held larvae or pupae.
    pub positive_containers: u64,
    /// Pupae counted.
    pub pupae: u64,
}

impl Counts {
    /// The counts of one premise.
    pub fn of(s: &Standing) -> Self {
        Self {
            premises: 1,
            attempted: u64::from(s.attempts > 0),
            inspected: u64::from(s.inspected()),
            positive_premises: u64::from(s.positive()),
            wet_containers: u64::from(s.wet),
            positive_containers: u64::from(s.positive_containers),
            pupae: u64::from(s.pupae),
        }
    }

    /// Share of the premises that were inspected, 0 to 1; `None` when there are no premises.
    pub fn coverage(&self) -> Option<f64> {
        ratio(self.inspected, self.premises)
    }

    /// House index: inspected premises with larvae or pupae, per 100 inspected; `None` when none was inspected.
    ///
    /// # Source
    /// WHO, Dengue: guidelines for diagnosis, treatment, prevention and control (2009), chapter 5, larval indices.
    pub fn house_index(&self) -> Option<f64> {
        ratio(100 * self.positive_premises, self.inspected)
    }

    /// The 95 % interval of the house index, per 100 (see [`wilson`]).
    pub fn house_index_interval(&self) -> Option<Interval> {
        wilson(self.positive_premises, self.inspected).map(Interval::per_hundred)
    }

    /// Container index: containers with larvae or pupae, per 100 that held water; `None` when none held water.
    ///
    /// # Source
    /// WHO (2009), as for the house index.
    pub fn container_index(&self) -> Option<f64> {
        ratio(100 * self.positive_containers, self.wet_containers)
    }

    /// A 95 % interval of the container index, per 100, as if containers were drawn one by one. Containers of one yard are
    /// alike, so the truth is wider; `None` when none held water or more were positive than wet.
    pub fn container_index_interval(&self) -> Option<Interval> {
        if self.positive_containers > self.wet_containers {
            return None;
        }
        wilson(self.positive_containers, self.wet_containers).map(Interval::per_hundred)
    }

    /// Breteau index: containers with larvae or pupae, per 100 inspected premises; `None` when none was inspected.
    ///
    /// # Source
    /// WHO (2009), as for the house index.
    pub fn breteau_index(&self) -> Option<f64> {
        ratio(100 * self.positive_containers, self.inspected)
    }

    /// Pupae per inspected premise; `None` when none was inspected.
    pub fn pupae_per_premise(&self) -> Option<f64> {
        ratio(self.pupae, self.inspected)
    }

    /// Containers with water per inspected premise; `None` when none was inspected.
    pub fn wet_per_inspected(&self) -> Option<f64> {
        ratio(self.wet_containers, self.inspected)
    }
}

impl AddAssign for Counts {
    fn add_assign(&mut self, o: Self) {
        self.premises += o.premises;
        self.attempted += o.attempted;
        self.inspected += o.inspected;
        self.positive_premises += o.positive_premises;
        self.wet_containers += o.wet_containers;
        self.positive_containers += o.positive_containers;
        self.pupae += o.pupae;
    }
}

impl std::iter::Sum for Counts {
    fn sum<I: Iterator<Item = Self>>(counts: I) -> Self {
        counts.fold(Self::default(), |mut sum, c| {
            sum += c;
            sum
        })
    }
}

fn ratio(of: u64, to: u64) -> Option<f64> {
    (to > 0).then(|| of as f64 / to as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn counts(inspected: u64, positive_premises: u64, wet_containers: u64, positive_containers: u64, pupae: u64) -> Counts {
        Counts { premises: inspected, attempted: inspected, inspected, positive_premises, wet_containers, positive_containers, pupae }
    }

    fn near(found: Option<f64>, expected: f64, within: f64, id: &str) {
        let found = found.unwrap();
        assert!((found - expected).abs() <= within, "{id}: {found} for {expected}");
    }

    /// Published surveys, by the ids of the project's list of check values (their sources are named there: Trinidad 2002,
    /// Kampong Cham, Colombo 2013, Salinas 2004, Bandung).
    #[test]
    fn agrees_with_published_surveys() {
        near(counts(1503, 223, 24439, 334, 0).house_index(), 14.836_992_681, 1e-3, "CV001");
        near(counts(1503, 223, 24439, 334, 0).container_index(), 1.3667, 1e-4, "Trinidad, container index");
        near(counts(1503, 223, 24439, 334, 0).breteau_index(), 22.222_222_222, 1e-3, "CV003");
        near(counts(2400, 1102, 13529, 1992, 17999).house_index(), 45.916_666_667, 1e-3, "CV004");
        near(counts(2400, 1102, 13529, 1992, 17999).container_index(), 14.724, 5e-4, "Kampong Cham, container index");
        near(counts(2400, 1102, 13529, 1992, 17999).breteau_index(), 83.0, 1e-3, "CV006");
        near(counts(2400, 1102, 13529, 1992, 17999).pupae_per_premise(), 7.499_583_333, 5e-4, "CV007");
        near(counts(400, 161, 1544, 247, 1676).house_index(), 40.25, 1e-3, "CV008");
        near(counts(400, 161, 1544, 247, 1676).pupae_per_premise(), 4.19, 5e-4, "CV010");
        near(counts(1469, 400, 2775, 452, 0).breteau_index(), 30.769_230_769, 1e-3, "CV012");
        near(counts(1469, 400, 2775, 452, 0).container_index(), 16.288, 5e-4, "Colombo, container index");
        near(counts(829, 124, 583, 202, 3189).house_index(), 14.957_780_458, 1e-3, "CV013");
        near(counts(829, 124, 583, 202, 3189).container_index(), 34.648_370_497, 1e-3, "CV014");
        near(counts(544, 130, 0, 276, 0).breteau_index(), 50.735_294_118, 1e-3, "CV019");
        near(counts(650, 35, 0, 0, 0).house_index(), 5.384_615_385, 1e-3, "CV031");
        let towns = [(400, 14, 3.5), (500, 6, 1.2), (520, 13, 2.5), (360, 9, 2.5), (500, 15, 3.0)];
        for (inspected, positive, index) in towns {
            near(counts(inspected, positive, 0, 0, 0).house_index(), index, 1e-2, "CV017");
        }
    }

    /// CV021 (twenty yards, worked by hand), CV023 (nobody looked), CV024 (no water found).
    #[test]
    fn adds_yards_up_and_leaves_the_undefined_undefined() {
        let wet = [4, 0, 7, 2, 5, 3, 0, 9, 6, 1, 8, 2, 4, 3, 0, 5, 6, 2, 10, 3];
        let positive = [1, 0, 2, 0, 0, 1, 0, 5, 0, 0, 3, 0, 0, 1, 0, 0, 0, 0, 4, 0];
        let all: Counts = wet.iter().zip(positive).map(|(&w, p)| counts(1, u64::from(p > 0), w, p, 0)).sum();
        near(all.house_index(), 35.0, 1e-9, "CV021");
        near(all.container_index(), 21.25, 1e-9, "CV021");
        near(all.breteau_index(), 85.0, 1e-9, "CV021");
        let nobody = counts(0, 0, 0, 0, 0);
        assert_eq!((nobody.house_index(), nobody.breteau_index(), nobody.pupae_per_premise()), (None, None, None), "CV023");
        let dry = counts(12, 0, 0, 0, 0);
        assert_eq!((dry.house_index(), dry.breteau_index(), dry.container_index()), (Some(0.0), Some(0.0), None), "CV024");
    }

    proptest! {
        /// CV020: every positive premise has a positive container, so the Breteau index is never below the house index.
        #[test]
        fn breteau_is_at_least_house(yards in proptest::collection::vec((0u32..9, 0u32..9, any::<bool>()), 0..40)) {
            let all: Counts = yards
                .iter()
                .map(|&(wet, positive, inside)| {
                    let counted = inside.then_some(crate::survey::VisitId(0));
                    let seen = if inside { (wet.max(positive), positive) } else { (0, 0) };
                    Counts::of(&Standing { attempts: 1, counted, wet: seen.0, positive_containers: seen.1, ..Standing::default() })
                })
                .sum();
            prop_assert_eq!(all.breteau_index().is_some(), all.house_index().is_some());
            if let (Some(breteau), Some(house)) = (all.breteau_index(), all.house_index()) {
                prop_assert!(breteau >= house);
            }
        }
    }
}
