//! Why a yard has the chance it has, in words for a crew leader.

use super::answer::Chance;
use super::pulls::Known;
use crate::place::{Bounds, BoxIndex};
use crate::survey::{PremiseId, Standing, Survey};

/// Rings that positive yards are counted in, in metres: over the fence, over the street, the block.
const RINGS: [f64; 3] = [40.0, 80.0, 150.0];

/// What the county's file says is said where it moves the odds by a tenth or more, up or down: (1.1).ln().
const WORTH_SAYING: f64 = 0.095;

/// What stands for and against larvae at a premise, in words: inspected yards near by, what the county's file says, what earlier
/// rounds found, and how the visits of the round ended. `index` is the tree over the boxes of all outlines. With the chance of
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
    let mut said = vec![(Known::Nearby, nearby(survey, standings, index, row))];
    // What weighs nothing here is no reason.
    let weighs = |known: Known| pull(known) >= WORTH_SAYING;
    said.extend(built(survey, row).filter(|_| chance.is_none() || weighs(Known::YearBuilt)).map(|words| (Known::YearBuilt, words)));
    said.extend(used(survey, row).filter(|_| chance.is_none() || weighs(Known::LandUse)).map(|words| (Known::LandUse, words)));
    said.extend(lot(survey, row).filter(|_| weighs(Known::LotSize)).map(|words| (Known::LotSize, words)));
    said.extend(before(survey, standings, row).map(|words| (Known::EarlierRounds, words)));
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

/// What earlier rounds found there; `None` when nobody was inside.
fn before(survey: &Survey, standings: &[Standing], row: usize) -> Option<String> {
    super::traits::found_before(survey, standings)(row)
        .map(|positive| if positive { "positive in an earlier round" } else { "not positive in earlier rounds" }.to_owned())
}

fn nearby(survey: &Survey, standings: &[Standing], index: &BoxIndex, row: usize) -> String {
    let bounds = survey.premises.outline.bounds();
    let Some(own) = bounds.get(row).filter(|b| !b.is_empty()).map(Bounds::centre) else {
        return "no outline, so no yards near by".to_owned();
    };
    let mut inspected: Vec<(f64, bool)> = Vec::new();
    index.each_touching(&Bounds::of(&[own]).grown(RINGS[2]), |i| {
        if i != row && standings[i].inspected() {
            inspected.push((bounds[i].centre().distance(own), standings[i].positive()));
        }
    });
    let near = |radius: f64| {
        let inside = inspected.iter().filter(|y| y.0 <= radius);
        inside.fold((0, 0), |(all, positive), y| (all + 1, positive + usize::from(y.1)))
    };
    let rings = RINGS.map(|r| (r, near(r)));
    let (radius, (inspected, positive)) = rings.into_iter().find(|(_, n)| n.1 > 0).unwrap_or(rings[2]);
    match (inspected, positive) {
        (0, _) => format!("no yard inspected within {radius:.0} m"),
        (1, 0) => format!("one yard inspected within {radius:.0} m and not positive"),
        (n, 0) => format!("none of {n} inspected yards within {radius:.0} m positive"),
        (n, p) => format!("{p} of {n} inspected yards within {radius:.0} m positive"),
    }
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
    use crate::survey::{Outcome, Round, RoundId, Visit, Visits, When, standings};
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
