//! A ring cut into convex pieces that cover it: what lies within a radius of the pieces lies within that radius of the ring.

use crate::place::{Local, signed_area};
use earcut::Earcut;
use std::f64::consts::TAU;

/// Into so many pieces a ring is cut at most. The arcs round more of them cost as much as the ring's own union saves: measured on the
/// lots of a city and of a made-up county.
const MOST_PIECES: usize = 2;
/// By what share of its area the pieces may miss a ring: rounding. More, and they do not cover it.
const MISSED: f64 = 1e-9;

/// The corners of a ring, counter-clockwise and none twice in a row.
pub(super) fn counter_clockwise(ring: &[Local]) -> Vec<Local> {
    let mut corners = ring.to_vec();
    corners.dedup();
    while corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    if signed_area(&corners) < 0.0 {
        corners.reverse();
    }
    corners
}

/// A few convex pieces of a ring whose corners run counter-clockwise, as theirs do; a single place is a piece. `None` for a ring that
/// needs more of them, has no area, or crosses itself.
pub(super) fn convex_pieces(corners: &[Local]) -> Option<Vec<Vec<Local>>> {
    if is_convex(corners) {
        return Some(vec![corners.to_vec()]);
    }
    // A cut takes the turn to the right from its two ends at most.
    let rightwards = turns(corners).filter(|(cross, _)| *cross < 0.0).count();
    if corners.len() < 3 || rightwards > 2 * (MOST_PIECES - 1) {
        return None;
    }
    let pieces = joined(triangles(corners), corners);
    let pieces: Vec<Vec<Local>> = pieces.into_iter().map(|piece| piece.into_iter().map(|i| corners[i]).collect()).collect();
    let (area, covered) = (signed_area(corners), pieces.iter().map(|piece| signed_area(piece)).sum::<f64>());
    (pieces.len() <= MOST_PIECES && area > 0.0 && (area - covered).abs() <= MISSED * area).then_some(pieces)
}

/// For each corner of a ring the cross and the dot product of the edges before and after it.
fn turns(corners: &[Local]) -> impl Iterator<Item = (f64, f64)> {
    let n = corners.len();
    (0..n).map(move |i| {
        let (a, b, c) = (corners[i], corners[(i + 1) % n], corners[(i + 2) % n]);
        let (u, v) = ((b.x - a.x, b.y - a.y), (c.x - b.x, c.y - b.y));
        (u.0 * v.1 - u.1 * v.0, u.0 * v.0 + u.1 * v.1)
    })
}

/// Whether a ring turns to the left alone, and once; also for a single place.
fn is_convex(corners: &[Local]) -> bool {
    let left = |(cross, dot): (f64, f64)| cross > 0.0 || (cross == 0.0 && dot >= 0.0);
    let round = || turns(corners).map(|(cross, dot)| cross.atan2(dot)).sum::<f64>();
    corners.len() == 1 || (corners.len() > 2 && turns(corners).all(left) && (round() - TAU).abs() < 1e-6)
}

/// Triangles that cover a ring, counter-clockwise, as numbers of its corners; those without area left off.
fn triangles(corners: &[Local]) -> Vec<Vec<usize>> {
    let mut found = Vec::new();
    Earcut::new().earcut(corners.iter().map(|p| [p.x, p.y]), &[], &mut found);
    let counter_clockwise = |three: &[usize]| {
        let area = signed_area(&[corners[three[0]], corners[three[1]], corners[three[2]]]);
        let mut own = three.to_vec();
        if area < 0.0 {
            own.reverse();
        }
        (area != 0.0).then_some(own)
    };
    found.chunks_exact(3).filter_map(counter_clockwise).collect()
}

/// The pieces joined with their neighbours as long as what comes of it is convex.
///
/// # Source
/// S. Hertel and K. Mehlhorn, Fast triangulation of simple polygons (1983): at most four times as many pieces as need be; from memory.
fn joined(mut pieces: Vec<Vec<usize>>, corners: &[Local]) -> Vec<Vec<usize>> {
    let mut i = 0;
    while i < pieces.len() {
        match (i + 1..pieces.len()).find_map(|j| Some((j, join(&pieces[i], &pieces[j], corners)?))) {
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
fn join(a: &[usize], b: &[usize], corners: &[Local]) -> Option<Vec<usize>> {
    let next = |of: &[usize], i: usize| of[(i + 1) % of.len()];
    let shared = |i: usize| (0..b.len()).find(|&k| a[i] == next(b, k) && next(a, i) == b[k]).map(|k| (i, k));
    let (i, k) = (0..a.len()).find_map(shared)?;
    let round = |of: &[usize], from: usize, count: usize| (0..count).map(|n| of[(from + n) % of.len()]).collect::<Vec<_>>();
    let whole = [round(a, i + 1, a.len()), round(b, k + 2, b.len() - 2)].concat();
    is_convex(&whole.iter().map(|&i| corners[i]).collect::<Vec<_>>()).then_some(whole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;
    use proptest::prelude::*;

    fn at(x: f64, y: f64) -> Local {
        Local { x, y }
    }

    fn shape(ring: &[Local]) -> Shapes {
        let mut s = Shapes::default();
        s.push_ring(ring);
        s.end_part();
        s.end_shape();
        s
    }

    #[test]
    fn a_corner_lot_is_two_pieces_a_cross_too_many_and_a_thread_none() {
        let corner = [at(0.0, 0.0), at(9.0, 0.0), at(9.0, 3.0), at(4.0, 3.0), at(4.0, 8.0), at(0.0, 8.0)];
        assert_eq!(convex_pieces(&corner).unwrap().len(), 2);
        assert_eq!(convex_pieces(&corner[..4]).unwrap().len(), 1);
        let arm = [(1.0, -3.0), (1.0, -1.0), (3.0, -1.0)];
        let turned = |k: usize, (x, y): (f64, f64)| (0..k).fold((x, y), |(x, y), _| (-y, x));
        let cross: Vec<Local> = (0..4).flat_map(|k| arm.map(|p| turned(k, p))).map(|(x, y)| at(x, y)).collect();
        assert!(signed_area(&cross) > 0.0 && convex_pieces(&cross).is_none());
        assert!(convex_pieces(&[at(0.0, 0.0), at(1.0, 1.0), at(2.0, 2.0)]).is_none());
        assert_eq!(convex_pieces(&[at(3.0, 4.0)]).unwrap(), [[at(3.0, 4.0)]]);
    }

    proptest! {
        /// A place lies in as many pieces as the ring holds it: one or none, edges left aside.
        #[test]
        fn pieces_are_convex_and_cover_the_ring(spokes in prop::collection::vec(5.0..60.0f64, 3..9)) {
            let turn = TAU / spokes.len() as f64;
            let ring: Vec<Local> = (0..).zip(&spokes).map(|(k, r)| at(r * (f64::from(k) * turn).cos(), r * (f64::from(k) * turn).sin())).collect();
            let Some(pieces) = convex_pieces(&ring) else { return Ok(()) };
            prop_assert!(pieces.iter().all(|piece| is_convex(piece)) && pieces.len() <= MOST_PIECES);
            let pieces: Vec<Shapes> = pieces.iter().map(|piece| shape(piece)).collect();
            let whole = shape(&ring);
            for k in 0..400 {
                let p = at(f64::from(k % 20) * 6.01 - 60.003, f64::from(k / 20) * 6.01 - 60.007);
                prop_assert_eq!(pieces.iter().filter(|s| s.get(0).holds(p)).count(), usize::from(whole.get(0).holds(p)), "{:?}", p);
            }
        }
    }
}
