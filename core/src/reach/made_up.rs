//! A made-up neighbourhood for the tests of this room: crooked lots along two sides of streets, some L-shaped, some without
//! an outline, some visited.

use crate::place::{Frame, Local, LonLat, Shapes};
use crate::survey::{Find, KindId, Outcome, PremiseId, Round, RoundId, Survey, Visit, Visits, When};
use jiff::civil::date;
use std::sync::Arc;

/// Numbers that look random, the same from the same seed.
pub(super) struct Numbers(pub u64);

impl Numbers {
    /// The next number, 0 to 1.
    pub(super) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / 2f64.powi(31)
    }

    fn below(&mut self, n: usize) -> usize {
        ((self.next() * n as f64) as usize).min(n - 1)
    }
}

/// A survey of some lots, one round of visits to about half of them.
pub(super) fn neighbourhood(lots: usize, seed: u64) -> Survey {
    let mut numbers = Numbers(seed);
    let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.1, lat: 30.0 }));
    survey.premises.parcel_id = Arc::new((0..lots).map(|i| format!("{:04}", (i * 7919) % 997)).collect());
    survey.premises.block = Arc::new(vec![None; lots]);
    let mut outlines = Shapes::default();
    for i in 0..lots {
        push_lot(&mut outlines, i, &mut numbers);
    }
    survey.premises.outline = Arc::new(outlines);
    survey.rounds = Arc::new(vec![Round { name: "first".into(), first: date(2025, 7, 1), last: date(2025, 7, 28) }]);
    survey.kinds = Arc::new(vec!["saucer".into()]);
    let mut gone = Numbers(seed ^ 77);
    let visits = (0..lots).filter(|_| gone.next() < 0.6).map(|i| visit(i, &mut numbers)).collect();
    survey.visits = Visits::from_rows(lots, visits);
    survey
}

/// Lots 20 m wide and 30 m deep in rows of twelve, back to back, a street of 15 m after every second row.
fn push_lot(outlines: &mut Shapes, i: usize, numbers: &mut Numbers) {
    let (row, column) = ((i / 12) as f64, (i % 12) as f64);
    let o = Local { x: column * 20.0 + numbers.next() * 0.2, y: row * 30.0 + (row / 2.0).floor() * 15.0 + numbers.next() * 0.2 };
    let at = |x: f64, y: f64| Local { x: o.x + x, y: o.y + y };
    match numbers.below(12) {
        0 => {}
        1 => {
            outlines.push_ring(&[at(0.0, 0.0), at(20.0, 0.0), at(20.0, 12.0), at(9.0, 12.0), at(9.0, 30.0), at(0.0, 30.0)]);
            outlines.end_part();
        }
        2 => {
            outlines.push_ring(&[at(0.0, 0.0), at(0.0, 30.0), at(20.0, 30.0), at(20.0, 0.0)]);
            outlines.push_ring(&[at(6.0, 6.0), at(14.0, 6.0), at(14.0, 14.0), at(6.0, 14.0)]);
            outlines.end_part();
        }
        _ => {
            outlines.push_ring(&[at(0.0, 0.0), at(20.0, 0.0), at(20.0, 30.0), at(0.0, 30.0)]);
            outlines.end_part();
        }
    }
    outlines.end_shape();
}

fn visit(premise: usize, numbers: &mut Numbers) -> (Visit, Vec<Find>) {
    let outcome = if numbers.next() < 0.6 { Outcome::Inspected } else { Outcome::ALL[numbers.below(Outcome::ALL.len())] };
    let looked = matches!(outcome, Outcome::Inspected | Outcome::SeenOverFence | Outcome::FrontOnly);
    let with_larvae = u32::from(looked && numbers.next() < 0.2);
    let with_pupae = u32::from(looked && numbers.next() < 0.1);
    let found = Find {
        kind: KindId(0),
        count: 3,
        wet: 2,
        with_larvae,
        with_pupae,
        pupae: 4 * with_pupae,
        stage: None,
        litres: None,
        action: None,
        remains: false,
    };
    let visit = Visit {
        id: format!("v{premise}").into(),
        premise: PremiseId(premise as u32),
        when: When { day: date(2025, 7, 1 + (premise % 28) as i8), time: None },
        outcome,
        round: RoundId(0),
        crew: "".into(),
        said: None,
        finds: 0..0,
    };
    (visit, vec![found])
}
