//! Where each premise stands in a round: seen or not, and what was found.

use super::{Outcome, PremiseId, RoundId, Survey, VisitId, Visits};
use crate::survey::Visit;

/// How a premise is marked on the map and in the lists, from its visits in one round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Marking {
    /// Nobody went.
    NotVisited,
    /// Somebody went and did not get in: no answer, locked gate, unsafe, vacant, or the front only.
    Tried,
    /// The householder did not want it.
    Refused,
    /// Seen over the fence.
    SeenOverFence,
    /// Inspected; nothing held water.
    NoWater,
    /// Inspected; water without larvae.
    Wet,
    /// Larvae were found.
    Larvae,
    /// Pupae were found.
    Pupae,
}

impl Marking {
    /// Every marking, from nobody went to pupae.
    pub const ALL: [Self; 8] =
        [Self::NotVisited, Self::Tried, Self::Refused, Self::SeenOverFence, Self::NoWater, Self::Wet, Self::Larvae, Self::Pupae];

    /// The marking as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::NotVisited => "not visited",
            Self::Tried => "tried without getting in",
            Self::Refused => "refused",
            Self::SeenOverFence => "seen over fence",
            Self::NoWater => "inspected, no water",
            Self::Wet => "wet, no larvae",
            Self::Larvae => "larvae",
            Self::Pupae => "pupae",
        }
    }
}

/// Where one premise stands in one round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// Visits in the round.
    pub attempts: u32,
    /// The last visit of the round.
    pub last: Option<VisitId>,
    /// The inspected visit that counts: the earliest positive one, or else the latest.
    pub counted: Option<VisitId>,
    /// Containers that held water on the counted visit.
    pub wet: u32,
    /// Containers with larvae or pupae on the counted visit.
    pub positive_containers: u32,
    /// Pupae on the counted visit.
    pub pupae: u32,
    /// Larvae or pupae were recorded on some visit of the round, whatever its outcome.
    pub source: bool,
    /// Pupae were recorded on some visit of the round, whatever its outcome.
    pub source_with_pupae: bool,
}

impl Standing {
    /// Whether the yard was inspected in the round.
    pub fn inspected(&self) -> bool {
        self.counted.is_some()
    }

    /// Whether larvae or pupae were seen there though nobody inspected the yard, as over the fence.
    pub fn seen_from_outside(&self) -> bool {
        self.source && !self.inspected()
    }

    /// Whether nobody knows yet: not inspected, and nothing seen from outside.
    pub fn unknown(&self) -> bool {
        !self.source && !self.inspected()
    }

    /// Whether larvae or pupae were found on the visit that counts.
    pub fn positive(&self) -> bool {
        self.positive_containers > 0
    }

    /// How the premise is marked. A find made from outside the yard marks it as positive too.
    pub fn marking(&self, visits: &Visits) -> Marking {
        match (self.source_with_pupae, self.source, self.last) {
            (true, _, _) => Marking::Pupae,
            (_, true, _) => Marking::Larvae,
            (_, _, None) => Marking::NotVisited,
            _ if self.inspected() && self.wet > 0 => Marking::Wet,
            _ if self.inspected() => Marking::NoWater,
            (_, _, Some(last)) => match visits.get(last).outcome {
                Outcome::Refused => Marking::Refused,
                Outcome::SeenOverFence => Marking::SeenOverFence,
                _ => Marking::Tried,
            },
        }
    }
}

/// Where every premise stands in a round, in the order of the premises.
pub fn standings(survey: &Survey, round: RoundId) -> Vec<Standing> {
    let visits = &survey.visits;
    let mut out = vec![Standing::default(); survey.premises.len()];
    for (i, visit) in visits.rows().iter().enumerate().filter(|(_, v)| v.round == round) {
        take(&mut out[visit.premise.row()], visits, VisitId(i as u32), visit);
    }
    out
}

/// Adds the next visit of a premise, oldest first.
fn take(s: &mut Standing, visits: &Visits, id: VisitId, visit: &Visit) {
    let finds = visits.finds_of(visit);
    let positive = visits.positive_containers(visit);
    s.attempts += 1;
    s.last = Some(id);
    s.source |= positive > 0;
    s.source_with_pupae |= finds.iter().any(super::Find::has_pupae);
    if visit.outcome == Outcome::Inspected && s.positive_containers == 0 {
        s.counted = Some(id);
        s.wet = finds.iter().fold(0, |sum: u32, f| sum.saturating_add(f.wet));
        s.positive_containers = positive;
        s.pupae = finds.iter().fold(0, |sum: u32, f| sum.saturating_add(f.pupae));
    }
}

/// Marks of all premises, in their order.
impl Survey {
    /// How every premise is marked in a round.
    pub fn markings(&self, standings: &[Standing]) -> Vec<Marking> {
        standings.iter().map(|s| s.marking(&self.visits)).collect()
    }

    /// The round that standings tell of; `None` where nobody went anywhere.
    pub fn round_of(&self, standings: &[Standing]) -> Option<RoundId> {
        standings.iter().find_map(|s| s.last).map(|v| self.visits.get(v).round)
    }

    /// The premise that a visit was made at.
    pub fn premise_of(&self, visit: VisitId) -> PremiseId {
        self.visits.get(visit).premise
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::{Find, KindId, Round, When};
    use jiff::civil::{Date, date};
    use std::sync::Arc;

    fn visit(day: Date, outcome: Outcome, positive: u32) -> (Visit, Vec<Find>) {
        let v = Visit {
            id: format!("{day}").into(),
            premise: PremiseId(0),
            when: When { day, time: None },
            outcome,
            round: RoundId(0),
            crew: "".into(),
            said: None,
            finds: 0..0,
        };
        let f = Find {
            kind: KindId(0),
            count: 3,
            wet: 3,
            with_larvae: positive,
            with_pupae: 0,
            pupae: 0,
            stage: None,
            litres: None,
            action: None,
            remains: false,
        };
        (v, vec![f])
    }

    fn standing(rows: Vec<(Visit, Vec<Find>)>) -> (Standing, Marking) {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        s.premises.parcel_id = Arc::new(["1"].into_iter().collect());
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 1), last: date(2025, 7, 31) }]);
        s.visits = Visits::from_rows(1, rows);
        let standing = standings(&s, RoundId(0))[0];
        (standing, standing.marking(&s.visits))
    }

    #[test]
    fn the_earliest_positive_inspection_counts() {
        let (s, m) = standing(vec![
            visit(date(2025, 7, 9), Outcome::Inspected, 2),
            visit(date(2025, 7, 2), Outcome::Inspected, 0),
            visit(date(2025, 7, 5), Outcome::Inspected, 1),
        ]);
        assert_eq!((s.attempts, s.positive_containers, s.wet, m), (3, 1, 3, Marking::Larvae));
    }

    #[test]
    fn larvae_seen_over_the_fence_make_a_source_and_no_index() {
        let (s, m) = standing(vec![visit(date(2025, 7, 2), Outcome::SeenOverFence, 1)]);
        assert_eq!((s.inspected(), s.positive(), s.source, m), (false, false, true, Marking::Larvae));
    }
}
