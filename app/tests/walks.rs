//! The planner's morning on the command line: walks of the sample district, and the evening after.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Output};

fn yardring(arguments: &[&str]) -> Output {
    let program = env!("CARGO_BIN_EXE_yardring");
    Command::new(program).args(arguments).env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY").output().expect("the program starts")
}

fn answer(arguments: &[&str]) -> Value {
    let ended = yardring(&[arguments, &["--json"]].concat());
    assert_eq!(ended.status.code(), Some(0), "{}", String::from_utf8_lossy(&ended.stderr));
    serde_json::from_slice(&ended.stdout).expect("machine text")
}

fn sample(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().join("sample_data").join(name).to_str().unwrap().to_owned()
}

fn quillmere(folder: &Path) -> String {
    let survey = folder.join("quillmere.gpkg").to_str().unwrap().to_owned();
    let files = [
        ("--parcels", "parcels.shp"),
        ("--streets", "streets.geojson"),
        ("--blocks", "blocks.geojson"),
        ("--visits", "visits.csv"),
        ("--signals", "signals.csv"),
        ("--temperatures", "temperatures.csv"),
    ];
    let mut arguments = vec!["intake".to_owned(), survey.clone()];
    arguments.extend(files.iter().flat_map(|(flag, name)| [(*flag).to_owned(), sample(name)]));
    answer(&arguments.iter().map(String::as_str).collect::<Vec<_>>());
    survey
}

const START: [&str; 2] = ["--start", "-88.3056,29.3950"];

fn asked<'a>(survey: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["walks", survey, "--on", "2025-07-24", "--crews", "3", "--shift", "5h", "--effort", "300"][..], &START, more].concat()
}

fn rows_of(path: &Path) -> (Vec<String>, Vec<csv::StringRecord>) {
    let mut reader = csv::Reader::from_path(path).unwrap();
    (reader.headers().unwrap().iter().map(str::to_owned).collect(), reader.records().map(Result::unwrap).collect())
}

#[test]
fn the_planner_gets_walks_that_keep_the_shift_and_say_why() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let out = folder.path().join("day");
    let machine = answer(&asked(&survey, &["--out", out.to_str().unwrap()]));
    let walks = machine["walks"].as_array().unwrap();
    assert_eq!(walks.len(), 3);
    assert!(walks.iter().all(|w| w["minutes"].as_f64().unwrap() <= 300.0 + 1e-6), "{machine:#}");
    let (head, rows) = rows_of(&out.join("walks.csv"));
    let contract = ["crew", "order", "parcel_id", "address", "arrive", "leave", "minutes", "walk_m", "reason", "probability", "supplies"];
    assert_eq!(head[..11], contract);
    assert_eq!(machine["doors"].as_u64().unwrap() as usize, rows.len());
    assert!(rows.len() > 20, "{machine:#}");
    let doors: BTreeSet<(&str, &str)> = rows.iter().map(|r| (&r[2], &r[3])).collect();
    assert_eq!(doors.len(), rows.len(), "every door once");
    assert!(rows.iter().all(|r| !r[8].is_empty() && r[4] <= r[5] && &r[4] >= "08:00"));
    let (_, left) = rows_of(&out.join("left_out.csv"));
    assert_eq!(machine["left_out"].as_u64().unwrap() as usize, left.len());
    for file in ["walks.csv", "walks.geojson", "left_out.csv"] {
        let text = std::fs::read_to_string(out.join(file)).unwrap().to_lowercase();
        assert!(!text.contains("case"), "no case is named beside a door: {file}");
    }
    for crew in 1..=3 {
        assert!(std::fs::read(out.join(format!("sheet-crew-{crew}.pdf"))).unwrap().starts_with(b"%PDF-"));
        assert!(std::fs::read_to_string(out.join(format!("walk-crew-{crew}.gpx"))).unwrap().contains("<trkpt "));
    }
    let (_, blank) = rows_of(&out.join("visits-2025-07-24.csv"));
    assert_eq!(blank.len(), rows.len(), "a row to fill in for every door");
    let before: Vec<Vec<u8>> = ["sheet-crew-1.pdf", "walks.kml"].iter().map(|f| std::fs::read(out.join(f)).unwrap()).collect();
    assert_eq!(machine, answer(&asked(&survey, &["--out", out.to_str().unwrap()])), "same seed, same walks");
    let after: Vec<Vec<u8>> = ["sheet-crew-1.pdf", "walks.kml"].iter().map(|f| std::fs::read(out.join(f)).unwrap()).collect();
    assert!(before == after, "same walks, same files");
}

#[test]
fn the_walks_are_kept_in_the_survey_and_compared_in_the_evening() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let none = yardring(&["export", &survey, "--layer", "walks", "--out", folder.path().join("w.csv").to_str().unwrap()]);
    assert!(none.status.code() == Some(1) && String::from_utf8_lossy(&none.stderr).contains("yardring walks"));
    let planned = answer(&asked(&survey, &[]));
    let exported = folder.path().join("walks.csv");
    answer(&["export", &survey, "--layer", "walks", "--out", exported.to_str().unwrap()]);
    let (_, rows) = rows_of(&exported);
    assert_eq!(rows.len() as u64, planned["doors"].as_u64().unwrap());
    // The first five doors come back: three inspected, one closed, one refused.
    let sheets = folder.path().join("sheets.csv");
    let outcomes = ["inspected", "inspected", "inspected", "no answer", "refused"];
    let lines: Vec<String> = rows.iter().zip(outcomes).map(|(r, o)| format!("2025-07-24,{},{o},{}", &r[2], &r[0])).collect();
    std::fs::write(&sheets, format!("date,parcel_id,outcome,crew\n{}\n", lines.join("\n"))).unwrap();
    answer(&["intake", &survey, "--visits", sheets.to_str().unwrap()]);
    let kept = answer(&["walks", &survey, "--on", "2025-07-24", "--compare"]);
    let filed = answer(&["walks", &survey, "--on", "2025-07-24", "--compare", exported.to_str().unwrap()]);
    assert_eq!(kept, filed);
    assert_eq!((kept["inspected"].as_u64(), kept["not_reached"].as_u64()), (Some(3), Some(rows.len() as u64 - 5)));
    assert_eq!(kept["remaining"].as_array().unwrap().len(), rows.len() - 4, "all but three inspected and one refusal");
    assert!(kept["remaining"].as_array().unwrap().iter().any(|r| r["reason"].as_str().unwrap().starts_with("no answer; ")));
}

#[test]
fn promised_hours_and_pauses_are_kept() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let first = answer(&asked(&survey, &[]));
    let parcel = first["walks"][0]["doors"][0]["parcel_id"].as_str().unwrap().to_owned();
    let promise = format!("{parcel}=11:00-11:30");
    let machine = answer(&asked(&survey, &["--promised", &promise, "--pause", "10:00-10:30"]));
    let doors: Vec<&Value> = machine["walks"].as_array().unwrap().iter().flat_map(|w| w["doors"].as_array().unwrap()).collect();
    let door = doors.iter().find(|d| d["parcel_id"] == parcel.as_str()).expect("the promised door is walked to");
    let arrive = door["arrive"].as_str().unwrap();
    assert!(("11:00"..="11:30").contains(&arrive), "{arrive}");
    assert!(machine["walks"].as_array().unwrap().iter().all(|w| w["minutes"].as_f64().unwrap() <= 300.0 + 1e-6));
}

#[test]
fn wrong_requests_are_told_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let refused = |arguments: &[&str], code: i32, word: &str| {
        let ended = yardring(arguments);
        let told = String::from_utf8_lossy(&ended.stderr).into_owned();
        assert!(ended.status.code() == Some(code) && told.contains(word) && !told.contains("panicked"), "{told}");
    };
    refused(&["walks", &survey, "--on", "2025-07-24"], 2, "--start");
    refused(&["walks", &survey, "--on", "2025-07-24", "--start", "0,0"], 1, "meeting point");
    refused(&asked(&survey, &["--promised", "nowhere=11:00-12:00"]), 1, "nowhere");
    refused(&["walks", &survey, "--on", "2025-07-24", "--compare"], 1, "No planned day");
}
