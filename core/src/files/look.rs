//! What a file holds, in words: nothing is changed, nothing is kept.

use super::format::Opened;
use super::sketch::rows_in_words;
use super::source::{Source, split_layer};
use super::{FileError, Format, ShapeKind, Table};
use crate::job::Watch;
use crate::place::{Crs, invalid_shapes};
use std::collections::BTreeSet;
use std::path::Path;

/// Rows whose cells are looked at for samples.
const ROWS_LOOKED_AT: usize = 1000;
/// Cells looked at for samples, in files of very many columns.
const CELLS_LOOKED_AT: usize = 2_000_000;
/// Layers looked at.
const LAYERS_LOOKED_AT: usize = 256;
/// Samples a column.
const SAMPLES: usize = 5;
/// Rows named one by one when their shapes cannot be read.
const ROWS_NAMED: usize = 5;

/// What a file holds.
#[derive(Debug)]
pub struct Look {
    /// The format.
    pub format: Format,
    /// Its layers, in the order of the file.
    pub layers: Vec<LayerLook>,
    /// What is wrong or odd about it, in sentences.
    pub defects: Vec<String>,
}

/// One layer of a file.
#[derive(Debug)]
pub struct LayerLook {
    /// Its name.
    pub name: String,
    /// Records, with or without a shape that can be used.
    pub features: usize,
    /// What kinds of shapes there are: "outlines", "lines and points", "none".
    pub geometry: String,
    /// The coordinate system that the file names.
    pub crs: Option<Crs>,
    /// Its columns, in the order of the file.
    pub columns: Vec<ColumnLook>,
}

/// One column of a layer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ColumnLook {
    /// Its name.
    pub name: String,
    /// The first few different texts in it.
    pub samples: Vec<String>,
}

/// Says what a file holds. Changes nothing.
///
/// # Errors
/// [`FileError`] when the file cannot be opened, is of no known format, none of its layers can be read, or when somebody
/// stopped it. A layer that cannot be read beside others that can is a defect.
pub fn look(path: &Path, watch: &dyn Watch) -> Result<Look, FileError> {
    look_with(path, watch, &mut |_| ())
}

/// [`look`], showing each layer's table to somebody before it is dropped.
///
/// # Errors
/// As [`look`].
pub(crate) fn look_with(path: &Path, watch: &dyn Watch, see: &mut dyn FnMut(&Table)) -> Result<Look, FileError> {
    let (path, chosen) = split_layer(path);
    let mut opened = Opened::new(Source::open(&path)?)?;
    let mut look = Look { format: opened.format(), layers: Vec::new(), defects: Vec::new() };
    let mut names = opened.layers()?;
    let more = names.len().saturating_sub(LAYERS_LOOKED_AT);
    if more > 0 && chosen.is_none() {
        names.truncate(LAYERS_LOOKED_AT);
        look.defects.push(format!("there are {more} more layers that were not looked at"));
    }
    if let Some(asked) = chosen.clone().filter(|c| !names.contains(c)) {
        return Err(FileError::NoSuchLayer { file: path.display().to_string(), asked, layers: names });
    }
    let many = names.len() > 1;
    let mut first_error = None;
    for name in names.into_iter().filter(|n| chosen.as_ref().is_none_or(|c| c == n)) {
        match opened.read(Some(&name), watch) {
            Ok(table) => {
                let before = if many { format!("layer {name}: ") } else { String::new() };
                look.defects.extend(defects(&table).into_iter().map(|d| format!("{before}{d}")));
                look.layers.push(layer(&table));
                see(&table);
            }
            Err(FileError::Cancelled(stopped)) => return Err(stopped.into()),
            Err(error) => {
                look.defects.push(error.to_string());
                first_error = first_error.or(Some(error));
            }
        }
    }
    match first_error {
        Some(error) if look.layers.is_empty() => Err(error),
        _ => Ok(look),
    }
}

fn layer(table: &Table) -> LayerLook {
    let columns = column_looks(table);
    LayerLook { name: table.name.clone(), features: table.rows, geometry: geometry(&table.kinds), crs: table.crs.clone(), columns }
}

/// The columns of a table with the first few different texts in each.
pub fn column_looks(table: &Table) -> Vec<ColumnLook> {
    table.columns.iter().enumerate().map(|(c, name)| ColumnLook { name: name.clone(), samples: samples(table, c) }).collect()
}

fn samples(table: &Table, column: usize) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for row in 0..table.rows.min(ROWS_LOOKED_AT).min(CELLS_LOOKED_AT / table.columns.len() + 1) {
        let cell = table.cell(row, column);
        if !cell.is_empty() && !found.iter().any(|f| *f == cell) {
            found.push(cell.into_owned());
        }
        if found.len() == SAMPLES {
            break;
        }
    }
    found
}

/// The kinds of shapes in words, the widest kind first.
fn geometry(kinds: &[ShapeKind]) -> String {
    let words = [(ShapeKind::Polygon, "outlines"), (ShapeKind::Line, "lines"), (ShapeKind::Point, "points")];
    let there: Vec<&str> = words.into_iter().filter(|(k, _)| kinds.contains(k)).map(|(_, w)| w).collect();
    if there.is_empty() { "none".to_owned() } else { there.join(" and ") }
}

fn defects(table: &Table) -> Vec<String> {
    let mut out = Vec::new();
    let shaped = table.kinds.iter().any(|k| *k != ShapeKind::Nothing);
    if shaped && table.crs.is_none() {
        out.push("it names no coordinate system, so its EPSG number has to be given".to_owned());
    }
    out.extend(unusable(table));
    let without = table.kinds.iter().filter(|k| **k == ShapeKind::Nothing).count();
    if shaped && without > 0 {
        out.push(format!("{} without a shape", rows_in_words(without)));
    }
    out.extend(broken(table));
    if table.rows == 0 {
        out.push("there is no row in it".to_owned());
    }
    out.extend(places(table));
    out.extend(twice(&table.columns));
    out.extend(table.notes.iter().cloned());
    out
}

/// Outlines that break the simple-features rules, which intake makes valid.
fn broken(table: &Table) -> Option<String> {
    let outlines = table.kinds.iter().filter(|k| **k == ShapeKind::Polygon).count();
    let all_are = outlines > 0 && table.kinds.iter().all(|k| matches!(k, ShapeKind::Polygon | ShapeKind::Nothing));
    let n = if all_are { invalid_shapes(&table.shapes).len() } else { 0 };
    let rows = if n == 1 { "1 outline breaks".to_owned() } else { format!("{n} outlines break") };
    (n > 0).then(|| format!("{rows} the rules for simple features; intake mends what it can"))
}

fn unusable(table: &Table) -> Option<String> {
    let named: Vec<String> = table.unusable.iter().take(ROWS_NAMED).map(|(row, why)| format!("row {} {why}", row + 1)).collect();
    let more = table.unusable.len().saturating_sub(ROWS_NAMED);
    let rest = if more > 0 { format!("; and {more} more") } else { String::new() };
    (!named.is_empty())
        .then(|| format!("{} with a shape that cannot be used: {}{rest}", rows_in_words(table.unusable.len()), named.join("; ")))
}

/// What the numbers themselves say against the coordinate system.
fn places(table: &Table) -> Option<String> {
    let [least, largest] = table.shapes.extent().filter(|_| table.crs == Some(Crs::Wgs84))?;
    if least[1] < -90.0 || largest[1] > 90.0 || least[0] < -360.0 || largest[0] > 360.0 {
        let turned = least[0] >= -90.0 && largest[0] <= 90.0 && least[1] >= -180.0 && largest[1] <= 180.0;
        let why = if turned { "latitude may stand before longitude" } else { "the numbers are no degrees" };
        return Some(format!("latitudes reach from {} to {}, off the earth: {why}", short(least[1]), short(largest[1])));
    }
    let polar = largest[1] < -60.0 || least[1] > 72.0;
    polar.then(|| {
        format!(
            "all places lie at latitude {:.1}, longitude {:.1}, where few people live: latitude may stand before longitude",
            least[1], least[0]
        )
    })
}

/// A coordinate in few digits.
fn short(number: f64) -> String {
    if number.abs() < 1e9 { format!("{number:.1}") } else { format!("{number:.1e}") }
}

fn twice(columns: &[String]) -> Option<String> {
    let mut seen = BTreeSet::new();
    let again: BTreeSet<&str> = columns.iter().filter(|c| !seen.insert(c.to_lowercase())).map(String::as_str).collect();
    (!again.is_empty())
        .then(|| format!("several columns share a name, the first one counts: {}", again.into_iter().collect::<Vec<_>>().join(", ")))
}
