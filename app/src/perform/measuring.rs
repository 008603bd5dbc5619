//! Measures of the brief desk and call-backs of the plan desk, worked out where they are looked at.

use super::Tools;
use super::filing;
use crate::jobs::JobKind;
use crate::session::{Answer, ChangeKey, ClustersAnswer, Compare, Desk, DueAnswer, DueDay, DueKey, KindsAnswer, RoundKey, Session, Sets};
use crate::sets;
use crate::tables::{KEY_SHARE, SEED};
use crate::ui::notice::Trouble;
use jiff::ToSpan as _;
use jiff::civil::Date;
use std::cmp::Reverse;
use std::sync::Arc;
use yardring_core::foresee::{CallBack, callbacks};
use yardring_core::job::{Cancelled, Watch};
use yardring_core::measure::{self, KeyContainers, Neighbours};
use yardring_core::store::Edit;
use yardring_core::survey::{ContainerKnowledge, RoundId, Standing, Survey};

/// Days on the strip of call-backs, from the day they are seen from.
const DAYS: i64 = 14;

/// Starts a job for every question that is new.
pub(super) fn follow_up(session: &mut Session, tools: &mut Tools<'_>) {
    match session.desk {
        Desk::Brief => {
            kinds(session, tools);
            change(session, tools);
            clusters(session, tools);
        }
        Desk::Plan => due(session, tools),
        Desk::Intake => {}
    }
}

/// The survey and where its premises stand, once the round was added up.
fn seen(session: &Session) -> Option<(RoundKey, Arc<Survey>, Arc<Vec<Standing>>)> {
    let key = session.round_key().filter(|k| k.round.is_some())?;
    let picture = session.round.exactly(Some(&key))?;
    Some((key, Arc::clone(&session.open.as_ref()?.survey), Arc::clone(&picture.standings)))
}

fn kinds(session: &mut Session, tools: &mut Tools<'_>) {
    let Some((key, survey, standings)) = seen(session).filter(|s| session.measured.kinds.wants(&s.0)) else { return };
    session.measured.kinds.ask(key);
    tools.jobs.start(JobKind::Kinds, "adding up measures and kinds of container", move |watch| {
        match measure::key_containers(&survey, &standings, KEY_SHARE, SEED, watch) {
            Ok(found) => Answer::Kinds(key, Box::new(kinds_answer(&survey, key.round, &standings, found))),
            Err(Cancelled) => Answer::Stopped,
        }
    });
}

/// The kinds by what they give, most first; of two alike the one first in the alphabet.
fn kinds_answer(survey: &Survey, round: Option<RoundId>, standings: &[Standing], key: KeyContainers) -> KindsAnswer {
    let counted = measure::by_kind(survey, standings);
    let mut kinds: Vec<_> = counted.into_iter().zip(&key.kinds).map(|((kind, counts), (_, share))| (kind, counts, *share)).collect();
    kinds.sort_by_key(|(kind, c, _)| (Reverse(c.pupae), Reverse(c.positive_containers), *kind));
    let blocks = measure::by_block(survey, standings).into_iter().map(|(block, _)| block);
    let sets = Sets {
        district: sets::of_district(survey, "", round, standings),
        blocks: blocks.zip(sets::of_blocks(survey, round, standings)).collect(),
        rounds: sets::of_rounds(survey),
        land_uses: round.map(|r| sets::of_land_uses(survey, r, standings)).unwrap_or_default(),
    };
    KindsAnswer { kinds, key, sets }
}

fn change(session: &mut Session, tools: &mut Tools<'_>) {
    let (Some(rounds), Some(open)) = (session.rounds_compared(), &session.open) else { return };
    let blocks = open.survey.blocks.len();
    let named = &session.measured.compare.beside;
    let beside = named.naming(named.blocks().iter().copied().filter(|b| b.row() < blocks));
    let key = ChangeKey { revision: open.revision, rounds, beside };
    if !session.measured.change.wants(&key) {
        return;
    }
    let survey = Arc::clone(&open.survey);
    session.measured.change.ask(key.clone());
    tools.jobs.start(JobKind::Change, "comparing the rounds", move |watch| {
        match measure::change_between(&survey, key.rounds, &key.beside, watch) {
            Ok(found) => Answer::Changed(key, Box::new(found)),
            Err(Cancelled) => Answer::Stopped,
        }
    });
}

fn clusters(session: &mut Session, tools: &mut Tools<'_>) {
    let wanted = seen(session).filter(|s| session.measured.clusters_wanted && session.measured.clusters.wants(&s.0));
    let Some((key, survey, standings)) = wanted else { return };
    session.measured.clusters.ask(key);
    tools.jobs.start(JobKind::Clusters, "looking for clusters", move |watch| match clustered(&survey, &standings, watch) {
        Ok(found) => Answer::Clustered(key, Box::new(found)),
        Err(Cancelled) => Answer::Stopped,
    });
}

fn clustered(survey: &Survey, standings: &[Standing], watch: &dyn Watch) -> Result<ClustersAnswer, Cancelled> {
    let groups = measure::by_block(survey, standings);
    let found = measure::clustering(survey, &groups, Neighbours::of(survey).metres(), SEED, watch)?;
    let crowd = measure::crowd(survey, standings, SEED, watch)?;
    Ok(ClustersAnswer { found, crowd })
}

fn due(session: &mut Session, tools: &mut Tools<'_>) {
    let Some((round, survey, standings)) = seen(session) else { return };
    let Some(on) = due_on(session) else { return };
    let key = DueKey { round, on, species: session.measured.species };
    if !session.measured.due.wants(&key) {
        return;
    }
    session.measured.due.ask(key);
    tools.jobs.start(JobKind::Due, "looking for call-backs", move |_| {
        let list = callbacks(&survey, &standings, key.on, key.species);
        let days = strip(&list, key.on);
        Answer::Due(key, Box::new(DueAnswer { list, days }))
    });
}

/// The day call-backs are seen from: the one chosen, or the day after the round.
pub(super) fn due_on(session: &Session) -> Option<Date> {
    let open = session.open.as_ref()?;
    let last = open.survey.rounds.get(open.round?.row())?.last;
    session.measured.on.or_else(|| last.checked_add(1.day()).ok())
}

/// The fields of the strip: overdue, then day by day; what falls behind the last day stands on it.
fn strip(list: &[CallBack], on: Date) -> Vec<DueDay> {
    let mut days = vec![DueDay { day: None, rows: Vec::new(), last_safe: 0 }];
    days.extend((0..DAYS).filter_map(|d| Some(DueDay { day: Some(on.checked_add(d.days()).ok()?), rows: Vec::new(), last_safe: 0 })));
    let last = days.len() as i64 - 1;
    for (row, call) in list.iter().enumerate() {
        let field = &mut days[(call.days_left + 1).clamp(0, last) as usize];
        field.rows.push(row as u32);
        field.last_safe += u32::from(call.last_safe_day.is_some());
    }
    days
}

/// Takes another table of container kinds, to be undone like any change.
pub(super) fn know(session: &mut Session, known: &ContainerKnowledge) {
    rule(session, Edit::containers(known));
}

/// Changes what the office settles for its survey, to be undone like any change.
pub(super) fn rule(session: &mut Session, edit: Edit) {
    filing::change(session, |open, survey| open.history.perform(survey, edit).map(|()| true).map_err(Trouble::from));
}

/// Compares other rounds, or beside other blocks.
pub(super) fn compare(session: &mut Session, compare: Compare) {
    let beside = compare.beside.naming(compare.beside.blocks().iter().copied());
    session.measured.compare = Compare { beside, ..compare };
}

/// Asks again for what was stopped.
pub(super) fn again(session: &mut Session) {
    let m = &mut session.measured;
    m.kinds.forget_asking();
    m.change.forget_asking();
    m.clusters.forget_asking();
    m.due.forget_asking();
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use yardring_core::foresee::Reason;
    use yardring_core::survey::PremiseId;

    #[test]
    fn every_call_back_stands_on_one_field_of_the_strip() {
        let call = |days_left: i64, safe: bool| CallBack {
            premise: PremiseId(0),
            reason: Reason::NoAnswer,
            since: date(2025, 7, 23),
            due: date(2025, 7, 30),
            last_safe_day: safe.then_some(date(2025, 7, 30)),
            adult: None,
            stage: None,
            days_left,
            attempts: 1,
            promised: None,
        };
        let days = strip(&[call(-3, true), call(-1, false), call(0, true), call(2, false), call(99, false)], date(2025, 7, 28));
        let filled: Vec<(usize, usize, u32)> =
            days.iter().enumerate().filter(|(_, d)| !d.rows.is_empty()).map(|(i, d)| (i, d.rows.len(), d.last_safe)).collect();
        assert_eq!(filled, [(0, 2, 1), (1, 1, 1), (3, 1, 0), (14, 1, 0)]);
        assert_eq!((days.len(), days[1].day), (15, Some(date(2025, 7, 28))));
    }
}
