//! Blocks made from the premises alone, against the block outlines that the City of Cambridge, Massachusetts, draws itself
//! (open data; lots of the fiscal year 2014, centrelines, address blocks). The files lie beside the workspace; where they are
//! absent the test says so and looks at nothing.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not as it should be")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use yardring_core::intake::{Report, Request, bring_in};
use yardring_core::job::Unwatched;
use yardring_core::survey::Survey;

/// How far two ways of grouping the same things agree: 1 for the same groups, about 0 for chance.
///
/// # Source
/// L. Hubert and P. Arabie, Comparing partitions, Journal of Classification 2 (1985), the index adjusted for chance.
fn adjusted_rand_index(a: &[u32], b: &[u32]) -> f64 {
    let mut together: BTreeMap<(u32, u32), u64> = BTreeMap::new();
    let (mut left, mut right): (BTreeMap<u32, u64>, BTreeMap<u32, u64>) = Default::default();
    for (&x, &y) in a.iter().zip(b) {
        *together.entry((x, y)).or_default() += 1;
        *left.entry(x).or_default() += 1;
        *right.entry(y).or_default() += 1;
    }
    let pairs = |n: u64| (n * (n - 1) / 2) as f64;
    let sum = |counts: &mut dyn Iterator<Item = u64>| counts.map(pairs).sum::<f64>();
    let (both, left, right) = (sum(&mut together.into_values()), sum(&mut left.into_values()), sum(&mut right.into_values()));
    let expected = left * right / pairs(a.len() as u64);
    (both - expected) / (f64::midpoint(left, right) - expected)
}

/// Expected values: scikit-learn 1.9.1, `sklearn.metrics.adjusted_rand_score`.
#[test]
fn the_rand_index_agrees_with_scikit_learn() {
    let near = |a: &[u32], b: &[u32], expected: f64| assert!((adjusted_rand_index(a, b) - expected).abs() < 1e-12);
    near(&[0, 0, 1, 1], &[0, 0, 1, 2], 0.571_428_571_428_571_5);
    near(&[0, 0, 0, 1, 1, 1], &[0, 0, 1, 1, 2, 2], 0.242_424_242_424_242_43);
    near(&[0, 0, 1, 1, 2, 2, 2, 3], &[1, 1, 0, 0, 0, 2, 2, 2], 0.3684210526315789);
    near(&[0, 1, 0, 1], &[0, 0, 1, 1], -0.5);
}

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data").join(name)
}

/// The city with its streets, its blocks, both or neither.
fn city(streets: bool, blocks: bool) -> (Survey, Report) {
    let request = Request {
        parcels: Some(data("parcels/cambridge_ma_fy2014_epsg2249_ft.shp")),
        streets: streets.then(|| data("streets/cambridge_ma_centerlines_epsg2249_ft.shp")),
        blocks: blocks.then(|| data("blocks/cambridge_ma_blocks_wgs84.geojson")),
        ..Request::default()
    };
    bring_in(None, &request, &Unwatched).unwrap()
}

/// The index over the premises that the city's blocks hold; a premise without a block is a group of its own.
fn agreement(truth: &Survey, made: &Survey) -> f64 {
    assert_eq!(truth.premises.outline, made.premises.outline);
    let label = |i: usize, s: &Survey| s.premises.block[i].map_or(1_000_000 + i as u32, |b| b.0);
    let known: Vec<usize> = (0..truth.premises.len()).filter(|&i| truth.premises.block[i].is_some()).collect();
    let labels = |s: &Survey| known.iter().map(|&i| label(i, s)).collect::<Vec<u32>>();
    adjusted_rand_index(&labels(truth), &labels(made))
}

#[test]
fn blocks_made_from_lots_are_nearly_those_that_the_city_draws() {
    if !data("parcels/cambridge_ma_fy2014_epsg2249_ft.shp").exists() {
        println!("skipped: the Cambridge lots are not beside the workspace");
        return;
    }
    let (truth, given) = city(false, true);
    assert_eq!(given.derived_blocks, 0);
    let (bare, without) = city(false, false);
    let (beside, with) = city(true, false);
    let (alone, streets) = (agreement(&truth, &bare), agreement(&truth, &beside));
    println!("without streets: {} blocks, {alone:.4}; with streets: {} blocks, {streets:.4}", without.derived_blocks, with.derived_blocks);
    println!("{}\n{}", without.in_words(), with.in_words());
    let ids: Vec<&str> = beside.blocks.block_id.iter().collect();
    println!("{:?}", &ids[..20]);
    assert!(alone >= 0.93 && streets >= 0.94, "{alone} {streets}");
    assert!(ids.windows(2).all(|w| w[0] < w[1]));
}
