//! Files: which, and what each of them is.

use crate::action::{Action, MatchAction};
use crate::jobs::{JobKind, Wanted};
use crate::session::{LookedAt, Offered, Place};
use crate::ui::words::{count, sentence};
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{Align, ComboBox, Frame, Layout, Margin, RichText, Stroke, TextEdit, Ui, WidgetInfo};
use yardring_core::intake::{CrsSuggestion, Role};

/// Most defects of one file that are told here.
const MOST_DEFECTS: usize = 4;

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    let offered = view.session.intake.offered.len() as u64;
    let log = view.survey().map_or(0, |s| s.intake_log.len()) as u64;
    match (offered, log) {
        (0, 0) => ("choose files, or drop them on the window".to_owned(), true),
        (0, n) => (format!("{} brought in", count(n, "file")), false),
        (n, _) => (format!("{} waiting", count(n, "file")), true),
    }
}

/// The files, what each is, and the button that brings them in.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let intake = &view.session.intake;
    if intake.offered.is_empty() {
        ui.label("Parcels, streets, blocks, visits, signals and temperatures, as the county and the crews hand them in.");
        notice::quiet(ui, "Shapefile (zipped too), GeoJSON, GeoPackage, FlatGeobuf; CSV and spreadsheets for visits.");
    }
    for (i, offered) in intake.offered.iter().enumerate() {
        card(ui, i, offered, actions);
    }
    for kind in [JobKind::Look, JobKind::BringIn] {
        if let Some(progress) = view.progress(kind)
            && waiting::waiting(ui, &progress)
        {
            actions.push(Action::Cancel(kind));
        }
    }
    if let Some(trouble) = view.session.trouble_at(Place::Intake) {
        notice::trouble(ui, trouble);
    }
    if asks_for_crs(view) {
        coordinate_system(ui, view, actions);
    }
    buttons(ui, view, actions);
}

fn buttons(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let busy = view.jobs.at_work(JobKind::BringIn);
    let waits = view.session.intake.waits_for();
    ui.horizontal_wrapped(|ui| {
        if view.session.intake.offered.is_empty() {
            if notice::main_button(ui, "Choose files").clicked() {
                actions.push(Action::Ask(Wanted::Files));
            }
            return;
        }
        ui.add_enabled_ui(waits.is_none() && !busy, |ui| {
            if notice::main_button(ui, "Bring in").clicked() {
                actions.push(Action::BringIn);
            }
        });
        if ui.add(egui::Button::new("Choose more files").min_size(egui::vec2(0.0, 32.0))).clicked() {
            actions.push(Action::Ask(Wanted::Files));
        }
    });
    if let Some(waits) = waits.filter(|_| !view.session.intake.offered.is_empty()) {
        notice::quiet(ui, format!("{waits}."));
    }
}

fn card(ui: &mut Ui, i: usize, offered: &Offered, actions: &mut Vec<Action>) {
    let tones = theme::tones(ui);
    let frame = Frame::new().fill(tones.field).stroke(Stroke::new(1.0, tones.line)).corner_radius(theme::CORNER);
    frame.inner_margin(Margin::same(theme::APART as i8)).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = theme::NEAR;
        head(ui, i, offered, actions);
        what_it_is(ui, i, offered, actions);
        match offered.look.as_deref() {
            None => notice::quiet(ui, "Looking into it …"),
            Some(Err(trouble)) => notice::trouble(ui, trouble),
            Some(Ok(seen)) => {
                which_layer(ui, i, offered, seen, actions);
                told(ui, offered, seen);
            }
        }
    });
}

/// The file's name, and the button that leaves it out.
fn head(ui: &mut Ui, i: usize, offered: &Offered, actions: &mut Vec<Action>) {
    let name = offered.name();
    ui.allocate_ui_with_layout(egui::vec2(ui.available_width(), 22.0), Layout::right_to_left(Align::Center), |ui| {
        let out = ui.small_button("Leave out");
        out.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, format!("Leave out {name}")));
        if out.clicked() {
            actions.push(Action::Withdraw(i));
        }
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            ui.add(egui::Label::new(RichText::new(&name).font(theme::semibold(theme::BODY))).truncate());
        });
    });
}

fn what_it_is(ui: &mut Ui, i: usize, offered: &Offered, actions: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        ui.label("These are");
        let named = offered.kind.map_or("not said yet", Role::name);
        let drawn = ComboBox::from_id_salt(("kind", i)).selected_text(named).width(140.0).show_ui(ui, |ui| {
            for role in Role::ALL {
                if ui.selectable_label(offered.kind == Some(role), role.name()).clicked() {
                    actions.push(Action::Kind(i, role));
                }
            }
        });
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("{} is {named}", offered.name())));
    });
}

/// Which of several layers is meant.
fn which_layer(ui: &mut Ui, i: usize, offered: &Offered, seen: &LookedAt, actions: &mut Vec<Action>) {
    if !offered.has_layers() {
        return;
    }
    let layers = &seen.inspected.look.layers;
    ui.horizontal(|ui| {
        ui.label("Layer");
        let named = offered.layer.and_then(|l| layers.get(l)).map_or("not said yet", |l| l.name.as_str());
        let drawn = ComboBox::from_id_salt(("layer", i)).selected_text(named).width(180.0).truncate().show_ui(ui, |ui| {
            for (number, layer) in layers.iter().enumerate() {
                if ui.selectable_label(offered.layer == Some(number), &layer.name).clicked() {
                    actions.push(Action::Match(MatchAction::Layer(i, number)));
                }
            }
        });
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Layer of {} is {named}", offered.name())));
    });
}

/// What a file holds, in a line for its layer, and what is odd about it.
fn told(ui: &mut Ui, offered: &Offered, seen: &LookedAt) {
    let look = &seen.inspected.look;
    for layer in look.layers.iter().enumerate().filter(|(number, _)| offered.layer.is_none_or(|l| l == *number)).map(|l| l.1) {
        let shapes = if layer.geometry == "none" { "no shapes".to_owned() } else { layer.geometry.clone() };
        let crs = layer.crs.as_ref().map_or_else(String::new, |c| format!(", {c}"));
        notice::quiet(
            ui,
            format!("{}, {shapes}{crs}, {}", count(layer.features as u64, "row"), count(layer.columns.len() as u64, "column")),
        );
    }
    for defect in look.defects.iter().take(MOST_DEFECTS) {
        notice::quiet(ui, format!("· {}.", sentence(defect)));
    }
    let more = look.defects.len().saturating_sub(MOST_DEFECTS);
    if more > 0 {
        notice::quiet(ui, format!("· and {more} more of this kind."));
    }
}

/// Whether a file with shapes names no coordinate system.
fn asks_for_crs(view: &View<'_>) -> bool {
    let intake = &view.session.intake;
    let unnamed = intake.offered.iter().filter_map(Offered::layer_looked_at).any(|(l, _)| l.geometry != "none" && l.crs.is_none());
    let waits = !intake.offered.is_empty() && view.session.trouble_at(Place::Intake).is_some();
    unnamed || waits || !intake.crs.is_empty()
}

fn coordinate_system(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let mut text = view.session.intake.crs.clone();
    let unnamed = view.session.intake.offered.iter().find_map(suggested);
    ui.label(match unnamed {
        Some(_) => "A file does not say where its numbers lie. Its coordinate system is",
        None => "Read the numbers of one file alone in the coordinate system",
    });
    let response = ui.add(TextEdit::singleline(&mut text).hint_text("EPSG: and its number, as EPSG:2248").desired_width(240.0));
    response.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "Coordinate system"));
    if response.changed() {
        actions.push(Action::Crs(text));
    }
    for (name, suggestion) in view.session.intake.offered.iter().filter_map(suggested) {
        notice::quiet(ui, format!("{name}: {}.", suggestion.why));
        if let Some(crs) = suggestion.crs.as_ref().map(ToString::to_string).filter(|crs| *crs != view.session.intake.crs)
            && ui.button(format!("Use {crs}")).clicked()
        {
            actions.push(Action::Crs(crs));
        }
    }
}

/// What the numbers of a file that names no coordinate system look like.
fn suggested(offered: &Offered) -> Option<(String, &CrsSuggestion)> {
    let suggestion = offered.seen()?.suggestions.get(offered.layer?)?.as_ref()?;
    Some((offered.name(), suggestion))
}
