//! Rows of a signals file: cases, trap counts, complaints.

use super::cells::{self, Reason};
use super::dates::Days;
use super::join::Finder;
use super::on_surface::on_surface;
use super::points::{Point, Points};
use super::report::Account;
use super::settle::Decisions;
use super::words::{WordList, WordMap};
use super::{IntakeError, Match, Role};
use crate::files::Table;
use crate::place::Local;
use crate::survey::{PremiseId, Premises, Signal, SignalKind, UnknownWord};
use jiff::civil::Date;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Farther from every outline than this, in metres, a signal is told.
const BESIDE: f64 = 5_000.0;

type Key = (Date, Box<str>, SignalKind);

/// The signals of a file, ready to be read row by row.
pub(super) struct SignalFile<'a> {
    pub table: &'a Table,
    pub matched: &'a Match,
    pub points: &'a Points<'a>,
    pub finder: &'a Finder<'a>,
    pub premises: &'a Premises,
    /// How it writes its days, and what its words stand for.
    pub days: Days,
    pub words: &'a WordMap,
    /// What was decided about its rows.
    pub decisions: &'a Decisions,
}

/// A row that says everything but where it was.
pub(super) struct Unplaced {
    /// The signal; its place is the frame's centre until somebody says it.
    pub signal: Signal,
    pub reason: Reason,
}

/// The columns that a signals file cannot do without.
///
/// # Errors
/// [`IntakeError::NoColumn`] when there is no column for the date, the kind or a place.
pub(super) fn require_columns(table: &Table, matched: &Match) -> Result<(), IntakeError> {
    matched.require(table, Role::Signals, &["date"])?;
    matched.require(table, Role::Signals, &["kind"])?;
    if table.has_shapes() { Ok(()) } else { matched.require(table, Role::Signals, &["lon", "address"]) }
}

/// The signals of a survey with those of a file, by day, id and kind; one with the day, id and kind of one that is there takes
/// its place. Gives the signals and how many rows were kept.
pub(super) fn bring(old: &[Signal], file: &SignalFile<'_>, account: &mut Account) -> (Vec<Signal>, usize) {
    if file.matched.column("signal_id").is_none() {
        account.notice("The file has no column with a signal's id; its signals are numbered in file order");
    }
    let mut there: BTreeMap<Key, Signal> = old.iter().map(|s| (key(s), s.clone())).collect();
    let mut of_file: BTreeMap<Key, (usize, Signal)> = BTreeMap::new();
    let mut kept = 0;
    for row in 0..file.table.rows {
        match file.read(row).and_then(|signal| not_twice(&of_file, signal)) {
            Err(reason) => {
                file.tell_unknown_word(row, account);
                account.refuse(file.table, row, &reason);
            }
            Ok(signal) => {
                kept += 1;
                file.tell(&signal, there.get(&key(&signal)), row, account);
                of_file.insert(key(&signal), (row, signal));
            }
        }
    }
    there.extend(of_file.into_iter().map(|(k, (_, s))| (k, s)));
    (there.into_values().collect(), kept)
}

/// The signals of a survey with a few more; one with the day, id and kind of one that is there takes its place.
pub(super) fn with(old: &[Signal], more: Vec<Signal>) -> Vec<Signal> {
    let mut there: BTreeMap<Key, Signal> = old.iter().map(|s| (key(s), s.clone())).collect();
    there.extend(more.into_iter().map(|s| (key(&s), s)));
    there.into_values().collect()
}

fn key(s: &Signal) -> Key {
    (s.day, s.id.clone(), s.kind)
}

/// Two rows about one signal must say the same.
fn not_twice(of_file: &BTreeMap<Key, (usize, Signal)>, signal: Signal) -> Result<Signal, Reason> {
    match of_file.get(&(signal.day, signal.id.clone(), signal.kind)) {
        Some((first, other)) if *other != signal => {
            Err(Reason::new(format!("row {} has the same id, day and kind, but says something else", first + 1)))
        }
        _ => Ok(signal),
    }
}

impl SignalFile<'_> {
    fn text(&self, row: usize, meaning: &str) -> Cow<'_, str> {
        self.matched.column(meaning).map_or(Cow::Borrowed(""), |c| self.table.cell(row, c))
    }

    /// What a row says; a place that somebody decided about counts before its own.
    fn read(&self, row: usize) -> Result<Signal, Reason> {
        self.read_or_unplaced(row)?.map_err(|unplaced| unplaced.reason)
    }

    /// What a row says, or all of it but the place.
    ///
    /// # Errors
    /// The reason when the row cannot be read for another cause.
    pub(super) fn read_or_unplaced(&self, row: usize) -> Result<Result<Signal, Unplaced>, Reason> {
        let id = self.text(row, "signal_id");
        let kind = self.words.ours(WordList::Kind, self.text(row, "kind"));
        let kind: SignalKind = kind.parse().map_err(|e: UnknownWord| Reason::new(e.to_string()))?;
        let value = cells::number(&self.text(row, "value"), "value")?;
        if value.is_some_and(|v| v < 0.0) {
            return Err(Reason::new(format!("value is {}, less than 0", self.text(row, "value"))));
        }
        let signal = Signal {
            id: if id.is_empty() { (row + 1).to_string().into() } else { id.as_ref().into() },
            day: self.days.moment(&self.text(row, "date"))?.day,
            place: Local { x: 0.0, y: 0.0 },
            kind,
            value,
            species: self.text(row, "species").as_ref().into(),
        };
        Ok(match self.place(row) {
            Ok(place) => Ok(Signal { place, ..signal }),
            Err(reason) => Err(Unplaced { signal, reason }),
        })
    }

    fn place(&self, row: usize) -> Result<Local, Reason> {
        if let Some(premise) = self.decisions.premise(self.table, &[row as u32], self.finder) {
            return self.inside(premise).ok_or_else(|| Reason::new("the premise decided on has no outline"));
        }
        let address = self.address(row);
        match self.points.of(row) {
            Point::At(p) => Ok(p),
            Point::Unusable => Err(Reason::new("its longitude and latitude are no place near the district")),
            Point::Unsaid if address.is_empty() => Err(Reason::new("it has no place and no address")),
            Point::Unsaid => {
                let premise = self.finder.by_address(&address, &mut String::new());
                let premise = premise.or_else(|| self.finder.by_numbers(&address));
                let inside = premise.and_then(|p| self.inside(p));
                inside
                    .or_else(|| self.finder.spot_by_numbers(&address))
                    .ok_or_else(|| Reason::new(format!("no premise with an outline has the address '{address}'")))
            }
        }
    }

    /// A place inside a premise; `None` where it has no outline.
    pub(super) fn inside(&self, premise: PremiseId) -> Option<Local> {
        on_surface(self.premises.outline.get(premise.row()))
    }

    /// The address of a row.
    pub(super) fn address(&self, row: usize) -> Cow<'_, str> {
        self.text(row, "address")
    }

    fn tell_unknown_word(&self, row: usize, account: &mut Account) {
        let kind = self.text(row, "kind");
        if !kind.is_empty() && !WordList::Kind.reads(&self.words.ours(WordList::Kind, kind.clone()), None) {
            account.unknown_word(WordList::Kind, &kind);
        }
    }

    fn tell(&self, signal: &Signal, there: Option<&Signal>, row: usize, account: &mut Account) {
        match there {
            Some(other) if other == signal => account.notice_row("The signal was there already and is not doubled", row),
            Some(_) => account.notice_row("The signal was there with other content and was replaced", row),
            None => {}
        }
        let district = self.premises.outline.extent().grown(BESIDE);
        if !district.is_empty() && !district.holds(signal.place) {
            account.notice_row("The signal lies more than 5 km outside the district", row);
        }
    }
}
