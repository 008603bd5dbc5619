//! Answers worked out beside the window, each with what it answers.

use super::{ChangeKey, ClustersAnswer, DueAnswer, DueKey, KindsAnswer, LookedAt, Source};
use crate::jobs::Paper;
use crate::map::{GroundTile, Layer, SignalSpot, SourceSpot};
use crate::perform::Planned;
use crate::ui::notice::Trouble;
use jiff::civil::Date;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::brief::breaks::Classing;
use yardring_core::brief::classes::{Classes, ColourBy, LegendLine};
use yardring_core::files::TileFile;
use yardring_core::foresee::{Chances, Foreseen, Refusal};
use yardring_core::intake::settle::{CLEAR, Repeat, Settled, Waiting};
use yardring_core::intake::{ColumnMap, Report};
use yardring_core::measure::{Access, Counts, Intervals, RoundChange};
use yardring_core::place::{Bounds, BoxIndex, Frame, WebTile};
use yardring_core::reach::{Covered, Gap, Ground, Kept, SourceKind, Sources, Wanted};
use yardring_core::store::{Found, LeftBehind, Made, Way};
use yardring_core::survey::{BlockId, Marking, PremiseId, RoundId, Standing, Survey};
use yardring_core::walks::{Learnt, StreetWays};

/// An answer that is worked out anew whenever what it answers has changed. Until then the old one stays, marked stale.
#[derive(Debug)]
pub struct Derived<K, T> {
    value: Option<(K, Arc<T>)>,
    asked: Option<K>,
}

impl<K, T> Default for Derived<K, T> {
    fn default() -> Self {
        Self { value: None, asked: None }
    }
}

impl<K: PartialEq + Clone, T> Derived<K, T> {
    /// Whether the question is new: neither answered nor asked.
    pub fn wants(&self, key: &K) -> bool {
        self.asked.as_ref() != Some(key) && self.value.as_ref().map(|v| &v.0) != Some(key)
    }

    /// Notes that the question was asked.
    pub fn ask(&mut self, key: K) {
        self.asked = Some(key);
    }

    /// Notes that nobody works on the question any more.
    pub fn forget_asking(&mut self) {
        self.asked = None;
    }

    /// Takes an answer.
    pub fn put(&mut self, key: K, value: T) {
        self.asked = None;
        self.value = Some((key, Arc::new(value)));
    }

    /// The latest answer, be it stale or not.
    pub fn latest(&self) -> Option<&Arc<T>> {
        self.value.as_ref().map(|v| &v.1)
    }

    /// What the latest answer answers.
    pub fn key(&self) -> Option<&K> {
        self.value.as_ref().map(|v| &v.0)
    }

    /// The answer to exactly this question.
    pub fn exactly(&self, key: Option<&K>) -> Option<&Arc<T>> {
        self.value.as_ref().filter(|v| Some(&v.0) == key).map(|v| &v.1)
    }

    /// Lets the answer stand for another question, as when only the question's number has changed.
    pub fn carry_over(&mut self, renamed: impl Fn(&mut K)) {
        self.value.iter_mut().for_each(|(key, _)| renamed(key));
        self.asked.iter_mut().for_each(&renamed);
    }

    /// Drops everything.
    pub fn clear(&mut self) {
        *self = Self::default();
    }
}

/// What a round's picture answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RoundKey {
    /// The survey's revision.
    pub revision: u64,
    /// The round.
    pub round: Option<RoundId>,
}

/// What reach answers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReachKey {
    /// The round's picture it rests on.
    pub round: RoundKey,
    /// What was asked.
    pub plan: Wanted,
    /// Whether true places of cases may be shown.
    pub unmasked: bool,
}

impl ReachKey {
    /// Whether the reach lies round cases whose places the mask hides.
    pub fn masks(&self) -> bool {
        self.plan.from == SourceKind::Cases && !self.unmasked
    }
}

/// What the map draws of a survey, and finding it by place. Without a graphics card there are no layers.
#[derive(Debug)]
pub struct Laid {
    /// Premises.
    pub premises: Option<Layer>,
    /// Blocks; `None` where no block has an outline.
    pub blocks: Option<Layer>,
    /// Streets.
    pub streets: Option<Layer>,
    /// Finding premises by where they are.
    pub index: Arc<BoxIndex>,
    /// Finding streets by where they are.
    pub street_index: Arc<BoxIndex>,
    /// Premises that have no outline.
    pub without_outline: usize,
    /// The box round all premises that lie together.
    pub extent: Bounds,
    /// What lies far off and outside it, in words.
    pub astray: Option<String>,
    /// Traps and complaints.
    pub signals: Arc<Vec<SignalSpot>>,
}

/// Where every premise stands in a round, and what that adds up to.
#[derive(Debug)]
pub struct RoundPicture {
    /// Where every premise stands, in the order of the premises.
    pub standings: Arc<Vec<Standing>>,
    /// How every premise is marked, in the same order.
    pub markings: Arc<Vec<Marking>>,
    /// Premises by marking, in the order of [`Marking::ALL`].
    pub marked: [u64; 8],
    /// The whole district's counts.
    pub district: Counts,
    /// How sure the whole district's indices are.
    pub sure: Intervals,
    /// How far crews got in the whole district.
    pub access: Access,
    /// Counts by block, worst first: by house index, then by block id; unseen blocks last.
    pub blocks: Vec<(Option<BlockId>, Counts)>,
    /// How many sources there are of each kind, in the order of [`yardring_core::reach::SourceKind::ALL`].
    pub sources: [u64; 5],
    /// Yards where larvae or pupae were seen without an inspection, and those of them where pupae were.
    pub from_outside: [u64; 2],
    /// All traps that have a place, whatever they caught.
    pub traps: u64,
    /// Visits by day over all rounds: day, visits, inspected among them.
    pub days: Vec<(Date, u32, u32)>,
}

/// What the classes of the map answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClassKey {
    /// The round's picture they rest on.
    pub round: RoundKey,
    /// What the map is coloured by.
    pub colour: ColourBy,
    /// The round that a map of change compares it with.
    pub since: Option<RoundId>,
    /// How values become classes.
    pub classing: Classing,
    /// The reach whose gaps are shown.
    pub reach: Option<ReachKey>,
    /// Whether the round's chances are known and shown.
    pub chances: bool,
}

/// The classes of a map, with their columns ready to be shared.
#[derive(Debug)]
pub struct Painted {
    /// What the classes are.
    pub classes: Classes,
    /// The class of each premise.
    pub premises: Arc<Vec<u8>>,
    /// The class of each block.
    pub blocks: Arc<Vec<u8>>,
    /// The lines of the legend.
    pub legend: Vec<LegendLine>,
}

/// Reach, its sources and the gaps in it.
#[derive(Debug)]
pub struct ReachAnswer {
    /// What the ground is drawn round: the sources, or where the mask moves cases.
    pub sources: Sources,
    /// Premises inside, not inspected, ranked.
    pub gaps: Arc<Vec<Gap>>,
    /// The ground inside.
    pub ground: Arc<Ground>,
    /// How many premises lie inside and how many of them were inspected.
    pub covered: Covered,
    /// The file of barriers that it goes round, and how long they are in metres.
    pub barriers: Option<(String, f64)>,
    /// The same ground for the map.
    pub layer: Option<Layer>,
    /// Dots for the sources; none for cases, whose place is health information.
    pub dots: Arc<Vec<SourceSpot>>,
    /// How many of them have pupae.
    pub with_pupae: u64,
}

impl ReachAnswer {
    /// How many dots have no pupae.
    pub fn plain_dots(&self) -> u64 {
        self.dots.len() as u64 - self.with_pupae
    }
}

/// The chances of a round, or why there are none and what was foreseen all the same.
pub type Outlook = Result<Chances, (Refusal, Box<Foreseen>)>;

/// The order of the gap list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum GapOrder {
    /// As ranked: the one to visit first comes first.
    #[default]
    Rank,
    /// By chance, the highest first.
    Chance,
    /// By address.
    Address,
    /// By distance from the nearest source.
    Distance,
    /// By attempts, most first.
    Attempts,
}

/// The gap list as it is sorted and filtered: numbers into [`ReachAnswer::gaps`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GapList {
    /// The order.
    pub order: GapOrder,
    /// Only this reason.
    pub reason: Option<String>,
    /// Gaps by reason: the reason's words and how many.
    pub reasons: Vec<(String, u64)>,
    /// How many share a fence with a source.
    pub sharing_fence: u64,
    /// How many of all gaps may be expected to be positive; `None` while chances are not known.
    pub expected: Option<f64>,
    /// In how many larvae or pupae were seen from outside; they are in no expectation.
    pub seen: u64,
    /// Gaps shown, in order.
    pub rows: Vec<u32>,
    /// Where a premise is in `rows`, by premise.
    pub row_of: Vec<(PremiseId, u32)>,
}

impl GapList {
    /// The row of a premise.
    pub fn row(&self, premise: PremiseId) -> Option<usize> {
        let at = self.row_of.binary_search_by_key(&premise, |r| r.0).ok()?;
        Some(self.row_of[at].1 as usize)
    }
}

/// What there is to settle, in the order of its list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ToSettle {
    /// The lines of the list: those that wait, ids that several premises have, rows to be mended in their file, then what is settled.
    pub lines: Vec<SettleLine>,
    /// How many wait.
    pub open: usize,
    /// How many of them have one candidate that fits clearly best.
    pub clear: usize,
    /// How many ids wait that several premises have.
    pub ids: usize,
    /// How many rows have to be mended in their file; those that wait are none of them.
    pub rows: usize,
}

/// One line of the list of what there is to settle.
#[derive(Clone, Debug, PartialEq)]
pub enum SettleLine {
    /// A visit or a signal that found no premise.
    Visit(Waiting),
    /// Premises with the same parcel id.
    SameId(Repeat),
    /// A row refused for another reason, by its place among the refused rows.
    Row(usize),
}

impl SettleLine {
    /// Its first row, by its place among the refused rows; none for premises with the same id.
    pub fn row(&self) -> Option<usize> {
        match self {
            Self::Visit(w) => w.refused.first().copied(),
            Self::SameId(_) => None,
            Self::Row(i) => Some(*i),
        }
    }
}

impl ToSettle {
    /// All lines of a survey with so many refused rows.
    pub fn new(waiting: Vec<Waiting>, repeats: Vec<Repeat>, refused: usize) -> Self {
        let mut other = vec![true; refused];
        waiting.iter().flat_map(|w| &w.refused).for_each(|&i| other[i] = false);
        let (aside, open): (Vec<_>, Vec<_>) = waiting.into_iter().partition(|w| w.set_aside);
        let mend = other.iter().filter(|o| **o).count();
        let rows = other.iter().enumerate().filter(|(_, o)| **o).map(|(i, _)| SettleLine::Row(i));
        let (separate, same): (Vec<_>, Vec<_>) = repeats.into_iter().partition(|r| r.separate);
        let (count, ids) = (open.len(), same.len());
        let clear = open.iter().filter(|w| w.clear(CLEAR).is_some()).count();
        let open = open.into_iter().map(SettleLine::Visit).chain(same.into_iter().map(SettleLine::SameId));
        let done = aside.into_iter().map(SettleLine::Visit).chain(separate.into_iter().map(SettleLine::SameId));
        Self { lines: open.chain(rows).chain(done).collect(), open: count, clear, ids, rows: mend }
    }
}

/// What a job answers.
#[derive(Debug)]
pub enum Answer {
    /// A survey to open was named, or none.
    SurveyNamed(Vec<PathBuf>),
    /// A name for the survey's file, or none.
    NameGiven(Vec<PathBuf>),
    /// Files to bring in, or none.
    FilesNamed(Vec<PathBuf>),
    /// A survey was read.
    Opened(PathBuf, Result<Box<Survey>, Trouble>),
    /// A survey was written: how many changes it had.
    Saved(PathBuf, u64, Result<(), Trouble>),
    /// A file to take away was named, or none.
    PaperNamed(Paper, Vec<PathBuf>),
    /// A file to take away was written.
    Written(Paper, PathBuf, Result<(), Trouble>),
    /// A file of barriers was named, or none.
    BarriersNamed(Vec<PathBuf>),
    /// A file of barriers was read: the survey it is for had this revision.
    BarriersRead(u64, Result<Kept, Trouble>),
    /// A file of lines that no crew crosses was named, or none.
    LinesNamed(Vec<PathBuf>),
    /// A file of lines that no crew crosses was read: the survey it is for had this revision.
    LinesRead(u64, Result<Kept, Trouble>),
    /// What the visits tell of the minutes at a door, for a revision.
    Learnt(u64, Box<Learnt>),
    /// Files were looked at.
    Looked(Vec<(PathBuf, Result<LookedAt, Trouble>)>),
    /// A column map to read was named, or none.
    MatchNamed(Vec<PathBuf>),
    /// A column map was read.
    MatchRead(Result<ColumnMap, Trouble>),
    /// Files were brought in: the survey they were added to had this revision.
    BroughtIn(u64, Result<Box<(Survey, Report)>, Trouble>),
    /// What there is to settle, for a revision.
    Waiting(u64, ToSettle),
    /// A visit was settled: the survey it was one of had this revision.
    Settled(u64, Result<Box<Settled>, Trouble>),
    /// A visit was changed by hand, or such a change taken back or made again: the revision that it was made on, and which way it went.
    HandMade(u64, Way, Result<Box<Made>, Trouble>),
    /// What is not saved was kept, or could not be; with what was taken back in and is not kept anew yet.
    UnsavedKept(Result<(), Trouble>, Vec<Arc<Found>>),
    /// Unsaved changes of the survey with this file, or of one without, were looked for.
    UnsavedFound(Option<PathBuf>, LeftBehind),
    /// Unsaved changes, by their place among the offers, were taken back into a copy of the survey of this revision.
    TakenIn(u64, usize, Result<Box<Survey>, Trouble>),
    /// An id was settled: the revision it was settled for, what was done, and the survey then.
    IdSettled(u64, Box<str>, Box<Survey>),
    /// The map's layers, for a revision.
    Laid(u64, Box<Laid>),
    /// The map's far view, for a revision.
    Sketched(u64, Box<Laid>),
    /// A round's picture.
    RoundSeen(RoundKey, Box<RoundPicture>),
    /// Reach and gaps.
    Reached(ReachKey, Box<ReachAnswer>),
    /// The chances of a round.
    Foreseen(RoundKey, Box<Outlook>),
    /// The classes of the map.
    Classified(ClassKey, Box<Painted>),
    /// A file of map tiles was named, or none.
    GroundNamed(Vec<PathBuf>),
    /// A file of map tiles was opened.
    GroundOpened(PathBuf, Result<Arc<TileFile>, Trouble>),
    /// Map tiles of a source for a frame; `None` where there is no such tile.
    TilesCame(Source, Frame, Result<Vec<(WebTile, Option<GroundTile>)>, Trouble>),
    /// Kinds of container.
    Kinds(RoundKey, Box<KindsAnswer>),
    /// What changed between two rounds.
    Changed(ChangeKey, Box<RoundChange>),
    /// Clusters of blocks.
    Clustered(RoundKey, Box<ClustersAnswer>),
    /// Visits that are due.
    Due(DueKey, Box<DueAnswer>),
    /// Premises found for some words.
    Found(String, Vec<PremiseId>),
    /// The day's walks were planned.
    Planned(Result<Box<Planned>, Trouble>),
    /// The ways of the kept day are known; `None` when no street is near its meeting point.
    WaysKnown(Option<Arc<StreetWays>>),
    /// A folder for the day's sheets was named, or none; for one crew or for all.
    FolderNamed(Option<usize>, Vec<PathBuf>),
    /// The day's files were written.
    Printed(Result<Vec<PathBuf>, Trouble>),
    /// Nothing, because it was stopped.
    Stopped,
}
