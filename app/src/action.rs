//! What somebody asked for. Panels push these; `perform` carries them out.

use crate::jobs::{JobKind, Paper, Wanted};
use crate::map::Look;
use crate::session::walking::WalkAction;
use crate::session::{Answer, Classing, ColourBy, Compare, Desk, GapOrder, MapPaper, NoticesWish, RecordAction, Trace, UnsavedAction};
use crate::settings::TextSize;
use jiff::civil::Date;
use std::path::PathBuf;
use yardring_core::foresee::Species;
use yardring_core::intake::settle::{Choice, SameId};
use yardring_core::intake::{DateOrder, Role, WordList};
use yardring_core::place::{Bounds, Local, WebTile};
use yardring_core::reach::{MeasureFrom, SourceKind};
use yardring_core::store::Edit;
use yardring_core::survey::{BlockId, ContainerKnowledge, PremiseId, RoundId};
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
    /// Go to a desk and open a step of its worksheet.
    OpenStep(Desk, u8),
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
    /// Something about the map itself.
    Map(MapAction),
    /// What reach is measured from.
    Sources(SourceKind),
    /// How far reach goes.
    Radius(Metres),
    /// What of a source reach is measured from.
    MeasureFrom(MeasureFrom),
    /// Something more about the reach.
    Reach(ReachAction),
    /// The order of the gap list.
    Order(GapOrder),
    /// Show gaps of one reason only, by its word, or all.
    Reason(Option<String>),
    /// The day's walks.
    Walks(WalkAction),
    /// A visit entered, corrected or taken away by hand.
    Record(RecordAction),
    /// Changes that an earlier window left behind.
    Unsaved(UnsavedAction),
    /// What the brief map shows.
    Colour(ColourBy),
    /// Show the yards behind a number, or let go of them.
    Trace(Option<Trace>),
    /// Compare other rounds, or beside other blocks.
    Compare(Compare),
    /// Begin work that waits until somebody asks for it.
    WorkOut(Slow),
    /// See call-backs from a day, as if it were today; from the day after the round without one.
    DueOn(Option<Date>),
    /// The species whose growth sets the last safe day.
    Grows(Species),
    /// Take another table of container kinds.
    Know(Box<ContainerKnowledge>),
    /// Change what the office settles for its survey: bands, or which blocks are neighbours.
    Rule(Box<Edit>),
    /// How values of the brief map become classes.
    Classing(Classing),
    /// How the map is written to a file.
    MapPaper(MapPaper),
    /// How notices for householders are printed.
    Notices(NoticesWish),
    /// Files were dropped on the window: a survey to open, or files to bring in.
    Dropped(Vec<PathBuf>),
    /// Files to bring in were named.
    Offer(Vec<PathBuf>),
    /// What one of the offered files is.
    Kind(usize, Role),
    /// What the columns of an offered file mean.
    Match(MatchAction),
    /// Leave an offered file out.
    Withdraw(usize),
    /// The coordinate system of files that name none, as text.
    Crs(String),
    /// Bring the offered files in.
    BringIn,
    /// Look at a line of what there is to settle.
    LookAt(usize),
    /// Settle a visit that found no premise.
    Settle(Choice),
    /// Settle all that wait and have one candidate that fits clearly best.
    SettleClear,
    /// Make premises with the same parcel id one, or leave them separate.
    SettleId(Box<str>, SameId),
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
    /// What draws the window has stopped: write what is not saved to a file of its own, and close.
    CardLost,
    /// A job answered.
    Answered(Box<Answer>),
    /// A job broke.
    Broke(JobKind),
}

/// Work that takes a while and begins only when somebody asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slow {
    /// Look for clusters of blocks.
    Clusters,
    /// Work the chances out, be the district as large as it is.
    Chances,
}

/// One thing to do with the map: where it looks, what lies under it, what is measured on it, how large it is drawn.
#[derive(Debug)]
pub enum MapAction {
    /// The map came to rest.
    LookedAt(Look),
    /// The ground that the map shows where it came to rest.
    Shown(Bounds),
    /// Go to the view before.
    ViewBack,
    /// Go to the view after.
    ViewForward,
    /// Keep the present view under a name.
    SaveView(String),
    /// Go to a view that was kept.
    ShowView(String),
    /// Forget a view that was kept.
    ForgetView(String),
    /// Begin to measure a distance, or end it.
    Measure,
    /// Measure on to a place.
    MeasureTo(Local),
    /// Take back the last place that was measured to.
    MeasureLess,
    /// Lay a file of map tiles under the survey.
    LayGround(PathBuf),
    /// Lay the tiles of a server under the survey: its tile address and whom it asks to be named. Somebody agreed to it.
    LayOnline(String, String),
    /// Take the ground away.
    NoGround,
    /// The map tiles in view, those next to the middle first.
    TilesInView(Vec<WebTile>),
    /// Draw everything so large.
    TextSize(TextSize),
}

/// One thing to say about the columns of an offered file, which is named by its place in the list.
#[derive(Debug)]
pub enum MatchAction {
    /// Which layer of an offered file is meant.
    Layer(usize, usize),
    /// Which column of an offered file has a meaning: by its name, or none.
    Column(usize, &'static str, Option<String>),
    /// In which order the dates of an offered file are written.
    DateOrder(usize, DateOrder),
    /// What a word of an offered file stands for; blank takes it back.
    Word(usize, WordList, String, String),
    /// Read the columns of the offered files as a column map file says.
    ReadMatch(PathBuf),
}

/// One thing to say about the reach beside its sources and its radius.
#[derive(Debug)]
pub enum ReachAction {
    /// Show cases where they are, or from their mask.
    Unmask(bool),
    /// Traps are sources when they caught more than this.
    TrapCount(f64),
    /// Take barriers from a file.
    Barriers(PathBuf),
    /// Go without barriers.
    NoBarriers,
    /// The office's own list of radii, as text; empty for the usual one.
    Radii(String),
}
