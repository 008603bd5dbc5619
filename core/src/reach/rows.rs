//! The reach and its gaps as rows to hand out.

use super::{Gap, Ground, Wanted};
use crate::files::{Column, Drawn, Features, Values};
use crate::survey::{PremiseId, Strings, Survey};
use std::sync::Arc;

/// The gaps as rows, ranked from 1 in their order, each with its outline: `rank, parcel_id, block_id, address, reason,
/// attempts, last_attempt, sources_in_reach, nearest_source_m, shares_fence, probability`. The probability is what `chance`
/// says of a premise; empty where it was not foreseen. What the mask of cases hides is empty.
pub fn gap_rows(survey: &Survey, gaps: &[Gap], chance: impl Fn(PremiseId) -> Option<f64>) -> Features {
    let premises = &survey.premises;
    let order: Vec<u32> = gaps.iter().map(|g| g.premise.0).collect();
    let blocks: Strings = gaps.iter().map(|g| block_id(survey, g)).collect();
    let columns = vec![
        Column::whole("rank", (1..=gaps.len() as i64).map(Some)),
        Column { name: "parcel_id", values: Values::Text(premises.parcel_id.reordered(&order)) },
        Column::text("block_id", blocks.iter()),
        Column { name: "address", values: Values::Text(premises.address.reordered(&order)) },
        Column::text("reason", gaps.iter().map(|g| g.reason.word())),
        Column::whole("attempts", gaps.iter().map(|g| Some(g.attempts.into()))),
        Column::day("last_attempt", gaps.iter().map(|g| g.last_attempt)),
        Column::whole("sources_in_reach", gaps.iter().map(|g| (!g.masked()).then_some(g.sources_in_reach.into()))),
        Column::number("nearest_source_m", 3, gaps.iter().map(|g| (!g.masked()).then_some(g.nearest_source.0))),
        Column::text("shares_fence", gaps.iter().map(fence)),
        Column::number("probability", 6, gaps.iter().map(|g| chance(g.premise))),
    ];
    let outlines = Arc::new(premises.outline.reordered(&order));
    Features::new("gaps", "Premises inside the reach that were not inspected", columns).drawn(survey.frame, Drawn::Outlines, outlines)
}

/// Whether a gap shares a fence with a source, in a word; empty where the mask of cases hides it.
pub(crate) fn fence(gap: &Gap) -> &'static str {
    match gap.shares_fence {
        _ if gap.masked() => "",
        true => "yes",
        false => "no",
    }
}

fn block_id<'a>(survey: &'a Survey, gap: &Gap) -> &'a str {
    survey.premises.block[gap.premise.row()].map_or("", |b| survey.blocks.block_id.get(b.row()))
}

/// The reach as one row: `drawn_round, radius_m, measured_from, sources, area_m2`, and its ground.
pub fn ground_rows(survey: &Survey, ground: &Ground, sources: usize, wanted: &Wanted) -> Features {
    let columns = vec![
        Column::text("drawn_round", [wanted.from.word()]),
        Column::number("radius_m", 3, [Some(wanted.radius.0)]),
        Column::text("measured_from", [wanted.measure_from.word()]),
        Column::whole("sources", [Some(sources as i64)]),
        Column::number("area_m2", 1, [Some(ground.area.0)]),
    ];
    let shape = Arc::new(ground.shapes.clone());
    Features::new("reach", "Ground inside flight range of the sources", columns).drawn(survey.frame, Drawn::Outlines, shape)
}
