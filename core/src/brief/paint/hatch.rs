//! Slanting lines inside an outline, cut where the outline ends.

use std::collections::BTreeMap;
use tiny_skia::{Path, PathBuilder, PathSegment, Point};

/// Lines from the lower left to the upper right, `apart` pixels from one to the next along a row, where the path winds round them;
/// `None` when there is none. The path's curves are taken as straight.
pub fn lines(path: &Path, apart: f32) -> Option<Path> {
    let mut crossings: BTreeMap<i64, Vec<(f32, i32)>> = BTreeMap::new();
    let (mut start, mut at) = (Point::zero(), Point::zero());
    for segment in path.segments() {
        let to = match segment {
            PathSegment::MoveTo(p) => {
                (start, at) = (p, p);
                continue;
            }
            PathSegment::LineTo(p) | PathSegment::QuadTo(_, p) | PathSegment::CubicTo(_, _, p) => p,
            PathSegment::Close => start,
        };
        cross(at, to, apart, &mut crossings);
        at = to;
    }
    let mut out = PathBuilder::new();
    for (line, mut places) in crossings {
        let sum = line as f32 * apart;
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut winding, mut from) = (0, 0.0);
        for (x, turn) in places {
            if winding == 0 {
                from = x;
            }
            winding += turn;
            if winding == 0 && x > from {
                out.move_to(from, sum - from);
                out.line_to(x, sum - x);
            }
        }
    }
    out.finish()
}

/// Notes where a side crosses the lines x + y = line · apart, and which way it goes. An end on a line belongs to the side that goes up
/// from there, so that a corner on a line counts once.
fn cross(a: Point, b: Point, apart: f32, crossings: &mut BTreeMap<i64, Vec<(f32, i32)>>) {
    let (from, to) = ((a.x + a.y) / apart, (b.x + b.y) / apart);
    let (low, high, turn) = if from <= to { (from, to, 1) } else { (to, from, -1) };
    for line in low.ceil() as i64..high.ceil() as i64 {
        let t = (line as f32 - from) / (to - from);
        crossings.entry(line).or_default().push((a.x + (b.x - a.x) * t, turn));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(path: &Path) -> f32 {
        let points = path.points();
        points.chunks(2).map(|p| (p[1].x - p[0].x).hypot(p[1].y - p[0].y)).sum()
    }

    fn rectangle(out: &mut PathBuilder, x: f32, y: f32, w: f32, h: f32, clockwise: bool) {
        let mut corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
        if !clockwise {
            corners.reverse();
        }
        out.move_to(corners[0].0, corners[0].1);
        corners[1..].iter().for_each(|c| out.line_to(c.0, c.1));
        out.close();
    }

    /// Lines so close that they cover an area: their length times the distance between them (apart / √2) is the area.
    #[test]
    fn lines_cover_the_inside_and_no_hole() {
        let mut path = PathBuilder::new();
        rectangle(&mut path, 10.0, 20.0, 60.0, 40.0, true);
        rectangle(&mut path, 30.0, 30.0, 10.0, 20.0, false);
        let found = lines(&path.finish().unwrap(), 0.25).unwrap();
        let area = length(&found) * 0.25 / 2f32.sqrt();
        assert!((area - (60.0 * 40.0 - 10.0 * 20.0)).abs() < 4.0, "{area}");
        let middles: Vec<(f32, f32)> = found.points().chunks(2).map(|p| ((p[0].x + p[1].x) / 2.0, (p[0].y + p[1].y) / 2.0)).collect();
        assert!(middles.iter().all(|&(x, y)| !(x > 30.0 && x < 40.0 && y > 30.0 && y < 50.0)));
    }

    #[test]
    fn an_outline_between_two_lines_has_none() {
        let mut path = PathBuilder::new();
        rectangle(&mut path, 1.0, 1.0, 2.0, 2.0, true);
        assert!(lines(&path.finish().unwrap(), 9.0).is_none());
    }
}
