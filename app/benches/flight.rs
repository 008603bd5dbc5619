//! How long the processor is busy with one frame of the map over a scripted flight: far out, down to a street, along it, and
//! back, with a recolouring every fifty frames. Prints the middle and the slowest hundredth.

mod town;

use egui_kittest::Harness;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tracing_subscriber::layer::{Context, SubscriberExt as _};
use yardring::map::{Brush, MapMemory, MapPane, Scene};
use yardring_core::place::Local;

/// Frames of the flight.
const FRAMES: u32 = 300;

struct Window {
    scene: Scene,
    memory: MapMemory,
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        egui::CentralPanel::default().frame(egui::Frame::NONE).show(ui, |ui| MapPane::show(ui, &self.scene, &mut self.memory));
    }
}

/// Adds up the time inside the map's spans: what the map does while the window is being drawn.
#[derive(Clone, Default)]
struct Stopwatch(Arc<Mutex<(Duration, Option<Instant>)>>);

impl Stopwatch {
    fn take(&self) -> Duration {
        self.0.lock().map(|mut t| std::mem::take(&mut t.0)).unwrap_or_default()
    }
}

impl<S: tracing::Subscriber> tracing_subscriber::Layer<S> for Stopwatch {
    fn on_enter(&self, _id: &tracing::span::Id, _context: Context<'_, S>) {
        if let Ok(mut t) = self.0.lock() {
            t.1 = Some(Instant::now());
        }
    }

    fn on_exit(&self, _id: &tracing::span::Id, _context: Context<'_, S>) {
        if let Ok(mut t) = self.0.lock()
            && let Some(start) = t.1.take()
        {
            t.0 += start.elapsed();
        }
    }
}

/// Where the flight is at a frame: the place and the zoom.
fn station(frame: u32) -> (Local, f64) {
    let t = f64::from(frame) / f64::from(FRAMES);
    let zoom = 11.0 + 8.0 * (std::f64::consts::PI * t).sin();
    (Local { x: -400.0 + 800.0 * t, y: 300.0 * (6.0 * t).sin() }, zoom)
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: usize| times[(times.len() * share / 100).min(times.len() - 1)].as_secs_f64() * 1e3;
    println!("  {what}: middle {:.3} ms, slowest hundredth {:.3} ms", at(50), at(99));
}

fn fly(premises: usize, stopwatch: &Stopwatch) {
    let town = town::Town::of(premises);
    let started = Instant::now();
    let mut laid = Duration::ZERO;
    let mut harness = Harness::builder().with_size(egui::vec2(1280.0, 800.0)).with_step_dt(1.0 / 60.0).wgpu().build_eframe(|cc| {
        let brush = Brush::of(cc);
        let start = Instant::now();
        let Ok(scene) = town::scene(&town, brush.as_ref()) else { panic!("the scene was not laid") };
        laid = start.elapsed();
        Window { scene, memory: MapMemory::default() }
    });
    println!(
        "{} premises: laid in {:.0} ms, window after {:.0} ms",
        town.lots.len(),
        laid.as_secs_f64() * 1e3,
        started.elapsed().as_secs_f64() * 1e3
    );
    let (mut ui, mut card, mut recolour, mut whole) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for frame in 0..FRAMES {
        let (place, zoom) = station(frame);
        let window = harness.state_mut();
        window.memory.fly_to(place, zoom);
        window.memory.set_zoom(zoom);
        let anew = frame % 50 == 25;
        if anew && let Some(sheet) = window.scene.premises.as_mut() {
            let shifted = sheet.classes.iter().map(|c| (c + 1) % 8).collect();
            sheet.classes = Arc::new(shifted);
        }
        let start = Instant::now();
        harness.step();
        ui.push(start.elapsed());
        stopwatch.take();
        let start = Instant::now();
        let drawn = harness.render();
        whole.push(start.elapsed());
        assert!(drawn.is_ok(), "the window was not drawn");
        if anew { recolour.push(stopwatch.take()) } else { card.push(stopwatch.take()) }
    }
    report("window logic", ui);
    report("map, while drawing", card);
    report("map, while drawing, frames with another colouring", recolour);
    report("whole frame drawn by the processor and read back", whole);
}

fn main() {
    let stopwatch = Stopwatch::default();
    let subscriber = tracing_subscriber::registry().with(stopwatch.clone());
    assert!(tracing::subscriber::set_global_default(subscriber).is_ok(), "a stopwatch was set already");
    for premises in [20_000, 200_000, 1_000_000] {
        fly(premises, &stopwatch);
    }
}
