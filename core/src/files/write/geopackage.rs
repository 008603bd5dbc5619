//! Rows as a GeoPackage of one layer, in the district frame.

use super::{Drawn, Failure, Features, Values};
use crate::files::geopackage::{
    Layer, Order, create_frame_tables, describe_layer, describe_table, line_blob, point_blob, polygon_blob, write_tree,
};
use crate::job::Watch;
use crate::place::{Frame, LonLat, ShapeView};
use rusqlite::types::Null;
use rusqlite::{Connection, OpenFlags, Result, Statement};
use std::path::Path;

/// The moment that stands in the file: files must not depend on a clock.
const NO_DATE: &str = "2000-01-01T00:00:00.000Z";
/// Rows between two looks at whether somebody asked to stop.
const STEP: usize = 16_384;

pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> std::result::Result<(), Failure> {
    let mut file = create(path)?;
    let all = file.transaction()?;
    let frame = features.shapes.as_ref().map_or(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }), |s| s.0);
    create_frame_tables(&all, &frame)?;
    all.execute_batch(&table(features))?;
    rows(&all, features, watch)?;
    describe(&all, features)?;
    all.commit()?;
    file.close().map_err(|(_, source)| source)?;
    Ok(())
}

/// A new database that is written once and from beginning to end.
fn create(path: &Path) -> Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let file = Connection::open_with_flags(path, flags)?;
    file.execute_batch("PRAGMA page_size = 4096; PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA locking_mode = EXCLUSIVE;")?;
    Ok(file)
}

fn table(features: &Features) -> String {
    let geometry = features.shapes.as_ref().map(|s| format!(", geom {}", kind(s.1))).unwrap_or_default();
    let columns = features.columns.iter().map(|c| {
        let kind = match c.values {
            Values::Text(_) => "TEXT",
            Values::Whole(_) => "INTEGER",
            Values::Number(..) => "DOUBLE",
            Values::Day(_) => "DATE",
        };
        format!(", \"{}\" {kind}", c.name)
    });
    format!("CREATE TABLE {} (fid INTEGER PRIMARY KEY NOT NULL{geometry}{})", features.name, columns.collect::<String>())
}

fn kind(drawn: Drawn) -> &'static str {
    match drawn {
        Drawn::Outlines => "MULTIPOLYGON",
        Drawn::Lines => "MULTILINESTRING",
        Drawn::Points => "POINT",
    }
}

fn rows(file: &Connection, features: &Features, watch: &dyn Watch) -> std::result::Result<(), Failure> {
    let cells = 1 + usize::from(features.shapes.is_some()) + features.columns.len();
    let marks = vec!["?"; cells].join(", ");
    let mut insert = file.prepare(&format!("INSERT INTO {} VALUES ({marks})", features.name))?;
    let mut blob = Vec::new();
    for row in 0..features.rows() {
        if row % STEP == 0 {
            watch.step("Writing the rows", row as u64, features.rows() as u64)?;
        }
        insert.raw_bind_parameter(1, row as i64 + 1)?;
        let mut next = 2;
        if let Some((_, drawn, shapes)) = &features.shapes {
            bind_shape(&mut insert, *drawn, shapes.get(row), &mut blob)?;
            next += 1;
        }
        for (i, column) in features.columns.iter().enumerate() {
            match &column.values {
                Values::Whole(v) => insert.raw_bind_parameter(next + i, v[row])?,
                Values::Number(v, _) => insert.raw_bind_parameter(next + i, v[row])?,
                Values::Text(_) | Values::Day(_) => {
                    let cell = column.cell(row);
                    insert.raw_bind_parameter(next + i, (!cell.is_empty()).then_some(cell.as_ref()))?;
                }
            }
        }
        insert.raw_execute()?;
    }
    Ok(())
}

fn bind_shape(insert: &mut Statement<'_>, drawn: Drawn, shape: ShapeView<'_>, blob: &mut Vec<u8>) -> Result<()> {
    let place = shape.places().first().copied();
    blob.clear();
    match (drawn, place) {
        (_, None) => return insert.raw_bind_parameter(2, Null),
        (Drawn::Outlines, _) => polygon_blob(shape, blob),
        (Drawn::Lines, _) => line_blob(shape, blob),
        (Drawn::Points, Some(p)) => point_blob(p, blob),
    }
    insert.raw_bind_parameter(2, &blob[..])
}

fn describe(file: &Connection, features: &Features) -> Result<()> {
    let (name, about) = (features.name, features.about);
    match &features.shapes {
        None => describe_table(file, name, about, NO_DATE),
        Some((_, drawn, shapes)) => {
            write_tree(file, name, shapes.bounds(), Order::Any)?;
            describe_layer(file, Layer { name, about, geometry: kind(*drawn), extent: shapes.extent(), indexed: true }, NO_DATE)
        }
    }
}
