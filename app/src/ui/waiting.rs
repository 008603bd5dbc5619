//! Long work in the step that asked for it: what, how far, how long, and Cancel.

use super::theme;
use crate::remaining;
use egui::{ProgressBar, RichText, Ui};
use std::time::Duration;

/// How far a piece of work is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Progress {
    /// What is being done, in words.
    pub stage: String,
    /// How much is done.
    pub done: u64,
    /// Out of how much; 0 when that is not known.
    pub total: u64,
    /// How long it has been at work.
    pub since: Duration,
    /// How long it has been at this stage.
    pub in_stage: Duration,
}

impl Progress {
    /// Work is shown once it has taken this long.
    pub const SHOWN_AFTER: Duration = Duration::from_millis(300);

    /// The share done, where the whole is known.
    pub fn share(&self) -> Option<f32> {
        (self.total > 0).then(|| (self.done as f64 / self.total as f64).clamp(0.0, 1.0) as f32)
    }
}

/// Draws the progress and says whether Cancel was pressed.
pub fn waiting(ui: &mut Ui, progress: &Progress) -> bool {
    let tones = theme::tones(ui);
    let seconds = progress.since.as_secs();
    let stage = super::words::sentence(&progress.stage);
    let left = progress.share().and_then(|share| remaining::remaining(f64::from(share), progress.in_stage)).map(remaining::in_words);
    let text = match (left, seconds) {
        (Some(left), _) => format!("{stage} … {left}"),
        (None, 0) => format!("{stage} …"),
        (None, _) => format!("{stage} … {seconds} s"),
    };
    ui.label(RichText::new(text).color(tones.quiet));
    let mut cancelled = false;
    ui.horizontal(|ui| {
        let room = (ui.available_width() - 90.0).max(60.0);
        match progress.share() {
            Some(share) => ui.add(ProgressBar::new(share).desired_width(room).desired_height(8.0).fill(tones.accent)),
            None => ui.add(ProgressBar::new(0.0).desired_width(room).desired_height(8.0)),
        };
        cancelled = ui.button("Cancel").clicked();
    });
    cancelled
}
