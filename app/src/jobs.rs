//! Long work beside the window: the only place that starts threads.
//!
//! A job owns its snapshot. A newer job of the same kind stops the older one, whose answer is dropped.

use crate::ui::waiting::Progress;
use egui::Context;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};
use yardring_core::job::Watch;

/// What a job is about; of each kind one is at work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum JobKind {
    /// A dialog of the system is open.
    Dialog,
    /// Looking at files that were offered.
    Look,
    /// Opening a survey.
    Open,
    /// Writing a survey.
    Save,
    /// Bringing files in.
    BringIn,
    /// Working out where every premise stands.
    Round,
    /// Working out reach and gaps.
    Reach,
    /// Reading a file of barriers.
    Barriers,
    /// Reading a file of lines that no crew crosses.
    Lines,
    /// Learning minutes at a door.
    Learn,
    /// Working out chances.
    Foresee,
    /// Sorting blocks and premises into classes.
    Classes,
    /// Adding up kinds of container.
    Kinds,
    /// Comparing two rounds.
    Change,
    /// Looking for clusters of blocks.
    Clusters,
    /// Looking for visits that are due.
    Due,
    /// Looking for an address.
    Find,
    /// Looking for candidates of visits that found no premise.
    Waiting,
    /// Settling a visit.
    Settle,
    /// Changing a visit by hand.
    Record,
    /// Keeping what is not saved.
    Unsaved,
    /// Looking for unsaved changes that were left behind, or taking them back in.
    LeftBehind,
    /// Making the map's triangles.
    Outlines,
    /// Writing a file to take away.
    Paper,
    /// Planning the day's walks.
    Walks,
    /// Writing the day's sheets.
    Sheets,
    /// Learning the ways between the day's doors.
    Ways,
    /// Opening a file of map tiles.
    OpenGround,
    /// Unpacking map tiles.
    Ground,
}

/// What the window watches of one job.
#[derive(Debug)]
struct Shared {
    stop: AtomicBool,
    at: Mutex<At>,
    context: Context,
}

/// How far a job is.
#[derive(Debug)]
struct At {
    stage: String,
    done: u64,
    total: u64,
    /// When the stage began, and when the window was woken last.
    began: Instant,
    told: Instant,
}

impl Watch for Shared {
    fn progress(&self, stage: &str, done: u64, total: u64) {
        let mut at = self.at.lock().unwrap_or_else(PoisonError::into_inner);
        let changed = at.stage != stage;
        if changed {
            stage.clone_into(&mut at.stage);
            at.began = Instant::now();
        }
        (at.done, at.total) = (done, total);
        if changed || at.told.elapsed() > Duration::from_millis(100) {
            at.told = Instant::now();
            self.context.request_repaint();
        }
    }

    fn cancelled(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

#[derive(Debug)]
struct Running {
    kind: JobKind,
    ticket: u64,
    began: Instant,
    shared: Arc<Shared>,
}

/// What comes back from a job's thread.
struct Finished<T> {
    ticket: u64,
    answer: Option<T>,
}

/// All jobs at work; `T` is what they answer.
pub struct Jobs<T> {
    sender: Sender<Finished<T>>,
    receiver: Receiver<Finished<T>>,
    running: Vec<Running>,
    tickets: u64,
    context: Context,
}

impl<T> std::fmt::Debug for Jobs<T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Jobs").field("running", &self.running).finish_non_exhaustive()
    }
}

impl<T: Send + 'static> Jobs<T> {
    /// No jobs yet; `context` is woken when one has something to tell.
    pub fn new(context: Context) -> Self {
        let (sender, receiver) = channel();
        Self { sender, receiver, running: Vec::new(), tickets: 0, context }
    }

    /// The window that the jobs work for, to hand pictures to.
    pub fn window(&self) -> Context {
        self.context.clone()
    }

    /// Starts a job and stops the one of its kind that was at work.
    pub fn start(&mut self, kind: JobKind, stage: &str, work: impl FnOnce(&dyn Watch) -> T + Send + 'static) {
        self.cancel(kind);
        self.tickets += 1;
        let now = Instant::now();
        let at = Mutex::new(At { stage: stage.to_owned(), done: 0, total: 0, began: now, told: now });
        let shared = Arc::new(Shared { stop: AtomicBool::new(false), at, context: self.context.clone() });
        self.running.push(Running { kind, ticket: self.tickets, began: now, shared: Arc::clone(&shared) });
        let (sender, ticket) = (self.sender.clone(), self.tickets);
        std::thread::spawn(move || {
            let run = std::panic::AssertUnwindSafe(|| work(&*shared));
            // A job that breaks ends its own work only; the window says so and goes on.
            let answer = std::panic::catch_unwind(run).ok();
            // The window may be gone by now; then nobody waits for the answer.
            let _ = sender.send(Finished { ticket, answer });
            shared.context.request_repaint();
        });
        self.context.request_repaint_after(Progress::SHOWN_AFTER);
    }

    /// Stops the job of a kind; whatever it answers is dropped.
    pub fn cancel(&mut self, kind: JobKind) {
        for job in self.running.iter().filter(|j| j.kind == kind) {
            job.shared.stop.store(true, Ordering::Relaxed);
        }
        self.running.retain(|j| j.kind != kind);
    }

    /// The answers that came in since the last look, each with its kind; `None` for a job that broke.
    pub fn collect(&mut self) -> Vec<(JobKind, Option<T>)> {
        let mut out = Vec::new();
        while let Ok(finished) = self.receiver.try_recv() {
            out.extend(self.take(finished));
        }
        out
    }

    /// Waits for the next answer; `None` when no job is at work.
    pub fn wait(&mut self) -> Option<(JobKind, Option<T>)> {
        while !self.running.is_empty() {
            let finished = self.receiver.recv().ok()?;
            if let Some(done) = self.take(finished) {
                return Some(done);
            }
        }
        None
    }

    fn take(&mut self, finished: Finished<T>) -> Option<(JobKind, Option<T>)> {
        let at = self.running.iter().position(|j| j.ticket == finished.ticket)?;
        Some((self.running.swap_remove(at).kind, finished.answer))
    }

    /// Whether no job is at work.
    pub fn none(&self) -> bool {
        self.running.is_empty()
    }

    /// Whether a job of a kind is at work.
    pub fn at_work(&self, kind: JobKind) -> bool {
        self.running.iter().any(|j| j.kind == kind)
    }

    /// How far the job of a kind is, once it has been at work long enough to be shown.
    pub fn progress(&self, kind: JobKind) -> Option<Progress> {
        let job = self.running.iter().find(|j| j.kind == kind)?;
        let since = job.began.elapsed();
        (since >= Progress::SHOWN_AFTER).then(|| {
            let at = job.shared.at.lock().unwrap_or_else(PoisonError::into_inner);
            Progress { stage: at.stage.clone(), done: at.done, total: at.total, since, in_stage: at.began.elapsed() }
        })
    }
}

/// A file that somebody takes away: for the crews, the meeting, the county.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// The gaps, ranked.
    Gaps,
    /// The brief map as a picture.
    Map,
    /// The briefing for the meeting.
    Briefing,
    /// Notices for householders.
    Notices,
    /// The measures of every block.
    Blocks,
    /// What every kind of container gives.
    Kinds,
    /// The chart of the change between rounds.
    Change,
    /// Rows that did not come in, with the reason.
    Refused,
    /// What came in last and how.
    Report,
    /// Which column of the offered files means what.
    Match,
}

impl Paper {
    /// The button that asks for it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Gaps => "Save the gap list…",
            Self::Map => "Save the map…",
            Self::Briefing => "Save the briefing…",
            Self::Notices => "Save the notices…",
            Self::Blocks => "Save the table…",
            Self::Kinds => "Save the table of kinds…",
            Self::Change => "Save the chart…",
            Self::Refused => "Save the refused rows…",
            Self::Report => "Save the report…",
            Self::Match => "Save the match…",
        }
    }

    /// The name that is proposed for the file.
    pub fn file_name(self) -> &'static str {
        match self {
            Self::Gaps => "gaps.csv",
            Self::Map => "map.png",
            Self::Briefing => "briefing.pdf",
            Self::Notices => "notices.pdf",
            Self::Blocks => "blocks.csv",
            Self::Kinds => "kinds.csv",
            Self::Change => "change.pdf",
            Self::Refused => "refused.csv",
            Self::Report => "report.json",
            Self::Match => "columns.toml",
        }
    }

    /// Endings that the file may have, the usual one first.
    pub fn endings(self) -> &'static [&'static str] {
        match self {
            Self::Gaps => &["csv", "gpkg", "geojson", "shp", "kml", "gpx", "fgb"],
            Self::Blocks | Self::Kinds | Self::Refused => &["csv"],
            Self::Map => &["png", "svg", "pdf"],
            Self::Briefing | Self::Notices => &["pdf"],
            Self::Change => &["pdf", "png", "svg"],
            Self::Report => &["json"],
            Self::Match => &["toml"],
        }
    }
}

/// What a dialog for files is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// A survey to open.
    Survey,
    /// A name for a survey to write.
    NewSurvey,
    /// Files to bring in.
    Files,
    /// A file of map tiles to lie under the survey.
    Ground,
    /// A file of barriers.
    Barriers,
    /// A file of lines that no crew crosses.
    Lines,
    /// A column map to read.
    Match,
    /// A name for a file to take away.
    Paper(Paper),
    /// A folder for the day's sheets, or for those of one crew.
    SheetFolder(Option<usize>),
}

/// Endings of files that hold lines.
const LINES: [&str; 6] = ["shp", "zip", "geojson", "json", "gpkg", "fgb"];

/// Opens the system's dialog and waits for it; empty when it was closed without a choice. For use inside a job.
pub fn ask_for_files(wanted: Wanted) -> Vec<PathBuf> {
    let dialog = rfd::FileDialog::new();
    let one = |chosen: Option<PathBuf>| chosen.into_iter().collect();
    match wanted {
        Wanted::Survey => one(dialog.set_title("Open a survey").add_filter("Survey", &["gpkg"]).pick_file()),
        Wanted::NewSurvey => {
            one(dialog.set_title("Save the survey as").add_filter("Survey", &["gpkg"]).set_file_name("survey.gpkg").save_file())
        }
        Wanted::SheetFolder(_) => one(dialog.set_title("Choose a folder for the sheets").pick_folder()),
        Wanted::Barriers => one(dialog.set_title("Choose lines that flight rarely crosses").add_filter("Lines", &LINES).pick_file()),
        Wanted::Lines => one(dialog.set_title("Choose lines that no crew crosses").add_filter("Lines", &LINES).pick_file()),
        Wanted::Paper(paper) => {
            let titled = dialog.set_title(paper.label().trim_end_matches('…')).add_filter("File", paper.endings());
            one(titled.set_file_name(paper.file_name()).save_file())
        }
        Wanted::Ground => one(dialog.set_title("Choose a file of map tiles").add_filter("Map tiles", &["pmtiles", "mbtiles"]).pick_file()),
        Wanted::Match => one(dialog.set_title("Read a match of columns").add_filter("Column map", &["toml"]).pick_file()),
        Wanted::Files => {
            let endings = ["shp", "zip", "geojson", "json", "gpkg", "fgb", "osm", "pbf", "gz", "bz2", "csv", "xlsx", "ods"];
            dialog.set_title("Choose files to bring in").add_filter("Parcels, streets, visits", &endings).pick_files().unwrap_or_default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_of_a_kind_wins_and_the_older_is_told_to_stop() {
        let mut jobs: Jobs<u32> = Jobs::new(Context::default());
        let (tell, told) = channel::<bool>();
        jobs.start(JobKind::Reach, "first", move |watch| {
            while !watch.cancelled() {
                std::thread::yield_now();
            }
            tell.send(true).unwrap();
            1
        });
        jobs.start(JobKind::Reach, "second", |_| 2);
        jobs.start(JobKind::Find, "other", |_| 3);
        assert!(told.recv().unwrap());
        let mut answers: Vec<_> = std::iter::from_fn(|| jobs.wait()).collect();
        answers.sort();
        assert_eq!(answers, [(JobKind::Reach, Some(2)), (JobKind::Find, Some(3))]);
    }

    #[test]
    fn a_job_that_breaks_is_told_and_does_no_harm() {
        let mut jobs: Jobs<u32> = Jobs::new(Context::default());
        jobs.start(JobKind::Save, "breaking", |_| panic!("as this test wants"));
        assert_eq!(jobs.wait(), Some((JobKind::Save, None)));
        assert!(!jobs.at_work(JobKind::Save));
    }
}
