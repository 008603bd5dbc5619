//! Sentences that stand in the step they belong to: what went wrong, what to mind, what to do first.

use super::theme;
use egui::{Frame, Margin, RichText, Stroke, Ui};

/// What went wrong, where, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// What and where.
    pub what: String,
    /// What to do; may be empty.
    pub hint: String,
}

impl<E: yardring_core::error::Hint> From<E> for Trouble {
    fn from(error: E) -> Self {
        Self { what: error.to_string(), hint: error.in_window() }
    }
}

/// A trouble in words, with a bar at its side so that it reads without colour.
pub fn trouble(ui: &mut Ui, trouble: &Trouble) {
    let tones = theme::tones(ui);
    let frame = Frame::new().fill(tones.warning_wash).corner_radius(theme::CORNER).inner_margin(Margin::same(theme::INSIDE as i8));
    let drawn = frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(
            RichText::new(super::words::unbroken(&super::words::sentence(&trouble.what)))
                .color(tones.ink)
                .font(theme::semibold(theme::BODY)),
        );
        if !trouble.hint.is_empty() {
            ui.label(RichText::new(super::words::sentence(&trouble.hint)).color(tones.ink));
        }
    });
    let rect = drawn.response.rect;
    ui.painter().vline(rect.left() + 1.5, rect.y_range(), Stroke::new(3.0, tones.warning));
}

/// A quiet line: a caution, an explanation.
pub fn quiet(ui: &mut Ui, text: impl Into<String>) {
    let colour = theme::tones(ui).quiet;
    words(ui, text, |text| RichText::new(text).size(theme::SMALL).color(colour));
}

/// A line of words and numbers.
pub fn say(ui: &mut Ui, text: impl Into<String>) {
    words(ui, text, RichText::new);
}

/// A line for deadlines and losses.
pub fn warn(ui: &mut Ui, text: impl Into<String>) {
    let colour = theme::tones(ui).warning;
    words(ui, text, |text| RichText::new(text).color(colour));
}

/// Words in which no line ends between a number and its unit. Whoever hears the screen hears them as they were written.
fn words(ui: &mut Ui, text: impl Into<String>, rich: impl Fn(String) -> RichText) {
    let text = text.into();
    let drawn = ui.label(rich(super::words::unbroken(&text)));
    drawn.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &text));
}

/// A number to type or to drag, on a line to be filled in: it looks like no button.
pub fn fill_in(ui: &mut Ui, number: egui::DragValue<'_>) -> egui::Response {
    let edge = theme::tones(ui).edge;
    let drawn = ui.scope(|ui| {
        let widgets = &mut ui.visuals_mut().widgets;
        widgets.inactive.bg_stroke = Stroke::NONE;
        widgets.inactive.weak_bg_fill = egui::Color32::TRANSPARENT;
        ui.add(number)
    });
    let rect = drawn.inner.rect;
    ui.painter().hline(rect.x_range(), rect.bottom() - 2.0, Stroke::new(1.0, edge));
    drawn.inner
}

/// The one button that a step is about.
pub fn main_button(ui: &mut Ui, label: &str) -> egui::Response {
    let tones = theme::tones(ui);
    let text = RichText::new(label).color(tones.on_accent).font(theme::semibold(theme::BODY));
    let button = egui::Button::new(text).fill(tones.accent).stroke(Stroke::new(1.0, tones.accent)).min_size(egui::vec2(0.0, 32.0));
    let response = ui.add(button);
    focus_ring(ui, &response);
    response
}

/// A ring round what has the keyboard, where its own edge would not tell.
pub fn focus_ring(ui: &Ui, response: &egui::Response) {
    if response.has_focus() {
        let stroke = Stroke::new(1.5, theme::tones(ui).accent);
        ui.painter().rect_stroke(response.rect.expand(2.5), theme::CORNER + 2, stroke, egui::StrokeKind::Middle);
    }
}

/// Several choices side by side, one of them taken; gives the one clicked.
pub fn choices<T: Copy + PartialEq>(ui: &mut Ui, taken: T, all: &[(T, &str)]) -> Option<T> {
    let mut clicked = None;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = theme::NEAR;
        ui.spacing_mut().button_padding.x = 6.0;
        for (value, word) in all {
            if choice(ui, taken == *value, word).clicked() {
                clicked = Some(*value);
            }
        }
    });
    clicked
}

/// One of several choices.
pub fn choice(ui: &mut Ui, taken: bool, word: &str) -> egui::Response {
    let tones = theme::tones(ui);
    let (fill, colour, edge) = if taken { (tones.accent, tones.on_accent, tones.accent) } else { (tones.field, tones.ink, tones.edge) };
    let button = egui::Button::new(RichText::new(word).color(colour)).fill(fill).stroke(Stroke::new(1.0, edge));
    let response = ui.add(button);
    focus_ring(ui, &response);
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::RadioButton, ui.is_enabled(), taken, word));
    response
}

/// Rows of a word and its number, the number to the right and firm.
pub fn numbers(ui: &mut Ui, name: &str, rows: &[(&str, String)]) {
    let (ink, width) = (theme::tones(ui).ink, ui.available_width());
    ui.scope(|ui| {
        ui.spacing_mut().interact_size.y = 20.0;
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.push_id(name, |ui| {
            for (word, value) in rows {
                ui.horizontal(|ui| {
                    ui.set_width(width);
                    ui.label(*word);
                    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                        ui.label(RichText::new(value).font(theme::semibold(theme::BODY)).color(ink));
                    });
                });
            }
        });
    });
}
