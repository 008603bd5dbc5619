//! Call-backs: a strip of days, and the visits that fall on the day chosen.

use super::crews::typed_value;
use crate::action::Action;
use crate::desk::steady_height;
use crate::session::{DueAnswer, DueDay};
use crate::ui::list::List;
use crate::ui::method::how;
use crate::ui::words::{count, day, full_day, number};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Align, Align2, EventFilter, FontId, Key, Layout, Rect, Response, RichText, Sense, Stroke, StrokeKind, Ui, WidgetInfo, vec2};
use jiff::ToSpan as _;
use jiff::civil::{Date, Weekday};
use yardring_core::foresee::{CallBack, DAYS_BETWEEN, Species, Tries, WITHOUT_TEMPERATURES, by_reason};

/// What the step remembers.
#[derive(Clone, Debug, Default)]
pub(super) struct Memory {
    /// The field of the strip that is chosen.
    field: usize,
    /// The day they are seen from, while it is being written.
    day: Option<String>,
}

/// Height of one field of the strip.
const FIELD: f32 = 46.0;
/// Fields in one row of the strip.
const A_ROW: usize = 8;
/// Height of one call-back's two lines.
const ROW: f32 = 44.0;
/// Height of the worksheet that the list leaves to what stands round it: the strip above, and how it is worked out below.
const BESIDES: f32 = 420.0;

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    let Some(found) = view.session.measured.due.latest() else { return ("looking for them".to_owned(), false) };
    if found.list.is_empty() {
        return ("nothing is due".to_owned(), false);
    }
    let overdue = found.days.first().map_or(0, |d| d.rows.len() as u64);
    let soonest = found.list.iter().filter(|c| c.days_left >= 0).filter_map(|c| Some((c.last_safe_day?, c.days_left))).min();
    (closed_line(found.list.len() as u64, overdue, soonest), overdue > 0)
}

/// "112 visits due, 99 overdue; the soonest last safe day is 27 July". `soonest` is that day and how many days are left.
fn closed_line(due: u64, overdue: u64, soonest: Option<(Date, i64)>) -> String {
    let next = match soonest {
        Some((_, 0)) => "; the soonest last safe day is today".to_owned(),
        Some((on, _)) => format!("; the soonest last safe day is {}", day(on)),
        None => String::new(),
    };
    format!("{} due, {} overdue{next}", count(due, "visit"), number(overdue))
}

/// The day they are seen from, the strip and the list.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let Some(found) = view.session.measured.due.latest() else { return };
    let Some(on) = view.session.measured.due.key().map(|k| k.on) else { return };
    seen_from(ui, view, on, memory, actions);
    species(ui, view, actions);
    if found.list.is_empty() {
        ui.label("Nothing was left, promised or missed in this round.");
        return;
    }
    strip(ui, &found.days, memory);
    if found.days.iter().any(urgent) {
        notice::quiet(ui, "A bar on top: overdue, or the last safe day of some of them.");
    }
    let field = found.days.get(memory.field).unwrap_or(&found.days[0]);
    ui.label(RichText::new(title(field, memory.field + 1 == found.days.len())).font(theme::semibold(theme::BODY)));
    notice::quiet(ui, reasons(found, field));
    list(ui, view, (found, on), field, actions);
    let weather = match view.survey().is_some_and(|s| s.temperatures.is_empty()) {
        true => format!("no temperatures in the survey, so {WITHOUT_TEMPERATURES:.0} °C every day"),
        false => "temperatures as measured, the month's mean where they are not, 28 °C in months without any".to_owned(),
    };
    how(
        ui,
        "call-backs",
        format!("{}; {weather}", count(found.list.len() as u64, "visit")),
        &format!(
            "A visit is due when the last one left something: larvae, pupae or water standing, a promise, something turned over that holds \
             water upside down too, a treatment to look after, or a door that did not open; at an untried yard over the fence from a positive \
             one; and, last in the list, where water was only emptied. What was promised for a day is due on that day. First adult: by the \
             oldest stage seen and the temperatures, earliest when it was about to leave that stage, latest when it had just entered it. Last \
             safe day: the last one on which a visit at the same hour comes before the earliest. At least every {DAYS_BETWEEN} days is common \
             practice, sooner where what hatches on the day of the visit flies sooner. Refusals are for the office."
        ),
    );
}

/// The day that counts as today: typed, a day earlier or later, or the one after the round.
fn seen_from(ui: &mut Ui, view: &View<'_>, on: Date, memory: &mut Memory, actions: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        ui.label("Today is");
        let name = "Today, as 2025-07-24";
        let typed = typed_value(ui, name, &mut memory.day, on, |d: Date| d.to_string(), |t| t.trim().parse().ok());
        let mut to = Some(typed).filter(|d| *d != on);
        for (word, days, tip) in [("Earlier", -1, "See them from the day before"), ("Later", 1, "See them from the day after")] {
            if ui.small_button(word).on_hover_text(tip).clicked() {
                to = on.checked_add(days.days()).ok();
            }
        }
        actions.extend(to.map(|day| Action::DueOn(Some(day))));
        if view.session.measured.on.is_some() && ui.small_button("The day after the round").clicked() {
            actions.push(Action::DueOn(None));
        }
    });
    let chosen = if view.session.measured.on.is_some() { "" } else { ", the day after the round" };
    notice::quiet(ui, format!("Seen from {}{chosen}: what was due before it is overdue.", full_day(on)));
}

fn species(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let all = [(Species::Albopictus, "Aedes albopictus"), (Species::Aegypti, "Aedes aegypti")];
    if let Some(species) = notice::choices(ui, view.session.measured.species, &all) {
        actions.push(Action::Grows(species));
    }
}

/// The strip: overdue, then two weeks, in two rows. The arrow keys walk along it.
fn strip(ui: &mut Ui, days: &[DueDay], memory: &mut Memory) {
    memory.field = memory.field.min(days.len().saturating_sub(1));
    let most = days.iter().map(|d| d.rows.len()).max().unwrap_or(1).max(1);
    let width = ((ui.available_width() - theme::NEAR * (A_ROW - 1) as f32) / A_ROW as f32).floor();
    let (mut walked, base) = (None, ui.scope_id());
    for (r, row) in days.chunks(A_ROW).enumerate() {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = theme::NEAR;
            for (k, field) in row.iter().enumerate() {
                let at = r * A_ROW + k;
                let response = one(ui, (width, most), field, memory.field == at, field_id(base, field));
                if response.clicked() {
                    response.request_focus();
                    memory.field = at;
                }
                if response.has_focus() {
                    walked = step(ui, &response, at, days.len()).or(walked);
                    memory.field = at;
                }
            }
        });
    }
    if let Some(at) = walked {
        memory.field = at;
        ui.memory_mut(|m| m.request_focus(field_id(base, &days[at])));
    }
}

fn field_id(base: egui::Id, field: &DueDay) -> egui::Id {
    base.with(("due", field.day.map(|d| d.to_string())))
}

/// The field that an arrow key leads to.
fn step(ui: &Ui, response: &Response, at: usize, all: usize) -> Option<usize> {
    let arrows = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, arrows));
    let by: isize = ui.input(|i| match () {
        () if i.key_pressed(Key::ArrowRight) => 1,
        () if i.key_pressed(Key::ArrowLeft) => -1,
        () if i.key_pressed(Key::ArrowDown) => A_ROW as isize,
        () if i.key_pressed(Key::ArrowUp) => -(A_ROW as isize),
        () => 0,
    });
    at.checked_add_signed(by).filter(|next| by != 0 && *next < all)
}

/// One field of some width: the day, how many visits of `most`, and a bar on top where something can fly after it.
fn one(ui: &mut Ui, (width, most): (f32, usize), field: &DueDay, chosen: bool, id: egui::Id) -> Response {
    let tones = theme::tones(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(width, FIELD), Sense::hover());
    let response = ui.interact(rect, id, Sense::click());
    let n = field.rows.len();
    let urgent = urgent(field);
    let fill = if chosen || response.hovered() { tones.accent_wash } else { tones.field };
    ui.painter().rect(rect, theme::CORNER, fill, Stroke::new(1.0, if chosen { tones.accent } else { tones.line }), StrokeKind::Inside);
    // However few they are, they are seen.
    let height = if n == 0 { 0.0 } else { (7.0 * n as f32 / most as f32).max(1.5) };
    let bar = Rect::from_min_max(rect.left_bottom() + vec2(4.0, -4.0 - height), rect.right_bottom() + vec2(-4.0, -4.0));
    ui.painter().rect_filled(bar, 0, if urgent { tones.warning } else { tones.edge });
    if urgent {
        let top = Rect::from_min_max(rect.left_top() + vec2(4.0, 0.0), rect.right_top() + vec2(-4.0, 3.0));
        ui.painter().rect_filled(top, 0, tones.warning);
    }
    let head = field.day.map_or_else(|| "late".to_owned(), |d| format!("{} {}", letter(d.weekday()), d.day()));
    let small = FontId::proportional(theme::SMALL);
    ui.painter().text(rect.center_top() + vec2(0.0, 3.0), Align2::CENTER_TOP, head, small, tones.quiet);
    let colour = if n == 0 { tones.quiet } else { tones.ink };
    let font = if n == 0 { FontId::proportional(theme::BODY) } else { theme::semibold(theme::BODY) };
    ui.painter().text(rect.center_top() + vec2(0.0, 17.0), Align2::CENTER_TOP, n, font, colour);
    notice::focus_ring(ui, &response);
    let said = said(field);
    response.widget_info(|| WidgetInfo::selected(egui::Role::Button, true, chosen, &said));
    response.on_hover_text(said)
}

/// The first letter: with the day's number it is clear which is meant, and it has room in a narrow field.
fn letter(day: Weekday) -> &'static str {
    match day {
        Weekday::Monday => "M",
        Weekday::Tuesday | Weekday::Thursday => "T",
        Weekday::Wednesday => "W",
        Weekday::Friday => "F",
        Weekday::Saturday | Weekday::Sunday => "S",
    }
}

/// Whether something of a field must not wait longer.
fn urgent(field: &DueDay) -> bool {
    field.last_safe > 0 || (field.day.is_none() && !field.rows.is_empty())
}

fn said(field: &DueDay) -> String {
    let n = count(field.rows.len() as u64, "visit");
    let safe = if field.last_safe > 0 { format!(", {} on the last safe day", number(field.last_safe.into())) } else { String::new() };
    match field.day {
        None => format!("Overdue: {n}"),
        Some(d) => format!("{}: {n} due{safe}", day(d)),
    }
}

fn title(field: &DueDay, last: bool) -> String {
    let n = count(field.rows.len() as u64, "visit");
    match field.day {
        None => format!("Overdue: {n}"),
        Some(d) if last => format!("{} or later: {n}", day(d)),
        Some(d) => format!("Due by {}: {n}", day(d)),
    }
}

fn list(ui: &mut Ui, view: &View<'_>, (found, on): (&DueAnswer, Date), field: &DueDay, actions: &mut Vec<Action>) {
    let call = |i: usize| field.rows.get(i).and_then(|r| found.list.get(*r as usize));
    let chosen = view.session.chosen.and_then(|p| (0..field.rows.len().min(2000)).find(|i| call(*i).is_some_and(|c| c.premise == p)));
    let list = List {
        name: "due",
        rows: field.rows.len(),
        row_height: ROW,
        height: steady_height(ui, BESIDES),
        chosen,
        glowing: None,
        reveal: false,
        firm: true,
    };
    let events = list.show(ui, |ui, i| call(i).map_or_else(String::new, |c| row(ui, view, c, on)));
    if let Some(c) = events.hovered.and_then(call) {
        actions.push(Action::Hover(Some(c.premise)));
    }
    if let Some(c) = events.chosen.and_then(call) {
        actions.push(Action::ShowPremise(c.premise));
    }
}

/// How many visits of a field each reason has: "Overdue"'s long list begins with the most pressing.
fn reasons(found: &DueAnswer, field: &DueDay) -> String {
    let rows = by_reason(field.rows.iter().filter_map(|r| found.list.get(*r as usize)));
    rows.iter().map(|(reason, n)| format!("{} {}", number(*n as u64), reason.word())).collect::<Vec<_>>().join(" · ")
}

/// Why a visit is due; what was promised, or else when a door that stayed shut was tried and when it was not.
fn why(view: &View<'_>, c: &CallBack, on: Date) -> String {
    let tries = view.survey().map(|s| Tries::of(s, c.premise, on)).unwrap_or_default();
    let door = match (c.promised, tries.words()) {
        (Some(_), _) => c.promise_words(),
        (None, tried) if tried.is_empty() => tried,
        (None, tried) => format!("tried {tried}; try {}", tries.next_words(on)),
    };
    [c.reason.word().to_owned(), door].into_iter().filter(|w| !w.is_empty()).collect::<Vec<_>>().join(", ")
}

/// Two lines for one call-back: the address and the last safe day, then why.
fn row(ui: &mut Ui, view: &View<'_>, c: &CallBack, on: Date) -> String {
    let tones = theme::tones(ui);
    let name = view.name_of(c.premise);
    let safe = c.last_safe_day.map(|d| format!("safe until {}", day(d)));
    let why = why(view, c, on);
    ui.vertical(|ui| {
        ui.spacing_mut().interact_size.y = 16.0;
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                if let Some(safe) = &safe {
                    ui.label(RichText::new(safe).size(theme::SMALL).color(tones.warning));
                }
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    ui.add(egui::Label::new(RichText::new(name).color(tones.ink)).truncate());
                });
            });
        });
        let line = ui.add(egui::Label::new(RichText::new(&why).size(theme::SMALL).color(tones.quiet)).truncate());
        if let Some(adult) = c.adult {
            line.on_hover_text(format!("First adult {}", adult.words()));
        }
    });
    let adult = c.adult.map_or_else(String::new, |a| format!(", {}", a.words()));
    format!("{name}: {why}{adult}, {}", safe.unwrap_or_else(|| format!("due {}", day(c.due))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn the_closed_line_names_the_soonest_last_safe_day() {
        let said = |soonest| closed_line(112, 99, soonest);
        assert_eq!(said(Some((date(2025, 7, 27), 3))), "112 visits due, 99 overdue; the soonest last safe day is 27 July");
        assert_eq!(said(Some((date(2025, 7, 24), 0))), "112 visits due, 99 overdue; the soonest last safe day is today");
        assert_eq!(said(None), "112 visits due, 99 overdue");
    }
}
