//! How neat a day's walks are: whether they cross, lie over each other, share blocks, and how unlike the shifts are.

use super::{CrewWalk, Day};
use crate::place::Local;
use crate::survey::{BlockId, Survey};
use std::collections::{BTreeMap, BTreeSet};

/// What can be counted about the shape of a day's walks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Neatness {
    /// Places where the straight lines from door to door of two crews cross; the ways from and to the meeting point, which all share, do
    /// not count.
    pub crossings: usize,
    /// The ground that the convex hulls of two crews' doors share, summed over all pairs, as a share of the ground of all hulls.
    pub overlap: f64,
    /// Blocks with doors of more than one crew.
    pub split_blocks: usize,
    /// Blocks with doors of any crew.
    pub blocks: usize,
    /// Minutes by which the crew that is out longest is out longer than the one that is out shortest, of those with doors.
    pub spread_minutes: f64,
}

/// Counts it.
pub fn neatness(survey: &Survey, day: &Day) -> Neatness {
    let walks: Vec<&CrewWalk> = day.walks.iter().filter(|w| !w.doors.is_empty()).collect();
    let places: Vec<Vec<Local>> = walks.iter().map(|w| w.doors.iter().map(|d| d.at).collect()).collect();
    let hulls: Vec<Vec<Local>> = places.iter().map(|p| hull(p)).collect();
    let pairs = || (0..walks.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
    let all: f64 = hulls.iter().map(|h| area(h)).sum();
    let shared: f64 = pairs().map(|(a, b)| area(&both(&hulls[a], &hulls[b]))).sum();
    let mut crews: BTreeMap<BlockId, BTreeSet<usize>> = BTreeMap::new();
    for (crew, door) in walks.iter().enumerate().flat_map(|(crew, w)| w.doors.iter().map(move |d| (crew, d))) {
        if let Some(block) = survey.premises.block[door.premise.row()] {
            crews.entry(block).or_default().insert(crew);
        }
    }
    let back = || walks.iter().map(|w| w.minutes_out());
    Neatness {
        crossings: pairs().map(|(a, b)| crossings(&places[a], &places[b])).sum(),
        overlap: if all > 0.0 { shared / all } else { 0.0 },
        split_blocks: crews.values().filter(|c| c.len() > 1).count(),
        blocks: crews.len(),
        spread_minutes: if walks.is_empty() { 0.0 } else { back().fold(0.0, f64::max) - back().fold(f64::INFINITY, f64::min) },
    }
}

impl Neatness {
    /// The same in a sentence.
    pub fn words(&self) -> String {
        let times = match self.crossings {
            0 => "Walks do not cross".to_owned(),
            1 => "Walks cross once".to_owned(),
            n => format!("Walks cross {n} times"),
        };
        let blocks = match self.blocks {
            0 => String::new(),
            _ => format!("; {} of {} blocks are shared between crews", self.split_blocks, self.blocks),
        };
        format!("{times}{blocks}; shifts differ by {:.0} min", self.spread_minutes)
    }
}

/// Twice the area of a triangle, above 0 when it turns left.
fn turn(a: Local, b: Local, c: Local) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// How often two lines cross; a touch does not count.
pub(super) fn crossings(first: &[Local], second: &[Local]) -> usize {
    first.windows(2).map(|p| second.windows(2).filter(|q| cross(p, q)).count()).sum()
}

/// How often a line crosses itself; a touch does not count.
pub(super) fn own_crossings(line: &[Local]) -> usize {
    let from = |i: usize| line.get(i + 2..).unwrap_or_default().windows(2);
    line.windows(2).enumerate().map(|(i, p)| from(i).filter(|q| cross(p, q)).count()).sum()
}

/// Whether two legs cross.
fn cross(p: &[Local], q: &[Local]) -> bool {
    let beside = |a: f64, b: f64, c: f64, d: f64| a.max(b) < c.min(d) || c.max(d) < a.min(b);
    if beside(p[0].x, p[1].x, q[0].x, q[1].x) || beside(p[0].y, p[1].y, q[0].y, q[1].y) {
        return false;
    }
    let apart = |a: Local, b: Local, c: Local, d: Local| turn(a, b, c) * turn(a, b, d) < 0.0;
    apart(p[0], p[1], q[0], q[1]) && apart(q[0], q[1], p[0], p[1])
}

/// The convex hull of some places, turning left; fewer than three places where they lie on one line.
///
/// # Source
/// A. Andrew, Another efficient algorithm for convex hulls in two dimensions, Information Processing Letters 9 (1979); from memory.
fn hull(places: &[Local]) -> Vec<Local> {
    let mut sorted = places.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |order: &mut dyn Iterator<Item = Local>| {
        let mut out: Vec<Local> = Vec::new();
        for p in order {
            while out.len() > 1 && turn(out[out.len() - 2], out[out.len() - 1], p) <= 0.0 {
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut out = half(&mut sorted.iter().copied());
    out.extend(half(&mut sorted.iter().rev().copied()));
    out
}

fn area(ring: &[Local]) -> f64 {
    let Some(&first) = ring.first() else { return 0.0 };
    ring.windows(2).map(|w| turn(first, w[0], w[1])).sum::<f64>() / 2.0
}

/// The ground that two convex hulls share.
///
/// # Source
/// I. Sutherland, G. Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974); from memory.
fn both(first: &[Local], second: &[Local]) -> Vec<Local> {
    if first.len() < 3 || second.len() < 3 {
        return Vec::new();
    }
    let mut out = first.to_vec();
    for (i, &a) in second.iter().enumerate() {
        let b = second[(i + 1) % second.len()];
        let before = std::mem::take(&mut out);
        for (k, &q) in before.iter().enumerate() {
            let p = before[(k + before.len() - 1) % before.len()];
            let (of_p, of_q) = (turn(a, b, p), turn(a, b, q));
            if (of_p < 0.0) != (of_q < 0.0) {
                let t = of_p / (of_p - of_q);
                out.push(Local { x: p.x + (q.x - p.x) * t, y: p.y + (q.y - p.y) * t });
            }
            if of_q >= 0.0 {
                out.push(q);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64) -> Local {
        Local { x, y }
    }

    #[test]
    fn hulls_share_what_squares_share() {
        let square = |x: f64, y: f64| vec![at(x, y), at(x + 4.0, y), at(x + 4.0, y + 4.0), at(x, y + 4.0), at(x + 2.0, y + 2.0)];
        let (a, b) = (hull(&square(0.0, 0.0)), hull(&square(3.0, 1.0)));
        assert_eq!((a.len(), area(&a)), (4, 16.0), "the place in the middle is no corner");
        assert_eq!(area(&both(&a, &b)), 3.0, "one metre by three");
        assert_eq!(area(&both(&a, &hull(&square(9.0, 9.0)))), 0.0);
        assert!(hull(&[at(0.0, 0.0), at(1.0, 1.0), at(2.0, 2.0)]).len() < 3, "a line has no ground");
    }

    #[test]
    fn lines_that_only_touch_do_not_cross() {
        let straight = [at(0.0, 0.0), at(10.0, 0.0)];
        assert_eq!(crossings(&straight, &[at(5.0, -1.0), at(5.0, 1.0), at(6.0, -1.0)]), 2);
        assert_eq!(crossings(&straight, &[at(5.0, 0.0), at(5.0, 1.0)]), 0);
        assert_eq!(crossings(&straight, &[at(10.0, 0.0), at(20.0, 0.0)]), 0);
        let bow = [at(0.0, 0.0), at(4.0, 4.0), at(4.0, 0.0), at(0.0, 4.0), at(0.0, 0.0)];
        assert_eq!((own_crossings(&bow), own_crossings(&bow[..3]), own_crossings(&[])), (1, 0, 0), "its ends touch");
    }
}
