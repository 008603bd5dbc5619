//! Reach: how far they fly.

use super::Memory;
use super::crew_day::{CrewDay, crew_day};
use crate::action::{Action, ReachAction};
use crate::desk::brief::traced;
use crate::jobs::Wanted;
use crate::session::Trace;
use crate::ui::method::how;
use crate::ui::words::{both_units, count, number, sentence};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{DragValue, RichText, Slider, SliderClamping, TextEdit, Ui, WidgetInfo};
use yardring_core::reach::{DOORS_A_DAY, ONLY_CONVENTIONS, Radius, radii};
use yardring_core::units::Metres;

/// The shortest and the longest radius, in metres.
const RANGE: std::ops::RangeInclusive<f64> = 10.0..=1610.0;

fn presets(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let Some(survey) = view.survey() else { return };
    let now = view.session.plan.radius;
    ui.label("Or one that programmes use");
    let all = radii(survey);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = egui::vec2(theme::NEAR, theme::NEAR);
        ui.spacing_mut().button_padding.x = 6.0;
        for one in &all {
            let drawn = notice::choice(ui, (one.radius.0 - now.0).abs() < 0.05, &words(one));
            if drawn.on_hover_text(sentence(one.source)).clicked() {
                actions.push(Action::Radius(one.radius));
            }
        }
    });
    if let Some(taken) = all.iter().find(|r| (r.radius.0 - now.0).abs() < 0.05) {
        notice::quiet(ui, format!("{}: {}.", taken.said, taken.source));
    }
    notice::quiet(ui, ONLY_CONVENTIONS);
    own_list(ui, &all, memory, actions);
}

/// A radius with its own unit first and the other one behind it.
fn words(r: &Radius) -> String {
    if r.said.ends_with(" m") { both_units(r.radius) } else { format!("{} · {} m", r.said, number(r.radius.0.round() as u64)) }
}

/// The list of radii to be rewritten by hand.
fn own_list(ui: &mut Ui, all: &[Radius], memory: &mut Memory, actions: &mut Vec<Action>) {
    let Some(text) = &mut memory.radii else {
        if ui.link(RichText::new("Change the list").size(theme::SMALL)).clicked() {
            memory.radii = Some(all.iter().map(|r| r.said.as_str()).collect::<Vec<_>>().join(", "));
        }
        return;
    };
    let drawn = ui.add(TextEdit::singleline(text).desired_width(f32::INFINITY));
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "Radii, with commas between them"));
    let (mut keep, mut usual, mut back) = (drawn.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter)), false, false);
    ui.horizontal(|ui| {
        keep |= ui.button("Keep this list").clicked();
        usual = ui.button("Use the usual list").clicked();
        back = ui.button("Leave it").clicked();
    });
    if keep {
        actions.push(Action::Reach(ReachAction::Radii(text.clone())));
    } else if usual {
        actions.push(Action::Reach(ReachAction::Radii(String::new())));
    }
    if keep || usual || back {
        memory.radii = None;
    }
}

/// Which barriers flights go round, and choosing them.
fn barriers(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    ui.label("Barriers");
    let kept = view.reach().and_then(|r| r.barriers.as_ref());
    let said = match kept {
        Some((file, length)) => format!("The reach goes round the lines of {file}, {:.1} km.", length / 1000.0),
        None => "None: the reach goes over everything. Wide roads and open water hold many mosquitoes back.".to_owned(),
    };
    notice::quiet(ui, said);
    ui.horizontal(|ui| {
        if ui.button(if kept.is_some() { "Choose other lines…" } else { "Choose lines…" }).clicked() {
            actions.push(Action::Ask(Wanted::Barriers));
        }
        if kept.is_some() && ui.button("Go without").clicked() {
            actions.push(Action::Reach(ReachAction::NoBarriers));
        }
    });
}

/// How much of the reach was seen, and what a day of the crews would close.
fn coverage(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let Some(covered) = view.reach().map(|r| r.covered) else { return };
    let crews = &view.session.walking.crews;
    let (reckoned, said) = match reckoned(view) {
        Some(day) => (day.yards, day.words),
        None => (DOORS_A_DAY, format!("{DOORS_A_DAY} yards a day is the middle of one national norm, until minutes at a door are learnt.")),
    };
    let id = ui.scope_id().with("yards a day");
    let typed = ui.data(|d| d.get_temp::<f64>(id));
    let each = typed.unwrap_or(reckoned);
    let all = each * crews.names.len() as f64;
    let (Some(share), Some(a_day)) = (covered.share(), covered.share_a_day(all)) else { return };
    let who = count(crews.names.len() as u64, "crew");
    let left = if all > 0.0 { format!("{:.1}", covered.days_left(all)) } else { "no yard is inspected in a day".to_owned() };
    let (closes, days) = (format!("A day of {who} closes"), format!("Days of {who} left"));
    let rows = [
        ("Yards inside", number(covered.inside)),
        ("Inspected", format!("{} ({:.0} %)", number(covered.inspected), share * 100.0)),
        (closes.as_str(), format!("{:.1} % of the reach", a_day * 100.0)),
        (days.as_str(), left),
    ];
    notice::numbers(ui, "coverage of the reach", &rows);
    // The mask of cases hides which yards are near.
    let listed = covered.inspected > 0 && !view.masked() && view.reach_is_fresh();
    if listed && ui.link("List the inspected yards inside").clicked() {
        actions.push(Action::Trace(Some(Trace::Inside)));
    }
    traced::show(ui, view, Trace::Inside, actions);
    let mut yards = each;
    ui.horizontal(|ui| {
        ui.label("Yards that one crew inspects in a day");
        let drawn = notice::fill_in(ui, DragValue::new(&mut yards).range(1.0..=200.0).speed(0.5).max_decimals(1));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Yards that one crew inspects in a day"));
        if drawn.changed() {
            ui.data_mut(|d| d.insert_temp(id, yards));
        }
        if typed.is_some() && ui.link("Reckon it").on_hover_text(&said).clicked() {
            ui.data_mut(|d| d.remove::<f64>(id));
        }
    });
    notice::quiet(ui, if typed.is_some() { "As you typed it." } else { said.as_str() });
}

/// A day of one crew; `None` until minutes at a door are learnt.
fn reckoned(view: &View<'_>) -> Option<CrewDay> {
    let (survey, crews) = (view.survey()?, &view.session.walking.crews);
    let learnt = view.session.walking.learnt.latest()?;
    let pauses = crews.day(survey).map_or(0.0, |on| crews.pauses_on(survey, on).iter().map(|p| p.1).sum());
    Some(crew_day(crews, pauses, learnt))
}

/// How the reach is drawn, in whole.
const METHOD: &str = "A yard is inside when any part of its lot is no farther than the radius from the lot line of a source, or from a point \
                      inside it, whichever was chosen. The ground drawn is the same, dissolved into one; its circles have 96 sides, 0.07 % \
                      less area than true ones. Barriers are not clipped: a way round their ends counts where it is no longer than the \
                      radius. Inspected: share of the yards inside that were inspected in this round; a count of all of them, so that \
                      it has no interval. How far they fly is no measurement of this district: see the radius and who uses it. The \
                      command line: yardring reach, with --doors for the yards of a day.";

/// How many yards and sources it rests on.
fn method(ui: &mut Ui, view: &View<'_>) {
    let Some(r) = view.reach().filter(|r| !r.sources.is_empty()) else { return };
    let (inside, sources) = (count(r.covered.inside, "yard"), count(r.sources.len() as u64, "source"));
    how(ui, "reach", format!("{inside} inside, all counted, round {sources}; the radius is a convention"), METHOD);
}

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let radius = both_units(view.session.plan.radius);
    match view.reach().filter(|r| !r.sources.is_empty()) {
        None => radius,
        Some(r) => {
            let stale = if view.reach_is_fresh() { "" } else { " · working" };
            let parts = if r.ground.parts > 1 { format!(" in {}", count(r.ground.parts as u64, "part")) } else { String::new() };
            format!("{radius}: {}{parts}{stale}", r.ground.area)
        }
    }
}

/// The controls: one radius, said in both units.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let before = view.session.plan.radius;
    let mut metres = before.0;
    let slider = Slider::new(&mut metres, RANGE).logarithmic(true).show_value(false).step_by(5.0).clamping(SliderClamping::Never);
    ui.spacing_mut().slider_width = (ui.available_width() - theme::APART).min(300.0);
    let drawn = ui.add(slider);
    drawn.widget_info(|| WidgetInfo::slider(true, metres, "Radius"));
    ui.horizontal(|ui| {
        let drawn = notice::fill_in(ui, DragValue::new(&mut metres).range(RANGE).speed(1.0).max_decimals(1).suffix(" m"));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Radius in metres"));
        let mut yards = Metres(metres).yards();
        let in_yards = Metres(*RANGE.start()).yards()..=Metres(*RANGE.end()).yards();
        let drawn = notice::fill_in(ui, DragValue::new(&mut yards).range(in_yards).speed(1.0).max_decimals(1).suffix(" yd"));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Radius in yards"));
        if drawn.changed() {
            metres = Metres::from_yards(yards).0;
        }
    });
    if metres != before.0 && metres.is_finite() {
        actions.push(Action::Radius(Metres(metres.clamp(*RANGE.start(), *RANGE.end()))));
    }
    notice::quiet(ui, "A yard is inside when any part of its lot is no farther than this from a source.");
    presets(ui, view, memory, actions);
    barriers(ui, view, actions);
    coverage(ui, view, actions);
    method(ui, view);
}
