//! Why a yard has the chance it has, in words for a crew leader.

use super::answer::Chance;
use super::before::{earlier_visits, found_before, water_seen_on};
use super::looks::day_of;
use super::pulls::Known;
use crate::place::{Bounds, BoxIndex};
use crate::survey::calendar::day_words;
use crate::survey::{PremiseId, RoundId, Standing, Survey};
use std::collections::BTreeSet;

/// Rings that positive yards are counted in, in metres: over the fence, over the street, the block.
const RINGS: [f64; 3] = [40.0, 80.0, 150.0];

/// What the county's file says is said where it moves the odds by a tenth or more, up or down: (1.1).ln().
const WORTH_SAYING: f64 = 0.095;

/// What stands for and against larvae at a premise, in words: inspected yards near by and larvae seen over their fences, what the
/// county's file says, what earlier rounds found there and near by, and how the visits of the round ended. `index` is the tree over the boxes of all outlines. With the chance of
/// the premise, what moves it most stands first; visits that found nobody weigh nothing and stand last.
///
/// ```
/// use yardring_core::foresee::explain;
/// use yardring_core::place::{BoxIndex, Frame, LonLat};
/// use yardring_core::survey::{PremiseId, Standing, Survey};
/// use std::sync::Arc;
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
/// survey.premises.parcel_id = Arc::new(["1"].into_iter().collect());
/// survey.premises.year_built = Arc::new(vec![1952]);
/// let index = BoxIndex::new(survey.premises.outline.bounds());
/// let words = explain(&survey, &[Standing::default()], &index, PremiseId(0), None);
/// assert_eq!(words, "no outline, so no yards near by, built 1952, not visited");
/// ```
pub fn explain(survey: &Survey, standings: &[Standing], index: &BoxIndex, premise: PremiseId, chance: Option<&Chance>) -> String {
    let row = premise.row();
    let pull = |known: Known| chance.map_or(0.0, |c| c.pulls.of(known).abs());
    let near = neighbours(survey, index, row);
    let beside = near.as_deref().unwrap_or_default();
    let mut said = vec![(Known::Nearby, nearby(standings, near.as_deref()))];
    said.extend(over_the_fence(survey, standings, beside).map(|words| (Known::Nearby, words)));
    // What weighs nothing here is no reason.
    let weighs = |known: Known| pull(known) >= WORTH_SAYING;
    said.extend(built(survey, row).filter(|_| chance.is_none() || weighs(Known::YearBuilt)).map(|words| (Known::YearBuilt, words)));
    said.extend(used(survey, row).filter(|_| chance.is_none() || weighs(Known::LandUse)).map(|words| (Known::LandUse, words)));
    said.extend(lot(survey, row).filter(|_| weighs(Known::LotSize)).map(|words| (Known::LotSize, words)));
    said.extend(before(survey, standings, row).map(|words| (Known::EarlierRounds, words)));
    let earlier = nearby_earlier(survey, standings, beside).filter(|_| chance.is_none() || weighs(Known::NearbyEarlier));
    said.extend(earlier.map(|words| (Known::NearbyEarlier, words)));
    said.extend(water(survey, standings, row).map(|words| (Known::SeenFromOutside, words)));
    // Stable: what moves the chance alike stays in this order.
    said.sort_by(|a, b| pull(b.0).total_cmp(&pull(a.0)));
    let words = said.into_iter().map(|s| s.1).chain([visits(survey, standings, row)]);
    words.collect::<Vec<_>>().join(", ")
}

fn built(survey: &Survey, row: usize) -> Option<String> {
    survey.premises.year_built.get(row).filter(|&&y| y > 0).map(|year| format!("built {year}"))
}

fn used(survey: &Survey, row: usize) -> Option<String> {
    let uses = &survey.premises.land_use;
    (!uses.is_empty() && !uses.get(row).is_empty()).then(|| format!("land use {}", uses.get(row)))
}

fn lot(survey: &Survey, row: usize) -> Option<String> {
    let outline = &survey.premises.outline;
    let area = (row < outline.len()).then(|| outline.get(row).area()).filter(|&a| a > 0.0);
    area.map(|area| format!("lot of {area:.0} m²"))
}

/// What earlier rounds found there; `None` when nobody was inside and nothing was seen over the fence.
fn before(survey: &Survey, standings: &[Standing], row: usize) -> Option<String> {
    found_before(survey, standings)(row)
        .map(|positive| if positive { "positive in an earlier round" } else { "not positive in earlier rounds" }.to_owned())
}

/// A premise and how far it is, in metres.
type Neighbour = (usize, f64);

/// The premises in the widest ring around one, itself left out; `None` without an outline.
fn neighbours(survey: &Survey, index: &BoxIndex, row: usize) -> Option<Vec<Neighbour>> {
    let bounds = survey.premises.outline.bounds();
    let own = bounds.get(row).filter(|b| !b.is_empty()).map(Bounds::centre)?;
    let mut out = Vec::new();
    index.each_touching(&Bounds::of(&[own]).grown(RINGS[2]), |i| {
        if i != row {
            out.push((i, bounds[i].centre().distance(own)));
        }
    });
    Some(out)
}

/// The narrowest ring with a positive yard, or else the widest; how many yards are known in it, and how many were positive.
fn ring(known: &[(f64, bool)]) -> (f64, usize, usize) {
    let near = |radius: f64| {
        let inside = known.iter().filter(|y| y.0 <= radius);
        inside.fold((radius, 0, 0), |(radius, all, positive), y| (radius, all + 1, positive + usize::from(y.1)))
    };
    let rings = RINGS.map(near);
    rings.into_iter().find(|r| r.2 > 0).unwrap_or(rings[2])
}

fn nearby(standings: &[Standing], near: Option<&[Neighbour]>) -> String {
    let Some(near) = near else { return "no outline, so no yards near by".to_owned() };
    let inspected = near.iter().filter(|n| standings[n.0].inspected());
    let (radius, inspected, positive) = ring(&inspected.map(|n| (n.1, standings[n.0].positive())).collect::<Vec<_>>());
    match (inspected, positive) {
        (0, _) => format!("no yard inspected within {radius:.0} m"),
        (1, 0) => format!("one yard inspected within {radius:.0} m and not positive"),
        (n, 0) => format!("none of {n} inspected yards within {radius:.0} m positive"),
        (n, p) => format!("{p} of {n} inspected yards within {radius:.0} m positive"),
    }
}

/// The nearest yard over whose fence larvae were seen, next door or over the street.
fn over_the_fence(survey: &Survey, standings: &[Standing], near: &[Neighbour]) -> Option<String> {
    let seen = near.iter().filter(|n| n.1 <= RINGS[1] && standings[n.0].seen_from_outside());
    let &(row, far) = seen.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))?;
    let round = survey.round_of(standings)?;
    let day = day_of(survey, round, row, true)?;
    Some(format!("larvae seen from outside in a yard {far:.0} m away on {}", day_words(day)))
}

/// What earlier rounds found near by; `None` where nobody was inside and nothing was seen over a fence.
fn nearby_earlier(survey: &Survey, standings: &[Standing], near: &[Neighbour]) -> Option<String> {
    let found = found_before(survey, standings);
    let known: Vec<(usize, f64, bool)> = near.iter().filter_map(|&(row, far)| Some((row, far, found(row)?))).collect();
    let (radius, all, positive) = ring(&known.iter().map(|k| (k.1, k.2)).collect::<Vec<_>>());
    let now = survey.round_of(standings);
    let positive_in = known.iter().filter(|k| k.1 <= radius && k.2).flat_map(|k| {
        let visits = earlier_visits(survey, now, k.0);
        visits.filter(|v| survey.visits.positive_containers(v) > 0).map(|v| v.round)
    });
    let rounds: BTreeSet<RoundId> = positive_in.collect();
    let when = match rounds.first() {
        Some(round) if rounds.len() == 1 => survey.rounds[round.row()].name.to_string(),
        _ => "earlier rounds".to_owned(),
    };
    match (all, positive) {
        (0, _) => None,
        (1, 0) => Some(format!("one yard within {radius:.0} m not positive in {when}")),
        (n, 0) => Some(format!("none of {n} yards within {radius:.0} m positive in {when}")),
        (n, p) => Some(format!("{p} of {n} yards within {radius:.0} m positive in {when}")),
    }
}

/// Water that was seen over the fence in the round.
fn water(survey: &Survey, standings: &[Standing], row: usize) -> Option<String> {
    let day = water_seen_on(survey, survey.round_of(standings)?, &standings[row], row)?;
    Some(format!("water seen over the fence on {}", day_words(day)))
}

fn visits(survey: &Survey, standings: &[Standing], row: usize) -> String {
    let standing = &standings[row];
    if standing.source {
        return "larvae or pupae seen here from outside".to_owned();
    }
    match (standing.last, standing.attempts) {
        (None, _) | (_, 0) => "not visited".to_owned(),
        (Some(last), n) => {
            let round = survey.visits.get(last).round;
            let own = survey.visits.at(PremiseId(row as u32)).iter().filter(|v| v.round == round);
            let mut ends: Vec<&str> = own.map(|v| v.outcome.word()).collect();
            ends.dedup();
            let last = survey.visits.get(last).outcome.word();
            match (n, ends.len()) {
                (1, _) => last.to_owned(),
                (2, 1) => format!("{last} twice"),
                (n, 1) => format!("{last} {n} times"),
                (2, _) => format!("tried twice, last {last}"),
                (n, _) => format!("tried {n} times, last {last}"),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::answer::foresee;
    use super::super::chances::Chances;
    use super::super::made_up::{Numbers, district};
    use super::*;
    use crate::job::Unwatched;
    use crate::place::{Frame, LonLat};
    use crate::survey::{Find, KindId, Outcome, Round, RoundId, Visit, Visits, When, standings};
    use jiff::civil::date;
    use std::sync::Arc;

    /// Where old yards breed and the rest do not, the year stands first; where the west breeds and years are drawn by lot, what
    /// was found near by does. The shares are those that made the outcomes, not what the model says.
    #[test]
    fn what_moves_the_chance_most_is_said_first() {
        for by_year in [true, false] {
            let (mut survey, mut standings) = district(45, 0.35, 0.05, 3);
            let mut numbers = Numbers(11);
            let years: Vec<u16> = standings.iter().map(|_| if numbers.next() < 0.3 { 1950 } else { 2000 }).collect();
            if by_year {
                for (standing, &year) in standings.iter_mut().zip(&years) {
                    let positive = numbers.next() < if year == 1950 { 0.35 } else { 0.04 };
                    standing.positive_containers = u32::from(standing.inspected() && positive);
                }
            }
            survey.premises.year_built = Arc::new(years.clone());
            let chances = Chances::shown(foresee(&survey, &standings, &Unwatched).unwrap()).unwrap();
            let index = BoxIndex::new(survey.premises.outline.bounds());
            let old = (0..standings.len()).filter(|&i| !standings[i].inspected() && years[i] == 1950 && i % 45 < 13);
            let said = |row: usize| {
                let premise = PremiseId(row as u32);
                explain(&survey, &standings, &index, premise, chances.at(premise))
            };
            let all: Vec<String> = old.map(said).collect();
            let year_first = all.iter().filter(|words| words.starts_with("built 1950, ")).count();
            let share = year_first as f64 / all.len() as f64;
            assert!(all.len() > 50 && all.iter().all(|w| w.ends_with("not visited")), "{all:?}");
            // A year that weighs nothing is no reason.
            assert!(!by_year || all.iter().all(|w| w.contains("built 1950")), "{all:?}");
            assert!(if by_year { share > 0.9 } else { share < 0.1 }, "{share}: {all:?}");
        }
    }

    /// Four yards in a row, 25 m apart: the second had larvae seen over its fence on 12 July, the third was positive in the first round.
    #[test]
    fn looks_and_earlier_rounds_are_reasons() {
        let (mut s, _) = district(4, 0.0, 0.0, 1);
        let round = |name: &str, first, last| Round { name: name.into(), first, last };
        s.rounds =
            Arc::new(vec![round("Round 1", date(2025, 6, 2), date(2025, 6, 20)), round("Round 2", date(2025, 7, 7), date(2025, 7, 20))]);
        let visit = |row: u32, round: u32, day, outcome, wet: u32, larvae: u32| {
            let visit = Visit {
                id: format!("{row}").into(),
                premise: PremiseId(row),
                when: When { day, time: None },
                outcome,
                round: RoundId(round),
                crew: "".into(),
                said: None,
                finds: 0..0,
            };
            let find = Find {
                kind: KindId(0),
                count: 1,
                wet,
                with_larvae: larvae,
                with_pupae: 0,
                pupae: 0,
                stage: None,
                litres: None,
                action: None,
                remains: false,
            };
            (visit, vec![find])
        };
        let rows = vec![
            visit(0, 1, date(2025, 7, 9), Outcome::SeenOverFence, 1, 0),
            visit(1, 1, date(2025, 7, 12), Outcome::SeenOverFence, 1, 1),
            visit(2, 0, date(2025, 6, 3), Outcome::Inspected, 1, 1),
        ];
        s.visits = Visits::from_rows(16, rows);
        let index = BoxIndex::new(s.premises.outline.bounds());
        let words = explain(&s, &standings(&s, RoundId(1)), &index, PremiseId(0), None);
        assert_eq!(
            words,
            "no yard inspected within 150 m, larvae seen from outside in a yard 25 m away on 12 July, \
             1 of 1 yards within 80 m positive in Round 1, water seen over the fence on 9 July, seen over fence"
        );
    }

    #[test]
    fn visits_that_ended_alike_are_counted() {
        let words = |outcomes: &[Outcome]| {
            let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
            s.premises.parcel_id = Arc::new(["1"].into_iter().collect());
            s.premises.year_built = Arc::new(vec![1952]);
            let day = |i: usize| date(2025, 7, 7 + i as i8);
            s.rounds = Arc::new(vec![Round { name: "1".into(), first: day(0), last: day(9) }]);
            let visit = |(i, &outcome): (usize, &Outcome)| Visit {
                id: i.to_string().into(),
                premise: PremiseId(0),
                when: When { day: day(i), time: None },
                outcome,
                round: RoundId(0),
                crew: "".into(),
                said: None,
                finds: 0..0,
            };
            s.visits = Visits::from_rows(1, outcomes.iter().enumerate().map(visit).map(|v| (v, vec![])).collect());
            let index = BoxIndex::new(s.premises.outline.bounds());
            explain(&s, &standings(&s, RoundId(0)), &index, PremiseId(0), None)
        };
        use Outcome::{NoAnswer, Refused};
        assert!(words(&[NoAnswer]).ends_with("built 1952, no answer"));
        assert!(words(&[NoAnswer, NoAnswer]).ends_with("built 1952, no answer twice"));
        assert!(words(&[Refused, NoAnswer]).ends_with("tried twice, last no answer"));
        assert!(words(&[NoAnswer, Refused, NoAnswer]).ends_with("tried 3 times, last no answer"));
        assert!(words(&[NoAnswer; 3]).ends_with("no answer 3 times"));
    }
}
