//! How soon long work stops when somebody asks it to:
//! `cargo bench -p yardring-core --bench stopping -- FOLDER [CUTS]`, where FOLDER holds `parcels.shp`, `streets.shp`, `blocks.shp` and
//! `inspections.csv` of a county. Bringing in, saving, opening and working out chances are each run once to the end, then stopped at so
//! many moments spread over that time; the table tells the longest wait between the wish and the answer. A survey that stood there
//! stays as it was.

#![allow(clippy::expect_used, reason = "a bench that cannot go on must stop with a word")]

use std::path::Path;
use std::sync::Mutex;
use std::time::{Duration, Instant};
use yardring_core::foresee::foresee;
use yardring_core::intake::{Request, bring_in};
use yardring_core::job::{Unwatched, Watch};
use yardring_core::store::{self, Parts};
use yardring_core::survey::{RoundId, Survey, standings};

/// Wishes to stop from a moment on, and keeps the stage that was told last.
struct Stopping {
    from: Instant,
    stage: Mutex<String>,
}

impl Stopping {
    fn after(time: Duration) -> Self {
        Self { from: Instant::now() + time, stage: Mutex::new(String::new()) }
    }
}

impl Watch for Stopping {
    fn progress(&self, stage: &str, _done: u64, _total: u64) {
        if let Ok(mut told) = self.stage.lock() {
            stage.clone_into(&mut told);
        }
    }

    fn cancelled(&self) -> bool {
        Instant::now() >= self.from
    }
}

/// Runs work to the end, then stops it at moments spread over that time; the longest wait and the stage that it was in.
fn stopped(name: &str, cuts: u32, work: &dyn Fn(&dyn Watch) -> bool) {
    let began = Instant::now();
    assert!(work(&Unwatched), "{name} ends when nobody stops it");
    let whole = began.elapsed();
    let (mut longest, mut during, mut ended) = (Duration::ZERO, String::new(), 0);
    for cut in 0..cuts {
        let watch = Stopping::after(whole * cut / cuts);
        if work(&watch) {
            ended += 1;
            continue;
        }
        let wait = watch.from.elapsed();
        if wait > longest {
            longest = wait;
            during = watch.stage.into_inner().unwrap_or_default();
        }
    }
    println!("{name:<12} {:>7.2} s   {cuts:>4} {ended:>9}   {:>6.0} ms   {during}", whole.as_secs_f64(), longest.as_secs_f64() * 1e3);
}

fn brought_in(request: &Request, watch: &dyn Watch) -> Option<Survey> {
    bring_in(None, request, watch).ok().map(|(survey, _)| survey)
}

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let Some(folder) = asked.first().map(Path::new).filter(|f| f.join("parcels.shp").exists()) else {
        println!("skipped: name the folder of a county, as in `cargo bench -p yardring-core --bench stopping -- FOLDER`");
        return;
    };
    let cuts = asked.get(1).and_then(|n| n.parse().ok()).unwrap_or(40);
    let file = |name: &str| Some(folder.join(name)).filter(|f| f.exists());
    let request = Request {
        parcels: file("parcels.shp"),
        streets: file("streets.shp"),
        blocks: file("blocks.shp"),
        visits: file("inspections.csv"),
        ..Request::default()
    };
    let scratch = tempfile::tempdir().expect("a folder to write into");
    let kept = scratch.path().join("survey.gpkg");
    let survey = brought_in(&request, &Unwatched).expect("a county that can be brought in");
    store::save(&survey, &kept, &Unwatched).expect("a survey that can be saved");
    let before = std::fs::read(&kept).expect("the survey's file");
    println!("work            whole   cuts  too late   longest wait, in the stage");
    stopped("bring in", cuts, &|watch| brought_in(&request, watch).is_some());
    stopped("save", cuts, &|watch| store::save(&survey, &kept, watch).is_ok());
    assert!(std::fs::read(&kept).expect("the survey's file") == before, "a stopped save left the survey as it was");
    stopped("open", cuts, &|watch| store::load(&kept, Parts::EVERYTHING, watch).is_ok());
    let standings = standings(&survey, RoundId(survey.rounds.len().saturating_sub(1) as u32));
    stopped("chances", cuts, &|watch| foresee(&survey, &standings, watch).is_ok());
    let left = std::fs::read_dir(scratch.path()).expect("the folder").count();
    assert_eq!(left, 1, "nothing half written is left beside the survey");
}
