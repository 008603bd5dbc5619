//! An outline as flights see it: edges between barriers, and the places just inside from which they start.

use super::barriers::{Barriers, side};
use crate::place::{Bounds, Local, ShapeView, signed_area};

/// Flights start and end this far inside an outline, in metres, so that a barrier along the lot line itself is in the way.
const INSIDE: f64 = 0.01;

/// One edge of an outline, or a piece of one between barriers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub from: Local,
    pub to: Local,
    /// The place just inside `from`, and just inside `to`.
    pub inside: (Local, Local),
    /// The direction inwards, of length 1; of length 0 for a single place.
    pub inwards: (f64, f64),
    bounds: Bounds,
}

impl Edge {
    /// The place on the edge that is nearest to another one, and the place just inside it.
    fn nearest(&self, p: Local) -> (Local, Local) {
        let (ex, ey) = (self.to.x - self.from.x, self.to.y - self.from.y);
        let length = ex * ex + ey * ey;
        let along = if length > 0.0 { ((p.x - self.from.x) * ex + (p.y - self.from.y) * ey) / length } else { 0.0 };
        if along <= 0.0 {
            (self.from, self.inside.0)
        } else if along >= 1.0 {
            (self.to, self.inside.1)
        } else {
            let on = Local { x: self.from.x + along * ex, y: self.from.y + along * ey };
            (on, moved(on, self.inwards, INSIDE))
        }
    }
}

/// An outline, or a single place.
#[derive(Clone, Debug)]
pub(super) struct Lot {
    /// Its edges, cut where barriers cross them.
    pub edges: Vec<Edge>,
    /// The box round it.
    pub bounds: Bounds,
}

impl Lot {
    /// A shape: outlines by their edges, a ring of one place as that place.
    pub(super) fn of(shape: ShapeView<'_>, barriers: &Barriers) -> Self {
        let mut edges = Vec::new();
        for part in shape.parts() {
            for (k, ring) in part.rings().enumerate() {
                push_ring(ring, k == 0, barriers, &mut edges);
            }
        }
        Self { edges, bounds: *shape.bounds() }
    }

    /// A single place.
    pub(super) fn place(p: Local) -> Self {
        let bounds = Bounds::of(&[p]);
        Self { edges: vec![Edge { from: p, to: p, inside: (p, p), inwards: (0.0, 0.0), bounds }], bounds }
    }

    /// The length of the shortest straight flight to another lot with nothing in the way, when it is shorter than `limit`.
    ///
    /// Looked for among the pairs of nearest places of every two edges. A straight flight that is no such pair could be made
    /// shorter, or touches a corner of a barrier: then the flight by way of that corner is as short, and [`super::ways`] finds
    /// it.
    pub(super) fn straight(&self, other: &Self, barriers: &Barriers, limit: f64) -> Option<f64> {
        let mut least = limit;
        if self.bounds.distance(&other.bounds) >= least {
            return None;
        }
        for a in self.edges.iter().filter(|a| a.bounds.distance(&other.bounds) < limit) {
            for b in &other.edges {
                if a.bounds.distance(&b.bounds) < least {
                    for ((p, p_inside), (q, q_inside)) in pairs(a, b) {
                        let length = p.distance(q);
                        if length < least && barriers.visible(p_inside, q_inside) {
                            least = length;
                        }
                    }
                }
            }
        }
        (least < limit).then_some(least)
    }
}

/// The places of two edges that may be nearest to each other, each with the place just inside.
fn pairs(a: &Edge, b: &Edge) -> [((Local, Local), (Local, Local)); 4] {
    [
        ((a.from, a.inside.0), b.nearest(a.from)),
        ((a.to, a.inside.1), b.nearest(a.to)),
        (a.nearest(b.from), (b.from, b.inside.0)),
        (a.nearest(b.to), (b.to, b.inside.1)),
    ]
}

fn moved(p: Local, (x, y): (f64, f64), by: f64) -> Local {
    Local { x: p.x + x * by, y: p.y + y * by }
}

/// The unit vector along another one; of length 0 where that has none.
fn unit((x, y): (f64, f64)) -> (f64, f64) {
    let length = x.hypot(y);
    if length > 0.0 { (x / length, y / length) } else { (0.0, 0.0) }
}

/// Adds the edges of a ring, cut where barriers cross them.
fn push_ring(ring: &[Local], outer: bool, barriers: &Barriers, out: &mut Vec<Edge>) {
    let mut corners = ring.to_vec();
    corners.dedup();
    while corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    if corners.len() < 3 {
        out.extend(corners.into_iter().flat_map(|p| Lot::place(p).edges));
        return;
    }
    if (signed_area(&corners) < 0.0) == outer {
        corners.reverse();
    }
    let n = corners.len();
    let inwards = |i: usize| {
        let (a, b) = (corners[i % n], corners[(i + 1) % n]);
        unit((a.y - b.y, b.x - a.x))
    };
    let corner_inside = |i: usize| {
        let (before, after) = (inwards(i + n - 1), inwards(i));
        moved(corners[i % n], unit((before.0 + after.0, before.1 + after.1)), INSIDE)
    };
    for i in 0..n {
        let (from, to) = (corners[i], corners[(i + 1) % n]);
        let edge =
            Edge { from, to, inside: (corner_inside(i), corner_inside(i + 1)), inwards: inwards(i), bounds: Bounds::of(&[from, to]) };
        push_cut(&edge, barriers, out);
    }
}

/// Adds the pieces of an edge between the barriers that cross it.
fn push_cut(edge: &Edge, barriers: &Barriers, out: &mut Vec<Edge>) {
    let crossing = |(a, b): (Local, Local)| {
        let (u, v) = (side(a, b, edge.from), side(a, b, edge.to));
        let (s, t) = (side(edge.from, edge.to, a), side(edge.from, edge.to, b));
        ((u < 0.0) != (v < 0.0) && u != v && ((s <= 0.0 && t >= 0.0) || (s >= 0.0 && t <= 0.0))).then(|| u / (u - v))
    };
    let mut cuts: Vec<f64> = barriers.walls_in(&edge.bounds).into_iter().filter_map(crossing).filter(|t| (0.0..1.0).contains(t)).collect();
    cuts.sort_by(f64::total_cmp);
    let along = unit((edge.to.x - edge.from.x, edge.to.y - edge.from.y));
    let mut rest = *edge;
    for t in cuts {
        let at = Local { x: edge.from.x + t * (edge.to.x - edge.from.x), y: edge.from.y + t * (edge.to.y - edge.from.y) };
        let inside = moved(at, edge.inwards, INSIDE);
        let before = Edge { to: at, inside: (rest.inside.0, moved(inside, along, -INSIDE)), bounds: Bounds::of(&[rest.from, at]), ..rest };
        out.push(before);
        rest = Edge { from: at, inside: (moved(inside, along, INSIDE), rest.inside.1), bounds: Bounds::of(&[at, rest.to]), ..rest };
    }
    out.push(rest);
}
