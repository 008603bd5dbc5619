//! The map in a window without a screen: what the pointer hits, what recolouring changes, and that nothing draws too.

use super::*;
use egui_kittest::{Harness, kittest::Queryable};
use std::sync::Arc;
use yardring_core::job::Unwatched;
use yardring_core::place::{BoxIndex, Frame, Local, LonLat, Shapes};
use yardring_core::survey::PremiseId;

#[path = "../../benches/town/mod.rs"]
mod town;

/// A window with nothing but the map.
struct Window {
    scene: Scene,
    memory: MapMemory,
    events: MapEvents,
    clicked: Vec<Option<PremiseId>>,
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        egui::CentralPanel::default().frame(egui::Frame::NONE).show(ui, |ui| {
            self.events = MapPane::show(ui, &self.scene, &mut self.memory);
            if self.events.clicked_place.is_some() {
                self.clicked.push(self.events.clicked);
            }
        });
    }
}

fn window(make: impl FnOnce(Option<&Brush>) -> Scene) -> Harness<'static, Window> {
    let mut harness = Harness::builder().with_size(egui::vec2(800.0, 600.0)).with_step_dt(1.0 / 60.0).wgpu().build_eframe(|cc| {
        let brush = Brush::of(cc);
        assert!(brush.is_some(), "the trials draw with wgpu");
        Window { scene: make(brush.as_ref()), memory: MapMemory::default(), events: MapEvents::default(), clicked: Vec::new() }
    });
    harness.run();
    harness
}

fn empty_scene() -> Scene {
    Scene::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }), town::inks().0)
}

/// Keeps a picture when a folder for pictures is named.
fn keep(harness: &mut Harness<'static, Window>, name: &str) -> image::RgbaImage {
    let picture = harness.render().unwrap();
    if let Ok(folder) = std::env::var("YARDRING_PICTURES") {
        picture.save(format!("{folder}/{name}.png")).unwrap();
    }
    picture
}

/// Gives the scene something of everything that lies over the layers.
fn dress(h: &mut Harness<'static, Window>) {
    let scene = &mut h.state_mut().scene;
    let middle = |i: u32| scene.outlines.get(i as usize).bounds().centre();
    let positive = |&i: &u32| scene.premises.as_ref().is_some_and(|p| p.classes[i as usize] >= 6);
    let sources: Vec<Local> = (0..scene.outlines.len() as u32).filter(positive).map(middle).collect();
    let near = scene.index.nearest(Local { x: 100.0, y: 50.0 }, 900.0, |i| middle(i as u32).distance(Local { x: 100.0, y: 50.0 }));
    let chosen = near.unwrap().0 as u32;
    let stops: Vec<Local> = (0..14).map(|k| middle(chosen + 40 + 3 * k)).collect();
    let spot = |k, kind| SignalSpot { place: middle(chosen + k), kind };
    scene.signals = Arc::new(vec![spot(9, SpotKind::Trap), spot(15, SpotKind::Complaint)]);
    scene.walks = vec![WalkLine { way: Arc::new(stops.clone()), stops: Arc::new(stops), tint: scene.inks.trap, pattern: (8.0, 5.0) }];
    scene.selected = Some(PremiseId(chosen));
    scene.lit = vec![PremiseId(chosen + 1), PremiseId(chosen - 1)];
    scene.pointed_at = Some(PremiseId(chosen + 5));
    scene.sources = Arc::new(sources);
}

fn at_premise(harness: &Harness<'static, Window>, id: u32) -> egui::Pos2 {
    let w = harness.state();
    let b = w.scene.outlines.get(id as usize).bounds().centre();
    w.memory.camera().unwrap().on_screen(b)
}

#[test]
fn pictures_of_a_town_at_three_zooms() {
    let mut h = window(|b| town::scene(&town::Town::of(20_000), b));
    dress(&mut h);
    h.run();
    keep(&mut h, "far");
    for zoom in [14.0, 15.0, 16.0, 17.0, 18.5, 20.0] {
        h.state_mut().memory.fly_to(Local { x: 100.0, y: 50.0 }, zoom);
        h.run();
        keep(&mut h, &format!("zoom_{zoom}"));
    }
}

#[test]
fn a_click_names_the_premise_under_it() {
    let mut h = window(|b| town::scene(&town::Town::of(400), b));
    for id in [0, 17, 201, 399] {
        let place = h.state().scene.outlines.get(id as usize).bounds().centre();
        h.state_mut().memory.fly_to(place, 18.0);
        h.run();
        h.get_by_label("Map").click();
        h.run();
        assert_eq!(h.state().clicked.last(), Some(&Some(PremiseId(id))));
    }
}

#[test]
fn recolouring_changes_the_premise_and_nothing_else() {
    let mut h = window(|b| town::scene(&town::Town::of(400), b));
    h.state_mut().memory.fly_to(Local { x: 0.0, y: 0.0 }, 17.5);
    h.run();
    let id =
        h.state().scene.index.nearest(Local { x: 0.0, y: 0.0 }, 500.0, |i| {
            h.state().scene.outlines.get(i).bounds().centre().distance(Local { x: 0.0, y: 0.0 })
        });
    let id = id.unwrap().0 as u32;
    let before = h.render().unwrap();
    let mut classes = h.state().scene.premises.as_ref().unwrap().classes.to_vec();
    classes[id as usize] = if classes[id as usize] == 6 { 4 } else { 6 };
    h.state_mut().scene.premises.as_mut().unwrap().classes = Arc::new(classes);
    h.run();
    let after = h.render().unwrap();
    let at = at_premise(&h, id);
    let changed: Vec<(u32, u32)> =
        before.enumerate_pixels().filter(|(x, y, p)| after.get_pixel(*x, *y) != *p).map(|(x, y, _)| (x, y)).collect();
    assert!(changed.contains(&(at.x as u32 + 12, at.y as u32)), "the yard kept its colour");
    let near = |&(x, y): &(u32, u32)| (x as f32 - at.x).abs() < 60.0 && (y as f32 - at.y).abs() < 60.0;
    assert!(changed.iter().all(near), "other yards changed too");
}

#[test]
fn a_scene_of_nothing_is_paper() {
    let mut h = window(|_| empty_scene());
    let picture = h.render().unwrap();
    let paper = h.state().scene.inks.paper.to_array();
    assert_eq!(picture.get_pixel(400, 250).0, paper);
    h.get_by_label("Map").click();
    h.run();
    assert_eq!(h.state().clicked, [None]);
}

#[test]
fn one_premise_none_with_outline_and_premises_a_continent_apart_all_draw() {
    let square = |shapes: &mut Shapes, x: f64| {
        let p = |x, y| Local { x, y };
        shapes.push_ring(&[p(x, 0.0), p(x + 20.0, 0.0), p(x + 20.0, 20.0), p(x, 20.0)]);
        shapes.end_part();
        shapes.end_shape();
    };
    for places in [&[0.0][..], &[], &[-1.5e6, 1.5e6]] {
        let mut shapes = Shapes::default();
        places.iter().for_each(|&x| square(&mut shapes, x));
        shapes.end_shape();
        let mut h = window(|brush| {
            let mut scene = empty_scene();
            scene.extent = shapes.extent();
            scene.index = Arc::new(BoxIndex::new(shapes.bounds()));
            let layer = brush.unwrap().lay_outlines(&shapes, &Unwatched).unwrap();
            scene.premises = Some(Sheet { layer, classes: Arc::new(vec![6; 3]), inks: town::inks().1 });
            scene.outlines = Arc::new(shapes);
            scene
        });
        h.render().unwrap();
        if let Some(&x) = places.first() {
            h.state_mut().memory.fly_to(Local { x: x + 16.0, y: 10.0 }, 20.0);
            h.run();
            let dark = town::inks().1[6].fill.to_array();
            assert_eq!(h.render().unwrap().get_pixel(400, 300).0, dark, "the yard at {x} m is not drawn");
        }
    }
}

#[test]
fn dragging_moves_the_ground_with_the_pointer() {
    let mut h = window(|b| town::scene(&town::Town::of(400), b));
    let start = egui::pos2(400.0, 300.0);
    let before = h.state().memory.camera().unwrap().on_ground(start);
    h.drag_at(start);
    h.step();
    for k in 1..=40_u8 {
        h.hover_at(start + egui::vec2(-2.0, 1.0) * f32::from(k));
        h.step();
    }
    let after = h.state().memory.camera().unwrap().on_ground(start + egui::vec2(-80.0, 40.0));
    let scale = h.state().memory.camera().unwrap().points_per_metre;
    assert!(before.distance(after) * scale < 8.0, "the ground slipped {} points", before.distance(after) * scale);
    h.drop_at(start + egui::vec2(-80.0, 40.0));
    h.run_steps(120);
}

#[test]
fn the_wheel_and_the_keys_come_nearer() {
    let mut h = window(|b| town::scene(&town::Town::of(400), b));
    let zoom = h.state().memory.zoom();
    h.hover_at(egui::pos2(300.0, 300.0));
    h.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: egui::vec2(0.0, 50.0),
        modifiers: egui::Modifiers::default(),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
    });
    h.run_steps(30);
    let nearer = h.state().memory.zoom();
    assert!(nearer > zoom + 0.1, "{zoom} to {nearer}");
    h.get_by_label("Map").click();
    h.run();
    h.key_press(egui::Key::Minus);
    h.run();
    assert!((h.state().memory.zoom() - (nearer - 1.0)).abs() < 1e-6);
    let west = h.state().memory.camera().unwrap().centre.x;
    h.key_press(egui::Key::ArrowRight);
    h.run();
    assert!(h.state().memory.camera().unwrap().centre.x > west);
}
