//! Visits: attempts at premises.

use super::{Find, Outcome, PremiseId, RoundId, VisitId};
use jiff::civil::{Date, Time};
use std::ops::Range;
use std::sync::Arc;

/// The day of a visit and, where it was written down, the time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct When {
    /// The day.
    pub day: Date,
    /// The time of day.
    pub time: Option<Time>,
}

/// One attempt at one premise on one day.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// The id of the visit in the file.
    pub id: Box<str>,
    /// Where.
    pub premise: PremiseId,
    /// When.
    pub when: When,
    /// How it ended.
    pub outcome: Outcome,
    /// The round it belongs to.
    pub round: RoundId,
    /// Who went; empty where it was not written down.
    pub crew: Box<str>,
    /// What else was written down, where something was.
    pub said: Option<Box<Said>>,
    /// Rows of [`Visits::finds`] that were found on it.
    pub finds: Range<u32>,
}

/// What else was written down of a visit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// What the householder was promised, such as "Saturday after five".
    pub promise: Box<str>,
    /// What to mind at the door, such as "dog, locked behind the house"; "none" where there is nothing to mind any more.
    pub cautions: Box<str>,
    /// Minutes from going in to coming out.
    pub minutes: Option<u16>,
}

impl Said {
    /// Both texts; `None` when both are empty.
    pub fn of(promise: &str, cautions: &str) -> Option<Box<Self>> {
        Self::with_minutes(promise, cautions, None)
    }

    /// Both texts and the minutes; `None` when nothing was written down.
    pub fn with_minutes(promise: &str, cautions: &str, minutes: Option<u16>) -> Option<Box<Self>> {
        let some = !promise.is_empty() || !cautions.is_empty() || minutes.is_some();
        some.then(|| Box::new(Self { promise: promise.into(), cautions: cautions.into(), minutes }))
    }
}

impl Visit {
    /// What the householder was promised; empty where nothing was.
    pub fn promise(&self) -> &str {
        self.said.as_ref().map_or("", |said| &said.promise)
    }

    /// What to mind at the door; empty where nothing was written down.
    pub fn cautions(&self) -> &str {
        self.said.as_ref().map_or("", |said| &said.cautions)
    }

    /// Minutes from going in to coming out, where both were written down.
    pub fn minutes(&self) -> Option<u16> {
        self.said.as_ref().and_then(|said| said.minutes)
    }
}

/// What somebody writes who saw that there is nothing to mind any more.
const NOTHING_TO_MIND: [&str; 6] = ["none", "no", "nothing", "ninguno", "ninguna", "nada"];

/// All visits, ordered by premise, then day, then id; and their finds in the same order.
#[derive(Clone, Debug, Default)]
pub struct Visits {
    rows: Arc<Vec<Visit>>,
    finds: Arc<Vec<Find>>,
    first_of_premise: Arc<Vec<u32>>,
}

impl PartialEq for Visits {
    fn eq(&self, other: &Self) -> bool {
        self.rows == other.rows && self.finds == other.finds
    }
}

impl Visits {
    /// Orders visits that carry their finds.
    ///
    /// `premises` is the number of premises of the survey. A visit's own `finds` range is ignored and set anew.
    pub fn from_rows(premises: usize, mut rows: Vec<(Visit, Vec<Find>)>) -> Self {
        rows.sort_by(|(a, _), (b, _)| (a.premise, a.when.day, &a.id, a.when.time).cmp(&(b.premise, b.when.day, &b.id, b.when.time)));
        let mut out = Vec::with_capacity(rows.len());
        let mut finds = Vec::new();
        let mut first = vec![0u32; premises + 1];
        for (mut visit, mut found) in rows {
            let from = finds.len() as u32;
            finds.append(&mut found);
            visit.finds = from..finds.len() as u32;
            first[visit.premise.row() + 1] += 1;
            out.push(visit);
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        Self { rows: Arc::new(out), finds: Arc::new(finds), first_of_premise: Arc::new(first) }
    }

    /// The visits made by the end of a day, with their finds.
    pub fn until(&self, day: Date) -> Self {
        let premises = self.first_of_premise.len().saturating_sub(1);
        let made = self.rows.iter().filter(|v| v.when.day <= day);
        Self::from_rows(premises, made.map(|v| (v.clone(), self.finds_of(v).to_vec())).collect())
    }

    /// Takes visits that are in order already, their `finds` ranges pointing into `finds` one after the other.
    ///
    /// # Errors
    /// Gives both back when the visits are not in order, when a range does not follow the one before, or when a premise is
    /// out of reach.
    pub fn from_ordered(premises: usize, rows: Vec<Visit>, finds: Vec<Find>) -> Result<Self, (Vec<Visit>, Vec<Find>)> {
        let key = |v: &Visit| (v.premise, v.when.day);
        let rising = |w: &[Visit]| (key(&w[0]), &w[0].id, w[0].when.time) <= (key(&w[1]), &w[1].id, w[1].when.time);
        let follows = |w: &[Visit]| w[0].finds.end == w[1].finds.start;
        let whole = rows.first().map_or(0, |v| v.finds.start) == 0
            && rows.last().map_or(0, |v| v.finds.end) as usize == finds.len()
            && rows.iter().all(|v| v.finds.start <= v.finds.end && v.premise.row() < premises);
        if !whole || !rows.windows(2).all(|w| rising(w) && follows(w)) {
            return Err((rows, finds));
        }
        let mut first = vec![0u32; premises + 1];
        for visit in &rows {
            first[visit.premise.row() + 1] += 1;
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        Ok(Self { rows: Arc::new(rows), finds: Arc::new(finds), first_of_premise: Arc::new(first) })
    }

    /// How many visits there are.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// All visits in order.
    pub fn rows(&self) -> &[Visit] {
        &self.rows
    }

    /// All finds, in the order of their visits.
    pub fn finds(&self) -> &[Find] {
        &self.finds
    }

    /// One visit.
    pub fn get(&self, id: VisitId) -> &Visit {
        &self.rows[id.row()]
    }

    /// What was found on a visit.
    pub fn finds_of(&self, visit: &Visit) -> &[Find] {
        &self.finds[visit.finds.start as usize..visit.finds.end as usize]
    }

    /// The visits at a premise, oldest first.
    pub fn at(&self, premise: PremiseId) -> &[Visit] {
        match self.first_of_premise.get(premise.row()..premise.row() + 2) {
            Some(&[from, to]) => &self.rows[from as usize..to as usize],
            _ => &[],
        }
    }

    /// What to mind at a premise, as visits of any round have it: each different text with the latest day on which it was written down, the
    /// latest first. A visit that says "none" (or "ninguno", "nada") takes back what earlier ones said.
    pub fn cautions(&self, premise: PremiseId) -> Vec<(&str, Date)> {
        let mut out: Vec<(&str, Date)> = Vec::new();
        for visit in self.at(premise).iter().rev() {
            let text = visit.cautions().trim();
            if NOTHING_TO_MIND.iter().any(|word| word.eq_ignore_ascii_case(text)) {
                break;
            }
            if !text.is_empty() && !out.iter().any(|(known, _)| known.eq_ignore_ascii_case(text)) {
                out.push((text, visit.when.day));
            }
        }
        out
    }

    /// Containers with larvae or pupae found on a visit.
    pub fn positive_containers(&self, visit: &Visit) -> u32 {
        self.finds_of(visit).iter().map(Find::positive).fold(0, u32::saturating_add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn cautions_are_remembered_over_rounds_until_they_are_taken_back() {
        let visit = |month: i8, round: u32, cautions: &str| {
            let (id, when) = (month.to_string().into(), When { day: date(2025, month, 12), time: None });
            let (said, crew, premise) = (Said::of("", cautions), "".into(), PremiseId(0));
            (Visit { id, premise, when, outcome: Outcome::NoAnswer, round: RoundId(round), crew, said, finds: 0..0 }, vec![])
        };
        let told = |rows: Vec<(Visit, Vec<Find>)>| {
            let visits = Visits::from_rows(1, rows);
            let own: Vec<(String, i8)> =
                visits.cautions(PremiseId(0)).iter().map(|(text, day)| ((*text).to_owned(), day.month())).collect();
            own
        };
        let three = vec![visit(5, 0, "dog"), visit(6, 1, "Dog"), visit(7, 2, "ladder at the back")];
        assert_eq!(told(three.clone()), [("ladder at the back".to_owned(), 7), ("Dog".to_owned(), 6)]);
        assert_eq!(told([three, vec![visit(8, 2, "None"), visit(9, 2, "")]].concat()), []);
    }
}
