//! Brief: which blocks are worst, and how sure are we?

mod bands;
mod blocks;
mod change;
mod containers;
mod doors;
mod known;
mod measure;
mod sets;
pub(super) mod traced;

use crate::action::Action;
use crate::jobs::{JobKind, Wanted};
use crate::session::{Desk, Place};
use crate::ui::step::{OpenSteps, Step};
use crate::ui::{notice, waiting};
use crate::view::View;
use egui::Ui;
use yardring_core::survey::BlockId;

/// What the brief worksheet remembers.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    /// Open steps.
    pub steps: OpenSteps,
    /// The block chosen in the table.
    block: Option<BlockId>,
    /// The round or land use whose measures are shown, by its title.
    other: Option<String>,
    /// What the bands remember.
    bands: bands::Editing,
    /// What is asked about doors.
    doors: doors::Asked,
    /// What the containers remember.
    containers: containers::Memory,
}

/// Draws the worksheet.
pub fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let Some(open) = view.open() else {
        ui.heading("Which blocks are worst?");
        ui.label("Open a survey, or bring in parcels and visits at the Intake desk. This worksheet then says where breeding is worst and how sure that is.");
        if notice::main_button(ui, "Open a survey").clicked() {
            actions.push(Action::Ask(Wanted::Survey));
        }
        return;
    };
    if open.round.is_none() {
        ui.heading("No visits yet");
        ui.label("There is nothing to measure before somebody has looked. Bring in a visits table first.");
        if notice::main_button(ui, "Go to Intake").clicked() {
            actions.push(Action::GoTo(Desk::Intake));
        }
        return;
    }
    let step = |number, title, answer| Step { number, title, answer, calls: false };
    let mut steps = std::mem::take(&mut memory.steps);
    step(1, "Measure", measure::answer(view)).show(ui, &mut steps, |ui| {
        measure::show(ui, view, &mut memory.other, &mut memory.bands, actions);
    });
    step(2, "Blocks", blocks::answer(view)).show(ui, &mut steps, |ui| {
        blocks::show(ui, view, &mut memory.block, &mut memory.doors, actions);
    });
    step(3, "Containers", containers::answer(view)).show(ui, &mut steps, |ui| {
        containers::show(ui, view, &mut memory.containers, actions);
    });
    step(4, "Change", change::answer(view)).show(ui, &mut steps, |ui| change::show(ui, view, memory.block, actions));
    memory.steps = steps;
    for kind in [JobKind::Round, JobKind::Reach, JobKind::Foresee, JobKind::Classes, JobKind::Kinds, JobKind::Change, JobKind::Clusters] {
        if let Some(progress) = view.progress(kind)
            && waiting::waiting(ui, &progress)
        {
            actions.push(Action::Cancel(kind));
        }
    }
    if let Some(trouble) = view.session.trouble_at(Place::Brief).or_else(|| view.session.trouble_at(Place::Reach)) {
        notice::trouble(ui, trouble);
        if ui.button("Work it out again").clicked() {
            actions.push(Action::Again);
        }
    }
}
