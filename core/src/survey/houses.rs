//! Where a house stands by the numbers of its street.

use super::{Address, Numbers, Streets};
use crate::place::{Local, ShapeView};
use std::collections::BTreeMap;

/// A spot on a centreline beside which a house must stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HouseSpot {
    /// The spot on the centreline, in the district frame.
    pub on_line: Local,
    /// One metre from there towards the house's side.
    pub aside: Local,
    /// The lowest and the highest number on this side of this stretch.
    pub between: (u32, u32),
    /// The row of the street.
    pub street: usize,
    /// Whether the house stands on the left hand of somebody who walks from the line's beginning to its end.
    pub left: bool,
    /// How like the street's name is to the one asked for: 1 is the same after normalising.
    pub score: f64,
}

/// The numbered streets of a survey by name.
#[derive(Clone, Debug, Default)]
pub struct Houses {
    by_name: BTreeMap<Address, Vec<usize>>,
}

impl Houses {
    /// Takes the names of the streets that have numbers apart.
    pub fn new(streets: &Streets) -> Self {
        let mut by_name: BTreeMap<Address, Vec<usize>> = BTreeMap::new();
        for (i, _) in streets.ranges.iter().enumerate().filter(|(_, r)| r.sides().next().is_some()) {
            let name = Address::of_street(streets.name.get(i));
            if !name.name.is_empty() {
                by_name.entry(name).or_default().push(i);
            }
        }
        Self { by_name }
    }

    /// Spots on the street that an address names.
    pub fn on(&self, wanted: &Address, streets: &Streets) -> Vec<HouseSpot> {
        let Some(number) = whole(&wanted.number) else { return Vec::new() };
        let name = Address { number: String::new(), unit: String::new(), ..wanted.clone() };
        let rows = self.by_name.get(&name);
        rows.into_iter().flatten().flat_map(|&i| spots(streets, i, number, 1.0)).collect()
    }

    /// Spots on streets with a name like the one that an address names, the likest first. `difference` says how much two names differ;
    /// `None` where too much.
    pub fn like(&self, wanted: &Address, streets: &Streets, difference: impl Fn(&Address, &Address) -> Option<f64>) -> Vec<HouseSpot> {
        let Some(number) = whole(&wanted.number).filter(|_| !wanted.name.is_empty()) else { return Vec::new() };
        let alike = self.by_name.iter().filter_map(|(name, rows)| Some((1.0 - difference(wanted, name)?, rows)));
        let mut found: Vec<HouseSpot> =
            alike.flat_map(|(score, rows)| rows.iter().flat_map(move |&i| spots(streets, i, number, score))).collect();
        found.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.street.cmp(&b.street)));
        found
    }
}

/// The whole number that a house number begins with: 104 of "104A".
fn whole(number: &str) -> Option<u32> {
    let digits = number.find(|c: char| !c.is_ascii_digit()).map_or(number, |end| &number[..end]);
    digits.parse().ok()
}

/// Where a number stands along one centreline: none, one, or one on either side.
fn spots(streets: &Streets, i: usize, number: u32, score: f64) -> impl Iterator<Item = HouseSpot> {
    let line = streets.line.get(i);
    let sides = streets.ranges[i].sides();
    sides.filter_map(move |(left, range)| {
        let (on_line, ahead) = along(line, share(range, number)?)?;
        let (x, y) = if left { (-ahead.y, ahead.x) } else { (ahead.y, -ahead.x) };
        let aside = Local { x: on_line.x + x, y: on_line.y + y };
        Some(HouseSpot { on_line, aside, between: (range.from.min(range.to), range.from.max(range.to)), street: i, left, score })
    })
}

/// How far along the line a number stands, as a share of its length. Every number that the side can have takes the same room,
/// and a house stands in the middle of its own. A side whose ends are both even has no odd numbers, and the other way round.
///
/// # Source
/// Placing houses evenly along the numbers of their side is common practice, no source.
fn share(range: Numbers, number: u32) -> Option<f64> {
    let (low, high) = (range.from.min(range.to), range.from.max(range.to));
    let step = if low % 2 == high % 2 { 2 } else { 1 };
    if !(low..=high).contains(&number) || !(number - low).is_multiple_of(step) {
        return None;
    }
    let (before, room) = (f64::from((number - low) / step), f64::from((high - low) / step) + 1.0);
    let share = (before + 0.5) / room;
    Some(if range.from <= range.to { share } else { 1.0 - share })
}

/// The place at a share of a line's length, and the direction there as one metre.
fn along(line: ShapeView<'_>, share: f64) -> Option<(Local, Local)> {
    let pieces = || line.rings().flat_map(|run| run.windows(2)).map(|w| (w[0], w[1], w[0].distance(w[1]))).filter(|p| p.2 > 0.0);
    let mut left = pieces().map(|p| p.2).sum::<f64>() * share;
    let last = pieces().last()?;
    for (a, b, length) in pieces() {
        if left <= length || (a, b) == (last.0, last.1) {
            let (x, y) = ((b.x - a.x) / length, (b.y - a.y) / length);
            let metres = left.min(length);
            return Some((Local { x: a.x + x * metres, y: a.y + y * metres }, Local { x, y }));
        }
        left -= length;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;
    use crate::survey::Ranges;
    use std::sync::Arc;

    /// Two stretches of Kettle Lane that run east, 100 m each, and 5th Ave that runs south and has its numbers falling.
    fn streets() -> Streets {
        let mut line = Shapes::default();
        for run in [[(0.0, 0.0), (100.0, 0.0)], [(100.0, 0.0), (200.0, 0.0)], [(0.0, 50.0), (0.0, 0.0)]] {
            line.push_ring(&run.map(|(x, y)| Local { x, y }));
            line.end_part();
            line.end_shape();
        }
        let side = |from, to| Some(Numbers { from, to });
        let ranges = vec![
            Ranges { left: side(2, 10), right: side(1, 9) },
            Ranges { left: side(12, 20), right: None },
            Ranges { left: side(108, 100), right: side(99, 90) },
        ];
        Streets {
            name: Arc::new(["Kettle Ln", "Kettle Lane", "5th Ave"].into_iter().collect()),
            line: Arc::new(line),
            ranges: Arc::new(ranges),
            ..Streets::default()
        }
    }

    fn found(text: &str) -> Vec<(f64, f64, f64, f64)> {
        let streets = streets();
        let spots = Houses::new(&streets).on(&Address::parse(text), &streets);
        spots.iter().map(|s| (s.on_line.x, s.on_line.y, s.aside.x - s.on_line.x, s.aside.y - s.on_line.y)).collect()
    }

    #[test]
    fn a_number_stands_on_its_side_at_its_share_of_the_line() {
        assert_eq!(found("2 Kettle Lane"), [(10.0, 0.0, 0.0, 1.0)]);
        assert_eq!(found("9 kettle ln."), [(90.0, 0.0, 0.0, -1.0)]);
        assert_eq!(found("16 Kettle Lane Apt 3"), [(150.0, 0.0, 0.0, 1.0)]);
        assert_eq!(found("100 Fifth Avenue"), [(0.0, 5.0, 1.0, 0.0)]);
        assert_eq!(found("108 5th Ave"), [(0.0, 45.0, 1.0, 0.0)]);
        assert_eq!(found("90 5th Ave"), [(0.0, 2.5, -1.0, 0.0)]);
    }

    #[test]
    fn a_number_outside_the_range_or_of_the_other_side_stands_nowhere() {
        for text in ["22 Kettle Lane", "11 Kettle Lane", "0 Kettle Lane", "103 5th Ave", "Kettle Lane", "2 Kettle St", "2 Ketle Lane"] {
            assert_eq!(found(text), [], "{text}");
        }
        let streets = streets();
        let begins_alike = |a: &Address, b: &Address| (a.name[..3] == b.name[..3]).then_some(0.15);
        let like = Houses::new(&streets).like(&Address::parse("2 Ketle Lane"), &streets, begins_alike);
        assert_eq!(like.iter().map(|s| (s.street, s.between, s.score)).collect::<Vec<_>>(), [(0, (2, 10), 0.85)]);
    }

    proptest::proptest! {
        /// All numbers of a side stand in their order, apart from each other by the same share, and inside the line.
        #[test]
        fn numbers_part_the_line_evenly(from in 1u32..300, houses in 0u32..40, falling: bool) {
            let to = from + 2 * houses;
            let range = if falling { Numbers { from: to, to: from } } else { Numbers { from, to } };
            let mut shares: Vec<f64> = (from..=to).filter_map(|n| share(range, n)).collect();
            if falling {
                shares.reverse();
            }
            proptest::prop_assert_eq!(shares.len() as u32, houses + 1);
            let step = 1.0 / f64::from(houses + 1);
            proptest::prop_assert!(shares.iter().enumerate().all(|(k, s)| (s - (k as f64 + 0.5) * step).abs() < 1e-12));
        }
    }
}
