//! Writing the layers of a survey: premises, blocks, streets, signals.

use super::save::Failure;
use super::write_tables::{find, visit, visit_of_find};
use crate::files::geopackage::{
    Layer, Order, RecordWriter, describe_layer, fill_table, line_blob, point_blob, polygon_blob, write_nodes, write_tree,
};
use crate::job::Watch;
use crate::place::Bounds;
use crate::survey::{Ranges, Survey};
use rusqlite::{Connection, Result, params};
use std::fs::File;

/// Rows written between two looks at the watch.
const AT_ONCE: usize = 4096;

/// Describes the layer of premises and writes its index, but for what [`fill_premises`] adds: gives for each premise with an
/// outline its key and its node of the index.
pub(super) fn premises(file: &Connection, survey: &Survey, changed: &str) -> Result<Vec<(i64, i64)>> {
    let outline = &survey.premises.outline;
    let mut place = Vec::new();
    write_nodes(file, "premises", outline.bounds(), Order::AlongCurve, &mut place)?;
    let about = "Parcels as places to inspect";
    describe_layer(file, Layer { name: "premises", about, geometry: "MULTIPOLYGON", extent: outline.extent(), indexed: true }, changed)?;
    Ok(place)
}

/// Root pages of the tables that are filled when the database is closed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Roots {
    premises: u32,
    places: u32,
    visits: u32,
    finds: u32,
}

impl Roots {
    pub(super) fn of(file: &Connection) -> Result<Self> {
        let root = |table: &str| file.query_row("SELECT rootpage FROM sqlite_schema WHERE name = ?1", [table], |row| row.get(0));
        Ok(Self { premises: root("premises")?, places: root("rtree_premises_geom_rowid")?, visits: root("visits")?, finds: root("finds")? })
    }
}

/// Adds the rows of the premises, of the table that names the index node of each, and of visits and finds, to a file that no
/// program has open.
pub(super) fn fill_long_tables(
    file: &mut File,
    roots: Roots,
    survey: &Survey,
    place: &[(i64, i64)],
    watch: &dyn Watch,
) -> std::result::Result<(), Failure> {
    let count = survey.premises.len();
    let saving = |done: usize| Ok::<_, Failure>(watch.step("Saving the premises", done as u64, count as u64)?);
    fill_table(file, roots.premises, count, |i| i as i64 + 1, |i, row| premise(survey, i, row), saving)?;
    let node = |i: usize, row: &mut RecordWriter| {
        row.nothing();
        row.whole(Some(place[i].1));
    };
    fill_table(file, roots.places, place.len(), |i| place[i].0, node, |_| Ok::<_, Failure>(watch.step("Indexing the premises", 0, 0)?))?;
    let saving = |done: usize| Ok::<_, Failure>(watch.step("Saving the visits", done as u64, survey.visits.len() as u64)?);
    fill_table(file, roots.visits, survey.visits.len(), |i| i as i64 + 1, |i, row| visit(survey, i, row), saving)?;
    let (finds, visits) = (survey.visits.finds().len(), visit_of_find(survey));
    let saving = |done: usize| Ok::<_, Failure>(watch.step("Saving the finds", done as u64, finds as u64)?);
    fill_table(file, roots.finds, finds, |i| i as i64 + 1, |i, row| find(survey, &visits, i, row), saving)
}

/// The cells of a premise, in the order of [`super::schema::PREMISES`].
fn premise(survey: &Survey, i: usize, row: &mut RecordWriter) {
    let p = &survey.premises;
    let block = p.block[i];
    row.nothing();
    row.text(p.parcel_id.get(i), false);
    row.text(p.address.get(i), true);
    match block {
        Some(b) => row.text(survey.blocks.block_id.get(b.row()), false),
        None => row.nothing(),
    }
    row.whole(block.map(|b| i64::from(b.0) + 1));
    row.text(if p.land_use.is_empty() { "" } else { p.land_use.get(i) }, true);
    row.whole(p.year_built.get(i).filter(|&&y| y > 0).map(|&y| y.into()));
    let outline = p.outline.get(i);
    if outline.is_empty() { row.nothing() } else { row.blob(|out| polygon_blob(outline, out)) }
}

pub(super) fn blocks(file: &Connection, survey: &Survey, changed: &str, watch: &dyn Watch) -> std::result::Result<(), Failure> {
    let b = &survey.blocks;
    let mut insert = file.prepare("INSERT INTO blocks VALUES (?1, ?2, ?3)")?;
    let mut blob = Vec::new();
    for i in 0..b.len() {
        if i.is_multiple_of(AT_ONCE) {
            watch.step("Saving the blocks", i as u64, b.len() as u64)?;
        }
        let outline = b.outline.get(i);
        blob.clear();
        polygon_blob(outline, &mut blob);
        insert.execute(params![i as i64 + 1, (!outline.is_empty()).then_some(&blob[..]), b.block_id.get(i)])?;
    }
    write_tree(file, "blocks", b.outline.bounds(), Order::Any)?;
    let about = "Premises bounded by streets";
    describe_layer(file, Layer { name: "blocks", about, geometry: "MULTIPOLYGON", extent: b.outline.extent(), indexed: true }, changed)?;
    Ok(())
}

pub(super) fn streets(file: &Connection, survey: &Survey, changed: &str, watch: &dyn Watch) -> std::result::Result<(), Failure> {
    let s = &survey.streets;
    let mut insert = file.prepare("INSERT INTO streets VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)")?;
    let mut blob = Vec::new();
    for i in 0..s.len() {
        if i.is_multiple_of(AT_ONCE) {
            watch.step("Saving the streets", i as u64, s.len() as u64)?;
        }
        let line = s.line.get(i);
        blob.clear();
        line_blob(line, &mut blob);
        let (class, level) = (s.class.get(i).map(|c| c.word()), s.level.get(i));
        let Ranges { left, right } = s.ranges.get(i).copied().unwrap_or_default();
        let numbers = [left.map(|n| n.from), left.map(|n| n.to), right.map(|n| n.from), right.map(|n| n.to)];
        let (shape, name) = ((!line.is_empty()).then_some(&blob[..]), words(s.name.get(i)));
        insert.execute(params![i as i64 + 1, shape, name, class, level, numbers[0], numbers[1], numbers[2], numbers[3]])?;
    }
    write_tree(file, "streets", s.line.bounds(), Order::Any)?;
    let about = "Street centrelines";
    describe_layer(file, Layer { name: "streets", about, geometry: "MULTILINESTRING", extent: s.line.extent(), indexed: true }, changed)?;
    Ok(())
}

pub(super) fn signals(file: &Connection, survey: &Survey, changed: &str) -> Result<()> {
    let mut insert = file.prepare("INSERT INTO signals VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")?;
    let mut blob = Vec::new();
    for (i, s) in survey.signals.iter().enumerate() {
        blob.clear();
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
