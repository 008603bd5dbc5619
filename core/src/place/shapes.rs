//! Many outlines in one flat arena: vertices, and where rings, parts and outlines end.

use super::gather::gathered;
use super::{Bounds, Local, RawShapes};

/// Outlines of many premises or blocks, or the runs of many streets, in four flat columns.
///
/// An outline is a list of parts (polygons); a part is a list of rings, the first its outer ring, the rest its holes; a ring
/// is a list of places without the first one repeated at the end. An outline with no part is "no outline". For streets a part
/// has one open ring: the run of the centreline.
///
/// ```
/// use yardring_core::place::{Local, Shapes};
/// let mut shapes = Shapes::default();
/// shapes.push_ring(&[Local { x: 0.0, y: 0.0 }, Local { x: 20.0, y: 0.0 }, Local { x: 20.0, y: 30.0 }, Local { x: 0.0, y: 30.0 }]);
/// shapes.end_part();
/// shapes.end_shape();
/// shapes.end_shape(); // a premise without an outline
/// assert_eq!(shapes.len(), 2);
/// assert_eq!(shapes.get(0).area(), 600.0);
/// assert!(shapes.get(1).is_empty());
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shapes {
    places: Vec<Local>,
    ring_ends: Vec<u32>,
    part_ends: Vec<u32>,
    shape_ends: Vec<u32>,
    bounds: Vec<Bounds>,
}

impl Shapes {
    /// An empty arena with room for some outlines and places.
    pub fn with_capacity(shapes: usize, places: usize) -> Self {
        Self {
            places: Vec::with_capacity(places),
            ring_ends: Vec::with_capacity(shapes),
            part_ends: Vec::with_capacity(shapes),
            shape_ends: Vec::with_capacity(shapes),
            bounds: Vec::with_capacity(shapes),
        }
    }

    /// So many empty outlines.
    pub(crate) fn empty(count: usize) -> Self {
        Self { shape_ends: vec![0; count], bounds: vec![Bounds::EMPTY; count], ..Self::default() }
    }

    /// The outlines of a file once `change` has turned its coordinates into metres of the district frame. The columns are
    /// moved, not copied.
    ///
    /// ```
    /// use yardring_core::place::{RawShapes, Shapes};
    /// let mut raw = RawShapes::default();
    /// raw.xy.extend([[0.0, 0.0], [2.0, 0.0], [0.0, 1.0]]);
    /// raw.end_ring();
    /// raw.end_part();
    /// raw.end_shape();
    /// let shapes = Shapes::from_raw(raw, |xy| xy.iter_mut().for_each(|p| *p = [p[0] * 10.0, p[1] * 10.0]));
    /// assert_eq!(shapes.get(0).area(), 100.0);
    /// ```
    pub fn from_raw(mut raw: RawShapes, change: impl FnOnce(&mut [[f64; 2]])) -> Self {
        change(&mut raw.xy);
        let bounds = vec![Bounds::EMPTY; raw.shape_ends.len()];
        let mut shapes = Self::of_columns(raw, bounds);
        shapes.move_places(|_| ());
        shapes
    }

    /// How many outlines there are, empty ones counted.
    pub fn len(&self) -> usize {
        self.shape_ends.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.shape_ends.is_empty()
    }

    /// Adds a ring to the part being built. The first place must not be repeated at the end.
    pub fn push_ring(&mut self, ring: &[Local]) {
        self.places.extend_from_slice(ring);
        self.end_ring();
    }

    /// Adds one place to the ring being built.
    pub fn push_place(&mut self, p: Local) {
        self.places.push(p);
    }

    /// Ends the ring being built.
    pub fn end_ring(&mut self) {
        self.ring_ends.push(self.places.len() as u32);
    }

    /// Ends the part being built.
    pub fn end_part(&mut self) {
        self.part_ends.push(self.ring_ends.len() as u32);
    }

    /// Ends the outline being built.
    pub fn end_shape(&mut self) {
        let from = self.shape_ends.last().map_or(0, |&part| self.places_before_part(part));
        self.shape_ends.push(self.part_ends.len() as u32);
        self.bounds.push(Bounds::of(&self.places[from..]));
    }

    /// Copies of so many outlines of other arenas, each asked for by its number in the new one; `None` gives no outline. Parts of
    /// the arena are filled side by side.
    ///
    /// ```
    /// use yardring_core::place::{Local, Shapes};
    /// let mut shapes = Shapes::default();
    /// shapes.push_ring(&[Local { x: 7.0, y: 8.0 }]);
    /// shapes.end_part();
    /// shapes.end_shape();
    /// let twice = Shapes::gathered(3, |i| (i != 1).then(|| shapes.get(0)));
    /// assert_eq!((twice.len(), twice.get(1).is_empty(), twice.get(2).places()), (3, true, shapes.get(0).places()));
    /// ```
    pub fn gathered<'s>(count: usize, outline: impl Fn(usize) -> Option<ShapeView<'s>> + Sync) -> Self {
        gathered(count, &outline)
    }

    /// Adds a copy of an outline of this or another arena.
    pub fn push_view(&mut self, view: ShapeView<'_>) {
        for part in view.parts() {
            for ring in part.rings() {
                self.push_ring(ring);
            }
            self.end_part();
        }
        self.shape_ends.push(self.part_ends.len() as u32);
        self.bounds.push(*view.bounds());
    }

    /// Forgets all outlines and keeps their memory.
    pub(crate) fn clear(&mut self) {
        self.places.clear();
        self.ring_ends.clear();
        self.part_ends.clear();
        self.shape_ends.clear();
        self.bounds.clear();
    }

    /// Makes room for so many times the outlines of another arena.
    pub(crate) fn reserve_times(&mut self, times: f64, like: &Self) {
        self.places.reserve((like.places.len() as f64 * times) as usize);
        self.ring_ends.reserve((like.ring_ends.len() as f64 * times) as usize);
        self.part_ends.reserve((like.part_ends.len() as f64 * times) as usize);
        self.shape_ends.reserve((like.shape_ends.len() as f64 * times) as usize);
        self.bounds.reserve((like.bounds.len() as f64 * times) as usize);
    }

    /// Adds all outlines of another arena at the end.
    pub fn append(&mut self, other: &Self) {
        let before = (self.places.len() as u32, self.ring_ends.len() as u32, self.part_ends.len() as u32);
        self.places.extend_from_slice(&other.places);
        self.ring_ends.extend(other.ring_ends.iter().map(|end| before.0 + end));
        self.part_ends.extend(other.part_ends.iter().map(|end| before.1 + end));
        self.shape_ends.extend(other.shape_ends.iter().map(|end| before.2 + end));
        self.bounds.extend_from_slice(&other.bounds);
    }

    /// One outline.
    ///
    /// # Panics
    /// When there is no outline with that number.
    pub fn get(&self, i: usize) -> ShapeView<'_> {
        let first = if i == 0 { 0 } else { self.shape_ends[i - 1] };
        ShapeView { arena: self, first_part: first, last_part: self.shape_ends[i], bounds: &self.bounds[i] }
    }

    /// All outlines in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = ShapeView<'_>> {
        (0..self.len()).map(|i| self.get(i))
    }

    /// The upright boxes of all outlines, in order.
    pub fn bounds(&self) -> &[Bounds] {
        &self.bounds
    }

    /// The box round all outlines.
    pub fn extent(&self) -> Bounds {
        self.bounds.iter().fold(Bounds::EMPTY, |b, o| b.union(*o))
    }

    /// How many places all outlines have together.
    pub fn place_count(&self) -> usize {
        self.places.len()
    }

    /// Moves every place, as from one frame to another, and draws the boxes anew.
    pub fn move_places(&mut self, change: impl FnOnce(&mut [Local])) {
        change(&mut self.places);
        let mut from = 0;
        for i in 0..self.shape_ends.len() {
            let to = self.places_before_part(self.shape_ends[i]);
            self.bounds[i] = Bounds::of(&self.places[from..to]);
            from = to;
        }
    }

    /// The outlines in another order; `order` names each outline to take, by its present number.
    #[must_use]
    pub fn reordered(&self, order: &[u32]) -> Self {
        Self::gathered(order.len(), |i| Some(self.get(order[i] as usize)))
    }

    /// The arena that some columns make.
    pub(super) fn of_columns(raw: RawShapes, bounds: Vec<Bounds>) -> Self {
        let RawShapes { xy, ring_ends, part_ends, shape_ends } = raw;
        // Collecting in place: same size and alignment, so the allocation is kept.
        let places = xy.into_iter().map(|[x, y]| Local { x, y }).collect();
        Self { places, ring_ends, part_ends, shape_ends, bounds }
    }

    fn places_before_ring(&self, ring: u32) -> usize {
        if ring == 0 { 0 } else { self.ring_ends[ring as usize - 1] as usize }
    }

    fn rings_before_part(&self, part: u32) -> u32 {
        if part == 0 { 0 } else { self.part_ends[part as usize - 1] }
    }

    fn places_before_part(&self, part: u32) -> usize {
        self.places_before_ring(self.rings_before_part(part))
    }
}

/// One outline of a [`Shapes`] arena.
#[derive(Clone, Copy, Debug)]
pub struct ShapeView<'a> {
    arena: &'a Shapes,
    first_part: u32,
    last_part: u32,
    bounds: &'a Bounds,
}

impl<'a> ShapeView<'a> {
    /// Whether it has no part at all.
    pub fn is_empty(&self) -> bool {
        self.first_part == self.last_part
    }

    /// The upright box round it; empty when it has no part.
    pub fn bounds(&self) -> &'a Bounds {
        self.bounds
    }

    /// Its parts.
    pub fn parts(self) -> impl ExactSizeIterator<Item = PartView<'a>> {
        (self.first_part..self.last_part).map(move |p| PartView {
            arena: self.arena,
            first_ring: self.arena.rings_before_part(p),
            last_ring: self.arena.part_ends[p as usize],
        })
    }

    /// All its rings, outer ones and holes, part after part.
    pub fn rings(self) -> impl ExactSizeIterator<Item = &'a [Local]> {
        let first = self.arena.rings_before_part(self.first_part);
        let last = self.arena.rings_before_part(self.last_part);
        (first..last).map(move |r| self.arena.ring(r))
    }

    /// All its places, ring after ring.
    pub fn places(self) -> &'a [Local] {
        &self.arena.places[self.arena.places_before_part(self.first_part)..self.arena.places_before_part(self.last_part)]
    }

    /// How many places, rings and parts it has.
    pub(super) fn counts(self) -> [usize; 3] {
        [self.places().len(), self.rings().len(), self.parts().len()]
    }

    /// Its area in square metres: outer rings less their holes, whichever way the rings run.
    pub fn area(self) -> f64 {
        self.parts().map(PartView::area).sum()
    }

    /// Whether a place lies inside or on the edge (even-odd over all rings).
    pub fn holds(self, p: Local) -> bool {
        self.bounds.holds(p) && {
            let mut inside = false;
            for ring in self.rings() {
                match crosses(ring, p) {
                    Crossing::OnEdge => return true,
                    Crossing::Times(n) => inside ^= n % 2 == 1,
                }
            }
            inside
        }
    }
}

/// One polygon of an outline: an outer ring and its holes.
#[derive(Clone, Copy, Debug)]
pub struct PartView<'a> {
    arena: &'a Shapes,
    first_ring: u32,
    last_ring: u32,
}

impl<'a> PartView<'a> {
    /// Its rings: the outer one, then the holes.
    pub fn rings(self) -> impl ExactSizeIterator<Item = &'a [Local]> {
        (self.first_ring..self.last_ring).map(move |r| self.arena.ring(r))
    }

    /// Its area in square metres, holes taken off.
    pub fn area(self) -> f64 {
        let mut rings = self.rings();
        let outer = rings.next().map_or(0.0, |r| signed_area(r).abs());
        outer - rings.map(|r| signed_area(r).abs()).sum::<f64>()
    }
}

impl Shapes {
    fn ring(&self, r: u32) -> &[Local] {
        &self.places[self.places_before_ring(r)..self.ring_ends[r as usize] as usize]
    }
}

/// Area of a ring in square metres, positive when it runs counter-clockwise. Worked out from its first place, so that
/// large coordinates lose no digits.
pub fn signed_area(ring: &[Local]) -> f64 {
    let Some(&o) = ring.first() else { return 0.0 };
    let twice: f64 = ring.windows(2).map(|w| (w[0].x - o.x) * (w[1].y - o.y) - (w[1].x - o.x) * (w[0].y - o.y)).sum();
    twice / 2.0
}

enum Crossing {
    OnEdge,
    Times(u32),
}

/// How often the ray from a place towards the east crosses a ring.
fn crosses(ring: &[Local], p: Local) -> Crossing {
    let mut times = 0;
    let Some(&last) = ring.last() else { return Crossing::Times(0) };
    let mut a = last;
    for &b in ring {
        let side = (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
        let between = p.x >= a.x.min(b.x) && p.x <= a.x.max(b.x) && p.y >= a.y.min(b.y) && p.y <= a.y.max(b.y);
        if side == 0.0 && between {
            return Crossing::OnEdge;
        }
        if (a.y > p.y) != (b.y > p.y) && (side > 0.0) == (b.y > a.y) {
            times += 1;
        }
        a = b;
    }
    Crossing::Times(times)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64) -> Local {
        Local { x, y }
    }

    fn square_with_hole() -> Shapes {
        let mut s = Shapes::default();
        s.push_ring(&[at(0.0, 0.0), at(10.0, 0.0), at(10.0, 10.0), at(0.0, 10.0)]);
        s.push_ring(&[at(4.0, 4.0), at(4.0, 6.0), at(6.0, 6.0), at(6.0, 4.0)]);
        s.end_part();
        s.end_shape();
        s
    }

    #[test]
    fn holes_are_outside_and_take_their_area_off() {
        let s = square_with_hole();
        assert_eq!(s.get(0).area(), 96.0);
        assert!(s.get(0).holds(at(1.0, 1.0)) && s.get(0).holds(at(10.0, 3.0)) && s.get(0).holds(at(0.0, 0.0)));
        assert!(!s.get(0).holds(at(5.0, 5.0)) && !s.get(0).holds(at(11.0, 1.0)));
    }

    #[test]
    fn reordering_keeps_outlines_whole() {
        let mut s = square_with_hole();
        s.end_shape();
        s.push_ring(&[at(20.0, 0.0), at(21.0, 0.0), at(20.0, 1.0)]);
        s.end_part();
        s.end_shape();
        let r = s.reordered(&[2, 0, 1]);
        assert_eq!((r.get(0).area(), r.get(1).area(), r.get(2).is_empty()), (0.5, 96.0, true));
        assert_eq!(r.get(1).bounds().max, at(10.0, 10.0));
        assert!(r.bounds()[2].is_empty());
    }
}
