//! Planning the day's walks beside the window: a plan after a second, then a better one until the effort is spent.

use super::Tools;
use crate::jobs::JobKind;
use crate::session::walking::Gains;
use crate::session::{Answer, Desk, Outlook, Place, Session};
use crate::ui::notice::Trouble;
use std::sync::Arc;
use std::time::Instant;
use yardring_core::foresee::{Chances, Species, foresee};
use yardring_core::job::Watch;
use yardring_core::reach::Wanted;
use yardring_core::store::History;
use yardring_core::survey::{PremiseId, Promised, RoundId, Standing, Survey, settings};
use yardring_core::walks::by_hand::Ways;
use yardring_core::walks::{
    Day, DoorMinutes, Effort, Iterations, Morning, Pause, Standing as Reached, StreetNetwork, StreetWays, WalkError, Walking as OnFoot,
    Wish, iterations_for, learn_minutes,
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
    /// The chances of the round, where they are known by now; else the search works them out, so that a plan does not hang on what was
    /// looked at before.
    outlook: Option<Arc<Outlook>>,
    round: Option<RoundId>,
    reach: Wanted,
    species: Species,
    wish: Wish,
    on_foot: bool,
    minutes: Option<DoorMinutes>,
    promised: Vec<(PremiseId, Promised)>,
    seed: u64,
    languages: Vec<String>,
    /// The day that is there: what is locked stays, what an earlier day left over comes along.
    before: Option<Arc<Day>>,
    /// Seconds to search.
    effort: f64,
    began: Instant,
    gains: Arc<Gains>,
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
    /// Whether the search went on from the plan that was there.
    went_on: bool,
    ways: Arc<StreetWays>,
    better: Option<Asked>,
}

/// A number of tries that ends early when somebody says that it is enough, and tells what is reached.
struct Told<'a> {
    tries: Iterations,
    asked: &'a Asked,
}

impl Effort for Told<'_> {
    fn share_spent(&mut self, iterations: u64) -> f64 {
        if self.asked.gains.is_enough() { 1.0 } else { self.tries.share_spent(iterations) }
    }

    fn better(&mut self, reached: Reached, _iterations: u64) {
        self.asked.gains.note(self.asked.began.elapsed().as_secs_f64(), reached.prize);
    }
}

/// Goes on from the plan that is there, for as long as a search lasts, with another seed each time.
pub(super) fn go_on(session: &mut Session, tools: &mut Tools<'_>) {
    session.trouble = None;
    session.walking.gains = Arc::default();
    let Some(mut asked) = asked(session).filter(|asked| asked.before.is_some()) else { return };
    let w = &mut session.walking;
    (w.trial, w.bettering, w.bettered) = (None, false, None);
    w.went_on += 1;
    (asked.wish.goes_on, asked.seed) = (true, SEED + w.went_on);
    let effort = asked.effort;
    start(tools, asked, effort);
}

/// Starts the search for the day's walks.
pub(super) fn plan(session: &mut Session, tools: &mut Tools<'_>) {
    session.trouble = None;
    session.walking.gains = Arc::default();
    let Some(asked) = asked(session) else { return };
    session.walking.trial = None;
    session.walking.bettering = false;
    (session.walking.went_on, session.walking.bettered) = (0, None);
    let first = FIRST.min(asked.effort);
    start(tools, asked, first);
}

/// Plans the day after the one that is planned.
pub(super) fn plan_next(session: &mut Session, tools: &mut Tools<'_>) {
    let next = session.walking.day.as_ref().and_then(|d| d.on.tomorrow().ok());
    if next.is_some() {
        session.walking.crews.on = next;
        plan(session, tools);
    }
}

/// What is asked for now; `None` while something is missing.
fn asked(session: &Session) -> Option<Asked> {
    let open = session.open.as_ref()?;
    let picture = session.round.exactly(session.round_key().as_ref())?;
    let w = &session.walking;
    let crews = &w.crews;
    let on = crews.day(&open.survey)?;
    let wish = Wish {
        on,
        begins: crews.begins,
        shift_minutes: crews.shift_minutes,
        own_shifts: crews.own_shifts(),
        crews: crews.names.clone(),
        meeting_point: crews.meeting_point?,
        pauses: Pause::within(crews.begins, crews.whole(), &crews.pauses_on(&open.survey, on)),
        kept_off: w.kept_off.clone(),
        one_more: true,
        goes_on: false,
    };
    Some(Asked {
        survey: Arc::clone(&open.survey),
        standings: Arc::clone(&picture.standings),
        outlook: session.outlook.exactly(session.round_key().as_ref()).cloned(),
        round: open.round,
        reach: session.plan,
        species: session.measured.species,
        wish,
        on_foot: crews.on_foot,
        minutes: crews.minutes,
        promised: w.promised.clone(),
        seed: SEED,
        languages: w.languages(),
        before: w.day.clone(),
        effort: crews.effort,
        began: Instant::now(),
        gains: Arc::clone(&w.gains),
    })
}

fn start(tools: &mut Tools<'_>, mut asked: Asked, effort: f64) {
    tools.jobs.start(JobKind::Walks, "planning the walks", move |watch| {
        let found = search(&mut asked, effort, watch);
        let better = (effort < asked.effort && !asked.gains.is_enough()).then(|| asked.clone());
        Answer::Planned(found.map(|(day, went_on, ways)| Box::new(Planned { day, went_on, ways, better })))
    });
}

fn search(asked: &mut Asked, effort: f64, watch: &dyn Watch) -> Result<(Day, bool, Arc<StreetWays>), Trouble> {
    let outlook = outlook(asked, watch).map_err(told)?;
    let asked = &*asked;
    let chances = outlook.as_ref().as_ref().ok().map(|c| c.by_premise(asked.survey.premises.len()));
    let morning = Morning {
        survey: &asked.survey,
        standings: &asked.standings,
        reach: asked.reach,
        species: asked.species,
        chances: chances.as_deref(),
        minutes: asked.minutes,
        on_foot: asked.on_foot,
        promised: &asked.promised,
        wish: &asked.wish,
        before: asked.before.as_deref(),
        keeps: true,
    };
    let ready = morning.ready(watch).map_err(told)?;
    let tries = Iterations(iterations_for(effort, &asked.wish, &ready.candidates));
    let mut day = morning.plan(&ready, asked.seed, &mut Told { tries, asked }, watch).map_err(told)?.day;
    yardring_core::walks::restock(&asked.survey, asked.round, &mut day, &asked.languages);
    Ok((day, asked.wish.goes_on, ready.ways))
}

/// The chances of the round, worked out where nobody has looked at them yet.
fn outlook(asked: &mut Asked, watch: &dyn Watch) -> Result<Arc<Outlook>, WalkError> {
    if let Some(known) = &asked.outlook {
        return Ok(Arc::clone(known));
    }
    let found = Arc::new(Chances::shown(foresee(&asked.survey, &asked.standings, watch)?));
    asked.outlook = Some(Arc::clone(&found));
    Ok(found)
}

/// Where crews meet is chosen in a step of the worksheet.
fn told(error: WalkError) -> Trouble {
    match error {
        WalkError::NoStreetNear => {
            Trouble { what: error.to_string(), hint: format!("choose a place at a street in step {}", crate::desk::steps::plan::CREWS) }
        }
        other => Trouble::from(other),
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
    let (survey, meeting_point, on_foot) = (Arc::clone(&open.survey), day.meeting_point, day.on_foot);
    tools.jobs.start(JobKind::Ways, "learning the streets", move |_| {
        let network = Arc::new(StreetNetwork::new(&survey.streets, &OnFoot::of(&survey, on_foot)));
        Answer::WaysKnown(StreetWays::new(survey, network, meeting_point).map(Arc::new))
    });
}

/// Learns minutes at a door from the visits.
pub(super) fn learn(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(open) = session.open.as_ref().filter(|_| session.desk == Desk::Plan) else { return };
    if !session.walking.learnt.wants(&open.revision) {
        return;
    }
    session.walking.learnt.ask(open.revision);
    let (survey, revision) = (Arc::clone(&open.survey), open.revision);
    tools.jobs.start(JobKind::Learn, "learning minutes at a door", move |_| {
        Answer::Learnt(revision, Box::new(learn_minutes(&survey, &OnFoot::default())))
    });
}

/// Takes a plan and, when there is effort left, looks for a better one.
pub(super) fn planned(session: &mut Session, tools: &mut Tools<'_>, plan: Result<Box<Planned>, Trouble>) {
    match plan {
        Ok(plan) => {
            let Planned { day, went_on, ways, better } = *plan;
            let first = !session.walking.bettering;
            session.walking.bettering = better.is_some();
            // A search that was stopped early may be behind the plan that is shown.
            let worth = |day: &Day| day.walks.iter().flat_map(|w| &w.doors).map(|d| d.worth).sum::<f64>();
            let shown = session.walking.day.as_ref().filter(|_| !first && session.walking.gains.is_enough());
            if shown.is_some_and(|shown| worth(shown) > worth(&day)) {
                return;
            }
            session.walking.ways = Some(ways as Arc<dyn Ways + Send + Sync>);
            if went_on {
                let bettered = session.walking.day.as_deref().is_none_or(|shown| shown.walks != day.walks);
                session.walking.bettered = Some(bettered);
                if !bettered {
                    return;
                }
            }
            session.walking.written.clear();
            // A better plan takes the first one's place; taking back leads to the plan before both.
            if !first && session.open.as_ref().is_some_and(|o| o.history.undoes_setting(settings::WALKS)) {
                super::walking::step(session, History::undo);
            }
            super::walking::put(session, Arc::new(day));
            if let Some(asked) = better {
                let effort = asked.effort;
                start(tools, asked, effort);
            }
        }
        Err(trouble) => session.trouble = Some((Place::Walks, trouble)),
    }
}

/// Drops the search: what it finds is not wanted any more.
pub(super) fn drop_search(session: &mut Session, tools: &mut Tools<'_>) {
    tools.jobs.cancel(JobKind::Walks);
    session.walking.bettering = false;
}
