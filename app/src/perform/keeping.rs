//! What is not saved is kept beside the survey, a moment after each change; what an earlier window left behind is offered.

use super::{Tools, filing};
use crate::jobs::JobKind;
use crate::session::{Answer, Gone, Keeping, Offer, Place, Session, Unsaved, UnsavedAction};
use crate::ui::notice::Trouble;
use std::hash::{BuildHasher as _, Hasher as _, RandomState};
use std::path::Path;
use std::sync::Arc;
use yardring_core::store::{Edit, Found, Keeper, LeftBehind, Stamp, ToKeep, UnsavedPlace, look_for_unsaved};
use yardring_core::survey::Survey;

/// Keeps what was done since the last time, beside the window. A window that remembers nothing keeps nothing.
pub(super) fn follow_up(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(open) = session.open.as_mut() else { return };
    let Some(own_folder) = tools.settings.unsaved_folder() else {
        open.history.take_steps();
        return;
    };
    if tools.jobs.at_work(JobKind::Unsaved) {
        return;
    }
    let steps = open.history.take_steps();
    let unsaved = &mut session.unsaved;
    if !open.history.unsaved() {
        unsaved.whole = false;
        let kept = unsaved.keeper.iter().filter(|k| k.held().keeps()).cloned().map(Gone::Kept);
        unsaved.done_with.extend(kept);
        return clear(unsaved, tools);
    }
    if steps.is_empty() && !unsaved.whole {
        return clear(unsaved, tools);
    }
    let places = open.path.as_ref().map_or_else(|| UnsavedPlace::of_new(&own_folder), |path| UnsavedPlace::of_file(path, &own_folder));
    let keeping = unsaved.keeper.get_or_insert_with(|| Keeping::new(Keeper::new(places, by_chance()))).clone();
    let (survey, stamp, words) = (Arc::clone(&open.survey), open.stamp, open.history.unsaved_words());
    let whole = std::mem::take(&mut unsaved.whole) || unsaved.failed;
    let (mut gone, taken) = (std::mem::take(&mut unsaved.done_with), std::mem::take(&mut unsaved.taken));
    tools.jobs.start(JobKind::Unsaved, "keeping what is not saved", move |watch| {
        let what = ToKeep { survey: &survey, stamp, steps: &steps, words: &words, whole };
        let kept = keeping.held().keep(what, watch);
        let (now_kept, still) = if kept.is_ok() { (taken, Vec::new()) } else { (Vec::new(), taken) };
        gone.extend(now_kept.into_iter().map(Gone::Found));
        gone.iter().for_each(Gone::remove);
        Answer::UnsavedKept(kept.map_err(Trouble::from), still)
    });
}

/// Removes what nobody needs any more, beside the window.
fn clear(unsaved: &mut Unsaved, tools: &mut Tools<'_>) {
    let gone = std::mem::take(&mut unsaved.done_with);
    if !gone.is_empty() {
        tools.jobs.start(JobKind::Unsaved, "removing what is saved now", move |_| {
            gone.iter().for_each(Gone::remove);
            Answer::UnsavedKept(Ok(()), Vec::new())
        });
    }
}

/// A number that no other window has.
fn by_chance() -> u64 {
    RandomState::new().build_hasher().finish()
}

/// Takes word of what was kept. What could not be is said once, and tried again with the next change, then whole.
pub(super) fn kept(session: &mut Session, kept: Result<(), Trouble>, taken: Vec<Arc<Found>>) {
    let unsaved = &mut session.unsaved;
    unsaved.taken.extend(taken);
    let failed_before = std::mem::replace(&mut unsaved.failed, kept.is_err());
    if let Err(trouble) = kept
        && !failed_before
    {
        let what = format!("what is not saved cannot be kept for the case of a crash: {}", trouble.what);
        let hint = format!("{}; until then save often", trouble.hint);
        session.trouble = Some((Place::File, Trouble { what, hint }));
    }
}

/// The survey was written: to the file it came from or another, with all changes or with those of a while ago.
pub(super) fn saved(session: &mut Session, same_file: bool, all: bool) {
    let unsaved = &mut session.unsaved;
    unsaved.whole = !all;
    if !same_file && let Some(keeper) = unsaved.keeper.take() {
        unsaved.done_with.push(Gone::Kept(keeper));
    }
    let (left, offered): (Vec<Offer>, Vec<Offer>) = std::mem::take(&mut unsaved.offers).into_iter().partition(|o| o.left_out);
    unsaved.offers = offered;
    let left = left.into_iter().map(|o| o.found);
    let taken = if all { std::mem::take(&mut unsaved.taken) } else { Vec::new() };
    unsaved.done_with.extend(left.chain(taken).map(Gone::Found));
}

/// The survey is closed, and nobody wants what is not saved in it.
pub(super) fn let_go(session: &mut Session, tools: &mut Tools<'_>) {
    tools.jobs.cancel(JobKind::Unsaved);
    let unsaved = std::mem::take(&mut session.unsaved);
    let left = unsaved.offers.into_iter().filter(|o| o.left_out).map(|o| o.found);
    let found = left.chain(unsaved.taken).map(Gone::Found);
    unsaved.keeper.iter().for_each(|keeper| keeper.held().close());
    unsaved.done_with.into_iter().chain(found).for_each(|gone| gone.remove());
}

/// Looks beside the window for what earlier windows left behind of the survey that was just opened.
pub(super) fn look(session: &mut Session, tools: &mut Tools<'_>) {
    let Some((open, own_folder)) = session.open.as_ref().zip(tools.settings.unsaved_folder()) else { return };
    session.unsaved.as_read = Some(Arc::clone(&open.survey));
    let Some(path) = open.path.clone() else { return };
    tools.jobs.start(JobKind::LeftBehind, "looking for unsaved changes", move |_| {
        let left = look_for_unsaved(&UnsavedPlace::of_file(&path, &own_folder));
        Answer::UnsavedFound(Some(path), left)
    });
}

/// Carries out what somebody said about what was left behind.
pub(super) fn act(session: &mut Session, tools: &mut Tools<'_>, action: UnsavedAction) {
    match action {
        UnsavedAction::LookForNew => {
            let Some(own_folder) = tools.settings.unsaved_folder() else { return };
            tools.jobs.start(JobKind::LeftBehind, "looking for unsaved changes", move |_| {
                Answer::UnsavedFound(None, look_for_unsaved(&UnsavedPlace::of_new(&own_folder)))
            });
        }
        UnsavedAction::TakeIn(offer) => take_in(session, tools, offer),
        UnsavedAction::LeaveOut(offer) => session.unsaved.offers.iter_mut().skip(offer).take(1).for_each(|o| o.left_out = true),
        UnsavedAction::OfferAgain(offer) => session.unsaved.offers.iter_mut().skip(offer).take(1).for_each(|o| o.left_out = false),
    }
}

fn take_in(session: &mut Session, tools: &mut Tools<'_>, offer: usize) {
    let Some(found) = session.unsaved.offers.get(offer).map(|o| Arc::clone(&o.found)) else { return };
    let open = session.open.as_ref();
    if open.is_some_and(|o| o.history.unsaved()) {
        return;
    }
    let (revision, stamp) = open.map_or((0, Stamp::default()), |o| (o.revision, o.stamp));
    let as_read = session.unsaved.as_read.clone();
    tools.jobs.start(JobKind::LeftBehind, "taking unsaved changes back in", move |watch| {
        let taken = found.taken_in(as_read.as_deref(), stamp, watch);
        Answer::TakenIn(revision, offer, taken.map(Box::new).map_err(Trouble::from))
    });
}

/// Takes word of what was left behind; that of another survey than the open one is let go of.
pub(super) fn found(session: &mut Session, path: Option<&Path>, left: LeftBehind) {
    if session.open.as_ref().and_then(|o| o.path.as_deref()) == path {
        session.unsaved.offers = left.found.into_iter().map(|f| Offer { found: Arc::new(f), left_out: false }).collect();
        session.unsaved.elsewhere = left.elsewhere;
    }
}

/// Takes the survey with the changes back in: a change that can be taken back.
pub(super) fn taken_in(session: &mut Session, revision: u64, offer: usize, survey: Result<Box<Survey>, Trouble>) {
    let survey = match survey {
        Ok(survey) => survey,
        Err(trouble) => {
            session.trouble = Some((Place::File, trouble));
            return;
        }
    };
    if session.open.as_ref().map_or(0, |o| o.revision) != revision || offer >= session.unsaved.offers.len() {
        let what = "the survey was changed meanwhile, so nothing was taken back in".to_owned();
        session.trouble = Some((Place::File, Trouble { what, hint: "take back what you changed, then try again".to_owned() }));
        return;
    }
    let found = session.unsaved.offers.remove(offer).found;
    session.unsaved.taken.push(found);
    super::intake::show_first(session, &survey);
    filing::change(session, |open, now| {
        let edit = Edit::Columns { what: "Take unsaved changes back in".into(), becomes: survey };
        open.history.perform(now, edit).map(|()| true).map_err(Trouble::from)
    });
}
