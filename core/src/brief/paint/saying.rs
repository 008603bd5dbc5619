//! What is said round a map: heading, answer, notes and cautions, from the survey's own figures.

use super::page::Saying;
use super::{Found, MapRequest};
use crate::brief::classes::{Classes, ColourBy, FEW};
use crate::brief::words::{day, days, grouped, many, short, with_interval};
use crate::measure::{Counts, district};
use crate::reach::SourceKind;
use crate::survey::{SignalKind, Standing, Survey};

/// Everything that is said round a map.
pub fn of(survey: &Survey, standings: &[Standing], classes: &Classes, request: &MapRequest, found: Option<&Found>) -> Saying {
    let counts = district(standings);
    let round = survey.rounds.get(request.round.row());
    let mut under: Vec<String> = Vec::new();
    if let Some(round) = round {
        // A round without a name of its own is named by its days.
        if !round.name.contains(&round.first.to_string()) {
            under.push(round.name.to_string());
        }
        under.push(days(round));
    }
    under.push(format!("{} of {} inspected", grouped(counts.inspected), many(counts.premises, "yard")));
    let heading = request.colour_by.heading();
    Saying {
        heading: if request.district.is_empty() { heading.to_owned() } else { format!("{} · {heading}", request.district) },
        under_heading: under.join(" · "),
        legend_heading: request.colour_by.unit().to_owned(),
        legend: classes.legend(),
        counted: classes.counted(),
        signals: signals(survey, request),
        answer: found.map_or_else(|| measured(request.colour_by, &counts), |f| gaps(request, f)),
        notes: notes(survey, request),
        warning: shows_cases(survey, request).then(|| "This map shows places of cases. Keep it inside the office.".to_owned()),
        foot: foot(survey, request),
    }
}

fn shows_cases(survey: &Survey, request: &MapRequest) -> bool {
    request.unmasked && request.colour_by == ColourBy::Gaps && survey.signals.iter().any(|s| s.kind == SignalKind::Case)
}

/// The district's own figure, in words.
fn measured(colour_by: ColourBy, counts: &Counts) -> (String, Vec<String>) {
    let sentence = match colour_by {
        ColourBy::HouseIndex => vec![
            format!("{} per 100", with_interval(counts.house_index(), counts.house_index_interval())),
            format!("{} of {} inspected yards were positive.", grouped(counts.positive_premises), grouped(counts.inspected)),
        ],
        ColourBy::Containers => {
            let value = counts.wet_per_inspected().map_or("not seen".to_owned(), short);
            let positive = format!("{} of them with larvae or pupae.", grouped(counts.positive_containers));
            vec![format!("{value} per yard"), format!("{} held water, {positive}", many(counts.wet_containers, "container"))]
        }
        ColourBy::Coverage | ColourBy::Gaps | ColourBy::Foreseen => {
            let value = counts.coverage().map_or("not seen".to_owned(), |c| format!("{:.0} %", 100.0 * c));
            let tried = counts.attempted - counts.inspected;
            vec![format!("{value} inspected"), format!("{} tried without a full look.", many(tried, "more yard"))]
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

/// Signals that a map of gaps shows, kind by kind.
fn signals(survey: &Survey, request: &MapRequest) -> Vec<(SignalKind, u64)> {
    let count = |kind: SignalKind| survey.signals.iter().filter(|s| s.kind == kind).count() as u64;
    SignalKind::ALL
        .iter()
        .filter(|k| request.colour_by == ColourBy::Gaps && (request.unmasked || **k != SignalKind::Case))
        .map(|&k| (k, count(k)))
        .filter(|(_, n)| *n > 0)
        .collect()
}

fn notes(survey: &Survey, request: &MapRequest) -> Vec<String> {
    let mut out = Vec::new();
    if request.colour_by != ColourBy::Gaps {
        out.push(request.colour_by.breaks_from().to_owned());
    }
    if matches!(request.colour_by, ColourBy::HouseIndex | ColourBy::Containers) {
        out.push(format!("Only inspected yards are counted. With fewer than {FEW} in a block one yard decides its class."));
    }
    if request.colour_by == ColourBy::HouseIndex {
        out.push("In brackets: 95 % interval.".to_owned());
    }
    if !request.unmasked && request.colour_by == ColourBy::Gaps && survey.signals.iter().any(|s| s.kind == SignalKind::Case) {
        out.push("Places of cases are not shown.".to_owned());
    }
    out
}

fn foot(survey: &Survey, request: &MapRequest) -> Vec<String> {
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
    if let Some(round) = survey.rounds.get(request.round.row()) {
        first += &format!("Visits up to {}. ", day(round.last));
    }
    first += "North is up.";
    vec![first, "Enter no yard without permission or other lawful authority. Local codes come first.".to_owned()]
}
