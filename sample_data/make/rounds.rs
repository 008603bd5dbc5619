//! Three weekly rounds from door to door: who went where, who let them in, and what they found.

use super::county::{Flaw, Parcels};
use super::earth::Earth;
use super::plan::{Plan, Spot, Use, middle};
use super::random::Chance;
use super::yards::{Found, Item, KINDS, items, look};

/// Where mosquitoes breed more than elsewhere: middle and radius on the drawing board.
const HOT: [(Spot, f64); 4] = [([300.0, 235.0], 125.0), ([1350.0, 300.0], 115.0), ([800.0, 770.0], 120.0), ([905.0, 430.0], 95.0)];
/// First day of each round (July 2025) and its working days; the third is still going on.
const ROUNDS: [(u32, u32, f64); 3] = [(7, 5, 1.0), (14, 5, 1.0), (21, 3, 0.60)];

/// One line of the visits table.
pub type Line = [String; 19];

/// What is true of a household, whoever goes there.
struct Household {
    items: Vec<Item>,
    breeds: bool,
    base: f64,
    away: f64,
    gate: f64,
    refuses: f64,
    dog: f64,
}

/// A visit before it is written down.
struct Call {
    round: usize,
    day: u32,
    crew: char,
    lot: usize,
    outcome: &'static str,
    found: Vec<Found>,
}

/// Whether a place lies in one of the hot areas.
pub fn is_hot(p: Spot) -> bool {
    HOT.iter().any(|(c, r)| (p[0] - c[0]).hypot(p[1] - c[1]) <= *r)
}

/// The visits table, header first.
pub fn visits(plan: &Plan, parcels: &Parcels, earth: &Earth, chance: &mut Chance) -> Vec<Line> {
    let mut homes: Vec<Household> = plan.lots.iter().map(|lot| household(chance, middle(&lot.ring), lot.land_use)).collect();
    let mut calls = Vec::new();
    for round in 0..ROUNDS.len() {
        for crew in ['A', 'B', 'C', 'D'] {
            go_round(plan, parcels, chance, &mut homes, (round, crew), &mut calls);
        }
        homes.iter_mut().for_each(|h| week_passes(chance, h));
    }
    calls.sort_by_key(|c| (c.day, c.crew)); // stable: the order along the street stays
    let mut lines = vec![header()];
    for (i, call) in calls.iter().enumerate() {
        write(call, i, (plan, parcels, earth), chance, &mut lines);
    }
    spoil(&mut lines, earth);
    lines
}

fn household(chance: &mut Chance, place: Spot, land_use: Use) -> Household {
    let untidy = chance.between(0.5, 1.5);
    let base = if is_hot(place) { 0.235 } else { 0.04 } * untidy;
    let lived_in = matches!(land_use, Use::SingleFamily | Use::Apartment | Use::LargeLot);
    let often = |chance: &mut Chance, share: f64, high: f64, low: f64| if lived_in && chance.happens(share) { high } else { low };
    Household {
        items: items(chance, if land_use == Use::Apartment { 0.4 } else { untidy }),
        breeds: chance.happens(base),
        base,
        away: often(chance, 0.25, 0.5, 0.09),
        gate: often(chance, 0.06, 0.6, 0.0),
        refuses: often(chance, 0.055, 0.75, 0.0),
        dog: often(chance, 0.02, 0.6, 0.0),
    }
}

/// A week passes: a yard that bred goes on breeding, one that did not may begin.
fn week_passes(chance: &mut Chance, home: &mut Household) {
    home.breeds = if home.breeds { chance.happens(0.85) } else { chance.happens(home.base * 0.35) };
}

/// One crew's doors in one round, in the order of its blocks.
fn go_round(
    plan: &Plan,
    parcels: &Parcels,
    chance: &mut Chance,
    homes: &mut [Household],
    (round, crew): (usize, char),
    calls: &mut Vec<Call>,
) {
    let (first_day, days, share) = ROUNDS[round];
    let doors: Vec<usize> =
        (0..plan.lots.len()).filter(|&i| plan.blocks[plan.lots[i].block].crew == crew && parcels.flaw[i] != Flaw::NoOutline).collect();
    let reach = (doors.len() as f64 * share) as usize;
    for (k, &lot) in doors[..reach].iter().enumerate() {
        if chance.happens(if round == 2 { 0.06 } else { 0.03 }) {
            continue; // walked past
        }
        let working_day = k as u32 * days / reach as u32;
        let mut call = |day: u32, chance: &mut Chance| {
            let outcome = knock(chance, &homes[lot], plan.lots[lot].land_use);
            let found = see(chance, &mut homes[lot], outcome);
            calls.push(Call { round, day, crew, lot, outcome, found });
            outcome
        };
        let outcome = call(first_day + working_day, chance);
        if outcome == "no answer" && working_day + 1 < days && chance.happens(0.4) {
            call(first_day + working_day + 1, chance);
        }
    }
}

fn knock(chance: &mut Chance, home: &Household, land_use: Use) -> &'static str {
    if land_use == Use::VacantLot {
        return if chance.happens(0.5) { "vacant" } else { "inspected" };
    }
    let barriers = [(home.dog, "unsafe"), (home.refuses, "refused"), (home.gate, "locked gate")];
    for (probability, outcome) in barriers {
        if chance.happens(probability) {
            let over = outcome == "locked gate" && chance.happens(0.4);
            return if over { "seen over fence" } else { outcome };
        }
    }
    if chance.happens(home.away) {
        return ["no answer", "front only", "seen over fence"][chance.pick(&[0.7, 0.17, 0.13])];
    }
    if chance.happens(0.006) { "vacant" } else { "inspected" }
}

/// What is found behind a door; where the crew got in, the water is dealt with.
fn see(chance: &mut Chance, home: &mut Household, outcome: &str) -> Vec<Found> {
    match outcome {
        "inspected" => {
            let found = look(chance, &home.items, home.breeds);
            home.breeds = home.breeds && chance.happens(0.3);
            found
        }
        "front only" | "seen over fence" if home.breeds && chance.happens(0.4) => {
            look(chance, &home.items, true).into_iter().filter(|f| f.larvae > 0).collect()
        }
        _ => Vec::new(),
    }
}

fn header() -> Line {
    [
        "visit_id",
        "date",
        "parcel_id",
        "lon",
        "lat",
        "address",
        "outcome",
        "round",
        "crew",
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
    ]
    .map(str::to_owned)
}

/// Writes a visit: most name the parcel, some a point, some the address.
fn write(call: &Call, i: usize, (plan, parcels, earth): (&Plan, &Parcels, &Earth), chance: &mut Chance, lines: &mut Vec<Line>) {
    let lot = &plan.lots[call.lot];
    let way = chance.share();
    let plain = lot.unit.is_none();
    let mut line: Line = Default::default();
    line[0] = format!("V{:05}", i + 1);
    line[1] = format!("2025-07-{:02}", call.day);
    if plain && (way < 0.05 || parcels.flaw[call.lot] == Flaw::RepeatedId) {
        [line[3], line[4]] = earth.degrees(middle(&lot.ring));
    } else if plain && way < 0.08 {
        line[5].clone_from(&parcels.address[call.lot]);
    } else {
        line[2].clone_from(&parcels.id[call.lot]);
    }
    line[6] = call.outcome.to_owned();
    line[7] = format!("Round {}", call.round + 1);
    line[8] = call.crew.to_string();
    if call.found.is_empty() {
        lines.push(line.clone());
    }
    for f in &call.found {
        let mut with = line.clone();
        fill(&mut with, f);
        lines.push(with);
    }
}

fn fill(line: &mut Line, f: &Found) {
    let wet = |text: String| if f.wet > 0 { text } else { String::new() };
    line[9] = KINDS[f.kind].name.to_owned();
    line[10] = f.count.to_string();
    line[11] = f.wet.to_string();
    line[12] = f.larvae.to_string();
    line[13] = f.pupae.to_string();
    line[14] = if f.pupae > 0 { f.pupae_count.to_string() } else { String::new() };
    line[15] = f.stage.to_owned();
    line[16] = wet(f.litres.to_string());
    line[17] = f.action.to_owned();
    line[18] = wet(if f.remains { "yes" } else { "no" }.to_owned());
}

/// Six visits lose their premise: three mistyped ids, two points in the street, one address that nobody has.
fn spoil(lines: &mut [Line], earth: &Earth) {
    let mut single: Vec<usize> = (1..lines.len() - 1).filter(|&i| is_alone(lines, i) && !lines[i][2].is_empty()).collect();
    single.retain(|&i| lines[i][6] != "inspected");
    let step = single.len() / 7;
    for (k, i) in (1..=6).map(|k| (k, single[k * step])) {
        let line = &mut lines[i];
        match k {
            1 | 3 | 5 => line[2] = line[2].replacen("QM-", "QN-", 1),
            2 | 4 => {
                line[2].clear();
                [line[3], line[4]] = earth.degrees([160.0 * k as f64, 560.0 / 3.0]);
            }
            _ => {
                line[2].clear();
                line[5] = "4210 Anvil Street".to_owned();
            }
        }
    }
}

fn is_alone(lines: &[Line], i: usize) -> bool {
    lines[i - 1][0] != lines[i][0] && lines[i + 1][0] != lines[i][0]
}
