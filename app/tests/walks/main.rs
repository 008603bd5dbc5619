//! The planner's morning on the command line: walks of the sample district, and the evening after.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

mod crews;
mod kept;

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use jiff::civil::time;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Output};
use yardring::action::Action;
use yardring::app::App;
use yardring::session::walking::{Crews, WalkAction};
use yardring_core::place::LonLat;
use yardring_core::walks::{Day, DoorMinutes};

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
    let usual = [["--crews", "3"], ["--shift", "5h"]].into_iter().filter(|u| !more.contains(&u[0])).flatten().collect::<Vec<_>>();
    [&["walks", survey, "--on", "2025-07-24", "--effort", "300"][..], &usual, &START, more].concat()
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
    // The district's streets have house numbers, and nearly every yard has an address: both are made by the same program.
    let by = |word: &str| machine["street_by"][word].as_u64().unwrap();
    let told = walks.iter().flat_map(|w| w["doors"].as_array().unwrap()).filter(|d| d["street_by"] == "house number").count();
    assert!(by("house number") * 10 >= machine["doors"].as_u64().unwrap() * 9 && told as u64 == by("house number"), "{machine:#}");
    assert_eq!(by("house number") + by("street name") + by("nearest street"), machine["doors"].as_u64().unwrap());
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

/// A visit of the day before that promised Saturday and saw a dog. 24 July 2025 was a Thursday (any calendar).
#[test]
fn what_a_visit_promised_and_what_it_warned_of_come_back_on_their_day() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let first = answer(&asked(&survey, &[]));
    let parcel = first["walks"][0]["doors"][0]["parcel_id"].as_str().unwrap().to_owned();
    let sheet = folder.path().join("visits.csv");
    let row = format!("2025-07-23,{parcel},no answer,A,Round 3,Saturday after nine,dog loose\n");
    std::fs::write(&sheet, format!("date,parcel_id,outcome,crew,round,promise,cautions\n{row}")).unwrap();
    answer(&["intake", &survey, "--visits", sheet.to_str().unwrap()]);
    let due = answer(&["callbacks", &survey, "--on", "2025-07-24"]);
    let due = due["rows"].as_array().unwrap().iter().find(|r| r["parcel_id"] == parcel.as_str()).expect("it is due");
    assert_eq!((due["due"].as_str(), due["promised"].as_str()), (Some("2025-07-26"), Some("promised Saturday 26 July after 09:00")));
    let door = |machine: &Value| {
        let doors = machine["walks"].as_array().unwrap().iter().flat_map(|w| w["doors"].as_array().unwrap());
        doors.clone().find(|d| d["parcel_id"] == parcel.as_str()).cloned()
    };
    let out = folder.path().join("thursday");
    let thursday = answer(&asked(&survey, &["--out", out.to_str().unwrap()]));
    assert!(door(&thursday).is_none() && thursday["left_out_because"]["promised another day"] == 1, "{thursday:#}");
    let (_, left) = rows_of(&out.join("left_out.csv"));
    let told = left.iter().find(|r| &r[0] == parcel.as_str()).expect("it is left out");
    assert!(told[2].starts_with("promised Saturday 26 July after 09:00") && &told[3] == "promised another day", "{told:?}");
    let out = folder.path().join("saturday");
    let mut wanted = asked(&survey, &["--out", out.to_str().unwrap()]);
    wanted[3] = "2025-07-26";
    let saturday = door(&answer(&wanted)).expect("the day has come");
    assert!(saturday["arrive"].as_str().unwrap() >= "09:00", "{saturday:#}");
    let blank = std::fs::read_to_string(out.join("visits-2025-07-26.csv")).unwrap();
    assert!(blank.lines().next().unwrap().ends_with(",remains,promise,cautions"));
    // The export of visits says both, and what the planner promises now counts instead of it.
    let exported = folder.path().join("exported.csv");
    answer(&["export", &survey, "--layer", "visits", "--out", exported.to_str().unwrap()]);
    let (head, rows) = rows_of(&exported);
    let column = |name: &str| head.iter().position(|h| h == name).unwrap();
    let said = rows.iter().find(|r| !r[column("promise")].is_empty()).expect("it is written out");
    assert_eq!((&said[column("promise")], &said[column("cautions")]), ("Saturday after nine", "dog loose"));
    let now = format!("{parcel}=10:00-11:00");
    assert!(door(&answer(&asked(&survey, &["--promised", &now]))).is_some());
    let friday = format!("{parcel}=el viernes");
    assert!(door(&answer(&asked(&survey, &["--promised", &friday]))).is_none());
}

/// The sample's temperatures say 33.9 °C for the day.
#[test]
fn a_pause_for_the_heat_is_made_on_hot_days_and_the_reason_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let day = |more: &[&str]| {
        let machine = answer(&asked(&survey, &[&["--begins", "09:00"], more].concat()));
        let heat = machine["pauses"].as_array().unwrap().iter().filter(|p| p["heat"] == true).count();
        (heat, machine["heat"].as_str().map(str::to_owned))
    };
    assert_eq!(day(&[]), (1, Some("34 °C on 24 July: 30 °C or more, so a pause in the shade".to_owned())));
    assert_eq!(day(&["--heat-from", "36"]), (0, Some("34 °C on 24 July: below 36 °C, so no pause in the shade".to_owned())));
    assert_eq!(day(&["--heat-pause", "11:00-11:20"]), (1, None));
    assert_eq!(day(&["--heat-pause", "none"]), (0, None));
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
    refused(&asked(&survey, &["--promised", "nowhere=whenever"]), 2, "Saturday after five");
    refused(&["walks", &survey, "--on", "2025-07-24", "--compare"], 1, "No planned day");
}

#[test]
fn one_crew_is_printed_again_without_planning() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let (first, again) = (folder.path().join("first"), folder.path().join("again"));
    answer(&asked(&survey, &["--out", first.to_str().unwrap()]));
    let printed = answer(&["walks", &survey, "--on", "2025-07-24", "--crew", "2", "--out", again.to_str().unwrap()]);
    assert_eq!(printed["written"].as_array().unwrap().len(), 2);
    for file in ["sheet-crew-2.pdf", "walk-crew-2.gpx"] {
        assert!(std::fs::read(first.join(file)).unwrap() == std::fs::read(again.join(file)).unwrap(), "{file}");
    }
    assert!(!again.join("walks.csv").exists() && !again.join("sheet-crew-1.pdf").exists());
    let all = folder.path().join("all");
    answer(&["walks", &survey, "--on", "2025-07-24", "--print", "--out", all.to_str().unwrap()]);
    let files = |at: &Path| std::fs::read_dir(at).unwrap().map(|f| f.unwrap().file_name()).collect::<BTreeSet<_>>();
    assert_eq!(files(&all), files(&first));
    assert!(std::fs::read(first.join("walks.csv")).unwrap() == std::fs::read(all.join("walks.csv")).unwrap());
    let told = |arguments: &[&str]| String::from_utf8(yardring(arguments).stderr).unwrap();
    assert!(told(&["walks", &survey, "--on", "2025-07-24", "--crew", "Crew 9", "--out", "x"]).contains("Crew 1, Crew 2, Crew 3"));
    assert!(told(&["walks", &survey, "--on", "2025-07-25", "--crew", "1", "--out", "x"]).contains("2025-07-24"));
}

/// A railway from end to end of the district, one bridge left open: nobody walks over it elsewhere.
#[test]
fn no_walk_crosses_the_lines_that_the_planner_draws() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let free = answer(&asked(&survey, &["--on-foot"]));
    let lines = folder.path().join("railway.geojson");
    let line = |from: f64, to: f64| {
        json!({"type": "Feature", "properties": {},
        "geometry": {"type": "LineString", "coordinates": [[from, 29.3975], [to, 29.3975]]}})
    };
    std::fs::write(&lines, json!({"type": "FeatureCollection", "features": [line(-88.40, -88.20)]}).to_string()).unwrap();
    let out = folder.path().join("day");
    let barred = answer(&asked(&survey, &["--on-foot", "--never-cross", lines.to_str().unwrap(), "--out", out.to_str().unwrap()]));
    assert!(barred["left_out_because"]["no street leads there"].as_u64().unwrap() > 0, "{barred:#}");
    assert!(free["left_out_because"]["no street leads there"].is_null());
    // The start lies south of the line: every place of every walk does.
    let drawn: Value = serde_json::from_slice(&std::fs::read(out.join("walks.geojson")).unwrap()).unwrap();
    let walked = drawn["features"].as_array().unwrap().iter().filter(|f| f["geometry"]["type"] == "LineString");
    let places: Vec<f64> = walked.flat_map(|f| f["geometry"]["coordinates"].as_array().unwrap()).map(|p| p[1].as_f64().unwrap()).collect();
    // A tenth of a metre for what the file rounds.
    let farthest = places.iter().copied().fold(0.0, f64::max);
    assert!(places.len() > 50 && farthest < 29.3975 + 1e-6, "{} places, the farthest at {farthest}", places.len());
    // The survey keeps the lines until they are taken away.
    assert_eq!(answer(&asked(&survey, &["--on-foot"]))["walks"], barred["walks"]);
    assert_eq!(answer(&asked(&survey, &["--on-foot", "--never-cross", "none"]))["walks"], free["walks"]);
    assert_eq!(answer(&asked(&survey, &["--on-foot"]))["walks"], free["walks"]);
}

#[test]
fn a_crew_is_kept_off_a_street_and_the_rest_is_planned_round_what_stays() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let first = answer(&asked(&survey, &[]));
    let street = |door: &Value| door["address"].as_str().unwrap().trim_start_matches(|c: char| !c.is_alphabetic()).to_owned();
    let of =
        |machine: &Value, crew: usize| -> Vec<String> { machine["walks"][crew]["doors"].as_array().unwrap().iter().map(street).collect() };
    let barred = of(&first, 1)[0].clone();
    let asked_off = format!("Crew 2={}", barred.to_uppercase());
    let kept_off = answer(&asked(&survey, &["--keep-off", &asked_off]));
    assert!(!of(&kept_off, 1).contains(&barred) && !of(&kept_off, 1).is_empty());
    assert!(kept_off["walks"].as_array().unwrap().iter().all(|w| w["minutes"].as_f64().unwrap() <= 300.0 + 1e-6));
    let refused = yardring(&asked(&survey, &["--keep-off", "Crew 9=Kettle Lane"]));
    assert!(refused.status.code() == Some(1) && String::from_utf8_lossy(&refused.stderr).contains("Crew 9"));
    // Later plans keep to it until all crews are let in again; with nothing locked, the rest is everything.
    let alone = answer(&asked(&survey, &[]));
    assert_eq!(alone["walks"], kept_off["walks"]);
    assert_eq!(answer(&asked(&survey, &["--keep-off", "none"]))["walks"], first["walks"]);
    assert_eq!(answer(&asked(&survey, &["--rest"]))["walks"], first["walks"]);
}

#[test]
fn what_a_day_leaves_over_comes_to_the_next_with_its_reason() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let monday = answer(&asked(&survey, &[]));
    let doors: Vec<&Value> = monday["walks"].as_array().unwrap().iter().flat_map(|w| w["doors"].as_array().unwrap()).collect();
    let next: Vec<&str> =
        [&["walks", &survey, "--on", "2025-07-25", "--crews", "3", "--shift", "5h", "--effort", "300"][..], &START].concat();
    let told = yardring(&next);
    let words = String::from_utf8(told.stdout).unwrap();
    assert!(words.contains("come over from 2025-07-24"), "{words}");
    answer(&asked(&survey, &[]));
    let tuesday = answer(&next);
    assert_eq!(tuesday["left_over"].as_u64(), Some(doors.len() as u64), "nobody was anywhere, so all doors come over");
    let ids: BTreeSet<&str> = doors.iter().map(|d| d["parcel_id"].as_str().unwrap()).collect();
    let over: Vec<&Value> = tuesday["walks"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|w| w["doors"].as_array().unwrap())
        .filter(|d| d["reason"].as_str().unwrap().starts_with("not reached on 24 July; "))
        .collect();
    assert!(over.len() * 2 > doors.len() && over.iter().all(|d| ids.contains(d["parcel_id"].as_str().unwrap())));
    assert_eq!(answer(&next)["walks"], tuesday["walks"], "planned anew on its own day it is the same");
}

/// The planner's morning by hand: a door to another crew, another off the day, a walk locked, and the rest planned again round them.
#[test]
fn a_kept_plan_is_changed_by_hand_and_the_cost_is_told_first() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let planned = answer(&asked(&survey, &[]));
    let ids = |machine: &Value, crew: usize| -> Vec<String> {
        machine["walks"][crew]["doors"].as_array().unwrap().iter().map(|d| d["parcel_id"].as_str().unwrap().to_owned()).collect()
    };
    let (moved, off) = (ids(&planned, 0)[1].clone(), ids(&planned, 0)[3].clone());
    let (third, gone) = (format!("move {moved}=Crew 2:3"), format!("take-off {off}"));
    let by_hand = |more: &[&str]| answer(&[&["walks", &survey, "--on", "2025-07-24"][..], more].concat());
    let weighed = by_hand(&["--change", &third, "--change", &gone, "--weigh"]);
    assert_eq!((&weighed["kept"], &ids(&weighed, 1)[2], ids(&weighed, 0).contains(&off)), (&false.into(), &moved, false));
    let minutes = |machine: &Value| machine["walks"].as_array().unwrap().iter().map(|w| w["minutes"].as_f64().unwrap()).sum::<f64>();
    assert!((minutes(&weighed) - minutes(&planned) - weighed["cost"]["minutes"].as_f64().unwrap()).abs() < 1e-6);
    let kept = by_hand(&["--change", &third, "--change", &gone, "--change", "lock Crew 2"]);
    assert_eq!((&kept["kept"], &kept["cost"]["minutes"]), (&true.into(), &weighed["cost"]["minutes"]));
    // What was weighed alone was not kept; what was changed is what the rest is planned round.
    let rest = answer(&asked(&survey, &["--rest"]));
    assert_eq!((ids(&rest, 1), &rest["walks"][1]["locked"]), (ids(&kept, 1), &true.into()));
    assert_eq!(rest["left_out_because"]["taken off by hand"].as_u64(), Some(1));
    let back = by_hand(&["--change", "unlock crew 2", "--change", &format!("add {off}=1")]);
    assert!(ids(&back, 0).contains(&off) && back["walks"][1]["locked"] == false);
    let told = |change: &str| {
        let ended = yardring(&["walks", &survey, "--on", "2025-07-24", "--change", change]);
        assert_ne!(ended.status.code(), Some(0), "{change}");
        String::from_utf8(ended.stderr).unwrap()
    };
    assert!(told("move nowhere=Crew 2").contains("nowhere") && told(&format!("move {moved}=Crew 9")).contains("Crew 1, Crew 2, Crew 3"));
    assert!(told(&format!("add {off}")).contains("in the walk of Crew 1 already") && told("swap it").contains("write it as"));
}

/// Lets the window finish what it is at, until it rests three times in a row, as the window's own tests do.
fn settle(window: &mut Harness<'static, App>) {
    let mut rested = 0;
    for _ in 0..60 {
        window.state_mut().settle();
        rested = if window.run_ok().is_some() { rested + 1 } else { 0 };
        if rested == 3 {
            return;
        }
    }
}

/// Crew by crew the doors with the times of the plan that the window shows, as `walks.csv` says them.
fn shown(window: &Harness<'static, App>) -> Vec<(String, String, String)> {
    let session = window.state().session();
    let survey = &session.open.as_ref().unwrap().survey;
    let day: &Day = session.walking.day.as_ref().expect("a day is planned");
    let time = |minutes: f64| day.clock(minutes).strftime("%H:%M").to_string();
    let of = |w: &yardring_core::walks::CrewWalk| -> Vec<_> {
        let ids = &survey.premises.parcel_id;
        w.doors.iter().map(|d| (w.crew.clone(), ids.get(d.premise.row()).to_owned(), time(d.arrive))).collect()
    };
    day.walks.iter().flat_map(of).collect()
}

#[test]
fn the_window_plans_what_the_command_line_plans_by_car_and_on_foot() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let (path, size) = (Some(std::path::PathBuf::from(&survey)), egui::vec2(1280.0, 800.0));
    let builder = Harness::builder().with_size(size).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, path, None));
    settle(&mut window);
    let frame = window.state().session().open.as_ref().unwrap().survey.frame;
    let far = LonLat { lon: -88.3075, lat: 29.3950 };
    for (on_foot, minutes) in [(false, None), (true, Some(DoorMinutes { complete: 14.0, closed: 2.5, many: 40.0 }))] {
        let mut crews = Crews { effort: 0.05, on_foot, minutes, meeting_point: Some(frame.local_from_lon_lat(far)), ..Crews::default() };
        crews.on = Some(jiff::civil::date(2025, 7, 24));
        crews.resize(3);
        window.state_mut().push(Action::Walks(WalkAction::Crews(crews)));
        window.state_mut().push(Action::Walks(WalkAction::Plan));
        settle(&mut window);
        let own = folder.path().join(format!("{on_foot}.gpkg"));
        std::fs::copy(&survey, &own).unwrap();
        let (out, start) = (folder.path().join(on_foot.to_string()), format!("{},{}", far.lon, far.lat));
        let mut asked = vec!["walks", own.to_str().unwrap(), "--on", "2025-07-24", "--crews", "3", "--effort", "0.05s"];
        asked.extend(["--start", &start, "--out", out.to_str().unwrap()]);
        if on_foot {
            asked.extend(["--on-foot", "--minutes", "14,2.5,40"]);
        }
        let machine = answer(&asked);
        let (_, rows) = rows_of(&out.join("walks.csv"));
        let told: Vec<_> = rows.iter().map(|r| (r[0].to_owned(), r[2].to_owned(), r[4].to_owned())).collect();
        assert_eq!(shown(&window), told, "on foot: {on_foot}");
        let drives: u64 = machine["walks"].as_array().unwrap().iter().map(|w| w["drives"].as_u64().unwrap()).sum();
        assert_eq!(drives > 0, !on_foot, "{machine:#}");
        let day = window.state().session().walking.day.clone().unwrap();
        assert_eq!(day.walks.iter().map(|w| w.drives as u64).sum::<u64>(), drives);
        let pauses: Vec<_> = day.pauses.iter().map(|p| (day.clock(p.from), p.heat)).collect();
        assert_eq!(pauses, [(time(12, 0, 0, 0), false), (time(13, 0, 0, 0), true)]);
        assert_eq!(machine["pauses"].as_array().unwrap().len(), 2);
    }
    // The neatness that the command line tells stands under the list.
    let words = window.state().session().walking.neatness.words();
    window.get_all_by_label_contains("7 Walks").next().unwrap().click_accesskit();
    settle(&mut window);
    assert!(window.query_all_by_label_contains(&words).next().is_some(), "{words}");
    assert!(window.query_all_by_label_contains("Doors at their streets: ").next().is_some());
}
