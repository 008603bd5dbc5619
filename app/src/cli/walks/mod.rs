//! `yardring walks SURVEY`: the day's doors by crew.

mod after;
mod by_hand;
mod crews;
mod told;
mod wanted;

use super::reach_wanted::{Asked, ReachWanted};
use super::{Done, Failure, Output};
use crate::day_files;
use clap::Args;
use jiff::civil::{Date, Time};
use serde_json::json;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use wanted::{CrewHours, Effort, HandChange, KeptOff, Minutes, Place, Promise, Rest, Span, Stretch};
use yardring_core::brief::{HandOut, PageSize};
use yardring_core::error::Hint as _;
use yardring_core::foresee::{Chances, Species, foresee};
use yardring_core::intake::read_barriers;
use yardring_core::store::{Parts, keep_setting, planned_day};
use yardring_core::survey::{PremiseId, Promised, Survey, settings};
use yardring_core::walks::{
    Day, Heat, Iterations, Learnt, Morning, Neatness, NetworkReport, Pause, Planned, Shift, StreetWays, Torn, Wish, iterations_for,
    neatness, without_streets, write_day,
};

/// The walks of one day: which doors, by which crew, in which order; and after the day, what was done of them.
#[derive(Debug, Args)]
pub struct Walks {
    #[command(flatten)]
    reach: ReachWanted,
    /// The day, as 2025-07-21.
    #[arg(long)]
    on: Date,
    /// How many crews walk; 2 unless it is said, with --rest and --go-on as many as in the kept plan.
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..))]
    crews: Option<u16>,
    /// The crews by their names, with commas, as North,South.
    #[arg(long, value_delimiter = ',', conflicts_with = "crews")]
    names: Vec<String>,
    /// A crew that is out at other hours than all, by its name or number, as "North=07:00-11:00" or "2=07:00+4h"; may be given several times.
    /// With --rest and --go-on the kept plan's hours count; none for no crew.
    #[arg(long, value_name = "CREW=HOURS")]
    hours: Vec<CrewHours>,
    /// How long a crew is out at most, as 6h, 5h30 or 330min.
    #[arg(long, default_value = "6h")]
    shift: Span,
    /// Where every walk begins and ends, as LON,LAT in degrees.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true, required_unless_present_any = ["compare", "print", "crew", "change"])]
    start: Option<Place>,
    /// When the crews leave, as 08:00.
    #[arg(long, default_value = "08:00")]
    begins: Time,
    /// A break, as 12:00-12:30; may be given several times; none for no break.
    #[arg(long, value_name = "FROM-UNTIL", default_value = "12:00-12:30")]
    pause: Vec<Rest>,
    /// A pause for the heat of the day, as 13:00-13:15; may be given several times; none for no pause. Without it, 13:00-13:15 on hot days.
    #[arg(long, value_name = "FROM-UNTIL")]
    heat_pause: Vec<Rest>,
    /// Degrees Celsius from which a day is hot; common practice, no source. Where no temperature near the day is known, it counts as hot.
    #[arg(long, value_name = "DEGREES", default_value_t = Heat::USUAL_FROM, conflicts_with = "heat_pause", allow_hyphen_values = true)]
    heat_from: f64,
    /// A door that was promised a day or an hour, as PARCEL=17:00-18:30 or "PARCEL=Saturday after five"; may be given several times. The
    /// survey keeps it for later days; PARCEL=none takes it back. Promises in the visits' own column are kept without it.
    #[arg(long, value_name = "PARCEL=WHEN")]
    promised: Vec<Promise>,
    /// Minutes at a door that is inspected, closed, with many containers, as 15,3,37; otherwise learnt from the survey's visits.
    #[arg(long, value_name = "A,B,C")]
    minutes: Option<Minutes>,
    /// The crews have no car: legs too far to walk are walked all the same.
    #[arg(long)]
    on_foot: bool,
    /// Lines that no crew crosses, such as a railway or a motorway; leave gaps where there is a bridge. The survey keeps them for later
    /// plans; none for no lines.
    #[arg(long, value_name = "FILE")]
    never_cross: Option<PathBuf>,
    /// A street that a crew is kept off, as "Crew 1=Kettle Lane"; may be given several times. The survey keeps it for later plans; none lets
    /// all crews in again.
    #[arg(long, value_name = "CREW=STREET")]
    keep_off: Vec<KeptOff>,
    /// Keep what is locked or taken off in the plan of this day that the survey keeps, and plan the rest again.
    #[arg(long)]
    rest: bool,
    /// Go on from the plan of this day that the survey keeps: the search begins with its walks, and the plan stays where nothing better is
    /// found. Another seed looks elsewhere.
    #[arg(long, conflicts_with_all = ["compare", "print", "crew", "change"])]
    go_on: bool,
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
    /// Plan nothing: write the files of the plan that the survey keeps into the folder of --out once more.
    #[arg(long, requires = "out", conflicts_with = "compare")]
    print: bool,
    /// Plan nothing: write the sheet and the track of one crew once more, by its name or its number.
    #[arg(long, value_name = "CREW", requires = "out", conflicts_with = "compare")]
    crew: Option<String>,
    /// Plan nothing: change the plan that the survey keeps by hand, as "move PARCEL=Crew 2", "move PARCEL=Crew 2:3" for the third door,
    /// "add PARCEL", "add PARCEL=Crew 2", "take-off PARCEL", "lock PARCEL", "lock Crew 2", "unlock Crew 2"; may be given several times.
    #[arg(long, value_name = "CHANGE", conflicts_with_all = ["compare", "print", "crew", "rest"])]
    change: Vec<HandChange>,
    /// Tell what the changes cost and keep nothing.
    #[arg(long, requires = "change")]
    weigh: bool,
    /// After the day: lay the plan kept in the survey, or that of a walks.csv, beside the visits of the day.
    #[arg(long, value_name = "WALKS.csv", num_args = 0..=1)]
    compare: Option<Option<PathBuf>>,
}

/// Everything that is told about a planned day.
struct Answer {
    planned: Planned,
    learnt: Learnt,
    network: NetworkReport,
    torn: Torn,
    neatness: Neatness,
    /// The ways between doors: they know how each was put at its street.
    ways: Arc<StreetWays>,
    /// Doors that an earlier day left over, and that day.
    left_over: Option<(usize, Date)>,
    tries: u64,
    /// Why a pause for the heat is made, or not, where nobody asked for one.
    heat: Option<String>,
    /// Why no chance is foreseen, when none is.
    refused: Option<String>,
    /// What people should know before they use the answer.
    cautions: Vec<String>,
}

impl Walks {
    /// Plans the day, prints or compares it, and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, nothing can be planned, or a file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let mut asked = self.reach.open(Parts::EVERYTHING, output)?;
        if let Some(file) = &self.compare {
            return after::run(&asked, self.on, file.as_deref(), output);
        }
        if self.print || self.crew.is_some() {
            return self.print_again(&asked, output);
        }
        if !self.change.is_empty() {
            return by_hand::run(self, &asked, output);
        }
        self.put_lines(&mut asked, output)?;
        let mut answer = self.plan(&asked, output)?;
        if let Err(caution) = self.keep(&asked, &answer.planned.day) {
            answer.cautions.push(caution);
        }
        let written = self.out.as_deref().map(|folder| self.hand_out(folder, &asked, &answer.planned.day, None, output)).transpose()?;
        output.clear_progress();
        output.answer(&told::words(self, &asked.opened.survey, &answer, written.as_deref()), || {
            told::machine(self, &asked.opened.survey, &answer)
        });
        Ok(if answer.cautions.is_empty() { Done::Clean } else { Done::Warned })
    }

    /// Keeps the plan in the survey, and the lines that no crew crosses where some were given.
    fn keep(&self, asked: &Asked, day: &Day) -> Result<(), String> {
        let survey = &asked.opened.survey;
        let path = self.reach.survey_path();
        let lines = || match &self.never_cross {
            Some(_) => keep_setting(path, settings::NEVER_CROSSED, survey.settings.get(settings::NEVER_CROSSED).map(|v| &**v)),
            None => Ok(()),
        };
        let kept = lines().and_then(|()| keep_setting(path, settings::WALKS, Some(&write_day(survey, day))));
        kept.map_err(|error| format!("The walks were not kept in the survey: {error}. {}", error.hint()))
    }

    /// Puts the lines that no crew crosses in the place of those that the survey keeps.
    fn put_lines(&self, asked: &mut Asked, output: &Output) -> Result<(), Failure> {
        let Some(path) = &self.never_cross else { return Ok(()) };
        let survey = &mut asked.opened.survey;
        if path.as_os_str() == "none" {
            Arc::make_mut(&mut survey.settings).remove(settings::NEVER_CROSSED);
            return Ok(());
        }
        let lines = read_barriers(survey, path, self.reach.crs(), output)?;
        Arc::make_mut(&mut survey.settings).insert(settings::NEVER_CROSSED.into(), lines.text().into());
        Ok(())
    }

    /// Writes files of the day; gives their names.
    fn hand_out(&self, folder: &Path, asked: &Asked, day: &Day, crew: Option<usize>, output: &Output) -> Result<Vec<PathBuf>, Failure> {
        let opened = &asked.opened;
        let district = self.reach.survey_name();
        let what = HandOut { district, round: opened.round, paper: self.paper, languages: self.notices.clone(), crew };
        Ok(day_files::write(folder, day, &opened.survey, &what, output)?)
    }

    /// Writes the files of the day that the survey keeps, or one crew's, without planning anything.
    fn print_again(&self, asked: &Asked, output: &Output) -> Result<Done, Failure> {
        let day = after::kept(asked, self.on)?;
        let crew = self.crew.as_deref().map(|name| one_crew(&day, name)).transpose()?;
        let folder = self.out.as_deref().unwrap_or_else(|| Path::new("."));
        let written = self.hand_out(folder, asked, &day, crew, output)?;
        output.clear_progress();
        let words: String = written.iter().map(|path| format!("Written to {}\n", path.display())).collect();
        output.answer(&words, || json!({ "on": day.on.to_string(), "written": written }));
        Ok(Done::Clean)
    }

    fn plan(&self, asked: &Asked, output: &Output) -> Result<Answer, Failure> {
        let opened = &asked.opened;
        let survey = Arc::new(Survey::clone(&opened.survey));
        let foreseen = foresee(&survey, &opened.standings, output).map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        let (chances, refused) = match Chances::shown(foreseen) {
            Ok(chances) => (Some(chances.by_premise(survey.premises.len())), None),
            Err((refusal, _)) => (None, Some(refusal.to_string())),
        };
        if self.go_on {
            after::kept(asked, self.on)?;
        }
        let before = planned_day(&survey);
        let wish = self.wish(asked, before.as_ref())?;
        let promised = self.promises(&survey, before.as_ref())?;
        let morning = Morning {
            survey: &survey,
            standings: &opened.standings,
            reach: asked.wanted,
            species: self.species,
            chances: chances.as_deref(),
            minutes: self.minutes.map(|Minutes(given)| given),
            on_foot: self.on_foot,
            promised: &promised,
            wish: &wish,
            before: before.as_ref(),
            keeps: self.rest || self.go_on,
        };
        let ready = morning.ready(output)?;
        if ready.candidates.is_empty() {
            return Err(Failure::new(
                format!("No door is due on {}", self.on),
                "Widen the reach with --radius, draw it round other sources with --from, or choose another day",
            ));
        }
        let tries = self.effort.tries(|seconds| iterations_for(seconds, &wish, &ready.candidates));
        let planned = morning.plan(&ready, self.seed, &mut Iterations(tries), output)?;
        Ok(Answer {
            neatness: neatness(&survey, &planned.day),
            ways: ready.ways,
            left_over: before.map(|day| (ready.left_over, day.on)).filter(|(n, day)| *n > 0 && *day < self.on),
            planned,
            learnt: ready.learnt,
            network: ready.network.report(),
            torn: ready.network.torn().clone(),
            tries,
            heat: self.heat_told(asked, &wish),
            refused,
            cautions: cautions(asked),
        })
    }

    fn wish(&self, asked: &Asked, before: Option<&Day>) -> Result<Wish, Failure> {
        let Some(Place(start)) = self.start else {
            return Err(Failure::new("It is not said where the walks begin", "Give --start LON,LAT"));
        };
        let crews = self.crew_names(before)?;
        let own_shifts = self.own_shifts(&crews, before)?;
        let out = Shift::whole(self.shift(), crews.len(), &own_shifts);
        let of_day = |rests: &[Rest], heat: bool| -> Vec<(Time, f64, bool)> {
            let times = rests.iter().filter_map(|Rest(stretch)| *stretch);
            times.map(|Stretch(from, until)| (from, until.duration_since(from).as_secs_f64() / 60.0, heat)).collect()
        };
        let usual = Pause::USUAL.into_iter().filter(|(_, _, heat)| *heat && Heat::calls_for_a_pause(self.heat(asked), self.heat_from));
        let for_heat = if self.heat_pause.is_empty() { usual.collect() } else { of_day(&self.heat_pause, true) };
        let pauses = [of_day(&self.pause, false), for_heat].concat();
        let said = self.keep_off.iter().filter(|k| !k.crew.is_empty());
        let said = said.map(|k| Ok((crew_named(&crews, &k.crew)?, k.street.clone()))).collect::<Result<Vec<_>, Failure>>()?;
        let earlier = before.filter(|_| self.keep_off.is_empty()).into_iter().flat_map(|day| day.kept_off.iter().cloned());
        let kept_off = earlier.filter(|(crew, _)| *crew < crews.len()).chain(said).collect();
        Ok(Wish {
            on: self.on,
            begins: self.begins,
            shift_minutes: self.shift.0,
            own_shifts,
            kept_off,
            crews,
            meeting_point: asked.opened.survey.frame.local_from_lon_lat(start),
            pauses: Pause::within(self.begins, out, &pauses),
            one_more: true,
            goes_on: self.go_on,
        })
    }

    /// When crews are out that have no hours of their own.
    fn shift(&self) -> Shift {
        Shift { from: 0.0, until: self.shift.0 }
    }

    /// Why the usual pause for the heat is made, or not; none where it would not fall into any shift, or somebody asked for pauses.
    fn heat_told(&self, asked: &Asked, wish: &Wish) -> Option<String> {
        let usual: Vec<_> = Pause::USUAL.into_iter().filter(|p| p.2).collect();
        let out = Shift::whole(self.shift(), wish.crews.len(), &wish.own_shifts);
        let falls = self.heat_pause.is_empty() && !Pause::within(self.begins, out, &usual).is_empty();
        falls.then(|| Heat::words(self.heat(asked), self.on, self.heat_from))
    }

    /// How hot the day is, as far as the survey tells.
    fn heat(&self, asked: &Asked) -> Option<Heat> {
        Heat::of(&asked.opened.survey, self.on)
    }

    /// The doors that were promised a day or an hour, now or when the plan was made that the survey keeps; a weekday is the first one from
    /// the planned day on.
    fn promises(&self, survey: &Survey, before: Option<&Day>) -> Result<Vec<(PremiseId, Promised)>, Failure> {
        let written = self.on.yesterday().unwrap_or(self.on);
        let mut out = before.map(|day| day.promises.clone()).unwrap_or_default();
        for Promise { parcel, said } in &self.promised {
            let premise = self::parcel(survey, "--promised", parcel)?;
            out.retain(|(earlier, _)| *earlier != premise);
            out.extend(Promised::read(said, written).map(|promised| (premise, promised)));
        }
        Ok(out)
    }
}

fn cautions(asked: &Asked) -> Vec<String> {
    let mut out: Vec<String> = without_streets(&asked.opened.survey).into_iter().collect();
    if asked.sources.is_empty() {
        out.push("The reach has no source in this round: only call-backs are on the walks.".to_owned());
    }
    out
}

/// The premise with a parcel id that an option names.
fn parcel(survey: &Survey, option: &str, id: &str) -> Result<PremiseId, Failure> {
    let row = survey.premises.parcel_id.iter().position(|own| own == id).ok_or_else(|| {
        let what = format!("{option} names the parcel '{id}', which the survey does not have");
        Failure::new(what, "Give the parcel id as the survey has it")
    })?;
    Ok(PremiseId(row as u32))
}

/// A crew by its name, or by its number from 1.
fn crew_named(crews: &[String], said: &str) -> Result<usize, Failure> {
    let by_name = crews.iter().position(|c| c.eq_ignore_ascii_case(said.trim()));
    let by_number = || said.trim().parse::<usize>().ok().and_then(|n| n.checked_sub(1)).filter(|n| *n < crews.len());
    by_name
        .or_else(by_number)
        .ok_or_else(|| Failure::new(format!("There is no crew '{said}'"), format!("The crews are: {}", crews.join(", "))))
}

/// A crew of a planned day that has doors.
fn one_crew(day: &Day, said: &str) -> Result<usize, Failure> {
    let crews: Vec<String> = day.walks.iter().map(|w| w.crew.clone()).collect();
    crew_named(&crews, said)
}
