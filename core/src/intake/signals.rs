//! Rows of a signals file: cases, trap counts, complaints.

use super::cells::{self, Reason};
use super::join::Finder;
use super::on_surface::on_surface;
use super::points::{Point, Points};
use super::report::Account;
use super::{IntakeError, Match, Role};
use crate::files::Table;
use crate::place::Local;
use crate::survey::{Premises, Signal, SignalKind, UnknownWord};
use jiff::civil::Date;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Farther from every outline than this, in metres, a signal is told.
const BESIDE: f64 = 5_000.0;

type Key = (Date, Box<str>, SignalKind);

struct Reader<'a> {
    table: &'a Table,
    matched: &'a Match,
    points: &'a Points<'a>,
    finder: &'a Finder<'a>,
    premises: &'a Premises,
}

/// The signals of a survey with those of a file, by day, id and kind; one with the day, id and kind of one that is there takes
/// its place. Gives the signals and how many rows were kept.
///
/// # Errors
/// [`IntakeError::NoColumn`] when there is no column for the date, the kind or a place.
pub(super) fn bring(
    old: &[Signal],
    table: &Table,
    matched: &Match,
    points: &Points<'_>,
    (finder, premises): (&Finder<'_>, &Premises),
    account: &mut Account,
) -> Result<(Vec<Signal>, usize), IntakeError> {
    matched.require(table, Role::Signals, &["date"])?;
    matched.require(table, Role::Signals, &["kind"])?;
    if !table.has_shapes() {
        matched.require(table, Role::Signals, &["lon", "address"])?;
    }
    if matched.column("signal_id").is_none() {
        account.notice("The file has no column with a signal's id; its signals are numbered in file order");
    }
    let reader = Reader { table, matched, points, finder, premises };
    let key = |s: &Signal| -> Key { (s.day, s.id.clone(), s.kind) };
    let mut there: BTreeMap<Key, Signal> = old.iter().map(|s| (key(s), s.clone())).collect();
    let mut of_file: BTreeMap<Key, (usize, Signal)> = BTreeMap::new();
    let mut kept = 0;
    for row in 0..table.rows {
        match reader.read(row).and_then(|signal| not_twice(&of_file, signal)) {
            Err(reason) => account.refuse(table, row, &reason),
            Ok(signal) => {
                kept += 1;
                reader.tell(&signal, there.get(&key(&signal)), row, account);
                of_file.insert(key(&signal), (row, signal));
            }
        }
    }
    there.extend(of_file.into_iter().map(|(k, (_, s))| (k, s)));
    Ok((there.into_values().collect(), kept))
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

impl Reader<'_> {
    fn text(&self, row: usize, meaning: &str) -> Cow<'_, str> {
        self.matched.column(meaning).map_or(Cow::Borrowed(""), |c| self.table.cell(row, c))
    }

    fn read(&self, row: usize) -> Result<Signal, Reason> {
        let id = self.text(row, "signal_id");
        let kind: SignalKind = self.text(row, "kind").parse().map_err(|e: UnknownWord| Reason::new(e.to_string()))?;
        let value = cells::number(&self.text(row, "value"), "value")?;
        if value.is_some_and(|v| v < 0.0) {
            return Err(Reason::new(format!("value is {}, less than 0", self.text(row, "value"))));
        }
        Ok(Signal {
            id: if id.is_empty() { (row + 1).to_string().into() } else { id.as_ref().into() },
            day: cells::moment(&self.text(row, "date"))?.day,
            place: self.place(row)?,
            kind,
            value,
            species: self.text(row, "species").as_ref().into(),
        })
    }

    fn place(&self, row: usize) -> Result<Local, Reason> {
        let address = self.text(row, "address");
        match self.points.of(row) {
            Point::At(p) => Ok(p),
            Point::Unusable => Err(Reason::new("its longitude and latitude are no place near the district")),
            Point::Unsaid if address.is_empty() => Err(Reason::new("it has no place and no address")),
            Point::Unsaid => {
                let premise = self.finder.by_address(&address, &mut String::new());
                let premise = premise.or_else(|| self.finder.by_numbers(&address));
                let inside = premise.and_then(|p| on_surface(self.premises.outline.get(p.row())));
                inside
                    .or_else(|| self.finder.spot_by_numbers(&address))
                    .ok_or_else(|| Reason::new(format!("no premise with an outline has the address '{address}'")))
            }
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
