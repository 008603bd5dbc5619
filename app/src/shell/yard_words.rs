//! What is known about a yard, said as a crew leader would say it.

use crate::ui::words::{count, day, number, sentence};
use yardring_core::survey::{ContainerKnowledge, Find, Marking, Outcome, PremiseId, Standing, StaysOpen, Survey, Visit};

/// One line about where a yard stands in the round: "Positive on 14 July: larvae in 2 of 5 wet containers".
pub fn state(survey: &Survey, standing: &Standing, round: &str) -> String {
    let visits = &survey.visits;
    if standing.positive()
        && let Some(id) = standing.counted
    {
        return positive(survey, visits.get(id));
    }
    if standing.source {
        return seen_from_outside(survey, standing);
    }
    if let Some(id) = standing.counted {
        let on = day(visits.get(id).when.day);
        return match standing.wet {
            0 => format!("Inspected on {on}: nothing held water"),
            wet => format!("Inspected on {on}: {}, no larvae", count(wet.into(), "wet container")),
        };
    }
    match standing.last {
        None => format!("Not visited in {round}"),
        Some(id) => tried(visits.get(id), standing.attempts),
    }
}

fn positive(survey: &Survey, visit: &Visit) -> String {
    let finds = survey.visits.finds_of(visit);
    let wet: u32 = finds.iter().map(|f| f.wet).sum();
    let positive: u32 = finds.iter().map(Find::positive).sum();
    let what = if finds.iter().any(Find::has_pupae) { "pupae" } else { "larvae" };
    let containers = if wet == 1 { "wet container" } else { "wet containers" };
    let on = day(visit.when.day);
    // A sheet may count more positive containers than wet ones; then only the positive ones are told.
    if positive > wet {
        return format!("Positive on {on}: {what} in {}", count(positive.into(), "container"));
    }
    format!("Positive on {on}: {what} in {} of {} {containers}", number(positive.into()), number(wet.into()))
}

fn seen_from_outside(survey: &Survey, standing: &Standing) -> String {
    let what = if standing.source_with_pupae { "Pupae" } else { "Larvae" };
    let last = standing.last.map(|id| survey.visits.get(id));
    let on = last.map_or_else(String::new, |v| format!(" on {}", day(v.when.day)));
    match last.map(|v| v.outcome) {
        Some(Outcome::SeenOverFence) => format!("{what} seen over the fence{on}; the yard was not inspected"),
        Some(Outcome::FrontOnly) => format!("{what} in the front yard{on}; the rest was not inspected"),
        _ => format!("{what} seen{on}; the yard was not inspected"),
    }
}

fn tried(visit: &Visit, attempts: u32) -> String {
    let on = day(visit.when.day);
    let tries = if attempts > 1 { format!(", {}", count(attempts.into(), "attempt")) } else { String::new() };
    format!("{} on {on}{tries}", sentence(visit.outcome.word()))
}

/// Where a yard stands, in a word or two, for lists.
pub fn state_in_a_word(marking: Marking) -> &'static str {
    match marking {
        Marking::NotVisited => "not visited",
        Marking::Tried => "tried, not inside",
        Marking::Refused => "refused",
        Marking::SeenOverFence => "seen over fence",
        Marking::NoWater => "no water",
        Marking::Wet => "wet, no larvae",
        Marking::Larvae => "larvae",
        Marking::Pupae => "pupae",
    }
}

/// What was found, in a sentence without its stop: "3 plant saucers, 2 wet, larvae in 1; emptied".
pub(super) fn find_in_words(survey: &Survey, find: &Find) -> String {
    let kind = survey.kind_name(find.kind);
    let mut text = format!("{} × {kind}", number(find.count.into()));
    if find.wet > 0 {
        text += &format!(", {} wet", number(find.wet.into()));
    }
    if find.with_larvae > 0 {
        text += &format!(", larvae in {}", number(find.with_larvae.into()));
    }
    if find.with_pupae > 0 {
        text += &format!(", pupae in {}", number(find.with_pupae.into()));
    }
    if find.pupae > 0 {
        text += &format!(" ({} counted)", number(find.pupae.into()));
    }
    if let Some(action) = find.action {
        text += &format!("; {action}");
    }
    text
}

/// The kinds of container that were left for the householder at a yard's latest visit with finds, or that hold water although
/// they were turned over, each named once.
pub(super) fn remaining(survey: &Survey, premise: PremiseId) -> Vec<String> {
    let latest = survey.visits.at(premise).iter().rev().find(|v| !v.finds.is_empty());
    let Some(visit) = latest else { return Vec::new() };
    let known = ContainerKnowledge::of(survey);
    let open = |f: &Find| {
        let kind = survey.kind_name(f.kind);
        match ContainerKnowledge::stays_open(known.what_to_do(kind), f) {
            Some(StaysOpen::HoldsUpsideDown) => Some(format!("{kind} (turned over, still holds water)")),
            Some(StaysOpen::LeftStanding) if !f.remains && visit.outcome == Outcome::Inspected => {
                Some(format!("{kind} (water left standing)"))
            }
            _ => f.remains.then(|| kind.to_owned()),
        }
    };
    let mut kinds: Vec<String> = survey.visits.finds_of(visit).iter().filter_map(open).collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

/// When a visit was, how it ended and who went.
pub(super) fn visit_in_words(survey: &Survey, visit: &Visit) -> String {
    let crew = if visit.crew.is_empty() { String::new() } else { format!(" · crew {}", visit.crew) };
    let round = survey.rounds.get(visit.round.row()).map_or("", |r| &*r.name);
    let by_hand = if visit.by_hand() { " · by hand" } else { "" };
    format!("{} · {}{crew} · {round}{by_hand}", day(visit.when.day), visit.outcome)
}

/// What to mind at a yard, as earlier visits have it: "dog, noted 12 May".
pub(super) fn minds(survey: &Survey, premise: PremiseId) -> Vec<String> {
    survey.visits.cautions(premise).iter().map(|(text, on)| format!("{text}, noted {}", day(*on))).collect()
}

/// What was written down of a visit in words: what was promised, what to mind.
pub(super) fn said_in_words(visit: &Visit) -> Vec<String> {
    let of = |head: &str, text: &str| (!text.is_empty()).then(|| format!("{head}: {text}"));
    [of("promised", visit.promise()), of("to mind", visit.cautions())].into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use yardring_core::survey::{RoundId, standings};

    #[test]
    fn states_are_told_as_a_crew_leader_would() {
        let survey = sample::survey();
        let standings = standings(&survey, RoundId(0));
        let told = |row: usize| state(&survey, &standings[row], "Round 1");
        assert_eq!(told(0), "Positive on 2 July: larvae in 2 of 5 wet containers");
        assert_eq!(told(1), "Positive on 2 July: pupae in 1 of 1 wet container");
        assert_eq!(told(2), "No answer on 3 July, 2 attempts");
        assert_eq!(told(3), "Inspected on 3 July: nothing held water");
        assert_eq!(told(4), "Larvae seen over the fence on 3 July; the yard was not inspected");
        assert_eq!(told(5), "Not visited in Round 1");
        assert_eq!(remaining(&survey, PremiseId(0)), ["tarp"]);
    }
}
