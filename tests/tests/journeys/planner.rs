//! The planner's morning: four crews, walks, two doors moved by hand, sheets printed. Clicks are counted.

use crate::office::{ask, quillmere, settle, window};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Pos2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use std::collections::BTreeSet;
use std::path::Path;
use std::time::Instant;
use yardring::action::Action;
use yardring::app::App;
use yardring::session::walking::{Change, Crews, WalkAction};
use yardring_core::brief::{HandOut, hand_out};
use yardring_core::job::Unwatched;
use yardring_core::place::LonLat;
use yardring_core::survey::PremiseId;
use yardring_core::walks::Day;
use yardring_core::walks::by_hand::{Spot, cost, spot_of};

const SIZE: [f32; 2] = [1280.0, 800.0];

/// A window whose pointer is counted.
pub struct Planner {
    pub window: Harness<'static, App>,
    clicks: usize,
}

impl Planner {
    pub fn new() -> Self {
        Self { window: window(SIZE, Some(quillmere().0)), clicks: 0 }
    }

    pub fn click(&mut self, label: &str) {
        self.clicks += 1;
        self.await_label(label);
        let found = self.window.get_all_by_label_contains(label).next().unwrap_or_else(|| panic!("{label} is nowhere"));
        // As somebody who scrolls there first.
        found.click_accesskit();
        self.window.run_ok();
        settle(&mut self.window);
    }

    /// Waits for what is still being worked out, as somebody who looks for a button does.
    fn await_label(&mut self, label: &str) {
        for _ in 0..40 {
            if self.window.query_all_by_label_contains(label).next().is_some() {
                return;
            }
            settle(&mut self.window);
        }
    }

    fn click_at(&mut self, pos: Pos2) {
        self.clicks += 1;
        self.window.event(Event::PointerMoved(pos));
        for pressed in [true, false] {
            self.window.event(Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE });
        }
        self.window.run_ok();
        settle(&mut self.window);
    }

    pub fn ask(&mut self, action: WalkAction) {
        ask(&mut self.window, Action::Walks(action));
    }

    pub fn day(&self) -> Day {
        Day::clone(self.window.state().session().walking.day.as_ref().expect("a day is planned"))
    }

    pub fn says(&self, words: &str) -> bool {
        self.window.query_all_by_label_contains(words).next().is_some()
    }

    /// A short search: the numbers of a longer one are core's business.
    pub fn hurry(&mut self) {
        let crews = Crews { effort: 0.05, ..self.window.state().session().walking.crews.clone() };
        self.ask(WalkAction::Crews(crews));
    }
}

pub fn doors(day: &Day) -> BTreeSet<PremiseId> {
    day.walks.iter().flat_map(|w| &w.doors).map(|d| d.premise).collect()
}

#[test]
fn four_crews_are_planned_two_doors_moved_and_the_sheets_printed_in_few_clicks() {
    let (mut planner, began) = (Planner::new(), Instant::now());
    planner.hurry();
    let flag = |planner: &Planner| planner.window.query_by_label("where they meet").is_some();
    assert!(!planner.says("Walks of ") && !flag(&planner), "there are none yet");
    planner.click("7 Walks");
    assert!(planner.says("Say in step 6 where the crews meet"), "the next thing to do is said");
    planner.click("Go to step 6");
    planner.click("More");
    planner.click("More");
    planner.click("Choose on the map");
    let map = planner.window.get_all_by_label("Map").next().unwrap().rect();
    planner.click_at(map.center());
    planner.click("7 Walks");
    planner.click("Plan the walks");
    let planned = planner.day();
    assert!(planner.says("Walks of ") && flag(&planner), "the legend tells of the walks");
    assert_eq!(planned.walks.len(), 4);
    assert!(planned.walks.iter().all(|w| w.back_after <= planned.shift_minutes + 1e-6), "every shift is kept");
    assert!(doors(&planned).len() > 20);
    // The first door of crew 1 goes one later, then to crew 2.
    let first = planned.walks[0].doors[0].premise;
    let name = quillmere().1.premises.address.get(first.row());
    planner.click(&format!("1 {name}"));
    planner.click("Later");
    assert!(planner.says("in all") || planner.says("No minute more or less"), "the cost is said before it is done");
    assert_eq!(planner.day(), planned, "nothing is done yet");
    planner.click("Do it");
    assert_eq!(spot_of(&planner.day(), first), Some(Spot { walk: 0, door: 1 }));
    planner.window.key_press_modifiers(Modifiers::ALT, Key::Num2);
    settle(&mut planner.window);
    planner.click("Do it");
    let moved = planner.day();
    assert_eq!(spot_of(&moved, first).map(|s| s.walk), Some(1));
    assert_eq!(doors(&moved), doors(&planned), "no door is lost or doubled");
    planner.click("8 Sheets");
    assert!(planner.says("Write all sheets and files"));
    planner.clicks += 1;
    let folder = tempfile::tempdir().unwrap();
    planner.ask(WalkAction::Print(folder.path().to_owned(), None));
    assert!(planner.says("files written"));
    check_files(folder.path(), &moved, &planner);
    assert!(planner.clicks <= 14, "{} clicks", planner.clicks);
    let seconds = began.elapsed().as_secs_f64();
    println!("from the open survey to printed sheets: {} clicks, {seconds:.1} s of the program's own", planner.clicks);
}

/// The files are those of core for the same day, and the table of walks has every door.
fn check_files(folder: &Path, day: &Day, planner: &Planner) {
    let session = planner.window.state().session();
    let open = session.open.as_ref().unwrap();
    let what = HandOut { district: open.name(), round: open.round, ..HandOut::default() };
    let expected = hand_out(day, &open.survey, &what, &Unwatched).unwrap();
    assert_eq!(expected.len(), 4 * 2 + 3);
    for (name, bytes) in expected {
        assert!(std::fs::read(folder.join(&name)).unwrap() == bytes, "{name}");
    }
    let rows = csv::Reader::from_path(folder.join("walks.csv")).unwrap().into_records().count();
    assert_eq!(rows, day.doors());
}

/// A day planned with two crews from the corner of the district.
pub fn planned() -> Planner {
    let mut planner = Planner::new();
    planner.hurry();
    let at = quillmere().1.frame.local_from_lon_lat(LonLat { lon: -88.3056, lat: 29.3950 });
    planner.ask(WalkAction::MeetAt(at));
    planner.ask(WalkAction::Plan);
    planner
}

/// A time that nobody can read is not thrown away in silence: it stays as it was typed, with what holds instead.
#[test]
fn a_time_that_cannot_be_read_says_what_holds_instead() {
    let mut planner = Planner::new();
    planner.click("6 Crews");
    planner.window.get_by_role_and_label(Role::TextInput, "Begins at, as 08:00").focus();
    planner.window.run_ok();
    planner.window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    planner.window.event(Event::Text("25:99".to_owned()));
    settle(&mut planner.window);
    planner.window.key_press(Key::Tab);
    settle(&mut planner.window);
    assert!(planner.says("not read; 08:00 holds"));
}

#[test]
fn changes_by_hand_are_taken_back_kept_in_the_survey_and_locks_hold() {
    let mut planner = planned();
    let before = planner.day();
    let door = before.walks[0].doors[0].premise;
    planner.ask(WalkAction::Weigh(Change::HandOver(door, 1)));
    let told = planner.window.state().session().walking.trial.as_ref().unwrap().cost.clone();
    planner.ask(WalkAction::DoIt);
    let after = planner.day();
    assert_eq!(cost(&before, &after), told);
    planner.window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    settle(&mut planner.window);
    assert_eq!(spot_of(&planner.day(), door).map(|s| s.walk), Some(0));
    planner.window.key_press_modifiers(Modifiers::COMMAND, Key::Y);
    settle(&mut planner.window);
    planner.ask(WalkAction::Do(Change::LockDoor(door, true)));
    planner.ask(WalkAction::Do(Change::LockWalk(0, true)));
    let locked = planner.day();
    planner.ask(WalkAction::Plan);
    let again = planner.day();
    assert_eq!(again.walks[0], locked.walks[0]);
    assert_eq!(spot_of(&again, door).map(|s| s.walk), Some(1), "a locked door stays with its crew");
    // What is kept in the survey's file is the day that is shown.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("planned.gpkg");
    ask(&mut planner.window, Action::SaveAs(path.clone()));
    let mut other = window(SIZE, Some(&path));
    settle(&mut other);
    let walking = &other.state().session().walking;
    assert_eq!(doors(walking.day.as_ref().unwrap()), doors(&again));
    assert_eq!(walking.crews.names.len(), 2);
    ask(&mut other, Action::Walks(WalkAction::Weigh(Change::TakeOff(again.walks[1].doors[0].premise))));
    let session = other.state().session();
    assert!(session.walking.trial.is_some() || session.trouble.is_some(), "a kept day can be changed by hand");
}

#[test]
fn a_door_is_dragged_to_another_place_and_the_cost_shows_on_the_way() {
    let mut planner = planned();
    let before = planner.day();
    planner.click("7 Walks");
    let row = |planner: &Planner, number: usize| {
        let door = before.walks[0].doors[number].premise;
        let name = quillmere().1.premises.address.get(door.row());
        let label = format!("{} {name}", number + 1);
        planner.window.get_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with(&label))).rect().center()
    };
    let (from, to) = (row(&planner, 0), row(&planner, 2));
    let moved = |planner: &mut Planner, pos: Pos2| {
        planner.window.event(Event::PointerMoved(pos));
        planner.window.step();
        settle(&mut planner.window);
    };
    let button = |planner: &mut Planner, pos: Pos2, pressed: bool| {
        planner.window.event(Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE });
        planner.window.step();
    };
    moved(&mut planner, from);
    button(&mut planner, from, true);
    for share in [0.3, 0.7, 1.0] {
        moved(&mut planner, from + (to - from) * share);
    }
    assert!(planner.window.state().session().walking.trial.is_some(), "the cost shows while it is dragged");
    assert_eq!(planner.day(), before);
    button(&mut planner, to, false);
    settle(&mut planner.window);
    let door = before.walks[0].doors[0].premise;
    assert_eq!(spot_of(&planner.day(), door), Some(Spot { walk: 0, door: 2 }));
}

#[test]
fn a_yard_is_put_on_a_walk_from_its_card() {
    let mut planner = planned();
    let day = planner.day();
    let free = (0..quillmere().1.premises.len() as u32).map(PremiseId).find(|p| {
        !quillmere().1.premises.outline.get(p.row()).is_empty()
            && spot_of(&day, *p).is_none()
            && day.left_out.iter().all(|l| l.premise != *p)
    });
    ask(&mut planner.window, Action::ShowPremise(free.unwrap()));
    planner.click("Add to the walks");
    planner.window.key_press(Key::Enter);
    settle(&mut planner.window);
    if planner.window.state().session().walking.trial.is_some() {
        planner.click("7 Walks");
        planner.click("Do it");
    }
    assert!(spot_of(&planner.day(), free.unwrap()).is_some());
    assert!(planner.says(" of Crew "));
}
