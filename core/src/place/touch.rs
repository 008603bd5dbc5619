//! Fence lines in common.

use super::distance::edges;
use super::{Bounds, Local, ShapeView};

/// How far apart two drawn lines of one fence may lie, in metres.
pub const FENCE_GAP: f64 = 0.5;

/// The least length of common line that makes a shared fence, in metres; less is a corner.
pub const FENCE_LENGTH: f64 = 1.0;

/// Cosine of the widest angle, 10 degrees, between two drawn lines of one fence.
const NEARLY_PARALLEL: f64 = 0.984_807_753_012_208;

/// Metres of boundary that two outlines have in common: where an edge of `a` runs within [`FENCE_GAP`] of an edge of `b` at
/// no more than 10 degrees to it. Touching in a corner gives 0.
///
/// The edges of `a` are measured, each stretch once, so swapping the outlines changes the answer by the little that two
/// drawings of one fence differ in length.
///
/// # Source
/// Common practice, no source; the angle and the gap allow for county outlines that were drawn one by one.
///
/// ```
/// use yardring_core::place::{Local, Shapes, shared_line};
/// let mut s = Shapes::default();
/// for (x, y) in [(0.0, 0.0), (20.2, 10.0), (20.0, 40.0)] {
///     s.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(dx, dy)| Local { x: x + dx, y: y + dy }));
///     s.end_part();
///     s.end_shape();
/// }
/// assert_eq!(shared_line(s.get(0), s.get(1)), 20.0);
/// assert_eq!(shared_line(s.get(0), s.get(2)), 0.0);
/// ```
pub fn shared_line(a: ShapeView<'_>, b: ShapeView<'_>) -> f64 {
    let mut stretches: Vec<(f64, f64)> = Vec::new();
    let mut metres = 0.0;
    let close = b.bounds().grown(FENCE_GAP);
    for ring in a.rings() {
        for (p, q) in edges(ring).filter(|&(p, q)| Bounds::of(&[p, q]).touches(&close)) {
            stretches.clear();
            let near = Bounds::of(&[p, q]).grown(FENCE_GAP);
            for other in b.rings() {
                let touching = edges(other).filter(|&(r, s)| Bounds::of(&[r, s]).touches(&near));
                stretches.extend(touching.filter_map(|(r, s)| stretch(p, q, r, s)));
            }
            metres += covered(&mut stretches);
        }
    }
    metres
}

/// Whether two outlines have a fence line in common: at least [`FENCE_LENGTH`] of it.
pub fn shares_fence(a: ShapeView<'_>, b: ShapeView<'_>) -> bool {
    a.bounds().distance(b.bounds()) <= FENCE_GAP && shared_line(a, b) >= FENCE_LENGTH
}

/// From where to where, in metres along the edge from `p` to `q`, the edge from `r` to `s` runs beside it.
fn stretch(p: Local, q: Local, r: Local, s: Local) -> Option<(f64, f64)> {
    let length = p.distance(q);
    let (ux, uy) = ((q.x - p.x) / length, (q.y - p.y) / length);
    let along = |t: Local| (t.x - p.x) * ux + (t.y - p.y) * uy;
    let aside = |t: Local| (t.y - p.y) * ux - (t.x - p.x) * uy;
    let (mut from, mut to) = ((along(r), aside(r)), (along(s), aside(s)));
    let run = to.0 - from.0;
    if !(run.abs() >= NEARLY_PARALLEL * r.distance(s) && length > 0.0 && run != 0.0) {
        return None;
    }
    if run < 0.0 {
        std::mem::swap(&mut from, &mut to);
    }
    let slope = (to.1 - from.1) / (to.0 - from.0);
    let (mut low, mut high) = (from.0.max(0.0), to.0.min(length));
    if slope == 0.0 {
        return (from.1.abs() <= FENCE_GAP && low < high).then_some((low, high));
    }
    let reaches = |offset: f64| from.0 + (offset - from.1) / slope;
    let (one, two) = (reaches(-FENCE_GAP), reaches(FENCE_GAP));
    low = low.max(one.min(two));
    high = high.min(one.max(two));
    (low < high).then_some((low, high))
}

/// The length that some stretches cover together.
fn covered(stretches: &mut [(f64, f64)]) -> f64 {
    stretches.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = f64::NEG_INFINITY;
    let mut metres = 0.0;
    for &(from, to) in &*stretches {
        metres += (to - from.max(reached)).max(0.0);
        reached = reached.max(to);
    }
    metres
}
