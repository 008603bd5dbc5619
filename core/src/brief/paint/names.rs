//! Names of streets, letter by letter along the street, where there is room.

use super::super::ink;
use super::lettering::{Hand, Lettering, Weight};
use super::sheet::Sheet;
use super::view::View;
use crate::place::Local;
use crate::survey::Streets;
use std::collections::BTreeMap;
use tiny_skia::{Path, PathBuilder, Transform};

/// Ends of street segments nearer than this are one corner, in metres.
const SAME_CORNER: f64 = 0.5;
/// Pixels in a metre below which names would hide the map.
const LEAST_SCALE: f64 = 0.4;

type Pixel = (f32, f32);

/// Writes the names of streets on a map.
///
/// `taken` are the boxes (left, top, right, bottom) that no name may touch.
pub fn write(sheet: &mut dyn Sheet, view: &View, streets: &Streets, lettering: &Lettering, unit: f32, mut taken: Vec<[f32; 4]>) {
    if view.scale < LEAST_SCALE * f64::from(unit) {
        return;
    }
    let hand = Hand { weight: Weight::Regular, size: 12.0 * unit, ink: ink::QUIET };
    for (name, chain) in chains(streets) {
        let line: Vec<Pixel> = chain.iter().map(|&p| view.pixel(p)).collect();
        for label in labels(&line, name, lettering, hand) {
            let inside = label.bounds[0] > 4.0
                && label.bounds[1] > 4.0
                && label.bounds[2] < view.size.0 as f32 - 4.0
                && label.bounds[3] < view.size.1 as f32 - 4.0;
            if inside && !taken.iter().any(|t| overlaps(t, &label.bounds)) {
                sheet.line(&label.path, ink::SHEET, 2.8 * unit);
                for (letter, at) in &label.letters {
                    sheet.letters(lettering, letter, hand, *at);
                }
                taken.push(label.bounds);
            }
        }
    }
}

/// Segments of one name joined at their corners, the longest chain of all names first.
fn chains(streets: &Streets) -> Vec<(&str, Vec<Local>)> {
    let mut runs: BTreeMap<&str, Vec<Vec<Local>>> = BTreeMap::new();
    for i in (0..streets.len()).filter(|&i| !streets.name.get(i).is_empty()) {
        let of_name = runs.entry(streets.name.get(i)).or_default();
        of_name.extend(streets.line.get(i).rings().filter(|r| r.len() > 1).map(<[Local]>::to_vec));
    }
    let mut out: Vec<(&str, Vec<Local>)> = Vec::new();
    for (name, mut left) in runs {
        while let Some(first) = left.pop() {
            out.push((name, grown(first, &mut left)));
        }
    }
    out.sort_by(|a, b| length(&b.1).total_cmp(&length(&a.1)).then_with(|| a.0.cmp(b.0)));
    out
}

/// A chain with every other run joined to it that begins or ends where it does.
fn grown(mut chain: Vec<Local>, left: &mut Vec<Vec<Local>>) -> Vec<Local> {
    loop {
        let (first, last) = (chain[0], chain[chain.len() - 1]);
        let meets = |r: &Vec<Local>, p: Local| [r[0], r[r.len() - 1]].iter().any(|q| q.distance(p) < SAME_CORNER);
        let Some(at) = left.iter().position(|r| meets(r, last) || meets(r, first)) else { return chain };
        let mut run = left.remove(at);
        if !meets(&run, last) {
            chain.reverse();
        }
        if run[0].distance(chain[chain.len() - 1]) >= SAME_CORNER {
            run.reverse();
        }
        chain.extend(run.into_iter().skip(1));
    }
}

fn length(chain: &[Local]) -> f64 {
    chain.windows(2).map(|w| w[0].distance(w[1])).sum()
}

/// A name laid along a street.
struct Label {
    /// The outlines of all letters.
    path: Path,
    /// Each letter and where it goes.
    letters: Vec<(String, Transform)>,
    bounds: [f32; 4],
}

/// A name laid along a line: once in the middle, or several times along a long one.
fn labels(line: &[Pixel], name: &str, lettering: &Lettering, hand: Hand) -> Vec<Label> {
    let along: f32 = line.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum();
    let wide = lettering.width(name, hand);
    if along < wide * 1.25 {
        return Vec::new();
    }
    let times = ((along / (wide * 7.0)) as usize).max(1);
    let middle = |k: usize| along * (k as f32 + 0.5) / times as f32;
    (0..times).filter_map(|k| lay(line, name, middle(k) - wide / 2.0, lettering, hand)).collect()
}

/// A name laid along a line from some pixels after its beginning, read from the left or, on an upright line, from below.
fn lay(line: &[Pixel], name: &str, from: f32, lettering: &Lettering, hand: Hand) -> Option<Label> {
    let wide = lettering.width(name, hand);
    let (a, b) = (spot(line, from)?, spot(line, from + wide)?);
    let (right, down) = (b.0.0 - a.0.0, b.0.1 - a.0.1);
    let upright = right.abs() < 0.4 * down.abs();
    let backwards = if upright { down > 0.0 } else { right < 0.0 };
    let (mut path, mut letters) = (PathBuilder::new(), Vec::new());
    let mut done = 0.0;
    for c in name.chars() {
        let letter = c.to_string();
        let step = lettering.width(&letter, hand);
        let at = if backwards { from + wide - done - step / 2.0 } else { from + done + step / 2.0 };
        let (place, mut angle) = spot(line, at)?;
        if backwards {
            angle += std::f32::consts::PI;
        }
        if let Some(outline) = lettering.outlines(&letter, hand) {
            let centred = Transform::from_translate(-step / 2.0, hand.size * 0.34);
            let turned = centred.post_rotate(angle.to_degrees()).post_translate(place.0, place.1);
            path.push_path(&outline.transform(turned)?);
            letters.push((letter, turned));
        }
        done += step;
    }
    let path = path.finish()?;
    let b = path.bounds();
    Some(Label { bounds: [b.left() - 3.0, b.top() - 3.0, b.right() + 3.0, b.bottom() + 3.0], path, letters })
}

/// The place some pixels along a line, and the line's direction there.
fn spot(line: &[Pixel], mut along: f32) -> Option<(Pixel, f32)> {
    for w in line.windows(2) {
        let (dx, dy) = (w[1].0 - w[0].0, w[1].1 - w[0].1);
        let step = dx.hypot(dy);
        if along <= step && step > 0.0 {
            let t = along / step;
            return Some(((w[0].0 + dx * t, w[0].1 + dy * t), dy.atan2(dx)));
        }
        along -= step;
    }
    None
}

fn overlaps(a: &[f32; 4], b: &[f32; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Shapes;
    use std::sync::Arc;

    #[test]
    fn segments_of_one_street_become_one_chain_whatever_their_direction() {
        let mut line = Shapes::default();
        for run in [[(100.0, 0.0), (200.0, 0.0)], [(100.0, 0.0), (0.0, 0.0)], [(300.0, 0.0), (200.0, 0.0)], [(0.0, 50.0), (90.0, 50.0)]] {
            line.push_ring(&run.map(|(x, y)| Local { x, y }));
            line.end_part();
            line.end_shape();
        }
        let name = ["Anvil Street", "Anvil Street", "Anvil Street", "Anvil Street"].into_iter().collect();
        let streets = Streets { name: Arc::new(name), line: Arc::new(line), ..Streets::default() };
        let lengths: Vec<f64> = chains(&streets).iter().map(|(_, c)| length(c)).collect();
        assert_eq!(lengths, [300.0, 90.0]);
    }
}
