//! The list on a sheet: a block for every door, with what is known and with boxes for the pen. No block is split over pages.

use super::super::ink;
use super::super::paint::lettering::Hand;
use super::chart::{WHITE, number_disc};
use super::content::{DoorWords, WalkWords};
use super::cover::{MARGIN, regular, semibold, tick_box};
use super::press::{Leaf, Line, Press};
use crate::survey::{Action, Outcome};

/// Where the list begins on its pages, and how much is kept free at their foot, in points.
const TOP: f32 = MARGIN + 26.0;
const FOOT: f32 = MARGIN + 20.0;
/// Left edge of a block's words.
const INDENT: f32 = 24.0;
/// Rows for finds that every door has, and that one has at most: what a page has left is given to its doors as rows.
const ROWS: usize = 2;
const MOST_ROWS: usize = 5;
/// Height of a row for a pen: 8 mm, for a hand on a porch with a clipboard.
const ROW: f32 = 22.7;
/// Side of a box for a tick.
const TICK: f32 = 11.0;
/// Height of the column names over the rows.
const HEAD: f32 = 9.0;
/// White space between blocks.
const APART: f32 = 6.0;
const TEXT: Hand = regular(8.5);
const STEP: f32 = 9.6;
/// From a block's top to its first line of words, and from there past the last one down to the rows for finds.
const WORDS: f32 = 22.5;
const TICKS: f32 = 4.0;
const NOTES: f32 = ROW + 1.0;
const TO_FINDS: f32 = TICKS + NOTES + 5.0;

/// The columns for finds, as the visits table names them, with their shares of the width.
const COLUMNS: [(&str, f32); 10] = [
    ("container_type", 0.235),
    ("count", 0.065),
    ("water", 0.065),
    ("larvae", 0.065),
    ("pupae", 0.065),
    ("pupae_count", 0.1),
    ("stage", 0.065),
    ("litres", 0.075),
    ("action", 0.195),
    ("remains", 0.07),
];

/// A block with its height and its rows for finds.
struct Block<'a> {
    door: &'a DoorWords,
    known: Vec<(&'static str, Vec<String>)>,
    height: f32,
    rows: usize,
}

/// The pages of a list.
pub struct List<'a> {
    pages: Vec<Vec<Block<'a>>>,
    size: (f32, f32),
}

impl<'a> List<'a> {
    /// The doors on pages of some size.
    pub fn of(doors: &'a [DoorWords], press: &Press, size: (f32, f32)) -> Self {
        let blocks: Vec<Block<'a>> = doors.iter().map(|d| block(d, press, size.0)).collect();
        let room = size.1 - TOP - FOOT;
        let counts = filled(&blocks.iter().map(|b| b.height).collect::<Vec<_>>(), room);
        let mut blocks = blocks.into_iter();
        let mut pages: Vec<Vec<Block<'a>>> = counts.into_iter().map(|n| blocks.by_ref().take(n).collect()).collect();
        for page in &mut pages {
            let left = room - page.iter().map(|b| b.height).sum::<f32>();
            let more = rows_more(left, page.len());
            page.iter_mut()
                .zip(more)
                .for_each(|(block, more)| (block.rows, block.height) = (ROWS + more, block.height + more as f32 * ROW));
        }
        Self { pages, size }
    }

    /// How many pages there are.
    pub fn pages(&self) -> usize {
        self.pages.len()
    }

    /// Draws one page, its foot left out.
    pub fn draw(&self, leaf: &mut Leaf<'_, '_>, page: usize, words: &WalkWords) {
        let right = self.size.0 - MARGIN;
        leaf.write(&words.crew, (MARGIN, MARGIN + 12.0), semibold(13.0));
        leaf.write_to(&words.on, (right, MARGIN + 12.0), regular(10.0));
        leaf.line(&[(MARGIN, MARGIN + 18.0), (right, MARGIN + 18.0)], Line(ink::INK, 0.8));
        let mut y = TOP;
        for block in &self.pages[page] {
            self.block(leaf, block, y);
            y += block.height;
        }
        let actions: Vec<&str> = Action::ALL.iter().map(|a| a.word()).collect();
        let key = format!("action: {}. stage: oldest, L1–L4 or P. remains: for the householder.", actions.join(" · "));
        leaf.lines(&key, (MARGIN, self.size.1 - FOOT + 10.0), right - MARGIN, Hand { ink: ink::QUIET, ..regular(7.0) }, 8.5);
    }

    fn block(&self, leaf: &mut Leaf<'_, '_>, block: &Block<'_>, top: f32) {
        let (left, right) = (MARGIN + INDENT, self.size.0 - MARGIN);
        let door = block.door;
        number_disc(leaf, door.number, door.must, (MARGIN + 9.0, top + 8.5), 8.5);
        let end = leaf.write(&door.name, (left, top + 12.0), semibold(12.0));
        leaf.write(&door.parcel, (end + 8.0, top + 12.0), Hand { ink: ink::QUIET, ..TEXT });
        let times = leaf.width(&door.arrive, semibold(11.0));
        leaf.write(&door.arrive, (right - times, top + 12.0), semibold(11.0));
        leaf.write_to(&door.way, (right - times - 8.0, top + 12.0), Hand { ink: ink::QUIET, ..TEXT });
        let mut y = top + WORDS;
        for (name, lines) in &block.known {
            leaf.write(name, (left, y), semibold(8.5));
            for line in lines {
                leaf.write(line, (left + NAMES, y), TEXT);
                y += STEP;
            }
        }
        self.outcome(leaf, left, y + TICKS);
        self.finds(leaf, (left, y + TO_FINDS), block.rows);
        let rule = top + block.height - APART / 2.0;
        leaf.line(&[(MARGIN, rule), (right, rule)], Line(ink::EDGE, 0.4));
    }

    /// Boxes for how the visit ended, then for dogs, when somebody came and went, what was promised and what else to mind: all of them have a
    /// column in the table that is filled in from the sheet.
    fn outcome(&self, leaf: &mut Leaf<'_, '_>, left: f32, y: f32) {
        let mut x = left;
        for outcome in Outcome::ALL {
            tick_box(leaf, (x, y - 9.5), TICK);
            x = leaf.write(outcome.word(), (x + TICK + 3.0, y), regular(8.5)) + 9.0;
        }
        let y = y + NOTES;
        tick_box(leaf, (left, y - 9.5), TICK);
        let mut x = leaf.write("dog", (left + TICK + 3.0, y), regular(8.5)) + 12.0;
        for (word, room) in [("in", 44.0), ("out", 44.0), ("promised", 130.0)] {
            x = leaf.write(word, (x, y), regular(8.5)) + 3.0;
            leaf.line(&[(x, y + 1.0), (x + room, y + 1.0)], Line(ink::EDGE, 0.6));
            x += room + 9.0;
        }
        x = leaf.write("mind", (x, y), regular(8.5)) + 3.0;
        leaf.line(&[(x, y + 1.0), (self.size.0 - MARGIN, y + 1.0)], Line(ink::EDGE, 0.6));
    }

    /// Rows for what is found, in the columns of the visits table.
    fn finds(&self, leaf: &mut Leaf<'_, '_>, (left, top): (f32, f32), rows: usize) {
        let wide = self.size.0 - MARGIN - left;
        let bottom = top + HEAD + rows as f32 * ROW;
        leaf.frame((left, top, wide, HEAD), Some(ink::SEEN), None);
        let mut x = left;
        for (name, share) in COLUMNS {
            leaf.write(&name.replace('_', " "), (x + 2.5, top + 6.8), regular(6.8));
            x += share * wide;
            leaf.line(&[(x, top), (x, bottom)], Line(ink::EDGE, 0.4));
        }
        for row in 0..=rows {
            let y = top + HEAD + row as f32 * ROW;
            leaf.line(&[(left, y), (left + wide, y)], Line(ink::EDGE, 0.4));
        }
        for row in 0..rows {
            let y = top + HEAD + row as f32 * ROW;
            tick_box(leaf, (left + wide * (1.0 - COLUMNS[9].1 / 2.0) - TICK / 2.0, y + (ROW - TICK) / 2.0), TICK);
        }
        leaf.frame((left, top, wide, bottom - top), None, Some(Line(ink::INK, 0.6)));
    }
}

/// Width of the names of what is known.
const NAMES: f32 = 36.0;

fn block<'a>(door: &'a DoorWords, press: &Press, width: f32) -> Block<'a> {
    let room = width - 2.0 * MARGIN - INDENT - NAMES;
    let minds = door.minds.join("; ");
    let all = [("Why", &door.why), ("Last", &door.found), ("Open", &door.left), ("Said", &door.promised), ("Mind", &minds)];
    let known: Vec<(&'static str, Vec<String>)> =
        all.into_iter().filter(|(_, text)| !text.is_empty()).map(|(name, text)| (name, press.lettering.broken(text, room, TEXT))).collect();
    let lines: usize = known.iter().map(|(_, l)| l.len()).sum();
    let height = WORDS + lines as f32 * STEP + TO_FINDS + HEAD + ROWS as f32 * ROW + APART;
    Block { door, known, height, rows: ROWS }
}

/// How many rows more each of a page's blocks gets from what the page has left, the first ones first.
fn rows_more(left: f32, blocks: usize) -> Vec<usize> {
    let all = ((left / ROW).max(0.0) as usize).min(blocks * (MOST_ROWS - ROWS));
    (0..blocks).map(|i| all / blocks + usize::from(i < all % blocks)).collect()
}

/// How many blocks stand on each page: as many as fit, at least one.
fn filled(heights: &[f32], room: f32) -> Vec<usize> {
    let mut pages: Vec<usize> = Vec::new();
    let mut used = f32::INFINITY;
    for &height in heights {
        if used + height > room {
            pages.push(0);
            used = 0.0;
        }
        used += height;
        if let Some(last) = pages.last_mut() {
            *last += 1;
        }
    }
    pages
}

/// The foot of every page: who, when, which page of how many, and what always holds.
pub fn foot(leaf: &mut Leaf<'_, '_>, size: (f32, f32), words: &WalkWords, page: usize, pages: usize) {
    let y = size.1 - MARGIN + 8.0;
    let quiet = Hand { ink: ink::QUIET, ..regular(8.0) };
    leaf.write("Enter no yard without permission or other lawful authority. The product label is the law.", (MARGIN, y), quiet);
    let right = format!("{} · {} · page {page} of {pages}", words.crew, words.on);
    leaf.write_to(&right, (size.0 - MARGIN, y), Hand { ink: ink::INK, ..quiet });
}

/// The paper itself, so that viewers with a dark ground show a sheet.
pub fn blank(leaf: &mut Leaf<'_, '_>, size: (f32, f32)) {
    leaf.frame((0.0, 0.0, size.0, size.1), Some(WHITE), None);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn pages_hold_whole_blocks_and_no_more_than_fit(heights in prop::collection::vec(20.0f32..700.0, 0..60)) {
            let room = 660.0;
            let pages = filled(&heights, room);
            prop_assert_eq!(pages.iter().sum::<usize>(), heights.len());
            let mut from = 0;
            for (i, &n) in pages.iter().enumerate() {
                let on_page: f32 = heights[from..from + n].iter().sum();
                prop_assert!(n == 1 || on_page <= room);
                from += n;
                if let Some(next) = heights.get(from) {
                    prop_assert!(on_page + next > room, "page {i} had room for one more");
                }
            }
        }
    }

    #[test]
    fn what_a_page_has_left_is_given_as_rows() {
        assert_eq!(rows_more(3.5 * ROW, 4), [1, 1, 1, 0]);
        assert_eq!(rows_more(5.0 * ROW, 4), [2, 1, 1, 1]);
        assert_eq!(rows_more(500.0, 1), [MOST_ROWS - ROWS], "a single door has no page full of rows");
        assert_eq!((rows_more(-3.0, 2), rows_more(9.0, 0)), (vec![0, 0], vec![]));
    }

    /// Width of a pen's writing on a clipboard: rows of forms that are filled by hand are 8 mm or more (common practice, no source).
    #[test]
    fn rows_are_high_enough_for_a_pen() {
        let millimetres = |points: f32| points / 72.0 * 25.4;
        assert!(millimetres(ROW) >= 8.0 && millimetres(NOTES) >= 8.0, "{} {}", millimetres(ROW), millimetres(NOTES));
    }

    #[test]
    fn columns_fill_the_width() {
        assert!((COLUMNS.iter().map(|c| c.1).sum::<f32>() - 1.0).abs() < 1e-5);
    }
}
