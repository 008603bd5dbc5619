//! What the models learn from: the inspected yards, where they lie and what was found.

use super::looks::Looks;
use crate::place::{Bounds, Local};
use crate::survey::{BlockId, Standing, Survey};
use jiff::civil::Date;

/// The places of all premises, and the inspected ones among them with their outcome.
#[derive(Clone, Debug)]
pub(super) struct Yards {
    /// The middle of every premise's box; `None` without an outline.
    pub place: Vec<Option<Local>>,
    /// The rows of the inspected premises that have a place, rising.
    pub seen: Vec<usize>,
    /// Where each of them lies.
    pub at: Vec<Local>,
    /// Whether larvae or pupae were found there.
    pub positive: Vec<bool>,
    /// The block each of them belongs to.
    pub block: Vec<Option<BlockId>>,
    /// The day of the inspection that counts.
    pub day: Vec<Option<Date>>,
    /// The yards that were looked into from outside only.
    pub looks: Looks,
}

impl Yards {
    /// The yards of a survey; `standings` in the order of the premises.
    pub(super) fn of(survey: &Survey, standings: &[Standing]) -> Self {
        let bounds = survey.premises.outline.bounds();
        let middle = |row| bounds.get(row).filter(|b: &&Bounds| !b.is_empty()).map(Bounds::centre);
        let place: Vec<Option<Local>> = (0..standings.len()).map(middle).collect();
        let seen: Vec<usize> = (0..standings.len()).filter(|&i| standings[i].inspected() && place[i].is_some()).collect();
        let mut yards = Self {
            at: seen.iter().filter_map(|&i| place[i]).collect(),
            positive: seen.iter().map(|&i| standings[i].positive()).collect(),
            block: seen.iter().map(|&i| survey.premises.block.get(i).copied().flatten()).collect(),
            day: seen.iter().map(|&i| survey.visits.rows().get(standings[i].counted?.row()).map(|v| v.when.day)).collect(),
            place,
            seen,
            looks: Looks::default(),
        };
        yards.looks = Looks::of(survey, standings, &yards.place, yards.rate());
        yards
    }

    /// Some of the inspected yards, by their numbers, and no looks from outside; all places stay.
    pub(super) fn kept(&self, numbers: &[usize]) -> Self {
        Self {
            place: self.place.clone(),
            seen: numbers.iter().map(|&i| self.seen[i]).collect(),
            at: numbers.iter().map(|&i| self.at[i]).collect(),
            positive: numbers.iter().map(|&i| self.positive[i]).collect(),
            block: numbers.iter().map(|&i| self.block[i]).collect(),
            day: numbers.iter().map(|&i| self.day[i]).collect(),
            looks: Looks::default(),
        }
    }

    /// How many inspected yards were positive.
    pub(super) fn positives(&self) -> usize {
        self.positive.iter().filter(|&&p| p).count()
    }

    /// The share of inspected yards that were positive, held away from 0 and 1 by half a yard.
    pub(super) fn rate(&self) -> f64 {
        (self.positives() as f64 + 0.5) / (self.seen.len() as f64 + 1.0)
    }

    /// The outcome of an inspected yard as a number.
    pub(super) fn outcome(&self, i: usize) -> f64 {
        f64::from(u8::from(self.positive[i]))
    }
}
