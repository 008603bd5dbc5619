//! The time strip: visits by day, and the rounds they belong to.

use crate::action::Action;
use crate::session::RoundPicture;
use crate::ui::{theme, words};
use crate::view::View;
use egui::{Align2, FontId, Pos2, Rect, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};
use jiff::civil::Date;
use yardring_core::survey::{Round, RoundId};

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
    let scale = Scale { rect: rect.shrink2(vec2(theme::INSIDE, 0.0)), first: first.0, days: days_between(first.0, last.0) + 1 };
    for (i, round) in open.survey.rounds.iter().enumerate() {
        let id = RoundId(i as u32);
        band(ui, &scale, round, open.round == Some(id), id, actions);
    }
    bars(ui, &scale, picture);
    ui.painter().hline(scale.rect.x_range(), scale.ground(), Stroke::new(1.0, tones.edge));
    pointed_day(ui, &scale, picture);
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
        self.rect.bottom() - 4.0
    }
}

fn days_between(first: Date, last: Date) -> i32 {
    first.until(last).map_or(0, |span| span.get_days())
}

/// One round: its name over its days, to be clicked.
fn band(ui: &Ui, scale: &Scale, round: &Round, chosen: bool, id: RoundId, actions: &mut Vec<Action>) {
    let tones = theme::tones(ui);
    let (from, to) = (scale.x(round.first), scale.x(round.last) + scale.day_width());
    let rect = Rect::from_min_max(pos2(from, scale.rect.top()), pos2(to, scale.ground()));
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

/// Visits of each day as a bar, those inside the yard as its dark part.
fn bars(ui: &Ui, scale: &Scale, picture: &RoundPicture) {
    let tones = theme::tones(ui);
    let most = picture.days.iter().map(|d| d.1).max().unwrap_or(1).max(1);
    let room = (scale.rect.height() - 26.0).max(8.0);
    let width = (scale.day_width() - 2.0).clamp(1.0, 28.0);
    for &(day, visits, inspected) in &picture.days {
        let middle = scale.x(day) + scale.day_width() / 2.0;
        let bar = |n: u32| {
            let height = room * n as f32 / most as f32;
            Rect::from_min_max(pos2(middle - width / 2.0, scale.ground() - height), pos2(middle + width / 2.0, scale.ground()))
        };
        ui.painter().rect(bar(visits), 0, tones.field, Stroke::new(1.0, tones.edge), egui::StrokeKind::Inside);
        ui.painter().rect_filled(bar(inspected), 0, tones.edge);
    }
}

fn pointed_day(ui: &Ui, scale: &Scale, picture: &RoundPicture) {
    let tones = theme::tones(ui);
    let Some(at) = ui.input(|i| i.pointer.hover_pos()).filter(|p: &Pos2| scale.rect.contains(*p)) else { return };
    let nearest = picture.days.iter().min_by_key(|d| (scale.x(d.0) + scale.day_width() / 2.0 - at.x).abs() as i64);
    let Some((day, visits, inspected)) = nearest else { return };
    let text = format!("{}: {}, {} inside", words::day(*day), words::count((*visits).into(), "visit"), words::number((*inspected).into()));
    let galley = ui.painter().layout_no_wrap(text, FontId::proportional(theme::SMALL), tones.ink);
    let right = scale.rect.right_top() + vec2(-galley.size().x - 8.0, 2.0);
    ui.painter().rect_filled(Rect::from_min_size(right, galley.size()).expand2(vec2(6.0, 1.0)), theme::CORNER, tones.sheet);
    ui.painter().galley(right, galley, tones.ink);
}

fn said(ui: &Ui, rect: Rect, text: &str) {
    let at = rect.left_center() + vec2(theme::INSIDE, 0.0);
    ui.painter().text(at, Align2::LEFT_CENTER, text, FontId::proportional(theme::SMALL), theme::tones(ui).quiet);
}
