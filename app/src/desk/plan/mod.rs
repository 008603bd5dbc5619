//! Plan: which yards inside the reach has nobody seen, and who goes there today?

mod by_hand;
mod crew_day;
mod crews;
mod due;
mod evening;
mod gains;
mod gaps;
mod kept_off;
mod reach;
mod sheets;
mod sources;
mod walks;
mod water;

use crate::action::Action;
use crate::desk::chances;
use crate::desk::steps::{self, plan as at};
use crate::jobs::{JobKind, Wanted};
use crate::session::walking::Row;
use crate::session::{Desk, Place};
use crate::ui::step::{OpenSteps, Step};
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::Ui;
use yardring_core::survey::PremiseId;

/// What the plan worksheet remembers.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    /// Open steps.
    pub steps: OpenSteps,
    /// The list of radii while it is being written.
    radii: Option<String>,
    /// The premise chosen when the list was drawn last.
    pub revealed: Option<PremiseId>,
    /// What was chosen when the list of walks was drawn last.
    pub walked: (Option<PremiseId>, Option<Row>),
    /// A door is being dragged in the list of walks.
    pub dragging: bool,
    /// A step to open next.
    pub next: Option<u8>,
    /// An hour to promise while it is being written.
    pub promise: Option<String>,
    /// What is being typed about the crews.
    pub typed: crews::Typed,
    /// The day chosen among the call-backs.
    due: due::Memory,
    /// Water and rate as typed.
    water: water::Typed,
}

/// Draws the worksheet.
pub fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let Some(survey) = view.open() else {
        ui.heading("Which yards has nobody seen?");
        ui.label("Open a survey, or bring in parcels and visits at the Intake desk. This worksheet then finds the yards inside flight range that nobody has seen.");
        if notice::main_button(ui, "Open a survey").clicked() {
            actions.push(Action::Ask(Wanted::Survey));
        }
        return;
    };
    if survey.round.is_none() {
        ui.heading("No visits yet");
        ui.label("Reach is measured from what was found. Bring in a visits table first.");
        if notice::main_button(ui, "Go to Intake").clicked() {
            actions.push(Action::GoTo(Desk::Intake));
        }
        return;
    }
    let step = |number, answer, calls| Step { number, title: steps::title(Desk::Plan, number), answer, calls };
    let mut open = std::mem::take(&mut memory.steps);
    if view.session.walking.trial.is_some() && !open.shows(at::WALKS) {
        // A change was asked for elsewhere, as on the yard's card: its cost stands there.
        open.open(at::WALKS);
    }
    let (answer, calls) = sources::answer(view);
    step(at::SOURCES, answer, calls).show(ui, &mut open, |ui| sources::show(ui, view, actions));
    step(at::REACH, reach::answer(view), false).show(ui, &mut open, |ui| reach::show(ui, view, memory, actions));
    step(at::GAPS, gaps::answer(view), false).show(ui, &mut open, |ui| gaps::show(ui, view, memory, actions));
    step(at::CHANCES, chances::answer(view), false).show(ui, &mut open, |ui| chances::show(ui, view, actions));
    let (answer, calls) = due::answer(view);
    step(at::CALL_BACKS, answer, calls).show(ui, &mut open, |ui| due::show(ui, view, &mut memory.due, actions));
    let (answer, calls) = crews::answer(view);
    step(at::CREWS, answer, calls).show(ui, &mut open, |ui| crews::show(ui, view, &mut memory.typed, actions));
    let (answer, calls) = walks::answer(view);
    step(at::WALKS, answer, calls).show(ui, &mut open, |ui| walks::show(ui, view, memory, actions));
    let (answer, calls) = sheets::answer(view);
    step(at::SHEETS, answer, calls).show(ui, &mut open, |ui| sheets::show(ui, view, actions));
    step(at::WATER, water::answer(&memory.water), false).show(ui, &mut open, |ui| water::show(ui, &mut memory.water));
    if let Some(next) = memory.next.take() {
        open.open(next);
    }
    memory.steps = open;
    working(ui, view, actions);
    notice::quiet(
        ui,
        "Enter no yard without permission or other lawful authority. Mind dogs, ladders and heat. For any larvicide the product label is the law.",
    );
}

/// What is being worked out, or what went wrong.
fn working(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    for kind in [JobKind::Round, JobKind::Barriers, JobKind::Reach, JobKind::Foresee, JobKind::Due] {
        if let Some(progress) = view.progress(kind)
            && waiting::waiting(ui, &progress)
        {
            actions.push(Action::Cancel(kind));
        }
    }
    if let Some(trouble) = view.session.trouble_at(Place::Reach).or_else(|| view.session.trouble_at(Place::Due)) {
        notice::trouble(ui, trouble);
        if ui.button("Work it out again").clicked() {
            actions.push(Action::Again);
        }
        ui.add_space(theme::APART);
    }
}
