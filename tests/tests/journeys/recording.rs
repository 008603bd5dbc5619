//! A sheet of paper typed in: visits entered, corrected and taken away in the window, and nothing lost when it breaks off.

use crate::office::{ask, quillmere, settle, window};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::path::{Path, PathBuf};
use yardring::action::Action;
use yardring::app::App;
use yardring::session::walking::{Crews, WalkAction};
use yardring::session::{Desk, RecordAction};
use yardring_core::intake::Role as Table;
use yardring_core::intake::record::{Entry, FindEntry, Signed, enter};
use yardring_core::job::Unwatched;
use yardring_core::place::LonLat;
use yardring_core::store::{self, Edit, Parts};
use yardring_core::survey::{PremiseId, Survey};

const SIZE: [f32; 2] = [1280.0, 1100.0];

/// An own copy of the district, in a folder where settings lie too.
fn own_copy() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("Quillmere.gpkg");
    store::save(quillmere().1, &path, &Unwatched).unwrap();
    (folder, path)
}

/// A window that remembers, so that it keeps what is not saved.
fn remembering(survey: Option<&Path>, folder: &Path) -> Harness<'static, App> {
    let (path, settings) = (survey.map(Path::to_owned), folder.join("own/settings.toml"));
    let builder = Harness::builder().with_size(egui::Vec2::from(SIZE)).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, path, Some(settings)));
    settle(&mut window);
    window
}

fn now(window: &Harness<'static, App>) -> Survey {
    Survey::clone(&window.state().session().open.as_ref().unwrap().survey)
}

fn says(window: &Harness<'static, App>, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
}

fn click(window: &mut Harness<'static, App>, label: &str) {
    window.get_all_by(|n| n.label().is_some_and(|l| l == label)).next().unwrap_or_else(|| panic!("no {label}")).click_accesskit();
    settle(window);
}

fn press(window: &mut Harness<'static, App>, key: Key) {
    window.key_press(key);
    settle(window);
}

/// Presses Tab until something with these words has the keyboard.
fn tab_to(window: &mut Harness<'static, App>, words: &str) {
    let mut seen = Vec::new();
    for _ in 0..80 {
        press(window, Key::Tab);
        let node = window.query_all_by(|n| n.is_focused()).next();
        let now = node.and_then(|n| n.accesskit_node().label()).unwrap_or_default();
        if now.starts_with(words) {
            return;
        }
        seen.push(now);
    }
    panic!("Tab never comes to {words}: {seen:?}");
}

/// Writes over what stands in the field that has the keyboard.
fn write(window: &mut Harness<'static, App>, text: &str) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.event(Event::Text(text.to_owned()));
    settle(window);
}

/// A yard that nobody has seen.
fn unseen(survey: &Survey) -> PremiseId {
    (0..survey.premises.len() as u32).map(PremiseId).find(|p| survey.visits.at(*p).is_empty()).unwrap()
}

fn unsaved_files(folder: &Path) -> usize {
    let hidden = |e: &std::fs::DirEntry| e.file_name().to_string_lossy().contains("unsaved");
    std::fs::read_dir(folder).unwrap().map(Result::unwrap).filter(hidden).count()
}

#[test]
fn a_visit_is_entered_with_the_keyboard_alone_undone_and_saved() {
    let (_folder, path) = own_copy();
    let mut window = window(SIZE, Some(&path));
    let before = now(&window);
    let premise = unseen(&before);
    ask(&mut window, Action::ShowPremise(premise));
    click(&mut window, "Enter a visit");
    write(&mut window, "2025-07-24");
    tab_to(&mut window, "When the crew came");
    write(&mut window, "08:50");
    tab_to(&mut window, "front only");
    tab_to(&mut window, "Crew");
    write(&mut window, "North");
    // An outcome is missing: Enter keeps nothing, and says what is missing.
    press(&mut window, Key::Enter);
    assert!(now(&window).visits.len() == before.visits.len() && says(&window, "Say how the visit went"));
    click(&mut window, "inspected");
    click(&mut window, "Add a kind of container");
    write(&mut window, "bucket");
    for (field, text) in [("How many, find 1", "2"), ("How many held water", "3"), ("How many held larvae", "1")] {
        tab_to(&mut window, field);
        write(&mut window, text);
    }
    assert!(says(&window, "3 held water, but only 2 were there"), "told while it is typed");
    press(&mut window, Key::Enter);
    assert!(now(&window).visits.len() == before.visits.len() && says(&window, "Not kept yet"));
    window.get_by_role_and_label(Role::TextInput, "How many held water, find 1").focus();
    settle(&mut window);
    write(&mut window, "2");
    press(&mut window, Key::Enter);
    let after = now(&window);
    assert!(window.state().session().hand.writing.is_none() && window.state().session().chosen == Some(premise));
    // The same entry given to core.
    let find = FindEntry {
        container_type: "bucket".into(),
        count: "2".into(),
        holds_water: "2".into(),
        larvae: "1".into(),
        ..FindEntry::default()
    };
    let round = before.rounds[before.round(None).unwrap().row()].name.to_string();
    let (date, time_in, outcome, crew) = ("2025-07-24".into(), "08:50".into(), "inspected".into(), "North".into());
    let entry = Entry { date, time_in, outcome, crew, round, finds: vec![find], ..Entry::default() };
    let mut twin = before.clone();
    let entered = enter(&twin, premise, &entry, &Signed::default()).unwrap();
    store::apply(&mut twin, Edit::visit(entered)).unwrap();
    assert_eq!((&after.visits, &after.rounds, &after.kinds), (&twin.visits, &twin.rounds, &twin.kinds));
    assert!(says(&window, "by hand") && says(&window, "larvae in 1"), "the card tells it");
    ask(&mut window, Action::Undo);
    assert_eq!(now(&window), before);
    ask(&mut window, Action::Redo);
    assert_eq!(now(&window), after);
    ask(&mut window, Action::Save);
    assert_eq!(store::load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), after);
}

#[test]
fn a_visit_is_corrected_left_alone_and_taken_away_by_clicks() {
    let (_folder, path) = own_copy();
    let mut window = window(SIZE, Some(&path));
    let before = now(&window);
    let visit = before.visits.rows().iter().find(|v| !v.finds.is_empty() && before.visits.at(v.premise).len() == 1).unwrap().clone();
    ask(&mut window, Action::ShowPremise(visit.premise));
    let of = format!("the visit of {}, {}", yardring::ui::words::day(visit.when.day), visit.id);
    click(&mut window, &format!("Correct {of}"));
    assert!(says(&window, "Correct a visit at"));
    click(&mut window, "vacant");
    press(&mut window, Key::Escape);
    assert!(window.state().session().hand.writing.is_none() && now(&window) == before, "Escape leaves it");
    click(&mut window, &format!("Correct {of}"));
    assert!(window.state().session().hand.writing.is_some());
    window.get_by_role_and_label(Role::TextInput, "Crew").focus();
    settle(&mut window);
    write(&mut window, "South");
    press(&mut window, Key::Enter);
    let after = now(&window);
    let corrected = after.visits.at(visit.premise)[0].clone();
    assert_eq!(
        (corrected.outcome.word(), &*corrected.crew, corrected.by_hand()),
        ("vacant", "South", true),
        "what was typed before Escape is still there"
    );
    assert_eq!(after.visits.finds_of(&corrected), before.visits.finds_of(&visit));
    assert!(after.intake_log.last().unwrap().findings[0].contains(&format!("before: {} {}", visit.when.day, visit.outcome)));
    click(&mut window, &format!("Take away {of}"));
    assert_eq!(now(&window).visits.len(), before.visits.len() - 1);
    ask(&mut window, Action::Undo);
    ask(&mut window, Action::Undo);
    assert_eq!(now(&window), before);
}

#[test]
fn a_sheet_is_typed_in_door_by_door_of_the_planned_walk() {
    let (_folder, path) = own_copy();
    let mut window = window(SIZE, Some(&path));
    let survey = now(&window);
    let crews = Crews { effort: 0.2, ..Crews::default() };
    let at = survey.frame.local_from_lon_lat(LonLat { lon: -88.3020, lat: 29.3985 });
    for action in [WalkAction::Crews(crews), WalkAction::MeetAt(at), WalkAction::Plan] {
        ask(&mut window, Action::Walks(action));
    }
    let day = window.state().session().walking.day.clone().unwrap();
    let doors: Vec<PremiseId> = day.walks[0].doors.iter().map(|d| d.premise).take(3).collect();
    ask(&mut window, Action::ShowPremise(doors[0]));
    click(&mut window, "Enter a visit");
    for door in 0..2 {
        let writing = window.state().session().hand.writing.clone().unwrap();
        assert_eq!((writing.premise, writing.next), (doors[door], Some(doors[door + 1])));
        assert_eq!((writing.begins.date, writing.begins.crew), (day.on.to_string(), day.walks[0].crew.clone()));
        click(&mut window, "no answer");
        click(&mut window, "Keep, then the next door");
    }
    assert_eq!(window.state().session().chosen, Some(doors[2]), "the map goes along");
    let after = now(&window);
    let id = |p: PremiseId| after.visits.at(p).last().unwrap().id.to_string();
    assert!(id(doors[0]).starts_with(&format!("{}-", day.on)), "the sheet's own id: {}", id(doors[0]));
    // The day's own sheet, filled in the same way by somebody else, doubles nothing.
    let sheet = path.with_file_name("sheet.csv");
    let parcel = after.premises.parcel_id.get(doors[0].row());
    let round = &after.rounds[after.visits.at(doors[0]).last().unwrap().round.row()].name;
    let row = format!("{},{},{parcel},refused,{round},{}", id(doors[0]), day.on, day.walks[0].crew);
    std::fs::write(&sheet, format!("visit_id,date,parcel_id,outcome,round,crew\n{row}\n")).unwrap();
    ask(&mut window, Action::Offer(vec![sheet]));
    ask(&mut window, Action::Kind(0, Table::Visits));
    ask(&mut window, Action::BringIn);
    assert_eq!(now(&window).visits, after.visits);
}

#[test]
fn what_was_not_saved_is_offered_taken_in_and_saved() {
    let (folder, path) = own_copy();
    let mut first = remembering(Some(&path), folder.path());
    let premise = unseen(&now(&first));
    let entry = Entry { date: "2025-07-24".into(), outcome: "no answer".into(), ..Entry::default() };
    ask(&mut first, Action::Record(RecordAction::Begin(premise)));
    ask(&mut first, Action::Record(RecordAction::Keep(Box::new(entry.clone()), false)));
    ask(&mut first, Action::Rule(Box::new(Edit::rename("Mill quarter"))));
    let lost = now(&first);
    let second = remembering(Some(&path), folder.path());
    assert!(says(&second, "1 other window had changes") && !says(&second, "broke off"), "an open window's are its own");
    drop((first, second));
    let mut third = remembering(Some(&path), folder.path());
    assert!(says(&third, "Yardring broke off before this survey was saved (just now). Not in it: enter a visit; rename the survey."));
    assert!(now(&third) != lost);
    click(&mut third, "Leave them out");
    assert!(says(&third, "Left out: enter a visit"));
    click(&mut third, "Offer them again");
    click(&mut third, "Take them back in");
    assert_eq!(now(&third), lost);
    ask(&mut third, Action::Undo);
    assert!(now(&third) != lost);
    ask(&mut third, Action::Redo);
    assert_eq!(unsaved_files(folder.path()), 2, "taken in it is kept anew until it is saved");
    ask(&mut third, Action::Save);
    assert_eq!((unsaved_files(folder.path()), store::load(&path, Parts::EVERYTHING, &Unwatched).unwrap()), (0, lost));
    let fourth = remembering(Some(&path), folder.path());
    assert!(!says(&fourth, "broke off"));
}

#[test]
fn what_is_left_out_is_gone_with_the_next_save_and_a_spoiled_file_stops_nobody() {
    let (folder, path) = own_copy();
    let mut first = remembering(Some(&path), folder.path());
    ask(&mut first, Action::Rule(Box::new(Edit::rename("Mill quarter"))));
    drop(first);
    let kept = std::fs::read_dir(folder.path())
        .unwrap()
        .map(|e| e.unwrap().path())
        .find(|p| p.extension().is_some_and(|e| e == "unsaved"))
        .unwrap();
    let whole = std::fs::read(&kept).unwrap();
    std::fs::write(&kept, &whole[..9]).unwrap();
    let second = remembering(Some(&path), folder.path());
    assert!(says(&second, "cannot be read") && second.state().session().open.is_some());
    drop(second);
    std::fs::write(&kept, whole).unwrap();
    let mut third = remembering(Some(&path), folder.path());
    click(&mut third, "Leave them out");
    assert_eq!(unsaved_files(folder.path()), 1, "until the next save nothing is gone");
    ask(&mut third, Action::Rule(Box::new(Edit::rename("Other"))));
    ask(&mut third, Action::Save);
    assert_eq!(unsaved_files(folder.path()), 0);
}

#[test]
fn a_survey_that_never_had_a_file_is_offered_at_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = remembering(None, folder.path());
    ask(&mut first, Action::Offer(vec![crate::office::sample_data().join("parcels.shp")]));
    ask(&mut first, Action::BringIn);
    let lost = now(&first);
    drop(first);
    let mut second = remembering(None, folder.path());
    assert!(says(&second, "a survey that never had a file"));
    click(&mut second, "Take them back in");
    assert_eq!(now(&second), lost);
    assert_eq!(second.state().session().desk, Desk::Intake);
    ask(&mut second, Action::SaveAs(folder.path().join("New.gpkg")));
    assert_eq!(std::fs::read_dir(folder.path().join("own/unsaved")).unwrap().count(), 0);
}
