//! Reading premises and blocks straight from the pages of the file that this program wrote.

use super::as_written::{Table, pages_of};
use super::load::Parts;
use super::read_layers::{Asked, Keys, NamedShapes, Stretch};
use crate::files::geopackage::{Cell, Pages, is_nothing, read_shape};
use crate::job::{Cancelled, Watch};
use crate::place::Shapes;
use crate::survey::{BlockId, Strings};
use rayon::prelude::*;
use std::path::Path;

/// Pages that one thread reads at a stretch: a mebibyte.
const STRETCH: usize = 256;
/// Room made for a row when the first stretch has told how long rows are.
const AMPLE: f64 = 1.1;

/// The pages that hold the premises, and a reader for each thread.
pub(super) struct PremisePages {
    leaves: Vec<u32>,
    readers: Vec<Reader>,
}

impl PremisePages {
    /// As many readers as there are threads, of which the first has the pages already.
    pub(super) fn of(path: &Path, first: Table) -> Option<Self> {
        let more = (1..rayon::current_num_threads()).map(|_| pages_of(path));
        let pages = std::iter::once(Some(first.pages)).chain(more);
        let readers = pages.map(|pages| Some(Reader { pages: pages?, found: Stretch::default() })).collect::<Option<_>>()?;
        Some(Self { leaves: first.leaves, readers })
    }

    /// Reads the premises; `None` when anything about them is not as this program writes it, so that SQLite must be asked.
    pub(super) fn read(&mut self, asked: Asked<'_>, watch: &dyn Watch) -> Result<Option<Stretch>, Cancelled> {
        let Self { leaves, readers } = self;
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
            return pages.rows(leaves, |key, cells: &[Cell<'_>; 7]| push(found, key, cells, asked));
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

/// Reads the blocks; `None` as for [`PremisePages::read`].
pub(super) fn blocks(table: &mut Table, what: Parts) -> Option<NamedShapes> {
    let (mut shapes, mut names, mut keys) = (Shapes::default(), Strings::default(), Vec::new());
    table.pages.rows(&table.leaves, |key, cells: &[Cell<'_>; 3]| {
        keys.push(key);
        names.push(text(cells[2])?);
        if what.blocks { outline(cells[1], &mut shapes) } else { Some(()) }
    })?;
    Some((shapes, names, Keys::list(keys)))
}

/// Adds the cells before the geometry, in the order of [`schema::PREMISES`].
fn push(out: &mut Stretch, key: i64, cells: &[Cell<'_>], asked: Asked<'_>) -> Option<()> {
    out.keys.push(key);
    if asked.ids {
        out.parcel_id.push(text(cells[1])?);
    }
    if asked.addresses {
        out.address.push(text(cells[2])?);
    }
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
    use crate::store::as_written::AsWritten;
    use crate::store::load::Own;
    use crate::store::read_layers::{self, named_shapes, through_sqlite};
    use crate::store::{made_up, save};
    use rusqlite::Connection;

    #[test]
    fn pages_and_sqlite_give_the_same_rows() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        let yes = |name: &str| (name.to_owned(), "yes".to_owned());
        let own = Own::from([yes("has_land_use"), yes("has_year_built")]);
        for count in [0, 1, 30, 20_000] {
            save(&made_up::squares(count), &path, &Unwatched).unwrap();
            let file = Connection::open(&path).unwrap();
            let mut quick = AsWritten::of(&path, &file).unwrap();
            let keys = read_layers::blocks(quick.blocks.as_mut(), &file, Parts::EVERYTHING).unwrap().1;
            let read = blocks(&mut quick.blocks.unwrap(), Parts::EVERYTHING).unwrap();
            let slow = named_shapes(&file, "blocks", "block_id").unwrap();
            assert!((&read.0, &read.1) == (&slow.0, &slow.1) && read.2.same(&slow.2), "the blocks of {count} premises");
            for what in [Parts::EVERYTHING, Parts::FOR_COUNTING] {
                let asked = Asked::of(&own, what, &keys);
                let read = quick.premises.as_mut().unwrap().read(asked, &Unwatched).unwrap();
                assert_eq!(read, Some(through_sqlite(&file, asked, &Unwatched).unwrap()), "{count} premises");
            }
        }
    }
}
