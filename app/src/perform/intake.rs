//! Files on their way in: offered, looked at, named, brought in.

use super::{Tools, filing, matching};
use crate::jobs::JobKind;
use crate::masking;
use crate::session::{Answer, Desk, LookedAt, Offered, Place, Session, SettleLine, Target};
use crate::ui::notice::Trouble;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::brief::together;
use yardring_core::files;
use yardring_core::intake::settle::{self, CLEAR, Choice, SameId, Settled};
use yardring_core::intake::{self, Inspected, Known, Report, Request, Role};
use yardring_core::job::Watch;
use yardring_core::place::Crs;
use yardring_core::store::Edit;
use yardring_core::survey::Survey;

/// Files that belong to a shapefile and are read with it.
const BESIDE: [&str; 7] = ["dbf", "shx", "prj", "cpg", "sbn", "sbx", "qix"];

/// Adds files to those waiting, those of a folder one by one, and looks into them beside the window.
pub(super) fn offer(session: &mut Session, tools: &mut Tools<'_>, files: Vec<PathBuf>) {
    session.trouble = None;
    session.desk = Desk::Intake;
    session.frame.worksheet_folded = false;
    let mut named = Vec::new();
    for path in files {
        let inside = if path.is_dir() { files::readable_in(&path) } else { Ok(vec![path]) };
        match inside {
            Ok(inside) => named.extend(inside),
            Err(error) => session.trouble = Some((Place::Intake, error.into())),
        }
    }
    let ending = |p: &PathBuf| p.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    let beside = |p: &PathBuf| BESIDE.contains(&ending(p).as_str()) && p.with_extension("shp").exists();
    let known = |session: &Session, p: &PathBuf| session.intake.offered.iter().any(|o| o.path == *p);
    let new: Vec<PathBuf> = named.into_iter().filter(|p| !beside(p) && !known(session, p)).collect();
    session.intake.offered.extend(new.into_iter().map(Offered::new));
    let offered = &session.intake.offered;
    if offered.iter().all(|o| o.look.is_some()) {
        return;
    }
    // What comes now may tell where the numbers of a file lie that came before.
    let wanted: Vec<PathBuf> = offered.iter().filter(|o| o.look.is_none() || o.lies_unsaid()).map(|o| o.path.clone()).collect();
    let seen = offered.iter().filter_map(Offered::seen).flat_map(|s| &s.inspected.layers);
    let mut known: Vec<Known> = seen.filter_map(|l| l.known.clone()).collect();
    known.extend(session.open.as_ref().and_then(|o| Known::of_survey(&o.survey)));
    tools.jobs.start(JobKind::Look, "looking into the files", move |watch| look_at(wanted, known, watch));
}

/// Looks into files. `known` is ground that files without a coordinate system should lie near.
fn look_at(files: Vec<PathBuf>, mut known: Vec<Known>, watch: &dyn Watch) -> Answer {
    let mut looks = Vec::new();
    let total = files.len() as u64;
    for (done, path) in files.into_iter().enumerate() {
        if watch.step("looking into the files", done as u64, total).is_err() {
            return Answer::Stopped;
        }
        let inspected = intake::inspect(&path, watch).map_err(Trouble::from);
        known.extend(inspected.iter().flat_map(|i| &i.layers).filter_map(|l| l.known.clone()));
        looks.push((path, inspected));
    }
    let suggested = |inspected: Inspected| {
        let suggestions = inspected.layers.iter().map(|l| l.crs_suggestion(&known)).collect();
        LookedAt { inspected, suggestions }
    };
    Answer::Looked(looks.into_iter().map(|(path, inspected)| (path, inspected.map(suggested))).collect())
}

/// Notes what the files hold; what somebody already said they are stays. Of a file with several layers there is one line for each
/// thing that they can be.
pub(super) fn looked(session: &mut Session, looks: Vec<(PathBuf, Result<LookedAt, Trouble>)>) {
    for (path, look) in looks {
        let Some(at) = session.intake.offered.iter().position(|o| o.path == path) else { continue };
        let look = Arc::new(look);
        let offered = &mut session.intake.offered[at];
        offered.look = Some(Arc::clone(&look));
        let Ok(seen) = &*look else { continue };
        let roles: Vec<Option<Role>> = seen.inspected.layers.iter().map(|l| l.role).collect();
        if roles.len() == 1 {
            offered.layer = Some(0);
            offered.kind = offered.kind.or(roles[0]);
            continue;
        }
        let first = |role: Role| Some((role, roles.iter().position(|r| *r == Some(role))?));
        let found: Vec<(Role, usize)> = Role::ALL.into_iter().filter_map(first).collect();
        let one = |&(role, layer): &(Role, usize)| Offered { kind: Some(role), layer: Some(layer), ..session.intake.offered[at].clone() };
        let each: Vec<Offered> = found.iter().map(one).collect();
        if !each.is_empty() {
            session.intake.offered.splice(at..=at, each);
        }
    }
    matching::fit_all(session);
}

/// Says what a file is.
pub(super) fn kind(session: &mut Session, file: usize, role: Role) {
    if let Some(offered) = session.intake.offered.get_mut(file) {
        offered.kind = Some(role);
        matching::fit_all(session);
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
    let file = |role: Role| session.intake.offered.iter().find(|o| o.kind == Some(role)).map(Offered::source);
    let typed = session.intake.crs.trim();
    let crs = if typed.is_empty() { None } else { Some(Crs::from_code(typed)) };
    let crs = crs.transpose().map_err(|e| Trouble { what: e.to_string(), hint: "type EPSG: and a number, as EPSG:2248".to_owned() })?;
    Ok(Request {
        parcels: file(Role::Parcels),
        streets: file(Role::Streets),
        blocks: file(Role::Blocks),
        visits: file(Role::Visits),
        signals: file(Role::Signals),
        temperatures: file(Role::Temperatures),
        columns: session.intake.column_map(),
        crs,
    })
}

/// Settles all that wait and have one candidate that fits clearly best.
pub(super) fn settle_clear(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(open) = &session.open else { return };
    let Some(all) = session.waiting.exactly(Some(&open.revision)) else { return };
    let clear = |line: &SettleLine| match line {
        SettleLine::Visit(w) => Some(w.choice(&open.survey, w.clear(CLEAR)?)),
        _ => None,
    };
    let choices: Vec<Choice> = all.lines.iter().filter_map(clear).collect();
    settle(session, tools, choices);
}

/// Settles visits and signals beside the window.
pub(super) fn settle(session: &mut Session, tools: &mut Tools<'_>, choices: Vec<Choice>) {
    session.trouble = None;
    let Some(open) = &session.open else { return };
    let (survey, revision) = (Arc::clone(&open.survey), open.revision);
    tools.jobs.start(JobKind::Settle, "settling", move |watch| {
        let settled = settle::settle(&survey, &choices, watch);
        Answer::Settled(revision, settled.map(Box::new).map_err(Trouble::from))
    });
}

/// Settles beside the window whether premises with the same id are one.
pub(super) fn settle_id(session: &mut Session, tools: &mut Tools<'_>, id: Box<str>, verdict: SameId) {
    session.trouble = None;
    let Some(open) = &session.open else { return };
    let (survey, revision) = (Arc::clone(&open.survey), open.revision);
    tools.jobs.start(JobKind::Settle, "settling", move |_| {
        let survey = settle::settle_ids(&survey, &[&*id].into_iter().collect(), verdict);
        let what = match verdict {
            SameId::OnePremise => format!("Make {id} one premise in parts"),
            SameId::Separate => format!("Leave {id} as separate premises"),
        };
        Answer::IdSettled(revision, what.into(), Box::new(survey))
    });
}

/// Takes the survey with an id settled: a change that can be taken back.
pub(super) fn id_settled(session: &mut Session, revision: u64, what: Box<str>, survey: Box<Survey>) {
    if session.open.as_ref().is_none_or(|o| o.revision != revision) {
        let what = "the survey was changed meanwhile, so nothing was settled".to_owned();
        session.trouble = Some((Place::Settle, Trouble { what, hint: "choose again".to_owned() }));
        return;
    }
    filing::change(session, |open, now| {
        open.history.perform(now, Edit::Columns { what, becomes: survey }).map(|()| true).map_err(Trouble::from)
    });
}

/// Takes the survey with a visit settled: a change that can be taken back.
pub(super) fn settled(session: &mut Session, revision: u64, settled: Result<Box<Settled>, Trouble>) {
    match settled {
        Err(trouble) => session.trouble = Some((Place::Settle, trouble)),
        // The list closes up: the next row stands where this one stood.
        Ok(settled) if session.open.as_ref().is_some_and(|o| o.revision == revision) => {
            let next = session.settling;
            filing::change(session, |open, now| {
                let what = match settled.joined + settled.signals {
                    0 => "Set a row aside".to_owned(),
                    1 => "Settle a row".to_owned(),
                    n => format!("Settle {n} rows"),
                };
                let edit = Edit::Columns { what: what.into(), becomes: Box::new(settled.survey) };
                open.history.perform(now, edit).map(|()| true).map_err(Trouble::from)
            });
            session.settling = next;
        }
        Ok(_) => {
            let what = "the survey was changed meanwhile, so nothing was settled".to_owned();
            session.trouble = Some((Place::Settle, Trouble { what, hint: "choose again".to_owned() }));
        }
    }
}

/// Makes room for a survey that is about to come: where nothing is open an empty one, so that the first change can be taken back like all
/// later ones; where there was no premise the map goes to what comes.
pub(super) fn show_first(session: &mut Session, survey: &Survey) {
    let first_parcels = session.open.as_ref().is_none_or(|o| o.survey.premises.is_empty());
    if session.open.is_none() {
        filing::put(session, Survey::empty(survey.frame), None);
    }
    let extent = together(&[&survey.premises.outline]).extent;
    if first_parcels && !extent.is_empty() {
        session.target = Some((session.target.map_or(0, |t| t.0) + 1, Target::Extent(extent)));
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
    let what = report.files.iter().map(|f| f.file.as_str()).collect::<Vec<_>>().join(", ");
    show_first(session, &survey);
    filing::change(session, |open, now| {
        let edit = Edit::Columns { what: format!("Bring in {what}").into(), becomes: Box::new(survey) };
        open.history.perform(now, edit).map(|()| true).map_err(Trouble::from)
    });
    if let Some(open) = session.open.as_mut() {
        open.round = open.survey.round(None);
    }
    session.intake.offered.clear();
    session.intake.changes = report.vintage.as_ref().map(|vintage| {
        let log = session.open.as_ref().map_or(0, |o| o.survey.intake_log.len());
        (log, vintage.by_weight().into_iter().cloned().collect())
    });
    session.intake.report = Some(report);
}
