//! Lines that no crew crosses: from a file, or drawn on the map. Changes of the survey that can be taken back.

use super::{Tools, reaching};
use crate::jobs::JobKind;
use crate::session::walking::NeverCrossed;
use crate::session::{Answer, Place, Session};
use crate::ui::notice::Trouble;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::reach::Kept;
use yardring_core::survey::settings::NEVER_CROSSED;

/// What the lines are called that somebody drew.
const DRAWN: &str = "drawn on the map";

/// Reads lines from a file beside the window.
pub(super) fn from_file(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    reaching::read_lines(session, tools, path, (JobKind::Lines, "reading the lines"), Answer::LinesRead);
}

/// Keeps the lines that were read.
pub(super) fn read(session: &mut Session, revision: u64, read: Result<Kept, Trouble>) {
    reaching::take_lines(session, revision, read, (Place::Walks, NEVER_CROSSED, "lines"));
}

/// Adds the way that is measured on the map to the lines.
pub(super) fn drawn(session: &mut Session) {
    let (Some(open), Some(line)) = (&session.open, session.stretch.take()) else { return };
    let before = Kept::under(&open.survey, NEVER_CROSSED);
    let mut places = before.as_ref().map(Kept::places).unwrap_or_default();
    places.push(line.to_vec());
    let file = before.map_or_else(|| DRAWN.to_owned(), |b| if b.file.contains(DRAWN) { b.file } else { format!("{} and {DRAWN}", b.file) });
    keep(session, Some(&Kept::new(&file, &places)));
}

/// Reads the lines that the survey keeps when they are others than before; the ways between doors are then learnt anew.
pub(super) fn follow_up(session: &mut Session) {
    let Some(open) = &session.open else { return };
    let kept = open.survey.settings.get(NEVER_CROSSED).map_or("", |v| v);
    if session.walking.never_crossed.kept == kept {
        return;
    }
    let lines = Kept::under(&open.survey, NEVER_CROSSED).unwrap_or_default();
    let places = lines.places().into_iter().map(Arc::new).collect();
    session.walking.never_crossed = NeverCrossed { kept: kept.to_owned(), file: lines.file, lines: places };
    session.walking.ways = None;
    session.walking.ways_asked = false;
}

/// Keeps lines in the survey, or none.
pub(super) fn keep(session: &mut Session, lines: Option<&Kept>) {
    reaching::keep(session, NEVER_CROSSED, lines.map(Kept::text).as_deref());
}
