//! What the window knows: the open survey, what is chosen, and the answers worked out so far. Plain data; only
//! `perform` changes it.

mod answers;
mod ground;
mod measured;
mod offered;
mod trail;
mod unsaved;
pub mod walking;
mod writing;

pub use answers::{
    Answer, ClassKey, Derived, GapList, GapOrder, Laid, Outlook, Painted, ReachAnswer, ReachKey, RoundKey, RoundPicture, SettleLine,
    ToSettle,
};
pub use ground::{Source, UnderSurvey};
pub use measured::{ChangeKey, ClustersAnswer, Compare, DueAnswer, DueDay, DueKey, KindsAnswer, Measured, Sets, Trace, Traced};
pub use offered::{Fitted, Intake, LookedAt, Offered};
pub use trail::Trail;
pub use unsaved::{Gone, Keeping, Offer, Unsaved, UnsavedAction};
pub use writing::{Hand, RecordAction, Writing};

use crate::jobs::Paper;
use crate::map::Look;
use crate::settings::TextSize;
use crate::ui::notice::Trouble;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::brief::MapSize;
use yardring_core::intake::settle::Waiting;
use yardring_core::measure;
use yardring_core::place::{Bounds, Local};
use yardring_core::reach::Wanted;
use yardring_core::store::{History, Stamp};
use yardring_core::survey::{Language, PremiseId, RoundId, Survey, settings};

pub use yardring_core::brief::breaks::{Breaks, Classing};
pub use yardring_core::brief::classes::ColourBy;

/// Whose desk it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Desk {
    /// Files come in.
    #[default]
    Intake,
    /// The day is planned.
    Plan,
    /// The meeting is briefed.
    Brief,
}

impl Desk {
    /// All desks, in the order of the work.
    pub const ALL: [Self; 3] = [Self::Intake, Self::Plan, Self::Brief];

    /// Its name.
    pub fn label(self) -> &'static str {
        match self {
            Self::Intake => "Intake",
            Self::Plan => "Plan",
            Self::Brief => "Brief",
        }
    }
}

/// The open survey.
#[derive(Debug)]
pub struct Open {
    /// The survey as it is now.
    pub survey: Arc<Survey>,
    /// Its file, once it has one.
    pub path: Option<PathBuf>,
    /// What its file looked like when it was read or written last.
    pub stamp: Stamp,
    /// Changes that can be taken back.
    pub history: History,
    /// Counts every change of what answers rest on, so that they know what they answer.
    pub revision: u64,
    /// Counts every change, that of the day's walks too, so that saving knows what it saved.
    pub changes: u64,
    /// The round looked at.
    pub round: Option<RoundId>,
}

impl Open {
    /// Whether something would be lost if the window closed now.
    pub fn unsaved(&self) -> bool {
        self.path.is_none() || self.history.unsaved()
    }

    /// The survey's name: the one it was given, or its file's without the ending.
    pub fn name(&self) -> String {
        if let Some(given) = self.survey.settings.get(settings::NAME) {
            return given.to_string();
        }
        let stem = self.path.as_ref().and_then(|p| p.file_stem());
        stem.map_or_else(|| "New survey".to_owned(), |s| s.to_string_lossy().into_owned())
    }

    /// Whom householders call, as the survey keeps it; may be empty.
    pub fn office(&self) -> &str {
        self.survey.settings.get(settings::OFFICE).map_or("", |text| &**text)
    }
}

/// Where something went wrong, so that its step can say so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Opening or saving the survey.
    File,
    /// Bringing files in.
    Intake,
    /// What the columns of offered files mean.
    Columns,
    /// Settling visits.
    Settle,
    /// Writing a visit down.
    Record,
    /// Reach and gaps.
    Reach,
    /// Planning and changing the day's walks.
    Walks,
    /// Writing the day's sheets.
    Sheets,
    /// Call-backs.
    Due,
    /// Blocks and their classes.
    Brief,
    /// Writing a file to take away.
    Paper(Paper),
    /// The ground under the map.
    Ground,
}

/// Where the map should go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Target {
    /// To a premise, near enough to see its outline.
    Premise(PremiseId),
    /// To a place, near enough to see the outline there.
    Place(Local),
    /// To a box on the ground, as large as it goes.
    Extent(Bounds),
    /// To what was looked at before.
    Look(Look),
}

/// How the map is written to a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MapPaper {
    /// What the window shows, instead of the whole district.
    pub as_shown: bool,
    /// How large it becomes.
    pub size: MapSize,
}

impl MapPaper {
    /// Width and height of a picture, as the command line's.
    pub const PICTURE: MapSize = MapSize::Pixels(1600, 1200);
}

impl Default for MapPaper {
    fn default() -> Self {
        Self { as_shown: false, size: Self::PICTURE }
    }
}

/// How notices for householders are printed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NoticesWish {
    /// In which language.
    pub language: Language,
    /// Whom householders call, while somebody types it; otherwise what the survey keeps.
    pub office: Option<String>,
    /// Only doors of the planned day, in the order of its walks.
    pub of_walks: bool,
}

/// What the window knows.
#[derive(Debug, Default)]
pub struct Session {
    /// The open survey.
    pub open: Option<Open>,
    /// The desk looked at.
    pub desk: Desk,
    /// The chosen premise.
    pub chosen: Option<PremiseId>,
    /// Premises that share a fence line with the chosen one.
    pub neighbours: Vec<PremiseId>,
    /// What speaks for and against larvae at the chosen premise, in words; empty where it was inspected.
    pub why: String,
    /// The premise under the pointer, in a list or on the map.
    pub hovered: Option<PremiseId>,
    /// Where the map should go next, and how often it was sent somewhere.
    pub target: Option<(u64, Target)>,
    /// The views somebody came through.
    pub trail: Trail,
    /// The way being measured, while somebody measures.
    pub stretch: Option<Arc<Vec<Local>>>,
    /// The pictures under the map, if any.
    pub ground: Option<UnderSurvey>,
    /// What reach is asked for.
    pub plan: Wanted,
    /// Somebody asked to see where cases are, and knows that this stays in the office.
    pub unmasked: bool,
    /// What the brief map shows.
    pub colour: ColourBy,
    /// How its values become classes.
    pub classing: Classing,
    /// How the map is written.
    pub map_paper: MapPaper,
    /// How notices are printed.
    pub notices: NoticesWish,
    /// The ground that the map shows.
    pub shown: Option<Bounds>,
    /// Files on their way in.
    pub intake: Intake,
    /// What there is to settle, for a revision of the survey.
    pub waiting: Derived<u64, ToSettle>,
    /// The line of what there is to settle that is looked at.
    pub settling: Option<usize>,
    /// What the map draws, laid on the graphics card, for a revision of the survey.
    pub laid: Derived<u64, Laid>,
    /// The far view of it, until the rest is laid; only for large surveys.
    pub sketch: Derived<u64, Laid>,
    /// Where every premise stands in the round.
    pub round: Derived<RoundKey, RoundPicture>,
    /// Reach and gaps.
    pub reach: Derived<ReachKey, ReachAnswer>,
    /// Chances of the round.
    pub outlook: Derived<RoundKey, Outlook>,
    /// Classes of the map.
    pub classes: Derived<ClassKey, Painted>,
    /// The gap list as it is sorted and filtered.
    pub gaps: GapList,
    /// The day's walks.
    pub walking: walking::Walking,
    /// Measures of the brief desk and call-backs.
    pub measured: Measured,
    /// Visits being written down.
    pub hand: Hand,
    /// Who keeps what is not saved.
    pub unsaved: Unsaved,
    /// What the find box found, for which words.
    pub found: Option<(String, Vec<PremiseId>)>,
    /// What waits until somebody says what becomes of unsaved changes.
    pub leaving: Option<Leaving>,
    /// What went wrong last, and where.
    pub trouble: Option<(Place, Trouble)>,
    /// What was written last, and where.
    pub written: Option<(Paper, PathBuf)>,
    /// How the window is arranged.
    pub frame: Frame,
}

/// In districts of up to so many premises chances are worked out without being asked for: a few seconds of one processor.
pub const CHANCES_AT_ONCE: usize = 25_000;

/// What somebody wants that would lose unsaved changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Leaving {
    /// Close the window.
    Close,
    /// Open another survey.
    Open(PathBuf),
}

/// How the window is arranged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Frame {
    /// The worksheet is folded away.
    pub worksheet_folded: bool,
    /// The time strip is folded away.
    pub time_folded: bool,
    /// A dark window.
    pub dark: bool,
    /// How large text and everything else is drawn.
    pub text: TextSize,
    /// The find box has its list open.
    pub finding: bool,
    /// The keyboard should go to the find box.
    pub focus_find: bool,
    /// A step of a worksheet to open.
    pub open_step: Option<(Desk, u8)>,
    /// The window may close now.
    pub may_close: bool,
    /// Nothing can be drawn any more.
    pub card_lost: bool,
}

impl Session {
    /// What the round's picture answers, now.
    pub fn round_key(&self) -> Option<RoundKey> {
        self.open.as_ref().map(|o| RoundKey { revision: o.revision, round: o.round })
    }

    /// What reach answers, now.
    pub fn reach_key(&self) -> Option<ReachKey> {
        self.round_key().filter(|k| k.round.is_some()).map(|round| ReachKey { round, plan: self.plan, unmasked: self.unmasked })
    }

    /// The visit or signal without a premise that is looked at, at the intake desk.
    pub fn unplaced(&self) -> Option<&Waiting> {
        let revision = self.open.as_ref().filter(|_| self.desk == Desk::Intake).map(|o| o.revision)?;
        let all = self.waiting.exactly(Some(&revision))?;
        match all.lines.get(self.settling?)? {
            SettleLine::Visit(waiting) => Some(waiting),
            SettleLine::SameId(_) | SettleLine::Row(_) => None,
        }
    }

    /// What the map of the desk looked at is coloured by.
    pub fn map_colour(&self) -> ColourBy {
        if self.desk == Desk::Brief { self.colour } else { ColourBy::Gaps }
    }

    /// Whether gaps are on the map of the desk looked at.
    pub fn shows_reach(&self) -> bool {
        self.desk == Desk::Plan || (self.desk == Desk::Brief && self.colour == ColourBy::Gaps)
    }

    /// Whether chances are looked at: in the list of gaps, or on the map.
    pub fn shows_chances(&self) -> bool {
        self.desk == Desk::Plan || (self.desk == Desk::Brief && self.colour == ColourBy::Foreseen)
    }

    /// Whether the chances of the round may be worked out now: the district is small enough, or somebody asked.
    pub fn may_foresee(&self) -> bool {
        let few = self.open.as_ref().is_some_and(|o| o.survey.premises.len() <= CHANCES_AT_ONCE);
        few || (self.measured.chances_wanted.is_some() && self.measured.chances_wanted == self.round_key())
    }

    /// What the classes of the map answer, now: gaps are those of the latest reach.
    pub fn class_key(&self) -> Option<ClassKey> {
        let round = self.round_key()?;
        let reach = self.reach.key().copied().filter(|k| self.shows_reach() && k.round == round);
        let chances = self.map_colour() == ColourBy::Foreseen && self.outlook.key() == Some(&round);
        let colour = self.map_colour();
        let since = self.rounds_compared().map(|(from, _)| from).filter(|_| colour == ColourBy::Change);
        Some(ClassKey { round, colour, since, classing: self.classing, reach, chances })
    }

    /// Which rounds are compared now, the earlier one first; `None` at the first round, which nothing came before.
    pub fn rounds_compared(&self) -> Option<(RoundId, RoundId)> {
        let open = self.open.as_ref()?;
        let to = open.round?;
        let order = measure::in_order(&open.survey);
        let at = order.iter().position(|r| *r == to)?;
        // Time runs forwards only: what a round is compared from lies before it.
        let earlier = &order[..at];
        let from = self.measured.compare.from.filter(|f| earlier.contains(f)).or_else(|| earlier.last().copied())?;
        Some((from, to))
    }

    /// What the map draws, for the survey as it is now or as it was just before; its far view until it is laid.
    pub fn drawn(&self) -> Option<&Arc<Laid>> {
        self.open.as_ref().and_then(|_| self.laid.latest().or_else(|| self.sketch.latest()))
    }

    /// What went wrong at a place, if that is where it went wrong.
    pub fn trouble_at(&self, place: Place) -> Option<&Trouble> {
        self.trouble.as_ref().filter(|(p, _)| *p == place).map(|(_, t)| t)
    }

    /// Whether there is something to close or to let go of.
    pub fn can_step_back(&self) -> bool {
        let weighing = self.walking.trial.is_some() || self.walking.picking;
        weighing
            || self.hand.writing.is_some()
            || self.leaving.is_some()
            || self.frame.finding
            || self.stretch.is_some()
            || self.chosen.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A county does not begin by itself, and one who asked for one round has not asked for another.
    #[test]
    fn chances_of_a_county_wait_until_somebody_asks() {
        let with = |premises: usize| {
            let mut survey = crate::sample::survey();
            survey.premises.parcel_id = Arc::new((0..premises).map(|i| i.to_string()).collect());
            let round = survey.round(None);
            let open = Open {
                survey: Arc::new(survey),
                path: None,
                stamp: Stamp::default(),
                history: History::default(),
                revision: 1,
                changes: 0,
                round,
            };
            Session { open: Some(open), ..Session::default() }
        };
        assert!(with(CHANCES_AT_ONCE).may_foresee());
        let mut county = with(CHANCES_AT_ONCE + 1);
        assert!(!county.may_foresee());
        county.measured.chances_wanted = county.round_key();
        assert!(county.may_foresee());
        county.open.as_mut().unwrap().revision += 1;
        assert!(!county.may_foresee(), "the survey has changed since");
    }
}
