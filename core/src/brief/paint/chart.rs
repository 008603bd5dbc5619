//! The chart of a change: the house index of every round with its interval, and what became of it in words.

use super::super::ink::{self, Rgb};
use super::super::words::{days, many, with_interval};
use super::canvas::Canvas;
use super::format::{Format, MapSize, with_dots};
use super::lettering::{Hand, Lettering, Weight};
use super::page::rectangle;
use super::pdf;
use super::sheet::Sheet;
use super::svg::Svg;
use super::{MapError, SIDES};
use crate::measure::{AreaRound, RoundChange};
use crate::survey::Survey;
use std::convert::Infallible;
use tiny_skia::PathBuilder;

/// What is said round a chart of change.
#[derive(Clone, Debug, Default)]
pub struct ChartWords {
    /// The district's name; may be empty.
    pub district: String,
    /// What changed, a sentence each.
    pub sentences: Vec<String>,
    /// How it was found.
    pub method: String,
}

/// The reference sheet is A4, lying, with 96 dots an inch; so wide.
const WIDTH: f32 = 1123.0;
const MARGIN: f32 = 52.0;
/// Room for the numbers of the upright axis.
const AXIS: f32 = 56.0;
/// Room under the chart for the names of rounds, their days and yards.
const FEET: f32 = 76.0;
/// Lines across the chart, at most.
const MOST_LINES: f64 = 6.0;
/// The control area stands so much beside the worked one.
const ASIDE: f32 = 14.0;
/// Least room for the words under a round.
const FOOTING: f32 = 150.0;

/// Draws the chart of a change as a file: the same survey and words give the same bytes.
///
/// # Errors
/// [`MapError::Size`] for a size out of range, [`MapError::Picture`] when it could not be held in memory or written.
pub fn paint_change(
    survey: &Survey,
    found: &RoundChange,
    words: &ChartWords,
    (size, format): (MapSize, Format),
) -> Result<Vec<u8>, MapError> {
    let (width, height) = size.pixels(format);
    if !SIDES[0].contains(&width) || !SIDES[1].contains(&height) {
        return Err(MapError::Size { width, height });
    }
    let lettering = Lettering::new().ok_or(MapError::Picture)?;
    let chart = Chart { survey, found, words, lettering: &lettering, size: (width, height), unit: width as f32 / WIDTH };
    let made = match format {
        Format::Png => Canvas::new(width, height, ink::SHEET).and_then(|mut canvas| {
            chart.draw(&mut canvas);
            canvas.png().map(|png| with_dots(png, size.dots(format)))
        }),
        Format::Svg => {
            let mut page = Svg::new((width, height), HEADING, ink::SHEET);
            chart.draw(&mut page);
            Some(page.finish().into_bytes())
        }
        Format::Pdf => {
            let Ok(page) = pdf::page::<Infallible>((width, height), HEADING, &lettering, |page| {
                chart.draw(page);
                Ok(())
            });
            page
        }
    };
    made.ok_or(MapError::Picture)
}

const HEADING: &str = "Did it work? House index by round";

struct Chart<'a> {
    survey: &'a Survey,
    found: &'a RoundChange,
    words: &'a ChartWords,
    lettering: &'a Lettering,
    size: (u32, u32),
    unit: f32,
}

/// The field that the chart is drawn in, and its upright scale.
#[derive(Clone, Copy)]
struct Field {
    left: f32,
    top: f32,
    right: f32,
    bottom: f32,
    /// The index at the top, in per cent.
    most: f64,
}

impl Field {
    fn y(&self, index: f64) -> f32 {
        self.bottom - (self.bottom - self.top) * (index / self.most) as f32
    }
}

impl Chart<'_> {
    fn hand(&self, weight: Weight, size: f32, ink: Rgb) -> Hand {
        Hand { weight, size: size * self.unit, ink }
    }

    fn draw(&self, sheet: &mut dyn Sheet) {
        let u = self.unit;
        sheet.part("words");
        let left = MARGIN * u;
        let room = self.size.0 as f32 - 2.0 * left;
        self.lettering.write(sheet, HEADING, (left, 74.0 * u), self.hand(Weight::Semibold, 28.0, ink::INK));
        let under = self.hand(Weight::Regular, 16.0, ink::QUIET);
        self.lettering.write(sheet, &self.lettering.cut(&self.under_heading(), room, under), (left, 102.0 * u), under);
        let top = self.written_below(sheet, room);
        let field = Field {
            left: left + AXIS * u,
            top: 158.0 * u,
            right: self.size.0 as f32 - left,
            bottom: (top - FEET * u).max(240.0 * u),
            most: self.most(),
        };
        sheet.part("legend");
        self.legend(sheet, (field.left, 132.0 * u));
        sheet.part("chart");
        self.scale(sheet, &field);
        self.feet(sheet, &field);
        self.series(sheet, &field, 0.0, ink::ACCENT, |c| Some(&c.1));
        self.series(sheet, &field, ASIDE * u, ink::QUIET, |c| c.2.as_ref());
    }

    /// The district and the rounds compared.
    fn under_heading(&self) -> String {
        let round = |r: crate::survey::RoundId| {
            let known = self.survey.rounds.get(r.row());
            known.map_or_else(String::new, |r| format!("{}, {}", r.name, days(r.first, r.last)))
        };
        let compared = format!("{} to {}", round(self.found.from), round(self.found.to));
        if self.words.district.is_empty() { compared } else { format!("{} · {compared}", self.words.district) }
    }

    /// What changed and how it was found, at the foot of the sheet; gives back where that begins.
    fn written_below(&self, sheet: &mut dyn Sheet, room: f32) -> f32 {
        let u = self.unit;
        let (said, quiet) = (self.hand(Weight::Regular, 16.0, ink::INK), self.hand(Weight::Regular, 12.0, ink::QUIET));
        let broken = |text: &String, hand| self.lettering.broken(text, room, hand).into_iter().map(move |line| (line, hand));
        let sentences = self.words.sentences.iter().flat_map(|text| broken(text, said));
        let apart = std::iter::once((String::new(), quiet));
        let lines: Vec<(String, Hand)> = sentences.chain(apart).chain(broken(&self.words.method, quiet)).collect();
        let high = |hand: &Hand| 1.45 * hand.size;
        let top = self.size.1 as f32 - MARGIN * u - lines.iter().map(|l| high(&l.1)).sum::<f32>();
        let mut y = top;
        for (line, hand) in &lines {
            y += high(hand);
            self.lettering.write(sheet, line, (MARGIN * u, y), *hand);
        }
        top
    }

    /// The highest index of the chart, or end of an interval, rounded up to a line.
    fn most(&self) -> f64 {
        let ends = |a: &AreaRound| [a.sure.house.map(|i| i.high), a.counts.house_index()];
        let course = self.found.course.iter();
        let most = course.flat_map(|c| [Some(&c.1), c.2.as_ref()]).flatten().flat_map(ends).flatten().fold(1.0, f64::max);
        let step = step(most);
        (most / step).ceil() * step
    }

    fn scale(&self, sheet: &mut dyn Sheet, field: &Field) {
        let u = self.unit;
        let hand = self.hand(Weight::Regular, 13.0, ink::QUIET);
        let by = step(field.most);
        let lines = (field.most / by).round() as u32;
        for k in 0..=lines {
            let index = by * f64::from(k);
            let y = field.y(index);
            straight(sheet, (field.left, y), (field.right, y), if k == 0 { ink::EDGE } else { ink::LINE }, u);
            let decimals = usize::from(by < 1.0);
            self.lettering.write_to(sheet, &format!("{index:.decimals$} %"), (field.left - 10.0 * u, y + 4.5 * u), hand);
        }
    }

    fn x(&self, field: &Field, round: usize) -> f32 {
        let wide = (field.right - field.left) / self.found.course.len().max(1) as f32;
        field.left + wide * (round as f32 + 0.5)
    }

    /// Names, days and yards of the rounds; of many rounds only as many as there is room for, the latest among them.
    fn feet(&self, sheet: &mut dyn Sheet, field: &Field) {
        let u = self.unit;
        let n = self.found.course.len();
        let wide = (field.right - field.left) / n.max(1) as f32;
        let every = (FOOTING * u / wide).ceil().max(1.0) as usize;
        let hands = [self.hand(Weight::Semibold, 14.0, ink::INK), self.hand(Weight::Regular, 12.0, ink::QUIET)];
        for (k, (round, worked, control)) in self.found.course.iter().enumerate().filter(|(k, _)| (n - 1 - k).is_multiple_of(every)) {
            let Some(round) = self.survey.rounds.get(round.row()) else { continue };
            let beside = control.map_or_else(String::new, |c| format!(", control {}", c.counts.inspected));
            let lines = [
                round.name.to_string(),
                days(round.first, round.last),
                format!("{} inspected{beside}", many(worked.counts.inspected, "yard")),
            ];
            for (i, (line, y)) in lines.iter().zip([22.0, 40.0, 57.0]).enumerate() {
                let hand = hands[i.min(1)];
                let line = self.lettering.cut(line, (wide * every as f32).max(FOOTING * u) - 8.0 * u, hand);
                let left = self.x(field, k) - self.lettering.width(&line, hand) / 2.0;
                self.lettering.write(sheet, &line, (left, field.bottom + y * u), hand);
            }
        }
    }

    /// One area: its index in every round, joined, with upright intervals.
    fn series<'a>(
        &'a self,
        sheet: &mut dyn Sheet,
        field: &Field,
        aside: f32,
        ink: Rgb,
        of: impl Fn(&'a (crate::survey::RoundId, AreaRound, Option<AreaRound>)) -> Option<&'a AreaRound>,
    ) {
        let u = self.unit;
        let course = self.found.course.iter().enumerate();
        let seen: Vec<(f32, f64, &AreaRound)> =
            course.filter_map(|(k, c)| Some((self.x(field, k) + aside, of(c)?.counts.house_index()?, of(c)?))).collect();
        for pair in seen.windows(2) {
            straight(sheet, (pair[0].0, field.y(pair[0].1)), (pair[1].0, field.y(pair[1].1)), ink, 1.2 * u);
        }
        let hand = self.hand(Weight::Semibold, 14.0, ink);
        for &(x, index, area) in &seen {
            if let Some(sure) = area.sure.house {
                straight(sheet, (x, field.y(sure.low)), (x, field.y(sure.high)), ink, 2.0 * u);
            }
            mark(sheet, (x, field.y(index)), u, ink, aside > 0.0);
            // Both areas stand close: one is written to the left, the other to the right; up there no line crosses the words.
            let top = area.sure.house.map_or(index, |sure| sure.high);
            let (said, y) = (with_interval(Some(index), area.sure.house, " %"), field.y(top) - 5.0 * u);
            if aside > 0.0 {
                self.lettering.write(sheet, &said, (x + 9.0 * u, y), hand);
            } else {
                self.lettering.write_to(sheet, &said, (x - 9.0 * u, y), hand);
            }
        }
    }

    fn legend(&self, sheet: &mut dyn Sheet, (x, y): (f32, f32)) {
        let u = self.unit;
        let hand = self.hand(Weight::Regular, 14.0, ink::INK);
        let control = self.found.control.is_some();
        mark(sheet, (x + 6.0 * u, y - 5.0 * u), u, ink::ACCENT, false);
        let worked = if control { "worked area, with 95 % intervals" } else { "all yards, with 95 % intervals" };
        let end = self.lettering.write(sheet, worked, (x + 18.0 * u, y), hand);
        if control {
            mark(sheet, (end + 34.0 * u, y - 5.0 * u), u, ink::QUIET, true);
            self.lettering.write(sheet, "control area", (end + 46.0 * u, y), hand);
        }
    }
}

/// From one line across the chart to the next, in per cent.
fn step(most: f64) -> f64 {
    [0.5, 1.0, 2.0, 5.0, 10.0].into_iter().find(|s| most / s <= MOST_LINES).unwrap_or(20.0)
}

fn straight(sheet: &mut dyn Sheet, from: (f32, f32), to: (f32, f32), ink: Rgb, width: f32) {
    let mut path = PathBuilder::new();
    path.move_to(from.0, from.1);
    path.line_to(to.0, to.1);
    if let Some(path) = path.finish() {
        sheet.line(&path, ink, width);
    }
}

/// A disc, or a square.
fn mark(sheet: &mut dyn Sheet, (x, y): (f32, f32), unit: f32, ink: Rgb, square: bool) {
    let r = 5.0 * unit;
    let path = if square { rectangle(x - r, y - r, 2.0 * r, 2.0 * r) } else { PathBuilder::from_circle(x, y, r) };
    if let Some(path) = path {
        sheet.fill(&path, ink);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::measure::{Beside, change_between};
    use crate::place::{Frame, LonLat};
    use crate::survey::{Find, KindId, Outcome, PremiseId, Round, RoundId, Visit, Visits, When};
    use jiff::civil::date;
    use std::sync::Arc;

    /// 60 of 200 yards seen in each of two rounds, 30 of them positive first and 6 in the second.
    fn two_rounds() -> (Survey, RoundChange) {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        s.premises.parcel_id = Arc::new((0..200).map(|i| i.to_string()).collect());
        s.premises.block = Arc::new(vec![None; 200]);
        let round = |r: i8| Round { name: format!("Round {r}").into(), first: date(2025, 7, 7 * r), last: date(2025, 7, 7 * r + 3) };
        s.rounds = Arc::new(vec![round(1), round(2)]);
        let find = |positive| Find {
            kind: KindId(0),
            count: 1,
            wet: 1,
            with_larvae: positive,
            with_pupae: 0,
            pupae: 0,
            stage: None,
            litres: None,
            action: None,
            remains: false,
        };
        let visit = |row: u32, round: u32| Visit {
            id: format!("{row}-{round}").into(),
            premise: PremiseId(row),
            when: When { day: date(2025, 7, 7 + 7 * round as i8), time: None },
            outcome: Outcome::Inspected,
            round: RoundId(round),
            crew: "".into(),
            said: None,
            finds: 0..0,
        };
        let positive = |row: u32, round: u32| u32::from(row < if round == 0 { 30 } else { 6 });
        let rows = (0..60).flat_map(|row| (0..2).map(move |round| (row, round)));
        s.visits = Visits::from_rows(200, rows.map(|(row, round)| (visit(row, round), vec![find(positive(row, round))])).collect());
        let found = change_between(&s, (RoundId(0), RoundId(1)), &Beside::Nothing, &Unwatched).unwrap();
        (s, found)
    }

    fn words() -> ChartWords {
        ChartWords { district: "Quillmere".into(), sentences: vec!["House index: 80 % less.".into()], method: "Newcombe.".into() }
    }

    /// Scale and places by hand: 30 of 60 is half of them and its interval ends above it, so that the chart goes to 70 or 80 per cent by
    /// tens or twenties; and 50 % lies above 10 %.
    #[test]
    fn the_scale_holds_every_interval() {
        let (survey, found) = two_rounds();
        let lettering = Lettering::new().unwrap();
        let chart = Chart { survey: &survey, found: &found, words: &words(), lettering: &lettering, size: (1123, 794), unit: 1.0 };
        let high = found.course[0].1.sure.house.unwrap().high;
        assert!(high > 55.0 && chart.most() >= high && chart.most() <= 80.0, "{high} {}", chart.most());
        let field = Field { left: 0.0, top: 100.0, right: 400.0, bottom: 500.0, most: 80.0 };
        assert!((field.y(0.0) - 500.0).abs() < 1e-4 && (field.y(80.0) - 100.0).abs() < 1e-4 && field.y(50.0) < field.y(10.0));
        assert!((chart.x(&field, 0) - 100.0).abs() < 1e-4 && (chart.x(&field, 1) - 300.0).abs() < 1e-4);
        assert_eq!([0.8, 3.0, 7.0, 30.0, 62.0, 100.0].map(step), [0.5, 0.5, 2.0, 5.0, 20.0, 20.0]);
    }

    /// Each file is of its kind, says both rounds, and is the same when drawn twice.
    #[test]
    fn a_change_becomes_a_picture_a_drawing_and_a_page() {
        let (survey, found) = two_rounds();
        let drawn = |format| paint_change(&survey, &found, &words(), (MapSize::A4, format)).unwrap();
        let png = tiny_skia::Pixmap::decode_png(&drawn(Format::Png)).unwrap();
        assert_eq!((png.width(), png.height()), (3508, 2480));
        let accent = ink::ACCENT;
        let inked = png.pixels().iter().filter(|p| (p.red(), p.green(), p.blue()) == (accent.0, accent.1, accent.2)).count();
        assert!(inked > 1000, "discs, intervals and numbers in the worked area's ink: {inked}");
        let svg = String::from_utf8(drawn(Format::Svg)).unwrap();
        assert!(svg.starts_with("<svg") && svg.contains("House index by round") && drawn(Format::Svg) == svg.as_bytes());
        assert!(drawn(Format::Pdf).starts_with(b"%PDF-"));
        let small = paint_change(&survey, &found, &words(), (MapSize::Pixels(200, 100), Format::Png));
        assert_eq!(small, Err(MapError::Size { width: 200, height: 100 }));
    }
}
