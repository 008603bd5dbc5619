//! `yardring record SURVEY`: one visit entered, corrected or taken away by hand.

use super::{Done, Failure, Output};
use crate::signing::signed;
use clap::Args;
use serde_json::json;
use std::path::PathBuf;
use yardring_core::brief::sheet_visit_id;
use yardring_core::intake::record::{Entry, FindEntry, correct, enter, premise_called, take_away};
use yardring_core::store::{self, Edit, Parts, Stamp, planned_day};
use yardring_core::survey::{HandChange, PremiseId, Survey};

/// Enters one visit, corrects one, or takes one away, by the rules that files come in by. What was there before stays in the intake log.
#[derive(Debug, Args)]
pub struct Record {
    /// The survey.
    survey: PathBuf,
    /// The parcel id of the yard.
    #[arg(long, value_name = "ID")]
    parcel: String,
    /// Correct the visit with this id: what is given takes the place of what is there.
    #[arg(long, value_name = "VISIT_ID")]
    correct: Option<String>,
    /// Take the visit with this id away.
    #[arg(long, value_name = "VISIT_ID", conflicts_with_all = ["correct", "on", "outcome", "find"])]
    take_away: Option<String>,
    /// The day, as 2025-07-24.
    #[arg(long, value_name = "DATE", required_unless_present_any = ["correct", "take_away"])]
    on: Option<String>,
    /// How it went: inspected, front only, seen over fence, no answer, locked gate, refused, unsafe, vacant.
    #[arg(long, value_name = "WORD", required_unless_present_any = ["correct", "take_away"])]
    outcome: Option<String>,
    /// The round; the latest one where none is named, a new one where no round is called so.
    #[arg(long, value_name = "NAME")]
    round: Option<String>,
    /// Who went.
    #[arg(long, value_name = "NAME")]
    crew: Option<String>,
    /// When the crew came, as 08:50.
    #[arg(long, value_name = "TIME")]
    time_in: Option<String>,
    /// When it went, as 09:05.
    #[arg(long, value_name = "TIME")]
    time_out: Option<String>,
    /// How many minutes it was there, where no time tells.
    #[arg(long, value_name = "N")]
    minutes: Option<String>,
    /// What the householder was promised.
    #[arg(long, value_name = "TEXT")]
    promise: Option<String>,
    /// What to mind at the door.
    #[arg(long, value_name = "TEXT")]
    cautions: Option<String>,
    /// One kind of container: kind=bucket,count=2,wet=1,larvae=1,pupae=0,counted=0,stage=L3,litres=3,action=emptied,remains=no; may be
    /// given several times. With --correct they take the place of all that were there.
    #[arg(long, value_name = "KIND=…", value_parser = find)]
    find: Vec<FindEntry>,
    /// With --correct: nothing was found after all.
    #[arg(long, conflicts_with = "find", requires = "correct")]
    no_finds: bool,
}

impl Record {
    /// Makes the change and saves the survey.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, it has no such yard or visit, the visit cannot be, or the survey cannot be saved; then
    /// nothing is changed.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let stamp = Stamp::of(&self.survey);
        let mut survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        let premise = premise_called(&survey, &self.parcel).ok_or_else(|| {
            let what = format!("no yard of {} has the parcel id '{}'", self.survey.display(), self.parcel);
            Failure::new(what, "Write it as the county does: yardring export SURVEY.gpkg --layer premises --out premises.csv lists them")
        })?;
        let change = self.change(&survey, premise)?;
        let id = change.becomes.as_ref().map(|(visit, _)| visit.id.to_string()).or_else(|| change.was.as_ref().map(ToString::to_string));
        let id = id.unwrap_or_default();
        let done = match (&change.was, &change.becomes) {
            (None, _) => "entered",
            (Some(_), Some(_)) => "corrected",
            (Some(_), None) => "taken away",
        };
        store::apply(&mut survey, Edit::visit(change))?;
        store::save_over(&survey, &self.survey, stamp, output)?;
        output.clear_progress();
        let visit = survey.visits.at(premise).iter().find(|v| *v.id == *id);
        let told = format!("Visit {id} at parcel {} is {done}\n{} is saved", self.parcel, self.survey.display());
        output.answer(&told, || {
            json!({"visit_id": id, "parcel_id": self.parcel, "done": done, "visits": survey.visits.len(),
                "round": visit.map(|v| &*survey.rounds[v.round.row()].name), "finds": visit.map_or(0, |v| v.finds.len())})
        });
        Ok(Done::Clean)
    }

    fn change(&self, survey: &Survey, premise: PremiseId) -> Result<HandChange, Failure> {
        if let Some(id) = &self.take_away {
            return Ok(take_away(survey, premise, id, &signed())?);
        }
        let Some(id) = &self.correct else {
            let mut entry = self.over(Entry::default());
            let day = planned_day(survey).filter(|d| d.on.to_string() == entry.date.trim());
            let walked = day.filter(|d| d.walks.iter().any(|w| w.doors.iter().any(|door| door.premise == premise)));
            entry.visit_id = walked.map(|day| sheet_visit_id(&day, survey, premise)).unwrap_or_default();
            return Ok(enter(survey, premise, &entry, &signed())?);
        };
        let there = survey.visits.at(premise).iter().find(|v| *v.id == **id).map(|v| Entry::of(survey, v));
        Ok(correct(survey, premise, id, &self.over(there.unwrap_or_default()), &signed())?)
    }

    /// What is given, over what is there.
    fn over(&self, mut entry: Entry) -> Entry {
        // Another time or length takes the place of both that were there.
        if self.time_out.is_some() {
            entry.minutes.clear();
        } else if self.minutes.is_some() {
            entry.time_out.clear();
        }
        let cells = [
            (&self.on, &mut entry.date),
            (&self.outcome, &mut entry.outcome),
            (&self.round, &mut entry.round),
            (&self.crew, &mut entry.crew),
            (&self.time_in, &mut entry.time_in),
            (&self.time_out, &mut entry.time_out),
            (&self.minutes, &mut entry.minutes),
            (&self.promise, &mut entry.promise),
            (&self.cautions, &mut entry.cautions),
        ];
        for (given, cell) in cells {
            given.iter().for_each(|text| cell.clone_from(text));
        }
        if self.no_finds || !self.find.is_empty() {
            entry.finds.clone_from(&self.find);
        }
        entry
    }
}

/// The words of `--find` beside the names of the visits table.
const SHORT: [(&str, &str); 5] =
    [("kind", "container_type"), ("wet", "holds_water"), ("counted", "pupae_count"), ("stage", "stages"), ("liters", "litres")];

/// Reads `kind=bucket,count=2,…`. A comma inside a text is written as it is where no word and equals sign follows it.
fn find(text: &str) -> Result<FindEntry, String> {
    let mut out = FindEntry::default();
    let mut last: Option<&'static str> = None;
    for part in text.split(',') {
        let (name, value) = match part.split_once('=') {
            Some((name, value)) => (name.trim(), value),
            None => match last {
                Some(cell) => {
                    let joined = out.cells().into_iter().find(|(n, _)| *n == cell);
                    joined.into_iter().for_each(|(_, text)| *text += &format!(",{part}"));
                    continue;
                }
                None => return Err(format!("'{part}' is not written as kind=bucket or count=2")),
            },
        };
        let meant = SHORT.iter().find(|(short, _)| *short == name).map_or(name, |(_, cell)| *cell);
        let mut cells = out.cells();
        let known = cells.iter().map(|(n, _)| *n).collect::<Vec<_>>().join(", ");
        match cells.iter_mut().find(|cell| cell.0 == meant) {
            Some((n, cell)) => {
                last = Some(*n);
                value.trim().clone_into(cell);
            }
            None => return Err(format!("'{name}' is nothing that a find says; it says kind, wet, counted, stage, or {known}")),
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_find_is_read_word_by_word() {
        let read =
            find("kind=Bucket, with lid,count=2,wet=1,larvae=yes,counted=4,stage=L3,litres=3.5,action=turned over,remains=no").unwrap();
        assert_eq!((&*read.container_type, &*read.count, &*read.holds_water), ("Bucket, with lid", "2", "1"));
        assert_eq!((&*read.pupae_count, &*read.stages, &*read.action, &*read.remains), ("4", "L3", "turned over", "no"));
        assert!(find("bucket").unwrap_err().contains("kind=bucket") && find("colour=red").unwrap_err().contains("container_type"));
    }
}
