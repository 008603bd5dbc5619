//! How many doors.

use super::{Row, each};
use serde_json::{Value, json};
use yardring_core::measure::{
    Stopping, among, doors_to_estimate, doors_to_find, doors_to_find_without_end, found_in_visits, krejcie_morgan, positives_at,
};

const IDS: &[&str] = &["CV054", "CV055", "CV056", "CV058", "CV059", "CV061", "CV063", "CV064", "CV066", "CV067", "CV069", "CV133", "CV135"];

fn found(row: &Row) -> Value {
    match row.id {
        "CV054" => json!({ "n0": doors_to_estimate(row.number("p"), row.number("within"), row.number("confidence")) }),
        "CV055" => {
            // The row says nothing of a confidence: 95 %.
            let n = among(doors_to_estimate(row.number("p"), row.number("within"), 0.95), row.whole("premises"));
            json!({ "n": n, "doors": n.ceil() })
        }
        "CV056" | "CV069" => json!({ "n": row.wholes("premises").into_iter().map(krejcie_morgan).collect::<Vec<_>>() }),
        "CV066" => {
            let doors = |share| doors_to_find_without_end(share, row.number("confidence"));
            json!({ "doors": row.numbers("at_least").into_iter().map(doors).collect::<Vec<_>>() })
        }
        "CV067" => {
            let (premises, positives) = (row.whole("premises"), row.whole("positives"));
            json!({ "doors": doors_to_find(premises, positives, row.number("sensitivity"), row.number("confidence")) })
        }
        "CV133" => {
            let plan = Stopping::between(row.number("p0"), row.number("p1"), row.number("alpha"), row.number("beta"));
            json!({ "slope": plan.slope, "upper": plan.upper, "lower": plan.lower, "straight_negatives": plan.clear_after() })
        }
        "CV135" => json!({ "share": found_in_visits(row.number("sensitivity"), row.whole("visits") as u32) }),
        _ => {
            let premises = row.whole("premises");
            json!({ "doors": doors_to_find(premises, positives_at(premises, row.number("at_least")), 1.0, row.number("confidence")) })
        }
    }
}

/// Goes through the rows.
pub fn rows() {
    each(IDS, |row| row.holds(found(row)));
}

#[test]
fn how_many_doors() {
    rows();
}
