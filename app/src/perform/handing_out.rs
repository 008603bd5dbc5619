//! Files to take away: each by the function that the command line uses too.

use super::Tools;
use crate::jobs::{JobKind, Paper};
use crate::session::{Answer, Desk, Open, Place, Session, Source};
use crate::sets;
use crate::tables;
use crate::ui::notice::Trouble;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use yardring_core::brief::{
    BriefingRequest, Format, Ground, MapRequest, MapSize, NoticesRequest, briefing, notices, paint_change, paint_map,
};
use yardring_core::files::{write_bytes, write_features};
use yardring_core::job::Watch;
use yardring_core::reach::gap_rows;

/// A piece of writing with all that it needs.
type Writing = Box<dyn FnOnce(&Path, &dyn Watch) -> Result<(), Trouble> + Send>;

/// Writes a file beside the window.
pub(super) fn write(session: &mut Session, tools: &mut Tools<'_>, paper: Paper, path: PathBuf) {
    session.trouble = None;
    session.written = None;
    let Some(writing) = writing(session, paper) else {
        let what = "there is nothing to write yet".to_owned();
        let hint = "wait until the numbers are worked out, then save again".to_owned();
        session.trouble = Some((Place::Paper(paper), Trouble { what, hint }));
        return;
    };
    tools.jobs.start(JobKind::Paper, "writing the file", move |watch| {
        let written = writing(&path, watch);
        Answer::Written(paper, path, written)
    });
}

/// What has to be written; `None` while it is not worked out.
fn writing(session: &Session, paper: Paper) -> Option<Writing> {
    if paper == Paper::Match {
        let text = session.intake.whole_map().to_toml();
        return Some(Box::new(move |path, _| put(path, text.as_bytes())));
    }
    let open = session.open.as_ref()?;
    let survey = Arc::clone(&open.survey);
    Some(match paper {
        Paper::Gaps => {
            let gaps = Arc::clone(&session.reach.exactly(session.reach_key().as_ref())?.gaps);
            let outlook = session.outlook.exactly(session.round_key().as_ref()).cloned();
            Box::new(move |path, watch| {
                let chance = |premise| Some(outlook.as_ref()?.as_ref().as_ref().ok()?.at(premise)?.probability);
                write_features(&gap_rows(&survey, &gaps, chance), path, watch).map_err(Trouble::from)
            })
        }
        Paper::Blocks => {
            let (standings, round) = (Arc::clone(&session.round.exactly(session.round_key().as_ref())?.standings), open.round);
            Box::new(move |path, watch| {
                let (groups, access) = sets::parted(sets::of_blocks(&survey, round, &standings));
                let table = tables::indices(&survey, "block_id", &groups, &access);
                write_features(&table, path, watch).map_err(Trouble::from)
            })
        }
        Paper::Kinds => {
            let found = session.measured.kinds.exactly(session.round_key().as_ref())?.kinds.clone();
            Box::new(move |path, watch| write_features(&tables::kinds(&survey, found), path, watch).map_err(Trouble::from))
        }
        Paper::Change => {
            let words = tables::change_chart(session.measured.change.latest()?, open.name());
            let found = session.measured.change.latest()?.clone();
            Box::new(move |path, _| {
                let format = Format::of(path).unwrap_or(Format::Pdf);
                put(path, &paint_change(&survey, &found, &words, (MapSize::A4, format))?)
            })
        }
        Paper::Map | Paper::Briefing | Paper::Notices => return writing_of_pages(session, open, paper),
        Paper::Refused => Box::new(move |path, _| put(path, &tables::refused_csv(&survey.refused).map_err(|e| broken(path, &e))?)),
        Paper::Report => {
            let report = session.intake.report.clone()?;
            Box::new(move |path, _| {
                let text = serde_json::to_value(&report).map_err(|e| broken(path, &e))?;
                put(path, format!("{text:#}\n").as_bytes())
            })
        }
        // Written above: it needs no survey.
        Paper::Match => return None,
    })
}

/// What has to be drawn and written: the map, or one of the papers of many pages.
fn writing_of_pages(session: &Session, open: &Open, paper: Paper) -> Option<Writing> {
    let survey = Arc::clone(&open.survey);
    Some(match paper {
        Paper::Map => {
            let request = map_of(session, open);
            Box::new(move |path, watch| {
                let format = Format::of(path).unwrap_or_default();
                put(path, &paint_map(&survey, &MapRequest { format, ..request }, watch)?.bytes)
            })
        }
        Paper::Briefing => {
            let round = open.round?;
            let request = briefing_of(session, open);
            Box::new(move |path, watch| put(path, &briefing(&survey, round, &request, watch)?.0))
        }
        Paper::Notices => {
            let round = open.round?;
            let request = notices_of(session, open);
            Box::new(move |path, watch| put(path, &notices(&survey, round, &request, watch)?.0))
        }
        _ => return None,
    })
}

/// The map as it was asked for: the whole district or what the window shows.
fn map_of(session: &Session, open: &Open) -> MapRequest {
    MapRequest {
        district: open.name(),
        round: open.round,
        since: session.rounds_compared().map(|(from, _)| from),
        colour_by: session.map_colour(),
        classing: session.classing,
        size: session.map_paper.size,
        part: session.shown.filter(|_| session.map_paper.as_shown),
        format: Format::Png,
        reach: session.plan,
        unmasked: session.unmasked,
        ground: under_map(session),
        walks: session.walking.day.clone().filter(|_| session.desk == Desk::Plan),
    }
}

/// The briefing of the round that the window shows, with the reach and the day that the plan has and the control area of the change.
fn briefing_of(session: &Session, open: &Open) -> BriefingRequest {
    BriefingRequest {
        district: open.name(),
        on: super::measuring::due_on(session),
        radius: session.plan.radius,
        species: session.measured.species,
        paper: session.walking.paper,
        beside: session.measured.compare.beside.clone(),
    }
}

/// The notices of the round that the window shows, with the day and the species of the call-backs.
fn notices_of(session: &Session, open: &Open) -> NoticesRequest {
    let wish = &session.notices;
    let walks = session.walking.day.as_ref().filter(|_| wish.of_walks);
    NoticesRequest {
        district: open.name(),
        on: super::measuring::due_on(session),
        species: session.measured.species,
        paper: session.walking.paper,
        language: wish.language,
        office: wish.office.clone().unwrap_or_else(|| open.office().to_owned()),
        doors: walks.map(|day| day.in_order(None)),
    }
}

/// The ground that lies under the window's map, where it comes from a file: the picture of a map asks no server.
fn under_map(session: &Session) -> Option<Ground> {
    match &session.ground.as_ref()?.source {
        Source::File(_, file) => Some(Ground { file: Arc::clone(file) }),
        Source::Server(_) => None,
    }
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    write_bytes(bytes, path).map_err(|e| broken(path, &e))
}

fn broken(path: &Path, error: &dyn std::fmt::Display) -> Trouble {
    Trouble { what: format!("{} cannot be written: {error}", path.display()), hint: "choose a folder that you may write to".to_owned() }
}
