//! The mask of cases: where they are drawn and written instead of where people fell ill.

use super::{Gap, Ground, Reason, Sources, Wanted, ground};
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use crate::survey::{Outcome, Signal, SignalKind, Survey, settings};
use crate::units::Metres;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Cases nearer to each other than this are moved alike, in metres: two masks of one household would tell more than one.
const HOUSEHOLD: f64 = 30.0;

/// How far, and which way, every case is moved. It is kept among the survey's settings, so that a case is always moved alike:
/// who sees it moved twice in different ways could guess the middle.
///
/// # Source
/// Donut masking: a random bearing and a distance between two radii, all ground between them alike likely, so
/// r = √(r₁² + u (r₂² − r₁²)); Hampton and others, American Journal of Epidemiology 172 (2010) 1062–1069 (from memory). With 12
/// homes a hectare the inner disc of 100 m holds about 38 homes, the outer of 400 m about 600: the radii are a choice, no source.
///
/// ```
/// use jiff::civil::date;
/// use std::sync::Arc;
/// use yardring_core::place::{Frame, Local, LonLat};
/// use yardring_core::reach::Mask;
/// use yardring_core::survey::{Signal, SignalKind, Survey};
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
/// let place = Local { x: 12.0, y: 34.0 };
/// let case = Signal { id: "7".into(), day: date(2025, 7, 1), place, kind: SignalKind::Case, value: None, species: "".into() };
/// survey.signals = Arc::new(vec![case.clone()]);
/// assert!(Mask::complete(&mut survey, 2025));
/// let moved = Mask::of(&survey).place(&case).unwrap();
/// assert!((100.0..=400.0).contains(&moved.distance(place)));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mask {
    /// What the displacements are drawn from.
    seed: u64,
    /// The least displacement in metres.
    inner_m: f64,
    /// The largest displacement in metres.
    outer_m: f64,
    /// The displacement of each case, metres to the east and to the north, by its id and day.
    cases: BTreeMap<String, [f64; 2]>,
}

impl Mask {
    /// Cases are moved at least so far.
    pub const INNER: Metres = Metres(100.0);
    /// Cases are moved at most so far.
    pub const OUTER: Metres = Metres(400.0);

    fn new(seed: u64) -> Self {
        Self { seed, inner_m: Self::INNER.0, outer_m: Self::OUTER.0, cases: BTreeMap::new() }
    }

    /// The mask that a survey keeps; one that moves no case where it keeps none, or none that can be read.
    pub fn of(survey: &Survey) -> Self {
        let kept = survey.settings.get(settings::CASE_MASK).and_then(|text| serde_json::from_str(text).ok());
        kept.unwrap_or_else(|| Self::new(0))
    }

    /// Gives every case of the survey that has none a displacement, and keeps the mask in the survey; whether any was missing.
    /// `seed` must be one that nobody can guess; a mask that is kept already goes on with its own.
    pub fn complete(survey: &mut Survey, seed: u64) -> bool {
        let mut mask = Self::of(survey);
        let mut missing: Vec<&Signal> = cases(survey).filter(|s| mask.place(s).is_none()).collect();
        if missing.is_empty() {
            return false;
        }
        if mask.cases.is_empty() {
            mask = Self::new(seed);
        }
        // In an order that the rows of the file have no part in.
        missing.sort_by(|a, b| (a.day, &a.id).cmp(&(b.day, &b.id)).then_with(|| a.place.x.total_cmp(&b.place.x)));
        let mut placed: Vec<(Local, [f64; 2])> = cases(survey).filter_map(|s| Some((s.place, *mask.cases.get(&key(s))?))).collect();
        for case in missing {
            let housemate = placed.iter().find(|(place, _)| place.distance(case.place) < HOUSEHOLD);
            let by = housemate.map_or_else(|| mask.drawn(&key(case)), |(_, by)| *by);
            mask.cases.insert(key(case), by);
            placed.push((case.place, by));
        }
        if let Ok(text) = serde_json::to_string(&mask) {
            std::sync::Arc::make_mut(&mut survey.settings).insert(settings::CASE_MASK.into(), text.into());
        }
        true
    }

    /// Where a case is drawn; `None` for one that the mask does not know.
    pub fn place(&self, case: &Signal) -> Option<Local> {
        let [x, y] = self.cases.get(&key(case))?;
        Some(Local { x: case.place.x + x, y: case.place.y + y })
    }

    /// A displacement between the radii, to a centimetre.
    fn drawn(&self, key: &str) -> [f64; 2] {
        let start = key.bytes().fold(mixed(self.seed), |h, byte| mixed(h ^ u64::from(byte)));
        let share = |n: u64| (mixed(start.wrapping_add(n)) >> 11) as f64 / (1u64 << 53) as f64;
        // A centimetre off both radii, so that rounding leads out of neither.
        let (least, most) = ((self.inner_m + 0.01).powi(2), (self.outer_m - 0.01).powi(2));
        let distance = (least + share(1) * (most - least)).sqrt();
        let bearing = std::f64::consts::TAU * share(2);
        [distance * bearing.sin(), distance * bearing.cos()].map(|v| (v * 100.0).round() / 100.0)
    }
}

fn cases(survey: &Survey) -> impl Iterator<Item = &Signal> {
    survey.signals.iter().filter(|s| s.kind == SignalKind::Case)
}

fn key(case: &Signal) -> String {
    format!("{} {}", case.id, case.day)
}

/// A number that looks like chance beside its neighbours.
///
/// # Source
/// The finaliser of `SplitMix64`: Steele, Lea and Flood, Fast splittable pseudorandom number generators, OOPSLA 2014.
fn mixed(n: u64) -> u64 {
    let n = n.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let n = (n ^ (n >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let n = (n ^ (n >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    n ^ (n >> 31)
}

/// The cases of a survey where its mask moves them, as sources of one place each: what may be drawn and written of them. A case
/// that the mask does not know is left out. No premise stands beside them: the one at a moved place has nothing to do with it.
pub fn masked_cases(survey: &Survey) -> Sources {
    let mask = Mask::of(survey);
    Sources::of_places(cases(survey).filter_map(|s| mask.place(s)))
}

/// The ground round cases as it may be drawn: round the masked places, but with the area and the number of pieces of the true ground,
/// which tell of no place. `sources` are the true ones.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn masked_ground(survey: &Survey, sources: &Sources, radius: Metres, watch: &dyn Watch) -> Result<Ground, Cancelled> {
    let drawn = ground(survey, &masked_cases(survey), radius, watch)?;
    Ok(Ground { shapes: drawn.shapes, ..ground(survey, sources, radius, watch)? })
}

/// Gaps round cases as they may leave the office. The doors stay, since crews need them; how many cases are near, how near, and
/// over which fence is taken away, and the order tells nothing of it: what was seen from outside comes first, as ever, then
/// parcel id and row.
pub fn mask_gaps(survey: &Survey, wanted: &Wanted, gaps: Vec<Gap>) -> Vec<Gap> {
    let hidden = |g: Gap| Gap {
        sources_in_reach: 0,
        nearest_source: wanted.radius,
        shares_fence: false,
        pupae_near: false,
        pupae_over_fence: false,
        ..g
    };
    let mut gaps: Vec<Gap> = gaps.into_iter().map(hidden).collect();
    let ids = &survey.premises.parcel_id;
    let seen = |g: &Gap| (!g.seen_pupae, !g.seen_positive, g.reason != Reason::Tried(Outcome::SeenOverFence));
    gaps.sort_by(|a, b| {
        let order = seen(a).cmp(&seen(b)).then_with(|| ids.get(a.premise.row()).cmp(ids.get(b.premise.row())));
        order.then_with(|| a.premise.cmp(&b.premise))
    });
    gaps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::reach::made_up::{Numbers, neighbourhood};
    use crate::reach::{SourceKind, gaps, sources};
    use crate::survey::{RoundId, standings};
    use jiff::civil::date;
    use std::sync::Arc;

    fn case(id: usize, x: f64, y: f64) -> Signal {
        let place = Local { x, y };
        Signal { id: id.to_string().into(), day: date(2025, 7, 1), place, kind: SignalKind::Case, value: None, species: "".into() }
    }

    /// Cases too far apart to be of one household.
    fn many(n: usize) -> Vec<Signal> {
        (0..n).map(|i| case(i, 50.0 * (i % 100) as f64, 50.0 * (i / 100) as f64)).collect()
    }

    fn masked(signals: Vec<Signal>, seed: u64) -> Survey {
        let mut survey = neighbourhood(1, 1);
        survey.signals = Arc::new(signals);
        Mask::complete(&mut survey, seed);
        survey
    }

    /// The share of the ground between the radii nearer than r is (r² − r₁²) / (r₂² − r₁²); the bounds are the Kolmogorov–Smirnov
    /// limits for 10,000 numbers at the level of one in a thousand, 1.95 / √n (from memory).
    #[test]
    fn ten_thousand_cases_lie_between_the_radii_evenly_over_the_ground() {
        let survey = masked(many(10_000), 7);
        let mask = Mask::of(&survey);
        let (mut shares, mut bearings) = (Vec::new(), Vec::new());
        for case in survey.signals.iter() {
            let moved = mask.place(case).unwrap();
            let d = moved.distance(case.place);
            assert!((Mask::INNER.0..=Mask::OUTER.0).contains(&d), "{d}");
            shares.push((d * d - Mask::INNER.0.powi(2)) / (Mask::OUTER.0.powi(2) - Mask::INNER.0.powi(2)));
            bearings.push((moved.x - case.place.x).atan2(moved.y - case.place.y).rem_euclid(std::f64::consts::TAU) / std::f64::consts::TAU);
        }
        for mut numbers in [shares, bearings] {
            numbers.sort_by(f64::total_cmp);
            let off = numbers.iter().enumerate().map(|(i, v)| (v - (i as f64 + 0.5) / 10_000.0).abs()).fold(0.0, f64::max);
            assert!(off < 1.95 / 100.0, "{off}");
        }
    }

    #[test]
    fn a_case_stays_where_it_was_moved_and_the_order_of_rows_means_nothing() {
        let mut first = masked(many(50), 7);
        let before = Mask::of(&first);
        let mut turned = many(80);
        turned.reverse();
        assert_eq!(Mask::of(&masked(turned.clone(), 7)), Mask::of(&masked(many(80), 7)));
        // More cases, another guess at the seed: the old ones stay, and nothing is missing any more.
        first.signals = Arc::new(turned);
        assert!(Mask::complete(&mut first, 99));
        let after = Mask::of(&first);
        assert!(before.cases.iter().all(|(k, v)| after.cases.get(k) == Some(v)) && after.cases.len() == 80);
        assert!(!Mask::complete(&mut first, 5));
        assert_ne!(before.cases["7 2025-07-01"], Mask::of(&masked(many(50), 8)).cases["7 2025-07-01"]);
    }

    #[test]
    fn one_household_is_moved_one_way() {
        let survey = masked(vec![case(1, 0.0, 0.0), case(2, 0.0, 4.0), case(3, 0.0, 200.0)], 3);
        let mask = Mask::of(&survey);
        let by = |i: usize| mask.cases[&key(&survey.signals[i])];
        assert_eq!(by(0), by(1));
        assert_ne!(by(0), by(2));
    }

    #[test]
    fn a_case_without_a_mask_is_not_drawn_at_all() {
        let mut survey = masked(many(3), 3);
        let mut signals = many(4);
        signals.push(Signal { kind: SignalKind::Trap, ..case(9, 0.0, 0.0) });
        survey.signals = Arc::new(signals);
        let drawn = masked_cases(&survey);
        assert_eq!(drawn.len(), 3);
        assert!(drawn.list().iter().all(|s| s.premise.is_none() && survey.signals.iter().all(|c| c.place.distance(s.place) > 1.0)));
    }

    /// Two cases so placed that their reach holds the same doors give the same list, though other doors are nearest.
    #[test]
    fn the_list_of_doors_does_not_tell_where_the_case_is() {
        let mut survey = neighbourhood(120, 4);
        let wanted = Wanted { from: SourceKind::Cases, radius: Metres(2000.0), ..Wanted::default() };
        let mut numbers = Numbers(5);
        let mut lists = Vec::new();
        for _ in 0..6 {
            survey.signals = Arc::new(vec![case(1, numbers.next() * 240.0, numbers.next() * 400.0)]);
            let standings = standings(&survey, RoundId(0));
            let found = gaps(&survey, &standings, &sources(&survey, &standings, &wanted), &wanted, &Unwatched).unwrap();
            lists.push(mask_gaps(&survey, &wanted, found));
        }
        assert!(lists[0].len() > 20 && lists.iter().all(|l| *l == lists[0]));
        assert!(lists[0].iter().all(Gap::masked));
    }
}
