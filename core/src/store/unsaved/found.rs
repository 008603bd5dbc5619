//! Unsaved changes that a program left behind when it broke off.

use super::line::{LAYOUT, Line, Words};
use super::{ENDING, UnsavedPlace};
use crate::job::Watch;
use crate::store::{Edit, Parts, Stamp, StoreError, apply, load};
use crate::survey::Survey;
use std::collections::BTreeMap;
use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};
use std::time::{Duration, UNIX_EPOCH};

/// What was looked for and found.
#[derive(Debug, Default)]
pub struct LeftBehind {
    /// What programs that broke off left behind, the latest first.
    pub found: Vec<Found>,
    /// How many other windows have unsaved changes of the survey now.
    pub elsewhere: usize,
}

/// Unsaved changes that were left behind. They are held until this is dropped, so that no other window takes them too.
#[derive(Debug)]
pub struct Found {
    files: Vec<PathBuf>,
    content: Option<Content>,
    kept: Option<Duration>,
    _held: File,
}

#[derive(Debug)]
struct Content {
    stamp: Stamp,
    whole: Option<PathBuf>,
    edits: Vec<Edit>,
    words: Words,
    cut: bool,
}

/// Looks for unsaved changes of a survey in the places where they may be kept. Those that another window keeps now are counted, not found.
pub fn look_for_unsaved(places: &[UnsavedPlace]) -> LeftBehind {
    let mut out = LeftBehind::default();
    for place in places {
        for generations in kept_in(place).into_values() {
            match Found::of(&generations) {
                Some(found) => out.found.push(found),
                None => out.elsewhere += 1,
            }
        }
    }
    out.found.sort_by_key(|f| std::cmp::Reverse(f.kept));
    out
}

/// The files of lines in a place: by the window that wrote them, the oldest first.
fn kept_in(place: &UnsavedPlace) -> BTreeMap<String, BTreeMap<u32, PathBuf>> {
    let mut out: BTreeMap<String, BTreeMap<u32, PathBuf>> = BTreeMap::new();
    let begins = format!(".{}.", place.name.to_string_lossy());
    for path in fs::read_dir(&place.folder).into_iter().flatten().flatten().map(|e| e.path()) {
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let middle = name.strip_prefix(&begins).and_then(|rest| rest.strip_suffix(ENDING));
        let parts = middle.and_then(|m| m.split_once('-')).filter(|(token, _)| token.len() == 16);
        if let Some((token, generation)) = parts.and_then(|(t, g)| Some((t.to_owned(), g.parse().ok()?))) {
            out.entry(token).or_default().insert(generation, path);
        }
    }
    out
}

impl Found {
    /// What one window left behind; `None` while it is still open.
    fn of(generations: &BTreeMap<u32, PathBuf>) -> Option<Self> {
        let mut held = None;
        let mut files = Vec::new();
        let mut content = None;
        for path in generations.values().rev() {
            let Ok(file) = File::options().read(true).write(true).open(path) else { continue };
            if matches!(file.try_lock(), Err(TryLockError::WouldBlock)) {
                return None;
            }
            // A file that was begun when the program broke off may not have become whole; the one before it then still is.
            content = content.or_else(|| Content::read(path));
            files.push(path.clone());
            files.push(with_behind(path, ".gpkg"));
            held = held.or(Some((file, path)));
        }
        let (_held, newest) = held?;
        let kept = fs::metadata(newest).and_then(|m| m.modified()).ok().and_then(|at| at.duration_since(UNIX_EPOCH).ok());
        Some(Self { files, content, kept, _held })
    }

    /// What was done and not saved, each thing in a few words with how often it was done; `None` where nothing of it can be read.
    pub fn words(&self) -> Option<&[(String, usize)]> {
        self.content.as_ref().map(|c| &c.words[..])
    }

    /// Whether the last of it was being written when the program broke off, and is lost.
    pub fn is_cut(&self) -> bool {
        self.content.as_ref().is_some_and(|c| c.cut)
    }

    /// When it was kept last, counted from the beginning of 1970 (UTC).
    pub fn kept(&self) -> Option<Duration> {
        self.kept
    }

    /// Whether it can be taken back into a survey whose file looks so: the changes were made on that very file.
    pub fn fits(&self, stamp: Stamp) -> bool {
        self.content.as_ref().is_some_and(|c| c.stamp == stamp)
    }

    /// The survey with the changes; `now` is the survey as its file has it, `stamp` what that file looked like when it was read.
    ///
    /// # Errors
    /// [`StoreError::OtherUnsaved`] when the changes were made on another state of the file, [`StoreError::UnreadableUnsaved`] when they
    /// cannot be read, or do not fit.
    pub fn taken_in(&self, now: Option<&Survey>, stamp: Stamp, watch: &dyn Watch) -> Result<Survey, StoreError> {
        let unreadable = || StoreError::UnreadableUnsaved { path: self.files.first().cloned().unwrap_or_default() };
        let content = self.content.as_ref().ok_or_else(unreadable)?;
        if content.stamp != stamp {
            return Err(StoreError::OtherUnsaved { path: self.files.first().cloned().unwrap_or_default() });
        }
        let mut survey = match &content.whole {
            Some(whole) => load(whole, Parts::EVERYTHING, watch)?,
            None => now.ok_or_else(unreadable)?.clone(),
        };
        for (done, edit) in content.edits.iter().enumerate() {
            watch.step("taking unsaved changes back in", done as u64, content.edits.len() as u64)?;
            apply(&mut survey, edit.clone()).map_err(|_| unreadable())?;
        }
        Ok(survey)
    }

    /// Removes it for good: it is saved, or nobody wants it.
    pub fn remove(&self) {
        self.files.iter().for_each(|f| drop(fs::remove_file(f)));
    }
}

fn with_behind(path: &Path, behind: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(behind);
    name.into()
}

impl Content {
    fn read(path: &Path) -> Option<Self> {
        let bytes = fs::read(path).ok()?;
        let mut lines = bytes.split_inclusive(|b| *b == b'\n');
        let whole_line = |line: &[u8]| line.strip_suffix(b"\n").and_then(Line::read);
        let Line::Begins { layout: LAYOUT, stamp, whole, words } = whole_line(lines.next()?)? else { return None };
        let whole = whole.map(|name| path.with_file_name(name));
        if whole.as_ref().is_some_and(|w| !w.is_file()) {
            return None;
        }
        let mut out = Self { stamp, whole, edits: Vec::new(), words, cut: false };
        for line in lines {
            let read = whole_line(line).and_then(|line| match line {
                Line::Did { edit, words } => Some((edit.edit()?, words)),
                Line::Begins { .. } => None,
            });
            let Some((edit, words)) = read else {
                out.cut = true;
                break;
            };
            out.edits.push(edit);
            out.words = words;
        }
        // Lines that begin on the survey's own file and say nothing more: the program broke off before the first change was kept.
        out.cut |= out.whole.is_none() && out.edits.is_empty();
        Some(out)
    }
}
