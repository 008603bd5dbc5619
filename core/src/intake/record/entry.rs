//! A visit as somebody types it, and what about it cannot be.

use crate::intake::cells;
use crate::intake::visit_rows::{FindCells, FoundRow, Odd, Times};
use crate::survey::calendar::clock_words;
use crate::survey::{Action, Find, Outcome, Stage, Survey, Visit, When};
use jiff::ToSpan as _;
use jiff::civil::Time;
use std::fmt;

/// A visit as it is typed: the cells of the visits table, by their names; an empty one says nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    /// The id it should have; empty for one made of its day and its premise.
    pub visit_id: String,
    /// The day, also with a time behind it.
    pub date: String,
    /// When the crew came.
    pub time_in: String,
    /// When it went.
    pub time_out: String,
    /// How many minutes it was there, where no time tells.
    pub minutes: String,
    /// How the visit ended.
    pub outcome: String,
    /// The round's name; empty for the latest.
    pub round: String,
    /// Who went.
    pub crew: String,
    /// What the householder was promised.
    pub promise: String,
    /// What to mind at the door.
    pub cautions: String,
    /// What was found.
    pub finds: Vec<FindEntry>,
}

/// One kind of container found, as it is typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FindEntry {
    /// What it was.
    pub container_type: String,
    /// How many; one where it is empty.
    pub count: String,
    /// How many held water, or yes or no.
    pub holds_water: String,
    /// How many held larvae, or yes or no.
    pub larvae: String,
    /// How many held pupae, or yes or no.
    pub pupae: String,
    /// Pupae counted.
    pub pupae_count: String,
    /// The oldest stage seen.
    pub stages: String,
    /// Litres of water.
    pub litres: String,
    /// What was done.
    pub action: String,
    /// Yes where something is left for the householder.
    pub remains: String,
}

/// Something about an entry that cannot be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Which find, the first being 0; `None` for the visit itself.
    pub find: Option<usize>,
    /// Which cell: its name in the visits table.
    pub cell: &'static str,
    /// What is wrong, in words without a full stop.
    pub words: String,
}

/// "find 2: larvae is 'many', which is …".
impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.find {
            Some(find) => write!(f, "find {}: {}", find + 1, self.words),
            None => f.write_str(&self.words),
        }
    }
}

/// What an entry says, once nothing about it is wrong.
pub(super) struct Read {
    pub when: When,
    pub minutes: Option<u16>,
    pub outcome: Outcome,
    /// Each with the name of its kind.
    pub finds: Vec<(String, FoundRow)>,
}

impl Entry {
    /// A visit of the survey as it would be typed.
    pub fn of(survey: &Survey, visit: &Visit) -> Self {
        let mut out = Self {
            visit_id: visit.id.to_string(),
            date: visit.when.day.to_string(),
            time_in: visit.when.time.map(typed).unwrap_or_default(),
            outcome: visit.outcome.to_string(),
            round: survey.rounds.get(visit.round.row()).map(|r| r.name.to_string()).unwrap_or_default(),
            crew: visit.crew.to_string(),
            promise: visit.promise().to_owned(),
            cautions: visit.cautions().to_owned(),
            finds: survey.visits.finds_of(visit).iter().map(|f| FindEntry::of(survey, f)).collect(),
            ..Self::default()
        };
        let went = |(came, minutes): (Time, u16)| came.checked_add(i64::from(minutes).minutes()).ok();
        match visit.when.time.zip(visit.minutes()).and_then(went) {
            Some(went) => out.time_out = typed(went),
            None => out.minutes = visit.minutes().map(|m| m.to_string()).unwrap_or_default(),
        }
        out
    }

    /// All that cannot be about it, in the order of its cells; empty when it can be kept.
    pub fn faults(&self) -> Vec<Fault> {
        self.read().err().unwrap_or_default()
    }

    /// What it says, by the rules of files: what a file would come in without is a fault here, for somebody is there to mend it.
    pub(super) fn read(&self) -> Result<Read, Vec<Fault>> {
        let mut faults = Vec::new();
        let fault = |cell, words: String| Fault { find: None, cell, words };
        let when = cells::moment(self.date.trim()).map_err(|r| faults.push(fault("date", r.to_string()))).ok();
        let times = self.times(when, &mut faults);
        let outcome = match cells::outcome(self.outcome.trim()) {
            Ok(None) => Err("say how the visit went".to_owned()),
            Ok(Some(outcome)) => Ok(outcome),
            Err(reason) => Err(reason.to_string()),
        };
        let outcome = outcome.map_err(|words| faults.push(fault("outcome", words))).ok();
        let mut finds = Vec::new();
        for (i, find) in self.finds.iter().enumerate().filter(|(_, f)| !f.is_blank()) {
            match find.read() {
                Ok(row) => finds.push((find.container_type.trim().to_owned(), row)),
                Err(mut own) => {
                    own.iter_mut().for_each(|f| f.find = Some(i));
                    faults.append(&mut own);
                }
            }
        }
        if let Some(o) = outcome.filter(|o| o.sees_nothing() && self.finds.iter().any(|f| !f.is_blank())) {
            faults.push(fault("outcome", format!("nothing can have been found where the visit ended with '{o}'")));
        }
        match (when, outcome) {
            (Some(when), Some(outcome)) if faults.is_empty() => {
                Ok(Read { when: When { time: times.came, ..when }, minutes: times.minutes, outcome, finds })
            }
            _ => Err(faults),
        }
    }

    fn times(&self, when: Option<When>, faults: &mut Vec<Fault>) -> Times {
        let cells = [self.time_in.trim(), self.time_out.trim(), self.minutes.trim()];
        let times = Times::read(cells, when.and_then(|w| w.time));
        let words = [
            format!("'{}' is no time of day, as 08:50", cells[0]),
            format!("'{}' is no time of day, as 09:05, or lies before the crew came", cells[1]),
            format!("'{}' is no number of minutes within a day", cells[2]),
        ];
        for ((cell, words), _) in ["time_in", "time_out", "minutes"].into_iter().zip(words).zip(times.faults).filter(|(_, is)| *is) {
            faults.push(Fault { find: None, cell, words });
        }
        if !cells[1].is_empty() && times.came.is_none() && times.faults == [false; 3] {
            faults.push(Fault { find: None, cell: "time_in", words: "say when the crew came, or leave out when it went".to_owned() });
        }
        times
    }
}

/// A time as it is typed; seconds stand there where there are some.
fn typed(at: Time) -> String {
    if at.second() == 0 && at.subsec_nanosecond() == 0 { clock_words(at) } else { at.to_string() }
}

impl FindEntry {
    /// A find of the survey as it would be typed.
    fn of(survey: &Survey, find: &Find) -> Self {
        let unless_none = |n: u32| if n == 0 { String::new() } else { n.to_string() };
        Self {
            container_type: survey.kind_name(find.kind).to_owned(),
            count: find.count.to_string(),
            holds_water: find.wet.to_string(),
            larvae: find.with_larvae.to_string(),
            pupae: find.with_pupae.to_string(),
            pupae_count: unless_none(find.pupae),
            stages: find.stage.map(|s| s.to_string()).unwrap_or_default(),
            litres: find.litres.map(|l| l.to_string()).unwrap_or_default(),
            action: find.action.map(|a| a.to_string()).unwrap_or_default(),
            remains: if find.remains { "yes" } else { "" }.to_owned(),
        }
    }

    /// Its cells with their names in the visits table.
    pub fn cells(&mut self) -> [(&'static str, &mut String); 10] {
        [
            ("container_type", &mut self.container_type),
            ("count", &mut self.count),
            ("holds_water", &mut self.holds_water),
            ("larvae", &mut self.larvae),
            ("pupae", &mut self.pupae),
            ("pupae_count", &mut self.pupae_count),
            ("stages", &mut self.stages),
            ("litres", &mut self.litres),
            ("action", &mut self.action),
            ("remains", &mut self.remains),
        ]
    }

    /// Whether nothing is typed.
    pub fn is_blank(&self) -> bool {
        self.clone().cells().iter().all(|(_, text)| text.trim().is_empty())
    }

    fn read(&self) -> Result<FoundRow, Vec<Fault>> {
        let fault = |cell, words: String| Fault { find: None, cell, words };
        let mut faults = Vec::new();
        if self.container_type.trim().is_empty() {
            faults.push(fault("container_type", "say what kind of container it was".to_owned()));
        }
        let cells = FindCells {
            kind: self.container_type.trim(),
            count: self.count.trim(),
            holds_water: self.holds_water.trim(),
            larvae: self.larvae.trim(),
            pupae: self.pupae.trim(),
            pupae_count: self.pupae_count.trim(),
            stages: self.stages.trim(),
            litres: self.litres.trim(),
            action: self.action.trim(),
            remains: self.remains.trim(),
        };
        let mut odd = Odd::default();
        let row = cells.read(&mut odd).map_err(|misfit| faults.push(fault(misfit.meaning, misfit.reason.to_string()))).ok().flatten();
        if odd.stage {
            faults.push(fault("stages", format!("'{}' is not a stage; use one of: {}", cells.stages, listed(Stage::ALL))));
        }
        if odd.action {
            faults.push(fault("action", format!("'{}' is not an action; use one of: {}", cells.action, listed(Action::ALL))));
        }
        if odd.count_raised {
            faults.push(fault("holds_water", format!("{} held water, but only {} were there", cells.holds_water, cells.count)));
        }
        row.filter(|_| faults.is_empty()).ok_or(faults)
    }
}

fn listed<T: fmt::Display>(all: &[T]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
