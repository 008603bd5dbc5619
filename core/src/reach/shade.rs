//! The ground that flights reach past barriers, piece by piece: what a place sees within some metres, and what an edge sees
//! straight in front of it.

use super::barriers::side;
use super::lot::Edge;
use super::round_buffer::SIDES;
use crate::place::Local;
use std::f64::consts::{PI, TAU};

/// A piece of line.
type Wall = (Local, Local);

/// Two directions or places along an edge nearer than this are one.
const SAME: f64 = 1e-9;

/// The ground within `radius` of a place that nothing hides, as an outline that runs counter-clockwise.
pub(super) fn seen_from(place: Local, radius: f64, walls: &[Wall]) -> Vec<Local> {
    let near: Vec<Wall> = walls.iter().filter_map(|&w| in_circle(w, place, radius)).collect();
    let direction = |p: Local| (p.y - place.y).atan2(p.x - place.x).rem_euclid(TAU);
    let mut breaks: Vec<f64> = near.iter().flat_map(|w| [direction(w.0), direction(w.1)]).collect();
    breaks.extend(crossings(&near).into_iter().map(direction));
    breaks.extend([0.0, PI / 2.0, PI, 1.5 * PI, TAU]);
    let mut out = Vec::new();
    for (from, to) in between(breaks) {
        let middle = f64::midpoint(from, to);
        let nearest = near.iter().filter_map(|w| Some((on_ray(w, place, middle)?, w))).min_by(|a, b| a.0.total_cmp(&b.0));
        let towards = |angle: f64, far: f64| Local { x: place.x + far * angle.cos(), y: place.y + far * angle.sin() };
        match nearest {
            Some((at, wall)) => {
                out.extend([from, to].map(|angle| towards(angle, on_line(wall, place, angle).unwrap_or(at).clamp(0.0, radius))));
            }
            None => {
                let steps = ((to - from) / (TAU / SIDES)).ceil().max(1.0);
                out.extend((0..=steps as u32).map(|k| towards(from + (to - from) * f64::from(k) / steps, radius)));
            }
        }
    }
    out
}

/// The ground straight in front of an edge, out to `radius`, up to the first wall, as an outline that runs counter-clockwise.
pub(super) fn in_front_of(edge: &Edge, radius: f64, walls: &[Wall]) -> Vec<Local> {
    let length = edge.from.distance(edge.to);
    let along = ((edge.to.x - edge.from.x) / length, (edge.to.y - edge.from.y) / length);
    let out_of = (-edge.inwards.0, -edge.inwards.1);
    // Along the edge and away from it.
    let flat = |p: Local| {
        let (dx, dy) = (p.x - edge.from.x, p.y - edge.from.y);
        Local { x: dx * along.0 + dy * along.1, y: dx * out_of.0 + dy * out_of.1 }
    };
    let back = |p: Local| Local { x: edge.from.x + p.x * along.0 + p.y * out_of.0, y: edge.from.y + p.x * along.1 + p.y * out_of.1 };
    // A wall along the lot line itself lies in front: an edge looks from a little inside.
    let from_inside = flat(edge.inside.0).y.min(flat(edge.inside.1).y).min(0.0);
    let near: Vec<Wall> = walls.iter().filter_map(|w| in_strip((flat(w.0), flat(w.1)), length, (from_inside, radius))).collect();
    let mut breaks: Vec<f64> = near.iter().flat_map(|w| [w.0.x, w.1.x]).collect();
    breaks.extend(crossings(&near).into_iter().map(|p| p.x));
    breaks.extend([0.0, length]);
    let mut far = Vec::new();
    for (a, b) in between(breaks).into_iter().filter(|(a, b)| *a >= 0.0 && *b <= length) {
        let middle = f64::midpoint(a, b);
        let nearest = near.iter().filter_map(|w| Some((height(w, middle)?, w))).min_by(|a, b| a.0.total_cmp(&b.0));
        let up = |x: f64| nearest.and_then(|(_, w)| height_of_line(w, x)).unwrap_or(radius).clamp(0.0, radius);
        far.extend([a, b].map(|x| Local { x, y: up(x) }));
    }
    let near_side = [Local { x: 0.0, y: 0.0 }, Local { x: length, y: 0.0 }];
    let mut ring: Vec<Local> = near_side.into_iter().chain(far.into_iter().rev()).map(back).collect();
    if crate::place::signed_area(&ring) < 0.0 {
        ring.reverse();
    }
    ring
}

/// Neighbouring breaks, in order, those that are the same taken as one.
fn between(mut breaks: Vec<f64>) -> Vec<(f64, f64)> {
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|b, a| *b - *a < SAME);
    breaks.windows(2).map(|w| (w[0], w[1])).collect()
}

/// Where walls cross each other.
fn crossings(walls: &[Wall]) -> Vec<Local> {
    let mut out = Vec::new();
    for (i, a) in walls.iter().enumerate() {
        for b in &walls[i + 1..] {
            let (u, v) = (side(b.0, b.1, a.0), side(b.0, b.1, a.1));
            let (s, t) = (side(a.0, a.1, b.0), side(a.0, a.1, b.1));
            if u * v < 0.0 && s * t < 0.0 {
                let part = u / (u - v);
                out.push(Local { x: a.0.x + part * (a.1.x - a.0.x), y: a.0.y + part * (a.1.y - a.0.y) });
            }
        }
    }
    out
}

/// The part of a wall inside a circle; `None` where it only touches it.
fn in_circle((a, b): Wall, centre: Local, radius: f64) -> Option<Wall> {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let (fx, fy) = (a.x - centre.x, a.y - centre.y);
    let (aa, bb, cc) = (dx * dx + dy * dy, fx * dx + fy * dy, fx * fx + fy * fy - radius * radius);
    let under = bb * bb - aa * cc;
    if aa == 0.0 || under <= 0.0 {
        return None;
    }
    let (low, high) = (((-bb - under.sqrt()) / aa).max(0.0), ((-bb + under.sqrt()) / aa).min(1.0));
    let at = |t: f64| Local { x: a.x + t * dx, y: a.y + t * dy };
    (high > low).then(|| (at(low), at(high)))
}

/// The part of a wall over a strip from 0 to `length`, between two heights.
fn in_strip((mut a, mut b): Wall, length: f64, (low, high): (f64, f64)) -> Option<Wall> {
    let cut = |a: Local, b: Local, t: f64| Local { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) };
    for (of, least, most) in [(0, 0.0, length), (1, low, high)] {
        let pick = |p: Local| if of == 0 { p.x } else { p.y };
        if pick(a) > pick(b) {
            std::mem::swap(&mut a, &mut b);
        }
        let (from, to) = (pick(a), pick(b));
        if to < least || from > most {
            return None;
        }
        let (p, q) = (a, b);
        if from < least {
            a = cut(p, q, (least - from) / (to - from));
        }
        if to > most {
            b = cut(p, q, (most - from) / (to - from));
        }
    }
    Some((a, b))
}

/// How far away a wall is in a direction; `None` where it is not there.
fn on_ray(wall: &Wall, place: Local, angle: f64) -> Option<f64> {
    let ahead = Local { x: place.x + angle.cos(), y: place.y + angle.sin() };
    let (u, v) = (side(place, ahead, wall.0), side(place, ahead, wall.1));
    (u * v <= 0.0).then(|| on_line(wall, place, angle)).flatten().filter(|&far| far >= 0.0)
}

/// How far away the line of a wall is in a direction.
fn on_line(wall: &Wall, place: Local, angle: f64) -> Option<f64> {
    let (dx, dy) = (angle.cos(), angle.sin());
    let (ex, ey) = (wall.1.x - wall.0.x, wall.1.y - wall.0.y);
    let cross = dx * ey - dy * ex;
    (cross.abs() > 1e-12).then(|| ((wall.0.x - place.x) * ey - (wall.0.y - place.y) * ex) / cross)
}

/// How high a wall is over a place of the strip; `None` where it is not over it.
fn height(wall: &Wall, x: f64) -> Option<f64> {
    (wall.0.x.min(wall.1.x) <= x && x <= wall.0.x.max(wall.1.x)).then(|| height_of_line(wall, x)).flatten()
}

fn height_of_line(wall: &Wall, x: f64) -> Option<f64> {
    let run = wall.1.x - wall.0.x;
    (run.abs() > 1e-12).then(|| wall.0.y + (wall.1.y - wall.0.y) * (x - wall.0.x) / run)
}
