//! Cutting outlines and lines into pieces of corners and triangles that a graphics card can draw.

use super::quilt::Spot;
use rayon::prelude::*;
use std::ops::Range;
use yardring_core::place::{Bounds, Local, ShapeView, Shapes, signed_area};

/// Most outlines in one piece: few pieces when a town is in view, little drawn in vain when a street is. The corner's id has
/// twelve bits for them.
const MOST_SHAPES: usize = 2048;
/// Most places in one piece, so that sixteen bits can name a corner.
const MOST_PLACES: usize = 48_000;
/// Widest piece in metres, so that 32-bit metres from its origin stay exact to a few millimetres.
const WIDEST: f64 = 60_000.0;
/// No edge starts at this corner.
const LAST: u32 = 1 << 31;
/// How many steps of size a piece is sorted into.
pub(super) const SIZES: usize = 18;

/// One corner: metres from the piece's origin; the outline's number in the piece (12 bits), how far up its box the corner
/// lies (16 bits), and whether the ring or line ends here (1 bit).
#[derive(Clone, Copy, Debug, PartialEq, bytemuck::Pod, bytemuck::Zeroable)]
#[repr(C)]
pub(super) struct Corner {
    pub at: [f32; 2],
    pub id: u32,
}

/// Where an outline's mark goes: metres from the piece's origin, the room round it in metres, the outline's number.
#[derive(Clone, Copy, Debug, PartialEq, bytemuck::Pod, bytemuck::Zeroable)]
#[repr(C)]
pub(super) struct Anchor {
    pub at: [f32; 2],
    pub room: f32,
    pub id: u32,
}

/// How much of a piece's columns belongs to outlines of at least some size.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Share {
    pub corners: u32,
    pub triangle_corners: u32,
    pub anchors: u32,
}

/// Neighbouring outlines, ready for the card. Large ones come first in every column.
#[derive(Debug)]
pub(super) struct Piece {
    pub origin: Local,
    pub bounds: Bounds,
    pub first: u32,
    pub corners: Vec<Corner>,
    pub triangles: Vec<u32>,
    pub anchors: Vec<Anchor>,
    /// Where each outline is and how large, beside `anchors`.
    pub spots: Vec<Spot>,
    pub shares: [Share; SIZES],
}

/// The least size, in metres, of the outlines that a step of [`Piece::shares`] counts.
pub(super) fn least_size(step: usize) -> f64 {
    if step == 0 { 0.0 } else { 0.25 * f64::powi(2.0, step as i32 - 1) }
}

/// Runs of neighbouring shapes, none too large for one piece unless a single shape is.
pub(super) fn runs(shapes: &Shapes) -> Vec<Range<usize>> {
    let mut out = Vec::new();
    let (mut from, mut places, mut extent) = (0, 0, Bounds::EMPTY);
    for (i, shape) in shapes.iter().enumerate() {
        let here = shape.places().len() + shape.rings().len();
        let grown = extent.union(*shape.bounds());
        let wide = !grown.is_empty() && grown.width().max(grown.height()) > WIDEST;
        if i > from && (i - from == MOST_SHAPES || places + here > MOST_PLACES || wide) {
            out.push(from..i);
            (from, places, extent) = (i, 0, Bounds::EMPTY);
        }
        places += here;
        extent = extent.union(*shape.bounds());
    }
    if from < shapes.len() {
        out.push(from..shapes.len());
    }
    out
}

/// What the rings of a piece are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Closed outlines, filled.
    Outlines,
    /// Open lines.
    Lines,
}

/// One run of shapes cut up.
pub(super) fn cut(shapes: &Shapes, run: Range<usize>, kind: Kind) -> Piece {
    let bounds = shapes.bounds()[run.clone()].iter().filter(|b| usable(b)).fold(Bounds::EMPTY, |b, o| b.union(*o));
    let origin = if bounds.is_empty() { Local { x: 0.0, y: 0.0 } } else { bounds.centre() };
    let mut piece = Piece {
        origin,
        bounds,
        first: run.start as u32,
        corners: Vec::new(),
        triangles: Vec::new(),
        anchors: Vec::new(),
        spots: Vec::new(),
        shares: [Share::default(); SIZES],
    };
    let mut order: Vec<(f64, usize)> = run.clone().filter_map(|i| Some((size(shapes.get(i), kind)?, i))).collect();
    order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut ears = Ears::default();
    for (side, i) in order {
        let id = (i - run.start) as u32;
        match kind {
            Kind::Outlines => piece.add_outline(shapes.get(i), id, side, &mut ears),
            Kind::Lines => piece.add_line(shapes.get(i), id),
        }
        piece.count_share(side);
    }
    piece
}

/// Where each outline is and how large, without cutting any: what the far view needs, in a fraction of the time.
pub(super) fn spots(shapes: &Shapes) -> Vec<Spot> {
    let of = |i: usize| Some(spot(shapes.get(i), size(shapes.get(i), Kind::Outlines)?, i as u32));
    (0..shapes.len()).into_par_iter().with_min_len(MOST_SHAPES).filter(|&i| usable(&shapes.bounds()[i])).filter_map(of).collect()
}

/// Whether a box holds something and only finite numbers.
fn usable(b: &Bounds) -> bool {
    [b.min.x, b.min.y, b.max.x, b.max.y].iter().all(|v| v.is_finite())
}

/// Side of the square of the same area, or a line's reach; `None` for what cannot be drawn.
fn size(shape: ShapeView<'_>, kind: Kind) -> Option<f64> {
    let b = shape.bounds();
    (usable(b) && shape.places().iter().all(|p| p.x.is_finite() && p.y.is_finite())).then(|| match kind {
        Kind::Outlines => shape.area().max(0.0).sqrt(),
        Kind::Lines => b.width().hypot(b.height()),
    })
}

/// Ear cutting with its memory kept from one outline to the next.
#[derive(Default)]
struct Ears {
    cutter: earcut::Earcut<f64>,
    holes: Vec<u32>,
    found: Vec<u32>,
}

impl Piece {
    fn add_outline(&mut self, shape: ShapeView<'_>, id: u32, side: f64, ears: &mut Ears) {
        for part in shape.parts() {
            let start = self.corners.len();
            ears.holes.clear();
            for (r, ring) in part.rings().enumerate() {
                if r > 0 {
                    ears.holes.push((self.corners.len() - start) as u32);
                }
                // outer rings run counter-clockwise and holes clockwise, so that the inside is always on the left
                let turned = (signed_area(ring) < 0.0) == (r == 0);
                if turned {
                    self.add_run(ring.iter().rev(), ring.last(), id, shape.bounds());
                } else {
                    self.add_run(ring.iter(), ring.first(), id, shape.bounds());
                }
            }
            let corners = self.corners[start..].iter().map(|c| [f64::from(c.at[0]), f64::from(c.at[1])]);
            ears.cutter.earcut(corners, &ears.holes, &mut ears.found);
            self.triangles.extend(ears.found.iter().map(|k| k + start as u32));
        }
        let (at, room) = middle(shape);
        self.anchors.push(Anchor { at: self.offset_to(at), room: room as f32, id });
        self.spots.push(spot(shape, side, self.first + id));
    }

    fn add_line(&mut self, shape: ShapeView<'_>, id: u32) {
        for ring in shape.rings() {
            self.add_run(ring.iter(), None, id, shape.bounds());
        }
    }

    /// Adds the places of a ring or line; `back_to` closes a ring.
    fn add_run<'a>(&mut self, places: impl Iterator<Item = &'a Local>, back_to: Option<&'a Local>, id: u32, within: &Bounds) {
        for &p in places.chain(back_to) {
            let up = if within.height() > 0.0 { (p.y - within.min.y) / within.height() } else { 0.0 };
            let corner = Corner { at: self.offset_to(p), id: id | (((up * 65_535.0) as u32) << 12) };
            self.corners.push(corner);
        }
        if let Some(last) = self.corners.last_mut() {
            last.id |= LAST;
        }
    }

    fn offset_to(&self, p: Local) -> [f32; 2] {
        [(p.x - self.origin.x) as f32, (p.y - self.origin.y) as f32]
    }

    /// Counts the outline just added in every step of size that it reaches.
    fn count_share(&mut self, side: f64) {
        let so_far =
            Share { corners: self.corners.len() as u32, triangle_corners: self.triangles.len() as u32, anchors: self.anchors.len() as u32 };
        for (step, share) in self.shares.iter_mut().enumerate() {
            if side >= least_size(step) {
                *share = so_far;
            }
        }
    }
}

/// A box of the outline's own area and of the proportions of the box round it.
fn spot(shape: ShapeView<'_>, side: f64, outline: u32) -> Spot {
    let b = shape.bounds();
    let shrink = if side > 0.0 { side / (b.width() * b.height()).sqrt() } else { 0.0 };
    Spot { middle: b.centre(), size: [b.width() * shrink, b.height() * shrink].map(|v| v as f32), side: side as f32, outline }
}

/// A place well inside an outline, and its distance from the edge in metres: the centroid of the largest part's ring where
/// that is deep enough, or else the deepest place of a coarse grid.
pub(super) fn middle(shape: ShapeView<'_>) -> (Local, f64) {
    let b = shape.bounds();
    let centre = b.centre();
    let enough = 0.3 * b.width().min(b.height());
    let mut best = (centre, depth(shape, centre));
    if best.1 >= enough || shape.places().len() > 2_000 {
        return (best.0, best.1.max(0.0));
    }
    const STEPS: u32 = 7;
    for i in 0..STEPS * STEPS {
        let along = |k: u32| (f64::from(k) + 0.5) / f64::from(STEPS);
        let p = Local { x: b.min.x + along(i % STEPS) * b.width(), y: b.min.y + along(i / STEPS) * b.height() };
        let d = depth(shape, p);
        if d > best.1 {
            best = (p, d);
        }
    }
    (best.0, best.1.max(0.0))
}

/// Distance from the edge in metres, below 0 outside.
fn depth(shape: ShapeView<'_>, p: Local) -> f64 {
    let mut least = f64::INFINITY;
    for ring in shape.rings() {
        let Some(&last) = ring.last() else { continue };
        let mut a = last;
        for &b in ring {
            least = least.min(from_edge(p, a, b));
            a = b;
        }
    }
    let distance = if least.is_finite() { least.sqrt() } else { 0.0 };
    if shape.holds(p) { distance } else { -distance }
}

/// Square of the distance from a place to an edge.
fn from_edge(p: Local, a: Local, b: Local) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let length = dx * dx + dy * dy;
    let along = if length > 0.0 { (((p.x - a.x) * dx + (p.y - a.y) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
    let (ex, ey) = (p.x - a.x - along * dx, p.y - a.y - along * dy);
    ex * ex + ey * ey
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64) -> Local {
        Local { x, y }
    }

    fn drawn_area(piece: &Piece, triangles: &[u32]) -> f64 {
        let p = |k: u32| piece.corners[k as usize].at.map(f64::from);
        let twice = triangles.chunks(3).map(|t| {
            let [a, b, c] = [p(t[0]), p(t[1]), p(t[2])];
            ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])).abs()
        });
        twice.sum::<f64>() / 2.0
    }

    /// A courtyard lot, a lot of two parts, nothing, and an L: areas worked out by hand.
    fn lots() -> Shapes {
        let mut s = Shapes::default();
        s.push_ring(&[at(0.0, 0.0), at(40.0, 0.0), at(40.0, 30.0), at(0.0, 30.0)]);
        s.push_ring(&[at(10.0, 10.0), at(10.0, 20.0), at(20.0, 20.0), at(20.0, 10.0)]);
        s.end_part();
        s.end_shape();
        for x in [50.0, 70.0] {
            s.push_ring(&[at(x, 0.0), at(x + 10.0, 0.0), at(x + 10.0, 10.0)]);
            s.end_part();
        }
        s.end_shape();
        s.end_shape();
        s.push_ring(&[at(0.0, 50.0), at(90.0, 50.0), at(90.0, 60.0), at(10.0, 60.0), at(10.0, 90.0), at(0.0, 90.0)]);
        s.end_part();
        s.end_shape();
        s
    }

    #[test]
    fn triangles_cover_each_outline_once() {
        let s = lots();
        let piece = cut(&s, 0..s.len(), Kind::Outlines);
        assert!((drawn_area(&piece, &piece.triangles) - (1100.0 + 100.0 + 1200.0)).abs() < 1e-2);
        assert_eq!(piece.anchors.len(), 3);
        for a in &piece.anchors {
            let p = at(piece.origin.x + f64::from(a.at[0]), piece.origin.y + f64::from(a.at[1]));
            assert!(s.get(a.id as usize).holds(p), "the mark of {} lies outside it", a.id);
            assert!(a.room > 2.0, "no room for the mark of {}", a.id);
        }
    }

    #[test]
    fn large_outlines_come_first_and_shares_shrink() {
        let s = lots();
        let piece = cut(&s, 0..s.len(), Kind::Outlines);
        let step = (0..SIZES).find(|&k| least_size(k) == 16.0).unwrap();
        let share = piece.shares[step];
        assert!((drawn_area(&piece, &piece.triangles[..share.triangle_corners as usize]) - 2300.0).abs() < 1e-2);
        assert!(piece.shares.windows(2).all(|w| w[0].corners >= w[1].corners && w[0].anchors >= w[1].anchors));
        assert_eq!(piece.shares[0].corners as usize, piece.corners.len());
    }

    #[test]
    fn every_ring_ends_where_it_began() {
        let s = lots();
        let piece = cut(&s, 0..s.len(), Kind::Outlines);
        let mut edges = 0;
        let mut ring_start = 0;
        for (k, c) in piece.corners.iter().enumerate() {
            if c.id & LAST != 0 {
                assert_eq!(c.at, piece.corners[ring_start].at);
                ring_start = k + 1;
            } else {
                edges += 1;
            }
        }
        assert_eq!(edges, s.place_count());
    }

    #[test]
    fn pieces_stay_small_and_together() {
        let mut s = Shapes::default();
        for i in 0..10_000 {
            let far = if i >= 9_000 { 3.0e6 } else { 0.0 };
            let x = far + f64::from(i);
            s.push_ring(&[at(x, 0.0), at(x + 1.0, 0.0), at(x + 1.0, 1.0)]);
            s.end_part();
            s.end_shape();
        }
        let found = runs(&s);
        assert_eq!(found, [0..2048, 2048..4096, 4096..6144, 6144..8192, 8192..9000, 9000..10_000]);
        for run in found {
            let piece = cut(&s, run, Kind::Outlines);
            assert!(piece.bounds.width() < WIDEST && piece.corners.len() < 65_536);
        }
        assert!(runs(&Shapes::default()).is_empty());
    }

    #[test]
    fn what_is_not_a_number_is_left_out() {
        let mut s = lots();
        s.push_ring(&[at(f64::NAN, 0.0), at(1.0, 0.0), at(1.0, 1.0)]);
        s.end_part();
        s.end_shape();
        let piece = cut(&s, 0..s.len(), Kind::Outlines);
        assert_eq!(piece.anchors.len(), 3);
        assert!(piece.corners.iter().all(|c| c.at[0].is_finite() && c.at[1].is_finite()));
    }
}
