//! Writing the tables of a survey that have no geometry.

use super::schema::{FILE_PART, LAYOUT, OFFICE_PART};
use crate::files::geopackage::RecordWriter;
use crate::survey::Survey;
use rusqlite::{Connection, Result, params};

/// Which visit each find was made on, by their rows.
pub(super) fn visit_of_find(survey: &Survey) -> Vec<u32> {
    let visits = survey.visits.rows();
    (0..).zip(visits).flat_map(|(i, v)| std::iter::repeat_n(i, v.finds.len())).collect()
}

/// The cells of a visit, in the order of [`super::schema::VISITS`].
pub(super) fn visit(survey: &Survey, i: usize, row: &mut RecordWriter) {
    let v = &survey.visits.rows()[i];
    row.nothing();
    row.text(&v.id, false);
    row.whole(Some(i64::from(v.premise.0) + 1));
    row.text(survey.premises.parcel_id.get(v.premise.row()), false);
    row.text(&v.when.day.to_string(), false);
    row.text(&v.when.time.map_or_else(String::new, |t| t.to_string()), true);
    row.text(v.outcome.word(), false);
    row.text(survey.rounds.get(v.round.row()).map_or("", |r| &r.name), false);
    row.whole(Some(i64::from(v.round.0) + 1));
    row.text(&v.crew, true);
    row.text(v.promise(), true);
    row.text(v.cautions(), true);
    row.whole(v.minutes().map(i64::from));
    row.whole(v.by_hand().then_some(1));
}

/// The cells of a find, in the order of [`super::schema::FINDS`]; `visits` as [`visit_of_find`] gives them.
pub(super) fn find(survey: &Survey, visits: &[u32], i: usize, row: &mut RecordWriter) {
    let f = &survey.visits.finds()[i];
    row.nothing();
    row.whole(Some(i64::from(visits[i]) + 1));
    row.text(survey.kind_name(f.kind), false);
    row.whole(Some(i64::from(f.kind.0) + 1));
    for count in [f.count, f.wet, f.with_larvae, f.with_pupae, f.pupae] {
        row.whole(Some(count.into()));
    }
    row.text(f.stage.map_or("", |s| s.word()), true);
    row.number(f.litres.map(f64::from));
    row.text(f.action.map_or("", |a| a.word()), true);
    row.whole(Some(f.remains.into()));
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
