//! A made-up town for the tests of this room: a grid of streets with lots on both sides.

use super::{Candidate, Day, Iterations, Planned, StreetNetwork, StreetWays, WalkError, Wish, plan_rest};
use crate::job::Unwatched;
use crate::place::{Frame, Local, LonLat, Shapes};
use crate::survey::{BlockId, Blocks, Outcome, PremiseId, Premises, RoundId, Streets, Survey, Visit, When};
use jiff::civil::{Date, date, time};
use std::sync::Arc;

/// A day of some crews that begins at eight, with nothing special about it.
pub(super) fn wish(crews: usize, shift_minutes: f64) -> Wish {
    Wish {
        on: date(2025, 7, 21),
        begins: time(8, 0, 0, 0),
        shift_minutes,
        own_shifts: Vec::new(),
        crews: (1..=crews).map(|n| format!("Crew {n}")).collect(),
        meeting_point: Local { x: 0.0, y: 0.0 },
        pauses: Vec::new(),
        kept_off: Vec::new(),
        one_more: false,
        goes_on: false,
    }
}

/// A visit of the first round without a find.
pub(super) fn visit(premise: u32, day: Date, outcome: Outcome) -> Visit {
    Visit {
        id: format!("{premise}-{day}").into(),
        premise: PremiseId(premise),
        when: When { day, time: None },
        outcome,
        round: RoundId(0),
        crew: "A".into(),
        said: None,
        finds: 0..0,
    }
}

/// Metres from street to street.
pub(super) const MESH: f64 = 120.0;

/// A town of `side` by `side` blocks, each with five lots on its north and five on its south side. Streets that go east are
/// called "First Street" and so on by number, and lots have their addresses; lots come row by row.
pub(super) fn town(side: u32) -> Survey {
    let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
    s.streets = grid(side);
    let (mut outline, mut ids, mut addresses, mut blocks) = (Shapes::default(), Vec::new(), Vec::new(), Vec::new());
    for lot in 0..side * side * 10 {
        let (block, k) = (lot / 10, lot % 10);
        let (north, along) = (k / 5, f64::from(k % 5) * 20.0);
        let corner =
            Local { x: f64::from(block % side) * MESH + 10.0 + along, y: f64::from(block / side) * MESH + 8.0 + f64::from(north) * 54.0 };
        outline.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 50.0), (0.0, 50.0)].map(|(x, y)| Local { x: corner.x + x, y: corner.y + y }));
        outline.end_part();
        outline.end_shape();
        ids.push(format!("L{lot:04}"));
        addresses.push(format!("{} East {} Street", 100 + lot, block / side + north));
        blocks.push(Some(BlockId(block)));
    }
    s.premises = Premises {
        parcel_id: Arc::new(ids.into_iter().collect()),
        address: Arc::new(addresses.into_iter().collect()),
        block: Arc::new(blocks),
        outline: Arc::new(outline),
        ..Premises::default()
    };
    let mut none = Shapes::default();
    (0..side * side).for_each(|_| none.end_shape());
    s.blocks = Blocks { block_id: Arc::new((0..side * side).map(|b| format!("B{b}")).collect()), outline: Arc::new(none) };
    s
}

fn grid(side: u32) -> Streets {
    let (mut line, mut names) = (Shapes::default(), Vec::new());
    let far = f64::from(side) * MESH;
    for i in 0..=side {
        let at = f64::from(i) * MESH;
        for (run, name) in [
            ([Local { x: 0.0, y: at }, Local { x: far, y: at }], format!("East {i} Street")),
            ([Local { x: at, y: 0.0 }, Local { x: at, y: far }], format!("North {i} Avenue")),
        ] {
            line.push_ring(&run);
            line.end_part();
            line.end_shape();
            names.push(name);
        }
    }
    Streets { name: Arc::new(names.into_iter().collect()), line: Arc::new(line), ..Streets::default() }
}

/// A day planned from nothing, as the window and the command line plan it.
pub(super) fn planned(
    survey: &Survey,
    network: &StreetNetwork,
    candidates: &[Candidate],
    wish: &Wish,
    iterations: u64,
) -> Result<Planned, WalkError> {
    let ways = StreetWays::new(Arc::new(survey.clone()), Arc::new(network.clone()), wish.meeting_point).ok_or(WalkError::NoStreetNear)?;
    plan_rest(survey, network, candidates, wish, &Day::default(), &ways, 1, &mut Iterations(iterations), &Unwatched)
}
