//! Gaps: premises inside the reach that nobody inspected in the round.

use super::lot::Lot;
use super::ways::Ways;
use super::{Sources, Wanted};
use crate::job::{Cancelled, Watch};
use crate::place::{nearest_under, shares_fence, within};
use crate::survey::{Outcome, PremiseId, Standing, Survey};
use crate::units::Metres;
use jiff::civil::Date;
use rayon::prelude::*;
use std::fmt;

/// Why a premise has not been inspected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// Nobody went there in the round.
    NotVisited,
    /// The last visit of the round ended so.
    Tried(Outcome),
}

impl Reason {
    /// The reason as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::NotVisited => "not visited",
            Self::Tried(outcome) => outcome.word(),
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A premise inside the reach that was not inspected in the round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Which premise.
    pub premise: PremiseId,
    /// Why it was not inspected.
    pub reason: Reason,
    /// Visits in the round.
    pub attempts: u32,
    /// The day of the last of them.
    pub last_attempt: Option<Date>,
    /// Sources whose reach it lies in; itself counted when it is one. 0 where the mask of cases hides it.
    pub sources_in_reach: u32,
    /// The distance to the nearest source; 0 when the premise is a source itself. The radius where the mask of cases hides it.
    pub nearest_source: Metres,
    /// Whether it shares a fence line with a source premise.
    pub shares_fence: bool,
    /// Whether pupae were recorded at one of the sources in reach.
    pub pupae_near: bool,
    /// Whether one of the source premises across its fence lines had pupae.
    pub pupae_over_fence: bool,
    /// Whether larvae or pupae were recorded at the premise itself, seen from outside.
    pub seen_positive: bool,
    /// Whether pupae were recorded at the premise itself, seen from outside.
    pub seen_pupae: bool,
}

impl Gap {
    /// Whether the mask of cases hides what is near; see [`super::mask_gaps`].
    pub fn masked(&self) -> bool {
        self.sources_in_reach == 0
    }
}

/// How many premises one thread takes at a time.
const STRIDE: usize = 512;

/// The premises with an outline, not inspected in the round, whose outline is at most the radius away from a source's
/// shape (round the barriers, where there are any), in the order in which a crew should see them. `standings` are those of the round, in the order of the premises.
///
/// The order: premises where pupae, then larvae, were seen from outside; those that share a fence with a source with
/// pupae, then with any source; those already seen over the fence; those with pupae in reach; more sources in reach; the
/// nearer source; then parcel id, then the row.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// The order is the trade's habit of working outwards from the worst yard; no source. It holds until chances are worked
/// out for each yard.
pub fn gaps(survey: &Survey, standings: &[Standing], sources: &Sources, wanted: &Wanted, watch: &dyn Watch) -> Result<Vec<Gap>, Cancelled> {
    watch.step("looking for gaps", 0, 0)?;
    if sources.is_empty() {
        return Ok(Vec::new());
    }
    let ways = Ways::laid(sources, wanted.radius, watch)?;
    let inside = Inside { survey, sources, ways: ways.as_ref(), radius: wanted.radius };
    let found: Result<Vec<Vec<Gap>>, Cancelled> = standings
        .par_chunks(STRIDE)
        .enumerate()
        .map(|(chunk, standings)| {
            if watch.cancelled() {
                return Err(Cancelled);
            }
            let rows = (chunk * STRIDE..).zip(standings).filter(|(_, s)| !s.inspected());
            Ok(rows.filter_map(|(row, s)| inside.gap(row, s)).collect())
        })
        .collect();
    let mut found = found?.concat();
    let ids = &survey.premises.parcel_id;
    found.par_sort_unstable_by(|a, b| {
        let order = urgency(a).cmp(&urgency(b)).then_with(|| a.nearest_source.0.total_cmp(&b.nearest_source.0));
        order.then_with(|| ids.get(a.premise.row()).cmp(ids.get(b.premise.row()))).then_with(|| a.premise.cmp(&b.premise))
    });
    Ok(found)
}

/// What comes first, false before true and small before large.
fn urgency(g: &Gap) -> (bool, bool, bool, bool, bool, bool, std::cmp::Reverse<u32>) {
    (
        !g.seen_pupae,
        !g.seen_positive,
        !g.pupae_over_fence,
        !g.shares_fence,
        g.reason != Reason::Tried(Outcome::SeenOverFence),
        !g.pupae_near,
        std::cmp::Reverse(g.sources_in_reach),
    )
}

/// The reach that premises are in or not.
pub(super) struct Inside<'a> {
    pub survey: &'a Survey,
    pub sources: &'a Sources,
    /// The flights round barriers, where there are any.
    pub ways: Option<&'a Ways>,
    pub radius: Metres,
}

impl Inside<'_> {
    /// What one premise has round it; `None` when no source is in reach.
    fn gap(&self, row: usize, standing: &Standing) -> Option<Gap> {
        let outline = self.survey.premises.outline.get(row);
        if outline.is_empty() {
            return None;
        }
        let premise = PremiseId(row as u32);
        let mut round = Surroundings::default();
        let mut lot = None;
        let box_in_reach = outline.bounds().grown(self.radius.0 + SLACK);
        self.sources.index().each_touching(&box_in_reach, |i| self.take(&mut round, premise, i, &mut lot));
        let last = standing.last.map(|id| self.survey.visits.get(id));
        (round.sources > 0).then(|| Gap {
            premise,
            reason: last.map_or(Reason::NotVisited, |v| Reason::Tried(v.outcome)),
            attempts: standing.attempts,
            last_attempt: last.map(|v| v.when.day),
            sources_in_reach: round.sources,
            nearest_source: Metres(round.nearest.unwrap_or(self.radius.0)),
            shares_fence: round.fence,
            pupae_near: round.pupae,
            pupae_over_fence: round.pupae_over_fence,
            seen_positive: standing.source,
            seen_pupae: standing.source_with_pupae,
        })
    }

    /// Whether a premise lies inside; the same that makes it a gap or not.
    pub(super) fn holds(&self, row: usize) -> bool {
        let outline = self.survey.premises.outline.get(row);
        if outline.is_empty() {
            return false;
        }
        let mut lot = None;
        let box_in_reach = outline.bounds().grown(self.radius.0 + SLACK);
        self.sources.index().any_touching(&box_in_reach, |i| self.reaches(i, PremiseId(row as u32), &mut lot))
    }

    /// Whether a premise lies inside the reach of a source.
    fn reaches(&self, i: usize, here: PremiseId, lot: &mut Option<Lot>) -> bool {
        let outline = self.survey.premises.outline.get(here.row());
        let shape = self.sources.shapes().get(i);
        if self.sources.list()[i].premise == Some(here) {
            return true;
        }
        match self.ways.and_then(|w| Some((w, w.from(i)?))) {
            None => within(outline, shape, self.radius.0),
            Some((ways, from)) => {
                let lot = lot.get_or_insert_with(|| Lot::of(outline, ways.barriers()));
                ways.flight(from, lot, outline, shape).is_some()
            }
        }
    }

    /// Takes one source into account. `lot` is the premise as flights see it, made when the first of them has to go round.
    fn take(&self, round: &mut Surroundings, here: PremiseId, i: usize, lot: &mut Option<Lot>) {
        let outlines = &self.survey.premises.outline;
        let outline = outlines.get(here.row());
        let source = &self.sources.list()[i];
        let shape = self.sources.shapes().get(i);
        let known = round.nearest.unwrap_or(f64::INFINITY);
        if source.premise == Some(here) {
            round.nearest = Some(0.0);
        } else if let Some((ways, from)) = self.ways.and_then(|w| Some((w, w.from(i)?))) {
            let lot = lot.get_or_insert_with(|| Lot::of(outline, ways.barriers()));
            let Some(metres) = ways.flight(from, lot, outline, shape) else { return };
            round.nearest = Some(known.min(metres));
        } else {
            let nearer = nearest_under(outline, shape, known);
            // A hair from the radius the same comparison decides as for a premise that is only counted.
            if nearer.is_none_or(|m| m > self.radius.0 - SLACK) && !within(outline, shape, self.radius.0) {
                return;
            }
            round.nearest = nearer.map(|m| m.min(self.radius.0)).or(round.nearest);
        }
        round.sources += 1;
        round.pupae |= source.pupae;
        if let Some(other) = source.premise.filter(|&p| p != here && (!round.fence || (source.pupae && !round.pupae_over_fence)))
            && shares_fence(outline, outlines.get(other.row()))
        {
            round.fence = true;
            round.pupae_over_fence |= source.pupae;
        }
    }
}

/// A hair, in metres: rounding of a box's corner never hides a source, and no distance so near to the radius is taken for in or out
/// by itself.
const SLACK: f64 = 1e-6;

#[derive(Default)]
struct Surroundings {
    sources: u32,
    nearest: Option<f64>,
    pupae: bool,
    fence: bool,
    pupae_over_fence: bool,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::place::shared_line;
    use crate::reach::made_up::neighbourhood;
    use crate::reach::{MeasureFrom, SourceKind, sources};
    use crate::survey::{RoundId, standings};
    use geo::{Coord, Distance, Euclidean, LineString, MultiPolygon, Polygon};
    use proptest::prelude::*;

    /// An outline as the geo crate holds it, for its own distance.
    fn polygons(shape: crate::place::ShapeView<'_>) -> MultiPolygon {
        let line = |r: &[crate::place::Local]| LineString::new(r.iter().map(|p| Coord { x: p.x, y: p.y }).collect());
        shape
            .parts()
            .map(|part| {
                let mut rings = part.rings().map(line);
                Polygon::new(rings.next().unwrap(), rings.collect())
            })
            .collect()
    }

    /// What one premise should be told, by a look at every source with the geo crate's distance, without index or shortcut.
    fn slow(survey: &Survey, standings: &[Standing], wanted: &Wanted, row: usize) -> Option<(u32, f64, bool, bool)> {
        let outlines = &survey.premises.outline;
        let here = polygons(outlines.get(row));
        if standings[row].inspected() || here.0.is_empty() {
            return None;
        }
        let (mut count, mut nearest, mut fence, mut pupae) = (0, f64::INFINITY, false, false);
        for (other, s) in standings.iter().enumerate() {
            let is_source = if wanted.from == SourceKind::Pupae { s.source_with_pupae } else { s.source };
            if !is_source || outlines.get(other).is_empty() {
                continue;
            }
            let metres = if other == row { 0.0 } else { Euclidean.distance(&here, &polygons(outlines.get(other))) };
            if metres <= wanted.radius.0 {
                count += 1;
                nearest = nearest.min(metres);
                pupae |= s.source_with_pupae;
                fence |= other != row && shared_line(outlines.get(row), outlines.get(other)) >= 1.0;
            }
        }
        (count > 0).then_some((count, nearest, fence, pupae))
    }

    fn found(survey: &Survey, wanted: &Wanted) -> (Vec<Standing>, Vec<Gap>) {
        let standings = standings(survey, RoundId(0));
        let sources = sources(survey, &standings, wanted);
        let gaps = gaps(survey, &standings, &sources, wanted, &Unwatched).unwrap();
        (standings, gaps)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn agree_with_a_look_at_every_pair(seed in any::<u64>(), radius in 0.5f64..200.0, pupae in any::<bool>()) {
            let survey = neighbourhood(100, seed);
            let from = if pupae { SourceKind::Pupae } else { SourceKind::Positives };
            let wanted = Wanted { from, radius: Metres(radius), ..Wanted::default() };
            let (standings, gaps) = found(&survey, &wanted);
            let mut seen = vec![false; standings.len()];
            for g in &gaps {
                prop_assert!(!std::mem::replace(&mut seen[g.premise.row()], true), "a premise twice");
                let (count, nearest, fence, pupae) = slow(&survey, &standings, &wanted, g.premise.row()).unwrap();
                prop_assert_eq!((g.sources_in_reach, g.shares_fence, g.pupae_near), (count, fence, pupae));
                prop_assert!((g.nearest_source.0 - nearest).abs() < 1e-9);
                prop_assert_eq!(g.seen_positive, standings[g.premise.row()].source);
            }
            for (row, seen) in seen.iter().enumerate() {
                prop_assert_eq!(*seen, slow(&survey, &standings, &wanted, row).is_some());
            }
        }

        #[test]
        fn grow_with_the_radius(seed in any::<u64>(), radius in 0.5f64..150.0, more in 0.0f64..50.0, point in any::<bool>()) {
            let survey = neighbourhood(150, seed);
            let measure_from = if point { MeasureFrom::Point } else { MeasureFrom::Outline };
            let near = Wanted { radius: Metres(radius), measure_from, ..Wanted::default() };
            let (standings, few) = found(&survey, &near);
            let (_, many) = found(&survey, &Wanted { radius: Metres(radius + more), ..near });
            for g in &few {
                prop_assert!(!standings[g.premise.row()].inspected());
                let later = many.iter().find(|m| m.premise == g.premise).unwrap();
                prop_assert!(later.sources_in_reach >= g.sources_in_reach && later.nearest_source == g.nearest_source);
            }
        }

        /// A barrier takes yards out of the reach and makes ways longer, never the other way; one that nothing crosses changes
        /// nothing.
        #[test]
        fn barriers_only_take_away(seed in any::<u64>(), radius in 5.0f64..150.0) {
            let survey = neighbourhood(150, seed);
            let wanted = Wanted { radius: Metres(radius), ..Wanted::default() };
            let (standings, free) = found(&survey, &wanted);
            let mut numbers = crate::reach::made_up::Numbers(seed);
            let line = (0..5).map(|_| crate::place::Local { x: numbers.next() * 260.0 - 10.0, y: numbers.next() * 500.0 }).collect();
            let among = |lines: &[Vec<crate::place::Local>]| {
                let sources = sources(&survey, &standings, &wanted).among(crate::reach::Barriers::new(lines));
                gaps(&survey, &standings, &sources, &wanted, &Unwatched).unwrap()
            };
            for g in &among(&[line]) {
                let before = free.iter().find(|f| f.premise == g.premise).unwrap();
                prop_assert!(g.sources_in_reach <= before.sources_in_reach);
                prop_assert!(g.nearest_source.0 >= before.nearest_source.0 - 1e-9 && g.nearest_source.0 <= radius);
            }
            let far = [(-900.0, -900.0), (900.0, -900.0), (900.0, 1500.0), (-900.0, 1500.0), (-900.0, -900.0)];
            let round_all = far.map(|(x, y)| crate::place::Local { x, y }).to_vec();
            prop_assert_eq!(among(&[round_all]), free);
        }

        #[test]
        fn come_most_urgent_first(seed in any::<u64>()) {
            let survey = neighbourhood(150, seed);
            let (_, gaps) = found(&survey, &Wanted::default());
            let first_without = |is: fn(&Gap) -> bool| gaps.iter().position(|g| !is(g)).unwrap_or(gaps.len());
            let last_with = |is: fn(&Gap) -> bool| gaps.iter().rposition(is).map_or(0, |i| i + 1);
            prop_assert_eq!(first_without(|g| g.seen_pupae), last_with(|g| g.seen_pupae));
            prop_assert_eq!(first_without(|g| g.seen_positive), last_with(|g| g.seen_positive));
            prop_assert!(gaps.is_sorted_by(|a, b| urgency(a) <= urgency(b)));
        }
    }

    #[test]
    fn larvae_seen_over_the_fence_are_a_gap_at_no_distance() {
        let survey = neighbourhood(400, 5);
        let (standings, gaps) = found(&survey, &Wanted { radius: Metres(1.0), ..Wanted::default() });
        let outside: Vec<usize> = (0..400).filter(|&i| standings[i].source && !standings[i].inspected()).collect();
        let with_outline: Vec<usize> = outside.into_iter().filter(|&i| !survey.premises.outline.get(i).is_empty()).collect();
        assert!(!with_outline.is_empty());
        for row in with_outline {
            let g = gaps.iter().find(|g| g.premise.row() == row).unwrap();
            assert_eq!(g.nearest_source, Metres(0.0));
            assert!(matches!(g.reason, Reason::Tried(o) if o != Outcome::Inspected) && g.attempts == 1 && g.last_attempt.is_some());
        }
    }
}
