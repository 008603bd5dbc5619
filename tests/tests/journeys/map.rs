//! The map itself: back and forward, views under a name, distances, places, text sizes; by hand and by keyboard.

use crate::office::{ask, quillmere, settle, window};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Pos2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use yardring::action::Action;
use yardring::app::App;
use yardring::map::{CountyGrid, points_per_metre};
use yardring::session::{ColourBy, Desk};
use yardring_core::job::Unwatched;
use yardring_core::place::{Crs, Local};
use yardring_core::store;
use yardring_core::survey::{PremiseId, settings};

const SIZE: [f32; 2] = [1280.0, 800.0];

fn says(window: &Harness<'static, App>, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
}

fn press(window: &mut Harness<'static, App>, modifiers: Modifiers, key: Key) {
    window.key_press_modifiers(modifiers, key);
    settle(window);
}

fn click(window: &mut Harness<'static, App>, pos: Pos2) {
    for pressed in [true, false] {
        window.event(Event::PointerMoved(pos));
        window.event(Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE });
        window.step();
    }
    settle(window);
}

fn middle(window: &Harness<'static, App>) -> (Local, f64) {
    let look = window.state().session().trail.now().unwrap();
    (look.centre, look.zoom)
}

fn near((a, zoom_a): (Local, f64), (b, zoom_b): (Local, f64)) -> bool {
    a.distance(b) * points_per_metre(zoom_a) < 1.0 && (zoom_a - zoom_b).abs() < 1e-6
}

#[test]
fn the_keyboard_goes_back_and_forward_through_views() {
    let mut window = window(SIZE, Some(quillmere().0));
    let whole = middle(&window);
    assert!(window.state().session().trail.before().is_none());
    let yard = window.state().session().reach.latest().unwrap().gaps[0].premise;
    ask(&mut window, Action::ShowPremise(yard));
    let there = middle(&window);
    assert!(there.1 > whole.1 + 1.0);
    press(&mut window, Modifiers::ALT, Key::ArrowLeft);
    assert!(near(middle(&window), whole));
    press(&mut window, Modifiers::ALT, Key::ArrowLeft);
    assert!(near(middle(&window), whole), "before the first view there is none");
    press(&mut window, Modifiers::ALT, Key::ArrowRight);
    assert!(near(middle(&window), there));
    press(&mut window, Modifiers::COMMAND, Key::Home);
    assert!(near(middle(&window), whole));
}

/// The yards under some points of the screen, each chosen with a click and let go of.
fn under(window: &mut Harness<'static, App>) -> Vec<Option<PremiseId>> {
    let at = |x: f32, y: f32| Pos2::new(x, y);
    let points = [at(200.0, 260.0), at(330.0, 300.0), at(480.0, 330.0)];
    points
        .map(|pos| {
            click(window, pos);
            let chosen = window.state().session().chosen;
            ask(window, Action::Choose(None));
            chosen
        })
        .to_vec()
}

#[test]
fn the_ground_stays_where_it_is_when_measure_legend_and_worksheet_change() {
    let mut window = window(SIZE, Some(quillmere().0));
    let before = under(&mut window);
    assert!(before.iter().flatten().count() > 1, "some points lie in yards: {before:?}");
    ask(&mut window, Action::GoTo(Desk::Brief));
    let look = middle(&window);
    for colour in ColourBy::ALL {
        ask(&mut window, Action::Colour(colour));
        assert_eq!(middle(&window), look, "{colour:?}");
    }
    assert_eq!(under(&mut window), before, "another desk and another measure");
    ask(&mut window, Action::FoldWorksheet);
    assert_eq!(under(&mut window), before, "the worksheet is folded away");
    ask(&mut window, Action::FoldWorksheet);
    window.get_by_label("Fold").click();
    settle(&mut window);
    ask(&mut window, Action::Colour(ColourBy::HouseIndex));
    assert_eq!(under(&mut window), before, "the legend is folded away");
    window.get_by_label("Legend").click();
    settle(&mut window);
    assert_eq!(under(&mut window), before, "and out again");
    // A larger window shows the whole district larger, as long as nobody has moved the map.
    ask(&mut window, Action::ShowAll);
    let small = middle(&window).1;
    window.set_size(egui::vec2(1700.0, 1050.0));
    settle(&mut window);
    assert!(middle(&window).1 > small + 0.2, "{small} and {}", middle(&window).1);
}

#[test]
fn a_view_is_kept_in_the_survey_and_undo_forgets_it() {
    let mut window = window(SIZE, Some(quillmere().0));
    let yard = window.state().session().reach.latest().unwrap().gaps[0].premise;
    ask(&mut window, Action::ShowPremise(yard));
    let there = middle(&window);
    window.get_by_label("Views, ground, measure").click();
    settle(&mut window);
    window.get_by_role_and_label(Role::TextInput, "Name for this view").focus();
    window.run_ok();
    window.event(Event::Text("Mill quarter".to_owned()));
    settle(&mut window);
    window.get_by_label("Save view").click();
    settle(&mut window);
    let laid = window.state().session().laid.latest().unwrap().clone();
    let open = window.state().session().open.as_ref().unwrap();
    assert_eq!(open.survey.views().len(), 1);
    assert_eq!(open.history.undo_words().unwrap(), "Change the view \u{201c}Mill quarter\u{201d}");
    assert!(open.unsaved() && window.state().session().chosen == Some(yard), "the chosen yard stays chosen");
    // It is in the file after saving, and the file opens with it.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kept.gpkg");
    ask(&mut window, Action::SaveAs(path.clone()));
    let back = store::load(&path, store::Parts::EVERYTHING, &Unwatched).unwrap();
    assert_eq!(back.views(), window.state().session().open.as_ref().unwrap().survey.views());
    ask(&mut window, Action::ShowAll);
    window.get_by_label("Views, ground, measure").click();
    settle(&mut window);
    window.get_by_label("Mill quarter").click();
    settle(&mut window);
    assert!(near(middle(&window), there));
    assert!(std::sync::Arc::ptr_eq(&laid, window.state().session().laid.latest().unwrap()), "nothing was drawn anew for it");
    ask(&mut window, Action::Undo);
    assert!(window.state().session().open.as_ref().unwrap().survey.views().is_empty());
    ask(&mut window, Action::Redo);
    assert_eq!(window.state().session().open.as_ref().unwrap().survey.views().len(), 1);
}

#[test]
fn distances_are_measured_with_the_pointer() {
    let mut window = window(SIZE, Some(quillmere().0));
    press(&mut window, Modifiers::COMMAND, Key::M);
    assert!(says(&window, "Click where the way begins"));
    let map = window.get_by_label("Map").rect();
    let scale = points_per_metre(middle(&window).1);
    let start = map.center() - egui::vec2(60.0, 0.0);
    click(&mut window, start);
    click(&mut window, start + egui::vec2(120.0, 0.0));
    let metres = 120.0 / scale;
    // Near the middle of the district the frame is true to scale.
    let told = yardring::ui::words::distance(metres);
    assert!(says(&window, &told), "{told}");
    click(&mut window, start + egui::vec2(120.0, 90.0));
    let told = yardring::ui::words::distance(metres * 1.75);
    assert!(says(&window, &told) && says(&window, "2 legs"), "{told}");
    assert_eq!(window.state().session().chosen, None, "measuring chooses no yard");
    window.get_by_label("Take back the last point").click();
    settle(&mut window);
    assert!(says(&window, &yardring::ui::words::distance(metres)));
    press(&mut window, Modifiers::NONE, Key::Escape);
    assert!(window.state().session().stretch.is_none() && !says(&window, "Click where"));
}

#[test]
fn distances_are_measured_with_the_keyboard() {
    let mut window = window(SIZE, Some(quillmere().0));
    window.get_by_label("Map").focus();
    settle(&mut window);
    press(&mut window, Modifiers::COMMAND, Key::M);
    press(&mut window, Modifiers::NONE, Key::Enter);
    press(&mut window, Modifiers::NONE, Key::ArrowRight);
    press(&mut window, Modifiers::NONE, Key::Enter);
    let metres = 80.0 / points_per_metre(middle(&window).1);
    assert!(says(&window, &yardring::ui::words::distance(metres)));
}

#[test]
fn a_place_typed_as_two_numbers_is_gone_to() {
    let mut window = window(SIZE, Some(quillmere().0));
    let frame = quillmere().1.frame;
    let wanted = frame.lon_lat_from_local(Local { x: 150.0, y: -80.0 });
    // The county's own numbers, as the map's foot writes them to a whole foot.
    let crs = Crs::from_definition(&quillmere().1.settings[settings::COUNTY_CRS]);
    let foot = CountyGrid::new(&frame, &crs).unwrap().words(Local { x: 150.0, y: -80.0 });
    let county = foot.rsplit_once(", ").unwrap().0.to_owned();
    assert!(county.ends_with(" N ft"), "{county}");
    for text in [
        format!("{:.6}, {:.6}", wanted.lat, wanted.lon),
        format!("{:.6}, {:.6}", wanted.lon, wanted.lat),
        yardring::map::degrees(wanted),
        county,
    ] {
        ask(&mut window, Action::ShowAll);
        press(&mut window, Modifiers::COMMAND, Key::K);
        window.event(Event::Text(text.clone()));
        settle(&mut window);
        assert!(says(&window, "Go to this place"), "{text}");
        press(&mut window, Modifiers::NONE, Key::Enter);
        let there = frame.lon_lat_from_local(middle(&window).0);
        assert!((there.lon - wanted.lon).abs() < 1e-5 && (there.lat - wanted.lat).abs() < 1e-5, "{text}: {there:?}");
    }
}

#[test]
fn text_grows_and_shrinks_by_keys_and_everything_still_fits() {
    let mut window = window([1024.0, 700.0], Some(quillmere().0));
    let sizes = |window: &Harness<'static, App>| window.ctx.zoom_factor();
    for wanted in [1.1, 1.25, 1.5] {
        press(&mut window, Modifiers::COMMAND, Key::Plus);
        assert_eq!(sizes(&window), wanted);
    }
    let screen = window.ctx.content_rect().expand(0.5);
    for label in ["Intake", "Plan", "Brief", "Find", "Map", "Views, ground, measure"] {
        let rect = window.get_all_by_label(label).next().unwrap().rect();
        // The window's rectangles are in pixels here, the screen's in points.
        assert!(screen.scale_from_center(1.5).width() >= rect.width() && rect.min.x >= -0.5, "{label} lies at {rect:?} of {screen:?}");
    }
    press(&mut window, Modifiers::COMMAND, Key::Minus);
    assert_eq!(sizes(&window), 1.25);
    press(&mut window, Modifiers::COMMAND, Key::Num0);
    assert_eq!(sizes(&window), 1.0);
    for _ in 0..4 {
        press(&mut window, Modifiers::COMMAND, Key::Minus);
    }
    assert_eq!(sizes(&window), 0.8);
}

#[test]
fn tab_reaches_the_map_and_its_menu_and_the_map_shows_that_it_has_the_keyboard() {
    let mut window = window(SIZE, Some(quillmere().0));
    let mut seen = Vec::new();
    for _ in 0..60 {
        press(&mut window, Modifiers::NONE, Key::Tab);
        let node = window.query_all_by(|n| n.is_focused()).next();
        seen.push(node.and_then(|n| n.accesskit_node().label()).unwrap_or_default());
        if seen.iter().any(|s| s == "Map") && seen.iter().any(|s| s == "Views, ground, measure") {
            break;
        }
    }
    assert!(seen.iter().any(|s| s == "Map") && seen.iter().any(|s| s == "Views, ground, measure"), "{seen:?}");
    let without = window.render().unwrap();
    window.get_by_label("Map").focus();
    settle(&mut window);
    let rect = window.get_by_label("Map").rect();
    let with = window.render().unwrap();
    let edge = (rect.left() as u32 + 1, rect.center().y as u32);
    assert_ne!(without.get_pixel(edge.0, edge.1), with.get_pixel(edge.0, edge.1), "no line round the map");
    let zoom = middle(&window).1;
    press(&mut window, Modifiers::NONE, Key::Plus);
    assert!((middle(&window).1 - zoom - 1.0).abs() < 1e-6);
    press(&mut window, Modifiers::NONE, Key::Minus);
    let west = middle(&window).0.x;
    press(&mut window, Modifiers::NONE, Key::ArrowRight);
    press(&mut window, Modifiers::NONE, Key::ArrowRight);
    assert!(middle(&window).0.x > west);
}
