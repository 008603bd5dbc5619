//! Files on their way in: offered, looked at, named, brought in.

use super::{Tools, filing};
use crate::jobs::JobKind;
use crate::masking;
use crate::session::{Answer, Desk, Offered, Place, Session, Target};
use crate::ui::notice::Trouble;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::files::{self, Look};
use yardring_core::intake::settle::{self, Choice, Settled};
use yardring_core::intake::{self, ColumnMap, Report, Request, Role};
use yardring_core::job::Watch;
use yardring_core::place::Crs;
use yardring_core::store::Edit;
use yardring_core::survey::Survey;

/// Files that belong to a shapefile and are read with it.
const BESIDE: [&str; 7] = ["dbf", "shx", "prj", "cpg", "sbn", "sbx", "qix"];

/// Adds files to those waiting and looks into them beside the window. A survey is opened instead.
pub(super) fn offer(session: &mut Session, tools: &mut Tools<'_>, files: Vec<PathBuf>) {
    session.trouble = None;
    session.desk = Desk::Intake;
    session.frame.worksheet_folded = false;
    let ending = |p: &PathBuf| p.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    let beside = |p: &PathBuf| BESIDE.contains(&ending(p).as_str()) && p.with_extension("shp").exists();
    let known = |session: &Session, p: &PathBuf| session.intake.offered.iter().any(|o| o.path == *p);
    let new: Vec<PathBuf> = files.into_iter().filter(|p| !beside(p) && !known(session, p)).collect();
    session.intake.offered.extend(new.into_iter().map(Offered::new));
    let unseen: Vec<PathBuf> = session.intake.offered.iter().filter(|o| o.look.is_none()).map(|o| o.path.clone()).collect();
    if !unseen.is_empty() {
        tools.jobs.start(JobKind::Look, "looking into the files", move |watch| look_at(unseen, watch));
    }
}

fn look_at(files: Vec<PathBuf>, watch: &dyn Watch) -> Answer {
    let mut looks = Vec::new();
    let total = files.len() as u64;
    for (done, path) in files.into_iter().enumerate() {
        if watch.step("looking into the files", done as u64, total).is_err() {
            return Answer::Stopped;
        }
        let look = files::look(&path, watch).map_err(Trouble::from);
        let role = look.as_ref().ok().and_then(|l| intake::guess_role(l.layers.first()?));
        looks.push((path, look, role));
    }
    Answer::Looked(looks)
}

/// Notes what the files hold; what somebody already said they are stays.
pub(super) fn looked(session: &mut Session, looks: Vec<(PathBuf, Result<Look, Trouble>, Option<Role>)>) {
    for (path, look, role) in looks {
        if let Some(offered) = session.intake.offered.iter_mut().find(|o| o.path == path) {
            offered.kind = offered.kind.or(role);
            offered.look = Some(Arc::new(look));
        }
    }
}

/// Says what a file is.
pub(super) fn kind(session: &mut Session, file: usize, role: Role) {
    if let Some(offered) = session.intake.offered.get_mut(file) {
        offered.kind = Some(role);
    }
}

/// Leaves a file out.
pub(super) fn withdraw(session: &mut Session, file: usize) {
    if file < session.intake.offered.len() {
        session.intake.offered.remove(file);
        session.trouble = None;
    }
}

/// Brings the files in beside the window.
pub(super) fn bring_in(session: &mut Session, tools: &mut Tools<'_>) {
    session.trouble = None;
    if session.intake.waits_for().is_some() {
        return;
    }
    let request = match request(session) {
        Ok(request) => request,
        Err(trouble) => {
            session.trouble = Some((Place::Intake, trouble));
            return;
        }
    };
    let survey = session.open.as_ref().map(|o| Arc::clone(&o.survey));
    let revision = session.open.as_ref().map_or(0, |o| o.revision);
    tools.jobs.start(JobKind::BringIn, "bringing the files in", move |watch| {
        let brought = intake::bring_in(survey.as_deref(), &request, watch).map(|mut brought| {
            masking::complete(&mut brought.0);
            Box::new(brought)
        });
        Answer::BroughtIn(revision, brought.map_err(Trouble::from))
    });
}

fn request(session: &Session) -> Result<Request, Trouble> {
    let file = |role: Role| session.intake.offered.iter().find(|o| o.kind == Some(role)).map(|o| o.path.clone());
    let typed = session.intake.crs.trim();
    let crs = if typed.is_empty() { None } else { Some(Crs::from_code(typed)) };
    let crs = crs.transpose().map_err(|e| Trouble { what: e.to_string(), hint: String::new() })?;
    Ok(Request {
        parcels: file(Role::Parcels),
        streets: file(Role::Streets),
        blocks: file(Role::Blocks),
        visits: file(Role::Visits),
        signals: file(Role::Signals),
        temperatures: file(Role::Temperatures),
        columns: ColumnMap::default(),
        crs,
    })
}

/// Settles a visit beside the window.
pub(super) fn settle(session: &mut Session, tools: &mut Tools<'_>, choice: Choice) {
    session.trouble = None;
    let Some(open) = &session.open else { return };
    let (survey, revision) = (Arc::clone(&open.survey), open.revision);
    tools.jobs.start(JobKind::Settle, "settling", move |watch| {
        let settled = settle::settle(&survey, std::slice::from_ref(&choice), watch);
        Answer::Settled(revision, settled.map(Box::new).map_err(Trouble::from))
    });
}

/// Takes the survey with a visit settled: a change that can be taken back.
pub(super) fn settled(session: &mut Session, revision: u64, settled: Result<Box<Settled>, Trouble>) {
    match settled {
        Err(trouble) => session.trouble = Some((Place::Settle, trouble)),
        Ok(settled) if session.open.as_ref().is_some_and(|o| o.revision == revision) => {
            filing::change(session, |open, now| {
                let what = if settled.joined > 0 { "Settle a visit" } else { "Set a row aside" };
                let edit = Edit::Columns { what: what.into(), becomes: Box::new(settled.survey) };
                open.history.perform(now, edit).map(|()| true).map_err(Trouble::from)
            });
        }
        Ok(_) => {
            let what = "the survey was changed meanwhile, so nothing was settled".to_owned();
            session.trouble = Some((Place::Settle, Trouble { what, hint: "choose again".to_owned() }));
        }
    }
}

/// Takes the survey that the files became: a change that can be taken back.
pub(super) fn brought_in(session: &mut Session, revision: u64, brought: Result<Box<(Survey, Report)>, Trouble>) {
    let brought = match brought {
        Ok(brought) => *brought,
        Err(trouble) => {
            session.trouble = Some((Place::Intake, trouble));
            return;
        }
    };
    if session.open.as_ref().map_or(0, |o| o.revision) != revision {
        let what = "the survey was changed while the files came in, so they were not added".to_owned();
        session.trouble = Some((Place::Intake, Trouble { what, hint: "bring them in again".to_owned() }));
        return;
    }
    let (survey, report) = brought;
    let extent = survey.premises.outline.extent();
    let first_parcels = session.open.as_ref().is_none_or(|o| o.survey.premises.is_empty());
    let what = report.files.iter().map(|f| f.file.as_str()).collect::<Vec<_>>().join(", ");
    match session.open {
        Some(_) => filing::change(session, |open, now| {
            let edit = Edit::Columns { what: format!("Bring in {what}").into(), becomes: Box::new(survey) };
            open.history.perform(now, edit).map(|()| true).map_err(Trouble::from)
        }),
        None => filing::put(session, survey, None),
    }
    if let Some(open) = session.open.as_mut() {
        open.round = open.survey.round(None);
    }
    if first_parcels && !extent.is_empty() {
        session.target = Some((session.target.map_or(0, |t| t.0) + 1, Target::Extent(extent)));
    }
    session.intake.offered.clear();
    session.intake.report = Some(report);
}
