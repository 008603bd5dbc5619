//! Smooth surfaces over the ground: bumps on a square lattice.

use crate::place::Local;

/// How many bumps reach over one place.
pub(super) const TOUCHED: usize = 16;

/// Sum of the squared weights of the bumps over a place, on average: (151/315)², the integral of the squared cubic bump in
/// both directions. Worked out by hand.
const MEAN_SQUARE: f64 = (151.0 / 315.0) * (151.0 / 315.0);

/// The bumps of a lattice that reach over at least one of some places.
///
/// A surface is a sum of bumps with independent normal heights; its covariance falls with distance much like a Gaussian
/// process whose length is 0.82 of the spacing.
///
/// # Source
/// Tensor products of uniform cubic B-splines; P. H. C. Eilers and B. D. Marx, Statistical Science 11 (1996), 89–121. The
/// ratio of length to spacing, √(2/3), is the standard deviation of a cubic B-spline against itself; worked out by hand.
#[derive(Clone, Debug)]
pub(super) struct Lattice {
    spacing: f64,
    /// Whether the first number of a bump counts eastwards; the second then counts northwards.
    eastwards: bool,
    bumps: Vec<(i32, i32)>,
}

impl Lattice {
    /// The bumps over some places, numbered along the longer side of the ground so that those near each other get near
    /// numbers.
    pub(super) fn over(places: &[Local], spacing: f64, eastwards: bool) -> Self {
        let mut lattice = Self { spacing, eastwards, bumps: Vec::new() };
        let mut corners: Vec<(i32, i32)> = places.iter().map(|&p| lattice.corner(p).0).collect();
        corners.sort_unstable();
        corners.dedup();
        let around = corners.iter().flat_map(|&(a, b)| (0..4).flat_map(move |i| (0..4).map(move |j| (a + i, b + j))));
        lattice.bumps = around.collect();
        lattice.bumps.sort_unstable();
        lattice.bumps.dedup();
        lattice
    }

    /// How many bumps there are.
    pub(super) fn len(&self) -> usize {
        self.bumps.len()
    }

    /// The lowest bump over a place, and where the place lies in its cell, 0 to 1 each way.
    fn corner(&self, p: Local) -> ((i32, i32), (f64, f64)) {
        let (a, b) = if self.eastwards { (p.x, p.y) } else { (p.y, p.x) };
        let (a, b) = (a / self.spacing, b / self.spacing);
        ((a.floor() as i32, b.floor() as i32), (a - a.floor(), b - b.floor()))
    }

    /// The bumps over a place and their weights, in rising order of their numbers; no number where no known place reaches the
    /// bump. The squares of the weights add up to 1 on average.
    pub(super) fn touched(&self, p: Local) -> [(Option<usize>, f64); TOUCHED] {
        let ((a, b), (u, v)) = self.corner(p);
        let (along, across) = (weights(u), weights(v));
        let mut out = [(None, 0.0); TOUCHED];
        for i in 0..4 {
            let from = self.bumps.partition_point(|&bump| bump < (a + i as i32, b));
            let mut next = from;
            for j in 0..4 {
                let wanted = (a + i as i32, b + j as i32);
                let known = self.bumps.get(next) == Some(&wanted);
                out[i * 4 + j] = (known.then_some(next), along[i] * across[j] / MEAN_SQUARE.sqrt());
                next += usize::from(known);
            }
        }
        out
    }

    /// For every bump the first one that can reach over a place together with it.
    pub(super) fn first_linked(&self) -> Vec<usize> {
        let first = |&(a, b): &(i32, i32)| {
            let found = (a - 3..=a).find_map(|i| {
                let at = self.bumps.partition_point(|&bump| bump < (i, b - 3));
                self.bumps.get(at).filter(|bump| bump.0 == i && bump.1 <= b + 3).map(|_| at)
            });
            found.unwrap_or(0)
        };
        self.bumps.iter().enumerate().map(|(k, bump)| first(bump).min(k)).collect()
    }
}

/// The four pieces of the uniform cubic B-spline at a place in its cell.
fn weights(t: f64) -> [f64; 4] {
    let s = 1.0 - t;
    let middle = |t: f64| (4.0 - 6.0 * t * t + 3.0 * t * t * t) / 6.0;
    [s * s * s / 6.0, middle(t), middle(s), t * t * t / 6.0]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_add_up_and_squares_are_one_on_average() {
        let at = |i: i32, j: i32| Local { x: f64::from(i) * 7.3, y: f64::from(j) * 5.9 };
        let places: Vec<Local> = (-40..40).flat_map(|i| (-40..40).map(move |j| at(i, j))).collect();
        let lattice = Lattice::over(&places, 41.0, true);
        let mut squares = 0.0;
        for &p in &places {
            let touched = lattice.touched(p);
            let sum: f64 = touched.iter().map(|t| t.1).sum();
            assert!((sum * MEAN_SQUARE.sqrt() - 1.0).abs() < 1e-12);
            assert!(touched.windows(2).all(|w| w[0].0 < w[1].0));
            squares += touched.iter().map(|t| t.1 * t.1).sum::<f64>() / places.len() as f64;
        }
        assert!((squares - 1.0).abs() < 0.01, "{squares}");
    }

    #[test]
    fn bumps_over_one_place_are_linked() {
        let places: Vec<Local> = (0..300).map(|i| Local { x: f64::from(i * 37 % 211), y: f64::from(i * 53 % 97) }).collect();
        let lattice = Lattice::over(&places, 20.0, false);
        let first = lattice.first_linked();
        for i in 0..200 {
            let touched = lattice.touched(Local { x: f64::from(i), y: f64::from(i * 31 % 90) });
            let numbers: Vec<usize> = touched.iter().filter_map(|t| t.0).collect();
            for &k in &numbers {
                assert!(numbers.iter().all(|&j| j >= k || first[k] <= j));
            }
        }
    }
}
