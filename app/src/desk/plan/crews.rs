//! Crews: who is out, when, and from where.

use crate::action::Action;
use crate::jobs::{JobKind, Wanted};
use crate::session::walking::{Crews, WalkAction};
use crate::ui::words::{count, full_day};
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{DragValue, TextEdit, Ui, WidgetInfo};
use jiff::civil::Date;
use std::collections::BTreeMap;
use yardring_core::place::{Bounds, Local, inside};
use yardring_core::survey::Survey;
use yardring_core::survey::calendar::clock_words;
use yardring_core::walks::{DoorMinutes, Driving, Heat, Pause};

/// What is being typed and makes no sense yet.
#[derive(Clone, Debug, Default)]
pub struct Typed {
    begins: Option<String>,
    day: Option<String>,
    pauses: [Option<String>; 2],
    /// When a crew leaves, by its place among the crews.
    leaves: BTreeMap<usize, Option<String>>,
    /// The street that a crew is to be kept off, and which crew.
    pub(super) off: super::kept_off::Typed,
}

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    let crews = &view.session.walking.crews;
    let who = count(crews.names.len() as u64, "crew");
    let own = crews.own_hours.iter().flatten().count();
    let own = if own > 0 { format!(" · {own} at other hours") } else { String::new() };
    let words = format!("{who} · {} from {}{own}", hours(crews.shift_minutes), clock_words(crews.begins));
    match crews.meeting_point {
        Some(_) => (words, false),
        None => (format!("{words} · choose where they meet"), true),
    }
}

/// "6 h", "6 h 30".
pub(super) fn hours(minutes: f64) -> String {
    let whole = minutes.round() as i64;
    if whole % 60 == 0 { format!("{} h", whole / 60) } else { format!("{} h {:02}", whole / 60, whole % 60) }
}

/// The controls.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, typed: &mut Typed, actions: &mut Vec<Action>) {
    let before = &view.session.walking.crews;
    let mut crews = before.clone();
    day(ui, view, &mut crews, typed);
    number(ui, &mut crews);
    shift(ui, &mut crews, typed);
    who(ui, &mut crews, typed);
    pauses(ui, &mut crews, typed);
    heat(ui, view, &mut crews);
    doors(ui, view, &mut crews);
    legs(ui, &mut crews);
    if crews != *before {
        actions.push(Action::Walks(WalkAction::Crews(crews)));
    }
    meeting_point(ui, view, actions);
    lines(ui, view, actions);
    super::kept_off::show(ui, view, &mut typed.off, actions);
}

fn named(ui: &mut Ui, name: &str, control: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        ui.allocate_ui_with_layout(egui::vec2(76.0, 28.0), egui::Layout::left_to_right(egui::Align::Center), |ui| {
            ui.set_min_width(76.0);
            ui.label(name);
        });
        control(ui);
    });
}

/// A text that is taken over when it makes sense; until then it stays as it was typed, with what holds instead beside it.
pub(super) fn typed_value<T: PartialEq + Copy>(
    ui: &mut Ui,
    name: &str,
    kept: &mut Option<String>,
    now: T,
    say: impl Fn(T) -> String,
    read: impl Fn(&str) -> Option<T>,
) -> T {
    let mut text = kept.clone().unwrap_or_else(|| say(now));
    let drawn = ui.add(TextEdit::singleline(&mut text).desired_width(104.0));
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, name));
    let mut out = now;
    if drawn.changed() {
        out = read(&text).unwrap_or(now);
        *kept = Some(text);
    }
    let read_now = kept.as_ref().is_none_or(|text| read(text).is_some());
    if drawn.lost_focus() && read_now {
        *kept = None;
    }
    if !read_now && !drawn.has_focus() {
        notice::warn(ui, format!("not read; {} holds", say(now)));
    }
    out
}

fn day(ui: &mut Ui, view: &View<'_>, crews: &mut Crews, typed: &mut Typed) {
    let Some(on) = view.survey().and_then(|s| crews.day(s)) else { return };
    named(ui, "Day", |ui| {
        let chosen = typed_value(ui, "Day, as 2025-07-24", &mut typed.day, on, |d: Date| d.to_string(), |t| t.trim().parse().ok());
        let mut to = Some(chosen).filter(|d| *d != on);
        if ui.button("‹").on_hover_text("A day earlier").clicked() {
            to = on.yesterday().ok();
        }
        if ui.button("›").on_hover_text("A day later").clicked() {
            to = on.tomorrow().ok();
        }
        crews.on = to.or(crews.on);
    });
    notice::quiet(ui, full_day(on));
}

fn number(ui: &mut Ui, crews: &mut Crews) {
    named(ui, "Crews", |ui| {
        let mut n = crews.names.len();
        let drawn = notice::fill_in(ui, DragValue::new(&mut n).range(1..=Crews::MOST).speed(0.05));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Number of crews"));
        if ui.button("Fewer").clicked() {
            n = n.saturating_sub(1);
        }
        if ui.button("More").clicked() {
            n += 1;
        }
        crews.resize(n);
    });
}

/// Each crew's name, and its hours: those of all until it gets its own.
fn who(ui: &mut Ui, crews: &mut Crews, typed: &mut Typed) {
    for i in 0..crews.names.len() {
        ui.horizontal(|ui| {
            let drawn = ui.add(TextEdit::singleline(&mut crews.names[i]).desired_width(70.0));
            drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, format!("Name of crew {}", i + 1)));
            let (leaves, minutes) = crews.hours(i);
            let name = format!("Crew {} leaves at, as 08:00", i + 1);
            let kept = typed.leaves.entry(i).or_default();
            let at = typed_value(ui, &name, kept, leaves, clock_words, |t| t.trim().parse().ok());
            let long = length(ui, minutes, &format!("Hours of crew {}", i + 1));
            if (at, long) != (leaves, minutes) {
                crews.set_hours(i, Some((at, long)));
            }
            let own = crews.own_hours.get(i).is_some_and(Option::is_some);
            if own && ui.small_button("As all").on_hover_text("The hours of all crews").clicked() {
                crews.set_hours(i, None);
            }
        });
    }
}

/// How long somebody is out, in hours; gives minutes.
fn length(ui: &mut Ui, minutes: f64, name: &str) -> f64 {
    let mut long = minutes / 60.0;
    let box_ = DragValue::new(&mut long).range(0.5..=14.0).speed(0.05).custom_formatter(|h, _| format!("{}", (h * 100.0).round() / 100.0));
    let drawn = notice::fill_in(ui, box_.suffix(" h"));
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, name));
    if drawn.changed() { long * 60.0 } else { minutes }
}

fn shift(ui: &mut Ui, crews: &mut Crews, typed: &mut Typed) {
    named(ui, "Begins at", |ui| {
        crews.begins = typed_value(ui, "Begins at, as 08:00", &mut typed.begins, crews.begins, clock_words, |t| t.trim().parse().ok());
    });
    named(ui, "Shift", |ui| {
        crews.shift_minutes = length(ui, crews.shift_minutes, "Shift in hours");
    });
}

/// The break and the pause for the heat: each with its time and its length, or none.
fn pauses(ui: &mut Ui, crews: &mut Crews, typed: &mut Typed) {
    let tip = "Made at the first door after this time; sheets say it too";
    for (i, (word, heat)) in [("Break", false), ("Heat pause", true)].into_iter().enumerate() {
        named(ui, word, |ui| {
            let at = crews.pauses.iter().position(|p| p.2 == heat);
            let mut taken = at.is_some();
            let drawn = ui.checkbox(&mut taken, "").on_hover_text(tip);
            drawn.widget_info(|| WidgetInfo::selected(egui::Role::CheckBox, true, taken, word));
            match (taken, at) {
                (true, None) => crews.pauses.push(Pause::USUAL[i]),
                (false, Some(at)) => drop(crews.pauses.remove(at)),
                (true, Some(at)) => {
                    let (from, minutes, _) = &mut crews.pauses[at];
                    *from = typed_value(ui, &format!("{word} at, as 12:00"), &mut typed.pauses[i], *from, clock_words, |t| {
                        t.trim().parse().ok()
                    });
                    let drawn = notice::fill_in(ui, DragValue::new(minutes).range(5.0..=120.0).speed(0.5).max_decimals(0).suffix(" min"));
                    drawn.widget_info(|| {
                        WidgetInfo::labeled(egui::Role::SpinButton, true, format!("Minutes of the {}", word.to_lowercase()))
                    });
                }
                (false, None) => notice::quiet(ui, "none"),
            }
        });
    }
}

/// From which temperature on the pause for the heat is made, and what the day is like.
fn heat(ui: &mut Ui, view: &View<'_>, crews: &mut Crews) {
    let (Some(survey), true) = (view.survey(), crews.pauses.iter().any(|p| p.2)) else { return };
    named(ui, "", |ui| {
        ui.label("from");
        let drawn = ui.add(DragValue::new(&mut crews.heat_from).range(0.0..=50.0).speed(0.2).max_decimals(0).suffix(" °C"));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Heat pause from, in degrees Celsius"));
        drawn.on_hover_text("Common practice, no source");
    });
    if let Some(on) = crews.day(survey) {
        notice::quiet(ui, Heat::words(Heat::of(survey, on), on, crews.heat_from));
    }
}

/// Whether far legs are driven.
fn legs(ui: &mut Ui, crews: &mut Crews) {
    named(ui, "Far legs", |ui| {
        let tip = format!("Beyond {:.0} m: the car is parked, returned to and brought back", Driving::default().beyond);
        if notice::choice(ui, !crews.on_foot, "by car").on_hover_text(tip).clicked() {
            crews.on_foot = false;
        }
        if notice::choice(ui, crews.on_foot, "on foot").on_hover_text("The crews have no car").clicked() {
            crews.on_foot = true;
        }
    });
}

fn doors(ui: &mut Ui, view: &View<'_>, crews: &mut Crews) {
    let learnt = view.session.walking.learnt.latest();
    named(ui, "At a door", |ui| {
        let given = crews.minutes.is_some();
        if notice::choice(ui, !given, "learnt").on_hover_text("From the hours that visits carry, or common practice").clicked() {
            crews.minutes = None;
        }
        if notice::choice(ui, given, "given").on_hover_text("Minutes by what happens at the door").clicked() && !given {
            crews.minutes = Some(learnt.map_or_else(DoorMinutes::default, |l| l.minutes));
        }
    });
    match (&mut crews.minutes, learnt) {
        (Some(minutes), _) => {
            let kinds = [("Inspected", &mut minutes.complete), ("Closed", &mut minutes.closed), ("Many containers", &mut minutes.many)];
            for (word, minutes) in kinds {
                named(ui, word, |ui| {
                    let drawn = notice::fill_in(ui, DragValue::new(minutes).range(0.0..=120.0).speed(0.1).max_decimals(1).suffix(" min"));
                    drawn.widget_info(|| {
                        WidgetInfo::labeled(egui::Role::SpinButton, true, format!("Minutes at a door: {}", word.to_lowercase()))
                    });
                });
            }
        }
        (None, Some(learnt)) => notice::quiet(ui, learnt.words()),
        (None, None) => {}
    }
    named(ui, "Search", |ui| {
        let tip =
            "A fixed number of tries, as many as an ordinary computer makes in this time when it is not busy: the same plan everywhere";
        let drawn = notice::fill_in(ui, DragValue::new(&mut crews.effort).range(1.0..=600.0).speed(0.1).max_decimals(0).suffix(" s"));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Seconds to search for a better plan"));
        drawn.on_hover_text(tip);
        notice::quiet(ui, "longer gives better walks");
    });
    notice::quiet(ui, "Seconds of an ordinary computer, counted in tries: a busy one takes longer for them.");
}

fn meeting_point(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    ui.add_space(theme::NEAR);
    match walking.crews.meeting_point.zip(view.survey()) {
        Some((at, survey)) => {
            let degrees = crate::map::degrees(survey.frame.lon_lat_from_local(at));
            let place = whereabouts(view, survey, at);
            let said = if place.is_empty() { format!("They meet at {degrees}") } else { format!("They meet {place}") };
            ui.label(said).on_hover_text(&degrees);
            if !place.is_empty() {
                notice::quiet(ui, degrees);
            }
        }
        None => drop(ui.label("Where do they meet? Walks begin and end there.")),
    }
    ui.horizontal_wrapped(|ui| {
        let word = if walking.picking { "Click on the map now" } else { "Choose on the map" };
        if notice::choice(ui, walking.picking, word).clicked() {
            actions.push(Action::Walks(WalkAction::Picking(!walking.picking)));
        }
        let chosen = view.session.chosen.zip(view.survey());
        let yard = chosen.and_then(|(p, s)| inside(s.premises.outline.get(p.row())));
        let button = ui.add_enabled(yard.is_some(), egui::Button::new("At the chosen yard"));
        if let (true, Some(place)) = (button.on_disabled_hover_text("Choose a yard on the map, or find an address first").clicked(), yard) {
            actions.push(Action::Walks(WalkAction::MeetAt(place)));
        }
    });
}

/// Metres up to which an address or a corner says where somebody meets.
const NAMED_WITHIN: f64 = 80.0;

/// The nearest address, or else the nearest street; empty where there is neither near by.
fn whereabouts(view: &View<'_>, survey: &Survey, at: Local) -> String {
    let premises = &survey.premises;
    let Some(laid) = view.session.laid.latest().filter(|l| l.index.len() == premises.len()) else { return String::new() };
    let here = Bounds::of(&[at]).grown(NAMED_WITHIN);
    let mut best: Option<(f64, usize)> = None;
    laid.index.each_touching(&here, |row| {
        let shape = premises.outline.get(row);
        let far = if shape.holds(at) { 0.0 } else { shape.bounds().centre().distance(at) };
        if !premises.address.get(row).is_empty() && best.is_none_or(|(least, first)| (far, row) < (least, first)) {
            best = Some((far, row));
        }
    });
    match best {
        Some((far, row)) if far <= 0.0 => format!("at {}", premises.address.get(row)),
        Some((_, row)) => format!("near {}", premises.address.get(row)),
        None => {
            let mut streets: Vec<&str> = Vec::new();
            laid.street_index.each_touching(&here, |row| streets.push(survey.streets.name.get(row)));
            streets.into_iter().filter(|s| !s.is_empty()).min().map_or_else(String::new, |street| format!("near {street}"))
        }
    }
}

/// Lines that no crew crosses: from a file, or the way that is measured on the map.
fn lines(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    ui.add_space(theme::NEAR);
    ui.label("Never crossed");
    let kept = &view.session.walking.never_crossed;
    let said = match kept.lines.len() {
        0 => "Nothing: draw or choose railways, motorways, rivers. Leave a gap where a bridge is.".to_owned(),
        n => format!("{} {}. No walk crosses them.", count(n as u64, "line"), kept.file),
    };
    notice::quiet(ui, said);
    ui.horizontal_wrapped(|ui| {
        let measured = view.session.stretch.as_ref().is_some_and(|s| s.len() > 1);
        let tip = "Measure along it on the map first (the Measure button, then click from place to place)";
        let button = ui.add_enabled(measured, egui::Button::new("The measured line")).on_disabled_hover_text(tip);
        if button.on_hover_text("No crew crosses the line that is measured on the map").clicked() {
            actions.push(Action::Walks(WalkAction::LineDrawn));
        }
        if !kept.lines.is_empty() && ui.button("Cross everything").clicked() {
            actions.push(Action::Walks(WalkAction::NoLines));
        }
        if ui.button("Lines from a file…").clicked() {
            actions.push(Action::Ask(Wanted::Lines));
        }
    });
    if let Some(progress) = view.progress(JobKind::Lines)
        && waiting::waiting(ui, &progress)
    {
        actions.push(Action::Cancel(JobKind::Lines));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_short() {
        assert_eq!((hours(360.0), hours(390.0), hours(45.0)), ("6 h".into(), "6 h 30".into(), "0 h 45".into()));
    }
}
