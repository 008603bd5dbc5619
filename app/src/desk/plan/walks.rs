//! Walks: who goes where today, door by door, and what is left out.

use super::{Memory, by_hand, crews, gains};
use crate::action::Action;
use crate::desk::steady_height;
use crate::desk::steps::plan as at;
use crate::jobs::JobKind;
use crate::session::Place;
use crate::session::walking::{Change, Row, WalkAction, Walking};
use crate::ui::list::{List, ListEvents};
use crate::ui::words::{count, number};
use crate::ui::{notice, swatch, theme, waiting};
use crate::view::View;
use egui::{Align, Layout, Rect, RichText, Stroke, StrokeKind, Ui};
use yardring_core::survey::PremiseId;
use yardring_core::walks::by_hand::Spot;
use yardring_core::walks::{CrewWalk, Day, Door, Pause, lines_mark, without_streets};

/// Height of one row's two lines.
const ROW: f32 = 40.0;
/// Height of the worksheet that the list leaves to what stands round it.
const BESIDES: f32 = 400.0;

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    let walking = &view.session.walking;
    let Some(day) = &walking.day else {
        return match walking.crews.meeting_point {
            None => ("choose where the crews meet first".to_owned(), false),
            Some(_) => ("not planned yet".to_owned(), true),
        };
    };
    let doors: usize = day.walks.iter().map(|w| w.doors.len()).sum();
    let longest = day.walks.iter().map(|w| w.back_after).fold(0.0, f64::max);
    let left = match day.left_out.len() {
        0 => "none left out".to_owned(),
        n => format!("{} left out", number(n as u64)),
    };
    let on = crate::ui::words::day(day.on);
    let words = format!("{on} · {} · {left} · longest {}", count(doors as u64, "door"), crews::hours(longest));
    match stale(view) {
        Some(why) => (format!("{words} · {why}: plan again"), true),
        None => (words, false),
    }
}

/// Why the plan is not the one that the crews' step asks for now; `None` where it is.
pub(super) fn stale(view: &View<'_>) -> Option<&'static str> {
    let walking = &view.session.walking;
    let (day, asked) = (walking.day.as_ref()?, &walking.crews);
    let asked_for = view.survey().map_or_else(Vec::new, |s| asked.pauses_on(s, day.on));
    let pauses = Pause::within(asked.begins, asked.whole(), &asked_for);
    let own = asked.own_shifts();
    let hours = day.walks.iter().enumerate().all(|(i, w)| own.get(i).copied().flatten() == w.own_shift);
    let named = day.walks.iter().map(|w| &w.crew).eq(&asked.names);
    let there = asked.meeting_point.is_none_or(|at| at.distance(day.meeting_point) < 1.0);
    match () {
        () if view.jobs.at_work(JobKind::Walks) => None,
        () if view.survey().and_then(|s| asked.day(s)).is_some_and(|on| on != day.on) => Some("another day is asked for"),
        () if !named => Some("other crews are asked for"),
        () if !there => Some("they meet elsewhere now"),
        () if (asked.begins, asked.on_foot) != (day.begins, day.on_foot) => Some("crews begin or go otherwise now"),
        () if view.survey().is_some_and(|s| lines_mark(s) != day.lines) => Some("the lines that no crew crosses are others now"),
        () if (asked.shift_minutes - day.shift_minutes).abs() > 0.01 || pauses != day.pauses => Some("shift or pauses are others now"),
        () if !hours => Some("a crew has other hours now"),
        () => day.marks.others(&walking.marks(&view.session.plan)),
    }
}

/// The plan, or what it needs first.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    if walking.crews.meeting_point.is_none() {
        ui.label(format!("Say in step {} where the crews meet. Then the walks can be planned.", at::CREWS));
        if notice::main_button(ui, &format!("Go to step {}", at::CREWS)).clicked() {
            memory.next = Some(at::CREWS);
        }
        return;
    }
    work(ui, view, actions);
    let Some(day) = &walking.day else {
        if view.jobs.at_work(JobKind::Walks) {
            return;
        }
        ui.label("Gaps inside the reach and visits that are due become walks: the doors worth most, in an order to walk.");
        if notice::main_button(ui, "Plan the walks").clicked() {
            actions.push(Action::Walks(WalkAction::Plan));
        }
        return;
    };
    list(ui, view, day, memory, actions);
    by_hand::trial(ui, view, memory.dragging, actions);
    by_hand::buttons(ui, view, day, &mut memory.promise, actions);
    below(ui, view, day, actions);
}

/// Search at work, and what went wrong.
fn work(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    if let Some(progress) = view.progress(JobKind::Walks) {
        if waiting::waiting(ui, &progress) {
            actions.push(Action::Cancel(JobKind::Walks));
        }
        gains::show(ui, view);
        if ui.button("Stop here").on_hover_text("Keep the best plan so far").clicked() {
            actions.push(Action::Walks(WalkAction::StopHere));
        }
    }
    if let Some(trouble) = view.session.trouble_at(Place::Walks) {
        notice::trouble(ui, trouble);
    }
}

/// All crews with their doors, then what is left out; doors can be dragged.
fn list(ui: &mut Ui, view: &View<'_>, day: &Day, memory: &mut Memory, actions: &mut Vec<Action>) {
    let session = view.session;
    let walking = &session.walking;
    let head = walking.head.and_then(|h| walking.rows.iter().position(|r| *r == h));
    let reveal = memory.walked != (session.chosen, walking.head);
    memory.walked = (session.chosen, walking.head);
    let list = List {
        name: "walks",
        rows: walking.rows.len(),
        row_height: ROW,
        // Always the same, so that a row that is dragged over stays where it is while the cost shows below.
        height: steady_height(ui, BESIDES),
        chosen: head.or_else(|| session.chosen.and_then(|p| walking.row_of(p))),
        glowing: session.hovered.and_then(|p| walking.row_of(p)),
        reveal,
        firm: true,
    };
    let events = list.show_movable(ui, |ui, i| walking.rows.get(i).map_or_else(String::new, |r| row(ui, view, day, *r)));
    if let Some(premise) = events.hovered.and_then(|i| walking.premise(walking.rows[i])) {
        actions.push(Action::Hover(Some(premise)));
    }
    if let Some(row) = events.chosen.and_then(|i| walking.rows.get(i)) {
        memory.walked = if events.hovered == events.chosen { (walking.premise(*row), None) } else { memory.walked };
        actions.push(Action::Walks(WalkAction::Choose(*row)));
    }
    memory.dragging = events.dragged.is_some();
    drag(ui, walking, day, &events, actions);
}

/// A row that is dragged is weighed at the row under the pointer, and moved there when it is let go.
fn drag(ui: &Ui, walking: &Walking, day: &Day, events: &ListEvents, actions: &mut Vec<Action>) {
    let from = events.dragged.or(events.dropped).and_then(|i| walking.premise(walking.rows[i]));
    let Some(premise) = from else { return };
    let under = events.under.and_then(|i| walking.rows.get(i));
    let change = under.and_then(|to| change_to(walking, day, premise, *to));
    if let (Some(change), Some(at), None) = (&change, events.under_at, events.dropped) {
        landing(ui, walking, change, at);
    }
    match (change, events.dropped.is_some()) {
        (Some(change), false) => actions.push(Action::Walks(WalkAction::Weigh(change))),
        (Some(change), true) => actions.extend([WalkAction::Weigh(change), WalkAction::DoIt].map(Action::Walks)),
        (None, _) => actions.push(Action::Walks(WalkAction::LeaveIt)),
    }
}

/// Marks where a dragged door will land: a line between two rows, or a frame round the head of a crew that puts it where it costs least.
fn landing(ui: &Ui, walking: &Walking, change: &Change, at: Rect) {
    let stroke = Stroke::new(2.5, theme::tones(ui).accent);
    match change {
        Change::Move(premise, to) => {
            let from = walking.place_of(*premise).map(|(spot, _)| spot);
            // Taking the place of a row further down its own walk, it comes to stand behind it.
            let behind = from.is_some_and(|from| from.walk == to.walk && from.door < to.door);
            let head = to.door == 0 && from.is_some_and(|from| from.walk == to.walk);
            ui.painter().hline(at.x_range(), if behind || head { at.bottom() - 1.0 } else { at.top() + 1.0 }, stroke);
        }
        _ => drop(ui.painter().rect_stroke(at.shrink(1.0), theme::CORNER, stroke, StrokeKind::Inside)),
    }
}

/// What it means to put a door on a row: it takes the row's place, goes to the crew, or off the day.
fn change_to(walking: &Walking, day: &Day, premise: PremiseId, to: Row) -> Option<Change> {
    let now = walking.place_of(premise).map(|(spot, _)| spot);
    match (now, to) {
        (Some(from), Row::Door(to)) if from == to => None,
        (Some(_), Row::Door(to)) => Some(Change::Move(premise, to)),
        (Some(from), Row::Crew(walk)) if from.walk == walk => Some(Change::Move(premise, Spot { walk, door: 0 })).filter(|_| from.door > 0),
        (Some(_), Row::Crew(walk)) => Some(Change::HandOver(premise, walk)),
        (Some(_), Row::LeftOut | Row::Left(_)) => Some(Change::TakeOff(premise)),
        (None, Row::Door(Spot { walk, .. }) | Row::Crew(walk)) if walk < day.walks.len() => Some(Change::Add(premise, Some(walk))),
        (None, _) => None,
    }
}

fn row(ui: &mut Ui, view: &View<'_>, day: &Day, row: Row) -> String {
    match row {
        Row::Crew(i) => day.walks.get(i).map_or_else(String::new, |w| crew_row(ui, day, i, w)),
        Row::Door(spot) => {
            let door = day.walks.get(spot.walk).and_then(|w| w.doors.get(spot.door));
            door.map_or_else(String::new, |d| door_row(ui, view, day, spot, d))
        }
        Row::LeftOut => {
            let text = format!("Left out today: {}", count(day.left_out.len() as u64, "yard"));
            ui.label(RichText::new(&text).font(theme::semibold(theme::BODY)));
            text
        }
        Row::Left(i) => day.left_out.get(i).map_or_else(String::new, |l| {
            let name = view.name_of(l.premise);
            two_lines(ui, "", name, &format!("{} · {}", l.because.word(), nearest_first(&l.why.words)), None);
            format!("{name}, left out: {}: {}", l.because.word(), l.why.words)
        }),
    }
}

/// A crew's line on the map, its name, and its day in numbers.
fn crew_row(ui: &mut Ui, day: &Day, i: usize, walk: &CrewWalk) -> String {
    swatch::walk(ui, i);
    let locked = if walk.locked { " · locked" } else { "" };
    let back = crate::ui::words::time_after(day.begins, walk.back_after);
    let leaves = walk.own_shift.map_or_else(String::new, |own| format!("out {} · ", crate::ui::words::time_after(day.begins, own.from)));
    let about = format!("{leaves}{} · back {back} · {:.1} km{locked}", count(walk.doors.len() as u64, "door"), walk.walk_m / 1000.0);
    let shift = day.shift(i);
    let over = walk.back_after - shift.until;
    let late = (over > 1.0 / 60.0).then(|| format!("{over:.0} min too long"));
    ui.label(RichText::new(&walk.crew).font(theme::semibold(theme::BODY)));
    let tones = theme::tones(ui);
    ui.add(egui::Label::new(RichText::new(&about).size(theme::SMALL).color(tones.quiet)).truncate());
    if let Some(late) = &late {
        ui.label(RichText::new(late).size(theme::SMALL).color(tones.warning));
    }
    format!("{}: {about} {}", walk.crew, late.unwrap_or_default())
}

fn door_row(ui: &mut Ui, view: &View<'_>, day: &Day, spot: Spot, door: &Door) -> String {
    let name = view.name_of(door.premise);
    let arrive = crate::ui::words::time_after(day.begins, door.arrive);
    let locked = if door.locked { "locked · " } else { "" };
    let broken = view.session.walking.broken(door.premise);
    let broken = broken.map(|(promise, kept)| format!("{}{}", promise.1.words(), by_hand::not_kept(&kept)));
    let reason = nearest_first(&door.why.words);
    let why = if broken.is_some() { format!("{locked}{reason}") } else { format!("{arrive} · {locked}{reason}") };
    let urgent = broken.or_else(|| door.urgency().map(|urgency| if door.overdue_days > 0 { urgency } else { "today".to_owned() }));
    two_lines(ui, &number(spot.door as u64 + 1), name, &why, urgent.as_deref());
    format!("{} {name}, {arrive}: {} {}", spot.door + 1, urgent.unwrap_or_default(), door.why.words)
}

/// A reason with what is near before what was tried: it ranks the yard, and the end of a long line is cut.
fn nearest_first(words: &str) -> String {
    match words.split_once("; ") {
        Some((tried, near)) if near.starts_with(|c: char| c.is_ascii_digit()) => format!("{near}; {tried}"),
        _ => words.to_owned(),
    }
}

/// A number, a name, and a quiet line below with what is urgent before it.
fn two_lines(ui: &mut Ui, figure: &str, name: &str, below: &str, urgent: Option<&str>) {
    let tones = theme::tones(ui);
    ui.spacing_mut().item_spacing = egui::vec2(theme::APART, 0.0);
    ui.allocate_ui_with_layout(egui::vec2(24.0, ROW), Layout::right_to_left(Align::Center), |ui| {
        ui.label(RichText::new(figure).color(tones.quiet));
    });
    ui.vertical(|ui| {
        ui.spacing_mut().interact_size.y = 16.0;
        ui.add_space(2.0);
        ui.add(egui::Label::new(RichText::new(name).color(tones.ink)).truncate());
        ui.horizontal(|ui| {
            if let Some(urgent) = urgent {
                ui.label(RichText::new(urgent).size(theme::SMALL).color(tones.warning));
            }
            ui.add(egui::Label::new(RichText::new(below).size(theme::SMALL).color(tones.quiet)).truncate());
        });
    });
}

/// What one more crew would add, and planning again.
fn below(ui: &mut Ui, view: &View<'_>, day: &Day, actions: &mut Vec<Action>) {
    if let Some(more) = day.one_more_crew {
        let text = match more.doors {
            0 => "One more crew would see no yard more.".to_owned(),
            n => format!("One more crew would see {} more.", count(n.into(), "yard")),
        };
        notice::quiet(ui, text);
    }
    if day.walks.iter().filter(|w| !w.doors.is_empty()).count() > 1 {
        notice::quiet(ui, format!("{}.", view.session.walking.neatness.words()));
    }
    let at_streets = view.session.walking.at_streets.words();
    if !at_streets.is_empty() {
        notice::quiet(ui, format!("{at_streets}."));
    }
    let torn = view.session.walking.ways.as_ref().map(|ways| ways.network().words()).filter(|words| !words.is_empty());
    view.survey().and_then(without_streets).into_iter().chain(torn).for_each(|told| notice::quiet(ui, told));
    torn_streets(ui, view, actions);
    by_hand::settled(ui, view, day, actions);
    went_on(ui, view);
    let locked = day.walks.iter().any(|w| w.locked || w.doors.iter().any(|d| d.locked));
    let word = if locked { "Plan the rest again" } else { "Plan again" };
    let button = ui.add_enabled(!view.jobs.at_work(JobKind::Walks), egui::Button::new(word));
    let button = button.on_disabled_hover_text("It is being planned already");
    if button.on_hover_text("Locked walks and doors stay as they are").clicked() {
        actions.push(Action::Walks(WalkAction::Plan));
    }
    let why_not = match stale(view) {
        Some(why) => Some(format!("The plan is not what is asked for, {why}: plan again")),
        None => view.jobs.at_work(JobKind::Walks).then(|| "A plan is being looked for already".to_owned()),
    };
    let button = ui.add_enabled(why_not.is_none(), egui::Button::new("Go on"));
    let button = button.on_disabled_hover_text(why_not.unwrap_or_default());
    let tip = format!("Look for a better plan for {:.0} s more; this one stays where there is none", view.session.walking.crews.effort);
    if button.on_hover_text(tip).clicked() {
        actions.push(Action::Walks(WalkAction::GoOn));
    }
}

/// What going on from the plan led to.
fn went_on(ui: &mut Ui, view: &View<'_>) {
    match view.session.walking.bettered.filter(|_| !view.jobs.at_work(JobKind::Walks)) {
        Some(true) => notice::quiet(ui, "Going on found a better plan."),
        Some(false) => notice::quiet(ui, "Going on found no better plan. Another time it looks elsewhere."),
        None => {}
    }
}

/// Brings the map to the places where streets are torn, one after the other.
fn torn_streets(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let (walking, places) = (&view.session.walking, &view.session.walking.torn);
    if places.is_empty() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let word = if walking.torn_at.is_some() { "Next torn place" } else { "Show torn streets" };
        if ui.small_button(word).on_hover_text("Marks them on the map and goes to one after the other, the longest first").clicked() {
            actions.push(Action::Walks(WalkAction::ShowTorn));
        }
        let Some((at, place)) = walking.torn_at.and_then(|at| Some((at, places.get(at)?))) else { return };
        if ui.small_button("Hide them").clicked() {
            actions.push(Action::Walks(WalkAction::HideTorn));
        }
        let what =
            place.1.map_or_else(|| "a dead end shorter than 10 m".to_owned(), |metres| format!("{metres:.0} m joined to no other street"));
        notice::quiet(ui, format!("{} of {}: {what}", at + 1, places.len()));
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_near_comes_before_what_was_tried() {
        assert_eq!(
            nearest_first("no answer on 14 July; 9 positive yards, one over the fence"),
            "9 positive yards, one over the fence; no answer on 14 July"
        );
        for as_it_is in ["not visited; larvae seen from outside", "no answer on 14 July", ""] {
            assert_eq!(nearest_first(as_it_is), as_it_is);
        }
    }
}
