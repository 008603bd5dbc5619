//! Intake: what came in, what did not, and why?

mod came_in;
mod files;
mod settle;

use crate::action::Action;
use crate::ui::step::{OpenSteps, Step};
use crate::view::View;
use egui::Ui;

/// What the intake worksheet remembers.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    /// Open steps.
    pub steps: OpenSteps,
    /// The refused row looked at.
    row: Option<usize>,
    /// The revision seen last, to open what came in when something did.
    seen: u64,
}

/// Draws the worksheet.
pub fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let revision = view.open().map_or(0, |o| o.revision);
    if revision != memory.seen {
        memory.seen = revision;
        memory.row = None;
        memory.steps.open(2);
    }
    if !view.session.intake.offered.is_empty() && view.open().is_none() {
        memory.steps.open(1);
    }
    let step = |number, title, answer, calls| Step { number, title, answer, calls };
    let mut steps = std::mem::take(&mut memory.steps);
    let (answer, calls) = files::answer(view);
    step(1, "Files", answer, calls).show(ui, &mut steps, |ui| files::show(ui, view, actions));
    if view.open().is_some() {
        step(2, "What came in", came_in::answer(view), false).show(ui, &mut steps, |ui| came_in::show(ui, view, actions));
        let (answer, calls) = settle::answer(view);
        step(3, "Settle", answer, calls).show(ui, &mut steps, |ui| settle::show(ui, view, &mut memory.row, actions));
    }
    memory.steps = steps;
}
