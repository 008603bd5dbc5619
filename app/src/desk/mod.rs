//! The three desks: worksheets beside the same map.

pub mod brief;
pub mod chances;
mod householders;
pub mod intake;
mod papers;
pub mod plan;
pub mod record;
pub mod steps;

use crate::action::Action;
use crate::session::Desk;
use crate::ui::step::OpenSteps;
use crate::view::View;
use egui::Ui;

/// What the worksheets remember by themselves: which steps are open, what is typed.
#[derive(Clone, Debug)]
pub struct Worksheets {
    intake: intake::Memory,
    plan: plan::Memory,
    brief: brief::Memory,
    record: record::Memory,
}

impl Default for Worksheets {
    fn default() -> Self {
        let (mut intake, mut plan, mut brief) = (intake::Memory::default(), plan::Memory::default(), brief::Memory::default());
        intake.steps = OpenSteps::at(1);
        plan.steps = OpenSteps::at(steps::plan::GAPS);
        brief.steps = OpenSteps::at(1);
        Self { intake, plan, brief, record: record::Memory::default() }
    }
}

impl Worksheets {
    /// Draws the worksheet of the desk looked at.
    pub fn show(&mut self, ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
        match view.session.frame.open_step {
            Some((Desk::Intake, step)) => self.intake.steps.open(step),
            Some((Desk::Plan, step)) => self.plan.steps.open(step),
            Some((Desk::Brief, step)) => self.brief.steps.open(step),
            None => {}
        }
        // A visit that is written down lies on top of the worksheet until it is kept or left.
        if record::show(ui, view, &mut self.record, actions) {
            return;
        }
        match view.session.desk {
            Desk::Intake => intake::show(ui, view, &mut self.intake, actions),
            Desk::Plan => plan::show(ui, view, &mut self.plan, actions),
            Desk::Brief => brief::show(ui, view, &mut self.brief, actions),
        }
    }
}

/// Height for a list that is the same wherever the worksheet is scrolled to, and leaves so much of it to what stands round the list.
fn steady_height(ui: &Ui, besides: f32) -> f32 {
    (ui.clip_rect().height() - besides).max(200.0)
}

/// Height for a list that leaves room for the closed lines below it.
fn list_height(ui: &Ui, below: f32) -> f32 {
    (ui.clip_rect().bottom() - ui.cursor().top() - below).max(160.0)
}
