//! The shapes of a file brought into the district frame: which coordinate system, what is usable, what has to be mended.

use super::IntakeError;
use super::cells::Reason;
use super::report::Account;
use crate::files::{ShapeKind, Table};
use crate::job::Watch;
use crate::place::{Crs, Frame, IntoFrame, Mending, RawShapes, ShapeView, Shapes, lon_lats, mend};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Farther than this from the middle of the district nothing is ground to inspect: a wrong coordinate system, or a stray row.
const FARTHEST: f64 = 1_000_000.0;
/// Farther than this a row is brought in, and told.
const FAR: f64 = 150_000.0;

/// Places moved into the frame between two looks at the watch.
const PLACED_AT_ONCE: usize = 1 << 20;

/// What became of the shape of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    /// It is good as it is.
    Usable,
    /// It broke the rules and was made valid.
    Mended,
    /// There is none.
    Nothing,
    /// Nothing with an area was left of it.
    Vanished,
    /// It cannot be used; [`Ground::reason`] says why.
    Unusable,
}

/// The shapes of a file in the district frame, row by row.
pub(super) struct Ground {
    shapes: Shapes,
    /// Outlines made valid, and the rows that they stand for, rising.
    mended: (Shapes, Vec<u32>),
    fates: Vec<Fate>,
    reasons: BTreeMap<usize, Reason>,
}

/// What kind of shape a role needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Needed {
    Outline,
    Line,
    Place,
}

impl Needed {
    fn kind(self) -> ShapeKind {
        match self {
            Self::Outline => ShapeKind::Polygon,
            Self::Line => ShapeKind::Line,
            Self::Place => ShapeKind::Point,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Outline => "an outline (a polygon)",
            Self::Line => "a line",
            Self::Place => "a place (a point)",
        }
    }
}

impl Ground {
    /// Makes the outlines of a table valid, moves its shapes into the frame and looks at each of them.
    pub(super) fn lay(table: &mut Table, crs: &Crs, frame: &Frame, needed: Needed, watch: &dyn Watch) -> Result<Self, IntakeError> {
        let raw = std::mem::take(&mut table.shapes);
        let extent = raw.extent().unwrap_or([[0.0; 2]; 2]);
        let into = IntoFrame::new(crs, frame, extent).map_err(|error| IntakeError::Crs { file: table.name.clone(), error })?;
        let (mended, said) = if needed == Needed::Outline { mend(&raw, watch)? } else { Default::default() };
        watch.step("placing outlines", 0, 0)?;
        let total = raw.xy.len() as u64;
        let shapes = Shapes::from_raw(raw, |xy| {
            for (done, chunk) in (0..).zip(xy.chunks_mut(PLACED_AT_ONCE)).take_while(|_| !watch.cancelled()) {
                watch.progress("placing outlines", done * PLACED_AT_ONCE as u64, total);
                into.apply(chunk);
            }
        });
        let mended = Shapes::from_raw(mended, |xy| {
            into.apply(xy);
        });
        watch.step("judging where they lie", 0, 0)?;
        let rows = said.iter().map(|s| s.0).collect();
        let mut ground = Self { shapes, mended: (mended, rows), fates: Vec::new(), reasons: BTreeMap::new() };
        let fate = |row| if watch.cancelled() { Fate::Nothing } else { look_at(table, row, ground.shapes.get(row), needed) };
        ground.fates = (0..table.rows).into_par_iter().map(fate).collect();
        watch.step("judging where they lie", 1, 1)?;
        for (shape, (row, mending)) in ground.mended.0.iter().zip(said) {
            ground.fates[row as usize] = match (look_at(table, row as usize, shape, needed), mending) {
                (Fate::Usable, Mending::Mended) => Fate::Mended,
                (Fate::Usable | Fate::Nothing, Mending::Vanished) => Fate::Vanished,
                (fate, _) => fate,
            };
        }
        ground.reason_out(table, needed);
        Ok(ground)
    }

    /// No shapes at all, for a table without any.
    pub(super) fn nothing(rows: usize) -> Self {
        Self { shapes: Shapes::default(), mended: Default::default(), fates: vec![Fate::Nothing; rows], reasons: BTreeMap::new() }
    }

    pub(super) fn fate(&self, row: usize) -> Fate {
        self.fates[row]
    }

    /// Why the shape of a row is unusable.
    pub(super) fn reason(&self, row: usize) -> Reason {
        self.reasons.get(&row).cloned().unwrap_or_else(|| Reason::new("its shape cannot be used"))
    }

    /// The shape of a row; `None` where there is nothing to use.
    pub(super) fn shape(&self, row: usize) -> Option<ShapeView<'_>> {
        match self.fates[row] {
            Fate::Usable => Some(self.shapes.get(row)),
            Fate::Mended => Some(self.last_shape(row)),
            _ => None,
        }
    }

    /// The shape of a row as it was mended, if it was, or else as it came.
    fn last_shape(&self, row: usize) -> ShapeView<'_> {
        let (mended, rows) = &self.mended;
        rows.binary_search(&(row as u32)).map_or_else(|_| self.shapes.get(row), |i| mended.get(i))
    }

    /// How many shapes were mended.
    pub(super) fn mended_count(&self) -> usize {
        self.fates.iter().filter(|f| **f == Fate::Mended).count()
    }

    fn reason_out(&mut self, table: &Table, needed: Needed) {
        for row in (0..self.fates.len()).filter(|&r| self.fates[r] == Fate::Unusable) {
            let reason = match table.kinds[row] {
                ShapeKind::Unusable => table.unusable.get(&row).map_or("its shape cannot be read", String::as_str).to_owned(),
                kind if kind != needed.kind() => format!("its shape is {}, not {}", kind_words(kind), needed.words()),
                _ => self.out_of_place(row),
            };
            self.reasons.insert(row, Reason::new(reason));
        }
    }

    fn out_of_place(&self, row: usize) -> String {
        let places = self.last_shape(row).places();
        if places.iter().any(|p| p.x.is_nan() || p.y.is_nan()) {
            return "it has a coordinate that is no number or lies where its coordinate system does not reach".to_owned();
        }
        let far = places.iter().map(|p| p.x.hypot(p.y)).fold(0.0, f64::max);
        format!("it lies {:.0} km from the middle of the district", far / 1000.0)
    }

    /// Tells what was mended and what lies strangely far away.
    pub(super) fn tell(&self, account: &mut Account) {
        for (row, fate) in self.fates.iter().enumerate() {
            match fate {
                Fate::Mended => account.notice_row("Outlines that crossed or touched themselves were mended, every part kept", row),
                Fate::Vanished => account.notice_row("Outlines without any area were left off", row),
                _ => {}
            }
            if self.shape(row).is_some_and(|s| s.places()[0].x.hypot(s.places()[0].y) > FAR) {
                account.notice_row("Shapes lie more than 150 km from the middle of the district", row);
            }
        }
    }
}

/// What is to become of a shape, mending aside.
fn look_at(table: &Table, row: usize, shape: ShapeView<'_>, needed: Needed) -> Fate {
    match table.kinds.get(row) {
        None | Some(ShapeKind::Nothing) => return Fate::Nothing,
        Some(kind) if *kind != needed.kind() => return Fate::Unusable,
        Some(_) => {}
    }
    let places = shape.places();
    if places.is_empty() {
        return Fate::Nothing;
    }
    if places.iter().all(|p| p.x.abs() <= FARTHEST && p.y.abs() <= FARTHEST) { Fate::Usable } else { Fate::Unusable }
}

fn kind_words(kind: ShapeKind) -> &'static str {
    match kind {
        ShapeKind::Nothing => "missing",
        ShapeKind::Point => "a place (a point)",
        ShapeKind::Line => "a line",
        ShapeKind::Polygon => "an outline (a polygon)",
        ShapeKind::Unusable => "unreadable",
    }
}

/// The frame for a new survey: centred on the parcels, stray rows left aside; `None` when they do not lie on the earth.
///
/// # Errors
/// [`IntakeError::Crs`] when the system cannot be used.
pub(super) fn frame_over(file: &str, extent: Option<Extent>, crs: &Crs) -> Result<Option<Frame>, IntakeError> {
    let Some([a, b]) = extent else { return Ok(None) };
    let middle = [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
    let places = lon_lats(crs, &[middle]).map_err(|error| IntakeError::Crs { file: file.to_owned(), error })?;
    Ok(places[0].map(Frame::centred_on))
}

/// The least and the largest numbers of a box, in a file's own coordinates.
pub(super) type Extent = [[f64; 2]; 2];

/// A shape of a few is a stray one when it lies so many times as far from their middle as half of them do.
const STRAY: f64 = 20.0;

/// The box round nearly all shapes, a hundredth at each side left aside, or of fewer than a hundred those far from all others: stray
/// rows lie anywhere.
pub(super) fn main_extent(shapes: &RawShapes) -> Option<Extent> {
    let mut boxes = boxes(shapes);
    if boxes.is_empty() {
        return None;
    }
    let hundredth = boxes.len() / 100;
    if hundredth == 0 {
        leave_strays_aside(&mut boxes);
    }
    let last = boxes.len() - 1 - hundredth;
    let mut side = Vec::with_capacity(boxes.len());
    let mut nth = |n: usize, corner: usize, axis: usize| {
        side.clear();
        side.extend(boxes.iter().map(|b| b[corner][axis]));
        *side.select_nth_unstable_by(n, f64::total_cmp).1
    };
    Some([[nth(hundredth, 0, 0), nth(hundredth, 0, 1)], [nth(last, 1, 0), nth(last, 1, 1)]])
}

fn leave_strays_aside(boxes: &mut Vec<Extent>) {
    let half = boxes.len() / 2;
    let middle_of = |b: &Extent, axis: usize| f64::midpoint(b[0][axis], b[1][axis]);
    let median = |axis: usize| {
        let mut middles: Vec<f64> = boxes.iter().map(|b| middle_of(b, axis)).collect();
        *middles.select_nth_unstable_by(half, f64::total_cmp).1
    };
    let (x, y) = (median(0), median(1));
    let away = |b: &Extent| (middle_of(b, 0) - x).hypot(middle_of(b, 1) - y);
    let size = |b: &Extent| (b[1][0] - b[0][0]).hypot(b[1][1] - b[0][1]);
    let mut usual: Vec<f64> = boxes.iter().map(|b| away(b).max(size(b))).collect();
    let usual = *usual.select_nth_unstable_by(half, f64::total_cmp).1;
    boxes.retain(|b| away(b) <= STRAY * usual);
}

/// The box of every shape that has finite coordinates, least and largest.
fn boxes(raw: &RawShapes) -> Vec<[[f64; 2]; 2]> {
    let end_in = |ends: &[u32], n: u32| if n == 0 { 0 } else { ends[n as usize - 1] };
    let mut from = 0;
    let mut out = Vec::with_capacity(raw.len());
    for &shape in &raw.shape_ends {
        let to = end_in(&raw.ring_ends, end_in(&raw.part_ends, shape)) as usize;
        let mut b = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
        for p in raw.xy[from..to].iter().filter(|p| p[0].is_finite() && p[1].is_finite()) {
            for axis in 0..2 {
                b[0][axis] = b[0][axis].min(p[axis]);
                b[1][axis] = b[1][axis].max(p[axis]);
            }
        }
        if b[0][0] <= b[1][0] {
            out.push(b);
        }
        from = to;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::samples::{lot, table, with_rings};
    use super::*;

    fn extent(rings: &[Vec<[f64; 2]>]) -> [[f64; 2]; 2] {
        main_extent(&with_rings(table("lots", &[], &vec![&[][..]; rings.len()]), rings).shapes).unwrap()
    }

    #[test]
    fn a_stray_row_of_a_few_does_not_move_the_district() {
        for lots in [2, 5, 30, 99] {
            let mut rings: Vec<Vec<[f64; 2]>> = (0..lots).map(|i| lot(i % 10, i / 10)).collect();
            let whole = extent(&rings);
            rings.push(vec![[0.0, 0.0], [0.001, 0.0], [0.001, 0.001], [0.0, 0.001]]);
            assert_eq!(extent(&rings), whole, "{lots}");
        }
    }

    #[test]
    fn few_rows_in_two_places_are_all_of_the_district() {
        let rings = [lot(0, 0), lot(1, 0), lot(9, 9)];
        assert_eq!(extent(&rings), [[-90.0, 30.0], [-90.0 + 10.0 * 0.000_25, 30.0 + 10.0 * 0.000_25]]);
        assert_eq!(extent(&rings[..1])[0], [-90.0, 30.0]);
    }
}
