//! Intervals, and change between rounds.

use super::{Row, each};
use serde_json::{Value, json};
use yardring_core::measure::{
    Interval, Paired, Yard, abbott, breteau_by_student, clopper_pearson, clustered_ratio, control_adjusted, control_adjusted_interval,
    dispersion_by_likelihood, dispersion_by_moments, upper_when_none, wilson,
};

const IDS: &[&str] = &[
    "CV037", "CV040", "CV041", "CV042", "CV044", "CV045", "CV046", "CV048", "CV050", "CV051", "CV053", "CV070", "CV072", "CV129", "CV130",
    "CV132",
];

fn yards(row: &Row) -> Vec<Yard> {
    let positive = row.wholes("positive");
    let wet = if row.inputs.get("wet").is_some() { row.wholes("wet") } else { positive.clone() };
    wet.into_iter().zip(positive).map(|(wet, positive)| Yard { wet: wet as u32, positive: positive as u32 }).collect()
}

fn ends(interval: Option<Interval>) -> Value {
    let i = interval.unwrap();
    json!({ "low": i.low, "high": i.high })
}

fn found(row: &Row) -> Value {
    match row.id {
        "CV040" | "CV042" | "CV044" => ends(clopper_pearson(row.whole("positive"), row.whole("inspected"), 0.95)),
        "CV045" => ends(wilson(row.whole("positive"), row.whole("inspected")).map(Interval::per_hundred)),
        "CV046" => json!({ "high": upper_when_none(row.whole("inspected"), 0.95) }),
        "CV048" => ends(breteau_by_student(&yards(row))),
        "CV050" => json!({ "k": dispersion_by_likelihood(&yards(row)) }),
        "CV051" => json!({ "k": dispersion_by_moments(&yards(row)) }),
        "CV053" => {
            let (error, effect) = clustered_ratio(&yards(row)).unwrap();
            json!({ "se": 100.0 * error, "design_effect": effect })
        }
        "CV072" => {
            let changed = Paired {
                became_negative: row.whole("became_negative"),
                became_positive: row.whole("became_positive"),
                ..Paired::default()
            };
            json!({ "p": changed.exact_p() })
        }
        "CV129" => {
            let four = row.numbers("c1_t1_c2_t2");
            json!({ "percent": four.chunks(4).map(|n| control_adjusted(n[0], n[1], n[2], n[3])).collect::<Vec<_>>() })
        }
        "CV130" => json!({ "percent": abbott(row.number("living_check"), row.number("living_treated")) }),
        "CV132" => {
            let n = row.numbers("c1_t1_c2_t2");
            ends(control_adjusted_interval(n[0], n[1], n[2], n[3]))
        }
        _ => ends(wilson(row.whole("positive"), row.whole("inspected"))),
    }
}

/// Goes through the rows.
pub fn rows() {
    each(IDS, |row| row.holds(found(row)));
}

#[test]
fn intervals_and_change() {
    rows();
}
