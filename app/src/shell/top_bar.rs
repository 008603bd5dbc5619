//! The bar at the top: the survey, the desks, the round, the find box, day and night.

use super::find::{self, FindMemory};
use super::left_behind;
use crate::action::Action;
use crate::command::Command;
use crate::jobs::JobKind;
use crate::session::{Desk, Open, Place};
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{Align, Button, Layout, RichText, ScrollArea, Sense, Stroke, Ui, WidgetInfo};
use std::path::{Path, PathBuf};

/// Narrower than this the find box gets a line of its own.
const NARROW: f32 = 760.0;

/// Draws the bar.
pub fn show(ui: &mut Ui, view: &View<'_>, recent: &[PathBuf], memory: &mut FindMemory, actions: &mut Vec<Action>) {
    let narrow = ui.available_width() < NARROW;
    let right = |ui: &mut Ui, memory: &mut FindMemory, actions: &mut Vec<Action>| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            half_disc(ui, view, actions);
            find::show(ui, view, memory, actions);
        });
    };
    ui.horizontal(|ui| {
        survey_menu(ui, view, recent, actions);
        desks(ui, view, actions);
        round(ui, view, actions);
        if !narrow {
            right(ui, memory, actions);
        }
    });
    if narrow {
        ui.horizontal(|ui| right(ui, memory, actions));
    }
    left_behind::show(ui, view, actions);
    for kind in [JobKind::Save, JobKind::Open, JobKind::Outlines] {
        if let Some(progress) = view.progress(kind).filter(|_| view.open().is_some())
            && waiting::waiting(ui, &progress)
        {
            actions.push(Action::Cancel(kind));
        }
    }
    if let Some(trouble) = view.session.trouble_at(Place::File).filter(|_| view.open().is_some()) {
        notice::trouble(ui, trouble);
        if ui.button("Understood").clicked() {
            actions.push(Action::Dismiss);
        }
    }
}

fn survey_menu(ui: &mut Ui, view: &View<'_>, recent: &[PathBuf], actions: &mut Vec<Action>) {
    let name = view.open().map_or_else(|| "no survey".to_owned(), Open::name);
    let unsaved = if view.open().is_some_and(Open::unsaved) { " · not saved" } else { "" };
    let title = RichText::new(format!("Yardring · {name}{unsaved}")).font(theme::semibold(theme::BODY));
    ui.menu_button(title, |ui| {
        ui.set_min_width(240.0);
        // With large text there is no room for all of it.
        let room = ui.ctx().content_rect().height() - 4.0 * theme::ROW;
        ScrollArea::vertical().max_height(room).show(ui, |ui| survey_commands(ui, view, recent, actions));
    });
}

fn survey_commands(ui: &mut Ui, view: &View<'_>, recent: &[PathBuf], actions: &mut Vec<Action>) {
    for command in [Command::Open, Command::BringFiles, Command::Save, Command::SaveAs, Command::Undo, Command::Redo] {
        menu_item(ui, command, view, actions);
    }
    if !recent.is_empty() {
        ui.separator();
        notice::quiet(ui, "Opened lately");
    }
    for path in recent {
        if ui.button(lately(path, recent)).on_hover_text(path.display().to_string()).clicked() {
            actions.push(Action::Open(path.clone()));
        }
    }
    ui.separator();
    for command in [Command::FoldWorksheet, Command::FoldTime, Command::Darken] {
        menu_item(ui, command, view, actions);
    }
    for command in [Command::LargerText, Command::SmallerText, Command::UsualText, Command::Close] {
        menu_item(ui, command, view, actions);
    }
}

/// The name of a survey opened lately; of two that are called alike with their folders.
fn lately(path: &Path, recent: &[PathBuf]) -> String {
    let stem = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    let alike = recent.iter().filter(|r| r.file_stem() == path.file_stem()).count() > 1;
    match path.parent().and_then(Path::file_name).filter(|_| alike) {
        Some(folder) => format!("{stem} · in {}", folder.to_string_lossy()),
        None => stem,
    }
}

/// One command as a line of a menu: its name, its keys, greyed when it makes no sense now.
fn menu_item(ui: &mut Ui, command: Command, view: &View<'_>, actions: &mut Vec<Action>) {
    let action = command.action(view);
    let button = Button::new(command.label()).shortcut_text(command.keys(ui.ctx()));
    let history = view.open().map(|o| &o.history);
    let words = match command {
        Command::Undo => history.and_then(|h| h.undo_words()),
        Command::Redo => history.and_then(|h| h.redo_words()),
        _ => None,
    };
    let tip = words.unwrap_or_else(|| command.tooltip().to_owned());
    let clicked = ui.add_enabled(action.is_some(), button).on_hover_text(tip).on_disabled_hover_text(command.not_now()).clicked();
    if clicked {
        actions.extend(action);
    }
}

fn desks(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let now = view.session.desk;
    for (desk, command) in Desk::ALL.into_iter().zip([Command::Intake, Command::Plan, Command::Brief]) {
        let tip = format!("{} ({})", command.tooltip(), command.keys(ui.ctx()));
        if notice::choice(ui, now == desk, desk.label()).on_hover_text(tip).clicked() {
            actions.push(Action::GoTo(desk));
        }
    }
}

fn round(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let Some(open) = view.open().filter(|o| !o.survey.rounds.is_empty()) else { return };
    let rounds = &open.survey.rounds;
    let named = open.round.and_then(|r| rounds.get(r.row())).map_or("no round", |r| &*r.name);
    let combo = egui::ComboBox::from_id_salt("round").selected_text(named).width(120.0);
    let drawn = combo.show_ui(ui, |ui| {
        for (i, round) in rounds.iter().enumerate().rev() {
            let id = yardring_core::survey::RoundId(i as u32);
            let days = crate::ui::words::days(round.first, round.last);
            if ui.selectable_label(open.round == Some(id), &*round.name).on_hover_text(days).clicked() {
                actions.push(Action::Round(id));
            }
        }
    });
    let label = format!("Round: {named}");
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, &label));
}

/// Day and night as a disc with one dark half.
fn half_disc(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let tones = theme::tones(ui);
    let (rect, response) = ui.allocate_exact_size(egui::vec2(28.0, 28.0), Sense::click());
    let response = response.on_hover_text(Command::Darken.tooltip());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, Command::Darken.label()));
    let ink = if response.hovered() || response.has_focus() { tones.accent } else { tones.quiet };
    notice::focus_ring(ui, &response);
    let painter = ui.painter();
    painter.circle_stroke(rect.center(), 7.0, Stroke::new(1.5, ink));
    let half = egui::Rect::from_min_max(rect.center_top(), rect.max);
    painter.with_clip_rect(half.intersect(ui.clip_rect())).circle_filled(rect.center(), 7.0, ink);
    if response.clicked() {
        actions.extend(Command::Darken.action(view));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn surveys_of_one_name_are_told_apart_by_their_folders() {
        let recent = ["/a/north/q.gpkg", "/a/south/q.gpkg", "/a/south/mill.gpkg"].map(PathBuf::from);
        let said: Vec<String> = recent.iter().map(|p| lately(p, &recent)).collect();
        assert_eq!(said, ["q · in north", "q · in south", "mill"]);
    }
}
