//! The legs of a walk: walked, or driven from where the car stands when that is too far to walk.

use super::{Driving, Walking};

/// How a crew drives, beside how fast it walks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Car {
    /// How it drives.
    pub driving: Driving,
    /// Metres a second on foot.
    pub on_foot: f64,
}

impl Car {
    /// The car of people who walk so; `None` where they have none.
    pub fn of(walking: &Walking) -> Option<Self> {
        walking.driving.map(|driving| Self { driving, on_foot: walking.speed })
    }

    /// Whether a way of so many seconds on foot is too far to walk.
    pub(super) fn is_far(&self, seconds: f64) -> bool {
        seconds * self.on_foot > self.driving.beyond
    }

    /// Seconds by car for a way of so many seconds on foot, parking counted.
    pub(super) fn seconds(&self, on_foot: f64) -> f64 {
        on_foot * self.on_foot / self.driving.speed + self.driving.parking
    }
}

/// One leg of a walk between places of some kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leg<P> {
    /// Where it leads.
    pub to: P,
    /// Seconds from one place to the next, walking to the car and parking counted.
    pub seconds: f64,
    /// The place where the car stood, when the leg is driven.
    pub from_car: Option<P>,
}

/// The legs of a walk that begins and ends at home, where the car stands at first: one to each door and one back. Whoever drives
/// walks to the car, drives and parks at the next door; the last leg brings the car back.
pub(super) fn legs<P: Copy + PartialEq>(home: P, doors: &[P], on_foot: &dyn Fn(P, P) -> f64, car: Option<Car>) -> Vec<Leg<P>> {
    let mut out = Vec::with_capacity(doors.len() + 1);
    if doors.is_empty() {
        return out;
    }
    let (mut at, mut parked) = (home, home);
    for to in doors.iter().copied().chain([home]) {
        let walked = on_foot(at, to);
        let bring_back = to == home && parked != home;
        let driven = car.filter(|car| bring_back || car.is_far(walked)).and_then(|car| {
            let seconds = on_foot(at, parked) + car.seconds(on_foot(parked, to));
            (bring_back || seconds < walked).then_some(seconds)
        });
        out.push(Leg { to, seconds: driven.unwrap_or(walked), from_car: driven.map(|_| parked) });
        if driven.is_some() {
            parked = to;
        }
        at = to;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Doors on a line by their metres from home: two near each other 3 km out, one at home.
    #[test]
    fn the_car_is_driven_out_left_standing_and_brought_back() {
        let car = Car { driving: Driving { beyond: 800.0, speed: 10.0, parking: 100.0 }, on_foot: 1.0 };
        let on_foot = |a: i32, b: i32| f64::from((a - b).abs());
        let driven = legs(0, &[3000, 3200, 100], &on_foot, Some(car));
        let told: Vec<(i32, f64, Option<i32>)> = driven.iter().map(|l| (l.to, l.seconds, l.from_car)).collect();
        // 3 km at 10 m/s and parking; 200 m on foot; back to the car, 2.9 km and parking; then the car is 100 m from home.
        assert_eq!(told, [(3000, 400.0, Some(0)), (3200, 200.0, None), (100, 200.0 + 290.0 + 100.0, Some(3000)), (0, 110.0, Some(100))]);
        let walked = legs(0, &[3000, 3200, 100], &on_foot, None);
        assert!(walked.iter().all(|l| l.from_car.is_none()) && walked.iter().map(|l| l.seconds).sum::<f64>() == 6400.0);
        assert!(legs(0, &[], &on_foot, Some(car)).is_empty());
    }
}
