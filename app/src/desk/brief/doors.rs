//! Are we sure that a block is clear, and how many more doors would it take?

use crate::ui::method::how;
use crate::ui::words::{count, number};
use crate::ui::{notice, theme};
use egui::{RichText, Stroke, Ui};
use egui_plot::{HLine, Line, LineStyle, Plot, PlotPoints, VLine};
use yardring_core::measure::{
    Counts, Stopping, Verdict, among, chance_to_find, doors_to_estimate, doors_to_find, doors_to_tell_apart, doors_to_try, most_left,
    positives_at, positives_in_block_by,
};

/// How sure an answer must be.
const CONFIDENCE: f64 = 0.95;
/// Points of the curve at most.
const POINTS: u64 = 80;

/// How often a plan that stops early may be wrong, either way.
const WRONG: f64 = 0.1;

/// What the doors are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Aim {
    /// To find at least one positive yard.
    Find,
    /// To know the share within a margin.
    Within,
    /// To stop as soon as the share is known to be low, or high.
    Early,
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Asked {
    /// What the doors are for.
    aim: Aim,
    /// The margin to either side.
    within: f64,
    /// The shares that count as low and as high.
    ends: (f64, f64),
    /// The share of positive yards that must not be missed.
    share: f64,
    /// The chance that an inspector sees larvae that are there.
    sight: f64,
}

impl Default for Asked {
    fn default() -> Self {
        Self { aim: Aim::Find, within: 0.05, ends: (0.01, 0.05), share: 0.05, sight: 1.0 }
    }
}

/// Draws the answer for a block.
pub(super) fn show(ui: &mut Ui, name: &str, c: &Counts, asked: &mut Asked) {
    ui.add_space(theme::NEAR);
    ui.label(RichText::new(format!("Are we sure that block {name} is clear?")).font(theme::semibold(theme::BODY)));
    ui.label(verdict(c, asked.sight));
    if let Some(sight) = notice::choices(ui, asked.sight, &[(1.0, "crews miss nothing"), (0.9, "1 in 10"), (0.8, "1 in 5")]) {
        asked.sight = sight;
    }
    if c.inspected >= c.premises && asked.sight >= 1.0 {
        return;
    }
    ui.label("How many more doors are enough?");
    let aims = [(Aim::Find, "to find one"), (Aim::Within, "to know the share"), (Aim::Early, "to stop early")];
    if let Some(aim) = notice::choices(ui, asked.aim, &aims) {
        asked.aim = aim;
    }
    match asked.aim {
        Aim::Find => {
            if let Some(share) = notice::choices(ui, asked.share, &[(0.02, "if 1 yard in 50 is"), (0.05, "1 in 20"), (0.1, "1 in 10")]) {
                asked.share = share;
            }
            ui.label(more(c, *asked));
            curve(ui, c, *asked);
        }
        Aim::Within => {
            if let Some(within) = notice::choices(ui, asked.within, &[(0.02, "within ± 2 points"), (0.05, "± 5"), (0.1, "± 10")]) {
                asked.within = within;
            }
            ui.label(to_know(c, *asked));
        }
        Aim::Early => {
            let ends = [((0.01, 0.05), "1 or 5 %"), ((0.01, 0.04), "1 or 4 %"), ((0.05, 0.1), "5 or 10 %")];
            if let Some(ends) = notice::choices(ui, asked.ends, &ends) {
                asked.ends = ends;
            }
            ui.label(early(c, asked.ends));
        }
    }
    method(ui, c);
}

/// How it is worked out.
fn method(ui: &mut Ui, c: &Counts) {
    how(
        ui,
        "doors",
        format!("{} of {} yards, hypergeometric, 95 % sure, doors by chance", number(c.inspected), number(c.premises)),
        "The chance that some doors, drawn by chance among all yards of the block, hold at least one of the positive ones \
         (hypergeometric distribution; with yards missed, MacDiarmid 1988). What may be left: the largest number of positive yards that \
         would stay unseen more often than 1 time in 20. To know the share: Cochran's number for the share seen so far (a half where nobody \
         got in), of so many yards as there are. To stop early: Wald's lines, either answer wrong 1 time in 10; doors must come in random \
         order, not along the street. Doors to try: those needed, over the share of doors that opened here. Doors that opened are not those \
         that stayed shut. The command line: yardring sample.",
    );
}

/// Whether the block is clear, as far as anybody can tell who sees what is there with chance `sight`.
pub(super) fn verdict(c: &Counts, sight: f64) -> String {
    let (n, all) = (number(c.inspected), count(c.premises, "yard"));
    if c.inspected == 0 {
        return "Nobody got in yet, so nothing is known.".to_owned();
    }
    let missed = if sight < 1.0 { format!(", crews seeing {:.0} % of what is there", 100.0 * sight) } else { String::new() };
    if c.positive_premises > 0 {
        let range = positives_in_block_by(c.positive_premises, c.inspected, c.premises, sight, CONFIDENCE);
        let range = range
            .filter(|r| r.0 < r.1)
            .map_or_else(String::new, |(low, high)| format!("; {low} to {high} of all {all} are, 95 % sure{missed}"));
        return format!("No: {} of {n} inspected were positive{range}.", number(c.positive_premises));
    }
    match most_left(c.premises, c.inspected, sight, CONFIDENCE) {
        0 if c.inspected >= c.premises => format!("Yes: all {all} were seen, and none was positive{missed}."),
        0 => format!("Yes: nothing was found at {n} of {all}, so no other is positive, 95 % sure{missed}."),
        left => format!("Not yet: nothing was found at {n} of {all}, but up to {left} of all may be positive, 95 % sure{missed}."),
    }
}

/// How many doors it takes to find one.
fn more(c: &Counts, asked: Asked) -> String {
    let positive = positives_at(c.premises, asked.share);
    let so_many = if positive == 1 { "1 is".to_owned() } else { format!("{} are", number(positive)) };
    let if_so = format!("If {so_many} positive among {}", count(c.premises, "yard"));
    match doors_to_find(c.premises, positive, asked.sight, CONFIDENCE) {
        None => format!("{if_so}, even all doors do not find one, 95 % sure: go twice."),
        Some(doors) if doors <= c.inspected => format!("{if_so}, {} doors find one, 95 % sure: enough were seen.", number(doors)),
        Some(doors) => {
            format!("{if_so}, {} doors find one, 95 % sure: {} more{}.", number(doors), number(doors - c.inspected), tries(c, doors))
        }
    }
}

/// How many doors it takes to know the share within a margin.
fn to_know(c: &Counts, asked: Asked) -> String {
    let seen = c.house_index().map(|v| v / 100.0).filter(|v| *v > 0.0 && *v < 1.0);
    let expected = seen.map_or(0.5, |v| (v / asked.sight).min(0.5));
    let without_end = doors_to_estimate(expected * asked.sight, asked.within * asked.sight, CONFIDENCE);
    let doors = (among(without_end, c.premises).ceil() as u64).clamp(1, c.premises.max(1));
    let aim = format!("To know the share within {:.0} points to either side, 95 % sure, {} doors", 100.0 * asked.within, number(doors));
    match doors.checked_sub(c.inspected).filter(|more| *more > 0) {
        None => format!("{aim}: enough were seen."),
        Some(more) => format!("{aim}: {} more{}.", number(more), tries(c, doors)),
    }
}

/// ", 28 to try where 74 % of the doors open": how many must be tried, as doors opened in this block so far.
fn tries(c: &Counts, doors: u64) -> String {
    let Some(access) = c.access_rate().map(|r| r / 100.0).filter(|r| *r > 0.0 && *r < 1.0) else { return String::new() };
    let tries = doors_to_try(doors.saturating_sub(c.inspected), access);
    format!(", {} to try where {:.0} % of the doors open", number(tries), 100.0 * access)
}

/// Whether to stop, and otherwise when.
fn early(c: &Counts, (low, high): (f64, f64)) -> String {
    let plan = Stopping::between(low, high, WRONG, WRONG);
    let most = (3.0 * doors_to_tell_apart(low, high, WRONG, WRONG)).ceil() as u64;
    let so_far = format!("{} of {} positive so far", number(c.positive_premises), count(c.inspected, "door"));
    let (low, high) = (format!("{:.0} %", 100.0 * low), format!("{:.0} %", 100.0 * high));
    match plan.verdict(c.inspected, c.positive_premises) {
        Verdict::Low => format!("{so_far}: stop, the share is {low} or less, wrong 1 time in 10."),
        Verdict::High => format!("{so_far}: stop, the share is {high} or more, wrong 1 time in 10."),
        Verdict::GoOn if c.inspected >= most => format!("{so_far}: stop, it lies between {low} and {high}."),
        Verdict::GoOn => format!(
            "{so_far}: go on. If no more are found it is {low} or less from door {}; {} positive by door {} mean {high} or more. Doors \
             in random order.",
            number(plan.low_from(c.positive_premises)),
            number(plan.high_from(c.inspected + 10)),
            number(c.inspected + 10)
        ),
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
            verdict(&block(40, 36, 0), 1.0),
            "Not yet: nothing was found at 36 of 40 yards, but up to 1 of all may be positive, 95 % sure."
        );
        assert_eq!(verdict(&block(60, 20, 7), 1.0), "No: 7 of 20 inspected were positive; 12 to 33 of all 60 yards are, 95 % sure.");
        assert_eq!(verdict(&block(12, 12, 0), 1.0), "Yes: all 12 yards were seen, and none was positive.");
        assert_eq!(verdict(&block(12, 0, 0), 1.0), "Nobody got in yet, so nothing is known.");
        let asked = Asked { share: 0.1, ..Asked::default() };
        assert_eq!(more(&block(50, 10, 0), asked), "If 5 are positive among 50 yards, 22 doors find one, 95 % sure: 12 more.");
        assert!(more(&block(50, 10, 0), Asked { share: 0.02, sight: 0.8, ..asked }).ends_with("go twice."));
    }

    /// Sight by the values of the same notes' formula (3.5); doors to know a share, .05 within .02 of 200 yards: 140 (3.4); 54 straight
    /// negatives (10).
    #[test]
    fn crews_that_miss_some_and_other_aims_are_answered() {
        assert_eq!(
            verdict(&block(40, 40, 0), 0.8),
            "Not yet: nothing was found at 40 of 40 yards, but up to 1 of all may be positive, 95 % sure, crews seeing 80 % of what is there."
        );
        assert!(verdict(&block(60, 20, 7), 0.8).contains("; 14 to 42 of all 60 yards are"));
        let asked = Asked { within: 0.02, ..Asked::default() };
        let some = Counts { attempted: 80, ..block(200, 60, 3) };
        assert_eq!(
            to_know(&some, asked),
            "To know the share within 2 points to either side, 95 % sure, 140 doors: 80 more, 107 to try where 75 % of the doors open."
        );
        assert!(early(&block(200, 54, 0), (0.01, 0.05)).contains("stop, the share is 1 % or less"));
        assert!(early(&block(200, 53, 0), (0.01, 0.05)).contains("from door 54"));
        assert!(early(&block(200, 5, 2), (0.01, 0.05)).contains("stop, the share is 5 % or more"));
    }
}
