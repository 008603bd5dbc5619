//! What a sheet says: about the walk as a whole, and about each door. Words only; nothing here knows pages.
//!
//! Signals are not read here at all: that somebody fell ill, and where, stands on no sheet.

use super::HandOut;
use crate::brief::words::{day, grouped};
use crate::survey::calendar::{clock_words, hours_words, weekday_name};
use crate::survey::{ContainerKnowledge, Find, Outcome, PremiseId, Promised, StaysOpen, Survey, Visit, promise_at};
use crate::walks::{CrewWalk, Day, Door, Pause, Supply, carry, left_open};
use jiff::civil::{Date, Time};

/// What a sheet says about one door.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DoorWords {
    /// Its place in the walk, from 1.
    pub number: usize,
    /// The address, or else the parcel id.
    pub name: String,
    /// The parcel id, when it is not the name already.
    pub parcel: String,
    /// When to be there: "08:25", with the promised hours where there are some.
    pub arrive: String,
    /// How far from the door before.
    pub way: String,
    /// Why somebody goes there.
    pub why: String,
    /// Whether it cannot wait for another day.
    pub must: bool,
    /// What was found last.
    pub found: String,
    /// What was left for the householder.
    pub left: String,
    /// What the householder was promised, in the words of the visit.
    pub promised: String,
    /// What to mind.
    pub minds: Vec<String>,
}

/// What a sheet says about the walk as a whole.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WalkWords {
    /// The crew.
    pub crew: String,
    /// The day, with its weekday.
    pub on: String,
    /// Doors, length, when out and back.
    pub extent: String,
    /// Where the walk begins and ends.
    pub meet: String,
    /// What to carry.
    pub carry: Vec<String>,
}

/// Reminders at the head of every sheet.
///
/// # Source
/// The project's product notes, "Cautions it must show", and its science notes, 8.5 (safety list) and 9.2 (refusals).
pub const CAUTIONS: [&str; 6] = [
    "Enter no yard without permission or other lawful authority. Refused: write down why, do not argue, leave.",
    "The product label is the law. Licensed applicators only where the law says so; local codes first. Drinking water and fish ponds are not treated unless the label allows it.",
    "Dogs: knock, call, rattle the gate, wait. Leave when people or animals are threatening.",
    "Ladders only with training and a second person. Look before you reach: needles, sharp rubbish, wasps, snakes.",
    "Heat: water, shade and breaks. Work in pairs.",
    "Drill no container and take no photo without consent.",
];

/// What a sheet says about a crew's walk.
pub fn of_walk(survey: &Survey, planned: &Day, walk: &CrewWalk, what: &HandOut) -> WalkWords {
    let doors = walk.doors.len();
    let back = clock(planned.begins, walk.back_after);
    let leaves = walk.leaves_after();
    let near = nearest(survey, planned).map_or_else(String::new, |name| format!("{name}, "));
    let place = survey.frame.lon_lat_from_local(planned.meeting_point);
    let premises: Vec<PremiseId> = walk.doors.iter().map(|d| d.premise).collect();
    let languages: Vec<&str> = what.languages.iter().map(String::as_str).collect();
    WalkWords {
        crew: walk.crew.clone(),
        on: weekday(planned.on),
        extent: format!(
            "{doors} {} · {:.1} km on foot{} · out {} · back about {back}",
            if doors == 1 { "door" } else { "doors" },
            walk.walk_m / 1000.0,
            if walk.drives > 0 { " and by car" } else { "" },
            clock(planned.begins, leaves)
        ),
        meet: format!("{near}{:.5}, {:.5}, at {}.{}", place.lat, place.lon, clock(planned.begins, leaves), pauses(planned, walk)),
        carry: carry(survey, what.round, &premises, &languages).iter().map(supply).collect(),
    }
}

/// "near 12 Kettle Lane": the address nearest to the meeting point, when one is within 200 m.
fn nearest(survey: &Survey, planned: &Day) -> Option<String> {
    let here = crate::place::Bounds::of(&[planned.meeting_point]);
    let outlines = survey.premises.outline.bounds().iter().enumerate().filter(|(_, b)| !b.is_empty());
    let named = outlines.filter(|(i, _)| !survey.premises.address.get(*i).is_empty());
    let (row, far) = named.map(|(i, b)| (i, b.distance(&here))).min_by(|a, b| a.1.total_cmp(&b.1))?;
    (far < 200.0).then(|| format!("near {}", survey.premises.address.get(row)))
}

/// "notices, English: 12"; "water to treat, by the label's rate: 120 L".
pub fn supply(s: &Supply) -> String {
    let amount = if s.amount.fract() == 0.0 { grouped(s.amount as u64) } else { format!("{:.1}", s.amount) };
    let unit = if s.unit.is_empty() { String::new() } else { format!(" {}", s.unit) };
    format!("{}: {amount}{unit}", s.what)
}

/// What a sheet says about a walk's doors.
pub fn of_doors(survey: &Survey, planned: &Day, walk: &CrewWalk) -> Vec<DoorWords> {
    let known = ContainerKnowledge::of(survey);
    walk.doors.iter().enumerate().map(|(i, door)| of_door(survey, &known, planned, door, i + 1)).collect()
}

fn of_door(survey: &Survey, known: &ContainerKnowledge, planned: &Day, door: &Door, number: usize) -> DoorWords {
    let row = door.premise.row();
    let (address, id) = (survey.premises.address.get(row), survey.premises.parcel_id.get(row));
    let named = !address.is_empty();
    let promised = |hours| format!(", promised {}", promised_hours(planned.begins, hours));
    DoorWords {
        number,
        name: if named { address.to_owned() } else { format!("parcel {id}") },
        parcel: if named { format!("parcel {id}") } else { String::new() },
        arrive: clock(planned.begins, door.arrive) + &door.promised.map_or_else(String::new, promised),
        way: way(door),
        why: door.why.words.clone(),
        must: door.must,
        found: last_found(survey, door.premise),
        left: left(survey, known, door.premise),
        promised: said(survey, door.premise),
        minds: minds(survey, door.premise),
    }
}

/// Promised minutes after the beginning, as hours of the day.
fn promised_hours(begins: Time, (from, to): (f64, f64)) -> String {
    hours_words((crate::walks::clock(begins, from), crate::walks::clock(begins, to)))
}

/// How to get there from the door before: "after 60 m", "same spot", "by car".
fn way(door: &Door) -> String {
    match (door.by_car, door.walk_m < 5.0) {
        (true, true) => "by car".to_owned(),
        (true, false) => format!("{:.0} m back to the car, then drive", door.walk_m),
        (false, true) => "same spot".to_owned(),
        (false, false) => format!("after {:.0} m", door.walk_m),
    }
}

/// "Break 12:00–12:30. In the shade 13:00–13:15." for the pauses that fall into the walk.
fn pauses(planned: &Day, walk: &CrewWalk) -> String {
    // A pause that would begin at the last door or after it is made at home: the clock of the walk has none either.
    let last = walk.doors.last().map_or(0.0, |door| door.arrive);
    let leaves = walk.leaves_after();
    let made = planned.pauses.iter().filter(|p| p.from >= leaves && p.from <= last);
    let one = |p: &Pause| {
        let until = clock(planned.begins, p.from + p.minutes);
        format!(" {} {}–{until}.", if p.heat { "In the shade" } else { "Break" }, clock(planned.begins, p.from))
    };
    made.map(one).collect()
}

/// "7 July 2025, inspected: 1 × bird bath, 1 wet, larvae in 1 (L4), emptied; …": the latest visit with finds that matter; before any,
/// the latest visit.
fn last_found(survey: &Survey, premise: PremiseId) -> String {
    let visits = survey.visits.at(premise);
    let Some(last) = visits.last() else { return "nobody has been here yet".to_owned() };
    let looked = visits.iter().rev().find(|v| matches!(v.outcome, Outcome::Inspected) || !v.finds.is_empty());
    let tried = visits.len();
    let tries = if tried > 1 { format!(", {tried} visits in all") } else { String::new() };
    match looked {
        None => format!("{}, {}{tries}; never inspected", moment(last), last.outcome),
        Some(visit) => {
            let finds = survey.visits.finds_of(visit);
            let told: Vec<String> = finds.iter().filter(|f| f.wet > 0 || f.remains).map(|f| find(survey, f)).collect();
            let told = if told.is_empty() { "nothing held water".to_owned() } else { told.join("; ") };
            let since = if visit.when == last.when { String::new() } else { format!("; {} {}", last.outcome, moment(last)) };
            format!("{}, {}: {told}{since}", day(visit.when.day), outcome(visit))
        }
    }
}

/// When a visit was, with its weekday, and its hour where that was written down: "Mon 14 July 2025, 08:50".
fn moment(visit: &Visit) -> String {
    let at = visit.when.time.map_or_else(String::new, |time| format!(", {}", clock_words(time)));
    format!("{} {}{at}", &weekday_name(visit.when.day.weekday())[..3], day(visit.when.day))
}

fn outcome(visit: &Visit) -> &'static str {
    visit.outcome.word()
}

fn find(survey: &Survey, f: &Find) -> String {
    let mut text = format!("{} × {}, {} wet", f.count, survey.kind_name(f.kind), f.wet);
    if f.with_larvae > 0 {
        text += &format!(", larvae in {}", f.with_larvae);
    }
    if f.has_pupae() {
        text += &format!(", pupae in {}", f.with_pupae.max(1));
    }
    if let Some(stage) = f.stage.filter(|_| f.positive() > 0) {
        text += &format!(" ({stage})");
    }
    f.action.map_or(text.clone(), |a| format!("{text}, {a}"))
}

/// What is still open by the district's table of containers, and why: promised by the householder, left standing in water, or
/// turned over though it holds water all the same.
fn left(survey: &Survey, known: &ContainerKnowledge, premise: PremiseId) -> String {
    let open = left_open(survey, known, premise);
    let why = |f: &Find| {
        let reason = ContainerKnowledge::stays_open(known.what_to_do(survey.kind_name(f.kind)), f);
        reason.map(|r| if f.remains { StaysOpen::Promised } else { r })
    };
    let headed = [
        (StaysOpen::Promised, "left for the householder"),
        (StaysOpen::LeftStanding, "water left standing"),
        (StaysOpen::HoldsUpsideDown, "turned over, but holds water upside down"),
    ];
    let parts = headed.into_iter().filter_map(|(reason, words)| {
        let of: Vec<String> = open.iter().filter(|f| why(f) == Some(reason)).map(|f| open_find(survey, known, f)).collect();
        (!of.is_empty()).then(|| format!("{words}: {}", of.join(", ")))
    });
    parts.collect::<Vec<_>>().join("; ")
}

/// "2 × tarp (clear so it drains, or store inside)"
fn open_find(survey: &Survey, known: &ContainerKnowledge, f: &Find) -> String {
    let kind = survey.kind_name(f.kind);
    let to_do = known.what_to_do(kind).map_or_else(String::new, |k| format!(" ({})", k.to_do_words()));
    format!("{} × {kind}{to_do}", f.count.max(1))
}

/// "Saturday after five, said on 21 July 2025": the promise that stands, in the words of its visit; or what was written down last that nobody
/// can read as a day or an hour.
fn said(survey: &Survey, premise: PremiseId) -> String {
    let visit = survey.visits.at(premise).iter().rev().find(|v| !v.promise().is_empty());
    let over = |v: &&Visit| promise_at(&survey.visits, premise).is_none() && Promised::read(v.promise(), v.when.day).is_some();
    let visit = visit.filter(|v| !over(v));
    visit.map_or_else(String::new, |v| format!("{}, said on {}", v.promise(), day(v.when.day)))
}

/// What earlier visits say to mind: dogs and other cautions, refusals, locked gates, danger, vacancy, each with its latest day.
fn minds(survey: &Survey, premise: PremiseId) -> Vec<String> {
    let told = |outcome: Outcome, words: &str| {
        let visit = survey.visits.at(premise).iter().rev().find(|v| v.outcome == outcome)?;
        Some(words.replace("{}", &day(visit.when.day)))
    };
    let all = [
        told(Outcome::Unsafe, "unsafe on {}: go in pairs, leave when in doubt"),
        told(Outcome::Refused, "refused on {}: ask once more, do not argue"),
        told(Outcome::LockedGate, "gate locked on {}: ask for access"),
        told(Outcome::Vacant, "vacant on {}: no entry without authority"),
    ];
    let noted = survey.visits.cautions(premise).into_iter().map(|(text, on)| format!("{text}, noted {}", day(on)));
    noted.chain(all.into_iter().flatten()).collect()
}

/// Whether a name says that there is a case: such a name stands on nothing that leaves the office.
pub fn names_a_case(name: &str) -> bool {
    const WORDS: [&str; 4] = ["case", "cases", "caso", "casos"];
    name.split(|c: char| !c.is_alphabetic()).any(|word| WORDS.contains(&word.to_lowercase().as_str()))
}

/// A time of day some minutes after another: "08:25".
pub fn clock(begins: Time, minutes: f64) -> String {
    clock_words(crate::walks::clock(begins, minutes))
}

/// A day with its weekday: "Thursday 24 July 2025".
pub fn weekday(on: Date) -> String {
    format!("{} {}", weekday_name(on.weekday()), day(on))
}

#[cfg(test)]
mod tests {
    use super::super::made_up;
    use super::*;
    use jiff::civil::{date, time};

    #[test]
    fn times_and_days_are_said_as_people_say_them() {
        assert_eq!((clock(time(8, 0, 0, 0), 25.4), clock(time(8, 0, 0, 0), 359.6)), ("08:25".to_owned(), "14:00".to_owned()));
        assert_eq!(clock(time(23, 50, 0, 0), 15.0), "00:05");
        // From eight in the morning to the last minute of the day, and from its first to noon.
        let open = [(60.0, 959.0), (-480.0, 240.0), (60.0, 120.0)].map(|hours| promised_hours(time(8, 0, 0, 0), hours));
        assert_eq!(open, ["after 09:00", "before 12:00", "09:00–10:00"]);
        // 24 July 2025 was a Thursday (any calendar).
        assert_eq!(weekday(date(2025, 7, 24)), "Thursday 24 July 2025");
    }

    #[test]
    fn a_door_tells_why_what_was_found_and_what_is_open() {
        let (survey, day) = made_up::day();
        let doors = of_doors(&survey, &day, &day.walks[0]);
        let first = &doors[0];
        assert_eq!((first.number, first.name.as_str(), first.arrive.as_str()), (1, "2 Kettle Lane", "08:02"));
        assert_eq!(
            first.found,
            "7 July 2025, inspected: 2 × tarp, 2 wet, larvae in 1 (L4), left; 1 × barrel, 1 wet, emptied; no answer Mon 14 July 2025"
        );
        assert_eq!(first.left, "left for the householder: 2 × tarp (clear so it drains, or store inside)");
        assert!(first.must);
        assert_eq!(
            (first.promised.as_str(), first.minds.as_slice()),
            ("Saturday after five, said on 14 July 2025", &["dog, noted 14 July 2025".to_owned()][..])
        );
        let second = &doors[1];
        assert_eq!(second.found, "Mon 14 July 2025, refused; never inspected");
        assert_eq!(second.minds, ["refused on 14 July 2025: ask once more, do not argue"]);
        assert_eq!(doors[2].found, "nobody has been here yet");
        assert_eq!(doors[2].arrive.split(',').nth(1), Some(" promised 09:00–10:00"));
        assert_eq!(doors[3].name, "parcel QM-3");
    }

    #[test]
    fn the_walk_tells_its_extent_its_place_and_what_to_carry() {
        let (survey, day) = made_up::day();
        let walk = of_walk(&survey, &day, &day.walks[0], &made_up::hand_out());
        assert!(walk.extent.starts_with("12 doors · ") && walk.extent.contains("out 08:00"), "{}", walk.extent);
        assert!(
            walk.meet.starts_with("near 2 Kettle Lane, 29.4") && walk.meet.ends_with(", at 08:00. Break 09:00–09:30."),
            "{}",
            walk.meet
        );
        let mut late = day.clone();
        late.walks[0].own_shift = Some(crate::walks::Shift { from: 90.0, until: 330.0 });
        let words = of_walk(&survey, &late, &late.walks[0], &made_up::hand_out());
        assert!(words.extent.contains("out 09:30") && words.meet.ends_with(", at 09:30."), "{} {}", words.extent, words.meet);
        assert!(walk.carry.contains(&"notices, English: 12".to_owned()) && walk.carry.contains(&"notices, Spanish: 12".to_owned()));
    }
}
