//! Foreseen chances as rows to hand out.

use super::Foreseen;
use crate::files::{Column, Drawn, Features, Values};
use crate::survey::Survey;
use std::sync::Arc;

/// The chances as rows, in the order of parcel ids, each with its outline: `parcel_id, probability, low, high,
/// neighbours_used`. The numbers are empty where nothing may be foreseen.
pub fn chance_rows(survey: &Survey, foreseen: &Foreseen) -> Features {
    let premises = &survey.premises;
    let mut chances = foreseen.chances.clone();
    chances.sort_by(|a, b| {
        let id = |c: &super::Chance| premises.parcel_id.get(c.premise.row());
        id(a).cmp(id(b)).then(a.premise.cmp(&b.premise))
    });
    let order: Vec<u32> = chances.iter().map(|c| c.premise.0).collect();
    let shown = foreseen.refusal.is_none();
    let number = |name, of: fn(&super::Chance) -> f64| Column::number(name, 6, chances.iter().map(|c| shown.then_some(of(c))));
    let columns = vec![
        Column { name: "parcel_id", values: Values::Text(premises.parcel_id.reordered(&order)) },
        number("probability", |c| c.probability),
        number("low", |c| c.low),
        number("high", |c| c.high),
        Column::whole("neighbours_used", chances.iter().map(|c| shown.then_some(i64::from(c.neighbours)))),
    ];
    let outlines = Arc::new(premises.outline.reordered(&order));
    Features::new("foreseen", "Chance that a yard nobody has seen is positive", columns).drawn(survey.frame, Drawn::Outlines, outlines)
}
