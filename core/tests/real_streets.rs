//! A real town's streets joined into a network, against the town's own numbering of its junctions.
//!
//! The centrelines are open data of the City of Cambridge, Massachusetts. They lie beside the workspace; where they are absent the
//! test says so and looks at nothing.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not as it should be")]

use std::collections::BTreeSet;
use std::path::Path;
use yardring_core::files;
use yardring_core::intake::{ColumnMap, Request, bring_in};
use yardring_core::job::Unwatched;
use yardring_core::survey::PremiseId;
use yardring_core::walks::{StreetNetwork, Walking};

#[test]
fn junctions_are_those_that_the_town_numbers() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
    if !data.is_dir() {
        println!("skipped: no shared data beside the workspace");
        return;
    }
    let lines = data.join("streets/cambridge_ma_centerlines_wgs84.geojson");
    let request = Request {
        parcels: Some(data.join("parcels/cambridge_ma_fy2014_epsg2249_ft.shp")),
        streets: Some(lines.clone()),
        columns: ColumnMap::from_toml("[parcels]\nparcel_id = \"ML\"").unwrap(),
        ..Request::default()
    };
    let (survey, _) = bring_in(None, &request, &Unwatched).unwrap();
    let network = StreetNetwork::new(&survey.streets, &Walking::default());
    let report = network.report();
    let table = files::read(&lines, None, &Unwatched).unwrap();
    let columns = ["FromNode", "ToNode"].map(|name| table.column(name).unwrap());
    let numbered: BTreeSet<String> = (0..table.rows).flat_map(|r| columns.map(|c| table.cell(r, c).into_owned())).filter(|n| !n.is_empty()).collect();
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
