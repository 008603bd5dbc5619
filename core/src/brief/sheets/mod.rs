//! A day's walks on paper and in files: a sheet for each crew, tracks for hand-held receivers, layers for other programs, and
//! an empty visits table that comes back filled.

mod blank_visits;
mod chart;
pub(super) mod content;
pub(super) mod cover;
pub(super) mod list;
#[cfg(test)]
pub(super) mod made_up;
pub(super) mod press;
mod streets;
mod tracks;

pub use blank_visits::sheet_visit_id;

use crate::error::Hint;
use crate::job::{Cancelled, Watch};
use crate::survey::{RoundId, Survey, UnknownWord};
use crate::walks::{CrewWalk, Day};
use cover::Cover;
use list::List;
use press::Press;
use std::str::FromStr;

/// The paper that sheets are printed on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PageSize {
    /// US letter, 8.5 by 11 inches.
    #[default]
    Letter,
    /// A4, 210 by 297 mm.
    A4,
}

impl PageSize {
    /// Every size.
    pub const ALL: [Self; 2] = [Self::Letter, Self::A4];

    /// The size as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "a4",
        }
    }

    /// Width and height in points, of which 72 make an inch.
    ///
    /// # Source
    /// ISO 216 (A4: 210 by 297 mm); ANSI/ASME Y14.1 (letter: 8.5 by 11 in); both from memory.
    pub fn points(self) -> (f32, f32) {
        match self {
            Self::Letter => (612.0, 792.0),
            Self::A4 => (595.276, 841.89),
        }
    }
}

impl FromStr for PageSize {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let given = text.trim();
        Self::ALL.into_iter().find(|p| p.word().eq_ignore_ascii_case(given)).ok_or_else(|| UnknownWord {
            given: given.to_owned(),
            what: "a size of paper",
            known: Self::ALL.map(Self::word).join(", "),
        })
    }
}

/// How a day is handed out.
#[derive(Clone, Debug, PartialEq)]
pub struct HandOut {
    /// The district's name; may be empty, and is left out where it says the word case.
    pub district: String,
    /// The round that the day's visits belong to; without one, or where its name says the word case, they get a round of their own.
    pub round: Option<RoundId>,
    /// The paper.
    pub paper: PageSize,
    /// Languages of the notices to carry.
    pub languages: Vec<String>,
    /// Only this crew's files, by its place among the walks; all crews and the files of the whole day otherwise.
    pub crew: Option<usize>,
}

impl Default for HandOut {
    fn default() -> Self {
        Self { district: String::new(), round: None, paper: PageSize::default(), languages: vec!["English".to_owned()], crew: None }
    }
}

/// Why a day could not be handed out.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SheetError {
    /// Somebody asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// The day has no door.
    #[error("no crew has a door on this day")]
    NoDoors,
    /// The type that the program carries cannot be read.
    #[error("the type for the sheets is broken")]
    Type,
    /// The page has no size.
    #[error("the paper has no size")]
    Page,
    /// The file could not be made.
    #[error("the sheet could not be made: {reason}")]
    Pdf {
        /// What the library said.
        reason: String,
    },
}

impl Hint for SheetError {
    fn hint(&self) -> String {
        match self {
            Self::Cancelled(_) => "",
            Self::NoDoors => "Plan the day first, or add a door by hand",
            Self::Type | Self::Page => "Install the program again",
            Self::Pdf { .. } => "Try again; save the survey first",
        }
        .to_owned()
    }
}

/// A file to hand out: its name, without folders, and its bytes.
pub type Handed = (String, Vec<u8>);

/// Everything that a day's crews take along: for each crew with doors `sheet-CREW.pdf` and `walk-CREW.gpx`, for the day
/// `walks.geojson`, `walks.kml` and `visits-DAY.csv`, an empty visits table with a row for each door. The same day and survey give
/// the same bytes.
///
/// No file says where or whether anybody fell ill: signals are not read.
///
/// # Errors
/// [`SheetError::NoDoors`] when there is nothing to hand out; [`SheetError::Cancelled`] when somebody asked to stop; the others when
/// a sheet cannot be made.
pub fn hand_out(day: &Day, survey: &Survey, what: &HandOut, watch: &dyn Watch) -> Result<Vec<Handed>, SheetError> {
    let chosen = |i: usize| what.crew.is_none_or(|c| c == i);
    let walks: Vec<(usize, &CrewWalk)> = day.walks.iter().enumerate().filter(|(i, w)| chosen(*i) && !w.doors.is_empty()).collect();
    if walks.is_empty() {
        return Err(SheetError::NoDoors);
    }
    let press = Press::new()?;
    let mut out = Vec::new();
    for (done, (i, walk)) in walks.iter().enumerate() {
        watch.step("printing the sheets", done as u64, walks.len() as u64)?;
        let crew = file_name(&day.walks, *i);
        out.push((format!("sheet-{crew}.pdf"), sheet(day, survey, walk, what, &press)?));
        out.push((format!("walk-{crew}.gpx"), tracks::gpx(day, survey, walk).into_bytes()));
    }
    if what.crew.is_none() {
        out.push(("walks.geojson".to_owned(), tracks::geojson(day, survey).into_bytes()));
        out.push(("walks.kml".to_owned(), tracks::kml(day, survey).into_bytes()));
        out.push((format!("visits-{}.csv", day.on), blank_visits::csv(day, survey, what.round).into_bytes()));
    }
    Ok(out)
}

/// The pages of one crew.
fn sheet(day: &Day, survey: &Survey, walk: &CrewWalk, what: &HandOut, press: &Press) -> Result<Vec<u8>, SheetError> {
    let size = what.paper.points();
    let words = content::of_walk(survey, day, walk, what);
    let doors = content::of_doors(survey, day, walk);
    let list = List::of(&doors, press, size);
    let district = if content::names_a_case(&what.district) { "" } else { what.district.as_str() };
    let cover = Cover { survey, day, walk, words: &words, district, size };
    let pages = list.pages() + 1;
    let title = format!("{}, {}", words.crew, words.on);
    press.print(&title, size, pages, &mut |number, leaf| {
        list::blank(leaf, size);
        match number.checked_sub(1) {
            None => cover.draw(leaf),
            Some(page) => list.draw(leaf, page, &words),
        }
        list::foot(leaf, size, &words, number + 1, pages);
    })
}

/// A crew's name as a part of a file's name: small letters, figures and hyphens; with its number where another crew's would be
/// the same.
fn file_name(walks: &[CrewWalk], at: usize) -> String {
    let plain = |name: &str| {
        let words: Vec<String> = name
            .split(|c: char| !c.is_alphanumeric())
            .filter(|w| !w.is_empty())
            .map(|w| w.to_lowercase().chars().filter(char::is_ascii).collect())
            .collect();
        words.join("-")
    };
    let name = plain(&walks[at].crew);
    let shared = walks.iter().filter(|w| plain(&w.crew) == name).count() > 1;
    if name.is_empty() || shared { format!("{}{}{}", name, if name.is_empty() { "crew-" } else { "-" }, at + 1) } else { name }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
pub(super) use tests::poppler;
