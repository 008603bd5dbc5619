//! The tables of a survey that stand in its file as this program writes them, opened to be read straight from their pages.

use super::quick_premises::PremisePages;
use super::schema;
use crate::files::geopackage::Pages;
use rusqlite::{Connection, OptionalExtension as _, Result};
use std::fs::File;
use std::path::Path;

/// Tables to be read from their pages. A table that is missing here is not as this program writes it, and SQLite must be asked.
///
/// All are opened before the first is read and closed when the last is: as soon as a program closes any handle of a file, the
/// system lets go of all its locks on that file (POSIX, `fcntl`), and another program could write while the rest is read.
pub(super) struct AsWritten {
    pub(super) blocks: Option<Table>,
    pub(super) premises: Option<PremisePages>,
    pub(super) visits_and_finds: Option<(Table, Table)>,
}

impl AsWritten {
    /// Opens the tables. `file` is the same file, held for reading so that no other program writes to it meanwhile.
    pub(super) fn of(path: &Path, file: &Connection) -> Result<Self> {
        let visits = Table::of(path, file, "visits", schema::VISITS)?;
        let finds = Table::of(path, file, "finds", schema::FINDS)?;
        Ok(Self {
            blocks: Table::of(path, file, "blocks", schema::BLOCKS)?,
            premises: Table::of(path, file, "premises", schema::PREMISES)?.and_then(|first| PremisePages::of(path, first)),
            visits_and_finds: visits.zip(finds),
        })
    }
}

/// The pages of a file and those of them that hold the rows of a table.
pub(super) struct Table {
    pub(super) pages: Pages,
    pub(super) leaves: Vec<u32>,
}

impl Table {
    fn of(path: &Path, file: &Connection, name: &str, sql: &str) -> Result<Option<Self>> {
        let ask = "SELECT rootpage FROM sqlite_schema WHERE name = ?1 AND sql = ?2";
        let root: Option<u32> = file.prepare_cached(ask)?.query_row([name, sql], |row| row.get(0)).optional()?;
        Ok(root.zip(pages_of(path)).and_then(|(root, mut pages)| Some(Self { leaves: pages.leaves(root)?, pages })))
    }
}

/// The pages of a file that is of the plain kind.
pub(super) fn pages_of(path: &Path) -> Option<Pages> {
    File::open(path).ok().and_then(Pages::of)
}
