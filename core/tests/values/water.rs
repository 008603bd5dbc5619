//! Water and what a label's rate comes to.

use super::{Row, each};
use serde_json::{Value, json};
use yardring_core::measure::{Amount, LabelRate, RateUnit, Water, WaterShape};
use yardring_core::units::SquareMetres;

const IDS: &[&str] = &["CV117", "CV118", "CV120", "CV122"];

fn found(row: &Row) -> Value {
    let round = || WaterShape::Round { diameter: row.number("diameter_m"), depth: row.number("water_m") }.water().unwrap();
    match row.id {
        "CV117" => json!({ "litres": round().litres }),
        "CV118" => {
            let (bottom, surface) = (2.0 * row.number("bottom_r_m"), 2.0 * row.number("top_r_m"));
            json!({ "litres": WaterShape::Bucket { bottom, surface, depth: row.number("water_m") }.water().unwrap().litres })
        }
        "CV120" => json!({ "litres": round().litres, "us_gallons": round().gallons() }),
        _ => {
            let rate = row.number("mg_per_litre");
            let unit = RateUnit::MilligramsActivePerLitre;
            let label = LabelRate { rate, lowest: rate, highest: rate, unit, active_share: Some(row.number("active_share")) };
            let water = Water { litres: row.number("litres"), surface: SquareMetres(1.0) };
            match label.amount(&water).unwrap() {
                Amount::Grams(grams) => json!({ "grams": grams }),
                Amount::Millilitres(_) => Value::Null,
            }
        }
    }
}

/// Goes through the rows.
pub fn rows() {
    each(IDS, |row| row.holds(found(row)));
}

#[test]
fn water_and_labels() {
    rows();
}
