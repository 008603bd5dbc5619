//! Clustering, held against esda 2.9.0 and libpysal 4.14.1 on three open data sets (script and table in `oracles`).

use super::{Row, each};
use serde_json::{Value, json};
use yardring_core::measure::{ByChance, Nearby, believed, gi, gi_star, local_moran, moran, scan_ratio, smoothed_rates, standardised_rates};
use yardring_core::place::Local;

const IDS: &[&str] = &["CV100", "CV101", "CV103", "CV104", "CV106", "CV107", "CV108", "CV110"];

/// One data set of the oracle table.
struct Data {
    values: Vec<f64>,
    base: Vec<f64>,
    nearby: Nearby,
    local: Vec<f64>,
    star: Vec<f64>,
    smoothed: Vec<f64>,
}

impl Data {
    fn named(name: &str) -> Self {
        let lines = include_str!("../../oracles/clusters.tsv").lines();
        let rows: Vec<Vec<&str>> = lines.map(|l| l.split('\t').collect()).filter(|r: &Vec<&str>| r[0] == name).collect();
        let column = |k: usize| -> Vec<f64> { rows.iter().filter_map(|r| r[k].parse().ok()).collect() };
        let lists: Vec<Vec<u32>> = rows.iter().map(|r| r[4].split(' ').filter_map(|n| n.parse().ok()).collect()).collect();
        let nearby = Nearby::from_lists(&lists);
        Self { values: column(2), base: column(3), nearby, local: column(5), star: column(6), smoothed: column(7) }
    }

    fn rates(&self) -> Vec<f64> {
        if self.base.is_empty() {
            return self.values.clone();
        }
        self.values.iter().zip(&self.base).map(|(o, n)| o / n).collect()
    }
}

fn found(row: &Row) -> Value {
    match row.id {
        "CV100" => {
            let data = Data::named("columbus");
            let found = moran(&data.values, &data.nearby).unwrap();
            // The row prints six and five decimals; every decimal is held below.
            json!({ "i": found.i, "z_norm": (1e5 * found.score.z).round() / 1e5 })
        }
        "CV101" => {
            let data = Data::named("stlouis");
            let found = moran(&data.values, &data.nearby).unwrap();
            json!({ "i": found.i, "p_norm": found.score.p })
        }
        "CV103" | "CV104" => {
            let places: Vec<Local> = row.numbers("points").chunks(2).map(|p| Local { x: p[0], y: p[1] }).collect();
            let nearby = Nearby::points(&places, row.number("band"));
            let y = row.numbers("y");
            let scores = if row.id == "CV103" { gi(&y, &nearby) } else { gi_star(&y, &nearby) };
            json!({ "z": scores.iter().map(|s| s.unwrap().z).collect::<Vec<_>>() })
        }
        "CV106" => json!({ "rate": smoothed_rates(&row.numbers("o"), &row.numbers("n"), ByChance::Poisson) }),
        "CV107" => {
            let data = Data::named("sids");
            let rates = standardised_rates(&data.values, &data.base).unwrap();
            json!({ "i": moran(&rates, &data.nearby).unwrap().i })
        }
        "CV108" => json!({ "llr": scan_ratio(row.whole("c"), row.whole("n"), row.whole("total_c"), row.whole("total_n")) }),
        _ => {
            let p = row.numbers("p");
            let bonferroni = p.iter().filter(|v| **v <= 0.05 / p.len() as f64).count();
            json!({ "benjamini_hochberg": believed(&p, 0.05).iter().filter(|b| **b).count(), "bonferroni": bonferroni })
        }
    }
}

/// Goes through the rows.
pub fn rows() {
    each(IDS, |row| row.holds(found(row)));
}

#[test]
fn clusters_and_smoothing() {
    rows();
}

/// Whole data sets to twelve figures, as esda gives them.
#[test]
fn whole_data_sets_agree_with_esda() {
    let sets = [
        ("columbus", 0.500_188_557_182_861_1, 5.630_312_787_738_188),
        ("stlouis", 0.243_655_826_217_716_95, 3.641_097_183_545_746),
        ("sids", 0.166_557_482_565_658_44, 2.641_236_090_090_456_6),
    ];
    for (name, i, z) in sets {
        let data = Data::named(name);
        let found = moran(&data.rates(), &data.nearby).unwrap();
        assert!((found.i - i).abs() < 1e-11 && (found.score.z - z).abs() < 1e-9, "{name}: {found:?}");
    }
}

/// Every unit of the three data sets: local Moran's I, Gi* and smoothed rates.
#[test]
fn every_unit_agrees_with_esda() {
    for (name, units) in [("columbus", 49), ("stlouis", 78), ("sids", 100)] {
        let data = Data::named(name);
        let rates = data.rates();
        assert_eq!(rates.len(), units);
        let near = |found: f64, expected: f64, what: &str| {
            assert!((found - expected).abs() < 1e-6 * expected.abs().max(1.0), "{name} {what}: {found} for {expected}");
        };
        local_moran(&rates, &data.nearby).unwrap().iter().zip(&data.local).for_each(|(f, e)| near(*f, *e, "local I"));
        gi_star(&rates, &data.nearby).iter().zip(&data.star).for_each(|(f, e)| near(f.unwrap().z, *e, "Gi*"));
        let smoothed = smoothed_rates(&data.values, &data.base, ByChance::Poisson);
        smoothed.iter().zip(&data.smoothed).for_each(|(f, e)| assert!((f.unwrap() - e).abs() < 1e-9, "{name}: {f:?} for {e}"));
    }
}
