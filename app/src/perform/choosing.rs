//! Choosing rounds, premises and blocks, and finding them.

use super::Tools;
use crate::jobs::JobKind;
use crate::map::premise_at;
use crate::session::{Answer, Desk, Laid, Session, SettleLine, Target, Trace};
use rayon::prelude::*;
use std::sync::Arc;
use yardring_core::foresee::explain;
use yardring_core::job::Watch;
use yardring_core::place::{Bounds, Local};
use yardring_core::survey::{BlockId, PremiseId, RoundId, Survey};

/// Metres of ground shown round what is to be settled.
const AROUND: f64 = 25.0;
/// Most premises that the finder lists.
const MOST_FOUND: usize = 12;

/// Looks at another round.
pub(super) fn round(session: &mut Session, round: RoundId) {
    if let Some(open) = session.open.as_mut().filter(|o| round.row() < o.survey.rounds.len()) {
        open.round = Some(round);
        session.measured.traced = None;
    }
}

/// Takes the layout of the map; a premise that was chosen before it was there gets its neighbours now.
pub(super) fn laid(session: &mut Session, revision: u64, laid: Laid) {
    session.laid.put(revision, laid);
    session.sketch.clear();
    premise(session, session.chosen);
}

/// Chooses a premise, or lets go of it.
pub(super) fn premise(session: &mut Session, premise: Option<PremiseId>) {
    session.chosen = premise.filter(|p| session.open.as_ref().is_some_and(|o| p.row() < o.survey.premises.len()));
    session.neighbours.clear();
    session.why.clear();
    session.measured.traced = session.measured.traced.take().filter(|t| !matches!(t.of, Trace::Near(_)));
    let (Some(open), Some(chosen), Some(laid)) = (&session.open, session.chosen, session.laid.latest()) else { return };
    if laid.index.len() == open.survey.premises.len() {
        let neighbours = yardring_core::reach::neighbours(&open.survey, &laid.index, chosen);
        session.neighbours = neighbours.into_iter().map(|n| n.premise).collect();
        explain_again(session);
    }
}

/// Says why the chosen premise has the chance it has; again when chances came in.
pub(super) fn explain_again(session: &mut Session) {
    let (Some(open), Some(chosen), Some(laid)) = (&session.open, session.chosen, session.laid.latest()) else { return };
    let Some(picture) = session.round.exactly(session.round_key().as_ref()) else { return };
    if laid.index.len() == open.survey.premises.len() && picture.standings[chosen.row()].unknown() {
        let outlook = session.outlook.exactly(session.round_key().as_ref());
        let chance = outlook.and_then(|o| (**o).as_ref().ok()?.at(chosen));
        session.why = explain(&open.survey, &picture.standings, &laid.index, chosen, chance);
    }
}

/// Chooses a premise and sends the map there.
pub(super) fn show_premise(session: &mut Session, chosen: PremiseId) {
    premise(session, Some(chosen));
    go(session, Target::Premise(chosen));
}

/// Sends the map to a place and chooses the premise there, if there is one.
pub(super) fn show_place(session: &mut Session, place: Local) {
    let there = session.open.as_ref().zip(session.laid.latest());
    let there = there.and_then(|(open, laid)| premise_at(&open.survey.premises.outline, &laid.index, place));
    premise(session, there);
    go(session, Target::Place(place));
}

/// Goes to a desk with its worksheet unfolded and a step open.
pub(super) fn open_step(session: &mut Session, desk: Desk, step: u8) {
    session.desk = desk;
    session.frame.worksheet_folded = false;
    session.frame.open_step = Some((desk, step));
}

/// Looks at a line of what there is to settle: the map shows where it was taken together with the premises it may belong to.
pub(super) fn look_at(session: &mut Session, line: usize) {
    session.settling = Some(line);
    let Some(all) = session.waiting.latest().cloned() else { return };
    let boxes = session.open.as_ref().map(|o| Arc::clone(&o.survey.premises.outline));
    match all.lines.get(line) {
        Some(SettleLine::Visit(w)) => {
            premise(session, None);
            let places = w.place.into_iter().map(|p| Bounds::of(&[p]));
            let offered = w.candidates.iter().filter_map(|c| boxes.as_ref()?.bounds().get(c.premise.row()).copied());
            let extent = places.chain(offered).filter(|b| !b.is_empty()).fold(Bounds::EMPTY, |all, one| all.union(one));
            if !extent.is_empty() {
                go(session, Target::Extent(extent.grown(AROUND)));
            }
        }
        Some(SettleLine::SameId(same)) => same.premises.first().into_iter().for_each(|p| show_premise(session, *p)),
        Some(SettleLine::Row(_)) | None => {}
    }
}

/// Sends the map to a block, its outline or the premises that belong to it, and lists its inspected yards.
pub(super) fn show_block(session: &mut Session, block: BlockId) {
    super::tracing::trace(session, Some(Trace::Block(block)));
    let Some(survey) = session.open.as_ref().map(|o| &o.survey) else { return };
    let outline = survey.blocks.outline.bounds().get(block.row()).copied().unwrap_or(Bounds::EMPTY);
    let extent = if outline.is_empty() { premises_of(survey, block) } else { outline };
    if !extent.is_empty() {
        go(session, Target::Extent(extent.grown(20.0)));
    }
}

fn premises_of(survey: &Survey, block: BlockId) -> Bounds {
    let boxes = survey.premises.outline.bounds();
    let own = survey.premises.block.iter().zip(boxes).filter(|(b, _)| **b == Some(block));
    own.fold(Bounds::EMPTY, |all, (_, one)| all.union(*one))
}

/// Sends the map back to the whole survey.
pub(super) fn show_all(session: &mut Session) {
    if let Some(extent) = session.drawn().map(|l| l.extent).filter(|e| !e.is_empty()) {
        go(session, Target::Extent(extent));
    }
}

/// Sends the map somewhere.
pub(super) fn go(session: &mut Session, target: Target) {
    let times = session.target.map_or(0, |(n, _)| n);
    session.target = Some((times + 1, target));
}

/// Looks for an address or a parcel id beside the window.
pub(super) fn find(session: &mut Session, tools: &mut Tools<'_>, text: &str) {
    let wanted = text.trim().to_lowercase();
    if wanted.is_empty() {
        tools.jobs.cancel(JobKind::Find);
        session.found = None;
        session.frame.finding = false;
        return;
    }
    session.frame.finding = true;
    if let Some(open) = &session.open {
        let survey = Arc::clone(&open.survey);
        tools.jobs.start(JobKind::Find, "looking for an address", move |watch| match found(&survey, &wanted, watch) {
            Some(premises) => Answer::Found(wanted, premises),
            None => Answer::Stopped,
        });
    }
}

/// Premises whose id or address has the wanted words in it, the best fit first; `None` when stopped.
fn found(survey: &Survey, wanted: &str, watch: &dyn Watch) -> Option<Vec<PremiseId>> {
    let premises = &survey.premises;
    let rows: Vec<u32> = (0..premises.len() as u32).collect();
    let mut hits: Vec<(u8, u32)> = rows
        .par_chunks(8192)
        .filter(|_| !watch.cancelled())
        .flat_map_iter(|chunk| {
            let fit = |&i: &u32| fit(premises.parcel_id.get(i as usize), premises.address.get(i as usize), wanted).map(|f| (f, i));
            let mut best: Vec<(u8, u32)> = chunk.iter().filter_map(fit).collect();
            best.sort_unstable();
            best.truncate(MOST_FOUND);
            best
        })
        .collect();
    hits.sort_by(|a, b| (a.0, premises.address.get(a.1 as usize), a.1).cmp(&(b.0, premises.address.get(b.1 as usize), b.1)));
    hits.truncate(MOST_FOUND);
    (!watch.cancelled()).then(|| hits.into_iter().map(|(_, i)| PremiseId(i)).collect())
}

/// How well a premise fits: 0 it is the id, 1 the address begins so, 2 the id does, 3 the address has it, 4 the id has it.
fn fit(id: &str, address: &str, wanted: &str) -> Option<u8> {
    let (at_id, at_address) = (position(id, wanted), position(address, wanted));
    match (at_id, at_address) {
        (Some(0), _) if id.len() == wanted.len() => Some(0),
        (_, Some(0)) => Some(1),
        (Some(0), _) => Some(2),
        (_, Some(_)) => Some(3),
        (Some(_), _) => Some(4),
        _ => None,
    }
}

/// Where words stand in a text, whatever their case; `wanted` is in small letters already.
fn position(text: &str, wanted: &str) -> Option<usize> {
    if !text.is_ascii() {
        return text.to_lowercase().find(wanted);
    }
    text.as_bytes().windows(wanted.len()).position(|w| w.eq_ignore_ascii_case(wanted.as_bytes()))
}

/// Puts the keyboard into the find box with its list open.
pub(super) fn focus_find(session: &mut Session) {
    session.frame.finding = true;
    session.frame.focus_find = true;
}

/// Closes what lies on top: the question, the change that is weighed, the finder, then the yard card.
pub(super) fn back(session: &mut Session) {
    if session.leaving.is_some() {
        session.leaving = None;
    } else if session.walking.trial.is_some() || session.walking.picking {
        session.walking.trial = None;
        session.walking.picking = false;
    } else if session.frame.finding {
        session.frame.finding = false;
        session.found = None;
    } else if session.stretch.is_some() {
        session.stretch = None;
    } else if session.hand.writing.is_some() {
        session.hand.writing = None;
    } else {
        premise(session, None);
    }
}

/// Changes between day and night and remembers it.
pub(super) fn darken(session: &mut Session, tools: &mut Tools<'_>) {
    session.frame.dark ^= true;
    tools.settings.dark = session.frame.dark;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use yardring_core::job::Unwatched;

    #[test]
    fn finds_by_id_by_beginning_and_by_part() {
        let survey = sample::survey();
        let rows = |text: &str| -> Vec<u32> { found(&survey, text, &Unwatched).unwrap().iter().map(|p| p.0).collect() };
        assert_eq!(rows("p007"), [7]);
        assert_eq!(rows("16 kettle"), [7]);
        assert_eq!(rows("kettle lane").len(), MOST_FOUND);
        assert_eq!(rows("no such street"), [] as [u32; 0]);
        assert_eq!(rows("2 kettle")[0], 0, "an address that begins so comes before 12 and 22");
    }
}
