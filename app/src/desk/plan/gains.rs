//! What the search for the day's walks gains, second by second.

use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

/// Height of the drawing, in points.
const HEIGHT: f32 = 44.0;

/// The worth of the best plan against the time, with its ends in words; nothing before the first plan.
pub(super) fn show(ui: &mut Ui, view: &View<'_>) {
    let reached = view.session.walking.gains.reached();
    let (Some(&first), Some(&last)) = (reached.first(), reached.last()) else { return };
    let words = said(first, last);
    let (rect, drawn) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, words.clone()));
    let tones = theme::tones(ui);
    let plot = rect.shrink2(vec2(0.0, 4.0));
    let (long, low) = (last.0.max(1e-3), first.1.min(0.9 * last.1));
    let place = |(seconds, worth): (f64, f64)| {
        let up = if last.1 > low { (worth - low) / (last.1 - low) } else { 1.0 };
        pos2(plot.left() + plot.width() * (seconds / long) as f32, plot.bottom() - plot.height() * up as f32)
    };
    ui.painter().hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, tones.line));
    let mut line = Vec::with_capacity(2 * reached.len());
    for pair in reached.windows(2) {
        // A plan holds until the next better one.
        line.extend([place(pair[0]), pos2(place(pair[1]).x, place(pair[0]).y)]);
    }
    line.push(place(last));
    ui.painter().line(line, Stroke::new(2.0, tones.accent));
    notice::quiet(ui, words);
}

/// "The best plan so far is worth 5 % more than the first one, found after 3 s."
fn said(first: (f64, f64), last: (f64, f64)) -> String {
    let more = if first.1 > 0.0 { 100.0 * (last.1 / first.1 - 1.0) } else { 0.0 };
    if more < 0.05 {
        return "No better plan than the first one so far.".to_owned();
    }
    let decimals = usize::from(more < 9.95);
    format!("The best plan so far is worth {more:.decimals$} % more than the first one, found after {:.0} s.", last.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gains_are_said_in_per_cent_of_the_first_plan() {
        assert_eq!(said((0.04, 11.8), (3.21, 12.44)), "The best plan so far is worth 5.4 % more than the first one, found after 3 s.");
        assert_eq!(said((0.04, 11.8), (0.04, 11.8)), "No better plan than the first one so far.");
    }
}
