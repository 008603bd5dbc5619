//! Writing the tables of a survey that have no geometry.

use super::save::Failure;
use super::schema::{FILE_PART, LAYOUT, OFFICE_PART};
use super::write_layers::words;
use crate::job::Watch;
use crate::survey::Survey;
use rusqlite::{Connection, Result, params};

/// Rows between two looks at whether somebody asked to stop.
const STEP: usize = 16_384;

pub(super) fn visits(file: &Connection, survey: &Survey, watch: &dyn Watch) -> Result<(), Failure> {
    let rows = survey.visits.rows();
    let mut insert = file.prepare("INSERT INTO visits VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)")?;
    let mut day = (None, String::new());
    for (i, v) in rows.iter().enumerate() {
        if i % STEP == 0 {
            watch.step("Saving the visits", i as u64, rows.len() as u64)?;
        }
        if day.0 != Some(v.when.day) {
            day = (Some(v.when.day), v.when.day.to_string());
        }
        insert.execute(params![
            i as i64 + 1,
            v.id,
            i64::from(v.premise.0) + 1,
            survey.premises.parcel_id.get(v.premise.row()),
            day.1,
            v.when.time.map(|t| t.to_string()),
            v.outcome.word(),
            survey.rounds.get(v.round.row()).map_or("", |r| &r.name),
            i64::from(v.round.0) + 1,
            words(&v.crew),
        ])?;
    }
    Ok(())
}

pub(super) fn finds(file: &Connection, survey: &Survey, watch: &dyn Watch) -> Result<(), Failure> {
    let mut insert = file.prepare("INSERT INTO finds VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)")?;
    let mut fid = 0;
    for (i, v) in survey.visits.rows().iter().enumerate() {
        if i % STEP == 0 {
            watch.step("Saving the finds", i as u64, survey.visits.len() as u64)?;
        }
        for f in survey.visits.finds_of(v) {
            fid += 1;
            insert.execute(params![
                fid,
                i as i64 + 1,
                survey.kind_name(f.kind),
                i64::from(f.kind.0) + 1,
                f.count,
                f.wet,
                f.with_larvae,
                f.with_pupae,
                f.pupae,
                f.stage.map(|s| s.word()),
                f.litres,
                f.action.map(|a| a.word()),
                f.remains,
            ])?;
        }
    }
    Ok(())
}

pub(super) fn lists(file: &Connection, survey: &Survey) -> Result<()> {
    for (i, r) in survey.rounds.iter().enumerate() {
        let days = (r.first.to_string(), r.last.to_string());
        file.execute("INSERT INTO rounds VALUES (?1, ?2, ?3, ?4)", params![i as i64 + 1, r.name, days.0, days.1])?;
    }
    for (i, name) in survey.kinds.iter().enumerate() {
        file.execute("INSERT INTO container_kinds VALUES (?1, ?2)", params![i as i64 + 1, name])?;
    }
    let mut insert = file.prepare("INSERT INTO temperatures VALUES (?1, ?2, ?3, ?4, ?5)")?;
    for (i, t) in survey.temperatures.iter().enumerate() {
        let range = (t.range.map(|r| r.0), t.range.map(|r| r.1));
        insert.execute(params![i as i64 + 1, t.day.to_string(), t.mean, range.0, range.1])?;
    }
    let mut insert = file.prepare("INSERT INTO refused_rows VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?;
    for (i, r) in survey.refused.iter().enumerate() {
        let cells = serde_json::json!(r.cells).to_string();
        insert.execute(params![i as i64 + 1, r.file, r.table, r.row as i64, r.reason, cells])?;
    }
    let mut insert = file.prepare("INSERT INTO intake_log VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?;
    for (i, e) in survey.intake_log.iter().enumerate() {
        let findings = serde_json::json!(e.findings).to_string();
        insert.execute(params![i as i64 + 1, e.file, e.table, e.rows as i64, e.kept as i64, findings])?;
    }
    Ok(())
}

pub(super) fn settings(file: &Connection, survey: &Survey) -> Result<()> {
    let centre = survey.frame.centre();
    let yes_no = |there: bool| if there { "yes" } else { "no" }.to_owned();
    let own = [
        ("layout", LAYOUT.to_string()),
        ("frame_longitude", format!("{:.4}", centre.lon)),
        ("frame_latitude", format!("{:.4}", centre.lat)),
        ("has_land_use", yes_no(!survey.premises.land_use.is_empty())),
        ("has_year_built", yes_no(!survey.premises.year_built.is_empty())),
    ];
    let mut insert = file.prepare("INSERT INTO settings (part, name, value) VALUES (?1, ?2, ?3)")?;
    for (name, value) in own {
        insert.execute(params![FILE_PART, name, value])?;
    }
    for (name, value) in survey.settings.iter() {
        insert.execute(params![OFFICE_PART, name, value])?;
    }
    Ok(())
}
