//! What comes first on a day, and what stays when it is planned again or another day is planned.

use super::{START, answer, asked, quillmere, rows_of, yardring};
use serde_json::Value;
use std::collections::BTreeSet;

/// One case of the day before, and whatever else the sample has. Where it was is not looked at: that a door lies in the ring, its reason says.
#[test]
fn a_ring_comes_before_all_but_the_deadlines_of_the_day_whatever_is_planned_from() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let signals = folder.path().join("new.csv");
    std::fs::write(&signals, "signal_id,date,lon,lat,kind,value,species\nC1,2025-07-23,-88.3044621,29.3974647,case,,\n").unwrap();
    answer(&["intake", &survey, "--signals", signals.to_str().unwrap()]);
    let out = folder.path().join("day");
    let in_ring = |r: &csv::StringRecord, reason: usize| r[reason].contains("in a ring that comes first");
    let due = |r: &csv::StringRecord| r[8].contains("last safe day 24 July") && !r[8].contains("overdue");
    for (from, crews) in [("positives", "1"), ("cases", "1"), ("positives", "4"), ("cases", "4")] {
        answer(&asked(&survey, &["--from", from, "--crews", crews, "--shift", "6h", "--out", out.to_str().unwrap()]));
        let (_, walked) = rows_of(&out.join("walks.csv"));
        let (_, left) = rows_of(&out.join("left_out.csv"));
        let inside = walked.iter().filter(|r| in_ring(r, 8)).count();
        let waiting = left.iter().filter(|r| in_ring(r, 2) && &r[3] == "shifts are full").count();
        assert!(inside + waiting > 50, "{from}, {crews} crews: the ring has {} doors", inside + waiting);
        let others = walked.iter().filter(|r| !in_ring(r, 8) && !due(r)).count();
        // A gap of minutes at the end of a shift may hold a door outside where none of the ring fits.
        assert!(
            waiting == 0 || others <= crews.parse::<usize>().unwrap(),
            "{from}, {crews} crews: {inside} walked, {waiting} wait, {others} others"
        );
        assert!(inside > 12, "{from}, {crews} crews: {inside}");
        for file in std::fs::read_dir(&out).unwrap().map(|f| f.unwrap().path()).filter(|f| f.extension().is_none_or(|e| e != "pdf")) {
            assert!(!std::fs::read_to_string(&file).unwrap().to_lowercase().contains("case"), "{}", file.display());
        }
    }
}

/// A Saturday that is promised with Thursday's plan. 24 July 2025 was a Thursday (any calendar).
#[test]
fn what_the_planner_promises_is_kept_for_the_days_that_follow() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let first = answer(&asked(&survey, &[]));
    let parcel = first["walks"][1]["doors"][2]["parcel_id"].as_str().unwrap().to_owned();
    let walked = |machine: &Value| -> bool {
        machine["walks"]
            .as_array()
            .unwrap()
            .iter()
            .any(|w| w["doors"].as_array().unwrap().iter().any(|d| d["parcel_id"] == parcel.as_str()))
    };
    let on = |day: &str, more: &[&str]| {
        answer(&[&["walks", &survey, "--on", day, "--crews", "3", "--shift", "5h", "--effort", "300"][..], &START, more].concat())
    };
    assert!(!walked(&on("2025-07-24", &["--promised", &format!("{parcel}=Saturday")])));
    assert!(!walked(&on("2025-07-25", &[])), "Friday passes it by");
    assert!(walked(&on("2025-07-26", &[])), "nobody says it again on Saturday");
    assert!(!walked(&on("2025-07-24", &["--promised", &format!("{parcel}=Saturday")])));
    assert_eq!(on("2025-07-24", &["--promised", &format!("{parcel}=none")])["walks"], first["walks"], "taken back");
}

/// The planner adds a yard that nothing asks for, then plans the rest again.
#[test]
fn a_door_that_was_added_stays_when_the_rest_is_planned_again() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let first = answer(&asked(&survey, &[]));
    let out = folder.path().join("premises.csv");
    answer(&["export", &survey, "--layer", "premises", "--out", out.to_str().unwrap()]);
    let (head, rows) = rows_of(&out);
    let id = head.iter().position(|h| h == "parcel_id").unwrap();
    let there: BTreeSet<&str> = first["walks"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|w| w["doors"].as_array().unwrap())
        .map(|d| d["parcel_id"].as_str().unwrap())
        .collect();
    let added = rows.iter().map(|r| &r[id]).find(|id| !there.contains(id)).unwrap().to_owned();
    answer(&["walks", &survey, "--on", "2025-07-24", "--change", &format!("add {added}=Crew 3")]);
    let of = |machine: &Value, parcel: &str| -> Option<usize> {
        let doors = |w: &Value| w["doors"].as_array().unwrap().iter().any(|d| d["parcel_id"] == parcel);
        machine["walks"].as_array().unwrap().iter().position(doors)
    };
    assert_eq!(of(&answer(&asked(&survey, &["--rest"])), &added), Some(2));
    let fewer = answer(&asked(&survey, &["--rest", "--crews", "2"]));
    assert!(of(&fewer, &added).is_some_and(|crew| crew < 2), "its crew is ill: another one goes");
    assert_eq!(yardring(&asked(&survey, &["--crews", "0"])).status.code(), Some(2));
}

/// When crews came and went stands on the sheets, comes back in its own columns, and is what the next plan reckons with.
#[test]
fn minutes_are_learnt_from_the_times_on_the_sheets() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let out = folder.path().join("day");
    let before = answer(&asked(&survey, &["--out", out.to_str().unwrap()]));
    let (head, rows) = rows_of(&out.join("visits-2025-07-24.csv"));
    let at = |name: &str| head.iter().position(|h| h == name).unwrap_or_else(|| panic!("no column {name}"));
    let sheet = folder.path().join("back.csv");
    let mut back = csv::Writer::from_path(&sheet).unwrap();
    back.write_record(&head).unwrap();
    for row in rows.iter().take(20) {
        let mut cells: Vec<String> = row.iter().map(str::to_owned).collect();
        (cells[at("outcome")], cells[at("time_in")], cells[at("time_out")]) = ("inspected".into(), "08:50".into(), "09:21".into());
        back.write_record(&cells).unwrap();
    }
    back.flush().unwrap();
    answer(&["intake", &survey, "--visits", sheet.to_str().unwrap()]);
    let after = answer(&["walks", &survey, "--on", "2025-07-25", "--crews", "3", "--effort", "100", START[0], START[1]]);
    let told = |machine: &Value| (machine["minutes"]["visits"][0].as_u64().unwrap(), machine["minutes"]["inspected"].as_f64().unwrap());
    let ((n, was), (m, is)) = (told(&before), told(&after));
    // Twenty visits of 31 minutes more. Where none were known before, their median weighs twenty, the usual 15 minutes ten.
    assert_eq!((n, m), (n, n + 20));
    assert!(is > was && (n > 0 || (is - (20.0 * 31.0 + 10.0 * 15.0) / 30.0).abs() < 1e-9), "{was} then {is}");
    let exported = folder.path().join("visits.csv");
    answer(&["export", &survey, "--layer", "visits", "--out", exported.to_str().unwrap()]);
    let (head, rows) = rows_of(&exported);
    let minutes = head.iter().position(|h| h == "minutes").unwrap();
    assert_eq!(rows.iter().filter(|r| &r[minutes] == "31").count(), 20);
}
