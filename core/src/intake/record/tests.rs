//! Visits written by hand, held against the same rows brought in by a file.

use super::*;
use crate::intake::samples::{lot, table, with_rings};
use crate::intake::{ColumnMap, Incoming, Role, bring_in_tables};
use crate::job::Unwatched;
use crate::measure;
use crate::survey::{BY_HAND, Outcome, standings};
use proptest::prelude::*;

const LOTS: usize = 6;

fn signed() -> Signed {
    Signed { by: "ana".into(), at: "2025-07-15 10:00".into() }
}

fn bring(current: Option<&Survey>, role: Role, table: crate::files::Table) -> (Survey, crate::intake::Report) {
    let incoming = vec![Incoming { role, file: format!("{}.csv", table.name), table }];
    bring_in_tables(current, incoming, &ColumnMap::default(), None, &Unwatched).unwrap()
}

fn district() -> Survey {
    let ids: Vec<String> = (0..LOTS).map(|i| format!("P{i}")).collect();
    let rows: Vec<Vec<&str>> = ids.iter().map(|id| vec![id.as_str(), "1 Elm St"]).collect();
    let cells: Vec<&[&str]> = rows.iter().map(Vec::as_slice).collect();
    let rings: Vec<_> = (0..LOTS).map(|i| lot(i as i32, 0)).collect();
    bring(None, Role::Parcels, with_rings(table("lots", &["PARCEL_ID", "ADDRESS"], &cells), &rings)).0
}

fn at(survey: &Survey, parcel: &str) -> PremiseId {
    premise_called(survey, parcel).unwrap()
}

const COLUMNS: [&str; 19] = [
    "date",
    "parcel_id",
    "time_in",
    "time_out",
    "outcome",
    "round",
    "crew",
    "promise",
    "cautions",
    "container_type",
    "count",
    "holds_water",
    "larvae",
    "pupae",
    "pupae_count",
    "stages",
    "litres",
    "action",
    "remains",
];

/// The rows of a visits table that say what an entry says.
fn rows(parcel: &str, entry: &Entry) -> Vec<Vec<String>> {
    let e = entry;
    let head: [&str; 9] = [&e.date, parcel, &e.time_in, &e.time_out, &e.outcome, &e.round, &e.crew, &e.promise, &e.cautions];
    let head = head.map(str::to_owned);
    let blank = [FindEntry::default()];
    let finds = if e.finds.is_empty() { &blank[..] } else { &e.finds[..] };
    let row = |f: &FindEntry| head.iter().cloned().chain(f.clone().cells().into_iter().map(|(_, t)| t.clone())).collect();
    finds.iter().map(row).collect()
}

fn find_entry() -> impl Strategy<Value = FindEntry> {
    let kind = prop::sample::select(vec!["bucket", "Tire", "plant saucer", "TIRE"]);
    let stage = prop::sample::select(vec!["", "L1", "L4", "P"]);
    let action = prop::sample::select(vec!["", "emptied", "turned over", "left"]);
    let counts = (1u32..9, 0u32..9, 0u32..9, 0u32..9, prop::option::of(0u32..40));
    (kind, counts, stage, action, prop::option::of(0u32..500), any::<bool>()).prop_map(
        |(kind, (count, wet, larvae, pupae, counted), stages, action, litres, remains)| {
            let wet = wet.min(count);
            let (larvae, pupae) = (larvae.min(wet), pupae.min(wet));
            let counted = counted.filter(|n| *n == 0 || pupae > 0);
            FindEntry {
                container_type: kind.into(),
                count: count.to_string(),
                holds_water: wet.to_string(),
                larvae: larvae.to_string(),
                pupae: pupae.to_string(),
                pupae_count: counted.map(|n| n.to_string()).unwrap_or_default(),
                stages: stages.into(),
                litres: litres.map(|l| format!("{}.{}", l / 10, l % 10)).unwrap_or_default(),
                action: action.into(),
                remains: if remains { "yes" } else { "" }.into(),
            }
        },
    )
}

fn entry() -> impl Strategy<Value = Entry> {
    let time = prop::sample::select(vec![("", ""), ("08:50", ""), ("0850", "09:05"), ("8:50 AM", "10:20 AM")]);
    let said = prop::sample::select(vec![("", ""), ("Saturday after five", ""), ("", "dog"), ("Monday", "ladder, dog")]);
    let round = prop::sample::select(vec!["Round 1", "Round 2"]);
    (1i8..28, time, prop::sample::select(Outcome::ALL), round, "[AB]{0,1}", said, prop::collection::vec(find_entry(), 0..4)).prop_map(
        |(day, (time_in, time_out), outcome, round, crew, (promise, cautions), finds)| Entry {
            date: format!("2025-07-{day:02}"),
            time_in: time_in.into(),
            time_out: time_out.into(),
            outcome: outcome.to_string(),
            round: round.into(),
            crew,
            promise: promise.into(),
            cautions: cautions.into(),
            finds: if outcome.sees_nothing() { Vec::new() } else { finds },
            ..Entry::default()
        },
    )
}

/// One entry for a lot and a day, as rows without ids are one visit for both.
fn entries() -> impl Strategy<Value = Vec<(usize, Entry)>> {
    proptest::collection::vec((0..LOTS, entry()), 1..12).prop_map(|all| {
        let mut seen = std::collections::BTreeSet::new();
        all.into_iter().filter(|(lot, e)| seen.insert((*lot, e.date.clone()))).collect()
    })
}

fn plain(survey: &Survey) -> Vec<(Visit, Vec<Find>)> {
    let unmarked = |v: &Visit| Visit { said: Said::marked(v.said.clone(), false), ..v.clone() };
    survey.visits.rows().iter().map(|v| (unmarked(v), survey.visits.finds_of(v).to_vec())).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn written_one_by_one_or_brought_in_by_a_file_is_the_same(all in entries()) {
        let mut by_hand = district();
        let sheet: Vec<Vec<String>> = all.iter().flat_map(|(lot, e)| rows(&format!("P{lot}"), e)).collect();
        for (lot, e) in &all {
            let change = enter(&by_hand, at(&by_hand, &format!("P{lot}")), e, &signed()).unwrap();
            change.apply(&mut by_hand).unwrap();
        }
        let cells: Vec<Vec<&str>> = sheet.iter().map(|r| r.iter().map(String::as_str).collect()).collect();
        let cells: Vec<&[&str]> = cells.iter().map(Vec::as_slice).collect();
        let (by_file, report) = bring(Some(&district()), Role::Visits, table("visits", &COLUMNS, &cells));
        prop_assert_eq!(report.refused_list.len(), 0);
        prop_assert_eq!(&by_hand.rounds, &by_file.rounds);
        prop_assert_eq!(plain(&by_hand).len(), plain(&by_file).len());
        for (mine, theirs) in plain(&by_hand).iter().zip(plain(&by_file)) {
            prop_assert_eq!(&mine.0, &theirs.0);
            let named = |s: &Survey, f: &Find| (folded(s.kind_name(f.kind)), Find { kind: KindId(0), ..f.clone() });
            let sorted = |s: &Survey, finds: &[Find]| {
                let mut out: Vec<String> = finds.iter().map(|f| format!("{:?}", named(s, f))).collect();
                out.sort();
                out
            };
            prop_assert_eq!(sorted(&by_hand, &mine.1), sorted(&by_file, &theirs.1));
        }
        for round in 0..by_hand.rounds.len() as u32 {
            let of = |s: &Survey| measure::district(&standings(s, RoundId(round)));
            prop_assert_eq!(of(&by_hand), of(&by_file));
        }
    }

    #[test]
    fn what_was_entered_corrected_and_taken_away_is_undone_whole(all in entries(), other in entry()) {
        let mut now = district();
        let (mut states, mut back) = (vec![now.clone()], Vec::new());
        for (lot, e) in &all {
            let premise = at(&now, &format!("P{lot}"));
            back.push(enter(&now, premise, e, &signed()).unwrap().apply(&mut now).unwrap());
            states.push(now.clone());
        }
        let first = now.visits.rows()[0].clone();
        prop_assert_eq!(correct(&now, first.premise, &first.id, &Entry::of(&now, &first), &signed()), Err(RecordError::NothingChanged));
        if let Ok(change) = correct(&now, first.premise, &first.id, &other, &signed()) {
            back.push(change.apply(&mut now).unwrap());
            prop_assert!(now.intake_log.last().unwrap().findings.last().unwrap().contains("before: "));
            states.push(now.clone());
        }
        back.push(take_away(&now, first.premise, &first.id, &signed()).unwrap().apply(&mut now).unwrap());
        prop_assert!(now.rounds.iter().enumerate().all(|(i, _)| now.visits.rows().iter().any(|v| v.round.row() == i)), "no empty round");
        for (before, back) in states.iter().zip(&back).rev() {
            back.clone().apply(&mut now).unwrap();
            prop_assert_eq!(&now, before);
        }
    }
}

#[test]
fn what_cannot_be_is_told_beside_its_cell() {
    let base = Entry { date: "2025-07-14".into(), outcome: "inspected".into(), ..Entry::default() };
    let bucket = FindEntry { container_type: "bucket".into(), count: "2".into(), holds_water: "1".into(), ..FindEntry::default() };
    let told = |entry: &Entry| entry.faults().into_iter().map(|f| (f.find, f.cell, f.words)).collect::<Vec<_>>();
    assert_eq!(told(&Entry { finds: vec![bucket.clone(), FindEntry::default()], ..base.clone() }), []);
    let only = |entry: &Entry, find: Option<usize>, cell: &str, words: &str| {
        let all = told(entry);
        assert!(all.len() == 1 && all[0].0 == find && all[0].1 == cell && all[0].2.contains(words), "{all:?}");
    };
    only(&Entry { date: "2025-02-30".into(), ..base.clone() }, None, "date", "is not written as");
    only(&Entry { date: String::new(), ..base.clone() }, None, "date", "missing");
    only(&Entry { outcome: "gone fishing".into(), ..base.clone() }, None, "outcome", "is not an outcome");
    only(&Entry { outcome: String::new(), ..base.clone() }, None, "outcome", "say how");
    only(
        &Entry { outcome: "no answer".into(), finds: vec![bucket.clone()], ..base.clone() },
        None,
        "outcome",
        "nothing can have been found",
    );
    only(&Entry { time_in: "25:00".into(), ..base.clone() }, None, "time_in", "no time of day");
    only(&Entry { time_in: "09:00".into(), time_out: "08:00".into(), ..base.clone() }, None, "time_out", "before the crew came");
    only(&Entry { time_out: "08:00".into(), ..base.clone() }, None, "time_in", "say when the crew came");
    only(&Entry { minutes: "-3".into(), ..base.clone() }, None, "minutes", "no number of minutes");
    let with = |change: &dyn Fn(&mut FindEntry)| {
        let mut find = bucket.clone();
        change(&mut find);
        Entry { finds: vec![bucket.clone(), find], ..base.clone() }
    };
    only(&with(&|f| f.holds_water = "3".into()), Some(1), "holds_water", "3 held water, but only 2");
    only(&with(&|f| f.larvae = "2".into()), Some(1), "holds_water", "only 1 that held water");
    only(&with(&|f| f.count = "some".into()), Some(1), "count", "no whole number");
    only(&with(&|f| f.litres = "-1".into()), Some(1), "litres", "less than 0");
    only(&with(&|f| f.stages = "adult".into()), Some(1), "stages", "not a stage");
    only(&with(&|f| f.action = "kicked".into()), Some(1), "action", "not an action");
    only(&with(&|f| (f.pupae, f.pupae_count) = ("0".into(), "4".into())), Some(1), "pupae", "4 pupae were counted");
    only(&with(&|f| f.container_type.clear()), Some(1), "container_type", "say what kind");
    let refused = enter(&district(), PremiseId(0), &with(&|f| f.holds_water = "3".into()), &signed()).unwrap_err();
    assert_eq!(refused.to_string(), "the visit was not kept: find 2: 3 held water, but only 2 were there");
}

#[test]
fn a_sheet_that_comes_again_writes_over_no_correction_and_brings_back_nothing_taken_away() {
    let columns = ["visit_id", "date", "parcel_id", "outcome", "round", "container_type", "holds_water"];
    let sheet = || {
        let rows: &[&[&str]] = &[
            &["V1", "2025-07-02", "P0", "inspected", "Round 1", "tire", "1"],
            &["V2", "2025-07-02", "P1", "no answer", "Round 1", "", ""],
            &["V3", "2025-07-03", "P2", "refused", "Round 1", "", ""],
        ];
        table("sheet", &columns, rows)
    };
    let (mut now, _) = bring(Some(&district()), Role::Visits, sheet());
    let corrected = Entry { outcome: "front only".into(), ..Entry::of(&now, &now.visits.at(at(&now, "P1"))[0]) };
    correct(&now, at(&now, "P1"), "V2", &corrected, &signed()).unwrap().apply(&mut now).unwrap();
    take_away(&now, at(&now, "P2"), "V3", &signed()).unwrap().apply(&mut now).unwrap();
    let log = now.intake_log.last().unwrap();
    assert_eq!((&*log.file, log.rows, log.findings.len()), (BY_HAND, 2, 2));
    assert!(log.findings[0].contains("by ana on 2025-07-15 10:00") && log.findings[0].contains("before: 2025-07-02 no answer"), "{log:?}");
    let (after, report) = bring(Some(&now), Role::Visits, sheet());
    assert_eq!(after.visits, now.visits);
    assert!(report.in_words().contains("was entered or corrected by hand and stays so"), "{}", report.in_words());
    assert!(report.refused_list.len() == 1 && report.refused_list[0].reason.contains("was taken away by hand"));
    assert_eq!((report.visits, report.files[0].rows, report.files[0].brought_in), (2, 3, 2));
    // Entered anew it is there again, and stays.
    let anew = Entry { visit_id: "V3".into(), date: "2025-07-03".into(), outcome: "refused".into(), ..Entry::default() };
    let mut again = after.clone();
    enter(&again, at(&again, "P2"), &anew, &signed()).unwrap().apply(&mut again).unwrap();
    assert!(TakenAway::of(&again).is_empty());
    assert_eq!(bring(Some(&again), Role::Visits, sheet()).0.visits, again.visits);
}

#[test]
fn the_same_visit_is_not_entered_twice_and_a_second_one_gets_an_id_of_its_own() {
    let mut now = district();
    let entry = Entry { date: "2025-07-14".into(), outcome: "no answer".into(), ..Entry::default() };
    let premise = at(&now, "P3");
    enter(&now, premise, &entry, &signed()).unwrap().apply(&mut now).unwrap();
    assert_eq!((&*now.visits.rows()[0].id, &*now.rounds[0].name), ("2025-07-14 P3", "2025-07-14 to 2025-07-14"));
    assert!(matches!(enter(&now, premise, &entry, &signed()), Err(RecordError::Already { .. })));
    let evening = Entry { time_in: "18:10".into(), round: "2025-07-14 TO 2025-07-14".into(), ..entry };
    enter(&now, premise, &evening, &signed()).unwrap().apply(&mut now).unwrap();
    assert_eq!((now.visits.at(premise).len(), &*now.visits.at(premise)[1].id, now.rounds.len()), (2, "2025-07-14 P3 2", 1));
    assert!(matches!(take_away(&now, premise, "V9", &signed()), Err(RecordError::NoVisit { .. })));
    assert_eq!(enter(&now, PremiseId(99), &evening, &signed()), Err(RecordError::NoPremise));
}
