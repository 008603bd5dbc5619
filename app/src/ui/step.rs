//! A numbered step of a worksheet: closed it answers in one line, open it holds controls and a list.

use super::theme;
use egui::{Align2, Color32, FontId, Response, Sense, Stroke, Ui, vec2};
use std::collections::BTreeSet;

/// Room for the title of a step, in points.
const TITLES: f32 = 98.0;

/// Which steps of a worksheet are open: one, and those that were pinned.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OpenSteps {
    open: Option<u8>,
    pinned: BTreeSet<u8>,
    /// Opened since it was drawn last: it comes into view.
    fresh: Option<u8>,
}

impl OpenSteps {
    /// With one step open.
    pub fn at(step: u8) -> Self {
        Self { open: Some(step), ..Self::default() }
    }

    /// Whether a step is open.
    pub fn shows(&self, step: u8) -> bool {
        self.open == Some(step) || self.pinned.contains(&step)
    }

    /// Opens a step and closes the others that are not pinned.
    pub fn open(&mut self, step: u8) {
        if !self.shows(step) {
            self.fresh = Some(step);
        }
        self.open = Some(step);
    }

    /// Opens a closed step, closes an open one (and takes its pin out).
    pub fn toggle(&mut self, step: u8) {
        if self.shows(step) {
            self.pinned.remove(&step);
            self.open = self.open.filter(|o| *o != step);
        } else {
            self.open(step);
        }
    }

    /// Keeps a step open while others are opened, or lets it go again.
    pub fn toggle_pin(&mut self, step: u8) {
        if !self.pinned.remove(&step) {
            self.pinned.insert(step);
        }
    }

    fn is_pinned(&self, step: u8) -> bool {
        self.pinned.contains(&step)
    }
}

/// One step: its number, its name, and its answer in a few words and numbers.
#[derive(Clone, Debug)]
pub struct Step<'a> {
    /// Its number on the worksheet, from 1.
    pub number: u8,
    /// Its name.
    pub title: &'a str,
    /// The closed line's answer.
    pub answer: String,
    /// Somebody is needed here.
    pub calls: bool,
}

impl Step<'_> {
    /// Draws the line and, when it is open, what it holds.
    pub fn show(self, ui: &mut Ui, steps: &mut OpenSteps, body: impl FnOnce(&mut Ui)) {
        let open = steps.shows(self.number);
        let line = self.line(ui, open);
        if line.clicked() {
            steps.toggle(self.number);
        }
        if open {
            ui.indent(("step", self.number), |ui| {
                ui.add_space(theme::NEAR);
                body(ui);
                ui.add_space(theme::NEAR);
                pin(ui, self.title, self.number, steps);
            });
            if steps.fresh.take_if(|fresh| *fresh == self.number).is_some() {
                let whole = egui::Rect::from_min_max(line.rect.min, egui::pos2(line.rect.right(), ui.min_rect().bottom()));
                // Its head is seen even where there is no room for all of it. At once: what moves under the pointer is pressed by mistake.
                let align = (whole.height() > ui.clip_rect().height()).then_some(egui::Align::TOP);
                ui.scroll_to_rect_animation(whole, align, egui::style::ScrollAnimation::none());
            }
        }
        ui.add_space(theme::APART);
        let rect = ui.available_rect_before_wrap();
        ui.painter().hline(rect.x_range(), rect.top(), Stroke::new(1.0, theme::tones(ui).line));
        ui.add_space(theme::INSIDE);
    }

    fn line(&self, ui: &mut Ui, open: bool) -> Response {
        let tones = theme::tones(ui);
        let from = 28.0;
        let title = ui.painter().layout_no_wrap(self.title.to_owned(), theme::semibold(theme::BODY), tones.ink);
        // All answers of a worksheet begin below one another, after the longest title.
        let title_width = (title.size().x + theme::APART).max(TITLES);
        let answer_colour = if self.calls { tones.accent } else { tones.quiet };
        let answer_font = if self.calls { theme::semibold(theme::BODY) } else { FontId::proportional(theme::BODY) };
        let width = ui.available_width();
        let answer = ui.painter().layout(
            super::words::unbroken(&self.answer),
            answer_font,
            answer_colour,
            width - from - title_width - theme::INSIDE,
        );
        let height = (answer.size().y + theme::APART).max(32.0);
        let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::click());
        response.widget_info(|| {
            let label = format!("{} {}: {}", self.number, self.title, self.answer);
            egui::WidgetInfo::selected(egui::Role::Button, ui.is_enabled(), open, label)
        });
        let wash = if response.hovered() || response.has_focus() { tones.accent_wash } else { Color32::TRANSPARENT };
        let painter = ui.painter();
        painter.rect_filled(rect.expand2(vec2(theme::NEAR, 0.0)), theme::CORNER, wash);
        super::notice::focus_ring(ui, &response);
        let middle = rect.top() + 16.0;
        let disc = egui::pos2(rect.left() + 10.0, middle);
        let (fill, figure) = if open { (tones.accent, tones.on_accent) } else { (Color32::TRANSPARENT, tones.accent) };
        painter.circle(disc, 10.0, fill, Stroke::new(1.0, tones.accent));
        painter.text(disc, Align2::CENTER_CENTER, self.number, theme::semibold(theme::SMALL), figure);
        let name = egui::pos2(rect.left() + from, middle);
        painter.galley(name - vec2(0.0, title.size().y / 2.0), title, tones.ink);
        let first_line = answer.rows.first().map_or(0.0, |r| r.rect().height());
        painter.galley(egui::pos2(rect.left() + from + title_width, middle - first_line / 2.0), answer, answer_colour);
        response
    }
}

fn pin(ui: &mut Ui, title: &str, number: u8, steps: &mut OpenSteps) {
    let (word, tip) = match steps.is_pinned(number) {
        true => ("Pinned open", "Let this step close when another is opened"),
        false => ("Pin open", "Keep this step open when another is opened"),
    };
    let link = ui.link(egui::RichText::new(word).small()).on_hover_text(tip);
    link.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, format!("{word}: {title}")));
    if link.clicked() {
        steps.toggle_pin(number);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_step_is_open_unless_another_is_pinned() {
        let mut steps = OpenSteps::at(1);
        steps.toggle(2);
        assert_eq!((steps.shows(1), steps.shows(2), steps.fresh), (false, true, Some(2)));
        steps.toggle_pin(2);
        steps.toggle(3);
        assert_eq!((steps.shows(2), steps.shows(3)), (true, true));
        steps.toggle(2);
        assert!(!steps.shows(2));
    }
}
