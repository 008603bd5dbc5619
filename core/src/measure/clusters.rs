//! Whether like values lie together, and where.

use super::Nearby;
use super::special::normal_above;

/// A z-score with the two-sided chance of one so far from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// Standard deviations from what is expected: above 0 more, below 0 less.
    pub z: f64,
    /// The two-sided chance by the normal distribution.
    pub p: f64,
}

impl Score {
    /// The score of a number of standard deviations.
    pub fn of(z: f64) -> Self {
        Self { z, p: (2.0 * normal_above(z.abs())).min(1.0) }
    }
}

/// How many units there are, their mean, and the mean of squared distances from it; `None` when they are all alike.
fn spread(values: &[f64]) -> Option<(f64, f64, f64)> {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n;
    (variance > 1e-12 * mean.abs().max(1e-12)).then_some((n, mean, variance))
}

/// The local sum score of each unit (the unit itself included, all weights 1): above 0 where it and its neighbours are high.
/// `None` where all values are alike or every unit is a neighbour.
///
/// # Source
/// J. K. Ord and A. Getis, Geogr. Anal. 27 (1995), 286–306, equation 14 (Gi*), from memory.
pub fn gi_star(values: &[f64], nearby: &Nearby) -> Vec<Option<Score>> {
    local_sums(values, nearby, true)
}

/// The same without the unit itself.
///
/// # Source
/// Ord and Getis (1995), as above (Gi): mean and variance of all other units.
pub fn gi(values: &[f64], nearby: &Nearby) -> Vec<Option<Score>> {
    local_sums(values, nearby, false)
}

fn local_sums(values: &[f64], nearby: &Nearby, itself: bool) -> Vec<Option<Score>> {
    let Some((all, mean, variance)) = spread(values) else { return vec![None; values.len()] };
    let (sum, squares) = (all * mean, all * (variance + mean * mean));
    let of = |i: usize| {
        let v = values[i];
        let own = if itself { v } else { 0.0 };
        let near = nearby.of(i).iter().map(|&j| values[j as usize]).sum::<f64>() + own;
        let weight = nearby.of(i).len() as f64 + f64::from(u8::from(itself));
        let (n, mean, variance) = if itself {
            (all, mean, variance)
        } else {
            let mean = (sum - v) / (all - 1.0);
            (all - 1.0, mean, (squares - v * v) / (all - 1.0) - mean * mean)
        };
        // With weights of 1 their sum is the sum of their squares.
        let error = (variance.max(0.0) * (n * weight - weight * weight) / (n - 1.0)).sqrt();
        (weight > 0.0 && error > 0.0).then(|| Score::of((near - mean * weight) / error))
    };
    (0..values.len()).map(of).collect()
}

/// Whether like values lie together in the whole area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moran {
    /// Moran's I: above `expected` when like values lie together.
    pub i: f64,
    /// What it is when values lie by chance.
    pub expected: f64,
    /// How far apart the two are, taking the values as normal.
    pub score: Score,
}

/// Moran's I with weights that add to 1 for each unit with neighbours; `None` when all values are alike, below three units
/// or without any neighbours.
///
/// # Source
/// A. D. Cliff and J. K. Ord, Spatial Processes (1981), 2.3 (variance under normality), from memory.
pub fn moran(values: &[f64], nearby: &Nearby) -> Option<Moran> {
    let (n, mean, variance) = spread(values)?;
    let weight = |i: usize| 1.0 / nearby.of(i).len() as f64;
    let (mut s0, mut s1, mut cross) = (0.0, 0.0, 0.0);
    let mut columns = vec![0.0; values.len()];
    for i in 0..values.len() {
        for &j in nearby.of(i) {
            let j = j as usize;
            let back = if nearby.of(j).binary_search(&(i as u32)).is_ok() { weight(j) } else { 0.0 };
            s0 += weight(i);
            // Half of (w_ij + w_ji)² over all pairs; a pair that is near one way only is met once.
            s1 += if back > 0.0 { 0.5 * (weight(i) + back).powi(2) } else { weight(i).powi(2) };
            cross += weight(i) * (values[i] - mean) * (values[j] - mean);
            columns[j] += weight(i);
        }
    }
    if s0 <= 0.0 || n < 3.0 {
        return None;
    }
    let row = |i: usize| f64::from(u8::from(!nearby.of(i).is_empty()));
    let s2: f64 = columns.iter().enumerate().map(|(i, c)| (c + row(i)).powi(2)).sum();
    let i = cross / (s0 * variance);
    let expected = -1.0 / (n - 1.0);
    let spread = (n * n * s1 - n * s2 + 3.0 * s0 * s0) / (s0 * s0 * (n * n - 1.0)) - expected * expected;
    (spread > 0.0).then(|| Moran { i, expected, score: Score::of((i - expected) / spread.sqrt()) })
}

/// Moran's I of each unit: above 0 where a unit is like its neighbours; 0 for a unit without neighbours, `None` for all when
/// all values are alike.
///
/// # Source
/// L. Anselin, Geogr. Anal. 27 (1995), 93–115, equation 12, scaled by n − 1; from memory.
pub fn local_moran(values: &[f64], nearby: &Nearby) -> Option<Vec<f64>> {
    let (n, mean, variance) = spread(values)?;
    let of = |i: usize| {
        let near = nearby.of(i);
        let lag = near.iter().map(|&j| values[j as usize] - mean).sum::<f64>() / near.len().max(1) as f64;
        (n - 1.0) * (values[i] - mean) * lag / (n * variance)
    };
    Some((0..values.len()).map(of).collect())
}

/// Which of many tests to believe so that no more than a share of those believed is false.
///
/// # Source
/// Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995), 289–300. Tests of overlapping neighbourhoods lean the same
/// way, which keeps the promise (Y. Benjamini and D. Yekutieli, Ann. Stat. 29 (2001), 1165–1188, from memory).
pub fn believed(p: &[f64], false_share: f64) -> Vec<bool> {
    adjusted(p).iter().map(|a| *a <= false_share).collect()
}

/// Each chance raised to the smallest false share at which the test would be believed.
///
/// # Source
/// As for [`believed`]: the least of m·p/rank over this and all higher ranks.
pub fn adjusted(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    let mut out = vec![1.0; p.len()];
    let mut least: f64 = 1.0;
    for (rank, &i) in order.iter().enumerate().rev() {
        least = least.min(p[i] * p.len() as f64 / (rank + 1) as f64);
        out[i] = least;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const GRID: usize = 4;

    /// Cells of a square grid that touch; at corners too when `queen`.
    fn grid(queen: bool) -> Nearby {
        let near = |a: usize, b: usize| {
            let (dx, dy) = ((a % GRID).abs_diff(b % GRID), (a / GRID).abs_diff(b / GRID));
            a != b && dx <= 1 && dy <= 1 && (queen || dx + dy == 1)
        };
        let lists: Vec<Vec<u32>> = (0..16).map(|a| (0..16u32).filter(|&b| near(a, b as usize)).collect()).collect();
        Nearby::from_lists(&lists)
    }

    const COUNTS: [f64; 16] = [5.0, 4.0, 1.0, 0.0, 6.0, 5.0, 1.0, 0.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 2.0];

    /// A small grid worked out with esda 2.9.0 (the project's science notes, 6.1 and 6.2).
    #[test]
    fn agrees_with_esda_on_a_grid() {
        let found = moran(&COUNTS, &grid(false)).unwrap();
        assert!((found.i - 0.615_314).abs() < 1e-6 && (found.score.z - 3.653_73).abs() < 1e-5, "{found:?}");
        let stars = gi_star(&COUNTS, &grid(true));
        let expected = [
            3.6674, 2.9765, 0.3037, -1.2225, 2.9765, 2.2231, -0.6225, -1.8831, 0.7897, -0.1482, -1.3338, -1.6401, -1.2225, -1.8831,
            -1.6401, -1.2225,
        ];
        stars.iter().zip(expected).for_each(|(s, e)| assert!((s.unwrap().z - e).abs() < 5e-5, "{s:?} for {e}"));
    }

    #[test]
    fn no_answer_where_there_is_none() {
        assert_eq!(gi_star(&[2.0; 16], &grid(true)), vec![None; 16]);
        assert_eq!((moran(&[2.0; 16], &grid(true)), local_moran(&[2.0; 16], &grid(true))), (None, None));
        let all = Nearby::from_lists(&[vec![1, 2], vec![0, 2], vec![0, 1]]);
        assert_eq!(gi_star(&[1.0, 2.0, 4.0], &all), vec![None; 3]);
        assert!(adjusted(&[]).is_empty());
    }

    /// Adjusted chances of the test set of Benjamini and Hochberg, by scipy 1.17.1.
    #[test]
    fn adjusts_for_many_tests() {
        let p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719, 0.6528, 0.759, 1.0];
        let expected = [0.0015, 0.003, 0.0095, 0.035_625, 0.0603, 0.063_857, 0.063_857, 0.0645, 0.0765, 0.486];
        adjusted(&p).iter().zip(expected).for_each(|(a, e)| assert!((a - e).abs() < 1e-6, "{a} for {e}"));
    }
}
