//! How notices stand on paper: half a page each, two to a page, to be cut along a line. A notice that needs more goes on on the next half.
//!
//! Half a page because a county prints thousands: it halves the paper and what a crew carries, and holds what most yards need in type as
//! large as a newspaper's.

use super::phrases::{Phrases, filled};
use super::words::{NoticeWords, Part};
use crate::brief::ink;
use crate::brief::paint::lettering::{Hand, Lettering};
use crate::brief::sheets::cover::{MARGIN, quiet, regular, semibold, tick_box};
use crate::brief::sheets::press::{At, Leaf, Line};

/// Where the words of a notice begin below its upper edge, and how far above its lower edge they end, in points.
const TOP: f32 = MARGIN + 54.0;
const FOOT: f32 = MARGIN + 22.0;
/// White space between the two columns.
const BETWEEN: f32 = 22.0;
/// The type of what this door is told, and of what all are told; from line to line.
const OWN: Hand = regular(10.0);
const FIRM: Hand = semibold(10.0);
const OWN_STEP: f32 = 12.2;
const ALL: Hand = regular(9.2);
const ALL_STEP: f32 = 11.2;
/// Side of a box to tick, and how far the words stand from its left edge.
const TICK: f32 = 8.0;
const INDENT: f32 = 14.0;
/// White space after a piece.
const APART: f32 = 4.0;

/// Words in their place, from the upper left corner of the half page.
#[derive(Clone, Debug)]
pub struct Written {
    pub text: String,
    pub at: At,
    pub hand: Hand,
}

/// Half a page.
#[derive(Clone, Debug, Default)]
pub struct Slip {
    pub written: Vec<Written>,
    /// Upper left corners of boxes to tick.
    pub ticks: Vec<At>,
}

/// A half page: its width and height in points, and the phrases of its language.
#[derive(Clone, Copy)]
pub struct Half<'a> {
    pub size: (f32, f32),
    pub says: &'a Phrases,
}

impl Half<'_> {
    /// The width of a column.
    fn column(&self) -> f32 {
        (self.size.0 - 2.0 * MARGIN - BETWEEN) / 2.0
    }

    /// The halves that a notice takes.
    pub fn slips(&self, lettering: &Lettering, notice: &NoticeWords) -> Vec<Slip> {
        let (width, bottom) = (self.column(), self.size.1 - FOOT);
        let mut column = Column { lettering, width, bottom, y: TOP, full: Vec::new(), here: Slip::default() };
        notice.parts.iter().for_each(|part| column.part(part));
        let mut slips = column.full;
        slips.push(column.here);
        let all = slips.len();
        for (number, slip) in (1..).zip(&mut slips) {
            self.head(lettering, notice, slip, (number, all));
        }
        slips
    }

    /// The title, the address and the parcel; which sheet of how many where there is more than one.
    fn head(&self, lettering: &Lettering, notice: &NoticeWords, slip: &mut Slip, (number, all): (usize, usize)) {
        let right = self.size.0 - MARGIN;
        let mut write = |text: String, at: At, hand: Hand| slip.written.push(Written { text, at, hand });
        write(lettering.cut(notice.title, self.size.0 * 0.62, semibold(14.0)), (MARGIN, MARGIN + 12.0), semibold(14.0));
        let sheet = if all > 1 { filled(self.says.sheet, &[&number.to_string(), &all.to_string()]) } else { String::new() };
        let beside: Vec<&str> = [notice.parcel.as_str(), &sheet].into_iter().filter(|t| !t.is_empty()).collect();
        let beside = lettering.cut(&beside.join(" · "), self.size.0 * 0.34, quiet(9.5));
        let left = right - lettering.width(&beside, quiet(9.5));
        write(lettering.cut(&notice.address, left - MARGIN - 10.0, semibold(12.0)), (MARGIN, MARGIN + 31.0), semibold(12.0));
        write(beside, (left, MARGIN + 31.0), quiet(9.5));
    }

    /// What stands on every half: the district, lines, how to keep it so, what to mind, whom to call.
    pub fn same_for_all(&self, leaf: &mut Leaf<'_, '_>, district: &str, office: &str) {
        let ((w, h), right) = (self.size, self.size.0 - MARGIN);
        leaf.write_to(&leaf.cut(district, w * 0.25, quiet(9.5)), (right, MARGIN + 12.0), quiet(9.5));
        leaf.line(&[(MARGIN, MARGIN + 38.0), (right, MARGIN + 38.0)], Line(ink::EDGE, 0.7));
        let x = MARGIN + self.column() + BETWEEN;
        let y = self.listed(leaf, self.says.keep, &self.says.keep_so, (x, TOP));
        self.listed(leaf, self.says.care, &self.says.take_care, (x, y + 6.0));
        let y = h - FOOT + 8.0;
        leaf.line(&[(MARGIN, y), (right, y)], Line(ink::EDGE, 0.7));
        self.call(leaf, office, h - MARGIN);
    }

    fn listed(&self, leaf: &mut Leaf<'_, '_>, title: &str, all: &[&str], (x, top): At) -> f32 {
        leaf.write(title, (x, top), semibold(10.0));
        let mut y = top + 13.0;
        for one in all {
            leaf.disc((x + 1.5, y - 2.8), 1.1, ink::INK, Line(ink::INK, 0.2));
            y = leaf.lines(one, (x + 8.0, y), self.column() - 8.0, ALL, ALL_STEP) + 1.6;
        }
        y
    }

    /// Whom to call: what the office says of itself, or lines for a pen.
    fn call(&self, leaf: &mut Leaf<'_, '_>, office: &str, y: f32) {
        let right = self.size.0 - MARGIN;
        let thanks = leaf.width(self.says.thanks, semibold(9.5));
        leaf.write_to(self.says.thanks, (right, y), semibold(9.5));
        if !office.is_empty() {
            let text = filled(self.says.questions, &[office]);
            let end = right - thanks - 12.0;
            leaf.write(&leaf.cut(&text, end - MARGIN, semibold(9.5)), (MARGIN, y), semibold(9.5));
            return;
        }
        let mut x = MARGIN;
        for (label, room) in [(self.says.telephone, 0.55), (self.says.reference, 1.0)] {
            x = leaf.write(label, (x, y), regular(9.5)) + 5.0;
            let end = x + (right - thanks - 12.0 - x) * room;
            // Where the second label follows, the first line leaves room for it.
            let end = if room < 1.0 { end - leaf.width(self.says.reference, regular(9.5)) * room } else { end };
            leaf.line(&[(x, y + 1.5), (end, y + 1.5)], Line(ink::INK, 0.6));
            x = end + 8.0;
        }
    }
}

/// Draws a half page.
pub fn draw(leaf: &mut Leaf<'_, '_>, slip: &Slip, top: f32) {
    for (x, y) in &slip.ticks {
        tick_box(leaf, (*x, top + y), TICK);
    }
    for one in &slip.written {
        leaf.write(&one.text, (one.at.0, top + one.at.1), one.hand);
    }
}

/// The line to cut along, dashed, over the width of the page.
pub fn cut_line(leaf: &mut Leaf<'_, '_>, (width, y): (f32, f32)) {
    const DASH: f32 = 5.0;
    let dashes = (width / (2.0 * DASH)) as usize;
    for i in 0..dashes {
        let x = (2 * i) as f32 * DASH + DASH / 2.0;
        leaf.line(&[(x, y), (x + DASH, y)], Line(ink::EDGE, 0.5));
    }
}

/// The column of what one door is told, being filled.
struct Column<'a> {
    lettering: &'a Lettering,
    width: f32,
    /// No line of words stands below this.
    bottom: f32,
    /// The next line of words.
    y: f32,
    /// Halves that are full, and the one being filled.
    full: Vec<Slip>,
    here: Slip,
}

impl Column<'_> {
    fn part(&mut self, part: &Part) {
        match part {
            Part::Text(text) => self.words((None, text), OWN, 0.0),
            Part::Firm(text) => self.words((None, text), FIRM, 0.0),
            Part::Led { lead, text } => self.words((Some(&format!("{lead}:")), text), OWN, 0.0),
            Part::Heading(text) => {
                self.room(3);
                self.y += 3.0;
                self.words((None, text), semibold(11.0), 0.0);
            }
            Part::ToDo { name, found, advice } => {
                self.room(2);
                let y = self.y - TICK + 0.8;
                self.here.ticks.push((MARGIN, y));
                let lead = self.lettering.cut(&format!("{name}:"), (self.width - INDENT) * 0.8, FIRM);
                self.words((Some(lead.as_str()).filter(|_| !name.is_empty()), found), OWN, INDENT);
                if !advice.is_empty() {
                    self.y -= APART - 1.0;
                    self.words((None, advice), OWN, INDENT);
                }
            }
        }
    }

    /// Goes on on the next half where so many lines do not fit any more.
    fn room(&mut self, lines: usize) {
        if self.y + (lines - 1) as f32 * OWN_STEP > self.bottom {
            self.full.push(std::mem::take(&mut self.here));
            self.y = TOP;
        }
    }

    /// Words in lines below one another, the first of them behind a firm word where there is one.
    fn words(&mut self, (lead, text): (Option<&str>, &str), hand: Hand, indent: f32) {
        let (x, width) = (MARGIN + indent, self.width - indent);
        let taken = lead.map_or(0.0, |lead| self.lettering.width(lead, FIRM));
        let lines = self.lettering.broken_after(taken, text, width, hand);
        for (i, line) in lines.iter().enumerate() {
            self.room(1);
            let y = self.y;
            let mut from = x;
            if let Some(lead) = lead.filter(|_| i == 0) {
                self.here.written.push(Written { text: lead.to_owned(), at: (x, y), hand: FIRM });
                from = x + taken + self.lettering.width(" ", hand);
            }
            // A word that is wider than the column is cut.
            let text = self.lettering.cut(line, width, hand);
            if !text.is_empty() {
                self.here.written.push(Written { text, at: (from, y), hand });
            }
            self.y += OWN_STEP.max(hand.size * 1.25);
        }
        self.y += APART;
    }
}
