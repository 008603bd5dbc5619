//! A place on the ground of an outline, to tell which block holds it: by the rule that general GIS libraries use.

use crate::place::{Local, PartView, ShapeView};

/// A place inside an outline: the middle of its widest run along a line from west to east at half its height. `None` for an
/// outline without area.
///
/// # Source
/// Common practice ("point on surface" of OGC Simple Features 06-103r4, §6.1.10.2, which asks for a place inside and leaves open
/// which); the line is put between two vertex heights, as GEOS does, so that it meets no corner.
pub(super) fn on_surface(shape: ShapeView<'_>) -> Option<Local> {
    let mut crossings = Vec::new();
    let mut best: Option<(f64, Local)> = None;
    for part in shape.parts() {
        let Some(y) = height_between(part) else { continue };
        crossings.clear();
        for ring in part.rings() {
            cross(ring, y, &mut crossings);
        }
        crossings.sort_unstable_by(f64::total_cmp);
        for run in crossings.chunks_exact(2) {
            let width = run[1] - run[0];
            if width > 0.0 && best.is_none_or(|(w, _)| width > w) {
                best = Some((width, Local { x: f64::midpoint(run[0], run[1]), y }));
            }
        }
    }
    best.map(|(_, p)| p)
}

/// The height half-way between the vertices next below and next above the middle of a part.
fn height_between(part: PartView<'_>) -> Option<f64> {
    let outer = part.rings().next()?;
    let low = outer.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    let high = outer.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
    if low >= high {
        return None;
    }
    let middle = f64::midpoint(low, high);
    let (mut below, mut above) = (low, high);
    for p in part.rings().flatten() {
        if p.y <= middle {
            below = below.max(p.y);
        } else {
            above = above.min(p.y);
        }
    }
    Some(f64::midpoint(below, above))
}

/// Where a ring crosses a height that none of its vertices has.
fn cross(ring: &[Local], y: f64, crossings: &mut Vec<f64>) {
    let Some(&last) = ring.last() else { return };
    let mut a = last;
    for &b in ring {
        if (a.y > y) != (b.y > y) {
            crossings.push(a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
        }
        a = b;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;

    fn shape(parts: &[&[&[(f64, f64)]]]) -> Shapes {
        let mut s = Shapes::default();
        for part in parts {
            for ring in *part {
                s.push_ring(&ring.iter().map(|&(x, y)| Local { x, y }).collect::<Vec<_>>());
            }
            s.end_part();
        }
        s.end_shape();
        s
    }

    /// Expected places: `shapely.point_on_surface`, shapely 2.2.0 with GEOS 3.14.1.
    #[test]
    fn agrees_with_geos_on_hollow_bent_and_scattered_outlines() {
        let square: &[(f64, f64)] = &[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];
        let hole: &[(f64, f64)] = &[(2.0, 2.0), (2.0, 8.0), (7.0, 8.0), (7.0, 2.0)];
        let bent: &[(f64, f64)] = &[(0.0, 0.0), (30.0, 0.0), (30.0, 4.0), (4.0, 4.0), (4.0, 20.0), (0.0, 20.0)];
        let far: &[(f64, f64)] = &[(100.0, 0.0), (160.0, 0.0), (160.0, 5.0), (100.0, 6.0)];
        for (s, x, y) in [(shape(&[&[square, hole]]), 8.5, 5.0), (shape(&[&[bent]]), 2.0, 12.0), (shape(&[&[square], &[far]]), 130.0, 2.5)]
        {
            let p = on_surface(s.get(0)).unwrap();
            assert!((p.x - x).abs() < 1e-9 && (p.y - y).abs() < 1e-9, "{p:?} not {x} {y}");
            assert!(s.get(0).holds(p));
        }
        assert_eq!(on_surface(shape(&[&[&[(0.0, 0.0), (5.0, 0.0), (9.0, 0.0)]]]).get(0)), None);
    }
}
