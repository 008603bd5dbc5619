//! Which doors get a notice, why the others get none, and in which order notices are printed.

use crate::job::{Cancelled, Watch};
use crate::survey::{
    Address, BlockId, ContainerKnowledge, Find, KnownContainer, Outcome, PremiseId, RoundId, StaysOpen, Survey, Visit, VisitId, Who,
};
use std::collections::BTreeMap;

/// Doors between two looks at the watch.
const BETWEEN_LOOKS: usize = 4096;

/// Why a door gets a notice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NoticeReason {
    /// Something in the yard is left for the householder.
    LeftToDo,
    /// Nobody came to the door.
    NoAnswer,
    /// The gate was locked.
    LockedGate,
}

impl NoticeReason {
    /// The reason as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::LeftToDo => "something left to do",
            Self::NoAnswer => "no answer",
            Self::LockedGate => "locked gate",
        }
    }
}

/// A door that gets a notice: why, and the visit that it tells of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picked {
    pub premise: PremiseId,
    pub reason: NoticeReason,
    pub visit: VisitId,
}

/// A survey as notices look at it.
pub struct Doors<'a> {
    pub survey: &'a Survey,
    pub round: RoundId,
    /// What is known about each kind of container, in the order of the survey's kinds.
    pub known: Vec<Option<&'a KnownContainer>>,
}

/// Where a door stands: whether it has no block, and the block, whose order is that of the names; the street, the number and the unit
/// there; the parcel id.
type Place = ((bool, Option<BlockId>), String, (u64, String), (u64, String), String, PremiseId);

/// What becomes of a door that somebody went to: a notice, or none for a reason in words.
type Verdict = Result<Picked, &'static str>;

impl<'a> Doors<'a> {
    /// The doors that get a notice in their order, and how many get none for which reason. Only `chosen` ones in their own order where
    /// some are named; otherwise all that somebody went to in the round, block by block and along the streets.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub fn picked(
        &self,
        chosen: Option<&[PremiseId]>,
        watch: &dyn Watch,
    ) -> Result<(Vec<Picked>, BTreeMap<&'static str, usize>), Cancelled> {
        let all = self.survey.premises.len();
        let mut picked = Vec::new();
        let mut skipped = BTreeMap::new();
        let mut take = |done: usize, of: usize, premise: PremiseId| -> Result<(), Cancelled> {
            if done.is_multiple_of(BETWEEN_LOOKS) {
                watch.step("looking for what is left to do", done as u64, of as u64)?;
            }
            match self.verdict(premise) {
                Some(Ok(one)) => picked.push(one),
                Some(Err(why)) => *skipped.entry(why).or_default() += 1,
                None => {}
            }
            Ok(())
        };
        match chosen {
            Some(doors) => doors.iter().enumerate().try_for_each(|(i, door)| take(i, doors.len(), *door))?,
            None => (0..all).try_for_each(|i| take(i, all, PremiseId(i as u32)))?,
        }
        if chosen.is_none() {
            picked.sort_by_cached_key(|p| self.place(p.premise));
        }
        Ok((picked, skipped))
    }

    /// What becomes of a door; `None` where nobody went in the round.
    fn verdict(&self, premise: PremiseId) -> Option<Verdict> {
        let visits = self.survey.visits.at(premise);
        // The visits to a premise lie one after the other among all.
        let first = self.survey.visits.rows().partition_point(|v| v.premise < premise);
        let of_round = || visits.iter().enumerate().filter(|(_, v)| v.round == self.round);
        let (last_at, last) = of_round().next_back()?;
        let pick = |reason, at: usize| Picked { premise, reason, visit: VisitId((first + at) as u32) };
        let inspected = of_round().rfind(|(_, v)| v.outcome == Outcome::Inspected).map(|(at, _)| at);
        // The last look at the whole yard tells what is open, and what was seen from outside since; as the call-backs do.
        let mut since = of_round().filter(|(at, _)| inspected.is_none_or(|i| *at >= i));
        if let Some((at, _)) = since.find(|(_, v)| self.open(v).next().is_some()) {
            return Some(Ok(pick(NoticeReason::LeftToDo, at)));
        }
        Some(match (inspected, last.outcome) {
            (Some(_), _) => Err("nothing left to do"),
            (None, Outcome::NoAnswer) => Ok(pick(NoticeReason::NoAnswer, last_at)),
            (None, Outcome::LockedGate) => Ok(pick(NoticeReason::LockedGate, last_at)),
            (None, other) => Err(other.word()),
        })
    }

    /// What of a visit's finds the householder must still see to, and why: what breeds again although somebody was there, what belongs to
    /// the city or a utility only where the crew left it to the householder.
    pub fn open<'s>(&'s self, visit: &Visit) -> impl Iterator<Item = (&'a Find, StaysOpen)> + use<'s, 'a> {
        let finds = self.survey.visits.finds_of(visit);
        finds.iter().filter_map(move |f| {
            let known = self.known[f.kind.row()];
            let theirs = f.remains || known.is_none_or(|k| k.who != Who::PublicWorks);
            Some((f, ContainerKnowledge::stays_open(known, f).filter(|_| theirs)?))
        })
    }

    /// The days of the round on which the door stayed shut, up to a visit.
    pub fn shut_days(&self, picked: &Picked) -> Vec<jiff::civil::Date> {
        let upto = self.survey.visits.get(picked.visit).when;
        let shut =
            |v: &&Visit| v.round == self.round && matches!(v.outcome, Outcome::NoAnswer | Outcome::LockedGate) && v.when.day <= upto.day;
        let mut days: Vec<_> = self.survey.visits.at(picked.premise).iter().filter(shut).map(|v| v.when.day).collect();
        days.dedup();
        days
    }

    /// Where a door stands among all: its block, its street, its number there, its unit. What has no block comes last.
    fn place(&self, premise: PremiseId) -> Place {
        let (premises, row) = (&self.survey.premises, premise.row());
        let block = premises.block.get(row).copied().flatten();
        let address = Address::parse(premises.address.get(row));
        let (street, number, unit) = (address.street(), by_number(address.number), by_number(address.unit));
        ((block.is_none(), block), street, number, unit, premises.parcel_id.get(row).to_owned(), premise)
    }
}

/// A house number as numbers go: 9 before 12, 12 before 12A.
fn by_number(text: String) -> (u64, String) {
    let digits: String = text.chars().skip_while(|c| !c.is_ascii_digit()).take_while(char::is_ascii_digit).collect();
    (digits.parse().unwrap_or(0), text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn house_numbers_stand_as_people_count() {
        let mut numbers = ["12A", "100", "9", "12", ""].map(|t| by_number(t.to_owned()));
        numbers.sort();
        assert_eq!(numbers.map(|n| n.1), ["", "9", "12", "12A", "100"]);
    }
}
