//! Blocks from the premises alone: which premises belong together when no file says so.

use super::IntakeError;
use super::derive_streets::{Crossings, names};
use crate::job::Watch;
use crate::place::{
    BoxIndex, FENCE_GAP, FENCE_LENGTH, Local, ShapeView, Shapes, inside, mended, nearest_under, push_closed_union, shared_line,
};
use crate::survey::{BlockId, Blocks, Streets};
use rayon::prelude::*;
use std::sync::Arc;

/// The widest gap between two premises of one block, in metres: a wide alley. Less where streets are narrow, see [`alley`].
const WIDEST_ALLEY: f64 = 6.5;
/// An alley is at most this share of the usual street.
const ALLEY: f64 = 0.4;
/// Gaps that tell how wide the streets are lie under this, in metres.
const WIDEST_STREET: f64 = 40.0;
/// How many premises are asked for their gap over the street.
const ASKED: usize = 1000;
/// An outline is a street or a way, and not a yard, when 4π times its area is less than this share of its perimeter squared ...
const WAY: f64 = 0.2;
/// ... and its mean width, twice the area over the perimeter, lies between these metres.
const WAY_WIDTH: (f64, f64) = (8.0, 30.0);
/// The same share for the whole street network as one outline.
const NETWORK: f64 = 0.02;
/// Ground with more than so many times the median area is a park, a school or a campus, and may lie between several blocks.
const GREAT: f64 = 20.0;

/// What part a premise has in the making of blocks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    /// A yard: it joins others into a block.
    Yard,
    /// A way, great ground, or ground in several parts: goes with the block that it shares most fence with, and joins none.
    Follower,
    /// No outline, or the streets themselves as one parcel: belongs to no block.
    Outside,
}

/// Two premises side by side.
#[derive(Clone, Copy, Debug)]
struct Link {
    a: u32,
    b: u32,
    metres: f64,
    /// They are drawn on the same ground: units of one building.
    stacked: bool,
}

/// Premises in groups.
#[derive(Debug)]
struct Grouped {
    /// The group of each premise, numbered from 0 in the order of their first premises; none for one that belongs to no block.
    of_premise: Vec<Option<u32>>,
    groups: usize,
    /// The widest gap within a group, in metres.
    alley: f64,
}

/// Blocks made from the premises.
pub(super) struct Derived {
    /// The block of each premise; none for one that belongs to none.
    pub of_premise: Vec<Option<BlockId>>,
    /// The blocks in alphabetical order, each with the outline round its premises.
    pub blocks: Blocks,
    /// By what they were made, for the settings.
    pub how: String,
    /// The same, for the report.
    pub words: String,
}

/// Makes blocks from the premises; `None` when no premise has an outline.
pub(super) fn blocks(outlines: &Shapes, streets: &Streets, watch: &dyn Watch) -> Result<Option<Derived>, IntakeError> {
    let Grouped { of_premise, groups, alley } = group(outlines, streets, watch)?;
    if groups == 0 {
        return Ok(None);
    }
    let names = names(outlines, &of_premise, groups, streets);
    watch.step("making blocks", 3, 3)?;
    let mut how = format!("shared fences and gaps up to {alley:.1} m");
    if !streets.is_empty() {
        how.push_str(" with no street between");
    }
    let outside = of_premise.iter().filter(|g| g.is_none()).count();
    let mut words = format!("No file gives blocks, so {groups} were made from the premises: {how}");
    if outside > 0 {
        words.push_str(&format!("; {outside} premises without an outline, or that are the streets themselves, are in none"));
    }
    let mut order: Vec<usize> = (0..groups).collect();
    order.sort_by(|&a, &b| names[a].cmp(&names[b]));
    let outline = Arc::new(drawn_round(outlines, &of_premise, &order, alley));
    let blocks = Blocks { block_id: Arc::new(order.iter().map(|&group| &names[group]).collect()), outline };
    let mut place = vec![BlockId(0); groups];
    order.iter().zip(0..).for_each(|(&group, row)| place[group] = BlockId(row));
    let of_premise = of_premise.iter().map(|g| g.map(|g| place[g as usize])).collect();
    Ok(Some(Derived { of_premise, blocks, how, words }))
}

/// An outline for each group, in some order, drawn round its premises and over its alleys.
fn drawn_round(outlines: &Shapes, of_premise: &[Option<u32>], order: &[usize], alley: f64) -> Shapes {
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); order.len()];
    of_premise.iter().enumerate().for_each(|(i, group)| group.iter().for_each(|&g| members[g as usize].push(i)));
    let draw = |&group: &usize| {
        let mut one = Shapes::default();
        push_closed_union(members[group].iter().map(|&i| outlines.get(i)), alley, &mut one);
        to_the_centimetre(&one)
    };
    let drawn: Vec<Shapes> = order.par_iter().map(draw).collect();
    let mut out = Shapes::with_capacity(order.len(), order.len() * 16);
    drawn.iter().for_each(|one| out.append(one));
    out
}

/// An outline with its corners on whole centimetres, and valid there: closing leaves corners a hair apart, and files that round
/// their degrees would bring lines across one another.
fn to_the_centimetre(outline: &Shapes) -> Shapes {
    let round = |p: &Local| Local { x: (p.x * 100.0).round() / 100.0, y: (p.y * 100.0).round() / 100.0 };
    let mut rounded = Shapes::default();
    for part in outline.get(0).parts() {
        for ring in part.rings() {
            let mut corners: Vec<Local> = ring.iter().map(round).collect();
            corners.dedup();
            rounded.push_ring(&corners);
        }
        rounded.end_part();
    }
    rounded.end_shape();
    mended(rounded.get(0))
}

/// Brings premises together that share a fence or lie only an alley apart, unless a street runs between them.
///
/// A street runs between two premises when a centreline crosses the straight line from a place inside the one to a place
/// inside the other. Without centrelines the gap alone decides. Parcels of ways, great grounds (parks, campuses) and ground in
/// several parts join no two groups: they go with the one that they share most fence with.
///
/// # Source
/// Common practice, no source; the shape limits were set on lots of Cambridge, Massachusetts, against the city's own blocks.
fn group(outlines: &Shapes, streets: &Streets, watch: &dyn Watch) -> Result<Grouped, IntakeError> {
    watch.step("making blocks", 0, 0)?;
    let sides = Sides::new(outlines, streets);
    let mut sets = Sets::new(outlines.len());
    let links = sides.fences(watch);
    watch.step("making blocks", 1, 3)?;
    for link in &links {
        if link.stacked || (sides.is_yard(link.a) && sides.is_yard(link.b)) {
            sets.join(link.a, link.b);
        }
    }
    let roots = sets.roots();
    let alley = sides.alley(&roots);
    let over_alley = sides.near(&roots, alley, watch);
    watch.step("making blocks", 2, 3)?;
    over_alley.into_iter().for_each(|(a, b)| sets.join(a, b));
    sides.follow(&links, &mut sets);
    let (of_premise, groups) = sides.numbered(&sets.roots());
    Ok(Grouped { of_premise, groups, alley })
}

/// The premises and what lies beside them.
struct Sides<'a> {
    outlines: &'a Shapes,
    parts: Vec<Part>,
    middle: Vec<Local>,
    index: BoxIndex,
    streets: Crossings,
}

impl<'a> Sides<'a> {
    fn new(outlines: &'a Shapes, streets: &Streets) -> Self {
        let areas: Vec<f64> = (0..outlines.len()).into_par_iter().map(|i| outlines.get(i).area()).collect();
        let great = GREAT * median(areas.iter().copied().filter(|a| *a > 0.0).collect()).unwrap_or(f64::INFINITY);
        let parts = (0..outlines.len()).into_par_iter().map(|i| part(outlines.get(i), areas[i], great)).collect();
        let nowhere = Local { x: 0.0, y: 0.0 };
        let middle = (0..outlines.len()).into_par_iter().map(|i| inside(outlines.get(i)).unwrap_or(nowhere)).collect();
        Self { outlines, parts, middle, index: BoxIndex::new(outlines.bounds()), streets: Crossings::new(streets) }
    }

    fn is_yard(&self, i: u32) -> bool {
        self.parts[i as usize] == Part::Yard
    }

    /// Whether two premises have no street between them.
    fn open_between(&self, a: usize, b: usize) -> bool {
        !self.streets.any_between(self.middle[a], self.middle[b])
    }

    /// All pairs that share a fence with no street along it.
    fn fences(&self, watch: &dyn Watch) -> Vec<Link> {
        let of = |a: usize| {
            let mut found = Vec::new();
            if self.parts[a] == Part::Outside || watch.cancelled() {
                return found;
            }
            self.index.each_touching(&self.outlines.bounds()[a].grown(FENCE_GAP), |b| {
                if b > a && self.parts[b] != Part::Outside {
                    found.extend(self.link(a, b));
                }
            });
            found
        };
        (0..self.outlines.len()).into_par_iter().with_min_len(1024).flat_map_iter(of).collect()
    }

    fn link(&self, a: usize, b: usize) -> Option<Link> {
        let (one, other) = (self.outlines.get(a), self.outlines.get(b));
        // The common line is found faster along the outline of more places.
        let more = if one.places().len() < other.places().len() { (other, one) } else { (one, other) };
        let metres = shared_line(more.0, more.1);
        let stacked = same_box(one, other) && metres >= FENCE_LENGTH;
        (metres >= FENCE_LENGTH && (stacked || self.open_between(a, b))).then_some(Link { a: a as u32, b: b as u32, metres, stacked })
    }

    /// The widest gap that counts as an alley: [`ALLEY`] of what the gaps over streets usually are, and no more than
    /// [`WIDEST_ALLEY`].
    fn alley(&self, roots: &[u32]) -> f64 {
        let every = self.outlines.len().div_ceil(ASKED).max(1);
        let gaps: Vec<f64> = (0..self.outlines.len()).into_par_iter().step_by(every).filter_map(|a| self.gap(a, roots)).collect();
        median(gaps).map_or(WIDEST_ALLEY, |usual| (usual * ALLEY).min(WIDEST_ALLEY))
    }

    /// How far it is from a yard to the next yard of another group that is farther off than any alley is wide.
    fn gap(&self, a: usize, roots: &[u32]) -> Option<f64> {
        let here = self.outlines.get(a);
        let mut least = None;
        if self.parts[a] == Part::Yard {
            self.index.each_touching(&here.bounds().grown(WIDEST_STREET), |b| {
                if roots[a] != roots[b] && self.parts[b] == Part::Yard {
                    let nearer = nearest_under(here, self.outlines.get(b), least.unwrap_or(WIDEST_STREET));
                    least = nearer.filter(|metres| *metres > WIDEST_ALLEY).or(least);
                }
            });
        }
        least
    }

    /// Pairs of yards of different groups that are at most an alley apart, with no street between.
    fn near(&self, roots: &[u32], alley: f64, watch: &dyn Watch) -> Vec<(u32, u32)> {
        let of = |a: usize| {
            let mut found = Vec::new();
            if self.parts[a] != Part::Yard || watch.cancelled() {
                return found;
            }
            let here = self.outlines.get(a);
            self.index.each_touching(&here.bounds().grown(alley), |b| {
                let other = b > a && roots[a] != roots[b] && self.parts[b] == Part::Yard;
                if other && nearest_under(here, self.outlines.get(b), alley).is_some() && self.open_between(a, b) {
                    found.push((a as u32, b as u32));
                }
            });
            found
        };
        (0..self.outlines.len()).into_par_iter().with_min_len(1024).flat_map_iter(of).collect()
    }

    /// Puts each follower to the group that it shares most fence with.
    fn follow(&self, links: &[Link], sets: &mut Sets) {
        let mut shares: Vec<(u32, u32, f64)> = links
            .iter()
            .filter(|l| self.is_yard(l.a) != self.is_yard(l.b))
            .map(
                |l| if self.is_yard(l.a) { (sets.root(l.b), sets.root(l.a), l.metres) } else { (sets.root(l.a), sets.root(l.b), l.metres) },
            )
            .collect();
        shares.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2)));
        let mut sums: Vec<(u32, u32, f64)> = Vec::new();
        for (follower, leader, metres) in shares {
            match sums.last_mut().filter(|s| (s.0, s.1) == (follower, leader)) {
                Some(sum) => sum.2 += metres,
                None => sums.push((follower, leader, metres)),
            }
        }
        sums.sort_by(|a, b| a.0.cmp(&b.0).then(b.2.total_cmp(&a.2)).then(a.1.cmp(&b.1)));
        sums.dedup_by_key(|s| s.0);
        sums.into_iter().for_each(|(follower, leader, _)| sets.join(leader, follower));
    }

    fn numbered(&self, roots: &[u32]) -> (Vec<Option<u32>>, usize) {
        let mut number = vec![None; roots.len()];
        let mut groups = 0;
        let of_premise = (0..roots.len())
            .map(|i| {
                if self.parts[i] == Part::Outside {
                    return None;
                }
                Some(*number[roots[i] as usize].get_or_insert_with(|| {
                    groups += 1;
                    groups - 1
                }))
            })
            .collect();
        (of_premise, groups as usize)
    }
}

fn part(outline: ShapeView<'_>, area: f64, great: f64) -> Part {
    if outline.is_empty() {
        return Part::Outside;
    }
    let around: f64 = outline.rings().map(length_round).sum();
    if area.is_nan() || area <= 0.0 || around <= 0.0 {
        return Part::Yard;
    }
    let (round, width) = (4.0 * std::f64::consts::PI * area / (around * around), 2.0 * area / around);
    match () {
        () if round < NETWORK && width > WAY_WIDTH.0 && area > great => Part::Outside,
        () if round < WAY && width > WAY_WIDTH.0 && width < WAY_WIDTH.1 => Part::Follower,
        () if area > great || outline.parts().len() > 1 => Part::Follower,
        () => Part::Yard,
    }
}

fn length_round(ring: &[Local]) -> f64 {
    let open: f64 = ring.windows(2).map(|w| w[0].distance(w[1])).sum();
    open + ring.first().zip(ring.last()).map_or(0.0, |(a, b)| a.distance(*b))
}

fn same_box(a: ShapeView<'_>, b: ShapeView<'_>) -> bool {
    let near = |p: Local, q: Local| (p.x - q.x).abs() <= FENCE_GAP && (p.y - q.y).abs() <= FENCE_GAP;
    near(a.bounds().min, b.bounds().min) && near(a.bounds().max, b.bounds().max)
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

/// Sets that grow together; the root of a set is its smallest member.
struct Sets {
    above: Vec<u32>,
}

impl Sets {
    fn new(len: usize) -> Self {
        Self { above: (0..len as u32).collect() }
    }

    fn root(&mut self, mut i: u32) -> u32 {
        while self.above[i as usize] != i {
            let up = self.above[self.above[i as usize] as usize];
            self.above[i as usize] = up;
            i = up;
        }
        i
    }

    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.above[a.max(b) as usize] = a.min(b);
    }

    fn roots(&mut self) -> Vec<u32> {
        (0..self.above.len() as u32).map(|i| self.root(i)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use std::sync::Arc;

    fn square(s: &mut Shapes, x: f64, y: f64, (w, h): (f64, f64)) {
        s.push_ring(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(dx, dy)| Local { x: x + dx, y: y + dy }));
        s.end_part();
        s.end_shape();
    }

    /// Lots of 20 m by 30 m: two rows back to back with an alley of 4 m, a street of 14 m, and another such pair of rows.
    fn town() -> Shapes {
        let mut s = Shapes::default();
        for y in [0.0, 34.0, 78.0, 112.0] {
            (0..8).for_each(|i| square(&mut s, f64::from(i) * 20.0, y, (20.0, 30.0)));
        }
        s
    }

    fn groups(outlines: &Shapes, streets: &Streets) -> Vec<Option<u32>> {
        group(outlines, streets, &Unwatched).unwrap().of_premise
    }

    #[test]
    fn fences_and_alleys_join_and_streets_part() {
        let of = groups(&town(), &Streets::default());
        assert_eq!(of[..16], [Some(0); 16]);
        assert_eq!(of[16..], [Some(1); 16]);
    }

    /// A lane of 4 m is no alley when the survey says that a street runs in it.
    #[test]
    fn a_centreline_parts_what_lies_near() {
        let mut line = Shapes::default();
        line.push_ring(&[Local { x: -20.0, y: 32.0 }, Local { x: 200.0, y: 32.0 }]);
        line.end_part();
        line.end_shape();
        let streets = Streets { name: Arc::new(["Lane"].into_iter().collect()), line: Arc::new(line), ..Streets::default() };
        let of = groups(&town(), &streets);
        assert_eq!((of[0], of[8], of[16], of[31]), (Some(0), Some(1), Some(2), Some(2)));
    }

    #[test]
    fn units_of_a_building_stay_together_and_a_strip_or_a_park_joins_no_blocks() {
        let mut s = town();
        square(&mut s, 20.0, 0.0, (20.0, 30.0));
        square(&mut s, 19.85, 0.0, (0.3, 30.0));
        // A way of 14 m along the whole street, and a park beside both blocks.
        square(&mut s, -200.0, 64.0, (360.0, 14.0));
        square(&mut s, 160.0, -10.0, (200.0, 170.0));
        s.end_shape();
        let of = groups(&s, &Streets::default());
        assert_eq!((of[0], of[31], of[32], of[33], of[36]), (Some(0), Some(1), Some(0), Some(0), None));
        assert!(of[34].is_some() && of[35].is_some());
    }
}
