//! Changes that are not saved, kept beside the survey's file until they are, so that a crash loses nothing.
//!
//! Small changes (a visit, a setting) are lines added to a file; a change of everything (files brought in) is a whole survey written
//! beside, on which later lines rest. Either is bound to the [`Stamp`] of the survey's file: changes of an older file are never laid over a
//! newer one. Whoever keeps changes holds the file locked; what nobody holds was left behind by a program that broke off.

mod found;
mod line;

pub use found::{Found, LeftBehind, look_for_unsaved};

use super::history::Step;
use super::{Stamp, StoreError, save};
use crate::job::Watch;
use crate::survey::{Survey, mark};
use line::{LAYOUT, Line, Small, Words};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// How a kept file's name ends.
const ENDING: &str = ".unsaved";
/// A file of lines this long is written anew as a whole survey: 64 MiB.
const LONG: u64 = 64 << 20;

/// Where the unsaved changes of a survey may be kept: a folder, and the name that its files begin with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnsavedPlace {
    folder: PathBuf,
    name: OsString,
    /// The survey's own file, whose rights the kept files get.
    like: Option<PathBuf>,
}

impl UnsavedPlace {
    /// The places for a survey with a file: beside it, and in a folder of the user's own for when nothing can be written there.
    pub fn of_file(path: &Path, own_folder: &Path) -> Vec<Self> {
        let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        let name = whole.file_name().unwrap_or_default().to_owned();
        let mut marked = name.clone();
        marked.push(format!(" {:016x}", mark::after(mark::FIRST, whole.to_string_lossy().bytes())));
        let beside = Self { folder: whole.parent().unwrap_or(Path::new(".")).to_owned(), name, like: Some(whole.clone()) };
        vec![beside, Self { folder: own_folder.to_owned(), name: marked, like: Some(whole) }]
    }

    /// The place for a survey that has no file yet.
    pub fn of_new(own_folder: &Path) -> Vec<Self> {
        vec![Self { folder: own_folder.to_owned(), name: "new survey".into(), like: None }]
    }

    /// A file's path here: hidden where a dot hides.
    fn path(&self, token: &str, generation: u32, behind: &str) -> PathBuf {
        let mut name = OsString::from(".");
        name.push(&self.name);
        name.push(format!(".{token}-{generation}{ENDING}{behind}"));
        self.folder.join(name)
    }
}

/// What there is to keep.
#[derive(Clone, Copy, Debug)]
pub struct ToKeep<'a> {
    /// The survey as it is now.
    pub survey: &'a Survey,
    /// What its file looked like when it was read or written last.
    pub stamp: Stamp,
    /// What was done since changes were kept last.
    pub steps: &'a [Step],
    /// Everything that is not saved, in words, each with how often it was done.
    pub words: &'a [(String, usize)],
    /// Write the whole survey, whatever the steps are: nothing else tells it.
    pub whole: bool,
}

/// Keeps the unsaved changes of one open survey.
///
/// ```
/// use yardring_core::job::Unwatched;
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::store::{Edit, History, Keeper, Stamp, ToKeep, UnsavedPlace, look_for_unsaved, save};
/// use yardring_core::survey::Survey;
/// let folder = tempfile::tempdir()?;
/// let (path, own) = (folder.path().join("Mill.gpkg"), folder.path().join("own"));
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
/// save(&survey, &path, &Unwatched)?;
/// let (as_read, stamp) = (survey.clone(), Stamp::of(&path));
///
/// let mut history = History::default();
/// history.perform(&mut survey, Edit::rename("Mill quarter"))?;
/// let mut keeper = Keeper::new(UnsavedPlace::of_file(&path, &own), 7);
/// let (steps, words) = (history.take_steps(), history.unsaved_words());
/// keeper.keep(ToKeep { survey: &survey, stamp, steps: &steps, words: &words, whole: false }, &Unwatched)?;
/// drop(keeper); // the program breaks off
///
/// let left = look_for_unsaved(&UnsavedPlace::of_file(&path, &own));
/// assert_eq!(left.found[0].words(), Some(&[("Rename the survey".to_owned(), 1)][..]));
/// assert_eq!(left.found[0].taken_in(Some(&as_read), stamp, &Unwatched)?, survey);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Keeper {
    places: Vec<UnsavedPlace>,
    token: String,
    generation: u32,
    now: Option<Kept>,
}

/// The file that changes are added to, and the whole survey that it rests on.
#[derive(Debug)]
struct Kept {
    place: UnsavedPlace,
    lines: File,
    path: PathBuf,
    whole: Option<PathBuf>,
    length: u64,
}

impl Keeper {
    /// A keeper that has kept nothing yet, in the first of some places that can be written to. `chance` is a number that no other open
    /// window has.
    pub fn new(places: Vec<UnsavedPlace>, chance: u64) -> Self {
        Self { places, token: format!("{chance:016x}"), generation: 0, now: None }
    }

    /// Whether something is kept.
    pub fn keeps(&self) -> bool {
        self.now.is_some()
    }

    /// Keeps what is not saved. It is on the disk when this is done; what was kept before stays until then.
    ///
    /// # Errors
    /// [`StoreError`] when it cannot be written anywhere, or somebody stopped it; then the next call has to ask for the whole survey.
    pub fn keep(&mut self, what: ToKeep<'_>, watch: &dyn Watch) -> Result<(), StoreError> {
        let long = self.now.as_ref().is_some_and(|now| now.length > LONG);
        if what.whole || long || what.steps.contains(&Step::Whole) {
            return self.begin(what, true, watch);
        }
        if self.now.is_none() {
            self.begin(what, false, watch)?;
        }
        let Some(now) = &mut self.now else { return Ok(()) };
        let small = what.steps.iter().filter_map(|s| if let Step::Small(edit) = s { Small::of(edit) } else { None });
        let bytes: Vec<u8> = small.flat_map(|edit| Line::Did { edit, words: what.words.to_vec() }.written()).collect();
        now.add(&bytes).map_err(|source| StoreError::Refused { path: now.path.clone(), source })
    }

    /// Begins a new file in the first place that takes it, and lets the one before go.
    fn begin(&mut self, what: ToKeep<'_>, whole: bool, watch: &dyn Watch) -> Result<(), StoreError> {
        self.generation += 1;
        let mut refused = None;
        for place in &self.places {
            match Kept::begin(place, (&self.token, self.generation), what, whole, watch) {
                Ok(kept) => {
                    if let Some(before) = self.now.replace(kept) {
                        before.remove();
                    }
                    return Ok(());
                }
                Err(StoreError::Cancelled(stopped)) => return Err(stopped.into()),
                Err(error) => refused = refused.or(Some(error)),
            }
        }
        refused.map_or(Ok(()), Err)
    }

    /// Removes what is kept: it is saved, or nobody wants it.
    pub fn end(&mut self) {
        if let Some(kept) = self.now.take() {
            kept.remove();
        }
    }

    /// The same, and nothing is kept from now on, whatever still asks for it.
    pub fn close(&mut self) {
        self.end();
        self.places.clear();
    }
}

impl Kept {
    fn begin(
        place: &UnsavedPlace,
        (token, generation): (&str, u32),
        what: ToKeep<'_>,
        whole: bool,
        watch: &dyn Watch,
    ) -> Result<Self, StoreError> {
        let whole = whole.then(|| place.path(token, generation, ".gpkg"));
        if let Some(whole) = &whole {
            make_folder(&place.folder).map_err(|source| StoreError::Refused { path: place.folder.clone(), source })?;
            save(what.survey, whole, watch)?;
            take_rights(place, whole);
        }
        let path = place.path(token, generation, "");
        let name = whole.as_ref().and_then(|w| w.file_name()).map(|n| n.to_string_lossy().into_owned());
        let words: Words = what.words.to_vec();
        let first = Line::Begins { layout: LAYOUT, stamp: what.stamp, whole: name, words }.written();
        match lines_file(place, &path, &first) {
            Ok(lines) => Ok(Self { place: place.clone(), lines, path, whole, length: first.len() as u64 }),
            Err(source) => {
                whole.iter().for_each(|w| drop(fs::remove_file(w)));
                Err(StoreError::Refused { path, source })
            }
        }
    }

    fn add(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        self.lines.write_all(bytes)?;
        self.length += bytes.len() as u64;
        self.lines.sync_data()
    }

    fn remove(self) {
        // The lines go first: a whole survey that nothing names is never taken for one.
        let _ = fs::remove_file(&self.path);
        self.whole.iter().for_each(|whole| drop(fs::remove_file(whole)));
        remember(&self.place.folder);
    }
}

/// A new file with its first line, held from before anybody can see it.
fn lines_file(place: &UnsavedPlace, path: &Path, first: &[u8]) -> std::io::Result<File> {
    make_folder(&place.folder)?;
    let mut hidden = path.as_os_str().to_owned();
    hidden.push(".begun");
    let hidden = PathBuf::from(hidden);
    let begun = || -> std::io::Result<File> {
        let mut file = private().open(&hidden)?;
        // Where files cannot be held, two windows on one survey are not told apart.
        let _ = file.lock();
        take_rights(place, &hidden);
        file.write_all(first)?;
        file.sync_all()?;
        fs::rename(&hidden, path)?;
        remember(&place.folder);
        Ok(file)
    };
    begun().inspect_err(|_| drop(fs::remove_file(&hidden)))
}

/// Files that nobody but the user reads, until they get the rights of the survey.
fn private() -> fs::OpenOptions {
    let mut options = File::options();
    options.read(true).write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

fn make_folder(folder: &Path) -> std::io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    if folder.is_dir() { Ok(()) } else { builder.create(folder) }
}

/// Gives a kept file the rights of the survey's own, so that whoever may not read that reads neither.
fn take_rights(place: &UnsavedPlace, kept: &Path) {
    let rights = place.like.as_ref().and_then(|own| fs::metadata(own).ok()).map(|m| m.permissions());
    if let Some(rights) = rights.filter(|r| !r.readonly()) {
        let _ = fs::set_permissions(kept, rights);
    }
}

/// Has the folder write down its names; not every system can be asked to.
fn remember(folder: &Path) {
    let _ = File::open(folder).and_then(|f| f.sync_all());
}

#[cfg(test)]
mod tests;
