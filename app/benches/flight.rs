//! How long the processor and the graphics card are busy with one frame of the map over a scripted flight: far out, down to a
//! street, along it, and back, with a recolouring every fifty frames. Frames are drawn off screen at 1920 × 1080.
//!
//! Prints the card, and for towns of 20,000, 200,000 and 1,000,000 premises (or of the numbers given as arguments) the middle
//! and the slowest hundredth of every part of a frame, the slowest frames with what each part of them took, frames per second,
//! and the memory in use. The card is the fastest the system names; `WGPU_BACKEND` and `WGPU_POWER_PREF` choose another.
//!
//! Every town is flown over several times, each time from nothing. Beside all frames stands the same frame's middle over the
//! flights: what the work itself takes, where other work on the machine holds up single frames. The clock of the thread, which
//! stands still while the thread waits or another has its core, is read beside the clock on the wall.

#[path = "town/scene.rs"]
mod scene;
mod spans;
mod town;

use cpu_time::ThreadTime;
use eframe::egui_wgpu::{RenderState, RendererOptions, ScreenDescriptor, WgpuSetup, wgpu};
use egui::{Pos2, RawInput, Rect, Vec2};
use std::sync::Arc;
use std::time::{Duration, Instant};
use yardring::map::{Brush, MapMemory, MapPane, Scene};
use yardring_core::place::Local;

/// Frames of the flight.
const FRAMES: u32 = 300;
/// How often each town is flown over.
const FLIGHTS: usize = 5;
/// Pixels of the picture drawn.
const SIZE: [u32; 2] = [1920, 1080];

/// Where the flight is at a frame: the place and the zoom.
fn station(frame: u32) -> (Local, f64) {
    let t = f64::from(frame) / f64::from(FRAMES);
    let zoom = 11.0 + 8.0 * (std::f64::consts::PI * t).sin();
    (Local { x: -400.0 + 800.0 * t, y: 300.0 * (6.0 * t).sin() }, zoom)
}

/// A window off screen, without any system around it.
struct Offscreen {
    state: RenderState,
    picture: wgpu::TextureView,
    context: egui::Context,
}

/// How long each part of a frame took.
struct Times {
    number: u32,
    zoom: f64,
    logic: Duration,
    triangles: Duration,
    told: Duration,
    drawn: Duration,
    /// What the clock of the thread says of the processor's part.
    thread: Duration,
    /// What took long within them.
    parts: spans::Parts,
}

impl Times {
    fn processor(&self) -> Duration {
        self.logic + self.triangles + self.told
    }
}

/// How many of the slowest frames of each flight are printed.
const SLOWEST: usize = 3;

impl Offscreen {
    fn new() -> Self {
        let state = egui_kittest::wgpu::create_render_state(WgpuSetup::without_display_handle(), RendererOptions::default());
        let picture = state.device.create_texture(&wgpu::TextureDescriptor {
            label: None,
            size: wgpu::Extent3d { width: SIZE[0], height: SIZE[1], depth_or_array_layers: 1 },
            mip_level_count: 1,
            sample_count: 1,
            dimension: wgpu::TextureDimension::D2,
            format: state.target_format,
            usage: wgpu::TextureUsages::RENDER_ATTACHMENT,
            view_formats: &[],
        });
        let picture = picture.create_view(&wgpu::TextureViewDescriptor::default());
        Self { state, picture, context: egui::Context::default() }
    }

    fn card(&self) -> String {
        let info = self.state.adapter.get_info();
        format!("{}, {:?}, {:?}, driver {} {}", info.name, info.device_type, info.backend, info.driver, info.driver_info)
    }

    /// One frame, drawn to its end.
    fn frame(&self, number: u32, scene: &Scene, memory: &mut MapMemory) -> Times {
        let thread = ThreadTime::now();
        let start = Instant::now();
        let size = Vec2::new(SIZE[0] as f32, SIZE[1] as f32);
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, size)),
            time: Some(f64::from(number) / 60.0),
            ..RawInput::default()
        };
        let mut output = self.context.run_ui(input, |ui| {
            egui::CentralPanel::default().frame(egui::Frame::NONE).show(ui, |ui| MapPane::show(ui, scene, memory));
        });
        let logic = start.elapsed();
        let start = Instant::now();
        let jobs = self.context.tessellate(output.shapes, 1.0);
        let triangles = start.elapsed();
        let start = Instant::now();
        let (device, queue) = (&self.state.device, &self.state.queue);
        let mut renderer = self.state.renderer.write();
        for (id, deltas) in &output.textures_delta.set {
            for delta in deltas {
                renderer.update_texture(device, queue, *id, delta);
            }
        }
        let screen = ScreenDescriptor { size_in_pixels: SIZE, pixels_per_point: 1.0 };
        let mut encoder = device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
        let mut commands = renderer.update_buffers(device, queue, &mut encoder, &jobs, &screen);
        let target = wgpu::RenderPassColorAttachment {
            view: &self.picture,
            depth_slice: None,
            resolve_target: None,
            ops: wgpu::Operations { load: wgpu::LoadOp::Clear(wgpu::Color::WHITE), store: wgpu::StoreOp::Store },
        };
        let pass = wgpu::RenderPassDescriptor { color_attachments: &[Some(target)], ..Default::default() };
        renderer.render(&mut encoder.begin_render_pass(&pass).forget_lifetime(), &jobs, &screen);
        commands.push(encoder.finish());
        queue.submit(commands);
        let told = start.elapsed();
        let thread = thread.elapsed();
        let start = Instant::now();
        assert!(device.poll(wgpu::PollType::wait_indefinitely()).is_ok(), "the card did not finish the frame");
        let drawn = start.elapsed();
        for id in &output.textures_delta.free {
            renderer.free_texture(id);
        }
        output.textures_delta.clear();
        Times { number, zoom: memory.zoom(), logic, triangles, told, drawn, thread, parts: spans::taken() }
    }
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: usize| times[(times.len() * share / 100).min(times.len() - 1)].as_secs_f64() * 1e3;
    println!("  {what}: middle {:.3} ms, slowest hundredth {:.3} ms", at(50), at(99));
}

/// The frames in which the processor was busy longest, the slowest first.
fn slowest(times: &mut [Times]) {
    let ms = |took: Duration| took.as_secs_f64() * 1e3;
    times.sort_by_key(|t| std::cmp::Reverse(t.processor()));
    for t in times.iter().take(SLOWEST) {
        let parts: Vec<String> = t.parts.iter().map(|(name, took)| format!("{name} {:.2}", ms(*took))).collect();
        let (all, logic, triangles, told) = (ms(t.processor()), ms(t.logic), ms(t.triangles), ms(t.told));
        println!(
            "  frame {} at zoom {:.1}: {all:.2} ms (logic {logic:.2}, triangles {triangles:.2}, card told {told:.2}; {})",
            t.number,
            t.zoom,
            parts.join(", ")
        );
    }
}

/// Memory in use now and at most so far, in MiB, where the system tells.
fn memory_in_use() -> Option<[u64; 2]> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let of = |name: &str| status.lines().find(|l| l.starts_with(name))?.split_whitespace().nth(1)?.parse::<u64>().ok();
    Some([of("VmRSS:")? / 1024, of("VmHWM:")? / 1024])
}

/// One flight over a town that nobody has looked at yet.
fn fly(town: &town::Town, screen: &Offscreen) -> Vec<Times> {
    let start = Instant::now();
    let brush = Brush::for_render_state(&screen.state);
    let Ok(mut scene) = scene::scene(town, Some(&brush)) else { panic!("the scene was not laid") };
    let laid = start.elapsed();
    let mut memory = MapMemory::default();
    let start = Instant::now();
    screen.frame(0, &scene, &mut memory);
    let first = start.elapsed();
    let mut times = Vec::new();
    let start = Instant::now();
    for frame in 0..FRAMES {
        let (place, zoom) = station(frame);
        memory.fly_to(place, zoom);
        memory.set_zoom(zoom);
        if frame % 50 == 25
            && let Some(sheet) = scene.premises.as_mut()
        {
            sheet.classes = Arc::new(sheet.classes.iter().map(|c| (c + 1) % 8).collect());
        }
        times.push(screen.frame(frame + 1, &scene, &mut memory));
    }
    let second = f64::from(FRAMES) / start.elapsed().as_secs_f64();
    let ms = |took: Duration| took.as_secs_f64() * 1e3;
    println!("  laid in {:.0} ms, first frame after {:.1} ms, {second:.0} frames a second, recolourings included", ms(laid), ms(first));
    times
}

/// The middle of each frame over all flights.
fn middles(flights: &[Vec<Times>], of: fn(&Times) -> Duration) -> Vec<Duration> {
    let frames = flights.iter().map(Vec::len).min().unwrap_or(0);
    let middle = |frame: usize| {
        let mut took: Vec<Duration> = flights.iter().map(|flight| of(&flight[frame])).collect();
        took.sort_unstable();
        took[took.len() / 2]
    };
    (0..frames).map(middle).collect()
}

fn fly_over(premises: usize, screen: &Offscreen) {
    let town = town::Town::of(premises);
    println!("{} premises, {FLIGHTS} flights", town.lots.len());
    let mut flights: Vec<Vec<Times>> = (0..FLIGHTS).map(|_| fly(&town, screen)).collect();
    let all = |of: fn(&Times) -> Duration| flights.iter().flatten().map(of).collect::<Vec<_>>();
    report("window logic", all(|t| t.logic));
    report("shapes cut into triangles", all(|t| t.triangles));
    report("card told", all(|t| t.told));
    report("all of the processor's part", all(Times::processor));
    report("the same by the clock of the thread", all(|t| t.thread));
    report("the processor's part, the same frame's middle over all flights", middles(&flights, Times::processor));
    report("card busy", all(|t| t.drawn));
    flights.iter_mut().for_each(|flight| slowest(flight));
    if let Some([now, most]) = memory_in_use() {
        println!("  memory in use {now} MiB, at most {most} MiB so far");
    }
}

fn main() {
    spans::watch();
    let screen = Offscreen::new();
    println!("{}, {} x {} pixels", screen.card(), SIZE[0], SIZE[1]);
    let given: Vec<usize> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    for premises in if given.is_empty() { vec![20_000, 200_000, 1_000_000] } else { given } {
        fly_over(premises, &screen);
    }
}
