//! A space-filling curve: neighbours on the ground become neighbours in memory.

use super::{Bounds, Local};

/// Position of a place along a Hilbert curve of order 16 over a box; places outside are pulled to its edge.
///
/// # Source
/// D. Hilbert, Über die stetige Abbildung einer Linie auf ein Flächenstück, Math. Ann. 38 (1891); the bitwise
/// form is the usual one of rotating quadrants from the coarsest level down.
///
/// ```
/// use yardring_core::place::{Bounds, Local, hilbert};
/// let b = Bounds::of(&[Local { x: 0.0, y: 0.0 }, Local { x: 1.0, y: 1.0 }]);
/// assert_eq!(hilbert(Local { x: 0.0, y: 0.0 }, &b), 0);
/// ```
pub fn hilbert(p: Local, within: &Bounds) -> u32 {
    let cell = |v: f64, lo: f64, size: f64| {
        let share = if size > 0.0 { ((v - lo) / size).clamp(0.0, 1.0) } else { 0.0 };
        (share * 65_535.0) as u32
    };
    let mut x = cell(p.x, within.min.x, within.width());
    let mut y = cell(p.y, within.min.y, within.height());
    let mut along = 0;
    for level in (0..16).rev() {
        let (right, upper) = (x >> level & 1, y >> level & 1);
        along = along << 2 | (3 * right) ^ upper;
        // All ones where the quadrant is turned over, or swapped: a branch here goes either way by chance.
        let (over, swap) = ((right & !upper).wrapping_neg() & 65_535, upper.wrapping_sub(1));
        (x, y) = (x ^ over, y ^ over);
        let both = (x ^ y) & swap;
        (x, y) = (x ^ both, y ^ both);
    }
    along
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn successive_cells_of_a_coarse_grid_touch() {
        let b = Bounds::of(&[Local { x: 0.0, y: 0.0 }, Local { x: 15.0, y: 15.0 }]);
        let mut cells: Vec<(u32, i32, i32)> = (0..16)
            .flat_map(|i| (0..16).map(move |j| (i, j)))
            .map(|(i, j)| (hilbert(Local { x: f64::from(i), y: f64::from(j) }, &b), i, j))
            .collect();
        cells.sort_unstable();
        assert!(cells.windows(2).all(|w| (w[0].1 - w[1].1).abs() + (w[0].2 - w[1].2).abs() == 1));
    }
}
