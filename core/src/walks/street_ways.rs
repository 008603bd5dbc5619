//! Ways along the streets for changes by hand.

use super::by_hand::{Stop, Way, Ways};
use super::legs::Car;
use super::{FoundBy, NetworkReport, Spot, StreetNetwork, Torn};
use crate::place::Local;
use crate::survey::{PremiseId, Survey};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// The ways of a day along the streets: each is looked for once, however often a door is dragged over it.
#[derive(Debug)]
pub struct StreetWays {
    survey: Arc<Survey>,
    network: Arc<StreetNetwork>,
    meeting: Spot,
    known: Mutex<BTreeMap<(Stop, Stop), Way>>,
}

impl StreetWays {
    /// The ways from and to a meeting point; `None` when no street is near it.
    pub fn new(survey: Arc<Survey>, network: Arc<StreetNetwork>, meeting_point: Local) -> Option<Self> {
        let meeting = network.spot_of_place(meeting_point)?;
        Some(Self { survey, network, meeting, known: Mutex::default() })
    }

    fn spot(&self, stop: Stop) -> Option<Spot> {
        match stop {
            Stop::MeetingPoint => Some(self.meeting),
            Stop::Door(premise) => self.network.spot_of_premise(&self.survey, premise),
        }
    }
}

impl Ways for StreetWays {
    fn stand(&self, premise: PremiseId) -> Option<Local> {
        let spot = self.spot(Stop::Door(premise))?;
        // Only a barrier parts a street from the meeting point.
        let open = self.network.walking().barriers.is_empty() || self.seconds(Stop::MeetingPoint, Stop::Door(premise)).is_finite();
        open.then_some(spot.place)
    }

    fn way(&self, from: Stop, to: Stop) -> Way {
        if let Some(way) = self.known.lock().unwrap_or_else(PoisonError::into_inner).get(&(from, to)) {
            return way.clone();
        }
        let way = self.spot(from).zip(self.spot(to)).map_or_else(Way::none, |(a, b)| Way::of(self.network.route(&a, &b)));
        self.known.lock().unwrap_or_else(PoisonError::into_inner).insert((from, to), way.clone());
        way
    }

    fn seconds(&self, from: Stop, to: Stop) -> f64 {
        let known = self.known.lock().unwrap_or_else(PoisonError::into_inner).get(&(from, to)).map(|way| way.seconds);
        known.unwrap_or_else(|| self.way(from, to).seconds)
    }

    fn found_by(&self, premise: PremiseId) -> Option<FoundBy> {
        self.spot(Stop::Door(premise)).filter(|spot| spot.on.is_some()).map(|spot| spot.by)
    }

    fn street(&self, premise: PremiseId) -> Option<&str> {
        let spot = self.spot(Stop::Door(premise))?;
        self.network.street_name(&spot).filter(|name| !name.is_empty())
    }

    fn torn(&self) -> Torn {
        self.network.torn().clone()
    }

    fn network(&self) -> NetworkReport {
        self.network.report()
    }

    fn car(&self) -> Option<Car> {
        Car::of(self.network.walking())
    }
}
