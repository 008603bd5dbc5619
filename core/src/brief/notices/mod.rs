//! Householder notices: what was found in a yard, what is left to do and by when, or that nobody opened; in the householder's language.

mod doors;
mod english;
mod phrases;
mod slip;
mod spanish;
#[cfg(test)]
mod tests;
mod words;

use super::paint::document_in;
use super::sheets::content::names_a_case;
use super::sheets::press::{Leaf, Press, finished};
use super::sheets::{PageSize, SheetError, list};
use crate::error::Hint;
use crate::foresee::{Deadlines, Species};
use crate::job::{Cancelled, Watch};
use crate::survey::{ContainerKnowledge, Language, PremiseId, RoundId, Survey};
use doors::{Doors, Picked};
use jiff::civil::Date;
use krilla::document::Document;
use krilla::graphic::Graphic;
use phrases::Phrases;
use serde::Serialize;
use slip::{Half, Slip};
use std::collections::{BTreeMap, VecDeque};
use words::Teller;

/// Notices between two looks at the watch.
const BETWEEN_LOOKS: usize = 64;

/// What notices are asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NoticesRequest {
    /// The district's name; may be empty, and is left out where it says the word case.
    pub district: String,
    /// The day on which they are handed out: what is to be done before it is to be done at once; `None` for the day after the round.
    pub on: Option<Date>,
    /// The species whose growth sets the last safe days.
    pub species: Species,
    /// The paper, two notices to a page.
    pub paper: PageSize,
    /// The language of the householders.
    pub language: Language,
    /// Whom they call; lines for a pen where it is empty.
    pub office: String,
    /// Only these doors, in this order; all doors of the round otherwise, block by block and along the streets.
    pub doors: Option<Vec<PremiseId>>,
}

/// What was printed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Printed {
    /// How many notices.
    pub notices: usize,
    /// Why, each with how many.
    pub by_reason: BTreeMap<&'static str, usize>,
    /// Doors of the round that somebody went to and that get none.
    pub skipped: usize,
    /// Why not, each with how many.
    pub skipped_because: BTreeMap<&'static str, usize>,
    /// Notices whose day is over, so that they say "at once".
    pub at_once: usize,
    /// Pages of the file.
    pub pages: usize,
}

/// Why there are no notices.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoticesError {
    /// Somebody asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// No door gets one.
    #[error("no door of {round} gets a notice: nothing is left to a householder, and no door that somebody went to stayed shut")]
    Nothing {
        /// The round.
        round: String,
    },
    /// A page could not be made.
    #[error(transparent)]
    Page(#[from] SheetError),
}

impl Hint for NoticesError {
    fn hint(&self) -> String {
        match self {
            Self::Cancelled(_) => String::new(),
            Self::Nothing { .. } => "Name another round with --round, or bring in the crews' sheets first".to_owned(),
            Self::Page(error) => error.hint(),
        }
    }

    fn in_window(&self) -> String {
        match self {
            Self::Nothing { .. } => "Choose another round above, or bring in the crews' sheets first".to_owned(),
            other => other.hint(),
        }
    }
}

/// Makes the notices of a round as a PDF file, two to a page: one for each yard where something is left for the householder, one for each
/// door that nobody opened. A yard that was looked at once more since is told as it was left then. The same survey and request give the
/// same bytes.
///
/// No notice says where or whether anybody fell ill, which yards near by are positive, or who went: signals and crews are not read.
///
/// # Errors
/// [`NoticesError::Nothing`] when no door gets one; [`NoticesError::Cancelled`] when somebody asked to stop; [`NoticesError::Page`] when a
/// page cannot be made.
///
/// ```
/// use yardring_core::brief::{NoticesError, NoticesRequest, notices};
/// use yardring_core::job::Unwatched;
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::survey::{Round, RoundId, Survey};
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
/// let day = "2025-07-24".parse()?;
/// survey.rounds = std::sync::Arc::new(vec![Round { name: "Round 1".into(), first: day, last: day }]);
/// let printed = notices(&survey, RoundId(0), &NoticesRequest::default(), &Unwatched);
/// assert!(matches!(printed, Err(NoticesError::Nothing { .. })));
/// # Ok::<(), jiff::Error>(())
/// ```
pub fn notices(survey: &Survey, round: RoundId, request: &NoticesRequest, watch: &dyn Watch) -> Result<(Vec<u8>, Printed), NoticesError> {
    let last = survey.rounds[round.row()].last;
    let on = request.on.or_else(|| last.tomorrow().ok()).unwrap_or(last);
    if survey.visits.rows().iter().any(|v| v.when.day > on) {
        // Visits after the day are not known yet.
        let known = Survey { visits: survey.visits.until(on), ..survey.clone() };
        return printed(&known, (round, on), request, watch);
    }
    printed(survey, (round, on), request, watch)
}

fn printed(
    survey: &Survey,
    (round, on): (RoundId, Date),
    request: &NoticesRequest,
    watch: &dyn Watch,
) -> Result<(Vec<u8>, Printed), NoticesError> {
    let known = ContainerKnowledge::of(survey);
    let doors = Doors { survey, round, known: known.by_kind(survey) };
    let (picked, skipped_because) = doors.picked(request.doors.as_deref(), watch)?;
    if picked.is_empty() {
        return Err(NoticesError::Nothing { round: survey.rounds[round.row()].name.to_string() });
    }
    let teller = Teller { doors, deadlines: Deadlines::of(survey, request.species, on), on, language: request.language };
    let mut out = Printed { notices: picked.len(), skipped: skipped_because.values().sum(), skipped_because, ..Printed::default() };
    picked.iter().for_each(|p| *out.by_reason.entry(p.reason.word()).or_default() += 1);
    let bytes = Printing::new(request)?.all(&teller, &picked, &mut out, watch)?;
    Ok((bytes, out))
}

/// A file of notices being printed.
struct Printing<'a> {
    press: Press,
    document: Document,
    size: (f32, f32),
    request: &'a NoticesRequest,
    /// What stands on every half page, and the line to cut along: the file holds them once.
    kept: Option<(Graphic, Graphic)>,
}

impl<'a> Printing<'a> {
    fn new(request: &'a NoticesRequest) -> Result<Self, NoticesError> {
        let (district, title) = (district(request), Phrases::of(request.language).file_title);
        let title = if district.is_empty() { title.to_owned() } else { format!("{district}: {title}") };
        let document = document_in(request.language, &title);
        Ok(Self { press: Press::new()?, document, size: request.paper.points(), request, kept: None })
    }

    /// Prints the notices of some doors and gives the bytes of the file.
    fn all(mut self, teller: &Teller<'_>, picked: &[Picked], out: &mut Printed, watch: &dyn Watch) -> Result<Vec<u8>, NoticesError> {
        let half = Half { size: (self.size.0, self.size.1 / 2.0), says: teller.phrases() };
        let mut waiting: VecDeque<Slip> = VecDeque::new();
        for (done, one) in picked.iter().enumerate() {
            if done.is_multiple_of(BETWEEN_LOOKS) {
                watch.step("printing the notices", done as u64, picked.len() as u64)?;
            }
            let notice = teller.notice(one);
            out.at_once += usize::from(notice.late);
            waiting.extend(half.slips(&self.press.lettering, &notice));
            while waiting.len() > 1 {
                self.page(&half, &mut waiting, out)?;
            }
        }
        if !waiting.is_empty() {
            self.page(&half, &mut waiting, out)?;
        }
        watch.step("writing the notices", 0, 0)?;
        Ok(finished(self.document)?)
    }

    /// Prints the next page with up to two half pages.
    fn page(&mut self, half: &Half<'_>, waiting: &mut VecDeque<Slip>, out: &mut Printed) -> Result<(), NoticesError> {
        let (size, request, kept) = (self.size, self.request, &mut self.kept);
        out.pages += 1;
        self.press.add(&mut self.document, size, |leaf| {
            list::blank(leaf, size);
            let (same, cut) = kept.get_or_insert_with(|| drawn_once(leaf, half, request));
            for top in [0.0, half.size.1] {
                let Some(slip) = waiting.pop_front() else { break };
                leaf.stamp(same, (0.0, top));
                slip::draw(leaf, &slip, top);
            }
            leaf.stamp(cut, (0.0, half.size.1));
        })?;
        Ok(())
    }
}

/// What stands on every half page, and the line to cut along.
fn drawn_once(leaf: &mut Leaf<'_, '_>, half: &Half<'_>, request: &NoticesRequest) -> (Graphic, Graphic) {
    let same = leaf.once(|leaf| half.same_for_all(leaf, &district(request), request.office.trim()));
    (same, leaf.once(|leaf| slip::cut_line(leaf, (half.size.0, 0.0))))
}

/// The district's name; empty where it says the word case.
fn district(request: &NoticesRequest) -> String {
    if names_a_case(&request.district) { String::new() } else { request.district.clone() }
}
