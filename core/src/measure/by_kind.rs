//! Which kinds of container hold water, and which breed.

use super::yards::container_interval_among;
use super::{Interval, Yard};
use crate::survey::{KindId, Standing, Survey};

/// What was counted of one kind of container on the visits that count.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct KindCounts {
    /// Inspected premises where the kind was found.
    pub premises: u64,
    /// Inspected premises where it held larvae or pupae.
    pub positive_premises: u64,
    /// Containers of the kind.
    pub containers: u64,
    /// Those that held water.
    pub wet_containers: u64,
    /// Those that held larvae or pupae.
    pub positive_containers: u64,
    /// Pupae counted in them.
    pub pupae: u64,
    /// The 95 % interval of [`Self::container_index`], per 100, the yards as clusters; see [`super::container_interval`].
    pub container_interval: Option<Interval>,
}

impl KindCounts {
    /// Containers of the kind with larvae or pupae, per 100 of the kind that held water; `None` when none held water.
    pub fn container_index(&self) -> Option<f64> {
        (self.wet_containers > 0).then(|| 100.0 * self.positive_containers as f64 / self.wet_containers as f64)
    }

    /// Pupae per container of the kind that held larvae or pupae; `None` when none did.
    pub fn pupae_per_positive_container(&self) -> Option<f64> {
        (self.positive_containers > 0).then(|| self.pupae as f64 / self.positive_containers as f64)
    }
}

/// The counts of every kind of container found on a visit that counts, in the order of the kinds (alphabetical).
pub fn by_kind(survey: &Survey, standings: &[Standing]) -> Vec<(KindId, KindCounts)> {
    let mut counts = vec![KindCounts::default(); survey.kinds.len()];
    let mut here: Vec<(KindId, Yard)> = Vec::new();
    let mut yards: Vec<Vec<Yard>> = vec![Vec::new(); survey.kinds.len()];
    let inspected = standings.iter().filter(|s| s.inspected()).count();
    for visit in standings.iter().filter_map(|s| s.counted).map(|id| survey.visits.get(id)) {
        here.clear();
        for find in survey.visits.finds_of(visit) {
            let c = &mut counts[find.kind.row()];
            c.containers += u64::from(find.count);
            c.wet_containers += u64::from(find.wet);
            c.positive_containers += u64::from(find.positive());
            c.pupae += u64::from(find.pupae);
            here.push((find.kind, Yard { wet: find.wet, positive: find.positive() }));
        }
        here.sort_unstable_by_key(|k| k.0);
        for same in here.chunk_by(|a, b| a.0 == b.0) {
            let c = &mut counts[same[0].0.row()];
            c.premises += 1;
            let sum = |of: fn(&Yard) -> u32| same.iter().map(|k| of(&k.1)).sum();
            let yard = Yard { wet: sum(|y| y.wet), positive: sum(|y| y.positive) };
            c.positive_premises += u64::from(yard.positive > 0);
            yards[same[0].0.row()].push(yard);
        }
    }
    for (c, yards) in counts.iter_mut().zip(&yards) {
        c.container_interval = container_interval_among(yards, inspected, survey.premises.len() as u64);
    }
    let found = counts.into_iter().enumerate().filter(|(_, c)| c.premises > 0);
    found.map(|(i, c)| (KindId(i as u32), c)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::district;
    use crate::place::{Frame, LonLat};
    use crate::survey::{Find, Outcome, PremiseId, Round, RoundId, Visit, Visits, When, standings};
    use jiff::civil::date;
    use std::sync::Arc;

    fn find(kind: u32, count: u32, wet: u32, with_larvae: u32, pupae: u32) -> Find {
        let with_pupae = u32::from(pupae > 0);
        Find { kind: KindId(kind), count, wet, with_larvae, with_pupae, pupae, stage: None, litres: None, action: None, remains: false }
    }

    fn visit(premise: u32, outcome: Outcome) -> Visit {
        let when = When { day: date(2025, 7, 1), time: None };
        let id = format!("{premise}").into();
        Visit { id, premise: PremiseId(premise), when, outcome, round: RoundId(0), crew: "".into(), said: None, finds: 0..0 }
    }

    #[test]
    fn kinds_add_up_to_the_district() {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        s.premises.parcel_id = Arc::new(["1", "2", "3"].into_iter().collect());
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 1), last: date(2025, 7, 1) }]);
        s.kinds = Arc::new(vec!["bucket".into(), "saucer".into(), "tire".into()]);
        s.visits = Visits::from_rows(
            3,
            vec![
                (visit(0, Outcome::Inspected), vec![find(1, 5, 4, 1, 0), find(1, 2, 2, 0, 7), find(2, 1, 0, 0, 0)]),
                (visit(1, Outcome::Inspected), vec![find(1, 3, 3, 0, 0)]),
                (visit(2, Outcome::SeenOverFence), vec![find(0, 1, 1, 1, 0)]),
            ],
        );
        let standings = standings(&s, RoundId(0));
        let found = by_kind(&s, &standings);
        let saucers = KindCounts {
            premises: 2,
            positive_premises: 1,
            containers: 10,
            wet_containers: 9,
            positive_containers: 2,
            pupae: 7,
            container_interval: None,
        };
        assert_eq!((found[0].0, KindCounts { container_interval: None, ..found[0].1 }), (KindId(1), saucers));
        // Two of six saucers in one yard and none of three in another: containers drawn one by one would say 6 to 55 (Wilson).
        let sure = found[0].1.container_interval.unwrap();
        assert!(sure.low < 6.0 && sure.high > 55.0, "{sure:?}");
        assert_eq!((found.len(), found[1].0, found[1].1.container_index()), (2, KindId(2), None));
        let all = district(&standings);
        let sum = |of: fn(&KindCounts) -> u64| found.iter().map(|(_, c)| of(c)).sum::<u64>();
        assert_eq!((all.wet_containers, all.positive_containers), (sum(|c| c.wet_containers), sum(|c| c.positive_containers)));
        assert_eq!(all.pupae, sum(|c| c.pupae));
    }
}
