//! What has to be worked out anew after something changed, and what to do when that stops or breaks.

use super::Tools;
use crate::action::Slow;
use crate::jobs::{JobKind, Jobs};
use crate::map::{Brush, SignalSpot, SourceSpot, SpotKind};
use crate::session::{Answer, Desk, Laid, Painted, Place, ReachAnswer, ReachKey, RoundKey, RoundPicture, Session, ToSettle, Trace};
use crate::ui::notice::Trouble;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;
use yardring_core::brief::classes::{self, Showing};
use yardring_core::brief::together;
use yardring_core::foresee::{self, Chances};
use yardring_core::intake::{IntakeError, settle};
use yardring_core::job::{Cancelled, Watch};
use yardring_core::measure::{self, Access, Counts, Intervals};
use yardring_core::place::BoxIndex;
use yardring_core::reach::{self, Kept, SourceKind, Wanted};
use yardring_core::survey::{BlockId, Marking, Outcome, SignalKind, Standing, Survey, standings};

/// Starts a job for every question that is new.
pub(super) fn follow_up(session: &mut Session, tools: &mut Tools<'_>) {
    lay(session, tools);
    see_round(session, tools);
    list_waiting(session, tools);
    measure_reach(session, tools);
    foresee(session, tools);
    classify(session, tools);
    super::walk_lines::follow_up(session);
    super::streets::follow_up(session);
    super::walk_search::know_ways(session, tools);
    super::walk_search::learn(session, tools);
    super::looking::bring_tiles(session, tools);
}

fn lay(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(open) = &session.open else { return };
    let revision = open.revision;
    if !session.laid.wants(&revision) {
        return;
    }
    let first = session.laid.latest().is_none() && session.sketch.latest().is_none();
    if let Some(brush) = tools.brush.filter(|_| first && open.survey.premises.len() >= WORTH_A_SKETCH) {
        if session.sketch.wants(&revision) {
            session.sketch.ask(revision);
            sketch(tools.jobs, revision, Arc::clone(&open.survey), brush.clone());
        }
        return;
    }
    session.laid.ask(revision);
    let (survey, brush) = (Arc::clone(&open.survey), tools.brush.cloned());
    tools.jobs.start(JobKind::Outlines, "drawing the map", move |watch| match laid(&survey, brush.as_ref(), watch) {
        Ok(laid) => Answer::Laid(revision, Box::new(laid)),
        Err(Cancelled) => Answer::Stopped,
    });
}

/// A survey of so many premises is shown from far out before all its outlines are cut.
const WORTH_A_SKETCH: usize = 100_000;

fn sketch(jobs: &mut Jobs<Answer>, revision: u64, survey: Arc<Survey>, brush: Brush) {
    jobs.start(JobKind::Outlines, "drawing the map", move |watch| {
        let outlines = &survey.premises.outline;
        let Ok(premises) = brush.sketch_outlines(outlines, watch) else { return Answer::Stopped };
        let lies = together(&[outlines]);
        let laid = Laid {
            premises: Some(premises),
            blocks: None,
            streets: None,
            index: Arc::new(BoxIndex::new(outlines.bounds())),
            street_index: Arc::new(BoxIndex::new(survey.streets.line.bounds())),
            without_outline: outlines.bounds().iter().filter(|b| b.is_empty()).count(),
            extent: lies.extent,
            astray: lies.told(),
            signals: Arc::new(spots(&survey)),
        };
        Answer::Sketched(revision, Box::new(laid))
    });
}

fn laid(survey: &Survey, brush: Option<&Brush>, watch: &dyn Watch) -> Result<Laid, Cancelled> {
    let outlines = &survey.premises.outline;
    let drawn = |shapes: &yardring_core::place::Shapes| !shapes.extent().is_empty();
    let blocks = brush.filter(|_| drawn(&survey.blocks.outline));
    let streets = brush.filter(|_| drawn(&survey.streets.line));
    let lies = together(&[outlines]);
    Ok(Laid {
        premises: brush.map(|b| b.lay_outlines(outlines, watch)).transpose()?,
        blocks: blocks.map(|b| b.lay_outlines(&survey.blocks.outline, watch)).transpose()?,
        streets: streets.map(|b| b.lay_lines(&survey.streets.line, watch)).transpose()?,
        index: Arc::new(BoxIndex::new(outlines.bounds())),
        street_index: Arc::new(BoxIndex::new(survey.streets.line.bounds())),
        without_outline: outlines.bounds().iter().filter(|b| b.is_empty()).count(),
        extent: lies.extent,
        astray: lies.told(),
        signals: Arc::new(spots(survey)),
    })
}

/// Traps and complaints. A case has no mark: where it is, is health information.
fn spots(survey: &Survey) -> Vec<SignalSpot> {
    let kind = |k| match k {
        SignalKind::Case => None,
        SignalKind::Trap => Some(SpotKind::Trap),
        SignalKind::Complaint => Some(SpotKind::Complaint),
    };
    survey.signals.iter().filter_map(|s| Some(SignalSpot { place: s.place, kind: kind(s.kind)? })).collect()
}

/// What there is to settle is looked for at the intake desk.
fn list_waiting(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(open) = session.open.as_ref().filter(|_| session.desk == Desk::Intake) else { return };
    let revision = open.revision;
    if !session.waiting.wants(&revision) {
        return;
    }
    let survey = Arc::clone(&open.survey);
    session.waiting.ask(revision);
    tools.jobs.start(JobKind::Waiting, "looking for candidates", move |watch| match settle::waiting(&survey, watch) {
        Ok(waiting) => Answer::Waiting(revision, ToSettle::new(waiting, settle::repeats(&survey), survey.refused.len())),
        Err(IntakeError::Cancelled(_)) => Answer::Stopped,
        // Without candidates the rows are still shown with their reasons.
        Err(_) => Answer::Waiting(revision, ToSettle::new(Vec::new(), settle::repeats(&survey), survey.refused.len())),
    });
}

fn see_round(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(key) = session.round_key().filter(|k| session.round.wants(k)) else { return };
    let Some(open) = &session.open else { return };
    session.round.ask(key);
    let survey = Arc::clone(&open.survey);
    tools.jobs.start(JobKind::Round, "adding up the round", move |_| Answer::RoundSeen(key, Box::new(picture(&survey, key))));
}

/// Where everything stands in a round; without a round nothing was visited.
fn picture(survey: &Survey, key: RoundKey) -> RoundPicture {
    let standings = match key.round {
        Some(round) => standings(survey, round),
        None => vec![Standing::default(); survey.premises.len()],
    };
    let markings = survey.markings(&standings);
    let mut marked = [0; Marking::ALL.len()];
    for marking in &markings {
        marked[*marking as usize] += 1;
    }
    RoundPicture {
        sources: SourceKind::ALL.map(|from| reach::sources(survey, &standings, &Wanted { from, ..Wanted::default() }).len() as u64),
        from_outside: [false, true]
            .map(|pupae| standings.iter().filter(|s| s.seen_from_outside() && (s.source_with_pupae || !pupae)).count() as u64),
        traps: survey.signals.iter().filter(|s| s.kind == SignalKind::Trap).count() as u64,
        district: measure::district(&standings),
        sure: Intervals::of_district(&standings),
        access: key.round.map_or_else(Access::default, |r| measure::access(survey, r, &standings, 1, |_| Some(0))[0]),
        blocks: worst_first(measure::by_block(survey, &standings)),
        days: days(survey),
        standings: Arc::new(standings),
        markings: Arc::new(markings),
        marked,
    }
}

fn worst_first(mut blocks: Vec<(Option<BlockId>, Counts)>) -> Vec<(Option<BlockId>, Counts)> {
    let index = |c: &Counts| c.house_index().unwrap_or(-1.0);
    // Stable: blocks of one index stay in the order of their ids.
    blocks.sort_by(|a, b| index(&b.1).total_cmp(&index(&a.1)));
    blocks
}

fn days(survey: &Survey) -> Vec<(Date, u32, u32)> {
    let mut days: BTreeMap<Date, (u32, u32)> = BTreeMap::new();
    for visit in survey.visits.rows() {
        let day = days.entry(visit.when.day).or_default();
        day.0 += 1;
        day.1 += u32::from(visit.outcome == Outcome::Inspected);
    }
    days.into_iter().map(|(day, (visits, inside))| (day, visits, inside)).collect()
}

/// Reach is worked out where it is looked at: at the plan desk, and for the brief map of gaps.
fn measure_reach(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(key) = session.reach_key().filter(|k| session.shows_reach() && session.reach.wants(k)) else { return };
    let (Some(open), Some(picture)) = (&session.open, session.round.exactly(Some(&key.round))) else { return };
    session.reach.ask(key);
    let (survey, standings, brush) = (Arc::clone(&open.survey), Arc::clone(&picture.standings), tools.brush.cloned());
    tools.jobs.start(JobKind::Reach, "measuring the reach", move |watch| match reached(&survey, &standings, key, brush.as_ref(), watch) {
        Ok(answer) => Answer::Reached(key, Box::new(answer)),
        Err(Cancelled) => Answer::Stopped,
    });
    // A list of yards behind a number of the reach before is none of this one.
    session.measured.traced = session.measured.traced.take().filter(|t| !matches!(t.of, Trace::Sources | Trace::Inside));
}

fn reached(
    survey: &Survey,
    standings: &[Standing],
    key: ReachKey,
    brush: Option<&Brush>,
    watch: &dyn Watch,
) -> Result<ReachAnswer, Cancelled> {
    let plan = key.plan;
    let mut sources = reach::sources(survey, standings, &plan);
    let mut gaps = reach::gaps(survey, standings, &sources, &plan, watch)?;
    let covered = reach::coverage(survey, standings, &sources, &plan, Some(gaps.len()), watch)?;
    let ground = if key.masks() {
        let ground = reach::masked_ground(survey, &sources, plan.radius, watch)?;
        (sources, gaps) = (reach::masked_cases(survey), reach::mask_gaps(survey, &plan, gaps));
        ground
    } else {
        reach::ground(survey, &sources, plan.radius, watch)?
    };
    let barriers = Kept::of(survey).map(|k| (k.file.clone(), k.barriers().length()));
    let layer = brush.map(|b| b.lay_outlines(&ground.shapes, watch)).transpose()?;
    let dots = match plan.from {
        SourceKind::Cases => Vec::new(),
        _ => sources.list().iter().map(|s| SourceSpot { place: s.place, pupae: s.pupae }).collect(),
    };
    let with_pupae = dots.iter().filter(|d: &&SourceSpot| d.pupae).count() as u64;
    Ok(ReachAnswer { sources, gaps: Arc::new(gaps), ground: Arc::new(ground), covered, barriers, layer, dots: Arc::new(dots), with_pupae })
}

/// Somebody asks for work that waited for it, or asks again after it was stopped.
pub(super) fn begin(session: &mut Session, what: Slow) {
    if what == Slow::Clusters {
        session.measured.clusters_wanted = true;
        return;
    }
    session.measured.chances_wanted = session.round_key();
    session.outlook.forget_asking();
    session.trouble = session.trouble.take().filter(|t| t.0 != Place::Reach);
}

/// Chances are worked out where gaps are looked at; in a large district only for somebody who asks.
fn foresee(session: &mut Session, tools: &mut Tools<'_>) {
    let shown = session.shows_chances() && session.may_foresee();
    let Some(key) = session.round_key().filter(|k| k.round.is_some() && shown && session.outlook.wants(k)) else { return };
    let (Some(open), Some(picture)) = (&session.open, session.round.exactly(Some(&key))) else { return };
    let (survey, standings) = (Arc::clone(&open.survey), Arc::clone(&picture.standings));
    session.outlook.ask(key);
    tools.jobs.start(JobKind::Foresee, "working out chances", move |watch| match foresee::foresee(&survey, &standings, watch) {
        Ok(found) => Answer::Foreseen(key, Box::new(Chances::shown(found))),
        Err(Cancelled) => Answer::Stopped,
    });
}

/// Sorts premises and blocks into the classes of the map.
fn classify(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(key) = session.class_key().filter(|k| session.classes.wants(k)) else { return };
    let (Some(open), Some(picture)) = (&session.open, session.round.exactly(Some(&key.round))) else { return };
    // Round cases the yards themselves would draw the ring that the mask has moved away.
    let shown = key.reach.as_ref().filter(|k| !k.masks());
    let gaps = session.reach.exactly(shown).map(|r| Arc::clone(&r.gaps));
    let (survey, standings) = (Arc::clone(&open.survey), Arc::clone(&picture.standings));
    let outlook = session.outlook.exactly(Some(&key.round)).filter(|_| key.chances).cloned();
    session.classes.ask(key);
    tools.jobs.start(JobKind::Classes, "colouring the map", move |_| {
        let gaps = gaps.as_ref().map_or(&[][..], |g| &g[..]);
        let chances = outlook.as_ref().and_then(|o| o.as_ref().as_ref().ok());
        let chances = chances.map_or(&[][..], |c| &c.foreseen().chances);
        let (colour_by, classing, round, since) = (key.colour, key.classing, key.round.round, key.since);
        let classes = classes::classify(&survey, &standings, &Showing { colour_by, classing, round, since, gaps, chances });
        let (premises, blocks) = (Arc::new(classes.premises.clone()), Arc::new(classes.blocks.clone()));
        let legend = classes.legend();
        Answer::Classified(key, Box::new(Painted { classes, premises, blocks, legend }))
    });
}

/// Stops a job. What it was to answer stays open until somebody asks again.
pub(super) fn cancel(session: &mut Session, tools: &mut Tools<'_>, kind: JobKind) {
    tools.jobs.cancel(kind);
    let stopped = Trouble { what: "stopped before it was done".to_owned(), hint: String::new() };
    session.trouble = place_of(kind).map(|place| (place, stopped));
}

/// Asks again for what was stopped.
pub(super) fn again(session: &mut Session) {
    session.trouble = None;
    session.reach.forget_asking();
    session.round.forget_asking();
    session.waiting.forget_asking();
    session.outlook.forget_asking();
    session.classes.forget_asking();
    session.laid.forget_asking();
    session.sketch.forget_asking();
    super::measuring::again(session);
}

/// A job broke: a fault of the program, said in the step that asked for it.
pub(super) fn broke(session: &mut Session, kind: JobKind) {
    session.unsaved.failed |= kind == JobKind::Unsaved;
    let what = "the program made a mistake here and stopped this work; nothing was changed".to_owned();
    let hint = "save the survey, and tell whoever looks after this program what you did last".to_owned();
    session.trouble = Some((place_of(kind).unwrap_or(Place::File), Trouble { what, hint }));
}

fn place_of(kind: JobKind) -> Option<Place> {
    match kind {
        JobKind::Open | JobKind::Save | JobKind::Outlines | JobKind::LeftBehind | JobKind::Unsaved => Some(Place::File),
        JobKind::Record => Some(Place::Record),
        JobKind::Look | JobKind::BringIn => Some(Place::Intake),
        JobKind::Settle | JobKind::Waiting => Some(Place::Settle),
        JobKind::Round | JobKind::Reach | JobKind::Foresee | JobKind::Barriers => Some(Place::Reach),
        JobKind::Classes | JobKind::Kinds | JobKind::Change | JobKind::Clusters => Some(Place::Brief),
        JobKind::Walks | JobKind::Ways | JobKind::Learn | JobKind::Lines => Some(Place::Walks),
        JobKind::Sheets => Some(Place::Sheets),
        JobKind::Ground | JobKind::OpenGround => Some(Place::Ground),
        JobKind::Due => Some(Place::Due),
        JobKind::Find | JobKind::Dialog | JobKind::Paper => None,
    }
}
