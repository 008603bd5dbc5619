//! Chances: may they be trusted, and what must they not be used for?

use crate::action::{Action, Slow};
use crate::session::CHANCES_AT_ONCE;
use crate::ui::method::how;
use crate::ui::words::{count, number};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::Ui;
use egui_plot::{Line, Plot, Points};
use yardring_core::foresee::{Earlier, Foreseen, INTERVALS, Judgement, MUST_NOT};

/// Height of the chart.
const CHART: f32 = 180.0;

fn foreseen<'a>(view: &View<'a>) -> Option<&'a Foreseen> {
    view.outlook().map(|outlook| match outlook {
        Ok(chances) => chances.foreseen(),
        Err((_, foreseen)) => foreseen,
    })
}

/// The closed line.
pub fn answer(view: &View<'_>) -> String {
    match view.outlook() {
        None if view.chances_come() => "working them out".to_owned(),
        None => "not worked out yet".to_owned(),
        Some(Err(_)) => "none shown; the reason stands inside".to_owned(),
        Some(Ok(chances)) => {
            let found = chances.foreseen();
            format!(
                "{} with a chance, learnt from {}",
                count(found.chances.len() as u64, "yard"),
                count(found.inspected as u64, "inspected yard")
            )
        }
    }
}

/// Why there are none, as a sentence; `None` where they are shown.
pub fn missing(view: &View<'_>) -> Option<String> {
    match view.outlook() {
        Some(Ok(_)) => None,
        Some(Err((refusal, _))) => Some(format!("No chances are shown: {refusal}.")),
        None if view.chances_come() => Some("Chances are being worked out.".to_owned()),
        None => Some("Chances are not worked out yet.".to_owned()),
    }
}

/// While they are not worked out: that they come, or a button that asks for them.
pub fn ask(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    if view.chances_come() {
        notice::quiet(ui, "Chances are being worked out.");
        return;
    }
    if ui
        .button("Work out chances")
        .on_hover_text("For every yard that nobody has inspected; shows how far it is and can be cancelled")
        .clicked()
    {
        actions.push(Action::WorkOut(Slow::Chances));
    }
    let most = number(CHANCES_AT_ONCE as u64);
    notice::quiet(
        ui,
        format!("With more than {most} yards they are worked out only when you ask: it keeps the processor busy for a while."),
    );
}

/// Whether they are shown and how they were judged.
pub fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let Some(found) = foreseen(view) else {
        ask(ui, view, actions);
        return;
    };
    if let Some(refusal) = &found.refusal {
        notice::say(ui, format!("No chances are shown: {refusal}."));
    }
    if let Some(judged) = &found.judged {
        notice::say(ui, judged.words());
        ui.label("On whole blocks set aside");
        scores(ui, "set aside", judged);
        chart(ui, "set aside", judged);
        notice::quiet(ui, "Each dot is a tenth of the inspected yards: what was foretold, and what was found with its 95 % interval.");
    }
    if let Some(forward) = &found.forward {
        let from = match forward.learnt_from {
            Earlier::Round(round) => view.survey().map_or_else(String::new, |s| format!("of {}", s.rounds[round.row()].name)),
            Earlier::Before(day) => format!("inspected before {}", crate::ui::words::full_day(day)),
        };
        notice::say(ui, format!("Forward in time, learnt from {} {from}", count(forward.learnt as u64, "yard")));
        notice::say(ui, forward.judged.words());
        scores(ui, "forward", &forward.judged);
        chart(ui, "forward", &forward.judged);
    }
    let line = format!("{} learnt from, whole blocks set aside, 95 % intervals", count(found.inspected as u64, "inspected yard"));
    how(ui, "chances", line, &format!("{METHOD} {INTERVALS}"));
    notice::quiet(ui, MUST_NOT);
}

/// How chances are worked out, in whole.
const METHOD: &str = "Two smooth surfaces over the district and the traits of a parcel, or else what was found near by, whichever foretells \
                      blocks set aside better. How far and how strongly yards are alike is learnt from what was found, never typed in. \
                      What earlier rounds found there and near by is weighed as far as the yards inspected now bear it out. Larvae \
                      seen over a fence count half an inspected positive yard for those around it: common practice, no source. \
                      Chances are not shown when they do no better than one rate for all on blocks set aside, beyond luck, or forward \
                      in time by both scores. \
                      Choose a yard to see on its card which inspected yards near by it was told by. The command line: yardring foresee.";

/// The three ways of foretelling beside each other.
fn scores(ui: &mut Ui, name: &str, j: &Judgement) {
    let said = |s: &yardring_core::foresee::Scores| {
        let auc = s.auc.map_or_else(String::new, |a| format!(", AUC {a:.2}"));
        format!("Brier {:.3}{auc}", s.brier)
    };
    let two = |v: Option<f64>| v.map_or_else(|| "none".to_owned(), |v| format!("{v:.2}"));
    let line = format!("{}, {}", two(j.scores.calibration_slope), two(j.scores.calibration_intercept));
    let rows = [
        ("These chances", said(&j.scores)),
        ("The rate of the block", said(&j.by_block)),
        ("One rate for all", said(&j.overall)),
        (
            "Log score: chances, block, one rate",
            format!("{:.3}, {:.3}, {:.3}", j.scores.log_score, j.by_block.log_score, j.overall.log_score),
        ),
        ("Calibration line: slope, intercept", line),
        ("Judged on", format!("{}, {} positive", count(j.yards as u64, "yard"), number(j.positive as u64))),
    ];
    notice::numbers(ui, name, &rows);
}

/// What was foretold against what was found.
fn chart(ui: &mut Ui, name: &str, j: &Judgement) {
    let tones = theme::tones(ui);
    let most = j.curve.iter().map(|p| p.interval.high.max(p.foretold)).fold(0.05, f64::max) * 100.0;
    let plot =
        Plot::new(("calibration", name)).height(CHART).include_x(0.0).include_y(0.0).include_x(most).include_y(most).allow_drag(false);
    let plot = plot.allow_zoom(false).allow_scroll(false).allow_boxed_zoom(false).show_x(false).show_y(false);
    let drawn = plot.x_axis_label("foretold, %").y_axis_label("found, %").show(ui, |chart| {
        chart.line(Line::new("as foretold", vec![[0.0, 0.0], [most, most]]).color(tones.line).allow_hover(false));
        for p in &j.curve {
            let x = p.foretold * 100.0;
            let ends = vec![[x, p.interval.low * 100.0], [x, p.interval.high * 100.0]];
            chart.line(Line::new("interval", ends).color(tones.quiet).allow_hover(false));
        }
        let dots: Vec<[f64; 2]> = j.curve.iter().map(|p| [p.foretold * 100.0, p.found * 100.0]).collect();
        chart.points(Points::new("found", dots).radius(3.5).color(tones.accent));
    });
    let part = |p: &yardring_core::foresee::CurvePart| format!("{:.0} % foretold, {:.0} % found", p.foretold * 100.0, p.found * 100.0);
    let words: Vec<String> = j.curve.iter().map(part).collect();
    drawn.response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, format!("Calibration: {}", words.join("; "))));
}
