//! Buttons for files to take away, with what became of the last one.

use crate::action::Action;
use crate::jobs::{JobKind, Paper, Wanted};
use crate::session::Place;
use crate::ui::{notice, waiting};
use crate::view::View;
use egui::Ui;

/// A button for each paper; greyed while `ready` says that there is nothing to write.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, papers: &[(Paper, bool)], actions: &mut Vec<Action>) {
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
