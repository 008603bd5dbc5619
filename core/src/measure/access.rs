//! How far crews got: doors that opened and doors that did not, what was won by coming again, and what was done.

use super::for_each_of;
use crate::survey::{Action, Outcome, PremiseId, RoundId, Standing, Survey};
use crate::units::SquareMetres;
use std::ops::AddAssign;

/// What became of premises at which somebody tried in a round. A premise that was inspected counts as that; any other by its
/// last visit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Access {
    /// Premises at which somebody tried.
    pub tried: u64,
    /// Inspected.
    pub inspected: u64,
    /// Seen in part: the front only, or over the fence.
    pub part: u64,
    /// Nobody came to the door, or the gate was locked.
    pub closed: u64,
    /// Refused.
    pub refused: u64,
    /// Unsafe to enter.
    pub not_safe: u64,
    /// Nobody lives there.
    pub vacant: u64,
    /// Premises found closed at the first visit of the round.
    pub closed_at_first: u64,
    /// Those of them that were inspected later in the round.
    pub won_later: u64,
    /// Containers with larvae or pupae on the visits that count.
    pub positive_containers: u64,
    /// Those of them with which something was done.
    pub dealt_with: u64,
    /// Pupae on the visits that count.
    pub pupae: u64,
    /// Area of the inspected premises that have an outline.
    pub inspected_area: SquareMetres,
}

impl Access {
    /// What became of one premise in a round.
    pub fn of(survey: &Survey, round: RoundId, premise: PremiseId, s: &Standing) -> Self {
        let Some(last) = s.last.map(|id| survey.visits.get(id)) else { return Self::default() };
        let first = survey.visits.at(premise).iter().find(|v| v.round == round);
        let closed_first = first.is_some_and(|v| matches!(v.outcome, Outcome::NoAnswer | Outcome::LockedGate));
        let one = |yes: bool| u64::from(yes);
        let mut out = Self {
            tried: 1,
            closed_at_first: one(closed_first),
            won_later: one(closed_first && s.inspected()),
            pupae: u64::from(s.pupae),
            ..Self::default()
        };
        match last.outcome {
            _ if s.inspected() => out.inspected = 1,
            Outcome::FrontOnly | Outcome::SeenOverFence | Outcome::Inspected => out.part = 1,
            Outcome::NoAnswer | Outcome::LockedGate => out.closed = 1,
            Outcome::Refused => out.refused = 1,
            Outcome::Unsafe => out.not_safe = 1,
            Outcome::Vacant => out.vacant = 1,
        }
        if let Some(counted) = s.counted.map(|id| survey.visits.get(id)) {
            for find in survey.visits.finds_of(counted) {
                out.positive_containers += u64::from(find.positive());
                out.dealt_with += if matches!(find.action, None | Some(Action::Left)) { 0 } else { u64::from(find.positive()) };
            }
            if premise.row() < survey.premises.outline.len() {
                out.inspected_area = SquareMetres(survey.premises.outline.get(premise.row()).area());
            }
        }
        out
    }

    /// Inspected premises per 100 at which somebody tried; `None` when nobody tried.
    pub fn access_rate(&self) -> Option<f64> {
        self.per_hundred(self.inspected)
    }

    /// Premises that stayed closed, per 100 at which somebody tried.
    pub fn closed_rate(&self) -> Option<f64> {
        self.per_hundred(self.closed)
    }

    /// Refusals per 100 premises at which somebody tried.
    pub fn refusal_rate(&self) -> Option<f64> {
        self.per_hundred(self.refused)
    }

    /// Of 100 premises found closed at first, those inspected later in the round; `None` when none was closed.
    pub fn won_rate(&self) -> Option<f64> {
        for_each_of(100.0 * self.won_later as f64, self.closed_at_first as f64)
    }

    /// Of 100 positive containers, those with which something was done; `None` when none was positive.
    pub fn dealt_with_rate(&self) -> Option<f64> {
        for_each_of(100.0 * self.dealt_with as f64, self.positive_containers as f64)
    }

    /// Pupae per hectare of inspected premises (parcel area, not the block's); `None` without outlines.
    pub fn pupae_per_hectare(&self) -> Option<f64> {
        for_each_of(self.pupae as f64, self.inspected_area.hectares())
    }

    fn per_hundred(&self, of: u64) -> Option<f64> {
        for_each_of(100.0 * of as f64, self.tried as f64)
    }
}

impl AddAssign for Access {
    fn add_assign(&mut self, o: Self) {
        self.tried += o.tried;
        self.inspected += o.inspected;
        self.part += o.part;
        self.closed += o.closed;
        self.refused += o.refused;
        self.not_safe += o.not_safe;
        self.vacant += o.vacant;
        self.closed_at_first += o.closed_at_first;
        self.won_later += o.won_later;
        self.positive_containers += o.positive_containers;
        self.dealt_with += o.dealt_with;
        self.pupae += o.pupae;
        self.inspected_area = SquareMetres(self.inspected_area.0 + o.inspected_area.0);
    }
}

/// How far crews got in each of some groups of premises: `group_of` gives a premise's group by its row, `None` for none.
pub fn access(
    survey: &Survey,
    round: RoundId,
    standings: &[Standing],
    groups: usize,
    group_of: impl Fn(usize) -> Option<usize>,
) -> Vec<Access> {
    let mut out = vec![Access::default(); groups];
    for (i, s) in standings.iter().enumerate().filter(|(_, s)| s.attempts > 0) {
        if let Some(group) = group_of(i) {
            out[group] += Access::of(survey, round, PremiseId(i as u32), s);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One Saturday in Santos, Brazil, with 160 agents: 6,190 visited, 3,369 worked, 2,516 closed, 305 refused; printed 54.4, 40.7
    /// (a slip for 40.6) and 4.9 % (source S14 of the project's science notes; CV032 of its check values).
    #[test]
    fn agrees_with_a_published_day() {
        let day = Access { tried: 6190, inspected: 3369, closed: 2516, refused: 305, ..Access::default() };
        let near = |found: Option<f64>, expected: f64| assert!((found.unwrap() - expected).abs() < 1e-3, "{found:?} for {expected}");
        near(day.access_rate(), 54.426);
        near(day.closed_rate(), 40.646);
        near(day.refusal_rate(), 4.927);
        assert_eq!((Access::default().access_rate(), Access::default().won_rate(), day.pupae_per_hectare()), (None, None, None));
    }
}
