//! Loose rings sorted into parts: each outer ring with the holes that lie in it.

use super::sketch::{Pen, Unusable};
use crate::place::{Bounds, BoxIndex, Local};

/// Corner tests allowed for one outline: more than any real one needs, few enough to answer in a second.
const MOST_TESTS: usize = 100_000_000;

struct Ring<'a> {
    places: &'a [[f64; 2]],
    area: f64,
    bounds: Bounds,
}

/// Draws the rings of one outline. The largest ring is an outer one, and so are all that run the same way round; a ring that
/// runs the other way is a hole of the smallest outer ring it lies in, or a part of its own when it lies in none.
///
/// # Source
/// The shapefile description (Esri, 1998, p. 8): outer rings run clockwise, holes counter-clockwise. Files that do it the
/// other way round are common; the rule above reads both.
pub(super) fn draw(rings: &[Vec<[f64; 2]>], pen: &mut Pen<'_>) -> Result<(), Unusable> {
    let sized: Vec<Ring<'_>> = rings.iter().filter(|r| !r.is_empty()).map(|r| measured(r)).collect();
    let clockwise = sized.iter().max_by(|a, b| a.area.abs().total_cmp(&b.area.abs())).is_some_and(|r| r.area < 0.0);
    let outer: Vec<bool> = sized.iter().map(|r| r.area == 0.0 || (r.area < 0.0) == clockwise).collect();
    let owners = owners(&sized, &outer)?;
    let mut holes: Vec<Vec<usize>> = vec![Vec::new(); sized.len()];
    for (hole, owner) in owners.iter().enumerate() {
        if let Some(owner) = owner {
            holes[*owner].push(hole);
        }
    }
    for (i, ring) in sized.iter().enumerate().filter(|(i, _)| owners[*i].is_none()) {
        put(ring, pen)?;
        for &hole in &holes[i] {
            put(&sized[hole], pen)?;
        }
        pen.end_part();
    }
    Ok(())
}

fn put(ring: &Ring<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    for p in ring.places {
        pen.place(p[0], p[1])?;
    }
    pen.end_ring();
    Ok(())
}

fn measured(places: &[[f64; 2]]) -> Ring<'_> {
    let bounds = places.iter().fold(Bounds::EMPTY, |b, p| b.with(Local { x: p[0], y: p[1] }));
    Ring { places, area: signed_area(places), bounds }
}

/// Twice the area of a ring, positive when it runs counter-clockwise, worked out from its first place.
pub(super) fn signed_area(places: &[[f64; 2]]) -> f64 {
    let Some(o) = places.first() else { return 0.0 };
    places.windows(2).map(|w| (w[0][0] - o[0]) * (w[1][1] - o[1]) - (w[1][0] - o[0]) * (w[0][1] - o[1])).sum()
}

/// For each ring the outer ring whose hole it is.
fn owners(rings: &[Ring<'_>], outer: &[bool]) -> Result<Vec<Option<usize>>, Unusable> {
    let outers: Vec<usize> = (0..rings.len()).filter(|&i| outer[i]).collect();
    let mut owners = vec![None; rings.len()];
    if outers.len() == rings.len() {
        return Ok(owners);
    }
    let boxes: Vec<Bounds> = outers.iter().map(|&i| rings[i].bounds).collect();
    let index = BoxIndex::new(&boxes);
    let mut tests = 0;
    for (hole, ring) in rings.iter().enumerate().filter(|(i, _)| !outer[*i]) {
        let mut smallest = f64::INFINITY;
        let mut near = Vec::new();
        index.each_touching(&ring.bounds, |k| near.push(outers[k]));
        for o in near {
            tests += 1 + rings[o].places.len();
            if tests > MOST_TESTS {
                return Err("has too many rings to tell which holes lie in which".into());
            }
            let area = rings[o].area.abs();
            if area < smallest && lies_in(ring.places, rings[o].places) {
                (smallest, owners[hole]) = (area, Some(o));
            }
        }
    }
    Ok(owners)
}

/// Whether a hole lies in an outer ring, by its first place that is not on the outer ring's line (at most 64 are tried).
fn lies_in(hole: &[[f64; 2]], outer: &[[f64; 2]]) -> bool {
    hole.iter().take(64).find_map(|&p| inside(p, outer)).unwrap_or(true)
}

/// Whether a place lies in a ring; `None` on its line.
fn inside(p: [f64; 2], ring: &[[f64; 2]]) -> Option<bool> {
    let mut within = false;
    let mut a = *ring.last()?;
    for &b in ring {
        let side = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
        let beside = p[0] >= a[0].min(b[0]) && p[0] <= a[0].max(b[0]) && p[1] >= a[1].min(b[1]) && p[1] <= a[1].max(b[1]);
        if side == 0.0 && beside {
            return None;
        }
        within ^= (a[1] > p[1]) != (b[1] > p[1]) && (side > 0.0) == (b[1] > a[1]);
        a = b;
    }
    Some(within)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::ShapeKind;
    use crate::files::sketch::Batch;

    fn square(x: f64, y: f64, side: f64, clockwise: bool) -> Vec<[f64; 2]> {
        let mut ring = vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side], [x, y]];
        if clockwise {
            ring.reverse();
        }
        ring
    }

    /// Rings of each part, as the number of parts and the ring counts.
    fn parts(rings: &[Vec<[f64; 2]>]) -> Vec<u32> {
        let mut batch = Batch::default();
        batch.row(|pen| pen.member(ShapeKind::Polygon, |pen| draw(rings, pen)));
        assert!(batch.unusable.is_empty());
        let mut before = 0;
        batch.shapes.part_ends.iter().map(|&e| e - std::mem::replace(&mut before, e)).collect()
    }

    #[test]
    fn holes_land_in_the_part_that_contains_them() {
        let rings = [
            square(0.0, 0.0, 10.0, true),
            square(20.0, 0.0, 10.0, true),
            square(22.0, 2.0, 2.0, false),
            square(2.0, 2.0, 2.0, false),
            square(6.0, 6.0, 2.0, false),
        ];
        assert_eq!(parts(&rings), [3, 2]);
        let reversed: Vec<_> = rings.iter().map(|r| r.iter().rev().copied().collect()).collect();
        assert_eq!(parts(&reversed), [3, 2]);
    }

    #[test]
    fn an_island_in_a_hole_is_a_part_and_its_hole_belongs_to_it() {
        let rings =
            [square(0.0, 0.0, 30.0, true), square(5.0, 5.0, 20.0, false), square(8.0, 8.0, 10.0, true), square(9.0, 9.0, 2.0, false)];
        assert_eq!(parts(&rings), [2, 2]);
    }

    #[test]
    fn a_ring_turned_the_wrong_way_that_lies_in_nothing_is_a_part() {
        assert_eq!(parts(&[square(0.0, 0.0, 10.0, true), square(50.0, 0.0, 5.0, false)]), [1, 1]);
    }

    #[test]
    fn a_hole_that_touches_the_outer_ring_is_still_its_hole() {
        assert_eq!(parts(&[square(0.0, 0.0, 10.0, true), square(0.0, 0.0, 5.0, false)]), [2]);
    }
}
