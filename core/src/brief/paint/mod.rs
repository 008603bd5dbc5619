//! Painting one map off screen, with everything a printed map needs.

mod body;
mod canvas;
mod lettering;
mod marks;
mod names;
mod page;
mod saying;
mod view;

use super::classes::{Classes, ColourBy, classify};
use super::ink;
use crate::error::Hint;
use crate::job::{Cancelled, Watch};
use crate::place::Bounds;
use crate::reach::{self, Gap, SourceKind, Wanted};
use crate::survey::{RoundId, Standing, Survey, standings};
use body::{Body, Reach};
use canvas::Canvas;
use lettering::Lettering;
use page::{Layout, Page};
use view::View;

/// Smallest and largest side of a picture, in pixels.
const SIDES: std::ops::RangeInclusive<u32> = 320..=8000;

/// What a map should show.
#[derive(Clone, Debug)]
pub struct MapRequest {
    /// The district's name; may be empty.
    pub district: String,
    /// Which round.
    pub round: RoundId,
    /// What the map is coloured by.
    pub colour_by: ColourBy,
    /// Width and height in pixels, 320 to 8,000 each.
    pub size: (u32, u32),
    /// The reach that gaps are looked for in; read on a map of gaps alone.
    pub reach: Wanted,
    /// Shows cases where they are. Their addresses are health information.
    pub unmasked: bool,
}

/// A painted map.
#[derive(Clone, Debug)]
pub struct Painted {
    /// The bytes of a PNG file.
    pub png: Vec<u8>,
    /// The classes that are drawn, with their counts.
    pub classes: Classes,
    /// How many gaps there are; `None` on a map that shows none.
    pub gaps: Option<usize>,
}

/// Why no map could be painted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MapError {
    /// Somebody asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// The picture would be too small to read or too large to hold.
    #[error("a map of {width} by {height} pixels cannot be painted: each side must be 320 to 8,000 pixels")]
    Size {
        /// Width asked for.
        width: u32,
        /// Height asked for.
        height: u32,
    },
    /// No premise and no block has an outline.
    #[error("the survey has no outline to draw")]
    NothingToDraw,
    /// The reach would show where cases are.
    #[error("a map of the reach round cases shows where people fell ill")]
    WouldShowCases,
    /// The picture could not be held in memory or written as PNG.
    #[error("the picture could not be made")]
    Picture,
}

impl Hint for MapError {
    fn hint(&self) -> String {
        match self {
            Self::Cancelled(_) => "",
            Self::Size { .. } => "Give another size, as 1600x1200",
            Self::NothingToDraw => "Bring in parcels with outlines first",
            Self::WouldShowCases => "Draw it from positives, traps or complaints, or ask for it unmasked and keep it inside the office",
            Self::Picture => "Try a smaller size",
        }
        .to_owned()
    }
}

/// Paints one map of a survey: the same survey and request give the same bytes.
///
/// # Errors
/// [`MapError`] for a size out of range, a survey without outlines, a reach that would show cases unasked, or when stopped.
pub fn paint_map(survey: &Survey, request: &MapRequest, watch: &dyn Watch) -> Result<Painted, MapError> {
    let (width, height) = request.size;
    if !SIDES.contains(&width) || !SIDES.contains(&height) {
        return Err(MapError::Size { width, height });
    }
    let standings = standings(survey, request.round);
    let found = if request.colour_by == ColourBy::Gaps { Some(find_gaps(survey, &standings, request, watch)?) } else { None };
    let gaps: &[Gap] = found.as_ref().map_or(&[], |f| &f.gaps);
    let classes = classify(survey, &standings, request.colour_by, gaps);
    let saying = saying::of(survey, &standings, &classes, request, found.as_ref());
    let layout = Layout::of(request.size, saying.foot.len());
    let view = view_of(survey, found.as_ref(), &layout)?;
    let body = Body {
        survey,
        classes: &classes,
        reach: found.as_ref().map(|f| Reach { ground: &f.ground, sources: &f.sources }),
        unmasked: request.unmasked,
        unit: layout.unit,
        premise_pixels: middling_premise(survey) * view.scale,
    };
    let mut map = body.paint(&view, watch)?.ok_or(MapError::Picture)?;
    let lettering = Lettering::new().ok_or(MapError::Picture)?;
    names::write(&mut map, &view, &survey.streets, &lettering, layout.unit, body.signal_boxes(&view));
    body.sources(&view, &mut map);
    body.signals(&view, &mut map);
    let mut canvas = Canvas::new(width, height, ink::SHEET).ok_or(MapError::Picture)?;
    canvas.lay(&map, layout.map.0 as i32, layout.map.1 as i32);
    Page { canvas: &mut canvas, lettering: &lettering, layout }.write(&saying, view.scale);
    watch.step("writing the picture", 0, 0)?;
    let png = canvas.png().ok_or(MapError::Picture)?;
    Ok(Painted { png, gaps: found.as_ref().map(|f| f.gaps.len()), classes })
}

/// The gaps of a round and the reach they lie in.
struct Found {
    sources: reach::Sources,
    ground: reach::Ground,
    gaps: Vec<Gap>,
}

fn find_gaps(survey: &Survey, standings: &[Standing], request: &MapRequest, watch: &dyn Watch) -> Result<Found, MapError> {
    let wanted = &request.reach;
    if wanted.from == SourceKind::Cases && !request.unmasked {
        return Err(MapError::WouldShowCases);
    }
    let sources = reach::sources(survey, standings, wanted);
    let ground = reach::ground(survey, &sources, wanted.radius, watch)?;
    let gaps = reach::gaps(survey, standings, &sources, wanted, watch)?;
    Ok(Found { sources, ground, gaps })
}

/// The whole district, and the reach where it goes further.
fn view_of(survey: &Survey, found: Option<&Found>, layout: &Layout) -> Result<View, MapError> {
    let mut ground = survey.premises.outline.extent().union(survey.blocks.outline.extent());
    if let Some(found) = found {
        ground = ground.union(found.ground.shapes.extent());
    }
    if ground.is_empty() || ground == Bounds::EMPTY {
        return Err(MapError::NothingToDraw);
    }
    Ok(View::of(&ground, (layout.map.2, layout.map.3), f64::from(18.0 * layout.unit)))
}

/// How large a middling premise is: the square root of the middle one of all areas, in metres.
fn middling_premise(survey: &Survey) -> f64 {
    let outlines = &survey.premises.outline;
    let step = (outlines.len() / 2048).max(1);
    let mut areas: Vec<f64> = (0..outlines.len()).step_by(step).map(|i| outlines.get(i).area()).filter(|a| *a > 0.0).collect();
    areas.sort_by(f64::total_cmp);
    areas.get(areas.len() / 2).map_or(0.0, |a| a.sqrt())
}
