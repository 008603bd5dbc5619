//! What the finder offers beside the commands of the menu: the steps of the worksheets, the maps, and what can be done on the way.

use crate::action::Action;
use crate::desk::steps::{self, plan};
use crate::jobs::{Paper, Wanted};
use crate::session::walking::WalkAction;
use crate::session::{ColourBy, Desk};
use crate::view::View;

/// Something to do or to look at, by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Errand {
    /// A step of a worksheet.
    Step(Desk, u8),
    /// A map at the brief desk.
    Map(ColourBy),
    /// A file to take away.
    Paper(Paper),
    /// Plan the day's walks.
    PlanWalks,
    /// Say on the map where crews meet.
    MeetingPoint,
    /// Write the day's sheets and files.
    Sheets,
}

impl Errand {
    /// All of them, in the order in which they are offered.
    pub fn all() -> impl Iterator<Item = Self> {
        let steps = steps::ALL.iter().map(|s| Self::Step(s.desk, s.number));
        let maps = ColourBy::ALL.into_iter().map(Self::Map);
        let papers = [Paper::Briefing, Paper::Notices, Paper::Map, Paper::Gaps, Paper::Blocks, Paper::Kinds, Paper::Change, Paper::Refused]
            .map(Self::Paper);
        steps.chain([Self::PlanWalks, Self::MeetingPoint, Self::Sheets]).chain(maps).chain(papers)
    }

    /// Its name, and where it is found.
    pub fn label(self) -> (&'static str, String) {
        match self {
            Self::Step(desk, number) => (steps::title(desk, number), at(desk, number)),
            Self::Map(colour) => (colour.heading(), "map".to_owned()),
            Self::Paper(paper) => (paper.label(), "file".to_owned()),
            Self::PlanWalks => ("Plan the walks", at(Desk::Plan, plan::WALKS)),
            Self::MeetingPoint => ("Choose on the map where crews meet", at(Desk::Plan, plan::CREWS)),
            Self::Sheets => ("Write all sheets and files…", at(Desk::Plan, plan::SHEETS)),
        }
    }

    /// More words that people look for it by.
    pub fn words(self) -> &'static str {
        match self {
            Self::Step(desk, number) => steps::of(desk, number).map_or("", |step| step.words),
            Self::Map(_) => "map measure colour color show by",
            Self::Paper(Paper::Map) => "export picture image png svg pdf map take away",
            Self::Paper(Paper::Briefing) => "meeting managers report pdf pages export write take away",
            Self::Paper(Paper::Notices) => "householder householders door hanger letter leaflet flyer spanish pdf print write",
            Self::Paper(Paper::Change) => "export picture image png svg pdf change rounds manager take away",
            Self::Paper(_) => "export csv write table list take away",
            Self::PlanWalks => "route routes tour day crews search optimise",
            Self::MeetingPoint => "meeting point start depot yard crews begin",
            Self::Sheets => "print paper pdf gpx kml export hand out walks crew",
        }
    }

    /// What to do, or `None` when it makes no sense now.
    pub fn actions(self, view: &View<'_>) -> Option<Vec<Action>> {
        let open = view.open();
        let round = open.filter(|o| o.round.is_some());
        match self {
            Self::Step(Desk::Intake, 1) => Some(vec![Action::OpenStep(Desk::Intake, 1)]),
            Self::Step(desk @ Desk::Intake, number) => open.map(|_| vec![Action::OpenStep(desk, number)]),
            Self::Step(desk, number) => round.map(|_| vec![Action::OpenStep(desk, number)]),
            Self::Map(colour) => round.map(|_| vec![Action::OpenStep(Desk::Brief, 1), Action::Colour(colour)]),
            Self::Paper(paper) => ready(paper, view).then(|| vec![Action::Ask(Wanted::Paper(paper))]),
            // Where something is missing first, the step says what.
            Self::PlanWalks => round.map(|_| {
                let plan = view.session.walking.crews.meeting_point.map(|_| Action::Walks(WalkAction::Plan));
                std::iter::once(Action::OpenStep(Desk::Plan, plan::WALKS)).chain(plan).collect()
            }),
            Self::MeetingPoint => round.map(|_| vec![Action::OpenStep(Desk::Plan, plan::CREWS), Action::Walks(WalkAction::Picking(true))]),
            Self::Sheets => round.map(|_| match view.session.walking.day.as_ref().is_some_and(|d| d.doors() > 0) {
                true => vec![Action::Ask(Wanted::SheetFolder(None))],
                false => vec![Action::OpenStep(Desk::Plan, plan::SHEETS)],
            }),
        }
    }
}

/// "Plan, step 7".
fn at(desk: Desk, number: u8) -> String {
    format!("{}, step {number}", desk.label())
}

/// Whether there is something to write.
fn ready(paper: Paper, view: &View<'_>) -> bool {
    match paper {
        Paper::Map | Paper::Blocks | Paper::Briefing | Paper::Notices => {
            view.round().is_some() && view.open().is_some_and(|o| o.round.is_some())
        }
        Paper::Kinds => view.session.measured.kinds.latest().is_some_and(|k| !k.kinds.is_empty()),
        Paper::Change => view.session.measured.change.latest().is_some(),
        Paper::Gaps => view.session.desk == Desk::Plan && view.reach_is_fresh(),
        Paper::Refused => view.survey().is_some_and(|s| !s.refused.is_empty()),
        Paper::Report | Paper::Match => false,
    }
}

/// How well what somebody typed fits a name and its other words: 0 the name begins so, 1 it has it, 2 all words are found somewhere;
/// `None` where one is not.
pub fn fit(typed: &str, label: &str, words: &str) -> Option<u8> {
    let label = label.to_lowercase();
    if label.starts_with(typed) {
        return Some(0);
    }
    if label.contains(typed) {
        return Some(1);
    }
    let words = words.to_lowercase();
    let known = |part: &str| label.contains(part) || words.split_whitespace().any(|w| w.starts_with(part));
    typed.split_whitespace().all(known).then_some(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Words as a planner types them, each with what has to be among the first three.
    #[test]
    fn planners_words_find_the_work() {
        let wanted = [
            ("crew", "Crews"),
            ("team", "Crews"),
            ("walks", "Walks"),
            ("route", "Walks"),
            ("print", "Sheets"),
            ("sheets", "Sheets"),
            ("reach", "Reach"),
            ("radius", "Reach"),
            ("gaps", "Gaps"),
            ("unseen", "Gaps"),
            ("callbacks", "Call-backs"),
            ("overdue", "Call-backs"),
            ("call-backs", "Call-backs"),
            ("probability", "Chances"),
            ("briefing", "Measure"),
            ("notices", "Save the notices…"),
            ("householder", "Save the notices…"),
            ("compare rounds", "Change"),
            ("meeting point", "Crews"),
            ("house index", "House index by block"),
            ("export map", "Save the map…"),
            ("refused", "Settle"),
            ("tires", "Containers"),
        ];
        for (typed, name) in wanted {
            let mut found: Vec<(u8, &str)> =
                Errand::all().filter_map(|e| Some((fit(typed, e.label().0, e.words())?, e.label().0))).collect();
            found.sort_by_key(|f| f.0);
            assert!(found.iter().take(3).any(|f| f.1 == name), "{typed}: {found:?}");
        }
        assert_eq!(fit("no such thing", "Walks", "route"), None);
    }

    #[test]
    fn every_step_has_its_name_once() {
        let all: Vec<_> = Errand::all().map(|e| e.label()).collect();
        for (i, a) in all.iter().enumerate() {
            assert!(!a.0.is_empty() && !all[..i].contains(a), "{a:?}");
        }
    }
}
