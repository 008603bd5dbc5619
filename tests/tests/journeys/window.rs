//! Days at the desks, in a window without a display.

use crate::office::{ask, quillmere, rests, sample_data, settle, window};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use yardring::action::{Action, MapAction};
use yardring::app::App;
use yardring::session::{ColourBy, Desk, GapOrder};
use yardring::ui::words::{number, per_hundred};
use yardring_core::intake::Role;
use yardring_core::job::Unwatched;
use yardring_core::measure;
use yardring_core::reach::{self, SourceKind, Wanted};
use yardring_core::store;
use yardring_core::survey::standings;
use yardring_core::units::Metres;

const SIZE: [f32; 2] = [1280.0, 800.0];

/// Whether some label on the screen has these words in it.
fn says(window: &Harness<'static, App>, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
}

/// The gaps that core finds, without any window.
fn gaps_of_core(wanted: &Wanted) -> Vec<reach::Gap> {
    let (_, survey) = quillmere();
    let standings = standings(survey, survey.round(None).unwrap());
    let sources = reach::sources(survey, &standings, wanted);
    reach::gaps(survey, &standings, &sources, wanted, &Unwatched).unwrap()
}

#[test]
fn every_desk_draws_empty_and_says_what_to_do_first() {
    let mut window = window(SIZE, None);
    assert!(says(&window, "No survey is open") && says(&window, "Choose files to start one"));
    for desk in Desk::ALL {
        ask(&mut window, Action::GoTo(desk));
        assert!(says(&window, if desk == Desk::Intake { "choose files, or drop them" } else { "Open a survey" }), "{desk:?}");
    }
}

#[test]
fn a_survey_opens_on_the_plan_desk_with_the_numbers_of_core() {
    let (path, survey) = quillmere();
    let mut window = window(SIZE, Some(path));
    assert_eq!(window.state().session().desk, Desk::Plan);
    let gaps = gaps_of_core(&Wanted::default());
    assert!(!gaps.is_empty());
    assert!(says(&window, &format!("{} yards inside the reach have not been seen", gaps.len())));
    ask(&mut window, Action::GoTo(Desk::Brief));
    let district = measure::district(&standings(survey, survey.round(None).unwrap()));
    assert!(says(&window, &format!("{} of {}", number(district.inspected), number(survey.premises.len() as u64))));
    let interval = district.house_index_interval().unwrap();
    let told = per_hundred(district.house_index(), Some(interval));
    assert!(says(&window, &told), "{told}");
    ask(&mut window, Action::GoTo(Desk::Intake));
    assert!(says(&window, &format!("{} visits", number(survey.visits.len() as u64))) && says(&window, "to place"));
    // Larvae seen over the fence are a find and no chance.
    let outside = standings(survey, survey.round(None).unwrap()).iter().filter(|s| s.seen_from_outside()).count();
    assert!(outside > 0);
    ask(&mut window, Action::GoTo(Desk::Plan));
    assert!(says(&window, &format!("{outside} of them seen from outside only")) && says(&window, ", larvae seen"));
    let session = window.state().session();
    let seen = gaps.iter().filter(|g| g.seen_positive).count() as u64;
    assert_eq!(session.gaps.seen, seen);
    let chances = session.outlook.latest().unwrap().as_ref().as_ref().unwrap();
    assert!(gaps.iter().all(|g| chances.at(g.premise).is_none() == g.seen_positive));
    let shown = format!("{} yards with a chance", number(chances.foreseen().chances.len() as u64));
    assert!(says(&window, &shown), "{shown}");
    ask(&mut window, Action::GoTo(Desk::Brief));
    ask(&mut window, Action::Colour(ColourBy::Foreseen));
    let classes = &window.state().session().classes.latest().unwrap().classes;
    let coloured: u64 = classes.classes[..classes.steps].iter().map(|c| c.count).sum();
    assert_eq!(coloured, window.state().session().outlook.latest().unwrap().as_ref().as_ref().unwrap().foreseen().chances.len() as u64);
}

#[test]
fn a_click_on_a_gap_chooses_its_yard_and_the_arrows_walk_on() {
    let mut window = window(SIZE, Some(quillmere().0));
    let gaps = gaps_of_core(&Wanted::default());
    window.get_by(|n| n.role() == egui::accesskit::Role::ListItem && n.label().is_some_and(|l| l.starts_with("2 "))).click();
    window.run_ok();
    settle(&mut window);
    assert_eq!(window.state().session().chosen, Some(gaps[1].premise));
    let survey = quillmere().1;
    let address = survey.premises.address.get(gaps[1].premise.row());
    assert!(says(&window, &format!("Parcel {}", survey.premises.parcel_id.get(gaps[1].premise.row()))), "{address}");
    window.key_press(egui::Key::ArrowDown);
    settle(&mut window);
    assert_eq!(window.state().session().chosen, Some(gaps[2].premise));
    window.key_press(egui::Key::Escape);
    settle(&mut window);
    assert_eq!(window.state().session().chosen, None);
}

#[test]
fn another_radius_and_other_sources_give_the_gaps_of_core() {
    let mut window = window(SIZE, Some(quillmere().0));
    for metres in [40.0, 75.0, 150.0, 400.0] {
        // As a drag does: every radius on the way is asked for, the last one is answered.
        for step in 1..=4 {
            window.state_mut().push(Action::Radius(Metres(metres * f64::from(step) / 4.0)));
            window.step();
        }
        settle(&mut window);
        let gaps = gaps_of_core(&Wanted { radius: Metres(metres), ..Wanted::default() });
        assert_eq!(window.state().session().reach.latest().unwrap().gaps[..], gaps[..], "{metres} m");
        assert_eq!(window.state().session().gaps.rows.len(), gaps.len());
    }
    ask(&mut window, Action::Sources(SourceKind::Cases));
    let answer = window.state().session().reach.latest().unwrap();
    assert!(answer.sources.len() == 1 && answer.dots.is_empty(), "a case has a reach and no dot");
}

#[test]
fn the_gap_list_is_sorted_and_filtered_by_reason() {
    let mut window = window(SIZE, Some(quillmere().0));
    let gaps = gaps_of_core(&Wanted::default());
    let refused = gaps.iter().filter(|g| g.reason.word() == "refused").count();
    assert!(refused > 0);
    ask(&mut window, Action::Reason(Some("refused".to_owned())));
    let list = &window.state().session().gaps;
    assert_eq!(list.rows.len(), refused);
    assert!(list.rows.iter().all(|&i| gaps[i as usize].reason.word() == "refused"));
    ask(&mut window, Action::Order(GapOrder::Distance));
    let list = &window.state().session().gaps;
    let metres: Vec<f64> = list.rows.iter().map(|&i| gaps[i as usize].nearest_source.0).collect();
    assert!(metres.is_sorted() && metres.len() == refused);
}

#[test]
fn an_address_is_found_with_the_keyboard_alone() {
    let (path, survey) = quillmere();
    let mut window = window(SIZE, Some(path));
    let row = survey.premises.len() / 2;
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::K);
    settle(&mut window);
    window.event(egui::Event::Text(survey.premises.parcel_id.get(row).to_lowercase()));
    settle(&mut window);
    window.key_press(egui::Key::Enter);
    settle(&mut window);
    let chosen = window.state().session().chosen.unwrap();
    assert_eq!(survey.premises.parcel_id.get(chosen.row()), survey.premises.parcel_id.get(row));
}

#[test]
fn files_dropped_on_the_window_are_named_brought_in_and_can_be_taken_back() {
    let mut window = window(SIZE, None);
    let names =
        ["parcels.shp", "parcels.dbf", "parcels.prj", "streets.geojson", "blocks.geojson", "visits.csv", "signals.csv", "temperatures.csv"];
    ask(&mut window, Action::Dropped(names.iter().map(|n| sample_data().join(n)).collect()));
    let kinds: Vec<_> = window.state().session().intake.offered.iter().map(|o| o.kind).collect();
    let all = [Role::Parcels, Role::Streets, Role::Blocks, Role::Visits, Role::Signals, Role::Temperatures];
    assert_eq!(kinds, all.map(Some), "files beside the shapefile are no files of their own");
    // Six files with what is said of each are longer than the worksheet: the button is below.
    window.get_by_label("Bring in").click_accesskit();
    settle(&mut window);
    let session = window.state().session();
    let open = session.open.as_ref().unwrap();
    let survey = quillmere().1;
    assert_eq!((open.survey.premises.len(), open.survey.visits.len()), (survey.premises.len(), survey.visits.len()));
    assert!(open.unsaved() && session.intake.offered.is_empty());
    ask(&mut window, Action::Close);
    assert!(says(&window, "Close without saving") && !window.state().session().frame.may_close);
    ask(&mut window, Action::StayOpen);
    // Another survey must not take the place of this one unasked.
    ask(&mut window, Action::Open(quillmere().0.to_owned()));
    assert!(says(&window, "Open the other without saving"));
    ask(&mut window, Action::Back);
    assert!(window.state().session().leaving.is_none() && window.state().session().open.as_ref().unwrap().unsaved());
    // The same visits once more: a change that undo takes back.
    ask(&mut window, Action::Offer(vec![sample_data().join("visits.csv")]));
    ask(&mut window, Action::BringIn);
    let before = window.state().session().open.as_ref().unwrap().survey.intake_log.len();
    ask(&mut window, Action::Undo);
    assert_eq!(window.state().session().open.as_ref().unwrap().survey.intake_log.len() + 1, before);
    // So are the first files: nothing is there then, and with "Redo" all of it.
    ask(&mut window, Action::Undo);
    let premises = |w: &Harness<'static, App>| w.state().session().open.as_ref().unwrap().survey.premises.len();
    assert_eq!(premises(&window), 0);
    ask(&mut window, Action::GoTo(Desk::Plan));
    ask(&mut window, Action::GoTo(Desk::Brief));
    ask(&mut window, Action::GoTo(Desk::Intake));
    assert!(says(&window, "1 Files"));
    ask(&mut window, Action::Redo);
    assert_eq!(premises(&window), survey.premises.len());
}

#[test]
fn closing_names_what_is_not_saved_and_enter_saves() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own.gpkg");
    store::save(quillmere().1, &own, &Unwatched).unwrap();
    let mut window = window(SIZE, Some(&own));
    let yard = window.state().session().reach.latest().unwrap().gaps[0].premise;
    ask(&mut window, Action::ShowPremise(yard));
    ask(&mut window, Action::Map(MapAction::SaveView("Mill quarter".to_owned())));
    ask(&mut window, Action::Close);
    assert!(says(&window, "Only in this window: change the view"));
    let focused = window.query_all_by(|n| n.is_focused()).next().and_then(|n| n.accesskit_node().label());
    assert_eq!(focused.as_deref(), Some("Save"));
    window.key_press(egui::Key::Escape);
    settle(&mut window);
    assert!(window.state().session().leaving.is_none() && window.state().session().open.as_ref().unwrap().unsaved());
    ask(&mut window, Action::Close);
    window.key_press(egui::Key::Enter);
    settle(&mut window);
    assert!(window.state().session().leaving.is_none() && !window.state().session().open.as_ref().unwrap().unsaved());
    assert_eq!(store::load(&own, store::Parts::EVERYTHING, &Unwatched).unwrap().views().len(), 1);
}

#[test]
fn what_is_wrong_is_said_in_the_step_it_belongs_to() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("visits.csv");
    std::fs::write(&sheet, "date,parcel_id,outcome\n2025-07-01,X1,inspected\n").unwrap();
    let mut window = window(SIZE, None);
    ask(&mut window, Action::Offer(vec![sheet]));
    ask(&mut window, Action::BringIn);
    assert!(says(&window, "no parcels to start one with"));
    assert!(window.state().session().open.is_none());
    ask(&mut window, Action::Open(folder.path().join("gone.gpkg")));
    assert!(says(&window, "gone.gpkg"));
}

#[test]
fn everything_fits_a_small_screen_with_large_text() {
    // 1024 x 700 at 150 % text is 683 x 467 points.
    let mut window = window([683.0, 467.0], Some(quillmere().0));
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(683.0, 467.0)).expand(0.5);
    for desk in Desk::ALL {
        ask(&mut window, Action::GoTo(desk));
        for label in ["Intake", "Plan", "Brief", "Find", "Map"] {
            let rect = window.get_all_by_label(label).next().unwrap().rect();
            assert!(screen.contains_rect(rect), "{label} at the {desk:?} desk lies at {rect:?}");
        }
        assert!(window.get_all_by_label("Map").next().unwrap().rect().width() > 200.0);
    }
}

#[test]
fn an_idle_window_asks_for_no_frames() {
    let mut window = window(SIZE, Some(quillmere().0));
    ask(&mut window, Action::Colour(ColourBy::Coverage));
    // `try_run` fails when the window still wants to be drawn after many frames.
    assert!(window.try_run().is_ok());
    assert!(window.try_run().unwrap() <= 2);
    assert!(rests(&window), "it wants to be drawn again within five seconds");
}
