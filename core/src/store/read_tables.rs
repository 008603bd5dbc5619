//! Reading the tables of a survey that have no geometry.

use super::load::{BadCell, Own, Trouble};
use super::quick_visits::{self, Named};
use super::read_layers::{Keys, day, known, text, told};
use crate::job::Watch;
use crate::survey::{DayTemperature, Find, IntakeEntry, KindId, PremiseId, RefusedRow, Round, RoundId, Said, Visit, Visits, When};
use rusqlite::{Connection, Row};
use serde::de::DeserializeOwned;

/// All rows of a table, in the order of their keys.
fn each<T>(
    file: &Connection,
    table: &'static str,
    columns: &str,
    mut read: impl FnMut(&Row<'_>) -> Result<T, BadCell>,
) -> Result<Vec<T>, Trouble> {
    let mut rows = file.prepare(&format!("SELECT fid, {columns} FROM {table} ORDER BY fid"))?;
    let mut rows = rows.query([])?;
    let mut out = Vec::new();
    while let Some(row) = rows.next()? {
        out.push(read(row).map_err(|bad| told(table, row, bad))?);
    }
    Ok(out)
}

/// One part of the settings.
pub(super) fn settings(file: &Connection, part: &str) -> rusqlite::Result<Own> {
    let mut rows = file.prepare("SELECT name, value FROM settings WHERE part = ?1")?;
    rows.query_map([part], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
}

pub(super) fn rounds(file: &Connection) -> Result<(Vec<Round>, Keys), Trouble> {
    let read = |row: &Row<'_>| {
        let round = Round { name: text(row, 1)?.into(), first: day(row, 2)?, last: day(row, 3)? };
        Ok((round, row.get::<_, i64>(0)?))
    };
    let (rounds, keys) = each(file, "rounds", "name, first_day, last_day", read)?.into_iter().unzip();
    Ok((rounds, Keys::list(keys)))
}

pub(super) fn kinds(file: &Connection) -> Result<(Vec<Box<str>>, Keys), Trouble> {
    let (names, keys) = each(file, "container_kinds", "name", |row| Ok((text(row, 1)?.into(), row.get::<_, i64>(0)?)))?.into_iter().unzip();
    Ok((names, Keys::list(keys)))
}

/// Visits and finds by asking SQLite, which reads whatever another program, or an earlier version, has made of the file.
pub(super) fn through_sqlite(file: &Connection, named: Named<'_>, watch: &dyn Watch) -> Result<quick_visits::Read, Trouble> {
    // Files of earlier versions have no column for what was said, for how long somebody was there, or for what was entered by hand.
    let has = |name: &str| {
        let asked = "SELECT count(*) FROM pragma_table_info('visits') WHERE name = ?1";
        file.query_row(asked, [name], |row| row.get::<_, i64>(0)).map(|n| n > 0)
    };
    let said = if has("promise")? && has("cautions")? { "promise, cautions" } else { "'', ''" };
    let minutes = if has("minutes")? { "minutes" } else { "NULL" };
    let by_hand = if has("by_hand")? { "by_hand" } else { "NULL" };
    let columns = format!("visit_id, premise_fid, date, time, outcome, round_fid, crew, {said}, {minutes}, {by_hand}");
    let read = |row: &Row<'_>| Ok((visit(row, named.premises, named.rounds)?, row.get::<_, i64>(0)?));
    let (visits, keys): (Vec<Visit>, _) = each(file, "visits", &columns, read)?.into_iter().unzip();
    let keys = Keys::list(keys);
    watch.step("Reading the finds", 0, 0)?;
    let columns = "visit_fid, kind_fid, count, holds_water, larvae, pupae, pupae_count, stage, litres, action, remains";
    let finds = each(file, "finds", columns, |row| Ok((known(&keys, row.get(1)?, "the key of a visit")?, find(row, named.kinds)?)))?;
    Ok((visits, keys, finds))
}

/// The visits with their finds.
pub(super) fn with_finds(premises: usize, (mut rows, _, mut finds): quick_visits::Read) -> Visits {
    // Another program may have added finds at the end.
    finds.sort_by_key(|f| f.0);
    let mut next = 0;
    for (i, visit) in rows.iter_mut().enumerate() {
        let from = next;
        next += finds[next..].iter().take_while(|f| f.0 as usize == i).count();
        visit.finds = from as u32..next as u32;
    }
    let finds: Vec<Find> = finds.into_iter().map(|f| f.1).collect();
    in_order(premises, rows, finds)
}

/// Visits as the survey keeps them, put in order when another program has edited them.
fn in_order(premises: usize, rows: Vec<Visit>, finds: Vec<Find>) -> Visits {
    match Visits::from_ordered(premises, rows, finds) {
        Ok(visits) => visits,
        Err((rows, finds)) => {
            let with_finds = |v: Visit| {
                let own = finds[v.finds.start as usize..v.finds.end as usize].to_vec();
                (v, own)
            };
            Visits::from_rows(premises, rows.into_iter().map(with_finds).collect())
        }
    }
}

fn visit(row: &Row<'_>, premises: &Keys, rounds: &Keys) -> Result<Visit, BadCell> {
    let time = match text(row, 4)? {
        "" => None,
        t => Some(t.parse().map_err(|_| BadCell::Value { expected: "a time as 08:30:00", found: format!("'{t}'") })?),
    };
    Ok(Visit {
        id: text(row, 1)?.into(),
        premise: PremiseId(known(premises, row.get(2)?, "the key of a premise")?),
        when: When { day: day(row, 3)?, time },
        outcome: text(row, 5)?.parse()?,
        round: RoundId(known(rounds, row.get(6)?, "the key of a round")?),
        crew: text(row, 7)?.into(),
        said: Said::marked(
            Said::with_minutes(text(row, 8)?, text(row, 9)?, row.get(10)?),
            row.get::<_, Option<bool>>(11)?.unwrap_or(false),
        ),
        finds: 0..0,
    })
}

fn find(row: &Row<'_>, kinds: &Keys) -> Result<Find, BadCell> {
    let word = |column| text(row, column).map(|t| (!t.is_empty()).then_some(t));
    Ok(Find {
        kind: KindId(known(kinds, row.get(2)?, "the key of a kind of container")?),
        count: row.get(3)?,
        wet: row.get(4)?,
        with_larvae: row.get(5)?,
        with_pupae: row.get(6)?,
        pupae: row.get(7)?,
        stage: word(8)?.map(str::parse).transpose()?,
        litres: row.get(9)?,
        action: word(10)?.map(str::parse).transpose()?,
        remains: row.get(11)?,
    })
}

pub(super) fn temperatures(file: &Connection) -> Result<Vec<DayTemperature>, Trouble> {
    each(file, "temperatures", "date, mean_c, min_c, max_c", |row| {
        let range = row.get::<_, Option<f64>>(3)?.zip(row.get::<_, Option<f64>>(4)?);
        Ok(DayTemperature { day: day(row, 1)?, mean: row.get(2)?, range })
    })
}

pub(super) fn refused(file: &Connection) -> Result<Vec<RefusedRow>, Trouble> {
    each(file, "refused_rows", "file, source, row, reason, cells", |row| {
        Ok(RefusedRow {
            file: text(row, 1)?.into(),
            table: text(row, 2)?.into(),
            row: row.get::<_, i64>(3)? as u64,
            reason: text(row, 4)?.into(),
            cells: json(text(row, 5)?, "the row's cells as JSON")?,
        })
    })
}

pub(super) fn intake_log(file: &Connection) -> Result<Vec<IntakeEntry>, Trouble> {
    each(file, "intake_log", "file, source, rows, kept, findings", |row| {
        Ok(IntakeEntry {
            file: text(row, 1)?.into(),
            table: text(row, 2)?.into(),
            rows: row.get::<_, i64>(3)? as u64,
            kept: row.get::<_, i64>(4)? as u64,
            findings: json(text(row, 5)?, "sentences as JSON")?,
        })
    })
}

fn json<T: DeserializeOwned>(text: &str, expected: &'static str) -> Result<T, BadCell> {
    serde_json::from_str(text).map_err(|e| BadCell::Value { expected, found: e.to_string() })
}
