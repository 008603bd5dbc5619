//! Files to take away, and places gone to.

use crate::office::{ask, quillmere, sample_data, settle, window};
use egui::accesskit::Role;
use egui_kittest::kittest::Queryable as _;
use std::path::Path;
use yardring::action::Action;
use yardring::jobs::Paper;
use yardring::session::{Classing, ColourBy, Desk};
use yardring_core::brief::{
    BriefingRequest, Format, MapRequest, MapSize, NoticesRequest, PageSize, briefing, notices, paint_change, paint_map,
};
use yardring_core::foresee::Species;
use yardring_core::job::Unwatched;
use yardring_core::measure::{self, Beside};
use yardring_core::reach::{self, Gap, SourceKind, Wanted};
use yardring_core::survey::{Language, standings};

const SIZE: [f32; 2] = [1280.0, 800.0];

/// The rows of a CSV file below its header, with the header first.
fn rows(path: &Path) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_path(path).unwrap();
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}

#[test]
fn the_briefing_is_the_one_that_the_command_line_writes() {
    let (path, survey) = quillmere();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("briefing.pdf");
    let mut window = window(SIZE, Some(path));
    ask(&mut window, Action::GoTo(Desk::Brief));
    assert!(window.query_by_label("Save the briefing…").is_some());
    ask(&mut window, Action::Write(Paper::Briefing, file.clone()));
    let round = survey.round(None).unwrap();
    let request = BriefingRequest {
        district: window.state().session().open.as_ref().unwrap().name(),
        on: None,
        radius: Wanted::default().radius,
        species: Species::default(),
        paper: PageSize::default(),
        beside: Beside::Nothing,
    };
    let (bytes, facts) = briefing(survey, round, &request, &Unwatched).unwrap();
    assert!(std::fs::read(&file).unwrap() == bytes && facts.points.len() >= 5);
}

/// The manager chooses the language, types whom to call, and saves: the file is the one that the command line writes, and what was typed is
/// in the survey, to be undone.
#[test]
fn notices_are_saved_with_the_offices_words() {
    let (path, survey) = quillmere();
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    let mut window = window(SIZE, Some(path));
    ask(&mut window, Action::GoTo(Desk::Brief));
    window.get_by_label("Spanish").click_accesskit();
    settle(&mut window);
    window.get_by_role_and_label(Role::TextInput, "Whom householders call").focus();
    window.run_ok();
    window.event(egui::Event::Text("Control de mosquitos, 555-0100".to_owned()));
    settle(&mut window);
    // The field is left as the button is pressed.
    window.key_press(egui::Key::Tab);
    settle(&mut window);
    assert!(window.query_by_label("Save the notices…").is_some());
    ask(&mut window, Action::Write(Paper::Notices, file("window.pdf")));
    let open = window.state().session().open.as_ref().unwrap();
    let request = NoticesRequest {
        district: open.name(),
        language: Language::Spanish,
        office: open.office().to_owned(),
        ..NoticesRequest::default()
    };
    assert_eq!(request.office, "Control de mosquitos, 555-0100");
    assert_eq!(open.history.undo_words().as_deref(), Some("Change whom householders call"));
    let round = survey.round(None).unwrap();
    let (bytes, printed) = notices(survey, round, &request, &Unwatched).unwrap();
    assert!(std::fs::read(file("window.pdf")).unwrap() == bytes && printed.notices > 100, "{printed:?}");
    ask(&mut window, Action::Undo);
    ask(&mut window, Action::Write(Paper::Notices, file("lines.pdf")));
    let lines = notices(survey, round, &NoticesRequest { office: String::new(), ..request }, &Unwatched).unwrap().0;
    assert!(std::fs::read(file("lines.pdf")).unwrap() == lines && lines != bytes);
}

#[test]
fn gap_list_table_and_map_hold_what_core_finds() {
    let (path, survey) = quillmere();
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    let round = survey.round(None).unwrap();
    let standings = standings(survey, round);
    let mut window = window(SIZE, Some(path));
    ask(&mut window, Action::Write(Paper::Gaps, file("gaps.csv")));
    assert!(window.query_all_by_label_contains("Written to").next().is_some());
    let sources = reach::sources(survey, &standings, &Wanted::default());
    let gaps = reach::gaps(survey, &standings, &sources, &Wanted::default(), &Unwatched).unwrap();
    let ids: Vec<&str> = gaps.iter().map(|g| survey.premises.parcel_id.get(g.premise.row())).collect();
    let written = rows(&file("gaps.csv"));
    assert_eq!(written[0][..5], ["rank", "parcel_id", "block_id", "address", "reason"]);
    assert_eq!(written[1..].iter().map(|r| &*r[1]).collect::<Vec<_>>(), ids);
    ask(&mut window, Action::GoTo(Desk::Brief));
    ask(&mut window, Action::Write(Paper::Blocks, file("blocks.csv")));
    let blocks = measure::by_block(survey, &standings);
    let written = rows(&file("blocks.csv"));
    assert_eq!(written.len(), blocks.len() + 1);
    let inspected = written[0].iter().position(|c| c == "inspected").unwrap();
    let total: u64 = written[1..].iter().map(|r| r[inspected].parse::<u64>().unwrap()).sum();
    assert_eq!(total, measure::district(&standings).inspected);
    ask(&mut window, Action::Write(Paper::Kinds, file("kinds.csv")));
    assert_eq!(rows(&file("kinds.csv")).len(), measure::by_kind(survey, &standings).len() + 1);
    ask(&mut window, Action::Write(Paper::Change, file("change.svg")));
    let found = window.state().session().measured.change.latest().cloned().unwrap();
    let words = yardring::tables::change_chart(&found, window.state().session().open.as_ref().unwrap().name());
    let chart = paint_change(survey, &found, &words, (MapSize::A4, Format::Svg)).unwrap();
    assert!(std::fs::read(file("change.svg")).unwrap() == chart && chart.starts_with(b"<svg"));
    ask(&mut window, Action::Colour(ColourBy::Coverage));
    ask(&mut window, Action::Write(Paper::Map, file("map.png")));
    let request = MapRequest {
        district: window.state().session().open.as_ref().unwrap().name(),
        round: Some(round),
        since: None,
        colour_by: ColourBy::Coverage,
        classing: Classing::default(),
        size: MapSize::Pixels(1600, 1200),
        part: None,
        format: Format::Png,
        reach: Wanted::default(),
        unmasked: false,
        ground: None,
        walks: None,
    };
    assert_eq!(std::fs::read(file("map.png")).unwrap(), paint_map(survey, &request, &Unwatched).unwrap().bytes);
    // What the window shows: the same ground, at the size that was chosen.
    window.get_by_label("what the window shows").click();
    settle(&mut window);
    window.get_by_label("A4").click();
    settle(&mut window);
    let yard = yardring_core::place::inside(survey.premises.outline.get(survey.premises.len() / 2)).unwrap();
    ask(&mut window, Action::ShowPlace(yard));
    ask(&mut window, Action::Write(Paper::Map, file("part.png")));
    let part = window.state().session().shown.unwrap();
    assert!(part.holds(yard) && part.width() < 0.6 * survey.premises.outline.extent().width(), "{part:?}");
    let request = MapRequest { size: MapSize::A4, part: Some(part), ..request };
    let written = std::fs::read(file("part.png")).unwrap();
    assert_eq!(written[16..24], [0, 0, 0x0D, 0xB4, 0, 0, 0x09, 0xB0], "A4 at 300 dots an inch is 3508 by 2480");
    assert!(written == paint_map(survey, &request, &Unwatched).unwrap().bytes);
}

#[test]
fn refused_rows_and_the_report_are_written_and_a_bad_folder_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    let mut window = window(SIZE, None);
    ask(&mut window, Action::Offer(["parcels.shp", "visits.csv"].iter().map(|n| sample_data().join(n)).collect()));
    ask(&mut window, Action::BringIn);
    ask(&mut window, Action::Write(Paper::Refused, file("refused.csv")));
    ask(&mut window, Action::Write(Paper::Report, file("report.json")));
    let refused = window.state().session().open.as_ref().unwrap().survey.refused.len();
    let written = rows(&file("refused.csv"));
    assert!(refused > 0 && written.len() == refused + 1 && written[0][..4] == ["file", "table", "row", "reason"]);
    let report: serde_json::Value = serde_json::from_slice(&std::fs::read(file("report.json")).unwrap()).unwrap();
    let number = |key: &str| report[key].as_u64().unwrap();
    assert_eq!(number("premises") + number("refused"), number("rows"));
    assert_eq!(number("refused_rows"), refused as u64);
    ask(&mut window, Action::GoTo(Desk::Intake));
    ask(&mut window, Action::Write(Paper::Report, file("gone/report.json")));
    assert!(window.query_all_by_label_contains("choose a folder that you may write to").next().is_none(), "begun with a capital");
    assert!(window.query_all_by_label_contains("Choose a folder that you may write to").next().is_some());
}

#[test]
fn a_place_typed_in_either_order_is_gone_to() {
    let (path, survey) = quillmere();
    let mut window = window(SIZE, Some(path));
    let row = survey.premises.len() / 3;
    let inside = yardring_core::place::inside(survey.premises.outline.get(row)).unwrap();
    let place = survey.frame.lon_lat_from_local(inside);
    for text in [format!("{:.6}, {:.6}", place.lat, place.lon), format!("{:.6} {:.6}", place.lon, place.lat)] {
        ask(&mut window, Action::Choose(None));
        window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::K);
        settle(&mut window);
        window.event(egui::Event::Text(text.clone()));
        settle(&mut window);
        assert!(window.query_all_by_label_contains("Go to this place").next().is_some(), "{text}");
        window.key_press(egui::Key::Enter);
        settle(&mut window);
        assert_eq!(window.state().session().chosen.map(|p| p.row()), Some(row), "{text}");
    }
}

/// The reach round cases lies where their mask moves them until somebody asks for their true places; opening another survey takes
/// that back.
#[test]
fn cases_stay_masked_until_somebody_asks() {
    let (path, survey) = quillmere();
    let folder = tempfile::tempdir().unwrap();
    let case = survey.signals.iter().find(|s| s.kind == yardring_core::survey::SignalKind::Case).unwrap().place;
    let mut window = window(SIZE, Some(path));
    ask(&mut window, Action::Sources(SourceKind::Cases));
    let telling = |window: &egui_kittest::Harness<'static, yardring::app::App>| {
        let reach = window.state().session().reach.latest().unwrap();
        (reach.ground.shapes.extent().centre().distance(case), reach.gaps.iter().any(|g| !Gap::masked(g)), reach.gaps.len())
    };
    let columns = |window: &mut _, name: &str| {
        let file = folder.path().join(name);
        ask(window, Action::Write(Paper::Gaps, file.clone()));
        rows(&file)[1..].iter().map(|r| [7, 8, 9].map(|i| r[i].is_empty())).collect::<Vec<_>>()
    };
    let (off, told, doors) = telling(&window);
    assert!((99.0..=401.0).contains(&off) && !told && doors > 3, "{off} {told} {doors}");
    assert!(columns(&mut window, "masked.csv").iter().all(|c| *c == [true; 3]));
    window.get_by_label_contains("1 Sources").click();
    settle(&mut window);
    window.get_by_label_contains("Show true places").click();
    settle(&mut window);
    let (off, told, again) = telling(&window);
    assert!(off < 40.0 && told && again == doors, "{off} {told}");
    assert!(columns(&mut window, "true.csv").iter().all(|c| *c == [false; 3]));
    ask(&mut window, Action::Open(path.to_owned()));
    assert!(!window.state().session().unmasked);
}
