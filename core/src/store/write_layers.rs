//! Writing the layers of a survey: premises, blocks, streets, signals.

use super::save::Failure;
use crate::files::geopackage::{Layer, Order, describe_layer, line_blob, point_blob, polygon_blob, write_tree};
use crate::job::Watch;
use crate::place::Bounds;
use crate::survey::Survey;
use rusqlite::types::Null;
use rusqlite::{Connection, Result, Statement, params};

/// Rows between two looks at whether somebody asked to stop.
const STEP: usize = 16_384;

pub(super) fn premises(file: &Connection, survey: &Survey, changed: &str, watch: &dyn Watch) -> Result<(), Failure> {
    let p = &survey.premises;
    let mut insert = file.prepare("INSERT INTO premises VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")?;
    let mut blob = Vec::new();
    for i in 0..p.len() {
        if i % STEP == 0 {
            watch.step("Saving the premises", i as u64, p.len() as u64)?;
        }
        let outline = p.outline.get(i);
        insert.raw_bind_parameter(1, i as i64 + 1)?;
        if outline.is_empty() {
            insert.raw_bind_parameter(2, Null)?;
        } else {
            polygon_blob(outline, &mut blob);
            insert.raw_bind_parameter(2, &blob[..])?;
        }
        insert.raw_bind_parameter(3, p.parcel_id.get(i))?;
        bind_words(&mut insert, 4, p.address.get(i))?;
        let block = p.block[i];
        insert.raw_bind_parameter(5, block.map(|b| survey.blocks.block_id.get(b.row())))?;
        insert.raw_bind_parameter(6, block.map(|b| i64::from(b.0) + 1))?;
        bind_words(&mut insert, 7, if p.land_use.is_empty() { "" } else { p.land_use.get(i) })?;
        insert.raw_bind_parameter(8, p.year_built.get(i).copied().filter(|&y| y > 0))?;
        insert.raw_execute()?;
    }
    watch.step("Indexing the premises", 0, 0)?;
    write_tree(file, "premises", p.outline.bounds(), Order::AlongCurve)?;
    let about = "Parcels as places to inspect";
    let extent = p.outline.extent();
    describe_layer(file, Layer { name: "premises", about, geometry: "MULTIPOLYGON", extent, indexed: true }, changed)?;
    Ok(())
}

pub(super) fn blocks(file: &Connection, survey: &Survey, changed: &str) -> Result<()> {
    let b = &survey.blocks;
    let mut insert = file.prepare("INSERT INTO blocks VALUES (?1, ?2, ?3)")?;
    let mut blob = Vec::new();
    for i in 0..b.len() {
        let outline = b.outline.get(i);
        polygon_blob(outline, &mut blob);
        insert.execute(params![i as i64 + 1, (!outline.is_empty()).then_some(&blob[..]), b.block_id.get(i)])?;
    }
    write_tree(file, "blocks", b.outline.bounds(), Order::Any)?;
    let about = "Premises bounded by streets";
    describe_layer(file, Layer { name: "blocks", about, geometry: "MULTIPOLYGON", extent: b.outline.extent(), indexed: true }, changed)
}

pub(super) fn streets(file: &Connection, survey: &Survey, changed: &str) -> Result<()> {
    let s = &survey.streets;
    let mut insert = file.prepare("INSERT INTO streets VALUES (?1, ?2, ?3)")?;
    let mut blob = Vec::new();
    for i in 0..s.len() {
        let line = s.line.get(i);
        line_blob(line, &mut blob);
        insert.execute(params![i as i64 + 1, (!line.is_empty()).then_some(&blob[..]), words(s.name.get(i))])?;
    }
    write_tree(file, "streets", s.line.bounds(), Order::Any)?;
    let about = "Street centrelines";
    describe_layer(file, Layer { name: "streets", about, geometry: "MULTILINESTRING", extent: s.line.extent(), indexed: true }, changed)
}

pub(super) fn signals(file: &Connection, survey: &Survey, changed: &str) -> Result<()> {
    let mut insert = file.prepare("INSERT INTO signals VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")?;
    let mut blob = Vec::new();
    for (i, s) in survey.signals.iter().enumerate() {
        point_blob(s.place, &mut blob);
        let day = s.day.to_string();
        insert.execute(params![i as i64 + 1, blob, s.id, day, s.kind.word(), s.value, words(&s.species)])?;
    }
    let extent = survey.signals.iter().fold(Bounds::EMPTY, |b, s| b.with(s.place));
    let about = "Cases, trap counts and complaints; the place of a case is health information";
    describe_layer(file, Layer { name: "signals", about, geometry: "POINT", extent, indexed: false }, changed)
}

/// A text, or nothing where it is empty.
pub(super) fn words(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

fn bind_words(insert: &mut Statement<'_>, column: usize, text: &str) -> Result<()> {
    match words(text) {
        Some(text) => insert.raw_bind_parameter(column, text),
        None => insert.raw_bind_parameter(column, Null),
    }
}
