//! Putting a new file in the place of an old one, so that there is always a whole one.

use rusqlite::{Connection, OpenFlags};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

static COUNT: AtomicU64 = AtomicU64::new(0);

/// A file being written beside the one that it will replace. It is removed unless [`Unfinished::finish`] is reached.
#[derive(Debug)]
pub(crate) struct Unfinished {
    path: PathBuf,
    goal: PathBuf,
}

impl Unfinished {
    /// A name in the goal's own folder that no other writer uses.
    pub(crate) fn beside(goal: &Path) -> Self {
        let mut name = OsString::from(".");
        name.push(goal.file_name().unwrap_or_default());
        name.push(format!(".{}-{}.unfinished", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed)));
        Self { path: goal.with_file_name(name), goal: goal.to_owned() }
    }

    /// Where to write.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Makes sure that the new file has reached the disk and puts it in the place of the old one in one step.
    ///
    /// # Errors
    /// [`ErrorKind::ResourceBusy`] when another program has unsaved changes in the old file; otherwise what the computer says.
    pub(crate) fn finish(self) -> Result<(), Error> {
        settle_old(&self.goal)?;
        File::open(&self.path)?.sync_all()?;
        fs::rename(&self.path, &self.goal)?;
        self.remember();
        Ok(())
    }

    /// [`Unfinished::finish`], but only while the old file is as it was; whether it was. Of several writers that have read the same file
    /// one alone gets through: each holds the old file while it looks, and a file that was not there is made, never replaced.
    ///
    /// # Errors
    /// As [`Unfinished::finish`].
    pub(crate) fn finish_while(self, unchanged: impl FnOnce() -> bool) -> Result<bool, Error> {
        settle_old(&self.goal)?;
        File::open(&self.path)?.sync_all()?;
        let Ok(old) = File::open(&self.goal) else {
            if !unchanged() {
                return Ok(false);
            }
            match fs::hard_link(&self.path, &self.goal) {
                Err(error) if error.kind() == ErrorKind::AlreadyExists => return Ok(false),
                // Not every disk has a second name for a file.
                Err(_) => fs::rename(&self.path, &self.goal)?,
                Ok(()) => {}
            }
            self.remember();
            return Ok(true);
        };
        // Where files cannot be held the look alone has to do.
        let _ = old.lock();
        if !unchanged() {
            return Ok(false);
        }
        fs::rename(&self.path, &self.goal)?;
        self.remember();
        Ok(true)
    }

    /// Has the folder write down the new name.
    fn remember(&self) {
        // The folder remembers the new name; not every system can be asked to write a folder down.
        if let Some(folder) = self.goal.parent().filter(|p| !p.as_os_str().is_empty()) {
            let _ = File::open(folder).and_then(|f| f.sync_all());
        }
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}

/// Brings the changes home that another program may have left beside an old database: they would be played into the new one.
fn settle_old(goal: &Path) -> Result<(), Error> {
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
    if settled.is_ok() && !left("-wal") && !left("-journal") { Ok(()) } else { Err(Error::from(ErrorKind::ResourceBusy)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unfinished_file_goes_away_and_the_old_one_stays() {
        let folder = tempfile::tempdir().unwrap();
        let goal = folder.path().join("a.csv");
        fs::write(&goal, "old").unwrap();
        let half = Unfinished::beside(&goal);
        fs::write(half.path(), "ha").unwrap();
        drop(half);
        assert_eq!((fs::read_to_string(&goal).unwrap().as_str(), fs::read_dir(folder.path()).unwrap().count()), ("old", 1));
        let whole = Unfinished::beside(&goal);
        fs::write(whole.path(), "new").unwrap();
        whole.finish().unwrap();
        assert_eq!((fs::read_to_string(&goal).unwrap().as_str(), fs::read_dir(folder.path()).unwrap().count()), ("new", 1));
    }

    #[test]
    fn changes_that_another_program_holds_are_not_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let goal = folder.path().join("a.gpkg");
        let other = Connection::open(&goal).unwrap();
        other.execute_batch("PRAGMA journal_mode = WAL; CREATE TABLE t(a); INSERT INTO t VALUES (1);").unwrap();
        let new = Unfinished::beside(&goal);
        fs::write(new.path(), "new").unwrap();
        assert_eq!(new.finish().unwrap_err().kind(), ErrorKind::ResourceBusy);
        assert_eq!(other.query_row("SELECT a FROM t", [], |r| r.get::<_, i64>(0)), Ok(1));
    }
}
