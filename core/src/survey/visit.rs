//! Visits: attempts at premises.

use super::{Find, KindId, Outcome, PremiseId, RoundId, VisitId};
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
    /// Whether somebody in the office entered or corrected the visit by hand, so that no file may write over it.
    pub by_hand: bool,
}

impl Said {
    /// Both texts; `None` when both are empty.
    pub fn of(promise: &str, cautions: &str) -> Option<Box<Self>> {
        Self::with_minutes(promise, cautions, None)
    }

    /// Both texts and the minutes; `None` when nothing was written down.
    pub fn with_minutes(promise: &str, cautions: &str, minutes: Option<u16>) -> Option<Box<Self>> {
        Self { promise: promise.into(), cautions: cautions.into(), minutes, by_hand: false }.kept()
    }

    /// The same of a visit that was entered or corrected by hand, or was not.
    #[must_use]
    pub fn marked(said: Option<Box<Self>>, by_hand: bool) -> Option<Box<Self>> {
        Self { by_hand, ..said.map_or_else(Self::default, |said| *said) }.kept()
    }

    /// `None` where it says nothing.
    fn kept(self) -> Option<Box<Self>> {
        (self != Self::default()).then(|| Box::new(self))
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

    /// Whether it was entered or corrected by hand.
    pub fn by_hand(&self) -> bool {
        self.said.as_ref().is_some_and(|said| said.by_hand)
    }

    /// What the order of visits goes by.
    fn place(&self) -> (PremiseId, Date, &str, Option<Time>) {
        (self.premise, self.when.day, &self.id, self.when.time)
    }
}

/// Numbers that rounds and kinds of container get in other lists, by their numbers now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Renumbered {
    pub rounds: Vec<RoundId>,
    pub kinds: Vec<KindId>,
}

impl Renumbered {
    fn visit(&self, visit: &Visit, finds: Range<u32>) -> Visit {
        Visit { round: self.rounds[visit.round.row()], finds, ..visit.clone() }
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
        rows.sort_by(|(a, _), (b, _)| a.place().cmp(&b.place()));
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
        let rising = |w: &[Visit]| w[0].place() <= w[1].place();
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

    /// The same visits under other numbers of rounds and kinds, one of them taken out, another put in at its place in the order.
    ///
    /// `premises` is the number of premises of the survey.
    pub(super) fn with_change(&self, premises: usize, out: Option<usize>, put: Option<(Visit, Vec<Find>)>, numbers: &Renumbered) -> Self {
        let at = put.as_ref().map(|(visit, _)| self.rows.partition_point(|row| row.place() < visit.place()));
        let mut rows = Vec::with_capacity(self.rows.len() + 1);
        let mut finds: Vec<Find> = Vec::with_capacity(self.finds.len() + put.as_ref().map_or(0, |p| p.1.len()));
        let mut first = (*self.first_of_premise).clone();
        first.resize(premises + 1, self.rows.len() as u32);
        if let Some(row) = out {
            first[self.rows[row].premise.row() + 1..].iter_mut().for_each(|f| *f -= 1);
        }
        let mut put = put;
        for i in 0..=self.rows.len() {
            if let Some((visit, mut found)) = put.take_if(|_| at == Some(i)) {
                first[visit.premise.row() + 1..].iter_mut().for_each(|f| *f += 1);
                let from = finds.len() as u32;
                finds.append(&mut found);
                rows.push(Visit { finds: from..finds.len() as u32, ..visit });
            }
            if let Some(visit) = self.rows.get(i).filter(|_| out != Some(i)) {
                let from = finds.len() as u32;
                finds.extend(self.finds_of(visit).iter().map(|f| Find { kind: numbers.kinds[f.kind.0 as usize], ..f.clone() }));
                rows.push(numbers.visit(visit, from..finds.len() as u32));
            }
        }
        Self { rows: Arc::new(rows), finds: Arc::new(finds), first_of_premise: Arc::new(first) }
    }

    /// Where the visits at a premise stand among all.
    pub(super) fn rows_at(&self, premise: PremiseId) -> Range<usize> {
        match self.first_of_premise.get(premise.row()..premise.row() + 2) {
            Some(&[from, to]) => from as usize..to as usize,
            _ => 0..0,
        }
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
        &self.rows[self.rows_at(premise)]
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
