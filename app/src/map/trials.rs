//! The map in a window without a screen: what the pointer hits, what recolouring changes, and that nothing draws too.

use super::*;
use egui_kittest::{Harness, kittest::Queryable};
use std::sync::Arc;
use yardring_core::job::Unwatched;
use yardring_core::place::{BoxIndex, Frame, Local, LonLat, Shapes};
use yardring_core::survey::PremiseId;

#[path = "../../benches/town/scene.rs"]
mod scene;
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
    let mut harness =
        Harness::builder().with_size(egui::vec2(800.0, 600.0)).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu().build_eframe(|cc| {
            let brush = Brush::of(cc);
            assert!(brush.is_some(), "the trials draw with wgpu");
            Window { scene: make(brush.as_ref()), memory: MapMemory::default(), events: MapEvents::default(), clicked: Vec::new() }
        });
    rest(&mut harness);
    harness
}

/// Draws frames until none is asked for; the far view is coloured on a thread of its own, which may be slow to come.
fn rest(h: &mut Harness<'static, Window>) {
    for _ in 0..500 {
        if h.run_ok().is_some() {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    panic!("frames are asked for without an end");
}

fn empty_scene() -> Scene {
    Scene::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }), scene::inks().0)
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
    let dot = |i: u32| SourceSpot { place: middle(i), pupae: false };
    let sources: Vec<SourceSpot> = (0..scene.outlines.len() as u32).filter(positive).map(dot).collect();
    let near = scene.index.nearest(Local { x: 100.0, y: 50.0 }, 900.0, |i| middle(i as u32).distance(Local { x: 100.0, y: 50.0 }));
    let chosen = near.unwrap().0 as u32;
    let stops: Vec<Local> = (0..14).map(|k| middle(chosen + 40 + 3 * k)).collect();
    let spot = |k, kind| SignalSpot { place: middle(chosen + k), kind };
    scene.signals = Arc::new(vec![spot(9, SpotKind::Trap), spot(15, SpotKind::Complaint)]);
    scene.walks = vec![WalkLine {
        way: Arc::new(stops.clone()),
        stops: Arc::new(stops),
        tint: scene.inks.words,
        pattern: (8.0, 5.0),
        stop: StopMark::default(),
    }];
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

/// Mean of each of red, green and blue over a picture.
fn mean(picture: &image::RgbaImage) -> [f64; 3] {
    let n = f64::from(picture.width() * picture.height());
    [0, 1, 2].map(|k| picture.pixels().map(|p| f64::from(p.0[k])).sum::<f64>() / n)
}

/// A scene of squares of 20 m with 4 m between them, each in its own class, the first at 0, 0.
fn a_row_of_yards(brush: &Brush, classes: u8) -> Scene {
    let mut shapes = Shapes::default();
    for k in 0..classes {
        let (x, p) = (24.0 * f64::from(k), |x, y| Local { x, y });
        // every other one runs the other way round
        let mut ring = [p(x, 0.0), p(x + 20.0, 0.0), p(x + 20.0, 20.0), p(x, 20.0)];
        if k % 2 == 1 {
            ring.reverse();
        }
        shapes.push_ring(&ring);
        shapes.end_part();
        shapes.end_shape();
    }
    let layer = brush.lay_outlines(&shapes, &Unwatched).unwrap();
    let premises = Some(Sheet { layer, classes: Arc::new((0..classes).collect()), inks: scene::inks().1 });
    Scene {
        extent: shapes.extent(),
        index: Arc::new(BoxIndex::new(shapes.bounds())),
        outlines: Arc::new(shapes),
        premises,
        ..empty_scene()
    }
}

#[test]
fn every_mark_is_told_from_every_other_without_hue() {
    let mut h = window(|b| a_row_of_yards(b.unwrap(), 8));
    let picture = keep(&mut h, "marks");
    let camera = h.state().memory.camera().unwrap();
    let (yard, scale) = (|k: u32| camera.on_screen(Local { x: 24.0 * f64::from(k), y: 20.0 }), camera.points_per_metre);
    let side = (20.0 * scale) as u32;
    let lightness = |k: u32, x: u32, y: u32| {
        let p = picture.get_pixel(yard(k).x.round() as u32 + x, yard(k).y.round() as u32 + y).0;
        0.299 * f64::from(p[0]) + 0.587 * f64::from(p[1]) + 0.114 * f64::from(p[2])
    };
    for a in 0..8 {
        for b in 0..a {
            let differ =
                (0..side * side).filter(|i| (lightness(a, i % side, i / side) - lightness(b, i % side, i / side)).abs() > 25.0).count();
            assert!(differ > 40, "yards marked {a} and {b} differ in {differ} of {} pixels", side * side);
        }
    }
    let ink = |k: u32, x: u32, y: u32| picture.get_pixel(yard(k).x.round() as u32 + x, yard(k).y.round() as u32 + y).0;
    let fill = |k: usize| scene::inks().1[k].fill.to_array();
    let mark = |k: usize| scene::inks().1[k].mark_ink.to_array();
    let darkest = (0..9).map(|i| ink(1, side / 2 - 1 + i % 3, side / 2 - 1 + i / 3)[0]).min();
    assert!(darkest < Some(mark(1)[0] + 60), "the stroke passes through the middle");
    assert_eq!(ink(2, side / 2 - 12, side / 2), mark(2), "the bar goes from side to side");
    assert_eq!(ink(3, side / 2, side * 3 / 4), mark(3), "the lower half is filled");
    assert_ne!(ink(3, side / 2, side / 4), mark(3), "the upper half is not");
    assert_eq!((ink(4, side / 2, side / 2), ink(5, side / 2, side / 2)), (fill(4), fill(5)), "pale, and pale within the drop");
    assert_eq!((ink(6, side / 2, side / 2), ink(6, side / 4, side / 4)), (mark(6), fill(6)), "a whole drop on dark");
    assert_eq!(ink(7, 1, side / 2), scene::inks().1[7].edge.to_array(), "the broad edge lies inside the yard");
}

/// The drop in a yard tells the source itself; a source without one is a dot, from far out too.
#[test]
fn no_dot_lies_on_a_drop() {
    let mut h = window(|b| a_row_of_yards(b.unwrap(), 8));
    let dot = egui::Color32::from_rgb(20, 30, 230);
    let scene = &mut h.state_mut().scene;
    scene.inks.source = dot;
    let middle = |k: u32| Local { x: 24.0 * f64::from(k) + 10.0, y: 10.0 };
    scene.sources = Arc::new([0, 6, 7].map(|k| SourceSpot { place: middle(k), pupae: false }).to_vec());
    h.state_mut().memory.fly_to(Local { x: 96.0, y: 10.0 }, 0.0);
    for (points, drops) in [(40.0, true), (3.0, false)] {
        h.state_mut().memory.set_zoom((points / 20.0 / points_per_metre(0.0)).log2());
        rest(&mut h);
        let picture = keep(&mut h, &format!("sources-{points}"));
        let camera = h.state().memory.camera().unwrap();
        let dotted = [0, 6, 7].map(|k| {
            let at = camera.on_screen(Local { x: 24.0 * f64::from(k), y: 20.0 });
            let yard = (0..points as u32 + 4).flat_map(|x| (0..points as u32 + 4).map(move |y| (at.x as u32 + x, at.y as u32 - 2 + y)));
            yard.map(|(x, y)| picture.get_pixel(x, y).0).any(|p| p[2] > 150 && p[0] < 90)
        });
        assert_eq!(dotted, [true, !drops, !drops], "yards of {points} points");
    }
}

/// A stop that lies on the edge of the chosen yard is drawn above its outline.
#[test]
fn the_number_of_a_stop_lies_above_the_chosen_yard() {
    let mut h = window(|b| a_row_of_yards(b.unwrap(), 2));
    let on_the_edge = Local { x: 0.0, y: 10.0 };
    let scene = &mut h.state_mut().scene;
    let stops = Arc::new(vec![on_the_edge]);
    let way = Arc::new(vec![on_the_edge, on_the_edge]);
    let tint = egui::Color32::from_rgb(200, 30, 30);
    scene.walks = vec![WalkLine { way, stops, tint, pattern: (0.0, 0.0), stop: StopMark { shape: StopShape::Square, hollow: false } }];
    scene.selected = Some(PremiseId(0));
    rest(&mut h);
    let picture = keep(&mut h, "stop-above");
    let at = h.state().memory.camera().unwrap().on_screen(on_the_edge);
    // The outline runs up and down through the middle of the stop.
    assert_eq!(picture.get_pixel(at.x as u32, at.y as u32 + 6).0, tint.to_array());
}

/// What only an earlier round saw has dots and no lines; the rest of the ground is its fill.
#[test]
fn dots_are_sparse_and_dark() {
    let mut h = window(|b| a_row_of_yards(b.unwrap(), 2));
    let plain = ClassInk::plain(egui::Color32::WHITE, egui::Color32::BLACK);
    let fill = egui::Color32::from_rgb(250, 250, 250);
    let inks = vec![ClassInk { fill, ..plain }, ClassInk { fill, dotted: true, mark_ink: egui::Color32::BLACK, ..plain }];
    h.state_mut().scene.premises.as_mut().unwrap().inks = Arc::new(inks);
    rest(&mut h);
    let picture = keep(&mut h, "dots");
    let camera = h.state().memory.camera().unwrap();
    let dark = |k: u32| {
        let (from, to) = (Local { x: 24.0 * f64::from(k) + 2.0, y: 18.0 }, Local { x: 24.0 * f64::from(k) + 18.0, y: 2.0 });
        let (a, b) = (camera.on_screen(from), camera.on_screen(to));
        let all: Vec<u8> = (a.x as u32..b.x as u32)
            .flat_map(|x| (a.y as u32..b.y as u32).map(move |y| (x, y)))
            .map(|(x, y)| picture.get_pixel(x, y).0[0])
            .collect();
        all.iter().filter(|v| **v < 128).count() as f64 / all.len() as f64
    };
    assert_eq!(dark(0), 0.0);
    assert!(dark(1) > 0.01 && dark(1) < 0.12, "{:.3} of the ground is dots", dark(1));
}

#[test]
fn the_quilt_is_as_light_as_the_yards_it_stands_for() {
    let mut h = window(|b| {
        let scene = scene::scene(&town::Town::of(100_000), b).unwrap();
        Scene { reach: None, blocks: None, streets: None, street_names: None, ..scene }
    });
    let side = h.state().scene.premises.as_ref().unwrap().layer.typical_side();
    let at = |points: f64| (points / side / points_per_metre(0.0)).log2();
    h.state_mut().memory.fly_to(Local { x: 100.0, y: 50.0 }, 0.0);
    let mut pictures = [3.49, 3.51].map(|points| {
        h.state_mut().memory.set_zoom(at(points));
        rest(&mut h);
        keep(&mut h, &format!("at_{points}"))
    });
    let [quilt, yards] = &mut pictures;
    assert_ne!(quilt, yards, "both pictures were drawn the same way");
    for (a, b) in mean(quilt).iter().zip(mean(yards)) {
        assert!((a - b).abs() < 1.5, "mean {a} in the quilt, {b} yard by yard");
    }
}

#[test]
fn a_dressed_town_is_lit_up_at_every_zoom() {
    let mut h = window(|b| scene::scene(&town::Town::of(100_000), b).unwrap());
    keep(&mut h, "far");
    let plain = h.state().scene.clone();
    for zoom in [11.0, 13.0, 14.0, 15.0, 16.0, 17.0, 18.5, 20.0] {
        h.state_mut().scene = plain.clone();
        h.state_mut().memory.fly_to(Local { x: 100.0, y: 50.0 }, 0.0);
        h.state_mut().memory.set_zoom(zoom);
        rest(&mut h);
        let before = h.render().unwrap();
        dress(&mut h);
        rest(&mut h);
        let after = keep(&mut h, &format!("zoom_{zoom}"));
        let chosen = h.state().scene.inks.selection.to_array();
        let count = |picture: &image::RgbaImage| picture.pixels().filter(|p| p.0 == chosen).count();
        assert!(count(&after) > count(&before) + 30, "the chosen yard is not lit up at zoom {zoom}");
    }
}

#[test]
fn a_click_names_the_premise_under_it() {
    let mut h = window(|b| scene::scene(&town::Town::of(400), b).unwrap());
    for id in [0, 17, 201, 399] {
        let place = h.state().scene.outlines.get(id as usize).bounds().centre();
        h.state_mut().memory.fly_to(place, 18.0);
        rest(&mut h);
        h.get_by_label("Map").click();
        rest(&mut h);
        assert_eq!(h.state().clicked.last(), Some(&Some(PremiseId(id))));
    }
}

#[test]
fn recolouring_changes_the_premise_and_nothing_else() {
    let mut h = window(|b| scene::scene(&town::Town::of(400), b).unwrap());
    h.state_mut().memory.fly_to(Local { x: 0.0, y: 0.0 }, 17.5);
    rest(&mut h);
    let id =
        h.state().scene.index.nearest(Local { x: 0.0, y: 0.0 }, 500.0, |i| {
            h.state().scene.outlines.get(i).bounds().centre().distance(Local { x: 0.0, y: 0.0 })
        });
    let id = id.unwrap().0 as u32;
    let before = h.render().unwrap();
    let mut classes = h.state().scene.premises.as_ref().unwrap().classes.to_vec();
    classes[id as usize] = if classes[id as usize] == 6 { 4 } else { 6 };
    h.state_mut().scene.premises.as_mut().unwrap().classes = Arc::new(classes);
    rest(&mut h);
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
    rest(&mut h);
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
            scene.premises = Some(Sheet { layer, classes: Arc::new(vec![6; 3]), inks: scene::inks().1 });
            scene.outlines = Arc::new(shapes);
            scene
        });
        let (picture, camera) = (h.render().unwrap(), h.state().memory.camera().unwrap());
        let paper = h.state().scene.inks.paper.to_array();
        for &x in places {
            let at = camera.on_screen(Local { x: x + 10.0, y: 10.0 });
            assert!(camera.rect.contains(at), "the yard at {x} m is not on the map");
            assert_ne!(picture.get_pixel(at.x as u32, at.y as u32).0, paper, "the yard at {x} m is not seen from far out");
        }
        if let Some(&x) = places.first() {
            h.state_mut().memory.fly_to(Local { x: x + 16.0, y: 10.0 }, 20.0);
            rest(&mut h);
            let dark = scene::inks().1[6].fill.to_array();
            assert_eq!(h.render().unwrap().get_pixel(400, 300).0, dark, "the yard at {x} m is not drawn");
        }
    }
}

#[test]
fn dragging_moves_the_ground_with_the_pointer() {
    let mut h = window(|b| scene::scene(&town::Town::of(400), b).unwrap());
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
    let mut h = window(|b| scene::scene(&town::Town::of(400), b).unwrap());
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
    rest(&mut h);
    h.key_press(egui::Key::Minus);
    rest(&mut h);
    assert!((h.state().memory.zoom() - (nearer - 1.0)).abs() < 1e-6);
    let west = h.state().memory.camera().unwrap().centre.x;
    h.key_press(egui::Key::ArrowRight);
    rest(&mut h);
    assert!(h.state().memory.camera().unwrap().centre.x > west);
}
