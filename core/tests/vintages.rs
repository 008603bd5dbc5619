//! A newer parcel file over a survey with visits: two made-up vintages whose differences are known one by one.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not as it should be")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use yardring_core::intake::{Became, Report, Request, bring_in};
use yardring_core::job::Unwatched;
use yardring_core::store::{Edit, apply};
use yardring_core::survey::Survey;

/// A lot by its id and where it begins and ends in a row of lots: east and north in hundred-thousandths of a degree.
type Lot = (&'static str, [i32; 4]);

/// Two rows of lots, back to back. One is 20 wide and 30 deep.
const BEFORE: [Lot; 14] = [
    ("A", [0, 0, 20, 30]),
    ("B", [20, 0, 40, 30]),
    ("C", [40, 0, 60, 30]),
    ("D", [60, 0, 80, 30]),
    ("E", [80, 0, 100, 30]),
    ("F", [100, 0, 120, 30]),
    ("G", [120, 0, 140, 30]),
    ("H", [140, 0, 160, 30]),
    ("I", [160, 0, 180, 30]),
    ("J", [0, 30, 20, 60]),
    ("K", [20, 30, 40, 60]),
    ("L", [40, 30, 60, 60]),
    ("M", [60, 30, 80, 60]),
    ("far", [4000, 0, 4020, 30]),
];

/// A as it was; B gave a strip to its neighbour at the back, K; C is C-2 now; D was cut in a smaller D and a larger D-2; E and F
/// were put together as F; G and H are no longer there; I and J changed their ids with each other; L and M became one with a
/// new id; N is new. The lot far off is not in the file.
const AFTER: [Lot; 12] = [
    ("A", [0, 0, 20, 30]),
    ("B", [20, 0, 40, 25]),
    ("K", [20, 25, 40, 60]),
    ("C-2", [40, 0, 60, 30]),
    ("D", [60, 0, 67, 30]),
    ("D-2", [67, 0, 80, 30]),
    ("F", [80, 0, 120, 30]),
    ("J", [160, 0, 180, 30]),
    ("I", [0, 30, 20, 60]),
    ("LM", [40, 30, 80, 60]),
    ("N", [80, 30, 100, 60]),
    ("O", [100, 30, 120, 60]),
];

fn parcels(folder: &Path, name: &str, lots: &[Lot]) -> PathBuf {
    let feature = |(id, [w, s, e, n]): &Lot| {
        let at = |x: &i32, y: &i32| format!("[{:.5},{:.5}]", -90.0 + f64::from(*x) * 1e-5, 30.0 + f64::from(*y) * 1e-5);
        let ring = [at(w, s), at(e, s), at(e, n), at(w, n), at(w, s)].join(",");
        format!(r#"{{"type":"Feature","properties":{{"PARCEL_ID":"{id}"}},"geometry":{{"type":"Polygon","coordinates":[[{ring}]]}}}}"#)
    };
    let features: Vec<String> = lots.iter().map(feature).collect();
    let path = folder.join(name);
    std::fs::write(&path, format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))).unwrap();
    path
}

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// The first vintage with one visit at every lot but G, two at E; the visit's id begins with the lot's.
fn before(folder: &Path) -> Survey {
    let mut table = "visit_id,date,parcel_id,outcome,container_type,holds_water,larvae\n".to_owned();
    for (id, _) in BEFORE.iter().filter(|l| l.0 != "G") {
        table.push_str(&format!("{id}-1,2025-07-01,{id},inspected,tire,yes,yes\n"));
    }
    table.push_str("E-2,2025-07-02,E,no answer,,,\n");
    let visits = folder.join("visits.csv");
    std::fs::write(&visits, table).unwrap();
    let request = Request { parcels: Some(parcels(folder, "before.geojson", &BEFORE)), visits: Some(visits), ..Request::default() };
    let (survey, report) = bring_in(None, &request, &Unwatched).unwrap();
    assert_eq!((report.visits, report.unjoined, survey.visits.len(), report.vintage), (14, 0, 14, None));
    survey
}

fn newer(survey: &Survey, path: PathBuf) -> (Survey, Report) {
    bring_in(Some(survey), &Request { parcels: Some(path), ..Request::default() }, &Unwatched).unwrap()
}

/// The parcel id at which each visit is.
fn places(survey: &Survey) -> BTreeMap<String, String> {
    survey.visits.rows().iter().map(|v| (v.id.to_string(), survey.premises.parcel_id.get(v.premise.row()).to_owned())).collect()
}

#[test]
fn every_known_change_is_told_and_visits_stay_on_their_ground() {
    let folder = folder("vintage-changes");
    let first = before(&folder);
    let (second, report) = newer(&first, parcels(&folder, "after.geojson", &AFTER));
    let v = report.vintage.as_ref().unwrap();
    println!("{}", report.in_words());
    assert_eq!((v.kept, v.moved_outline, v.renumbered, v.split, v.merged, v.gone), (1, 2, 3, 1, 4, 2));
    assert_eq!((v.gone_with_visits, v.elsewhere, v.new), (1, 1, 2));
    let told = |id: &str| v.changes.iter().find(|c| c.parcel_id == id).map(|c| (c.became, c.now.join(" "), &*c.visits_at));
    assert_eq!(told("A"), None);
    assert_eq!(told("B"), Some((Became::MovedOutline, "B".to_owned(), "B")));
    assert_eq!(told("C"), Some((Became::Renumbered, "C-2".to_owned(), "C-2")));
    assert_eq!(told("D"), Some((Became::Split, "D D-2".to_owned(), "D-2")));
    assert_eq!(told("E"), Some((Became::Merged, "F".to_owned(), "F")));
    assert_eq!(told("F"), Some((Became::Merged, "F".to_owned(), "F")));
    assert_eq!(told("G"), Some((Became::Gone, String::new(), "G")));
    assert_eq!(told("I"), Some((Became::Renumbered, "J".to_owned(), "J")));
    assert_eq!(told("L"), Some((Became::Merged, "LM".to_owned(), "LM")));
    assert_eq!(told("K"), Some((Became::MovedOutline, "K".to_owned(), "K")));

    let at = places(&second);
    let expected = [
        ("A-1", "A"),
        ("B-1", "B"),
        ("C-1", "C-2"),
        ("D-1", "D-2"),
        ("E-1", "F"),
        ("E-2", "F"),
        ("F-1", "F"),
        ("H-1", "H"),
        ("I-1", "J"),
        ("J-1", "I"),
        ("K-1", "K"),
        ("L-1", "LM"),
        ("M-1", "LM"),
        ("far-1", "far"),
    ];
    assert_eq!(at, expected.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect());
    assert_eq!(second.visits.finds().len(), first.visits.finds().len());
    // The file's twelve, the lot far off, and the one with a visit that is no longer in the file.
    assert_eq!(second.premises.len(), 14);
    assert!(report.in_words().contains("1 were split, 4 merged, 2 are gone"), "{}", report.in_words());
}

#[test]
fn undo_brings_the_older_vintage_back() {
    let folder = folder("vintage-undo");
    let first = before(&folder);
    let (second, _) = newer(&first, parcels(&folder, "after.geojson", &AFTER));
    let mut survey = first.clone();
    let back = apply(&mut survey, Edit::Columns { what: "Bring in after.geojson".into(), becomes: Box::new(second.clone()) }).unwrap();
    assert_eq!(survey, second);
    apply(&mut survey, back).unwrap();
    assert_eq!(survey, first);
}

#[test]
fn the_order_of_the_newer_file_means_nothing_and_the_same_file_changes_nothing() {
    let folder = folder("vintage-order");
    let first = before(&folder);
    let mut turned = AFTER;
    turned.reverse();
    turned.swap(2, 7);
    let (straight, told) = newer(&first, parcels(&folder, "after.geojson", &AFTER));
    let (other, told_other) = newer(&first, parcels(&folder, "turned.geojson", &turned));
    assert_eq!(told.vintage, told_other.vintage);
    assert!((&straight.premises, &straight.visits, &straight.blocks) == (&other.premises, &other.visits, &other.blocks));
    let (again, told) = newer(&straight, folder.join("after.geojson"));
    assert_eq!((&again.premises, &again.visits), (&straight.premises, &straight.visits));
    let v = told.vintage.unwrap();
    assert_eq!((v.kept, v.elsewhere, v.gone_with_visits, v.new, v.visits_moved), (12, 1, 1, 0, 0));
}

#[test]
fn a_file_of_other_ground_leaves_the_survey_as_it_was() {
    let folder = folder("vintage-elsewhere");
    let first = before(&folder);
    let west: [Lot; 2] = [("W1", [-220, 0, -200, 30]), ("W2", [-200, 0, -180, 30])];
    let (second, report) = newer(&first, parcels(&folder, "west.geojson", &west));
    let v = report.vintage.unwrap();
    assert_eq!((v.elsewhere, v.new, v.changes.len(), second.premises.len()), (14, 2, 0, 16));
    assert_eq!(places(&first), places(&second));
}
