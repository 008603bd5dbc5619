//! A newer parcel file over a survey with visits: what changed is said, visits stay on their ground, and undo takes it back.

use crate::office::{anew, ask, quillmere, window};
use egui_kittest::kittest::Queryable as _;
use yardring::action::Action;
use yardring::session::Desk;
use yardring_core::job::Unwatched;
use yardring_core::store;
use yardring_core::survey::{PremiseId, Survey};

#[test]
fn a_newer_parcel_file_says_what_changed_and_is_taken_back_whole() {
    let (_, survey) = quillmere();
    let unique = |i: &usize| survey.premises.parcel_id.iter().filter(|id| *id == survey.premises.parcel_id.get(*i)).count() == 1;
    let visited = |i: &usize| !survey.visits.at(PremiseId(*i as u32)).is_empty();
    let row = (0..survey.premises.len()).filter(visited).find(unique).unwrap();
    let (old_id, made) = (survey.premises.parcel_id.get(row).to_owned(), survey.visits.at(PremiseId(row as u32)).len());
    let folder = tempfile::tempdir().unwrap();
    let (own, newer) = (folder.path().join("own.gpkg"), folder.path().join("newer.geojson"));
    store::save(survey, &own, &Unwatched).unwrap();
    std::fs::write(&newer, anew(survey, &[(row, "NEW-1")])).unwrap();
    let mut window = window([1280.0, 800.0], Some(&own));
    ask(&mut window, Action::GoTo(Desk::Intake));
    let before = Survey::clone(&window.state().session().open.as_ref().unwrap().survey);
    ask(&mut window, Action::Offer(vec![newer]));
    ask(&mut window, Action::BringIn);
    let told = window.state().session().intake.report.clone().unwrap();
    let vintage = told.vintage.as_ref().unwrap();
    let change = vintage.changes.iter().find(|c| c.parcel_id == old_id).unwrap();
    assert_eq!((change.visits, change.visits_at.as_str(), vintage.visits_moved), (made, "NEW-1", made));
    let line = change.in_words();
    assert!(told.in_words().contains(&line), "the terminal's words have the table");
    let says = |words: &str| window.query_all_by_label_contains(words).next().is_some();
    assert!(says("What the newer parcel file changed"));
    assert!(says(&format!("Renumbered {old_id} to NEW-1")));
    ask(&mut window, Action::Undo);
    assert_eq!(*window.state().session().open.as_ref().unwrap().survey, before);
    assert!(window.query_all_by_label_contains("What the newer parcel file changed").next().is_none());
    ask(&mut window, Action::Redo);
    assert!(window.query_all_by_label_contains("What the newer parcel file changed").next().is_some());
}
