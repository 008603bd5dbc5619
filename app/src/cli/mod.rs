//! The command line: one file for each verb, all answering in the same way.

mod bands;
mod beside;
mod brief;
mod callbacks;
mod change;
mod clusters;
mod containers;
mod covered;
mod demo;
mod dose;
mod export;
mod failure;
mod foresee;
mod gaps;
mod indices;
mod intake;
mod kept_table;
mod look;
mod look_tiles;
mod map;
mod notices;
mod opened;
mod output;
mod reach;
mod reach_wanted;
mod record;
mod recover;
mod sample;
mod settle;
mod sheet;
mod targets;
mod views;
mod walks;
mod window;

pub use failure::Failure;
pub use output::{Done, Output};

use clap::{CommandFactory as _, FromArgMatches as _, Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

/// Yardring: which yards nobody has seen, from the files the office already has.
#[derive(Debug, Parser)]
#[command(name = "yardring", version, args_conflicts_with_subcommands = true)]
struct Arguments {
    #[command(subcommand)]
    verb: Option<Verb>,
    /// The survey to open in the window.
    survey: Option<PathBuf>,
    /// Answer in machine text (JSON) on standard output.
    #[arg(long, global = true)]
    json: bool,
    /// End with 3 when rows were refused or something was noticed.
    #[arg(long, global = true)]
    strict: bool,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Opens the window on the sample survey, made on first use.
    Demo,
    /// Says what a file holds; changes nothing.
    Look(look::LookAt),
    /// Writes one layer of a survey to a file for other programs.
    Export(export::ExportTo),
    /// Makes a survey from files, or adds files to one.
    Intake(intake::Intake),
    /// Visits that found no premise: lists them with candidates, or settles them.
    Settle(settle::Settle),
    /// Enters one visit, corrects one, or takes one away.
    Record(Box<record::Record>),
    /// Unsaved changes that a window left behind when it broke off: says what they are, takes them in, or drops them.
    Recover(recover::Recover),
    /// The measures of the trade, with their intervals.
    Indices(indices::Indices),
    /// The ground inside flight range of the sources, and its area.
    Reach(reach::Reach),
    /// Premises inside the reach that nobody has seen, most urgent first.
    Gaps(gaps::Gaps),
    /// The chance that a yard nobody has seen is positive.
    Foresee(foresee::Foresee),
    /// Visits that are due, with the reason and the last safe day.
    Callbacks(callbacks::CallBacks),
    /// The day's doors by crew; after the day, what was done of them.
    Walks(Box<walks::Walks>),
    /// Did it work: what changed from one round to another.
    Change(change::ChangeBetween),
    /// Where bad blocks lie together, and where positive yards crowd.
    Clusters(clusters::Clusters),
    /// The bands that the district reads its indices by.
    Bands(bands::Bands),
    /// What the district knows about kinds of container.
    Containers(containers::Containers),
    /// How much water stands in a container, and arithmetic on a rate typed from a label.
    Dose(dose::Dose),
    /// How many doors are enough, and how sure we are.
    Sample(sample::Sample),
    /// One map of the district, painted off screen.
    Map(map::Map),
    /// The briefing for the meeting: one file of a few pages.
    Brief(brief::Brief),
    /// Notices for householders: what is left to do, or that nobody opened.
    Notices(Box<notices::Notices>),
    /// The views of the map that were saved in the window.
    Views(views::Views),
}

/// Reads the arguments, runs the verb, and says how it ended: 0 done, 1 the input or the request is wrong, 2 wrong usage,
/// 3 done with refused rows or warnings under `--strict`.
pub fn main() -> ExitCode {
    let matches = Arguments::command().get_matches();
    let arguments = Arguments::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
    let output = Output::new(arguments.json);
    let ended = match &arguments.verb {
        Some(verb) => targets::check(&matches).and_then(|()| run(verb, &output)),
        None => window::open(arguments.survey.clone()),
    };
    output.clear_progress();
    match ended.and_then(|done| output.failed().map_or(Ok(done), Err)) {
        Ok(Done::Warned) if arguments.strict => ExitCode::from(3),
        Ok(_) => ExitCode::SUCCESS,
        Err(failure) => {
            output::say(&failure.to_string());
            ExitCode::FAILURE
        }
    }
}

fn run(verb: &Verb, output: &Output) -> Result<Done, Failure> {
    match verb {
        Verb::Demo => demo::run(output),
        Verb::Look(look) => look.run(output),
        Verb::Export(export) => export.run(output),
        Verb::Intake(intake) => intake.run(output),
        Verb::Settle(settle) => settle.run(output),
        Verb::Record(record) => record.run(output),
        Verb::Recover(recover) => recover.run(output),
        Verb::Indices(indices) => indices.run(output),
        Verb::Reach(reach) => reach.run(output),
        Verb::Gaps(gaps) => gaps.run(output),
        Verb::Foresee(foresee) => foresee.run(output),
        Verb::Callbacks(callbacks) => callbacks.run(output),
        Verb::Walks(walks) => walks.run(output),
        Verb::Change(change) => change.run(output),
        Verb::Clusters(clusters) => clusters.run(output),
        Verb::Bands(bands) => bands.run(output),
        Verb::Containers(containers) => containers.run(output),
        Verb::Dose(dose) => dose.run(output),
        Verb::Sample(sample) => sample.run(output),
        Verb::Map(map) => map.run(output),
        Verb::Brief(brief) => brief.run(output),
        Verb::Notices(notices) => notices.run(output),
        Verb::Views(views) => views.run(output),
    }
}
