//! The legs of a walk: walked, or driven from where the car stands when that is too far to walk.

use super::chosen::Chosen;

/// One leg of a walk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leg {
    /// Seconds from one place to the next, walking to the car and parking counted.
    pub seconds: f64,
    /// The place where the car stood, when the leg is driven.
    pub from_car: Option<usize>,
}

/// The legs of a walk that begins and ends at place 0, where the car stands at first: one to each door and one back. Whoever drives
/// walks to the car, drives and parks at the next door; the last leg brings the car back.
pub(super) fn legs(chosen: &Chosen<'_>, walk: &[usize]) -> Vec<Leg> {
    let mut out = Vec::with_capacity(walk.len() + 1);
    if walk.is_empty() {
        return out;
    }
    let (mut at, mut car) = (0, 0);
    for to in walk.iter().map(|door| door + 1).chain([0]) {
        let on_foot = chosen.between(at, to);
        let by_car = chosen.drive(car, to).map(|drive| chosen.between(at, car) + drive);
        let bring_back = to == 0 && car != 0;
        let driven = by_car.filter(|seconds| bring_back || (chosen.is_far(at, to) && *seconds < on_foot));
        out.push(Leg { seconds: driven.unwrap_or(on_foot), from_car: driven.map(|_| car) });
        if driven.is_some() {
            car = to;
        }
        at = to;
    }
    out
}
