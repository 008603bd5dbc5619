//! Outlines as a file holds them: numbers in whatever coordinate system the file names.

/// Outlines, lines and points of a file in its own coordinates, in the same flat columns as [`super::Shapes`].
///
/// Rings of polygons come without their first place repeated at the end; a line is a part with one open ring; a point is a
/// part with a ring of one place. `x` is east or longitude, `y` north or latitude, always in this order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RawShapes {
    /// All coordinates, ring after ring.
    pub xy: Vec<[f64; 2]>,
    /// Where each ring ends in `xy`.
    pub ring_ends: Vec<u32>,
    /// Where each part ends in `ring_ends`.
    pub part_ends: Vec<u32>,
    /// Where each row's shape ends in `part_ends`.
    pub shape_ends: Vec<u32>,
}

impl RawShapes {
    /// How many shapes there are, empty ones counted.
    pub fn len(&self) -> usize {
        self.shape_ends.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.shape_ends.is_empty()
    }

    /// Ends the ring being built.
    pub fn end_ring(&mut self) {
        self.ring_ends.push(self.xy.len() as u32);
    }

    /// Ends the part being built.
    pub fn end_part(&mut self) {
        self.part_ends.push(self.ring_ends.len() as u32);
    }

    /// Ends the shape being built.
    pub fn end_shape(&mut self) {
        self.shape_ends.push(self.part_ends.len() as u32);
    }

    /// Takes back everything since the last ended shape, as when a row turns out to be broken.
    pub fn drop_unfinished(&mut self) {
        let parts = self.shape_ends.last().map_or(0, |&n| n as usize);
        self.part_ends.truncate(parts);
        let rings = self.part_ends.last().map_or(0, |&n| n as usize);
        self.ring_ends.truncate(rings);
        let places = self.ring_ends.last().map_or(0, |&n| n as usize);
        self.xy.truncate(places);
    }

    /// The parts of a shape, each as its rings: the outer one, then the holes.
    pub fn parts(&self, shape: usize) -> impl ExactSizeIterator<Item = impl ExactSizeIterator<Item = &[[f64; 2]]>> {
        let before = |ends: &[u32], i: usize| if i == 0 { 0 } else { ends[i - 1] as usize };
        (before(&self.shape_ends, shape)..self.shape_ends[shape] as usize).map(move |part| {
            let rings = before(&self.part_ends, part)..self.part_ends[part] as usize;
            rings.map(move |ring| &self.xy[before(&self.ring_ends, ring)..self.ring_ends[ring] as usize])
        })
    }

    /// The smallest and largest finite coordinates, `[[x, y] least, [x, y] largest]`; `None` when there is no finite place.
    pub fn extent(&self) -> Option<[[f64; 2]; 2]> {
        let mut e = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
        for p in self.xy.iter().filter(|p| p[0].is_finite() && p[1].is_finite()) {
            for k in 0..2 {
                e[0][k] = e[0][k].min(p[k]);
                e[1][k] = e[1][k].max(p[k]);
            }
        }
        (e[0][0] <= e[1][0]).then_some(e)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_broken_row_leaves_no_trace() {
        let mut r = RawShapes::default();
        r.xy.push([1.0, 2.0]);
        r.end_ring();
        r.end_part();
        r.end_shape();
        let before = r.clone();
        r.xy.extend([[3.0, 4.0], [5.0, 6.0]]);
        r.end_ring();
        r.xy.push([7.0, 8.0]);
        r.drop_unfinished();
        assert_eq!(r, before);
        assert_eq!(r.extent(), Some([[1.0, 2.0], [1.0, 2.0]]));
    }
}
