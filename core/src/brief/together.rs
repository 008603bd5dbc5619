//! What of a district lies together, and what far off: a map that showed both would show neither.

use crate::place::{Bounds, Local, Shapes};

/// Farther than this from the middle of the district, in metres, an outline is a stray and no part of the map.
///
/// # Source
/// No county is so wide; common practice, no source. Intake tells rows beyond the same distance.
const FAR: f64 = 150_000.0;

/// More than one outline in so many beyond that distance are no strays: the district has two parts, and both are shown.
const STRAYS_OF: usize = 10;

/// The ground that a map of the whole district shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Together {
    /// The box round all that lies together; empty where there is no outline.
    pub extent: Bounds,
    /// How many outlines of the first column lie outside it.
    pub outside: usize,
    /// How far from the middle the farthest of them is, in metres.
    pub farthest: f64,
}

impl Together {
    /// What lies outside, in words; `None` where nothing does.
    pub fn told(&self) -> Option<String> {
        let km = self.farthest / 1000.0;
        match self.outside {
            0 => None,
            1 => Some(format!("1 yard lies {km:.0} km off")),
            n => Some(format!("{n} yards lie up to {km:.0} km off")),
        }
    }
}

/// What of some columns of outlines lies within 150 km of the middle of the first of them, the middle one of all its outlines, east and
/// north. Where more than a tenth lies beyond, the district has parts far from each other, and everything is shown.
pub fn together(columns: &[&Shapes]) -> Together {
    let whole = columns.iter().fold(Bounds::EMPTY, |all, shapes| all.union(shapes.extent()));
    let everything = Together { extent: whole, outside: 0, farthest: 0.0 };
    let Some(first) = columns.iter().find(|shapes| !shapes.extent().is_empty()) else { return everything };
    if whole.width().max(whole.height()) <= FAR {
        return everything;
    }
    let middle = middle(first);
    let distance = |b: &Bounds| b.centre().distance(middle);
    let drawn = |shapes: &Shapes| shapes.bounds().iter().copied().filter(|b| !b.is_empty()).collect::<Vec<_>>();
    let near = |shapes: &&Shapes| drawn(shapes).into_iter().filter(|b| distance(b) <= FAR).collect::<Vec<_>>();
    let extent = columns.iter().flat_map(near).fold(Bounds::EMPTY, Bounds::union);
    let all = drawn(first);
    let away: Vec<f64> = all.iter().map(distance).filter(|d| *d > FAR).collect();
    if extent.is_empty() || away.len() * STRAYS_OF > all.len() {
        return everything;
    }
    Together { extent, outside: away.len(), farthest: away.iter().copied().fold(0.0, f64::max) }
}

/// The middle one of the middles of all outlines, east and north each for itself.
fn middle(shapes: &Shapes) -> Local {
    let drawn = shapes.bounds().iter().filter(|b| !b.is_empty());
    let (mut east, mut north): (Vec<f64>, Vec<f64>) = drawn.map(|b| (b.centre().x, b.centre().y)).unzip();
    let half = |all: &mut Vec<f64>| {
        let at = all.len() / 2;
        *all.select_nth_unstable_by(at, f64::total_cmp).1
    };
    Local { x: half(&mut east), y: half(&mut north) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn squares(at: impl IntoIterator<Item = (f64, f64)>) -> Shapes {
        let mut shapes = Shapes::default();
        for (x, y) in at {
            shapes.push_ring(&[(x, y), (x + 20.0, y), (x + 20.0, y + 20.0), (x, y + 20.0)].map(|(x, y)| Local { x, y }));
            shapes.end_part();
            shapes.end_shape();
        }
        shapes
    }

    #[test]
    fn a_stray_outline_is_left_out_and_told() {
        let yards = squares((0..30).map(|i| (25.0 * f64::from(i), 0.0)).chain([(967_000.0, 300.0)]));
        let found = together(&[&yards, &Shapes::default()]);
        assert_eq!((found.extent.min.x, found.extent.max.x, found.outside), (0.0, 745.0, 1));
        assert_eq!(found.told().unwrap(), "1 yard lies 967 km off");
    }

    #[test]
    fn a_wide_county_and_an_empty_one_are_whole() {
        let towns = squares([(0.0, 0.0), (70_000.0, 90_000.0), (140_000.0, 0.0)]);
        assert_eq!((together(&[&towns]).outside, together(&[&towns]).extent), (0, towns.extent()));
        assert!(together(&[&Shapes::default()]).extent.is_empty());
        // Two halves of a district are both shown.
        let halves = squares([(0.0, 0.0), (0.0, 20.0), (900_000.0, 900_000.0), (900_000.0, 900_020.0)]);
        assert_eq!((together(&[&halves]).told(), together(&[&halves]).extent), (None, halves.extent()));
        let few = squares((0..40).map(|i| (25.0 * f64::from(i), 0.0)).chain([(900_000.0, 900_000.0), (900_000.0, 900_020.0)]));
        assert_eq!(together(&[&few]).told().unwrap(), "2 yards lie up to 1272 km off");
    }
}
