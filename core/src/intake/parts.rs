//! Several rows with one parcel id made into one premise of several parts.

use super::premises::{compare_outlines, ground_order};
use super::text_index::TextIndex;
use super::work::moved_visits;
use crate::place::{ShapeView, Shapes, push_union};
use crate::survey::{Premises, Strings, Survey};
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Which rows belong together by their id.
#[derive(Debug)]
pub(super) struct Together {
    /// The rows of each group by the row that stands for it, the one with the largest outline; rising.
    members: BTreeMap<u32, Vec<u32>>,
    rows: usize,
}

impl Together {
    /// Groups of two rows or more that share an id that is `wanted`.
    pub(super) fn of(ids: &Strings, wanted: impl Fn(&str) -> bool, area: impl Fn(usize) -> f64) -> Self {
        let mut members = BTreeMap::new();
        for group in TextIndex::new(ids).groups().filter(|g| g.len() > 1 && wanted(ids.get(g[0].1 as usize))) {
            let rows: Vec<u32> = group.iter().map(|e| e.1).collect();
            let size = |row: &u32| (area(*row as usize) * 1000.0).round() as i64;
            if let Some(lead) = rows.iter().copied().min_by_key(|row| (Reverse(size(row)), *row)) {
                members.insert(lead, rows);
            }
        }
        Self { members, rows: ids.len() }
    }

    /// The groups, each as its rows.
    pub(super) fn groups(&self) -> impl Iterator<Item = &Vec<u32>> {
        self.members.values()
    }

    /// The rows that stay: those that stand for a group or belong to none; rising.
    pub(super) fn kept(&self) -> Vec<u32> {
        let mut stays = vec![true; self.rows];
        for (lead, rows) in &self.members {
            rows.iter().for_each(|&row| stays[row as usize] = row == *lead);
        }
        (0..self.rows as u32).filter(|&row| stays[row as usize]).collect()
    }

    /// For each row its place among [`Together::kept`], or that of the row that stands for it.
    pub(super) fn heirs(&self, kept: &[u32]) -> Vec<u32> {
        let mut heirs = vec![0; self.rows];
        kept.iter().zip(0..).for_each(|(&row, place)| heirs[row as usize] = place);
        for (&lead, rows) in &self.members {
            let place = heirs[lead as usize];
            rows.iter().for_each(|&row| heirs[row as usize] = place);
        }
        heirs
    }

    /// A column of the kept rows: a row that stands for others takes their text where it has none.
    pub(super) fn texts(&self, column: &Strings, kept: &[u32]) -> Strings {
        let blank = |row: &u32| column.get(*row as usize).is_empty();
        let text = |row: &u32| {
            let others = self.members.get(row).filter(|_| blank(row));
            others.and_then(|rows| rows.iter().find(|r| !blank(r))).map_or(column.get(*row as usize), |r| column.get(*r as usize))
        };
        kept.iter().filter(|_| !column.is_empty()).map(text).collect()
    }

    /// The same for years, of which 0 is none.
    pub(super) fn years(&self, column: &[u16], kept: &[u32]) -> Vec<u16> {
        let year = |row: &u32| {
            let alone = std::slice::from_ref(row);
            let rows = self.members.get(row).map_or(alone, Vec::as_slice);
            alone.iter().chain(rows).map(|r| column[*r as usize]).find(|y| *y > 0).unwrap_or(0)
        };
        kept.iter().filter(|_| !column.is_empty()).map(year).collect()
    }

    /// The outline of a group by the row that stands for it; `None` for a row that stands for itself alone.
    pub(super) fn outline<'s>(&self, lead: u32, outline: impl Fn(usize) -> Option<ShapeView<'s>>) -> Option<Shapes> {
        let mut parts: Vec<ShapeView<'s>> = self.members.get(&lead)?.iter().filter_map(|&row| outline(row as usize)).collect();
        parts.sort_by(|a, b| compare_outlines(Some(*a), Some(*b)));
        let mut out = Shapes::default();
        let meet = |i: usize| parts[i + 1..].iter().any(|other| parts[i].bounds().touches(other.bounds()));
        if (0..parts.len()).any(meet) {
            // Parts that share a fence or ground would not be a valid outline side by side.
            push_union(parts.into_iter(), &mut out);
            return Some(out);
        }
        for part in parts.into_iter().flat_map(ShapeView::parts) {
            part.rings().for_each(|ring| out.push_ring(ring));
            out.end_part();
        }
        out.end_shape();
        Some(out)
    }
}

/// A survey with the premises of some ids made one each.
pub(super) fn united(survey: &Survey, wanted: impl Fn(&str) -> bool) -> Survey {
    let p = &survey.premises;
    let together = Together::of(&p.parcel_id, wanted, |i| p.outline.get(i).area());
    let kept = together.kept();
    let own = |i: usize| Some(p.outline.get(i)).filter(|o| !o.is_empty());
    let mut outline = Shapes::with_capacity(kept.len(), p.outline.place_count());
    for &row in &kept {
        match together.outline(row, own) {
            Some(one) => outline.append(&one),
            None => outline.push_view(p.outline.get(row as usize)),
        }
    }
    let block = kept.iter().map(|&row| p.block[row as usize]).collect();
    let premises = Premises {
        parcel_id: Arc::new(p.parcel_id.reordered(&kept)),
        address: Arc::new(together.texts(&p.address, &kept)),
        block: Arc::new(block),
        outline: Arc::new(outline),
        land_use: Arc::new(together.texts(&p.land_use, &kept)),
        year_built: Arc::new(together.years(&p.year_built, &kept)),
    };
    let order = ground_order(&premises, &survey.blocks);
    let mut place = vec![0; order.len()];
    order.iter().zip(0..).for_each(|(&row, to)| place[row as usize] = to);
    let moved: Vec<u32> = together.heirs(&kept).into_iter().map(|heir| place[heir as usize]).collect();
    let visits = moved_visits(&survey.visits, premises.len(), &moved);
    Survey { premises: reordered(&premises, &order), visits, ..survey.clone() }
}

fn reordered(p: &Premises, order: &[u32]) -> Premises {
    let texts = |column: &Strings| Arc::new(if column.is_empty() { Strings::default() } else { column.reordered(order) });
    Premises {
        parcel_id: texts(&p.parcel_id),
        address: texts(&p.address),
        block: Arc::new(order.iter().map(|&i| p.block[i as usize]).collect()),
        outline: Arc::new(p.outline.reordered(order)),
        land_use: texts(&p.land_use),
        year_built: Arc::new(if p.year_built.is_empty() { Vec::new() } else { order.iter().map(|&i| p.year_built[i as usize]).collect() }),
    }
}
