//! The reach itself: one ground, dissolved from the rings round all sources.

use super::Sources;
use super::round_buffer::push_buffer;
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, Frame, Local, Shapes};
use crate::survey::Survey;
use crate::units::{Metres, SquareMetres};
use geo::{LineString, MultiPolygon, Polygon, unary_union};
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

/// How many sources are united at once before the pieces are united with each other.
const BATCH: usize = 48;

/// The ground within a radius of the sources, dissolved into one outline. Arcs are drawn with 96 sides to the circle, their
/// corners on the true arc, so that the area is at most 0.07 % too small.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// The rings are the Minkowski sum of an outline with a disc: common practice, no source.
pub fn ground(survey: &Survey, sources: &Sources, radius: Metres, watch: &dyn Watch) -> Result<Ground, Cancelled> {
    watch.step("drawing the reach", 0, 0)?;
    let rows: Vec<usize> = (0..sources.len()).collect();
    let batches: Result<Vec<MultiPolygon>, Cancelled> = rows
        .par_chunks(BATCH)
        .map(|batch| {
            let mut rings: Vec<Polygon> = Vec::with_capacity(batch.len());
            for &i in batch {
                push_buffer(sources.shapes().get(i), radius.0, &mut rings);
            }
            if watch.cancelled() { Err(Cancelled) } else { Ok(unary_union(&rings)) }
        })
        .collect();
    let dissolved = unite(batches?, watch)?;
    Ok(measured(&survey.frame, &dissolved))
}

/// Unites pieces with their neighbours, and those with theirs, until one is left.
fn unite(mut pieces: Vec<MultiPolygon>, watch: &dyn Watch) -> Result<MultiPolygon, Cancelled> {
    while pieces.len() > 1 {
        watch.step("dissolving the reach", 0, 0)?;
        pieces = pieces.par_chunks(4).map(|some| unary_union(some.iter().flat_map(|m| &m.0))).collect();
    }
    Ok(pieces.pop().unwrap_or_else(|| MultiPolygon::new(Vec::new())))
}

fn measured(frame: &Frame, dissolved: &MultiPolygon) -> Ground {
    let mut shapes = Shapes::default();
    for polygon in dissolved {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            shapes.push_ring(&places(ring));
        }
        shapes.end_part();
    }
    shapes.end_shape();
    let area = shapes.get(0).parts().map(|part| {
        let extent = part.rings().next().map_or(Bounds::EMPTY, Bounds::of);
        part.area() / (1.0 + frame.scale_error(extent.centre())).powi(2)
    });
    Ground { area: SquareMetres(area.sum()), parts: dissolved.0.len(), shapes }
}

/// The places of a closed line, the first not repeated.
fn places(ring: &LineString) -> Vec<Local> {
    let closed = &ring.0;
    closed[..closed.len().saturating_sub(1)].iter().map(|c| Local { x: c.x, y: c.y }).collect()
}
