//! Pictures of the window for the README, drawn without a display by software Vulkan.
//! `UPDATE_SCREENSHOTS=1 cargo test --test pictures` writes them anew. `colour-vision.png` among them shows printed maps, from left to
//! right: as they are, without the first, the second and the third kind of cone, and on a grey printer.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

mod colour_vision;
#[path = "../office.rs"]
mod office;
mod sizes;

use egui_kittest::kittest::Queryable as _;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use std::path::{Path, PathBuf};
use yardring::action::{Action, MapAction, MatchAction};
use yardring::session::walking::{Change, Crews, WalkAction};
use yardring::session::{ColourBy, Desk};
use yardring_core::intake::WordList;
use yardring_core::job::Unwatched;
use yardring_core::place::{Bounds, LonLat};
use yardring_core::reach::SourceKind;
use yardring_core::store;
use yardring_core::survey::PremiseId;

/// Pictures that are kept with the program: the desks, the map at three distances, the desk by night.
const SHOWN: [&str; 11] =
    ["intake", "plan", "brief", "walks", "columns", "came-in", "settle", "map-streets", "map-yards", "map-near", "dark-plan"];

/// Draws the window, looks that it is no blank sheet, and writes it when asked to.
fn picture(window: &mut egui_kittest::Harness<'static, yardring::app::App>, name: &str) {
    let image = window.render().unwrap();
    let mut colours: Vec<[u8; 4]> = image.pixels().map(|p| p.0).collect();
    colours.sort_unstable();
    colours.dedup();
    assert!(colours.len() > 30, "{name} has {} colours", colours.len());
    let readme = std::env::var_os("UPDATE_SCREENSHOTS").map(|_| Path::new(env!("CARGO_MANIFEST_DIR")).join("../screenshots"));
    let extra = std::env::var_os("EXTRA_PICTURES").map(PathBuf::from);
    let folder = if SHOWN.contains(&name) { readme } else { extra };
    if let Some(folder) = folder {
        std::fs::create_dir_all(&folder).unwrap();
        let file = std::io::BufWriter::new(std::fs::File::create(folder.join(format!("{name}.png"))).unwrap());
        let small = PngEncoder::new_with_quality(file, CompressionType::Best, FilterType::Adaptive);
        image.write_with_encoder(small).unwrap();
    }
}

/// States that the README does not show. `EXTRA_PICTURES=folder` writes them for people to look at.
#[test]
fn other_states_of_the_window() {
    let mut window = office::window([1280.0, 800.0], None);
    picture(&mut window, "welcome");
    let names = ["parcels.shp", "streets.geojson", "visits.csv"];
    office::ask(&mut window, Action::Offer(names.iter().map(|n| office::sample_data().join(n)).collect()));
    picture(&mut window, "offered");
    let (path, _) = office::quillmere();
    let mut window = office::window([1280.0, 800.0], Some(path));
    office::ask(&mut window, Action::Darken);
    picture(&mut window, "dark-plan");
    office::ask(&mut window, Action::GoTo(Desk::Brief));
    window.get_by_label_contains("2 Blocks").click();
    office::settle(&mut window);
    picture(&mut window, "dark-brief");
    office::ask(&mut window, Action::Darken);
    office::ask(&mut window, Action::GoTo(Desk::Intake));
    window.get_by_label_contains("4 Settle").click();
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::K);
    office::settle(&mut window);
    window.event(egui::Event::Text("12".to_owned()));
    office::settle(&mut window);
    picture(&mut window, "find");
    let mut window = office::window([683.0, 467.0], Some(path));
    picture(&mut window, "small-plan");
}

/// The plan desk with the walks of a day, a change being weighed, by night, and small.
#[test]
fn the_walks_of_a_day() {
    let (path, survey) = office::quillmere();
    let mut window = office::window([1280.0, 800.0], Some(path));
    window.get_by_label_contains("6 Crews").click_accesskit();
    office::settle(&mut window);
    picture(&mut window, "crews");
    let mut crews = Crews { effort: 0.2, ..Crews::default() };
    crews.resize(4);
    let at = survey.frame.local_from_lon_lat(LonLat { lon: -88.3020, lat: 29.3985 });
    for action in [WalkAction::Crews(crews), WalkAction::MeetAt(at)] {
        office::ask(&mut window, Action::Walks(action));
    }
    window.get_by_label_contains("7 Walks").click_accesskit();
    office::settle(&mut window);
    picture(&mut window, "walks-not-planned");
    office::ask(&mut window, Action::Walks(WalkAction::Plan));
    let day = window.state().session().walking.day.clone().unwrap();
    let extent = day.walks.iter().fold(Bounds::EMPTY, |all, w| all.union(Bounds::of(&w.path)));
    office::ask(&mut window, Action::ShowPlace(extent.centre()));
    office::ask(&mut window, Action::Choose(None::<PremiseId>));
    picture(&mut window, "walks");
    let door = day.walks[0].doors[2].premise;
    office::ask(&mut window, Action::ShowPremise(door));
    office::ask(&mut window, Action::Walks(WalkAction::Weigh(Change::HandOver(door, 1))));
    picture(&mut window, "walks-weighed");
    office::ask(&mut window, Action::Darken);
    picture(&mut window, "walks-dark");
    office::ask(&mut window, Action::Darken);
    office::ask(&mut window, Action::Walks(WalkAction::DoIt));
    let folder = tempfile::tempdir().unwrap();
    office::ask(&mut window, Action::Walks(WalkAction::Print(folder.path().to_owned(), None)));
    window.get_by_label_contains("8 Sheets").click_accesskit();
    office::settle(&mut window);
    picture(&mut window, "sheets");
    if let Some(extra) = std::env::var_os("EXTRA_PICTURES") {
        for file in std::fs::read_dir(folder.path()).unwrap() {
            let file = file.unwrap();
            std::fs::copy(file.path(), Path::new(&extra).join(file.file_name())).unwrap();
        }
    }
}

/// The analyst's morning: columns to match, what a newer parcel file changed, what is left to settle.
#[test]
fn the_intake_desk_at_work() {
    let (_, survey) = office::quillmere();
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("Quillmere.gpkg");
    store::save(survey, &own, &Unwatched).unwrap();
    let mut window = office::window([1280.0, 800.0], Some(&own));
    office::ask(&mut window, Action::Offer(vec![office::own_sheet(folder.path(), "july.csv", 1)]));
    office::ask(&mut window, Action::Match(MatchAction::Column(0, "outcome", Some("How it went".to_owned()))));
    office::ask(&mut window, Action::Match(MatchAction::Word(0, WordList::YesNo, "si".to_owned(), "yes".to_owned())));
    picture(&mut window, "columns");
    office::ask(&mut window, Action::Withdraw(0));
    let visited = |i: &usize| !survey.visits.at(PremiseId(*i as u32)).is_empty();
    let rows: Vec<usize> = (0..survey.premises.len()).filter(visited).take(3).collect();
    let newer = folder.path().join("parcels-2026.geojson");
    std::fs::write(&newer, office::anew(survey, &[(rows[0], "QM-20001"), (rows[1], "QM-20002"), (rows[2], "QM-20003")])).unwrap();
    office::ask(&mut window, Action::Offer(vec![newer]));
    office::ask(&mut window, Action::BringIn);
    picture(&mut window, "came-in");
    let address = survey.premises.address.get(rows[0]);
    let calls = folder.path().join("calls.csv");
    let letter = address.find(' ').unwrap() + 3;
    let slip = format!("{}{} Unit 77", &address[..letter], &address[letter + 1..]);
    std::fs::write(&calls, format!("signal_id,date,address,kind\nC1,2025-07-20,{slip},complaint\n")).unwrap();
    office::ask(&mut window, Action::Offer(vec![calls]));
    office::ask(&mut window, Action::BringIn);
    window.get_by(|n| n.label().is_some_and(|l| l.starts_with("4 Settle"))).click_accesskit();
    office::settle(&mut window);
    let lines = window.get_all_by(|n| n.role() == egui::accesskit::Role::ListItem && n.label().is_some_and(|l| l.contains(", row ")));
    lines.into_iter().next().unwrap().click();
    office::settle(&mut window);
    picture(&mut window, "settle");
}

#[test]
fn each_desk_with_the_sample_district() {
    let (path, _) = office::quillmere();
    let mut window = office::window([1280.0, 800.0], Some(path));
    office::ask(&mut window, Action::GoTo(Desk::Intake));
    picture(&mut window, "intake");
    office::ask(&mut window, Action::GoTo(Desk::Plan));
    let first = window.state().session().reach.latest().unwrap().gaps[0].premise;
    office::ask(&mut window, Action::ShowPremise(first));
    picture(&mut window, "plan");
    office::ask(&mut window, Action::Choose(None::<PremiseId>));
    office::ask(&mut window, Action::ShowAll);
    picture(&mut window, "whole-plan");
    window.get_by_label_contains("1 Sources").click();
    office::settle(&mut window);
    picture(&mut window, "sources");
    office::ask(&mut window, Action::Sources(SourceKind::Cases));
    picture(&mut window, "cases");
    office::ask(&mut window, Action::Sources(SourceKind::Positives));
    window.get_by_label_contains("2 Reach").click();
    office::settle(&mut window);
    picture(&mut window, "reach");
    office::ask(&mut window, Action::Colour(ColourBy::HouseIndex));
    office::ask(&mut window, Action::GoTo(Desk::Brief));
    picture(&mut window, "brief");
}

/// The map's own states, by day and by night: `EXTRA_PICTURES=folder` writes them.
#[test]
fn the_map_from_far_and_near_with_its_menu() {
    let (path, survey) = office::quillmere();
    let mut window = office::window([1280.0, 800.0], Some(path));
    picture(&mut window, "map-whole");
    let middle = survey.premises.outline.extent().centre();
    for (zoom, name) in [(17.0, "map-streets"), (18.6, "map-yards"), (19.5, "map-near")] {
        let view = yardring_core::survey::SavedView { name: name.into(), place: survey.frame.lon_lat_from_local(middle), zoom };
        let mut shown = yardring_core::survey::Survey::clone(survey);
        std::sync::Arc::make_mut(&mut shown.settings).insert(view.setting().into(), view.to_string().into());
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("Quillmere.gpkg");
        store::save(&shown, &path, &Unwatched).unwrap();
        let mut window = office::window([1280.0, 800.0], Some(&path));
        office::ask(&mut window, Action::Map(MapAction::ShowView(name.to_owned())));
        picture(&mut window, name);
        if zoom == 17.0 {
            window.get_by_label("Views, ground, measure").click();
            office::settle(&mut window);
            picture(&mut window, "map-menu");
            office::ask(&mut window, Action::Darken);
            window.key_press(egui::Key::Escape);
            office::ask(&mut window, Action::Map(MapAction::Measure));
            for (x, y) in [(-120.0, 0.0), (80.0, 20.0), (90.0, 120.0)] {
                office::ask(
                    &mut window,
                    Action::Map(MapAction::MeasureTo(yardring_core::place::Local { x: middle.x + x, y: middle.y + y })),
                );
            }
            picture(&mut window, "map-measure-dark");
        }
    }
}

/// Pictures of real ground under an invented survey, where the file lies beside the checkout.
#[test]
fn real_ground_under_a_few_invented_yards() {
    use yardring_core::place::{Frame, Local, LonLat, Shapes};
    let tiles = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/basemap/usgs-mt-whitney-8-15-webp-512.pmtiles");
    if !tiles.exists() {
        println!("passed over: usgs-mt-whitney-8-15-webp-512.pmtiles is not beside the checkout");
        return;
    }
    let mut survey = yardring_core::survey::Survey::empty(Frame::centred_on(LonLat { lon: -118.29, lat: 36.578 }));
    let mut outlines = Shapes::default();
    for k in 0..12 {
        let (x, y) = (f64::from(k % 4) * 60.0, f64::from(k / 4) * 80.0);
        let corners = [(x, y), (x + 50.0, y), (x + 50.0, y + 70.0), (x, y + 70.0)];
        outlines.push_ring(&corners.map(|(x, y)| Local { x, y }));
        outlines.end_part();
        outlines.end_shape();
    }
    survey.premises.parcel_id = std::sync::Arc::new((0..12).map(|i| format!("Q{i}")).collect());
    survey.premises.address = std::sync::Arc::new((0..12).map(|i| format!("{} Kettle Lane", 2 * i + 1)).collect());
    survey.premises.block = std::sync::Arc::new(vec![None; 12]);
    survey.premises.outline = std::sync::Arc::new(outlines);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("Highcroft.gpkg");
    store::save(&survey, &path, &Unwatched).unwrap();
    let mut window = office::window([1280.0, 800.0], Some(&path));
    let colours = |window: &mut egui_kittest::Harness<'static, yardring::app::App>| {
        let picture = window.render().unwrap();
        let map = picture.enumerate_pixels().filter(|(x, y, _)| *x < 600 && (200..400).contains(y)).map(|(_, _, p)| p.0);
        map.collect::<std::collections::BTreeSet<_>>().len()
    };
    let before = colours(&mut window);
    office::ask(&mut window, Action::Map(MapAction::LayGround(tiles)));
    assert!(colours(&mut window) > before + 1_000, "no picture of the ground is seen");
    picture(&mut window, "map-ground");
    for _ in 0..2 {
        window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::Home);
        window.get_by_label("Map").focus();
        window.run_ok();
        window.key_press(egui::Key::Minus);
        office::settle(&mut window);
        window.key_press(egui::Key::Minus);
        office::settle(&mut window);
    }
    picture(&mut window, "map-ground-far");
}

/// The manager's measures and the planner's call-backs.
#[test]
fn measures_and_call_backs() {
    let (path, survey) = office::quillmere();
    let mut window = office::window([1280.0, 1400.0], Some(path));
    office::ask(&mut window, Action::GoTo(Desk::Brief));
    let turn = |window: &mut egui_kittest::Harness<'static, yardring::app::App>, step: &str| {
        window.get_by_label_contains(step).click();
        office::settle(window);
    };
    turn(&mut window, "1 Measure");
    turn(&mut window, "2 Blocks");
    window.get_by(|n| n.role() == egui::accesskit::Role::ListItem && n.label().is_some_and(|l| l.starts_with("Block G16"))).click();
    office::settle(&mut window);
    picture(&mut window, "brief-block");
    office::ask(&mut window, Action::Colour(ColourBy::HotSpots));
    turn(&mut window, "2 Blocks");
    turn(&mut window, "3 Containers");
    window.get_by(|n| n.role() == egui::accesskit::Role::ListItem && n.label().is_some_and(|l| l.starts_with("bird bath: tip"))).click();
    office::settle(&mut window);
    picture(&mut window, "brief-containers");
    turn(&mut window, "3 Containers");
    office::ask(&mut window, Action::Colour(ColourBy::Clusters));
    let beside = yardring_core::measure::Beside::Control((0..20).map(yardring_core::survey::BlockId).collect());
    office::ask(&mut window, Action::Compare(yardring::session::Compare { from: survey.round(Some("Round 1")), beside }));
    turn(&mut window, "4 Change");
    picture(&mut window, "brief-change");
    office::ask(&mut window, Action::GoTo(Desk::Plan));
    turn(&mut window, "3 Gaps");
    turn(&mut window, "5 Call-backs");
    picture(&mut window, "plan-call-backs");
    turn(&mut window, "5 Call-backs");
    turn(&mut window, "9 Water");
    picture(&mut window, "plan-water");
}

/// The form for a visit: empty, filled in with something that cannot be, by night; and what a window that broke off left behind.
#[test]
fn a_visit_written_down() {
    use yardring::session::RecordAction;
    let (path, survey) = office::quillmere();
    for size in [[1280.0, 800.0], [1920.0, 1080.0]] {
        let mut window = office::window(size, Some(path));
        let visited = survey.visits.rows().iter().find(|v| v.finds.len() > 1).unwrap();
        office::ask(&mut window, Action::ShowPremise(visited.premise));
        picture(&mut window, &format!("record-card-{}", size[0]));
        office::ask(&mut window, Action::Record(RecordAction::Begin(visited.premise)));
        picture(&mut window, &format!("record-new-{}", size[0]));
        window.get_by_label("no answer").click_accesskit();
        office::settle(&mut window);
        picture(&mut window, &format!("record-no-answer-{}", size[0]));
        office::ask(&mut window, Action::Record(RecordAction::Leave));
        office::ask(&mut window, Action::Record(RecordAction::Correct(visited.premise, visited.id.clone())));
        let wet = window.get_by_role_and_label(egui::accesskit::Role::TextInput, "How many held water, find 1");
        wet.focus();
        office::settle(&mut window);
        window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
        window.event(egui::Event::Text("9".to_owned()));
        office::settle(&mut window);
        picture(&mut window, &format!("record-correct-{}", size[0]));
        window.get_by_label("Add another kind").click_accesskit();
        office::settle(&mut window);
        picture(&mut window, &format!("record-kinds-{}", size[0]));
        office::ask(&mut window, Action::Darken);
        picture(&mut window, &format!("record-dark-{}", size[0]));
    }
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("Quillmere.gpkg");
    store::save(survey, &own, &Unwatched).unwrap();
    let remembering = || {
        let (path, settings) = (Some(own.clone()), Some(folder.path().join("own/settings.toml")));
        let builder =
            egui_kittest::Harness::builder().with_size(egui::vec2(1280.0, 800.0)).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
        let mut window = builder.build_eframe(|creation| yardring::app::App::new(creation, path, settings));
        office::settle(&mut window);
        window
    };
    let mut first = remembering();
    office::ask(&mut first, Action::Rule(Box::new(store::Edit::rename("Mill quarter"))));
    drop(first);
    picture(&mut remembering(), "left-behind");
}
