//! A made-up day for the tests of this room: two streets of Quillmere, three crews of whom one stays at home.

use crate::place::{Frame, Local, LonLat, Shapes};
use crate::survey::{
    Action, Find, KindId, Outcome, PremiseId, Round, RoundId, Said, Signal, SignalKind, Stage, Streets, Survey, Visit, Visits, When,
};
use crate::walks::by_hand::{StraightWays, retime};
use crate::walks::{CrewWalk, Day, Door, Pause, Why, WhyKind};
use jiff::civil::{Date, date, time};
use std::sync::Arc;

/// Lots on each side of each street.
const SIDE: u32 = 10;

pub fn hand_out() -> super::HandOut {
    let languages = vec!["English".to_owned(), "Spanish".to_owned()];
    super::HandOut { district: "Quillmere".to_owned(), round: Some(RoundId(0)), languages, ..super::HandOut::default() }
}

/// Kettle Lane from west to east, Anvil Street 90 m south of it; lots 20 m wide and 30 m deep on both sides of both.
fn survey() -> Survey {
    let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
    let (mut lots, mut lines) = (Shapes::default(), Shapes::default());
    for lot in 0..4 * SIDE {
        let (west, south) = corner(lot);
        lots.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(x, y)| Local { x: west + x, y: south + y }));
        lots.end_part();
        lots.end_shape();
    }
    for y in [0.0, -90.0] {
        lines.push_ring(&[Local { x: -20.0, y }, Local { x: 220.0, y }]);
        lines.end_part();
        lines.end_shape();
    }
    let address = |lot: u32| match (lot, lot / (2 * SIDE)) {
        (3, _) => String::new(),
        (_, 0) => format!("{} Kettle Lane", 2 + lot % SIDE * 2 + lot / SIDE % 2),
        (_, _) => format!("{} Anvil Street", 2 + lot % SIDE * 2 + lot / SIDE % 2),
    };
    s.premises.parcel_id = Arc::new((0..4 * SIDE).map(|i| if i == 15 { "QM-5".to_owned() } else { format!("QM-{i}") }).collect());
    s.premises.address = Arc::new((0..4 * SIDE).map(address).collect());
    s.premises.block = Arc::new(vec![None; 4 * SIDE as usize]);
    s.premises.outline = Arc::new(lots);
    s.streets =
        Streets { name: Arc::new(["Kettle Lane", "Anvil Street"].into_iter().collect()), line: Arc::new(lines), ..Streets::default() };
    s.kinds = Arc::new(vec!["barrel".into(), "tarp".into()]);
    s.rounds = Arc::new(vec![Round { name: "Round 1".into(), first: date(2025, 7, 7), last: date(2025, 7, 14) }]);
    s.visits = Visits::from_rows(4 * SIDE as usize, visits());
    s.signals = Arc::new(vec![case(corner(2))]);
    s
}

/// Somebody fell ill at the third door of the first walk.
pub fn case((x, y): (f64, f64)) -> Signal {
    let place = Local { x: x + 10.0, y: y + 10.0 };
    Signal { id: "CASE-77".into(), day: date(2025, 7, 20), place, kind: SignalKind::Case, value: None, species: "".into() }
}

fn corner(lot: u32) -> (f64, f64) {
    let (row, column) = (lot / SIDE, f64::from(lot % SIDE));
    let south = [5.0, -35.0, -85.0, -125.0][row as usize];
    (column * 20.0, south)
}

fn visits() -> Vec<(Visit, Vec<Find>)> {
    let find = |kind, count, larvae, action, remains| Find {
        kind: KindId(kind),
        count,
        wet: count,
        with_larvae: larvae,
        with_pupae: 0,
        pupae: 0,
        stage: (larvae > 0).then_some(Stage::L4),
        litres: None,
        action: Some(action),
        remains,
    };
    let visit = |premise: u32, day: Date, outcome, finds: Vec<Find>| {
        let id = format!("v{premise}-{day}").into();
        let when = When { day, time: None };
        (Visit { id, premise: PremiseId(premise), when, outcome, round: RoundId(0), crew: "A".into(), said: None, finds: 0..0 }, finds)
    };
    let mut unanswered = visit(0, date(2025, 7, 14), Outcome::NoAnswer, vec![]);
    unanswered.0.said = Said::of("Saturday after five", "dog");
    vec![
        visit(0, date(2025, 7, 7), Outcome::Inspected, vec![find(1, 2, 1, Action::Left, true), find(0, 1, 0, Action::Emptied, false)]),
        unanswered,
        visit(1, date(2025, 7, 14), Outcome::Refused, vec![]),
        visit(6, date(2025, 7, 8), Outcome::Inspected, vec![]),
        visit(7, date(2025, 7, 8), Outcome::LockedGate, vec![]),
    ]
}

/// The survey and its day: twelve doors for crew A, three for crew B, none for crew C.
pub fn day() -> (Survey, Day) {
    let survey = survey();
    let stands = (0..4 * SIDE).map(|lot| {
        let (west, south) = corner(lot);
        let y = if south < -45.0 { -90.0 } else { 0.0 };
        Some(Local { x: west + 10.0, y: y + if south > y { 4.0 } else { -4.0 } })
    });
    // Two minutes from the first door.
    let meeting_point = Local { x: -130.0, y: 0.0 };
    let ways = StraightWays { meeting_point, stands: stands.collect(), detour: 1.0, speed: 1.2 };
    let walk = |crew: &str, lots: &[u32]| CrewWalk {
        crew: crew.to_owned(),
        doors: lots.iter().map(|&l| door(l, &ways)).collect(),
        ..CrewWalk::default()
    };
    let walks = vec![walk("Crew A", &[0, 1, 2, 3, 5, 7, 9, 18, 15, 14, 12, 10]), walk("Crew B", &[20, 25, 34]), walk("Crew C", &[])];
    let mut day = Day {
        on: date(2025, 7, 24),
        begins: time(8, 0, 0, 0),
        shift_minutes: 360.0,
        pauses: vec![Pause { from: 60.0, minutes: 30.0, heat: false }, Pause { from: 300.0, minutes: 15.0, heat: true }],
        on_foot: true,
        meeting_point,
        walks,
        left_out: Vec::new(),
        one_more_crew: None,
        promises: Vec::new(),
        kept_off: Vec::new(),
        lines: 0,
        marks: crate::walks::Marks::default(),
    };
    (0..day.walks.len()).for_each(|w| retime(&mut day, w, &ways));
    (survey, day)
}

fn door(lot: u32, ways: &StraightWays) -> Door {
    let premise = PremiseId(lot);
    let words = match lot {
        0 => "what was left flies soon: last safe day 24 July; no answer on 14 July",
        1 => "refused on 14 July; shares a fence with a positive yard",
        _ => "not visited; two positive yards within 35 m",
    };
    Door {
        premise,
        why: Why { kind: if lot == 0 { WhyKind::LastSafeDay } else { WhyKind::Gap }, words: words.to_owned() },
        at: ways.stands[lot as usize].unwrap_or(Local { x: 0.0, y: 0.0 }),
        arrive: 0.0,
        minutes: 12.0,
        walk_m: 0.0,
        by_car: false,
        probability: (lot != 1).then_some(0.25),
        worth: 1.0,
        must: lot == 0,
        overdue_days: 0,
        promised: (lot == 2).then_some((60.0, 120.0)),
        locked: false,
    }
}
