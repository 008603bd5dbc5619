//! How long a saved survey takes from the file to the first picture, to sharp outlines, and to its colours. Makes surveys of
//! 20,000, 200,000 and 1,000,000 premises (or of the numbers given as arguments), saves them in a folder of their own, opens
//! each in a window off screen, and prints the times and the memory in use.

mod town;

use egui_kittest::Harness;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;
use yardring::app::App;
use yardring_core::job::Unwatched;
use yardring_core::place::{Frame, LonLat};
use yardring_core::store;
use yardring_core::survey::Survey;

/// The town as a survey: lots with ids and addresses, streets with names, nobody has been anywhere yet.
fn survey(premises: usize) -> Survey {
    let town = town::Town::of(premises);
    let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
    let n = town.lots.len();
    survey.premises.parcel_id = Arc::new((0..n).map(|i| format!("Q{i:07}")).collect());
    survey.premises.address = Arc::new((0..n).map(|i| format!("{} Invented Street {}", i % 200, i / 200)).collect());
    survey.premises.block = Arc::new(vec![None; n]);
    survey.premises.outline = town.lots;
    survey.blocks.block_id = Arc::new((0..town.blocks.len()).map(|i| format!("B{i:06}")).collect());
    survey.blocks.outline = town.blocks;
    survey.streets.name = Arc::new((0..town.streets.len()).map(|i| format!("Invented Street {i}")).collect());
    survey.streets.line = town.streets;
    survey
}

/// Memory in use now and at most so far, in MiB, where the system tells.
fn memory_in_use() -> Option<[u64; 2]> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let of = |name: &str| status.lines().find(|l| l.starts_with(name))?.split_whitespace().nth(1)?.parse::<u64>().ok();
    Some([of("VmRSS:")? / 1024, of("VmHWM:")? / 1024])
}

fn open(path: &Path) {
    let start = Instant::now();
    let since = || start.elapsed().as_secs_f64() * 1e3;
    let survey = path.to_owned();
    let builder = Harness::builder().with_size(egui::vec2(1280.0, 800.0)).with_step_dt(1.0 / 60.0).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, Some(survey), None));
    println!("  window after {:.0} ms", since());
    let seen = |window: &mut Harness<'static, App>, what: &str, there: fn(&App) -> bool| {
        while !there(window.state()) {
            window.step();
            std::thread::yield_now();
        }
        window.step();
        assert!(window.render().is_ok(), "the window was not drawn");
        println!("  {what} after {:.0} ms", since());
    };
    seen(&mut window, "survey read", |app| app.session().open.is_some());
    seen(&mut window, "first picture", |app| app.session().drawn().is_some());
    seen(&mut window, "sharp outlines", |app| app.session().laid.latest().is_some());
    seen(&mut window, "colours", |app| app.session().classes.latest().is_some());
    if let Some([now, most]) = memory_in_use() {
        println!("  memory in use {now} MiB, at most {most} MiB so far");
    }
}

fn main() {
    let given: Vec<usize> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let Ok(folder) = tempfile::tempdir() else { panic!("no folder to save surveys in") };
    for premises in if given.is_empty() { vec![20_000, 200_000, 1_000_000] } else { given } {
        let path = folder.path().join(format!("{premises}.gpkg"));
        let made = survey(premises);
        println!("{} premises", made.premises.len());
        assert!(store::save(&made, &path, &Unwatched).is_ok(), "the survey was not saved");
        drop(made);
        open(&path);
    }
}
