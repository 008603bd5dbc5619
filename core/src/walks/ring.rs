//! What comes first: the deadlines of the day, then the ring round a case, then all else by its worth.
//!
//! A plan leaves the office, so it never tells why a ring is one, or where its middle lies: all doors of a ring are told and weighed alike.

use super::Candidate;
use crate::job::{Cancelled, Watch};
use crate::reach::{Gap, SourceKind, Wanted, gaps, sources};
use crate::survey::{SignalKind, Standing, Survey};
use jiff::ToSpan as _;
use jiff::civil::Date;
use std::sync::Arc;

/// Days for which the yards round a case come first.
///
/// # Source
/// A zone is worked until 45 days after the last onset of illness (CDC's guidance, as the project's science notes 9.1 quote it).
const RING_DAYS: i64 = 45;

/// What a door in a ring is worth more: more than all other doors of a day can be worth together.
const FIRST_OF_ALL: f64 = 1000.0;

/// How a door in any ring is told of, and what is added where the ring comes first.
pub(super) const IN_A_RING: &str = "in a ring";
const COMES_FIRST: &str = " that comes first";

/// What a door is worth by itself, whether or not it lies in a ring that comes first.
pub fn own_worth(worth: f64) -> f64 {
    if worth >= FIRST_OF_ALL { worth - FIRST_OF_ALL } else { worth }
}

/// In which order doors are planned, whatever else they are worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Rank {
    /// It cannot wait beyond the day.
    DueToday,
    /// It lies in a ring that comes first.
    Ring,
    /// It could not wait beyond a day that is past.
    Overdue,
    /// All others.
    Other,
}

impl Candidate {
    /// Where it stands in the order.
    pub(super) fn rank(&self) -> Rank {
        match (self.must, self.overdue_days, self.worth >= FIRST_OF_ALL) {
            (true, 0, _) => Rank::DueToday,
            (_, _, true) => Rank::Ring,
            (true, ..) => Rank::Overdue,
            (false, ..) => Rank::Other,
        }
    }

    /// Puts it into a ring that comes first.
    pub(super) fn put_in_ring(&mut self) {
        self.worth = own_worth(self.worth) + FIRST_OF_ALL;
        let words = &mut self.why.words;
        if !words.contains(COMES_FIRST) {
            if !words.ends_with(IN_A_RING) {
                words.push_str("; ");
                words.push_str(IN_A_RING);
            }
            words.push_str(COMES_FIRST);
        }
    }
}

/// A reason without the ring of an earlier day: whether there still is one, the day that is planned says anew.
pub(super) fn without_ring(words: &str) -> String {
    words.replace(&format!("; {IN_A_RING}{COMES_FIRST}"), "")
}

/// The premises round the cases of the last weeks; among them those that were inspected, whose call-backs come first too.
pub(super) fn ring(survey: &Survey, standings: &[Standing], on: Date, wanted: &Wanted, watch: &dyn Watch) -> Result<Vec<Gap>, Cancelled> {
    let since = on.checked_sub(RING_DAYS.days()).unwrap_or(on);
    let recent = survey.signals.iter().filter(|s| s.kind == SignalKind::Case && s.day >= since && s.day <= on);
    let recent: Vec<_> = recent.cloned().collect();
    if recent.is_empty() {
        return Ok(Vec::new());
    }
    let only_recent = Survey { signals: Arc::new(recent), ..survey.clone() };
    let wanted = Wanted { from: SourceKind::Cases, ..*wanted };
    let open: Vec<Standing> = standings.iter().map(|s| Standing { counted: None, ..*s }).collect();
    gaps(survey, &open, &sources(&only_recent, standings, &wanted), &wanted, watch)
}
