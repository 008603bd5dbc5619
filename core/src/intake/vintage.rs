//! A newer parcel file over the premises of a survey: what became of each premise's ground.

use super::parcels::NewPremises;
use super::premises::{Source, same_outline};
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, BoxIndex, ScatteredIndex, ShapeView, overlap};
use crate::survey::{PremiseId, Premises, Visits};
use rayon::prelude::*;
use serde::Serialize;
use std::collections::BTreeMap;

/// Outlines that differ by less than this share of their area are the same ground.
const NEARLY: f64 = 0.1;
/// A premise's ground goes on in an outline that has at least this share of it.
const LEAST: f64 = 0.1;
/// An outline descends from a premise when more than this share of it, or of the premise, is common ground.
const MOSTLY: f64 = 0.5;
/// A premise that is not in the file is gone when most of those this near to it are, in metres.
const AROUND: f64 = 30.0;

/// What became of a premise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Became {
    /// Its ground is in several premises now.
    Split,
    /// Its ground is in one premise together with others'.
    Merged,
    /// The same ground has another parcel id.
    Renumbered,
    /// The same parcel id has another outline.
    MovedOutline,
    /// It is no longer in the file. It stays when visits were made there.
    Gone,
}

/// A premise that the newer file changes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Change {
    /// What became of it.
    pub became: Became,
    /// Its parcel id before.
    pub parcel_id: String,
    /// The parcel ids that its ground has now.
    pub now: Vec<String>,
    /// The parcel id that its visits are at now.
    pub visits_at: String,
    /// How many visits were made there.
    pub visits: usize,
}

/// What a newer parcel file changed. Each premise of the survey is counted once.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Vintage {
    /// Premises that are as they were.
    pub kept: usize,
    /// Premises whose outline is another.
    pub moved_outline: usize,
    /// Premises whose parcel id is another.
    pub renumbered: usize,
    /// Premises that were divided.
    pub split: usize,
    /// Premises that were put together with others.
    pub merged: usize,
    /// Premises that are no longer in the file.
    pub gone: usize,
    /// Of those gone: how many stay because visits were made there.
    pub gone_with_visits: usize,
    /// Premises of other ground than the file's, which stay as they were.
    pub elsewhere: usize,
    /// Premises on ground that had none before, or that were added beside others.
    pub new: usize,
    /// Visits that are now at a premise with another parcel id.
    pub visits_moved: usize,
    /// Every premise that changed, by what became of it and parcel id.
    pub changes: Vec<Change>,
}

/// Where the premises of a survey went.
pub(super) struct Succession {
    /// For each premise of the survey, the row of the file that its visits go to; `None`: they stay with it.
    pub heir: Vec<Option<u32>>,
    /// Premises of the survey that are no more.
    pub dropped: Vec<bool>,
    pub vintage: Vintage,
}

/// Ground that a premise of the survey and a row of the file have in common.
#[derive(Clone, Copy)]
struct Common {
    new: u32,
    area: f64,
}

/// Follows the ground of every premise into a newer file. `sources` pairs the premises of the survey with rows of the file by
/// id; pairs on different ground are parted, and rows on the ground of a renumbered premise are paired with it.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub(super) fn succeed(
    old: &Premises,
    visits: &Visits,
    new: &NewPremises,
    sources: &mut [Source],
    watch: &dyn Watch,
) -> Result<Succession, Cancelled> {
    let mut over = Over::new(old, new, sources, watch);
    watch.step("following the ground", 0, 0)?;
    let of = |i| if watch.cancelled() { Vec::new() } else { over.common(i) };
    let common: Vec<Vec<Common>> = (0..old.len()).into_par_iter().map(of).collect();
    watch.step("following the ground", 1, 2)?;
    over.part_strangers(&common);
    over.pair_renumbered(&common);
    watch.step("judging what changed", 0, 0)?;
    let succession = over.judge(&common, visits);
    for (source, pair) in sources.iter_mut().zip(&over.pair) {
        source.new = *pair;
    }
    Ok(succession)
}

struct Over<'a> {
    old: &'a Premises,
    new: &'a NewPremises,
    /// The row of the file that each premise is paired with.
    pair: Vec<Option<u32>>,
    /// Pairs whose ground is the same.
    steady: Vec<bool>,
    old_index: BoxIndex,
    /// Rows of the file that are in no steady pair.
    loose_index: ScatteredIndex,
}

impl<'a> Over<'a> {
    fn new(old: &'a Premises, new: &'a NewPremises, sources: &[Source], watch: &dyn Watch) -> Self {
        let pair: Vec<Option<u32>> = sources.iter().map(|s| s.new).collect();
        let is_steady = |i: usize| pair[i].is_some_and(|j| same_ground(some(old.outline.get(i)), new.outline(j as usize)));
        let steady: Vec<bool> = (0..old.len()).into_par_iter().map(|i| !watch.cancelled() && is_steady(i)).collect();
        let mut taken = vec![false; new.len()];
        (0..old.len()).filter(|&i| steady[i]).filter_map(|i| pair[i]).for_each(|j| taken[j as usize] = true);
        let loose = |j: usize| new.outline(j).filter(|_| !taken[j]).map_or(Bounds::EMPTY, |o| *o.bounds());
        let boxes: Vec<Bounds> = (0..new.len()).map(loose).collect();
        let (old_index, loose_index) = (BoxIndex::new(old.outline.bounds()), ScatteredIndex::new(&boxes));
        Self { old, new, pair, steady, old_index, loose_index }
    }

    /// Rows of the file that share ground with a premise whose own ground changed, most ground first.
    fn common(&self, i: usize) -> Vec<Common> {
        let here = self.old.outline.get(i);
        if self.steady[i] || here.is_empty() {
            return Vec::new();
        }
        let mut rows: Vec<u32> = Vec::new();
        self.loose_index.each_touching(here.bounds(), |j| rows.push(j as u32));
        self.old_index.each_touching(here.bounds(), |k| rows.extend(self.pair[k].filter(|_| self.steady[k])));
        let measured = |&new: &u32| self.new.outline(new as usize).map(|o| Common { new, area: overlap(here, o) });
        let mut out: Vec<Common> = rows.iter().filter_map(measured).filter(|c| c.area > 0.0).collect();
        // Square centimetres, so that the same ground drawn twice is equal; then the same id, then the smallest.
        let id = |c: &Common| self.new.parcel_id.get(c.new as usize);
        let own = self.old.parcel_id.get(i);
        out.sort_by(|a, b| {
            let size = |c: &Common| (c.area * 10_000.0).round();
            size(b).total_cmp(&size(a)).then_with(|| (id(a) != own, id(a), a.new).cmp(&(id(b) != own, id(b), b.new)))
        });
        out
    }

    fn area(&self, i: usize) -> f64 {
        self.old.outline.get(i).area()
    }

    fn heir(&self, i: usize, common: &[Vec<Common>]) -> Option<u32> {
        common[i].first().filter(|c| c.area >= LEAST * self.area(i)).map(|c| c.new)
    }

    /// An id that was given to other ground does not make a pair, when this ground goes on elsewhere.
    fn part_strangers(&mut self, common: &[Vec<Common>]) {
        for i in (0..self.pair.len()).filter(|&i| !self.steady[i] && !common[i].is_empty()) {
            let Some(j) = self.pair[i].filter(|&j| self.new.outline(j as usize).is_some()) else { continue };
            let shared = common[i].iter().find(|c| c.new == j).map_or(0.0, |c| c.area);
            if shared < LEAST * self.area(i) && self.heir(i, common).is_some() {
                self.pair[i] = None;
            }
        }
    }

    /// A row that is in no pair and is nearly all of one premise that is in none is that premise with a new id.
    fn pair_renumbered(&mut self, common: &[Vec<Common>]) {
        let mut taken = vec![false; self.new.len()];
        self.pair.iter().flatten().for_each(|&j| taken[j as usize] = true);
        for (i, common) in common.iter().enumerate() {
            let Some(first) = common.first().filter(|_| self.pair[i].is_none()) else { continue };
            let both = self.area(i).max(self.new_area(first.new));
            if !taken[first.new as usize] && first.area > MOSTLY * both {
                self.pair[i] = Some(first.new);
                taken[first.new as usize] = true;
            }
        }
    }

    fn new_area(&self, j: u32) -> f64 {
        self.new.outline(j as usize).map_or(0.0, ShapeView::area)
    }

    fn judge(&self, common: &[Vec<Common>], visits: &Visits) -> Succession {
        let n = self.old.len();
        let heir: Vec<Option<u32>> = (0..n).map(|i| self.heir(i, common)).collect();
        let mut parents: BTreeMap<u32, usize> = BTreeMap::new();
        let mut descends = vec![false; self.new.len()];
        for (i, common) in common.iter().enumerate() {
            for c in common.iter().filter(|c| c.area > MOSTLY * self.area(i)) {
                *parents.entry(c.new).or_default() += 1;
            }
            let from_here = |c: &&Common| c.area > MOSTLY * self.new_area(c.new) || c.area > MOSTLY * self.area(i);
            common.iter().filter(from_here).for_each(|c| descends[c.new as usize] = true);
        }
        self.pair.iter().flatten().chain(heir.iter().flatten()).for_each(|&j| descends[j as usize] = true);
        let mut vintage = Vintage { new: descends.iter().filter(|d| !**d).count(), ..Vintage::default() };
        let mut dropped = vec![false; n];
        for i in 0..n {
            let made = visits.at(PremiseId(i as u32)).len();
            match self.became(i, &common[i], &heir, &parents) {
                None if self.pair[i].is_some() => vintage.kept += 1,
                None => vintage.elsewhere += 1,
                Some((became, now)) => {
                    dropped[i] = self.pair[i].is_none() && (heir[i].is_some() || made == 0);
                    vintage.enter(self.change(i, became, &now, heir[i], made), dropped[i]);
                }
            }
        }
        vintage.changes.sort();
        Succession { heir, dropped, vintage }
    }

    /// What became of a premise and the rows that have its ground now; `None` when nothing did.
    fn became(&self, i: usize, common: &[Common], heirs: &[Option<u32>], parents: &BTreeMap<u32, usize>) -> Option<(Became, Vec<u32>)> {
        let Some(heir) = heirs[i] else {
            return match self.pair[i] {
                Some(j) => self.has_moved(i, j).then(|| (Became::MovedOutline, vec![j])),
                None => self.is_gone(i, heirs).then(|| (Became::Gone, Vec::new())),
            };
        };
        let part = |c: &&Common| c.new == heir || c.area > MOSTLY * self.new_area(c.new);
        let now: Vec<u32> = common.iter().filter(part).map(|c| c.new).collect();
        let same_id = self.new.numbered && self.pair[i].is_some() || self.id_of(heir) == self.old.parcel_id.get(i);
        let became = match () {
            () if now.len() > 1 && !self.stacked(&now) => Became::Split,
            () if parents.get(&heir).copied().unwrap_or(0) > 1 => Became::Merged,
            () if same_id => Became::MovedOutline,
            () => Became::Renumbered,
        };
        Some((became, now))
    }

    fn has_moved(&self, i: usize, j: u32) -> bool {
        let (before, now) = (some(self.old.outline.get(i)), self.new.outline(j as usize));
        now.is_some_and(|now| before.is_none_or(|before| !same_outline(before, now)))
    }

    /// Whether some rows are all drawn on the same ground, as units of a building are.
    fn stacked(&self, rows: &[u32]) -> bool {
        rows.iter().all(|&j| same_ground(self.new.outline(rows[0] as usize), self.new.outline(j as usize)))
    }

    /// Whether a premise that is not in the file lies amid others that are.
    fn is_gone(&self, i: usize, heirs: &[Option<u32>]) -> bool {
        let here = self.old.outline.get(i);
        let (mut others, mut in_file) = (0, 0);
        if !here.is_empty() {
            self.old_index.each_touching(&here.bounds().grown(AROUND), |k| {
                others += usize::from(k != i);
                in_file += usize::from(k != i && (self.pair[k].is_some() || heirs[k].is_some()));
            });
        }
        2 * in_file > others
    }

    fn id_of(&self, j: u32) -> &str {
        self.new.parcel_id.get(j as usize)
    }

    fn change(&self, i: usize, became: Became, now: &[u32], heir: Option<u32>, visits: usize) -> Change {
        let mut ids: Vec<String> = now.iter().map(|&j| self.id_of(j).to_owned()).collect();
        ids.sort_unstable();
        let own = self.old.parcel_id.get(i);
        let at = heir.or(self.pair[i]).map_or(own, |j| if self.new.numbered && self.pair[i] == Some(j) { own } else { self.id_of(j) });
        Change { became, parcel_id: own.to_owned(), now: ids, visits_at: at.to_owned(), visits }
    }
}

impl Vintage {
    fn enter(&mut self, change: Change, dropped: bool) {
        let count = match change.became {
            Became::Split => &mut self.split,
            Became::Merged => &mut self.merged,
            Became::Renumbered => &mut self.renumbered,
            Became::MovedOutline => &mut self.moved_outline,
            Became::Gone => &mut self.gone,
        };
        *count += 1;
        self.gone_with_visits += usize::from(change.became == Became::Gone && !dropped);
        if change.visits_at != change.parcel_id {
            self.visits_moved += change.visits;
        }
        self.changes.push(change);
    }

    /// How many premises became what, for a table: the words, then the count; those that nothing happened to are left out.
    pub fn counts(&self) -> Vec<(&'static str, usize)> {
        let all = [
            ("kept as they were", self.kept),
            ("outside the file, kept", self.elsewhere),
            ("another outline", self.moved_outline),
            ("another parcel id", self.renumbered),
            ("split", self.split),
            ("merged", self.merged),
            ("gone", self.gone),
            ("gone from the file, kept for their visits", self.gone_with_visits),
            ("new", self.new),
            ("visits moved with their ground", self.visits_moved),
        ];
        all.into_iter().filter(|c| c.1 > 0).collect()
    }

    /// The changes as a table in words: the counts, then each changed premise that visits were made at, then the others, at most
    /// so many lines.
    pub fn table(&self, most: usize) -> String {
        let mut out = "What the newer parcel file changed\n".to_owned();
        for (words, count) in self.counts() {
            out.push_str(&format!("  {count:>9}  {words}\n"));
        }
        for change in self.by_weight().into_iter().take(most) {
            out.push_str(&format!("  {}\n", change.in_words()));
        }
        if self.changes.len() > most {
            out.push_str(&format!("  and {} more, all in the report (--report)\n", self.changes.len() - most));
        }
        out
    }

    /// The changes, those with most visits first.
    pub fn by_weight(&self) -> Vec<&Change> {
        let mut all: Vec<&Change> = self.changes.iter().collect();
        all.sort_by(|a, b| b.visits.cmp(&a.visits).then_with(|| a.cmp(b)));
        all
    }

    /// What changed, as a sentence.
    pub fn in_words(&self) -> String {
        let mut out = format!(
            "{} premises are as they were, {} have another outline, {} another parcel id; {} were split, {} merged, {} are gone; {} are new",
            self.kept, self.moved_outline, self.renumbered, self.split, self.merged, self.gone, self.new
        );
        for (count, words) in [
            (self.gone_with_visits, "of those gone stay, because visits were made there"),
            (self.elsewhere, "lie outside the file and stay as they were"),
            (self.visits_moved, "visits went with their ground to another parcel id"),
        ] {
            if count > 0 {
                out.push_str(&format!("; {count} {words}"));
            }
        }
        out
    }
}

impl Became {
    /// In a word or two.
    pub fn words(self) -> &'static str {
        match self {
            Self::Split => "split",
            Self::Merged => "merged",
            Self::Renumbered => "renumbered",
            Self::MovedOutline => "other outline",
            Self::Gone => "gone",
        }
    }
}

impl Change {
    /// The change in a line: what, from which parcel id to which, and where its visits are now.
    pub fn in_words(&self) -> String {
        let id = if self.parcel_id.is_empty() { "no id" } else { &self.parcel_id };
        let same = self.now == [self.parcel_id.as_str()];
        let now = match self.became {
            Became::Merged if same => " with its neighbours, its id kept".to_owned(),
            _ if same || self.now.is_empty() => String::new(),
            _ => format!(" to {}", self.now.join(", ")),
        };
        let count = if self.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", self.visits) };
        let visits = match (self.visits, self.visits_at == self.parcel_id) {
            (0, _) => String::new(),
            (_, true) => format!("; {count} kept"),
            (_, false) => format!("; {count} now at {}", self.visits_at),
        };
        format!("{} {id}{now}{visits}", self.became.words())
    }
}

fn some(outline: ShapeView<'_>) -> Option<ShapeView<'_>> {
    (!outline.is_empty()).then_some(outline)
}

/// Whether two outlines are of the same ground, drawn again at most a little differently. A premise that has no outline on
/// one side is on the same ground, as far as anybody knows.
fn same_ground(a: Option<ShapeView<'_>>, b: Option<ShapeView<'_>>) -> bool {
    let (Some(a), Some(b)) = (a, b) else { return true };
    let (one, other) = (a.area(), b.area());
    let common = || overlap(a, b) > (1.0 - NEARLY) * one.max(other);
    same_outline(a, b) || ((one - other).abs() < NEARLY * one.max(other) && common())
}
