//! Intake: what came in, what did not, and why?

mod blocks;
mod came_in;
mod columns;
mod files;
mod settle;

use crate::action::Action;
use crate::desk::steps::title;
use crate::session::Desk;
use crate::ui::step::{OpenSteps, Step};
use crate::view::View;
use egui::Ui;

/// What the intake worksheet remembers.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    /// Open steps.
    pub steps: OpenSteps,
    /// The changed premise looked at.
    change: Option<usize>,
    /// What the columns' step remembers.
    columns: columns::Memory,
    /// Whether there were questions about columns, to open their step when there are some.
    asked: bool,
    /// What the blocks' step has counted.
    blocks: Option<blocks::Counted>,
    /// The revision seen last, to open what came in when something did.
    seen: u64,
}

/// Draws the worksheet.
pub fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let revision = view.open().map_or(0, |o| o.revision);
    if revision != memory.seen {
        memory.seen = revision;
        memory.change = None;
        // Whoever is settling goes on settling.
        if !memory.steps.shows(4) || view.survey().is_none_or(|s| s.refused.is_empty()) {
            memory.steps.open(3);
        }
    }
    let asks = !view.session.intake.questions().is_empty();
    let newly = asks && !memory.asked;
    memory.asked = asks;
    if !view.session.intake.offered.is_empty() && view.open().is_none() {
        memory.steps.open(if memory.steps.shows(2) { 2 } else { 1 });
    }
    if newly {
        memory.steps.open(2);
    }
    let step = |number, answer, calls| Step { number, title: title(Desk::Intake, number), answer, calls };
    let mut steps = std::mem::take(&mut memory.steps);
    let (answer, calls) = files::answer(view);
    step(1, answer, calls).show(ui, &mut steps, |ui| files::show(ui, view, actions));
    if view.open().is_some() || !view.session.intake.offered.is_empty() {
        let (answer, calls) = columns::answer(view);
        step(2, answer, calls).show(ui, &mut steps, |ui| columns::show(ui, view, &mut memory.columns, actions));
    }
    if view.open().is_some() {
        let answer = came_in::answer(view);
        step(3, answer, false).show(ui, &mut steps, |ui| came_in::show(ui, view, &mut memory.change, actions));
        let (answer, calls) = settle::answer(view);
        step(4, answer, calls).show(ui, &mut steps, |ui| settle::show(ui, view, actions));
        let answer = blocks::answer(view);
        step(5, answer, false).show(ui, &mut steps, |ui| blocks::show(ui, view, &mut memory.blocks, actions));
    }
    memory.steps = steps;
}
