//! Visits written by hand on the command line: the same numbers as by a file, the same refusals as in the window.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

use std::path::Path;
use std::process::{Command, Output};
use yardring_core::job::Unwatched;
use yardring_core::store::{self, Parts};
use yardring_core::survey::{PremiseId, Survey};

fn yardring(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_yardring")).args(arguments).env_remove("DISPLAY").output().expect("the program starts")
}

fn answer(arguments: &[&str]) -> serde_json::Value {
    let ended = yardring(&[arguments, &["--json"]].concat());
    assert_eq!(ended.status.code(), Some(0), "{arguments:?}: {}", String::from_utf8_lossy(&ended.stderr));
    serde_json::from_slice(&ended.stdout).expect("machine text")
}

fn refused(arguments: &[&str]) -> String {
    let ended = yardring(arguments);
    let told = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(1), "{told}");
    told
}

/// A survey of the invented district's parcels and visits.
fn quillmere() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let survey = folder.path().join("quillmere.gpkg").to_str().unwrap().to_owned();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().join("sample_data");
    let of = |name: &str| sample.join(name).to_str().unwrap().to_owned();
    answer(&["intake", &survey, "--parcels", &of("parcels.shp"), "--visits", &of("visits.csv")]);
    (folder, survey)
}

fn load(path: &str) -> Survey {
    store::load(Path::new(path), Parts::EVERYTHING, &Unwatched).unwrap()
}

/// A yard that nobody visited, whose parcel id is its own.
fn unseen(survey: &Survey) -> (PremiseId, String) {
    let ids = &survey.premises.parcel_id;
    let alone = |i: usize| !ids.get(i).is_empty() && ids.iter().filter(|id| *id == ids.get(i)).count() == 1;
    let row = (0..survey.premises.len()).find(|&i| alone(i) && survey.visits.at(PremiseId(i as u32)).is_empty()).unwrap();
    (PremiseId(row as u32), ids.get(row).to_owned())
}

#[test]
fn a_visit_typed_and_the_same_row_of_a_sheet_give_the_same_indices() {
    let ((folder, by_hand), (_other, by_file)) = (quillmere(), quillmere());
    let (_, parcel) = unseen(&load(&by_hand));
    let last = load(&by_hand).rounds.iter().map(|r| r.name.to_string()).next_back().unwrap();
    let find = "kind=rain barrel,count=3,wet=2,larvae=1,pupae=1,counted=12,stage=P,litres=40,action=screened,remains=yes";
    let told = answer(&[
        "record",
        &by_hand,
        "--parcel",
        &parcel,
        "--on",
        "2025-07-24",
        "--outcome",
        "inspected",
        "--round",
        &last,
        "--crew",
        "North",
        "--time-in",
        "08:50",
        "--time-out",
        "09:05",
        "--find",
        find,
    ]);
    assert_eq!((&told["done"], &told["finds"], &told["visit_id"]), (&"entered".into(), &1.into(), &format!("2025-07-24 {parcel}").into()));
    let sheet = folder.path().join("late.csv");
    let columns = "date,parcel_id,outcome,round,crew,time_in,time_out,container_type,count,holds_water,larvae,pupae,pupae_count,stages,litres,action,remains";
    let row = format!("2025-07-24,{parcel},inspected,{last},North,08:50,09:05,rain barrel,3,2,1,1,12,P,40,screened,yes");
    std::fs::write(&sheet, format!("{columns}\n{row}\n")).unwrap();
    answer(&["intake", &by_file, "--visits", sheet.to_str().unwrap()]);
    for by in ["district", "block", "kind", "round"] {
        assert_eq!(answer(&["indices", &by_hand, "--by", by])["rows"], answer(&["indices", &by_file, "--by", by])["rows"], "{by}");
    }
    let (a, b) = (load(&by_hand), load(&by_file));
    assert_eq!((a.visits.finds(), &a.rounds, &a.kinds), (b.visits.finds(), &b.rounds, &b.kinds));
    // The sheet that comes in after all changes nothing.
    answer(&["intake", &by_hand, "--visits", sheet.to_str().unwrap()]);
    assert_eq!(load(&by_hand).visits, a.visits);
}

#[test]
fn a_visit_is_corrected_and_taken_away_with_its_trace_in_the_log() {
    let (_folder, path) = quillmere();
    let before = load(&path);
    let visit = before.visits.rows().iter().find(|v| !v.finds.is_empty()).unwrap().clone();
    let parcel = before.premises.parcel_id.get(visit.premise.row());
    let told = answer(&["record", &path, "--parcel", parcel, "--correct", &visit.id, "--crew", "South", "--no-finds"]);
    assert_eq!((&told["done"], &told["finds"]), (&"corrected".into(), &0.into()));
    let after = load(&path);
    let now = after.visits.at(visit.premise).iter().find(|v| v.id == visit.id).unwrap();
    assert_eq!((&*now.crew, now.outcome, now.when, now.by_hand()), ("South", visit.outcome, visit.when, true));
    let log = after.intake_log.last().unwrap();
    let kind = before.kind_name(before.visits.finds_of(&visit)[0].kind);
    assert!(log.findings[0].contains("corrected") && log.findings[0].contains("before: ") && log.findings[0].contains(kind), "{log:?}");
    assert!(refused(&["record", &path, "--parcel", parcel, "--correct", &visit.id, "--crew", "South"]).contains("nothing would change"));
    assert_eq!(answer(&["record", &path, "--parcel", parcel, "--take-away", &visit.id])["visits"], before.visits.len() - 1);
    assert!(refused(&["record", &path, "--parcel", parcel, "--take-away", &visit.id]).contains("no visit"));
}

#[test]
fn what_cannot_be_is_refused_in_words_and_changes_nothing() {
    let (_folder, path) = quillmere();
    let bytes = std::fs::read(&path).unwrap();
    let (_, parcel) = unseen(&load(&path));
    let with = |more: &[&str]| refused(&[&["record", &path, "--parcel", &parcel][..], more].concat());
    let told =
        with(&["--on", "2025-07-24", "--outcome", "inspected", "--find", "kind=bucket,count=1,wet=1", "--find", "kind=tire,count=2,wet=3"]);
    assert!(told.contains("find 2: 3 held water, but only 2 were there"), "{told}");
    assert!(with(&["--on", "2025-02-30", "--outcome", "inspected"]).contains("'2025-02-30'"));
    assert!(with(&["--on", "2025-07-24", "--outcome", "gone fishing"]).contains("is not an outcome"));
    assert!(with(&["--on", "2025-07-24", "--outcome", "no answer", "--find", "kind=tire"]).contains("nothing can have been found"));
    assert!(refused(&["record", &path, "--parcel", "NOWHERE", "--on", "2025-07-24", "--outcome", "vacant"]).contains("NOWHERE"));
    let usage = yardring(&["record", &path, "--parcel", &parcel, "--outcome", "vacant"]);
    assert_eq!(usage.status.code(), Some(2));
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
}
