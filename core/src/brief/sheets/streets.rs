//! Names along the streets of a sheet's map: straight on the longest straight pieces, where there is room.

use super::super::ink;
use super::super::paint::lettering::{Hand, Weight};
use super::chart::{Plat, WHITE};
use super::press::{At, Leaf};
use crate::survey::Streets;
use std::collections::BTreeMap;

/// Names of one street stand at least this far apart, in points.
const APART: f32 = 260.0;
/// Bends of less than this many degrees do not end a straight piece.
const STRAIGHT: f32 = 6.0;

/// A name laid on a street.
#[derive(Clone, Copy, Debug)]
struct Laid {
    middle: At,
    /// Degrees clockwise.
    turned: f32,
    half: f32,
}

/// Writes names; none lies on another or on a sign. A name keeps clear of the walk where its street is long enough elsewhere.
pub fn names(leaf: &mut Leaf<'_, '_>, streets: &Streets, plat: &Plat, signs: &[At], walk: &[At]) {
    let hand = Hand { weight: Weight::Regular, size: 8.0, ink: ink::INK };
    let mut laid: Vec<Laid> = Vec::new();
    for (name, pieces) in pieces(streets, plat) {
        let wide = leaf.width(name, hand);
        let mut own: Vec<At> = Vec::new();
        for clear in [signs.iter().chain(walk).copied().collect::<Vec<At>>(), signs.to_vec()] {
            if !own.is_empty() {
                break;
            }
            for (a, b) in &pieces {
                let Some(label) = on_piece(*a, *b, wide, &clear, &laid) else { continue };
                if own.iter().all(|o| far(*o, label.middle) > APART) {
                    leaf.write_round(name, label.middle, label.turned, hand, WHITE);
                    own.push(label.middle);
                    laid.push(label);
                }
            }
        }
    }
}

/// Straight pieces of every named street inside the box, the longest first.
fn pieces<'a>(streets: &'a Streets, plat: &Plat) -> BTreeMap<&'a str, Vec<(At, At)>> {
    let ground = plat.ground();
    let mut out: BTreeMap<&str, Vec<(At, At)>> = BTreeMap::new();
    let seen =
        |i: &usize| !streets.name.get(*i).is_empty() && !streets.line.bounds()[*i].is_empty() && streets.line.bounds()[*i].touches(&ground);
    for i in (0..streets.len()).filter(seen) {
        for run in streets.line.get(i).rings() {
            let run: Vec<At> = run.iter().map(|&p| plat.at(p)).collect();
            out.entry(streets.name.get(i)).or_default().extend(straight(&run).into_iter().filter_map(|(a, b)| clipped(a, b, plat)));
        }
    }
    for pieces in out.values_mut() {
        pieces.sort_by(|a, b| far(b.0, b.1).total_cmp(&far(a.0, a.1)).then_with(|| a.0.0.total_cmp(&b.0.0)));
    }
    out
}

fn far(a: At, b: At) -> f32 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// A run cut where it bends.
fn straight(run: &[At]) -> Vec<(At, At)> {
    let mut out: Vec<(At, At)> = Vec::new();
    for pair in run.windows(2).filter(|p| p[0] != p[1]) {
        let way = |a: At, b: At| (b.1 - a.1).atan2(b.0 - a.0).to_degrees();
        let bend = |(a, b): (At, At)| ((way(a, b) - way(pair[0], pair[1]) + 540.0) % 360.0 - 180.0).abs();
        match out.last_mut() {
            Some(last) if last.1 == pair[0] && bend(*last) < STRAIGHT => last.1 = pair[1],
            _ => out.push((pair[0], pair[1])),
        }
    }
    out
}

/// The part of a piece inside the box.
///
/// # Source
/// Y.-D. Liang and B. A. Barsky, A new concept and method for line clipping, ACM Trans. Graphics 3 (1984), from memory.
fn clipped(a: At, b: At, plat: &Plat) -> Option<(At, At)> {
    let (x, y, w, h) = plat.frame;
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut enter, mut leave) = (0.0f32, 1.0f32);
    for (step, room) in [(-dx, a.0 - x), (dx, x + w - a.0), (-dy, a.1 - y), (dy, y + h - a.1)] {
        if step == 0.0 && room < 0.0 {
            return None;
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else if step > 0.0 {
            leave = leave.min(room / step);
        }
    }
    let along = |t: f32| (a.0 + dx * t, a.1 + dy * t);
    (enter < leave).then(|| (along(enter), along(leave)))
}

/// The first place along a piece, from its middle outwards, where a name of some width is free.
fn on_piece(a: At, b: At, wide: f32, taken: &[At], laid: &[Laid]) -> Option<Laid> {
    let long = far(a, b);
    if long < wide + 8.0 {
        return None;
    }
    let mut turned = (b.1 - a.1).atan2(b.0 - a.0).to_degrees();
    if turned > 90.0 || turned <= -90.0 {
        turned -= 180.0f32.copysign(turned);
    }
    let spare = (long - wide - 8.0) / 2.0 / long;
    let shares = [0.0, 0.35, -0.35, 0.7, -0.7, 1.0, -1.0].map(|s| 0.5 + s * spare);
    shares.into_iter().find_map(|t| {
        let middle = (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
        let label = Laid { middle, turned, half: wide / 2.0 };
        let free = taken.iter().all(|&p| beside(&label, p) > 12.0) && laid.iter().all(|l| apart(&label, l));
        free.then_some(label)
    })
}

/// How far a place is from the middle line of a name.
fn beside(label: &Laid, p: At) -> f32 {
    let (s, c) = label.turned.to_radians().sin_cos();
    let (dx, dy) = (p.0 - label.middle.0, p.1 - label.middle.1);
    let (along, across) = (dx * c + dy * s, dy * c - dx * s);
    (along.abs() - label.half).max(0.0).hypot(across)
}

/// Whether two names keep clear of each other: looked at along the one at steps of its height.
fn apart(a: &Laid, b: &Laid) -> bool {
    let (s, c) = b.turned.to_radians().sin_cos();
    (-8..=8).all(|k| {
        let t = b.half * k as f32 / 8.0;
        beside(a, (b.middle.0 + c * t, b.middle.1 + s * t)) > 9.0
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bend_ends_a_piece_and_a_slight_one_does_not() {
        let run = [(0.0, 0.0), (50.0, 1.0), (100.0, 0.0), (100.0, 80.0)];
        assert_eq!(straight(&run), [((0.0, 0.0), (100.0, 0.0)), ((100.0, 0.0), (100.0, 80.0))]);
    }

    #[test]
    fn names_are_never_upside_down_and_keep_clear() {
        let first = on_piece((300.0, 10.0), (0.0, 10.0), 60.0, &[], &[]).unwrap();
        assert_eq!((first.middle, first.turned), ((150.0, 10.0), 0.0));
        let second = on_piece((0.0, 12.0), (300.0, 12.0), 60.0, &[], &[first]).unwrap();
        assert!((second.middle.0 - 150.0).abs() >= 60.0, "{second:?}");
        assert!(on_piece((0.0, 0.0), (50.0, 0.0), 60.0, &[], &[]).is_none());
        let upright = on_piece((0.0, 0.0), (0.0, 200.0), 60.0, &[(0.0, 100.0)], &[]).unwrap();
        assert!(upright.turned.abs() == 90.0 && beside(&upright, (0.0, 100.0)) > 12.0, "{upright:?}");
    }
}
