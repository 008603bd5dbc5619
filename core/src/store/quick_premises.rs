//! Reading the premises straight from the pages of the file that this program wrote.

use super::load::Trouble;
use super::read_layers::{Asked, Stretch};
use super::schema;
use crate::files::geopackage::{Cell, Pages, is_nothing, read_shape};
use crate::job::Watch;
use crate::survey::BlockId;
use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension as _};
use std::fs::File;
use std::path::Path;

/// Pages that one thread reads at a stretch: a mebibyte.
const STRETCH: usize = 256;

/// Reads the premises; `None` when anything about the file is not as this program writes it, so that SQLite must be asked.
/// `file` is the same file, held for reading so that no other program writes to it meanwhile.
pub(super) fn premises(path: &Path, file: &Connection, asked: Asked<'_>, watch: &dyn Watch) -> Result<Option<Stretch>, Trouble> {
    let Some(root) = root(file, "premises", schema::PREMISES)? else { return Ok(None) };
    let Some((leaves, mut readers)) = open(path, root) else { return Ok(None) };
    let mut all = Stretch::default();
    let stretches: Vec<&[u32]> = leaves.chunks(STRETCH).collect();
    let at_once = readers.len();
    for (i, wave) in stretches.chunks(at_once).enumerate() {
        watch.step("Reading the premises", (i * at_once) as u64, stretches.len() as u64)?;
        let read: Vec<_> = readers.par_iter_mut().zip(wave).map(|(pages, leaves)| stretch(pages, leaves, asked)).collect();
        for part in read {
            let Some(part) = part else { return Ok(None) };
            all.append(&part);
        }
    }
    Ok(Some(all))
}

/// The root page of a table that stands in the file as this program writes it.
fn root(file: &Connection, table: &str, sql: &str) -> rusqlite::Result<Option<u32>> {
    let ask = "SELECT rootpage FROM sqlite_schema WHERE name = ?1 AND sql = ?2";
    file.query_row(ask, [table, sql], |row| row.get(0)).optional()
}

/// The pages of a file and those that hold the rows of a table, which must stand in it as this program writes it.
pub(super) fn pages_of(path: &Path, file: &Connection, table: &str, sql: &str) -> rusqlite::Result<Option<(Pages, Vec<u32>)>> {
    let Some(root) = root(file, table, sql)? else { return Ok(None) };
    Ok(File::open(path).ok().and_then(Pages::of).and_then(|mut pages| {
        let leaves = pages.leaves(root)?;
        Some((pages, leaves))
    }))
}

/// The pages that hold the rows, and a reader for each thread.
fn open(path: &Path, root: u32) -> Option<(Vec<u32>, Vec<Pages>)> {
    let reader = || Pages::of(File::open(path).ok()?);
    let mut readers = (0..rayon::current_num_threads().max(1)).map(|_| reader()).collect::<Option<Vec<_>>>()?;
    let leaves = readers.first_mut()?.leaves(root)?;
    Some((leaves, readers))
}

fn stretch(pages: &mut Pages, leaves: &[u32], asked: Asked<'_>) -> Option<Stretch> {
    let mut out = Stretch::default();
    if asked.outlines {
        pages.rows(leaves, |key, cells: &[Cell<'_>; 8]| {
            push(&mut out, key, cells, asked)?;
            match cells[7] {
                Cell::Blob(blob) if !is_nothing(blob) => read_shape(blob, &mut out.outline).ok(),
                Cell::Blob(_) | Cell::Nothing => {
                    out.outline.end_shape();
                    Some(())
                }
                _ => None,
            }
        })?;
    } else {
        pages.rows(leaves, |key, cells: &[Cell<'_>; 7]| {
            out.outline.end_shape();
            push(&mut out, key, cells, asked)
        })?;
    }
    Some(out)
}

/// Adds the cells before the geometry, in the order of [`schema::PREMISES`].
fn push(out: &mut Stretch, key: i64, cells: &[Cell<'_>], asked: Asked<'_>) -> Option<()> {
    out.keys.push(key);
    out.parcel_id.push(text(cells[1])?);
    out.address.push(text(cells[2])?);
    out.block.push(match cells[4] {
        Cell::Nothing => None,
        Cell::Whole(key) => Some(BlockId(asked.blocks.row(key)?)),
        _ => return None,
    });
    if asked.land_use {
        out.land_use.push(text(cells[5])?);
    }
    if asked.year_built {
        out.year_built.push(match cells[6] {
            Cell::Nothing => 0,
            Cell::Whole(year) => u16::try_from(year).ok()?,
            _ => return None,
        });
    }
    Some(())
}

/// A cell's text; none is an empty text.
pub(super) fn text(cell: Cell<'_>) -> Option<&str> {
    match cell {
        Cell::Nothing => Some(""),
        Cell::Text(bytes) => std::str::from_utf8(bytes).ok(),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::store::load::Own;
    use crate::store::read_layers::{blocks, through_sqlite};
    use crate::store::{Parts, made_up, save};

    #[test]
    fn pages_and_sqlite_give_the_same_rows() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        let yes = |name: &str| (name.to_owned(), "yes".to_owned());
        let own = Own::from([yes("has_land_use"), yes("has_year_built")]);
        for count in [0, 1, 30, 20_000] {
            save(&made_up::squares(count), &path, &Unwatched).unwrap();
            let file = Connection::open(&path).unwrap();
            let keys = blocks(&file).unwrap().1;
            for what in [Parts::EVERYTHING, Parts::FOR_COUNTING] {
                let asked = Asked::of(&own, what, &keys);
                let quick = premises(&path, &file, asked, &Unwatched).unwrap();
                assert_eq!(quick, Some(through_sqlite(&path, &file, asked, &Unwatched).unwrap()), "{count} premises");
            }
        }
    }
}
