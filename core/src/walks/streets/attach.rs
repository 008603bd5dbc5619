//! Doors at their street: by the name in the address, or by the nearest frontage.

use super::StreetNetwork;
use super::cuts::{between, crossing, foot};
use crate::place::{Bounds, Local, inside};
use crate::survey::{Address, PremiseId, Survey};

/// A street of the address's name is taken when it is this near to the premise, in metres: flag lots lie behind others.
const NAMED_WITHIN: f64 = 150.0;
/// Any other street is taken when it is this near, in metres; beyond it no street leads there.
const ANY_WITHIN: f64 = 250.0;
/// How far from the centreline people stand at most, in metres: about the kerb of a street 8 m wide.
const KERB: f64 = 4.0;

/// A place where somebody stands at a street, or off all streets where there are none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// The stretch, whether it is on the left side of it, and the metres from its first place; `None` where no street is.
    pub(super) on: Option<(u32, bool, f64)>,
    /// Metres from the street to the place meant, walked as a straight line made longer.
    pub(super) off: f64,
    /// The foot on the centreline.
    pub(super) line: Local,
    /// Where somebody stands: at the kerb of the side.
    pub place: Local,
}

impl StreetNetwork {
    /// Where a crew stands to go to a premise: at the nearest stretch of the street that the address names, or else at
    /// the nearest street, where no barrier stands between. `None` when no such street is near, or the premise has no outline. Only streets
    /// that join the largest group count.
    pub fn spot_of_premise(&self, survey: &Survey, premise: PremiseId) -> Option<Spot> {
        let outline = survey.premises.outline.get(premise.row());
        let middle = inside(outline)?;
        if self.stretches.is_empty() {
            return Some(Spot { on: None, off: 0.0, line: middle, place: middle });
        }
        let address = Address::parse(survey.premises.address.get(premise.row()));
        let named = self.by_name.get(&address.street()).filter(|_| !address.name.is_empty());
        let on_named = named.and_then(|stretches| {
            let on_mainland = stretches.iter().map(|&s| s as usize).filter(|&s| self.mainland[s] && self.reaches(s, middle));
            let nearest = on_mainland.map(|s| (self.distance(s, middle), s)).min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))?;
            (nearest.0 <= NAMED_WITHIN).then_some(nearest.1)
        });
        let stretch = on_named.or_else(|| self.nearest(outline.places(), middle))?;
        Some(Spot { off: 0.0, ..self.spot_on(stretch, middle) })
    }

    /// Whether no barrier stands between a stretch and a place: else it is no way there.
    fn reaches(&self, stretch: usize, middle: Local) -> bool {
        if self.walking.barriers.is_empty() {
            return true;
        }
        let on = self.spot_on(stretch, middle).line;
        // A stretch that ends at a barrier touches it: a step back along the stretch tells the side.
        let far = self.places_of(stretch).iter().max_by(|a, b| a.distance(on).total_cmp(&b.distance(on)));
        let back = far.map_or(on, |far| between(on, *far, 0.01));
        !self.walking.barriers.iter().flat_map(|b| b.windows(2)).any(|w| crossing((back, middle), (w[0], w[1])).is_some())
    }

    /// Where a place off the streets is joined to them; the way to the street is walked too. `None` when no street is
    /// near.
    pub fn spot_of_place(&self, place: Local) -> Option<Spot> {
        if self.stretches.is_empty() {
            return Some(Spot { on: None, off: 0.0, line: place, place });
        }
        let stretch = self.nearest(&[place], place)?;
        Some(Spot { place, ..self.spot_on(stretch, place) })
    }

    /// The stretch nearest to an outline with no barrier between; of stretches equally near the one nearer to its middle.
    fn nearest(&self, outline: &[Local], middle: Local) -> Option<usize> {
        let mut best: Option<(f64, f64, usize)> = None;
        self.index.each_touching(&Bounds::of(outline).grown(ANY_WITHIN), |s| {
            if !self.mainland[s] {
                return;
            }
            let metres = outline.iter().map(|&p| self.distance(s, p)).fold(f64::INFINITY, f64::min);
            let found = (metres, self.distance(s, middle), s);
            let nearer = |b: &(f64, f64, usize)| found.0.total_cmp(&b.0).then(found.1.total_cmp(&b.1)).is_lt();
            if metres <= ANY_WITHIN && best.as_ref().is_none_or(nearer) && self.reaches(s, middle) {
                best = Some(found);
            }
        });
        best.map(|b| b.2)
    }

    fn distance(&self, stretch: usize, p: Local) -> f64 {
        self.places_of(stretch).windows(2).map(|w| foot(w[0], w[1], p).1).fold(f64::INFINITY, f64::min)
    }

    /// The foot of a place on a stretch, and the side that the place lies on.
    fn spot_on(&self, stretch: usize, p: Local) -> Spot {
        let places = self.places_of(stretch);
        let (mut before, mut best) = (0.0, (f64::INFINITY, 0.0, 0, 0.0));
        for (k, w) in places.windows(2).enumerate() {
            let (t, metres) = foot(w[0], w[1], p);
            if metres < best.0 {
                best = (metres, before + t * w[0].distance(w[1]), k, t);
            }
            before += w[0].distance(w[1]);
        }
        let (off, along, k, t) = best;
        let (a, b) = (places[k], places[k + 1]);
        let line = between(a, b, t);
        let left = (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0.0;
        let kerb = if off > 0.0 { between(line, p, (KERB / off).min(1.0)) } else { line };
        Spot { on: Some((stretch as u32, left, along.min(self.stretches[stretch].length))), off, line, place: kerb }
    }
}
