//! The sample district as an office would have it: brought in once, saved in a folder of its own; and a window to look at it.

use egui_kittest::Harness;
use serde_json::json;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use yardring::action::Action;
use yardring::app::App;
use yardring_core::intake::{self, Request};
use yardring_core::job::Unwatched;
use yardring_core::place::{Local, PartView};
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
    window_at(size, 1.0, survey)
}

/// The same with so many pixels to a point, as on a dense screen or with larger text.
pub fn window_at(size: [f32; 2], pixels_per_point: f32, survey: Option<&Path>) -> Harness<'static, App> {
    let path = survey.map(Path::to_owned);
    let builder = Harness::builder().with_size(egui::Vec2::from(size)).with_pixels_per_point(pixels_per_point);
    let builder = builder.with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, path, None));
    settle(&mut window);
    window
}

/// Lets the window finish what it is at, until it rests three times in a row: the far view is coloured on a thread of its own, which may
/// be slow to come.
pub fn settle(window: &mut Harness<'static, App>) {
    let mut rested = 0;
    for _ in 0..60 {
        window.state_mut().settle();
        rested = if window.run_ok().is_some() { rested + 1 } else { 0 };
        if rested == 3 {
            return;
        }
    }
}

/// Whether the window asks for no frame within five seconds of its last one.
#[allow(dead_code, reason = "read by the journeys alone")]
pub fn rests(window: &Harness<'static, App>) -> bool {
    window.output().viewport_output.values().all(|v| v.repaint_delay >= std::time::Duration::from_secs(5))
}

/// Asks for something and lets the window finish it.
pub fn ask(window: &mut Harness<'static, App>, action: Action) {
    window.state_mut().push(action);
    settle(window);
}

/// A visits sheet with columns, dates and words of its own, written into a folder.
pub fn own_sheet(folder: &Path, name: &str, first_id: u32) -> PathBuf {
    let survey = quillmere().1;
    let mut text = "Sheet no,Seen on,Lot,How it went,What it was,Wet,Larvae\n".to_owned();
    for i in 0..6 {
        let parcel = survey.premises.parcel_id.get(i as usize * 7);
        let went = if i % 2 == 0 { "inspected" } else { "Nobody home" };
        let (kind, wet) = if i % 2 == 0 { ("llanta", "si") } else { ("", "") };
        text += &format!("L{},03/0{}/2026,{parcel},{went},{kind},{wet},\n", first_id + i, i + 4);
    }
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path
}

/// The premises of a survey as a county would send them anew, some with another parcel id.
pub fn anew(survey: &Survey, renumbered: &[(usize, &str)]) -> String {
    let feature = |i: usize| {
        let outline = survey.premises.outline.get(i);
        let rings = |part: PartView<'_>| -> Vec<Vec<[f64; 2]>> {
            let closed = |ring: &[Local]| {
                let places = ring.iter().chain(ring.first()).map(|p| survey.frame.lon_lat_from_local(*p));
                places.map(|p| [p.lon, p.lat]).collect()
            };
            part.rings().map(closed).collect()
        };
        let id = renumbered.iter().find(|r| r.0 == i).map_or(survey.premises.parcel_id.get(i), |r| r.1);
        let coordinates: Vec<_> = outline.parts().map(rings).collect();
        json!({"type": "Feature", "properties": {"parcel_id": id, "address": survey.premises.address.get(i)},
            "geometry": {"type": "MultiPolygon", "coordinates": coordinates}})
    };
    let with_outline = (0..survey.premises.len()).filter(|&i| !survey.premises.outline.get(i).is_empty());
    json!({"type": "FeatureCollection", "features": with_outline.map(feature).collect::<Vec<_>>()}).to_string()
}
