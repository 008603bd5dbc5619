//! Sheets: the day on paper and in files.

use super::{evening, walks};
use crate::action::Action;
use crate::desk::papers;
use crate::desk::steps::plan as at;
use crate::jobs::{JobKind, Paper, Wanted};
use crate::session::walking::WalkAction;
use crate::session::{Desk, Place};
use crate::ui::words::{count, day, sentence};
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{ComboBox, RichText, TextEdit, Ui, WidgetInfo};
use yardring_core::brief::PageSize;

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    match broken(view) {
        Some(words) => (words, true),
        None => match view.session.walking.promises_broken().1 {
            0 => (to_print(view), false),
            n => (format!("{}; {} cannot be kept", to_print(view), count(n as u64, "promise")), true),
        },
    }
}

/// Why the plan is no longer what is asked for, or "plan again first: 1 promise is not kept".
fn broken(view: &View<'_>) -> Option<String> {
    if let Some(why) = walks::stale(view) {
        return Some(format!("plan again first: {why}"));
    }
    match view.session.walking.promises_broken().0 {
        0 => None,
        1 => Some("plan again first: 1 promise is not kept".to_owned()),
        n => Some(format!("plan again first: {n} promises are not kept")),
    }
}

fn to_print(view: &View<'_>) -> String {
    let walking = &view.session.walking;
    if !walking.written.is_empty() {
        return format!("{} written", count(walking.written.len() as u64, "file"));
    }
    let crews = walking.day.as_ref().map_or(0, |d| d.walks.iter().filter(|w| !w.doors.is_empty()).count());
    let on = walking.day.as_ref().map_or_else(String::new, |d| format!(" for {}", day(d.on)));
    if crews == 0 { "after the walks".to_owned() } else { format!("{}{on} to print", count(crews as u64, "sheet")) }
}

/// The controls.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    let Some(day) = walking.day.as_ref().filter(|d| d.walks.iter().any(|w| !w.doors.is_empty())) else {
        ui.label(format!("Plan the walks in step {} first. Then every crew gets a map and a list here.", at::WALKS));
        return;
    };
    ui.label("Paper");
    let sizes = [(PageSize::Letter, "US letter"), (PageSize::A4, "A4")];
    if let Some(paper) = notice::choices(ui, walking.paper, &sizes) {
        actions.push(Action::Walks(WalkAction::Paper(paper)));
    }
    ui.label("Languages of the notices that crews carry");
    let mut typed = walking.languages.clone();
    let drawn = ui.add(TextEdit::singleline(&mut typed).hint_text("English").desired_width(220.0));
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "Languages of the notices, with commas"));
    if drawn.changed() {
        actions.push(Action::Walks(WalkAction::Languages(typed)));
    }
    let write = "Write all sheets and files…";
    let written = match broken(view) {
        None => notice::main_button(ui, write).clicked(),
        Some(words) => {
            notice::warn(ui, format!("{}.", sentence(&words)));
            if notice::main_button(ui, "Plan again").clicked() {
                actions.extend([Action::OpenStep(Desk::Plan, at::WALKS), Action::Walks(WalkAction::Plan)]);
            }
            ui.button(write).on_hover_text("The promised hours stand on the sheets, though the plan does not keep them").clicked()
        }
    };
    if written {
        actions.push(Action::Ask(Wanted::SheetFolder(None)));
    }
    again(ui, day, actions);
    said(ui, view, actions);
    notice::quiet(
        ui,
        "For each crew a sheet (PDF) and a track (GPX); for the day the list of walks, layers (GeoJSON, KML) and an empty visits table to fill in and bring in again. A case or its place is never in them.",
    );
    ui.add_space(theme::NEAR);
    ui.label(RichText::new("Notices for householders").font(theme::semibold(theme::BODY)));
    papers::show(ui, view, &[(Paper::Notices, view.round().is_some())], actions);
    evening::show(ui, view, day, actions);
}

/// One crew once more.
fn again(ui: &mut Ui, day: &yardring_core::walks::Day, actions: &mut Vec<Action>) {
    let drawn = ComboBox::from_id_salt("again").selected_text("One crew again…").width(150.0).show_ui(ui, |ui| {
        for (i, walk) in day.walks.iter().enumerate().filter(|(_, w)| !w.doors.is_empty()) {
            if ui.selectable_label(false, &walk.crew).clicked() {
                actions.push(Action::Ask(Wanted::SheetFolder(Some(i))));
            }
        }
    });
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, "One crew again"));
}

fn said(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    if let Some(progress) = view.progress(JobKind::Sheets)
        && waiting::waiting(ui, &progress)
    {
        actions.push(Action::Cancel(JobKind::Sheets));
    }
    if let Some(trouble) = view.session.trouble_at(Place::Sheets) {
        notice::trouble(ui, trouble);
    }
    let written = &view.session.walking.written;
    if let Some(folder) = written.first().and_then(|p| p.parent()) {
        notice::say(ui, format!("{} written to {}", count(written.len() as u64, "file"), folder.display()));
        for path in written {
            let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
            notice::quiet(ui, name);
        }
    }
}
