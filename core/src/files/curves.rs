//! Arcs as short straight pieces.

use std::f64::consts::TAU;

/// Pieces for a whole circle: the middle of a piece lies 0.05 % of the radius inside the arc.
const PIECES: f64 = 96.0;

/// The places along arcs that are given by three places each: begin, any place between, end; each arc begins where the one
/// before ended. Places that are not three and two more each are joined by straight lines.
///
/// # Source
/// Centre of the circle through three places: common geometry, no source. A whole circle is written as begin, the place
/// opposite, begin (ISO 13249-3).
pub(super) fn through(places: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut out: Vec<[f64; 2]> = places.first().copied().into_iter().collect();
    let mut rest = places;
    while let [begin, between, end, ..] = rest {
        arc(*begin, *between, *end, &mut out);
        rest = &rest[2..];
    }
    out.extend(rest.iter().skip(1));
    out
}

fn arc(begin: [f64; 2], between: [f64; 2], end: [f64; 2], out: &mut Vec<[f64; 2]>) {
    let Some(centre) = centre(begin, between, end) else {
        out.extend([between, end]);
        return;
    };
    let angle = |p: [f64; 2]| (p[1] - centre[1]).atan2(p[0] - centre[0]);
    let (from, via, to) = (angle(begin), angle(between), angle(end));
    let leftwards = (via - from).rem_euclid(TAU) <= (to - from).rem_euclid(TAU);
    let sweep = match (begin == end, leftwards) {
        (true, _) => TAU,
        (false, true) => (to - from).rem_euclid(TAU),
        (false, false) => (to - from).rem_euclid(TAU) - TAU,
    };
    let radius = (begin[0] - centre[0]).hypot(begin[1] - centre[1]);
    let pieces = (sweep.abs() / TAU * PIECES).ceil().clamp(2.0, PIECES);
    for i in 1..pieces as u32 {
        let a = from + sweep * f64::from(i) / pieces;
        out.push([centre[0] + radius * a.cos(), centre[1] + radius * a.sin()]);
    }
    out.push(end);
}

/// The middle of the circle through three places; `None` when they lie on one line.
fn centre(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> Option<[f64; 2]> {
    if a == c {
        return Some([f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])]);
    }
    let (bx, by, cx, cy) = (b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]);
    let twice = 2.0 * (bx * cy - by * cx);
    let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
    let centre = [a[0] + (cy * b2 - by * c2) / twice, a[1] + (bx * c2 - cx * b2) / twice];
    let bent = twice.abs() > 1e-9 * (b2 + c2);
    (bent && centre[0].is_finite() && centre[1].is_finite()).then_some(centre)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_turn_the_way_of_their_middle_place() {
        let up = through(&[[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]]);
        let down = through(&[[1.0, 0.0], [0.0, -1.0], [-1.0, 0.0]]);
        assert!(up.iter().all(|p| p[1] >= 0.0) && down.iter().all(|p| p[1] <= 0.0));
        assert!(up.iter().all(|p| (p[0].hypot(p[1]) - 1.0).abs() < 1e-12));
        assert_eq!((up.len(), up[0], up[48]), (49, [1.0, 0.0], [-1.0, 0.0]));
    }

    #[test]
    fn straight_and_odd_runs_stay_as_they_are() {
        let straight = [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0], [3.0, 3.0]];
        assert_eq!(through(&straight), straight);
        assert_eq!(through(&straight[..2]), straight[..2]);
        assert!(through(&[]).is_empty());
    }
}
