//! Streets: those that crews are kept off, by their names, and where they are torn.

use super::{Tools, choosing, walking};
use crate::session::walking::{Change, WalkAction};
use crate::session::{Session, Target};
use std::sync::Arc;
use yardring_core::walks::{Day, Marks, street_names};

/// Keeps a crew off a street. Its doors of the plan there go to the other crews at once; every later plan keeps to it.
pub(super) fn keep_off(session: &mut Session, tools: &mut Tools<'_>, crew: usize, street: String) {
    let w = &mut session.walking;
    let street = street.trim().to_owned();
    if street.is_empty() || w.kept_off.iter().any(|(c, s)| *c == crew && s.eq_ignore_ascii_case(&street)) {
        return;
    }
    let planned = w.ways.is_some() && w.day.as_ref().is_some_and(|day| day.walks.get(crew).is_some_and(|walk| !walk.locked));
    if planned {
        walking::weigh(session, Change::KeepOff(crew, street));
        walking::act(session, tools, WalkAction::DoIt);
        return;
    }
    w.kept_off.push((crew, street));
    if let Some(mut day) = w.day.as_deref().cloned() {
        day.kept_off.clone_from(&w.kept_off);
        walking::put(session, Arc::new(day));
    }
}

/// Notes a street that a crew is kept off. The changed day keeps to it, so it is no more stale than it was.
pub(super) fn note(kept_off: &mut Vec<(usize, String)>, day: &mut Day, crew: usize, street: String) {
    let kept_to = day.marks.kept_off == Marks::of_streets(kept_off);
    kept_off.push((crew, street));
    if kept_to {
        day.marks.kept_off = Marks::of_streets(kept_off);
    }
}

/// Brings the map to the next place where the streets are torn.
pub(super) fn show_torn(session: &mut Session) {
    let places = Arc::clone(&session.walking.torn);
    let next = session.walking.torn_at.map_or(0, |at| at + 1);
    let Some(at) = (!places.is_empty()).then(|| next % places.len()) else { return };
    session.walking.torn_at = Some(at);
    choosing::go(session, Target::Place(places[at].0));
}

/// Marks the visits and lists the streets of the survey anew when it, or the planned day, is another.
pub(super) fn follow_up(session: &mut Session) {
    let Some(open) = &session.open else { return };
    let w = &mut session.walking;
    if let Some(on) = w.day.as_ref().map(|day| day.on)
        && w.visits.is_none_or(|(known, _)| known != (open.revision, on))
    {
        w.visits = Some(((open.revision, on), Marks::of_visits(&open.survey, on)));
    }
    if session.desk == crate::session::Desk::Plan && w.streets.as_ref().is_none_or(|(known, _)| *known != open.revision) {
        w.streets = Some((open.revision, Arc::new(street_names(&open.survey))));
    }
}
