//! Crews by name, with hours of their own, and going on from a kept plan.

use super::{START, answer, quillmere, yardring};
use serde_json::Value;

fn asked<'a>(survey: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["walks", survey, "--on", "2025-07-24", "--shift", "5h"][..], &START, more].concat()
}

fn minute(clock: &Value) -> u32 {
    let (hour, minute) = clock.as_str().unwrap().split_once(':').unwrap();
    hour.parse::<u32>().unwrap() * 60 + minute.parse::<u32>().unwrap()
}

fn names(machine: &Value) -> Vec<String> {
    machine["walks"].as_array().unwrap().iter().map(|w| w["crew"].as_str().unwrap().to_owned()).collect()
}

/// An early crew with half a day, a late crew, and one that is out as all are: each keeps to its own hours, in the answer, on its files and
/// after changes by hand and a second plan.
#[test]
fn every_crew_is_out_in_its_own_hours_and_later_plans_keep_to_them() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let out = folder.path().join("day");
    let hours = ["--names", "Early,Late,Common", "--hours", "Early=07:00+3h", "--hours", "2=11:00-15:30", "--effort", "300"];
    let first = answer(&asked(&survey, &[&hours[..], &["--out", out.to_str().unwrap()]].concat()));
    assert_eq!(names(&first), ["Early", "Late", "Common"]);
    let holds = |machine: &Value| {
        let bounds = [(420, 600), (660, 930), (480, 780)];
        for (walk, (from, until)) in machine["walks"].as_array().unwrap().iter().zip(bounds) {
            let doors = walk["doors"].as_array().unwrap();
            assert!(doors.len() > 3, "{walk:#}");
            assert!(doors.iter().all(|d| minute(&d["arrive"]) >= from) && minute(&walk["back"]) <= until, "{walk:#}");
        }
    };
    holds(&first);
    assert_eq!(first["walks"][0]["leaves"], "07:00");
    assert!(first["walks"][0]["doors"].as_array().unwrap().len() < first["walks"][2]["doors"].as_array().unwrap().len());
    let track = std::fs::read_to_string(out.join("walk-early.gpx")).unwrap();
    assert!(track.contains("07:"), "the track of the early crew tells its hours");
    // A change by hand is weighed by the crew's own shift.
    let left: Vec<&Value> = first["walks"][2]["doors"].as_array().unwrap().iter().take(12).collect();
    let moves: Vec<String> = left.iter().map(|d| format!("move {}=Early", d["parcel_id"].as_str().unwrap())).collect();
    let flags: Vec<&str> = moves.iter().flat_map(|m| ["--change", m.as_str()]).collect();
    let weighed = answer(&[&["walks", &survey, "--on", "2025-07-24", "--weigh"][..], &flags].concat());
    assert_eq!(weighed["cost"]["too_long"][0]["crew"], "Early", "{:#}", weighed["cost"]);
    // The rest planned again: the kept crews and their hours, without being told.
    let again = answer(&asked(&survey, &["--rest", "--effort", "300"]));
    assert_eq!(names(&again), ["Early", "Late", "Common"]);
    holds(&again);
    let told = String::from_utf8(yardring(&asked(&survey, &["--rest", "--effort", "300"])).stdout).unwrap();
    assert!(told.contains("Early (3 h from 07:00): "), "{told}");
    // Anew, nothing is left of them.
    let anew = answer(&asked(&survey, &["--crews", "3", "--effort", "300"]));
    assert!(names(&anew) == ["Crew 1", "Crew 2", "Crew 3"] && anew["walks"][0]["leaves"] == "08:00");
    for wrong in [["--names", "A,a"], ["--hours", "Nobody=07:00+3h"]] {
        let refused = yardring(&asked(&survey, &wrong));
        assert_eq!(refused.status.code(), Some(1), "{}", String::from_utf8_lossy(&refused.stderr));
    }
}

#[test]
fn a_kept_plan_is_gone_on_from_and_never_worse() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let refused = yardring(&asked(&survey, &["--go-on"]));
    assert_eq!(refused.status.code(), Some(1), "there is nothing to go on from");
    let mut worth = answer(&asked(&survey, &["--crews", "3", "--effort", "5"]))["worth"].as_f64().unwrap();
    let first = worth;
    for seed in ["2", "3", "4"] {
        let next = answer(&asked(&survey, &["--go-on", "--seed", seed, "--effort", "300"]));
        let now = next["worth"].as_f64().unwrap();
        assert!(now >= worth - 1e-9, "seed {seed}: {now} after {worth}");
        assert_eq!(names(&next).len(), 3);
        worth = now;
    }
    assert!(worth > first, "five tries are not the best there is");
}

/// The streets of the sample with one that joins no other, and one that is drawn past its junction.
#[test]
fn torn_streets_are_told_with_their_places() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let sound = answer(&asked(&survey, &["--effort", "5"]));
    assert_eq!(sound["streets"]["torn"]["islands"].as_array().map(Vec::len), sound["streets"]["islands"].as_u64().map(|n| n as usize));
    let mut streets: Value = serde_json::from_slice(&std::fs::read(super::sample("streets.geojson")).unwrap()).unwrap();
    let mut alone = streets["features"][0].clone();
    alone["properties"]["name"] = "Lonely Row".into();
    alone["geometry"] = serde_json::json!({ "type": "LineString", "coordinates": [[-88.3200, 29.4100], [-88.3190, 29.4100]] });
    streets["features"].as_array_mut().unwrap().push(alone);
    let file = folder.path().join("torn.geojson");
    std::fs::write(&file, streets.to_string()).unwrap();
    answer(&["intake", &survey, "--streets", file.to_str().unwrap()]);
    let told = answer(&asked(&survey, &["--effort", "5"]));
    let islands = told["streets"]["torn"]["islands"].as_array().unwrap();
    assert_eq!(islands.len(), sound["streets"]["torn"]["islands"].as_array().unwrap().len() + 1);
    // 0.001 degrees east at 29.41 north are 97 m.
    let lonely = islands.iter().find(|i| (i["at"][1].as_f64().unwrap() - 29.41).abs() < 1e-5).expect("it joins no other");
    assert!((lonely["metres"].as_f64().unwrap() - 97.0).abs() < 1.0, "{lonely:#}");
    let words = String::from_utf8(yardring(&asked(&survey, &["--effort", "5"])).stdout).unwrap();
    assert!(words.contains("Joined to no other: -88.3") && words.contains("(97 m)"), "{words}");
}

/// The map with the day's walks: each crew is named in the legend with its doors, and its way is drawn; without a plan it is refused.
#[test]
fn the_walks_are_drawn_on_a_map() {
    let folder = tempfile::tempdir().unwrap();
    let survey = quillmere(folder.path());
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let map = |out: &str, more: &[&str]| yardring(&[&["map", &survey, "--colour-by", "gaps", "--out", out, "--json"][..], more].concat());
    let refused = map(&at("none.svg"), &["--walks"]);
    assert!(refused.status.code() == Some(1) && String::from_utf8_lossy(&refused.stderr).contains("yardring walks"));
    let planned = answer(&asked(&survey, &["--names", "Heron,Egret", "--effort", "100"]));
    let plain = map(&at("plain.svg"), &[]);
    let drawn = map(&at("walks.svg"), &["--walks"]);
    let told = |out: &std::process::Output| serde_json::from_slice::<Value>(&out.stdout).unwrap()["walks"].clone();
    assert_eq!((told(&drawn), told(&plain)), ("2025-07-24".into(), Value::Null));
    let text = |name: &str| std::fs::read_to_string(at(name)).unwrap();
    let (plain, walks) = (text("plain.svg"), text("walks.svg"));
    assert!(["Heron", "Egret"].iter().all(|crew| !plain.contains(crew) && walks.contains(crew)));
    let marks = |svg: &str| {
        ["<path", "<polyline", "<circle", "<rect", "<polygon", "<line"].iter().map(|mark| svg.matches(mark).count()).sum::<usize>()
    };
    let doors: usize = planned["walks"].as_array().unwrap().iter().map(|w| w["doors"].as_array().unwrap().len()).sum();
    assert!(marks(&walks) >= marks(&plain) + doors, "{} marks beside {} for {doors} doors", marks(&walks), marks(&plain));
}
