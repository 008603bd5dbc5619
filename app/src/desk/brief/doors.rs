//! Are we sure that a block is clear, and how many more doors would it take?

use crate::ui::method::how;
use crate::ui::words::{count, number};
use crate::ui::{notice, theme};
use egui::{RichText, Stroke, Ui};
use egui_plot::{HLine, Line, LineStyle, Plot, PlotPoints, VLine};
use yardring_core::measure::{Counts, chance_to_find, doors_to_find, most_left, positives_at, positives_in_block};

/// How sure an answer must be.
const CONFIDENCE: f64 = 0.95;
/// Points of the curve at most.
const POINTS: u64 = 80;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Asked {
    /// The share of positive yards that must not be missed.
    share: f64,
    /// The chance that an inspector sees larvae that are there.
    sight: f64,
}

impl Default for Asked {
    fn default() -> Self {
        Self { share: 0.05, sight: 1.0 }
    }
}

/// Draws the answer for a block.
pub(super) fn show(ui: &mut Ui, name: &str, c: &Counts, asked: &mut Asked) {
    ui.add_space(theme::NEAR);
    ui.label(RichText::new(format!("Are we sure that block {name} is clear?")).font(theme::semibold(theme::BODY)));
    ui.label(verdict(c));
    if c.inspected >= c.premises {
        return;
    }
    ui.label("How many more doors find it, should this many be positive?");
    if let Some(share) = notice::choices(ui, asked.share, &[(0.02, "1 yard in 50"), (0.05, "1 in 20"), (0.1, "1 in 10")]) {
        asked.share = share;
    }
    if let Some(sight) = notice::choices(ui, asked.sight, &[(1.0, "crews miss nothing"), (0.9, "1 in 10"), (0.8, "1 in 5")]) {
        asked.sight = sight;
    }
    ui.label(more(c, *asked));
    curve(ui, c, *asked);
    how(
        ui,
        "doors",
        format!("{} of {} yards, hypergeometric, 95 % sure, doors by chance", number(c.inspected), number(c.premises)),
        "The chance that some doors, drawn by chance among all yards of the block, hold at least one of the positive ones \
         (hypergeometric distribution; with yards missed, MacDiarmid 1988). What may be left: the largest number of positive yards that \
         would stay unseen more often than 1 time in 20. Doors that opened are not those that stayed shut. The command line: yardring sample.",
    );
}

/// Whether the block is clear, as far as anybody can tell.
pub(super) fn verdict(c: &Counts) -> String {
    let (n, all) = (number(c.inspected), count(c.premises, "yard"));
    if c.inspected == 0 {
        return "Nobody got in yet, so nothing is known.".to_owned();
    }
    if c.positive_premises > 0 {
        let range = positives_in_block(c.positive_premises, c.inspected, c.premises, CONFIDENCE);
        let range =
            range.filter(|r| r.0 < r.1).map_or_else(String::new, |(low, high)| format!("; {low} to {high} of all {all} are, 95 % sure"));
        return format!("No: {} of {n} inspected were positive{range}.", number(c.positive_premises));
    }
    match most_left(c.premises, c.inspected, CONFIDENCE) {
        _ if c.inspected >= c.premises => format!("Yes: all {all} were seen, and none was positive."),
        0 => format!("Yes: nothing was found at {n} of {all}, so no other is positive, 95 % sure."),
        left => format!("Not yet: nothing was found at {n} of {all}, but up to {left} of all may be positive, 95 % sure."),
    }
}

/// How many doors it takes.
fn more(c: &Counts, asked: Asked) -> String {
    let positive = positives_at(c.premises, asked.share);
    let so_many = if positive == 1 { "1 is".to_owned() } else { format!("{} are", number(positive)) };
    let if_so = format!("If {so_many} positive among {}", count(c.premises, "yard"));
    match doors_to_find(c.premises, positive, asked.sight, CONFIDENCE) {
        None => format!("{if_so}, even all doors do not find one, 95 % sure: go twice."),
        Some(doors) if doors <= c.inspected => format!("{if_so}, {} doors find one, 95 % sure: enough were seen.", number(doors)),
        Some(doors) => {
            format!("{if_so}, {} doors find one, 95 % sure: {} more.", number(doors), number(doors - c.inspected))
        }
    }
}

/// The chance to find at least one, by doors.
fn curve(ui: &mut Ui, c: &Counts, asked: Asked) {
    let tones = theme::tones(ui);
    let positive = positives_at(c.premises, asked.share);
    let step = (c.premises / POINTS).max(1);
    let doors = (0..=c.premises).filter(|n| n % step == 0 || *n == c.premises);
    let points: Vec<[f64; 2]> = doors.map(|n| [n as f64, 100.0 * chance_to_find(n, c.premises, positive, asked.sight)]).collect();
    let plot = Plot::new("doors")
        .height(130.0)
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_axis_zoom_drag(false)
        .show_background(false)
        .include_x(0.0)
        .include_x(c.premises as f64)
        .include_y(0.0)
        .include_y(100.0)
        .x_axis_label("doors inspected")
        .y_axis_formatter(|mark, _| format!("{:.0} %", mark.value));
    let drawn = plot.show(ui, |plot| {
        plot.hline(HLine::new("95 % sure", 95.0).stroke(Stroke::new(1.0, tones.edge)).style(LineStyle::dashed_loose()));
        plot.vline(VLine::new("inspected so far", c.inspected as f64).stroke(Stroke::new(1.5, tones.ink)));
        plot.line(Line::new("chance to find one", PlotPoints::from(points)).stroke(Stroke::new(2.0, tones.accent)));
    });
    let said = format!("Chance to find a positive yard by doors inspected. {}", more(c, asked));
    drawn.response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &said));
    notice::quiet(ui, "Curve: chance to find one. Upright line: doors seen so far. Broken line: 95 %.");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(premises: u64, inspected: u64, positive_premises: u64) -> Counts {
        Counts { premises, attempted: inspected, inspected, positive_premises, ..Counts::default() }
    }

    /// Numbers of the science notes, 3.2 and 3.5 (scipy's hypergeometric distribution).
    #[test]
    fn the_block_is_judged_in_words() {
        assert_eq!(
            verdict(&block(40, 36, 0)),
            "Not yet: nothing was found at 36 of 40 yards, but up to 1 of all may be positive, 95 % sure."
        );
        assert_eq!(verdict(&block(60, 20, 7)), "No: 7 of 20 inspected were positive; 12 to 33 of all 60 yards are, 95 % sure.");
        assert_eq!(verdict(&block(12, 12, 0)), "Yes: all 12 yards were seen, and none was positive.");
        assert_eq!(verdict(&block(12, 0, 0)), "Nobody got in yet, so nothing is known.");
        let asked = Asked { share: 0.1, sight: 1.0 };
        assert_eq!(more(&block(50, 10, 0), asked), "If 5 are positive among 50 yards, 22 doors find one, 95 % sure: 12 more.");
        assert!(more(&block(50, 10, 0), Asked { share: 0.02, sight: 0.8 }).ends_with("go twice."));
    }
}
