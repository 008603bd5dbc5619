//! A real window on a display: the frames that it draws while nobody touches it, and how it goes on when its graphics card stops.
//!
//! Takes a survey and, after it, a file of map tiles for the ground if the frames over one are wanted too. Without a screen:
//! `xvfb-run -a cargo bench -p yardring --bench window -- SURVEY.gpkg [GROUND.mbtiles]`.

use eframe::egui_wgpu::wgpu;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};
use yardring::action::{Action, MapAction};
use yardring::app::App;
use yardring::lifeline::Lifeline;
use yardring::map::{Drawing, by_the_processor};

/// How long a window is left alone before its frames are counted: the survey is read and drawn.
const SETTLES: Duration = Duration::from_secs(12);
/// For how long they are counted.
const LEFT_ALONE: Duration = Duration::from_secs(5);

/// The window with a note of every frame.
struct Noted {
    app: App,
    frames: Arc<Mutex<Vec<Instant>>>,
}

impl eframe::App for Noted {
    fn logic(&mut self, ctx: &egui::Context, frame: &mut eframe::Frame) {
        self.app.logic(ctx, frame);
    }

    fn ui(&mut self, ui: &mut egui::Ui, frame: &mut eframe::Frame) {
        if let Ok(mut frames) = self.frames.lock() {
            frames.push(Instant::now());
        }
        self.app.ui(ui, frame);
    }
}

/// Shows a window and does something with it from another thread; gives the frames that were drawn.
fn show(
    survey: PathBuf,
    drawing: Drawing,
    lifeline: &Lifeline,
    ground: Option<PathBuf>,
    meanwhile: impl FnOnce(egui::Context, wgpu::Device) + Send + 'static,
) -> Vec<Instant> {
    let frames = Arc::new(Mutex::new(Vec::new()));
    let (noted, held) = (Arc::clone(&frames), lifeline.clone());
    let viewport = egui::ViewportBuilder::default().with_inner_size([1280.0, 800.0]);
    let options = eframe::NativeOptions { viewport, renderer: eframe::Renderer::Wgpu, wgpu_options: drawing, ..Default::default() };
    let start = move |creation: &eframe::CreationContext<'_>| {
        let mut app = App::new(creation, Some(survey), None).on(held, None);
        if let Some(ground) = ground {
            app.push(Action::Map(MapAction::LayGround(ground)));
        }
        if let Some(state) = creation.wgpu_render_state.as_ref() {
            println!("  drawn by {}", state.adapter.get_info().name);
            let (ctx, device) = (creation.egui_ctx.clone(), state.device.clone());
            thread::spawn(move || meanwhile(ctx, device));
        }
        let app: Box<dyn eframe::App> = Box::new(Noted { app, frames: noted });
        Ok(app)
    };
    match catch_unwind(AssertUnwindSafe(|| eframe::run_native("yardring", options, Box::new(start)))) {
        Ok(Err(error)) => println!("  the window could not be opened: {error}"),
        Err(_) => println!("  the toolkit broke off; the lifeline {}", if lifeline.is_cut() { "knows" } else { "does not know" }),
        Ok(Ok(())) => {}
    }
    let frames = frames.lock().map(|f| f.clone());
    frames.unwrap_or_default()
}

fn close(ctx: &egui::Context) {
    ctx.send_viewport_cmd(egui::ViewportCommand::Close);
    ctx.request_repaint();
}

/// Frames of a window that nobody touches.
fn idle(survey: PathBuf, ground: Option<PathBuf>) {
    println!("left alone {}", if ground.is_some() { "over pictures of the ground" } else { "without ground" });
    let span = Arc::new(Mutex::new(None));
    let told = Arc::clone(&span);
    let frames = show(survey, Drawing::default(), &Lifeline::default(), ground, move |ctx, _| {
        thread::sleep(SETTLES);
        let from = Instant::now();
        thread::sleep(LEFT_ALONE);
        if let Ok(mut span) = told.lock() {
            *span = Some((from, Instant::now()));
        }
        close(&ctx);
    });
    let Some((from, until)) = span.lock().ok().and_then(|s| *s) else { return };
    let within = frames.iter().filter(|f| (from..until).contains(*f)).count();
    println!("  {within} frames in {} s, after {} while it opened", LEFT_ALONE.as_secs(), frames.iter().filter(|f| **f < from).count());
}

/// A card that stops, and the window after it.
fn stopped(survey: PathBuf) {
    println!("the graphics card stops");
    let lifeline = Lifeline::default();
    let frames = show(survey, Drawing::default(), &lifeline, None, |ctx, device| {
        thread::sleep(SETTLES);
        device.destroy();
        ctx.request_repaint();
    });
    println!("  the window closed after {} frames", frames.len());
    let Some(go_on) = lifeline.go_on() else {
        println!("  nobody noticed");
        return;
    };
    println!("  said: {}", go_on.words);
    let Some(survey) = go_on.survey else { return };
    let frames = show(survey, by_the_processor(), &Lifeline::default(), None, |ctx, _| {
        thread::sleep(LEFT_ALONE);
        close(&ctx);
    });
    println!("  the next window drew {} frames", frames.len());
}

fn main() {
    let mut given = std::env::args_os().skip(1).filter(|a| a != "--bench").map(PathBuf::from);
    let Some(survey) = given.next() else {
        println!("give a survey, and a file of map tiles if the frames over one are wanted: window SURVEY.gpkg [GROUND.mbtiles]");
        return;
    };
    idle(survey.clone(), None);
    if let Some(ground) = given.next() {
        idle(survey.clone(), Some(ground));
    }
    stopped(survey);
}
