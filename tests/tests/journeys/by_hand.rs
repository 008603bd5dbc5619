//! Every change by hand to the day's walks, once with the pointer and once with the keyboard alone.

use crate::office::{quillmere, settle};
use crate::planner::{Planner, doors, planned};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Pos2};
use egui_kittest::kittest::Queryable as _;
use yardring::action::Action;
use yardring::session::walking::{Change, Row, WalkAction};
use yardring_core::survey::PremiseId;
use yardring_core::walks::by_hand::{Spot, cost, spot_of};
use yardring_core::walks::{Because, Day, on_street, street_of};

fn name(premise: PremiseId) -> &'static str {
    quillmere().1.premises.address.get(premise.row())
}

impl Planner {
    fn press(&mut self, modifiers: Modifiers, key: Key) {
        self.window.key_press_modifiers(modifiers, key);
        settle(&mut self.window);
    }

    fn choose(&mut self, row: Row) {
        self.ask(WalkAction::Choose(row));
    }

    /// Gives the keyboard to something by its words.
    fn focus(&mut self, words: &str) {
        self.window.get_all_by_label_contains(words).next().unwrap_or_else(|| panic!("{words} is nowhere")).focus();
        settle(&mut self.window);
    }

    /// Where a door's row is drawn.
    fn row_at(&self, spot: Spot) -> Pos2 {
        let label = format!("{} {}", spot.door + 1, name(self.day().walks[spot.walk].doors[spot.door].premise));
        self.window.get_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with(&label))).rect().center()
    }

    fn move_to(&mut self, pos: Pos2) {
        self.window.event(Event::PointerMoved(pos));
        self.window.step();
        settle(&mut self.window);
    }

    fn button(&mut self, pos: Pos2, pressed: bool) {
        self.window.event(Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE });
        self.window.step();
    }

    /// What the change that is weighed would cost, as the window says it.
    fn cost_is_said(&self) -> bool {
        self.says("more in all") || self.says("less in all") || self.says("No minute more or less")
    }

    fn at_walks() -> Self {
        let mut planner = planned();
        planner.click("7 Walks");
        planner
    }
}

/// The doors of every crew in the order they are walked.
fn order(day: &Day) -> Vec<Vec<PremiseId>> {
    day.walks.iter().map(|w| w.doors.iter().map(|d| d.premise).collect()).collect()
}

fn locked(day: &Day, premise: PremiseId) -> bool {
    spot_of(day, premise).is_some_and(|s| day.walks[s.walk].doors[s.door].locked)
}

#[test]
fn a_door_is_dragged_to_another_crew_and_the_cost_is_said_before_it_is_let_go() {
    let mut planner = Planner::at_walks();
    let before = planner.day();
    let from = Spot { walk: 0, door: before.walks[0].doors.len() - 1 };
    let to = Spot { walk: 1, door: 0 };
    let door = before.walks[0].doors[from.door].premise;
    planner.choose(Row::Door(to));
    let (start, end) = (planner.row_at(from), planner.row_at(to));
    planner.move_to(start);
    planner.button(start, true);
    for share in [0.4, 0.8, 1.0] {
        planner.move_to(start + (end - start) * share);
    }
    let weighed = planner.window.state().session().walking.trial.clone().expect("it is weighed while it is dragged");
    assert_eq!(weighed.change, Change::Move(door, to));
    assert!(planner.cost_is_said() && planner.day() == before, "said, and not done");
    // A line above the row says where it will land.
    let label = format!("1 {}", name(before.walks[1].doors[0].premise));
    let row = planner.window.get_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with(&label))).rect();
    let picture = planner.window.render().unwrap();
    let accent = yardring::ui::theme::LIGHT.accent.to_array();
    let line = (0..3).any(|y| picture.get_pixel(row.center().x as u32, row.top() as u32 + y).0 == accent);
    assert!(line, "no line at {row:?}");
    assert!(planner.says("Let go of it here") && !planner.says("Do it"), "nothing to press while the button is held");
    planner.button(end, false);
    settle(&mut planner.window);
    let after = planner.day();
    assert_eq!(spot_of(&after, door), Some(to));
    assert_eq!(cost(&before, &after), weighed.cost, "it costs what was said");
    planner.click("Take back");
    assert_eq!(order(&planner.day()), order(&before));
    planner.click("Do again");
    assert_eq!(order(&planner.day()), order(&after));
}

#[test]
fn a_door_goes_to_another_crew_and_place_by_keys_and_escape_leaves_it() {
    let mut planner = Planner::at_walks();
    let before = planner.day();
    let door = before.walks[0].doors[2].premise;
    planner.choose(Row::Door(Spot { walk: 0, door: 2 }));
    planner.press(Modifiers::ALT, Key::ArrowUp);
    assert!(planner.cost_is_said() && planner.day() == before);
    planner.press(Modifiers::NONE, Key::Escape);
    assert!(!planner.cost_is_said() && planner.day() == before, "Escape leaves it");
    planner.choose(Row::Door(Spot { walk: 0, door: 2 }));
    planner.press(Modifiers::ALT, Key::ArrowUp);
    planner.press(Modifiers::NONE, Key::Enter);
    assert_eq!(spot_of(&planner.day(), door), Some(Spot { walk: 0, door: 1 }));
    planner.press(Modifiers::ALT, Key::Num2);
    planner.press(Modifiers::NONE, Key::Enter);
    assert_eq!(spot_of(&planner.day(), door).map(|s| s.walk), Some(1));
    planner.press(Modifiers::ALT, Key::Delete);
    planner.press(Modifiers::NONE, Key::Enter);
    assert!(planner.day().left_out.iter().any(|l| l.premise == door && l.because == Because::TakenOff));
    (0..3).for_each(|_| planner.press(Modifiers::COMMAND, Key::Z));
    assert_eq!(order(&planner.day()), order(&before));
}

/// 24 July 2025, the day that is planned, was a Thursday (any calendar).
#[test]
fn a_yard_is_promised_a_weekday_in_words_and_the_next_plan_passes_it_by() {
    let mut planner = Planner::at_walks();
    let door = planner.day().walks[0].doors[1].premise;
    planner.choose(Row::Door(Spot { walk: 0, door: 1 }));
    planner.click("Promise a day or an hour…");
    planner.focus("What is promised");
    planner.press(Modifiers::COMMAND, Key::A);
    planner.window.event(Event::Text("sábado después de las cinco".to_owned()));
    settle(&mut planner.window);
    assert!(planner.says("Promised Saturday 26 July after 17:00"));
    planner.click("Promise it");
    assert!(planner.says("is promised Saturday 26 July after 17:00"));
    planner.ask(WalkAction::Plan);
    let left = planner.day().left_out.iter().find(|l| l.premise == door).map(|l| l.because);
    assert_eq!(left, Some(Because::PromisedAnotherDay));
    planner.click("Forget it");
    planner.ask(WalkAction::Plan);
    assert!(!planner.day().left_out.iter().any(|l| l.because == Because::PromisedAnotherDay));
}

#[test]
fn doors_and_walks_are_locked_and_the_rest_is_planned_again() {
    let mut planner = Planner::at_walks();
    let before = planner.day();
    let [clicked, keyed] = [0, 1].map(|door| before.walks[1].doors[door].premise);
    planner.choose(Row::Door(Spot { walk: 1, door: 0 }));
    planner.click("Lock");
    planner.choose(Row::Door(Spot { walk: 1, door: 1 }));
    planner.press(Modifiers::ALT, Key::L);
    assert!(locked(&planner.day(), clicked) && locked(&planner.day(), keyed));
    planner.press(Modifiers::ALT, Key::L);
    assert!(!locked(&planner.day(), keyed), "and let go again");
    planner.press(Modifiers::ALT, Key::L);
    planner.choose(Row::Crew(0));
    planner.click("Lock the walk");
    assert!(planner.day().walks[0].locked);
    planner.press(Modifiers::ALT, Key::L);
    assert!(!planner.day().walks[0].locked);
    planner.press(Modifiers::ALT, Key::L);
    let held = planner.day();
    planner.click("Plan the rest again");
    let again = planner.day();
    assert_eq!(again.walks[0], held.walks[0], "a locked walk stays as it is");
    assert!([clicked, keyed].into_iter().all(|p| spot_of(&again, p).is_some_and(|s| s.walk == 1) && locked(&again, p)));
    planner.focus("Plan the rest again");
    planner.press(Modifiers::NONE, Key::Enter);
    assert_eq!(doors(&planner.day()), doors(&again), "the same wishes, the same plan");
}

/// The street of a crew's first door.
fn street_of_crew(day: &Day, walk: usize) -> String {
    let survey = quillmere().1;
    street_of(survey, day.walks[walk].doors[0].premise).to_owned()
}

fn there(day: &Day, walk: usize, street: &str) -> usize {
    day.walks[walk].doors.iter().filter(|d| on_street(quillmere().1, d.premise, street)).count()
}

#[test]
fn a_crew_is_kept_off_a_street_by_pointer_and_by_keys_and_every_later_plan_keeps_to_it() {
    let mut planner = Planner::at_walks();
    let before = planner.day();
    let street = street_of_crew(&before, 0);
    planner.choose(Row::Crew(0));
    planner.click("Keep off a street");
    planner.window.get_all_by_label(&street).next().expect("the street is in the list").click_accesskit();
    settle(&mut planner.window);
    assert!(planner.cost_is_said() && planner.day() == before, "said, and not done");
    planner.click("Do it");
    assert_eq!(there(&planner.day(), 0, &street), 0);
    assert!(planner.says(&format!("Crew 1 is kept off {street}")));
    planner.click("Plan again");
    assert!(there(&planner.day(), 0, &street) == 0 && !planner.day().walks[0].doors.is_empty());
    planner.click("Let in");
    assert!(planner.window.state().session().walking.kept_off.is_empty());
    // With the keyboard, from a door in the street; a button there does the same.
    let taken = street_of_crew(&planner.day(), 1);
    planner.choose(Row::Door(Spot { walk: 1, door: 0 }));
    planner.click("Keep off this street");
    let clicked = planner.window.state().session().walking.trial.clone().expect("it is weighed");
    planner.press(Modifiers::NONE, Key::Escape);
    planner.choose(Row::Door(Spot { walk: 1, door: 0 }));
    planner.press(Modifiers::ALT, Key::K);
    let weighed = planner.window.state().session().walking.trial.clone().expect("it is weighed");
    assert_eq!(weighed.change, clicked.change);
    assert_eq!(weighed.change, Change::KeepOff(1, taken.clone()));
    planner.press(Modifiers::NONE, Key::Enter);
    assert_eq!(there(&planner.day(), 1, &taken), 0);
    assert_eq!(planner.window.state().session().walking.kept_off, [(1, taken)]);
}

#[test]
fn a_door_is_added_now_by_pointer_and_by_keys() {
    let mut planner = Planner::at_walks();
    let before = planner.day();
    assert!(before.left_out.len() > 1);
    let [clicked, keyed] = [0, 1].map(|i| before.left_out[i].premise);
    ask_for(&mut planner, clicked);
    planner.click("Add where it costs least");
    assert!(planner.cost_is_said() && planner.day() == before, "said, and not done");
    planner.click("Do it");
    assert!(spot_of(&planner.day(), clicked).is_some());
    ask_for(&mut planner, keyed);
    planner.press(Modifiers::ALT, Key::Num2);
    planner.press(Modifiers::NONE, Key::Enter);
    assert_eq!(spot_of(&planner.day(), keyed).map(|s| s.walk), Some(1));
    assert_eq!(planner.day().doors(), before.doors() + 2);
}

/// Chooses a yard, as a click on the map does, and comes back to the walks.
fn ask_for(planner: &mut Planner, premise: PremiseId) {
    crate::office::ask(&mut planner.window, Action::ShowPremise(premise));
    if !planner.says("Add where it costs least") {
        planner.click("7 Walks");
    }
}
