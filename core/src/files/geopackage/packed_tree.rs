//! The spatial index of a layer, written as a whole instead of row by row.
//!
//! SQLite keeps an R-tree in three ordinary tables. A tree packed from boxes that lie along a space-filling curve has full
//! nodes and needs no search for where a box belongs, so that writing it takes a fraction of the time of inserting.

use crate::place::{Bounds, hilbert};
use rusqlite::{Connection, Result, params};

/// Cells to a node: SQLite's own limit.
const CELLS: usize = 51;
/// Bytes of a node: depth and number of cells (two bytes each), then 8 bytes of id and four 4-byte sides a cell.
const NODE_BYTES: usize = 4 + CELLS * 24;

/// In which order boxes come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Order {
    /// Already along a space-filling curve.
    AlongCurve,
    /// In any order.
    Any,
}

/// Creates the index `rtree_<layer>_geom` over the boxes of a layer's rows; row `i` has the key `i + 1`. Empty boxes are left
/// out. Pages of the file must be of at least 2,048 bytes.
pub(crate) fn write_tree(file: &Connection, layer: &str, boxes: &[Bounds], order: Order) -> Result<()> {
    let mut place = Vec::new();
    write_nodes(file, layer, boxes, order, &mut place)?;
    let mut insert = file.prepare(&format!("INSERT INTO rtree_{layer}_geom_rowid VALUES (?1, ?2)"))?;
    for (row, node) in place {
        insert.execute([row, node])?;
    }
    Ok(())
}

/// The same, but for the index's table `rtree_<layer>_geom_rowid`, which is left empty: `place` gets its rows, the key of a
/// row of the layer and the node that holds its box, in the order of the keys.
///
/// # Source
/// SQLite's R-tree module documentation, section 5.1 (shadow tables) and the comment on the node format at the head of its
/// source; OGC 12-128r18, annex F.3, for the table's name and columns.
pub(crate) fn write_nodes(file: &Connection, layer: &str, boxes: &[Bounds], order: Order, place: &mut Vec<(i64, i64)>) -> Result<()> {
    let index = format!("rtree_{layer}_geom");
    file.execute_batch(&format!("CREATE VIRTUAL TABLE {index} USING rtree(id, minx, maxx, miny, maxy)"))?;
    let mut level = leaves(boxes, order);
    place.reserve(level.len());
    let mut first_node = 2;
    let mut depth = 0u16;
    let mut node = file.prepare(&format!("REPLACE INTO {index}_node VALUES (?1, ?2)"))?;
    let mut parent = file.prepare(&format!("INSERT INTO {index}_parent VALUES (?1, ?2)"))?;
    while !level.is_empty() {
        let root = level.len() <= CELLS;
        let mut above = Vec::with_capacity(level.len().div_ceil(CELLS));
        for (cells, number) in dealt_out(&level).zip(first_node..) {
            let number = if root { 1 } else { number };
            node.execute(params![number, &node_bytes(cells, if root { depth } else { 0 })[..]])?;
            match depth {
                0 => place.extend(cells.iter().map(|cell| (cell.id, number))),
                _ => cells.iter().try_for_each(|cell| parent.execute([cell.id, number]).map(drop))?,
            }
            above.push(Cell { id: number, sides: cells.iter().fold(Sides::NOTHING, |s, c| s.union(c.sides)) });
        }
        first_node += above.len() as i64;
        depth += 1;
        level = if root { Vec::new() } else { above };
    }
    if order == Order::Any {
        place.sort_unstable();
    }
    Ok(())
}

/// The cells of each node of a level, as many in one as in another, so that none is left nearly empty.
fn dealt_out(level: &[Cell]) -> impl Iterator<Item = &[Cell]> {
    let nodes = level.len().div_ceil(CELLS);
    (0..nodes).map(move |k| &level[k * level.len() / nodes..(k + 1) * level.len() / nodes])
}

/// A box with the number of the row or node it stands for.
#[derive(Clone, Copy, Debug)]
struct Cell {
    id: i64,
    sides: Sides,
}

/// West, east, south and north side in single precision.
#[derive(Clone, Copy, Debug)]
struct Sides([f32; 4]);

impl Sides {
    const NOTHING: Self = Self([f32::INFINITY, f32::NEG_INFINITY, f32::INFINITY, f32::NEG_INFINITY]);

    /// A box in single precision, each side moved outwards where it must be rounded.
    fn round(b: &Bounds) -> Self {
        Self([down(b.min.x), up(b.max.x), down(b.min.y), up(b.max.y)])
    }

    fn union(self, o: Self) -> Self {
        let (a, b) = (self.0, o.0);
        Self([a[0].min(b[0]), a[1].max(b[1]), a[2].min(b[2]), a[3].max(b[3])])
    }
}

fn down(v: f64) -> f32 {
    let near = v as f32;
    if f64::from(near) > v { near.next_down() } else { near }
}

fn up(v: f64) -> f32 {
    let near = v as f32;
    if f64::from(near) < v { near.next_up() } else { near }
}

fn leaves(boxes: &[Bounds], order: Order) -> Vec<Cell> {
    let cell = |(i, b): (usize, &Bounds)| Cell { id: i as i64 + 1, sides: Sides::round(b) };
    let mut cells: Vec<Cell> = boxes.iter().enumerate().filter(|(_, b)| !b.is_empty()).map(cell).collect();
    if order == Order::Any {
        let extent = boxes.iter().fold(Bounds::EMPTY, |all, b| all.union(*b));
        cells.sort_by_cached_key(|c| (hilbert(boxes[c.id as usize - 1].centre(), &extent), c.id));
    }
    cells
}

fn node_bytes(cells: &[Cell], depth: u16) -> [u8; NODE_BYTES] {
    let mut bytes = [0; NODE_BYTES];
    bytes[..2].copy_from_slice(&depth.to_be_bytes());
    bytes[2..4].copy_from_slice(&(cells.len() as u16).to_be_bytes());
    for (place, cell) in bytes[4..].chunks_exact_mut(24).zip(cells) {
        place[..8].copy_from_slice(&cell.id.to_be_bytes());
        for (side, v) in place[8..].chunks_exact_mut(4).zip(cell.sides.0) {
            side.copy_from_slice(&v.to_be_bytes());
        }
    }
    bytes
}

/// The triggers that keep a layer's index up to date when another program edits the layer.
///
/// # Source
/// OGC 12-128r18, annex F.3, "RTree Spatial Indexes", table of triggers.
pub(super) fn triggers(layer: &str) -> String {
    let index = format!("rtree_{layer}_geom");
    let there = "(NEW.geom NOT NULL AND NOT ST_IsEmpty(NEW.geom))";
    let nothing = "(NEW.geom ISNULL OR ST_IsEmpty(NEW.geom))";
    let put = format!(
        "INSERT OR REPLACE INTO {index} VALUES (NEW.fid, ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom));"
    );
    let take = format!("DELETE FROM {index} WHERE id = OLD.fid;");
    let both = format!("DELETE FROM {index} WHERE id IN (OLD.fid, NEW.fid);");
    let rules = [
        ("insert", "INSERT", there.to_owned(), put.clone()),
        ("update1", "UPDATE OF geom", format!("OLD.fid = NEW.fid AND {there}"), put.clone()),
        ("update2", "UPDATE OF geom", format!("OLD.fid = NEW.fid AND {nothing}"), take.clone()),
        ("update3", "UPDATE", format!("OLD.fid != NEW.fid AND {there}"), format!("{take} {put}")),
        ("update4", "UPDATE", format!("OLD.fid != NEW.fid AND {nothing}"), both),
        ("delete", "DELETE", "OLD.geom NOT NULL".to_owned(), take),
    ];
    let trigger = |(name, event, when, then): (&str, &str, String, String)| {
        format!("CREATE TRIGGER {index}_{name} AFTER {event} ON {layer} WHEN {when} BEGIN {then} END;\n")
    };
    rules.into_iter().map(trigger).collect()
}
