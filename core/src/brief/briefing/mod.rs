//! The briefing for the meeting: one file of a few pages, the answers first, then the maps, the blocks, and how it was worked out.

mod facts;
mod pages;

pub use facts::{Bar, BlockRow, Facts, Figure, Point, TreatedWater};

use super::breaks::{Breaks, Classing};
use super::classes::ColourBy;
use super::paint::{Format, MapError, MapRequest, MapSize, add_map, document};
use super::sheets::press::{Press, finished};
use super::sheets::{PageSize, SheetError};
use crate::error::Hint;
use crate::foresee::Species;
use crate::job::{Cancelled, Watch};
use crate::measure::Beside;
use crate::reach::Wanted;
use crate::survey::{RoundId, SignalKind, Survey};
use crate::units::Metres;
use jiff::civil::Date;
use std::sync::Arc;

/// Blocks of which a smaller share was inspected are hatched on the map.
const ENOUGH: f64 = 0.25;

/// What a briefing is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct BriefingRequest {
    /// The district's name.
    pub district: String,
    /// The day that it is of: what is due is counted from it; `None` for the day after the round.
    pub on: Option<Date>,
    /// How far from positive yards gaps are looked for.
    pub radius: Metres,
    /// The species whose growth sets the last safe days.
    pub species: Species,
    /// The paper, which lies.
    pub paper: PageSize,
    /// Blocks beside which the change since the round before is told.
    pub beside: Beside,
}

/// Why there is no briefing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BriefingError {
    /// Somebody asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// A map could not be painted.
    #[error(transparent)]
    Map(MapError),
    /// A page could not be made.
    #[error(transparent)]
    Page(SheetError),
}

impl BriefingRequest {
    /// The reach of positive yards; of cases nothing is said.
    fn reach(&self) -> Wanted {
        Wanted { radius: self.radius, ..Wanted::default() }
    }
}

impl From<MapError> for BriefingError {
    fn from(error: MapError) -> Self {
        match error {
            MapError::Cancelled(stopped) => Self::Cancelled(stopped),
            other => Self::Map(other),
        }
    }
}

impl From<SheetError> for BriefingError {
    fn from(error: SheetError) -> Self {
        match error {
            SheetError::Cancelled(stopped) => Self::Cancelled(stopped),
            other => Self::Page(other),
        }
    }
}

impl Hint for BriefingError {
    fn hint(&self) -> String {
        match self {
            Self::Cancelled(_) => String::new(),
            Self::Map(error) => error.hint(),
            Self::Page(error) => error.hint(),
        }
    }
}

/// Makes the briefing of a round as a PDF file: the same survey and request give the same bytes. Where no premise and no block has an
/// outline there are no maps in it.
///
/// No page says where or whether anybody fell ill.
///
/// # Errors
/// [`BriefingError`] when a page cannot be made or somebody asked to stop.
pub fn briefing(survey: &Survey, round: RoundId, request: &BriefingRequest, watch: &dyn Watch) -> Result<(Vec<u8>, Facts), BriefingError> {
    let told = survey.signals.iter().filter(|s| s.kind != SignalKind::Case).cloned().collect();
    let survey = &Survey { signals: Arc::new(told), ..survey.clone() };
    let facts = Facts::of(survey, round, request, watch)?;
    let maps: &[ColourBy] = if survey.premises.outline.extent().is_empty() && survey.blocks.outline.extent().is_empty() {
        &[]
    } else {
        &[ColourBy::HouseIndex, ColourBy::Gaps]
    };
    let press = Press::new()?;
    let (high, wide) = request.paper.points();
    let paper = pages::Paper { size: (wide, high), pages: 3 + maps.len() };
    let mut document = document(&format!("{}, {}", facts.district, facts.round));
    watch.step("writing the pages", 0, paper.pages as u64)?;
    press.add(&mut document, paper.size, |leaf| pages::in_short(leaf, &facts, &paper))?;
    for (done, colour_by) in (1..).zip(maps) {
        watch.step("writing the pages", done, paper.pages as u64)?;
        add_map(&mut document, survey, &map(&facts, round, request, *colour_by), watch)?;
    }
    watch.step("writing the pages", 1 + maps.len() as u64, paper.pages as u64)?;
    press.add(&mut document, paper.size, |leaf| pages::blocks(leaf, &facts, &paper))?;
    press.add(&mut document, paper.size, |leaf| pages::worked_out(leaf, &facts, &paper))?;
    Ok((finished(document)?, facts))
}

/// A map that fills a page.
fn map(facts: &Facts, round: RoundId, request: &BriefingRequest, colour_by: ColourBy) -> MapRequest {
    MapRequest {
        district: facts.district.clone(),
        round: Some(round),
        since: None,
        colour_by,
        classing: Classing { breaks: Breaks::Programme, classes: 5, enough: ENOUGH },
        size: match request.paper {
            PageSize::A4 => MapSize::A4,
            PageSize::Letter => MapSize::LETTER,
        },
        part: None,
        format: Format::Pdf,
        reach: request.reach(),
        unmasked: false,
        ground: None,
        walks: None,
    }
}

#[cfg(test)]
mod tests;
