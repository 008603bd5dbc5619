use super::*;
use crate::brief::sheets::made_up;
use crate::job::Unwatched;
use crate::survey::RoundId;

fn request() -> BriefingRequest {
    BriefingRequest {
        district: "Quillmere".to_owned(),
        on: None,
        radius: Metres(150.0),
        species: Species::Albopictus,
        paper: PageSize::Letter,
    }
}

/// All that a briefing says, in one text.
fn said(facts: &Facts) -> String {
    serde_json::to_string(facts).unwrap()
}

#[test]
fn the_figures_are_those_of_the_measures_and_the_gaps() {
    let (survey, _) = made_up::day();
    let (bytes, facts) = briefing(&survey, RoundId(0), &request(), &Unwatched).unwrap();
    assert!(bytes.starts_with(b"%PDF-"));
    let standings = crate::survey::standings(&survey, RoundId(0));
    let counts = crate::measure::district(&standings);
    let figure = |what: &str| facts.figures.iter().find(|f| f.what == what).unwrap();
    assert_eq!(figure("Yards inspected").value, counts.inspected.to_string());
    // By hand: positive of inspected.
    let index = 100.0 * counts.positive_premises as f64 / counts.inspected as f64;
    assert!(figure("House index").value.starts_with(&format!("{index:.0} % (")), "{:?}", figure("House index"));
    let wanted = Wanted::default();
    let sources = crate::reach::sources(&survey, &standings, &wanted);
    let gaps = crate::reach::gaps(&survey, &standings, &sources, &wanted, &Unwatched).unwrap();
    let point = facts.points.iter().find(|p| p.heading == "Not seen yet").unwrap();
    assert!(point.says.starts_with(&format!("{} yard", gaps.len())), "{}", point.says);
    assert_eq!(bytes, briefing(&survey, RoundId(0), &request(), &Unwatched).unwrap().0, "the same survey, the same file");
}

#[test]
fn nobody_reads_where_anybody_fell_ill() {
    let (mut survey, _) = made_up::day();
    let with = briefing(&survey, RoundId(0), &request(), &Unwatched).unwrap();
    assert!(survey.signals.iter().any(|s| s.kind == SignalKind::Case));
    assert!(!said(&with.1).to_lowercase().contains("case"));
    survey.signals = Arc::default();
    assert!(with.0 == briefing(&survey, RoundId(0), &request(), &Unwatched).unwrap().0, "a case changes no byte");
}

#[test]
fn a_survey_without_outlines_has_a_briefing_without_maps() {
    let (survey, _) = made_up::day();
    let bare = Survey {
        premises: crate::survey::Premises {
            outline: Arc::new((0..survey.premises.len()).fold(crate::place::Shapes::default(), |mut all, _| {
                all.end_shape();
                all
            })),
            ..survey.premises.clone()
        },
        ..survey.clone()
    };
    let whole = briefing(&survey, RoundId(0), &request(), &Unwatched).unwrap();
    let (bytes, facts) = briefing(&bare, RoundId(0), &BriefingRequest { paper: PageSize::A4, ..request() }, &Unwatched).unwrap();
    assert!(bytes.len() < whole.0.len() && facts.figures == whole.1.figures);
}
