//! Carrying actions out: the only place that changes the session.

mod answering;
mod choosing;
mod filing;
mod handing_out;
mod intake;
mod keeping;
mod looking;
mod matching;
mod measuring;
mod planning;
mod reaching;
mod recording;
mod streets;
mod tracing;
mod walk_lines;
mod walk_search;
mod walking;
mod working;

use crate::action::Action;
use crate::jobs::Jobs;
use crate::map::Brush;
use crate::session::{Answer, Session};
use crate::settings::Settings;

pub use walk_search::Planned;

/// What actions are carried out with.
pub struct Tools<'a> {
    /// Long work goes here.
    pub jobs: &'a mut Jobs<Answer>,
    /// What lays outlines on the graphics card, where there is one.
    pub brush: Option<&'a Brush>,
    /// What is remembered from day to day.
    pub settings: &'a mut Settings,
}

impl std::fmt::Debug for Tools<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Tools").field("jobs", &self.jobs).finish_non_exhaustive()
    }
}

/// Carries out actions in order, then starts whatever has to be worked out anew.
pub fn all(session: &mut Session, tools: &mut Tools<'_>, actions: impl IntoIterator<Item = Action>) {
    // Asked for once: by now the panels have seen it.
    session.frame.focus_find = false;
    session.frame.open_step = None;
    for action in actions {
        one(session, tools, action);
    }
    keeping::follow_up(session, tools);
    working::follow_up(session, tools);
    measuring::follow_up(session, tools);
}

fn one(session: &mut Session, tools: &mut Tools<'_>, action: Action) {
    match action {
        Action::Ask(wanted) => filing::ask(tools, wanted),
        Action::Open(path) => filing::open(session, tools, path),
        Action::Save => filing::save(session, tools),
        Action::SaveAs(path) => filing::save_as(session, tools, path),
        Action::Write(paper, path) => handing_out::write(session, tools, paper, path),
        Action::Undo => filing::undo(session, tools),
        Action::Redo => filing::redo(session, tools),
        Action::Close => filing::close(session, tools),
        Action::CloseAnyway => filing::leave(session, tools),
        Action::CardLost => filing::card_lost(session),
        Action::StayOpen => session.leaving = None,
        Action::GoTo(desk) => session.desk = desk,
        Action::OpenStep(desk, step) => choosing::open_step(session, desk, step),
        Action::Round(round) => choosing::round(session, round),
        Action::Choose(premise) => choosing::premise(session, premise),
        Action::ShowPremise(premise) => choosing::show_premise(session, premise),
        Action::ShowPlace(place) => choosing::show_place(session, place),
        Action::ShowBlock(block) => choosing::show_block(session, block),
        Action::Hover(premise) => session.hovered = premise,
        Action::ShowAll => choosing::show_all(session),
        Action::Find(text) => choosing::find(session, tools, &text),
        Action::FocusFind => choosing::focus_find(session),
        Action::Back => choosing::back(session),
        Action::Map(action) => looking::one(session, tools, action),
        Action::Sources(kind) => session.plan.from = kind,
        Action::Radius(radius) => session.plan.radius = radius,
        Action::MeasureFrom(way) => session.plan.measure_from = way,
        Action::Reach(wanted) => reaching::one(session, tools, wanted),
        Action::Order(order) => planning::order(session, order),
        Action::Reason(reason) => planning::reason(session, reason),
        Action::Walks(wanted) => walking::act(session, tools, wanted),
        Action::Record(wanted) => recording::act(session, tools, wanted),
        Action::Unsaved(wanted) => keeping::act(session, tools, wanted),
        Action::Colour(colour) => session.colour = colour,
        Action::Trace(of) => tracing::trace(session, of),
        Action::Compare(compare) => measuring::compare(session, compare),
        Action::WorkOut(what) => working::begin(session, what),
        Action::DueOn(day) => session.measured.on = day,
        Action::Grows(species) => session.measured.species = species,
        Action::Know(known) => measuring::know(session, &known),
        Action::Rule(edit) => measuring::rule(session, *edit),
        Action::Classing(classing) => session.classing = classing,
        Action::MapPaper(paper) => session.map_paper = paper,
        Action::Notices(wish) => session.notices = wish,
        Action::Cancel(kind) => working::cancel(session, tools, kind),
        Action::Dismiss => session.trouble = None,
        Action::OpenSample => filing::open_sample(session, tools),
        Action::Again => working::again(session),
        Action::FoldWorksheet => session.frame.worksheet_folded ^= true,
        Action::FoldTime => session.frame.time_folded ^= true,
        Action::Darken => choosing::darken(session, tools),
        Action::Answered(answer) => answering::take(session, tools, *answer),
        Action::Broke(kind) => working::broke(session, kind),
        other => of_intake(session, tools, other),
    }
}

/// What is asked at the intake desk: files on their way in, and rows that wait.
fn of_intake(session: &mut Session, tools: &mut Tools<'_>, action: Action) {
    match action {
        Action::Dropped(files) => filing::dropped(session, tools, files),
        Action::Offer(files) => intake::offer(session, tools, files),
        Action::Kind(file, role) => intake::kind(session, file, role),
        Action::Match(said) => matching::one(session, tools, said),
        Action::Withdraw(file) => intake::withdraw(session, file),
        Action::Crs(text) => session.intake.crs = text,
        Action::LookAt(line) => choosing::look_at(session, line),
        Action::Settle(choice) => intake::settle(session, tools, vec![choice]),
        Action::SettleClear => intake::settle_clear(session, tools),
        Action::SettleId(id, verdict) => intake::settle_id(session, tools, id, verdict),
        Action::BringIn => intake::bring_in(session, tools),
        _ => {}
    }
}
