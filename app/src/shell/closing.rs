//! Before the window closes or another survey takes the desk: what is not saved is named.

use crate::action::Action;
use crate::session::{Leaving, Open};
use crate::ui::words::{change, day};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Modal, Ui};
use yardring_core::store::planned_day;

/// Asks, when something would be lost.
pub fn show(ui: &Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let asked_before = egui::Id::unique("asked before closing");
    let Some(leaving) = &view.session.leaving else {
        ui.data_mut(|d| d.remove::<bool>(asked_before));
        return;
    };
    // The keyboard begins at the button that loses nothing.
    let first = ui.data_mut(|d| !std::mem::replace(d.get_temp_mut_or_default::<bool>(asked_before), true));
    let (without, stay) = match leaving {
        Leaving::Close => ("Close without saving", "Stay"),
        Leaving::Open(_) => ("Open the other without saving", "Stay with this one"),
    };
    let name = view.open().map(Open::name).unwrap_or_default();
    let asked = Modal::new(egui::Id::unique("closing")).show(ui.ctx(), |ui| {
        ui.set_width(theme::WORKSHEET - 40.0);
        ui.heading(format!("Save the changes to {name}?"));
        ui.label(view.open().map(only_here).unwrap_or_default());
        ui.add_space(theme::INSIDE);
        ui.horizontal_wrapped(|ui| {
            let save = notice::main_button(ui, "Save");
            if first {
                save.request_focus();
            }
            if save.clicked() {
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

/// What would be lost, by name.
fn only_here(open: &Open) -> String {
    if open.path.is_none() {
        return "This survey has no file yet: everything in it is only in this window.".to_owned();
    }
    let changes: Vec<String> = open.history.unsaved_words().into_iter().map(|(words, times)| named(open, &words, times)).collect();
    match changes.is_empty() {
        true => "The survey in this window is not the one in its file.".to_owned(),
        false => format!("Only in this window: {}.", changes.join("; ")),
    }
}

/// One kind of change, with the day of the walks and how often it was made.
fn named(open: &Open, words: &str, times: usize) -> String {
    let of = planned_day(&open.survey).filter(|_| words.contains("walks")).map_or_else(String::new, |d| format!(" ({})", day(d.on)));
    change(words, &of, times)
}
