//! Stopped at any stage, an intake and a saving leave the survey as it was, in memory and on disk.

use crate::office::{quillmere, sample_data};
use std::collections::BTreeSet;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use yardring_core::files::FileError;
use yardring_core::foresee::foresee;
use yardring_core::intake::{IntakeError, Request, bring_in};
use yardring_core::job::{Unwatched, Watch};
use yardring_core::store;
use yardring_core::survey::standings;

/// Notes every stage, and asks to stop at one of them or after so many looks.
#[derive(Default)]
struct Stopper {
    at: Option<String>,
    after: Option<usize>,
    looks: AtomicUsize,
    stop: AtomicBool,
    stages: Mutex<BTreeSet<String>>,
}

impl Watch for Stopper {
    fn progress(&self, stage: &str, _: u64, _: u64) {
        self.stages.lock().unwrap().insert(stage.to_owned());
        if self.at.as_deref() == Some(stage) {
            self.stop.store(true, Ordering::Relaxed);
        }
    }

    fn cancelled(&self) -> bool {
        let looks = self.looks.fetch_add(1, Ordering::Relaxed);
        self.stop.load(Ordering::Relaxed) || self.after.is_some_and(|after| looks >= after)
    }
}

fn everything() -> Request {
    let of = |name: &str| Some(sample_data().join(name));
    Request {
        parcels: of("parcels.shp"),
        streets: of("streets.geojson"),
        visits: of("visits.csv"),
        signals: of("signals.csv"),
        temperatures: of("temperatures.csv"),
        ..Request::default()
    }
}

#[test]
fn an_intake_stopped_at_any_stage_is_no_intake() {
    let (_, survey) = quillmere();
    let before = survey.clone();
    let through = Stopper::default();
    bring_in(Some(survey), &everything(), &through).unwrap();
    let stages = through.stages.into_inner().unwrap();
    assert!(stages.len() > 12, "{stages:?}");
    let looks = through.looks.into_inner();
    let at_stages = stages.into_iter().map(|stage| Stopper { at: Some(stage), ..Stopper::default() });
    let after_looks = (0..12).map(|k| Stopper { after: Some(looks * k / 12), ..Stopper::default() });
    for stopper in at_stages.chain(after_looks) {
        let ended = bring_in(Some(survey), &everything(), &stopper);
        let stopped = matches!(ended, Err(IntakeError::Cancelled(_) | IntakeError::File(FileError::Cancelled(_))));
        assert!(stopped, "{:?} {:?}", stopper.at, stopper.after);
        assert_eq!(*survey, before, "{:?}", stopper.at);
    }
}

#[test]
fn chances_stopped_at_any_stage_are_no_chances() {
    let (_, survey) = quillmere();
    let standings = standings(survey, survey.round(None).unwrap());
    let through = Stopper::default();
    assert!(foresee(survey, &standings, &through).unwrap().refusal.is_none(), "the sample survey has chances");
    let (stages, looks) = (through.stages.into_inner().unwrap(), through.looks.into_inner());
    assert!(stages.len() > 2 && looks > 100, "{stages:?} {looks}");
    let at_stages = stages.into_iter().map(|stage| Stopper { at: Some(stage), ..Stopper::default() });
    let after_looks = (0..8).map(|k| Stopper { after: Some(looks * k / 9), ..Stopper::default() });
    for stopper in at_stages.chain(after_looks) {
        assert!(foresee(survey, &standings, &stopper).is_err(), "{:?} {:?}", stopper.at, stopper.after);
    }
}

#[test]
fn a_saving_stopped_at_any_stage_leaves_the_file_as_it_was() {
    let (_, survey) = quillmere();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.gpkg");
    store::save(survey, &path, &Unwatched).unwrap();
    let bytes = std::fs::read(&path).unwrap();
    let through = Stopper::default();
    store::save(survey, &folder.path().join("other.gpkg"), &through).unwrap();
    let mut changed = survey.clone();
    changed.refused = std::sync::Arc::default();
    for stage in through.stages.into_inner().unwrap() {
        let stopper = Stopper { at: Some(stage), ..Stopper::default() };
        assert!(store::save(&changed, &path, &stopper).is_err(), "{:?}", stopper.at);
        assert!(std::fs::read(&path).unwrap() == bytes, "{:?}", stopper.at);
    }
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left.len(), 2, "nothing half written is left beside it: {left:?}");
}
