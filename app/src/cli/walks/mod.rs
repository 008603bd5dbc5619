//! `yardring walks SURVEY`: the day's doors by crew.

mod after;
mod told;
mod wanted;

use super::reach_wanted::{Asked, ReachWanted};
use super::{Done, Failure, Output};
use crate::day_files;
use clap::Args;
use jiff::civil::{Date, Time};
use std::path::{Path, PathBuf};
use wanted::{Effort, Minutes, Place, Promise, Span, Stretch};
use yardring_core::brief::{HandOut, PageSize};
use yardring_core::error::Hint as _;
use yardring_core::foresee::{Chances, Species, foresee};
use yardring_core::job::Cancelled;
use yardring_core::store::keep_setting;
use yardring_core::survey::{PremiseId, settings};
use yardring_core::walks::{
    Candidate, Iterations, Learnt, Looking, NetworkReport, Pause, Planned, StreetNetwork, Walking, Wish, candidates, iterations_for,
    learn_minutes, plan_day, write_day,
};

/// The walks of one day: which doors, by which crew, in which order; and after the day, what was done of them.
#[derive(Debug, Args)]
pub struct Walks {
    #[command(flatten)]
    reach: ReachWanted,
    /// The day, as 2025-07-21.
    #[arg(long)]
    on: Date,
    /// How many crews walk.
    #[arg(long, default_value_t = 2)]
    crews: u16,
    /// How long a crew is out at most, as 6h, 5h30 or 330min.
    #[arg(long, default_value = "6h")]
    shift: Span,
    /// Where every walk begins and ends, as LON,LAT in degrees.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true, required_unless_present = "compare")]
    start: Option<Place>,
    /// When the crews leave, as 08:00.
    #[arg(long, default_value = "08:00")]
    begins: Time,
    /// A break or a pause for the heat, as 12:00-12:30; may be given several times.
    #[arg(long, value_name = "FROM-UNTIL")]
    pause: Vec<Stretch>,
    /// A door that was promised an hour, as PARCEL=17:00-18:30; may be given several times.
    #[arg(long, value_name = "PARCEL=FROM-UNTIL")]
    promised: Vec<Promise>,
    /// Minutes at a door that is inspected, closed, with many containers, as 15,3,37; otherwise learnt from the survey's visits.
    #[arg(long, value_name = "A,B,C")]
    minutes: Option<Minutes>,
    /// The crews have no car: legs too far to walk are walked all the same.
    #[arg(long)]
    on_foot: bool,
    /// The species whose growth sets the last safe day: albopictus or aegypti.
    #[arg(long, default_value = "albopictus")]
    species: Species,
    /// The same seed and effort give the same walks.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long to search: about so many seconds, as 10s, or a number of tries.
    #[arg(long, default_value = "10s")]
    effort: Effort,
    /// Write the walks into this folder: walks.csv, left_out.csv, walks.geojson, walks.kml, an empty visits table, and for each crew
    /// a sheet (PDF) and a track (GPX).
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// The paper of the sheets: letter or a4.
    #[arg(long, default_value = "letter")]
    paper: PageSize,
    /// Languages of the notices to carry, with commas.
    #[arg(long, default_value = "English", value_delimiter = ',')]
    notices: Vec<String>,
    /// After the day: lay the plan kept in the survey, or that of a walks.csv, beside the visits of the day.
    #[arg(long, value_name = "WALKS.csv", num_args = 0..=1)]
    compare: Option<Option<PathBuf>>,
}

/// Everything that is told about a planned day.
struct Answer {
    planned: Planned,
    learnt: Learnt,
    network: NetworkReport,
    tries: u64,
    /// Why no chance is foreseen, when none is.
    refused: Option<String>,
    /// What people should know before they use the answer.
    cautions: Vec<String>,
}

impl Walks {
    /// Plans the day, or compares it, and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, nothing can be planned, or a file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let asked = self.reach.open(output)?;
        if let Some(file) = &self.compare {
            return after::run(&asked, self.on, file.as_deref(), output);
        }
        let mut answer = self.plan(&asked, output)?;
        let kept = keep_setting(self.reach.survey_path(), settings::WALKS, Some(&write_day(&asked.opened.survey, &answer.planned.day)));
        if let Err(error) = kept {
            answer.cautions.push(format!("The walks were not kept in the survey: {error}. {}", error.hint()));
        }
        let written = self.out.as_deref().map(|folder| self.hand_out(folder, &asked, &answer.planned, output)).transpose()?;
        output.clear_progress();
        output.answer(&told::words(self, &answer, written.as_deref()), || told::machine(self, &asked.opened.survey, &answer));
        Ok(if answer.cautions.is_empty() { Done::Clean } else { Done::Warned })
    }

    /// Writes all files of the day; gives their names.
    fn hand_out(&self, folder: &Path, asked: &Asked, planned: &Planned, output: &Output) -> Result<Vec<PathBuf>, Failure> {
        let opened = &asked.opened;
        let district = self.reach.survey_name();
        let what = HandOut { district, round: opened.round, paper: self.paper, languages: self.notices.clone(), crew: None };
        Ok(day_files::write(folder, &planned.day, &opened.survey, &what, output)?)
    }

    fn plan(&self, asked: &Asked, output: &Output) -> Result<Answer, Failure> {
        let survey = &asked.opened.survey;
        let usual = Walking::default();
        let walking = Walking { driving: usual.driving.filter(|_| !self.on_foot), ..usual };
        let mut learnt = learn_minutes(survey, &walking);
        if let Some(Minutes(given)) = self.minutes {
            learnt = Learnt { minutes: given, visits: [0; 3], ..learnt };
        }
        let stopped = |stopped: Cancelled| Failure::new(stopped.to_string(), "");
        let foreseen = foresee(survey, &asked.opened.standings, output).map_err(stopped)?;
        let (chances, refused) = match Chances::shown(foreseen) {
            Ok(chances) => (Some(chances.by_premise(survey.premises.len())), None),
            Err((refusal, _)) => (None, Some(refusal.to_string())),
        };
        let looking = Looking { on: self.on, wanted: asked.wanted, species: self.species, chances: chances.as_deref(), minutes: &learnt };
        let mut doors = candidates(survey, &asked.opened.standings, &looking, output).map_err(stopped)?;
        self.promise(asked, &mut doors)?;
        let network = StreetNetwork::new(&survey.streets, &walking);
        let wish = self.wish(asked)?;
        let tries = self.effort.tries(|seconds| iterations_for(seconds, &wish, &doors));
        if doors.is_empty() {
            return Err(Failure::new(
                format!("No door is due on {}", self.on),
                "Widen the reach with --radius, draw it round other sources with --from, or choose another day",
            ));
        }
        let planned = plan_day(survey, &network, &doors, &wish, self.seed, &mut Iterations(tries), output)?;
        let mut cautions = Vec::new();
        if survey.streets.is_empty() {
            cautions.push("The survey has no streets: walks are straight lines, reckoned 1.3 times as long.".to_owned());
        }
        if asked.sources.is_empty() {
            cautions.push("The reach has no source in this round: only call-backs are on the walks.".to_owned());
        }
        Ok(Answer { planned, learnt, network: network.report(), tries, refused, cautions })
    }

    fn wish(&self, asked: &Asked) -> Result<Wish, Failure> {
        let Some(Place(start)) = self.start else {
            return Err(Failure::new("It is not said where the walks begin", "Give --start LON,LAT"));
        };
        let pauses = self
            .pause
            .iter()
            .map(|Stretch(from, until)| Pause { from: self.minute(*from), minutes: until.duration_since(*from).as_secs_f64() / 60.0 });
        let mut pauses: Vec<Pause> = pauses.collect();
        pauses.sort_by(|a, b| a.from.total_cmp(&b.from));
        Ok(Wish {
            on: self.on,
            begins: self.begins,
            shift_minutes: self.shift.0,
            crews: (1..=self.crews).map(|n| format!("Crew {n}")).collect(),
            meeting_point: asked.opened.survey.frame.local_from_lon_lat(start),
            pauses,
            one_more: true,
        })
    }

    /// Minutes from the beginning to a time of the day.
    fn minute(&self, time: Time) -> f64 {
        time.duration_since(self.begins).as_secs_f64() / 60.0
    }

    /// Notes promised hours at their doors; a door that was no candidate becomes one.
    fn promise(&self, asked: &Asked, doors: &mut Vec<Candidate>) -> Result<(), Failure> {
        let survey = &asked.opened.survey;
        for Promise { parcel, hours: Stretch(from, until) } in &self.promised {
            let row = survey.premises.parcel_id.iter().position(|id| id == parcel).ok_or_else(|| {
                Failure::new(
                    format!("--promised names the parcel '{parcel}', which the survey does not have"),
                    "Give the parcel id as the survey has it",
                )
            })?;
            let hours = Some((self.minute(*from), self.minute(*until)));
            let premise = PremiseId(row as u32);
            match doors.iter_mut().find(|d| d.premise == premise) {
                Some(door) => door.promised = hours,
                None => doors.push(Candidate { promised: hours, ..Candidate::by_hand(premise, 15.0, "promised") }),
            }
        }
        Ok(())
    }
}
