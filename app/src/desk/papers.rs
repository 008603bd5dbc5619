//! Buttons for files to take away, with what became of the last one.

use super::householders;
use crate::action::Action;
use crate::jobs::{JobKind, Paper, Wanted};
use crate::session::{MapPaper, Place};
use crate::ui::{notice, waiting};
use crate::view::View;
use egui::Ui;
use yardring_core::brief::MapSize;

/// A button for each paper; greyed while `ready` says that there is nothing to write.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, papers: &[(Paper, bool)], actions: &mut Vec<Action>) {
    if papers.iter().any(|p| p.0 == Paper::Map) {
        map_paper(ui, view, actions);
    }
    if papers.iter().any(|p| p.0 == Paper::Notices) {
        householders::show(ui, view, actions);
    }
    ui.horizontal_wrapped(|ui| {
        for (paper, ready) in papers {
            let button = ui.add_enabled(*ready, egui::Button::new(paper.label()));
            if button.on_disabled_hover_text("What it would hold is still being worked out").clicked() {
                actions.push(Action::Ask(Wanted::Paper(*paper)));
            }
        }
    });
    if let Some(progress) = view.progress(JobKind::Paper)
        && waiting::waiting(ui, &progress)
    {
        actions.push(Action::Cancel(JobKind::Paper));
    }
    for (paper, _) in papers {
        if let Some(trouble) = view.session.trouble_at(Place::Paper(*paper)) {
            notice::trouble(ui, trouble);
        }
        if let Some((_, path)) = view.session.written.as_ref().filter(|(written, _)| written == paper) {
            notice::quiet(ui, format!("Written to {}", path.display()));
        }
    }
}

/// What of the map is written, and how large.
fn map_paper(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let now = view.session.map_paper;
    ui.label("Save the map of");
    let parts = [(false, "the whole district"), (true, "what the window shows")];
    if let Some(as_shown) = notice::choices(ui, now.as_shown, &parts) {
        actions.push(Action::MapPaper(MapPaper { as_shown, ..now }));
    }
    let sizes = [(MapPaper::PICTURE, "a picture, 1600 × 1200"), (MapSize::A4, "A4"), (MapSize::A3, "A3")];
    if let Some(size) = notice::choices(ui, now.size, &sizes) {
        actions.push(Action::MapPaper(MapPaper { size, ..now }));
    }
}
