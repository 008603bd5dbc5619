//! Before the window closes or another survey takes the desk: what is not saved is named.

use crate::action::Action;
use crate::session::Leaving;
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Modal, Ui};

/// Asks, when something would be lost.
pub fn show(ui: &Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let Some(leaving) = &view.session.leaving else { return };
    let (without, stay) = match leaving {
        Leaving::Close => ("Close without saving", "Stay"),
        Leaving::Open(_) => ("Open the other without saving", "Stay with this one"),
    };
    let name = view.open().map(crate::session::Open::name).unwrap_or_default();
    let asked = Modal::new(egui::Id::unique("closing")).show(ui.ctx(), |ui| {
        ui.set_width(theme::WORKSHEET - 40.0);
        ui.heading(format!("Save the changes to {name}?"));
        ui.label("What was brought in since the last save is only in this window.");
        ui.add_space(theme::INSIDE);
        ui.horizontal_wrapped(|ui| {
            if notice::main_button(ui, "Save").clicked() {
                actions.extend([Action::StayOpen, Action::Save]);
            }
            if ui.button(without).clicked() {
                actions.push(Action::CloseAnyway);
            }
            if ui.button(stay).clicked() {
                actions.push(Action::StayOpen);
            }
        });
    });
    if asked.should_close() {
        actions.push(Action::StayOpen);
    }
}
