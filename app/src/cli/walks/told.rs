//! A planned day in words and in machine text.

use super::super::sheet::objects;
use super::{Answer, Walks};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::path::PathBuf;
use yardring_core::place::{Local, LonLat};
use yardring_core::survey::Survey;
use yardring_core::survey::calendar::clock_words;
use yardring_core::walks::by_hand::Ways;
use yardring_core::walks::{AtStreets, CrewWalk, Day, Door, FoundBy, Pause, own_worth, walk_rows};

/// The day in a few lines: one for each crew, what is left out and why, what one more crew would add.
pub fn words(asked: &Walks, survey: &Survey, answer: &Answer, written: Option<&[PathBuf]>) -> String {
    let (planned, day) = (&answer.planned, &answer.planned.day);
    let mut out = format!("{}: {}, at most {} from {}\n", day.on, many(day.walks.len(), "crew"), hours(day.shift_minutes), clock(day, 0.0));
    out.push_str(&pauses(day));
    out.extend(answer.heat.iter().map(|heat| format!("{heat}\n")));
    answer.cautions.iter().for_each(|c| out.push_str(&format!("{c}\n")));
    out.push_str(&crew_lines(day));
    if let Some((doors, earlier)) = answer.left_over {
        out.push_str(&format!("{} come over from {earlier}, each with its reason\n", many(doors, "door")));
    }
    out.push_str(&left_out(day));
    if day.walks.len() > 1 {
        out.push_str(&format!("{}\n", answer.neatness.words()));
    }
    if let Some(more) = day.one_more_crew.filter(|m| m.doors > 0 || m.worth > 0.0) {
        out.push_str(&format!(
            "One more crew: {} more, worth {:.1} beside {:.1} now\n",
            many(more.doors as usize, "door"),
            more.worth,
            worth(day)
        ));
    }
    if planned.looked_at < planned.candidates && planned.candidates > day.doors() {
        out.push_str(&format!("Of {} doors the {} worth most or nearest were looked at\n", planned.candidates, planned.looked_at));
    }
    if let Some(reason) = &answer.refused {
        out.push_str(&format!("No chances are foreseen ({reason}); doors count by the order of the gaps\n"));
    }
    let at_streets = AtStreets::of(day, &*answer.ways).words();
    if !at_streets.is_empty() {
        out.push_str(&format!("{at_streets}\n"));
    }
    out.push_str(&streets(survey, answer));
    out.push_str(&format!("{}\nThe same walks again with --seed {} --effort {}\n", answer.learnt.words(), asked.seed, answer.tries));
    for path in written.unwrap_or_default() {
        out.push_str(&format!("Written to {}\n", path.display()));
    }
    out
}

/// A line for each crew.
pub fn crew_lines(day: &Day) -> String {
    day.walks.iter().enumerate().map(|(i, walk)| crew_line(day, i, walk)).collect()
}

/// Whether streets are torn, and where: the longest groups that nothing joins, and the first short dead ends.
fn streets(survey: &Survey, answer: &Answer) -> String {
    let words = answer.network.words();
    let at = |place: Local| {
        let LonLat { lon, lat } = survey.frame.lon_lat_from_local(place);
        format!("{lon:.5},{lat:.5}")
    };
    let islands: Vec<String> =
        answer.torn.islands.iter().take(PLACES).map(|(place, long)| format!("{} ({long:.0} m)", at(*place))).collect();
    let stubs: Vec<String> = answer.torn.stubs.iter().take(PLACES).map(|place| at(*place)).collect();
    let more = |all: usize| if all > PLACES { format!(" and {} more, in --json", all - PLACES) } else { String::new() };
    let mut out = if words.is_empty() { words } else { format!("{words}\n") };
    for (what, places, all) in
        [("Joined to no other", islands, answer.torn.islands.len()), ("Short dead ends", stubs, answer.torn.stubs.len())]
    {
        if !places.is_empty() {
            out.push_str(&format!("{what}: {}{}\n", places.join(", "), more(all)));
        }
    }
    out
}

/// Places of torn streets that words list.
const PLACES: usize = 3;

fn crew_line(day: &Day, i: usize, walk: &CrewWalk) -> String {
    let shift = day.shift(i);
    let own = walk.own_shift.map_or_else(String::new, |own| format!(" ({} from {})", hours(own.minutes()), clock(day, own.from)));
    if walk.doors.is_empty() {
        return format!("{}{own}: nothing to do\n", walk.crew);
    }
    let musts = walk.doors.iter().filter(|d| d.must).count();
    let wait = if musts > 0 { format!(", {musts} of them cannot wait") } else { String::new() };
    format!(
        "{}{own}: {}{wait}, {:.1} km on foot{}, {}–{}\n",
        walk.crew,
        many(walk.doors.len(), "door"),
        walk.walk_m / 1000.0,
        if walk.drives > 0 { format!(" and {}", many(walk.drives, "drive")) } else { String::new() },
        clock(day, shift.from),
        clock(day, walk.back_after)
    )
}

/// "Break 12:00–12:30, in the shade 13:00–13:15".
fn pauses(day: &Day) -> String {
    let one =
        |p: &Pause| format!("{} {}–{}", if p.heat { "in the shade" } else { "break" }, clock(day, p.from), clock(day, p.from + p.minutes));
    let all: Vec<String> = day.pauses.iter().map(one).collect();
    if all.is_empty() { String::new() } else { format!("Pauses: {}\n", all.join(", ")) }
}

fn left_out(day: &Day) -> String {
    if day.left_out.is_empty() {
        return "No door is left out\n".to_owned();
    }
    let reasons: Vec<String> = by_reason(day).into_iter().map(|(word, n)| format!("{word}: {n}")).collect();
    format!("Left out: {} ({})\n", many(day.left_out.len(), "door"), reasons.join(", "))
}

fn by_reason(day: &Day) -> BTreeMap<&'static str, usize> {
    let mut reasons = BTreeMap::new();
    day.left_out.iter().for_each(|l| *reasons.entry(l.because.word()).or_insert(0) += 1);
    reasons
}

fn worth(day: &Day) -> f64 {
    day.walks.iter().flat_map(|w| &w.doors).map(|d| own_worth(d.worth)).sum()
}

/// "1 door", "2 doors".
pub fn many(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

fn hours(minutes: f64) -> String {
    let whole = minutes.round() as u32;
    match whole % 60 {
        0 => format!("{} h", whole / 60),
        rest => format!("{} h {rest} min", whole / 60),
    }
}

fn clock(day: &Day, minutes: f64) -> String {
    clock_words(day.clock(minutes))
}

/// A door with the word for how it was put at its street; none where there are no streets.
fn with_street(mut told: Value, door: &Door, ways: &dyn Ways) -> Value {
    told["street_by"] = ways.found_by(door.premise).map(FoundBy::word).into();
    told
}

/// The walks of a day as JSON, door by door.
pub fn walks(survey: &Survey, day: &Day, ways: &dyn Ways) -> Vec<Value> {
    let rows = walk_rows(survey, Some(day));
    let mut doors = objects(rows.columns(), rows.rows()).into_iter();
    let mut one = |(i, walk): (usize, &CrewWalk)| {
        let shift = day.shift(i);
        let doors: Vec<Value> = walk.doors.iter().zip(doors.by_ref()).map(|(door, told)| with_street(told, door, ways)).collect();
        json!({
            "crew": walk.crew, "doors": doors, "back": clock(day, walk.back_after), "minutes": walk.back_after - shift.from,
            "leaves": clock(day, shift.from), "shift_minutes": shift.minutes(), "walk_m": walk.walk_m,
            "drives": walk.drives, "cannot_wait": walk.doors.iter().filter(|d| d.must).count(), "locked": walk.locked,
        })
    };
    day.walks.iter().enumerate().map(&mut one).collect()
}

/// The places where streets are torn, in degrees.
fn torn(survey: &Survey, answer: &Answer) -> Value {
    let degrees = |place: Local| survey.frame.lon_lat_from_local(place);
    let at = |place: Local| json!([degrees(place).lon, degrees(place).lat]);
    let island = |(place, metres): &(Local, f64)| json!({ "at": at(*place), "metres": metres });
    json!({ "stubs": answer.torn.stubs.iter().map(|p| at(*p)).collect::<Vec<_>>(),
        "islands": answer.torn.islands.iter().map(island).collect::<Vec<_>>() })
}

/// The day as JSON.
pub fn machine(asked: &Walks, survey: &Survey, answer: &Answer) -> Value {
    let (planned, day, learnt) = (&answer.planned, &answer.planned.day, &answer.learnt);
    let at_streets = AtStreets::of(day, &*answer.ways);
    json!({
        "on": day.on.to_string(), "begins": clock(day, 0.0), "crews": day.walks.len(), "shift_minutes": day.shift_minutes,
        "doors": day.doors(), "worth": worth(day), "walks": walks(survey, day, &*answer.ways),
        "pauses": day.pauses.iter().map(|p| json!({ "from": clock(day, p.from), "minutes": p.minutes, "heat": p.heat })).collect::<Vec<_>>(),
        "left_over": answer.left_over.map_or(0, |(doors, _)| doors),
        "neatness": { "crossings": answer.neatness.crossings, "overlap": answer.neatness.overlap,
            "split_blocks": answer.neatness.split_blocks, "blocks": answer.neatness.blocks, "spread_minutes": answer.neatness.spread_minutes },
        "street_by": FoundBy::ALL.map(|by| (by.word().to_owned(), at_streets.count(by).into())).into_iter().collect::<Map<_, _>>(),
        "candidates": planned.candidates, "looked_at": planned.looked_at,
        "left_out": day.left_out.len(), "left_out_because": by_reason(day),
        "one_more_crew": day.one_more_crew.map(|m| json!({ "doors": m.doors, "worth": m.worth })),
        "minutes": { "inspected": learnt.minutes.complete, "closed": learnt.minutes.closed, "many_containers": learnt.minutes.many,
            "visits": learnt.visits, "closed_share": learnt.closed_share },
        "streets": { "stretches": answer.network.stretches, "junctions": answer.network.junctions, "stubs": answer.network.stubs,
            "islands": answer.network.islands, "island_m": answer.network.island_m, "ends_joined": answer.network.ends_joined,
            "crossings_joined": answer.network.crossings_joined, "torn": torn(survey, answer) },
        "heat": answer.heat, "no_chances": answer.refused, "seed": asked.seed, "tries": answer.tries, "cautions": answer.cautions,
    })
}
