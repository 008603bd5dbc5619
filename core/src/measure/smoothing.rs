//! Rates of small groups drawn towards the rate of all, the more the fewer were seen.

/// How much a rate varies by chance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ByChance {
    /// Few events among many: m/n.
    Poisson,
    /// A share of those seen: m(1 − m)/n. The form for house indices, which are often large.
    Binomial,
}

/// The rate of all groups, how much true rates vary between groups, and how much a rate of one seen varies by chance.
struct Spread {
    mean: f64,
    between: f64,
    within: f64,
}

fn spread(events: &[f64], seen: &[f64], by_chance: ByChance) -> Option<Spread> {
    let all: f64 = seen.iter().sum();
    let groups = seen.iter().filter(|n| **n > 0.0).count() as f64;
    if all <= 0.0 {
        return None;
    }
    let mean = events.iter().sum::<f64>() / all;
    let off: f64 = events.iter().zip(seen).filter(|(_, n)| **n > 0.0).map(|(o, n)| n * (o / n - mean).powi(2)).sum();
    let within = match by_chance {
        ByChance::Poisson => mean,
        ByChance::Binomial => mean * (1.0 - mean),
    };
    Some(Spread { mean, between: off / all - within / (all / groups), within })
}

/// The smoothed rate of each group, from the events and the number seen in it; `None` for a group where nobody was seen.
///
/// # Source
/// R. J. Marshall, Appl. Stat. 40 (1991), 283–294 (global, by moments); the binomial form is M. Martuzzi and P. Elliott,
/// Stat. Med. 15 (1996), 1867–1873; both from memory.
///
/// ```
/// use yardring_core::measure::{ByChance, smoothed_rates};
/// let rates = smoothed_rates(&[0.0, 1.0, 3.0, 9.0, 2.0], &[10.0, 20.0, 15.0, 30.0, 50.0], ByChance::Poisson);
/// assert!((rates[0].unwrap() - 0.071146).abs() < 1e-6);
/// ```
pub fn smoothed_rates(events: &[f64], seen: &[f64], by_chance: ByChance) -> Vec<Option<f64>> {
    let Some(Spread { mean, between, within }) = spread(events, seen, by_chance) else { return vec![None; seen.len()] };
    let between = between.max(0.0);
    let of = |(o, n): (&f64, &f64)| {
        let weight = if between > 0.0 { between / (between + within / n) } else { 0.0 };
        (*n > 0.0).then(|| mean + weight * (o / n - mean))
    };
    events.iter().zip(seen).map(of).collect()
}

/// Rates in units of how much each may vary, for looking at clustering of rates that rest on few; every group must have been
/// seen. `None` when the rates do not vary.
///
/// # Source
/// R. M. Assunção and E. A. Reis, Stat. Med. 18 (1999), 2147–2162, from memory.
pub fn standardised_rates(events: &[f64], seen: &[f64]) -> Option<Vec<f64>> {
    let Spread { mean, between, within } = spread(events, seen, ByChance::Poisson)?;
    let of = |(o, n): (&f64, &f64)| {
        let variance = if between + within / n > 0.0 { between + within / n } else { within / n };
        (o / n - mean) / variance.sqrt()
    };
    let rates: Vec<f64> = events.iter().zip(seen).map(of).collect();
    rates.iter().all(|r| r.is_finite()).then_some(rates)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Second worked set of the project's science notes (esda 2.9.0).
    #[test]
    fn agrees_with_esda() {
        let found = smoothed_rates(&[0.0, 2.0, 12.0, 18.0, 1.0], &[10.0, 20.0, 25.0, 30.0, 50.0], ByChance::Poisson);
        for (found, expected) in found.iter().zip([0.074_753, 0.126_073, 0.444_711, 0.554_475, 0.038_173]) {
            assert!((found.unwrap() - expected).abs() < 1e-6, "{found:?} for {expected}");
        }
        assert_eq!(smoothed_rates(&[0.0, 0.0], &[0.0, 0.0], ByChance::Binomial), [None, None]);
        assert_eq!(smoothed_rates(&[1.0, 0.0], &[2.0, 0.0], ByChance::Binomial), [Some(0.5), None]);
    }

    proptest! {
        #[test]
        fn lies_between_its_own_rate_and_the_rate_of_all(groups in proptest::collection::vec((0u32..30, 1u32..60), 1..40)) {
            let events: Vec<f64> = groups.iter().map(|g| f64::from(g.0.min(g.1))).collect();
            let seen: Vec<f64> = groups.iter().map(|g| f64::from(g.1)).collect();
            let all = events.iter().sum::<f64>() / seen.iter().sum::<f64>();
            for ((o, n), s) in events.iter().zip(&seen).zip(smoothed_rates(&events, &seen, ByChance::Binomial)) {
                let (own, s) = (o / n, s.unwrap());
                prop_assert!(own.min(all) - 1e-12 <= s && s <= own.max(all) + 1e-12);
            }
        }
    }
}
