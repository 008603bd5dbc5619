//! The premise that a house number stands for: the first one beside its spot on the street.

use super::address::{Address, difference};
use super::join::Finder;
use crate::place::{Bounds, Local, ShapeView};
use crate::survey::{HouseSpot, PremiseId};

/// A house stands no farther from its street's centreline than this, in metres.
///
/// # Source
/// Common practice, no source: half of a wide street with its verges.
const BESIDE_STREET: f64 = 30.0;
/// How far into a premise, or from the centreline where there is none, a house number is put, in metres.
const ASIDE: f64 = 12.0;

impl Finder<'_> {
    /// The one premise that a house number on a numbered street stands for, when that premise has no house number of its own
    /// that says otherwise.
    pub(super) fn by_numbers(&self, address: &str) -> Option<PremiseId> {
        let streets = self.streets()?;
        let spots = self.houses()?.on(&Address::parse(address), streets);
        let premise = self.beside(spots.first()?)?;
        let agreed = spots[1..].iter().all(|spot| self.beside(spot) == Some(premise));
        (agreed && self.address_of(premise).number.is_empty()).then_some(premise)
    }

    /// Where the one spot is that a house number on a numbered street stands for, a little aside from the street.
    pub(super) fn spot_by_numbers(&self, address: &str) -> Option<Local> {
        let spots = self.houses()?.on(&Address::parse(address), self.streets()?);
        if let [spot] = spots.as_slice() { Some(moved(spot, ASIDE)) } else { None }
    }

    /// Premises that a house number may stand for, on the street named or on one with a name like it, each with the spot.
    pub(super) fn near_numbers(&self, address: &str) -> Vec<(PremiseId, HouseSpot)> {
        let (Some(houses), Some(streets)) = (self.houses(), self.streets()) else { return Vec::new() };
        let spots = houses.like(&Address::parse(address), streets, difference);
        let premise = |spot: &HouseSpot| self.beside(spot).or_else(|| self.nearest(moved(spot, ASIDE)).map(|n| n.0));
        spots.into_iter().filter_map(|spot| Some((premise(&spot)?, spot))).collect()
    }

    /// The first premise on the way from a spot to its side that does not reach over the street itself.
    fn beside(&self, spot: &HouseSpot) -> Option<PremiseId> {
        let end = moved(spot, BESIDE_STREET);
        let outlines = self.outlines();
        let mut first: Option<f64> = None;
        let mut there = Vec::new();
        self.index().each_touching(&Bounds::of(&[spot.on_line, end]), |i| {
            let outline = outlines.get(i);
            let Some(share) = entered(outline, spot.on_line, end).filter(|_| !outline.holds(spot.on_line)) else { return };
            if first.is_none_or(|nearest| share < nearest) {
                first = Some(share);
                there.clear();
            }
            if first == Some(share) {
                there.push(i);
            }
        });
        self.best(there.into_iter())
    }
}

fn moved(spot: &HouseSpot, metres: f64) -> Local {
    let (from, to) = (spot.on_line, spot.aside);
    Local { x: from.x + (to.x - from.x) * metres, y: from.y + (to.y - from.y) * metres }
}

/// At which share of the way from one place to another an outline is first met; `None` when it is not met.
fn entered(outline: ShapeView<'_>, from: Local, to: Local) -> Option<f64> {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let side = |p: Local| dx * (p.y - from.y) - dy * (p.x - from.x);
    let mut least: Option<f64> = None;
    for ring in outline.rings() {
        let Some(&last) = ring.last() else { continue };
        let mut a = last;
        for &b in ring {
            let (s, t) = (side(a), side(b));
            if (s > 0.0) != (t > 0.0) {
                let k = s / (s - t);
                let (x, y) = (a.x + (b.x - a.x) * k - from.x, a.y + (b.y - a.y) * k - from.y);
                let share = (x * dx + y * dy) / (dx * dx + dy * dy);
                if (0.0..=1.0).contains(&share) && least.is_none_or(|l| share < l) {
                    least = Some(share);
                }
            }
            a = b;
        }
    }
    least
}

#[cfg(test)]
mod tests {
    use super::super::join::folded_addresses;
    use super::*;
    use crate::place::Shapes;
    use crate::survey::{Numbers, Premises, Ranges, Streets};
    use std::sync::Arc;

    /// Kettle Lane runs 100 m east. North of it five lots of 20 m by 30 m from 8 m on, the last one with a house number; behind
    /// them one great lot; the street itself is a parcel too.
    fn town() -> (Premises, Streets) {
        let mut s = Shapes::default();
        let mut lot = |x: f64, y: f64, w: f64, h: f64| {
            s.push_ring(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(dx, dy)| Local { x: x + dx, y: y + dy }));
            s.end_part();
            s.end_shape();
        };
        (0..5).for_each(|k| lot(f64::from(k) * 20.0, 8.0, 20.0, 30.0));
        lot(0.0, 38.0, 100.0, 60.0);
        lot(0.0, -8.0, 100.0, 16.0);
        let premises = Premises {
            parcel_id: Arc::new(["A", "B", "C", "D", "E", "back", "street"].into_iter().collect()),
            address: Arc::new(["", "", "Kettle Lane", "", "40 Kettle Lane", "", ""].into_iter().collect()),
            block: Arc::new(vec![None; 7]),
            outline: Arc::new(s),
            ..Premises::default()
        };
        let mut line = Shapes::default();
        line.push_ring(&[Local { x: 0.0, y: 0.0 }, Local { x: 100.0, y: 0.0 }]);
        line.end_part();
        line.end_shape();
        let ranges = vec![Ranges { left: Some(Numbers { from: 2, to: 10 }), right: Some(Numbers { from: 1, to: 9 }) }];
        (
            premises,
            Streets {
                name: Arc::new(["Kettle Lane"].into_iter().collect()),
                line: Arc::new(line),
                ranges: Arc::new(ranges),
                ..Streets::default()
            },
        )
    }

    #[test]
    fn a_number_stands_for_the_first_premise_on_its_side() {
        let (premises, streets) = town();
        let folded = folded_addresses(&premises);
        let finder = Finder::new(&premises, &folded).along(&streets);
        let at = |text: &str| finder.by_numbers(text).map(|p| premises.parcel_id.get(p.row()));
        assert_eq!([at("2 Kettle Ln"), at("4 Kettle Ln"), at("6 Kettle Ln")], [Some("A"), Some("B"), Some("C")]);
        // The last lot has a number of its own; south of the street nothing lies near; odd numbers stand there.
        assert_eq!([at("10 Kettle Ln"), at("3 Kettle Ln"), at("12 Kettle Ln"), at("4 Ketle Ln")], [None; 4]);
        let offered = |text: &str| finder.near_numbers(text).iter().map(|(p, _)| premises.parcel_id.get(p.row())).collect::<Vec<_>>();
        assert_eq!((offered("10 Kettle Ln"), offered("4 Ketle Ln")), (vec!["E"], vec!["B"]));
        assert_eq!(finder.spot_by_numbers("4 Kettle Ln"), Some(Local { x: 30.0, y: 12.0 }));
    }

    #[test]
    fn without_numbers_nobody_is_found() {
        let (premises, streets) = town();
        let folded = folded_addresses(&premises);
        let bare = Streets { ranges: Arc::default(), ..streets };
        assert_eq!(Finder::new(&premises, &folded).along(&bare).by_numbers("2 Kettle Ln"), None);
        assert_eq!(Finder::new(&premises, &folded).by_numbers("2 Kettle Ln"), None);
    }
}
