//! What the county's file and earlier rounds say about a premise, as numbers that a model can weigh.

use super::before::{found_before, nearby_before, water_seen_on};
use super::pulls::Known;
use super::yards::Yards;
use crate::survey::{Standing, Survey};
use std::collections::BTreeMap;

/// Land uses are told apart when at least this many yards with that use were inspected.
const FEWEST_OF_A_USE: usize = 20;

/// How many land uses are told apart at most, the commonest first.
const MOST_USES: usize = 10;

/// Values this many standard deviations from the mean are drawn in, so that a slip of the pen cannot rule the model.
const FARTHEST: f64 = 3.0;

/// A few numbers for every premise; the first is 1 for all.
#[derive(Clone, Debug)]
pub(super) struct Traits {
    columns: Vec<Vec<f32>>,
    /// What the columns after the first are known from.
    known: Vec<Known>,
}

impl Traits {
    /// The traits of all premises of a survey. Years and areas are told in standard deviations from the mean of the inspected
    /// yards, 0 where not known.
    pub(super) fn of(survey: &Survey, standings: &[Standing], yards: &Yards) -> Self {
        let premises = &survey.premises;
        let n = standings.len();
        let mut out = Self::none(n);
        let year = |i: usize| premises.year_built.get(i).filter(|&&y| y > 0).map(|&y| f64::from(y));
        out.take(Known::YearBuilt, measured(n, yards, year));
        let area = |i: usize| yards.place[i].map(|_| premises.outline.get(i).area()).filter(|&a| a > 0.0).map(f64::ln);
        out.take(Known::LotSize, measured(n, yards, area));
        out.take(Known::LandUse, land_uses(survey, yards));
        let known: Vec<Option<bool>> = (0..n).map(found_before(survey, standings)).collect();
        out.take(Known::EarlierRounds, earlier(&known, yards));
        for near_by in nearby_before(&known, yards) {
            out.take(Known::NearbyEarlier, measured(n, yards, |i| Some(near_by[i])));
        }
        out.take(Known::SeenFromOutside, water_seen(survey, standings, yards));
        out
    }

    /// So many premises of which nothing is known.
    pub(super) fn none(premises: usize) -> Self {
        Self { columns: vec![vec![1.0; premises]], known: Vec::new() }
    }

    fn take(&mut self, known: Known, columns: Vec<Vec<f32>>) {
        self.known.extend(columns.iter().map(|_| known));
        self.columns.extend(columns);
    }

    /// What a number is known from; `None` for the first.
    pub(super) fn known(&self, number: usize) -> Option<Known> {
        self.known.get(number.checked_sub(1)?).copied()
    }

    /// How many numbers each premise has.
    pub(super) fn len(&self) -> usize {
        self.columns.len()
    }

    /// The numbers of a premise.
    pub(super) fn row(&self, i: usize) -> impl Iterator<Item = f64> + '_ {
        self.columns.iter().map(move |c| f64::from(c[i]))
    }
}

/// A measured column, and one that says where it is not known; neither where it says nothing about the inspected yards.
fn measured(n: usize, yards: &Yards, value: impl Fn(usize) -> Option<f64>) -> Vec<Vec<f32>> {
    let known: Vec<f64> = yards.seen.iter().filter_map(|&i| value(i)).collect();
    let mean = known.iter().sum::<f64>() / known.len().max(1) as f64;
    let deviation = (known.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / known.len().max(1) as f64).sqrt();
    let mut out = Vec::new();
    if deviation > 0.0 {
        let standard = |i: usize| value(i).map_or(0.0, |v| ((v - mean) / deviation).clamp(-FARTHEST, FARTHEST) as f32);
        out.push((0..n).map(standard).collect());
        if known.len() < yards.seen.len() {
            out.push((0..n).map(|i| f32::from(u8::from(value(i).is_none()))).collect());
        }
    }
    out
}

/// One column for each of the commoner land uses.
fn land_uses(survey: &Survey, yards: &Yards) -> Vec<Vec<f32>> {
    let uses = &survey.premises.land_use;
    if uses.is_empty() {
        return Vec::new();
    }
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for &i in &yards.seen {
        *counts.entry(uses.get(i)).or_insert(0) += 1;
    }
    let mut common: Vec<(&str, usize)> = counts.into_iter().filter(|c| c.1 >= FEWEST_OF_A_USE).collect();
    common.sort_by_key(|c| std::cmp::Reverse(c.1));
    common.truncate(MOST_USES);
    common.iter().map(|c| uses.iter().map(|u| f32::from(u8::from(u == c.0))).collect()).collect()
}

/// Two columns: positive in an earlier round; inspected in one and never positive. None without earlier ones.
fn earlier(known: &[Option<bool>], yards: &Yards) -> Vec<Vec<f32>> {
    if yards.seen.iter().all(|&i| known[i].is_none()) {
        return Vec::new();
    }
    [true, false].map(|was| known.iter().map(|k| f32::from(u8::from(*k == Some(was)))).collect()).to_vec()
}

/// One column: water without larvae was seen there from outside in the round, before anybody inspected it. None where that says nothing
/// about the inspected yards.
fn water_seen(survey: &Survey, standings: &[Standing], yards: &Yards) -> Vec<Vec<f32>> {
    let Some(round) = survey.round_of(standings) else { return Vec::new() };
    let mut column = vec![0.0; standings.len()];
    for (row, standing) in standings.iter().enumerate().filter(|(_, s)| s.attempts > 0) {
        if water_seen_on(survey, round, standing, row).is_some() {
            column[row] = 1.0;
        }
    }
    let some = yards.seen.iter().any(|&i| column[i] > 0.0);
    if some { vec![column] } else { Vec::new() }
}
