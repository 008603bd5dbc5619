//! Everything that can be done by name: a label, a sentence, a shortcut and, where it makes sense now, an action.

use crate::action::{Action, MapAction};
use crate::jobs::{JobKind, Wanted};
use crate::session::{Desk, RecordAction};
use crate::settings::TextSize;
use crate::view::View;
use egui::{Context, Key, KeyboardShortcut, Modifiers};

/// A thing to do by name. Whether it can be done now is what [`Command::action`] says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// Open a survey file.
    Open,
    /// Save the survey.
    Save,
    /// Save it under another name.
    SaveAs,
    /// Choose files to bring in.
    BringFiles,
    /// Take back the last change.
    Undo,
    /// Do it again.
    Redo,
    /// The intake desk.
    Intake,
    /// The plan desk.
    Plan,
    /// The brief desk.
    Brief,
    /// Look for an address, a parcel, an action.
    Find,
    /// The whole survey on the map.
    ShowAll,
    /// The view before.
    ViewBack,
    /// The view after.
    ViewForward,
    /// Measure a distance.
    Measure,
    /// Write a visit down at the chosen yard.
    EnterVisit,
    /// Choose a file of map tiles.
    ChooseGround,
    /// Take the ground away.
    NoGround,
    /// Larger text.
    LargerText,
    /// Smaller text.
    SmallerText,
    /// Text of the usual size.
    UsualText,
    /// Fold the worksheet.
    FoldWorksheet,
    /// Fold the time strip.
    FoldTime,
    /// Day or night.
    Darken,
    /// Close or let go.
    Back,
    /// Close the window.
    Close,
}

impl Command {
    /// Every command, in the order in which they are offered.
    pub const ALL: [Self; 25] = [
        Self::Open,
        Self::Save,
        Self::SaveAs,
        Self::BringFiles,
        Self::Undo,
        Self::Redo,
        Self::Intake,
        Self::Plan,
        Self::Brief,
        Self::Find,
        Self::ShowAll,
        Self::ViewBack,
        Self::ViewForward,
        Self::Measure,
        Self::EnterVisit,
        Self::ChooseGround,
        Self::NoGround,
        Self::LargerText,
        Self::SmallerText,
        Self::UsualText,
        Self::FoldWorksheet,
        Self::FoldTime,
        Self::Darken,
        Self::Back,
        Self::Close,
    ];

    /// Its name on a button.
    pub fn label(self) -> &'static str {
        self.words().0
    }

    /// What it does, in a sentence.
    pub fn tooltip(self) -> &'static str {
        self.words().1
    }

    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Open => ("Open a survey", "Open a survey file"),
            Self::Save => ("Save", "Write the survey to its file"),
            Self::SaveAs => ("Save as", "Write the survey to another file"),
            Self::BringFiles => ("Choose files", "Choose parcels, streets, visits and other files to bring in"),
            Self::Undo => ("Undo", "Take back the last change"),
            Self::Redo => ("Redo", "Do again what was taken back"),
            Self::Intake => ("Intake", "Bring files in and see what did not come in"),
            Self::Plan => ("Plan", "Choose reach and see the yards nobody has seen"),
            Self::Brief => ("Brief", "Block maps and tables for the meeting"),
            Self::Find => ("Find", "Find an address, a parcel or an action"),
            Self::ShowAll => ("Show the whole survey", "Bring the map back to the whole survey"),
            Self::ViewBack => ("Last view", "Bring the map back to where it was before"),
            Self::ViewForward => ("Next view", "Bring the map to where it was before going back"),
            Self::Measure => ("Measure a distance", "Click along a way on the map; Esc ends"),
            Self::EnterVisit => ("Enter a visit", "Write down who was at the chosen yard and what was found"),
            Self::ChooseGround => ("Choose map tiles", "Choose a file of map tiles to lie under the survey"),
            Self::NoGround => ("No ground", "Take the map tiles away"),
            Self::LargerText => ("Larger text", "Draw text and everything else larger"),
            Self::SmallerText => ("Smaller text", "Draw text and everything else smaller"),
            Self::UsualText => ("Text at 100 %", "Draw text and everything else at the usual size"),
            Self::FoldWorksheet => ("Fold the worksheet", "Fold the worksheet away or out"),
            Self::FoldTime => ("Fold the time strip", "Fold the time strip away or out"),
            Self::Darken => ("Day or night", "Change between a light and a dark window"),
            Self::Back => ("Back", "Close what is open, or let go of the chosen yard"),
            Self::Close => ("Close the window", "Close Yardring"),
        }
    }

    /// Why it cannot be done now, where it cannot.
    pub fn not_now(self) -> &'static str {
        match self {
            Self::Save => "There is nothing that is not saved",
            Self::Undo => "There is nothing to take back",
            Self::Redo => "Nothing was taken back",
            Self::EnterVisit => "Choose a yard on the map or in a list first",
            Self::NoGround => "No map tiles lie under the survey",
            Self::ViewBack => "There is no view before this one",
            Self::ViewForward => "Nobody went back from a later view",
            Self::LargerText => "Text is as large as it goes",
            Self::SmallerText => "Text is as small as it goes",
            Self::UsualText => "Text has its usual size",
            Self::Back => "Nothing is open or chosen",
            _ => "Open a survey first",
        }
    }

    /// More words that people look for it by.
    pub fn also(self) -> &'static str {
        match self {
            Self::Open => "load file survey",
            Self::Save | Self::SaveAs => "write store keep file",
            Self::BringFiles => "import load add parcels streets visits",
            Self::Undo => "back take back revert",
            Self::Redo => "again forward",
            Self::ShowAll => "zoom fit whole district extent home",
            Self::Measure => "ruler length",
            Self::EnterVisit => "record write type sheet inspection finds add",
            Self::ChooseGround | Self::NoGround => "aerial photo background basemap imagery",
            Self::LargerText | Self::SmallerText | Self::UsualText => "zoom size font",
            Self::Darken => "dark light theme",
            Self::Close => "quit exit",
            Self::FoldWorksheet | Self::FoldTime => "hide panel",
            Self::Intake | Self::Plan | Self::Brief => "desk",
            Self::Find | Self::ViewBack | Self::ViewForward | Self::Back => "",
        }
    }

    /// The keys for it, if it has any.
    pub fn shortcut(self) -> Option<KeyboardShortcut> {
        let ctrl = |key| Some(KeyboardShortcut::new(Modifiers::COMMAND, key));
        let shifted = |key| Some(KeyboardShortcut::new(Modifiers::COMMAND | Modifiers::SHIFT, key));
        match self {
            Self::Open => ctrl(Key::O),
            Self::Save => ctrl(Key::S),
            Self::SaveAs => shifted(Key::S),
            Self::BringFiles => ctrl(Key::I),
            Self::Undo => ctrl(Key::Z),
            Self::Redo => ctrl(Key::Y),
            Self::Intake => ctrl(Key::Num1),
            Self::Plan => ctrl(Key::Num2),
            Self::Brief => ctrl(Key::Num3),
            Self::Find => ctrl(Key::K),
            Self::ShowAll => ctrl(Key::Home),
            Self::ViewBack => Some(KeyboardShortcut::new(Modifiers::ALT, Key::ArrowLeft)),
            Self::ViewForward => Some(KeyboardShortcut::new(Modifiers::ALT, Key::ArrowRight)),
            Self::Measure => ctrl(Key::M),
            Self::EnterVisit => ctrl(Key::E),
            Self::ChooseGround | Self::NoGround => None,
            Self::LargerText => ctrl(Key::Plus),
            Self::SmallerText => ctrl(Key::Minus),
            Self::UsualText => ctrl(Key::Num0),
            Self::FoldWorksheet => ctrl(Key::B),
            Self::FoldTime => ctrl(Key::T),
            Self::Darken => None,
            Self::Back => Some(KeyboardShortcut::new(Modifiers::NONE, Key::Escape)),
            Self::Close => ctrl(Key::Q),
        }
    }

    /// What to do, or `None` when it makes no sense now.
    pub fn action(self, view: &View<'_>) -> Option<Action> {
        let session = view.session;
        let open = session.open.as_ref();
        // A visit that is being changed beside the window comes first.
        let busy = view.jobs.at_work(JobKind::Record);
        match self {
            Self::Open => Some(Action::Ask(Wanted::Survey)),
            Self::Save => open.filter(|o| o.unsaved()).map(|_| Action::Save),
            Self::SaveAs => open.map(|_| Action::Ask(Wanted::NewSurvey)),
            Self::BringFiles => Some(Action::Ask(Wanted::Files)),
            Self::Undo => open.filter(|o| o.history.undo_words().is_some() && !busy).map(|_| Action::Undo),
            Self::Redo => open.filter(|o| o.history.redo_words().is_some() && !busy).map(|_| Action::Redo),
            Self::Intake => Some(Action::GoTo(Desk::Intake)),
            Self::Plan => Some(Action::GoTo(Desk::Plan)),
            Self::Brief => Some(Action::GoTo(Desk::Brief)),
            Self::Find => Some(Action::FocusFind),
            Self::ShowAll => open.map(|_| Action::ShowAll),
            Self::ViewBack => open.and(session.trail.before()).map(|_| Action::Map(MapAction::ViewBack)),
            Self::ViewForward => open.and(session.trail.after()).map(|_| Action::Map(MapAction::ViewForward)),
            Self::Measure => open.map(|_| Action::Map(MapAction::Measure)),
            Self::EnterVisit => session.chosen.filter(|_| open.is_some()).map(|yard| Action::Record(RecordAction::Begin(yard))),
            Self::ChooseGround => open.map(|_| Action::Ask(Wanted::Ground)),
            Self::NoGround => session.ground.as_ref().map(|_| Action::Map(MapAction::NoGround)),
            Self::LargerText => resized(session.frame.text, TextSize::larger),
            Self::SmallerText => resized(session.frame.text, TextSize::smaller),
            Self::UsualText => resized(session.frame.text, |_| TextSize::default()),
            Self::FoldWorksheet => Some(Action::FoldWorksheet),
            Self::FoldTime => Some(Action::FoldTime),
            Self::Darken => Some(Action::Darken),
            Self::Back => session.can_step_back().then_some(Action::Back),
            Self::Close => Some(Action::Close),
        }
    }

    /// The label with its keys, as menus show it.
    pub fn keys(self, ctx: &Context) -> String {
        self.shortcut().map_or_else(String::new, |s| ctx.format_shortcut(&s))
    }

    /// Actions of the shortcuts pressed just now.
    pub fn pressed(ctx: &Context, view: &View<'_>) -> Vec<Action> {
        // Longer combinations first: Ctrl+S would also match Ctrl+Shift+S.
        let mut all: Vec<_> = Self::ALL.into_iter().filter_map(|c| Some((c, c.shortcut()?))).collect();
        all.sort_by_key(|(_, s)| std::cmp::Reverse(s.modifiers.shift));
        // On many keyboards plus is the key with the equals sign, pressed with Shift or without.
        all.push((Self::LargerText, KeyboardShortcut::new(Modifiers::COMMAND, Key::Equals)));
        // What makes no sense now leaves its keys to whatever has the keyboard; an open menu closes itself on Escape.
        let menu = egui::Popup::is_any_open(ctx);
        all.retain(|(c, _)| c.action(view).is_some() && !(menu && *c == Self::Back));
        let pressed: Vec<Self> = ctx.input_mut(|i| all.iter().filter(|(_, s)| i.consume_shortcut(s)).map(|(c, _)| *c).collect());
        pressed.into_iter().filter_map(|c| c.action(view)).collect()
    }
}

/// Another size of text, where it is another.
fn resized(now: TextSize, to: impl Fn(TextSize) -> TextSize) -> Option<Action> {
    Some(to(now)).filter(|then| *then != now).map(|it| Action::Map(MapAction::TextSize(it)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_commands_share_a_label_or_keys() {
        for (i, a) in Command::ALL.iter().enumerate() {
            for b in &Command::ALL[i + 1..] {
                assert_ne!(a.label(), b.label());
                assert!(a.shortcut().is_none() || a.shortcut() != b.shortcut(), "{a:?} {b:?}");
            }
        }
    }
}
