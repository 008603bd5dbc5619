//! A place to stand for an outline.

use super::{Local, ShapeView};

/// A place inside an outline, for a list or a label: the middle of the longest stretch that lies inside along the line
/// through the middle of its box, from west to east. `None` for an outline without places; a place of the outline itself
/// when it bounds no ground.
///
/// # Source
/// Common practice, no source.
///
/// ```
/// use yardring_core::place::{Local, Shapes, place_inside};
/// let mut u = Shapes::default();
/// let corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 8.0), (6.0, 8.0), (6.0, 2.0), (2.0, 2.0), (2.0, 8.0), (0.0, 8.0)];
/// u.push_ring(&corners.map(|(x, y)| Local { x, y }));
/// u.end_part();
/// u.end_shape();
/// assert_eq!(place_inside(u.get(0)), Some(Local { x: 7.5, y: 4.0 }));
/// ```
pub fn place_inside(shape: ShapeView<'_>) -> Option<Local> {
    let first = *shape.places().first()?;
    let y = shape.bounds().centre().y;
    let mut crossings = Vec::new();
    for ring in shape.rings() {
        let Some(&last) = ring.last() else { continue };
        let mut a = last;
        for &b in ring {
            if (a.y > y) != (b.y > y) {
                crossings.push(a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
            }
            a = b;
        }
    }
    crossings.sort_unstable_by(f64::total_cmp);
    let longest = crossings.chunks_exact(2).max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
    Some(longest.map_or(first, |pair| Local { x: f64::midpoint(pair[0], pair[1]), y }))
}
