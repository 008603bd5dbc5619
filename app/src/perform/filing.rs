//! The survey's file: opening, saving, taking changes back, closing.

use super::Tools;
use crate::jobs::{JobKind, Wanted, ask_for_files};
use crate::masking;
use crate::session::{Answer, Leaving, Open, Session, Trail, UnderSurvey};
use crate::ui::notice::Trouble;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use yardring_core::job::Watch;
use yardring_core::store::{self, History, Parts, Stamp, StoreError, Way};
use yardring_core::survey::{Survey, settings};

/// Opens the system's dialog beside the window.
pub(super) fn ask(tools: &mut Tools<'_>, wanted: Wanted) {
    tools.jobs.start(JobKind::Dialog, "choosing a file", move |_| {
        let files = ask_for_files(wanted);
        match wanted {
            Wanted::Survey => Answer::SurveyNamed(files),
            Wanted::NewSurvey => Answer::NameGiven(files),
            Wanted::Files => Answer::FilesNamed(files),
            Wanted::Ground => Answer::GroundNamed(files),
            Wanted::Barriers => Answer::BarriersNamed(files),
            Wanted::Lines => Answer::LinesNamed(files),
            Wanted::Match => Answer::MatchNamed(files),
            Wanted::Paper(paper) => Answer::PaperNamed(paper, files),
            Wanted::SheetFolder(crew) => Answer::FolderNamed(crew, files),
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
        Some(Leaving::Close) | None => {
            super::keeping::let_go(session, tools);
            session.frame.may_close = true;
        }
    }
}

/// Reads a survey beside the window.
fn read(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    session.trouble = None;
    tools.jobs.start(JobKind::Open, "opening the survey", move |watch| {
        let read = load(&path, watch);
        Answer::Opened(path, read.map(Box::new).map_err(Trouble::from))
    });
}

/// A survey with the mask of its cases. A file that may not be written keeps a new mask only while the window is open.
fn load(path: &Path, watch: &dyn Watch) -> Result<Survey, StoreError> {
    let mut survey = store::load(path, Parts::EVERYTHING, watch)?;
    if let Err(error) = masking::keep(&mut survey, path) {
        tracing::warn!("the mask of cases was not kept: {error}");
    }
    Ok(survey)
}

/// Takes files dropped on the window: one GeoPackage may be a survey, map tiles go underneath, anything else is offered for intake.
pub(super) fn dropped(session: &mut Session, tools: &mut Tools<'_>, files: Vec<PathBuf>) {
    match &files[..] {
        [one] if one.extension().is_some_and(|e| e.eq_ignore_ascii_case("gpkg")) => {
            session.trouble = None;
            let path = one.clone();
            let unsaved = session.open.as_ref().is_some_and(Open::unsaved);
            tools.jobs.start(JobKind::Open, "opening the survey", move |watch| match load(&path, watch) {
                Err(StoreError::NotASurvey { .. }) => Answer::FilesNamed(vec![path]),
                Ok(_) if unsaved => Answer::SurveyNamed(vec![path]),
                read => Answer::Opened(path, read.map(Box::new).map_err(Trouble::from)),
            });
        }
        [one] if one.extension().is_some_and(|e| e.eq_ignore_ascii_case("pmtiles") || e.eq_ignore_ascii_case("mbtiles")) => {
            super::looking::lay_ground(session, tools, one.clone());
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
    session.settling = None;
    session.reach.clear();
    session.outlook.clear();
    session.laid.clear();
    session.sketch.clear();
    session.classes.clear();
    session.gaps = crate::session::GapList::default();
    session.measured = crate::session::Measured::default();
    session.hand = crate::session::Hand::default();
    session.found = None;
    session.written = None;
    session.unmasked = false;
    session.notices = crate::session::NoticesWish { language: session.notices.language, ..Default::default() };
    session.trail = Trail::default();
    session.stretch = None;
    session.ground.iter_mut().for_each(UnderSurvey::forget_tiles);
    super::walking::forget(session);
    let stamp = path.as_deref().map(Stamp::of).unwrap_or_default();
    session.open = Some(Open { survey: Arc::new(survey), path, stamp, history: History::default(), revision, changes: revision, round });
    super::walking::read(session);
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
    let (survey, changes) = (Arc::clone(&open.survey), open.changes);
    // Over its own file only as it was read; another file's name was chosen, and to replace it confirmed.
    let own = open.path.as_ref().filter(|own| **own == path).map(|_| open.stamp);
    tools.jobs.start(JobKind::Save, "writing the survey", move |watch| {
        let written = match own {
            Some(stamp) => store::save_over(&survey, &path, stamp, watch),
            None => store::save(&survey, &path, watch),
        };
        Answer::Saved(path, changes, written.map_err(Trouble::from))
    });
}

/// Takes back the last change.
pub(super) fn undo(session: &mut Session, tools: &mut Tools<'_>) {
    if super::recording::step(session, tools, Way::Back) {
        return;
    }
    if session.open.as_ref().is_some_and(|o| o.history.undoes_setting(settings::WALKS)) {
        return super::walking::step(session, History::undo);
    }
    change(session, |open, survey| open.history.undo(survey).map_err(Trouble::from));
}

/// Does again what was taken back.
pub(super) fn redo(session: &mut Session, tools: &mut Tools<'_>) {
    if super::recording::step(session, tools, Way::Again) {
        return;
    }
    if session.open.as_ref().is_some_and(|o| o.history.redoes_setting(settings::WALKS)) {
        return super::walking::step(session, History::redo);
    }
    change(session, |open, survey| open.history.redo(survey).map_err(Trouble::from));
}

/// Changes the survey; a change that fails changes nothing.
pub(super) fn change(session: &mut Session, apply: impl FnOnce(&mut Open, &mut Survey) -> Result<bool, Trouble>) {
    let Some(open) = session.open.as_mut() else { return };
    let mut survey = Survey::clone(&open.survey);
    match apply(open, &mut survey) {
        Ok(true) if same_columns(&open.survey, &survey) => {
            open.revision += 1;
            open.changes += 1;
            let revision = open.revision;
            open.survey = Arc::new(survey);
            carry_answers_over(session, revision);
        }
        Ok(true) => {
            open.revision += 1;
            open.changes += 1;
            open.round = open.round.filter(|r| r.row() < survey.rounds.len()).or_else(|| survey.round(None));
            open.survey = Arc::new(survey);
            session.measured.traced = None;
            session.settling = None;
            super::choosing::premise(session, None);
            super::walking::read(session);
        }
        Ok(false) => {}
        Err(trouble) => session.trouble = Some((crate::session::Place::File, trouble)),
    }
}

/// Nothing can be drawn any more, so that nobody can answer a question: the window closes. What was not saved is written by
/// whoever holds its lifeline.
pub(super) fn card_lost(session: &mut Session) {
    session.leaving = None;
    session.frame.card_lost = true;
    session.frame.may_close = true;
}

/// Whether two states of a survey differ in nothing but what the office has settled, so that no answer changes.
fn same_columns(a: &Survey, b: &Survey) -> bool {
    let premises = Arc::ptr_eq(&a.premises.outline, &b.premises.outline) && Arc::ptr_eq(&a.premises.parcel_id, &b.premises.parcel_id);
    let words = Arc::ptr_eq(&a.premises.address, &b.premises.address) && Arc::ptr_eq(&a.premises.block, &b.premises.block);
    let around = Arc::ptr_eq(&a.blocks.outline, &b.blocks.outline) && Arc::ptr_eq(&a.streets.line, &b.streets.line);
    let work = std::ptr::eq(a.visits.rows(), b.visits.rows()) && Arc::ptr_eq(&a.rounds, &b.rounds) && Arc::ptr_eq(&a.signals, &b.signals);
    premises && words && around && work && Arc::ptr_eq(&a.refused, &b.refused) && Arc::ptr_eq(&a.temperatures, &b.temperatures)
}

/// Lets all answers stand for a new revision whose columns are those of the old one.
fn carry_answers_over(session: &mut Session, revision: u64) {
    session.laid.carry_over(|key| *key = revision);
    session.sketch.carry_over(|key| *key = revision);
    session.waiting.carry_over(|key| *key = revision);
    session.walking.learnt.carry_over(|key| *key = revision);
    session.round.carry_over(|key| key.revision = revision);
    session.reach.carry_over(|key| key.round.revision = revision);
    session.classes.carry_over(|key| {
        key.round.revision = revision;
        key.reach.iter_mut().for_each(|reach| reach.round.revision = revision);
    });
}

/// Closes the window, or asks first.
pub(super) fn close(session: &mut Session, tools: &mut Tools<'_>) {
    let unsaved = session.open.as_ref().is_some_and(Open::unsaved);
    session.leaving = unsaved.then_some(Leaving::Close);
    session.frame.may_close = !unsaved;
    if !unsaved {
        super::keeping::let_go(session, tools);
    }
}
