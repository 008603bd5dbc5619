//! The scale bar: one bar in metres, one in feet.

use super::scene::Inks;
use egui::{Painter, Pos2, Rect, Shape, Stroke, Vec2};

/// Metres in an international foot. Source: international yard and pound agreement, 1959.
const METRES_PER_FOOT: f64 = 0.3048;
const FEET_PER_MILE: f64 = 5_280.0;
/// Widest bar in points.
const WIDEST: f64 = 140.0;

/// A round length and its words.
#[derive(Clone, Debug, PartialEq)]
struct Length {
    metres: f64,
    words: String,
}

/// The largest of 1, 2 or 5 times a power of ten that is no more than `most`; no less than 0.01.
fn round_number(most: f64) -> f64 {
    let power = most.max(0.01).log10().floor();
    let ten = 10f64.powf(power);
    [5.0, 2.0].into_iter().find(|f| f * ten <= most).unwrap_or(1.0) * ten
}

fn written(number: f64, unit: &str) -> String {
    // The longest lengths written are below ten thousand.
    if number >= 1_000.0 {
        format!("{},{:03.0} {unit}", (number / 1_000.0).floor(), number % 1_000.0)
    } else if number >= 1.0 {
        format!("{number:.0} {unit}")
    } else {
        format!("{number} {unit}")
    }
}

/// The longest round length in metres or kilometres that is no longer than some metres.
fn metric(most: f64) -> Length {
    if most >= 1_000.0 {
        let km = round_number(most / 1_000.0);
        Length { metres: km * 1_000.0, words: written(km, "km") }
    } else {
        let m = round_number(most);
        Length { metres: m, words: written(m, "m") }
    }
}

/// The longest round length in feet or miles that is no longer than some metres.
fn customary(most: f64) -> Length {
    let feet = most / METRES_PER_FOOT;
    if feet >= FEET_PER_MILE {
        let mi = round_number(feet / FEET_PER_MILE);
        Length { metres: mi * FEET_PER_MILE * METRES_PER_FOOT, words: written(mi, "mi") }
    } else {
        let ft = round_number(feet);
        Length { metres: ft * METRES_PER_FOOT, words: written(ft, "ft") }
    }
}

/// Draws the bar in the lower left corner of the map.
pub(super) fn paint(painter: &Painter, map: Rect, points_per_metre: f64, inks: &Inks) {
    let most = WIDEST / points_per_metre;
    let corner = map.left_bottom() + Vec2::new(16.0, -30.0);
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let (above, below) = (metric(most), customary(most));
    let ends = [&above, &below].map(|l| corner.x + (l.metres * points_per_metre) as f32);
    let back = Rect::from_min_max(corner + Vec2::new(-8.0, -20.0), Pos2::new(ends[0].max(ends[1]) + 8.0, corner.y + 20.0));
    painter.rect_filled(back, 4.0, inks.paper.gamma_multiply(0.85));
    for (length, end, up) in [(&above, ends[0], true), (&below, ends[1], false)] {
        let stroke = Stroke::new(1.5, inks.words);
        let tick = if up { -5.0 } else { 5.0 };
        painter.line_segment([corner, Pos2::new(end, corner.y)], stroke);
        for x in [corner.x, end] {
            painter.line_segment([Pos2::new(x, corner.y), Pos2::new(x, corner.y + tick)], stroke);
        }
        // Each length stands at its own end, where there is room for it.
        let galley = painter.layout_no_wrap(length.words.clone(), font.clone(), inks.words);
        let left = (end - 5.0 - galley.size().x).max(corner.x + 6.0);
        let top = if up { corner.y - 3.0 - galley.size().y } else { corner.y + 3.0 };
        painter.galley(Pos2::new(left, top), galley, inks.words);
    }
    north(painter, Pos2::new(corner.x + 2.0, back.top() - 8.0), inks);
}

/// An arrow that points up the map, with its letter below: the map is never turned.
fn north(painter: &Painter, foot: Pos2, inks: &Inks) {
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let galley = painter.layout_no_wrap("N".to_owned(), font, inks.words);
    let (high, half) = (16.0, 5.0);
    let letter = Rect::from_min_size(foot - Vec2::new(galley.size().x / 2.0, galley.size().y), galley.size());
    let tip = Pos2::new(foot.x, letter.top() - high);
    let back = Rect::from_min_max(Pos2::new(foot.x - 10.0, tip.y - 4.0), Pos2::new(foot.x + 10.0, foot.y + 2.0));
    painter.rect_filled(back, 4.0, inks.paper.gamma_multiply(0.85));
    let base = Pos2::new(foot.x, letter.top() - 4.0);
    let [left, right] = [-half, half].map(|x| Pos2::new(foot.x + x, letter.top()));
    painter.add(Shape::convex_polygon(vec![tip, base, left], inks.words, Stroke::NONE));
    painter.add(Shape::closed_line(vec![tip, right, base], Stroke::new(1.0, inks.words)));
    painter.galley(letter.min, galley, inks.words);
}

/// Names whoever made the ground, in the lowest line of the map, over as many lines as it takes; gives the height of that.
pub(super) fn attribution(painter: &Painter, map: Rect, words: &str, inks: &Inks) -> f32 {
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let galley = painter.layout(words.to_owned(), font, inks.words, (map.width() - 16.0).max(40.0));
    let height = galley.size().y + 2.0;
    let line = Rect::from_min_max(Pos2::new(map.left(), map.bottom() - height), map.max);
    painter.rect_filled(line, 0.0, inks.paper.gamma_multiply(0.85));
    painter.galley(line.min + Vec2::new(8.0, 1.0), galley, inks.words);
    height
}

/// Writes what the map shows, and the place under the pointer, to the right of the bar, as far as `taken` points before the
/// right edge.
pub(super) fn caption(painter: &Painter, map: Rect, taken: f32, lines: [&str; 2], inks: &Inks) {
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let left = map.left() + 16.0 + WIDEST as f32 + 24.0;
    // A legend that is folded away still leaves its own small box in the corner.
    let room = map.right() - taken.max(96.0) - 12.0 - left;
    if room < 150.0 {
        return;
    }
    for (text, line) in lines.into_iter().zip([0.0, 1.0]).filter(|(t, _)| !t.is_empty()) {
        let mut job = egui::text::LayoutJob::simple_singleline(text.to_owned(), font.clone(), inks.words);
        job.wrap = egui::text::TextWrapping::truncate_at_width(room);
        let galley = painter.layout_job(job);
        let at = Pos2::new(left, map.bottom() - 47.0 + 17.0 * line);
        painter.rect_filled(Rect::from_min_size(at, galley.size()).expand2(Vec2::new(6.0, 1.0)), 4.0, inks.paper.gamma_multiply(0.85));
        painter.galley(at, galley, inks.words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_round_and_fit() {
        assert_eq!(metric(140.0), Length { metres: 100.0, words: "100 m".into() });
        assert_eq!(metric(730.0).words, "500 m");
        assert_eq!(metric(2_400.0).words, "2 km");
        assert_eq!(metric(0.7).words, "0.5 m");
        assert_eq!(customary(140.0).words, "200 ft");
        assert_eq!(customary(320.0).words, "1,000 ft");
        assert_eq!(customary(1_700.0), Length { metres: 1_609.344, words: "1 mi".into() });
        for k in 0..400 {
            let most = 0.02 * 1.05f64.powi(k);
            for l in [metric(most), customary(most)] {
                assert!(l.metres <= most * (1.0 + 1e-12) && l.metres > most / 5.5, "{} for {most}", l.words);
            }
        }
    }
}
