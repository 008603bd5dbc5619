//! A small survey made by hand, for tests: a street of yards twenty metres wide.

use jiff::civil::date;
use std::sync::Arc;
use yardring_core::place::{Frame, Local, LonLat, Shapes};
use yardring_core::survey::{
    Action, BlockId, Find, KindId, Outcome, PremiseId, Round, RoundId, Signal, SignalKind, Survey, Visit, Visits, When,
};

const YARDS: u32 = 40;

/// Forty yards in two blocks; the first six stand in every way that a yard can stand.
pub(crate) fn survey() -> Survey {
    let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
    s.premises.parcel_id = Arc::new((0..YARDS).map(|i| format!("P{i:03}")).collect());
    s.premises.address = Arc::new((0..YARDS).map(|i| format!("{} Kettle Lane", 2 * i + 2)).collect());
    s.premises.block = Arc::new((0..YARDS).map(|i| Some(BlockId(i / 20))).collect());
    s.premises.outline = Arc::new(yards());
    s.blocks.block_id = Arc::new(["A", "B"].into_iter().collect());
    s.blocks.outline = Arc::new(squares((0..2).map(|b| (f64::from(b) * 400.0, 400.0))));
    s.kinds = Arc::new(vec!["plant saucer".into(), "tarp".into()]);
    s.rounds = Arc::new(vec![Round { name: "Round 1".into(), first: date(2025, 7, 2), last: date(2025, 7, 3) }]);
    s.visits = Visits::from_rows(YARDS as usize, visits());
    let trap = |i: u32, x: f64| Signal {
        id: format!("T{i}").into(),
        day: date(2025, 7, 1),
        place: Local { x, y: -20.0 },
        kind: SignalKind::Trap,
        value: Some(12.0),
        species: "".into(),
    };
    s.signals = Arc::new(vec![trap(1, 100.0), trap(2, 600.0)]);
    s
}

fn yards() -> Shapes {
    squares((0..YARDS).map(|i| (f64::from(i) * 20.0, 20.0)))
}

fn squares(columns: impl Iterator<Item = (f64, f64)>) -> Shapes {
    let mut out = Shapes::default();
    for (x, wide) in columns {
        out.push_ring(&[(x, 0.0), (x + wide, 0.0), (x + wide, 30.0), (x, 30.0)].map(|(x, y)| Local { x, y }));
        out.end_part();
        out.end_shape();
    }
    out
}

fn visits() -> Vec<(Visit, Vec<Find>)> {
    let find = |kind, wet, larvae, pupae, remains| Find {
        kind: KindId(kind),
        count: wet,
        wet,
        with_larvae: larvae,
        with_pupae: pupae,
        pupae: 3 * pupae,
        stage: None,
        litres: None,
        action: Some(Action::Emptied),
        remains,
    };
    vec![
        visit(0, 2, Outcome::Inspected, vec![find(0, 4, 1, 0, false), find(1, 1, 1, 0, true)]),
        visit(1, 2, Outcome::Inspected, vec![find(0, 1, 0, 1, false)]),
        visit(2, 2, Outcome::NoAnswer, vec![]),
        visit(2, 3, Outcome::NoAnswer, vec![]),
        visit(3, 3, Outcome::Inspected, vec![]),
        visit(4, 3, Outcome::SeenOverFence, vec![find(1, 1, 1, 0, false)]),
        visit(6, 3, Outcome::Refused, vec![]),
        visit(7, 3, Outcome::Inspected, vec![find(1, 2, 0, 0, false)]),
    ]
}

fn visit(premise: u32, day: i8, outcome: Outcome, finds: Vec<Find>) -> (Visit, Vec<Find>) {
    let when = When { day: date(2025, 7, day), time: None };
    let id = format!("v{premise}-{day}").into();
    (Visit { id, premise: PremiseId(premise), when, outcome, round: RoundId(0), crew: "A".into(), said: None, finds: 0..0 }, finds)
}
