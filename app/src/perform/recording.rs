//! Visits entered, corrected and taken away by hand: worked out beside the window, one change each.

use super::Tools;
use super::choosing;
use crate::jobs::JobKind;
use crate::session::{Answer, Place, RecordAction, Session, Writing};
use crate::signing::signed;
use crate::ui::notice::Trouble;
use std::sync::Arc;
use yardring_core::brief::sheet_visit_id;
use yardring_core::intake::record::{self, Entry};
use yardring_core::store::{Edit, Made, Way};
use yardring_core::survey::{PremiseId, RoundId, Survey};

/// Carries out what was asked.
pub(super) fn act(session: &mut Session, tools: &mut Tools<'_>, action: RecordAction) {
    session.trouble = session.trouble.take().filter(|t| t.0 != Place::Record);
    match action {
        RecordAction::Begin(premise) => begin(session, premise, None),
        RecordAction::Correct(premise, id) => begin(session, premise, Some(id)),
        RecordAction::Leave => session.hand.writing = None,
        RecordAction::Keep(entry, go_on) => keep(session, tools, *entry, go_on),
        RecordAction::TakeAway(premise, id) => {
            change(session, tools, move |survey| {
                record::take_away(survey, premise, &id, &signed()).map(Edit::visit).map_err(Trouble::from)
            });
        }
    }
}

/// Lays the form on the worksheet.
fn begin(session: &mut Session, premise: PremiseId, correcting: Option<Box<str>>) {
    let Some(open) = &session.open else { return };
    let survey = Arc::clone(&open.survey);
    let begins = match &correcting {
        Some(id) => match survey.visits.at(premise).iter().find(|v| v.id == *id) {
            Some(visit) => Entry::of(&survey, visit),
            None => return,
        },
        None => blank(session, &survey, premise),
    };
    let next = if correcting.is_none() { next_door(session, &survey, premise) } else { None };
    session.frame.worksheet_folded = false;
    session.hand.go_on = None;
    session.hand.writing = Some(Writing { premise, correcting, begins, next });
}

/// A form with what goes without saying: the walk's day and crew where the yard is on one, else what was written last, else the round's last
/// day.
fn blank(session: &Session, survey: &Survey, premise: PremiseId) -> Entry {
    let latest = survey.round(None).and_then(|r| survey.rounds.get(r.row()));
    let (mut date, mut crew, round) = session.hand.last.clone().unwrap_or_else(|| {
        let day = latest.map(|r| r.last.to_string()).unwrap_or_default();
        (day, String::new(), latest.map(|r| r.name.to_string()).unwrap_or_default())
    });
    if let Some((day, (_, walk))) = session.walking.day.as_ref().zip(session.walking.place_of(premise)) {
        (date, crew) = (day.on.to_string(), walk.crew.clone());
    }
    Entry { date, crew, round, ..Entry::default() }
}

/// The next door of the same walk that nothing is written about yet.
fn next_door(session: &Session, survey: &Survey, premise: PremiseId) -> Option<PremiseId> {
    let day = session.walking.day.as_ref()?;
    let (spot, walk) = session.walking.place_of(premise)?;
    let open = |p: &PremiseId| !survey.visits.at(*p).iter().any(|v| v.when.day == day.on);
    walk.doors.iter().skip(spot.door + 1).map(|d| d.premise).find(open)
}

/// Keeps what was typed, beside the window.
fn keep(session: &mut Session, tools: &mut Tools<'_>, mut entry: Entry, go_on: bool) {
    let Some(writing) = session.hand.writing.clone() else { return };
    let premise = writing.premise;
    session.hand.go_on = writing.next.filter(|_| go_on);
    if writing.correcting.is_none() {
        session.hand.last = Some((entry.date.clone(), entry.crew.clone(), entry.round.clone()));
    }
    // The sheet's own id, so that its row is known again when the sheet is brought in too.
    let day = session.walking.day.clone().filter(|d| d.on.to_string() == entry.date.trim() && session.walking.place_of(premise).is_some());
    change(session, tools, move |survey| {
        let change = match &writing.correcting {
            Some(id) => record::correct(survey, premise, id, &entry, &signed()),
            None => {
                entry.visit_id = day.map(|day| sheet_visit_id(&day, survey, premise)).unwrap_or_default();
                record::enter(survey, premise, &entry, &signed())
            }
        };
        change.map(Edit::visit).map_err(Trouble::from)
    });
}

/// Makes a change beside the window; one that is at work comes first.
fn change(session: &mut Session, tools: &mut Tools<'_>, edit: impl FnOnce(&Survey) -> Result<Edit, Trouble> + Send + 'static) {
    let Some(open) = session.open.as_ref().filter(|_| !tools.jobs.at_work(JobKind::Record)) else { return };
    let (survey, revision, old) = (Arc::clone(&open.survey), open.revision, session.hand.before.take());
    tools.jobs.start(JobKind::Record, "keeping the visit", move |_| {
        drop(old);
        let made = edit(&survey).and_then(|edit| Made::on(&survey, edit).map_err(Trouble::from));
        Answer::HandMade(revision, Way::On, made.map(Box::new))
    });
}

/// Takes a change of a visit back, or makes it again, beside the window; whether it is one.
pub(super) fn step(session: &mut Session, tools: &mut Tools<'_>, way: Way) -> bool {
    let Some(open) = &session.open else { return false };
    let Some(edit) = open.history.next(way).filter(|e| matches!(e, Edit::Visit { .. })).cloned() else { return false };
    if !tools.jobs.at_work(JobKind::Record) {
        let (survey, revision, old) = (Arc::clone(&open.survey), open.revision, session.hand.before.take());
        tools.jobs.start(JobKind::Record, "taking a visit back", move |_| {
            drop(old);
            Answer::HandMade(revision, way, Made::on(&survey, edit).map(Box::new).map_err(Trouble::from))
        });
    }
    true
}

/// Takes the survey with the changed visit. The yard stays chosen, the map stays as it is drawn; what rests on visits is worked out anew.
pub(super) fn made(session: &mut Session, revision: u64, way: Way, made: Result<Box<Made>, Trouble>) {
    let Some(open) = session.open.as_mut() else { return };
    let made = match made {
        Ok(made) if open.revision == revision => made,
        Ok(_) => {
            let what = "the survey was changed meanwhile, so the visit stays as it was".to_owned();
            session.trouble = Some((Place::Record, Trouble { what, hint: "keep it once more".to_owned() }));
            return;
        }
        Err(trouble) => {
            session.trouble = Some((Place::Record, trouble));
            return;
        }
    };
    let before = Arc::clone(&open.survey);
    let mut survey = Survey::clone(&before);
    open.history.take(&mut survey, *made, way);
    (open.revision, open.changes) = (open.revision + 1, open.changes + 1);
    let again = |round: Option<RoundId>| {
        let name = round.and_then(|r| before.rounds.get(r.row())).map(|r| &*r.name);
        name.and_then(|name| survey.round(Some(name)))
    };
    open.round = again(open.round).or_else(|| survey.round(None));
    session.measured.compare.from = again(session.measured.compare.from);
    session.measured.traced = None;
    let revision = open.revision;
    open.survey = Arc::new(survey);
    session.laid.carry_over(|key| *key = revision);
    session.sketch.carry_over(|key| *key = revision);
    session.waiting.carry_over(|key| *key = revision);
    let w = &mut session.walking;
    w.streets = w.streets.take().map(|(_, names)| (revision, names));
    let day = w.day.clone();
    session.hand.before = Some(before);
    super::walking::show(session, day);
    if way == Way::On {
        session.hand.kept += 1;
        session.hand.writing = None;
        if let Some(next) = session.hand.go_on.take() {
            choosing::show_premise(session, next);
            begin(session, next, None);
        }
    }
}
