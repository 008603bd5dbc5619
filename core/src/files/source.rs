//! A file on the disk: its bytes, and those of the files beside it.

use super::FileError;
use super::shapefile::{Attributes, Beside};
use std::fs;
use std::path::{Path, PathBuf};

/// A file that was opened.
#[derive(Debug)]
pub(super) struct Source {
    /// The path as it is told to people.
    pub file: String,
    pub path: PathBuf,
    /// The file's name without folders and ending.
    pub name: String,
    /// The ending in small letters.
    pub ending: String,
    /// How many bytes it has.
    pub size: u64,
    /// Its first bytes.
    pub start: Vec<u8>,
}

/// The path, and the layer that is written behind it as `FILE#LAYER`, unless a file of that whole name is there.
pub(super) fn split_layer(path: &Path) -> (PathBuf, Option<String>) {
    let whole = (path.to_path_buf(), None);
    if path.exists() {
        return whole;
    }
    match path.to_str().and_then(|p| p.rsplit_once('#')) {
        Some((file, layer)) if Path::new(file).exists() && !layer.is_empty() => (file.into(), Some(layer.to_owned())),
        _ => whole,
    }
}

impl Source {
    /// Opens a file and looks at its first bytes.
    ///
    /// # Errors
    /// [`FileError`] when it cannot be opened, is no file, or is empty.
    pub fn open(path: &Path) -> Result<Self, FileError> {
        let file = path.display().to_string();
        let closed = |source| FileError::Closed { file: file.clone(), source };
        let facts = fs::metadata(path).map_err(closed)?;
        if !facts.is_file() {
            let found = if facts.is_dir() { "a folder" } else { "a device or a pipe" };
            return Err(FileError::NotAFile { file, found });
        }
        if facts.len() == 0 {
            return Err(FileError::Empty { file });
        }
        let mut start = Vec::with_capacity(512);
        std::io::Read::read_to_end(&mut std::io::Read::take(fs::File::open(path).map_err(closed)?, 512), &mut start).map_err(closed)?;
        let part = |p: Option<&std::ffi::OsStr>| p.map_or_else(String::new, |s| s.to_string_lossy().into_owned());
        let (name, ending) = (part(path.file_stem()), part(path.extension()).to_lowercase());
        Ok(Self { path: path.to_path_buf(), name, ending, size: facts.len(), start, file })
    }

    /// All its bytes.
    ///
    /// # Errors
    /// [`FileError::Closed`] when it cannot be read.
    pub fn bytes(&self) -> Result<Vec<u8>, FileError> {
        fs::read(&self.path).map_err(|source| FileError::Closed { file: self.file.clone(), source })
    }

    /// Its bytes, not yet read.
    ///
    /// # Errors
    /// [`FileError::Closed`] when it cannot be opened.
    pub fn unread(&self) -> Result<fs::File, FileError> {
        fs::File::open(&self.path).map_err(|source| FileError::Closed { file: self.file.clone(), source })
    }

    /// The bytes of the file of the same name with another ending, in whatever case it is written.
    pub fn beside(&self, ending: &str) -> Option<Vec<u8>> {
        fs::read(self.path_beside(ending)?).ok()
    }

    fn path_beside(&self, ending: &str) -> Option<PathBuf> {
        let written = [ending.to_owned(), ending.to_uppercase()].into_iter().map(|e| self.path.with_extension(e)).find(|p| p.is_file());
        written.or_else(|| self.beside_in_any_case(ending))
    }

    fn beside_in_any_case(&self, ending: &str) -> Option<PathBuf> {
        let wanted = format!("{}.{ending}", self.name);
        let folder = self.path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut found: Vec<PathBuf> = fs::read_dir(folder)
            .ok()?
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|p| p.file_name().is_some_and(|n| n.to_string_lossy().eq_ignore_ascii_case(&wanted)) && p.is_file())
            .collect();
        found.sort();
        found.into_iter().next()
    }

    /// What lies beside a `.shp`.
    pub fn beside_shapefile(&self) -> Beside {
        let dbf = self.path_beside("dbf").and_then(|path| fs::File::open(path).ok());
        Beside { dbf: dbf.map(Attributes::File), prj: self.beside("prj"), cpg: self.beside("cpg") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_are_found_in_any_case_and_layers_behind_the_name() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("Lots.shp");
        for (name, text) in [("Lots.shp", "shp"), ("lots.Dbf", "dbf"), ("Lots.PRJ", "prj")] {
            fs::write(folder.path().join(name), text).unwrap();
        }
        let source = Source::open(&path).unwrap();
        assert_eq!((source.name.as_str(), source.ending.as_str(), source.size), ("Lots", "shp", 3));
        assert_eq!(source.beside("dbf").as_deref(), Some(&b"dbf"[..]));
        assert_eq!((source.beside("prj").as_deref(), source.beside("cpg")), (Some(&b"prj"[..]), None));
        let behind = format!("{}#plots", path.display());
        assert_eq!(split_layer(behind.as_ref()), (path, Some("plots".to_owned())));
    }

    #[test]
    fn folders_empty_files_and_nothing_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a.shp"), "").unwrap();
        assert!(matches!(Source::open(folder.path()), Err(FileError::NotAFile { .. })));
        assert!(matches!(Source::open(&folder.path().join("a.shp")), Err(FileError::Empty { .. })));
        assert!(matches!(Source::open(&folder.path().join("b.shp")), Err(FileError::Closed { .. })));
    }
}
