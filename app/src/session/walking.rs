//! The day's walks at the plan desk: what is asked for, the plan as it is, and a change by hand that is being weighed.

use jiff::civil::{Date, Time};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use yardring_core::brief::PageSize;
use yardring_core::place::Local;
use yardring_core::reach::Wanted;
use yardring_core::survey::{PremiseId, Promised, Survey};
pub use yardring_core::walks::Change;
use yardring_core::walks::by_hand::{Cost, Spot, Ways, spot_of};
use yardring_core::walks::{AtStreets, Because, Compared, CrewWalk, Day, DoorMinutes, Heat, Learnt, Marks, Neatness, Pause, Shift, clock};

/// What the planner says about the day and its crews.
#[derive(Clone, Debug, PartialEq)]
pub struct Crews {
    /// What the crews are called; as many as there are crews.
    pub names: Vec<String>,
    /// Crews with hours of their own, in the order of the names: when each leaves, and how many minutes it is out at most.
    pub own_hours: Vec<Option<(Time, f64)>>,
    /// The day; the one after the latest visit until another is chosen.
    pub on: Option<Date>,
    /// When all leave the meeting point.
    pub begins: Time,
    /// How long a crew is out at most, in minutes.
    pub shift_minutes: f64,
    /// Where every walk begins and ends.
    pub meeting_point: Option<Local>,
    /// Breaks and pauses for the heat: when, how many minutes, and whether it is for the heat.
    pub pauses: Vec<(Time, f64, bool)>,
    /// Degrees Celsius from which pauses for the heat are made.
    pub heat_from: f64,
    /// Whether they have no car: legs too far to walk are walked all the same.
    pub on_foot: bool,
    /// Minutes at a door; learnt from the visits when none are given.
    pub minutes: Option<DoorMinutes>,
    /// Seconds that the search may take.
    pub effort: f64,
}

impl Default for Crews {
    fn default() -> Self {
        Self {
            names: ["Crew 1", "Crew 2"].map(str::to_owned).to_vec(),
            own_hours: Vec::new(),
            on: None,
            begins: Time::constant(8, 0, 0, 0),
            shift_minutes: 360.0,
            meeting_point: None,
            pauses: Pause::USUAL.to_vec(),
            heat_from: Heat::USUAL_FROM,
            on_foot: false,
            minutes: None,
            effort: 10.0,
        }
    }
}

impl Crews {
    /// Most crews of one day.
    pub const MOST: usize = 12;

    /// Another number of crews; new ones are named by the next number, as on the command line.
    pub fn resize(&mut self, crews: usize) {
        let crews = crews.clamp(1, Self::MOST);
        self.names.truncate(crews);
        self.own_hours.truncate(crews);
        while self.names.len() < crews {
            self.names.push(format!("Crew {}", self.names.len() + 1));
        }
    }

    /// When a crew leaves, and how many minutes it is out at most.
    pub fn hours(&self, crew: usize) -> (Time, f64) {
        self.own_hours.get(crew).copied().flatten().unwrap_or((self.begins, self.shift_minutes))
    }

    /// Gives a crew hours of its own, or those of all.
    pub fn set_hours(&mut self, crew: usize, own: Option<(Time, f64)>) {
        if self.own_hours.len() <= crew {
            self.own_hours.resize(crew + 1, None);
        }
        self.own_hours[crew] = own;
    }

    /// The shifts of the crews with hours of their own.
    pub fn own_shifts(&self) -> Vec<Option<Shift>> {
        let of = |own: &Option<(Time, f64)>| own.map(|(leaves, minutes)| Shift::of_day(self.begins, leaves, minutes));
        self.own_hours.iter().map(of).collect()
    }

    /// From the first crew's leaving to the last one's coming back.
    pub fn whole(&self) -> Shift {
        Shift::whole(Shift { from: 0.0, until: self.shift_minutes }, self.names.len(), &self.own_shifts())
    }

    /// Asks for what a planned day was asked for; where it has no pause for the heat because it was not hot, the usual one is asked for.
    pub fn adopt(&mut self, survey: &Survey, day: &Day) {
        self.names = day.walks.iter().map(|w| w.crew.clone()).take(Self::MOST).collect();
        let own = |w: &CrewWalk| w.own_shift.map(|own| (day.clock(own.from), own.minutes()));
        self.own_hours = day.walks.iter().map(own).take(Self::MOST).collect();
        self.resize(self.names.len());
        (self.on, self.begins, self.shift_minutes) = (Some(day.on), day.begins, day.shift_minutes);
        self.meeting_point = Some(day.meeting_point);
        self.on_foot = day.on_foot;
        self.pauses = day.pauses.iter().map(|p| (clock(day.begins, p.from), p.minutes, p.heat)).collect();
        if !Heat::calls_for_a_pause(Heat::of(survey, day.on), self.heat_from) && !self.pauses.iter().any(|p| p.2) {
            self.pauses.extend(Pause::USUAL.into_iter().filter(|p| p.2));
        }
    }

    /// The pauses of a day: those for the heat on hot days only.
    pub fn pauses_on(&self, survey: &Survey, on: Date) -> Vec<(Time, f64, bool)> {
        let hot = Heat::calls_for_a_pause(Heat::of(survey, on), self.heat_from);
        self.pauses.iter().copied().filter(|(_, _, heat)| hot || !heat).collect()
    }

    /// The day that is planned: the one chosen, or the one after the survey's latest visit.
    pub fn day(&self, survey: &Survey) -> Option<Date> {
        let latest = survey.rounds.iter().map(|r| r.last).max();
        self.on.or_else(|| latest.and_then(|d| d.tomorrow().ok()))
    }
}

/// What a search has reached so far, heard while it goes on; and word to it that it is enough.
#[derive(Debug, Default)]
pub struct Gains {
    enough: AtomicBool,
    reached: Mutex<Vec<(f64, f64)>>,
}

impl Gains {
    /// Tells the search to end with the best plan it has.
    pub fn enough(&self) {
        self.enough.store(true, Ordering::Relaxed);
    }

    /// Whether somebody said that it is enough.
    pub fn is_enough(&self) -> bool {
        self.enough.load(Ordering::Relaxed)
    }

    /// Notes what the best plan is worth after so many seconds.
    pub fn note(&self, seconds: f64, worth: f64) {
        let mut reached = self.reached.lock().unwrap_or_else(PoisonError::into_inner);
        if reached.last().is_none_or(|(_, before)| worth > *before) {
            reached.push((seconds, worth));
        }
    }

    /// The seconds after which a better plan was found, each with what it is worth.
    pub fn reached(&self) -> Vec<(f64, f64)> {
        self.reached.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// A row of the list of walks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Row {
    /// The head of a crew's walk.
    Crew(usize),
    /// A door of a walk.
    Door(Spot),
    /// The head of the doors that are left out.
    LeftOut,
    /// A door that is left out, by its place in the day's list.
    Left(usize),
}

/// A change that is weighed and not made yet.
#[derive(Clone, Debug)]
pub struct Trial {
    /// The change.
    pub change: Change,
    /// The day as it would be.
    pub day: Arc<Day>,
    /// What it costs.
    pub cost: Cost,
}

/// What somebody asked of the day's walks.
#[derive(Clone, Debug, PartialEq)]
pub enum WalkAction {
    /// Other crews, another day, another shift.
    Crews(Crews),
    /// The next click on the map is the meeting point, or not.
    Picking(bool),
    /// The meeting point.
    MeetAt(Local),
    /// Plan the day; what is locked stays.
    Plan,
    /// Go on from the plan that is there: it stays where nothing better is found.
    GoOn,
    /// Stop the search and keep the best plan so far.
    StopHere,
    /// Plan the day after the one that is planned: what it leaves over comes along.
    PlanNext,
    /// Keep a crew, by its place among the crews, off a street by its name.
    KeepOff(usize, String),
    /// Bring the map to the next place where the streets are torn, and mark all of them.
    ShowTorn,
    /// Mark torn streets no more.
    HideTorn,
    /// Let a crew into a street again, by its place among those kept off.
    LetIn(usize),
    /// Promise a yard a day or an hour.
    Promise(PremiseId, Promised),
    /// Take a promise back.
    NoPromise(PremiseId),
    /// Take lines that no crew crosses from a file.
    Lines(PathBuf),
    /// No crew crosses the line that is measured on the map.
    LineDrawn,
    /// Crews may cross everything again.
    NoLines,
    /// A row of the list was chosen.
    Choose(Row),
    /// Weigh a change.
    Weigh(Change),
    /// Make the change that is weighed.
    DoIt,
    /// Leave the change that is weighed.
    LeaveIt,
    /// Make a change that costs nothing at once.
    Do(Change),
    /// The paper for sheets.
    Paper(PageSize),
    /// Languages of the notices, as typed.
    Languages(String),
    /// Write all files into a folder, or one crew's.
    Print(PathBuf, Option<usize>),
}

/// The day's walks at the plan desk.
#[derive(Default)]
pub struct Walking {
    /// What is asked for.
    pub crews: Crews,
    /// The next click on the map is the meeting point.
    pub picking: bool,
    /// The plan as it is.
    pub day: Option<Arc<Day>>,
    /// Its walks as the map draws them: the way and the stops.
    pub lines: Vec<Line>,
    /// Rows of the list, in order.
    pub rows: Vec<Row>,
    /// What is known about the ways between doors.
    pub ways: Option<Arc<dyn Ways + Send + Sync>>,
    /// The ways were asked for.
    pub ways_asked: bool,
    /// Streets that a crew is kept off, by its place among the walks.
    pub kept_off: Vec<(usize, String)>,
    /// Yards that the planner promised a day or an hour.
    pub promised: Vec<Promise>,
    /// Lines that no crew crosses, as the survey keeps them.
    pub never_crossed: NeverCrossed,
    /// How neat the plan is.
    pub neatness: Neatness,
    /// How the plan's doors were put at their streets, once the ways are known.
    pub at_streets: AtStreets,
    /// The plan beside the visits of its day, once there are some.
    pub after: Option<Compared>,
    /// Minutes at a door as the visits tell them, for a revision of the survey.
    pub learnt: super::Derived<u64, Learnt>,
    /// What the search at work has reached, or the last one.
    pub gains: Arc<Gains>,
    /// The crew or heading chosen in the list, when it is no door.
    pub head: Option<Row>,
    /// A change that is weighed.
    pub trial: Option<Trial>,
    /// The paper for sheets.
    pub paper: PageSize,
    /// Languages of the notices.
    pub languages: String,
    /// Files written last.
    pub written: Vec<PathBuf>,
    /// Whether a better plan is still looked for.
    pub bettering: bool,
    /// How often the search went on from the plan that is there: each time it looks elsewhere.
    pub went_on: u64,
    /// Whether going on from the plan found a better one, the last time.
    pub bettered: Option<bool>,
    /// A mark of the visits before the planned day, for a revision of the survey and a day.
    pub visits: Option<((u64, Date), u64)>,
    /// The streets of the survey by name, for a revision of it.
    pub streets: Option<(u64, Arc<Vec<String>>)>,
    /// The places where the streets are torn: of groups that nothing joins, with their length in metres, then of short dead ends.
    pub torn: Arc<Vec<(Local, Option<f64>)>>,
    /// Which place of torn streets the map was brought to last, while they are marked.
    pub torn_at: Option<usize>,
}

/// A yard that was promised a day or an hour.
pub type Promise = (PremiseId, Promised);

/// Whether the plan keeps a promise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// It does.
    Yes,
    /// A crew comes at another time; whether the promised hours lie outside the shift.
    PlannedAt(Time, bool),
    /// A crew comes on this day, which is none of those promised.
    OtherDay(Date),
    /// No crew goes there.
    OnNoWalk,
    /// No crew can be there at that hour and be back in time.
    Impossible,
    /// At that hour every crew has doors that come first.
    Full,
}

/// Lines that no crew crosses, read from what the survey keeps.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NeverCrossed {
    /// What the survey keeps; empty where it keeps none.
    pub kept: String,
    /// Where they came from.
    pub file: String,
    /// The lines.
    pub lines: Vec<Arc<Vec<Local>>>,
}

/// A walk as the map draws it: its way and its stops.
pub type Line = (Arc<Vec<Local>>, Arc<Vec<Local>>);

impl std::fmt::Debug for Walking {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Walking").field("crews", &self.crews).field("day", &self.day).finish_non_exhaustive()
    }
}

impl Walking {
    /// The marks of what is asked for now; without those of visits once there are some of the day itself.
    pub fn marks(&self, reach: &Wanted) -> Marks {
        let visits = self.visits.filter(|_| self.after.is_none()).map_or(0, |known| known.1);
        Marks::of(reach, self.crews.minutes, &self.kept_off, visits)
    }

    /// The day as it is, or as it would be after the change that is weighed.
    pub fn shown(&self) -> Option<&Arc<Day>> {
        self.trial.as_ref().map(|t| &t.day).or(self.day.as_ref())
    }

    /// Where a premise is walked to, and by whom.
    pub fn place_of(&self, premise: PremiseId) -> Option<(Spot, &CrewWalk)> {
        let day = self.day.as_ref()?;
        let spot = spot_of(day, premise)?;
        Some((spot, &day.walks[spot.walk]))
    }

    /// Whether the day keeps a promise; without a day nothing is broken.
    pub fn kept(&self, (premise, promised): &Promise) -> Kept {
        let Some(day) = &self.day else { return Kept::Yes };
        if !promised.holds_on(day.on) {
            return if self.place_of(*premise).is_some() { Kept::OtherDay(day.on) } else { Kept::Yes };
        }
        let Some((spot, walk)) = self.place_of(*premise) else {
            let because = day.left_out.iter().find(|l| l.premise == *premise).map(|l| l.because);
            return match because {
                Some(Because::PromiseCannotBeKept | Because::OutOfHours) => Kept::Impossible,
                Some(Because::HourFull) => Kept::Full,
                _ => Kept::OnNoWalk,
            };
        };
        let Some((from, until)) = promised.hours() else { return Kept::Yes };
        let at = clock(day.begins, walk.doors[spot.door].arrive);
        let shift = day.shift(spot.walk);
        let (begins, ends) = (day.clock(shift.from), day.clock(shift.until));
        if at < from || at > until { Kept::PlannedAt(at, until < begins || from > ends) } else { Kept::Yes }
    }

    /// The promise of a yard, when it has one that the day does not keep.
    pub fn broken(&self, premise: PremiseId) -> Option<(&Promise, Kept)> {
        self.promised.iter().find(|p| p.0 == premise).map(|p| (p, self.kept(p))).filter(|(_, kept)| *kept != Kept::Yes)
    }

    /// How many promises the day does not keep though nobody has planned with them, and how many no plan can keep.
    pub fn promises_broken(&self) -> (usize, usize) {
        let kept: Vec<Kept> = self.promised.iter().map(|p| self.kept(p)).collect();
        let impossible = kept.iter().filter(|k| matches!(k, Kept::Impossible | Kept::Full)).count();
        (kept.iter().filter(|k| **k != Kept::Yes).count() - impossible, impossible)
    }

    /// The premise of a row, when it has one.
    pub fn premise(&self, row: Row) -> Option<PremiseId> {
        let day = self.day.as_ref()?;
        match row {
            Row::Door(s) => Some(day.walks.get(s.walk)?.doors.get(s.door)?.premise),
            Row::Left(i) => Some(day.left_out.get(i)?.premise),
            Row::Crew(_) | Row::LeftOut => None,
        }
    }

    /// The row of a premise.
    pub fn row_of(&self, premise: PremiseId) -> Option<usize> {
        let day = self.day.as_ref()?;
        let wanted = match spot_of(day, premise) {
            Some(spot) => Row::Door(spot),
            None => Row::Left(day.left_out.iter().position(|l| l.premise == premise)?),
        };
        self.rows.iter().position(|r| *r == wanted)
    }

    /// Languages of the notices, one each.
    pub fn languages(&self) -> Vec<String> {
        let named: Vec<String> = self.languages.split(',').map(|l| l.trim().to_owned()).filter(|l| !l.is_empty()).collect();
        if named.is_empty() { vec!["English".to_owned()] } else { named }
    }
}

/// The rows of a day's list: every crew with its doors, then what is left out.
pub fn rows(day: &Day) -> Vec<Row> {
    let mut out = Vec::new();
    for (walk, w) in day.walks.iter().enumerate() {
        out.push(Row::Crew(walk));
        out.extend((0..w.doors.len()).map(|door| Row::Door(Spot { walk, door })));
    }
    if !day.left_out.is_empty() {
        out.push(Row::LeftOut);
        out.extend((0..day.left_out.len()).map(Row::Left));
    }
    out
}

/// The walks of a day as the map draws them.
pub fn lines(day: &Day) -> Vec<Line> {
    day.walks.iter().map(|w| (Arc::new(w.path.clone()), Arc::new(w.doors.iter().map(|d| d.at).collect()))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn new_crews_are_named_by_the_next_number() {
        let mut crews = Crews::default();
        crews.names[0] = "North".to_owned();
        crews.resize(4);
        assert_eq!(crews.names, ["North", "Crew 2", "Crew 3", "Crew 4"]);
        crews.resize(0);
        assert_eq!(crews.names, ["North"]);
        crews.set_hours(2, Some((Time::constant(7, 0, 0, 0), 240.0)));
        assert_eq!((crews.hours(2).1, crews.hours(0).1, crews.own_shifts().len()), (240.0, 360.0, 3));
        crews.resize(1);
        assert_eq!(crews.own_shifts(), [None]);
        crews.resize(99);
        assert_eq!(crews.names.len(), Crews::MOST);
    }

    #[test]
    fn languages_are_typed_with_commas() {
        let typed = |text: &str| Walking { languages: text.to_owned(), ..Walking::default() }.languages();
        assert_eq!(typed(""), ["English"]);
        assert_eq!(typed("English, Spanish,"), ["English", "Spanish"]);
    }
}
