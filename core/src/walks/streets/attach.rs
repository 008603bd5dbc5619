//! Doors at their street: by the house number of the address, by its street's name, or by the nearest frontage.

use super::StreetNetwork;
use super::cuts::{between, foot};
use super::kerbs::{self, ahead, in_sight};
use crate::place::{Bounds, Local, ShapeView, inside};
use crate::survey::{Address, HouseSpot, PremiseId, Survey};

/// A street of the address's name is taken when it is this near to the premise, in metres: flag lots lie behind others.
const NAMED_WITHIN: f64 = 150.0;
/// Any other street is taken when it is this near, in metres; beyond it no street leads there.
const ANY_WITHIN: f64 = 250.0;
/// A premise whose own street lies behind a barrier is reached from another one that is this near, in metres: a lot at a corner has two.
const OTHER_FRONT: f64 = 20.0;
/// A place lies beyond the end of a street when it is farther than this past it, in metres.
const BEYOND: f64 = 2.0;
/// How far from the centreline people stand at most, in metres: about the kerb of a street 8 m wide.
const KERB: f64 = 4.0;

/// How a place was put at its street.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FoundBy {
    /// By the house numbers of the street that the address names.
    HouseNumber,
    /// At the nearest frontage on the street that the address names.
    StreetName,
    /// At the nearest street.
    NearestStreet,
}

impl FoundBy {
    /// Every way, the surest first.
    pub const ALL: [Self; 3] = [Self::HouseNumber, Self::StreetName, Self::NearestStreet];

    /// The way as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::HouseNumber => "house number",
            Self::StreetName => "street name",
            Self::NearestStreet => "nearest street",
        }
    }
}

/// A place where somebody stands at a street, or off all streets where there are none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// The stretch, whether it is on the left side of it, and the metres from its first place; `None` where no street is.
    pub(in crate::walks) on: Option<(u32, bool, f64)>,
    /// Metres from the street to the place meant, walked as a straight line made longer.
    pub(super) off: f64,
    /// The foot on the centreline; where a barrier lies in the street, the place on the side.
    pub(super) line: Local,
    /// Where somebody stands: at the kerb of the side.
    pub place: Local,
    /// How the street was found.
    pub by: FoundBy,
}

impl Spot {
    fn off_streets(place: Local) -> Self {
        Self { on: None, off: 0.0, line: place, place, by: FoundBy::NearestStreet }
    }
}

impl StreetNetwork {
    /// Where a crew stands to go to a premise, on the street that its address names: on the side and at the stretch that has its house
    /// number, or else at the stretch nearest to it; without such a street at the nearest one. `None` when no street is near, when a
    /// barrier stands between the premise and its street and it has no other front, or when it has no outline. A line that cuts through the
    /// premise behind its front hides nothing: whoever drew it meant the street, or drew it a few metres off. Only streets that join
    /// the largest group count.
    pub fn spot_of_premise(&self, survey: &Survey, premise: PremiseId) -> Option<Spot> {
        let outline = survey.premises.outline.get(premise.row());
        let middle = inside(outline)?;
        if self.stretches.is_empty() {
            return Some(Spot::off_streets(middle));
        }
        let address = Address::parse(survey.premises.address.get(premise.row()));
        let named = self.on_named(&address, middle);
        let own = self.by_number(&address, middle, named.as_ref()).or(named);
        let open = |spot: &Spot| self.reaches(spot, middle) || self.sees_front(spot, outline);
        let other = || self.nearest_that(outline.places(), middle, OTHER_FRONT, &open);
        let found = match own {
            Some(spot) if open(&spot) => Some(spot),
            Some(_) => other(),
            None => {
                let first = self.nearest_that(outline.places(), middle, ANY_WITHIN, &|_| true);
                first.and_then(|spot| if open(&spot) { Some(spot) } else { other() })
            }
        };
        found.map(|spot| Spot { off: 0.0, ..spot })
    }

    /// The stretch and side whose house numbers hold that of an address: at the frontage of a premise that lies beside it, else where
    /// the number says. `None` where no number holds it, or where the ground says that the numbers are wrong: the premise lies right
    /// across the street, too far off, or beside a nearer part of the same street.
    fn by_number(&self, address: &Address, middle: Local, named: Option<&Spot>) -> Option<Spot> {
        let houses = self.houses.on(address, &self.streets);
        let nearer = named.filter(|spot| self.lies_beside(spot, middle)).map_or(NAMED_WITHIN, |spot| spot.off);
        let found = houses.iter().filter_map(|house| self.at_number(house, middle, nearer));
        found.min_by(|a, b| a.line.distance(middle).total_cmp(&b.line.distance(middle)))
    }

    fn at_number(&self, house: &HouseSpot, middle: Local, within: f64) -> Option<Spot> {
        let frontage = self.spot_on(self.nearest_of(self.of_street(house.street), middle)?, middle);
        if frontage.off <= NAMED_WITHIN && self.lies_beside(&frontage, middle) {
            let own_side = frontage.on.is_some_and(|(_, left, _)| left == house.left);
            return own_side.then_some(Spot { by: FoundBy::HouseNumber, ..frontage });
        }
        let side = between(house.on_line, house.aside, KERB);
        let stretch = self.nearest_of(self.of_street(house.street), house.on_line)?;
        let spot = Spot { by: FoundBy::HouseNumber, ..self.spot_on(stretch, side) };
        (house.on_line.distance(middle) <= within).then_some(spot)
    }

    /// Whether a place lies beside its stretch, not beyond one of its ends.
    fn lies_beside(&self, spot: &Spot, p: Local) -> bool {
        let Some((stretch, _, along)) = spot.on else { return false };
        let places = self.places_of(stretch as usize);
        let n = places.len();
        let before = along <= 0.0 && ahead(places[1], places[0], p) > places[1].distance(places[0]) + BEYOND;
        let after = along >= self.stretches[stretch as usize].length
            && ahead(places[n - 2], places[n - 1], p) > places[n - 2].distance(places[n - 1]) + BEYOND;
        !before && !after
    }

    /// The stretches of a row of the streets that belong to the largest group.
    fn of_street(&self, street: usize) -> impl Iterator<Item = usize> + '_ {
        let first = self.stretches.partition_point(|s| (s.street as usize) < street);
        (first..self.stretches.len()).take_while(move |&s| self.stretches[s].street as usize == street).filter(|&s| self.mainland[s])
    }

    /// The nearest stretch of the street that an address names.
    fn on_named(&self, address: &Address, middle: Local) -> Option<Spot> {
        let named = self.by_name.get(&address.street()).filter(|_| !address.name.is_empty())?;
        let stretches = named.iter().map(|&s| s as usize).filter(|&s| self.mainland[s]);
        let spot = self.spot_on(self.nearest_of(stretches, middle)?, middle);
        (spot.off <= NAMED_WITHIN).then_some(Spot { by: FoundBy::StreetName, ..spot })
    }

    fn nearest_of(&self, stretches: impl Iterator<Item = usize>, p: Local) -> Option<usize> {
        stretches.map(|s| (self.distance(s, p), s)).min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))).map(|found| found.1)
    }

    /// Whether no barrier stands between the side of a street and a place beside it.
    fn reaches(&self, spot: &Spot, place: Local) -> bool {
        self.pavement(spot).is_none_or(|from| in_sight(from, place, &self.walking.barriers))
    }

    /// Whether no barrier stands between the side of a street and the nearest edge of a premise.
    fn sees_front(&self, spot: &Spot, outline: ShapeView<'_>) -> bool {
        let Some(from) = self.pavement(spot) else { return true };
        let edges = outline.rings().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
        let feet = edges.map(|(&a, &b)| (foot(a, b, from), a, b));
        let front = feet.min_by(|x, y| x.0.1.total_cmp(&y.0.1)).map(|((t, _), a, b)| between(a, b, t));
        front.is_some_and(|front| in_sight(from, front, &self.walking.barriers))
    }

    /// Where people walk beside the street before a spot; `None` where there is no street, or no barrier anywhere.
    fn pavement(&self, spot: &Spot) -> Option<Local> {
        let (stretch, left, along) = spot.on.filter(|_| !self.corners.kerbs.is_empty())?;
        Some(kerbs::at(&self.side(stretch as usize, left), along))
    }

    /// Where a place off the streets is joined to them; the way to the street is walked too. `None` when no street is
    /// near.
    pub fn spot_of_place(&self, place: Local) -> Option<Spot> {
        if self.stretches.is_empty() {
            return Some(Spot::off_streets(place));
        }
        Some(Spot { place, ..self.nearest_that(&[place], place, ANY_WITHIN, &|spot| self.reaches(spot, place))? })
    }

    /// The nearest stretch that will do; of stretches equally near the one nearer to the middle. Somebody who stands in the street itself
    /// may be reached from its other side alone.
    fn nearest_that(&self, outline: &[Local], middle: Local, within: f64, does: &dyn Fn(&Spot) -> bool) -> Option<Spot> {
        let mut best: Option<(f64, f64, Spot)> = None;
        self.index.each_touching(&Bounds::of(outline).grown(within), |s| {
            if !self.mainland[s] {
                return;
            }
            let metres = outline.iter().map(|&p| self.distance(s, p)).fold(f64::INFINITY, f64::min);
            let found = (metres, self.distance(s, middle));
            let nearer = |b: &(f64, f64, Spot)| found.0.total_cmp(&b.0).then(found.1.total_cmp(&b.1)).is_lt();
            if metres <= within && best.as_ref().is_none_or(nearer) {
                let own = self.spot_on(s, middle);
                let across = || Some(self.across(own)).filter(|_| own.off < kerbs::PAVEMENT);
                let spot = Some(own).filter(|spot| does(spot)).or_else(|| across().filter(|spot| does(spot)));
                best = spot.map(|spot| (found.0, found.1, spot)).or(best);
            }
        });
        best.map(|b| b.2)
    }

    fn distance(&self, stretch: usize, p: Local) -> f64 {
        self.places_of(stretch).windows(2).map(|w| foot(w[0], w[1], p).1).fold(f64::INFINITY, f64::min)
    }

    /// The same place on the other side of its stretch.
    fn across(&self, spot: Spot) -> Spot {
        let Some((stretch, left, along)) = spot.on else { return spot };
        let place = kerbs::at(&self.side(stretch as usize, !left), along);
        Spot { on: Some((stretch, !left, along)), line: place, place, ..spot }
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
        let left = (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0.0;
        let along = along.min(self.stretches[stretch].length);
        let on_side = self.corners.kerbs.touches(stretch).then(|| kerbs::at(&self.side(stretch, left), along));
        let line = on_side.unwrap_or_else(|| between(a, b, t));
        let far = line.distance(p);
        let kerb = if far > 0.0 { between(line, p, (KERB / far).min(1.0)) } else { line };
        let place = if on_side.is_some() { line } else { kerb };
        Spot { on: Some((stretch as u32, left, along)), off, line, place, by: FoundBy::NearestStreet }
    }
}
