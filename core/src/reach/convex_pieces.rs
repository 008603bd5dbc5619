//! An outline cut into convex pieces that cover it: what lies within a radius of the pieces lies within that radius of the outline.

use crate::place::{Local, PartView, signed_area};
use earcut::Earcut;
use std::f64::consts::TAU;

/// Of more triangles none are joined: looking for neighbours takes time with the square of their number.
const MOST_JOINED: usize = 64;
/// By what share of its area the pieces may miss an outline: rounding. More, and they do not cover it.
const MISSED: f64 = 1e-9;

/// The corners of convex pieces, each counter-clockwise and without repeats; a ring of one place is a piece. `None` where an outline
/// cannot be cut so: it has no area, or crosses itself.
pub(super) fn convex_pieces(part: PartView<'_>) -> Option<Vec<Vec<Local>>> {
    let mut rings = part.rings();
    let Some(outer) = rings.next() else { return Some(Vec::new()) };
    if rings.next().is_none()
        && let Some(corners) = convex(outer)
    {
        return Some(vec![corners]);
    }
    let places: Vec<Local> = part.rings().flatten().copied().collect();
    let end = |end: &mut usize, ring: &[Local]| {
        *end += ring.len();
        Some(*end)
    };
    let mut holes: Vec<usize> = part.rings().scan(0, end).collect();
    holes.pop();
    let pieces = joined(triangles(&places, &holes), &places);
    let pieces: Vec<Vec<Local>> = pieces.into_iter().map(|piece| piece.into_iter().map(|i| places[i]).collect()).collect();
    let (area, covered) = (part.area(), pieces.iter().map(|piece| signed_area(piece)).sum::<f64>());
    (area > 0.0 && (area - covered).abs() <= MISSED * area).then_some(pieces)
}

/// The corners of a ring, counter-clockwise and without repeats, when it nowhere turns the other way; also for a ring of one
/// place. `None` for any other.
fn convex(ring: &[Local]) -> Option<Vec<Local>> {
    let mut corners = ring.to_vec();
    corners.dedup();
    while corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    if corners.len() == 1 {
        return Some(corners);
    }
    if signed_area(&corners) < 0.0 {
        corners.reverse();
    }
    let n = corners.len();
    let mut turned = 0.0;
    for i in 0..n {
        let (a, b, c) = (corners[i], corners[(i + 1) % n], corners[(i + 2) % n]);
        let (u, v) = ((b.x - a.x, b.y - a.y), (c.x - b.x, c.y - b.y));
        let (cross, dot) = (u.0 * v.1 - u.1 * v.0, u.0 * v.0 + u.1 * v.1);
        if cross < 0.0 || (cross == 0.0 && dot < 0.0) {
            return None;
        }
        turned += cross.atan2(dot);
    }
    (n >= 3 && (turned - TAU).abs() < 1e-6).then_some(corners)
}

/// Triangles that cover an outline, counter-clockwise, as numbers of its places; those without area left off.
fn triangles(places: &[Local], holes: &[usize]) -> Vec<Vec<usize>> {
    let mut corners = Vec::new();
    Earcut::new().earcut(places.iter().map(|p| [p.x, p.y]), holes, &mut corners);
    let counter_clockwise = |three: &[usize]| {
        let area = signed_area(&[places[three[0]], places[three[1]], places[three[2]]]);
        let mut own = three.to_vec();
        if area < 0.0 {
            own.reverse();
        }
        (area != 0.0).then_some(own)
    };
    corners.chunks_exact(3).filter_map(counter_clockwise).collect()
}

/// The pieces joined with their neighbours as long as what comes of it is convex.
///
/// # Source
/// S. Hertel and K. Mehlhorn, Fast triangulation of simple polygons (1983): at most four times as many pieces as need be; from memory.
fn joined(mut pieces: Vec<Vec<usize>>, places: &[Local]) -> Vec<Vec<usize>> {
    let mut i = if pieces.len() > MOST_JOINED { pieces.len() } else { 0 };
    while i < pieces.len() {
        match (i + 1..pieces.len()).find_map(|j| Some((j, join(&pieces[i], &pieces[j], places)?))) {
            Some((j, whole)) => {
                pieces.swap_remove(j);
                pieces[i] = whole;
            }
            None => i += 1,
        }
    }
    pieces
}

/// Two pieces as one, where they share an edge and are convex together.
fn join(a: &[usize], b: &[usize], places: &[Local]) -> Option<Vec<usize>> {
    let next = |of: &[usize], i: usize| of[(i + 1) % of.len()];
    let shared = |i: usize| (0..b.len()).find(|&k| a[i] == next(b, k) && next(a, i) == b[k]).map(|k| (i, k));
    let (i, k) = (0..a.len()).find_map(shared)?;
    let round = |of: &[usize], from: usize, count: usize| (0..count).map(|n| of[(from + n) % of.len()]).collect::<Vec<_>>();
    let whole = [round(a, i + 1, a.len()), round(b, k + 2, b.len() - 2)].concat();
    convex(&whole.iter().map(|&i| places[i]).collect::<Vec<_>>()).is_some().then_some(whole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;
    use proptest::prelude::*;

    fn shape(rings: &[Vec<Local>]) -> Shapes {
        let mut s = Shapes::default();
        rings.iter().for_each(|ring| s.push_ring(ring));
        s.end_part();
        s.end_shape();
        s
    }

    fn star(spokes: &[f64]) -> Vec<Local> {
        let turn = TAU / spokes.len() as f64;
        (0..).zip(spokes).map(|(k, r)| Local { x: r * (f64::from(k) * turn).cos(), y: r * (f64::from(k) * turn).sin() }).collect()
    }

    #[test]
    fn a_corner_lot_is_two_pieces_and_a_ring_road_some_more() {
        let at = |x: f64, y: f64| Local { x, y };
        let corner = [at(0.0, 0.0), at(9.0, 0.0), at(9.0, 3.0), at(4.0, 3.0), at(4.0, 8.0), at(0.0, 8.0)].to_vec();
        assert_eq!(convex_pieces(shape(&[corner]).get(0).parts().next().unwrap()).unwrap().len(), 2);
        let square = |half: f64| [at(-half, -half), at(half, -half), at(half, half), at(-half, half)].to_vec();
        let around = convex_pieces(shape(&[square(9.0), square(2.0)]).get(0).parts().next().unwrap()).unwrap();
        assert!((4..=8).contains(&around.len()), "{around:?}");
        let thread = [at(0.0, 0.0), at(1.0, 1.0), at(2.0, 2.0)].to_vec();
        assert!(convex_pieces(shape(&[thread]).get(0).parts().next().unwrap()).is_none());
    }

    proptest! {
        /// A place lies in as many pieces as the outline holds it: one or none, edges left aside.
        #[test]
        fn pieces_are_convex_and_cover_the_outline(spokes in prop::collection::vec(5.0..60.0f64, 3..24), hole in prop::option::of(0.1..0.9f64)) {
            let mut rings = vec![star(&spokes)];
            rings.extend(hole.map(|share| star(&spokes.iter().map(|r| r * share).collect::<Vec<_>>())));
            let outline = shape(&rings);
            let pieces = convex_pieces(outline.get(0).parts().next().unwrap()).unwrap();
            prop_assert!(pieces.iter().all(|piece| convex(piece).is_some()));
            let pieces: Vec<Shapes> = pieces.into_iter().map(|piece| shape(&[piece])).collect();
            for k in 0..400 {
                let p = Local { x: f64::from(k % 20) * 6.01 - 60.003, y: f64::from(k / 20) * 6.01 - 60.007 };
                prop_assert_eq!(pieces.iter().filter(|s| s.get(0).holds(p)).count(), usize::from(outline.get(0).holds(p)), "{:?}", p);
            }
        }
    }
}
