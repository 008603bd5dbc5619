//! Slanting lines inside an outline, cut where the outline ends; and dots inside it.

use std::collections::BTreeMap;
use tiny_skia::{Path, PathBuilder, PathSegment, Point, Rect};

/// Lines from the lower left to the upper right, `apart` pixels from one to the next along a row, where the path winds round them;
/// `None` when there is none. The path's curves are taken as straight.
pub fn lines(path: &Path, apart: f32) -> Option<Path> {
    let mut out = PathBuilder::new();
    for (line, spans) in spans(path, apart, |p| p.x + p.y) {
        let sum = line as f32 * apart;
        for (from, to) in spans {
            out.move_to(from, sum - from);
            out.line_to(to, sum - to);
        }
    }
    out.finish()
}

/// Squares of some size, `apart` pixels from one to the next, every second row shifted by half, where their middles lie inside the path;
/// `None` when there is none.
pub fn dots(path: &Path, apart: f32, size: f32) -> Option<Path> {
    let mut out = PathBuilder::new();
    for (row, spans) in spans(path, apart, |p| p.y) {
        let (y, shift) = (row as f32 * apart, if row % 2 == 0 { 0.0 } else { 0.5 });
        for (from, to) in spans {
            let first = (from / apart - shift).ceil() as i64;
            let last = (to / apart - shift).floor() as i64;
            for x in (first..=last).map(|k| (k as f32 + shift) * apart) {
                out.push_rect(Rect::from_xywh(x - size / 2.0, y - size / 2.0, size, size)?);
            }
        }
    }
    out.finish()
}

/// Where lines run inside a path: of every line the stretches, from one place across to another. `along` is 0 on the first line and
/// `apart` more on each further one.
fn spans(path: &Path, apart: f32, along: fn(Point) -> f32) -> BTreeMap<i64, Vec<(f32, f32)>> {
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
        cross((at, to), (along(at) / apart, along(to) / apart), &mut crossings);
        at = to;
    }
    crossings.into_iter().map(|(line, places)| (line, inside(places))).collect()
}

/// The stretches of one line between its crossings, where the path winds round them.
fn inside(mut places: Vec<(f32, i32)>) -> Vec<(f32, f32)> {
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut winding, mut from, mut out) = (0, 0.0, Vec::new());
    for (x, turn) in places {
        if winding == 0 {
            from = x;
        }
        winding += turn;
        if winding == 0 && x > from {
            out.push((from, x));
        }
    }
    out
}

/// Notes where a side crosses the lines it runs across, given the line numbers of its ends, and which way it goes. An end on a line belongs to the side that goes up
/// from there, so that a corner on a line counts once.
fn cross((a, b): (Point, Point), (from, to): (f32, f32), crossings: &mut BTreeMap<i64, Vec<(f32, i32)>>) {
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

    /// Every dot stands for a square of the distance between dots: so many of them cover the area.
    #[test]
    fn dots_cover_the_inside_and_no_hole() {
        let mut path = PathBuilder::new();
        rectangle(&mut path, 10.0, 20.0, 60.0, 40.0, true);
        rectangle(&mut path, 30.0, 30.0, 10.0, 20.0, false);
        let found = dots(&path.finish().unwrap(), 0.5, 0.1).unwrap();
        let moves: Vec<Point> = found.segments().filter_map(|s| if let PathSegment::MoveTo(p) = s { Some(p) } else { None }).collect();
        let area = moves.len() as f32 * 0.25;
        assert!((area - (60.0 * 40.0 - 10.0 * 20.0)).abs() < 40.0, "{area}");
        assert!(moves.iter().all(|p| !(p.x > 30.1 && p.x < 39.9 && p.y > 30.1 && p.y < 49.9)));
        assert!(dots(&found, 500.0, 1.0).is_none(), "an outline between two rows has none");
    }

    #[test]
    fn an_outline_between_two_lines_has_none() {
        let mut path = PathBuilder::new();
        rectangle(&mut path, 1.0, 1.0, 2.0, 2.0, true);
        assert!(lines(&path.finish().unwrap(), 9.0).is_none());
    }
}
