//! A promised hour that the plan breaks is said at once, and stands in the files though nobody plans again.

use crate::planner::planned;
use yardring::session::walking::{Crews, Row, WalkAction};
use yardring_core::survey::Promised;
use yardring_core::walks::by_hand::{Spot, spot_of};

/// What step 6 asks for now is not what the walks were planned for: both steps say so, with the day they are for.
#[test]
fn walks_for_another_day_or_other_crews_say_that_they_are_stale() {
    let mut planner = planned();
    planner.click("7 Walks");
    let on = yardring::ui::words::day(planner.day().on);
    assert!(planner.says(&format!("Walks: {on} · ")) && planner.says(&format!("for {on} to print")) && !planner.says("plan again"));
    let crews = planner.window.state().session().walking.crews.clone();
    let mut fewer = crews.clone();
    fewer.resize(1);
    planner.ask(WalkAction::Crews(fewer));
    assert!(planner.says("other crews are asked for: plan again") && planner.says("plan again first: other crews are asked for"));
    planner.ask(WalkAction::Crews(Crews { on: planner.day().on.tomorrow().ok(), ..crews.clone() }));
    assert!(planner.says("another day is asked for: plan again"));
    planner.ask(WalkAction::Crews(Crews { shift_minutes: crews.shift_minutes - 60.0, ..crews.clone() }));
    assert!(planner.says("shift or pauses are others now: plan again"));
    planner.ask(WalkAction::Crews(crews));
    assert!(!planner.says("plan again first"));
}

#[test]
fn a_promise_that_the_plan_breaks_is_said_on_its_row_in_the_sheets_step_and_in_the_files() {
    let mut planner = planned();
    planner.click("7 Walks");
    let door = planner.day().walks[0].doors[1].premise;
    planner.ask(WalkAction::Choose(Row::Door(Spot { walk: 0, door: 1 })));
    assert!(!planner.says("plan again first"));
    let promised = Promised::read("17:00-18:30", planner.day().on.yesterday().unwrap()).unwrap();
    planner.ask(WalkAction::Promise(door, promised));
    assert!(planner.says("promised 17:00–18:30, planned 0") && planner.says("outside the shift"));
    assert!(planner.says("plan again first: 1 promise is not kept"));
    let folder = tempfile::tempdir().unwrap();
    planner.ask(WalkAction::Print(folder.path().to_owned(), None));
    let mut rows = csv::Reader::from_path(folder.path().join("walks.csv")).unwrap();
    let column = rows.headers().unwrap().iter().position(|h| h == "promised").expect("a column of promises");
    let promised: Vec<String> = rows.records().map(|r| r.unwrap()[column].to_owned()).filter(|p| !p.is_empty()).collect();
    assert_eq!(promised, ["17:00-18:30"]);
    // The shift ends at two: no plan can keep it, and that is said as what it is.
    planner.ask(WalkAction::Plan);
    assert!(spot_of(&planner.day(), door).is_none());
    assert!(planner.says("1 promise cannot be kept") && !planner.says("plan again first"));
    planner.ask(WalkAction::NoPromise(door));
    assert!(!planner.says("cannot be kept"));
}
