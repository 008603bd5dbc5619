//! The yards behind a number.

use crate::session::{Session, Trace, Traced};
use yardring_core::job::Unwatched;
use yardring_core::place::Bounds;
use yardring_core::reach::{SourceKind, inspected_inside};
use yardring_core::survey::{Find, PremiseId, Standing, Survey, standings};

/// Lists the yards behind a number and lights them up on the map, or lets go of them.
pub(super) fn trace(session: &mut Session, of: Option<Trace>) {
    session.measured.traced = of.and_then(|of| traced(session, of));
}

fn traced(session: &Session, of: Trace) -> Option<Traced> {
    let survey = &session.open.as_ref()?.survey;
    let picture = session.round.exactly(session.round_key().as_ref())?;
    let all = &picture.standings;
    let yards = match of {
        Trace::Block(block) => {
            each(survey, all, |i, s| (s.inspected() && survey.premises.block[i] == Some(block)).then(|| (s.positive(), in_words(s))))
        }
        Trace::Kind(kind) => each(survey, all, |_, s| {
            let finds = survey.visits.finds_of(survey.visits.get(s.counted?)).iter().filter(|f| f.kind == kind);
            kind_in_words(finds)
        }),
        Trace::District => each(survey, all, |_, s| s.inspected().then(|| (s.positive(), in_words(s)))),
        Trace::Crowd => {
            let crowd = session.measured.clusters.exactly(session.round_key().as_ref())?.crowd.as_ref()?;
            within(survey, all, crowd.centre, crowd.circle.radius)
        }
        Trace::Near(premise) => {
            let outlook = session.outlook.exactly(session.round_key().as_ref())?;
            let model = outlook.as_ref().as_ref().ok()?.foreseen().model;
            within(survey, all, premise, model.near().0)
        }
        Trace::Sources => match session.plan.from {
            SourceKind::Positives => each(survey, all, |_, s| s.source.then(|| (true, seen_in_words(s)))),
            SourceKind::Pupae => each(survey, all, |_, s| s.source_with_pupae.then(|| (true, seen_in_words(s)))),
            SourceKind::Cases | SourceKind::Traps | SourceKind::Complaints => return None,
        },
        Trace::Inside => {
            let key = session.reach_key().filter(|key| !key.masks());
            let reach = session.reach.exactly(key.as_ref())?;
            let rows = inspected_inside(survey, all, &reach.sources, &session.plan, &Unwatched).ok()?;
            each(survey, all, |i, s| rows.binary_search(&PremiseId(i as u32)).ok().map(|_| (s.positive(), in_words(s))))
        }
        Trace::Changed => {
            let (from, to) = session.measured.change.latest().map(|c| (c.from, c.to))?;
            let (before, after) = (standings(survey, from), standings(survey, to));
            each(survey, &after, |i, a| {
                let b = &before[i];
                let both = b.inspected() && a.inspected() && b.positive() != a.positive();
                both.then(|| (a.positive(), if a.positive() { "became positive" } else { "became negative" }.to_owned()))
            })
        }
    };
    let speak = yards.iter().filter(|y| y.0).count();
    Some(Traced { of, speak, yards: yards.into_iter().map(|(_, premise, words)| (premise, words)).collect() })
}

/// The yards of which something can be said, those that speak for the number first, then by address.
fn each(
    survey: &Survey,
    standings: &[Standing],
    said: impl Fn(usize, &Standing) -> Option<(bool, String)>,
) -> Vec<(bool, PremiseId, String)> {
    let one = |(i, s): (usize, &Standing)| said(i, s).map(|(speaks, words)| (speaks, PremiseId(i as u32), words));
    let mut out: Vec<_> = standings.iter().enumerate().filter_map(one).collect();
    let address = |p: PremiseId| survey.premises.address.get(p.row());
    out.sort_by(|a, b| b.0.cmp(&a.0).then(address(a.1).cmp(address(b.1))).then(a.1.cmp(&b.1)));
    out
}

/// The inspected yards within so many metres of a premise, from middle to middle of their boxes: positive ones first, then by distance.
fn within(survey: &Survey, standings: &[Standing], premise: PremiseId, metres: f64) -> Vec<(bool, PremiseId, String)> {
    let boxes = survey.premises.outline.bounds();
    let middle = |row: usize| boxes.get(row).filter(|b| !b.is_empty()).map(Bounds::centre);
    let Some(own) = middle(premise.row()) else { return Vec::new() };
    let inspected = standings.iter().enumerate().filter(|(_, s)| s.inspected());
    let mut found: Vec<(bool, f64, usize)> = inspected
        .filter_map(|(i, s)| Some((s.positive(), middle(i)?.distance(own), i)))
        .filter(|(_, far, _)| *far <= metres + 1e-6)
        .collect();
    found.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    let said = |far: f64, i: usize| format!("{far:.0} m, {}", in_words(&standings[i]));
    found.into_iter().map(|(positive, far, i)| (positive, PremiseId(i as u32), said(far, i))).collect()
}

fn in_words(s: &Standing) -> String {
    match (s.wet, s.positive_containers, s.pupae) {
        (0, 0, _) => "nothing held water".to_owned(),
        (wet, 0, _) => format!("{wet} wet, no larvae"),
        (wet, positive, 0) => format!("positive {positive} of {} wet", wet.max(positive)),
        (wet, positive, pupae) => format!("positive {positive} of {} wet, {pupae} pupae", wet.max(positive)),
    }
}

/// What was found at a source, or that it was seen from outside only.
fn seen_in_words(s: &Standing) -> String {
    if s.seen_from_outside() { "seen from outside".to_owned() } else { in_words(s) }
}

fn kind_in_words<'a>(finds: impl Iterator<Item = &'a Find>) -> Option<(bool, String)> {
    let sum = finds.fold(None, |sum: Option<[u64; 3]>, f| {
        let [wet, positive, pupae] = sum.unwrap_or_default();
        Some([wet + u64::from(f.wet), positive + u64::from(f.positive()), pupae + u64::from(f.pupae)])
    });
    let [wet, positive, pupae] = sum?;
    let words = match (positive, pupae) {
        (0, _) => format!("{wet} wet, no larvae"),
        (_, 0) => format!("positive {positive} of {} wet", wet.max(positive)),
        _ => format!("positive {positive} of {} wet, {pupae} pupae", wet.max(positive)),
    };
    Some((positive > 0, words))
}
