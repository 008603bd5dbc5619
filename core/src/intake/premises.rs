//! New premises beside those that are there: paired, and all put into an order that depends on the ground alone.

use super::parcels::NewPremises;
use super::report::Account;
use super::text_index::TextIndex;
use super::vintage::{Succession, Vintage, succeed};
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, BoxIndex, Local, ShapeView, Shapes, hilbert};
use crate::survey::{Blocks, Premises, Strings, Visits};
use rayon::prelude::*;
use std::cmp::Ordering;
use std::sync::Arc;

/// Outlines and lines whose places all lie this near to each other are the same, in metres: a file written anew in another
/// coordinate system, or with fewer decimals, stays the same file.
pub(super) const SAME: f64 = 0.5;

/// The premises after an intake.
pub(super) struct Merged {
    /// All of them in order; their blocks are not set yet.
    pub premises: Premises,
    /// The name of each one's block; blank where none is given.
    pub block_name: Strings,
    /// Where each premise that was there, or its ground, has gone.
    pub moved: Vec<u32>,
    /// What the file changed about premises that were there; nothing when there was none.
    pub vintage: Option<Vintage>,
}

/// Where a premise comes from: the survey, the file, or both.
#[derive(Clone, Copy)]
pub(super) struct Source {
    pub old: Option<u32>,
    pub new: Option<u32>,
}

/// Premises there already and new ones, seen as one.
struct Both<'a> {
    old: &'a Premises,
    old_block: Strings,
    new: &'a NewPremises,
}

/// Brings new premises into the order of the ground, together with those that were there.
///
/// A new premise whose id is unique in the survey and in the file takes that premise's place; one with a repeated id or none is
/// there already when its outline is. Where the file's outlines cover other premises of the survey they replace them, and visits
/// go with their ground. All others are added.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub(super) fn merge(
    (old, visits, blocks): (&Premises, &Visits, &Blocks),
    new: &NewPremises,
    account: &mut Account,
    watch: &dyn Watch,
) -> Result<Merged, Cancelled> {
    let old_block = old.block.iter().map(|b| b.map_or("", |b| blocks.block_id.get(b.row()))).collect();
    let both = Both { old, old_block, new };
    let mut sources = both.pair();
    watch.step("comparing with the premises that are there", 0, 0)?;
    let succession = if old.is_empty() { None } else { Some(succeed(old, visits, new, &mut sources, watch)?) };
    both.add_rest(&mut sources);
    if let Some(succession) = &succession {
        sources.retain(|s| s.old.is_none_or(|i| !succession.dropped[i as usize]));
        account.notice(succession.vintage.in_words());
    }
    watch.step("sorting premises", 0, 0)?;
    both.put_in_order(&mut sources);
    watch.step("gathering premises", 0, 2)?;
    let moved = both.moved(&sources, succession.as_ref());
    let (premises, block_name) = both.gather(&sources, watch)?;
    watch.step("gathering premises", 2, 2)?;
    Ok(Merged { premises, block_name, moved, vintage: succession.map(|s| s.vintage) })
}

/// The order that premises have by their ground: for each place the premise that stands there, by its present number.
pub(super) fn ground_order(premises: &Premises, blocks: &Blocks) -> Vec<u32> {
    let nothing = NewPremises::none();
    let old_block = premises.block.iter().map(|b| b.map_or("", |b| blocks.block_id.get(b.row()))).collect();
    let both = Both { old: premises, old_block, new: &nothing };
    let mut sources: Vec<Source> = (0..premises.len() as u32).map(|i| Source { old: Some(i), new: None }).collect();
    both.put_in_order(&mut sources);
    sources.into_iter().filter_map(|s| s.old).collect()
}

impl Both<'_> {
    /// The premises of the survey, each with the row of the file that it is.
    fn pair(&self) -> Vec<Source> {
        let mut sources: Vec<Source> = (0..self.old.len() as u32).map(|i| Source { old: Some(i), new: None }).collect();
        if !self.old.is_empty() {
            let mut rest = Vec::new();
            self.pair_by_id(&mut sources, &mut rest);
            self.pair_by_ground(&mut sources, &mut rest);
        }
        sources
    }

    /// Adds the rows of the file that are no premise of the survey.
    fn add_rest(&self, sources: &mut Vec<Source>) {
        let mut there = vec![false; self.new.len()];
        sources.iter().filter_map(|s| s.new).for_each(|j| there[j as usize] = true);
        let rest = (0..self.new.len() as u32).filter(|&j| !there[j as usize]);
        sources.extend(rest.map(|j| Source { old: None, new: Some(j) }));
    }

    /// The place in the new order of each premise of the survey, or of the row that has most of its ground.
    fn moved(&self, sources: &[Source], succession: Option<&Succession>) -> Vec<u32> {
        let (mut of_old, mut of_new) = (vec![0; self.old.len()], vec![0; self.new.len()]);
        for (to, source) in (0..).zip(sources) {
            source.old.into_iter().for_each(|i| of_old[i as usize] = to);
            source.new.into_iter().for_each(|j| of_new[j as usize] = to);
        }
        let heir = |i: usize| succession.and_then(|s| s.heir[i]);
        (0..of_old.len()).map(|i| heir(i).map_or(of_old[i], |j| of_new[j as usize])).collect()
    }

    /// Ids that are unique on both sides pair; all other rows are left in `rest`.
    fn pair_by_id(&self, sources: &mut [Source], rest: &mut Vec<u32>) {
        if self.new.numbered {
            rest.extend(0..self.new.len() as u32);
            return;
        }
        let old = TextIndex::new(&self.old.parcel_id);
        for group in TextIndex::new(&self.new.parcel_id).groups() {
            let mut there = old.rows(self.new.parcel_id.get(group[0].1 as usize));
            match (group, there.next(), there.next()) {
                ([only], Some(i), None) => sources[i].new = Some(only.1),
                _ => rest.extend(group.iter().map(|e| e.1)),
            }
        }
        rest.extend((0..self.new.len() as u32).filter(|&j| self.new.parcel_id.get(j as usize).is_empty()));
        rest.sort_unstable();
    }

    /// Rows whose outline and id are there already pair, and so do rows without an outline whose id is; the others stay in `rest`.
    /// Units of one building have all of that in common: first those pair that have the same address too.
    fn pair_by_ground(&self, sources: &mut [Source], rest: &mut Vec<u32>) {
        let index = BoxIndex::new(self.old.outline.bounds());
        let ids = TextIndex::new(&self.old.parcel_id);
        for same_address in [true, false] {
            rest.retain(|&j| {
                let fits = |i: usize| !same_address || self.old.address.get(i) == self.new.address.get(j as usize);
                let found = self.there(j, (&index, &ids), |i| sources[i].new.is_none() && fits(i));
                if let Some(i) = found {
                    sources[i].new = Some(j);
                }
                found.is_none()
            });
        }
    }

    /// The first premise that is there already as a row of the file, among those that may be.
    fn there(&self, j: u32, (index, ids): (&BoxIndex, &TextIndex<'_>), may_be: impl Fn(usize) -> bool) -> Option<usize> {
        let Some(outline) = self.new.outline(j as usize) else {
            let own = |&i: &usize| may_be(i) && self.old.outline.get(i).is_empty();
            return ids.rows(self.new.parcel_id.get(j as usize)).find(own);
        };
        let mut found = None;
        index.each_touching(&outline.bounds().grown(SAME), |i| {
            if found.is_none() && may_be(i) && self.is_same(i, j as usize, outline) {
                found = Some(i);
            }
        });
        found
    }

    /// Whether a premise that is there is the one of a row with a repeated id, or with none.
    fn is_same(&self, i: usize, j: usize, outline: ShapeView<'_>) -> bool {
        let there = self.old.outline.get(i);
        let same_id = self.old.parcel_id.get(i) == self.new.parcel_id.get(j);
        let id = !self.new.numbered && !self.new.parcel_id.get(j).is_empty();
        (self.new.numbered || same_id) && if id { same_box(there, outline) } else { same_outline(there, outline) }
    }

    fn outline(&self, s: Source) -> Option<ShapeView<'_>> {
        let old = || s.old.map(|i| self.old.outline.get(i as usize)).filter(|o| !o.is_empty());
        s.new.and_then(|j| self.new.outline(j as usize)).or_else(old)
    }

    /// The file's text where it has one, or else the survey's.
    fn text<'b>(s: Source, old: &'b Strings, new: &'b Strings) -> &'b str {
        let get = |texts: &'b Strings, i: Option<u32>| i.filter(|_| !texts.is_empty()).map_or("", |i| texts.get(i as usize));
        match get(new, s.new) {
            "" => get(old, s.old),
            text => text,
        }
    }

    fn parcel_id(&self, s: Source) -> &str {
        // A number given by file order does not replace an id.
        let kept = if self.new.numbered && s.old.is_some() { Source { new: None, ..s } } else { s };
        Self::text(kept, &self.old.parcel_id, &self.new.parcel_id)
    }

    fn address(&self, s: Source) -> &str {
        Self::text(s, &self.old.address, &self.new.address)
    }

    fn year(&self, s: Source) -> u16 {
        let get = |years: &[u16], i: Option<u32>| i.and_then(|i| years.get(i as usize).copied()).filter(|&y| y > 0);
        get(&self.new.year_built, s.new).or_else(|| get(&self.old.year_built, s.old)).unwrap_or(0)
    }

    fn put_in_order(&self, sources: &mut Vec<Source>) {
        let centre = |s: &Source| self.outline(*s).map(|o| o.bounds().centre());
        let with = |all: Bounds, s: &Source| centre(s).map_or(all, |p| all.with(p));
        let extent = sources.par_iter().fold(|| Bounds::EMPTY, with).reduce(|| Bounds::EMPTY, |a, b| a.union(b));
        let along = |s: &Source| centre(s).map_or(u32::MAX, |p| hilbert(p, &extent));
        // The number goes along in the low half, so that whole numbers are sorted and few premises compared.
        let mut keyed: Vec<u64> = sources.par_iter().enumerate().map(|(i, s)| u64::from(along(s)) << 32 | i as u64).collect();
        keyed.sort_unstable();
        let source = |key: u64| key as u32 as usize;
        for same in keyed.chunk_by_mut(|a, b| a >> 32 == b >> 32).filter(|same| same.len() > 1) {
            same.par_sort_unstable_by(|&a, &b| {
                let (a, b) = (sources[source(a)], sources[source(b)]);
                // What has no outline comes last of all.
                self.outline(a).is_none().cmp(&self.outline(b).is_none()).then_with(|| self.compare(a, b))
            });
        }
        *sources = keyed.into_iter().map(|key| sources[source(key)]).collect();
    }

    /// Order of premises at the same place: by id, address, outline, block.
    fn compare(&self, a: Source, b: Source) -> Ordering {
        let block = |s| Self::text(s, &self.old_block, &self.new.block_name);
        let use_of = |s| Self::text(s, &self.old.land_use, &self.new.land_use);
        self.parcel_id(a)
            .cmp(self.parcel_id(b))
            .then_with(|| self.address(a).cmp(self.address(b)))
            .then_with(|| compare_outlines(self.outline(a), self.outline(b)))
            .then_with(|| block(a).cmp(block(b)))
            .then_with(|| use_of(a).cmp(use_of(b)))
            .then_with(|| self.year(a).cmp(&self.year(b)))
    }

    fn gather<'s>(&'s self, sources: &[Source], watch: &dyn Watch) -> Result<(Premises, Strings), Cancelled> {
        let has_use = !(self.old.land_use.is_empty() && self.new.land_use.is_empty());
        let has_year = !(self.old.year_built.is_empty() && self.new.year_built.is_empty());
        let column = |wanted, text: &(dyn Fn(Source) -> &'s str + Sync)| {
            let count = if wanted { sources.len() } else { 0 };
            Strings::gathered(count, |i| text(sources[i]))
        };
        let parcel_id = column(true, &|s| self.parcel_id(s));
        let address = column(true, &|s| self.address(s));
        let block_name = column(true, &|s| Self::text(s, &self.old_block, &self.new.block_name));
        let land_use = column(has_use, &|s| Self::text(s, &self.old.land_use, &self.new.land_use));
        let year_built: Vec<u16> = if has_year { sources.par_iter().map(|&s| self.year(s)).collect() } else { Vec::new() };
        watch.step("gathering premises", 1, 2)?;
        let outline = Shapes::gathered(sources.len(), |i| self.outline(sources[i]));
        let premises = Premises {
            parcel_id: Arc::new(parcel_id),
            address: Arc::new(address),
            block: Arc::new(vec![None; sources.len()]),
            outline: Arc::new(outline),
            land_use: Arc::new(land_use),
            year_built: Arc::new(year_built),
        };
        Ok((premises, block_name))
    }
}

fn near(p: Local, q: Local) -> bool {
    (p.x - q.x).abs() <= SAME && (p.y - q.y).abs() <= SAME
}

fn same_box(a: ShapeView<'_>, b: ShapeView<'_>) -> bool {
    near(a.bounds().min, b.bounds().min) && near(a.bounds().max, b.bounds().max)
}

/// Whether two outlines, or two lines, have the same places, wherever a ring begins and whichever way it runs: formats differ
/// in that.
pub(super) fn same_outline(a: ShapeView<'_>, b: ShapeView<'_>) -> bool {
    let in_turn = || a.places().iter().zip(b.places()).all(|(p, q)| near(*p, *q));
    let in_any_order = || all_near(a.places(), b.places()) && all_near(b.places(), a.places());
    a.places().len() == b.places().len() && same_box(a, b) && (in_turn() || in_any_order())
}

/// Whether each of some places lies near one of others. The others are put in order from west to east: an outline may have
/// thousands of places.
fn all_near(some: &[Local], others: &[Local]) -> bool {
    let mut eastward = others.to_vec();
    eastward.sort_unstable_by(|p, q| p.x.total_cmp(&q.x));
    some.iter().all(|p| {
        let from = eastward.partition_point(|q| q.x < p.x - SAME);
        eastward[from..].iter().take_while(|q| q.x <= p.x + SAME).any(|q| near(*p, *q))
    })
}

/// Order of outlines by their places, one after the other.
pub(super) fn compare_outlines(a: Option<ShapeView<'_>>, b: Option<ShapeView<'_>>) -> Ordering {
    let (a, b) = (a.map_or(&[][..], ShapeView::places), b.map_or(&[][..], ShapeView::places));
    let compare = |(p, q): (&Local, &Local)| p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y));
    a.iter().zip(b).map(compare).find(|order| order.is_ne()).unwrap_or_else(|| a.len().cmp(&b.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn outline(places: &[Local]) -> Shapes {
        let mut out = Shapes::default();
        out.push_ring(places);
        out.end_part();
        out.end_shape();
        out
    }

    /// The slow way: every place against every other.
    fn slowly(a: &[Local], b: &[Local]) -> bool {
        let all_in = |a: &[Local], b: &[Local]| a.iter().all(|p| b.iter().any(|q| near(*p, *q)));
        all_in(a, b) && all_in(b, a)
    }

    proptest! {
        #[test]
        fn the_same_places_in_any_order_are_the_same_outline(
            places in prop::collection::vec((0.0..8.0, 0.0..8.0), 3..20),
            begin in 0..20_usize,
            moved in prop::collection::vec((-0.4..0.7, -0.4..0.4), 20),
        ) {
            let a: Vec<Local> = places.iter().map(|&(x, y)| Local { x, y }).collect();
            let mut b: Vec<Local> = a.iter().zip(&moved).map(|(p, m)| Local { x: p.x + m.0, y: p.y + m.1 }).collect();
            b.rotate_left(begin % a.len());
            b.reverse();
            let (one, other) = (outline(&a), outline(&b));
            let boxes = same_box(one.get(0), other.get(0));
            prop_assert_eq!(same_outline(one.get(0), other.get(0)), boxes && slowly(&a, &b));
        }
    }
}
