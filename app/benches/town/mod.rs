//! An invented town of any size, for trials of the map.

use std::sync::Arc;
use yardring_core::place::{Bounds, Local, Shapes, hilbert};

/// Lots, blocks and streets of the town.
pub struct Town {
    /// Lots along a space-filling curve.
    pub lots: Arc<Shapes>,
    /// Blocks.
    pub blocks: Arc<Shapes>,
    /// Streets.
    pub streets: Arc<Shapes>,
}

/// Lots along one side of a block.
const ALONG: usize = 10;
const LOT: (f64, f64) = (20.0, 36.0);
const STREET: f64 = 16.0;

/// A number from 0 to 1 that depends on two others alone.
pub fn noise(i: usize, j: usize) -> f64 {
    let mut h = (i as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (j as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
    h ^= h >> 29;
    h = h.wrapping_mul(0xBF58_476D_1CE4_E5B9);
    h ^= h >> 32;
    (h & 0xFFFF) as f64 / 65_535.0
}

/// Bends the grid a little, so that nothing is upright.
fn bent(x: f64, y: f64) -> Local {
    Local { x: x + 30.0 * (y / 700.0).sin() + 0.12 * y, y: y + 40.0 * (x / 900.0).sin() }
}

fn ring_of(corners: &[(f64, f64)]) -> Vec<Local> {
    corners.iter().map(|&(x, y)| bent(x, y)).collect()
}

impl Town {
    /// A town of at least so many lots.
    pub fn of(lots: usize) -> Self {
        let blocks = lots.div_ceil(2 * ALONG).max(1);
        let across = ((blocks as f64 / 2.4).sqrt().ceil() as usize).max(1);
        let up = blocks.div_ceil(across);
        let mut rings = Vec::new();
        let mut outlines = Shapes::default();
        let (wide, high) = (LOT.0 * ALONG as f64 + STREET, 2.0 * LOT.1 + STREET);
        let (west, south) = (-wide * across as f64 / 2.0, -high * up as f64 / 2.0);
        for b in 0..across * up {
            let (x, y) = (west + (b % across) as f64 * wide, south + (b / across) as f64 * high);
            let (w, h) = (wide - STREET, high - STREET);
            outlines.push_ring(&ring_of(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]));
            outlines.end_part();
            outlines.end_shape();
            let cut = |k: usize| x + LOT.0 * (k as f64 + if k == 0 || k == ALONG { 0.0 } else { 0.5 * noise(b, k) - 0.25 });
            for k in 0..ALONG {
                let (a, c) = (cut(k), cut(k + 1));
                let m = (a + c) / 2.0;
                let (y1, y2) = (y + LOT.1, y + h);
                rings.push(ring_of(&[(a, y), (m, y), (c, y), (c, y + LOT.1 / 2.0), (c, y1), (m, y1), (a, y1), (a, y + LOT.1 / 2.0)]));
                rings.push(ring_of(&[(a, y1), (m, y1), (c, y1), (c, y1 + LOT.1 / 2.0), (c, y2), (m, y2), (a, y2), (a, y1 + LOT.1 / 2.0)]));
            }
        }
        let half = STREET / 2.0;
        let mut streets = Shapes::default();
        for i in 0..=across {
            let x = west + i as f64 * wide - half;
            let run: Vec<_> = (0..=up).map(|j| bent(x, south + j as f64 * high - half)).collect();
            street(&mut streets, &run);
        }
        for j in 0..=up {
            let y = south + j as f64 * high - half;
            let run: Vec<_> = (0..=across).map(|i| bent(west + i as f64 * wide - half, y)).collect();
            street(&mut streets, &run);
        }
        Self { lots: Arc::new(along_a_curve(&rings)), blocks: Arc::new(outlines), streets: Arc::new(streets) }
    }
}

fn street(into: &mut Shapes, run: &[Local]) {
    into.push_ring(run);
    into.end_part();
    into.end_shape();
}

fn along_a_curve(rings: &[Vec<Local>]) -> Shapes {
    let extent = rings.iter().fold(Bounds::EMPTY, |b, r| b.union(Bounds::of(r)));
    let mut order: Vec<(u32, usize)> = rings.iter().enumerate().map(|(i, r)| (hilbert(r[0], &extent), i)).collect();
    order.sort_unstable();
    let mut out = Shapes::with_capacity(rings.len(), rings.len() * 8);
    for (_, i) in order {
        out.push_ring(&rings[i]);
        out.end_part();
        out.end_shape();
    }
    out
}
