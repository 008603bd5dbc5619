//! `yardring brief SURVEY`: the briefing for the meeting.

use super::beside::BesideBlocks;
use super::opened::{Opened, survey_name};
use super::{Done, Failure, Output};
use clap::Args;
use jiff::civil::Date;
use serde_json::json;
use std::path::PathBuf;
use yardring_core::brief::{BriefingRequest, Facts, PageSize, briefing};
use yardring_core::files::write_bytes;
use yardring_core::foresee::Species;
use yardring_core::store::Parts;
use yardring_core::units::Metres;

/// One file of a few pages for the meeting: the figures and what follows from them, maps, blocks, rounds, containers, and how it was
/// worked out.
#[derive(Debug, Args)]
pub struct Brief {
    /// The survey.
    survey: PathBuf,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// The day that it is of, as 2025-07-24: what is due is counted from it. Otherwise the day after the round.
    #[arg(long)]
    on: Option<Date>,
    /// How far from positive yards unseen yards are looked for, with its unit: 150m, 150yd or 0.5mi.
    #[arg(long, default_value = "150m")]
    radius: Metres,
    /// The species whose growth sets the last safe days: albopictus or aegypti.
    #[arg(long, default_value = "albopictus")]
    species: Species,
    /// The paper, lying: letter or a4.
    #[arg(long, default_value = "letter")]
    paper: PageSize,
    #[command(flatten)]
    beside: BesideBlocks,
    /// The district's name for the heading; otherwise the name of the survey's file.
    #[arg(long)]
    title: Option<String>,
    /// Write the briefing to this file, which ends in .pdf.
    #[arg(long)]
    out: PathBuf,
}

impl Brief {
    /// Works the briefing out and writes it.
    ///
    /// # Errors
    /// [`Failure`] when the file is to be no PDF, the survey cannot be read or has no visits or no such round, or the file cannot be
    /// written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        if self.out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("pdf")) {
            let what = format!("A briefing cannot be written to {}", self.out.display());
            return Err(Failure::new(what, "Give a name that ends in .pdf"));
        }
        let opened = Opened::new(&self.survey, self.round.as_deref(), Parts::EVERYTHING, output)?;
        opened.round_name()?;
        let Some(round) = opened.round else { return Ok(Done::Clean) };
        let request = BriefingRequest {
            district: self.title.clone().unwrap_or_else(|| survey_name(&self.survey)),
            on: self.on,
            radius: self.radius,
            species: self.species,
            paper: self.paper,
            beside: self.beside.of(&opened.survey, output)?,
        };
        let (bytes, facts) = briefing(&opened.survey, round, &request, output)?;
        write_bytes(&bytes, &self.out).map_err(|error| Failure::unwritten(&self.out, &error))?;
        output.answer(&format!("{}Written to {}\n", in_words(&facts), self.out.display()), || {
            let mut machine = json!(facts);
            machine["out"] = json!(self.out.display().to_string());
            machine
        });
        Ok(Done::Clean)
    }
}

/// What the first page says.
fn in_words(facts: &Facts) -> String {
    let mut out = format!("{}, {}\n", facts.round, facts.under);
    for figure in &facts.figures {
        out.push_str(&format!("{:<16} {:<18} {}\n", figure.what, figure.value, figure.of));
    }
    out.push_str(&format!("What was done. {}\n", facts.done_words()));
    for point in &facts.points {
        out.push_str(&format!("{}: {}\n", point.heading, point.says));
    }
    out
}
