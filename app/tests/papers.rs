//! What leaves the office by the command line: maps on paper, and never where a case is.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

use std::path::{Path, PathBuf};
use std::process::Command;
use yardring_core::brief::doors::short_name;
use yardring_core::job::Unwatched;
use yardring_core::place::{Local, LonLat, inside};
use yardring_core::store::{self, Edit, Parts};
use yardring_core::survey::{Outcome, PremiseId, SavedView, SignalKind, Survey};

/// Runs a verb that must end well and gives its machine text.
fn answer(arguments: &[&str]) -> serde_json::Value {
    let ended = Command::new(env!("CARGO_BIN_EXE_yardring")).args(arguments).arg("--json").output().expect("the program starts");
    assert_eq!(ended.status.code(), Some(0), "{arguments:?}: {}", String::from_utf8_lossy(&ended.stderr));
    serde_json::from_slice(&ended.stdout).expect("machine text")
}

/// A folder with the sample district's survey.
fn quillmere() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let survey = folder.path().join("quillmere.gpkg").to_str().unwrap().to_owned();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().join("sample_data");
    let of = |name: &str| sample.join(name).to_str().unwrap().to_owned();
    let (parcels, streets, blocks) = (of("parcels.shp"), of("streets.geojson"), of("blocks.geojson"));
    let (visits, signals) = (of("visits.csv"), of("signals.csv"));
    let files = ["--parcels", &parcels, "--streets", &streets, "--blocks", &blocks, "--visits", &visits, "--signals", &signals];
    answer(&[&["intake", &survey][..], &files].concat());
    (folder, survey)
}

fn labels(answer: &serde_json::Value) -> Vec<String> {
    answer["legend"].as_array().unwrap().iter().map(|l| l["label"].as_str().unwrap().to_owned()).collect()
}

/// The text of a PDF as `pdftotext` of poppler reads it; `None` where that is not installed.
fn text_of(pdf: &Path) -> Option<String> {
    let read = Command::new("pdftotext").args(["-layout", pdf.to_str().unwrap(), "-"]).output().ok()?;
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    Some(String::from_utf8(read.stdout).unwrap())
}

#[test]
fn the_same_map_comes_as_picture_as_lines_and_as_a_page() {
    let (folder, survey) = quillmere();
    for (by, breaks, classes) in
        [("house-index", "programme", "3"), ("coverage", "equal", "4"), ("containers", "quantile", "5"), ("gaps", "programme", "5")]
    {
        let out = |ending: &str| folder.path().join(format!("{by}.{ending}"));
        let map = |path: &Path| {
            answer(&["map", &survey, "--colour-by", by, "--breaks", breaks, "--classes", classes, "--out", path.to_str().unwrap()])
        };
        let (png, svg, pdf) = (map(&out("png")), map(&out("svg")), map(&out("pdf")));
        assert_eq!((&png["legend"], &png["breaks_from"]), (&svg["legend"], &svg["breaks_from"]));
        assert_eq!((&png["legend"], &png["gaps"]), (&pdf["legend"], &pdf["gaps"]));
        let drawn = std::fs::read_to_string(out("svg")).unwrap();
        for label in labels(&svg) {
            assert!(drawn.contains(&format!("aria-label=\"{label}\"")), "{by}: {label}");
        }
        match text_of(&out("pdf")) {
            None => println!("pdftotext is not installed: the words of the page are not read back"),
            Some(text) => labels(&pdf).iter().for_each(|label| assert!(text.contains(label), "{by}: {label} in {text}")),
        }
    }
}

/// A quarter of the town by a place in it, and the same by a view that the office keeps: larger, with house numbers, told as a part.
#[test]
fn a_part_of_the_district_is_printed_by_its_place_or_by_a_kept_view() {
    let (folder, survey) = quillmere();
    let mut kept = store::load(Path::new(&survey), Parts::EVERYTHING, &Unwatched).unwrap();
    let row = kept.premises.len() / 2;
    let yard = kept.frame.lon_lat_from_local(inside(kept.premises.outline.get(row)).unwrap());
    store::apply(&mut kept, Edit::save_view(&SavedView { name: "Mill quarter".into(), place: yard, zoom: 19.0 })).unwrap();
    let number = short_name(&kept.premises.address, &kept.premises.parcel_id, row).unwrap().to_owned();
    let with = folder.path().join("kept.gpkg").to_str().unwrap().to_owned();
    store::save(&kept, Path::new(&with), &Unwatched).unwrap();
    let map = |name: &str, part: &[&str]| {
        let path = folder.path().join(name);
        let told = answer(&[&["map", &with, "--colour-by", "gaps", "--out", path.to_str().unwrap()], part].concat());
        (told, path)
    };
    let place = format!("{:.7},{:.7}", yard.lon, yard.lat);
    for (name, part) in
        [("place.pdf", vec!["--around", &place, "--across", "300m", "--size", "a3"]), ("view.pdf", vec!["--view", "Mill quarter"])]
    {
        let (told, path) = map(name, &part);
        assert!(told["part_m"][2].as_f64().unwrap() - told["part_m"][0].as_f64().unwrap() < 310.0, "{told}");
        match text_of(&path) {
            None => println!("pdftotext is not installed: the words of the page are not read back"),
            Some(text) => {
                let words: Vec<&str> = text.split_whitespace().collect();
                let told = "All counts are of the whole district.";
                assert!(words.join(" ").contains(told) && words.contains(&&*number), "{number} in {text}");
            }
        }
    }
    let (whole, _) = map("whole.pdf", &[]);
    assert_eq!(whole["part_m"], serde_json::Value::Null);
    let refused = |part: &[&str]| {
        let out = folder.path().join("none.png");
        let all = [&["map", &with, "--colour-by", "gaps", "--out", out.to_str().unwrap()], part].concat();
        let ended = Command::new(env!("CARGO_BIN_EXE_yardring")).args(&all).output().unwrap();
        assert!(!ended.status.success() && !out.exists(), "{all:?}");
        String::from_utf8_lossy(&ended.stderr).into_owned()
    };
    assert!(refused(&["--view", "Hill quarter"]).contains("keeps no view called 'Hill quarter'"));
    assert!(refused(&["--around", "11.2,43.8"]).contains("no yard of the survey lies in that part"));
    assert!(refused(&["--across", "300m"]).contains("--around"));
}

/// Files written from the places of cases: what was asked, and the file.
fn handed_out(folder: &Path, survey: &str) -> Vec<(String, PathBuf)> {
    let mut out = Vec::new();
    let mut write = |arguments: &[&str], name: &str| {
        let path = folder.join(name);
        answer(&[arguments, &["--out", path.to_str().unwrap()]].concat());
        out.push((format!("{arguments:?}"), path));
    };
    for ending in ["gpkg", "geojson"] {
        write(&["reach", survey, "--from", "cases"], &format!("reach.{ending}"));
        write(&["gaps", survey, "--from", "cases"], &format!("gaps.{ending}"));
        for layer in ["signals", "reach", "gaps"] {
            write(&["export", survey, "--layer", layer, "--from", "cases"], &format!("layer-{layer}.{ending}"));
        }
    }
    write(&["gaps", survey, "--from", "cases"], "gaps.csv");
    write(&["export", survey, "--layer", "signals"], "signals.csv");
    for language in ["en", "es"] {
        write(&["notices", survey, "--language", language], &format!("notices-{language}.pdf"));
    }
    for ending in ["png", "svg", "pdf"] {
        write(&["map", survey, "--colour-by", "gaps", "--from", "cases", "--size", "640x480"], &format!("map.{ending}"));
    }
    out
}

fn case(survey: &str) -> (Survey, Local, LonLat) {
    let survey = store::load(Path::new(survey), Parts::EVERYTHING, &Unwatched).unwrap();
    let place = survey.signals.iter().find(|s| s.kind == SignalKind::Case).expect("the sample has a case").place;
    let degrees = survey.frame.lon_lat_from_local(place);
    (survey, place, degrees)
}

fn holds(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|w| w == part)
}

/// The two numbers of a place stand at most so many bytes from each other in a text.
const BESIDE: usize = 60;

/// No file has the case's place: not as numbers of a database, not as text. And it is moved alike every time.
#[test]
fn no_file_holds_the_place_of_a_case() {
    let (folder, survey) = quillmere();
    let files = handed_out(folder.path(), &survey);
    let (_, place, degrees) = case(&survey);
    for (asked, path) in &files {
        let bytes = std::fs::read(path).unwrap();
        for number in [place.x, place.y, degrees.lon, degrees.lat] {
            assert!(!holds(&bytes, &number.to_le_bytes()) && !holds(&bytes, &number.to_be_bytes()), "{asked}");
        }
        // Six decimals of a degree are 11 cm. A corner of a ring elsewhere may have one of the two numbers by chance, not both.
        for (a, b, decimals) in [(place.x, place.y, 3), (degrees.lon, degrees.lat, 6)] {
            let [a, b] = [a, b].map(|number| format!("{:.decimals$}", number.abs()));
            let stands = |at: usize| bytes[at.saturating_sub(BESIDE)..(at + a.len() + BESIDE).min(bytes.len())].to_vec();
            let found = bytes.windows(a.len()).enumerate().filter(|(_, w)| *w == a.as_bytes());
            assert!(!found.map(|(at, _)| stands(at)).any(|near| holds(&near, b.as_bytes())), "{asked}: {a} beside {b}");
        }
    }
    let again = tempfile::tempdir().unwrap();
    for ((asked, first), (_, second)) in files.iter().zip(handed_out(again.path(), &survey)) {
        assert!(std::fs::read(first).unwrap() == std::fs::read(second).unwrap(), "{asked} differs the second time");
    }
}

/// The middle of all corners of a GeoJSON file's outlines.
fn middle(path: &Path) -> LonLat {
    fn corners(value: &serde_json::Value, out: &mut Vec<(f64, f64)>) {
        match value.as_array().map(Vec::as_slice) {
            Some([lon, lat]) if lon.is_number() && lat.is_number() => out.push((lon.as_f64().unwrap(), lat.as_f64().unwrap())),
            Some(inner) => inner.iter().for_each(|v| corners(v, out)),
            None => {}
        }
    }
    let text = std::fs::read_to_string(path).unwrap();
    let parsed: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mut all = Vec::new();
    corners(&parsed["features"][0]["geometry"]["coordinates"], &mut all);
    let n = all.len() as f64;
    LonLat { lon: all.iter().map(|c| c.0).sum::<f64>() / n, lat: all.iter().map(|c| c.1).sum::<f64>() / n }
}

#[test]
fn rings_lie_off_the_case_unless_somebody_asks() {
    let (folder, survey) = quillmere();
    let out = |name: &str| folder.path().join(name);
    let reach = |name: &str, more: &[&str]| {
        let (path, from) = (out(name), ["reach", &survey, "--from", "cases", "--radius", "150m"]);
        let said = answer(&[&from[..], more, &["--out", path.to_str().unwrap()]].concat());
        (said, middle(&path))
    };
    let (masked, off) = reach("masked.geojson", &[]);
    let (shown, on) = reach("true.geojson", &["--unmasked"]);
    let (survey_now, place, _) = case(&survey);
    let from_case = |p: LonLat| survey_now.frame.local_from_lon_lat(p).distance(place);
    assert_eq!((&masked["masked"], &shown["masked"]), (&true.into(), &false.into()));
    assert!(from_case(on) < 40.0 && (99.0..=401.0).contains(&from_case(off)), "{} {}", from_case(on), from_case(off));
    // The list has the true doors, and tells nothing of which is near.
    let list = |name: &str, more: &[&str]| {
        let path = out(name);
        answer(&[&["gaps", &survey, "--from", "cases"][..], more, &["--out", path.to_str().unwrap()]].concat());
        csv::Reader::from_path(path).unwrap().records().map(Result::unwrap).collect::<Vec<_>>()
    };
    let (hidden, told) = (list("hidden.csv", &[]), list("told.csv", &["--unmasked"]));
    let doors = |rows: &[csv::StringRecord]| {
        let mut ids: Vec<String> = rows.iter().map(|r| r[1].to_owned()).collect();
        ids.sort();
        ids
    };
    assert!(doors(&hidden) == doors(&told) && hidden.len() > 3);
    assert!(hidden.iter().all(|r| [7, 8, 9].iter().all(|&i| r[i].is_empty())));
    assert!(told.iter().all(|r| [7, 8, 9].iter().all(|&i| !r[i].is_empty())));
}

/// Every door that somebody went to in the third round, 1040 by the sample's own README, gets a notice or a reason why not; shut doors and
/// yards with something left are counted anew from the visits.
#[test]
fn householders_are_told_what_is_left_in_both_languages() {
    let (folder, survey) = quillmere();
    let out = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let number = |told: &serde_json::Value, key: &str| told[key].as_u64().unwrap_or_else(|| panic!("{key} in {told}"));
    let english = answer(&["notices", &survey, "--out", &out("en.pdf")]);
    assert_eq!((number(&english, "notices") + number(&english, "skipped"), &english["language"]), (1040, &"en".into()));
    let reasons: u64 = english["by_reason"].as_object().unwrap().values().map(|n| n.as_u64().unwrap()).sum();
    assert_eq!(reasons, number(&english, "notices"));
    let read = store::load(Path::new(&survey), Parts::EVERYTHING, &Unwatched).unwrap();
    let round = read.round(None).unwrap();
    let yards =
        (0..read.premises.len() as u32).map(|i| read.visits.at(PremiseId(i)).iter().filter(|v| v.round == round).collect::<Vec<_>>());
    let shut = yards.filter(|v| v.last().is_some_and(|l| l.outcome == Outcome::NoAnswer) && v.iter().all(|v| v.finds.is_empty()));
    let never_in = shut.filter(|v| v.iter().all(|v| v.outcome != Outcome::Inspected)).count() as u64;
    assert_eq!(number(&english["by_reason"], "no answer"), never_in);
    let spanish = answer(&["notices", &survey, "--language", "es", "--paper", "a4", "--out", &out("es.pdf")]);
    assert_eq!((&spanish["by_reason"], &spanish["language"]), (&english["by_reason"], &"es".into()));
    let Some(text) = text_of(Path::new(&out("es.pdf"))) else {
        return println!("pdftotext is not installed: the notices are not read back");
    };
    // Every kind of the sample has its Spanish name.
    assert!(text.contains("Agua en su patio: lo que falta por hacer") && !text.contains("ecipiente ("));
    let own = text.lines().filter(|l| l.contains("Ya se hizo")).count();
    assert!(own > 50 && text.matches("Tenga cuidado").count() as u64 >= number(&spanish, "notices"), "{own}");
}

#[test]
fn notices_take_the_offices_words_and_say_why_there_are_none() {
    let (folder, survey) = quillmere();
    let out = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let bytes = |name: &str| std::fs::read(folder.path().join(name)).unwrap();
    let office = ["--office", "Mosquito control, 555-0100"];
    answer(&["notices", &survey, "--out", &out("lines.pdf")]);
    answer(&[&["notices", &survey, "--out", &out("once.pdf")][..], &office].concat());
    answer(&["notices", &survey, "--out", &out("again.pdf")]);
    assert!(bytes("lines.pdf") == bytes("again.pdf") && bytes("lines.pdf") != bytes("once.pdf"), "said once, it is not kept");
    answer(&[&["notices", &survey, "--keep", "--out", &out("kept.pdf")][..], &office].concat());
    answer(&["notices", &survey, "--out", &out("later.pdf")]);
    assert!(bytes("once.pdf") == bytes("later.pdf"));
    let refused = |arguments: &[&str], code: i32| {
        let all = [&["notices", &survey][..], arguments].concat();
        let ended = Command::new(env!("CARGO_BIN_EXE_yardring")).args(&all).output().unwrap();
        let told = String::from_utf8_lossy(&ended.stderr).into_owned();
        assert_eq!(ended.status.code(), Some(code), "{told}");
        told
    };
    assert!(refused(&["--language", "fr", "--out", &out("fr.pdf")], 2).contains("'fr' is not a language of notices; use one of: en, es"));
    assert!(refused(&["--out", &out("notices.doc")], 1).contains("ends in .pdf"));
    assert!(refused(&["--walks", "--out", &out("walks.pdf")], 1).contains("No planned day is kept in the survey"));
    assert!(refused(&["--round", "Round 9", "--out", &out("nine.pdf")], 1).contains("The rounds are"));
    // A round of one clean yard.
    let sheet = out("clean.csv");
    std::fs::write(&sheet, "visit_id,date,parcel_id,outcome,round\nC1,2025-08-01,QM-10000,inspected,Round 4\n").unwrap();
    answer(&["intake", &survey, "--visits", &sheet]);
    let told = refused(&["--out", &out("none.pdf")], 1);
    assert!(told.contains("no door of Round 4 gets a notice") && told.contains("Name another round with --round"), "{told}");
    assert!(!folder.path().join("none.pdf").exists());
}
