//! What was known of a premise before anybody inspected it: earlier rounds, there and near by, and looks over its fence.

use super::near::Near;
use super::yards::Yards;
use crate::place::Local;
use crate::survey::{Outcome, PremiseId, RoundId, Standing, Survey, Visit};
use jiff::civil::Date;
use rayon::prelude::*;

/// What was found near by in earlier rounds is weighed with these lengths, in metres: next door, and around the corner. How much
/// each of them tells is learnt.
///
/// # Source
/// Common practice, no source: about one lot and about three.
const LENGTHS: [f64; 2] = [30.0, 90.0];

/// Weights are followed out to this many lengths; the next would be below 1.2 %.
const FOLLOWED: f64 = 3.0;

/// Visits of a premise in the rounds before one.
pub(super) fn earlier_visits(survey: &Survey, round: Option<RoundId>, row: usize) -> impl Iterator<Item = &Visit> {
    let key = move |r: RoundId| (survey.rounds[r.row()].last, r);
    survey.visits.at(PremiseId(row as u32)).iter().filter(move |v| round.is_some_and(|now| key(v.round) < key(now)))
}

/// Whether larvae or pupae were found at a premise in a round before that of the standings, over the fence too: a look says nothing
/// where it finds none. `None` when nobody was inside and nothing was seen.
pub(super) fn found_before<'a>(survey: &'a Survey, standings: &[Standing]) -> impl Fn(usize) -> Option<bool> + 'a {
    let round = survey.round_of(standings);
    move |row| {
        let told = |v: &Visit| {
            let positive = survey.visits.positive_containers(v) > 0;
            (positive || v.outcome == Outcome::Inspected).then_some(positive)
        };
        earlier_visits(survey, round, row).filter_map(told).reduce(|a, b| a | b)
    }
}

/// For each length and every premise: by how much the share of positive yards near it lay above the district's in earlier rounds, the
/// premise itself left out and drawn to 0 where few are near. Empty without earlier rounds.
///
/// Nothing of the round itself and nothing later comes in, so that no block set aside gives anything away.
pub(super) fn nearby_before(known: &[Option<bool>], yards: &Yards) -> Vec<Vec<f64>> {
    let told = |row: usize| Some((row, yards.place[row]?, known[row]?));
    let told: Vec<(usize, Local, bool)> = (0..known.len()).filter_map(told).collect();
    if told.is_empty() {
        return Vec::new();
    }
    let at: Vec<Local> = told.iter().map(|t| t.1).collect();
    let near = Near::new(&at);
    let rate = told.iter().filter(|t| t.2).count() as f64 / told.len() as f64;
    let above = |row: usize, length: f64| {
        let (mut sum, mut all) = (0.0, 1.0);
        let Some(place) = yards.place[row] else { return 0.0 };
        near.each(place, FOLLOWED * length, |k, squared| {
            if told[k].0 != row {
                let weight = (-squared / (2.0 * length * length)).exp();
                sum += weight * (f64::from(u8::from(told[k].2)) - rate);
                all += weight;
            }
        });
        sum / all
    };
    LENGTHS.iter().map(|&length| (0..known.len()).into_par_iter().map(|row| above(row, length)).collect()).collect()
}

/// The last day of a round on which water without larvae was seen over the fence of a premise; what was seen after somebody had
/// inspected it is left out.
pub(super) fn water_seen_on(survey: &Survey, round: RoundId, standing: &Standing, row: usize) -> Option<Date> {
    let visits = &survey.visits;
    let inspected = standing.counted.map(|v| visits.get(v).when.day);
    let water = |v: &&Visit| {
        let finds = visits.finds_of(v);
        let over_the_fence = v.round == round && v.outcome == Outcome::SeenOverFence;
        over_the_fence && finds.iter().any(|f| f.wet > 0) && visits.positive_containers(v) == 0
    };
    let before = |v: &&Visit| inspected.is_none_or(|day| v.when.day <= day);
    visits.at(PremiseId(row as u32)).iter().rfind(|v| water(v) && before(v)).map(|v| v.when.day)
}

#[cfg(test)]
mod tests {
    use super::super::answer::foresee;
    use super::super::made_up::{Numbers, district};
    use super::*;
    use crate::job::Unwatched;
    use crate::survey::{Find, KindId, Round, Visits, When};
    use jiff::civil::date;
    use std::sync::Arc;

    fn find(positive: bool) -> Find {
        Find {
            kind: KindId(0),
            count: 1,
            wet: 1,
            with_larvae: u32::from(positive),
            with_pupae: 0,
            pupae: 0,
            stage: None,
            litres: None,
            action: None,
            remains: false,
        }
    }

    fn visit(row: usize, round: u32, outcome: Outcome, finds: Vec<Find>) -> (Visit, Vec<Find>) {
        let visit = Visit {
            id: format!("{row}-{round}").into(),
            premise: PremiseId(row as u32),
            when: When { day: date(2025, 7, 1 + 14 * round as i8), time: None },
            outcome,
            round: RoundId(round),
            crew: "".into(),
            said: None,
            finds: 0..0,
        };
        (visit, finds)
    }

    fn rounds() -> Arc<Vec<Round>> {
        let round = |r: i8| Round { name: format!("Round {r}").into(), first: date(2025, 7, 14 * r - 13), last: date(2025, 7, 14 * r - 1) };
        Arc::new(vec![round(1), round(2)])
    }

    /// Nests of three by three lots lie here and there, one yard in three of them positive in any round; every second yard is seen in
    /// the first round and the others in the second. `told` says whether the first round's visits are known.
    fn nests(told: bool, seed: u64) -> (Survey, Vec<Standing>) {
        let side = 45;
        let (mut survey, _) = district(side, 0.0, 0.0, 1);
        let mut numbers = Numbers(seed);
        let nest: Vec<bool> = (0..15 * 15).map(|_| numbers.next() < 0.12).collect();
        let mut visits = Vec::new();
        for row in 0..side * side {
            let (y, x) = (row / side, row % side);
            let positive = numbers.next() < if nest[y / 3 * 15 + x / 3] { 0.6 } else { 0.03 };
            let round = ((x + y) % 2) as u32;
            if told || round == 1 {
                visits.push(visit(row, round, Outcome::Inspected, if positive { vec![find(true)] } else { Vec::new() }));
            }
        }
        survey.rounds = rounds();
        survey.visits = Visits::from_rows(side * side, visits);
        let standings = crate::survey::standings(&survey, RoundId(1));
        (survey, standings)
    }

    /// Where earlier rounds found nests next door, whole blocks set aside are foretold better with them than without.
    #[test]
    fn what_was_found_next_door_in_an_earlier_round_foretells() {
        for seed in [2, 7, 12] {
            let judged = |told: bool| {
                let (survey, standings) = nests(told, seed);
                foresee(&survey, &standings, &Unwatched).unwrap().judged.unwrap()
            };
            let (with, without) = (judged(true), judged(false));
            assert_eq!((with.yards, with.positive), (without.yards, without.positive), "the same yards are judged");
            let (brier, plain) = (with.scores.brier, without.scores.brier);
            assert!(brier < 0.93 * plain, "seed {seed}: {brier} with, {plain} without");
        }
    }

    /// The weighted share, by a plain sum over all other premises; the premise's own result is no part of it.
    #[test]
    fn the_share_near_by_leaves_the_premise_itself_out() {
        let (survey, standings) = nests(true, 3);
        let yards = Yards::of(&survey, &standings);
        let mut known: Vec<Option<bool>> = (0..standings.len()).map(found_before(&survey, &standings)).collect();
        let found = nearby_before(&known, &yards);
        let told: Vec<usize> = (0..known.len()).filter(|&i| known[i].is_some()).collect();
        let rate = told.iter().filter(|&&i| known[i] == Some(true)).count() as f64 / told.len() as f64;
        for (length, row) in [(0, 100), (1, 100), (0, 1012), (1, 2024)] {
            let h = LENGTHS[length];
            let weight = |i: usize| (-yards.place[i].unwrap().distance(yards.place[row].unwrap()).powi(2) / (2.0 * h * h)).exp();
            let reached = |i: &&usize| **i != row && yards.place[**i].unwrap().distance(yards.place[row].unwrap()) <= 3.0 * h;
            let others: Vec<usize> = told.iter().filter(reached).copied().collect();
            let sum: f64 = others.iter().map(|&i| weight(i) * (f64::from(u8::from(known[i] == Some(true))) - rate)).sum();
            let all: f64 = 1.0 + others.iter().map(|&i| weight(i)).sum::<f64>();
            assert!((found[length][row] - sum / all).abs() < 1e-12);
        }
        known.fill(None);
        assert!(nearby_before(&known, &yards).is_empty());
    }

    /// A find over the fence in an earlier round is one; a look that saw none says nothing. Later rounds are not asked.
    #[test]
    fn earlier_finds_count_and_later_ones_do_not() {
        let (mut survey, _) = district(5, 0.0, 0.0, 1);
        survey.rounds = rounds();
        let looked = |row, round, finds| visit(row, round, Outcome::SeenOverFence, finds);
        survey.visits = Visits::from_rows(
            25,
            vec![
                looked(0, 0, vec![find(true)]),
                looked(1, 0, vec![find(false)]),
                visit(2, 0, Outcome::Inspected, Vec::new()),
                visit(3, 1, Outcome::Inspected, vec![find(true)]),
                looked(4, 1, vec![find(false)]),
            ],
        );
        let found = |round: u32| {
            let standings = crate::survey::standings(&survey, RoundId(round));
            (0..5).map(found_before(&survey, &standings)).collect::<Vec<_>>()
        };
        assert_eq!(found(1), [Some(true), None, Some(false), None, None]);
        assert_eq!(found(0), [None; 5]);
        let standings = crate::survey::standings(&survey, RoundId(1));
        let water = |row: usize| water_seen_on(&survey, RoundId(1), &standings[row], row);
        assert_eq!((water(4), water(3), water(1)), (Some(date(2025, 7, 15)), None, None));
    }

    /// Larvae seen over a fence raise the chances of the yards near by, most those next door, and leave the far ones as they were.
    #[test]
    fn larvae_over_the_fence_raise_the_chances_near_by() {
        let (survey, mut standings) = district(45, 0.35, 0.05, 3);
        let place = |row: usize| ((row % 45) as f64 * 25.0, (row / 45) as f64 * 25.0);
        let row = (0..standings.len()).find(|&i| !standings[i].inspected() && i % 45 > 27 && i / 45 > 22).unwrap();
        let before = foresee(&survey, &standings, &Unwatched).unwrap();
        standings[row].source = true;
        let after = foresee(&survey, &standings, &Unwatched).unwrap();
        let far = |other: usize| (place(other).0 - place(row).0).hypot(place(other).1 - place(row).1);
        let raised = |least: f64, most: f64| {
            let of = |c: &super::super::answer::Chance| before.chances.iter().find(|b| b.premise == c.premise).unwrap().probability;
            let near = after.chances.iter().filter(|c| (least..most).contains(&far(c.premise.row())));
            let all: Vec<f64> = near.map(|c| c.probability / of(c)).collect();
            assert!(!all.is_empty());
            all.iter().sum::<f64>() / all.len() as f64
        };
        let (next, beyond, elsewhere) = (raised(1.0, 40.0), raised(100.0, 150.0), raised(600.0, 2000.0));
        assert!(next > 1.05 && next > beyond && beyond > elsewhere && (elsewhere - 1.0).abs() < 0.02, "{next} {beyond} {elsewhere}");
    }
}
