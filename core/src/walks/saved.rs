//! A planned day as text that is kept in the survey, and back.

use super::{Because, CrewWalk, Day, Door, LeftOut, Marks, OneMore, Pause, Shift, Supply, Why, WhyKind};
use crate::place::Local;
use crate::survey::{PremiseId, Promised, Survey};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

#[derive(Serialize, Deserialize)]
struct SavedDay {
    on: String,
    begins: String,
    shift_minutes: f64,
    #[serde(default)]
    pauses: Vec<(f64, f64, bool)>,
    #[serde(default)]
    on_foot: bool,
    meeting_point: [f64; 2],
    walks: Vec<SavedWalk>,
    left_out: Vec<SavedLeftOut>,
    one_more_crew: Option<(u32, f64)>,
    #[serde(default)]
    promises: Vec<(SavedPremise, String)>,
    #[serde(default)]
    kept_off: Vec<(usize, String)>,
    #[serde(default)]
    lines: u64,
    #[serde(default)]
    marks: [u64; 4],
}

#[derive(Serialize, Deserialize)]
struct SavedWalk {
    crew: String,
    #[serde(default)]
    own_shift: Option<(f64, f64)>,
    doors: Vec<SavedDoor>,
    path: Vec<[f64; 2]>,
    back_after: f64,
    walk_m: f64,
    #[serde(default)]
    drives: usize,
    supplies: Vec<(String, f64, String)>,
    locked: bool,
}

#[derive(Serialize, Deserialize)]
struct SavedDoor {
    premise: SavedPremise,
    why: SavedWhy,
    at: [f64; 2],
    arrive: f64,
    minutes: f64,
    walk_m: f64,
    #[serde(default)]
    by_car: bool,
    probability: Option<f64>,
    worth: f64,
    must: bool,
    #[serde(default)]
    overdue_days: u32,
    promised: Option<(f64, f64)>,
    locked: bool,
}

#[derive(Serialize, Deserialize)]
struct SavedLeftOut {
    premise: SavedPremise,
    why: SavedWhy,
    worth: f64,
    because: String,
}

/// A premise by its parcel id; of several with the same id the row decides. Rows change when parcels are brought in.
#[derive(Serialize, Deserialize)]
struct SavedPremise(String, u32);

#[derive(Serialize, Deserialize)]
struct SavedWhy(String, String);

const KINDS: [(WhyKind, &str); 5] = [
    (WhyKind::LastSafeDay, "last safe day"),
    (WhyKind::CallBack, "call-back"),
    (WhyKind::Gap, "gap"),
    (WhyKind::LeftOver, "left over"),
    (WhyKind::ByHand, "by hand"),
];

const BECAUSE: [Because; 9] = [
    Because::ShiftsFull,
    Because::TooFar,
    Because::NoWayThere,
    Because::PromiseCannotBeKept,
    Because::HourFull,
    Because::OutOfHours,
    Because::PromisedAnotherDay,
    Because::KeptOff,
    Because::TakenOff,
];

/// The text that a survey keeps under [`crate::survey::settings::WALKS`].
pub fn write_day(survey: &Survey, day: &Day) -> String {
    let premise = |p: PremiseId| SavedPremise(survey.premises.parcel_id.get(p.row()).to_owned(), p.0);
    let why = |w: &Why| {
        let kind = KINDS.iter().find(|(kind, _)| *kind == w.kind).map_or("", |(_, word)| word);
        SavedWhy(kind.to_owned(), w.words.clone())
    };
    let door = |d: &Door| SavedDoor {
        premise: premise(d.premise),
        why: why(&d.why),
        at: [d.at.x, d.at.y],
        arrive: d.arrive,
        minutes: d.minutes,
        walk_m: d.walk_m,
        by_car: d.by_car,
        probability: d.probability,
        worth: d.worth,
        must: d.must,
        overdue_days: d.overdue_days,
        promised: d.promised,
        locked: d.locked,
    };
    let walk = |w: &CrewWalk| SavedWalk {
        crew: w.crew.clone(),
        own_shift: w.own_shift.map(|s| (s.from, s.until)),
        doors: w.doors.iter().map(door).collect(),
        path: w.path.iter().map(|p| [p.x, p.y]).collect(),
        back_after: w.back_after,
        walk_m: w.walk_m,
        drives: w.drives,
        supplies: w.supplies.iter().map(|s| (s.what.clone(), s.amount, s.unit.clone())).collect(),
        locked: w.locked,
    };
    let left =
        |l: &LeftOut| SavedLeftOut { premise: premise(l.premise), why: why(&l.why), worth: l.worth, because: l.because.word().to_owned() };
    let saved = SavedDay {
        on: day.on.to_string(),
        begins: day.begins.to_string(),
        shift_minutes: day.shift_minutes,
        pauses: day.pauses.iter().map(|p| (p.from, p.minutes, p.heat)).collect(),
        on_foot: day.on_foot,
        meeting_point: [day.meeting_point.x, day.meeting_point.y],
        walks: day.walks.iter().map(walk).collect(),
        left_out: day.left_out.iter().map(left).collect(),
        one_more_crew: day.one_more_crew.map(|m| (m.doors, m.worth)),
        promises: day.promises.iter().map(|(p, promised)| (premise(*p), promised.write())).collect(),
        kept_off: day.kept_off.clone(),
        lines: day.lines,
        marks: day.marks.numbers(),
    };
    serde_json::to_string(&saved).unwrap_or_default()
}

/// The day that a text holds; `None` when it holds none. Premises that are gone since are left away.
pub fn read_day(survey: &Survey, text: &str) -> Option<Day> {
    let saved: SavedDay = serde_json::from_str(text).ok()?;
    let ids = &survey.premises.parcel_id;
    let mut by_id: HashMap<&str, PremiseId> = HashMap::new();
    ids.iter().enumerate().for_each(|(row, id)| {
        by_id.entry(id).or_insert(PremiseId(row as u32));
    });
    let find = |SavedPremise(id, row): &SavedPremise| {
        let same = (*row as usize) < ids.len() && ids.get(*row as usize) == id;
        if same { Some(PremiseId(*row)) } else { by_id.get(id.as_str()).copied() }
    };
    Some(Day {
        on: saved.on.parse().ok()?,
        begins: saved.begins.parse().ok()?,
        shift_minutes: saved.shift_minutes,
        pauses: saved.pauses.into_iter().map(|(from, minutes, heat)| Pause { from, minutes, heat }).collect(),
        on_foot: saved.on_foot,
        meeting_point: place(saved.meeting_point),
        walks: saved.walks.into_iter().map(|w| walk(w, &find)).collect(),
        left_out: saved.left_out.into_iter().filter_map(|l| left(l, &find)).collect(),
        one_more_crew: saved.one_more_crew.map(|(doors, worth)| OneMore { doors, worth }),
        promises: saved.promises.iter().filter_map(|(premise, text)| Some((find(premise)?, Promised::kept(text)?))).collect(),
        kept_off: saved.kept_off,
        lines: saved.lines,
        marks: Marks::of_numbers(saved.marks),
    })
}

fn place([x, y]: [f64; 2]) -> Local {
    Local { x, y }
}

fn why(SavedWhy(kind, words): SavedWhy) -> Why {
    let kind = KINDS.iter().find(|(_, word)| *word == kind).map_or(WhyKind::Gap, |(kind, _)| *kind);
    Why { kind, words }
}

fn walk(w: SavedWalk, find: &dyn Fn(&SavedPremise) -> Option<PremiseId>) -> CrewWalk {
    CrewWalk {
        crew: w.crew,
        own_shift: w.own_shift.map(|(from, until)| Shift { from, until }),
        doors: w.doors.into_iter().filter_map(|d| door(d, find)).collect(),
        path: w.path.into_iter().map(place).collect(),
        back_after: w.back_after,
        walk_m: w.walk_m,
        drives: w.drives,
        supplies: w.supplies.into_iter().map(|(what, amount, unit)| Supply { what, amount, unit }).collect(),
        locked: w.locked,
    }
}

fn door(d: SavedDoor, find: &dyn Fn(&SavedPremise) -> Option<PremiseId>) -> Option<Door> {
    Some(Door {
        premise: find(&d.premise)?,
        why: why(d.why),
        at: place(d.at),
        arrive: d.arrive,
        minutes: d.minutes,
        walk_m: d.walk_m,
        by_car: d.by_car,
        probability: d.probability,
        worth: d.worth,
        must: d.must,
        overdue_days: d.overdue_days,
        promised: d.promised,
        locked: d.locked,
    })
}

fn left(l: SavedLeftOut, find: &dyn Fn(&SavedPremise) -> Option<PremiseId>) -> Option<LeftOut> {
    let because = BECAUSE.into_iter().find(|b| b.word() == l.because).unwrap_or(Because::ShiftsFull);
    Some(LeftOut { premise: find(&l.premise)?, why: why(l.why), worth: l.worth, because })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walks::made_up::town;
    use jiff::civil::{date, time};
    use std::sync::Arc;

    fn day() -> Day {
        let why = |kind| Why { kind, words: "no answer on 14 July".to_owned() };
        let door = |p: u32| Door {
            premise: PremiseId(p),
            why: why(WhyKind::CallBack),
            at: Local { x: 3.25, y: -7.0 },
            arrive: 12.5,
            minutes: 10.0,
            walk_m: 80.0,
            by_car: true,
            probability: Some(0.2),
            worth: 0.3,
            must: true,
            overdue_days: 9,
            promised: Some((0.0, 30.0)),
            locked: false,
        };
        let supplies = vec![Supply { what: "bags".to_owned(), amount: 3.0, unit: String::new() }];
        let walk = CrewWalk {
            own_shift: Some(Shift { from: -60.0, until: 180.0 }),
            crew: "A".to_owned(),
            doors: vec![door(3), door(8)],
            supplies,
            locked: true,
            drives: 2,
            ..CrewWalk::default()
        };
        let left = LeftOut { premise: PremiseId(9), why: why(WhyKind::Gap), worth: 0.1, because: Because::TooFar };
        Day {
            on: date(2025, 7, 21),
            begins: time(8, 0, 0, 0),
            shift_minutes: 360.0,
            pauses: vec![Pause { from: 240.0, minutes: 30.0, heat: false }],
            on_foot: true,
            meeting_point: Local { x: 0.5, y: 0.25 },
            walks: vec![walk, CrewWalk::default()],
            left_out: vec![left],
            one_more_crew: Some(OneMore { doors: 4, worth: 1.5 }),
            promises: vec![(PremiseId(5), Promised::on(date(2025, 7, 26), (time(9, 0, 0, 0), time(10, 30, 0, 0))))],
            kept_off: vec![(1, "Kettle Lane".to_owned())],
            lines: u64::MAX,
            marks: Marks::of_numbers([1, 2, 3, u64::MAX]),
        }
    }

    #[test]
    fn a_day_is_read_back_as_it_was_written() {
        let survey = town(2);
        assert_eq!(read_day(&survey, &write_day(&survey, &day())), Some(day()));
        assert_eq!(read_day(&survey, "{}"), None);
    }

    #[test]
    fn premises_are_found_again_by_their_id() {
        let survey = town(2);
        let text = write_day(&survey, &day());
        let mut moved = survey.clone();
        // One premise came in before all others, and premise 9 is gone.
        let ids = |i: usize| if i == 0 { "new".to_owned() } else { format!("L{:04}", i - 1) };
        moved.premises.parcel_id = Arc::new((0..10).map(ids).collect());
        let read = read_day(&moved, &text).expect("a day");
        assert_eq!(read.walks[0].doors.iter().map(|d| d.premise.0).collect::<Vec<_>>(), [4, 9]);
        assert!(read.left_out.is_empty());
    }
}
