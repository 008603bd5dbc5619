//! The window, opened from the command line.

use super::{Done, Failure};
use crate::app::App;
use crate::lifeline::{GoOn, Lifeline};
use crate::map::{Drawing, by_the_processor};
use crate::settings;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::PathBuf;

/// What can be done without a window, for those who have no display.
const HEADLESS: &str = "Without a display every answer is on the command line: yardring look, intake, indices, reach, gaps, map, export \
                        (yardring --help lists them)";

/// Opens the window, with a survey or with none, and stays until it is closed.
pub(super) fn open(survey: Option<PathBuf>) -> Result<Done, Failure> {
    if let Some(missing) = survey.as_deref().filter(|p| !p.exists()) {
        return Err(Failure::new(format!("there is no file {}", missing.display()), "Check the name, or start without one: yardring"));
    }
    if !has_display() {
        return Err(Failure::new("there is no display to open a window on", HEADLESS));
    }
    let lifeline = Lifeline::default();
    let ended = match run(survey.clone(), Drawing::default(), &lifeline, None) {
        Err(eframe::Error::Wgpu(error)) => {
            eprintln!("The graphics card cannot be used ({error}); the processor draws the window instead.");
            run(survey, by_the_processor(), &lifeline, None)
        }
        other => other,
    };
    let ended = match lifeline.go_on() {
        Some(GoOn { survey, words }) => {
            eprintln!("{words}");
            run(survey, by_the_processor(), &Lifeline::default(), Some(words))
        }
        None => ended,
    };
    ended.map_err(|e| Failure::new(format!("the window could not be opened: {e}"), HEADLESS))?;
    Ok(Done::Clean)
}

/// Opens the window with a way of drawing it, and something to say in it, if anything. A window that breaks off because its card
/// stopped counts as closed: its lifeline knows.
fn run(survey: Option<PathBuf>, wgpu_options: Drawing, lifeline: &Lifeline, words: Option<String>) -> eframe::Result {
    let viewport =
        egui::ViewportBuilder::default().with_title("Yardring").with_inner_size([1280.0, 800.0]).with_min_inner_size([640.0, 440.0]);
    let options = eframe::NativeOptions { viewport, renderer: eframe::Renderer::Wgpu, wgpu_options, ..Default::default() };
    let held = lifeline.clone();
    let start = move |creation: &eframe::CreationContext<'_>| {
        let app: Box<dyn eframe::App> = Box::new(App::new(creation, survey, settings::file()).on(held, words));
        Ok(app)
    };
    match catch_unwind(AssertUnwindSafe(|| eframe::run_native("yardring", options, Box::new(start)))) {
        Err(panic) if !lifeline.is_cut() => resume_unwind(panic),
        Err(_) => Ok(()),
        Ok(ended) => ended,
    }
}

/// Whether the system names a display. Only systems with X or Wayland can be without one.
fn has_display() -> bool {
    let named = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    !cfg!(all(unix, not(target_os = "macos"))) || named("DISPLAY") || named("WAYLAND_DISPLAY") || named("WAYLAND_SOCKET")
}
