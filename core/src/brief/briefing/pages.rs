//! The pages of a briefing that are words, tables and bars; lying sheets.

use super::facts::{Bar, Facts};
use crate::brief::ink::{self, Rgb};
use crate::brief::sheets::content::CAUTIONS;
use crate::brief::sheets::cover::{MARGIN, quiet, regular, semibold};
use crate::brief::sheets::press::{At, Leaf, Line};
use crate::brief::words::{day, grouped};
use crate::measure::CONVENTION;

/// The paper: its width and height in points, and how many pages there are.
pub struct Paper {
    pub size: (f32, f32),
    pub pages: usize,
}

/// White space between two columns, in points.
const BETWEEN: f32 = 28.0;
/// Ink of the bars and of their ends.
const BAR: Rgb = ink::GAP_EDGE;

/// The first page: the figures, what was done, and what follows.
pub fn in_short(leaf: &mut Leaf<'_, '_>, facts: &Facts, paper: &Paper) {
    let top = head(leaf, facts, paper, 1, &facts.district);
    let room = paper.size.0 - 2.0 * MARGIN - BETWEEN;
    let (left, right) = (room * 0.52, room * 0.48);
    let mut y = heading(leaf, "What was found", (MARGIN, top), left);
    for figure in &facts.figures {
        leaf.write(figure.what, (MARGIN, y), regular(11.0));
        leaf.write(&figure.value, (MARGIN + left * 0.28, y), semibold(13.5));
        y = leaf.lines(&figure.of, (MARGIN + left * 0.59, y), left * 0.41, quiet(9.5), 12.0).max(y + 13.0) + 10.0;
    }
    leaf.lines("In brackets what holds the truth 95 times in 100. Only inspected yards count.", (MARGIN, y), left, quiet(9.5), 12.0);
    y = heading(leaf, "What was done", (MARGIN, y + 34.0), left);
    y = leaf.lines(&facts.done_words(), (MARGIN, y), left, regular(11.0), 14.0);
    if facts.treated {
        leaf.lines(CAUTIONS[1], (MARGIN, y + 4.0), left, quiet(9.5), 12.0);
    }
    let x = MARGIN + left + BETWEEN;
    let mut y = heading(leaf, "What follows", (x, top), right);
    for point in &facts.points {
        leaf.write(point.heading, (x, y), semibold(11.0));
        y = leaf.lines(&point.says, (x, y + 13.5), right, regular(10.5), 13.2) + 7.0;
    }
}

/// The blocks with the highest house index, the course of the rounds, and the kinds of container.
pub fn blocks(leaf: &mut Leaf<'_, '_>, facts: &Facts, paper: &Paper) {
    let top = head(leaf, facts, paper, paper.pages - 1, "Blocks, rounds and containers");
    let room = paper.size.0 - 2.0 * MARGIN - BETWEEN;
    let (left, right) = (room * 0.56, room * 0.44);
    let title = match facts.blocks_seen - facts.blocks.len() {
        0 => "Blocks, the highest house index first".to_owned(),
        more => format!("Blocks, the highest house index first; {} more were seen", grouped(more as u64)),
    };
    let y = heading(leaf, &title, (MARGIN, top), left);
    block_table(leaf, facts, (MARGIN, y), left);
    let x = MARGIN + left + BETWEEN;
    let y = heading(leaf, "House index by round", (x, top), right);
    let y = bars(leaf, &facts.course, (x, y), right);
    if !facts.kinds.is_empty() {
        let y = heading(leaf, &format!("What each kind makes of the {}", facts.made_of), (x, y + 16.0), right);
        bars(leaf, &facts.kinds, (x, y), right);
    }
}

fn block_table(leaf: &mut Leaf<'_, '_>, facts: &Facts, (x, top): At, width: f32) {
    // Where each number ends, in parts of the width.
    const ENDS: [f32; 5] = [0.34, 0.47, 0.68, 0.88, 1.0];
    let mut y = top;
    leaf.write("Block", (x, y), quiet(9.0));
    for (name, end) in ["Yards", "Inspected", "House index", "Breteau index", ""].iter().zip(ENDS) {
        leaf.write_to(name, (x + width * end, y), quiet(9.0));
    }
    for row in &facts.blocks {
        y += 7.0;
        leaf.line(&[(x, y), (x + width, y)], Line(ink::LINE, 0.6));
        y += 13.0;
        leaf.write(&leaf.cut(&row.name, width * 0.22, regular(10.0)), (x, y), regular(10.0));
        for (cell, end) in row.cells.iter().zip(ENDS) {
            leaf.write_to(cell, (x + width * end, y), regular(10.0));
        }
    }
}

/// Bars with their names before and their words behind; the ends of the interval as a line. Gives back where they end.
fn bars(leaf: &mut Leaf<'_, '_>, all: &[Bar], (x, top): At, width: f32) -> f32 {
    let most = all.iter().map(|b| b.ends.map_or(b.value, |e| e.1)).fold(1.0, f64::max);
    let (name, words) = (width * 0.24, width * 0.42);
    let room = width - name - words;
    let at = |v: f64| x + name + (v / most) as f32 * room;
    let mut y = top;
    for bar in all {
        leaf.write(&leaf.cut(&bar.name, name - 6.0, regular(9.5)), (x, y), regular(9.5));
        leaf.frame((x + name, y - 8.0, (at(bar.value) - x - name).max(0.5), 9.0), Some(ink::GAP), Some(Line(BAR, 0.6)));
        if let Some((low, high)) = bar.ends {
            let middle = y - 3.5;
            leaf.line(&[(at(low), middle), (at(high), middle)], Line(ink::INK, 1.0));
            for end in [low, high] {
                leaf.line(&[(at(end), middle - 3.0), (at(end), middle + 3.0)], Line(ink::INK, 1.0));
            }
        }
        leaf.write_to(&bar.words, (x + width, y), quiet(9.0));
        y += 17.0;
    }
    y
}

/// The last page: how the figures were found, and what to mind.
pub fn worked_out(leaf: &mut Leaf<'_, '_>, facts: &Facts, paper: &Paper) {
    const HOW: [&str; 7] = [
        "House index: yards with larvae or pupae to 100 inspected yards; its interval is Wilson's score, narrower where much of all yards was seen, exact where none or all were positive.",
        "Container index: containers with larvae or pupae to 100 with water; the yards count as clusters, for containers of one yard are alike. Breteau index: such containers to 100 inspected yards, by a negative binomial.",
        "Yards nobody got into are in no index. Few yards give wide intervals: read them before the index.",
        "Blocks that stand out: the house index of a block and its neighbours against all blocks (Gi*), with false discoveries held down (Benjamini and Hochberg). Clusters move: a round old is too old.",
        "Change: yards seen both times compared with themselves. Without an area where nothing was done nobody can tell the crews' work from rain and season.",
        "Visits due: from the oldest stage seen and the temperatures measured, by the fast end; water that was only emptied is due again after seven days at most, a common practice.",
        CONVENTION,
    ];
    let top = head(leaf, facts, paper, paper.pages, "How this was worked out, and what to mind");
    let room = paper.size.0 - 2.0 * MARGIN - BETWEEN;
    let half = room / 2.0;
    listed(leaf, "How this was worked out", &HOW, (MARGIN, top), half);
    listed(leaf, "What to mind", &CAUTIONS, (MARGIN + half + BETWEEN, top), half);
}

fn listed(leaf: &mut Leaf<'_, '_>, title: &str, all: &[&str], at: At, width: f32) {
    let mut y = heading(leaf, title, at, width);
    for one in all {
        leaf.disc((at.0 + 2.0, y - 3.0), 1.3, ink::INK, Line(ink::INK, 0.2));
        y = leaf.lines(one, (at.0 + 10.0, y), width - 10.0, regular(11.0), 14.5) + 7.0;
    }
}

/// The paper, the title, the round and its days, and the foot. Gives back where the page goes on.
fn head(leaf: &mut Leaf<'_, '_>, facts: &Facts, paper: &Paper, page: usize, title: &str) -> f32 {
    let (w, h) = paper.size;
    leaf.frame((0.0, 0.0, w, h), Some(ink::SHEET), None);
    leaf.write(&leaf.cut(title, w * 0.6, semibold(22.0)), (MARGIN, MARGIN + 18.0), semibold(22.0));
    leaf.write_to(&leaf.cut(&facts.round, w * 0.28, semibold(14.0)), (w - MARGIN, MARGIN + 18.0), semibold(14.0));
    leaf.write_to(&facts.under, (w - MARGIN, MARGIN + 34.0), quiet(10.0));
    let y = h - MARGIN + 8.0;
    leaf.write("Enter no yard without permission or other lawful authority. The product label is the law.", (MARGIN, y), quiet(8.0));
    leaf.write_to(&format!("{} · page {page} of {}", day(facts.on), paper.pages), (w - MARGIN, y), quiet(8.0));
    MARGIN + 62.0
}

/// A heading over a column with a line under it. Gives back the first line of what follows.
fn heading(leaf: &mut Leaf<'_, '_>, text: &str, (x, y): At, width: f32) -> f32 {
    leaf.write(text, (x, y), semibold(12.0));
    leaf.line(&[(x, y + 5.0), (x + width, y + 5.0)], Line(ink::EDGE, 0.7));
    y + 22.0
}
