//! What one visit by hand and keeping what is not saved cost: `cargo bench -p yardring-core --bench keeping -- 200000 1000000`. Each county
//! has as many square yards as asked for, with one visit and one find each. Every figure is the longest of three.

#![allow(clippy::expect_used, reason = "a bench that cannot go on must stop with a word")]

use jiff::civil::date;
use std::sync::Arc;
use std::time::{Duration, Instant};
use yardring_core::intake::record::{Entry, FindEntry, Signed, enter};
use yardring_core::job::Unwatched;
use yardring_core::place::{Frame, Local, LonLat, Shapes};
use yardring_core::store::{Edit, History, Keeper, Made, Stamp, ToKeep, UnsavedPlace, Way, look_for_unsaved, save};
use yardring_core::survey::{Find, KindId, Outcome, PremiseId, Round, RoundId, Survey, Visit, Visits, When};

/// A county of square yards in rows, each visited once.
fn county(yards: u32) -> Survey {
    let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
    let side = f64::from(yards).sqrt().ceil();
    let mut outlines = Shapes::default();
    for i in 0..yards {
        let (x, y) = (f64::from(i) % side * 20.0, (f64::from(i) / side).floor() * 20.0);
        outlines.push_ring(&[(0.0, 0.0), (19.0, 0.0), (19.0, 19.0), (0.0, 19.0)].map(|(a, b)| Local { x: x + a, y: y + b }));
        outlines.end_part();
        outlines.end_shape();
    }
    s.premises.parcel_id = Arc::new((0..yards).map(|i| format!("QM-{i:07}")).collect());
    s.premises.address = Arc::new((0..yards).map(|i| format!("{i} Kettle Lane")).collect());
    s.premises.block = Arc::new(vec![None; yards as usize]);
    s.premises.outline = Arc::new(outlines);
    s.rounds = Arc::new(vec![Round { name: "Round 1".into(), first: date(2025, 7, 1), last: date(2025, 7, 28) }]);
    s.kinds = Arc::new(vec!["bucket".into()]);
    let find = Find {
        kind: KindId(0),
        count: 2,
        wet: 1,
        with_larvae: 0,
        with_pupae: 0,
        pupae: 0,
        stage: None,
        litres: None,
        action: None,
        remains: false,
    };
    let visit = |i: u32| Visit {
        id: format!("V{i:07}").into(),
        premise: PremiseId(i),
        when: When { day: date(2025, 7, 1 + (i % 28) as i8), time: None },
        outcome: Outcome::Inspected,
        round: RoundId(0),
        crew: "North".into(),
        said: None,
        finds: 0..0,
    };
    s.visits = Visits::from_rows(yards as usize, (0..yards).map(|i| (visit(i), vec![find.clone()])).collect());
    s
}

fn entry(day: u32) -> Entry {
    let bucket = FindEntry { container_type: "bucket".into(), count: "2".into(), holds_water: "1".into(), ..FindEntry::default() };
    Entry { date: format!("2025-08-{day:02}"), outcome: "inspected".into(), finds: vec![bucket], ..Entry::default() }
}

fn longest(all: &[Duration]) -> f64 {
    all.iter().max().map_or(0.0, |d| d.as_secs_f64() * 1e3)
}

fn main() {
    let asked: Vec<u32> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let counties = if asked.is_empty() { vec![2_000] } else { asked };
    println!("    yards   change ms   window ms   old ms   line ms   line kB   whole s   whole MB   take in s");
    for yards in counties {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("county.gpkg");
        let (mut survey, mut history) = (county(yards), History::default());
        save(&survey, &path, &Unwatched).expect("it is saved");
        let (stamp, own) = (Stamp::of(&path), folder.path().join("own"));
        let mut keeper = Keeper::new(UnsavedPlace::of_file(&path, &own), 1);
        let (mut change, mut window, mut old, mut line) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for day in 1..=3 {
            let at = Instant::now();
            let edit = Edit::visit(enter(&survey, PremiseId(yards / 2), &entry(day), &Signed::default()).expect("it can be"));
            let made = Made::on(&survey, edit).expect("it fits");
            change.push(at.elapsed());
            let before = survey.clone();
            let at = Instant::now();
            history.take(&mut survey, made, Way::On);
            window.push(at.elapsed());
            let at = Instant::now();
            drop(before);
            old.push(at.elapsed());
            let (steps, words) = (history.take_steps(), history.unsaved_words());
            let at = Instant::now();
            keeper.keep(ToKeep { survey: &survey, stamp, steps: &steps, words: &words, whole: false }, &Unwatched).expect("it is kept");
            line.push(at.elapsed());
        }
        let size = |ending: &str| {
            let files = std::fs::read_dir(folder.path()).expect("the folder").map(|e| e.expect("a file"));
            let kept = files.filter(|e| e.file_name().to_string_lossy().ends_with(ending)).map(|e| e.metadata().expect("its length").len());
            kept.sum::<u64>() as f64
        };
        let lines = size(".unsaved") / 4e3;
        let at = Instant::now();
        keeper.keep(ToKeep { survey: &survey, stamp, steps: &[], words: &[], whole: true }, &Unwatched).expect("it is kept");
        let whole = at.elapsed().as_secs_f64();
        let megabytes = size(".unsaved.gpkg") / 1e6;
        drop(keeper);
        let left = look_for_unsaved(&UnsavedPlace::of_file(&path, &own));
        let at = Instant::now();
        let taken = left.found[0].taken_in(Some(&survey), stamp, &Unwatched).expect("it fits");
        let take = at.elapsed().as_secs_f64();
        assert_eq!(taken.visits.len(), survey.visits.len());
        println!(
            "{yards:>9}   {:>9.0}   {:>9.1}   {:>6.0}   {:>7.1}   {lines:>7.1}   {whole:>7.2}   {megabytes:>8.0}   {take:>9.2}",
            longest(&change),
            longest(&window),
            longest(&old),
            longest(&line)
        );
    }
}
