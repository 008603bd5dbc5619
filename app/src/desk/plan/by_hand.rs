//! Changes by hand to the day's walks: buttons for the chosen row, and what the change that is weighed would cost.

use crate::action::Action;
use crate::session::walking::{Change, Kept, Row, Trial, WalkAction};
use crate::ui::words::{count, sentence};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{ComboBox, Frame, Key, Margin, RichText, Ui, WidgetInfo};
use std::collections::BTreeSet;
use yardring_core::survey::calendar::clock_words;
use yardring_core::survey::{PremiseId, Promised, settings};
use yardring_core::walks::by_hand::{Spot, spot_of};
use yardring_core::walks::{Day, street_of};

/// The change that is weighed: what, what it costs, and whether to do it. Enter does it, Escape leaves it. While a door is dragged nothing can
/// be pressed: letting go does it.
pub(super) fn trial(ui: &mut Ui, view: &View<'_>, dragging: bool, actions: &mut Vec<Action>) {
    let Some(trial) = &view.session.walking.trial else { return };
    let tones = theme::tones(ui);
    let frame = Frame::new().fill(tones.accent_wash).corner_radius(theme::CORNER).inner_margin(Margin::same(theme::APART as i8));
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(what(view, trial)).font(theme::semibold(theme::BODY)));
        ui.label(minutes(trial.cost.minutes));
        for (walk, over) in &trial.cost.too_long {
            let crew = trial.day.walks.get(*walk).map_or("", |w| w.crew.as_str());
            ui.label(RichText::new(format!("{crew} would be back {over:.0} min after the shift")).color(tones.warning));
        }
        if !trial.cost.promises_broken.is_empty() {
            let late = count(trial.cost.promises_broken.len() as u64, "promised hour");
            ui.label(RichText::new(format!("{late} would be missed")).color(tones.warning));
        }
        if dragging {
            notice::quiet(ui, "Let go of it here to do this.");
            return;
        }
        ui.horizontal(|ui| {
            let done = notice::main_button(ui, "Do it").on_hover_text("Enter").clicked();
            if view.session.leaving.is_some() {
                return;
            }
            if done || ui.input_mut(|i| i.consume_key(egui::Modifiers::NONE, Key::Enter)) {
                actions.push(Action::Walks(WalkAction::DoIt));
            }
            if ui.button("Leave it").on_hover_text("Escape").clicked() {
                actions.push(Action::Walks(WalkAction::LeaveIt));
            }
        });
    });
}

/// "4 minutes more in all", "2 minutes less in all", "no time more".
fn minutes(more: f64) -> String {
    let whole = more.abs().round() as u64;
    match (whole, more > 0.0) {
        (0, _) => "No minute more or less".to_owned(),
        (n, true) => format!("{} more in all", count(n, "minute")),
        (n, false) => format!("{} less in all", count(n, "minute")),
    }
}

/// What the change is, in words, with where the door would come to stand.
fn what(view: &View<'_>, trial: &Trial) -> String {
    let place = |premise: PremiseId| {
        spot_of(&trial.day, premise).map_or_else(String::new, |s| {
            let walk = &trial.day.walks[s.walk];
            let at = crate::ui::words::time_after(trial.day.begins, walk.doors[s.door].arrive);
            format!("{} to {}, door {}, at {at}", view.name_of(premise), walk.crew, s.door + 1)
        })
    };
    match &trial.change {
        Change::Move(premise, _) | Change::HandOver(premise, _) | Change::Add(premise, _) => place(*premise),
        Change::TakeOff(premise) => format!("{} off today's walks", view.name_of(*premise)),
        Change::LockDoor(premise, _) => view.name_of(*premise).to_owned(),
        Change::LockWalk(walk, _) => trial.day.walks.get(*walk).map_or_else(String::new, |w| w.crew.clone()),
        Change::KeepOff(walk, street) => {
            format!("{} kept off {street}", trial.day.walks.get(*walk).map_or("", |w| w.crew.as_str()))
        }
    }
}

/// Buttons for the chosen row, taking back, and the keys of the list.
pub(super) fn buttons(ui: &mut Ui, view: &View<'_>, day: &Day, typed: &mut Option<String>, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    ui.horizontal_wrapped(|ui| match (walking.head, view.session.chosen) {
        (Some(Row::Crew(walk)), _) => crew(ui, view, day, walk, actions),
        (_, Some(premise)) => match spot_of(day, premise) {
            Some(spot) => {
                door(ui, day, premise, spot, actions);
                off_its_street(ui, view, day, premise, spot.walk, actions);
            }
            None => add(ui, day, premise, actions),
        },
        _ => notice::quiet(ui, "Drag a door to another place or crew, or choose one for more."),
    });
    promise(ui, view, typed, actions);
    let Some(history) = view.open().map(|o| &o.history) else { return };
    ui.horizontal_wrapped(|ui| {
        let none = "No change of the walks comes next";
        if button_or(ui, history.undoes_setting(settings::WALKS), "Take back", "Take the last change of the walks back (Ctrl and Z)", none)
        {
            actions.push(Action::Undo);
        }
        if button_or(ui, history.redoes_setting(settings::WALKS), "Do again", "Make it again (Ctrl and Y)", none) {
            actions.push(Action::Redo);
        }
    });
}

fn button(ui: &mut Ui, possible: bool, word: &str, tip: &str) -> bool {
    button_or(ui, possible, word, tip, tip)
}

/// A button that says why it cannot be pressed when it cannot.
fn button_or(ui: &mut Ui, possible: bool, word: &str, tip: &str, why_not: &str) -> bool {
    ui.add_enabled(possible, egui::Button::new(word)).on_hover_text(tip).on_disabled_hover_text(why_not).clicked()
}

/// Why a door of a walk cannot be moved.
const LOCKED_DOOR: &str = "This door is locked: unlock it first";
const LOCKED_WALK: &str = "The whole walk is locked: choose its crew in the list and unlock it first";

fn weigh(actions: &mut Vec<Action>, change: Change) {
    actions.push(Action::Walks(WalkAction::Weigh(change)));
}

fn door(ui: &mut Ui, day: &Day, premise: PremiseId, spot: Spot, actions: &mut Vec<Action>) {
    let walk = &day.walks[spot.walk];
    let locked = walk.doors[spot.door].locked;
    let free = !locked && !walk.locked;
    let to = |door: usize| Change::Move(premise, Spot { walk: spot.walk, door });
    // Alt and an arrow do the same as the two buttons.
    let [up, down, off, lock] =
        [Key::ArrowUp, Key::ArrowDown, Key::Delete, Key::L].map(|key| ui.input_mut(|i| i.consume_key(egui::Modifiers::ALT, key)));
    let (earlier, later) = (free && spot.door > 0, free && spot.door + 1 < walk.doors.len());
    let held = if walk.locked { LOCKED_WALK } else { LOCKED_DOOR };
    let or = |end: &'static str| if free { end } else { held };
    if button_or(ui, earlier, "Earlier", "One place earlier (Alt and up)", or("It is the first door of the walk")) || (up && earlier) {
        weigh(actions, to(spot.door - 1));
    }
    if button_or(ui, later, "Later", "One place later (Alt and down)", or("It is the last door of the walk")) || (down && later) {
        weigh(actions, to(spot.door + 1));
    }
    if let Some(walk) = to_crew(ui, day, Some(spot.walk), Some(held).filter(|_| !free), "To crew…", actions_keys(ui, day)) {
        weigh(actions, Change::HandOver(premise, walk));
    }
    let (word, tip) = if locked {
        ("Unlock", "Let it be planned anew (Alt and L)")
    } else {
        ("Lock", "It stays in this walk when the rest is planned again (Alt and L)")
    };
    if button_or(ui, !walk.locked, word, tip, LOCKED_WALK) || (lock && !walk.locked) {
        actions.push(Action::Walks(WalkAction::Do(Change::LockDoor(premise, !locked))));
    }
    if button_or(ui, free, "Take off", "Not today (Alt and Delete)", held) || (off && free) {
        weigh(actions, Change::TakeOff(premise));
    }
}

/// Keeps the crew of a door off the street that the door is in.
fn off_its_street(ui: &mut Ui, view: &View<'_>, day: &Day, premise: PremiseId, walk: usize, actions: &mut Vec<Action>) {
    let written = view.survey().map_or("", |survey| street_of(survey, premise));
    let at = view.session.walking.ways.as_ref().and_then(|ways| ways.street(premise)).unwrap_or_default();
    let street = if written.is_empty() { at } else { written };
    let possible = !street.is_empty() && !day.walks[walk].locked;
    let tip = format!("{} goes to no yard in {street} (Alt and K)", day.walks[walk].crew);
    let keyed = ui.input_mut(|i| i.consume_key(egui::Modifiers::ALT, Key::K));
    let why_not = if street.is_empty() { "Neither the yard's address nor its place names a street" } else { LOCKED_WALK };
    if button_or(ui, possible, "Keep off this street", &tip, why_not) || (keyed && possible) {
        weigh(actions, Change::KeepOff(walk, street.to_owned()));
    }
}

/// The crew whose number was pressed together with Alt.
fn actions_keys(ui: &Ui, day: &Day) -> Option<usize> {
    const KEYS: [Key; 9] = [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5, Key::Num6, Key::Num7, Key::Num8, Key::Num9];
    let pressed = ui.input_mut(|i| KEYS.iter().position(|k| i.consume_key(egui::Modifiers::ALT, *k)));
    pressed.filter(|n| *n < day.walks.len())
}

/// A list of crews to give something to; one of them may have been named by its key.
fn to_crew(ui: &mut Ui, day: &Day, own: Option<usize>, why_not: Option<&str>, word: &str, keyed: Option<usize>) -> Option<usize> {
    let possible = why_not.is_none();
    let mut chosen = keyed.filter(|k| possible && Some(*k) != own && !day.walks[*k].locked);
    ui.add_enabled_ui(possible, |ui| {
        let drawn = ComboBox::from_id_salt(word).selected_text(word).width(84.0).show_ui(ui, |ui| {
            for (i, walk) in day.walks.iter().enumerate().filter(|(i, w)| Some(*i) != own && !w.locked) {
                if ui.selectable_label(false, format!("{} (Alt {})", walk.crew, i + 1)).clicked() {
                    chosen = Some(i);
                }
            }
        });
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, possible, word));
        drawn.response.on_disabled_hover_text(why_not.unwrap_or_default());
    });
    chosen
}

fn add(ui: &mut Ui, day: &Day, premise: PremiseId, actions: &mut Vec<Action>) {
    if button(ui, true, "Add where it costs least", "Into the walk that grows least") {
        weigh(actions, Change::Add(premise, None));
    }
    if let Some(walk) = to_crew(ui, day, None, None, "Add to crew…", actions_keys(ui, day)) {
        weigh(actions, Change::Add(premise, Some(walk)));
    }
}

fn crew(ui: &mut Ui, view: &View<'_>, day: &Day, walk: usize, actions: &mut Vec<Action>) {
    let Some((of, survey)) = day.walks.get(walk).zip(view.survey()) else { return };
    let (word, tip) = if of.locked {
        ("Unlock the walk", "Let it be planned anew (Alt and L)")
    } else {
        ("Lock the walk", "It stays as it is when the rest is planned again (Alt and L)")
    };
    let lock = ui.input_mut(|i| i.consume_key(egui::Modifiers::ALT, Key::L));
    if button(ui, true, word, tip) || lock {
        actions.push(Action::Walks(WalkAction::Do(Change::LockWalk(walk, !of.locked))));
    }
    let streets: BTreeSet<&str> = of.doors.iter().map(|d| street_of(survey, d.premise)).filter(|s| !s.is_empty()).collect();
    ui.add_enabled_ui(!of.locked && !streets.is_empty(), |ui| {
        let drawn = ComboBox::from_id_salt("off").selected_text("Keep off a street…").width(150.0).show_ui(ui, |ui| {
            for street in &streets {
                if ui.selectable_label(false, *street).clicked() {
                    weigh(actions, Change::KeepOff(walk, (*street).to_owned()));
                }
            }
        });
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, "Keep off a street"));
    });
}

/// What holds for every plan: streets that crews are kept off, and promised hours. Each can be taken back.
pub(super) fn settled(ui: &mut Ui, view: &View<'_>, day: &Day, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    let mut line = |(text, broken): (String, bool), word: &str, tip: &str, action: WalkAction| {
        ui.horizontal_wrapped(|ui| {
            if broken {
                notice::warn(ui, text);
            } else {
                notice::quiet(ui, text);
            }
            if ui.small_button(word).on_hover_text(tip).clicked() {
                actions.push(Action::Walks(action));
            }
        });
    };
    for (i, (walk, street)) in walking.kept_off.iter().enumerate() {
        let crew = day.walks.get(*walk).map_or("A crew", |w| w.crew.as_str());
        line((format!("{crew} is kept off {street}"), false), "Let in", "It counts from the next plan", WalkAction::LetIn(i));
    }
    for promise in &walking.promised {
        let kept = walking.kept(promise);
        let text = format!("{} is {}{}", view.name_of(promise.0), promise.1.words(), not_kept(&kept));
        line((text, kept != Kept::Yes), "Forget it", "It is taken off the walk and the sheets", WalkAction::NoPromise(promise.0));
    }
}

/// What the plan does instead of keeping a promise, after its words.
pub(super) fn not_kept(kept: &Kept) -> String {
    match kept {
        Kept::Yes => String::new(),
        Kept::PlannedAt(at, outside) => {
            let outside = if *outside { " · outside the shift" } else { "" };
            format!(", planned {}{outside}", clock_words(*at))
        }
        Kept::OtherDay(on) => format!(", planned for {}", crate::ui::words::day(*on)),
        Kept::OnNoWalk => ", on no walk".to_owned(),
        Kept::Impossible => ", which no crew can keep: tell the householder".to_owned(),
        Kept::Full => ", when every crew has doors that come first: tell the householder".to_owned(),
    }
}

/// A day or an hour to promise at the chosen yard; the row and the sheets say it at once, the next plan keeps it.
pub(super) fn promise(ui: &mut Ui, view: &View<'_>, typed: &mut Option<String>, actions: &mut Vec<Action>) {
    let Some(premise) = view.session.chosen else { return };
    let Some(text) = typed else {
        if button(ui, true, "Promise a day or an hour…", "Somebody comes on a day, between two times, or both") {
            *typed = Some("17:00-18:30".to_owned());
        }
        return;
    };
    // A weekday is the first one from the planned day on.
    let written = view.survey().and_then(|s| view.session.walking.crews.day(s)).and_then(|day| day.yesterday().ok());
    let promised = written.and_then(|day| Promised::read(text, day));
    let over = ui.horizontal_wrapped(|ui| {
        let drawn = ui.add(egui::TextEdit::singleline(text).desired_width(120.0));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "What is promised, as 17:00-18:30 or Saturday after five"));
        let entered = drawn.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        let (mut done, mut left) = (entered && promised.is_some(), false);
        let tip = "Said on the row and the sheets at once; the next plan keeps it, or says that it cannot";
        done |= button_or(ui, promised.is_some(), "Promise it", tip, "A day or hours, as Saturday, after five or 17:00-18:30");
        left |= ui.button("Leave it").clicked();
        if let Some(promised) = promised.filter(|_| done) {
            actions.push(Action::Walks(WalkAction::Promise(premise, promised)));
        }
        done || left
    });
    if over.inner {
        *typed = None;
        return;
    }
    let read = promised.map_or_else(|| "Write hours, a weekday or a date, in English or Spanish.".to_owned(), |p| sentence(&p.words()));
    notice::quiet(ui, read);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cost_is_said_in_whole_minutes() {
        assert_eq!(
            (minutes(0.2), minutes(1.2), minutes(-3.6)),
            ("No minute more or less".into(), "1 minute more in all".into(), "4 minutes less in all".into())
        );
    }
}
