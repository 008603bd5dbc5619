//! A made-up district for the tests of this room: square lots, half of the blocks visited, more positives in the west.

use crate::place::{Frame, Local, LonLat, Shapes};
use crate::survey::{BlockId, Standing, Survey, VisitId};
use std::sync::Arc;

/// Numbers that look random, the same from the same seed.
pub(super) struct Numbers(pub(super) u64);

impl Numbers {
    pub(super) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / 2f64.powi(31)
    }
}

/// The same yards inspected, what was found dealt out among them by lot.
pub(super) fn shuffled(standings: &[Standing], seed: u64) -> Vec<Standing> {
    let mut numbers = Numbers(seed);
    let mut out = standings.to_vec();
    let inspected: Vec<usize> = (0..out.len()).filter(|&i| out[i].inspected()).collect();
    for k in (1..inspected.len()).rev() {
        out.swap(inspected[k], inspected[(numbers.next() * (k + 1) as f64) as usize]);
    }
    out
}

/// A district of `side` by `side` lots 25 m wide in blocks of five by five, and where its premises stand. In the western third
/// the chance of larvae is `west`, elsewhere `east`; every second block was visited and four of five yards opened.
pub(super) fn district(side: usize, west: f64, east: f64, seed: u64) -> (Survey, Vec<Standing>) {
    let mut numbers = Numbers(seed);
    let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.1, lat: 30.0 }));
    let (mut outlines, mut standings, mut blocks) = (Shapes::default(), Vec::new(), Vec::new());
    for (row, column) in (0..side).flat_map(|r| (0..side).map(move |c| (r, c))) {
        let (x, y) = (column as f64 * 25.0, row as f64 * 25.0);
        let at = |dx: f64, dy: f64| Local { x: x + dx, y: y + dy };
        outlines.push_ring(&[at(0.0, 0.0), at(24.0, 0.0), at(24.0, 24.0), at(0.0, 24.0)]);
        outlines.end_part();
        outlines.end_shape();
        let block = (row / 5) * side.div_ceil(5) + column / 5;
        blocks.push(Some(BlockId(block as u32)));
        let opened = (row / 5 + column / 5) % 2 == 0 && numbers.next() < 0.8;
        let positive = numbers.next() < if column * 3 < side { west } else { east };
        let counted = opened.then_some(VisitId(0));
        standings.push(Standing { counted, positive_containers: u32::from(opened && positive), ..Standing::default() });
    }
    survey.premises.parcel_id = Arc::new((0..side * side).map(|i| format!("{i:05}")).collect());
    survey.premises.block = Arc::new(blocks);
    survey.premises.outline = Arc::new(outlines);
    (survey, standings)
}
