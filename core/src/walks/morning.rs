//! From a survey to the day's walks: the one way that the window and the command line both take.

use super::by_hand::spot_of;
use super::day_plan::worth_most_first;
use super::promised::keep_promises;
use super::tried::avoid_tried_hours;
use super::{
    Candidate, Day, DoorMinutes, Effort, Learnt, LeftOut, Looking, Planned, StreetNetwork, StreetWays, WalkError, Walking, Wish,
    candidates, learn_minutes, left_over, lines_mark, plan_rest,
};
use crate::foresee::Species;
use crate::job::Watch;
use crate::reach::Wanted;
use crate::survey::{PremiseId, Promised, Standing, Survey};
use std::sync::Arc;

/// What somebody asks of a day.
#[derive(Clone, Debug)]
pub struct Morning<'a> {
    /// The survey.
    pub survey: &'a Arc<Survey>,
    /// Where every premise stands in the round.
    pub standings: &'a [Standing],
    /// The reach whose gaps are candidates.
    pub reach: Wanted,
    /// The species whose growth sets the last safe day.
    pub species: Species,
    /// The chance of every premise, in their order, where it could be foreseen.
    pub chances: Option<&'a [Option<f64>]>,
    /// Minutes at a door; learnt from the visits when none are given.
    pub minutes: Option<DoorMinutes>,
    /// Whether the crews have no car.
    pub on_foot: bool,
    /// What the planner promises, now or with an earlier plan (see [`Day::promises`]); it counts instead of what visits wrote down, until
    /// somebody was there. The plan keeps it.
    pub promised: &'a [(PremiseId, Promised)],
    /// What the planner wants of the day.
    pub wish: &'a Wish,
    /// The plan that the survey keeps: of an earlier day its unfinished doors come over.
    pub before: Option<&'a Day>,
    /// Whether what is locked or taken off in a plan of the same day stays; a wish that goes on from it needs that.
    pub keeps: bool,
}

/// Everything that the search needs, worked out once.
#[derive(Debug)]
pub struct Ready {
    /// Minutes at a door.
    pub learnt: Learnt,
    /// The streets.
    pub network: Arc<StreetNetwork>,
    /// The ways between doors, for changes by hand.
    pub ways: Arc<StreetWays>,
    /// The doors that may be walked to.
    pub candidates: Vec<Candidate>,
    /// Doors that are not walked to because they were promised another day.
    pub kept_out: Vec<LeftOut>,
    /// How many of the doors an earlier day left over.
    pub left_over: usize,
}

impl Morning<'_> {
    /// Joins the streets and looks for the doors.
    ///
    /// # Errors
    /// [`WalkError::NoStreetNear`] for a meeting point far from every street, [`WalkError::Cancelled`] when the watch asks to stop.
    pub fn ready(&self, watch: &dyn Watch) -> Result<Ready, WalkError> {
        let walking = Walking::of(self.survey, self.on_foot);
        let usual = learn_minutes(self.survey, &walking);
        let learnt = self.minutes.map_or(usual, |minutes| Learnt { minutes, visits: [0; 3], ..usual });
        let network = Arc::new(StreetNetwork::new(&self.survey.streets, &walking));
        let ways = StreetWays::new(Arc::clone(self.survey), Arc::clone(&network), self.wish.meeting_point);
        let ways = Arc::new(ways.ok_or(WalkError::NoStreetNear)?);
        let (on, before) = (self.wish.on, self.before);
        let looking = Looking { on, wanted: self.reach, species: self.species, chances: self.chances, minutes: &learnt, before };
        let mut candidates = candidates(self.survey, self.standings, &looking, watch)?;
        let kept_out = keep_promises((self.survey, &learnt, self.wish), &self.standing_promises(), &mut candidates);
        avoid_tried_hours(self.survey, self.wish, &mut candidates);
        let over = before.map(|day| left_over(self.survey, day, on)).unwrap_or_default();
        let come = over.iter().filter(|l| candidates.iter().any(|c| c.premise == l.premise)).count();
        Ok(Ready { learnt, network, ways, candidates, kept_out, left_over: come })
    }

    /// What the planner promised and still stands.
    fn standing_promises(&self) -> Vec<(PremiseId, Promised)> {
        let to_come = |promised: &Promised| promised.next(self.wish.on).is_some();
        let all = self.promised.iter().filter(|(premise, promised)| to_come(promised) && promised.stands(&self.survey.visits, *premise));
        all.copied().collect()
    }

    /// Plans the day.
    ///
    /// # Errors
    /// As [`plan_rest`].
    pub fn plan(&self, ready: &Ready, seed: u64, effort: &mut dyn Effort, watch: &dyn Watch) -> Result<Planned, WalkError> {
        let nothing = Day::default();
        let before = self.before.filter(|_| self.keeps).unwrap_or(&nothing);
        let mut planned = plan_rest(self.survey, &ready.network, &ready.candidates, self.wish, before, &*ready.ways, seed, effort, watch)?;
        let day = &mut planned.day;
        let there = |day: &Day, premise| spot_of(day, premise).is_some() || day.left_out.iter().any(|l| l.premise == premise);
        let kept_out: Vec<LeftOut> = ready.kept_out.iter().filter(|l| !there(day, l.premise)).cloned().collect();
        day.left_out.extend(kept_out);
        day.promises = self.standing_promises();
        day.lines = lines_mark(self.survey);
        day.marks = self.wish.marks(self.survey, &self.reach, self.minutes);
        worth_most_first(&mut day.left_out);
        Ok(planned)
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::{planned, town, visit};
    use super::super::{CrewWalk, Iterations, WhyKind};
    use super::*;
    use crate::job::Unwatched;
    use crate::place::Local;
    use crate::survey::{Outcome, Round, RoundId, Said, Visit, Visits, standings};
    use crate::units::Metres;
    use jiff::civil::{Date, date, time};

    const MONDAY: Date = date(2025, 7, 21);

    /// One positive yard in the middle of nine blocks; premise 40 did not answer on Monday, premise 41 was never tried.
    fn survey() -> Arc<Survey> {
        let mut s = town(3);
        s.kinds = Arc::new(vec!["bucket".into()]);
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 14), last: MONDAY }]);
        let find = crate::survey::Find {
            kind: crate::survey::KindId(0),
            count: 1,
            wet: 1,
            with_larvae: 1,
            with_pupae: 0,
            pupae: 0,
            stage: None,
            litres: None,
            action: Some(crate::survey::Action::Emptied),
            remains: false,
        };
        let rows = vec![(visit(45, date(2025, 7, 14), Outcome::Inspected), vec![find]), (visit(40, MONDAY, Outcome::NoAnswer), vec![])];
        s.visits = Visits::from_rows(s.premises.len(), rows);
        Arc::new(s)
    }

    fn wish(on: Date) -> Wish {
        Wish {
            on,
            begins: time(8, 0, 0, 0),
            shift_minutes: 90.0,
            own_shifts: Vec::new(),
            crews: vec!["Crew 1".to_owned(), "Crew 2".to_owned()],
            meeting_point: Local { x: 120.0, y: 120.0 },
            pauses: Vec::new(),
            kept_off: Vec::new(),
            one_more: false,
            goes_on: false,
        }
    }

    fn morning<'a>(survey: &'a Arc<Survey>, standings: &'a [Standing], wish: &'a Wish, before: Option<&'a Day>) -> Morning<'a> {
        let reach = Wanted { radius: Metres(200.0), ..Wanted::default() };
        let (species, minutes) = (Species::Albopictus, Some(DoorMinutes { complete: 9.0, closed: 9.0, many: 9.0 }));
        Morning { survey, standings, reach, species, chances: None, minutes, on_foot: true, promised: &[], wish, before, keeps: true }
    }

    fn plan(morning: &Morning<'_>) -> (Day, Ready) {
        let ready = morning.ready(&Unwatched).expect("a street is near");
        (morning.plan(&ready, 1, &mut Iterations(300), &Unwatched).expect("it can be planned").day, ready)
    }

    #[test]
    fn the_next_day_is_planned_from_what_remains() {
        let (survey, monday, tuesday) = (survey(), wish(MONDAY), wish(date(2025, 7, 22)));
        let standings = standings(&survey, RoundId(0));
        let (first, _) = plan(&morning(&survey, &standings, &monday, None));
        let planned: Vec<PremiseId> = first.walks.iter().flat_map(|w| &w.doors).map(|d| d.premise).collect();
        assert!(planned.len() > 8 && !first.left_out.is_empty(), "{}", planned.len());
        let (second, ready) = plan(&morning(&survey, &standings, &tuesday, Some(&first)));
        let open = planned.iter().filter(|p| p.0 != 40).count();
        assert!(ready.left_over >= open, "{} of {open}", ready.left_over);
        let over: Vec<&crate::walks::Door> =
            second.walks.iter().flat_map(|w| &w.doors).filter(|d| d.why.kind == WhyKind::LeftOver).collect();
        assert!(over.len() * 2 > second.doors(), "most of Tuesday's doors are Monday's");
        assert!(over.iter().all(|d| d.why.words.starts_with("not reached on 21 July; ") && planned.contains(&d.premise)));
        // Planned anew on Tuesday, it is told and weighed the same.
        let (again, _) = plan(&morning(&survey, &standings, &tuesday, Some(&second)));
        let told = |day: &Day| {
            let mut all: Vec<(PremiseId, String)> =
                day.walks.iter().flat_map(|w| &w.doors).map(|d| (d.premise, d.why.words.clone())).collect();
            all.sort();
            all
        };
        assert_eq!(told(&again), told(&second));
    }

    #[test]
    fn a_promised_day_is_kept_and_the_days_before_it_pass_the_door_by() {
        let mut survey = Survey::clone(&survey());
        let rows = survey.visits.rows().iter().map(|v| {
            let said = if v.premise.0 == 40 { Said::of("Wednesday", "") } else { None };
            (Visit { said, ..v.clone() }, survey.visits.finds_of(v).to_vec())
        });
        survey.visits = Visits::from_rows(survey.premises.len(), rows.collect());
        let survey = Arc::new(survey);
        let standings = standings(&survey, RoundId(0));
        let door = PremiseId(40);
        let (tuesday, wednesday) = (wish(date(2025, 7, 22)), wish(date(2025, 7, 23)));
        let (day, _) = plan(&morning(&survey, &standings, &tuesday, None));
        let left: Vec<&LeftOut> = day.left_out.iter().filter(|l| l.premise == door).collect();
        assert!(left.len() == 1 && left[0].because == crate::walks::Because::PromisedAnotherDay, "{left:?}");
        assert!(left[0].why.words.starts_with("promised Wednesday 23 July; no answer on Mon 21 July"), "{}", left[0].why.words);
        assert!(spot_of(&day, door).is_none());
        let (next, _) = plan(&morning(&survey, &standings, &wednesday, Some(&day)));
        let spot = spot_of(&next, door).expect("the day has come");
        assert!(next.walks[spot.walk].doors[spot.door].must);
        assert_eq!(next.left_out.iter().filter(|l| l.premise == door).count(), 0);
    }

    #[test]
    fn it_is_the_plan_of_its_parts_and_nothing_stays_of_another_day() {
        let (survey, wish) = (survey(), wish(MONDAY));
        let standings = standings(&survey, RoundId(0));
        let asked = morning(&survey, &standings, &wish, None);
        let (day, ready) = plan(&asked);
        let alone = planned(&survey, &ready.network, &ready.candidates, &wish, 300).expect("planned");
        assert_eq!(Day { marks: Default::default(), ..day.clone() }, alone.day);
        let mut old = Day { on: date(2025, 7, 22), ..day.clone() };
        old.walks.iter_mut().for_each(|w| w.locked = true);
        old.walks[0] = CrewWalk { locked: true, ..CrewWalk::default() };
        assert_eq!(plan(&morning(&survey, &standings, &wish, Some(&old))).0, day);
    }

    #[test]
    fn a_crew_is_kept_off_a_street_and_its_time_is_filled() {
        let (survey, free) = (survey(), wish(MONDAY));
        let standings = standings(&survey, RoundId(0));
        let (before, _) = plan(&morning(&survey, &standings, &free, None));
        let street = super::super::street_of(&survey, before.walks[0].doors[0].premise).to_owned();
        let bound = Wish { kept_off: vec![(0, street.to_uppercase())], ..free.clone() };
        let (after, _) = plan(&morning(&survey, &standings, &bound, None));
        let there =
            |walk: usize, day: &Day| day.walks[walk].doors.iter().filter(|d| super::super::on_street(&survey, d.premise, &street)).count();
        assert!(there(0, &before) > 0 && there(0, &after) == 0 && there(1, &after) > 0);
        assert!(after.walks.iter().all(|w| w.back_after <= 90.0 + 1e-9));
        assert!(after.walks[0].back_after > 60.0, "the crew is not sent home early: {}", after.walks[0].back_after);
        let nobody = Wish { kept_off: vec![(0, street.clone()), (1, street.clone())], ..free };
        let (none, _) = plan(&morning(&survey, &standings, &nobody, None));
        assert_eq!(there(0, &none) + there(1, &none), 0);
        assert!(none.left_out.iter().any(|l| l.because == crate::walks::Because::KeptOff));
    }
}
