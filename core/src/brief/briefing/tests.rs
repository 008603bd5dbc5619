use super::*;
use crate::brief::sheets::made_up;
use crate::job::Unwatched;
use crate::survey::{Action, RoundId};

fn request() -> BriefingRequest {
    BriefingRequest {
        district: "Quillmere".to_owned(),
        on: None,
        radius: Metres(150.0),
        species: Species::Albopictus,
        paper: PageSize::Letter,
        beside: Beside::Nothing,
    }
}

/// Shapes of things that have none.
fn without_outlines(n: usize) -> crate::place::Shapes {
    (0..n).fold(crate::place::Shapes::default(), |mut all, _| {
        all.end_shape();
        all
    })
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
        premises: crate::survey::Premises { outline: Arc::new(without_outlines(survey.premises.len())), ..survey.premises.clone() },
        ..survey.clone()
    };
    let whole = briefing(&survey, RoundId(0), &request(), &Unwatched).unwrap();
    let (bytes, facts) = briefing(&bare, RoundId(0), &BriefingRequest { paper: PageSize::A4, ..request() }, &Unwatched).unwrap();
    assert!(bytes.len() < whole.0.len() && facts.figures == whole.1.figures);
}

/// Litres of three finds that were treated, of which two were measured: 120.5 and 2.5 in four containers; two containers more were not.
#[test]
fn water_that_was_treated_is_added_up() {
    let (mut survey, _) = made_up::day();
    let rows = survey.visits.rows().iter().map(|v| (v.clone(), survey.visits.finds_of(v).to_vec()));
    let treated = |count: u32, litres: Option<f32>| crate::survey::Find {
        count,
        wet: count,
        litres,
        action: Some(Action::Treated),
        ..survey.visits.finds()[0].clone()
    };
    let mut rows: Vec<_> = rows.collect();
    let inspected = rows.iter_mut().find(|(v, _)| v.outcome == crate::survey::Outcome::Inspected).unwrap();
    inspected.1.extend([treated(3, Some(120.5)), treated(1, Some(2.5)), treated(2, None)]);
    survey.visits = crate::survey::Visits::from_rows(survey.premises.len(), rows);
    let (_, facts) = briefing(&survey, RoundId(0), &request(), &Unwatched).unwrap();
    assert_eq!(facts.treated_water, Some(TreatedWater { litres: 123.0, containers: 4, not_measured: 2 }));
    let told = facts.done_words();
    assert!(
        told.contains("Water treated: 123 litres in 4 containers. The water of 2 containers that were treated is not written down."),
        "{told}"
    );
    assert!(told.contains("emptied 1") && told.contains("treated 6"), "{told}");
}

/// Two rounds of ten yards, half of them left alone: what the briefing says of the change is what the change step says beside them.
#[test]
fn a_control_area_stands_in_the_change() {
    let (survey, _) = made_up::day();
    let one = |premise: u32, round: u32, alive: u32| {
        let when = crate::survey::When { day: jiff::civil::date(2025, 7, 7 + 7 * round as i8), time: None };
        let visit = crate::survey::Visit {
            id: format!("{round}-{premise}").into(),
            premise: crate::survey::PremiseId(premise),
            when,
            outcome: crate::survey::Outcome::Inspected,
            round: RoundId(round),
            crew: "A".into(),
            said: None,
            finds: 0..0,
        };
        (visit, vec![crate::survey::Find { count: 1, wet: 1, with_larvae: alive, ..survey.visits.finds()[0].clone() }])
    };
    let before = (0..20).map(|p| one(p, 0, u32::from(p % 2 == 0)));
    let after = (0..20).map(|p| one(p, 1, u32::from(if p < 10 { p == 0 } else { p % 2 == 0 })));
    let round = |name: &str, day: i8| crate::survey::Round {
        name: name.into(),
        first: jiff::civil::date(2025, 7, day),
        last: jiff::civil::date(2025, 7, day),
    };
    let blocks = (0..survey.premises.len() as u32).map(|p| Some(crate::survey::BlockId(u32::from(p >= 10))));
    let survey = Survey {
        rounds: Arc::new(vec![round("Round 1", 7), round("Round 2", 14)]),
        visits: crate::survey::Visits::from_rows(survey.premises.len(), before.chain(after).collect()),
        blocks: crate::survey::Blocks { block_id: Arc::new(["A", "B"].into_iter().collect()), outline: Arc::new(without_outlines(2)) },
        premises: crate::survey::Premises { block: Arc::new(blocks.collect()), ..survey.premises.clone() },
        ..survey
    };
    let change = |beside: Beside| {
        let (_, facts) = briefing(&survey, RoundId(1), &BriefingRequest { beside, ..request() }, &Unwatched).unwrap();
        facts.points.into_iter().find(|p| p.heading == "Change").unwrap().says
    };
    assert!(change(Beside::Nothing).contains("only a control area tells what the crews did"));
    let told = change(Beside::Control(vec![crate::survey::BlockId(1)]));
    // Mulla's formula: 5 of 10 became 1 of 10 where something was done, and 5 of 10 stayed 5 of 10 beside it: 80 % less.
    assert!(told.contains("Beside the control area: ") && told.contains("80 % less") && !told.contains("Rain and season"), "{told}");
}
