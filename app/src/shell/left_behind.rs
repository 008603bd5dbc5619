//! What an earlier window left behind that was not saved: a line that waits, and asks nothing.

use crate::action::Action;
use crate::jobs::JobKind;
use crate::session::{Offer, UnsavedAction};
use crate::ui::words::{self, ago, count};
use crate::ui::{notice, waiting};
use crate::view::View;
use egui::Ui;
use std::time::{SystemTime, UNIX_EPOCH};

/// Draws a line for each; nothing where nothing was left behind.
pub fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let unsaved = &view.session.unsaved;
    for (i, offer) in unsaved.offers.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            notice::say(ui, told(view, offer));
            buttons(ui, view, (i, offer), actions);
        });
    }
    if unsaved.elsewhere > 0 {
        let windows = count(unsaved.elsewhere as u64, "other window");
        notice::quiet(ui, format!("{windows} had changes of this survey that were not saved when it was opened here."));
    }
    if let Some(progress) = view.progress(JobKind::LeftBehind)
        && waiting::waiting(ui, &progress)
    {
        actions.push(Action::Cancel(JobKind::LeftBehind));
    }
}

fn buttons(ui: &mut Ui, view: &View<'_>, (i, offer): (usize, &Offer), actions: &mut Vec<Action>) {
    let open = view.open();
    let stamp = open.map(|o| o.stamp).unwrap_or_default();
    let mut push = |action| actions.push(Action::Unsaved(action));
    if offer.left_out {
        if ui.button("Offer them again").clicked() {
            push(UnsavedAction::OfferAgain(i));
        }
        return;
    }
    if offer.found.fits(stamp) {
        let own = open.is_some_and(|o| o.history.unsaved());
        let why_not = "Something was changed here since: take that back first (Ctrl+Z)";
        let take = ui.add_enabled(!own, egui::Button::new("Take them back in")).on_disabled_hover_text(why_not);
        if take.on_hover_text("One change, taken back with one undo").clicked() {
            push(UnsavedAction::TakeIn(i));
        }
    }
    if ui
        .button("Leave them out")
        .on_hover_text("They are gone once the survey is saved or closed; until then they can be offered again")
        .clicked()
    {
        push(UnsavedAction::LeaveOut(i));
    }
}

fn told(view: &View<'_>, offer: &Offer) -> String {
    let kept = offer.found.kept().map_or_else(String::new, |at| format!(" ({})", ago(UNIX_EPOCH + at, SystemTime::now())));
    let survey = if view.open().is_some() { "this survey" } else { "a survey that never had a file" };
    let Some(changes) = offer.found.words() else {
        return format!("Changes of {survey} that were not saved{kept} cannot be read. The survey itself is sound.");
    };
    let what = words::changes(changes);
    if offer.left_out {
        return format!("Left out: {what}{kept}.");
    }
    let cut = if offer.found.is_cut() { " The last of them was just being written and is lost." } else { "" };
    let stamp = view.open().map(|o| o.stamp).unwrap_or_default();
    let other =
        if offer.found.fits(stamp) { "" } else { " They were made on an older state of the file and cannot be laid over this one." };
    format!("Yardring broke off before {survey} was saved{kept}. Not in it: {what}.{other}{cut}")
}
