//! Crews with hours of their own, streets that a crew is kept off before any plan, going on from a plan, and what makes a plan stale.

use crate::office::{ask, quillmere, settle};
use crate::planner::{Planner, planned};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use yardring::action::Action;
use yardring::session::walking::{Crews, Row, WalkAction};
use yardring_core::place::LonLat;
use yardring_core::units::Metres;
use yardring_core::walks::{DoorMinutes, Shift, on_street, street_of};

/// Writes a text into a box in the place of what stands there.
fn type_into(planner: &mut Planner, name: &str, text: &str) {
    planner.window.get_by_role_and_label(Role::TextInput, name).focus();
    planner.window.run_ok();
    planner.window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    planner.window.event(Event::Text(text.to_owned()));
    settle(&mut planner.window);
}

#[test]
fn a_crew_with_hours_of_its_own_is_planned_within_them() {
    let mut planner = planned();
    planner.click("6 Crews");
    type_into(&mut planner, "Crew 2 leaves at, as 08:00", "11:00");
    planner.window.key_press(Key::Tab);
    settle(&mut planner.window);
    let crews = planner.window.state().session().walking.crews.clone();
    assert_eq!(crews.own_shifts(), [None, Some(Shift { from: 180.0, until: 540.0 })], "its start is its own, its length that of all");
    let mut half = crews;
    half.set_hours(1, half.own_hours[1].map(|(leaves, _)| (leaves, 180.0)));
    planner.ask(WalkAction::Crews(half));
    assert!(planner.says("1 at other hours") && planner.says("a crew has other hours now: plan again"));
    planner.ask(WalkAction::Plan);
    let day = planner.day();
    let late = &day.walks[1];
    assert!(late.doors.len() > 3 && late.doors.iter().all(|d| d.arrive >= 180.0) && late.back_after <= 360.0 + 1e-6);
    assert!(day.walks[0].doors.len() > late.doors.len() && day.walks[0].back_after <= 360.0 + 1e-6);
    planner.click("7 Walks");
    planner.ask(WalkAction::Choose(Row::Crew(1)));
    assert!(!planner.says("plan again"));
    assert!(planner.says("out 11:00 · "));
    planner.click("6 Crews");
    planner.click("As all");
    assert!(planner.says("a crew has other hours now: plan again"));
}

#[test]
fn a_crew_is_kept_off_any_street_before_there_is_a_plan() {
    // A street to which the plan would send the first crew.
    let free = planned().day();
    let street = street_of(quillmere().1, free.walks[0].doors[0].premise).to_owned();
    let mut planner = Planner::new();
    planner.hurry();
    planner.click("6 Crews");
    type_into(&mut planner, "The street that it is kept off", "no such street");
    assert!(planner.says("No street is called so."));
    type_into(&mut planner, "The street that it is kept off", &street.to_uppercase());
    planner.click(&format!("Keep Crew 1 off {street}"));
    assert_eq!(planner.window.state().session().walking.kept_off, [(0, street.clone())]);
    assert!(planner.says(&format!("Crew 1: {street}")));
    planner.ask(WalkAction::MeetAt(quillmere().1.frame.local_from_lon_lat(LonLat { lon: -88.3056, lat: 29.3950 })));
    planner.ask(WalkAction::Plan);
    let day = planner.day();
    let there = day.walks[0].doors.iter().filter(|d| on_street(quillmere().1, d.premise, &street)).count();
    assert!(there == 0 && !day.walks[0].doors.is_empty());
    // With a plan, the crew's doors in another street go to the other crew at once.
    let next = street_of(quillmere().1, day.walks[0].doors[0].premise).to_owned();
    planner.ask(WalkAction::KeepOff(0, next.clone()));
    assert!(planner.day().walks[0].doors.iter().all(|d| !on_street(quillmere().1, d.premise, &next)));
    planner.click("7 Walks");
    assert!(!planner.says("plan again"), "the plan keeps to it already");
    planner.click("6 Crews");
    planner.click("Let in again");
    assert!(planner.says("streets are let in or kept off since: plan again"));
}

#[test]
fn the_search_goes_on_from_the_plan_and_never_makes_it_worse() {
    let mut planner = planned();
    planner.click("7 Walks");
    let worth = |planner: &Planner| planner.day().walks.iter().flat_map(|w| &w.doors).map(|d| d.worth).sum::<f64>();
    let before = (planner.day(), worth(&planner));
    for _ in 0..2 {
        planner.click("Go on");
        assert!(planner.says("Going on found"));
        assert!(worth(&planner) >= before.1 - 1e-9, "{} after {}", worth(&planner), before.1);
    }
    let bettered = planner.window.state().session().walking.bettered;
    assert!(bettered.is_some() && planner.day().walks.len() == before.0.walks.len());
}

/// Each thing that is asked for otherwise makes the plan stale, and asked for again as before, it is not.
#[test]
fn whatever_the_plan_was_made_with_makes_it_stale_when_it_is_others() {
    let mut planner = planned();
    planner.click("7 Walks");
    assert!(!planner.says("plan again"));
    let crews = planner.window.state().session().walking.crews.clone();
    let minutes = Some(DoorMinutes { complete: 20.0, closed: 3.0, many: 40.0 });
    planner.ask(WalkAction::Crews(Crews { minutes, ..crews.clone() }));
    assert!(planner.says("minutes at a door are others now: plan again"));
    planner.ask(WalkAction::Crews(crews));
    assert!(!planner.says("plan again"));
    let radius = planner.window.state().session().plan.radius;
    ask(&mut planner.window, Action::Radius(Metres(radius.0 + 50.0)));
    assert!(planner.says("another reach is asked for: plan again"));
    ask(&mut planner.window, Action::Radius(radius));
    assert!(!planner.says("plan again"));
}
