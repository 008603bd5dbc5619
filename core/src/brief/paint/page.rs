//! The page round the map: heading, legend, measures, scale bar, north, sources and cautions.

use super::super::classes::LegendLine;
use super::super::ink::{self, Mark, Rgb};
use super::canvas::Canvas;
use super::lettering::{Hand, Lettering, Weight};
use super::marks;
use crate::brief::words::grouped;
use crate::survey::SignalKind;
use tiny_skia::{Path, PathBuilder, Rect};

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
    /// Signals that are drawn and how many.
    pub signals: Vec<(SignalKind, u64)>,
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
    /// The bottom of the places.
    bottom: f32,
}

const MARGIN: f32 = 44.0;

impl Saying {
    /// How many lines the legend has.
    pub fn legend_lines(&self) -> usize {
        self.legend.len() + self.signals.len()
    }

    /// How many lines stand at the foot, the warning among them.
    pub fn foot_lines(&self) -> usize {
        self.foot.len() + self.warning.iter().count()
    }
}

impl Layout {
    /// A page that is wider than high, or low, has the words beside the map, another below it. The legend and the foot have
    /// so many lines. Type never becomes too small to read.
    pub fn of(size: (u32, u32), legend_lines: usize, foot_lines: usize) -> Self {
        let (w, h) = (size.0 as f32, size.1 as f32);
        let wide = w >= 1.1 * h || h < 900.0;
        let unit = if wide { (w / 1600.0).min(h / 1200.0) } else { (w / 1200.0).min(h / 1600.0) }.max(0.55);
        let margin = MARGIN * unit;
        let top = margin + 84.0 * unit;
        let bottom = h - margin - (14.0 + 19.0 * foot_lines as f32) * unit;
        let column = 390.0 * unit;
        let (map, places) = if wide {
            let left = w - margin - column;
            ((margin, top, left - 32.0 * unit - margin, bottom - top), [(left, top, column), (left, top, column)])
        } else {
            let band = (90.0 + 31.0 * legend_lines as f32).max(420.0) * unit;
            let half = (w - 2.0 * margin - 40.0 * unit) / 2.0;
            let below = bottom - band + 28.0 * unit;
            ((margin, top, w - 2.0 * margin, bottom - band - top), [(margin, below, half), (margin + half + 40.0 * unit, below, half)])
        };
        let whole = |v: f32| v.round().max(1.0) as u32;
        Self { unit, size, map: (whole(map.0), whole(map.1), whole(map.2), whole(map.3)), places, one: wide, bottom }
    }
}

/// A page being written.
pub struct Page<'a> {
    pub canvas: &'a mut Canvas,
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
        self.one_line(&saying.heading, (margin, margin + 30.0 * u), room, heading);
        self.one_line(&saying.under_heading, (margin, margin + 62.0 * u), room, under);
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
        self.lettering.write(self.canvas, &text, at, hand);
    }

    fn frame(&mut self) {
        let (x, y, w, h) = self.layout.map;
        if let Some(path) = rectangle(x as f32 - 0.5, y as f32 - 0.5, w as f32 + 1.0, h as f32 + 1.0) {
            self.canvas.line(&path, ink::LINE.mixed(ink::EDGE, 0.35), 1.0);
        }
    }

    /// Writes the legend; gives back where it ends.
    fn legend(&mut self, saying: &Saying, (x, top, width): (f32, f32, f32)) -> f32 {
        let u = self.layout.unit;
        let head = self.hand(Weight::Semibold, 18.0, ink::INK);
        let small = self.hand(Weight::Regular, 14.0, ink::QUIET);
        let mut y = self.lines(&saying.legend_heading, (x, top + 16.0 * u), width, head, 24.0);
        self.lettering.write_to(self.canvas, saying.counted, (x + width, y + 2.0 * u), small);
        y += 14.0 * u;
        for line in &saying.legend {
            self.swatch(line, (x, y));
            y = self.legend_line(&line.label, line.count, (x, y), width);
        }
        for (kind, count) in &saying.signals {
            marks::signal(self.canvas, *kind, (x + 20.0 * u, y + 12.0 * u), 9.0 * u);
            let label = if *count == 1 { kind.word().to_owned() } else { format!("{}s", kind.word()) };
            y = self.legend_line(&label, *count, (x, y), width);
        }
        y
    }

    fn legend_line(&mut self, label: &str, count: u64, (x, y): (f32, f32), width: f32) -> f32 {
        let u = self.layout.unit;
        let hand = self.hand(Weight::Regular, 17.0, ink::INK);
        let number = grouped(count);
        let room = width - 64.0 * u - self.lettering.width(&number, hand);
        self.one_line(label, (x + 54.0 * u, y + 18.0 * u), room, hand);
        self.lettering.write_to(self.canvas, &number, (x + width, y + 18.0 * u), hand);
        y + 31.0 * u
    }

    fn swatch(&mut self, line: &LegendLine, (x, y): (f32, f32)) {
        let u = self.layout.unit;
        let Some(path) = rectangle(x, y, 40.0 * u, 24.0 * u) else { return };
        let class = line.ink;
        if let Some(fill) = class.fill {
            self.canvas.fill(&path, fill);
        }
        if class.hatched {
            self.canvas.hatch(&path, class.mark_ink, ((9.0 * u).round() as u32).max(4), 1.1 * u);
        }
        if class.mark == Mark::LowerHalf
            && let Some(half) = rectangle(x, y + 12.0 * u, 40.0 * u, 12.0 * u)
        {
            self.canvas.fill(&half, class.mark_ink);
        } else {
            marks::draw(self.canvas, class.mark, (x + 20.0 * u, y + 12.0 * u), 19.0 * u, &class);
        }
        self.canvas.line(&path, class.edge, class.edge_width() * u);
    }

    fn answer(&mut self, saying: &Saying, (x, top, width): (f32, f32, f32)) {
        let u = self.layout.unit;
        let head = self.hand(Weight::Semibold, 18.0, ink::INK);
        let body = self.hand(Weight::Regular, 17.0, ink::INK);
        let small = self.hand(Weight::Regular, 14.0, ink::QUIET);
        let last = self.layout.bottom - 110.0 * u;
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
            self.lettering.write(self.canvas, &line, (x, y), hand);
            y += step * self.layout.unit;
        }
        y
    }

    /// A scale bar in metres and feet and an arrow to the north, at the foot of the second place.
    fn scale_and_north(&mut self, scale: f64) {
        let u = self.layout.unit;
        let (x, _, width) = self.layout.places[1];
        let (left, y) = (x + 58.0 * u, self.layout.bottom - 44.0 * u);
        let room = f64::from(width - 130.0 * u);
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
                self.canvas.line(&path, ink::INK, 1.6 * u);
            }
            let baseline = if above { y - 14.0 * u } else { y + 24.0 * u };
            self.lettering.write(self.canvas, &label, (end - self.lettering.width(&label, hand) / 2.0, baseline), hand);
            self.lettering.write(self.canvas, "0", (left - 4.0 * u, baseline), hand);
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
                    self.canvas.fill(&path, ink::INK);
                }
                self.canvas.line(&path, ink::INK, 1.2 * u);
            }
        };
        half(-1.0, true);
        half(1.0, false);
        let hand = self.hand(Weight::Semibold, 14.0, ink::INK);
        let wide = self.lettering.width("N", hand);
        self.lettering.write(self.canvas, "N", (x - wide / 2.0, y - 32.0 * u), hand);
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

fn rectangle(x: f32, y: f32, w: f32, h: f32) -> Option<Path> {
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

    #[test]
    fn the_map_stays_on_the_page_at_every_size() {
        for size in [(1600, 1200), (1200, 1600), (640, 480), (3000, 1000), (1000, 3000), (480, 480), (480, 900)] {
            let l = Layout::of(size, 15, 3);
            let (x, y, w, h) = l.map;
            assert!(x + w < size.0 && y + h < size.1 && w > 40 && h > 40, "{size:?}: {:?}", l.map);
        }
    }
}
