//! `yardring notices SURVEY`: what householders are told.

use super::opened::{Opened, survey_name};
use super::{Done, Failure, Output};
use clap::Args;
use jiff::civil::Date;
use serde_json::json;
use std::path::PathBuf;
use yardring_core::brief::{NoticesRequest, PageSize, Printed, notices};
use yardring_core::files::write_bytes;
use yardring_core::foresee::Species;
use yardring_core::store::{Parts, keep_setting, planned_day};
use yardring_core::survey::{Language, PremiseId, Survey, settings};

/// Notices for householders, two to a page to be cut along a line: what was found in the yard, what was done, what is left to do and by
/// when; or that nobody opened and whom to call. One for each yard where something is left and each door that stayed shut, block by block
/// and along the streets. No notice says where or whether anybody fell ill.
#[derive(Debug, Args)]
pub struct Notices {
    /// The survey.
    survey: PathBuf,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// The language of the householders: en or es.
    #[arg(long, default_value = "en")]
    language: Language,
    /// The day on which they are handed out, as 2025-07-24: what had to be done before it is to be done at once. Otherwise the day after
    /// the round.
    #[arg(long)]
    on: Option<Date>,
    /// Whom to call, as "Mosquito control, 555-0100"; otherwise what the survey keeps, or blank lines for a pen.
    #[arg(long, value_name = "TEXT")]
    office: Option<String>,
    /// Keep the text of --office in the survey for later notices.
    #[arg(long, requires = "office")]
    keep: bool,
    /// Only doors of the planned day that the survey keeps, in the order of its walks.
    #[arg(long)]
    walks: bool,
    /// Only doors of one crew of the planned day, by its name or number.
    #[arg(long, value_name = "CREW")]
    crew: Option<String>,
    /// The species whose growth sets the last safe days: albopictus or aegypti.
    #[arg(long, default_value = "albopictus")]
    species: Species,
    /// The paper: letter or a4.
    #[arg(long, default_value = "letter")]
    paper: PageSize,
    /// The district's name for the heading; otherwise the name of the survey's file.
    #[arg(long)]
    title: Option<String>,
    /// Write the notices to this file, which ends in .pdf.
    #[arg(long)]
    out: PathBuf,
}

impl Notices {
    /// Prints the notices into a file.
    ///
    /// # Errors
    /// [`Failure`] when the file is to be no PDF, the survey cannot be read or has no visits, no such round or no planned day, no door gets
    /// a notice, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        if self.out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("pdf")) {
            let what = format!("Notices cannot be written to {}", self.out.display());
            return Err(Failure::new(what, "Give a name that ends in .pdf"));
        }
        let opened = Opened::new(&self.survey, self.round.as_deref(), Parts::EVERYTHING, output)?;
        let name = opened.round_name()?.to_owned();
        let Some(round) = opened.round else { return Ok(Done::Clean) };
        let survey = &opened.survey;
        let kept = survey.settings.get(settings::OFFICE).map(|text| text.to_string());
        let request = NoticesRequest {
            district: self.title.clone().unwrap_or_else(|| survey_name(&self.survey)),
            on: self.on,
            species: self.species,
            paper: self.paper,
            language: self.language,
            office: self.office.clone().or(kept).unwrap_or_default(),
            doors: self.doors(survey)?,
        };
        let (bytes, printed) = notices(survey, round, &request, output)?;
        write_bytes(&bytes, &self.out).map_err(|error| Failure::unwritten(&self.out, &error))?;
        if let Some(text) = self.office.as_deref().map(str::trim).filter(|_| self.keep) {
            keep_setting(&self.survey, settings::OFFICE, Some(text).filter(|text| !text.is_empty()))?;
        }
        let words = format!("{name}\n{}Written to {}\n", in_words(&printed), self.out.display());
        output.answer(&words, || {
            let mut machine = json!(printed);
            machine["round"] = json!(name);
            machine["language"] = json!(self.language.word());
            machine["out"] = json!(self.out.display().to_string());
            machine
        });
        Ok(Done::Clean)
    }

    /// The doors of the planned day in the order of its walks, where they are asked for.
    fn doors(&self, survey: &Survey) -> Result<Option<Vec<PremiseId>>, Failure> {
        if !self.walks && self.crew.is_none() {
            return Ok(None);
        }
        let plan =
            || Failure::new("No planned day is kept in the survey", "Plan it with yardring walks SURVEY.gpkg --on DATE --start LON,LAT");
        let day = planned_day(survey).ok_or_else(plan)?;
        let named = |name: &String| {
            let place = day.walks.iter().position(|w| w.crew == *name).or_else(|| name.parse::<usize>().ok()?.checked_sub(1));
            place.filter(|at| *at < day.walks.len()).ok_or_else(|| {
                let crews: Vec<String> = day.walks.iter().map(|w| format!("'{}'", w.crew)).collect();
                Failure::new(format!("No crew of the planned day is called '{name}'"), format!("Its crews are {}", crews.join(", ")))
            })
        };
        let crew = self.crew.as_ref().map(named).transpose()?;
        Ok(Some(day.in_order(crew)))
    }
}

/// How many notices there are and why, and why others are not.
fn in_words(printed: &Printed) -> String {
    let listed = |all: &std::collections::BTreeMap<&str, usize>| all.iter().map(|(why, n)| format!("{n:>7}  {why}\n")).collect::<String>();
    let mut out = format!("{} notices on {} pages, two to a page: cut along the line\n", printed.notices, printed.pages);
    out.push_str(&listed(&printed.by_reason));
    if printed.at_once > 0 {
        out.push_str(&format!("{:>7}  of them say at once: the day by which it was to be done is over\n", printed.at_once));
    }
    if printed.skipped > 0 {
        out.push_str(&format!("{} doors that somebody went to get none\n{}", printed.skipped, listed(&printed.skipped_because)));
    }
    out
}
