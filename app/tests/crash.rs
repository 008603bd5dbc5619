//! The program killed in the middle of the work: what was not saved is still there.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

use egui_kittest::Harness;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use yardring::action::Action;
use yardring::app::App;
use yardring::session::RecordAction;
use yardring_core::intake::record::{Entry, FindEntry, Signed, enter};
use yardring_core::intake::{self, Request};
use yardring_core::job::Unwatched;
use yardring_core::store::{self, Edit, Parts};
use yardring_core::survey::{PremiseId, Survey};

/// Names the survey that a second process opens and works on until it is killed.
const SURVEY: &str = "YARDRING_CRASH_SURVEY";

/// Changes before the process would end by itself.
const MOST: u32 = 40;

fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

fn recover(survey: &Path, more: &[&str]) -> serde_json::Value {
    let mut program = Command::new(env!("CARGO_BIN_EXE_yardring"));
    let config = survey.parent().unwrap().join("config");
    program.args(["recover", survey.to_str().unwrap(), "--json"]).args(more).env("XDG_CONFIG_HOME", config).env_remove("DISPLAY");
    let ended = program.output().unwrap();
    assert_eq!(ended.status.code(), Some(0), "{}", String::from_utf8_lossy(&ended.stderr));
    serde_json::from_slice(&ended.stdout).unwrap()
}

fn entry(i: u32) -> Entry {
    let bucket =
        FindEntry { container_type: format!("kind {}", i % 3), count: "2".into(), holds_water: "1".into(), ..FindEntry::default() };
    let (date, outcome) = (format!("2025-08-{:02}", 1 + i % 28), "inspected".to_owned());
    Entry { date, outcome, round: "After the storm".into(), finds: vec![bucket], ..Entry::default() }
}

/// The office's files, and a survey made of the parcels and visits.
fn office(folder: &Path) -> PathBuf {
    let of = |name: &str| Some(workspace().join("sample_data").join(name));
    let request = Request { parcels: of("parcels.shp"), visits: of("visits.csv"), ..Request::default() };
    let (survey, _) = intake::bring_in(None, &request, &Unwatched).unwrap();
    let path = folder.join("Quillmere.gpkg");
    store::save(&survey, &path, &Unwatched).unwrap();
    path
}

fn load(path: &Path) -> Survey {
    store::load(path, Parts::EVERYTHING, &Unwatched).unwrap()
}

fn window(survey: &Path) -> Harness<'static, App> {
    let (path, settings) = (Some(survey.to_owned()), Some(survey.parent().unwrap().join("config/yardring/settings.toml")));
    let builder = Harness::builder().with_size(egui::vec2(900.0, 700.0)).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, path, settings));
    window.state_mut().settle();
    window
}

fn ask(window: &mut Harness<'static, App>, action: Action) {
    window.state_mut().push(action);
    window.state_mut().settle();
}

/// Works without end, and tells of each change once it is kept. Files are brought in at the fourth.
fn work(window: &mut Harness<'static, App>, signals: &Path, mut tell: impl FnMut(u32)) {
    for i in 0..MOST {
        if i == 3 {
            ask(window, Action::Offer(vec![signals.to_owned()]));
            ask(window, Action::BringIn);
        } else {
            ask(window, Action::Record(RecordAction::Begin(PremiseId(i * 5))));
            ask(window, Action::Record(RecordAction::Keep(Box::new(entry(i)), false)));
        }
        tell(i);
    }
}

/// The survey as it is after so many changes, without any crash.
fn without_crash(path: &Path, changes: u32, signals: &Path) -> Survey {
    let mut survey = load(path);
    for i in 0..changes {
        if i == 3 {
            let request = Request { signals: Some(signals.to_owned()), ..Request::default() };
            survey = intake::bring_in(Some(&survey), &request, &Unwatched).unwrap().0;
        } else {
            let change = enter(&survey, PremiseId(i * 5), &entry(i), &Signed::default()).unwrap();
            store::apply(&mut survey, Edit::visit(change)).unwrap();
        }
    }
    survey
}

fn same_work(a: &Survey, b: &Survey) -> bool {
    (&a.visits, &a.rounds, &a.kinds, &a.signals) == (&b.visits, &b.rounds, &b.kinds, &b.signals)
}

/// Killed at several moments, each between two changes or in the middle of one: what was told as kept is there, whole changes only.
#[test]
fn a_killed_program_loses_nothing_that_was_kept() {
    if let Some(survey) = std::env::var_os(SURVEY).map(PathBuf::from) {
        // The second process: it works until it is killed.
        let mut out = std::io::stdout();
        work(&mut window(&survey), &workspace().join("sample_data/signals.csv"), |i| {
            writeln!(out, "kept {i}").unwrap();
            out.flush().unwrap();
        });
        return;
    }
    let signals = workspace().join("sample_data/signals.csv");
    for wait_for in [0, 1, 3, 4, 6] {
        let folder = tempfile::tempdir().unwrap();
        let survey = office(folder.path());
        let before = load(&survey);
        let this = std::env::current_exe().unwrap();
        let mut second = Command::new(this)
            .args(["--exact", "a_killed_program_loses_nothing_that_was_kept", "--nocapture"])
            .env(SURVEY, &survey)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let lines = BufReader::new(second.stdout.take().unwrap()).lines().map(Result::unwrap);
        let told = lines.filter_map(|l| l.rsplit_once("kept ")?.1.parse::<u32>().ok()).find(|n| *n == wait_for);
        second.kill().unwrap();
        second.wait().unwrap();
        assert_eq!(told, Some(wait_for), "the second process works");
        assert_eq!(load(&survey).visits, before.visits, "the survey's own file is as it was");
        let found = recover(&survey, &[]);
        assert_eq!((found["found"].as_array().unwrap().len(), &found["open_elsewhere"]), (1, &serde_json::json!(0)), "{found}");
        let expected: Vec<Survey> = (wait_for + 1..=wait_for + 6).map(|n| without_crash(&survey, n, &signals)).collect();
        recover(&survey, &["--take"]);
        let after = load(&survey);
        assert!(expected.iter().any(|e| same_work(e, &after)), "after {wait_for}: {} visits", after.visits.len());
        let hidden = |e: &std::fs::DirEntry| e.file_name().to_string_lossy().contains("unsaved");
        let left = std::fs::read_dir(folder.path()).unwrap().map(Result::unwrap).filter(hidden).count();
        assert_eq!((left, recover(&survey, &[])["found"].as_array().unwrap().len()), (0, 0));
    }
}

#[test]
fn a_window_that_is_open_keeps_its_changes_to_itself_and_closing_without_saving_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let survey = office(folder.path());
    let mut open = window(&survey);
    ask(&mut open, Action::Record(RecordAction::Begin(PremiseId(0))));
    ask(&mut open, Action::Record(RecordAction::Keep(Box::new(entry(0)), false)));
    let told = recover(&survey, &[]);
    assert_eq!((told["found"].as_array().unwrap().len(), &told["open_elsewhere"]), (0, &serde_json::json!(1)), "{told}");
    let refused = Command::new(env!("CARGO_BIN_EXE_yardring")).args(["recover", survey.to_str().unwrap(), "--take"]).output().unwrap();
    assert_eq!(refused.status.code(), Some(1));
    ask(&mut open, Action::Close);
    assert!(open.state().session().leaving.is_some());
    ask(&mut open, Action::CloseAnyway);
    let told = recover(&survey, &[]);
    assert_eq!((told["found"].as_array().unwrap().len(), &told["open_elsewhere"]), (0, &serde_json::json!(0)), "{told}");
}

/// An entry is whole in the file or not in it at all, whenever the program that makes it is killed.
#[test]
fn a_killed_command_leaves_the_survey_as_it_was_or_as_it_is_to_be() {
    let folder = tempfile::tempdir().unwrap();
    let survey = office(folder.path());
    let before = load(&survey).visits.len();
    let parcel = load(&survey).premises.parcel_id.get(11).to_owned();
    let mut seen = 0;
    for day in 1..=6 {
        let on = format!("2025-09-{day:02}");
        let arguments = ["record", survey.to_str().unwrap(), "--parcel", &parcel, "--on", &on, "--outcome", "no answer"];
        let mut command = Command::new(env!("CARGO_BIN_EXE_yardring")).args(arguments).stdout(Stdio::piped()).spawn().unwrap();
        if day % 2 == 0 {
            command.wait().unwrap();
            seen += 1;
        } else {
            command.kill().unwrap();
            command.wait().unwrap();
        }
        let now = load(&survey).visits.len();
        assert!(now >= before + seen && now <= before + day as usize, "{now} visits");
        seen = now - before;
    }
    assert!(seen >= 3);
}
