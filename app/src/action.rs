//! What somebody asked for. Panels push these; `perform` carries them out.

use crate::jobs::{JobKind, Paper, Wanted};
use crate::session::{Answer, Classing, ColourBy, Desk, GapOrder};
use std::path::PathBuf;
use yardring_core::intake::Role;
use yardring_core::intake::settle::Choice;
use yardring_core::place::Local;
use yardring_core::reach::{MeasureFrom, SourceKind};
use yardring_core::survey::{BlockId, PremiseId, RoundId};
use yardring_core::units::Metres;

/// One thing to do.
#[derive(Debug)]
pub enum Action {
    /// Ask the system for files.
    Ask(Wanted),
    /// Open a survey.
    Open(PathBuf),
    /// Write the survey to its file, or ask for one.
    Save,
    /// Write the survey to a file.
    SaveAs(PathBuf),
    /// Write a file to take away.
    Write(Paper, PathBuf),
    /// Take back the last change.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// Go to a desk.
    GoTo(Desk),
    /// Look at a round.
    Round(RoundId),
    /// Choose a premise, or none.
    Choose(Option<PremiseId>),
    /// Choose a premise and bring the map to it.
    ShowPremise(PremiseId),
    /// Bring the map to a place, and choose the premise there.
    ShowPlace(Local),
    /// Bring the map to a block.
    ShowBlock(BlockId),
    /// The premise under the pointer, in a list or on the map.
    Hover(Option<PremiseId>),
    /// Bring the map to the whole survey.
    ShowAll,
    /// What reach is measured from.
    Sources(SourceKind),
    /// Show cases where they are, or from their mask.
    Unmask(bool),
    /// How far reach goes.
    Radius(Metres),
    /// What of a source reach is measured from.
    MeasureFrom(MeasureFrom),
    /// The order of the gap list.
    Order(GapOrder),
    /// Show gaps of one reason only, by its word, or all.
    Reason(Option<String>),
    /// What the brief map shows.
    Colour(ColourBy),
    /// How values of the brief map become classes.
    Classing(Classing),
    /// Files were dropped on the window: a survey to open, or files to bring in.
    Dropped(Vec<PathBuf>),
    /// Files to bring in were named.
    Offer(Vec<PathBuf>),
    /// What one of the offered files is.
    Kind(usize, Role),
    /// Leave an offered file out.
    Withdraw(usize),
    /// The coordinate system of files that name none, as text.
    Crs(String),
    /// Bring the offered files in.
    BringIn,
    /// Settle a visit that found no premise.
    Settle(Choice),
    /// Look for an address or a parcel.
    Find(String),
    /// Stop a job.
    Cancel(JobKind),
    /// What went wrong has been read.
    Dismiss,
    /// Open the sample survey, made on first use.
    OpenSample,
    /// Work out again what was stopped.
    Again,
    /// Fold the worksheet away, or out.
    FoldWorksheet,
    /// Fold the time strip away, or out.
    FoldTime,
    /// Change between day and night.
    Darken,
    /// Put the keyboard into the find box.
    FocusFind,
    /// Step back: close the finder, then let go of the premise.
    Back,
    /// Close the window, asking first when something is not saved.
    Close,
    /// Close the window and lose what is not saved.
    CloseAnyway,
    /// Do not close the window.
    StayOpen,
    /// A job answered.
    Answered(Box<Answer>),
    /// A job broke.
    Broke(JobKind),
}
