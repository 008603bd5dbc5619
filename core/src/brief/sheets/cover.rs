//! The first page of a sheet: the map, the scale, what to carry, where to meet and what to mind.

use super::super::ink;
use super::super::paint::lettering::{Hand, Weight};
use super::chart::{self, Plat, WHITE};
use super::content::{CAUTIONS, WalkWords};
use super::press::{At, Leaf, Line};
use crate::brief::words::grouped;
use crate::survey::Survey;
use crate::walks::{CrewWalk, Day};

/// White space at the edges of a page, in points: half an inch, which every printer can do.
pub const MARGIN: f32 = 36.0;
/// Metres in one international foot. Source: international yard and pound agreement, 1959.
const FOOT: f64 = 0.3048;

pub const fn regular(size: f32) -> Hand {
    Hand { weight: Weight::Regular, size, ink: ink::INK }
}

pub const fn semibold(size: f32) -> Hand {
    Hand { weight: Weight::Semibold, size, ink: ink::INK }
}

pub const fn quiet(size: f32) -> Hand {
    Hand { weight: Weight::Regular, size, ink: ink::QUIET }
}

/// What the page is about.
#[derive(Clone, Copy)]
pub struct Cover<'a> {
    pub survey: &'a Survey,
    pub day: &'a Day,
    pub walk: &'a CrewWalk,
    pub words: &'a WalkWords,
    pub district: &'a str,
    /// Width and height of the page.
    pub size: (f32, f32),
}

impl Cover<'_> {
    /// Draws the page; its foot is drawn by who knows the number of pages.
    pub fn draw(&self, leaf: &mut Leaf<'_, '_>) {
        let (w, h) = self.size;
        leaf.write(&self.words.crew, (MARGIN, MARGIN + 18.0), semibold(22.0));
        leaf.write_to(&self.words.on, (w - MARGIN, MARGIN + 18.0), semibold(14.0));
        leaf.write(&self.words.extent, (MARGIN, MARGIN + 36.0), regular(11.0));
        leaf.write_to(self.district, (w - MARGIN, MARGIN + 36.0), regular(11.0));
        let foot = self.below_height(leaf);
        let top = MARGIN + 46.0;
        let frame = (MARGIN, top, w - 2.0 * MARGIN, h - MARGIN - 16.0 - foot - top);
        let plat = Plat::of(self.survey, self.day, self.walk, frame);
        chart::draw(leaf, self.survey, self.day, self.walk, &plat);
        let below = frame.1 + frame.3;
        self.key(leaf, below + 16.0, plat.scale);
        self.columns(leaf, below + 44.0);
    }

    /// Height of what stands below the map.
    fn below_height(&self, leaf: &Leaf<'_, '_>) -> f32 {
        let (left, right) = self.split();
        let lines = |text: &str, width: f32| leaf.press.lettering.broken(text, width, regular(9.0)).len() as f32;
        let carry = 16.0 + 13.0 * self.words.carry.iter().map(|c| lines(c, left - 14.0)).sum::<f32>();
        let meet = 24.0 + 12.0 * lines(&self.words.meet, left);
        let minds = 16.0 + CAUTIONS.iter().map(|c| 11.5 * lines(c, right - 8.0) + 2.5).sum::<f32>();
        44.0 + (meet + carry).max(minds)
    }

    /// Widths of the two columns below the map.
    fn split(&self) -> (f32, f32) {
        let room = self.size.0 - 2.0 * MARGIN - 20.0;
        (room * 0.42, room * 0.58)
    }

    /// What the signs mean, the scale in both units, and north.
    fn key(&self, leaf: &mut Leaf<'_, '_>, y: f32, scale: f64) {
        let mut x = MARGIN + 7.0;
        for (must, text) in [(true, "cannot wait"), (false, "door")] {
            chart::number_disc(leaf, 1, must, (x, y - 3.0), 6.0);
            x = leaf.write(text, (x + 10.0, y), regular(8.5)) + 16.0;
        }
        leaf.line(&[(x - 4.0, y - 3.0), (x + 16.0, y - 3.0)], Line(ink::INK, 1.6));
        leaf.write("the walk, by the numbers", (x + 21.0, y), regular(8.5));
        let right = self.size.0 - MARGIN;
        north(leaf, (right - 8.0, y + 4.0));
        let room = 110.0 / scale;
        let (metres, feet) = (round_below(room), round_below(room / FOOT));
        let left = right - 150.0;
        bar(leaf, (left, y - 6.0), (metres * scale) as f32, -4.0, &format!("{} m", grouped(metres as u64)));
        bar(leaf, (left, y - 1.0), (feet * FOOT * scale) as f32, 4.0, &format!("{} ft", grouped(feet as u64)));
    }

    fn columns(&self, leaf: &mut Leaf<'_, '_>, top: f32) {
        let (left, right) = self.split();
        let mut y = top;
        leaf.write("Meet", (MARGIN, y), semibold(10.5));
        y = leaf.lines(&self.words.meet, (MARGIN, y + 13.0), left, regular(9.0), 12.0) + 7.0;
        leaf.write("To carry", (MARGIN, y), semibold(10.5));
        y += 14.0;
        for item in &self.words.carry {
            tick_box(leaf, (MARGIN, y - 7.0), 7.5);
            y = leaf.lines(item, (MARGIN + 14.0, y), left - 14.0, regular(9.0), 13.0);
        }
        let x = MARGIN + left + 20.0;
        leaf.write("Mind", (x, top), semibold(10.5));
        let mut y = top + 13.0;
        for caution in CAUTIONS {
            leaf.disc((x + 1.5, y - 3.0), 1.2, ink::INK, Line(ink::INK, 0.2));
            y = leaf.lines(caution, (x + 8.0, y), right - 8.0, regular(9.0), 11.5) + 2.5;
        }
    }
}

/// A box to tick with a pen.
pub fn tick_box(leaf: &mut Leaf<'_, '_>, (x, y): At, side: f32) {
    leaf.frame((x, y, side, side), Some(WHITE), Some(Line(ink::INK, 0.7)));
}

/// One half of the scale bar, its ends turned up or down, its length beside it.
fn bar(leaf: &mut Leaf<'_, '_>, (x, y): At, long: f32, end: f32, label: &str) {
    leaf.line(&[(x, y + end), (x, y), (x + long, y), (x + long, y + end)], Line(ink::INK, 0.9));
    leaf.write_to(label, (x - 5.0, y + if end < 0.0 { 1.0 } else { 6.0 }), regular(7.5));
}

fn north(leaf: &mut Leaf<'_, '_>, (x, y): At) {
    leaf.shape(&[vec![(x, y - 9.0), (x + 5.0, y + 8.0), (x, y + 4.5), (x - 5.0, y + 8.0)]], Some(ink::INK), None);
    leaf.write("N", (x - 3.2, y - 11.0), semibold(8.0));
}

/// The largest of 1, 2 or 5 times a power of ten that is not above a number.
fn round_below(v: f64) -> f64 {
    let power = 10f64.powf(v.max(1e-6).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|f| f * power).find(|&r| r <= v).unwrap_or(power)
}
