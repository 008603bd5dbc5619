//! Before the window closes: what is not saved is named.

use crate::action::Action;
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Modal, Ui};

/// Asks, when the window was asked to close and something would be lost.
pub fn show(ui: &Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    if !view.session.frame.closing {
        return;
    }
    let name = view.open().map(crate::session::Open::name).unwrap_or_default();
    let asked = Modal::new(egui::Id::unique("closing")).show(ui.ctx(), |ui| {
        ui.set_width(theme::WORKSHEET - 40.0);
        ui.heading(format!("Save the changes to {name}?"));
        ui.label("What was brought in since the last save is only in this window.");
        ui.add_space(theme::INSIDE);
        ui.horizontal(|ui| {
            if notice::main_button(ui, "Save").clicked() {
                actions.extend([Action::StayOpen, Action::Save]);
            }
            if ui.button("Close without saving").clicked() {
                actions.push(Action::CloseAnyway);
            }
            if ui.button("Stay").clicked() {
                actions.push(Action::StayOpen);
            }
        });
    });
    if asked.should_close() {
        actions.push(Action::StayOpen);
    }
}
