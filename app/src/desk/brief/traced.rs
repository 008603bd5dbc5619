//! The yards behind a number: a list that the map follows.

use crate::action::Action;
use crate::session::{Trace, Traced};
use crate::ui::list::List;
use crate::ui::theme;
use crate::ui::words::{count, number};
use crate::view::View;
use egui::{Align, Layout, RichText, Ui};

/// Height of the list at most.
const HEIGHT: f32 = 200.0;

/// Draws the list of a number, when it is the one that was traced.
pub(in crate::desk) fn show(ui: &mut Ui, view: &View<'_>, of: Trace, actions: &mut Vec<Action>) {
    let Some(traced) = view.session.measured.traced.as_ref().filter(|t| t.of == of) else { return };
    ui.horizontal(|ui| {
        ui.label(RichText::new(title(traced)).font(theme::semibold(theme::BODY)));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui.link("Close the list").clicked() {
                actions.push(Action::Trace(None));
            }
        });
    });
    let yards = &traced.yards;
    let row_of = |p| yards.iter().position(|y| y.0 == p);
    let list = List {
        name: "traced",
        rows: yards.len(),
        row_height: theme::ROW,
        height: HEIGHT,
        chosen: view.session.chosen.filter(|_| yards.len() < 5000).and_then(row_of),
        glowing: None,
        reveal: false,
        firm: false,
    };
    let events = list.show(ui, |ui, i| {
        let Some((premise, words)) = yards.get(i) else { return String::new() };
        let (name, tones) = (view.name_of(*premise), theme::tones(ui));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.label(RichText::new(words).size(theme::SMALL).color(tones.quiet));
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                ui.add(egui::Label::new(RichText::new(name).color(tones.ink)).truncate());
            });
        });
        format!("{name}: {words}")
    });
    if let Some((premise, _)) = events.hovered.and_then(|i| yards.get(i)) {
        actions.push(Action::Hover(Some(*premise)));
    }
    if let Some((premise, _)) = events.chosen.and_then(|i| yards.get(i)) {
        actions.push(Action::ShowPremise(*premise));
    }
}

fn title(traced: &Traced) -> String {
    let (all, speak) = (traced.yards.len() as u64, number(traced.speak as u64));
    match traced.of {
        Trace::Block(_) => format!("{}, {speak} positive", count(all, "inspected yard")),
        Trace::Kind(_) => format!("found in {}, {speak} positive", count(all, "yard")),
        Trace::District => format!("{} in the district, {speak} positive", count(all, "inspected yard")),
        Trace::Crowd => format!("{} in the circle, {speak} positive", count(all, "inspected yard")),
        Trace::Near(_) => format!("{} near by, {speak} positive", count(all, "inspected yard")),
        Trace::Sources => count(all, "yard") + " that the reach is drawn round",
        Trace::Inside => format!("{} inside the reach, {speak} positive", count(all, "inspected yard")),
        Trace::Changed => format!("{} changed, {speak} for the worse", count(all, "yard")),
    }
}
