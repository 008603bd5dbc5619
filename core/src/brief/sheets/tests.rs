//! Sheets and files of a made-up day, looked at from outside: through `pdftotext` and `pdffonts`, and through intake.

use super::*;
use crate::intake::{self, Request};
use crate::job::Unwatched;
use crate::place::Local;
use crate::survey::{Outcome, PremiseId};
use std::path::Path;
use std::process::Command;
use std::sync::Arc;

fn handed(what: &HandOut) -> Vec<Handed> {
    let (survey, day) = made_up::day();
    hand_out(&day, &survey, what, &Unwatched).unwrap()
}

fn text_of<'a>(files: &'a [Handed], name: &str) -> &'a str {
    let (_, bytes) = files.iter().find(|(n, _)| n == name).unwrap_or_else(|| panic!("{name} is missing"));
    std::str::from_utf8(bytes).unwrap()
}

/// What a program of Poppler says about a PDF; `None`, with a line, where it is not installed.
pub fn poppler(program: &str, pdf: &[u8], arguments: &[&str]) -> Option<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, pdf).unwrap();
    match Command::new(program).args(arguments).arg(&path).args((program == "pdftotext").then_some("-")).output() {
        Ok(out) => Some(String::from_utf8(out.stdout).unwrap()),
        Err(_) => {
            println!("{program} is not installed: the PDF is not looked at from outside");
            None
        }
    }
}

#[test]
fn every_crew_with_doors_gets_its_files_and_the_day_its_own() {
    let names = |what: &HandOut| handed(what).into_iter().map(|f| f.0).collect::<Vec<_>>();
    let of_day = ["walks.geojson", "walks.kml", "visits-2025-07-24.csv"];
    let all = ["sheet-crew-a.pdf", "walk-crew-a.gpx", "sheet-crew-b.pdf", "walk-crew-b.gpx"];
    assert_eq!(names(&made_up::hand_out()), all.iter().chain(&of_day).copied().collect::<Vec<_>>());
    assert_eq!(names(&HandOut { crew: Some(1), ..made_up::hand_out() }), all[2..]);
    let (survey, day) = made_up::day();
    let nobody = hand_out(&day, &survey, &HandOut { crew: Some(2), ..made_up::hand_out() }, &Unwatched);
    assert_eq!(nobody, Err(SheetError::NoDoors));
}

/// A survey file and a round that are called after a case: neither name is on paper or in a file, and visits get a round of the day.
#[test]
fn a_name_that_says_the_word_case_never_leaves_the_office() {
    let (mut survey, day) = made_up::day();
    let mut rounds = survey.rounds.to_vec();
    rounds[0].name = "Case S01, ring".into();
    survey.rounds = Arc::new(rounds);
    let called = |district: &str| HandOut { district: district.to_owned(), ..made_up::hand_out() };
    let files = hand_out(&day, &survey, &called("case 12 Bellows Street"), &Unwatched).unwrap();
    assert!(text_of(&files, "visits-2025-07-24.csv").contains(",Walks of 2025-07-24,"));
    for (name, bytes) in &files {
        let text = if name.ends_with(".pdf") {
            poppler("pdftotext", bytes, &["-layout"])
        } else {
            Some(String::from_utf8_lossy(bytes).into_owned())
        };
        let Some(text) = text.map(|t| t.to_lowercase()) else { continue };
        assert!(!text.contains("case") && !text.contains("bellows") && !text.contains("s01"), "{name}");
    }
    // A word that only holds these letters is none.
    let files = hand_out(&day, &survey, &called("Casement County"), &Unwatched).unwrap();
    if let Some(text) = poppler("pdftotext", &files[0].1, &["-layout"]) {
        assert!(text.contains("Casement County"));
    }
}

#[test]
fn the_same_day_gives_the_same_bytes_and_a_case_leaves_no_trace() {
    let first = handed(&made_up::hand_out());
    assert!(first == handed(&made_up::hand_out()));
    let (mut survey, day) = made_up::day();
    survey.signals = Arc::new(vec![made_up::case((150.0, -90.0)), made_up::case((0.0, 0.0))]);
    assert!(first == hand_out(&day, &survey, &made_up::hand_out(), &Unwatched).unwrap(), "where a case is shows");
    for (name, bytes) in first.iter().filter(|(n, _)| !n.ends_with(".pdf")) {
        assert!(!String::from_utf8_lossy(bytes).to_lowercase().contains("case"), "{name}");
    }
}

#[test]
fn the_sheet_says_everything_a_crew_needs_on_numbered_pages() {
    for paper in PageSize::ALL {
        let files = handed(&HandOut { paper, ..made_up::hand_out() });
        let Some(text) = poppler("pdftotext", &files[0].1, &["-layout"]) else { return };
        let pages: Vec<&str> = text.split('\u{c}').filter(|p| !p.trim().is_empty()).collect();
        for (i, page) in pages.iter().enumerate() {
            assert!(page.contains("Crew A") && page.contains("Thursday 24 July 2025"), "{page}");
            assert!(page.contains(&format!("page {} of {}", i + 1, pages.len())), "{page}");
        }
        let cover = pages[0];
        for words in [
            "Meet here",
            "Kettle Lane",
            "12 doors",
            "notices, Spanish: 12",
            "Enter no yard without permission",
            "The product label is the law",
        ] {
            assert!(cover.contains(words), "{words} is not on {cover}");
        }
        let (survey, day) = made_up::day();
        for door in &day.walks[0].doors {
            let address = survey.premises.address.get(door.premise.row());
            let on = pages[1..].iter().filter(|p| !address.is_empty() && p.lines().any(|l| l.contains(&format!(" {address} ")))).count();
            assert_eq!(on, usize::from(!address.is_empty()), "{address}");
        }
        // A block is whole: as many last lines as first lines on every page.
        for page in &pages[1..] {
            assert_eq!(page.matches("parcel QM-").count(), page.matches("container type").count(), "{page}");
        }
        assert!(!text.to_lowercase().contains("case"), "{text}");
    }
}

#[test]
fn the_type_is_embedded_and_only_the_letters_used() {
    let files = handed(&made_up::hand_out());
    let Some(fonts) = poppler("pdffonts", &files[0].1, &[]) else { return };
    let rows: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(rows.len() == 2, "{fonts}");
    // Columns from the right: object, generation, Unicode table, subset, embedded.
    for row in rows {
        let words: Vec<&str> = row.split_whitespace().rev().collect();
        assert_eq!((words[2], words[3], words[4]), ("yes", "yes", "yes"), "{row}");
    }
    assert!(files[0].1.len() < 120_000, "{} bytes", files[0].1.len());
}

/// As a clerk would: every row gets an outcome, one of them a find.
fn filled(csv: &str) -> String {
    let mut lines = csv.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    let place = |name: &str| header.iter().position(|h| *h == name).unwrap();
    let mut out = header.join(",") + "\n";
    for (i, line) in lines.enumerate() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        assert_eq!(cells.len(), header.len(), "{line}");
        cells[place("outcome")] = Outcome::ALL[i % Outcome::ALL.len()].word().to_owned();
        if i == 0 {
            for (name, value) in [
                ("container_type", "tarp"),
                ("count", "2"),
                ("holds_water", "2"),
                ("larvae", "1"),
                ("action", "emptied"),
                ("promise", "Saturday"),
                ("cautions", "dog"),
            ] {
                cells[place(name)] = value.to_owned();
            }
        }
        out += &(cells.join(",") + "\n");
    }
    out
}

#[test]
fn the_empty_visits_table_comes_back_through_intake_without_a_finding() {
    let files = handed(&made_up::hand_out());
    let (survey, day) = made_up::day();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("visits.csv");
    std::fs::write(&path, filled(text_of(&files, "visits-2025-07-24.csv"))).unwrap();
    let request = Request { visits: Some(path), ..Request::default() };
    let (after, report) = intake::bring_in(Some(&survey), &request, &Unwatched).unwrap();
    let findings: Vec<_> = after.intake_log.iter().flat_map(|e| &e.findings).collect();
    assert!(after.refused.is_empty() && findings.is_empty(), "{findings:?} {:?}", after.refused);
    let doors: Vec<PremiseId> = day.walks.iter().flat_map(|w| &w.doors).map(|d| d.premise).collect();
    let first = after.visits.at(doors[0]).last().unwrap();
    assert_eq!((first.promise(), first.cautions()), ("Saturday", "dog"));
    assert_eq!(after.visits.len() - survey.visits.len(), doors.len());
    let report = serde_json::to_value(&report).unwrap();
    // Two premises share an id; their rows carry a place instead.
    assert_eq!((report["joined_by_id"].as_u64(), report["joined_by_point"].as_u64()), (Some(doors.len() as u64 - 2), Some(2)));
    for walk in &day.walks {
        for door in &walk.doors {
            let new = after.visits.at(door.premise).iter().find(|v| v.when.day == day.on).unwrap();
            assert_eq!((&*new.crew, new.round), (walk.crew.as_str(), RoundId(0)));
        }
    }
}

#[test]
fn rows_that_nobody_filled_in_are_counted_and_not_refused() {
    let files = handed(&made_up::hand_out());
    let (survey, day) = made_up::day();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("visits.csv");
    let (blank, whole) = (text_of(&files, "visits-2025-07-24.csv"), filled(text_of(&files, "visits-2025-07-24.csv")));
    // Two doors were reached, a third has a note and no outcome: that is no empty row.
    let noted = blank.lines().nth(3).unwrap().trim_end_matches(',').to_owned() + ",08:10";
    let lines = whole.lines().take(3).chain([noted.as_str()]).chain(blank.lines().skip(4));
    std::fs::write(&path, lines.collect::<Vec<_>>().join("\n")).unwrap();
    let request = Request { visits: Some(path), ..Request::default() };
    let (after, report) = intake::bring_in(Some(&survey), &request, &Unwatched).unwrap();
    let doors: usize = day.walks.iter().map(|w| w.doors.len()).sum();
    let file = &report.files[0];
    assert_eq!((file.brought_in, file.refused, file.not_filled_in), (2, 1, doors - 3));
    assert_eq!((after.visits.len() - survey.visits.len(), &*after.refused[0].reason), (2, "the outcome is missing"));
    assert!(file.findings.iter().any(|f| f.sentence.contains("nothing was written") && f.rows == doors - 3), "{:?}", file.findings);
    assert!(report.in_words().contains(&format!("2 brought in, 1 refused, {} not filled in", doors - 3)));
}

/// Names of the elements in their order; fails where one is not closed by its own name.
fn elements(xml: &str) -> Vec<String> {
    let (mut open, mut out) = (Vec::new(), Vec::new());
    for tag in xml.split('<').skip(1).map(|t| t.split('>').next().unwrap()).filter(|t| !t.starts_with('?')) {
        let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap().to_owned();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name), "in {tag}");
        } else {
            out.push(name.clone());
            if !tag.ends_with('/') {
                open.push(name);
            }
        }
    }
    assert!(open.is_empty(), "{open:?} left open");
    out
}

/// The order of the parts is the schema's: topografix.com/GPX/1/1/gpx.xsd, gpxType is a sequence of metadata, wpt, rte, trk.
#[test]
fn a_receiver_gets_waypoints_route_and_track_in_the_order_of_the_schema() {
    let files = handed(&made_up::hand_out());
    let gpx = text_of(&files, "walk-crew-a.gpx");
    let parts: Vec<String> =
        elements(gpx).into_iter().filter(|e| ["metadata", "wpt", "rte", "rtept", "trk", "trkpt"].contains(&e.as_str())).collect();
    let count = |name: &str| parts.iter().filter(|p| *p == name).count();
    let (_, day) = made_up::day();
    assert_eq!((count("wpt"), count("rtept"), count("trkpt")), (13, 14, day.walks[0].path.len()));
    let mut order = parts.clone();
    order.dedup();
    assert_eq!(order, ["metadata", "wpt", "rte", "rtept", "trk", "trkpt"]);
    for degrees in gpx.split("lat=\"").skip(1) {
        let lat: f64 = degrees.split('"').next().unwrap().parse().unwrap();
        assert!((lat - 29.4).abs() < 0.01);
    }
}

#[test]
fn layers_hold_a_line_for_each_crew_and_a_point_for_each_door() {
    let files = handed(&made_up::hand_out());
    let kml = elements(text_of(&files, "walks.kml"));
    let count = |name: &str| kml.iter().filter(|p| *p == name).count();
    assert_eq!((count("Folder"), count("LineString"), count("Point")), (2, 2, 15));
    let json: serde_json::Value = serde_json::from_str(text_of(&files, "walks.geojson")).unwrap();
    let features = json["features"].as_array().unwrap();
    assert_eq!(features.len(), 17);
    let (survey, day) = made_up::day();
    for (feature, door) in features[2..].iter().zip(day.walks.iter().flat_map(|w| &w.doors)) {
        assert_eq!(feature["properties"]["parcel_id"], survey.premises.parcel_id.get(door.premise.row()));
        let there = &feature["geometry"]["coordinates"];
        let place = crate::place::LonLat { lon: there[0].as_f64().unwrap(), lat: there[1].as_f64().unwrap() };
        assert!(survey.frame.local_from_lon_lat(place).distance(door.at) < 0.02);
    }
}

#[test]
fn odd_names_make_sound_files() {
    let (mut survey, mut day) = made_up::day();
    for (walk, name) in day.walks.iter_mut().zip(["<b> & \"c\"", "", "<b> & \"c\""]) {
        walk.crew = name.to_owned();
    }
    survey.premises.address = Arc::new((0..40).map(|i| format!("{i} \"Old\", <Lane> & \u{7} Cigüeña")).collect());
    let files = hand_out(&day, &survey, &made_up::hand_out(), &Unwatched).unwrap();
    let names: Vec<&str> = files.iter().map(|f| f.0.as_str()).collect();
    assert_eq!(names[..4], ["sheet-b-c-1.pdf", "walk-b-c-1.gpx", "sheet-crew-2.pdf", "walk-crew-2.gpx"]);
    elements(text_of(&files, "walk-b-c-1.gpx"));
    elements(text_of(&files, "walks.kml"));
    let mut rows = csv::Reader::from_reader(text_of(&files, "visits-2025-07-24.csv").as_bytes());
    assert!(rows.records().all(|r| r.unwrap().len() == 23));
}

#[test]
fn a_premise_without_an_outline_still_gets_its_place_in_the_list() {
    let (mut survey, mut day) = made_up::day();
    let mut bare = crate::place::Shapes::default();
    (0..40).for_each(|_| bare.end_shape());
    survey.premises.outline = Arc::new(bare);
    day.walks[0].doors.truncate(1);
    day.walks[0].path = vec![Local { x: 0.0, y: 0.0 }];
    assert!(hand_out(&day, &survey, &made_up::hand_out(), &Unwatched).is_ok());
}

/// `EXTRA_PICTURES=folder` writes the made-up sheet for people to look at.
#[test]
fn the_sheets_are_no_larger_than_they_must_be() {
    let files = handed(&HandOut { paper: PageSize::A4, ..made_up::hand_out() });
    let sheets: Vec<&Handed> = files.iter().filter(|f| f.0.ends_with(".pdf")).collect();
    assert_eq!(sheets.len(), 2);
    for (name, bytes) in sheets {
        assert!(bytes.starts_with(b"%PDF-") && bytes.len() < 150_000, "{name}: {} bytes", bytes.len());
        if let Some(folder) = std::env::var_os("EXTRA_PICTURES") {
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(Path::new(&folder).join(name), bytes).unwrap();
        }
    }
}
