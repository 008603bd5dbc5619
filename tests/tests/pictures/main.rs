//! Pictures of the window for the README, drawn without a display by software Vulkan.
//! `UPDATE_SCREENSHOTS=1 cargo test --test pictures` writes them anew.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

#[path = "../office.rs"]
mod office;

use egui_kittest::kittest::Queryable as _;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use std::path::{Path, PathBuf};
use yardring::action::Action;
use yardring::session::{ColourBy, Desk};
use yardring_core::survey::PremiseId;

/// Draws the window, looks that it is no blank sheet, and writes it when asked to.
fn picture(window: &mut egui_kittest::Harness<'static, yardring::app::App>, name: &str) {
    let image = window.render().unwrap();
    let mut colours: Vec<[u8; 4]> = image.pixels().map(|p| p.0).collect();
    colours.sort_unstable();
    colours.dedup();
    assert!(colours.len() > 30, "{name} has {} colours", colours.len());
    let readme = std::env::var_os("UPDATE_SCREENSHOTS").map(|_| Path::new(env!("CARGO_MANIFEST_DIR")).join("../screenshots"));
    let extra = std::env::var_os("EXTRA_PICTURES").map(PathBuf::from);
    let folder = if ["intake", "plan", "brief"].contains(&name) { readme } else { extra };
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
    window.get_by_label_contains("3 Settle").click();
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::K);
    office::settle(&mut window);
    window.event(egui::Event::Text("12".to_owned()));
    office::settle(&mut window);
    picture(&mut window, "find");
    let mut window = office::window([683.0, 467.0], Some(path));
    picture(&mut window, "small-plan");
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
    window.get_by_label_contains("2 Reach").click();
    office::settle(&mut window);
    picture(&mut window, "reach");
    office::ask(&mut window, Action::Colour(ColourBy::HouseIndex));
    office::ask(&mut window, Action::GoTo(Desk::Brief));
    picture(&mut window, "brief");
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
    let control = (0..20).map(yardring_core::survey::BlockId).collect();
    office::ask(&mut window, Action::Compare(yardring::session::Compare { from: survey.round(Some("Round 1")), control }));
    turn(&mut window, "4 Change");
    picture(&mut window, "brief-change");
    office::ask(&mut window, Action::GoTo(Desk::Plan));
    turn(&mut window, "3 Gaps");
    turn(&mut window, "7 Call-backs");
    picture(&mut window, "plan-call-backs");
    turn(&mut window, "7 Call-backs");
    turn(&mut window, "8 Water");
    picture(&mut window, "plan-water");
}
