//! Classes of a map of change: by how much the house index of each block fell or rose from one round to another, beyond chance.

use super::classes::{Class, Classes, ColourBy, FEW, Showing, of_blocks};
use super::ink::{self, ClassInk, Mark};
use crate::measure::{BlockChange, change_by_block, round_before};
use crate::survey::{RoundId, Standing, Survey, standings};

/// Points per 100 from which on a change is called large.
///
/// # Source
/// Common practice, no source.
const LARGE: f64 = 20.0;

/// What is said of the classes.
const SAID: &str = "Fell or rose: the 95 % interval of the change leaves 0 out; of 20 blocks where nothing changed one is coloured by chance. \
                    20 points is a round number.";

/// What is said where there is no other round to compare with.
pub(super) const NEEDS_TWO: &str = "A change needs two rounds";

/// Classes in their order: fell by much, fell, no change beyond chance, rose, rose by much, seen too little, not seen in both
/// rounds, in no block.
const TOO_FEW: u8 = 5;
const NOT_BOTH: u8 = 6;
const NO_BLOCK: u8 = 7;

/// The rounds that a map of change compares: the one asked for, or that before the later one; `None` where there is no other.
pub(super) fn rounds(survey: &Survey, showing: &Showing<'_>) -> Option<(RoundId, RoundId)> {
    let to = showing.round?;
    let from = showing.since.filter(|f| *f != to && f.row() < survey.rounds.len()).or_else(|| round_before(survey, to))?;
    Some((from, to))
}

/// Sorts blocks by how their house index changed, and premises with them.
pub(super) fn by_change(survey: &Survey, after: &[Standing], showing: &Showing<'_>) -> Classes {
    let rounds = rounds(survey, showing);
    let before = rounds.map_or_else(|| vec![Standing::default(); after.len()], |(from, _)| standings(survey, from));
    let mut blocks = vec![NOT_BOTH; survey.blocks.len()];
    for change in change_by_block(survey, &before, after) {
        blocks[change.block.row()] = class_of(&change);
    }
    let premises = survey.premises.block.iter().map(|b| b.map_or(NO_BLOCK, |b| blocks[b.row()])).collect();
    let classes = kinds().into_iter().map(|(ink, label)| Class { ink, label, count: 0 }).collect();
    let mut classes = of_blocks(ColourBy::Change, premises, blocks, classes, SAID.to_owned());
    let name = |r: RoundId| &*survey.rounds[r.row()].name;
    classes.unit = match rounds {
        Some((from, to)) => format!("House index, points per 100: from {} to {}", name(from), name(to)),
        None => NEEDS_TWO.to_owned(),
    };
    classes
}

fn class_of(change: &BlockChange) -> u8 {
    let Some(points) = change.points else { return NOT_BOTH };
    let sure = points.interval.low > 0.0 || points.interval.high < 0.0;
    match points.difference {
        d if sure && d <= -LARGE => 0,
        d if sure && d < 0.0 => 1,
        d if sure && d < LARGE => 3,
        _ if sure => 4,
        _ if change.before.inspected.min(change.after.inspected) < FEW => TOO_FEW,
        _ => 2,
    }
}

/// What fell is hatched too: on grey paper both sides of the ramp are alike.
fn kinds() -> [(ClassInk, String); 8] {
    let [much_better, better, same, worse, much_worse] = ink::CHANGING.map(ClassInk::filled);
    let faint = ClassInk { edge: ink::LINE, ..ClassInk::outlined(Mark::None) };
    [
        (much_better.with_hatching(), format!("fell by {LARGE} or more")),
        (better.with_hatching(), format!("fell by less than {LARGE}")),
        (same, "no change beyond chance".to_owned()),
        (worse, format!("rose by less than {LARGE}")),
        (much_worse, format!("rose by {LARGE} or more")),
        (ClassInk::earlier(), format!("under {FEW} yards in a round, no change seen")),
        (ClassInk::outlined(Mark::None), "not seen in both rounds".to_owned()),
        (faint, "in no block".to_owned()),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::classes::classify;
    use crate::place::{Frame, LonLat};
    use crate::survey::{BlockId, Find, KindId, Outcome, PremiseId, Round, Visit, Visits, When};
    use jiff::civil::date;
    use std::sync::Arc;

    /// Forty yards to a block, all inspected in two rounds except in the last two blocks; `(before, after)` are positive.
    fn survey(positive: &[(u32, u32)]) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        let blocks = positive.len() as u32 + 2;
        let yards = 40 * blocks;
        s.blocks.block_id = Arc::new((0..blocks).map(|b| format!("B{b}")).collect());
        s.premises.parcel_id = Arc::new((0..yards).map(|i| i.to_string()).collect());
        s.premises.block = Arc::new((0..yards).map(|i| Some(BlockId(i / 40))).collect());
        s.kinds = Arc::new(vec!["bucket".into()]);
        let round = |name: &str, month| Round { name: name.into(), first: date(2025, month, 7), last: date(2025, month, 9) };
        s.rounds = Arc::new(vec![round("June", 6), round("July", 7)]);
        let mut visits = Vec::new();
        for (b, (before, after)) in (0..).zip(positive) {
            for k in 0..40 {
                visits.push(visit(40 * b + k, 0, k < *before));
                visits.push(visit(40 * b + k, 1, k < *after));
            }
        }
        let last = 40 * (blocks - 2);
        visits.extend((0..3).flat_map(|k| [visit(last + k, 0, false), visit(last + k, 1, false)]));
        visits.extend((0..20).map(|k| visit(last + 40 + k, 1, true)));
        s.visits = Visits::from_rows(yards as usize, visits);
        s
    }

    fn visit(premise: u32, round: u32, positive: bool) -> (Visit, Vec<Find>) {
        let when = When { day: date(2025, 6 + round as i8, 7), time: None };
        let (outcome, round) = (Outcome::Inspected, RoundId(round));
        let visit = Visit { id: "v".into(), premise: PremiseId(premise), when, outcome, round, crew: "A".into(), said: None, finds: 0..0 };
        let larvae = u32::from(positive);
        let find = Find {
            kind: KindId(0),
            count: 1,
            wet: 1,
            with_larvae: larvae,
            with_pupae: 0,
            pupae: 0,
            stage: None,
            litres: None,
            action: None,
            remains: false,
        };
        (visit, vec![find])
    }

    fn shown(s: &Survey, since: Option<RoundId>) -> Classes {
        let round = Some(RoundId(1));
        classify(s, &standings(s, RoundId(1)), &Showing { colour_by: ColourBy::Change, round, since, ..Showing::default() })
    }

    /// Of 40 yards each. 5 to 0 just leaves 0 out, 4 to 0 does not: statsmodels 0.15.0, `confint_proportions_2indep` by Newcombe's
    /// method, gives -0.261 to -0.0126 and -0.231 to 0.0064.
    #[test]
    fn blocks_are_sorted_by_how_they_changed_and_chance_is_kept_apart() {
        let s = survey(&[(20, 2), (5, 0), (4, 0), (0, 5), (2, 20)]);
        let found = shown(&s, None);
        let label = |b: usize| found.classes[usize::from(found.blocks[b])].label.as_str();
        assert_eq!((label(0), label(1)), ("fell by 20 or more", "fell by less than 20"));
        assert_eq!((label(2), label(3), label(4)), ("no change beyond chance", "rose by less than 20", "rose by 20 or more"));
        assert_eq!((label(5), label(6)), ("under 5 yards in a round, no change seen", "not seen in both rounds"));
        assert_eq!(found.unit, "House index, points per 100: from June to July");
        assert_eq!(found.classes.iter().map(|c| c.count).sum::<u64>(), 7);
        assert_eq!(found.premises[40 * 4], found.blocks[4]);
    }

    #[test]
    fn the_other_way_round_what_fell_rose() {
        let s = survey(&[(20, 2), (2, 20)]);
        let showing = Showing { colour_by: ColourBy::Change, round: Some(RoundId(0)), since: Some(RoundId(1)), ..Showing::default() };
        let back = classify(&s, &standings(&s, RoundId(0)), &showing);
        assert_eq!(back.blocks[..2], [4, 0]);
        let alone = Showing { since: None, ..showing };
        let alone = classify(&s, &standings(&s, RoundId(0)), &alone);
        assert!(alone.blocks.iter().all(|b| *b == NOT_BOTH) && alone.unit == "A change needs two rounds");
    }
}
