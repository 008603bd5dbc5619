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
use crate::foresee::{Chances, foresee};
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, Shapes};
use crate::reach::{self, Gap, SourceKind, Wanted};
use crate::survey::{RoundId, Standing, Survey, standings};
use body::{Body, Reach};
use canvas::Canvas;
use lettering::Lettering;
use page::{Layout, Page};
use view::View;

/// Smallest and largest side of a picture, in pixels.
const SIDES: std::ops::RangeInclusive<u32> = 480..=8000;

/// What a map should show.
#[derive(Clone, Debug)]
pub struct MapRequest {
    /// The district's name; may be empty.
    pub district: String,
    /// Which round.
    pub round: RoundId,
    /// What the map is coloured by.
    pub colour_by: ColourBy,
    /// Width and height in pixels, 480 to 8,000 each.
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
    #[error("a map of {width} by {height} pixels cannot be painted: each side must be 480 to 8,000 pixels")]
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
    /// Chances must not be shown.
    #[error("no chances are shown: {0}")]
    NoChances(String),
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
            Self::NoChances(_) => "Colour the map by something else, or inspect more yards",
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
    let chances = match request.colour_by {
        ColourBy::Foreseen => {
            Some(Chances::shown(foresee(survey, &standings, watch)?).map_err(|(refusal, _)| MapError::NoChances(refusal.to_string()))?)
        }
        _ => None,
    };
    let classes = classify(survey, &standings, request.colour_by, gaps, chances.as_ref());
    let saying = saying::of(survey, &standings, &classes, request, found.as_ref());
    let layout = Layout::of(request.size, saying.legend_lines(), saying.foot_lines());
    let view = view_of(survey, found.as_ref(), &layout)?;
    let body = Body {
        survey,
        classes: &classes,
        reach: found.as_ref().map(|f| Reach {
            ground: &f.ground,
            sources: &f.sources,
            radius_pixels: (request.reach.radius.0 * view.scale) as f32,
        }),
        unmasked: request.unmasked,
        unit: layout.unit,
        premise_pixels: middling_side(&survey.premises.outline) * view.scale,
        block_pixels: middling_side(&survey.blocks.outline) * view.scale,
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

/// How large a middling outline is: the square root of the middle one of all areas, in metres; 0 where there is none.
fn middling_side(outlines: &Shapes) -> f64 {
    let step = (outlines.len() / 2048).max(1);
    let mut areas: Vec<f64> = (0..outlines.len()).step_by(step).map(|i| outlines.get(i).area()).filter(|a| *a > 0.0).collect();
    areas.sort_by(f64::total_cmp);
    areas.get(areas.len() / 2).map_or(0.0, |a| a.sqrt())
}

#[cfg(test)]
mod tests {
    use super::super::ink::{BREEDING, Rgb};
    use super::*;
    use crate::job::Unwatched;
    use crate::place::{Frame, Local, LonLat};
    use crate::survey::{BlockId, Find, KindId, Outcome, PremiseId, Round, Signal, SignalKind, Streets, Visit, Visits, When};
    use crate::units::Metres;
    use jiff::civil::date;
    use std::sync::Arc;

    /// Two blocks of six lots: nobody positive in the western one, everybody in the eastern one; a street, a trap and a case.
    fn two_blocks(case_at: f64) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
        let (mut lots, mut blocks, mut line) = (Shapes::default(), Shapes::default(), Shapes::default());
        let rectangle = |x: f64, w: f64| [(x, 0.0), (x + w, 0.0), (x + w, 40.0), (x, 40.0)].map(|(x, y)| Local { x, y });
        let finish = |shapes: &mut Shapes, ring: &[Local]| {
            shapes.push_ring(ring);
            shapes.end_part();
            shapes.end_shape();
        };
        for b in [0.0, 135.0] {
            (0..6).for_each(|i| finish(&mut lots, &rectangle(b + 20.0 * f64::from(i), 20.0)));
            finish(&mut blocks, &rectangle(b, 120.0));
        }
        finish(&mut line, &[Local { x: 0.0, y: -8.0 }, Local { x: 255.0, y: -8.0 }]);
        s.premises.parcel_id = Arc::new((0..12).map(|i| i.to_string()).collect());
        s.premises.address = Arc::new((0..12).map(|_| "").collect());
        s.premises.block = Arc::new((0..12).map(|i| Some(BlockId(i / 6))).collect());
        s.premises.outline = Arc::new(lots);
        s.blocks.block_id = Arc::new(["A", "B"].into_iter().collect());
        s.blocks.outline = Arc::new(blocks);
        s.streets = Streets { name: Arc::new(["Anvil Street"].into_iter().collect()), line: Arc::new(line) };
        s.kinds = Arc::new(vec!["bucket".into()]);
        s.rounds = Arc::new(vec![Round { name: "Round 1".into(), first: date(2025, 7, 7), last: date(2025, 7, 9) }]);
        s.visits = Visits::from_rows(12, (0..11).map(visited).collect());
        s.signals = Arc::new(vec![signal(SignalKind::Trap, 60.0), signal(SignalKind::Case, case_at)]);
        s
    }

    fn signal(kind: SignalKind, x: f64) -> Signal {
        Signal { id: "S".into(), day: date(2025, 7, 1), place: Local { x, y: 20.0 }, kind, value: None, species: "".into() }
    }

    fn visited(premise: u32) -> (Visit, Vec<Find>) {
        let when = When { day: date(2025, 7, 7), time: None };
        let (outcome, round) = (Outcome::Inspected, RoundId(0));
        let visit = Visit { id: "v".into(), premise: PremiseId(premise), when, outcome, round, crew: "A".into(), finds: 0..0 };
        let larvae = u32::from(premise >= 6);
        let nothing = Find {
            kind: KindId(0),
            count: 1,
            wet: 1,
            with_larvae: larvae,
            with_pupae: 0,
            pupae: 0,
            stage: None,
            litres: None,
            action: None,
            remains: false,
        };
        (visit, vec![nothing])
    }

    fn request(colour_by: ColourBy) -> MapRequest {
        let reach = Wanted { from: SourceKind::Positives, radius: Metres(30.0), ..Wanted::default() };
        MapRequest { district: "Quillmere".to_owned(), round: RoundId(0), colour_by, size: (800, 600), reach, unmasked: false }
    }

    fn pixels(png: &[u8]) -> tiny_skia::Pixmap {
        tiny_skia::Pixmap::decode_png(png).unwrap()
    }

    /// How many pixels of a picture have a colour exactly.
    fn of_colour(png: &[u8], wanted: Rgb) -> usize {
        pixels(png).pixels().iter().filter(|p| Rgb(p.red(), p.green(), p.blue()) == wanted).count()
    }

    /// The head of the file is as the PNG specification (ISO/IEC 15948, section 11.2.2) has it: width, then height.
    #[test]
    fn the_picture_has_the_size_asked_for_and_the_same_bytes_twice() {
        let survey = two_blocks(100.0);
        let a = paint_map(&survey, &request(ColourBy::HouseIndex), &Unwatched).unwrap();
        let b = paint_map(&survey, &request(ColourBy::HouseIndex), &Unwatched).unwrap();
        assert!(a.png == b.png);
        assert_eq!(a.png[16..24], [0, 0, 3, 32, 0, 0, 2, 88]);
    }

    #[test]
    fn blocks_are_filled_with_the_ink_of_their_class() {
        let painted = paint_map(&two_blocks(100.0), &request(ColourBy::HouseIndex), &Unwatched).unwrap();
        let found = BREEDING.map(|c| of_colour(&painted.png, c));
        // The swatches alone are about 250 pixels each; a block is many times that.
        assert!(found[0] > 4000 && found[4] > 4000, "{found:?}");
        assert!(found[1] < 600 && found[2] < 600 && found[3] < 600, "{found:?}");
        assert_eq!(painted.classes.blocks, [0, 4]);
    }

    #[test]
    fn a_map_of_gaps_counts_the_yard_that_is_left() {
        let painted = paint_map(&two_blocks(100.0), &request(ColourBy::Gaps), &Unwatched).unwrap();
        assert_eq!(painted.gaps, Some(1));
        assert!(of_colour(&painted.png, ink::GAP) > 500 && of_colour(&painted.png, ink::REACH) > 500);
    }

    /// Nothing in the picture depends on where a case is, unless somebody asked for it.
    #[test]
    fn cases_leave_no_trace() {
        for by in ColourBy::ALL {
            let paint = |at: f64, unmasked: bool| {
                let request = MapRequest { unmasked, ..request(by) };
                paint_map(&two_blocks(at), &request, &Unwatched).unwrap().png
            };
            assert!(paint(100.0, false) == paint(31.0, false), "{by:?}");
            assert_eq!(paint(100.0, true) == paint(31.0, true), by != ColourBy::Gaps, "{by:?}");
        }
        let smallest = MapRequest { unmasked: true, size: (480, 480), ..request(ColourBy::Gaps) };
        let shown = paint_map(&two_blocks(100.0), &smallest, &Unwatched).unwrap().png;
        let lower = pixels(&shown).pixels()[480 * 420..].iter().filter(|p| Rgb(p.red(), p.green(), p.blue()) == ink::WARNING).count();
        assert!(lower > 20, "the warning is left out: {lower}");
        let mut round_cases = request(ColourBy::Gaps);
        round_cases.reach.from = SourceKind::Cases;
        assert_eq!(paint_map(&two_blocks(1.0), &round_cases, &Unwatched).unwrap_err(), MapError::WouldShowCases);
    }

    #[test]
    fn what_cannot_be_painted_is_told() {
        let survey = two_blocks(100.0);
        let small = MapRequest { size: (100, 600), ..request(ColourBy::Coverage) };
        assert_eq!(paint_map(&survey, &small, &Unwatched).unwrap_err(), MapError::Size { width: 100, height: 600 });
        let empty = Survey::empty(survey.frame);
        let error = paint_map(&empty, &request(ColourBy::Coverage), &Unwatched).unwrap_err();
        assert_eq!(error, MapError::NothingToDraw);
        assert!(!error.hint().is_empty());
    }

    struct Stopped;

    impl Watch for Stopped {
        fn progress(&self, _stage: &str, _done: u64, _total: u64) {}

        fn cancelled(&self) -> bool {
            true
        }
    }

    #[test]
    fn painting_can_be_stopped() {
        let error = paint_map(&two_blocks(1.0), &request(ColourBy::HouseIndex), &Stopped).unwrap_err();
        assert_eq!(error, MapError::Cancelled(Cancelled));
    }
}
