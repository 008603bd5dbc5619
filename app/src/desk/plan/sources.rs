//! Sources: what reach is measured from.

use crate::action::{Action, ReachAction};
use crate::desk::brief::traced;
use crate::session::{RoundPicture, Trace};
use crate::ui::method::how;
use crate::ui::notice;
use crate::ui::words::{count, number};
use crate::view::View;
use egui::{DragValue, Ui, WidgetInfo};
use yardring_core::reach::{MeasureFrom, SourceKind};

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    let from = view.session.plan.from;
    // The reach of other sources must not be counted under this word.
    match view.reach().filter(|_| view.reach_is_fresh()).map(|r| r.sources.len() as u64) {
        None => (words(from).to_owned(), false),
        Some(0) => (format!("No {} in this round: choose others", words(from)), true),
        Some(n) => (view.round().map_or_else(|| counted(from, n), |r| told(r, from, n, view.session.plan.trap_over)), false),
    }
}

fn words(kind: SourceKind) -> &'static str {
    match kind {
        SourceKind::Positives => "positive yards",
        SourceKind::Pupae => "yards with pupae",
        SourceKind::Cases => "cases",
        SourceKind::Traps => "traps",
        SourceKind::Complaints => "complaints",
    }
}

fn counted(kind: SourceKind, n: u64) -> String {
    match kind {
        SourceKind::Positives => count(n, "positive yard"),
        SourceKind::Pupae if n == 1 => "1 yard with pupae".to_owned(),
        SourceKind::Pupae => format!("{} yards with pupae", number(n)),
        SourceKind::Cases => count(n, "case"),
        SourceKind::Traps => count(n, "trap"),
        SourceKind::Complaints => count(n, "complaint"),
    }
}

/// The sources, and why their number is another one than elsewhere: what was seen from outside only, and traps that caught too little.
fn told(picture: &RoundPicture, from: SourceKind, n: u64, over: f64) -> String {
    let [larvae, pupae] = picture.from_outside;
    let outside = match from {
        SourceKind::Positives => larvae,
        SourceKind::Pupae => pupae,
        SourceKind::Traps if picture.traps > n => return of_traps(n, picture.traps, over),
        SourceKind::Traps | SourceKind::Cases | SourceKind::Complaints => 0,
    };
    match outside {
        0 => counted(from, n),
        seen => format!("{}, {} of them seen from outside only", counted(from, n), number(seen)),
    }
}

/// Of how many traps so many are sources.
fn of_traps(sources: u64, traps: u64, over: f64) -> String {
    let enough = if over > 0.0 { format!("more than {over} a night") } else { "some".to_owned() };
    format!("{} of {} caught {enough}", number(sources), count(traps, "trap"))
}

/// What is drawn of cases unless somebody asks for more.
const MASKED: &str = "Where a case lives is health information. Rings are drawn 100 to 400 m off, always the same way, and yards in them are \
    not marked. The list of gaps holds the true doors, but does not tell which is near.";
/// What is drawn when somebody asked.
const TRUE_PLACES: &str = "Rings and gaps lie round the true places of cases. Let nothing of it leave the office.";

/// The controls.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let plan = view.session.plan;
    ui.label("Draw the reach round");
    let counts = view.round().map(|r| r.sources);
    let named = SourceKind::ALL.map(|k| {
        let of = SourceKind::ALL.iter().position(|o| *o == k).and_then(|i| counts.and_then(|c| c.get(i).copied()));
        (k, of.map_or_else(|| words(k).to_owned(), |n| format!("{} ({})", words(k), number(n))))
    });
    let kinds = named.each_ref().map(|(k, words)| (*k, words.as_str()));
    if let Some(kind) = notice::choices(ui, plan.from, &kinds) {
        actions.push(Action::Sources(kind));
    }
    if plan.from == SourceKind::Cases {
        let mut unmasked = view.session.unmasked;
        let box_ = ui.checkbox(&mut unmasked, "Show true places; this stays in the office");
        if box_.on_hover_text("Also in maps and lists that are saved from here").changed() {
            actions.push(Action::Reach(ReachAction::Unmask(unmasked)));
        }
        notice::quiet(ui, if unmasked { TRUE_PLACES } else { MASKED });
    }
    if plan.from == SourceKind::Traps {
        trap_count(ui, plan.trap_over, actions);
    }
    ui.label("Measure from");
    let ways = [(MeasureFrom::Outline, "the lot line"), (MeasureFrom::Point, "a point inside")];
    if let Some(way) = notice::choices(ui, plan.measure_from, &ways) {
        actions.push(Action::MeasureFrom(way));
    }
    if matches!(plan.from, SourceKind::Positives | SourceKind::Pupae) {
        if view.reach().is_some_and(|r| !r.sources.is_empty()) && ui.link("List these yards").clicked() {
            actions.push(Action::Trace(Some(Trace::Sources)));
        }
        traced::show(ui, view, Trace::Sources, actions);
    }
    method(ui, view);
}

/// What is a source, in whole.
const METHOD: &str = "Positive yards: larvae or pupae were found there on some visit of this round, whatever its outcome, so that finds over \
                      a fence count; the house index counts inspected yards alone. Yards with pupae: the same for pupae. Cases, traps \
                      and complaints of all days lie where their file says; a trap counts with its catch of a night. Sources are \
                      counted, none is estimated, so that they have no interval; a source in a yard that nobody saw is missing here. \
                      The command line: yardring reach --from.";

/// How many yards the sources were looked for in.
fn method(ui: &mut Ui, view: &View<'_>) {
    let Some(picture) = view.round() else { return };
    let inspected = count(picture.district.inspected, "inspected yard");
    let line = match view.session.plan.from {
        SourceKind::Positives | SourceKind::Pupae => format!("counted in {inspected} of {}", number(picture.district.premises)),
        _ => "counted as their file lists them".to_owned(),
    };
    how(ui, "sources", line, METHOD);
}

/// From which catch on a trap is a source.
fn trap_count(ui: &mut Ui, over: f64, actions: &mut Vec<Action>) {
    let mut wanted = over;
    ui.horizontal(|ui| {
        ui.label("that caught more than");
        let drawn = notice::fill_in(ui, DragValue::new(&mut wanted).range(0.0..=10_000.0).speed(0.2).max_decimals(1));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Catch of a trap a night"));
        ui.label("a night");
    });
    notice::quiet(ui, "A trap whose catch was not written down is no source.");
    if wanted != over {
        actions.push(Action::Reach(ReachAction::TrapCount(wanted)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn traps_that_caught_nothing_are_told() {
        assert_eq!(of_traps(5, 6, 0.0), "5 of 6 traps caught some");
        assert_eq!(of_traps(2, 6, 3.5), "2 of 6 traps caught more than 3.5 a night");
    }
}
