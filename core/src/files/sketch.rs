//! Shapes being gathered row by row, so that one broken row leaves no trace but its reason.

use super::ShapeKind;
use super::room::make_room;
use crate::job::{Cancelled, Watch};
use crate::place::RawShapes;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Why one row's shape cannot be used, in words that go on from "its shape".
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Unusable(pub Cow<'static, str>);

impl From<&'static str> for Unusable {
    fn from(reason: &'static str) -> Self {
        Self(Cow::Borrowed(reason))
    }
}

impl From<String> for Unusable {
    fn from(reason: String) -> Self {
        Self(Cow::Owned(reason))
    }
}

const NOT_FINITE: &str = "has a coordinate that is not a number";

/// What was left out or put right on the way, in rows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Remarks {
    pub heights: usize,
    pub measures: usize,
    pub unclosed: usize,
    pub mixed: usize,
    pub curved: usize,
}

/// The shapes of some rows.
#[derive(Debug, Default)]
pub(super) struct Batch {
    pub shapes: RawShapes,
    pub kinds: Vec<ShapeKind>,
    pub unusable: BTreeMap<usize, String>,
    pub remarks: Remarks,
}

impl Batch {
    /// Adds the next row: what the pen draws, or the reason why it cannot.
    pub fn row(&mut self, draw: impl FnOnce(&mut Pen<'_>) -> Result<(), Unusable>) {
        let mut pen = Pen { shapes: &mut self.shapes, kind: ShapeKind::Nothing, seen: Remarks::default() };
        let drawn = draw(&mut pen);
        let (kind, seen) = (pen.kind, pen.seen);
        match drawn {
            Ok(()) => {
                let empty = self.shapes.part_ends.len() as u32 == self.shapes.shape_ends.last().copied().unwrap_or(0);
                self.kinds.push(if empty { ShapeKind::Nothing } else { kind });
                self.remarks.add(seen);
            }
            Err(Unusable(reason)) => {
                self.shapes.drop_unfinished();
                self.unusable.insert(self.kinds.len(), reason.into_owned());
                self.kinds.push(ShapeKind::Unusable);
            }
        }
        self.shapes.end_shape();
    }

    /// Makes room for all rows of a file, of which there are so many times as the batch holds now.
    pub fn make_room(&mut self, times: f64) {
        make_room(&mut self.shapes.xy, times);
        make_room(&mut self.shapes.ring_ends, times);
        make_room(&mut self.shapes.part_ends, times);
        make_room(&mut self.shapes.shape_ends, times);
        make_room(&mut self.kinds, times);
    }

    /// One batch out of many, in their order.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub fn join(batches: Vec<Self>, watch: &dyn Watch) -> Result<Self, Cancelled> {
        let mut out = Self::default();
        let sum = |count: fn(&Self) -> usize| batches.iter().map(count).sum::<usize>();
        out.shapes.xy.reserve_exact(sum(|b| b.shapes.xy.len()));
        out.shapes.ring_ends.reserve_exact(sum(|b| b.shapes.ring_ends.len()));
        out.shapes.part_ends.reserve_exact(sum(|b| b.shapes.part_ends.len()));
        out.shapes.shape_ends.reserve_exact(sum(|b| b.shapes.shape_ends.len()));
        out.kinds.reserve_exact(sum(|b| b.kinds.len()));
        let all = batches.len() as u64;
        for (done, batch) in (0..).zip(batches) {
            watch.step("gathering shapes", done, all)?;
            out.append(batch);
        }
        Ok(out)
    }

    fn append(&mut self, other: Self) {
        let first = self.kinds.len();
        let (xy, rings, parts) = (self.shapes.xy.len() as u32, self.shapes.ring_ends.len() as u32, self.shapes.part_ends.len() as u32);
        self.shapes.xy.extend_from_slice(&other.shapes.xy);
        self.shapes.ring_ends.extend(other.shapes.ring_ends.iter().map(|e| e + xy));
        self.shapes.part_ends.extend(other.shapes.part_ends.iter().map(|e| e + rings));
        self.shapes.shape_ends.extend(other.shapes.shape_ends.iter().map(|e| e + parts));
        self.kinds.extend_from_slice(&other.kinds);
        self.unusable.extend(other.unusable.into_iter().map(|(row, why)| (first + row, why)));
        self.remarks.add(other.remarks);
    }
}

/// "1 row", "12 rows".
pub(super) fn rows_in_words(rows: usize) -> String {
    if rows == 1 { "1 row".to_owned() } else { format!("{rows} rows") }
}

impl Remarks {
    /// What was left out or put right, in sentences.
    pub fn notes(self) -> Vec<String> {
        let say = |rows: usize, what: &str| (rows > 0).then(|| format!("{} {what}", rows_in_words(rows)));
        [
            say(self.heights, "with heights: the heights were left out"),
            say(self.measures, "with measures along the line: they were left out"),
            say(self.unclosed, "with a ring that does not end where it began: taken as closed"),
            say(self.mixed, "with shapes of several kinds: only the widest kind was kept (outlines before lines before points)"),
            say(self.curved, "with arcs: drawn as short straight pieces"),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    fn add(&mut self, other: Self) {
        self.heights += other.heights;
        self.measures += other.measures;
        self.unclosed += other.unclosed;
        self.mixed += other.mixed;
        self.curved += other.curved;
    }
}

/// Draws the shape of one row.
#[derive(Debug)]
pub(super) struct Pen<'a> {
    shapes: &'a mut RawShapes,
    kind: ShapeKind,
    seen: Remarks,
}

/// How far a drawing had come.
#[derive(Clone, Copy, Debug)]
struct Mark {
    places: usize,
    rings: usize,
    parts: usize,
}

impl Pen<'_> {
    /// Draws one member of a shape. Of members of several kinds only the widest kind stays.
    pub fn member(&mut self, kind: ShapeKind, draw: impl FnOnce(&mut Self) -> Result<(), Unusable>) -> Result<(), Unusable> {
        if kind > self.kind && self.kind != ShapeKind::Nothing {
            self.shapes.drop_unfinished();
        }
        if kind != self.kind && self.kind != ShapeKind::Nothing {
            self.seen.mixed = 1;
        }
        let unwanted = kind < self.kind;
        self.kind = self.kind.max(kind);
        let mark = Mark { places: self.shapes.xy.len(), rings: self.shapes.ring_ends.len(), parts: self.shapes.part_ends.len() };
        draw(self)?;
        if unwanted {
            self.shapes.xy.truncate(mark.places);
            self.shapes.ring_ends.truncate(mark.rings);
            self.shapes.part_ends.truncate(mark.parts);
        }
        Ok(())
    }

    /// Adds a place to the ring or run being drawn.
    pub fn place(&mut self, x: f64, y: f64) -> Result<(), Unusable> {
        self.places(std::iter::once([x, y]))
    }

    /// Adds places to the ring or run being drawn.
    pub fn places(&mut self, places: impl Iterator<Item = [f64; 2]>) -> Result<(), Unusable> {
        let from = self.shapes.xy.len();
        self.shapes.xy.extend(places);
        let finite = |p: &[f64; 2]| p[0].is_finite() && p[1].is_finite();
        if self.shapes.xy[from..].iter().all(finite) { Ok(()) } else { Err(NOT_FINITE.into()) }
    }

    /// Ends a ring: the first place is not repeated at its end. A ring without a place is dropped.
    pub fn end_ring(&mut self) {
        let from = self.shapes.ring_ends.last().map_or(0, |&e| e as usize);
        let Some(&first) = self.shapes.xy.get(from) else { return };
        if self.shapes.xy.len() > from + 1 && self.shapes.xy.last() != Some(&first) {
            self.seen.unclosed = 1;
        }
        while self.shapes.xy.len() > from + 1 && self.shapes.xy.last() == Some(&first) {
            self.shapes.xy.pop();
        }
        self.shapes.end_ring();
    }

    /// Ends a part; one without a ring is dropped.
    pub fn end_part(&mut self) {
        let before = self.shapes.part_ends.last().map_or(0, |&e| e as usize);
        if self.shapes.ring_ends.len() > before {
            self.shapes.end_part();
        }
    }

    /// Ends a run of places as a part of its own; one without a place is dropped.
    pub fn end_run(&mut self) {
        let before = self.shapes.ring_ends.last().map_or(0, |&e| e as usize);
        if self.shapes.xy.len() > before {
            self.shapes.end_ring();
            self.shapes.end_part();
        }
    }

    /// Heights were left out of this row.
    pub fn without_heights(&mut self) {
        self.seen.heights = 1;
    }

    /// Measures along the line were left out of this row.
    pub fn without_measures(&mut self) {
        self.seen.measures = 1;
    }

    /// Arcs of this row were drawn as straight pieces.
    pub fn with_arcs(&mut self) {
        self.seen.curved = 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    fn triangle(pen: &mut Pen<'_>, at: f64) -> Result<(), Unusable> {
        pen.member(ShapeKind::Polygon, |pen| {
            for (x, y) in [(at, 0.0), (at + 1.0, 0.0), (at, 1.0), (at, 0.0)] {
                pen.place(x, y)?;
            }
            pen.end_ring();
            pen.end_part();
            Ok(())
        })
    }

    fn point(pen: &mut Pen<'_>, x: f64) -> Result<(), Unusable> {
        pen.member(ShapeKind::Point, |pen| {
            pen.place(x, 0.0)?;
            pen.end_run();
            Ok(())
        })
    }

    #[test]
    fn the_widest_kind_stays_whatever_the_order() {
        let mut batch = Batch::default();
        batch.row(|pen| point(pen, 9.0).and_then(|()| triangle(pen, 0.0)).and_then(|()| point(pen, 8.0)));
        batch.row(|pen| triangle(pen, 0.0));
        assert_eq!(batch.kinds, [ShapeKind::Polygon; 2]);
        assert_eq!(batch.shapes.shape_ends, [1, 2]);
        assert_eq!(batch.shapes.ring_ends, [3, 6]);
        assert_eq!(batch.remarks, Remarks { mixed: 1, ..Remarks::default() });
    }

    #[test]
    fn a_broken_row_is_kept_with_its_reason_and_joins_keep_row_numbers() {
        let mut first = Batch::default();
        first.row(|pen| triangle(pen, 0.0));
        let mut second = Batch::default();
        second.row(|pen| triangle(pen, 5.0));
        second.row(|pen| triangle(pen, 1.0).and_then(|()| point(pen, f64::NAN)));
        let all = Batch::join(vec![first, second], &Unwatched).unwrap();
        assert_eq!(all.kinds, [ShapeKind::Polygon, ShapeKind::Polygon, ShapeKind::Unusable]);
        assert_eq!((all.shapes.len(), all.shapes.xy.len(), all.shapes.shape_ends.as_slice()), (3, 6, &[1, 2, 2][..]));
        assert_eq!(all.unusable[&2], "has a coordinate that is not a number");
    }
}
