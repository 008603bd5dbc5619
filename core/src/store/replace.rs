//! Putting a new file in the place of an old one, so that there is always a whole one.

use super::StoreError;
use rusqlite::{Connection, OpenFlags};
use std::ffi::OsString;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

static COUNT: AtomicU64 = AtomicU64::new(0);

/// A file being written beside the one that it will replace. It is removed unless [`Unfinished::finish`] is reached.
#[derive(Debug)]
pub(super) struct Unfinished {
    path: PathBuf,
    goal: PathBuf,
}

impl Unfinished {
    /// A name in the goal's own folder that no other writer uses.
    pub(super) fn beside(goal: &Path) -> Self {
        let mut name = OsString::from(".");
        name.push(goal.file_name().unwrap_or_default());
        name.push(format!(".{}-{}.unfinished", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed)));
        Self { path: goal.with_file_name(name), goal: goal.to_owned() }
    }

    /// Where to write.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Makes sure that the new file has reached the disk and puts it in the place of the old one in one step.
    ///
    /// # Errors
    /// [`StoreError::InUse`] when another program holds the old file, [`StoreError::Refused`] when the computer refuses.
    pub(super) fn finish(self) -> Result<(), StoreError> {
        let refused = |source| StoreError::Refused { path: self.goal.clone(), source };
        settle_old(&self.goal)?;
        File::open(&self.path).and_then(|f| f.sync_all()).map_err(refused)?;
        fs::rename(&self.path, &self.goal).map_err(refused)?;
        // The folder remembers the new name; not every system can be asked to write a folder down.
        if let Some(folder) = self.goal.parent().filter(|p| !p.as_os_str().is_empty()) {
            let _ = File::open(folder).and_then(|f| f.sync_all());
        }
        Ok(())
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}

/// Brings the changes home that another program may have left beside the old file: they would be played into the new one.
fn settle_old(goal: &Path) -> Result<(), StoreError> {
    let left = |ending: &str| {
        let mut name = goal.as_os_str().to_owned();
        name.push(ending);
        fs::metadata(PathBuf::from(name)).is_ok_and(|m| m.len() > 0)
    };
    if !left("-wal") && !left("-journal") {
        return Ok(());
    }
    let settled = Connection::open_with_flags(goal, OpenFlags::SQLITE_OPEN_READ_WRITE).and_then(|old| {
        old.busy_timeout(std::time::Duration::ZERO)?;
        old.pragma_update_and_check(None, "journal_mode", "DELETE", |row| row.get::<_, String>(0))
    });
    if settled.is_ok() && !left("-wal") && !left("-journal") { Ok(()) } else { Err(StoreError::InUse { path: goal.to_owned() }) }
}
