//! How fast streets are joined and walked, and how fast the walk search goes round: `cargo bench -p yardring-core --bench walks`.

use divan::Bencher;
use std::path::Path;
use yardring_core::intake::{ColumnMap, Request, bring_in};
use yardring_core::job::Unwatched;
use yardring_core::survey::{PremiseId, Survey};
use yardring_core::walks::{Aim, DayTask, Iterations, Spot, Stop, StreetNetwork, Travel, WalkError, Walking, plan_walks};

fn main() {
    divan::main();
}

/// Doors on a jittered grid, 20 s a step.
fn doors(count: usize, aim: Aim) -> Result<DayTask, WalkError> {
    let side = (count as f64).sqrt().ceil() as usize;
    let at = |i: usize| ((i % side) as f64 + (i * 37 % 11) as f64 / 11.0, (i / side) as f64 + (i * 23 % 13) as f64 / 13.0);
    let leg = |a: usize, b: usize| 20.0 * ((at(a).0 - at(b).0).abs() + (at(a).1 - at(b).1).abs());
    let rows: Vec<Vec<f64>> = (0..=count).map(|a| (0..=count).map(|b| leg(a, b)).collect()).collect();
    let travel = Travel::from_rows(&rows)?;
    let must = aim == Aim::LeastTravel;
    let stop = |at: usize| Stop { at, service: 300.0, prize: 1.0 + (at % 9) as f64, must, demand: 0.0 };
    let stops = (1..=count).map(stop).collect();
    let shift = Some(if must { 400.0 * count as f64 / 4.0 } else { 12_600.0 });
    Ok(DayTask { aim, travel, start: 0, end: 0, crews: 5, shift, own_shifts: Vec::new(), carry: None, stops })
}

#[divan::bench(args = [100, 300, 600], sample_count = 5)]
fn least_travel_1000_iterations(bencher: Bencher, count: usize) {
    bench(bencher, &doors(count, Aim::LeastTravel));
}

#[divan::bench(args = [100, 300, 600], sample_count = 5)]
fn most_prize_1000_iterations(bencher: Bencher, count: usize) {
    bench(bencher, &doors(count, Aim::MostPrize));
}

fn bench(bencher: Bencher, task: &Result<DayTask, WalkError>) {
    bencher.bench_local(|| task.as_ref().map(|task| plan_walks(task, 1, &mut Iterations(1000), &Unwatched)));
}

/// Cambridge, Massachusetts, from the shared test data; none where it is absent.
fn cambridge() -> Option<Survey> {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
    let request = Request {
        parcels: Some(data.join("parcels/cambridge_ma_fy2014_epsg2249_ft.shp")),
        streets: Some(data.join("streets/cambridge_ma_centerlines_epsg2249_ft.shp")),
        columns: ColumnMap::from_toml("[parcels]\nparcel_id = \"ML\"").ok()?,
        ..Request::default()
    };
    bring_in(None, &request, &Unwatched).ok().map(|(survey, _)| survey)
}

#[divan::bench(sample_count = 5)]
fn join_the_streets_of_a_town(bencher: Bencher) {
    let survey = cambridge();
    bencher.bench_local(|| survey.as_ref().map(|s| StreetNetwork::new(&s.streets, &Walking::default()).report()));
}

#[divan::bench(sample_count = 10)]
fn times_between_300_doors_of_a_town(bencher: Bencher) {
    let ready = cambridge().map(|s| {
        let network = StreetNetwork::new(&s.streets, &Walking::default());
        let step = s.premises.len() / 300;
        let spots: Vec<Spot> = (0..300).filter_map(|k| network.spot_of_premise(&s, PremiseId((k * step) as u32))).collect();
        (network, spots)
    });
    bencher.bench_local(|| ready.as_ref().map(|(network, spots)| network.travel(spots, &Unwatched)));
}
