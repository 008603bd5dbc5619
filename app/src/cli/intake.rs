//! `yardring intake`: files into a survey.

use super::{Done, Failure, Output};
use crate::tables::refused_csv;
use clap::Args;
use std::path::{Path, PathBuf};
use yardring_core::files::write_bytes;
use yardring_core::intake::{ColumnMap, IntakeError, Report, Request, bring_in};
use yardring_core::job::Watch as _;
use yardring_core::place::Crs;
use yardring_core::store::{self, Parts, Stamp};

/// Makes a survey from files, or adds files to one.
#[derive(Debug, Args)]
#[group(id = "files", required = true, multiple = true, args = ["parcels", "streets", "blocks", "visits", "signals", "temperatures"])]
pub struct Intake {
    /// The survey's file; made when it does not exist.
    survey: PathBuf,
    /// The county's parcels.
    #[arg(long, value_name = "FILE")]
    parcels: Option<PathBuf>,
    /// Street centrelines.
    #[arg(long, value_name = "FILE")]
    streets: Option<PathBuf>,
    /// Block outlines.
    #[arg(long, value_name = "FILE")]
    blocks: Option<PathBuf>,
    /// Visits and what was found on them.
    #[arg(long, value_name = "FILE")]
    visits: Option<PathBuf>,
    /// Cases, trap counts, complaints.
    #[arg(long, value_name = "FILE")]
    signals: Option<PathBuf>,
    /// Daily temperatures.
    #[arg(long, value_name = "FILE")]
    temperatures: Option<PathBuf>,
    /// Which column means what, as a TOML file.
    #[arg(long, value_name = "MAP.toml")]
    columns: Option<PathBuf>,
    /// The coordinate system of files that name none, as EPSG:2248.
    #[arg(long, value_name = "EPSG:n")]
    crs: Option<String>,
    /// Where to write the report as JSON.
    #[arg(long, value_name = "R.json")]
    report: Option<PathBuf>,
    /// Where to write the refused rows as CSV.
    #[arg(long, value_name = "R.csv")]
    refused: Option<PathBuf>,
}

impl Intake {
    /// Brings the files in, saves the survey, then writes the report. On a failure the survey stays as it was.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let request = self.request()?;
        let stamp = Stamp::of(&self.survey);
        let current = if self.survey.exists() { Some(store::load(&self.survey, Parts::EVERYTHING, output)?) } else { None };
        let (survey, report) = bring_in(current.as_ref(), &request, output).map_err(|error| self.failure(error))?;
        output.progress("saving", 0, 0);
        // The program ends after its answer, and the system takes all memory back at once.
        let survey = std::mem::ManuallyDrop::new(survey);
        store::save_over(&survey, &self.survey, stamp, output)?;
        let machine = serde_json::to_value(&report).map_err(|e| Failure::new(format!("the report cannot be written: {e}"), ""))?;
        if let Some(path) = &self.report {
            write(path, format!("{machine:#}\n").as_bytes())?;
        }
        if let Some(path) = &self.refused {
            write(
                path,
                &refused_csv(&report.refused_list).map_err(|e| Failure::new(format!("the refused rows cannot be written: {e}"), ""))?,
            )?;
        }
        output.clear_progress();
        output.answer(&self.words(&report), || machine);
        Ok(if report.needs_a_look() { Done::Warned } else { Done::Clean })
    }

    fn request(&self) -> Result<Request, Failure> {
        let columns = match &self.columns {
            Some(path) => {
                let text = std::fs::read_to_string(path)
                    .map_err(|e| Failure::new(format!("{}: cannot be read: {e}", path.display()), "Give the column map's path"))?;
                ColumnMap::from_toml(&text)?
            }
            None => ColumnMap::default(),
        };
        let crs = self.crs.as_deref().map(Crs::from_code).transpose().map_err(|e| Failure::new(e.to_string(), ""))?;
        Ok(Request {
            parcels: self.parcels.clone(),
            streets: self.streets.clone(),
            blocks: self.blocks.clone(),
            visits: self.visits.clone(),
            signals: self.signals.clone(),
            temperatures: self.temperatures.clone(),
            columns,
            crs,
        })
    }

    fn failure(&self, error: IntakeError) -> Failure {
        match error {
            IntakeError::NoParcels => {
                let what = format!("{} does not exist, and there are no parcels to make it from", self.survey.display());
                Failure::new(what, "Give the county's parcel file with --parcels")
            }
            other => other.into(),
        }
    }

    fn words(&self, report: &Report) -> String {
        let mut words = report.in_words();
        words.push_str(&format!("{} is saved", self.survey.display()));
        if let Some(path) = self.refused.as_ref().filter(|_| report.refused_rows > 0) {
            words.push_str(&format!("; the refused rows are in {}", path.display()));
        }
        words
    }
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_bytes(bytes, path).map_err(|e| {
        Failure::new(format!("the survey is saved, but {} cannot be written: {e}", path.display()), "Choose another place for it")
    })
}
