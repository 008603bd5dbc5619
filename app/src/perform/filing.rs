//! The survey's file: opening, saving, taking changes back, closing.

use super::Tools;
use crate::jobs::{JobKind, Wanted, ask_for_files};
use crate::session::{Answer, Leaving, Open, Session};
use crate::ui::notice::Trouble;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::store::History;
use yardring_core::store::{self, Parts, StoreError};
use yardring_core::survey::Survey;

/// Opens the system's dialog beside the window.
pub(super) fn ask(tools: &mut Tools<'_>, wanted: Wanted) {
    tools.jobs.start(JobKind::Dialog, "choosing a file", move |_| {
        let files = ask_for_files(wanted);
        match wanted {
            Wanted::Survey => Answer::SurveyNamed(files),
            Wanted::NewSurvey => Answer::NameGiven(files),
            Wanted::Files => Answer::FilesNamed(files),
            Wanted::Barriers => Answer::BarriersNamed(files),
            Wanted::Paper(paper) => Answer::PaperNamed(paper, files),
        }
    });
}

/// Opens a survey, or asks first what becomes of unsaved changes.
pub(super) fn open(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    if session.open.as_ref().is_some_and(Open::unsaved) {
        session.leaving = Some(Leaving::Open(path));
    } else {
        read(session, tools, path);
    }
}

/// Does what would lose unsaved changes: somebody said so.
pub(super) fn leave(session: &mut Session, tools: &mut Tools<'_>) {
    match session.leaving.take() {
        Some(Leaving::Open(path)) => read(session, tools, path),
        Some(Leaving::Close) | None => session.frame.may_close = true,
    }
}

/// Reads a survey beside the window.
fn read(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    session.trouble = None;
    tools.jobs.start(JobKind::Open, "opening the survey", move |watch| {
        let read = store::load(&path, Parts::EVERYTHING, watch);
        Answer::Opened(path, read.map(Box::new).map_err(Trouble::from))
    });
}

/// Takes files dropped on the window: one GeoPackage may be a survey, anything else is offered for intake.
pub(super) fn dropped(session: &mut Session, tools: &mut Tools<'_>, files: Vec<PathBuf>) {
    match &files[..] {
        [one] if one.extension().is_some_and(|e| e.eq_ignore_ascii_case("gpkg")) => {
            session.trouble = None;
            let path = one.clone();
            let unsaved = session.open.as_ref().is_some_and(Open::unsaved);
            tools.jobs.start(JobKind::Open, "opening the survey", move |watch| match store::load(&path, Parts::EVERYTHING, watch) {
                Err(StoreError::NotASurvey { .. }) => Answer::FilesNamed(vec![path]),
                Ok(_) if unsaved => Answer::SurveyNamed(vec![path]),
                read => Answer::Opened(path, read.map(Box::new).map_err(Trouble::from)),
            });
        }
        _ => super::intake::offer(session, tools, files),
    }
}

/// Opens the sample survey, made beside the window on first use.
pub(super) fn open_sample(session: &mut Session, tools: &mut Tools<'_>) {
    session.trouble = None;
    tools.jobs.start(JobKind::Open, "making the sample district", move |watch| match crate::sample_district::survey(watch) {
        Ok(path) => Answer::SurveyNamed(vec![path]),
        Err(trouble) => Answer::Opened(PathBuf::new(), Err(trouble)),
    });
}

/// Puts a survey on the desk in place of the one that was there.
pub(super) fn put(session: &mut Session, survey: Survey, path: Option<PathBuf>) {
    let revision = session.open.as_ref().map_or(0, |o| o.revision) + 1;
    let round = survey.round(None);
    session.chosen = None;
    session.neighbours.clear();
    session.why.clear();
    session.hovered = None;
    session.round.clear();
    session.waiting.clear();
    session.reach.clear();
    session.outlook.clear();
    session.laid.clear();
    session.classes.clear();
    session.gaps = crate::session::GapList::default();
    session.found = None;
    session.written = None;
    session.open = Some(Open { survey: Arc::new(survey), path, history: History::default(), revision, round });
}

/// Writes the survey to its file, or asks for one.
pub(super) fn save(session: &mut Session, tools: &mut Tools<'_>) {
    match session.open.as_ref().map(|o| o.path.clone()) {
        Some(Some(path)) => save_as(session, tools, path),
        Some(None) => ask(tools, Wanted::NewSurvey),
        None => {}
    }
}

/// Writes the survey to a file beside the window.
pub(super) fn save_as(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    let Some(open) = &session.open else { return };
    let (survey, revision) = (Arc::clone(&open.survey), open.revision);
    tools.jobs.start(JobKind::Save, "writing the survey", move |watch| {
        let written = store::save(&survey, &path, watch).map_err(Trouble::from);
        Answer::Saved(path, revision, written)
    });
}

/// Takes back the last change.
pub(super) fn undo(session: &mut Session) {
    change(session, |open, survey| open.history.undo(survey).map_err(Trouble::from));
}

/// Does again what was taken back.
pub(super) fn redo(session: &mut Session) {
    change(session, |open, survey| open.history.redo(survey).map_err(Trouble::from));
}

/// Changes the survey; a change that fails changes nothing.
pub(super) fn change(session: &mut Session, apply: impl FnOnce(&mut Open, &mut Survey) -> Result<bool, Trouble>) {
    let Some(open) = session.open.as_mut() else { return };
    let mut survey = Survey::clone(&open.survey);
    match apply(open, &mut survey) {
        Ok(true) => {
            open.revision += 1;
            open.round = open.round.filter(|r| r.row() < survey.rounds.len()).or_else(|| survey.round(None));
            open.survey = Arc::new(survey);
            super::choosing::premise(session, None);
        }
        Ok(false) => {}
        Err(trouble) => session.trouble = Some((crate::session::Place::File, trouble)),
    }
}

/// Closes the window, or asks first.
pub(super) fn close(session: &mut Session) {
    let unsaved = session.open.as_ref().is_some_and(Open::unsaved);
    session.leaving = unsaved.then_some(Leaving::Close);
    session.frame.may_close = !unsaved;
}
