//! Whether a survey's file is still the one that was read: two programs that save over each other would lose rows.

use serde::{Deserialize, Serialize};
use std::path::Path;
use std::time::{Duration, UNIX_EPOCH};

/// What a file looked like at one moment, or that there was none.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp(Option<(u64, Option<Duration>)>);

impl Stamp {
    /// What a file looks like now: its length, and when it was written last.
    pub fn of(path: &Path) -> Self {
        let written = |m: &std::fs::Metadata| m.modified().ok()?.duration_since(UNIX_EPOCH).ok();
        Self(std::fs::metadata(path).ok().map(|m| (m.len(), written(&m))))
    }
}
