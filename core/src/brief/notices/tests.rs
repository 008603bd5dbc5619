//! Notices of a made-up round, in words and looked at from outside, through `pdftotext` and `pdffonts`.

use super::phrases::Phrases;
use super::words::{NoticeWords, Part};
use super::*;
use crate::brief::sheets::{made_up, poppler};
use crate::job::Unwatched;
use crate::survey::{Action, BlockId, Find, KindId, Outcome, Round, Stage, Visit, Visits, When};
use jiff::civil::date;
use std::sync::Arc;

const KINDS: [&str; 5] = ["catch basin", "rain barrel", "spaceship", "tarp", "upturned pot"];
const BASIN: u32 = 0;
const BARREL: u32 = 1;
const SPACESHIP: u32 = 2;
const TARP: u32 = 3;
const POT: u32 = 4;

const MONDAY: Date = date(2025, 7, 7);

/// Some containers, all wet, some with fourth instars.
fn find(kind: u32, (count, alive): (u32, u32), action: Option<Action>, remains: bool) -> Find {
    let stage = (alive > 0).then_some(Stage::L4);
    Find { kind: KindId(kind), count, wet: count, with_larvae: alive, with_pupae: 0, pupae: 0, stage, litres: None, action, remains }
}

/// Two streets with a round of these visits, in days from Monday 7 July 2025.
fn survey(visits: Vec<(u32, i8, Outcome, Vec<Find>)>) -> Survey {
    let (mut s, _) = made_up::day();
    s.kinds = Arc::new(KINDS.map(Into::into).to_vec());
    s.rounds = Arc::new(vec![Round { name: "Round 1".into(), first: MONDAY, last: date(2025, 7, 8) }]);
    let visit = |(premise, day, outcome, finds): (u32, i8, Outcome, Vec<Find>)| {
        let when = When { day: date(2025, 7, 7 + day), time: None };
        let (id, crew) = (format!("v{premise}-{day}").into(), "Zebulon".into());
        (Visit { id, premise: PremiseId(premise), when, outcome, round: RoundId(0), crew, said: None, finds: 0..0 }, finds)
    };
    s.visits = Visits::from_rows(s.premises.len(), visits.into_iter().map(visit).collect());
    s
}

fn request() -> NoticesRequest {
    NoticesRequest { district: "Quillmere".to_owned(), ..NoticesRequest::default() }
}

/// The notices of a survey in words, in the order in which they are printed.
fn said(survey: &Survey, request: &NoticesRequest) -> Vec<NoticeWords> {
    let known = ContainerKnowledge::of(survey);
    let on = request.on.unwrap_or(date(2025, 7, 9));
    let doors = Doors { survey, round: RoundId(0), known: known.by_kind(survey) };
    let (picked, _) = doors.picked(request.doors.as_deref(), &Unwatched).unwrap();
    let teller = Teller { doors, deadlines: Deadlines::of(survey, request.species, on), on, language: request.language };
    picked.iter().map(|p| teller.notice(p)).collect()
}

fn print(survey: &Survey, request: &NoticesRequest) -> (Vec<u8>, Printed) {
    notices(survey, RoundId(0), request, &Unwatched).unwrap()
}

/// All words of a notice's parts.
fn words(notice: &NoticeWords) -> String {
    let one = |part: &Part| match part {
        Part::Text(text) | Part::Firm(text) => text.clone(),
        Part::Heading(text) => (*text).to_owned(),
        Part::ToDo { name, found, advice } => format!("{name}: {found} {advice}"),
        Part::Led { lead, text } => format!("{lead}: {text}"),
    };
    notice.parts.iter().map(one).collect::<Vec<_>>().join(" | ")
}

/// One yard with much left, a shut door, a locked gate, and doors that get none.
fn round() -> Survey {
    survey(vec![
        (
            0,
            0,
            Outcome::Inspected,
            vec![
                find(TARP, (2, 1), Some(Action::Left), true),
                find(BARREL, (1, 1), Some(Action::Screened), false),
                find(POT, (3, 0), Some(Action::TurnedOver), false),
                find(SPACESHIP, (1, 0), None, false),
            ],
        ),
        (1, 0, Outcome::Refused, vec![]),
        (2, 0, Outcome::NoAnswer, vec![]),
        (2, 1, Outcome::NoAnswer, vec![]),
        (4, 0, Outcome::LockedGate, vec![]),
        (6, 0, Outcome::Inspected, vec![find(BARREL, (1, 1), Some(Action::Emptied), false)]),
    ])
}

#[test]
fn a_notice_says_what_was_found_what_is_left_and_by_when() {
    let survey = round();
    let first = &said(&survey, &NoticesRequest { on: Some(date(2025, 7, 9)), ..request() })[0];
    assert_eq!((first.address.as_str(), first.parcel.as_str(), first.late), ("2 Kettle Lane", "parcel QM-0", false));
    let told = words(first);
    // A fourth instar at 28 °C, where nothing was measured: its pupa takes 32.40 / (28 − 11.87) = 2.01 days, so that Wednesday is safe.
    for part in [
        "We were in your yard on Monday 7 July 2025",
        "Larvae and pupae are young mosquitoes",
        "Please do this by Wednesday 9 July 2025: after that day new mosquitoes can fly",
        "Tarp: 2, 2 with water, 1 with larvae. The water still stands. Pull the tarp tight so that water runs off",
        "Upturned pot: 3, 3 with water. We turned them over, but upside down they hold water too. The rim of an upturned pot",
        "Spaceship: one, with water. The water still stands. Tip the water out and keep it out",
        "Already done: Rain barrel: covered with mesh.",
    ] {
        assert!(told.contains(part), "{part} is not in {told}");
    }
    assert!(!told.contains("Round") && !told.contains("Zebulon"), "{told}");
    let spanish = &said(&survey, &NoticesRequest { language: Language::Spanish, on: Some(date(2025, 7, 9)), ..request() })[0];
    let told = words(spanish);
    for part in [
        "El lunes 7 de julio de 2025 estuvimos en su patio",
        "a más tardar el miércoles 9 de julio de 2025",
        "Lona: 2, 2 con agua, 1 con larvas. El agua sigue ahí. Estire la lona",
        "Maceta boca abajo: 3, 3 con agua. Se les dio la vuelta, pero boca abajo también guardan agua.",
        "Recipiente (spaceship): 1, con agua. El agua sigue ahí. Vacíe el agua y no deje que se junte otra vez",
        "Ya se hizo: Barril de lluvia: se cubrió con malla.",
    ] {
        assert!(told.contains(part), "{part} is not in {told}");
    }
}

/// The name of a kind stands for one of them: where there are several, their number says so.
#[test]
fn what_was_done_with_several_of_a_kind_tells_their_number() {
    let left = vec![find(TARP, (2, 1), Some(Action::Left), true), find(BARREL, (2, 1), Some(Action::Screened), false)];
    let survey = survey(vec![(0, 0, Outcome::Inspected, left)]);
    for (language, done) in [
        (Language::English, "Already done: Rain barrel (2): covered with mesh."),
        (Language::Spanish, "Ya se hizo: Barril de lluvia (2): se cubrieron con malla."),
    ] {
        let told = words(&said(&survey, &NoticesRequest { language, ..request() })[0]);
        assert!(told.contains(done), "{told}");
    }
}

/// Where nothing alive was left the week counts, or what is left of it; where the day is over nobody is told a day.
#[test]
fn water_without_larvae_has_a_week_and_a_day_that_is_over_is_now() {
    let left = || vec![find(TARP, (1, 0), Some(Action::Left), false)];
    let survey = survey(vec![(0, 0, Outcome::Inspected, left())]);
    let by = |on: Date| words(&said(&survey, &NoticesRequest { on: Some(on), ..request() })[0]);
    assert!(by(date(2025, 7, 14)).contains("by Monday 14 July 2025: within 7 days of our visit, and sooner when it is hot."));
    assert!(by(date(2025, 7, 15)).contains("Please do this at once") && !by(date(2025, 7, 15)).contains("14 July"));
    let (_, printed) = print(&survey, &NoticesRequest { on: Some(date(2025, 7, 15)), ..request() });
    assert_eq!((printed.notices, printed.at_once), (1, 1));
    // Newly hatched at 30 °C fly after 5.43 days (the project's science notes, 5.3, C).
    let hot =
        Survey { temperatures: Arc::new(vec![crate::survey::DayTemperature { day: MONDAY, mean: 30.0, range: None }]), ..survey.clone() };
    let told = words(&said(&hot, &NoticesRequest { species: Species::Aegypti, ..request() })[0]);
    assert!(told.contains("by Saturday 12 July 2025: within 5 days of our visit, for it is hot."), "{told}");
}

#[test]
fn doors_that_stayed_shut_are_asked_to_call() {
    let survey = round();
    let all = said(&survey, &request());
    let (shut, gate) = (&all[1], &all[2]);
    assert_eq!((shut.address.as_str(), gate.address.as_str()), ("6 Kettle Lane", "10 Kettle Lane"));
    let told = words(shut);
    assert!(
        told.contains("on Monday 7 July 2025 and Tuesday 8 July 2025") && told.contains("Nobody answered.") && told.contains("Please call")
    );
    assert!(words(gate).contains("The gate was locked.") && words(gate).contains("Until then, look yourself"));
    let spanish = said(&survey, &NoticesRequest { language: Language::Spanish, ..request() });
    assert!(
        words(&spanish[1]).contains("el lunes 7 de julio de 2025 y el martes 8 de julio de 2025") && words(&spanish[2]).contains("portón")
    );
}

#[test]
fn every_door_that_somebody_went_to_has_a_notice_or_a_reason() {
    let (_, printed) = print(&round(), &request());
    let reasons: Vec<(&str, usize)> = printed.by_reason.iter().map(|(why, n)| (*why, *n)).collect();
    assert_eq!(reasons, [("locked gate", 1), ("no answer", 1), ("something left to do", 1)]);
    let others: Vec<(&str, usize)> = printed.skipped_because.iter().map(|(why, n)| (*why, *n)).collect();
    assert_eq!((printed.notices, printed.pages, printed.skipped, others), (3, 2, 2, vec![("nothing left to do", 1), ("refused", 1)]));
}

/// What was left on one day and done by another is no longer left; what was seen over the fence is told without where from.
#[test]
fn the_last_look_counts() {
    let tarp = |action| vec![find(TARP, (1, 1), Some(action), false)];
    let basin = |remains| vec![find(BASIN, (1, 1), Some(Action::Left), remains)];
    let survey = survey(vec![
        (0, 0, Outcome::Inspected, tarp(Action::Left)),
        (0, 1, Outcome::Inspected, tarp(Action::Emptied)),
        (1, 0, Outcome::Inspected, tarp(Action::Left)),
        (1, 1, Outcome::NoAnswer, vec![]),
        (2, 0, Outcome::SeenOverFence, tarp(Action::Left)),
        (3, 0, Outcome::Inspected, basin(false)),
        (4, 0, Outcome::Inspected, basin(true)),
        (5, 0, Outcome::SeenOverFence, vec![]),
    ]);
    let told: Vec<(String, String)> = said(&survey, &request()).iter().map(|n| (n.address.clone(), words(n))).collect();
    let addresses: Vec<&str> = told.iter().map(|t| t.0.as_str()).collect();
    assert_eq!(addresses, ["4 Kettle Lane", "6 Kettle Lane", "10 Kettle Lane"]);
    assert!(told[0].1.contains("Still to do") && told[1].1.contains("we saw a part of your yard from outside"), "{told:?}");
    assert!(!told[1].1.contains("fence") && told[2].1.contains("Keep leaves out of the street drain"));
}

/// Blocks by their names, streets in a block, numbers as people count; premises without a block behind; walks in their own order.
#[test]
fn notices_lie_as_somebody_walks() {
    let shut = |premise| (premise, 0, Outcome::NoAnswer, vec![]);
    let mut survey = survey([35, 0, 9, 4, 25, 12].map(shut).to_vec());
    survey.blocks.block_id = Arc::new(["B1", "B2"].into_iter().collect());
    let mut block: Vec<Option<BlockId>> = vec![Some(BlockId(1)); survey.premises.len()];
    (block[35], block[4], block[25]) = (Some(BlockId(0)), Some(BlockId(0)), None);
    survey.premises.block = Arc::new(block);
    let addresses = |request: &NoticesRequest| said(&survey, request).into_iter().map(|n| n.address).collect::<Vec<_>>();
    let expected = ["13 Anvil Street", "10 Kettle Lane", "2 Kettle Lane", "7 Kettle Lane", "20 Kettle Lane", "12 Anvil Street"];
    assert_eq!(addresses(&request()), expected);
    let chosen = Some(vec![PremiseId(9), PremiseId(1), PremiseId(0)]);
    assert_eq!(addresses(&NoticesRequest { doors: chosen, ..request() }), ["20 Kettle Lane", "2 Kettle Lane"]);
}

#[test]
fn nobody_reads_where_anybody_fell_ill_or_who_went() {
    let mut survey = round();
    for language in Language::ALL {
        let wish = NoticesRequest { language: *language, ..request() };
        let with = print(&survey, &wish).0;
        assert!(survey.signals.iter().any(|s| s.kind == crate::survey::SignalKind::Case));
        let without = Survey { signals: Arc::default(), ..survey.clone() };
        assert!(with == print(&without, &wish).0, "a case changes no byte");
        let Some(text) = poppler("pdftotext", &with, &["-layout"]) else { continue };
        let text = text.to_lowercase();
        assert!(["case", "caso", "fever", "enferm", "zebulon", "round 1", "positiv"].iter().all(|word| !text.contains(word)), "{text}");
    }
    // Neither does a name of the district or of the round that says so.
    survey.rounds = Arc::new(vec![Round { name: "Case 77".into(), first: MONDAY, last: date(2025, 7, 8) }]);
    let named = NoticesRequest { district: "case 12 Bellows Street".to_owned(), ..request() };
    let (bytes, _) = print(&survey, &named);
    if let Some(text) = poppler("pdftotext", &bytes, &["-layout"]) {
        assert!(!text.to_lowercase().contains("case") && !text.contains("Bellows"), "{text}");
    }
}

#[test]
fn the_same_round_gives_the_same_bytes_and_carries_its_type() {
    let wish = NoticesRequest { language: Language::Spanish, ..request() };
    let (bytes, _) = print(&round(), &wish);
    assert!(bytes.starts_with(b"%PDF-") && bytes == print(&round(), &wish).0);
    let Some(text) = poppler("pdftotext", &bytes, &["-layout"]) else { return };
    for letter in "áéíóúñü¿¡".chars() {
        assert!(text.contains(letter), "{letter} is not in {text}");
    }
    assert!(text.contains("QM-0") && text.contains("2 Kettle Lane") && text.contains("Quillmere"), "{text}");
    let Some(fonts) = poppler("pdffonts", &bytes, &[]) else { return };
    // Columns from the right: object, generation, Unicode table, subset, embedded.
    for row in fonts.lines().skip(2) {
        let words: Vec<&str> = row.split_whitespace().rev().collect();
        assert_eq!((words[2], words[3], words[4]), ("yes", "yes", "yes"), "{row}");
    }
}

#[test]
fn the_office_stands_where_a_pen_would_write() {
    let blank = print(&round(), &request()).0;
    let told = print(&round(), &NoticesRequest { office: "Mosquito control, 555-0100".to_owned(), ..request() }).0;
    let (Some(blank), Some(told)) = (poppler("pdftotext", &blank, &["-layout"]), poppler("pdftotext", &told, &["-layout"])) else { return };
    // Three notices, of which the first goes on on a second half.
    assert_eq!((blank.matches("Reference number").count(), told.matches("Reference number").count()), (4, 0));
    assert_eq!(told.matches("Questions, or help needed? Mosquito control, 555-0100").count(), 4);
}

/// A word of a page with its box, from `pdftotext -bbox`: left, top, right, bottom, in points.
type Boxed = (String, [f32; 4]);

fn boxed(page: &str) -> Vec<Boxed> {
    let number = |line: &str, name: &str| -> f32 {
        let rest = &line[line.find(&format!("{name}=\"")).unwrap() + name.len() + 2..];
        rest[..rest.find('"').unwrap()].parse().unwrap()
    };
    let words = page.lines().filter(|l| l.trim_start().starts_with("<word"));
    words
        .map(|l| {
            (l[l.find('>').unwrap() + 1..l.rfind("</word>").unwrap()].to_owned(), ["xMin", "yMin", "xMax", "yMax"].map(|n| number(l, n)))
        })
        .collect()
}

/// Yards with up to forty things left, names and words of any length, on both papers in both languages: no word stands on another, none
/// leaves the half page that it belongs to, and none is lost.
#[test]
fn a_notice_that_needs_more_goes_on_and_no_word_stands_on_another() {
    let long = |n: u32| (0..n).map(|i| find(i % 5, (1 + i, i % 3), Some(Action::Left), true)).collect::<Vec<_>>();
    let mut survey = survey(vec![
        (0, 0, Outcome::Inspected, long(40)),
        (1, 0, Outcome::NoAnswer, vec![]),
        (2, 0, Outcome::Inspected, long(3)),
        (3, 0, Outcome::Inspected, long(4)),
    ]);
    let mut kinds = survey.kinds.to_vec();
    kinds[SPACESHIP as usize] = format!("spaceship {}", "of another world ".repeat(8)).trim().into();
    survey.kinds = Arc::new(kinds);
    for (paper, language) in PageSize::ALL.into_iter().flat_map(|p| Language::ALL.iter().map(move |l| (p, *l))) {
        let wish = NoticesRequest { paper, language, office: String::new(), ..request() };
        let (bytes, printed) = print(&survey, &wish);
        assert!(printed.pages > 4, "{printed:?}");
        let Some(boxes) = poppler("pdftotext", &bytes, &["-bbox"]) else { return };
        let (wide, high) = paper.points();
        let pages: Vec<Vec<Boxed>> = boxes.split("<page ").skip(1).map(boxed).collect();
        assert_eq!(pages.len(), printed.pages);
        for words in &pages {
            for (i, (word, a)) in words.iter().enumerate() {
                assert!(a[0] >= 35.0 && a[2] <= wide - 35.0 && a[1] >= 30.0 && a[3] <= high - 24.0, "{word} leaves the page: {a:?}");
                assert!(a[3] <= high / 2.0 - 24.0 || a[1] >= high / 2.0 + 24.0, "{word} stands on the line to cut: {a:?}");
                let stands_on =
                    words[..i].iter().find(|(_, b)| a[0] < b[2] - 0.5 && b[0] < a[2] - 0.5 && a[1] + 4.0 < b[3] && b[1] + 4.0 < a[3]);
                assert!(stands_on.is_none(), "{word} stands on {stands_on:?}: {a:?}");
            }
        }
        let count = |word: &str| pages.iter().flatten().filter(|w| w.0 == word).count();
        // "The water still stands." and "El agua sigue ahí." once for each thing that is left.
        let (stands, sheet) = if language == Language::English { ("stands.", "sheet") } else { ("ahí.", "hoja") };
        assert_eq!((count(stands), count(sheet) > 3), (47, true), "{language}");
    }
}

#[test]
fn a_round_that_left_nothing_says_so() {
    let survey = survey(vec![(0, 0, Outcome::Inspected, vec![]), (1, 0, Outcome::Refused, vec![])]);
    let error = notices(&survey, RoundId(0), &request(), &Unwatched).unwrap_err();
    assert!(error.to_string().starts_with("no door of Round 1 gets a notice") && error.hint().contains("--round"));
    assert!(!error.in_window().contains("--"));
}

#[test]
fn somebody_who_stops_it_gets_no_file() {
    struct Stopped;
    impl Watch for Stopped {
        fn progress(&self, _: &str, _: u64, _: u64) {}
        fn cancelled(&self) -> bool {
            true
        }
    }
    assert_eq!(notices(&round(), RoundId(0), &request(), &Stopped).unwrap_err(), NoticesError::Cancelled(Cancelled));
}

/// A phrase leaves as much open in one language as in the other.
#[test]
fn both_languages_leave_the_same_open() {
    let gaps = |p: &Phrases| {
        let all = [
            p.parcel,
            p.sheet,
            p.inspected,
            p.from_outside,
            p.no_answer,
            p.locked_gate,
            p.before_they_fly,
            p.unnamed,
            p.what_to_do,
            p.questions,
        ];
        all.map(|phrase| phrase.matches("{}").count())
    };
    assert_eq!(gaps(Phrases::of(Language::English)), gaps(Phrases::of(Language::Spanish)));
}
