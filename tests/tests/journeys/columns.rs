//! A sheet that names its columns in its own way: what is asked, what is answered, and that it is remembered.

use crate::office::{ask, own_sheet, quillmere, settle, window};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use yardring::action::{Action, MatchAction};
use yardring::app::App;
use yardring::jobs::Paper;
use yardring::session::Desk;
use yardring_core::intake::{ColumnMap, DateOrder, Request, Sureness, WordList, bring_in};
use yardring_core::job::Unwatched;
use yardring_core::store;
use yardring_core::survey::Outcome;

fn says(window: &Harness<'static, App>, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
}

#[test]
fn a_sheet_with_words_of_its_own_is_matched_brought_in_and_remembered() {
    let (_, survey) = quillmere();
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own.gpkg");
    store::save(survey, &own, &Unwatched).unwrap();
    let sheet = own_sheet(folder.path(), "july.csv", 1);
    let mut window = window([1280.0, 800.0], Some(&own));
    ask(&mut window, Action::GoTo(Desk::Intake));
    ask(&mut window, Action::Offer(vec![sheet.clone()]));
    let offered = &window.state().session().intake.offered[0];
    let sure = |meaning: &str| offered.uses().iter().find(|u| u.meaning == meaning).map(|u| (u.column.as_str(), u.sure));
    assert_eq!(sure("date"), Some(("Seen on", Sureness::Values)));
    assert_eq!((sure("parcel_id"), sure("larvae")), (Some(("Lot", Sureness::Values)), Some(("Larvae", Sureness::Sure))));
    assert_eq!(sure("outcome"), None, "words on no list give no column away");
    assert!(says(&window, "2 Columns: 1 question to answer") && says(&window, "Say which column of july.csv is the outcome"));
    ask(&mut window, Action::Match(MatchAction::Column(0, "outcome", Some("How it went".to_owned()))));
    assert!(says(&window, "Dates such as 03/04/2026 begin with"), "the next question");
    window.get_by_label("the day").click();
    settle(&mut window);
    assert_eq!(window.state().session().intake.waits_for(), None);
    ask(&mut window, Action::Match(MatchAction::Column(0, "container_type", Some("What it was".to_owned()))));
    let unknown: Vec<_> =
        window.state().session().intake.offered[0].fitted.unknown.iter().map(|w| (w.list, w.word.clone(), w.rows)).collect();
    let word = |list, text: &str| (list, text.to_owned(), 3);
    assert_eq!(unknown, [word(WordList::Outcome, "Nobody home"), word(WordList::YesNo, "si"), word(WordList::ContainerType, "llanta")]);
    ask(&mut window, Action::Match(MatchAction::Word(0, WordList::Outcome, "Nobody home".to_owned(), "no answer".to_owned())));
    ask(&mut window, Action::Match(MatchAction::Word(0, WordList::YesNo, "si".to_owned(), "yes".to_owned())));
    ask(&mut window, Action::Match(MatchAction::Word(0, WordList::ContainerType, "llanta".to_owned(), survey.kinds[0].to_string())));
    let map_file = folder.path().join("columns.toml");
    ask(&mut window, Action::Write(Paper::Match, map_file.clone()));
    ask(&mut window, Action::BringIn);
    let session = window.state().session();
    let now = &session.open.as_ref().unwrap().survey;
    let report = session.intake.report.as_ref().unwrap();
    assert_eq!((report.visits, report.joined_by_id, report.refused_rows, now.kinds.len()), (6, 6, 0, survey.kinds.len()));
    let fourth = now.visits.rows().iter().find(|v| &*v.id == "L2").unwrap();
    assert_eq!((fourth.when.day.to_string().as_str(), fourth.outcome), ("2026-05-03", Outcome::NoAnswer));
    // The command line, given the match that was saved, brings in the same.
    let columns = ColumnMap::from_toml(&std::fs::read_to_string(&map_file).unwrap()).unwrap();
    assert_eq!(columns.date_order(yardring_core::intake::Role::Visits), Some(DateOrder::DayFirst));
    let (again, _) = bring_in(Some(survey), &Request { visits: Some(sheet), columns, ..Request::default() }, &Unwatched).unwrap();
    assert_eq!((&again.visits, &again.rounds), (&now.visits, &now.rounds));
    // The next sheet of the same shape asks nothing.
    ask(&mut window, Action::Offer(vec![own_sheet(folder.path(), "august.csv", 50)]));
    let intake = &window.state().session().intake;
    assert_eq!((intake.waits_for(), intake.offered[0].uses().iter().filter(|u| u.sure == Sureness::Remembered).count()), (None, 2));
    ask(&mut window, Action::BringIn);
    assert_eq!(window.state().session().intake.report.as_ref().unwrap().refused_rows, 0);
}

#[test]
fn a_match_is_read_from_a_file_and_what_does_not_fit_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = own_sheet(folder.path(), "july.csv", 1);
    let map = folder.path().join("map.toml");
    std::fs::write(&map, "[visits]\noutcome = \"How it went\"\ncrew = \"Team\"\ndate_order = \"month first\"\n").unwrap();
    let mut window = window([1280.0, 800.0], Some(quillmere().0));
    ask(&mut window, Action::Offer(vec![sheet]));
    ask(&mut window, Action::Match(MatchAction::ReadMatch(map.clone())));
    assert_eq!(window.state().session().intake.waits_for(), None);
    assert!(says(&window, "July.csv has no column 'Team'"));
    std::fs::write(&map, "[visits]\noutcome = 3\n").unwrap();
    ask(&mut window, Action::Match(MatchAction::ReadMatch(map)));
    assert!(says(&window, "The column map cannot be read"));
}

#[test]
fn an_archive_with_several_layers_is_offered_layer_by_layer() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("county.gpkg");
    std::fs::copy(quillmere().0, &path).unwrap();
    let mut window = window([1280.0, 800.0], None);
    ask(&mut window, Action::Offer(vec![path]));
    let intake = &window.state().session().intake;
    let names: Vec<String> = intake.offered.iter().map(yardring::session::Offered::name).collect();
    assert!(names.contains(&"county.gpkg#premises".to_owned()) && names.contains(&"county.gpkg#streets".to_owned()), "{names:?}");
    let first = format!("Layer of {} is ", names[0]);
    window.get_by(|n| n.label().is_some_and(|l| l.starts_with(&first))).click_accesskit();
    settle(&mut window);
    window.get_by_label("blocks").click_accesskit();
    settle(&mut window);
    assert_eq!(window.state().session().intake.offered[0].name(), "county.gpkg#blocks");
}
