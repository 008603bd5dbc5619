//! Rings round sources cut down to what their union needs: most of a ring lies inside the rings of its neighbours, and a union takes
//! time for every edge it is given.

use std::cmp::Ordering;

/// How far inside a neighbour a corner must lie to be left out, in metres: more than a union rounds by.
const INSIDE: f64 = 0.001;
/// How many of its nearest neighbours a ring is laid against.
const NEIGHBOURS: usize = 12;

/// A convex outline, counter-clockwise, the first corner not repeated.
#[derive(Clone, Debug, Default)]
pub(super) struct Convex {
    corners: Vec<[f64; 2]>,
    /// For each edge its normal pointing inwards, and what it gives on the edge: a place lies so many metres inside.
    edges: Vec<[f64; 3]>,
    middle: [f64; 2],
    /// A place nearer to the middle than this lies far enough inside, squared; none does where it is negative.
    well_inside: f64,
    /// A place farther from the middle than this lies outside, squared.
    well_outside: f64,
}

impl Convex {
    /// An outline of at least three corners.
    pub(super) fn new(corners: Vec<[f64; 2]>) -> Self {
        let n = corners.len() as f64;
        let middle = corners.iter().fold([0.0; 2], |m, c| [m[0] + c[0] / n, m[1] + c[1] / n]);
        let mut new = Self { corners, edges: Vec::new(), middle, well_inside: 0.0, well_outside: 0.0 };
        new.measure();
        new
    }

    /// Works out what [`Convex::holds`] asks of the corners.
    fn measure(&mut self) {
        self.edges = edges(&self.corners);
        let to_edge = |[x, y, on_it]: &[f64; 3]| x * self.middle[0] + y * self.middle[1] - on_it;
        let least = self.edges.iter().map(to_edge).fold(f64::INFINITY, f64::min) - INSIDE;
        self.well_inside = least * least.abs();
        self.well_outside = self.corners.iter().map(|&c| self.to_middle(c)).fold(0.0, f64::max);
    }

    /// How far a place is from the middle, squared.
    fn to_middle(&self, p: [f64; 2]) -> f64 {
        (p[0] - self.middle[0]).powi(2) + (p[1] - self.middle[1]).powi(2)
    }

    /// Its corners; none when others hold it whole.
    pub(super) fn into_corners(self) -> Vec<[f64; 2]> {
        self.corners
    }

    fn holds(&self, p: [f64; 2]) -> bool {
        let away = self.to_middle(p);
        if away < self.well_inside || away > self.well_outside {
            return away < self.well_inside;
        }
        self.edges.chunks(8).all(|some| some.iter().all(|[x, y, on_it]| x * p[0] + y * p[1] - on_it >= INSIDE))
    }

    /// Leaves out every corner that lies inside another outline together with the corners before and after it. The straight line
    /// that takes their place lies inside the other outline too, which is convex, and so does all ground that is lost.
    fn cut_by(&mut self, other: &Self) {
        let n = self.corners.len();
        if self.corners == other.corners {
            self.corners.clear();
        } else {
            let inside: Vec<bool> = self.corners.iter().map(|&c| other.holds(c)).collect();
            let among = |k: usize| inside[(k + n - 1) % n] && inside[k] && inside[(k + 1) % n];
            let mut number = 0..;
            self.corners.retain(|_| !number.next().is_some_and(among));
        }
    }
}

fn edges(corners: &[[f64; 2]]) -> Vec<[f64; 3]> {
    let ends = corners.iter().zip(corners.iter().cycle().skip(1));
    let edge = |(a, b): (&[f64; 2], &[f64; 2])| {
        let (x, y) = (a[1] - b[1], b[0] - a[0]);
        let long = (x * x + y * y).sqrt();
        let (x, y) = (x / long, y / long);
        [x, y, x * a[0] + y * a[1]]
    };
    ends.filter(|(a, b)| a != b).map(edge).collect()
}

/// Cuts rings down, one after the other, each by what is left of its neighbours: the ground that all cover together stays the same
/// at every step.
pub(super) fn thin(rings: &mut [Convex]) {
    for i in 0..rings.len() {
        let here = rings[i].middle;
        let far = |c: &Convex| c.to_middle(here);
        let mut near: Vec<(f64, usize)> = rings.iter().enumerate().filter(|(j, _)| *j != i).map(|(j, c)| (far(c), j)).collect();
        let order = |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
        nearest_first(&mut near, NEIGHBOURS, order);
        let mut ring = std::mem::replace(&mut rings[i], Convex { middle: here, ..Convex::default() });
        let whole = ring.corners.len();
        for &(_, j) in near.iter().filter(|(_, j)| !rings[*j].corners.is_empty()) {
            if !ring.corners.is_empty() {
                ring.cut_by(&rings[j]);
            }
        }
        if ring.corners.len() < whole {
            ring.measure();
        }
        rings[i] = ring;
    }
}

/// Keeps the first so many of a list in some order.
fn nearest_first<T>(list: &mut Vec<T>, count: usize, order: impl Fn(&T, &T) -> Ordering) {
    if list.len() > count {
        list.select_nth_unstable_by(count, &order);
        list.truncate(count);
    }
    list.sort_unstable_by(order);
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Polygon};
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    fn circle(x: f64, y: f64, radius: f64, sides: u32) -> Vec<[f64; 2]> {
        let at = |k: u32| {
            let (sin, cos) = (f64::from(k) / f64::from(sides) * TAU).sin_cos();
            [x + radius * cos, y + radius * sin]
        };
        (0..sides).map(at).collect()
    }

    fn union(rings: &[Vec<[f64; 2]>]) -> MultiPolygon {
        let polygon = |ring: &Vec<[f64; 2]>| Polygon::new(LineString::new(ring.iter().map(|&[x, y]| Coord { x, y }).collect()), Vec::new());
        geo::unary_union(&rings.iter().map(polygon).collect::<Vec<_>>())
    }

    proptest! {
        /// Against the union of the whole rings by the `geo` crate: not a square decimetre of 7 hectares is lost or gained, and no corner is added.
        #[test]
        fn the_ground_stays_the_same(
            places in prop::collection::vec((0.0..600.0f64, 0.0..600.0f64, 40.0..160.0f64, 12..97_u32), 1..30),
            twice in prop::collection::vec(0..30_usize, 0..4),
        ) {
            let mut whole: Vec<Vec<[f64; 2]>> = places.iter().map(|&(x, y, radius, sides)| circle(x, y, radius, sides)).collect();
            twice.iter().for_each(|&i| whole.push(whole[i % places.len()].clone()));
            let mut rings: Vec<Convex> = whole.iter().cloned().map(Convex::new).collect();
            thin(&mut rings);
            let left: Vec<Vec<[f64; 2]>> = rings.into_iter().map(Convex::into_corners).filter(|c| !c.is_empty()).collect();
            let corners = |rings: &[Vec<[f64; 2]>]| rings.iter().map(Vec::len).sum::<usize>();
            prop_assert!(corners(&left) <= corners(&whole));
            let (all, thinned) = (union(&whole), union(&left));
            prop_assert!(all.xor(&thinned).unsigned_area() < 0.01);
        }
    }

    #[test]
    fn of_rings_in_one_place_one_is_left_and_a_row_loses_most_of_its_corners() {
        let mut same = vec![Convex::new(circle(0.0, 0.0, 150.0, 96)); 5];
        thin(&mut same);
        assert_eq!(same.iter().map(|c| c.corners.len()).collect::<Vec<_>>(), [0, 0, 0, 0, 96]);
        let mut row: Vec<Convex> = (0..40).map(|k| Convex::new(circle(f64::from(k) * 20.0, 0.0, 150.0, 96))).collect();
        thin(&mut row);
        let left: usize = row.iter().map(|c| c.corners.len()).sum();
        assert!(left < 40 * 96 / 4, "{left}");
    }
}
