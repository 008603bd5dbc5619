//! How two straight lines meet, decided exactly.

use geo::kernels::{Kernel, Orientation, RobustKernel};

/// A place as the exact predicates take it: x, y in any one system.
pub(super) type Xy = [f64; 2];

/// Which way the path a → b → c turns: 1 to the left, −1 to the right, 0 not at all. Exact for all finite numbers that do
/// not overflow.
///
/// # Source
/// J. R. Shewchuk, Adaptive precision floating-point arithmetic and fast robust geometric predicates, Discrete Comput.
/// Geom. 18 (1997): the first error bound here, the full test from the `robust` kernel of `geo`.
#[inline]
pub(super) fn turn(a: Xy, b: Xy, c: Xy) -> i8 {
    let left = (a[0] - c[0]) * (b[1] - c[1]);
    let right = (a[1] - c[1]) * (b[0] - c[0]);
    let det = left - right;
    let bound = 3.330_669_073_875_472e-16 * (left.abs() + right.abs());
    if det > bound {
        1
    } else if det < -bound {
        -1
    } else {
        exact_turn(a, b, c)
    }
}

#[cold]
fn exact_turn(a: Xy, b: Xy, c: Xy) -> i8 {
    let [a, b, c] = [a, b, c].map(|p| geo_types::Coord { x: p[0], y: p[1] });
    match RobustKernel::orient2d(a, b, c) {
        Orientation::CounterClockwise => 1,
        Orientation::Clockwise => -1,
        Orientation::Collinear => 0,
    }
}

/// How two lines meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Meeting {
    /// They share no place.
    Apart,
    /// They share one place, which is an end of at least one of them.
    Touch(Xy),
    /// They cross inside both, or run along each other.
    Cross,
}

/// How the lines a–b and c–d meet. Neither may have length 0.
#[inline]
pub(super) fn meeting(a: Xy, b: Xy, c: Xy, d: Xy) -> Meeting {
    let (sc, sd) = (turn(a, b, c), turn(a, b, d));
    if sc * sd > 0 {
        return Meeting::Apart;
    }
    let (sa, sb) = (turn(c, d, a), turn(c, d, b));
    if sa * sb > 0 {
        return Meeting::Apart;
    }
    match (sc, sd, sa, sb) {
        (0, 0, _, _) => along(a, b, c, d),
        (0, ..) => Meeting::Touch(c),
        (_, 0, ..) => Meeting::Touch(d),
        (_, _, 0, _) => Meeting::Touch(a),
        (.., 0) => Meeting::Touch(b),
        _ => Meeting::Cross,
    }
}

/// The same for two lines on one straight line.
fn along(a: Xy, b: Xy, c: Xy, d: Xy) -> Meeting {
    let low = [0, 1].map(|k| a[k].min(b[k]).max(c[k].min(d[k])));
    let high = [0, 1].map(|k| a[k].max(b[k]).min(c[k].max(d[k])));
    if low[0] > high[0] || low[1] > high[1] {
        Meeting::Apart
    } else if low == high {
        Meeting::Touch(low)
    } else {
        Meeting::Cross
    }
}

/// Where a place lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// Inside the ring.
    Inside,
    /// On the ring itself.
    On,
    /// Outside the ring.
    Outside,
}

/// Where a place lies against a ring given without its first place repeated.
pub(super) fn side(ring: &[Xy], p: Xy) -> Side {
    let mut inside = false;
    let Some(&last) = ring.last() else { return Side::Outside };
    let mut a = last;
    for &b in ring {
        let level = a[1].min(b[1]) <= p[1] && p[1] <= a[1].max(b[1]);
        if level && p[0] <= a[0].max(b[0]) {
            let t = turn(a, b, p);
            if t == 0 && p[0] >= a[0].min(b[0]) {
                return Side::On;
            }
            if (a[1] > p[1]) != (b[1] > p[1]) && (t > 0) == (b[1] > a[1]) {
                inside = !inside;
            }
        }
        a = b;
    }
    if inside { Side::Inside } else { Side::Outside }
}

/// Whether the path b0 → node → b1 passes from one side of the path a0 → node → a1 to the other.
pub(super) fn passes_through(node: Xy, a0: Xy, a1: Xy, b0: Xy, b1: Xy) -> bool {
    let between = |v: Xy| match turn(node, a0, a1) {
        1 => turn(node, a0, v) > 0 && turn(node, v, a1) > 0,
        -1 => !(turn(node, a1, v) > 0 && turn(node, v, a0) > 0),
        _ => turn(node, a0, v) > 0,
    };
    between(b0) != between(b1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_meet_in_each_of_the_ways() {
        let o = [0.0, 0.0];
        assert_eq!(meeting(o, [2.0, 2.0], [0.0, 2.0], [2.0, 0.0]), Meeting::Cross);
        assert_eq!(meeting(o, [2.0, 0.0], [1.0, 0.0], [3.0, 0.0]), Meeting::Cross);
        assert_eq!(meeting(o, [2.0, 0.0], [2.0, 0.0], [3.0, 0.0]), Meeting::Touch([2.0, 0.0]));
        assert_eq!(meeting(o, [2.0, 0.0], [1.0, 0.0], [1.0, 5.0]), Meeting::Touch([1.0, 0.0]));
        assert_eq!(meeting(o, [2.0, 0.0], [3.0, 0.0], [4.0, 0.0]), Meeting::Apart);
        assert_eq!(meeting(o, [2.0, 0.0], [0.0, 1.0], [2.0, 1e-300]), Meeting::Apart);
    }

    #[test]
    fn a_nearly_straight_path_is_judged_exactly() {
        let big = 2f64.powi(26);
        assert_eq!(turn([0.0, 0.0], [big + 1.0, big], [2.0 * (big + 1.0), 2.0 * big]), 0);
        assert_eq!(turn([0.5, 0.5], [12.0, 12.0], [24.0, 24.0]), 0);
        assert_eq!(turn([0.5, 0.5], [12.0, 12.0], [24.0, 24.000_000_000_000_004]), 1);
    }

    #[test]
    fn places_are_inside_on_or_outside() {
        let ring = [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [2.0, 2.0], [0.0, 4.0]];
        assert_eq!(side(&ring, [1.0, 1.0]), Side::Inside);
        assert_eq!(side(&ring, [2.0, 2.0]), Side::On);
        assert_eq!(side(&ring, [2.0, 3.0]), Side::Outside);
        assert_eq!(side(&ring, [-1.0, 2.0]), Side::Outside);
    }
}
