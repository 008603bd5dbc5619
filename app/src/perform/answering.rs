//! Taking answers of jobs.

use super::{Tools, choosing, filing, intake, keeping, looking, matching, planning, reaching, recording, walk_lines, walk_search, walking};
use crate::action::{Action, MapAction, MatchAction, ReachAction};
use crate::session::walking::WalkAction;
use crate::session::{Answer, Place, Session, Target};
use crate::ui::notice::Trouble;
use std::path::{Path, PathBuf};
use yardring_core::brief::together;
use yardring_core::store::Stamp;
use yardring_core::survey::Survey;

/// Takes one answer.
pub(super) fn take(session: &mut Session, tools: &mut Tools<'_>, answer: Answer) {
    match answer {
        Answer::SurveyNamed(files) => each(session, tools, files.into_iter().take(1).map(Action::Open)),
        Answer::NameGiven(files) => each(session, tools, files.into_iter().take(1).map(|f| Action::SaveAs(with_ending(f, "gpkg")))),
        Answer::PaperNamed(paper, files) => {
            let written = |f| Action::Write(paper, with_ending(f, paper.endings()[0]));
            each(session, tools, files.into_iter().take(1).map(written));
        }
        Answer::BarriersNamed(files) => each(session, tools, files.into_iter().take(1).map(|it| Action::Reach(ReachAction::Barriers(it)))),
        Answer::BarriersRead(revision, read) => reaching::barriers_read(session, revision, read),
        Answer::LinesNamed(files) => each(session, tools, files.into_iter().take(1).map(|it| Action::Walks(WalkAction::Lines(it)))),
        Answer::LinesRead(revision, read) => walk_lines::read(session, revision, read),
        Answer::Learnt(revision, learnt) => session.walking.learnt.put(revision, *learnt),
        Answer::Written(paper, path, written) => match written {
            Ok(()) => session.written = Some((paper, path)),
            Err(trouble) => session.trouble = Some((Place::Paper(paper), trouble)),
        },
        Answer::FilesNamed(files) => each(session, tools, (!files.is_empty()).then_some(Action::Offer(files)).into_iter()),
        Answer::Opened(path, read) => opened(session, tools, path, read),
        Answer::Saved(path, changes, written) => saved(session, tools, path, changes, written),
        Answer::MatchNamed(files) => each(session, tools, files.into_iter().take(1).map(|it| Action::Match(MatchAction::ReadMatch(it)))),
        Answer::MatchRead(read) => matching::take(session, read),
        Answer::Looked(looks) => intake::looked(session, looks),
        Answer::BroughtIn(revision, brought) => intake::brought_in(session, revision, brought),
        Answer::Waiting(revision, list) => session.waiting.put(revision, list),
        Answer::Settled(revision, settled) => intake::settled(session, revision, settled),
        Answer::Sketched(revision, laid) => session.sketch.put(revision, *laid),
        Answer::IdSettled(revision, what, survey) => intake::id_settled(session, revision, what, survey),
        Answer::Laid(revision, laid) => choosing::laid(session, revision, *laid),
        Answer::RoundSeen(key, picture) => session.round.put(key, *picture),
        Answer::Reached(key, reached) => {
            session.reach.put(key, *reached);
            planning::arrange(session);
        }
        Answer::Foreseen(key, outlook) => {
            session.outlook.put(key, *outlook);
            choosing::explain_again(session);
            planning::arrange(session);
        }
        Answer::Classified(key, painted) => session.classes.put(key, *painted),
        Answer::GroundNamed(files) => each(session, tools, files.into_iter().take(1).map(|it| Action::Map(MapAction::LayGround(it)))),
        Answer::GroundOpened(path, file) => looking::ground_opened(session, tools, path, file),
        Answer::TilesCame(source, frame, came) => looking::tiles_came(session, &source, frame, came),
        Answer::Kinds(key, kinds) => session.measured.kinds.put(key, *kinds),
        Answer::Changed(key, change) => session.measured.change.put(key, *change),
        Answer::Clustered(key, found) => session.measured.clusters.put(key, *found),
        Answer::Due(key, due) => session.measured.due.put(key, *due),
        Answer::Found(words, premises) => session.found = Some((words, premises)),
        Answer::Planned(plan) => walk_search::planned(session, tools, plan),
        Answer::WaysKnown(ways) => walking::ways_known(session, ways.map(|w| w as _)),
        Answer::FolderNamed(crew, folders) => {
            let print = |f| Action::Walks(WalkAction::Print(f, crew));
            each(session, tools, folders.into_iter().take(1).map(print));
        }
        Answer::Printed(written) => walking::printed(session, written),
        other => of_hand(session, other),
    }
}

/// Answers about visits changed by hand, and about what is not saved.
fn of_hand(session: &mut Session, answer: Answer) {
    match answer {
        Answer::HandMade(revision, way, made) => recording::made(session, revision, way, made),
        Answer::UnsavedKept(kept, taken) => keeping::kept(session, kept, taken),
        Answer::UnsavedFound(path, left) => keeping::found(session, path.as_deref(), left),
        Answer::TakenIn(revision, offer, survey) => keeping::taken_in(session, revision, offer, survey),
        _ => {}
    }
}

fn each(session: &mut Session, tools: &mut Tools<'_>, actions: impl Iterator<Item = Action>) {
    for action in actions {
        super::one(session, tools, action);
    }
}

/// A file with its usual ending where none was typed.
fn with_ending(file: PathBuf, usual: &str) -> PathBuf {
    if file.extension().is_some() { file } else { file.with_extension(usual) }
}

fn opened(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf, read: Result<Box<Survey>, Trouble>) {
    match read {
        Ok(survey) => {
            let extent = together(&[&survey.premises.outline]).extent;
            remember(tools, &path);
            let has_visits = !survey.visits.is_empty();
            keeping::let_go(session, tools);
            filing::put(session, *survey, Some(path));
            keeping::look(session, tools);
            session.target = Some((session.target.map_or(0, |t| t.0) + 1, Target::Extent(extent)));
            if has_visits && session.desk == crate::session::Desk::Intake {
                session.desk = crate::session::Desk::Plan;
            }
        }
        Err(trouble) => session.trouble = Some((Place::File, trouble)),
    }
}

fn saved(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf, changes: u64, written: Result<(), Trouble>) {
    match (written, session.open.as_mut()) {
        (Ok(()), Some(open)) => {
            remember(tools, &path);
            open.stamp = Stamp::of(&path);
            let same_file = open.path.replace(path.clone()).is_some_and(|before| before == path);
            let all = open.changes == changes;
            if all {
                open.history.mark_saved();
            }
            keeping::saved(session, same_file, all);
            session.trouble = None;
        }
        (Err(trouble), _) => session.trouble = Some((Place::File, trouble)),
        (Ok(()), None) => {}
    }
}

fn remember(tools: &mut Tools<'_>, path: &Path) {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    tools.settings.opened(&whole);
}
