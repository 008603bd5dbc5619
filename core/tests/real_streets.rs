//! A real town's streets joined into a network, against the town's own numbering of its junctions.
//!
//! The centrelines are open data of the City of Cambridge, Massachusetts. They lie beside the workspace; where they are absent the
//! test says so and looks at nothing.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops at the first thing that is not as it should be")]

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;
use yardring_core::files;
use yardring_core::intake::{ColumnMap, Request, bring_in};
use yardring_core::job::Unwatched;
use yardring_core::place::{Local, inside};
use yardring_core::survey::{PremiseId, Survey};
use yardring_core::walks::{FoundBy, StreetNetwork, Walking};

const STREETS: &str = "streets/cambridge_ma_centerlines_wgs84.geojson";

/// A real town with its streets; `None`, with a line, where its files are absent.
fn town() -> Option<Survey> {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
    if !data.is_dir() {
        println!("skipped: no shared data beside the workspace");
        return None;
    }
    let request = Request {
        parcels: Some(data.join("parcels/cambridge_ma_fy2014_epsg2249_ft.shp")),
        streets: Some(data.join(STREETS)),
        columns: ColumnMap::from_toml("[parcels]\nparcel_id = \"ML\"").unwrap(),
        ..Request::default()
    };
    Some(bring_in(None, &request, &Unwatched).unwrap().0)
}

/// The share of a straight piece at which a place is nearest to it, how far that is in metres, and whether the place lies to its left.
fn foot(a: Local, b: Local, p: Local) -> (f64, f64, bool) {
    let (dx, dy, px, py) = (b.x - a.x, b.y - a.y, p.x - a.x, p.y - a.y);
    let t = (px * dx + py * dy) / (dx * dx + dy * dy);
    let on = Local { x: a.x + dx * t, y: a.y + dy * t };
    (t, on.distance(p), dx * py - dy * px > 0.0)
}

/// A lot's frontage found the slow way: the place on the nearest numbered centreline that it lies beside, and an address of the town's
/// numbers there.
fn frontage(survey: &Survey, lot: Local) -> Option<(Local, String)> {
    let mut best: Option<(f64, Local, String)> = None;
    for (row, ranges) in survey.streets.ranges.iter().enumerate() {
        for run in survey.streets.line.get(row).rings() {
            let length: f64 = run.windows(2).map(|w| w[0].distance(w[1])).sum();
            let mut before = 0.0;
            for w in run.windows(2) {
                let (t, metres, left) = foot(w[0], w[1], lot);
                let piece = w[0].distance(w[1]);
                let numbers = if left { ranges.left } else { ranges.right };
                let nearer = metres < best.as_ref().map_or(40.0, |b| b.0);
                if let Some(numbers) = numbers.filter(|_| (0.0..=1.0).contains(&t) && nearer) {
                    let (from, to) = (f64::from(numbers.from), f64::from(numbers.to));
                    let steps = ((to - from) / 2.0 * (before + t * piece) / length).round();
                    let on = Local { x: w[0].x + (w[1].x - w[0].x) * t, y: w[0].y + (w[1].y - w[0].y) * t };
                    best = Some((metres, on, format!("{} {}", from + 2.0 * steps, survey.streets.name.get(row))));
                }
                before += piece;
            }
        }
    }
    best.map(|(_, on, address)| (on, address))
}

/// The town's lots have no addresses; each gets a number that the town's own ranges have beside it.
#[test]
fn a_house_number_of_the_town_leads_to_the_frontage_that_has_it() {
    let Some(mut survey) = town() else { return };
    let lots: Vec<u32> = (0..survey.premises.len() as u32).step_by(11).collect();
    let middle = |survey: &Survey, lot: u32| inside(survey.premises.outline.get(lot as usize));
    let fronts: Vec<(u32, Local, Local, String)> = lots
        .iter()
        .filter_map(|&lot| middle(&survey, lot).and_then(|m| frontage(&survey, m).map(|(on, address)| (lot, m, on, address))))
        .collect();
    let mut addresses = vec![String::new(); survey.premises.len()];
    fronts.iter().for_each(|(lot, _, _, address)| addresses[*lot as usize].clone_from(address));
    survey.premises.address = Arc::new(addresses.iter().collect());
    let network = StreetNetwork::new(&survey.streets, &Walking::default());
    let (mut by, mut there) = ([0usize; 3], 0);
    for (lot, middle, on, _) in &fronts {
        let spot = network.spot_of_premise(&survey, PremiseId(*lot)).expect("a street is near");
        by[spot.by as usize] += 1;
        // Within a stride of the frontage, on the lot's side of it.
        let kerb = spot.place.distance(*on) < 5.0 && spot.place.distance(*middle) < on.distance(*middle);
        there += usize::from(spot.by == FoundBy::HouseNumber && kerb);
    }
    println!("{} lots: {by:?} by number, name, nearest; {there} at the frontage that has the number", fronts.len());
    assert!(fronts.len() > 800 && by[0] * 100 >= fronts.len() * 98, "{by:?} of {}", fronts.len());
    assert!(there * 100 >= fronts.len() * 95, "{there} of {}", fronts.len());
}

#[test]
fn junctions_are_those_that_the_town_numbers() {
    let Some(survey) = town() else { return };
    let lines = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data").join(STREETS);
    let network = StreetNetwork::new(&survey.streets, &Walking::default());
    let report = network.report();
    let table = files::read(&lines, None, &Unwatched).unwrap();
    let columns = ["FromNode", "ToNode"].map(|name| table.column(name).unwrap());
    let numbered: BTreeSet<String> =
        (0..table.rows).flat_map(|r| columns.map(|c| table.cell(r, c).into_owned())).filter(|n| !n.is_empty()).collect();
    // The town's file has 1,872 numbers for its 2,643 stretches; some of its bridges cross without a junction in the file and are
    // joined here, for it names no level.
    println!("{} junctions numbered by the town; {report:?}", numbered.len());
    assert!(report.junctions.abs_diff(numbered.len()) * 50 <= numbered.len(), "{report:?} beside {}", numbered.len());
    assert!(report.stretches.abs_diff(table.rows) * 50 <= table.rows, "{report:?} beside {}", table.rows);
    assert!(report.island_m < 2_000.0, "{report:?}");
    // Nearly every lot of a town lies at a street.
    let lots = (0..survey.premises.len() as u32).step_by(7).map(PremiseId);
    let (with, all) = lots.fold((0, 0), |(with, all), lot| (with + usize::from(network.spot_of_premise(&survey, lot).is_some()), all + 1));
    assert!(with * 100 >= all * 99, "{with} of {all}");
}
