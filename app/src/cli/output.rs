//! Where answers and progress go.

use serde_json::Value;
use std::io::{IsTerminal as _, Write as _};
use std::sync::atomic::{AtomicBool, Ordering};
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
}

impl Output {
    /// Output in machine text or in words.
    pub fn new(json: bool) -> Self {
        Self { json, terminal: std::io::stderr().is_terminal(), shown: AtomicBool::new(false) }
    }

    /// Prints the answer: the words, or the JSON value, which is made only when machine text was asked for.
    pub fn answer(&self, words: &str, machine: impl FnOnce() -> Value) {
        let text = if self.json { format!("{:#}", machine()) } else { words.trim_end().to_owned() };
        // A reader that closed the pipe early (head, a pager) has seen what it wanted.
        let _ = writeln!(std::io::stdout(), "{text}");
    }

    /// Says something beside the answer, on standard error.
    pub fn note(&self, words: &str) {
        self.clear_progress();
        eprintln!("{words}");
    }

    /// Removes the progress line before something else is printed.
    pub fn clear_progress(&self) {
        if self.shown.swap(false, Ordering::Relaxed) {
            eprint!("\r\x1b[K");
        }
    }
}

impl Watch for Output {
    fn progress(&self, stage: &str, done: u64, total: u64) {
        if !self.terminal {
            return;
        }
        self.shown.store(true, Ordering::Relaxed);
        match (done * 100).checked_div(total) {
            Some(percent) => eprint!("\r\x1b[K{stage}: {percent} %"),
            None => eprint!("\r\x1b[K{stage} …"),
        }
    }

    fn cancelled(&self) -> bool {
        false
    }
}
