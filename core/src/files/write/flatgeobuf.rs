//! Rows as a FlatGeobuf: degrees on WGS 84, with an index where every row has a place.

use super::{Column, Drawn, Failure, Features, Values};
use crate::job::Watch;
use crate::place::{Frame, Local, LonLat, ShapeView, Shapes};
use flatgeobuf::geozero::error::Result as Processed;
use flatgeobuf::geozero::{ColumnValue, GeomProcessor, GeozeroGeometry, PropertyProcessor};
use flatgeobuf::{ColumnType, FgbCrs, FgbWriter, FgbWriterOptions, GeometryType};
use std::fs::File;
use std::io::{BufWriter, Error, Write as _};
use std::path::Path;

/// Rows between two looks at whether somebody asked to stop.
const STEP: usize = 4_096;

/// With an index the rows lie along a curve over the ground, which is what the index asks; without one they keep their order.
/// A row without a place cannot be in an index.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let refused = |e: &dyn ToString| Failure::Io(Error::other(e.to_string()));
    let write_index = features.shapes.as_ref().is_some_and(|s| s.2.iter().all(|shape| !shape.places().is_empty()));
    let crs = FgbCrs { org: Some("EPSG"), code: 4326, name: Some("WGS 84"), ..FgbCrs::default() };
    let options =
        FgbWriterOptions { write_index, detect_type: false, crs, description: Some(features.about), ..FgbWriterOptions::default() };
    let kind = features.shapes.as_ref().map_or(GeometryType::Unknown, |s| kind(s.1, &s.2));
    let mut writer = FgbWriter::create_with_options(features.name, kind, options).map_err(|e| refused(&e))?;
    for column in &features.columns {
        writer.add_column(column.name, column_type(column), |_, _| {});
    }
    let rows = features.rows();
    for row in 0..rows {
        if row % STEP == 0 {
            watch.step("Writing the rows", row as u64, rows as u64)?;
        }
        let shape = features.shapes.as_ref().map(|(frame, _, shapes)| (*frame, shapes.get(row)));
        let mut filled = Ok(());
        let added = writer.add_feature_geom(Row { kind, shape }, |to| filled = fill(features, row, to));
        added.and(filled).map_err(|e| refused(&e))?;
    }
    let mut out = BufWriter::new(File::create(path)?);
    writer.write(&mut out).map_err(|e| refused(&e))?;
    Ok(out.flush()?)
}

fn kind(drawn: Drawn, shapes: &Shapes) -> GeometryType {
    match drawn {
        Drawn::Outlines => GeometryType::MultiPolygon,
        Drawn::Lines => GeometryType::MultiLineString,
        Drawn::Points if shapes.iter().all(|s| s.places().len() == 1) => GeometryType::Point,
        Drawn::Points => GeometryType::MultiPoint,
    }
}

fn column_type(column: &Column) -> ColumnType {
    match column.values {
        Values::Text(_) => ColumnType::String,
        Values::Whole(_) => ColumnType::Long,
        Values::Number(..) => ColumnType::Double,
        Values::Day(_) => ColumnType::DateTime,
    }
}

/// Puts the cells of a row; a cell without an answer is left out.
fn fill(features: &Features, row: usize, to: &mut impl PropertyProcessor) -> Processed<()> {
    for (i, column) in features.columns.iter().enumerate() {
        let cell = column.cell(row);
        let value = match &column.values {
            _ if cell.is_empty() => continue,
            Values::Text(_) => ColumnValue::String(&cell),
            Values::Day(_) => ColumnValue::DateTime(&cell),
            Values::Whole(v) => ColumnValue::Long(v[row].unwrap_or_default()),
            Values::Number(v, _) => ColumnValue::Double(v[row].unwrap_or_default()),
        };
        to.property(i, column.name, &value)?;
    }
    Ok(())
}

struct Row<'a> {
    kind: GeometryType,
    shape: Option<(Frame, ShapeView<'a>)>,
}

impl GeozeroGeometry for Row<'_> {
    fn process_geom<P: GeomProcessor>(&self, to: &mut P) -> Processed<()> {
        let Some((frame, shape)) = self.shape else { return Ok(()) };
        match self.kind {
            GeometryType::MultiPolygon => {
                to.multipolygon_begin(shape.parts().len(), 0)?;
                for (i, part) in shape.parts().enumerate() {
                    to.polygon_begin(false, part.rings().len(), i)?;
                    part.rings().enumerate().try_for_each(|(k, ring)| line(to, &frame, ring.iter().chain(ring.first()), k))?;
                    to.polygon_end(false, i)?;
                }
                if shape.is_empty() {
                    // Other readers refuse an outline without any part; one part without places they take.
                    to.polygon_begin(false, 0, 0)?;
                    to.polygon_end(false, 0)?;
                }
                to.multipolygon_end(0)
            }
            GeometryType::MultiLineString => {
                to.multilinestring_begin(shape.rings().len(), 0)?;
                shape.rings().enumerate().try_for_each(|(k, run)| line(to, &frame, run, k))?;
                to.multilinestring_end(0)
            }
            GeometryType::Point => {
                to.point_begin(0)?;
                places(to, &frame, shape.places())?;
                to.point_end(0)
            }
            _ => {
                to.multipoint_begin(shape.places().len(), 0)?;
                places(to, &frame, shape.places())?;
                to.multipoint_end(0)
            }
        }
    }
}

fn line<'a, P: GeomProcessor>(to: &mut P, frame: &Frame, run: impl IntoIterator<Item = &'a Local>, number: usize) -> Processed<()> {
    to.linestring_begin(false, 0, number)?;
    places(to, frame, run)?;
    to.linestring_end(false, number)
}

fn places<'a, P: GeomProcessor>(to: &mut P, frame: &Frame, run: impl IntoIterator<Item = &'a Local>) -> Processed<()> {
    run.into_iter().enumerate().try_for_each(|(i, p)| {
        let LonLat { lon, lat } = frame.lon_lat_from_local(*p);
        to.xy(lon, lat, i)
    })
}
