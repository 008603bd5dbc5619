//! Rows of a visits file into visits: rows of one visit brought together, each visit joined to its premise.

use super::address::clearly_best;
use super::cells::Reason;
use super::dates::{Days, days_of, order_of};
use super::join::{Finder, How};
use super::plain_ids::{PlainIds, may_be_written_otherwise, plain_ids};
use super::points::{Point, Points};
use super::report::{Account, Report};
use super::settle::Decisions;
use super::text_index::TextIndex;
use super::visit_rows::{VisitColumns, VisitRow};
use super::words::WordMap;
use super::{ColumnMap, DateOrder, IntakeError, Match, Role};
use crate::files::Table;
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use crate::survey::{Outcome, PremiseId, Premises, Promised, Strings, When};
use jiff::civil::Date;
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Reasons for rows that cannot be read that are told as findings; the refused rows have all.
const REASONS_TOLD: usize = 10;

/// Visits without a premise that are looked for between two looks at the watch.
const ASKED_AT_ONCE: usize = 256;

/// One visit as its rows tell it.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    /// Its rows in the file, rising.
    pub rows: Vec<u32>,
    pub when: When,
    /// Minutes from going in to coming out.
    pub minutes: Option<u16>,
    pub outcome: Outcome,
    pub point: Option<Local>,
    /// Rows whose cells hold the parcel id, the address, the round and the crew of the visit.
    pub parcel_row: Option<u32>,
    pub address_row: Option<u32>,
    pub round_row: Option<u32>,
    pub crew_row: Option<u32>,
    /// Whether the file gives it an id.
    pub has_id: bool,
}

/// The visits of a file.
pub(super) struct VisitFile<'a> {
    pub table: &'a Table,
    pub columns: VisitColumns<'a>,
    pub rows: Vec<Result<VisitRow, Reason>>,
}

/// What became of the visits of a file.
#[derive(Default)]
pub(super) struct Joined {
    pub visits: Vec<(Draft, PremiseId, How)>,
    pub unjoined: Vec<Draft>,
}

impl<'a> VisitFile<'a> {
    /// Reads every row.
    pub(super) fn read(
        table: &'a Table,
        matched: &Match,
        points: &Points<'a>,
        map: &'a ColumnMap,
        account: &mut Account,
    ) -> Result<Self, IntakeError> {
        matched.require(table, Role::Visits, &["date"])?;
        matched.require(table, Role::Visits, &["outcome"])?;
        if !table.has_shapes() {
            matched.require(table, Role::Visits, &["parcel_id", "lon", "address"])?;
        }
        let days = days_of(table, Role::Visits, matched, map.date_order(Role::Visits), account)?;
        let read = Self::in_days(table, matched, points, (days, map.words()));
        let inspected = || read.rows.iter().flatten().any(|r| r.outcome == Some(Outcome::Inspected));
        if let Some(told) = matched.untold(Role::Visits).filter(|_| inspected()) {
            let unused = matched.unused(table.columns.iter().map(String::as_str));
            let others = if unused.is_empty() { String::new() } else { format!(". These columns mean nothing yet: {}", unused.join(", ")) };
            account.notice(format!("{told}{others}"));
        }
        Ok(read)
    }

    /// Reads every row, whatever columns there are.
    pub(super) fn of(table: &'a Table, matched: &Match, points: &Points<'a>, (said, words): (Option<DateOrder>, &'a WordMap)) -> Self {
        let date = matched.column("date");
        let texts = (0..table.rows).filter_map(|row| Some((row, table.cell(row, date?))));
        let mut account = Account::new(&table.name, table, Role::Visits, &[]);
        let days = order_of(texts, said, &mut account);
        Self::in_days(table, matched, points, (days, words))
    }

    fn in_days(table: &'a Table, matched: &Match, points: &Points<'a>, (days, words): (Days, &'a WordMap)) -> Self {
        let columns = VisitColumns::new(table, matched, days, words);
        let rows = (0..table.rows).into_par_iter().map(|row| columns.read(row, points)).collect();
        Self { table, columns, rows }
    }

    /// The visits whose rows can all be read and agree, joined or not.
    pub(super) fn readable(&self) -> Vec<Draft> {
        let mut account = Account::new(&self.table.name, self.table, Role::Visits, &[]);
        self.settle_all(self.groups(), &mut account)
    }

    /// Brings the rows of each visit together and finds the premise of those that are wanted. What cannot be read or joined is
    /// refused, whole visits only. What was decided about a visit counts before what its cells say.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub(super) fn join(
        &self,
        (finder, premises, decisions): (&Finder<'_>, &Premises, &Decisions),
        wanted: impl Fn(&Draft) -> bool,
        (account, watch): (&mut Account, &dyn Watch),
    ) -> Result<Joined, Cancelled> {
        let mut drafts = self.settle_all(self.groups(), account);
        drafts.retain(wanted);
        watch.step("joining visits", 0, 0)?;
        let ids = self.ids(&drafts);
        let plain = may_be_written_otherwise(&ids, finder).then(|| plain_ids(premises));
        let plain = plain.as_ref().and_then(|plain| PlainIds::where_a_file_writes_so(&ids, finder, (premises, plain)));
        let found: Vec<Option<(PremiseId, How)>> = drafts
            .par_iter()
            .map_init(String::new, |buffer, draft| {
                if watch.cancelled() {
                    return None;
                }
                let decided = decisions.premise(self.table, &draft.rows, finder).map(|p| (p, How::Decision));
                decided.or_else(|| self.find(draft, (finder, plain.as_ref()), buffer))
            })
            .collect();
        if let (Some(_), Some(first)) = (&plain, drafts.iter().find_map(|d| d.parcel_row)) {
            let sentence =
                "The file writes parcel ids without the signs or the leading zeros that the parcels have: they were joined all the same";
            account.notice_row(sentence, first as usize);
        }
        let mut joined = Joined::default();
        let mut without_id: BTreeMap<(PremiseId, Date), (How, Vec<u32>)> = BTreeMap::new();
        for (draft, found) in drafts.into_iter().zip(found) {
            match found {
                None => joined.unjoined.push(draft),
                Some((premise, how)) if draft.has_id => joined.visits.push((draft, premise, how)),
                Some((premise, how)) => {
                    let same_day = without_id.entry((premise, draft.when.day)).or_insert((how, Vec::new()));
                    same_day.0 = same_day.0.min(how);
                    same_day.1.extend(draft.rows);
                }
            }
        }
        self.add_visits_without_id(without_id, &mut joined, account);
        self.refuse_unjoined(&joined.unjoined, (finder, premises), (account, watch))?;
        Ok(joined)
    }

    /// Refuses the rows of visits that found no premise, each with what was looked for.
    fn refuse_unjoined(
        &self,
        unjoined: &[Draft],
        (finder, premises): (&Finder<'_>, &Premises),
        (account, watch): (&mut Account, &dyn Watch),
    ) -> Result<(), Cancelled> {
        // Asking for the likest address takes a moment each.
        for (done, some) in (0..).step_by(ASKED_AT_ONCE).zip(unjoined.chunks(ASKED_AT_ONCE)) {
            watch.step("looking for those that found no premise", done, unjoined.len() as u64)?;
            let reasons: Vec<Reason> = some.par_iter().map(|draft| self.why_unjoined(draft, finder, premises)).collect();
            for (draft, reason) in some.iter().zip(&reasons) {
                draft.rows.iter().for_each(|&row| account.refuse(self.table, row as usize, reason));
            }
        }
        Ok(())
    }

    /// One visit per premise and day, as the contract has it for rows without an id.
    fn add_visits_without_id(&self, by_day: BTreeMap<(PremiseId, Date), (How, Vec<u32>)>, joined: &mut Joined, account: &mut Account) {
        for ((premise, _), (how, mut rows)) in by_day {
            rows.sort_unstable();
            if let Some(draft) = self.settle_all(vec![rows], account).pop() {
                joined.visits.push((draft, premise, how));
            }
        }
    }

    /// Rows of the same visit, each group in rising order, groups in the order of their first rows.
    fn groups(&self) -> Vec<Vec<u32>> {
        let mut keys = Strings::with_capacity(self.rows.len(), self.rows.len() * 12);
        let mut buffer = String::new();
        for (row, read) in self.rows.iter().enumerate() {
            let id = self.columns.text(row, self.columns.visit_id);
            if id.is_empty() {
                self.key_without_id(row, read, &mut buffer);
                keys.push(&buffer);
            } else {
                keys.push(&id);
            }
        }
        let mut groups: Vec<Vec<u32>> = TextIndex::new(&keys).groups().map(|g| g.iter().map(|e| e.1).collect()).collect();
        groups.sort_unstable_by_key(|g| g[0]);
        groups
    }

    /// A key that rows about the same place and day share. It begins with a sign that no id begins with.
    fn key_without_id(&self, row: usize, read: &Result<VisitRow, Reason>, buffer: &mut String) {
        use std::fmt::Write as _;
        buffer.clear();
        let day = read.as_ref().ok().and_then(|r| r.when).map(|w| w.day);
        let point = read.as_ref().ok().map(|r| r.point);
        let (parcel, address) = (self.columns.text(row, self.columns.parcel_id), self.columns.text(row, self.columns.address));
        let _ = match (day, read) {
            (Some(day), Ok(_)) => write!(buffer, "\u{1}{day}|{parcel}|{address}|{point:?}"),
            _ => write!(buffer, "\u{1}row {row}"),
        };
    }

    /// Settles what the rows of each group agree on; groups that cannot be settled are refused.
    fn settle_all(&self, groups: Vec<Vec<u32>>, account: &mut Account) -> Vec<Draft> {
        let broken = |group: &[u32]| group.iter().find(|&&r| self.rows[r as usize].is_err()).copied();
        let settled: Vec<_> = groups.par_iter().map(|g| broken(g).map_or_else(|| Ok(self.settle(g)), Err)).collect();
        let mut out = Vec::with_capacity(groups.len());
        for (group, settled) in groups.into_iter().zip(settled) {
            match settled {
                Ok(Err(_)) if self.untouched(&group) => group.iter().for_each(|&row| account.pass_over(row as usize)),
                Err(first) => self.refuse_broken(&group, first, account),
                Ok(Ok(draft)) => out.push(Draft { rows: group, ..draft }),
                Ok(Err(reason)) => group.iter().for_each(|&row| account.refuse(self.table, row as usize, &reason)),
            }
        }
        out
    }

    /// Whether nobody wrote anything into any row of a visit of a day's sheet.
    fn untouched(&self, group: &[u32]) -> bool {
        let day = |row: u32| Some(self.rows[row as usize].as_ref().ok()?.when?.day);
        group.iter().all(|&row| self.columns.untouched(row as usize, day(row)))
    }

    fn refuse_broken(&self, group: &[u32], first: u32, account: &mut Account) {
        for &row in group {
            let reason = match &self.rows[row as usize] {
                Err(reason) => reason.clone(),
                Ok(_) => {
                    Reason::new(format!("row {} of the same visit could not be read, and a visit comes in whole or not at all", first + 1))
                }
            };
            account.refuse(self.table, row as usize, &reason);
        }
    }

    /// What the rows of one visit say together. A blank cell agrees with everything.
    fn settle(&self, group: &[u32]) -> Result<Draft, Reason> {
        let read = |row: u32| self.rows[row as usize].as_ref().ok();
        let columns = &self.columns;
        let day = agreed(group, "day", |row| Some(read(row)?.when?.day))?.ok_or_else(|| Reason::new("the date is missing"))?;
        let time = group.iter().filter_map(|&row| read(row)?.when?.time).min();
        let minutes = group.iter().filter_map(|&row| read(row)?.minutes).max();
        let outcome = agreed(group, "outcome", |row| read(row)?.outcome)?.ok_or_else(|| Reason::new("the outcome is missing"))?;
        let text = |row: &u32| columns.text(*row as usize, columns.crew);
        Ok(Draft {
            rows: Vec::new(),
            when: When { day, time },
            minutes,
            outcome,
            point: self.places(group).min_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))),
            parcel_row: self.agreed_text(group, "parcel id", columns.parcel_id)?,
            address_row: self.agreed_text(group, "address", columns.address)?,
            round_row: self.agreed_text(group, "round", columns.round)?,
            crew_row: group.iter().copied().filter(|row| !text(row).is_empty()).min_by_key(text),
            has_id: !columns.text(group[0] as usize, columns.visit_id).is_empty(),
        })
    }

    /// The places that the rows of a visit name.
    fn places(&self, group: &[u32]) -> impl Iterator<Item = Local> {
        group.iter().filter_map(|&row| match self.rows[row as usize] {
            Ok(VisitRow { point: Point::At(p), .. }) => Some(p),
            _ => None,
        })
    }

    /// The first row whose cell is not blank, when all such cells are the same.
    fn agreed_text(&self, group: &[u32], what: &str, column: Option<usize>) -> Result<Option<u32>, Reason> {
        let text = |row: u32| self.columns.text(row as usize, column);
        let mut said = group.iter().copied().filter(|&row| !text(row).is_empty());
        let Some(first) = said.next() else { return Ok(None) };
        match said.find(|&row| text(row) != text(first)) {
            Some(other) => Err(disagreement(what, first, other)),
            None => Ok(Some(first)),
        }
    }

    /// The parcel ids that visits name, each as often as a visit names it.
    fn ids(&self, drafts: &[Draft]) -> Vec<Cow<'_, str>> {
        drafts.iter().filter_map(|draft| Some(self.columns.text(draft.parcel_row? as usize, self.columns.parcel_id))).collect()
    }

    fn find(&self, draft: &Draft, (finder, plain): (&Finder<'_>, Option<&PlainIds<'_>>), buffer: &mut String) -> Option<(PremiseId, How)> {
        let columns = &self.columns;
        let by_id = || {
            let id = columns.text(draft.parcel_row? as usize, columns.parcel_id);
            finder.by_id(&id).or_else(|| plain?.find(&id, finder))
        };
        if let Some(premise) = by_id() {
            return Some((premise, How::Id));
        }
        if let Some(premise) = draft.point.and_then(|p| finder.by_point(p)) {
            return Some((premise, How::Point));
        }
        let address = columns.text(draft.address_row? as usize, columns.address);
        let by_address = finder.by_address(&address, buffer).map(|premise| (premise, How::Address));
        by_address.or_else(|| finder.by_numbers(&address).map(|premise| (premise, How::Numbers)))
    }

    fn why_unjoined(&self, draft: &Draft, finder: &Finder<'_>, premises: &Premises) -> Reason {
        let mut said = Vec::new();
        if let Some(row) = draft.parcel_row {
            said.push(format!("no premise has the parcel id '{}'", self.columns.text(row as usize, self.columns.parcel_id)));
        }
        if let Some(p) = draft.point {
            said.push(match finder.nearest(p) {
                Some((near, metres)) => {
                    format!("the place lies in no outline, the nearest is {} at {metres:.1} m", named(premises, near))
                }
                None => "the place lies in no outline and far from all".to_owned(),
            });
        } else if draft.rows.iter().any(|&r| self.rows[r as usize].as_ref().is_ok_and(|r| r.point == Point::Unusable)) {
            said.push("its longitude and latitude are no place near the district".to_owned());
        }
        if let Some(row) = draft.address_row {
            said.push(no_address(&self.columns.text(row as usize, self.columns.address), finder, premises));
        }
        if said.is_empty() {
            said.push("it has no parcel id, no place and no address".to_owned());
        }
        Reason::new(said.join("; "))
    }

    /// Tells what is odd about joined visits and their rows.
    pub(super) fn tell(&self, joined: &Joined, account: &mut Account) {
        for draft in joined.visits.iter().map(|v| &v.0).filter(|d| d.rows.len() > 1) {
            let differ = self.places(&draft.rows).any(|p| Some(p) != draft.point);
            if differ {
                account.notice_row("The rows of the visit name different places; the westernmost was taken", draft.rows[0] as usize);
            }
        }
        self.tell_unreadable(account);
        self.tell_unknown_words(account);
        self.tell_promises(joined, account);
        for draft in joined.visits.iter().filter(|v| v.2 == How::Numbers).map(|v| &v.0) {
            let sentence = "No premise has the address; the visit was put where the house numbers of its street say";
            account.notice_row(sentence, draft.rows[0] as usize);
        }
        for row in joined.visits.iter().flat_map(|v| &v.0.rows).map(|&r| r as usize) {
            let Ok(read) = &self.rows[row] else { continue };
            let odd = read.odd;
            if odd.clock {
                account.notice_row("When somebody came or went cannot be read, or he went before he came; it was left off", row);
            }
            if odd.stage {
                let word = self.columns.text(row, self.columns.stages);
                account.notice_row(&format!("The stage '{word}' is not on the list and was left off"), row);
            }
            if odd.action {
                let word = self.columns.text(row, self.columns.action);
                account.notice_row(&format!("The action '{word}' is not on the list and was left off"), row);
            }
            for (is, sentence) in [
                (odd.water_taken, "Larvae or pupae without a word about water: the containers count as wet"),
                (odd.positive_taken, "A stage or counted pupae without a word about larvae or pupae: one container counts as positive"),
                (odd.count_raised, "More containers held water than were counted: the count was raised"),
                (read.point == Point::Unusable, "The longitude and latitude are no place near the district and were left off"),
            ] {
                if is {
                    account.notice_row(sentence, row);
                }
            }
        }
    }
}

impl VisitFile<'_> {
    /// Tells which promises name no day and no hour.
    fn tell_promises(&self, joined: &Joined, account: &mut Account) {
        for draft in joined.visits.iter().map(|v| &v.0).filter(|_| self.columns.promise.is_some()) {
            let text = self.columns.texts(&draft.rows, self.columns.promise);
            if !text.is_empty() && Promised::read(&text, draft.when.day).is_none() {
                let sentence = "A promise names no day and no hour that can be read: it stands on the sheets as it is written";
                account.notice_row(sentence, draft.rows[0] as usize);
            }
        }
    }

    /// Notes the words that are on no list: they stand in rows that cannot be read or have something left off.
    fn tell_unknown_words(&self, account: &mut Account) {
        let odd = |read: &Result<VisitRow, Reason>| read.as_ref().map_or(true, |r| r.odd.stage || r.odd.action);
        for row in (0..self.rows.len()).filter(|&row| odd(&self.rows[row])) {
            for (list, column) in self.columns.listed() {
                let word = self.columns.word(row, column, list);
                if !word.is_empty() && !list.reads(&word, None) {
                    account.unknown_word(list, &self.columns.text(row, column));
                }
            }
        }
    }

    /// Tells the commonest reasons why rows could not be read, each with its rows: words that are on no list, for the most part.
    fn tell_unreadable(&self, account: &mut Account) {
        let mut by_reason: BTreeMap<&Reason, Vec<usize>> = BTreeMap::new();
        for (row, read) in self.rows.iter().enumerate() {
            if let Err(reason) = read {
                by_reason.entry(reason).or_default().push(row);
            }
        }
        let mut commonest: Vec<_> = by_reason.into_iter().collect();
        commonest.sort_by_key(|(_, rows)| std::cmp::Reverse(rows.len()));
        for (reason, rows) in commonest.into_iter().take(REASONS_TOLD) {
            rows.into_iter().for_each(|row| account.notice_row(&format!("Not brought in: {reason}"), row));
        }
    }
}

impl Joined {
    /// Enters the counts into the report.
    pub(super) fn count(&self, report: &mut Report) {
        let by = |wanted: How| self.visits.iter().filter(|v| v.2 == wanted).count();
        report.joined_by_id = by(How::Id);
        report.joined_by_point = by(How::Point);
        report.joined_by_numbers = by(How::Numbers);
        report.joined_by_address = by(How::Address) + report.joined_by_numbers;
        report.settled = by(How::Decision);
        report.unjoined = self.unjoined.len() + report.settled;
        report.visits = self.visits.len() + self.unjoined.len();
    }

    /// First and last day of the visits that fulfil something, joined or not.
    pub(super) fn days(&self, wanted: impl Fn(&Draft) -> bool) -> Option<(Date, Date)> {
        let days = || self.visits.iter().map(|v| &v.0).chain(&self.unjoined).filter(|d| wanted(d)).map(|d| d.when.day);
        Some((days().min()?, days().max()?))
    }
}

/// That no premise has an address, and the one address that is likest, where one is.
fn no_address(address: &str, finder: &Finder<'_>, premises: &Premises) -> String {
    let like = finder.like_address(address);
    let best = clearly_best(&like, |l| l.1);
    let offer = best.map(|&(p, score)| {
        let (found, parcel) = (premises.address.get(p.row()), named(premises, p));
        format!(", the likest is '{found}' of {parcel} ({:.0} % alike)", score * 100.0)
    });
    let numbers = finder.near_numbers(address);
    let beside =
        numbers.first().filter(|_| best.is_none()).map(|(p, _)| format!(", by its house number it stands at {}", named(premises, *p)));
    format!("no premise has the address '{address}'{}", offer.or(beside).unwrap_or_default())
}

/// A premise in words: its id, or its address.
pub(super) fn named(premises: &Premises, id: PremiseId) -> String {
    match (premises.parcel_id.get(id.row()), premises.address.get(id.row())) {
        ("", "") => "a premise without id".to_owned(),
        ("", address) => address.to_owned(),
        (parcel, _) => parcel.to_owned(),
    }
}

/// The one value that all rows with a value have.
fn agreed<T: PartialEq + Copy>(group: &[u32], what: &str, value: impl Fn(u32) -> Option<T>) -> Result<Option<T>, Reason> {
    let mut said = group.iter().filter_map(|&row| value(row).map(|v| (row, v)));
    let Some((first, one)) = said.next() else { return Ok(None) };
    match said.find(|&(_, other)| other != one) {
        Some((row, _)) => Err(disagreement(what, first, row)),
        None => Ok(Some(one)),
    }
}

fn disagreement(what: &str, first: u32, other: u32) -> Reason {
    let (first, other) = (first + 1, other + 1);
    Reason::new(format!("rows {first} and {other} are one visit but differ in their {what}; give each visit an id of its own"))
}
