//! A part of an effort, for searches that follow each other.

use crate::walks::{Effort, Standing};

/// The part of an effort between two shares of it.
pub(super) struct Part<'a> {
    whole: &'a mut dyn Effort,
    from: f64,
    to: f64,
    before: u64,
    /// Iterations of this part so far.
    pub done: u64,
    /// Whether better plans are told on.
    tells: bool,
}

impl<'a> Part<'a> {
    /// The part from one share to another, after so many iterations in other parts.
    pub(super) fn new(whole: &'a mut dyn Effort, (from, to): (f64, f64), before: u64, tells: bool) -> Self {
        Self { whole, from, to, before, done: 0, tells }
    }
}

impl Effort for Part<'_> {
    fn share_spent(&mut self, iterations: u64) -> f64 {
        self.done = iterations;
        let share = self.whole.share_spent(self.before + iterations);
        if share >= 1.0 { 1.0 } else { ((share - self.from) / (self.to - self.from).max(1e-9)).max(0.0) }
    }

    fn better(&mut self, standing: Standing, iterations: u64) {
        if self.tells {
            self.whole.better(standing, self.before + iterations);
        }
    }
}
