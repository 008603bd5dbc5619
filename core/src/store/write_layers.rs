//! Writing the layers of a survey: premises, blocks, streets, signals.

use super::save::Failure;
use super::write_tables::{find, visit, visit_of_find};
use crate::files::geopackage::{Layer, Order, RecordWriter, describe_layer, fill_table, line_blob, point_blob, polygon_blob, write_nodes};
use crate::job::Watch;
use crate::place::{Bounds, ShapeView, Shapes};
use crate::survey::{Ranges, Survey};
use rusqlite::{Connection, Result, params};
use std::fs::File;

/// For each row of a layer that has a shape its key and the node of the index that holds its box, in the order of the keys.
type Places = Vec<(i64, i64)>;

/// The places of the rows of the layers with an index.
pub(super) struct Indexed {
    premises: Places,
    blocks: Places,
    streets: Places,
}

/// Describes the layers that have an index, and writes their indexes but for what [`fill_long_tables`] adds.
pub(super) fn indexes(file: &Connection, survey: &Survey, changed: &str) -> Result<Indexed> {
    let index = |name, about, geometry, shapes: &Shapes, order| {
        let mut places = Vec::new();
        write_nodes(file, name, shapes.bounds(), order, &mut places)?;
        describe_layer(file, Layer { name, about, geometry, extent: shapes.extent(), indexed: true }, changed)?;
        Ok::<Places, rusqlite::Error>(places)
    };
    let (premises, blocks, streets) = (&survey.premises.outline, &survey.blocks.outline, &survey.streets.line);
    Ok(Indexed {
        premises: index("premises", "Parcels as places to inspect", "MULTIPOLYGON", premises, Order::AlongCurve)?,
        blocks: index("blocks", "Premises bounded by streets", "MULTIPOLYGON", blocks, Order::Any)?,
        streets: index("streets", "Street centrelines", "MULTILINESTRING", streets, Order::Any)?,
    })
}

/// Root pages of a layer's rows and of the table that names the index node of each.
#[derive(Clone, Copy, Debug)]
struct LayerRoots {
    rows: u32,
    places: u32,
}

/// Root pages of the tables that are filled when the database is closed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Roots {
    premises: LayerRoots,
    blocks: LayerRoots,
    streets: LayerRoots,
    visits: u32,
    finds: u32,
}

impl Roots {
    pub(super) fn of(file: &Connection) -> Result<Self> {
        let root = |table: &str| file.query_row("SELECT rootpage FROM sqlite_schema WHERE name = ?1", [table], |row| row.get(0));
        let layer =
            |name: &str| Ok::<_, rusqlite::Error>(LayerRoots { rows: root(name)?, places: root(&format!("rtree_{name}_geom_rowid"))? });
        Ok(Self {
            premises: layer("premises")?,
            blocks: layer("blocks")?,
            streets: layer("streets")?,
            visits: root("visits")?,
            finds: root("finds")?,
        })
    }
}

/// Adds the rows of the layers with an index, of the tables that name the index node of each, and of visits and finds, to a file
/// that no program has open.
pub(super) fn fill_long_tables(
    file: &mut File,
    roots: Roots,
    survey: &Survey,
    indexed: &Indexed,
    watch: &dyn Watch,
) -> std::result::Result<(), Failure> {
    let (premises, blocks, streets) = (survey.premises.len(), survey.blocks.len(), survey.streets.len());
    fill(file, roots.premises.rows, premises, ("Saving the premises", watch), |i, row| premise(survey, i, row))?;
    fill_places(file, roots.premises, &indexed.premises, ("Indexing the premises", watch))?;
    fill(file, roots.blocks.rows, blocks, ("Saving the blocks", watch), |i, row| block(survey, i, row))?;
    fill_places(file, roots.blocks, &indexed.blocks, ("Indexing the blocks", watch))?;
    fill(file, roots.streets.rows, streets, ("Saving the streets", watch), |i, row| street(survey, i, row))?;
    fill_places(file, roots.streets, &indexed.streets, ("Indexing the streets", watch))?;
    fill(file, roots.visits, survey.visits.len(), ("Saving the visits", watch), |i, row| visit(survey, i, row))?;
    let (finds, visits) = (survey.visits.finds().len(), visit_of_find(survey));
    fill(file, roots.finds, finds, ("Saving the finds", watch), |i, row| find(survey, &visits, i, row))
}

/// Fills a table whose keys are the numbers of its rows, from 1.
fn fill(
    file: &mut File,
    root: u32,
    count: usize,
    (stage, watch): (&'static str, &dyn Watch),
    write: impl Fn(usize, &mut RecordWriter) + Sync,
) -> std::result::Result<(), Failure> {
    let saving = |done: usize| Ok::<_, Failure>(watch.step(stage, done as u64, count as u64)?);
    fill_table(file, root, count, |i| i as i64 + 1, write, saving)
}

/// Fills the table that names the index node of each row.
fn fill_places(
    file: &mut File,
    roots: LayerRoots,
    places: &[(i64, i64)],
    (stage, watch): (&'static str, &dyn Watch),
) -> std::result::Result<(), Failure> {
    let node = |i: usize, row: &mut RecordWriter| {
        row.nothing();
        row.whole(Some(places[i].1));
    };
    fill_table(file, roots.places, places.len(), |i| places[i].0, node, |_| Ok::<_, Failure>(watch.step(stage, 0, 0)?))
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
    shape(p.outline.get(i), polygon_blob, row);
}

/// The cells of a block, in the order of its table.
fn block(survey: &Survey, i: usize, row: &mut RecordWriter) {
    row.nothing();
    shape(survey.blocks.outline.get(i), polygon_blob, row);
    row.text(survey.blocks.block_id.get(i), false);
}

/// The cells of a street, in the order of its table.
fn street(survey: &Survey, i: usize, row: &mut RecordWriter) {
    let s = &survey.streets;
    row.nothing();
    shape(s.line.get(i), line_blob, row);
    row.text(s.name.get(i), true);
    row.text(s.class.get(i).map_or("", |class| class.word()), true);
    row.whole(s.level.get(i).map(|&level| level.into()));
    let Ranges { left, right } = s.ranges.get(i).copied().unwrap_or_default();
    for side in [left, right] {
        row.whole(side.map(|numbers| numbers.from.into()));
        row.whole(side.map(|numbers| numbers.to.into()));
    }
}

/// A cell with a shape; empty where there is none.
fn shape(shape: ShapeView<'_>, write: impl FnOnce(ShapeView<'_>, &mut Vec<u8>), row: &mut RecordWriter) {
    if shape.is_empty() { row.nothing() } else { row.blob(|out| write(shape, out)) }
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
