//! An empty visits table with a row for each door, to be filled in from the sheets and brought in again.

use super::content::names_a_case;
use crate::place::inside;
use crate::survey::{PremiseId, RoundId, Survey};
use crate::walks::Day;
use std::collections::BTreeMap;

/// The columns, as the visits table of the contract names them.
const COLUMNS: [&str; 23] = [
    "visit_id",
    "date",
    "parcel_id",
    "lon",
    "lat",
    "address",
    "outcome",
    "round",
    "crew",
    "time_in",
    "time_out",
    "container_type",
    "count",
    "holds_water",
    "larvae",
    "pupae",
    "pupae_count",
    "stages",
    "litres",
    "action",
    "remains",
    "promise",
    "cautions",
];

/// The table: visit, day, premise, round and crew are filled in, the rest is left to whoever was there. A premise whose id stands
/// for itself alone is named by it; another one by a place inside it, for an id that two premises share would join the larger.
pub fn csv(day: &Day, survey: &Survey, round: Option<RoundId>) -> String {
    let round = round.and_then(|r| survey.rounds.get(r.row())).filter(|r| !names_a_case(&r.name));
    let round = round.map_or_else(|| format!("Walks of {}", day.on), |r| r.name.to_string());
    let shared = shared_ids(day, survey);
    let mut out = COLUMNS.join(",") + "\n";
    for walk in &day.walks {
        for door in &walk.doors {
            let id = survey.premises.parcel_id.get(door.premise.row());
            let alone = !id.is_empty() && shared.get(id).is_none_or(|n| *n < 2);
            let place = if alone { None } else { inside(survey.premises.outline.get(door.premise.row())) };
            let place = place.map(|p| survey.frame.lon_lat_from_local(p));
            let own = alone || place.is_none();
            let degrees = |v: Option<f64>| v.map_or_else(String::new, |d| format!("{d:.8}"));
            let cells = [
                visit_id(day, id, own, door.premise),
                day.on.to_string(),
                if own { id.to_owned() } else { String::new() },
                degrees(place.map(|p| p.lon)),
                degrees(place.map(|p| p.lat)),
                survey.premises.address.get(door.premise.row()).to_owned(),
                String::new(),
                round.clone(),
                walk.crew.clone(),
            ];
            let quoted: Vec<String> = cells.iter().map(|c| cell(c)).collect();
            out += &quoted.join(",");
            out += &",".repeat(COLUMNS.len() - cells.len());
            out.push('\n');
        }
    }
    out
}

/// The id that a premise's row has in the visits table of a day.
pub fn sheet_visit_id(day: &Day, survey: &Survey, premise: PremiseId) -> String {
    let id = survey.premises.parcel_id.get(premise.row());
    let alone = !id.is_empty() && shared_ids(day, survey).get(id).is_none_or(|n| *n < 2);
    visit_id(day, id, alone || inside(survey.premises.outline.get(premise.row())).is_none(), premise)
}

/// The same id for the same door however often the day is planned anew.
fn visit_id(day: &Day, id: &str, own: bool, premise: PremiseId) -> String {
    if own { format!("{}-{id}", day.on) } else { format!("{}-{id}-row{}", day.on, premise.0) }
}

/// How often the ids of the day's doors occur in the survey.
fn shared_ids<'a>(day: &Day, survey: &'a Survey) -> BTreeMap<&'a str, u32> {
    let ids = &survey.premises.parcel_id;
    let mut times: BTreeMap<&str, u32> = day.walks.iter().flat_map(|w| &w.doors).map(|d| (ids.get(d.premise.row()), 0)).collect();
    for id in ids.iter() {
        if let Some(n) = times.get_mut(id) {
            *n += 1;
        }
    }
    times
}

/// A cell, in quotes where it holds a comma, a quote or a line break.
///
/// # Source
/// RFC 4180, section 2.
fn cell(text: &str) -> String {
    let quoted = text.contains([',', '"', '\n', '\r']);
    if quoted { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}
