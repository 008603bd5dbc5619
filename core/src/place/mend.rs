//! Making valid what breaks the simple-features rules, keeping every part.

use geo::MakeValid;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::overlay::OverlayOptions;
use i_overlay::float::simplify::SimplifyShape;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicU64, Ordering};

use super::segment::Xy;
use super::validity::{Judge, invalid_among};
use super::{RawShapes, ShapeView, Shapes};
use crate::job::{Cancelled, Watch};

/// Numbers larger than this are no coordinates of any system.
const BEYOND: f64 = 1e12;

/// What was done to an outline that broke the simple-features rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mending {
    /// It was made valid.
    Mended,
    /// Nothing of it has an area, or no place of it is finite: it is no outline now.
    Vanished,
}

/// Makes valid the shapes that are not, in the file's own coordinates: the mended ones in their order, and for each which shape it
/// stands for, numbers rising, and what was done.
///
/// A ring that crosses itself is split at its crossings and every part is kept; what several rings cover is inside when an
/// odd number of them covers it (the even-odd rule), a ring that is written twice counting once. The corners of mended shapes stay as
/// they are to the last bit. For outlines only: a line or a single place would vanish.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn mend(raw: &RawShapes, watch: &dyn Watch) -> Result<(RawShapes, Vec<(u32, Mending)>), Cancelled> {
    let total = raw.len() as u64;
    watch.step("looking at outlines", 0, total)?;
    let invalid = invalid_among(raw, watch);
    watch.step("mending outlines", 0, invalid.len() as u64)?;
    let done = AtomicU64::new(0);
    let mended: Vec<Option<Polygons>> = invalid
        .par_iter()
        .map(|&i| {
            let rings = raw.parts(i as usize).flatten();
            let whole = (!watch.cancelled()).then(|| even_odd(&rings.map(<[Xy]>::to_vec).collect::<Vec<_>>()));
            watch.progress("mending outlines", done.fetch_add(1, Ordering::Relaxed) + 1, invalid.len() as u64);
            whole
        })
        .collect();
    let mended: Vec<Polygons> = mended.into_iter().collect::<Option<_>>().ok_or(Cancelled)?;
    let said = invalid.iter().zip(&mended).map(|(&i, m)| (i, if m.is_empty() { Mending::Vanished } else { Mending::Mended })).collect();
    let mut whole = RawShapes::default();
    mended.iter().for_each(|polygons| push(&mut whole, polygons));
    Ok((whole, said))
}

/// One outline made valid, by the rules of [`mend`], as the only outline of an arena; without a part when nothing of it has
/// an area.
///
/// ```
/// use yardring_core::place::{Local, Shapes, is_valid, mended};
/// let at = |x, y| Local { x, y };
/// let mut shapes = Shapes::default();
/// shapes.push_ring(&[at(0.0, 0.0), at(2.0, 2.0), at(2.0, 0.0), at(0.0, 2.0)]); // a bow-tie
/// shapes.end_part();
/// shapes.end_shape();
/// let whole = mended(shapes.get(0));
/// assert!(is_valid(whole.get(0)));
/// assert_eq!((whole.get(0).parts().len(), whole.get(0).area()), (2, 2.0));
/// ```
pub fn mended(shape: ShapeView<'_>) -> Shapes {
    let rings: Vec<Vec<Xy>> = shape.rings().map(|ring| ring.iter().map(|p| [p.x, p.y]).collect()).collect();
    let mut raw = RawShapes::default();
    push(&mut raw, &even_odd(&rings));
    Shapes::from_raw(raw, |_| ())
}

/// Polygons as rings, the outer one first.
type Polygons = Vec<Vec<Vec<Xy>>>;

fn push(raw: &mut RawShapes, polygons: &Polygons) {
    for rings in polygons {
        for ring in rings {
            raw.xy.extend_from_slice(ring);
            raw.end_ring();
        }
        raw.end_part();
    }
    raw.end_shape();
}

/// The ground that an odd number of rings covers, as valid polygons. The first way whose answer is valid is taken.
fn even_odd(rings: &[Vec<Xy>]) -> Polygons {
    let rings: Vec<Vec<Xy>> = once(rings.iter().map(|r| usable(r)).filter(|r| r.len() >= 3).collect());
    if is_too_fine(&rings) {
        return by_triangles(&rings).filter(are_valid).unwrap_or_default();
    }
    let split = by_sweep(&rings);
    let snapped = snapped(&split, &rings);
    if are_valid(&snapped) {
        return snapped;
    }
    if are_valid(&split) {
        return split;
    }
    by_triangles(&rings).filter(are_valid).unwrap_or_else(|| by_sweep(&split.concat()))
}

/// The rings without those that are written again, from whichever place on and whichever way round: two of a kind would leave nothing.
fn once(mut rings: Vec<Vec<Xy>>) -> Vec<Vec<Xy>> {
    let mut seen = BTreeSet::new();
    if rings.len() > 1 {
        rings.retain(|ring| seen.insert(written(ring)));
    }
    rings
}

/// A ring from its least place on, the way round whose second place is the lesser.
fn written(ring: &[Xy]) -> Vec<[u64; 2]> {
    let before = |a: Xy, b: Xy| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]));
    let n = ring.len();
    let Some(least) = (0..n).min_by(|&a, &b| before(ring[a], ring[b])) else { return Vec::new() };
    let forward = before(ring[(least + 1) % n], ring[(least + n - 1) % n]).is_le();
    let at = |k: usize| ring[if forward { (least + k) % n } else { (least + n - k) % n }];
    // Nought and minus nought are one place.
    (0..n).map(|k| at(k).map(|v| (v + 0.0).to_bits())).collect()
}

/// Whether some edge is so short beside the whole that the sweep's grid of 2³⁰ steps might mistake what lies where: a lot with a
/// corner in another continent.
fn is_too_fine(rings: &[Vec<Xy>]) -> bool {
    let spread = |axis: usize| {
        let of = rings.iter().flatten().map(|p| p[axis]);
        of.clone().fold(f64::NEG_INFINITY, f64::max) - of.fold(f64::INFINITY, f64::min)
    };
    let edges = rings.iter().flat_map(|r| r.iter().zip(r.iter().cycle().skip(1)));
    let lengths = edges.map(|(a, b)| (a[0] - b[0]).abs().max((a[1] - b[1]).abs())).filter(|&length| length > 0.0);
    lengths.fold(f64::INFINITY, f64::min) * 2f64.powi(20) < spread(0).max(spread(1))
}

/// A ring's places without those that are no coordinates.
fn usable(ring: &[Xy]) -> Vec<Xy> {
    ring.iter().copied().filter(|p| p[0].abs() < BEYOND && p[1].abs() < BEYOND).collect()
}

fn are_valid(polygons: &Polygons) -> bool {
    let mut judge = Judge::default();
    for (part, rings) in polygons.iter().enumerate() {
        for ring in rings {
            judge.add_ring(part, ring.iter().copied());
        }
    }
    judge.verdict()
}

/// Splits the rings at their crossings on a grid of 2³⁰ steps over them, and joins what is inside.
fn by_sweep(rings: &[Vec<Xy>]) -> Polygons {
    let options = OverlayOptions { preserve_input_collinear: true, preserve_output_collinear: true, ogc: true, ..Default::default() };
    let polygons: Polygons = rings.to_vec().simplify_shape_custom(FillRule::EvenOdd, options, Default::default());
    polygons.into_iter().filter(|rings| rings.first().is_some_and(|outer| outer.len() >= 3)).collect()
}

/// The same by a constrained triangulation, which keeps every digit but is slower.
fn by_triangles(rings: &[Vec<Xy>]) -> Option<Polygons> {
    let line = |ring: &Vec<Xy>| ring.iter().map(|p| (p[0], p[1])).collect::<geo::LineString>();
    let polygons: geo::MultiPolygon = rings.iter().map(|ring| geo::Polygon::new(line(ring), Vec::new())).collect();
    let valid = polygons.make_valid().ok()?;
    let open = |line: &geo::LineString| line.0[..line.0.len().saturating_sub(1)].iter().map(|c| [c.x, c.y]).collect();
    Some(valid.iter().map(|p| std::iter::once(p.exterior()).chain(p.interiors()).map(open).collect()).collect())
}

/// The polygons with each corner that lies within two steps of the sweep's grid from a place of the rings put onto it.
fn snapped(polygons: &Polygons, rings: &[Vec<Xy>]) -> Polygons {
    let mut places = rings.concat();
    places.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let spread = |axis: usize| {
        let of = places.iter().map(|p| p[axis]);
        of.clone().fold(f64::NEG_INFINITY, f64::max) - of.fold(f64::INFINITY, f64::min)
    };
    let near = spread(0).max(spread(1)) / 2f64.powi(28);
    let onto = |p: Xy| {
        let from = places.partition_point(|q| q[0] < p[0] - near);
        let close = places[from..].iter().take_while(|q| q[0] <= p[0] + near).filter(|q| (q[1] - p[1]).abs() <= near);
        let off = |q: &Xy| (q[0] - p[0]).hypot(q[1] - p[1]);
        close.min_by(|a, b| off(a).total_cmp(&off(b))).copied().unwrap_or(p)
    };
    let ring_onto = |ring: &Vec<Xy>| {
        let mut ring: Vec<Xy> = ring.iter().map(|p| onto(*p)).collect();
        ring.dedup();
        ring
    };
    polygons.iter().map(|rings| rings.iter().map(ring_onto).collect()).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::job::Unwatched;
    use crate::place::invalid_shapes;
    use crate::place::validity::tests::raw;

    /// The shapes with the mended ones in their places.
    fn exchanged(raw: &RawShapes) -> (RawShapes, Vec<(u32, Mending)>) {
        let (mended, said) = mend(raw, &Unwatched).unwrap();
        assert_eq!(mended.len(), said.len());
        let polygons = |raw: &RawShapes, i: usize| raw.parts(i).map(|part| part.map(<[Xy]>::to_vec).collect()).collect();
        let mut out = RawShapes::default();
        for i in 0..raw.len() {
            let found = said.iter().position(|s| s.0 as usize == i);
            push(&mut out, &found.map_or_else(|| polygons(raw, i), |k| polygons(&mended, k)));
        }
        (out, said)
    }

    /// Even-odd areas of the faces that GEOS 3.14.1 (shapely 2.2.0) makes of the lines, and what its
    /// make_valid(method="linework") leaves, which differs where lines lie on each other: `tests-data/make_validity.py`.
    #[test]
    fn leaves_the_area_that_geos_leaves_and_is_valid() {
        let (mut mended, mut as_make_valid) = (0, 0);
        for line in include_str!("../../tests-data/validity.tsv").lines() {
            let mut fields = line.split('\t').skip(1);
            let [make_valid, area]: [f64; 2] = std::array::from_fn(|_| fields.next().unwrap().parse().unwrap());
            let text = fields.next().unwrap();
            let (whole, said) = exchanged(&raw(text));
            assert!(invalid_shapes(&whole).is_empty(), "{text} still invalid");
            mended += said.len();
            as_make_valid += said.len() * usize::from((make_valid - area).abs() <= 1e-6);
            let got = Shapes::from_raw(whole, |_| ()).get(0).area();
            assert!((got - area).abs() <= 1e-6 * area.max(1.0), "{got} for {area}: {text}");
            assert_eq!(said.first().map(|s| s.1) == Some(Mending::Vanished), area == 0.0, "{text}");
        }
        assert!(mended > 500 && as_make_valid > 400, "{as_make_valid} of {mended}");
    }

    #[test]
    fn what_is_valid_stays_to_the_last_bit_and_what_is_nothing_goes() {
        let mut many = RawShapes::default();
        let square = [[0.1, 0.2], [1.1, 0.2], [1.1, 1.2], [0.1, 1.2]];
        let bow_tie = [[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]];
        let nowhere = [[f64::NAN; 2]; 4];
        let thread = [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]];
        for ring in [&square[..], &bow_tie, &nowhere, &square, &thread, &square[..2]] {
            many.xy.extend_from_slice(ring);
            many.end_ring();
            many.end_part();
            many.end_shape();
        }
        many.end_shape();
        let (whole, said) = exchanged(&many);
        let gone = Mending::Vanished;
        assert_eq!(said, [(1, Mending::Mended), (2, gone), (4, gone), (5, gone)]);
        let parts = |i: usize| whole.parts(i).map(|p| p.map(<[Xy]>::to_vec).collect::<Vec<_>>()).collect::<Vec<_>>();
        assert_eq!(parts(0), [[square]]);
        assert_eq!(parts(3), [[square]]);
        assert!([2, 4, 5, 6].iter().all(|&i| parts(i).is_empty()));
        let corners = parts(1).concat().concat();
        assert!(corners.iter().all(|p| bow_tie.contains(p) || *p == [1.0, 1.0]), "{corners:?}");
    }

    fn number() -> impl Strategy<Value = f64> {
        prop_oneof![20 => (0..12i32).prop_map(f64::from), 6 => -5.0..15.0f64, 1 => Just(f64::NAN), 1 => Just(1e300), 1 => Just(-4e6)]
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]
        #[test]
        fn whatever_comes_in_comes_out_valid_and_stays(
            parts in prop::collection::vec(prop::collection::vec(prop::collection::vec([number(), number()], 0..14), 1..3), 0..4)
        ) {
            let mut raw = RawShapes::default();
            for rings in &parts {
                for ring in rings {
                    raw.xy.extend_from_slice(ring);
                    raw.end_ring();
                }
                raw.end_part();
            }
            raw.end_shape();
            let (whole, _) = exchanged(&raw);
            prop_assert!(invalid_shapes(&whole).is_empty());
            let (again, said) = exchanged(&whole);
            prop_assert!(said.is_empty() && again == whole);
        }
    }
}
