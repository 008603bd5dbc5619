//! Days until adults fly.

use super::{Row, each};
use serde_json::{Value, json};
use yardring_core::foresee::{
    ALBOPICTUS_LARVA, ALBOPICTUS_LARVA_FEMALE, ALBOPICTUS_PUPA, ALBOPICTUS_PUPA_FEMALE, Briere, DegreeDays, SharpeDeMichele, first_adult,
};

const IDS: &[&str] = &["CV084", "CV085", "CV086", "CV088", "CV089", "CV090", "CV092", "CV093", "CV095", "CV097"];

fn found(row: &Row) -> Value {
    let days = |of: &dyn Fn(f64) -> Option<f64>| json!({ "days": row.numbers("celsius").into_iter().map(of).collect::<Vec<_>>() });
    match row.id {
        "CV084" => {
            let whole = DegreeDays { needed: row.number("k"), threshold: row.number("threshold") };
            days(&|t| whole.days(t))
        }
        "CV085" => days(&|t| Some(ALBOPICTUS_LARVA.days(t)? + ALBOPICTUS_PUPA.days(t)?)),
        "CV086" => json!({ "days": ALBOPICTUS_LARVA_FEMALE.days(25.0).unwrap() + ALBOPICTUS_PUPA_FEMALE.days(25.0).unwrap() }),
        "CV090" => {
            let model = Briere { c: row.number("c"), t0: row.number("t0"), tm: row.number("tm") };
            days(&|t| model.days(t))
        }
        "CV092" => json!({ "rate": row.numbers("celsius").into_iter().map(|t| Briere::ALBOPICTUS.rate(t)).collect::<Vec<_>>() }),
        "CV093" => {
            let model = SharpeDeMichele {
                rho25: row.number("rho25_per_day"),
                activation: row.number("dHA"),
                half_hot: row.number("T_half_H"),
                heat: row.number("dHH"),
            };
            days(&|t| model.days(t))
        }
        _ => {
            let first =
                first_adult(row.text("species").parse().unwrap(), row.text("stage").parse().unwrap(), row.number("celsius")).unwrap();
            json!({ "earliest": first.earliest, "likely": first.likely, "latest": first.latest })
        }
    }
}

/// What was observed is not what a line through degree-days says: the bias that the program states. At 30 °C the observed
/// 8.8 days of *albopictus* lie within two days of the models; at 15 and 35 °C the degree-days of *aegypti* promise too much.
fn observed(row: &Row) {
    let seen = super::flat(&row.expected["days"]);
    let line = DegreeDays { needed: 181.2, threshold: 8.3 };
    match row.id {
        "CV088" => assert!(Briere::ALBOPICTUS.days(row.number("celsius")).is_some_and(|d| (d - seen[0]).abs() < 2.0), "{}", row.id),
        _ => row.numbers("celsius").into_iter().zip(seen).for_each(|(t, seen)| assert!(line.days(t).unwrap() < seen, "{} {t}", row.id)),
    }
}

/// Goes through the rows.
pub fn rows() {
    each(IDS, |row| if matches!(row.id, "CV088" | "CV089") { observed(row) } else { row.holds(found(row)) });
}

#[test]
fn days_until_adults() {
    rows();
}
