//! What is said round a map: heading, answer, notes and cautions, from the survey's own figures.

use super::page::{Saying, Sign, SignLine};
use super::{Answers, Found, MapRequest};
use crate::brief::classes::{Classes, ColourBy};
use crate::brief::words::{NOT_SEEN, day, days, grouped, many, short, with_interval};
use crate::foresee::{Foreseen, MUST_NOT};
use crate::measure::{Counts, district};
use crate::reach::{self, Mask, SourceKind};
use crate::survey::{SignalKind, Standing, Survey};
use crate::walks::CrewWalk;

/// Nothing is told of yards that nobody got into.
const NOBODY: &str = "No yard was inspected.";

/// Everything that is said round a map.
pub fn of(survey: &Survey, standings: &[Standing], classes: &Classes, request: &MapRequest, answers: &Answers<'_>) -> Saying {
    let counts = district(standings);
    let round = request.round.and_then(|r| survey.rounds.get(r.row()));
    let mut under: Vec<String> = Vec::new();
    if let Some(round) = round {
        // A round without a name of its own is named by its days.
        if !round.name.contains(&round.first.to_string()) {
            under.push(round.name.to_string());
        }
        under.push(days(round.first, round.last));
    } else {
        under.push("no visits yet".to_owned());
    }
    under.push(format!("{} of {} inspected", grouped(counts.inspected), many(counts.premises, "yard")));
    under.extend(request.walks.as_ref().map(|d| format!("walks of {}", day(d.on))));
    let heading = request.colour_by.heading();
    Saying {
        heading: if request.district.is_empty() { heading.to_owned() } else { format!("{} · {heading}", request.district) },
        under_heading: under.join(" · "),
        legend_heading: classes.unit.clone(),
        legend: classes.legend(),
        counted: classes.counted(),
        signs: reach_signs(request, answers).into_iter().chain(signals(survey, request)).chain(crews(request)).collect(),
        answer: answer(classes, request, &counts, answers),
        notes: notes(survey, classes, request, answers),
        warning: shows_cases(survey, request).then(|| "This map shows places of cases. Keep it inside the office.".to_owned()),
        foot: foot(survey, request, answers),
    }
}

fn shows_cases(survey: &Survey, request: &MapRequest) -> bool {
    request.unmasked && request.colour_by == ColourBy::Gaps && survey.signals.iter().any(|s| s.kind == SignalKind::Case)
}

fn answer(classes: &Classes, request: &MapRequest, counts: &Counts, answers: &Answers<'_>) -> (String, Vec<String>) {
    match (answers.found, answers.foreseen) {
        (Some(found), _) => gaps(request, found),
        (_, Some(foreseen)) => chances(classes, foreseen),
        _ if request.colour_by == ColourBy::Change => changed(classes, counts, answers.refusal),
        _ => measured(request.colour_by, counts),
    }
}

/// How many yards are likely, or why nothing is foreseen.
fn chances(classes: &Classes, foreseen: &Foreseen) -> (String, Vec<String>) {
    if let Some(refusal) = foreseen.refusal {
        return ("No chances are shown".to_owned(), vec![format!("Why: {refusal}.")]);
    }
    let shown: u64 = classes.classes[..classes.steps].iter().map(|c| c.count).sum();
    let expected: f64 = foreseen.chances.iter().map(|c| c.probability).sum();
    let learnt = format!(
        "Learnt from {}, {} of them positive.",
        many(foreseen.inspected as u64, "inspected yard"),
        grouped(foreseen.positive as u64)
    );
    let lines = vec![
        format!("{} nobody knows of yet, about {} of them likely positive.", many(shown, "yard"), grouped(expected.round() as u64)),
        learnt,
    ];
    ("Not seen yet".to_owned(), lines)
}

/// How many blocks changed, and the district's own figure now; or why nothing is compared.
fn changed(classes: &Classes, counts: &Counts, refusal: Option<&str>) -> (String, Vec<String>) {
    if let Some(refusal) = refusal {
        let (_, now) = measured(ColourBy::HouseIndex, counts);
        return ("No change is shown".to_owned(), std::iter::once(format!("{refusal}.")).chain(now).collect());
    }
    let of = |some: std::ops::Range<usize>| classes.classes[some].iter().map(|c| c.count).sum::<u64>();
    let (_, mut now) = measured(ColourBy::Change, counts);
    let (fell, rose) = (many(of(0..2), "block"), many(of(3..5), "block"));
    now.insert(0, format!("{fell} fell, {rose} rose, beyond chance."));
    now[1] = format!("Now {} in the whole district.", now[1]);
    ("What changed".to_owned(), now)
}

/// The district's own figure, in words.
fn measured(colour_by: ColourBy, counts: &Counts) -> (String, Vec<String>) {
    let sentence = match colour_by {
        ColourBy::HouseIndex | ColourBy::Smoothed | ColourBy::HotSpots | ColourBy::Clusters | ColourBy::Change => vec![
            counts
                .house_index()
                .map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{} per 100", with_interval(Some(v), counts.house_index_interval(), ""))),
            match counts.inspected {
                0 => NOBODY.to_owned(),
                1 => format!("{} of 1 inspected yard was positive.", counts.positive_premises),
                n => format!("{} of {} inspected yards were positive.", grouped(counts.positive_premises), grouped(n)),
            },
        ],
        ColourBy::Containers if counts.inspected == 0 => vec![NOT_SEEN.to_owned(), NOBODY.to_owned()],
        ColourBy::Containers => {
            let value = counts.wet_per_inspected().map_or(NOT_SEEN.to_owned(), short);
            let positive = format!("{} of them with larvae or pupae.", grouped(counts.positive_containers));
            vec![format!("{value} per yard"), format!("{} held water, {positive}", many(counts.wet_containers, "container"))]
        }
        ColourBy::Coverage | ColourBy::Gaps | ColourBy::Foreseen => {
            let value = counts.coverage().map_or(NOBODY.to_owned(), |c| format!("{:.0} % inspected", 100.0 * c));
            let tried = counts.attempted - counts.inspected;
            vec![value, format!("{} tried without a full look.", many(tried, "more yard"))]
        }
    };
    ("The whole district".to_owned(), sentence)
}

fn gaps(request: &MapRequest, found: &Found) -> (String, Vec<String>) {
    let fence = found.gaps.iter().filter(|g| g.shares_fence).count() as u64;
    let n = found.gaps.len() as u64;
    let radius = request.reach.radius;
    let source = match request.reach.from {
        SourceKind::Positives => "positive yard",
        SourceKind::Pupae => "yard with pupae",
        SourceKind::Cases => "case",
        SourceKind::Traps => "trap",
        SourceKind::Complaints => "complaint",
    };
    if found.sources.is_empty() {
        let none = match request.reach.from {
            SourceKind::Positives => "No positive yard is known, so there is no reach and nothing in it.",
            SourceKind::Pupae => "No yard with pupae is known, so there is no reach and nothing in it.",
            SourceKind::Cases => "No case is known, so there is no reach and nothing in it.",
            SourceKind::Traps => "No trap caught enough, so there is no reach and nothing in it.",
            SourceKind::Complaints => "No complaint is known, so there is no reach and nothing in it.",
        };
        return ("Still to see".to_owned(), vec![none.to_owned()]);
    }
    let (have, share) = (if n == 1 { "has" } else { "have" }, if fence == 1 { "shares" } else { "share" });
    let mut lines = vec![format!("{} inside the reach {have} not been inspected.", many(n, "yard"))];
    if matches!(request.reach.from, SourceKind::Positives | SourceKind::Pupae) {
        lines.push(format!("{} of them {share} a fence with a {source}.", grouped(fence)));
    }
    let sources = found.sources.len() as u64;
    let round = match (request.reach.from, sources) {
        (SourceKind::Pupae, 2..) => format!("{} yards with pupae", grouped(sources)),
        _ => many(sources, source),
    };
    lines.push(format!(
        "Reach: {:.0} m ({:.0} yd) round {round}, {} ha.",
        radius.0,
        radius.yards(),
        grouped(found.ground.area.hectares().round() as u64)
    ));
    ("Still to see".to_owned(), lines)
}

/// The reach and the dots of its sources.
fn reach_signs(request: &MapRequest, answers: &Answers<'_>) -> Vec<SignLine> {
    let Some(found) = answers.found.filter(|f| !f.sources.is_empty()) else { return Vec::new() };
    let radius = request.reach.radius;
    let mut out =
        vec![SignLine { sign: Sign::Reach, label: format!("the reach, {:.0} m ({:.0} yd)", radius.0, radius.yards()), count: None }];
    if request.reach.from == SourceKind::Cases {
        return out;
    }
    for (pupae, one, more) in [(true, "source with pupae", "sources with pupae"), (false, "source", "sources")] {
        let drawn = |s: &&reach::Source| s.premise.is_some() && s.pupae == pupae;
        let count = found.sources.list().iter().filter(drawn).count() as u64;
        if count > 0 {
            let label = if count == 1 { one } else { more };
            out.push(SignLine { sign: Sign::Source { pupae }, label: label.to_owned(), count: Some(count) });
        }
    }
    out
}

/// The crews whose walks are drawn, with how many doors each has.
fn crews(request: &MapRequest) -> Vec<SignLine> {
    let walks = request.walks.as_ref().map_or(&[][..], |day| &day.walks);
    let walked = walks.iter().enumerate().filter(|(_, w)| !w.doors.is_empty());
    let label = |w: &CrewWalk| format!("{}, {}", w.crew, if w.doors.len() == 1 { "door" } else { "doors" });
    walked.map(|(i, w)| SignLine { sign: Sign::Walk(i), label: label(w), count: Some(w.doors.len() as u64) }).collect()
}

/// Signals that a map of gaps shows, kind by kind.
fn signals(survey: &Survey, request: &MapRequest) -> Vec<SignLine> {
    let label = |kind: SignalKind, n: u64| if n == 1 { kind.word().to_owned() } else { format!("{}s", kind.word()) };
    let count = |kind: SignalKind| survey.signals.iter().filter(|s| s.kind == kind).count() as u64;
    SignalKind::ALL
        .iter()
        .filter(|k| request.colour_by == ColourBy::Gaps && (request.unmasked || **k != SignalKind::Case))
        .map(|&k| (k, count(k)))
        .filter(|(_, n)| *n > 0)
        .map(|(kind, n)| SignLine { sign: Sign::Signal(kind), label: label(kind, n), count: Some(n) })
        .collect()
}

fn notes(survey: &Survey, classes: &Classes, request: &MapRequest, answers: &Answers<'_>) -> Vec<String> {
    let mut out = Vec::new();
    if answers.foreseen.is_some_and(|f| f.refusal.is_none()) {
        out.push(MUST_NOT.to_owned());
    }
    if !classes.breaks_from.is_empty() && answers.foreseen.is_none_or(|f| f.refusal.is_none()) {
        out.push(classes.breaks_from.clone());
    }
    if matches!(request.colour_by, ColourBy::HouseIndex | ColourBy::Smoothed | ColourBy::Containers | ColourBy::Change) {
        out.push("Only inspected yards are counted. Where few were seen one yard decides the class.".to_owned());
    }
    if matches!(request.colour_by, ColourBy::HouseIndex | ColourBy::Smoothed | ColourBy::Change) {
        out.push("In brackets: 95 % interval.".to_owned());
    }
    if !request.unmasked && request.colour_by == ColourBy::Gaps && request.reach.from == SourceKind::Cases {
        out.push(format!(
            "Rings are drawn {:.0} to {:.0} m off the true places, and yards in them are not marked: where people fell ill is not shown.",
            Mask::INNER.0,
            Mask::OUTER.0
        ));
    } else if !request.unmasked && request.colour_by == ColourBy::Gaps && survey.signals.iter().any(|s| s.kind == SignalKind::Case) {
        out.push("Places of cases are not shown.".to_owned());
    }
    out
}

fn foot(survey: &Survey, request: &MapRequest, answers: &Answers<'_>) -> Vec<String> {
    let mut files: Vec<&str> = Vec::new();
    for entry in survey.intake_log.iter() {
        if !files.contains(&&*entry.file) {
            files.push(&entry.file);
        }
    }
    let mut first = String::new();
    if !files.is_empty() {
        first = format!("Sources: {}. ", files.join(", "));
    }
    if let Some(round) = request.round.and_then(|r| survey.rounds.get(r.row())) {
        first += &format!("Visits up to {}. ", day(round.last));
    }
    first += "North is up.";
    let part = request.part.map(|_| "A part of the district is shown. All counts are of the whole district.".to_owned());
    let outside = answers.lies.told().filter(|_| request.part.is_none()).map(|told| format!("{told}: not on this map."));
    let rest = [first, "Enter no yard without permission or other lawful authority. Local codes come first.".to_owned()];
    part.into_iter().chain(outside).chain(rest).collect()
}
