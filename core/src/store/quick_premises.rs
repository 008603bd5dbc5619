//! Reading premises and blocks straight from the pages of the file that this program wrote.

use super::load::{Parts, Trouble};
use super::read_layers::{Asked, Keys, NamedShapes, Stretch};
use super::schema;
use crate::files::geopackage::{Cell, Pages, is_nothing, read_shape};
use crate::job::Watch;
use crate::place::Shapes;
use crate::survey::{BlockId, Strings};
use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension as _};
use std::fs::File;
use std::path::Path;

/// Pages that one thread reads at a stretch: a mebibyte.
const STRETCH: usize = 256;
/// Room made for a row when the first stretch has told how long rows are.
const AMPLE: f64 = 1.1;

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
        let read = |(reader, leaves): (&mut Reader, &&[u32])| reader.read(leaves, asked);
        if readers.par_iter_mut().zip(wave).map(read).any(|read| read.is_none()) {
            return Ok(None);
        }
        if i == 0 {
            all.reserve_times(AMPLE * leaves.len() as f64 / STRETCH as f64, &readers[0].found);
        }
        readers[..wave.len()].iter().for_each(|reader| all.append(&reader.found));
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
fn open(path: &Path, root: u32) -> Option<(Vec<u32>, Vec<Reader>)> {
    let reader = || Some(Reader { pages: Pages::of(File::open(path).ok()?)?, found: Stretch::default() });
    let mut readers = (0..rayon::current_num_threads().max(1)).map(|_| reader()).collect::<Option<Vec<_>>>()?;
    let leaves = readers.first_mut()?.pages.leaves(root)?;
    Some((leaves, readers))
}

/// Reads one stretch after the other into the same memory.
struct Reader {
    pages: Pages,
    found: Stretch,
}

impl Reader {
    fn read(&mut self, leaves: &[u32], asked: Asked<'_>) -> Option<()> {
        let Self { pages, found } = self;
        found.clear();
        if !asked.outlines {
            return pages.rows(leaves, |key, cells: &[Cell<'_>; 7]| {
                found.outline.end_shape();
                push(found, key, cells, asked)
            });
        }
        pages.rows(leaves, |key, cells: &[Cell<'_>; 8]| {
            push(found, key, cells, asked)?;
            outline(cells[7], &mut found.outline)
        })
    }
}

/// Adds the outline of a cell.
fn outline(cell: Cell<'_>, into: &mut Shapes) -> Option<()> {
    match cell {
        Cell::Blob(blob) if !is_nothing(blob) => read_shape(blob, into).ok(),
        Cell::Blob(_) | Cell::Nothing => {
            into.end_shape();
            Some(())
        }
        _ => None,
    }
}

/// Reads the blocks; `None` as for [`premises`].
pub(super) fn blocks(path: &Path, file: &Connection, what: Parts) -> rusqlite::Result<Option<NamedShapes>> {
    let Some((mut pages, leaves)) = pages_of(path, file, "blocks", schema::BLOCKS)? else { return Ok(None) };
    let (mut shapes, mut names, mut keys) = (Shapes::default(), Strings::default(), Vec::new());
    let read = pages.rows(&leaves, |key, cells: &[Cell<'_>; 3]| {
        keys.push(key);
        names.push(text(cells[2])?);
        if what.blocks { outline(cells[1], &mut shapes) } else { Some(()) }
    });
    Ok(read.map(|()| (shapes, names, Keys::list(keys))))
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
    use crate::store::read_layers::{self, named_shapes, through_sqlite};
    use crate::store::{made_up, save};

    #[test]
    fn pages_and_sqlite_give_the_same_rows() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        let yes = |name: &str| (name.to_owned(), "yes".to_owned());
        let own = Own::from([yes("has_land_use"), yes("has_year_built")]);
        for count in [0, 1, 30, 20_000] {
            save(&made_up::squares(count), &path, &Unwatched).unwrap();
            let file = Connection::open(&path).unwrap();
            let keys = read_layers::blocks(&path, &file, Parts::EVERYTHING).unwrap().1;
            let quick = blocks(&path, &file, Parts::EVERYTHING).unwrap().unwrap();
            let slow = named_shapes(&file, "blocks", "block_id").unwrap();
            assert!((&quick.0, &quick.1) == (&slow.0, &slow.1) && quick.2.same(&slow.2), "the blocks of {count} premises");
            for what in [Parts::EVERYTHING, Parts::FOR_COUNTING] {
                let asked = Asked::of(&own, what, &keys);
                let quick = premises(&path, &file, asked, &Unwatched).unwrap();
                assert_eq!(quick, Some(through_sqlite(&path, &file, asked, &Unwatched).unwrap()), "{count} premises");
            }
        }
    }
}
