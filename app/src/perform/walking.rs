//! The day's walks: planned, changed by hand, handed out.

use super::{Tools, streets, walk_lines, walk_search};
use crate::day_files;
use crate::jobs::JobKind;
use crate::session::walking::{Crews, Row, Trial, WalkAction, Walking, lines, rows};
use crate::session::{Answer, Place, Session};
use crate::ui::notice::Trouble;
use jiff::civil::Time;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::brief::HandOut;
use yardring_core::store::{Edit, EditError, History, planned_day};
use yardring_core::survey::{PremiseId, Promised, Survey, promise_at, settings};
use yardring_core::walks::by_hand::{Ways, cost, spot_of};
use yardring_core::walks::{AtStreets, Change, Day, Door, compare, neatness, planned_doors, restock, write_day};

/// Carries out what was asked of the day's walks.
pub(super) fn act(session: &mut Session, tools: &mut Tools<'_>, action: WalkAction) {
    let w = &mut session.walking;
    match action {
        WalkAction::Crews(crews) => w.crews = crews,
        WalkAction::Picking(on) => w.picking = on,
        WalkAction::MeetAt(place) => (w.crews.meeting_point, w.picking) = (Some(place), false),
        WalkAction::Plan => walk_search::plan(session, tools),
        WalkAction::GoOn => walk_search::go_on(session, tools),
        WalkAction::PlanNext => walk_search::plan_next(session, tools),
        WalkAction::StopHere => w.gains.enough(),
        WalkAction::LetIn(at) => {
            if at < w.kept_off.len() {
                w.kept_off.remove(at);
                if let Some(mut day) = w.day.as_deref().cloned() {
                    day.kept_off.clone_from(&w.kept_off);
                    put(session, Arc::new(day));
                }
            }
        }
        WalkAction::KeepOff(crew, street) => streets::keep_off(session, tools, crew, street),
        WalkAction::ShowTorn => streets::show_torn(session),
        WalkAction::HideTorn => w.torn_at = None,
        WalkAction::Promise(premise, promised) => promise(session, tools, premise, Some(promised)),
        WalkAction::NoPromise(premise) => promise(session, tools, premise, None),
        WalkAction::Lines(path) => walk_lines::from_file(session, tools, path),
        WalkAction::LineDrawn => walk_lines::drawn(session),
        WalkAction::NoLines => walk_lines::keep(session, None),
        WalkAction::Choose(row) => choose(session, row),
        WalkAction::Weigh(change) => weigh(session, change),
        WalkAction::DoIt => {
            if let Some(trial) = session.walking.trial.take() {
                let mut day = Day::clone(&trial.day);
                if let Change::KeepOff(walk, street) = trial.change {
                    streets::note(&mut session.walking.kept_off, &mut day, walk, street);
                }
                day.kept_off.clone_from(&session.walking.kept_off);
                walk_search::drop_search(session, tools);
                put(session, Arc::new(day));
            }
        }
        WalkAction::LeaveIt => w.trial = None,
        WalkAction::Do(change) => {
            weigh(session, change);
            act(session, tools, WalkAction::DoIt);
        }
        WalkAction::Paper(paper) => w.paper = paper,
        WalkAction::Languages(typed) => w.languages = typed,
        WalkAction::Print(folder, crew) => print(session, tools, folder, crew),
    }
}

/// Promises a yard some hours, or none; the survey keeps it with the plan. A door of the day says so at once, on its row and on paper,
/// whether or not the plan keeps it.
fn promise(session: &mut Session, tools: &mut Tools<'_>, premise: PremiseId, promised: Option<Promised>) {
    let w = &mut session.walking;
    w.promised.retain(|(p, _)| *p != premise);
    w.promised.extend(promised.map(|promised| (premise, promised)));
    let Some(mut day) = w.day.as_deref().cloned() else { return };
    day.promises.clone_from(&w.promised);
    if let Some(spot) = spot_of(&day, premise) {
        let minute = |time: Time| time.duration_since(day.begins).as_secs_f64() / 60.0;
        let hours = promised.filter(|p| p.holds_on(day.on)).and_then(|p| p.hours());
        day.walks[spot.walk].doors[spot.door].promised = hours.map(|(from, until)| (minute(from), minute(until)));
    }
    if w.day.as_deref() != Some(&day) {
        w.written.clear();
        walk_search::drop_search(session, tools);
        put(session, Arc::new(day));
    }
}

/// Takes over what the planner promised when the kept day was planned or since, and what its doors were promised that no visit wrote down.
fn recall_promises(survey: &Survey, w: &mut Walking, day: &Day) {
    let hours = |d: &Door| d.promised.map(|(from, until)| (day.clock(from), day.clock(until)));
    w.promised.clone_from(&day.promises);
    for door in day.walks.iter().flat_map(|walk| &walk.doors) {
        let known = w.promised.iter().any(|(p, _)| *p == door.premise) || promise_at(&survey.visits, door.premise).is_some();
        w.promised.extend(hours(door).filter(|_| !known).map(|hours| (door.premise, Promised::on(day.on, hours))));
    }
}

/// Chooses a row: its premise, or its heading.
fn choose(session: &mut Session, row: Row) {
    let premise = session.walking.premise(row);
    session.walking.head = premise.is_none().then_some(row);
    match premise {
        Some(premise) => super::choosing::show_premise(session, premise),
        None => super::choosing::premise(session, None),
    }
}

/// Puts a changed day in the place of the one that was there and keeps it in the survey, as a change that can be taken back.
pub(super) fn put(session: &mut Session, day: Arc<Day>) {
    if let Some(open) = session.open.as_mut() {
        let mut survey = Survey::clone(&open.survey);
        let edit = Edit::Setting { name: settings::WALKS.into(), value: Some(write_day(&survey, &day).into()) };
        if open.history.perform(&mut survey, edit).is_ok() {
            open.changes += 1;
            open.survey = Arc::new(survey);
        }
    }
    show(session, Some(day));
}

/// Takes the latest change of the walks back, or makes it again. What is known of yards and visits stays, and with it the map.
pub(super) fn step(session: &mut Session, step: fn(&mut History, &mut Survey) -> Result<bool, EditError>) {
    let Some(open) = session.open.as_mut() else { return };
    let mut survey = Survey::clone(&open.survey);
    if step(&mut open.history, &mut survey).is_ok() {
        open.changes += 1;
        open.survey = Arc::new(survey);
        read(session);
    }
}

/// Shows the day that is kept in the survey.
pub(super) fn read(session: &mut Session) {
    let kept = session.open.as_ref().and_then(|o| planned_day(&o.survey));
    if let (Some(open), Some(day)) = (&session.open, kept.as_ref().filter(|_| session.walking.crews.meeting_point.is_none())) {
        session.walking.crews.adopt(&open.survey, day);
    }
    if let (Some(open), Some(day)) = (&session.open, &kept) {
        session.walking.kept_off.clone_from(&day.kept_off);
        recall_promises(&open.survey, &mut session.walking, day);
    }
    show(session, kept.map(Arc::new));
}

/// Shows a day as it is now.
pub(super) fn show(session: &mut Session, day: Option<Arc<Day>>) {
    let survey = session.open.as_ref().map(|o| Arc::clone(&o.survey));
    let w = &mut session.walking;
    w.trial = None;
    let both = survey.zip(day.as_ref());
    w.neatness = both.as_ref().map(|(survey, day)| neatness(survey, day)).unwrap_or_default();
    count_streets(w, day.as_deref());
    w.after =
        both.map(|(survey, day)| compare(&survey, &planned_doors(day), day.on)).filter(|c| c.doors.iter().any(|d| d.outcome.is_some()));
    w.rows = day.as_ref().map_or_else(Vec::new, |d| rows(d));
    w.lines = day.as_ref().map_or_else(Vec::new, |d| lines(d));
    w.day = day;
}

/// Counts how the doors were put at their streets, and lists where streets are torn; nothing where the ways are not known yet.
fn count_streets(walking: &mut Walking, day: Option<&Day>) {
    let known = walking.ways.as_ref().zip(day);
    walking.at_streets = known.map(|(ways, day)| AtStreets::of(day, &**ways)).unwrap_or_default();
    let torn = walking.ways.as_ref().map(|ways| ways.torn()).unwrap_or_default();
    let islands = torn.islands.iter().map(|&(at, metres)| (at, Some(metres)));
    walking.torn = Arc::new(islands.chain(torn.stubs.iter().map(|&at| (at, None))).collect());
}

/// Takes the ways between doors once they are known.
pub(super) fn ways_known(session: &mut Session, ways: Option<Arc<dyn Ways + Send + Sync>>) {
    let w = &mut session.walking;
    w.ways = ways;
    let day = w.day.clone();
    count_streets(w, day.as_deref());
}

/// Works out what a change would lead to and what it costs.
pub(super) fn weigh(session: &mut Session, change: Change) {
    session.trouble = None;
    let (Some(open), Some(day), Some(ways)) = (&session.open, &session.walking.day, &session.walking.ways) else { return };
    if session.walking.trial.as_ref().is_some_and(|t| t.change == change) {
        return;
    }
    match change.make(&open.survey, day, &**ways) {
        Ok(mut after) => {
            restock(&open.survey, open.round, &mut after, &session.walking.languages());
            let cost = cost(day, &after);
            session.walking.trial = Some(Trial { change, day: Arc::new(after), cost });
        }
        Err(error) => {
            session.walking.trial = None;
            session.trouble = Some((Place::Walks, Trouble::from(error)));
        }
    }
}

/// Writes the day's files into a folder beside the window.
fn print(session: &mut Session, tools: &mut Tools<'_>, folder: PathBuf, crew: Option<usize>) {
    session.trouble = None;
    session.walking.written.clear();
    let (Some(open), Some(day)) = (&session.open, &session.walking.day) else { return };
    let (survey, day) = (Arc::clone(&open.survey), Arc::clone(day));
    let w = &session.walking;
    let what = HandOut { district: open.name(), round: open.round, paper: w.paper, languages: w.languages(), crew };
    tools.jobs.start(JobKind::Sheets, "printing the sheets", move |watch| {
        Answer::Printed(day_files::write(&folder, &day, &survey, &what, watch).map_err(Trouble::from))
    });
}

/// Takes what became of the writing.
pub(super) fn printed(session: &mut Session, written: Result<Vec<PathBuf>, Trouble>) {
    match written {
        Ok(files) => session.walking.written = files,
        Err(trouble) => session.trouble = Some((Place::Sheets, trouble)),
    }
}

/// Forgets the day of a survey that is put away; crews and paper stay.
pub(super) fn forget(session: &mut Session) {
    let kept = std::mem::take(&mut session.walking);
    let crews = Crews { meeting_point: None, on: None, ..kept.crews };
    session.walking = Walking { crews, paper: kept.paper, languages: kept.languages, ..Default::default() };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::Jobs;
    use crate::sample;
    use crate::session::Open;
    use crate::session::walking::Kept;
    use crate::settings::Settings;
    use jiff::civil::{date, time};
    use yardring_core::place::Local;
    use yardring_core::store::Stamp;
    use yardring_core::walks::by_hand::{StraightWays, retime};
    use yardring_core::walks::{CrewWalk, LeftOut, Why, WhyKind};

    fn door(premise: u32, ways: &StraightWays) -> Door {
        let premise = PremiseId(premise);
        let why = Why { kind: WhyKind::Gap, words: "not visited".to_owned() };
        let at = ways.stand(premise).unwrap();
        let (arrive, minutes, walk_m, by_car, worth) = (0.0, 12.0, 0.0, false, 1.0);
        Door {
            premise,
            why,
            at,
            arrive,
            minutes,
            walk_m,
            by_car,
            probability: None,
            worth,
            must: false,
            overdue_days: 0,
            promised: None,
            locked: false,
        }
    }

    /// The street of forty yards: crew A has three doors, crew B two, one is left out.
    fn planned() -> Session {
        let survey = sample::survey();
        let stands = (0..40).map(|i| Some(Local { x: 20.0 * f64::from(i) + 10.0, y: -4.0 })).collect();
        let ways = StraightWays { meeting_point: Local { x: 0.0, y: -4.0 }, stands, detour: 1.0, speed: 1.2 };
        let walk = |crew: &str, doors: &[u32]| CrewWalk {
            crew: crew.to_owned(),
            doors: doors.iter().map(|&d| door(d, &ways)).collect(),
            ..CrewWalk::default()
        };
        let left =
            LeftOut { premise: PremiseId(39), why: door(39, &ways).why, worth: 0.5, because: yardring_core::walks::Because::ShiftsFull };
        let (on, begins) = (date(2025, 7, 24), time(8, 0, 0, 0));
        let walks = vec![walk("Crew A", &[5, 8, 9]), walk("Crew B", &[20, 21])];
        let meeting_point = ways.meeting_point;
        let mut day = Day { on, begins, shift_minutes: 60.0, on_foot: true, meeting_point, walks, left_out: vec![left], ..Day::default() };
        (0..2).for_each(|w| retime(&mut day, w, &ways));
        let round = survey.round(None);
        let open = Some(Open {
            survey: Arc::new(survey),
            path: None,
            stamp: Stamp::default(),
            history: History::default(),
            revision: 1,
            changes: 1,
            round,
        });
        let mut session = Session { open, ..Session::default() };
        session.walking.ways = Some(Arc::new(ways));
        show(&mut session, Some(Arc::new(day)));
        session
    }

    fn ask(session: &mut Session, action: WalkAction) {
        let mut jobs = Jobs::new(egui::Context::default());
        let mut tools = Tools { jobs: &mut jobs, brush: None, settings: &mut Settings::default() };
        act(session, &mut tools, action);
    }

    fn doors(session: &Session) -> Vec<Vec<u32>> {
        let day = session.walking.day.as_ref().unwrap();
        day.walks.iter().map(|w| w.doors.iter().map(|d| d.premise.0).collect()).collect()
    }

    #[test]
    fn a_change_is_weighed_first_made_when_told_and_taken_back() {
        let mut session = planned();
        let before = session.walking.day.clone();
        ask(&mut session, WalkAction::Weigh(Change::HandOver(PremiseId(9), 1)));
        let trial = session.walking.trial.clone().unwrap();
        // The walk to yard 21 and back passes yard 9: crew A saves 40 m of way, crew B nothing; the twelve minutes move along.
        assert!((trial.cost.minutes + 40.0 / 1.2 / 60.0).abs() < 0.02, "{:?}", trial.cost);
        assert_eq!(session.walking.day, before, "nothing is changed yet");
        ask(&mut session, WalkAction::DoIt);
        assert_eq!(doors(&session), [vec![5, 8], vec![9, 20, 21]]);
        assert_eq!(session.walking.rows.len(), 2 + 5 + 2);
        assert!(!session.walking.day.as_ref().unwrap().walks[1].supplies.is_empty());
        step(&mut session, History::undo);
        assert!(session.walking.day.is_none(), "the plan before was never kept in the survey");
        step(&mut session, History::redo);
        assert_eq!(doors(&session), [vec![5, 8], vec![9, 20, 21]]);
    }

    #[test]
    fn a_door_more_goes_where_it_costs_least_and_overtime_is_told() {
        let mut session = planned();
        ask(&mut session, WalkAction::Weigh(Change::Add(PremiseId(39), None)));
        let trial = session.walking.trial.clone().unwrap();
        // On the way there or on the way back: both cost the same, for the street is a straight line.
        assert!(trial.day.walks[1].doors.iter().any(|d| d.premise.0 == 39));
        assert!(trial.day.left_out.is_empty());
        ask(&mut session, WalkAction::DoIt);
        ask(&mut session, WalkAction::Weigh(Change::Add(PremiseId(38), Some(1))));
        let told = session.walking.trial.clone().unwrap().cost.too_long;
        assert!(told.len() == 1 && told[0].0 == 1 && told[0].1 > 0.0, "{told:?}");
        ask(&mut session, WalkAction::LeaveIt);
        let mut left = doors(&session)[1].clone();
        left.sort_unstable();
        assert_eq!(left, [20, 21, 39]);
    }

    #[test]
    fn a_promise_stands_at_its_door_at_once_and_a_broken_one_is_told() {
        let mut session = planned();
        let late = (time(17, 0, 0, 0), time(18, 30, 0, 0));
        let on = session.walking.day.as_ref().unwrap().on;
        let promised = |hours| Promised::on(on, hours);
        ask(&mut session, WalkAction::Promise(PremiseId(8), promised(late)));
        let at = |session: &Session| {
            let day = session.walking.day.clone().unwrap();
            day.walks[0].doors[1].promised.map(|(from, until)| (day.clock(from), day.clock(until)))
        };
        assert_eq!(at(&session), Some(late), "the sheets and walks.csv are written from the door");
        let (_, kept) = session.walking.broken(PremiseId(8)).unwrap();
        assert!(matches!(kept, Kept::PlannedAt(at, true) if at < late.0), "{kept:?}");
        assert_eq!(session.walking.promises_broken(), (1, 0));
        // Promised what is planned anyway, nothing is broken; the promise of a yard on no walk is.
        ask(&mut session, WalkAction::Promise(PremiseId(8), promised((time(8, 0, 0, 0), time(9, 30, 0, 0)))));
        assert_eq!(session.walking.promises_broken(), (0, 0));
        ask(&mut session, WalkAction::Promise(PremiseId(39), promised(late)));
        assert_eq!(session.walking.broken(PremiseId(39)).unwrap().1, Kept::OnNoWalk);
        ask(&mut session, WalkAction::NoPromise(PremiseId(39)));
        // Promised another day, the yard should not be on today's walk.
        let tomorrow = Promised::on(on.tomorrow().unwrap(), late);
        ask(&mut session, WalkAction::Promise(PremiseId(8), tomorrow));
        assert_eq!((at(&session), session.walking.broken(PremiseId(8)).unwrap().1), (None, Kept::OtherDay(on)));
        // Every promise is taken back by itself, until the first one is there again, in the list as at the door.
        (0..4).for_each(|_| step(&mut session, History::undo));
        assert_eq!((at(&session), session.walking.promised.clone()), (Some(late), vec![(PremiseId(8), promised(late))]));
        ask(&mut session, WalkAction::NoPromise(PremiseId(8)));
        assert_eq!((at(&session), session.walking.promises_broken()), (None, (0, 0)));
    }

    #[test]
    fn what_is_locked_says_so_and_a_street_can_be_forbidden() {
        let mut session = planned();
        ask(&mut session, WalkAction::Do(Change::LockDoor(PremiseId(8), true)));
        ask(&mut session, WalkAction::Weigh(Change::TakeOff(PremiseId(8))));
        assert!(session.walking.trial.is_none() && session.trouble_at(Place::Walks).is_some());
        ask(&mut session, WalkAction::Weigh(Change::KeepOff(0, "Kettle Lane".to_owned())));
        ask(&mut session, WalkAction::DoIt);
        assert_eq!(doors(&session)[0], [8], "the locked door stays");
        assert_eq!(session.walking.kept_off, [(0, "Kettle Lane".to_owned())]);
    }
}
