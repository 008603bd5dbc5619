//! The reach itself: one ground, dissolved from the rings round all sources.

use super::Sources;
use super::round_buffer::{Rings, push_buffer};
use super::shade::{in_front_of, seen_from};
use super::thinned::{Convex, thin};
use super::ways::{From, Ways};
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, Frame, Local, ShapeView, Shapes, signed_area};
use crate::survey::Survey;
use crate::units::{Metres, SquareMetres};
use geo::{LineString, Polygon};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::core::solver::Solver;
use i_overlay::float::overlay::{FloatOverlay, OverlayOptions};
use rayon::prelude::*;

/// The ground within the radius of any source.
#[derive(Clone, Debug)]
pub struct Ground {
    /// One outline in the district frame, of as many parts as the ground has; no part when there is no source.
    pub shapes: Shapes,
    /// Its area on the ground, the frame's scale taken off.
    pub area: SquareMetres,
    /// How many separate pieces it has.
    pub parts: usize,
}

/// How many sources, which lie near to each other, are thinned together.
const TOGETHER: usize = 128;
/// How many convex rings are thinned together: each looks at all others for its nearest.
const THINNED: usize = 256;
/// How many contours are united at once before the pieces are united with each other.
const BATCH: usize = 12;
/// How many pieces are united at once: most of their edges stay, so that every further look at them is for little.
const PIECES: usize = 600;

/// A closed line of places, the first not repeated; outer ones run counter-clockwise, holes clockwise.
type Contour = Vec<[f64; 2]>;
/// An outer contour and its holes.
type Piece = Vec<Contour>;

/// The ground within a radius of the sources, round the barriers where there are any, dissolved into one outline. Arcs are drawn with 96 sides to the circle, their
/// corners on the true arc, so that the area is at most 0.07 % too small.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// The rings are the Minkowski sum of an outline with a disc: common practice, no source.
pub fn ground(survey: &Survey, sources: &Sources, radius: Metres, watch: &dyn Watch) -> Result<Ground, Cancelled> {
    watch.step("drawing the reach", 0, 0)?;
    let ways = Ways::laid(sources, radius, watch)?;
    let rows: Vec<usize> = (0..sources.len()).collect();
    let batches: Result<Vec<Vec<Vec<Piece>>>, Cancelled> = rows
        .par_chunks(TOGETHER)
        .map(|together| {
            let mut rings = Rings::default();
            let mut seen: Vec<Contour> = Vec::new();
            for &i in together {
                match ways.as_ref().and_then(|w| Some((w, w.from(i)?))) {
                    Some((ways, from)) => push_seen(ways, from, sources.shapes().get(i), radius.0, &mut seen),
                    None => push_buffer(sources.shapes().get(i), radius.0, &mut rings),
                }
            }
            rings.convex.chunks_mut(THINNED).for_each(thin);
            seen.extend(rings.convex.into_iter().map(Convex::into_corners).filter(|corners| !corners.is_empty()));
            seen.extend(rings.other.iter().flat_map(contours));
            if watch.cancelled() { Err(Cancelled) } else { Ok(in_batches(&seen)) }
        })
        .collect();
    let mut pieces: Vec<Vec<Piece>> = batches?.into_iter().flatten().collect();
    if let Some(ways) = &ways {
        pieces.push(round_corners(ways));
    }
    let dissolved = unite(pieces, watch)?;
    Ok(measured(&survey.frame, &dissolved))
}

/// The unions of some contours at a time.
fn in_batches(contours: &[Contour]) -> Vec<Vec<Piece>> {
    contours.chunks(BATCH).map(united).collect()
}

/// Adds the ground that a source among barriers sees: its outline, what lies in front of its edges, and what its corners see.
fn push_seen(ways: &Ways, from: &From, shape: ShapeView<'_>, radius: f64, out: &mut Vec<Contour>) {
    for ring in shape.parts().flat_map(|p| p.rings().enumerate()).filter(|r| r.1.len() > 2) {
        let outwards = (signed_area(ring.1) > 0.0) == (ring.0 == 0);
        let outline = places(ring.1);
        out.push(if outwards { outline } else { outline.into_iter().rev().collect() });
    }
    for edge in &from.lot.edges {
        let around = Bounds::of(&[edge.from, edge.to]).grown(radius);
        let walls = ways.barriers().walls_in(&around);
        if edge.from != edge.to {
            out.push(places(&in_front_of(edge, radius, &walls)));
        }
        out.push(places(&seen_from(edge.inside.0, radius, &walls)));
    }
}

/// The ground that flights reach after turning round a corner of a barrier.
fn round_corners(ways: &Ways) -> Vec<Piece> {
    let left = ways.left_over();
    let seen: Vec<Contour> = left
        .par_iter()
        .zip(ways.barriers().corners())
        .filter(|(left, _)| **left > 0.0)
        .map(|(&left, &corner)| places(&seen_from(corner, left, &ways.barriers().walls_in(&Bounds::of(&[corner]).grown(left)))))
        .collect();
    united(&seen)
}

/// A ring as a contour, its corners taken to the millimetre: pieces that all but touch must touch, or their union has no end of
/// crossings.
fn places(ring: &[Local]) -> Contour {
    let mut out: Contour = ring.iter().map(|p| [p.x, p.y].map(|v| (v * 1000.0).round() / 1000.0)).collect();
    out.dedup();
    while out.len() > 1 && out.first() == out.last() {
        out.pop();
    }
    out
}

/// Unites pieces with their neighbours, and those with theirs, until one is left.
fn unite(mut pieces: Vec<Vec<Piece>>, watch: &dyn Watch) -> Result<Vec<Piece>, Cancelled> {
    while pieces.len() > 1 {
        watch.step("dissolving the reach", 0, 0)?;
        let contours = |some: &mut [Vec<Piece>]| some.iter_mut().flat_map(std::mem::take).flatten().collect::<Vec<Contour>>();
        pieces = pieces.par_chunks_mut(PIECES).map(|some| united(&contours(some))).collect();
    }
    Ok(pieces.pop().unwrap_or_default())
}

/// The union of some grounds. In one thread: many unions run side by side, and each would ask the system for its processors anew.
pub(super) fn united(contours: &[Contour]) -> Vec<Piece> {
    let solver = Solver { multithreading: None, ..Solver::AUTO };
    FloatOverlay::with_subj_custom(contours, OverlayOptions::ogc(), solver).overlay(OverlayRule::Subject, FillRule::Positive)
}

fn contours(polygon: &Polygon) -> impl Iterator<Item = Contour> {
    std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(contour)
}

fn contour(ring: &LineString) -> Contour {
    let closed = &ring.0;
    closed[..closed.len().saturating_sub(1)].iter().map(|c| [c.x, c.y]).collect()
}

fn measured(frame: &Frame, dissolved: &[Piece]) -> Ground {
    let mut shapes = Shapes::default();
    for piece in dissolved {
        for contour in piece {
            contour.iter().for_each(|&[x, y]| shapes.push_place(Local { x, y }));
            shapes.end_ring();
        }
        shapes.end_part();
    }
    shapes.end_shape();
    let area = shapes.get(0).parts().map(|part| {
        let extent = part.rings().next().map_or(Bounds::EMPTY, Bounds::of);
        part.area() / (1.0 + frame.scale_error(extent.centre())).powi(2)
    });
    Ground { area: SquareMetres(area.sum()), parts: dissolved.len(), shapes }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::place::distance;
    use crate::reach::made_up::{Numbers, neighbourhood};
    use crate::reach::{MeasureFrom, Wanted, sources};
    use crate::survey::{RoundId, standings};

    fn place(p: Local) -> Shapes {
        let mut s = Shapes::default();
        s.push_ring(&[p]);
        s.end_part();
        s.end_shape();
        s
    }

    /// Every place is in the ground when it is nearer than the radius to some source, but for the arcs' sagitta.
    #[test]
    fn holds_the_places_within_the_radius_and_no_other() {
        let survey = neighbourhood(240, 11);
        let standings = standings(&survey, RoundId(0));
        for (radius, measure_from) in [(12.0, MeasureFrom::Outline), (40.0, MeasureFrom::Outline), (40.0, MeasureFrom::Point)] {
            let sources = sources(&survey, &standings, &Wanted { radius: Metres(radius), measure_from, ..Wanted::default() });
            let ground = ground(&survey, &sources, Metres(radius), &Unwatched).unwrap();
            let mut numbers = Numbers(3);
            for _ in 0..4000 {
                let p = Local { x: numbers.next() * 400.0 - 80.0, y: numbers.next() * 900.0 - 80.0 };
                let nearest = sources.shapes().iter().map(|s| distance(s, place(p).get(0))).fold(f64::INFINITY, f64::min);
                let sagitta = radius * (1.0 - (std::f64::consts::PI / 96.0).cos()) + 1e-6;
                if !(radius - sagitta..=radius + 1e-6).contains(&nearest) {
                    assert_eq!(ground.shapes.get(0).holds(p), nearest <= radius, "{p:?} {nearest}");
                }
            }
        }
    }

    /// Among barriers a place is in the ground when the flight to it is in reach; flights themselves are tested against a grid.
    /// Left aside: places nearer to a barrier or to the edge of the reach than the arcs' sagitta and the start inside the lot.
    #[test]
    fn among_barriers_holds_the_places_that_flights_reach_and_no_other() {
        let survey = neighbourhood(240, 11);
        let standings = standings(&survey, RoundId(0));
        let mut numbers = Numbers(8);
        // Crooked lines across all streets, with an opening in the middle of every second one.
        let mut lines: Vec<Vec<Local>> = Vec::new();
        for k in 0..14 {
            let mut at = |j: i32| Local { x: f64::from(j) * 130.0 - 100.0, y: f64::from(k) * 65.0 - 80.0 + 20.0 * numbers.next() };
            let whole: Vec<Local> = (0..5).map(&mut at).collect();
            match k % 2 {
                0 => lines.push(whole),
                _ => lines.extend([whole[..2].to_vec(), whole[2..].to_vec()]),
            }
        }
        let barriers = crate::reach::Barriers::new(&lines);
        let mut hidden = 0;
        for (radius, measure_from) in [(40.0, MeasureFrom::Outline), (90.0, MeasureFrom::Point)] {
            let wanted = Wanted { radius: Metres(radius), measure_from, ..Wanted::default() };
            let sources = sources(&survey, &standings, &wanted).among(barriers.clone());
            let ways = Ways::laid(&sources, Metres(radius), &Unwatched).unwrap().unwrap();
            let ground = ground(&survey, &sources, Metres(radius), &Unwatched).unwrap();
            let unsure = radius * (1.0 - (std::f64::consts::PI / 96.0).cos()) + 0.05;
            for _ in 0..3000 {
                let p = Local { x: numbers.next() * 400.0 - 80.0, y: numbers.next() * 900.0 - 80.0 };
                let shape = place(p);
                let to = super::super::lot::Lot::place(p);
                let flight = |i: usize| {
                    let from = sources.shapes().get(i);
                    let straight = distance(from, shape.get(0));
                    match ways.from(i) {
                        Some(f) => ways.flight(f, &to, shape.get(0), from).unwrap_or(f64::INFINITY),
                        None => straight,
                    }
                };
                let nearest = (0..sources.len()).map(flight).fold(f64::INFINITY, f64::min);
                let straight = sources.shapes().iter().map(|s| distance(s, shape.get(0))).fold(f64::INFINITY, f64::min);
                let walls = barriers.walls_in(&Bounds::of(&[p]).grown(0.1));
                if walls.is_empty() && (nearest - radius).abs() > unsure {
                    assert_eq!(ground.shapes.get(0).holds(p), nearest <= radius, "{p:?} {nearest} of {radius}");
                    hidden += usize::from(straight < radius - 1.0 && nearest > radius);
                }
            }
        }
        assert!(hidden > 100, "{hidden} places lie behind a barrier");
    }

    #[test]
    fn one_place_gives_a_circle_and_none_gives_nothing() {
        let mut survey = neighbourhood(1, 1);
        let signal = crate::survey::Signal {
            id: "1".into(),
            day: jiff::civil::date(2025, 7, 1),
            place: Local { x: 900.0, y: 0.0 },
            kind: crate::survey::SignalKind::Complaint,
            value: None,
            species: "".into(),
        };
        survey.signals = std::sync::Arc::new(vec![signal]);
        let wanted = Wanted { from: crate::reach::SourceKind::Complaints, ..Wanted::default() };
        let standings = standings(&survey, RoundId(0));
        let one = ground(&survey, &sources(&survey, &standings, &wanted), Metres(150.0), &Unwatched).unwrap();
        let polygon = 48.0 * 150.0f64.powi(2) * (std::f64::consts::TAU / 96.0).sin();
        assert!((one.area.0 - polygon).abs() < 0.01, "{}", one.area.0);
        let traps = Wanted { from: crate::reach::SourceKind::Traps, ..wanted };
        let none = ground(&survey, &sources(&survey, &standings, &traps), Metres(150.0), &Unwatched).unwrap();
        assert_eq!((none.parts, none.area.0, none.shapes.len()), (0, 0.0, 1));
    }
}
