//! Small tables for tests.

use crate::files::{ShapeKind, Table};
use crate::place::{Crs, RawShapes};
use crate::survey::Strings;
use std::collections::BTreeMap;

/// A table without shapes.
pub(super) fn table(name: &str, columns: &[&str], rows: &[&[&str]]) -> Table {
    let cells: Vec<Strings> = (0..columns.len()).map(|c| rows.iter().map(|r| r[c]).collect()).collect();
    Table {
        name: name.to_owned(),
        crs: None,
        columns: columns.iter().map(|c| (*c).to_owned()).collect(),
        rows: rows.len(),
        cells: Box::new(cells),
        kinds: Vec::new(),
        shapes: RawShapes::default(),
        unusable: BTreeMap::new(),
        notes: Vec::new(),
    }
}

/// Gives a table one ring a row, in degrees; an empty ring is a row without a shape.
pub(super) fn with_rings(mut table: Table, rings: &[Vec<[f64; 2]>]) -> Table {
    table.crs = Some(Crs::Wgs84);
    for ring in rings {
        let kind = match ring.len() {
            0 => ShapeKind::Nothing,
            1 => ShapeKind::Point,
            2 => ShapeKind::Line,
            _ => ShapeKind::Polygon,
        };
        table.kinds.push(kind);
        if !ring.is_empty() {
            table.shapes.xy.extend(ring);
            table.shapes.end_ring();
            table.shapes.end_part();
        }
        table.shapes.end_shape();
    }
    table
}

/// A lot of about 20 m by 30 m: the `i`-th to the east and the `j`-th to the north of the sample district's corner.
pub(super) fn lot(i: i32, j: i32) -> Vec<[f64; 2]> {
    let (w, h) = (0.000_25, 0.000_25);
    let (x, y) = (-90.0 + f64::from(i) * w, 30.0 + f64::from(j) * h);
    vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
}
