//! What the office settles about the reach: barriers and the list of radii. Changes of the survey that can be taken back.

use super::{Tools, filing};
use crate::action::ReachAction;
use crate::jobs::JobKind;
use crate::session::{Answer, Place, Session};
use crate::ui::notice::Trouble;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::intake::read_barriers;
use yardring_core::reach::{Kept, read_radii};
use yardring_core::store::Edit;
use yardring_core::survey::settings;

/// Carries out one thing that is said about the reach.
pub(super) fn one(session: &mut Session, tools: &mut Tools<'_>, said: ReachAction) {
    match said {
        ReachAction::Unmask(unmasked) => session.unmasked = unmasked,
        ReachAction::TrapCount(over) => session.plan.trap_over = over,
        ReachAction::Barriers(path) => barriers(session, tools, path),
        ReachAction::NoBarriers => keep(session, settings::BARRIERS, None),
        ReachAction::Radii(text) => radii(session, &text),
    }
}

/// Reads barriers from a file beside the window.
fn barriers(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    read_lines(session, tools, path, (JobKind::Barriers, "reading the barriers"), Answer::BarriersRead);
}

/// Keeps the barriers that were read.
pub(super) fn barriers_read(session: &mut Session, revision: u64, read: Result<Kept, Trouble>) {
    take_lines(session, revision, read, (Place::Reach, settings::BARRIERS, "barriers"));
}

/// Reads lines of some use from a file beside the window.
pub(super) fn read_lines(
    session: &mut Session,
    tools: &mut Tools<'_>,
    path: PathBuf,
    (job, words): (JobKind, &'static str),
    answer: fn(u64, Result<Kept, Trouble>) -> Answer,
) {
    session.trouble = None;
    let Some(open) = &session.open else { return };
    let (survey, revision) = (Arc::clone(&open.survey), open.revision);
    tools.jobs.start(job, words, move |watch| answer(revision, read_barriers(&survey, &path, None, watch).map_err(Trouble::from)));
}

/// Keeps lines that were read under a name, or says at their place why not.
pub(super) fn take_lines(
    session: &mut Session,
    revision: u64,
    read: Result<Kept, Trouble>,
    (place, setting, called): (Place, &'static str, &str),
) {
    match read {
        Err(trouble) => session.trouble = Some((place, trouble)),
        Ok(lines) if session.open.as_ref().is_some_and(|o| o.revision == revision) => keep(session, setting, Some(&lines.text())),
        Ok(_) => {
            let what = format!("the survey was changed meanwhile, so the {called} were not taken");
            session.trouble = Some((place, Trouble { what, hint: "choose the file again".to_owned() }));
        }
    }
}

/// Keeps the office's own list of radii, or goes back to the usual one when it is empty.
fn radii(session: &mut Session, text: &str) {
    session.trouble = None;
    match read_radii(text) {
        Ok(own) if own.is_empty() => keep(session, settings::RADII, None),
        Ok(own) => keep(session, settings::RADII, Some(&own.iter().map(|r| r.said.as_str()).collect::<Vec<_>>().join(", "))),
        Err(error) => {
            let hint = "write radii with commas between them, as 100 m, 150 yd, 0.5 mi".to_owned();
            session.trouble = Some((Place::Reach, Trouble { what: error.to_string(), hint }));
        }
    }
}

/// Gives a setting of the survey another value, or none, unless it has it already.
pub(super) fn keep(session: &mut Session, name: &str, value: Option<&str>) {
    let same = session.open.as_ref().is_none_or(|o| o.survey.settings.get(name).map(|v| &**v) == value);
    if same {
        return;
    }
    filing::change(session, |open, now| {
        let edit = Edit::Setting { name: name.into(), value: value.map(Into::into) };
        open.history.perform(now, edit).map(|()| true).map_err(Trouble::from)
    });
}
