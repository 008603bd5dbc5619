//! Planning the day's walks beside the window: a plan after a second, then a better one until the effort is spent.

use super::Tools;
use crate::jobs::JobKind;
use crate::session::walking::Walking;
use crate::session::{Answer, Desk, Outlook, Place, Session};
use crate::ui::notice::Trouble;
use std::sync::Arc;
use yardring_core::foresee::Species;
use yardring_core::job::Watch;
use yardring_core::reach::Wanted;
use yardring_core::store::History;
use yardring_core::survey::{RoundId, Standing, Survey, settings};
use yardring_core::walks::by_hand::{self, Ways};
use yardring_core::walks::{
    Day, Door, DoorMinutes, Iterations, Learnt, Looking, StreetNetwork, StreetWays, Walking as OnFoot, Wish, candidates, iterations_for,
    learn_minutes, plan_rest,
};

/// The first plan is shown after about so many seconds.
const FIRST: f64 = 1.0;
/// The search's seed, that of the command line: the same survey, wishes and seconds give the same plan.
const SEED: u64 = 1;

/// Everything that a day is planned from.
#[derive(Clone)]
pub struct Asked {
    survey: Arc<Survey>,
    standings: Arc<Vec<Standing>>,
    /// The chances of the round, where they are known by now.
    outlook: Option<Arc<Outlook>>,
    round: Option<RoundId>,
    reach: Wanted,
    wish: Wish,
    minutes: Option<f64>,
    languages: Vec<String>,
    /// What stays of the day that is there.
    before: Option<Arc<Day>>,
    /// Streets that a crew is kept off.
    kept_off: Vec<(usize, String)>,
    /// Seconds to search.
    effort: f64,
}

impl std::fmt::Debug for Asked {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Asked").field("wish", &self.wish).field("effort", &self.effort).finish_non_exhaustive()
    }
}

/// A plan, with what is needed to change it by hand, and to better it.
#[derive(Debug)]
pub struct Planned {
    day: Day,
    ways: Arc<StreetWays>,
    better: Option<Asked>,
}

/// Starts the search for the day's walks.
pub(super) fn plan(session: &mut Session, tools: &mut Tools<'_>) {
    session.trouble = None;
    let Some(asked) = asked(session) else { return };
    session.walking.trial = None;
    session.walking.bettering = false;
    start(tools, asked, FIRST);
}

/// What is asked for now; `None` while something is missing.
fn asked(session: &Session) -> Option<Asked> {
    let open = session.open.as_ref()?;
    let picture = session.round.exactly(session.round_key().as_ref())?;
    let w = &session.walking;
    let wish = Wish {
        on: w.crews.day(&open.survey)?,
        begins: w.crews.begins,
        shift_minutes: w.crews.shift_minutes,
        crews: w.crews.names.clone(),
        meeting_point: w.crews.meeting_point?,
        pauses: Vec::new(),
        one_more: true,
    };
    Some(Asked {
        survey: Arc::clone(&open.survey),
        standings: Arc::clone(&picture.standings),
        outlook: session.outlook.exactly(session.round_key().as_ref()).cloned(),
        round: open.round,
        reach: session.plan,
        wish,
        minutes: w.crews.minutes,
        languages: w.languages(),
        before: w.day.clone(),
        kept_off: w.kept_off.clone(),
        effort: w.crews.effort,
    })
}

fn start(tools: &mut Tools<'_>, asked: Asked, effort: f64) {
    tools.jobs.start(JobKind::Walks, "planning the walks", move |watch| {
        let better = (effort < asked.effort).then(|| asked.clone());
        match search(&asked, effort, watch) {
            Ok((day, ways)) => Answer::Planned(Ok(Box::new(Planned { day, ways, better }))),
            Err(trouble) => Answer::Planned(Err(trouble)),
        }
    });
}

fn search(asked: &Asked, effort: f64, watch: &dyn Watch) -> Result<(Day, Arc<StreetWays>), Trouble> {
    // All on foot: a change by hand is reckoned on foot too.
    let walking = OnFoot { driving: None, ..OnFoot::default() };
    let network = Arc::new(StreetNetwork::new(&asked.survey.streets, &walking));
    let wish = &asked.wish;
    let ways = StreetWays::new(Arc::clone(&asked.survey), Arc::clone(&network), wish.meeting_point, wish.pauses.clone());
    let ways = Arc::new(ways.ok_or_else(|| Trouble {
        what: "no street is near the meeting point".to_owned(),
        hint: "choose a place at a street in step 4".to_owned(),
    })?);
    let minutes = match asked.minutes {
        Some(m) => Learnt { minutes: DoorMinutes { complete: m, closed: m, many: m }, ..learn_minutes(&asked.survey, &walking) },
        None => learn_minutes(&asked.survey, &walking),
    };
    let shown = asked.outlook.as_ref().and_then(|o| o.as_ref().as_ref().ok());
    let chances = shown.map(|c| c.by_premise(asked.survey.premises.len()));
    let looking =
        Looking { on: wish.on, wanted: asked.reach, species: Species::Albopictus, chances: chances.as_deref(), minutes: &minutes };
    let doors =
        candidates(&asked.survey, &asked.standings, &looking, watch).map_err(|e| Trouble { what: e.to_string(), hint: String::new() })?;
    let nothing = empty(wish);
    let before = asked.before.as_deref().unwrap_or(&nothing);
    let mut tries = Iterations(iterations_for(effort, wish, &doors));
    let mut day = plan_rest(&asked.survey, &network, &doors, wish, before, &*ways, SEED, &mut tries, watch)?.day;
    for (walk, street) in &asked.kept_off {
        if day.walks.get(*walk).is_some_and(|w| !w.locked) {
            let there = |d: &Door| super::street_of(&asked.survey, d.premise) == street;
            day = by_hand::hand_over_all(&day, *walk, &there, &*ways)?;
        }
    }
    super::walking::stock(&asked.survey, asked.round, &mut day, &asked.languages);
    Ok((day, ways))
}

/// A day of which nothing stays.
fn empty(wish: &Wish) -> Day {
    Day {
        on: wish.on,
        begins: wish.begins,
        shift_minutes: wish.shift_minutes,
        meeting_point: wish.meeting_point,
        walks: Vec::new(),
        left_out: Vec::new(),
        one_more_crew: None,
    }
}

/// Learns the ways of a day that was kept in the survey, so that it can be changed by hand.
pub(super) fn know_ways(session: &mut Session, tools: &mut Tools<'_>) {
    let w = &mut session.walking;
    let (Some(open), Some(day)) = (&session.open, &w.day) else { return };
    if w.ways.is_some() || w.ways_asked || session.desk != Desk::Plan {
        return;
    }
    w.ways_asked = true;
    let (survey, meeting_point) = (Arc::clone(&open.survey), day.meeting_point);
    tools.jobs.start(JobKind::Ways, "learning the streets", move |_| {
        let network = Arc::new(StreetNetwork::new(&survey.streets, &OnFoot { driving: None, ..OnFoot::default() }));
        Answer::WaysKnown(StreetWays::new(survey, network, meeting_point, Vec::new()).map(Arc::new))
    });
}

/// Takes a plan and, when there is effort left, looks for a better one.
pub(super) fn planned(session: &mut Session, tools: &mut Tools<'_>, plan: Result<Box<Planned>, Trouble>) {
    match plan {
        Ok(plan) => {
            let Planned { day, ways, better } = *plan;
            let first = !session.walking.bettering;
            session.walking.ways = Some(ways as Arc<dyn Ways + Send + Sync>);
            session.walking.written.clear();
            // A better plan takes the first one's place; taking back leads to the plan before both.
            if !first && session.open.as_ref().is_some_and(|o| o.history.undoes_setting(settings::WALKS)) {
                super::walking::step(session, History::undo);
            }
            super::walking::put(session, Arc::new(day));
            session.walking.bettering = better.is_some();
            if let Some(asked) = better {
                let effort = asked.effort;
                start(tools, asked, effort);
            }
        }
        Err(trouble) => session.trouble = Some((Place::Walks, trouble)),
    }
}

/// Ends the search and keeps the best plan so far.
pub(super) fn stop_here(walking: &mut Walking, tools: &mut Tools<'_>) {
    tools.jobs.cancel(JobKind::Walks);
    walking.bettering = false;
}
