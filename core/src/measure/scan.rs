//! The one circle in which positives crowd most, and whether chance alone would do as well.

use super::chance::Chance;
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, BoxIndex, Local};
use rayon::prelude::*;

/// The circle with the most surprising crowd of positive premises.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScanCluster {
    /// The premise in the middle, by its place in what was given.
    pub centre: usize,
    /// Metres from there to the farthest premise of the circle.
    pub radius: f64,
    /// Inspected premises in the circle.
    pub seen: u64,
    /// Positive ones among them.
    pub positive: u64,
    /// The logarithm of the likelihood ratio.
    pub ratio: f64,
    /// The share of reshuffles, the true one counted, that had a circle as surprising.
    pub p: f64,
}

/// x ln x, and 0 for 0.
fn x_ln_x(x: f64) -> f64 {
    if x > 0.0 { x * x.ln() } else { 0.0 }
}

/// The logarithm of how much likelier it is that `positive` of `seen` premises inside a circle have a higher rate than the
/// rest of all, than that there is one rate; 0 when the rate inside is not higher.
///
/// # Source
/// M. Kulldorff, Commun. Stat. Theory Methods 26 (1997), 1481–1496, the Bernoulli model; from memory.
///
/// ```
/// use yardring_core::measure::scan_ratio;
/// assert!((scan_ratio(8, 20, 20, 200) - 7.468957).abs() < 1e-6);
/// assert_eq!(scan_ratio(1, 20, 20, 200), 0.0);
/// ```
pub fn scan_ratio(positive: u64, seen: u64, all_positive: u64, all_seen: u64) -> f64 {
    let whole = |n: u64| x_ln_x(n as f64);
    ratio_by(positive, seen, all_positive, all_seen, &whole)
}

fn ratio_by(c: u64, n: u64, all_c: u64, all_n: u64, x_ln_x: &impl Fn(u64) -> f64) -> f64 {
    let (rest_c, rest_n) = (all_c - c, all_n - n);
    if c * rest_n <= rest_c * n {
        return 0.0;
    }
    let part = |c: u64, n: u64| x_ln_x(c) + x_ln_x(n - c) - x_ln_x(n);
    part(c, n) + part(rest_c, rest_n) - part(all_c, all_n)
}

/// For every premise the others within the largest circle, nearest first, and where circles end (ties enter together).
struct Circles {
    first: Vec<usize>,
    order: Vec<u32>,
    ends_here: Vec<bool>,
}

impl Circles {
    fn of(places: &[Local], largest: f64) -> Self {
        let boxes: Vec<Bounds> = places.iter().map(|p| Bounds::of(&[*p])).collect();
        let index = BoxIndex::new(&boxes);
        let around = |i: usize| {
            let mut near: Vec<(f64, u32)> = Vec::new();
            index.each_touching(&boxes[i].grown(largest), |j| {
                let d = places[i].distance(places[j]);
                if d <= largest {
                    near.push((d, j as u32));
                }
            });
            near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            // At most half of all may lie inside.
            let ends: Vec<bool> = (0..near.len()).map(|k| near.get(k + 1).is_none_or(|n| n.0 > near[k].0)).collect();
            (near, ends)
        };
        let lists: Vec<_> = (0..places.len()).into_par_iter().map(around).collect();
        let mut out = Self { first: vec![0], order: Vec::new(), ends_here: Vec::new() };
        for (near, ends) in lists {
            let keep = near.len().min(places.len() / 2);
            out.order.extend(near[..keep].iter().map(|n| n.1));
            out.ends_here.extend(&ends[..keep]);
            out.first.push(out.order.len());
        }
        out
    }

    /// The most surprising circle of some labelling: its middle, how many it holds, positives, ratio.
    fn best(&self, positive: &[bool], logs: &[f64]) -> (usize, u64, u64, f64) {
        let (all_n, all_c) = (positive.len() as u64, positive.iter().filter(|p| **p).count() as u64);
        let mut best = (0, 0, 0, 0.0);
        for centre in 0..positive.len() {
            let (mut c, mut n) = (0, 0);
            for k in self.first[centre]..self.first[centre + 1] {
                n += 1;
                c += u64::from(positive[self.order[k] as usize]);
                if self.ends_here[k] {
                    let ratio = ratio_by(c, n, all_c, all_n, &|x| logs[x as usize]);
                    if ratio > best.3 + 1e-12 {
                        best = (centre, n, c, ratio);
                    }
                }
            }
        }
        best
    }
}

/// The circle, centred on one of the inspected premises, up to `largest` metres and half of them, in which positives crowd
/// most; its p by reshuffling which premises are positive. `None` when none or all are positive, or no circle has a higher
/// rate than the rest.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// Kulldorff (1997), as for [`scan_ratio`]; p = rank / (reshuffles + 1).
pub fn bernoulli_scan(
    places: &[Local],
    positive: &[bool],
    largest: f64,
    reshuffles: u32,
    seed: u64,
    watch: &dyn Watch,
) -> Result<Option<ScanCluster>, Cancelled> {
    watch.step("Looking for a crowd of positives", 0, u64::from(reshuffles))?;
    let circles = Circles::of(places, largest);
    let logs: Vec<f64> = (0..=places.len()).map(|n| x_ln_x(n as f64)).collect();
    let (centre, seen, found, ratio) = circles.best(positive, &logs);
    if ratio <= 0.0 {
        return Ok(None);
    }
    let as_good = (0..u64::from(reshuffles)).into_par_iter().map(|part| {
        watch.step("Looking for a crowd of positives", part, u64::from(reshuffles))?;
        let mut labels = positive.to_vec();
        Chance::for_part(seed, part).shuffle(&mut labels);
        Ok(u64::from(circles.best(&labels, &logs).3 >= ratio - 1e-9))
    });
    let rank = 1 + as_good.sum::<Result<u64, Cancelled>>()?;
    let last = circles.order[circles.first[centre] + seen as usize - 1];
    let radius = places[centre].distance(places[last as usize]);
    Ok(Some(ScanCluster { centre, radius, seen, positive: found, ratio, p: rank as f64 / f64::from(reshuffles + 1) }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    fn grid() -> Vec<Local> {
        (0..400).map(|i| Local { x: f64::from(i % 20) * 20.0, y: f64::from(i / 20) * 20.0 }).collect()
    }

    /// Ratios worked out by the formula in Python 3 (the project's science notes, 6.4).
    #[test]
    fn ratios() {
        assert!((scan_ratio(5, 5, 20, 200) - 12.134_667).abs() < 1e-6);
        assert!((scan_ratio(12, 60, 20, 200) - 4.327_896).abs() < 1e-6);
    }

    #[test]
    fn a_crowd_is_found_and_chance_is_not_believed() {
        let places = grid();
        let middle = Local { x: 100.0, y: 240.0 };
        let crowd: Vec<bool> = places.iter().enumerate().map(|(i, p)| p.distance(middle) < 45.0 || i % 37 == 0).collect();
        let found = bernoulli_scan(&places, &crowd, 200.0, 99, 1, &Unwatched).unwrap().unwrap();
        assert!(places[found.centre].distance(middle) <= 20.0 && found.p == 0.01, "{found:?}");
        assert_eq!(Some(found), bernoulli_scan(&places, &crowd, 200.0, 99, 1, &Unwatched).unwrap());
        let even: Vec<bool> = (0..400).map(|i| (i % 20 + i / 20) % 2 == 0).collect();
        let told = bernoulli_scan(&places, &even, 200.0, 99, 1, &Unwatched).unwrap();
        assert!(told.is_none_or(|c| c.p > 0.2), "{told:?}");
        assert_eq!(bernoulli_scan(&places, &[false; 400], 200.0, 9, 1, &Unwatched).unwrap(), None);
    }
}
