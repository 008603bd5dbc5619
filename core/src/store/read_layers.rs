//! Reading the layers of a survey: premises, blocks, streets, signals.

use super::as_written::Table;
use super::load::{BadCell, Own, Parts, Trouble};
use super::quick_premises;
use crate::files::geopackage::{is_nothing, read_shape};
use crate::job::Watch;
use crate::place::Shapes;
use crate::survey::{BlockId, Blocks, Numbers, Premises, Ranges, Signal, StreetClass, Streets, Strings};
use jiff::civil::Date;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row};
use std::sync::Arc;

/// Premises between two looks at whether somebody asked to stop.
const STRETCH: usize = 16_384;

/// Which row of a survey's columns a key of the file stands for. In a file that nobody else has edited key 1 is row 0.
#[derive(Debug)]
pub(super) struct Keys {
    count: usize,
    /// The keys in rising order, where some are missing.
    gappy: Option<Vec<i64>>,
}

impl Keys {
    /// The keys of rows read in order.
    pub(super) fn list(keys: Vec<i64>) -> Self {
        let plain = keys.iter().zip(1..).all(|(&key, want)| key == want);
        Self { count: keys.len(), gappy: (!plain).then_some(keys) }
    }

    /// The keys of a table of which only the highest key is known, taking it that none is missing.
    pub(super) fn up_to(file: &Connection, table: &str) -> Result<Self, Trouble> {
        let most: i64 = file.query_row(&format!("SELECT coalesce(max(fid), 0) FROM {table}"), [], |r| r.get(0))?;
        Ok(Self { count: usize::try_from(most).unwrap_or(0), gappy: None })
    }

    /// Whether these are the same keys as others.
    pub(super) fn same(&self, other: &Self) -> bool {
        self.count == other.count && self.gappy == other.gappy
    }

    /// The row of a key; `None` when the table has no such key.
    pub(super) fn row(&self, key: i64) -> Option<u32> {
        let row = match &self.gappy {
            None => usize::try_from(key.checked_sub(1)?).ok().filter(|&r| r < self.count)?,
            Some(keys) => keys.binary_search(&key).ok()?,
        };
        u32::try_from(row).ok()
    }

    /// How many rows the table has.
    pub(super) fn count(&self) -> usize {
        self.count
    }
}

/// The premises, and under which keys they are; `quick` is what was read from the pages, if all was as this program writes it.
pub(super) fn premises(
    quick: Option<Stretch>,
    file: &Connection,
    asked: Asked<'_>,
    watch: &dyn Watch,
) -> Result<(Premises, Keys), Trouble> {
    let mut all = match quick {
        Some(all) => all,
        None => through_sqlite(file, asked, watch)?,
    };
    all.fill(asked);
    let premises = Premises {
        parcel_id: Arc::new(all.parcel_id),
        address: Arc::new(all.address),
        block: Arc::new(all.block),
        outline: Arc::new(all.outline),
        land_use: Arc::new(all.land_use),
        year_built: Arc::new(all.year_built),
    };
    Ok((premises, Keys::list(all.keys)))
}

/// The same by asking SQLite, which reads whatever another program has made of the file.
pub(super) fn through_sqlite(file: &Connection, asked: Asked<'_>, watch: &dyn Watch) -> Result<Stretch, Trouble> {
    let wanted = if asked.outlines { ", geom" } else { "" };
    let count: u64 = file.query_row("SELECT count(*) FROM premises", [], |row| row.get(0))?;
    let columns = "fid, parcel_id, address, block_fid, land_use, year_built";
    let mut rows = file.prepare(&format!("SELECT {columns}{wanted} FROM premises ORDER BY fid"))?;
    let mut rows = rows.query([])?;
    let mut all = Stretch::default();
    while let Some(row) = rows.next()? {
        if all.keys.len() % STRETCH == 0 {
            watch.step("Reading the premises", all.keys.len() as u64, count)?;
        }
        all.push(row, asked).map_err(|bad| told("premises", row, bad))?;
    }
    Ok(all)
}

/// Which columns of the premises are wanted, and the blocks that they name.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    pub(super) ids: bool,
    pub(super) addresses: bool,
    pub(super) outlines: bool,
    pub(super) land_use: bool,
    pub(super) year_built: bool,
    pub(super) blocks: &'a Keys,
}

impl<'a> Asked<'a> {
    /// What is wanted of a file that says this about itself.
    pub(super) fn of(own: &Own, what: Parts, blocks: &'a Keys) -> Self {
        let has = |name: &str| what.attributes && own.get(name).is_some_and(|v| v == "yes");
        Self {
            ids: what.ids,
            addresses: what.attributes,
            outlines: what.outlines,
            land_use: has("has_land_use"),
            year_built: has("has_year_built"),
            blocks,
        }
    }
}

/// Some rows of the premises.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Stretch {
    pub(super) keys: Vec<i64>,
    pub(super) parcel_id: Strings,
    pub(super) address: Strings,
    pub(super) block: Vec<Option<BlockId>>,
    pub(super) outline: Shapes,
    pub(super) land_use: Strings,
    pub(super) year_built: Vec<u16>,
}

impl Stretch {
    /// Forgets the rows and keeps their memory.
    pub(super) fn clear(&mut self) {
        self.keys.clear();
        self.parcel_id.clear();
        self.address.clear();
        self.block.clear();
        self.outline.clear();
        self.land_use.clear();
        self.year_built.clear();
    }

    /// Makes room for so many times the rows of another stretch.
    pub(super) fn reserve_times(&mut self, times: f64, like: &Self) {
        let rows = (like.keys.len() as f64 * times) as usize;
        self.keys.reserve(rows);
        self.parcel_id.reserve_times(times, &like.parcel_id);
        self.address.reserve_times(times, &like.address);
        self.block.reserve(rows);
        self.outline.reserve_times(times, &like.outline);
        self.land_use.reserve_times(times, &like.land_use);
        self.year_built.reserve(if like.year_built.is_empty() { 0 } else { rows });
    }

    /// Adds the rows that follow.
    pub(super) fn append(&mut self, next: &Self) {
        self.keys.extend_from_slice(&next.keys);
        self.parcel_id.append(&next.parcel_id);
        self.address.append(&next.address);
        self.block.extend_from_slice(&next.block);
        self.outline.append(&next.outline);
        self.land_use.append(&next.land_use);
        self.year_built.extend_from_slice(&next.year_built);
    }

    fn push(&mut self, row: &Row<'_>, asked: Asked<'_>) -> Result<(), BadCell> {
        self.keys.push(row.get(0)?);
        if asked.ids {
            self.parcel_id.push(text(row, 1)?);
        }
        if asked.addresses {
            self.address.push(text(row, 2)?);
        }
        self.block.push(match row.get::<_, Option<i64>>(3)? {
            None => None,
            Some(key) => Some(BlockId(known(asked.blocks, key, "the key of a block")?)),
        });
        if asked.land_use {
            self.land_use.push(text(row, 4)?);
        }
        if asked.year_built {
            self.year_built.push(row.get::<_, Option<u16>>(5)?.unwrap_or(0));
        }
        if asked.outlines { shape(row, 6, &mut self.outline) } else { Ok(()) }
    }

    /// Puts something empty for every row where a column was not asked for.
    fn fill(&mut self, asked: Asked<'_>) {
        let rows = self.keys.len();
        if !asked.ids {
            self.parcel_id = Strings::empty(rows);
        }
        if !asked.addresses {
            self.address = Strings::empty(rows);
        }
        if !asked.outlines {
            self.outline = Shapes::empty(rows);
        }
    }
}

/// The blocks and their keys.
pub(super) fn blocks(quick: Option<&mut Table>, file: &Connection, what: Parts) -> Result<(Blocks, Keys), Trouble> {
    let (mut outline, block_id, keys) = match quick.and_then(|table| quick_premises::blocks(table, what)) {
        Some(all) => all,
        None => named_shapes(file, "blocks", "block_id")?,
    };
    if !what.blocks {
        outline = Shapes::empty(block_id.len());
    }
    Ok((Blocks { block_id: Arc::new(block_id), outline: Arc::new(outline) }, keys))
}

pub(super) fn streets(file: &Connection) -> Result<Streets, Trouble> {
    let (line, name, _) = named_shapes(file, "streets", "name")?;
    let (class, level) = on_foot(file)?;
    let ranges = Arc::new(ranges(file)?);
    Ok(Streets { name: Arc::new(name), line: Arc::new(line), class: Arc::new(class), level: Arc::new(level), ranges })
}

/// Class and level of the streets, each without a row where the file says none; files made by earlier versions have no such
/// columns.
fn on_foot(file: &Connection) -> Result<(Vec<StreetClass>, Vec<i8>), Trouble> {
    let known = "SELECT count(*) FROM pragma_table_info('streets') WHERE name IN ('class', 'level')";
    if file.query_row(known, [], |row| row.get::<_, i64>(0))? < 2 {
        return Ok(Default::default());
    }
    let mut rows = file.prepare("SELECT fid, class, level FROM streets ORDER BY fid")?;
    let mut rows = rows.query([])?;
    let (mut classes, mut levels) = (Vec::new(), Vec::new());
    while let Some(row) = rows.next()? {
        let class = text(row, 1).map_err(|bad| told("streets", row, bad))?;
        classes.push((!class.is_empty()).then(|| StreetClass::of(class)));
        levels.push(row.get::<_, Option<i64>>(2)?.map(|n| n.clamp(i8::MIN.into(), i8::MAX.into()) as i8));
    }
    Ok((column_or_none(classes), column_or_none(levels)))
}

/// A column with the usual value where a cell is empty; no row when all are.
fn column_or_none<T: Default>(cells: Vec<Option<T>>) -> Vec<T> {
    if cells.iter().all(Option::is_none) { Vec::new() } else { cells.into_iter().map(Option::unwrap_or_default).collect() }
}

/// House numbers along the streets; none where the file was written before there were any.
fn ranges(file: &Connection) -> Result<Vec<Ranges>, Trouble> {
    let known = "SELECT count(*) FROM pragma_table_info('streets') WHERE name IN ('left_from', 'left_to', 'right_from', 'right_to')";
    if file.query_row(known, [], |r| r.get::<_, i64>(0))? < 4 {
        return Ok(Vec::new());
    }
    let mut rows = file.prepare("SELECT fid, left_from, left_to, right_from, right_to FROM streets ORDER BY fid")?;
    let mut rows = rows.query([])?;
    let mut out = Vec::new();
    while let Some(row) = rows.next()? {
        let side = |column| -> Result<Option<Numbers>, BadCell> {
            let ends = row.get::<_, Option<u32>>(column)?.zip(row.get(column + 1)?);
            Ok(ends.map(|(from, to)| Numbers { from, to }))
        };
        let both = side(1).and_then(|left| Ok(Ranges { left, right: side(3)? }));
        out.push(both.map_err(|bad| told("streets", row, bad))?);
    }
    let any = out.iter().any(|r| *r != Ranges::default());
    Ok(if any { out } else { Vec::new() })
}

/// Shapes with their names and keys.
pub(super) type NamedShapes = (Shapes, Strings, Keys);

/// The rows of a table that have a name and a shape, through SQLite.
pub(super) fn named_shapes(file: &Connection, table: &'static str, name: &str) -> Result<NamedShapes, Trouble> {
    let mut rows = file.prepare(&format!("SELECT fid, {name}, geom FROM {table} ORDER BY fid"))?;
    let mut rows = rows.query([])?;
    let (mut shapes, mut names, mut keys) = (Shapes::default(), Strings::default(), Vec::new());
    while let Some(row) = rows.next()? {
        keys.push(row.get(0)?);
        text(row, 1).map(|t| names.push(t)).and_then(|()| shape(row, 2, &mut shapes)).map_err(|bad| told(table, row, bad))?;
    }
    Ok((shapes, names, Keys::list(keys)))
}

pub(super) fn signals(file: &Connection) -> Result<Vec<Signal>, Trouble> {
    let mut rows = file.prepare("SELECT fid, signal_id, date, kind, value, species, geom FROM signals ORDER BY fid")?;
    let mut rows = rows.query([])?;
    let mut out = Vec::new();
    while let Some(row) = rows.next()? {
        out.push(signal(row).map_err(|bad| told("signals", row, bad))?);
    }
    Ok(out)
}

fn signal(row: &Row<'_>) -> Result<Signal, BadCell> {
    let mut point = Shapes::default();
    shape(row, 6, &mut point)?;
    let place = point.get(0).places().first().copied();
    Ok(Signal {
        id: text(row, 1)?.into(),
        day: day(row, 2)?,
        place: place.ok_or_else(|| BadCell::Value { expected: "a place", found: "none".to_owned() })?,
        kind: text(row, 3)?.parse()?,
        value: row.get(4)?,
        species: text(row, 5)?.into(),
    })
}

/// Adds the shape of a cell; an empty cell is a row without one.
fn shape(row: &Row<'_>, column: usize, into: &mut Shapes) -> Result<(), BadCell> {
    match row.get_ref(column)? {
        ValueRef::Null => into.end_shape(),
        ValueRef::Blob(blob) if is_nothing(blob) => into.end_shape(),
        ValueRef::Blob(blob) => read_shape(blob, into)?,
        other => return Err(BadCell::Value { expected: "a geometry", found: other.data_type().to_string() }),
    }
    Ok(())
}

/// A cell's text; none is an empty text.
pub(super) fn text<'r>(row: &'r Row<'_>, column: usize) -> Result<&'r str, BadCell> {
    match row.get_ref(column)? {
        ValueRef::Null => Ok(""),
        ValueRef::Text(bytes) => std::str::from_utf8(bytes).map_err(|e| BadCell::Value { expected: "text in UTF-8", found: e.to_string() }),
        other => Err(BadCell::Value { expected: "a text", found: other.data_type().to_string() }),
    }
}

/// A cell's day.
pub(super) fn day(row: &Row<'_>, column: usize) -> Result<Date, BadCell> {
    let text = text(row, column)?;
    text.parse().map_err(|_| BadCell::Value { expected: "a day as 2026-07-14", found: format!("'{text}'") })
}

/// The row that a key stands for.
pub(super) fn known(keys: &Keys, key: i64, expected: &'static str) -> Result<u32, BadCell> {
    keys.row(key).ok_or_else(|| BadCell::Value { expected, found: key.to_string() })
}

/// Names the table and the row of a bad cell.
pub(super) fn told(table: &'static str, row: &Row<'_>, bad: BadCell) -> Trouble {
    Trouble::row(table, row.get(0).unwrap_or(0), bad)
}
