//! What lies on the desk when no survey is open.

use crate::action::Action;
use crate::jobs::{JobKind, Wanted};
use crate::session::Place;
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{RichText, Ui};
use std::path::PathBuf;

/// Draws the first steps in the middle of the map's place.
pub fn show(ui: &mut Ui, view: &View<'_>, recent: &[PathBuf], actions: &mut Vec<Action>) {
    let width = 420.0_f32.min(ui.available_width() - 2.0 * theme::STEP);
    let top = (ui.available_height() / 2.0 - 160.0).max(theme::STEP);
    ui.vertical_centered(|ui| {
        ui.add_space(top);
        ui.allocate_ui_with_layout(egui::vec2(width, 0.0), egui::Layout::top_down(egui::Align::Min), |ui| {
            ui.label(RichText::new("No survey is open").font(theme::semibold(theme::TITLE)));
            ui.label("A survey is one file with everything about a district's work: its parcels, its visits, what was found.");
            ui.add_space(theme::INSIDE);
            if let Some(progress) = view.progress(JobKind::Open) {
                if waiting::waiting(ui, &progress) {
                    actions.push(Action::Cancel(JobKind::Open));
                }
                return;
            }
            buttons(ui, actions);
            if let Some(trouble) = view.session.trouble_at(Place::File) {
                ui.add_space(theme::INSIDE);
                notice::trouble(ui, trouble);
            }
            latest(ui, recent, actions);
        });
    });
}

fn buttons(ui: &mut Ui, actions: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        if notice::main_button(ui, "Choose files to start one").clicked() {
            actions.push(Action::Ask(Wanted::Files));
        }
        if ui.add(egui::Button::new("Open a survey").min_size(egui::vec2(0.0, 32.0))).clicked() {
            actions.push(Action::Ask(Wanted::Survey));
        }
    });
    if ui.link("Or look round in an invented district first").clicked() {
        actions.push(Action::OpenSample);
    }
    notice::quiet(ui, "You can also drop the county's parcels and your visit sheets on this window.");
}

fn latest(ui: &mut Ui, recent: &[PathBuf], actions: &mut Vec<Action>) {
    if recent.is_empty() {
        return;
    }
    ui.add_space(theme::INSIDE);
    ui.label(RichText::new("Opened lately").font(theme::semibold(theme::BODY)));
    for path in recent {
        let name = path.file_stem().map_or_else(|| path.display().to_string(), |s| s.to_string_lossy().into_owned());
        if ui.link(name).on_hover_text(path.display().to_string()).clicked() {
            actions.push(Action::Open(path.clone()));
        }
    }
}
