//! The sample district as an office would have it: brought in once, saved in a folder of its own; and a window to look at it.

use egui_kittest::Harness;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use yardring::action::Action;
use yardring::app::App;
use yardring_core::intake::{self, Request};
use yardring_core::job::Unwatched;
use yardring_core::store;
use yardring_core::survey::Survey;

/// The folder of the invented district.
pub fn sample_data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../sample_data")
}

/// The survey made from it, in a file that all tests of one binary share.
pub fn quillmere() -> (&'static Path, &'static Survey) {
    static MADE: OnceLock<(tempfile::TempDir, PathBuf, Survey)> = OnceLock::new();
    let (_, path, survey) = MADE.get_or_init(|| {
        let of = |name: &str| Some(sample_data().join(name));
        let request = Request {
            parcels: of("parcels.shp"),
            streets: of("streets.geojson"),
            blocks: of("blocks.geojson"),
            visits: of("visits.csv"),
            signals: of("signals.csv"),
            temperatures: of("temperatures.csv"),
            ..Request::default()
        };
        let (survey, _) = intake::bring_in(None, &request, &Unwatched).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("Quillmere.gpkg");
        store::save(&survey, &path, &Unwatched).unwrap();
        (folder, path, survey)
    });
    (path, survey)
}

/// A window of some size in points, drawn by software Vulkan, with a survey open or with none.
pub fn window(size: [f32; 2], survey: Option<&Path>) -> Harness<'static, App> {
    let path = survey.map(Path::to_owned);
    let builder = Harness::builder().with_size(egui::Vec2::from(size)).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, path, None));
    settle(&mut window);
    window
}

/// Lets the window finish what it is at.
pub fn settle(window: &mut Harness<'static, App>) {
    for _ in 0..3 {
        window.state_mut().settle();
        window.run_ok();
    }
}

/// Asks for something and lets the window finish it.
pub fn ask(window: &mut Harness<'static, App>, action: Action) {
    window.state_mut().push(action);
    settle(window);
}
