//! One outline round many: their union, closed over the narrow gaps between them.

use super::{Local, PartView, ShapeView, Shapes, signed_area};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::core::solver::Solver;
use i_overlay::float::overlay::{FloatOverlay, OverlayOptions};
use i_overlay::mesh::outline::offset::OutlineOffset;
use i_overlay::mesh::style::{LineJoin, OutlineStyle};
use std::f64::consts::PI;

/// Corners sharper than this angle are cut off while gaps are being closed.
const SHARPEST: f64 = PI / 6.0;

/// A closed line of places, the first not repeated; outer ones run counter-clockwise, holes clockwise.
type Contour = Vec<[f64; 2]>;

/// Adds one outline to an arena: the union of some outlines, closed over gaps between them that are at most `gap` metres wide,
/// an alley between two rows of yards for one. An outline of no part when the given ones have no area.
///
/// # Source
/// Morphological closing (J. Serra, Image Analysis and Mathematical Morphology, 1982, from memory) with mitred corners, so that
/// corners stay where they are; united with the outlines themselves, so that all of them lie inside.
///
/// ```
/// use yardring_core::place::{Local, Shapes, push_closed_union};
/// let mut yards = Shapes::default();
/// for y in [0.0, 34.0] {
///     yards.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(x, dy)| Local { x, y: y + dy }));
///     yards.end_part();
///     yards.end_shape();
/// }
/// let mut blocks = Shapes::default();
/// push_closed_union(yards.iter(), 4.5, &mut blocks);
/// assert_eq!(blocks.get(0).parts().len(), 1);
/// assert!((blocks.get(0).area() - 20.0 * 64.0).abs() < 0.01);
/// ```
pub fn push_closed_union<'a>(shapes: impl Iterator<Item = ShapeView<'a>>, gap: f64, out: &mut Shapes) {
    let union = united(&contours(shapes));
    // A hair more than half, so that a gap of just this width closes.
    let reach = gap / 2.0 + 0.005;
    let style = |offset| OutlineStyle::new(offset).line_join(LineJoin::Miter(SHARPEST));
    let closed = united(&union.outline(&style(reach)).into_iter().flatten().collect()).outline(&style(-reach));
    let all: Vec<Contour> = closed.into_iter().flatten().chain(union.into_iter().flatten()).collect();
    push(&united(&all), out);
}

/// Adds one outline to an arena: the union of some outlines. An outline of no part when they have no area.
pub fn push_union<'a>(shapes: impl Iterator<Item = ShapeView<'a>>, out: &mut Shapes) {
    push(&united(&contours(shapes)), out);
}

fn push(pieces: &[Vec<Contour>], out: &mut Shapes) {
    for piece in pieces {
        for ring in piece {
            ring.iter().for_each(|&[x, y]| out.push_place(Local { x, y }));
            out.end_ring();
        }
        out.end_part();
    }
    out.end_shape();
}

fn contours<'a>(shapes: impl Iterator<Item = ShapeView<'a>>) -> Vec<Contour> {
    let of_part = |part: PartView<'a>| part.rings().enumerate().map(|(i, ring)| contour(ring, i == 0));
    shapes.flat_map(ShapeView::parts).flat_map(of_part).collect()
}

fn contour(ring: &[Local], outer: bool) -> Contour {
    let mut out: Contour = ring.iter().map(|p| [p.x, p.y]).collect();
    if (signed_area(ring) > 0.0) != outer {
        out.reverse();
    }
    out
}

/// The union, in one thread: many unions run side by side.
fn united(contours: &Vec<Contour>) -> Vec<Vec<Contour>> {
    let solver = Solver { multithreading: None, ..Solver::AUTO };
    FloatOverlay::with_subj_custom(contours, OverlayOptions::ogc(), solver).overlay(OverlayRule::Subject, FillRule::Positive)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn square(s: &mut Shapes, x: f64, y: f64, w: f64, h: f64) {
        s.push_ring(&[(0.0, 0.0), (0.0, h), (w, h), (w, 0.0)].map(|(dx, dy)| Local { x: x + dx, y: y + dy }));
        s.end_part();
        s.end_shape();
    }

    fn closed(shapes: &Shapes, gap: f64) -> Shapes {
        let mut out = Shapes::default();
        push_closed_union(shapes.iter(), gap, &mut out);
        out
    }

    #[test]
    fn alleys_close_and_streets_do_not() {
        let mut s = Shapes::default();
        square(&mut s, 0.0, 0.0, 20.0, 30.0);
        square(&mut s, 0.0, 34.0, 20.0, 30.0);
        square(&mut s, 0.0, 78.0, 20.0, 30.0);
        let of = closed(&s, 6.5);
        assert_eq!(of.get(0).parts().len(), 2);
        assert!((of.get(0).area() - (20.0 * 64.0 + 600.0)).abs() < 0.05, "{}", of.get(0).area());
        assert!(of.get(0).holds(Local { x: 10.0, y: 32.0 }) && !of.get(0).holds(Local { x: 10.0, y: 70.0 }));
    }

    /// A yard in the middle that belongs to nobody stays a hole; the corners stay where they are.
    #[test]
    fn a_wide_hole_stays_and_corners_stay_sharp() {
        let mut s = Shapes::default();
        for (x, y) in [(0.0, 0.0), (30.0, 0.0), (60.0, 0.0), (0.0, 30.0), (60.0, 30.0), (0.0, 60.0), (30.0, 60.0), (60.0, 60.0)] {
            square(&mut s, x, y, 30.0, 30.0);
        }
        let of = closed(&s, 6.0);
        assert_eq!((of.get(0).parts().len(), of.get(0).rings().len()), (1, 2));
        assert!((of.get(0).area() - 7200.0).abs() < 0.05);
        let corner = of.get(0).bounds();
        assert!(corner.min.distance(Local { x: 0.0, y: 0.0 }) < 1e-3 && corner.max.distance(Local { x: 90.0, y: 90.0 }) < 1e-3);
    }

    #[test]
    fn nothing_gives_an_outline_of_no_part() {
        assert!(closed(&Shapes::default(), 5.0).get(0).is_empty());
    }

    proptest! {
        /// Every yard lies in its block, and no place of the block is farther from all yards than half the gap.
        #[test]
        fn all_yards_are_inside_and_nothing_lies_far_from_them(lots in proptest::collection::vec((0..12i32, 0..12i32, 1..4i32, 1..4i32), 1..14)) {
            let mut s = Shapes::default();
            lots.iter().for_each(|&(x, y, w, h)| square(&mut s, f64::from(x) * 10.0, f64::from(y) * 10.0, f64::from(w) * 9.0, f64::from(h) * 9.0));
            let of = closed(&s, 4.0);
            for lot in s.iter() {
                let middle = lot.bounds().centre();
                prop_assert!(of.get(0).holds(middle));
            }
            for ring in of.get(0).rings() {
                for p in ring {
                    let nearest = s.bounds().iter().map(|b| {
                        let (dx, dy) = ((b.min.x - p.x).max(p.x - b.max.x).max(0.0), (b.min.y - p.y).max(p.y - b.max.y).max(0.0));
                        dx.hypot(dy)
                    });
                    prop_assert!(nearest.fold(f64::INFINITY, f64::min) <= 2.02 * std::f64::consts::SQRT_2);
                }
            }
        }
    }
}
