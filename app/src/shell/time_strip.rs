//! The time strip: visits by day, and the rounds they belong to.

use crate::action::Action;
use crate::session::RoundPicture;
use crate::ui::{theme, words};
use crate::view::View;
use egui::{Align2, FontId, Rect, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};
use jiff::civil::Date;
use yardring_core::survey::{Round, RoundId};

/// Width of what explains the bars, at the right end.
const KEY: f32 = 132.0;
/// Height of the days of the month under the bars.
const DAYS: f32 = 16.0;

/// Draws the strip.
pub fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let (rect, _) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    let tones = theme::tones(ui);
    let (Some(open), Some(picture)) = (view.open(), view.round()) else {
        said(ui, rect, "The days of the visits will be here.");
        return;
    };
    let (Some(first), Some(last)) = (picture.days.first(), picture.days.last()) else {
        said(ui, rect, "No visits yet: bring in a visits table at the Intake desk.");
        return;
    };
    let (days, key) = rect.shrink2(vec2(theme::INSIDE, 0.0)).split_left_right_at_x(rect.right() - theme::INSIDE - KEY);
    let scale = Scale { rect: days, first: first.0, days: days_between(first.0, last.0) + 1 };
    for (i, round) in open.survey.rounds.iter().enumerate() {
        let id = RoundId(i as u32);
        band(ui, &scale, round, open.round == Some(id), id, actions);
    }
    bars(ui, &scale, picture);
    ui.painter().hline(scale.rect.x_range(), scale.ground(), Stroke::new(1.0, tones.edge));
    explain(ui, key, picture);
}

/// Where days lie on the strip.
struct Scale {
    rect: Rect,
    first: Date,
    days: i32,
}

impl Scale {
    fn x(&self, day: Date) -> f32 {
        self.rect.left() + self.rect.width() * days_between(self.first, day) as f32 / self.days as f32
    }

    fn day_width(&self) -> f32 {
        self.rect.width() / self.days as f32
    }

    fn ground(&self) -> f32 {
        self.rect.bottom() - DAYS
    }
}

fn days_between(first: Date, last: Date) -> i32 {
    first.until(last).map_or(0, |span| span.get_days())
}

/// One round: its name over its days, to be clicked.
fn band(ui: &Ui, scale: &Scale, round: &Round, chosen: bool, id: RoundId, actions: &mut Vec<Action>) {
    let tones = theme::tones(ui);
    let (from, to) = (scale.x(round.first), scale.x(round.last) + scale.day_width());
    let rect = Rect::from_min_max(pos2(from, scale.rect.top()), pos2(to, scale.rect.bottom() - 1.0));
    let response = ui.interact(rect, ui.scope_id().with(("round", id.0)), Sense::click());
    let days = words::days(round.first, round.last);
    let label = format!("{}, {days}", round.name);
    response.widget_info(|| WidgetInfo::selected(egui::Role::Button, true, chosen, &label));
    let wash = if chosen || response.hovered() || response.has_focus() { tones.accent_wash } else { tones.sheet };
    ui.painter().rect_filled(rect.shrink2(vec2(1.0, 2.0)), theme::CORNER, wash);
    let font = if chosen { theme::semibold(theme::SMALL) } else { FontId::proportional(theme::SMALL) };
    let colour = if chosen { tones.accent } else { tones.quiet };
    let name = ui.painter().layout_no_wrap(format!("{} · {days}", round.name), font.clone(), colour);
    let name = if name.size().x + 12.0 > rect.width() { ui.painter().layout_no_wrap(round.name.to_string(), font, colour) } else { name };
    ui.painter().with_clip_rect(rect).galley(rect.left_top() + vec2(6.0, 3.0), name, colour);
    if response.clicked() {
        actions.push(Action::Round(id));
    }
}

/// Visits of each day as a bar, those inside the yard as its dark part, over the day of the month.
fn bars(ui: &Ui, scale: &Scale, picture: &RoundPicture) {
    let tones = theme::tones(ui);
    let most = most_visits(picture);
    let room = (scale.ground() - scale.rect.top() - 22.0).max(8.0);
    let width = (scale.day_width() - 2.0).clamp(1.0, 28.0);
    let mut free_from = f32::NEG_INFINITY;
    for &(day, visits, inspected) in &picture.days {
        let middle = scale.x(day) + scale.day_width() / 2.0;
        let bar = |n: u32| {
            let height = room * n as f32 / most as f32;
            Rect::from_min_max(pos2(middle - width / 2.0, scale.ground() - height), pos2(middle + width / 2.0, scale.ground()))
        };
        ui.painter().rect(bar(visits), 0, tones.field, Stroke::new(1.0, tones.edge), egui::StrokeKind::Inside);
        ui.painter().rect_filled(bar(inspected), 0, tones.edge);
        if middle - 9.0 >= free_from {
            let under = pos2(middle, scale.ground() + 1.0);
            ui.painter().text(under, Align2::CENTER_TOP, day.day(), FontId::proportional(theme::SMALL), tones.quiet);
            free_from = middle + 9.0;
        }
        let column = Rect::from_x_y_ranges(middle - width / 2.0..=middle + width / 2.0, scale.rect.top()..=scale.rect.bottom());
        told(ui, column, day, visits, inspected);
    }
}

/// What a day's bar says to the pointer: "22 July: 341 visits, 262 inspected".
fn told(ui: &Ui, column: Rect, day: Date, visits: u32, inspected: u32) {
    let response = ui.interact(column, ui.scope_id().with(("day", day.to_string())), Sense::hover());
    let text = format!("{}: {}, {} inspected", words::day(day), words::count(visits.into(), "visit"), words::number(inspected.into()));
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Label, true, &text));
    response.on_hover_text_at_pointer(text);
}

fn most_visits(picture: &RoundPicture) -> u32 {
    picture.days.iter().map(|d| d.1).max().unwrap_or(1).max(1)
}

/// What the two parts of a bar mean, and how many visits the tallest stands for.
fn explain(ui: &Ui, rect: Rect, picture: &RoundPicture) {
    let tones = theme::tones(ui);
    let font = FontId::proportional(theme::SMALL);
    let left = rect.left() + theme::INSIDE;
    let line = |i: usize| rect.top() + 11.0 + 18.0 * i as f32;
    for (i, (fill, word)) in [(tones.field, "not inspected"), (tones.edge, "inspected")].into_iter().enumerate() {
        let sample = Rect::from_center_size(pos2(left + 6.0, line(i)), vec2(12.0, 10.0));
        ui.painter().rect(sample, 0, fill, Stroke::new(1.0, tones.edge), egui::StrokeKind::Inside);
        ui.painter().text(pos2(left + 20.0, line(i)), Align2::LEFT_CENTER, word, font.clone(), tones.quiet);
    }
    let most = format!("tallest: {}", words::count(most_visits(picture).into(), "visit"));
    ui.painter().text(pos2(left, line(2)), Align2::LEFT_CENTER, most, font, tones.quiet);
}

fn said(ui: &Ui, rect: Rect, text: &str) {
    let at = rect.left_center() + vec2(theme::INSIDE, 0.0);
    ui.painter().text(at, Align2::LEFT_CENTER, text, FontId::proportional(theme::SMALL), theme::tones(ui).quiet);
}
