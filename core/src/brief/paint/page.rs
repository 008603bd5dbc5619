//! The page round the map: heading, legend, measures, scale bar, north, sources and cautions.

use super::super::classes::LegendLine;
use super::super::ink::{self, Mark, Rgb};
use super::hatch;
use super::lettering::{Hand, Lettering, Weight};
use super::marks;
use super::sheet::Sheet;
use super::walks;
use crate::brief::words::grouped;
use crate::survey::SignalKind;
use tiny_skia::{Path, PathBuilder, Rect};

/// What is drawn over the classes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// The ground inside the reach and its edge.
    Reach,
    /// A dot for a source: with pupae, or without.
    Source { pupae: bool },
    /// A trap, a complaint or a case.
    Signal(SignalKind),
    /// The walk of one crew, by its place among the crews.
    Walk(usize),
}

/// A line of the legend for a sign; without a number where there is nothing to count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignLine {
    pub sign: Sign,
    pub label: String,
    pub count: Option<u64>,
}

/// Everything that is said round the map.
#[derive(Clone, Debug, Default)]
pub struct Saying {
    /// The largest line.
    pub heading: String,
    /// Round, days, district.
    pub under_heading: String,
    /// What the legend's classes count, with the unit.
    pub legend_heading: String,
    /// The legend, from top to bottom.
    pub legend: Vec<LegendLine>,
    /// What the legend counts: "blocks".
    pub counted: &'static str,
    /// What is drawn over the classes, from top to bottom.
    pub signs: Vec<SignLine>,
    /// The answer in short: a heading and sentences.
    pub answer: (String, Vec<String>),
    /// Where breaks come from and the like.
    pub notes: Vec<String>,
    /// A sentence in the warning's ink above the foot, where no size of picture leaves it out.
    pub warning: Option<String>,
    /// Sources, day, cautions.
    pub foot: Vec<String>,
}

/// Where things lie on the page, in pixels.
#[derive(Clone, Copy, Debug)]
pub struct Layout {
    pub unit: f32,
    pub size: (u32, u32),
    /// The map: left, top, width, height.
    pub map: (u32, u32, u32, u32),
    /// Two places for what is beside or below the map: left, top, width.
    places: [(f32, f32, f32); 2],
    /// Whether the two places are one, the second going on where the first ends.
    one: bool,
    /// Height of one line of the legend.
    row: f32,
    /// Whether scale bar and arrow lie under the map, because there is no room for them under the legend.
    scale_under_map: bool,
    /// The bottom of the places.
    bottom: f32,
}

const MARGIN: f32 = 44.0;
/// Height of a line of the legend where there is room, and the least.
const ROW: (f32, f32) = (31.0, 20.0);
/// What the legend's heading takes, and what scale bar and arrow do.
const HEADING: f32 = 62.0;
const SCALE: f32 = 112.0;
/// What they take under the map.
const UNDER: f32 = 96.0;

impl Saying {
    /// How many lines the legend has.
    pub fn legend_lines(&self) -> usize {
        self.legend.len() + self.signs.len()
    }

    /// The same, without the lines for dots where none is drawn.
    #[must_use]
    pub fn without_dots(mut self, none: bool) -> Self {
        self.signs.retain(|line| !(none && matches!(line.sign, Sign::Source { .. })));
        self
    }

    /// How many lines stand at the foot, the warning among them.
    pub fn foot_lines(&self) -> usize {
        self.foot.len() + self.warning.iter().count()
    }

    /// The same with the foot broken into lines that fit a picture.
    #[must_use]
    pub fn fitted(mut self, size: (u32, u32), unit: f32, lettering: &Lettering) -> Self {
        let hand = Hand { weight: Weight::Regular, size: 14.0 * unit, ink: ink::QUIET };
        let room = size.0 as f32 - 2.0 * MARGIN * unit;
        self.foot = self.foot.iter().flat_map(|line| lettering.broken(line, room, hand)).collect();
        self
    }
}

/// Whether the words stand beside the map: on pages wider than high, or low.
fn is_wide((w, h): (f32, f32)) -> bool {
    w >= 1.1 * h || h < 900.0
}

/// On a sheet of paper the smallest type, 14 pixels of the reference sheet, becomes 8 points of 1/72 inch at most: so many dots to an
/// inch make one pixel of the reference sheet.
const DOTS_FOR_8_POINTS: f32 = 14.0 * 72.0 / 8.0;
/// A picture has no inches: from half as large again as the reference sheet type grows no more, and a larger picture shows more.
const LARGEST: f32 = 1.5;

/// Size of a pixel on the reference sheet of 1600 by 1200, or 1200 by 1600; `dots` to an inch where the picture is a sheet of paper. Type
/// never becomes too small to read, nor larger than somebody needs who holds the sheet.
pub fn unit(size: (u32, u32), dots: Option<u32>) -> f32 {
    let (w, h) = (size.0 as f32, size.1 as f32);
    let fit = if is_wide((w, h)) { (w / 1600.0).min(h / 1200.0) } else { (w / 1200.0).min(h / 1600.0) };
    let most = dots.map_or(LARGEST, |d| d as f32 / DOTS_FOR_8_POINTS);
    fit.min(most).max(0.55)
}

impl Layout {
    /// Where things lie on a page when the legend and the foot have so many lines.
    pub fn of(size: (u32, u32), unit: f32, legend_lines: usize, foot_lines: usize) -> Self {
        let (w, h) = (size.0 as f32, size.1 as f32);
        let margin = MARGIN * unit;
        let top = margin + 84.0 * unit;
        let bottom = h - margin - (14.0 + 19.0 * foot_lines as f32) * unit;
        let frame = (margin, top, w - margin, bottom);
        if is_wide((w, h)) { Self::beside(size, unit, frame, legend_lines) } else { Self::below(size, unit, frame, legend_lines) }
    }

    /// Words beside the map.
    fn beside(size: (u32, u32), unit: f32, (left, top, right, bottom): (f32, f32, f32, f32), lines: usize) -> Self {
        let column = 390.0 * unit;
        let place = (right - column, top, column);
        let room = (bottom - top) / unit - HEADING;
        let scale_under_map = room - SCALE < ROW.1 * lines as f32;
        let row = row(if scale_under_map { room } else { room - SCALE }, lines) * unit;
        let map = whole((left, top, place.0 - 32.0 * unit - left, bottom - top - if scale_under_map { UNDER * unit } else { 0.0 }));
        Self { unit, size, map, places: [place, place], one: true, row, scale_under_map, bottom }
    }

    /// Words below the map, in two columns where they are wide enough.
    fn below(size: (u32, u32), unit: f32, (left, top, right, bottom): (f32, f32, f32, f32), lines: usize) -> Self {
        let half = (right - left - 40.0 * unit) / 2.0;
        let two = half >= 320.0 * unit;
        let most = 0.62 * (bottom - top) / unit - 28.0;
        let wanted = HEADING + ROW.0 * lines as f32;
        let band = if two { wanted.max(392.0) } else { wanted + SCALE }.min(most);
        let scale_under_map = !two && band - SCALE < HEADING + ROW.1 * lines as f32;
        let row = row(band - HEADING - if two || scale_under_map { 0.0 } else { SCALE }, lines) * unit;
        let below = bottom - band * unit;
        let under = if scale_under_map { UNDER } else { 28.0 };
        let map = whole((left, top, right - left, below - under * unit - top));
        let second = if two { (left + half + 40.0 * unit, below, half) } else { (left, below, right - left) };
        let first = (left, below, if two { half } else { right - left });
        Self { unit, size, map, places: [first, second], one: !two, row, scale_under_map, bottom }
    }
}

/// Height of a line of the legend when all have so much room.
fn row(room: f32, lines: usize) -> f32 {
    (room / lines.max(1) as f32).clamp(ROW.1, ROW.0)
}

fn whole((x, y, w, h): (f32, f32, f32, f32)) -> (u32, u32, u32, u32) {
    let whole = |v: f32| v.round().max(1.0) as u32;
    (whole(x), whole(y), whole(w), whole(h))
}

/// Names who made the ground, in the lower right corner of a map of some size: never left out, on lines where one is too short.
pub fn credit(sheet: &mut dyn Sheet, lettering: &Lettering, text: &str, (width, height): (u32, u32), unit: f32) {
    let hand = Hand { weight: Weight::Regular, size: 13.0 * unit, ink: ink::INK };
    let (right, bottom, edge) = (width as f32, height as f32, 6.0 * unit);
    let lines = lettering.broken(text, right - 4.0 * edge, hand);
    let widest = lines.iter().map(|l| lettering.width(l, hand)).fold(0.0, f32::max);
    let high = 18.0 * unit * lines.len() as f32;
    if let Some(behind) = rectangle(right - widest - 2.0 * edge, bottom - high - edge, widest + 2.0 * edge, high + edge) {
        sheet.fill(&behind, ink::SHEET);
    }
    for (line, k) in lines.iter().rev().zip(0u16..) {
        let y = bottom - 1.3 * edge - 18.0 * unit * f32::from(k);
        lettering.write_to(sheet, line, (right - edge, y), hand);
    }
}

/// A page being written.
pub struct Page<'a> {
    pub sheet: &'a mut dyn Sheet,
    pub lettering: &'a Lettering,
    pub layout: Layout,
}

impl Page<'_> {
    fn hand(&self, weight: Weight, size: f32, ink: Rgb) -> Hand {
        Hand { weight, size: size * self.layout.unit, ink }
    }

    /// Writes everything round the map, which is laid already; `scale` is the map's pixels in a metre.
    pub fn write(&mut self, saying: &Saying, scale: f64) {
        let u = self.layout.unit;
        let margin = MARGIN * u;
        let room = self.layout.size.0 as f32 - 2.0 * margin;
        let heading = self.hand(Weight::Semibold, 34.0, ink::INK);
        let under = self.hand(Weight::Regular, 19.0, ink::QUIET);
        self.shrunk(&saying.heading, (margin, margin + 30.0 * u), room, heading);
        self.shrunk(&saying.under_heading, (margin, margin + 62.0 * u), room, under);
        self.frame();
        let [first, second] = self.layout.places;
        let y = self.legend(saying, first);
        let from = if self.layout.one { (second.0, y + 22.0 * u, second.2) } else { second };
        self.answer(saying, from);
        self.scale_and_north(scale);
        let foot = self.hand(Weight::Regular, 14.0, ink::QUIET);
        let warning = self.hand(Weight::Semibold, 14.0, ink::WARNING);
        let mut y = self.layout.size.1 as f32 - margin - 19.0 * u * (saying.foot_lines() as f32 - 1.0);
        let lines = saying.warning.iter().map(|t| (t, warning)).chain(saying.foot.iter().map(|t| (t, foot)));
        for (line, hand) in lines {
            self.one_line(line, (margin, y), room, hand);
            y += 19.0 * u;
        }
    }

    fn one_line(&mut self, text: &str, at: (f32, f32), room: f32, hand: Hand) {
        let text = self.lettering.cut(text, room, hand);
        self.lettering.write(self.sheet, &text, at, hand);
    }

    /// One line, smaller where it would be too wide, and cut where that is not enough.
    fn shrunk(&mut self, text: &str, at: (f32, f32), room: f32, hand: Hand) {
        let size = hand.size * (room / self.lettering.width(text, hand)).clamp(0.6, 1.0);
        self.one_line(text, at, room, Hand { size, ..hand });
    }

    fn frame(&mut self) {
        let (x, y, w, h) = self.layout.map;
        if let Some(path) = rectangle(x as f32 - 0.5, y as f32 - 0.5, w as f32 + 1.0, h as f32 + 1.0) {
            self.sheet.line(&path, ink::LINE.mixed(ink::EDGE, 0.35), 1.0);
        }
    }

    /// Writes the legend; gives back where it ends.
    fn legend(&mut self, saying: &Saying, (x, top, width): (f32, f32, f32)) -> f32 {
        let u = self.layout.unit;
        let head = self.hand(Weight::Semibold, 18.0, ink::INK);
        let small = self.hand(Weight::Regular, 14.0, ink::QUIET);
        let mut y = self.lines(&saying.legend_heading, (x, top + 16.0 * u), width, head, 24.0);
        self.lettering.write_to(self.sheet, saying.counted, (x + width, y + 2.0 * u), small);
        y += 14.0 * u;
        let high = self.layout.row;
        let fits = (((self.layout.bottom - y) / high) as usize).max(1);
        for line in saying.legend.iter().take(fits) {
            self.swatch(line, (x, y));
            y = self.legend_line(&line.label, Some(line.count), (x, y), width);
        }
        for line in saying.signs.iter().take(fits.saturating_sub(saying.legend.len())) {
            self.sign(line.sign, (x, y));
            y = self.legend_line(&line.label, line.count, (x, y), width);
        }
        y
    }

    fn sign(&mut self, sign: Sign, (x, y): (f32, f32)) {
        let (u, high) = (self.layout.unit, self.layout.row);
        let middle = (x + 20.0 * u, y + 0.39 * high);
        match sign {
            Sign::Reach => {
                if let Some(ground) = rectangle(x, y, 40.0 * u, 24.0 / ROW.0 * high) {
                    self.sheet.fill(&ground, ink::REACH);
                    self.sheet.line(&ground, ink::REACH_EDGE, 1.8 * u);
                }
            }
            Sign::Source { pupae } => marks::dot(self.sheet, middle, 3.2 * u, if pupae { ink::WARNING } else { ink::INK }),
            Sign::Walk(crew) => {
                let how = ink::walk(crew);
                walks::line(self.sheet, &[(x, middle.1), (x + 40.0 * u, middle.1)], how, u);
                walks::stop(self.sheet, how, middle, 5.0 * u);
            }
            Sign::Signal(kind) => marks::signal(self.sheet, kind, middle, 0.29 * high),
        }
    }

    fn legend_line(&mut self, label: &str, count: Option<u64>, (x, y): (f32, f32), width: f32) -> f32 {
        let u = self.layout.unit;
        let high = self.layout.row;
        let hand = Hand { weight: Weight::Regular, size: (0.8 * high).min(17.0 * u), ink: ink::INK };
        let number = count.map(grouped).unwrap_or_default();
        let room = width - 64.0 * u - self.lettering.width(&number, hand);
        let line = y + 0.39 * high + 0.35 * hand.size;
        self.shrunk(label, (x + 54.0 * u, line), room, hand);
        self.lettering.write_to(self.sheet, &number, (x + width, line), hand);
        y + high
    }

    fn swatch(&mut self, line: &LegendLine, (x, y): (f32, f32)) {
        let u = self.layout.unit;
        let high = 24.0 / ROW.0 * self.layout.row;
        let Some(path) = rectangle(x, y, 40.0 * u, high) else { return };
        let class = line.ink;
        // Without a fill the map's own ground is seen, which is no white.
        self.sheet.fill(&path, class.fill.unwrap_or(ink::PAPER));
        if class.hatched {
            self.sheet.hatch(&path, class.mark_ink, ((9.0 * u).round() as u32).max(4), 1.1 * u);
        }
        if class.dotted {
            hatch::dots(&path, 9.0 * u, 2.0 * u).iter().for_each(|dots| self.sheet.fill(dots, class.mark_ink));
        }
        if class.mark == Mark::LowerHalf
            && let Some(half) = rectangle(x, y + high / 2.0, 40.0 * u, high / 2.0)
        {
            self.sheet.fill(&half, class.mark_ink);
        } else {
            marks::draw(self.sheet, class.mark, (x + 20.0 * u, y + high / 2.0), 0.8 * high, &class);
        }
        self.sheet.line(&path, class.edge, class.edge_width() * u);
    }

    fn answer(&mut self, saying: &Saying, (x, top, width): (f32, f32, f32)) {
        let u = self.layout.unit;
        let head = self.hand(Weight::Semibold, 18.0, ink::INK);
        let body = self.hand(Weight::Regular, 17.0, ink::INK);
        let small = self.hand(Weight::Regular, 14.0, ink::QUIET);
        let last = self.layout.bottom - if self.layout.scale_under_map { 0.0 } else { SCALE * u };
        if top + 64.0 * u > last {
            return; // no room for the heading and a line under it
        }
        let mut y = self.lines(&saying.answer.0, (x, top + 16.0 * u), width, head, 24.0);
        let body = saying.answer.1.iter().map(|t| (t, body, 24.0));
        let small = saying.notes.iter().map(|t| (t, small, 19.0));
        for (text, hand, step) in body.chain(small) {
            let lines = self.lettering.broken(text, width, hand).len() as f32;
            if y + lines * step * u > last {
                break; // a small picture says less
            }
            y = self.lines(text, (x, y + 2.0 * u), width, hand, step) + 6.0 * u;
        }
    }

    /// Writes a text in lines; gives back the line after the last.
    fn lines(&mut self, text: &str, (x, mut y): (f32, f32), width: f32, hand: Hand, step: f32) -> f32 {
        for line in self.lettering.broken(text, width, hand) {
            self.lettering.write(self.sheet, &line, (x, y), hand);
            y += step * self.layout.unit;
        }
        y
    }

    /// A scale bar in metres and feet and an arrow to the north, at the foot of the second place or under the map.
    fn scale_and_north(&mut self, scale: f64) {
        let u = self.layout.unit;
        let (mut x, _, mut width) = self.layout.places[1];
        let mut y = self.layout.bottom - 44.0 * u;
        if self.layout.scale_under_map {
            let map = self.layout.map;
            (x, y) = (map.0 as f32, (map.1 + map.3) as f32 + 60.0 * u);
            width = map.2 as f32;
        }
        let left = x + 58.0 * u;
        let room = f64::from((width - 130.0 * u).max(24.0 * u));
        let hand = self.hand(Weight::Regular, 14.0, ink::QUIET);
        let metres = round_below(room / scale);
        let feet = round_below(room / scale / FOOT);
        for (length, label, above) in [(metres * scale, measure(metres, "m"), true), (feet * FOOT * scale, measure(feet, "ft"), false)] {
            let end = left + length as f32;
            let tick = if above { -9.0 } else { 9.0 } * u;
            let mut bar = PathBuilder::new();
            bar.move_to(left, y + tick);
            bar.line_to(left, y);
            bar.line_to(end, y);
            bar.line_to(end, y + tick);
            if let Some(path) = bar.finish() {
                self.sheet.line(&path, ink::INK, 1.6 * u);
            }
            let baseline = if above { y - 14.0 * u } else { y + 24.0 * u };
            self.lettering.write(self.sheet, &label, (end - self.lettering.width(&label, hand) / 2.0, baseline), hand);
            self.lettering.write(self.sheet, "0", (left - 4.0 * u, baseline), hand);
        }
        self.north((x + 18.0 * u, y));
    }

    fn north(&mut self, (x, y): (f32, f32)) {
        let u = self.layout.unit;
        let mut half = |side: f32, filled: bool| {
            let mut path = PathBuilder::new();
            path.move_to(x, y - 26.0 * u);
            path.line_to(x + side * 10.0 * u, y + 16.0 * u);
            path.line_to(x, y + 9.0 * u);
            path.close();
            if let Some(path) = path.finish() {
                if filled {
                    self.sheet.fill(&path, ink::INK);
                }
                self.sheet.line(&path, ink::INK, 1.2 * u);
            }
        };
        half(-1.0, true);
        half(1.0, false);
        let hand = self.hand(Weight::Semibold, 14.0, ink::INK);
        let wide = self.lettering.width("N", hand);
        self.lettering.write(self.sheet, "N", (x - wide / 2.0, y - 32.0 * u), hand);
    }
}

/// Metres in one international foot. Source: international yard and pound agreement, 1959.
const FOOT: f64 = 0.3048;

/// The largest of 1, 2 or 5 times a power of ten that is not above a number.
fn round_below(v: f64) -> f64 {
    let power = 10f64.powf(v.max(1e-6).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|f| f * power).find(|&r| r <= v).unwrap_or(power)
}

fn measure(v: f64, unit: &str) -> String {
    if unit == "m" && v >= 2000.0 { format!("{} km", v / 1000.0) } else { format!("{} {unit}", grouped(v as u64)) }
}

/// A rectangle as a path; `None` when it has no extent.
pub fn rectangle(x: f32, y: f32, w: f32, h: f32) -> Option<Path> {
    Some(PathBuilder::from_rect(Rect::from_xywh(x, y, w, h)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scale_bars_have_round_lengths() {
        let found: Vec<f64> = [0.9, 1.0, 4.9, 260.0, 999.0, 5000.0].into_iter().map(round_below).collect();
        assert_eq!(found, [0.5, 1.0, 2.0, 200.0, 500.0, 5000.0]);
        assert_eq!(
            (measure(1000.0, "m"), measure(5000.0, "m"), measure(2000.0, "ft")),
            ("1,000 m".into(), "5 km".into(), "2,000 ft".into())
        );
    }

    /// Small type is 14 pixels of the reference sheet: on paper between 6.5 and 8 points of 1/72 inch.
    #[test]
    fn type_does_not_grow_without_end() {
        let points = |size: (u32, u32), dots: u32| 14.0 * unit(size, Some(dots)) * 72.0 / dots as f32;
        for (size, dots) in [((3508, 2480), 300), ((4961, 3508), 300), ((1123, 794), 96), ((1587, 1123), 96)] {
            assert!((6.5..8.001).contains(&points(size, dots)), "{size:?}: {}", points(size, dots));
        }
        assert_eq!([(1600, 1200), (2400, 1800), (8000, 8000)].map(|size| unit(size, None)), [1.0, 1.5, 1.5]);
    }

    #[test]
    fn the_map_stays_on_the_page_at_every_size() {
        for size in [(1600, 1200), (1200, 1600), (640, 480), (3000, 1000), (1000, 3000), (400, 300), (400, 400), (400, 1200), (6000, 4000)]
        {
            for lines in [7, 12] {
                let l = Layout::of(size, unit(size, None), lines, 3);
                let (x, y, w, h) = l.map;
                assert!(x + w < size.0 && y + h < size.1 && w > 40 && h > 40, "{size:?}: {:?}", l.map);
                let legend = l.places[0].1 + HEADING * l.unit + l.row * lines as f32;
                let scale = if l.one && !l.scale_under_map { SCALE * l.unit } else { 0.0 };
                assert!(legend + scale <= l.bottom + 1.0, "{size:?}, {lines}: {legend} of {}", l.bottom);
            }
        }
    }
}
