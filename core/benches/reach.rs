//! How long gaps and ground take on made-up counties: 17 premises of 100 inspected, one of 60 a source, 150 m.

use divan::Bencher;
use std::sync::Arc;
use yardring_core::job::Unwatched;
use yardring_core::place::{Frame, Local, LonLat, Shapes};
use yardring_core::reach::{Sources, Wanted, gaps, ground, sources};
use yardring_core::survey::{Standing, Survey, VisitId};

fn main() {
    divan::main();
}

/// Lots of 20 by 30 m in blocks of two rows by sixteen, streets of 15 m between, block after block.
fn county(lots: usize) -> (Survey, Vec<Standing>) {
    let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -76.6, lat: 39.2 }));
    let mut outlines = Shapes::with_capacity(lots, 4 * lots);
    let across = ((lots / 32) as f64).sqrt().ceil() as usize;
    for i in 0..lots {
        let (block, lot) = (i / 32, i % 32);
        let x = (block % across) as f64 * 335.0 + (lot % 16) as f64 * 20.0;
        let y = (block / across) as f64 * 75.0 + (lot / 16) as f64 * 30.0;
        outlines.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(u, v)| Local { x: x + u, y: y + v }));
        outlines.end_part();
        outlines.end_shape();
    }
    survey.premises.outline = Arc::new(outlines);
    survey.premises.parcel_id = Arc::new((0..lots).map(|i| format!("{i:08}")).collect());
    survey.premises.block = Arc::new(vec![None; lots]);
    let mut state = 1u64;
    let standings = (0..lots).map(|_| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let chance = (state >> 33) % 1000;
        Standing {
            counted: (chance < 170).then_some(VisitId(0)),
            source: chance < 17,
            source_with_pupae: chance < 6,
            ..Standing::default()
        }
    });
    (survey, standings.collect())
}

fn ready(lots: usize) -> (Survey, Vec<Standing>, Sources) {
    let (survey, standings) = county(lots);
    let found = sources(&survey, &standings, &Wanted::default());
    (survey, standings, found)
}

#[divan::bench(args = [20_000, 200_000])]
fn find_sources(bencher: Bencher, lots: usize) {
    let (survey, standings) = county(lots);
    bencher.bench_local(|| sources(&survey, &standings, &Wanted::default()));
}

#[divan::bench(args = [20_000, 200_000])]
fn find_gaps(bencher: Bencher, lots: usize) {
    let (survey, standings, sources) = ready(lots);
    bencher.bench_local(|| gaps(&survey, &standings, &sources, &Wanted::default(), &Unwatched));
}

#[divan::bench(args = [20_000, 200_000])]
fn draw_ground(bencher: Bencher, lots: usize) {
    let (survey, _, sources) = ready(lots);
    bencher.bench_local(|| ground(&survey, &sources, Wanted::default().radius, &Unwatched));
}
