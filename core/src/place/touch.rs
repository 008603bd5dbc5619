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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;
    use proptest::prelude::*;

    fn both(a: &[Local], b: &[Local]) -> Shapes {
        let mut s = Shapes::default();
        for ring in [a, b] {
            s.push_ring(ring);
            s.end_part();
            s.end_shape();
        }
        s
    }

    fn turned(x: f64, y: f64, by: f64, size: (f64, f64)) -> Vec<Local> {
        let (sin, cos) = by.sin_cos();
        let corner = |u: f64, v: f64| Local { x: x + u * cos - v * sin, y: y + u * sin + v * cos };
        vec![corner(0.0, 0.0), corner(size.0, 0.0), corner(size.0, size.1), corner(0.0, size.1)]
    }

    /// The common line by steps of a millimetre along `a`, each looked at against every edge of `b`.
    fn slow(a: &[Local], b: &[Local]) -> f64 {
        let mut metres = 0.0;
        for (p, q) in edges(a) {
            let length = p.distance(q);
            let steps = (length * 1000.0).ceil();
            let beside = |t: f64| {
                let m = Local { x: p.x + (q.x - p.x) * t, y: p.y + (q.y - p.y) * t };
                edges(b).any(|(r, s)| {
                    let (e, f) = ((q.x - p.x, q.y - p.y), (s.x - r.x, s.y - r.y));
                    let angle = (e.0 * f.1 - e.1 * f.0).atan2(e.0 * f.0 + e.1 * f.1).abs();
                    // Where the line square to `a` through m meets the edge of `b`.
                    let u = -((r.x - m.x) * e.0 + (r.y - m.y) * e.1) / (f.0 * e.0 + f.1 * e.1);
                    let meets = Local { x: r.x + u * f.0, y: r.y + u * f.1 };
                    angle.min(std::f64::consts::PI - angle) <= 10f64.to_radians()
                        && (0.0..=1.0).contains(&u)
                        && m.distance(meets) <= FENCE_GAP
                })
            };
            metres += (0..steps as u32).filter(|k| beside((f64::from(*k) + 0.5) / steps)).count() as f64 * length / steps;
        }
        metres
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn agrees_with_steps_along_the_line(x in 18.0f64..22.0, y in -25.0f64..25.0, by in -0.25f64..0.25, wide in 5.0f64..30.0) {
            let (a, b) = (turned(0.0, 0.0, 0.0, (20.0, 20.0)), turned(x, y, by, (wide, 25.0)));
            let s = both(&a, &b);
            let found = shared_line(s.get(0), s.get(1));
            prop_assert!((found - slow(&a, &b)).abs() < 0.01, "{} for {}", found, slow(&a, &b));
        }
    }

    #[test]
    fn a_corner_is_no_fence_and_a_kinked_fence_is_one() {
        let a = turned(0.0, 0.0, 0.0, (20.0, 20.0));
        let corner = both(&a, &turned(20.0, 20.0, 0.0, (20.0, 20.0)));
        assert_eq!(shared_line(corner.get(0), corner.get(1)), 0.0);
        let kinked = [(20.0, 0.0), (40.0, 0.0), (40.0, 20.0), (20.1, 20.0), (20.3, 12.0), (19.8, 5.0)].map(|(x, y)| Local { x, y });
        let s = both(&a, &kinked);
        assert!((shared_line(s.get(0), s.get(1)) - 20.0).abs() < 1e-9, "{}", shared_line(s.get(0), s.get(1)));
        assert!((shared_line(s.get(1), s.get(0)) - 20.0).abs() < 0.1);
        assert!(shares_fence(s.get(0), s.get(1)) && !shares_fence(corner.get(0), corner.get(1)));
    }

    #[test]
    fn a_line_covered_twice_counts_once() {
        assert_eq!(covered(&mut [(0.0, 4.0), (3.0, 5.0), (1.0, 2.0), (7.0, 8.0)]), 6.0);
    }
}
