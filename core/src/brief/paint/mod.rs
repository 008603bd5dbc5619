//! Painting one map off screen, with everything a printed map needs.

mod body;
mod canvas;
mod chart;
mod format;
mod ground;
mod hatch;
pub(super) mod lettering;
mod marks;
mod names;
mod numbers;
mod packed;
mod page;
mod pdf;
mod saying;
mod sheet;
mod svg;
#[cfg(test)]
mod trials;
mod view;
mod walks;

use super::breaks::Classing;
use super::changed;
use super::classes::{Classes, ColourBy, Showing, classify};
use super::ink;
use super::together::{Together, together};
use crate::error::Hint;
use crate::files::TileFile;
use crate::foresee::{Chance, Foreseen, foresee};
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, Local, Shapes};
use crate::reach::{self, Gap, SourceKind, Wanted};
use crate::survey::{RoundId, Standing, Survey, standings};
use crate::walks::Day;
use std::sync::Arc;

pub use chart::{ChartWords, paint_change};
pub use format::{Format, MapSize};
pub(super) use pdf::{document, document_in};

use body::{Body, Reach};
use canvas::Canvas;
use ground::Underlay;
use lettering::Lettering;
use page::{Layout, Page, Saying, rectangle};
use sheet::{Framed, Sheet};
use svg::Svg;
use view::View;

/// Pixels of the ground to one of a map on paper, each way: 192 to an inch.
const FINER: u32 = 2;
/// Smallest and largest width and height of a picture, in pixels.
const SIDES: [std::ops::RangeInclusive<u32>; 2] = [400..=8000, 300..=8000];

/// What a map should show.
#[derive(Clone, Debug)]
pub struct MapRequest {
    /// The district's name; may be empty.
    pub district: String,
    /// Which round; `None` before the first visit.
    pub round: Option<RoundId>,
    /// The round that a map of change compares it with; `None` for the one before.
    pub since: Option<RoundId>,
    /// What the map is coloured by.
    pub colour_by: ColourBy,
    /// How values become classes.
    pub classing: Classing,
    /// How large it is.
    pub size: MapSize,
    /// The part of the ground that it shows, in the district frame; `None` for the whole district.
    pub part: Option<Bounds>,
    /// What file it becomes. On paper 96 pixels are an inch.
    pub format: Format,
    /// The reach that gaps are looked for in; read on a map of gaps alone.
    pub reach: Wanted,
    /// Shows cases where they are. Their addresses are health information.
    pub unmasked: bool,
    /// Pictures of the ground underneath, if any.
    pub ground: Option<Ground>,
    /// The day whose walks are drawn over the map, all crews; `None` for none.
    pub walks: Option<Arc<Day>>,
}

/// Pictures of the ground, to lie under a map; whoever made them is named on it.
#[derive(Clone, Debug)]
pub struct Ground {
    /// The file of map tiles.
    pub file: Arc<TileFile>,
}

/// A painted map.
#[derive(Clone, Debug)]
pub struct Painted {
    /// The bytes of the file.
    pub bytes: Vec<u8>,
    /// The classes that are drawn, with their counts.
    pub classes: Classes,
    /// How many gaps there are; `None` on a map that shows none.
    pub gaps: Option<usize>,
    /// Why a map of chances or of change shows none.
    pub refusal: Option<String>,
}

/// Why no map could be painted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MapError {
    /// Somebody asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// The picture would be too small to read or too large to hold.
    #[error("a map of {width} by {height} pixels cannot be painted: it must be 400 to 8,000 wide and 300 to 8,000 high")]
    Size {
        /// Width asked for.
        width: u32,
        /// Height asked for.
        height: u32,
    },
    /// No premise and no block has an outline.
    #[error("the survey has no outline to draw")]
    NothingToDraw,
    /// No yard lies in the part of the ground that was asked for.
    #[error("no yard of the survey lies in that part of the ground")]
    NothingThere,
    /// The file of map tiles is broken where the map needs it.
    #[error("{what}")]
    Ground {
        /// What is wrong, and where.
        what: String,
        /// What to do.
        hint: String,
    },
    /// The file of map tiles has no picture of the district.
    #[error("{file} has no pictures of this district")]
    NoGround {
        /// The file's name.
        file: String,
    },
    /// The picture could not be held in memory or written.
    #[error("the picture could not be made")]
    Picture,
}

impl Hint for MapError {
    fn hint(&self) -> String {
        match self {
            Self::Cancelled(_) => "",
            Self::Size { .. } => "Give another size, as 1600x1200",
            Self::NothingToDraw => "Bring in parcels with outlines first",
            Self::NothingThere => "Give a place inside the district, or leave the place out for all of it",
            Self::Ground { hint, .. } => hint.as_str(),
            Self::NoGround { .. } => "Give a file of map tiles that covers it, or leave the ground out",
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
    let mut bytes = Vec::new();
    let told = put_map(survey, request, watch, |printed| {
        let written = printed.written(request, watch)?;
        bytes = written.unwrap_or_default();
        Ok(!bytes.is_empty())
    })?;
    Ok(Painted { bytes, gaps: told.gaps, refusal: told.refusal, classes: told.classes })
}

/// Draws one map as the next page of a file.
///
/// # Errors
/// Those of [`paint_map`].
pub(super) fn add_map(document: &mut krilla::Document, survey: &Survey, request: &MapRequest, watch: &dyn Watch) -> Result<(), MapError> {
    put_map(survey, request, watch, |printed| {
        pdf::add(document, printed.layout.size, &printed.lettering, |page| printed.lines(page, watch))
    })?;
    Ok(())
}

/// What a map shows, besides its bytes.
struct Told {
    classes: Classes,
    gaps: Option<usize>,
    refusal: Option<String>,
}

/// Makes a map ready and has it put on paper; `put` says whether that could be done.
fn put_map(
    survey: &Survey,
    request: &MapRequest,
    watch: &dyn Watch,
    put: impl FnOnce(&Printed<'_>) -> Result<bool, Cancelled>,
) -> Result<Told, MapError> {
    let size @ (width, height) = request.size.pixels(request.format);
    if !SIDES[0].contains(&width) || !SIDES[1].contains(&height) {
        return Err(MapError::Size { width, height });
    }
    let standings = request.round.map_or_else(|| vec![Standing::default(); survey.premises.len()], |round| standings(survey, round));
    let found = if request.colour_by == ColourBy::Gaps { Some(find_gaps(survey, &standings, request, watch)?) } else { None };
    // Round cases the yards themselves would draw the ring that the mask has moved away.
    let gaps: &[Gap] = found.as_ref().filter(|f| !f.masked).map_or(&[], |f| &f.gaps);
    let foreseen = if request.colour_by == ColourBy::Foreseen { Some(foresee(survey, &standings, watch)?) } else { None };
    let chances: &[Chance] = foreseen.as_ref().filter(|f| f.refusal.is_none()).map_or(&[], |f| &f.chances);
    let MapRequest { colour_by, classing, round, since, .. } = *request;
    let showing = Showing { colour_by, classing, round, since, gaps, chances };
    let refusal = refusal(survey, &showing, foreseen.as_ref());
    let classes = classify(survey, &standings, &showing);
    let lies = together(&[&survey.premises.outline, &survey.blocks.outline]);
    let answers = Answers { found: found.as_ref(), foreseen: foreseen.as_ref(), refusal: refusal.as_deref(), lies };
    let unit = page::unit(size, request.size.dots(request.format));
    let lettering = Lettering::new().ok_or(MapError::Picture)?;
    let saying = saying::of(survey, &standings, &classes, request, &answers).fitted(size, unit, &lettering);
    let layout = Layout::of(size, unit, saying.legend_lines(), saying.foot_lines());
    let view = view_of(survey, request, &answers, &layout)?;
    let finer = if request.format == Format::Png { 1 } else { FINER };
    let ground = request.ground.as_ref().map(|g| Underlay::of(g, &survey.frame, &view, finer, watch)).transpose()?;
    let body = Body {
        survey,
        classes: &classes,
        reach: found.as_ref().map(|f| f.drawn(request, &view)),
        walks: request.walks.as_deref(),
        ground: ground.as_ref(),
        unmasked: request.unmasked,
        unit,
        premise_pixels: middling_side(&survey.premises.outline) * view.scale,
        block_pixels: middling_side(&survey.blocks.outline) * view.scale,
    };
    let saying = saying.without_dots(!body.draws_dots());
    let sheet = Printed { body, view, layout, saying, lettering };
    if !put(&sheet)? {
        return Err(MapError::Picture);
    }
    Ok(Told { gaps: found.as_ref().map(|f| f.gaps.len()), refusal, classes })
}

/// Why a map shows nothing of what it is coloured by; `None` where it shows it.
fn refusal(survey: &Survey, showing: &Showing<'_>, foreseen: Option<&Foreseen>) -> Option<String> {
    let two = showing.colour_by != ColourBy::Change || changed::rounds(survey, showing).is_some();
    let untold = foreseen.and_then(|f| f.refusal).map(|r| r.to_string());
    untold.or_else(|| (!two).then(|| changed::NEEDS_TWO.to_owned()))
}

/// A map with all that is said round it, ready to be drawn on any sheet.
struct Printed<'a> {
    body: Body<'a>,
    view: View,
    layout: Layout,
    saying: Saying,
    lettering: Lettering,
}

impl Printed<'_> {
    fn written(&self, request: &MapRequest, watch: &dyn Watch) -> Result<Option<Vec<u8>>, Cancelled> {
        match request.format {
            Format::Png => Ok(self.png(watch)?.map(|png| format::with_dots(png, request.size.dots(Format::Png)))),
            Format::Svg => self.svg(watch),
            Format::Pdf => self.pdf(watch),
        }
    }

    fn png(&self, watch: &dyn Watch) -> Result<Option<Vec<u8>>, Cancelled> {
        let Some(mut map) = self.body.paint(&self.view, watch)? else { return Ok(None) };
        self.over_map(&mut map);
        let (width, height) = self.layout.size;
        let Some(mut canvas) = Canvas::new(width, height, ink::SHEET) else { return Ok(None) };
        canvas.lay(&map, self.layout.map.0 as i32, self.layout.map.1 as i32);
        self.round_map(&mut canvas);
        watch.step("writing the picture", 0, 0)?;
        Ok(canvas.png())
    }

    fn svg(&self, watch: &dyn Watch) -> Result<Option<Vec<u8>>, Cancelled> {
        let mut page = Svg::new(self.layout.size, &self.saying.heading, ink::SHEET);
        self.lines(&mut page, watch)?;
        Ok(Some(page.finish().into_bytes()))
    }

    fn pdf(&self, watch: &dyn Watch) -> Result<Option<Vec<u8>>, Cancelled> {
        let (size, title, lettering) = (self.layout.size, &self.saying.heading, &self.lettering);
        pdf::page(size, title, lettering, |page| self.lines(page, watch))
    }

    /// Everything, on a sheet without pixels.
    fn lines(&self, page: &mut dyn Framed, watch: &dyn Watch) -> Result<(), Cancelled> {
        watch.step("drawing the map", 0, 0)?;
        page.enter(self.layout.map);
        if let Some(paper) = rectangle(0.0, 0.0, self.view.size.0 as f32, self.view.size.1 as f32) {
            page.fill(&paper, ink::PAPER);
        }
        self.body.draw(&self.view, page);
        self.over_map(page);
        page.leave();
        watch.step("writing the picture", 0, 0)?;
        self.round_map(page);
        Ok(())
    }

    fn over_map(&self, sheet: &mut dyn Sheet) {
        let (body, view) = (&self.body, &self.view);
        sheet.part("street-names");
        names::write(sheet, view, &body.survey.streets, &self.lettering, self.layout.unit, body.signal_boxes(view));
        sheet.part("house-numbers");
        body.numbers(view, sheet, &self.lettering);
        sheet.part("sources-and-signals");
        body.sources(view, sheet);
        body.signals(view, sheet);
        sheet.part("walks");
        body.walks(view, sheet, &self.lettering);
        if let Some(ground) = body.ground {
            page::credit(sheet, &self.lettering, &ground.credit, self.view.size, self.layout.unit);
        }
    }

    fn round_map(&self, sheet: &mut dyn Sheet) {
        sheet.part("page");
        Page { sheet, lettering: &self.lettering, layout: self.layout }.write(&self.saying, self.view.scale);
    }
}

/// What was worked out for the map besides its classes.
struct Answers<'a> {
    found: Option<&'a Found>,
    foreseen: Option<&'a Foreseen>,
    /// Why the map shows nothing of what it is coloured by.
    refusal: Option<&'a str>,
    /// What of the district lies together.
    lies: Together,
}

/// The gaps of a round and the reach they lie in.
struct Found {
    sources: reach::Sources,
    ground: reach::Ground,
    gaps: Vec<Gap>,
    /// Whether the reach is drawn from the mask of cases.
    masked: bool,
}

impl Found {
    /// The reach as a view shows it.
    fn drawn(&self, request: &MapRequest, view: &View) -> Reach<'_> {
        Reach {
            ground: &self.ground,
            sources: &self.sources,
            of_cases: request.reach.from == SourceKind::Cases,
            radius_pixels: (request.reach.radius.0 * view.scale) as f32,
        }
    }
}

fn find_gaps(survey: &Survey, standings: &[Standing], request: &MapRequest, watch: &dyn Watch) -> Result<Found, MapError> {
    let wanted = &request.reach;
    let masked = wanted.from == SourceKind::Cases && !request.unmasked;
    let sources = reach::sources(survey, standings, wanted);
    let gaps = reach::gaps(survey, standings, &sources, wanted, watch)?;
    if masked {
        let ground = reach::masked_ground(survey, &sources, wanted.radius, watch)?;
        return Ok(Found { sources: reach::masked_cases(survey), ground, gaps, masked });
    }
    let ground = reach::ground(survey, &sources, wanted.radius, watch)?;
    Ok(Found { sources, ground, gaps, masked })
}

/// The part that was asked for, or all of the district that lies together, and the reach where it goes further.
fn view_of(survey: &Survey, request: &MapRequest, answers: &Answers<'_>, layout: &Layout) -> Result<View, MapError> {
    let size = (layout.map.2, layout.map.3);
    let mut ground = answers.lies.extent;
    if ground.is_empty() {
        return Err(MapError::NothingToDraw);
    }
    if let Some(part) = request.part {
        let holds = |outlines: &Shapes| outlines.bounds().iter().any(|b| !b.is_empty() && b.touches(&part));
        let something = holds(&survey.premises.outline) || holds(&survey.blocks.outline);
        return if something { Ok(View::of(&part, size, 0.0)) } else { Err(MapError::NothingThere) };
    }
    if let Some(found) = answers.found {
        // What a stray yard reaches is as far off as it is.
        let beyond = ground.grown(2.0 * request.reach.radius.0 + reach::Mask::OUTER.0);
        ground = ground.union(clipped(&found.ground.shapes.extent(), &beyond));
    }
    Ok(View::of(&ground, size, f64::from(18.0 * layout.unit)))
}

/// The part of a box that lies in another.
fn clipped(a: &Bounds, b: &Bounds) -> Bounds {
    Bounds {
        min: Local { x: a.min.x.max(b.min.x), y: a.min.y.max(b.min.y) },
        max: Local { x: a.max.x.min(b.max.x), y: a.max.y.min(b.max.y) },
    }
}

/// How large a middling outline is: the square root of the middle one of all areas, in metres; 0 where there is none.
fn middling_side(outlines: &Shapes) -> f64 {
    let step = (outlines.len() / 2048).max(1);
    let mut areas: Vec<f64> = (0..outlines.len()).step_by(step).map(|i| outlines.get(i).area()).filter(|a| *a > 0.0).collect();
    areas.sort_by(f64::total_cmp);
    areas.get(areas.len() / 2).map_or(0.0, |a| a.sqrt())
}
