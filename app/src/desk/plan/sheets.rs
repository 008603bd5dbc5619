//! Sheets: the day on paper and in files.

use super::evening;
use crate::action::Action;
use crate::jobs::{JobKind, Wanted};
use crate::session::Place;
use crate::session::walking::WalkAction;
use crate::ui::words::count;
use crate::ui::{notice, waiting};
use crate::view::View;
use egui::{ComboBox, TextEdit, Ui, WidgetInfo};
use yardring_core::brief::PageSize;

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let walking = &view.session.walking;
    if !walking.written.is_empty() {
        return format!("{} written", count(walking.written.len() as u64, "file"));
    }
    let crews = walking.day.as_ref().map_or(0, |d| d.walks.iter().filter(|w| !w.doors.is_empty()).count());
    if crews == 0 { "after the walks".to_owned() } else { format!("{} to print", count(crews as u64, "sheet")) }
}

/// The controls.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    let Some(day) = walking.day.as_ref().filter(|d| d.walks.iter().any(|w| !w.doors.is_empty())) else {
        ui.label("Plan the walks in step 5 first. Then every crew gets a map and a list here.");
        return;
    };
    ui.label("Paper");
    let sizes = [(PageSize::Letter, "US letter"), (PageSize::A4, "A4")];
    if let Some(paper) = notice::choices(ui, walking.paper, &sizes) {
        actions.push(Action::Walks(WalkAction::Paper(paper)));
    }
    ui.label("Notices in");
    let mut typed = walking.languages.clone();
    let drawn = ui.add(TextEdit::singleline(&mut typed).hint_text("English").desired_width(220.0));
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "Languages of the notices, with commas"));
    if drawn.changed() {
        actions.push(Action::Walks(WalkAction::Languages(typed)));
    }
    if notice::main_button(ui, "Write all sheets and files…").clicked() {
        actions.push(Action::Ask(Wanted::SheetFolder(None)));
    }
    again(ui, day, actions);
    said(ui, view, actions);
    notice::quiet(
        ui,
        "For each crew a sheet (PDF) and a track (GPX); for the day the list of walks, layers (GeoJSON, KML) and an empty visits table to fill in and bring in again. A case or its place is never in them.",
    );
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
        ui.label(format!("{} written to {}", count(written.len() as u64, "file"), folder.display()));
        for path in written {
            let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
            notice::quiet(ui, name);
        }
    }
}
