//! Where answers and progress go.

use super::Failure;
use crate::remaining;
use serde_json::Value;
use std::io::{IsTerminal as _, Write as _};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};
use yardring_core::job::Watch;

/// How a verb ended when it was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Done {
    /// Nothing to remark.
    Clean,
    /// Rows were refused, or something was noticed that people should look at.
    Warned,
}

/// Answers on standard output, as text or as JSON; progress on standard error when that is a terminal.
#[derive(Debug)]
pub struct Output {
    json: bool,
    terminal: bool,
    shown: AtomicBool,
    /// Why the answer could not be printed.
    unprinted: Mutex<Option<std::io::Error>>,
    /// The stage, when it began, and when its progress was shown last.
    at: Mutex<Option<(String, Instant, Instant)>>,
}

impl Output {
    /// Output in machine text or in words.
    pub fn new(json: bool) -> Self {
        Self {
            json,
            terminal: std::io::stderr().is_terminal(),
            shown: AtomicBool::new(false),
            unprinted: Mutex::new(None),
            at: Mutex::new(None),
        }
    }

    /// Prints the answer: the words, or the JSON value, which is made only when machine text was asked for.
    pub fn answer(&self, words: &str, machine: impl FnOnce() -> Value) {
        let text = if self.json { format!("{:#}", machine()) } else { words.trim_end().to_owned() };
        let mut to = std::io::stdout().lock();
        if let Err(error) = writeln!(to, "{text}").and_then(|()| to.flush()) {
            *self.unprinted.lock().unwrap_or_else(PoisonError::into_inner) = Some(error);
        }
    }

    /// What was wrong when the answer could not be printed. A reader that closed the pipe early (head, a pager) has seen what it wanted.
    pub fn failed(&self) -> Option<Failure> {
        let error = self.unprinted.lock().unwrap_or_else(PoisonError::into_inner).take()?;
        let told = error.kind() != std::io::ErrorKind::BrokenPipe;
        told.then(|| Failure::new(format!("the answer could not be printed: {error}"), "Make room where it is sent to, then ask again"))
    }

    /// Says something beside the answer, on standard error.
    pub fn note(&self, words: &str) {
        self.clear_progress();
        say(words);
    }

    /// Removes the progress line before something else is printed.
    pub fn clear_progress(&self) {
        if self.shown.swap(false, Ordering::Relaxed) {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}

/// Says something on standard error, if anybody listens.
pub fn say(words: &str) {
    let _ = writeln!(std::io::stderr(), "{words}");
}

/// Progress of one stage is shown this often.
const SHOWN_EVERY: Duration = Duration::from_millis(100);

fn progress_in_words(stage: &str, done: u64, total: u64, since: Duration) -> String {
    let Some(percent) = (done * 100).checked_div(total) else { return format!("{stage} …") };
    match remaining::remaining(done as f64 / total as f64, since) {
        Some(left) => format!("{stage}: {percent} %, {}", remaining::in_words(left)),
        None => format!("{stage}: {percent} %"),
    }
}

impl Watch for Output {
    fn progress(&self, stage: &str, done: u64, total: u64) {
        if !self.terminal {
            return;
        }
        let mut at = self.at.lock().unwrap_or_else(PoisonError::into_inner);
        let now = Instant::now();
        let (began, shown) =
            at.as_ref().filter(|(known, ..)| known == stage).map_or((now, None), |(_, began, shown)| (*began, Some(*shown)));
        if shown.is_some_and(|shown| now.duration_since(shown) < SHOWN_EVERY) {
            return;
        }
        *at = Some((stage.to_owned(), began, now));
        self.shown.store(true, Ordering::Relaxed);
        let _ = write!(std::io::stderr(), "\r\x1b[K{}", progress_in_words(stage, done, total, now.duration_since(began)));
    }

    fn cancelled(&self) -> bool {
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_says_what_how_far_and_how_long() {
        assert_eq!(progress_in_words("reading", 0, 0, Duration::from_secs(9)), "reading …");
        assert_eq!(progress_in_words("reading", 1, 4, Duration::from_secs(1)), "reading: 25 %");
        assert_eq!(progress_in_words("reading", 1, 4, Duration::from_secs(3)), "reading: 25 %, about 9 s left");
    }
}
