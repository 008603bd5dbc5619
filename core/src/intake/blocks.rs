//! Block outlines, and which block each premise belongs to.

use super::cells::{Reason, without_decimals};
use super::ground::{Fate, Ground};
use super::on_surface::on_surface;
use super::premises::compare_outlines;
use super::report::Account;
use super::{Match, Role};
use crate::files::Table;
use crate::place::{Bounds, ScatteredIndex, ShapeView, Shapes};
use crate::survey::{BlockId, Blocks, Strings};
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// The blocks of the survey with those of a file; a block of the file takes the place of one with the same id.
pub(super) fn bring(old: &Blocks, table: &Table, matched: &Match, ground: &Ground, account: &mut Account) -> Blocks {
    let id = matched.column("block_id");
    if id.is_none() {
        account.notice("The file has no column with a block's id; its blocks are numbered in file order");
    }
    let mut by_id: BTreeMap<String, Vec<ShapeView<'_>>> = BTreeMap::new();
    for row in 0..table.rows {
        let text = id.map_or_else(|| Cow::Owned((row + 1).to_string()), |c| table.cell(row, c));
        match refusal(ground, row, &text) {
            Some(reason) => account.refuse(table, row, &reason),
            None => {
                let outlines = by_id.entry(without_decimals(&text).to_owned()).or_default();
                match ground.shape(row) {
                    Some(outline) => outlines.push(outline),
                    None => account.notice_row("Blocks with an id and no outline were kept by name only", row),
                }
            }
        }
    }
    for (name, _) in by_id.iter().filter(|(_, outlines)| outlines.len() > 1) {
        account.notice(format!("Block {name} stands in several rows; their outlines are taken as one block"));
    }
    for i in 0..old.len() {
        by_id.entry(old.block_id.get(i).to_owned()).or_insert_with(|| vec![old.outline.get(i)]);
    }
    gathered(by_id)
}

fn refusal(ground: &Ground, row: usize, id: &str) -> Option<Reason> {
    match ground.fate(row) {
        Fate::Unusable => Some(ground.reason(row)),
        _ if id.is_empty() => Some(Reason::new(format!("it has no id of a {}", Role::Blocks.name().trim_end_matches('s')))),
        _ => None,
    }
}

fn gathered(by_id: BTreeMap<String, Vec<ShapeView<'_>>>) -> Blocks {
    let mut outline = Shapes::default();
    let mut block_id = Strings::default();
    for (id, mut outlines) in by_id {
        outlines.sort_by(|a, b| compare_outlines(Some(*a), Some(*b)));
        for part in outlines.into_iter().flat_map(ShapeView::parts) {
            for ring in part.rings() {
                outline.push_ring(ring);
            }
            outline.end_part();
        }
        outline.end_shape();
        block_id.push(&id);
    }
    Blocks { block_id: Arc::new(block_id), outline: Arc::new(outline) }
}

/// Gives every premise its block: the one that its row names, or else the one whose outline holds a place inside its own.
/// Blocks that are only named join the list without an outline.
pub(super) fn assign(blocks: &Blocks, names: &Strings, outlines: &Shapes) -> (Blocks, Vec<Option<BlockId>>) {
    let blocks = with_named(blocks, names);
    let number: HashMap<&str, u32> = blocks.block_id.iter().zip(0..).collect();
    let mut last: (&str, Option<BlockId>) = ("", None);
    let mut of_premise: Vec<Option<BlockId>> = Vec::with_capacity(names.len());
    for name in names.iter().map(without_decimals) {
        if name != last.0 {
            last = (name, number.get(name).map(|&n| BlockId(n)));
        }
        of_premise.push(last.1);
    }
    // Blocks lie in the order of their ids: neighbours are far apart.
    let index = ScatteredIndex::new(blocks.outline.bounds());
    of_premise.par_iter_mut().enumerate().filter(|(_, block)| block.is_none()).for_each(|(i, block)| {
        *block = holding(&blocks, &index, outlines.get(i));
    });
    (blocks, of_premise)
}

fn with_named(blocks: &Blocks, names: &Strings) -> Blocks {
    let mut named: BTreeSet<&str> = BTreeSet::new();
    let mut last = "";
    for name in names.iter().map(without_decimals).filter(|n| !n.is_empty()) {
        if name != last {
            named.insert(name);
            last = name;
        }
    }
    let mut by_id: BTreeMap<String, Vec<ShapeView<'_>>> = named.into_iter().map(|n| (n.to_owned(), Vec::new())).collect();
    for i in 0..blocks.len() {
        by_id.insert(blocks.block_id.get(i).to_owned(), vec![blocks.outline.get(i)]);
    }
    gathered(by_id)
}

/// The first block, by id, that holds a place inside an outline.
fn holding(blocks: &Blocks, index: &ScatteredIndex, outline: ShapeView<'_>) -> Option<BlockId> {
    if index.is_empty() {
        return None;
    }
    let inside = on_surface(outline)?;
    let mut found: Option<u32> = None;
    index.each_touching(&Bounds::of(&[inside]), |b| {
        let b = b as u32;
        if found.is_none_or(|first| b < first) && blocks.outline.get(b as usize).holds(inside) {
            found = Some(b);
        }
    });
    found.map(BlockId)
}
