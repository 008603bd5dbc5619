//! A folder of files: which of them can be read, the parts of a shapefile told as one.

use super::FileError;
use std::fs;
use std::path::{Path, PathBuf};

/// Endings of files that are read, small.
const READ: [&str; 14] = ["shp", "zip", "geojson", "json", "gpkg", "fgb", "csv", "tsv", "tab", "txt", "psv", "xlsx", "ods", "dbf"];

/// The files of a folder that can be read, by name; of a shapefile only its `.shp`, and of a `.dbf` only one that stands alone.
/// Folders inside it are left alone.
///
/// # Errors
/// [`FileError::Closed`] when the folder cannot be opened, [`FileError::NotRead`] when nothing in it can be read.
pub fn readable_in(folder: &Path) -> Result<Vec<PathBuf>, FileError> {
    let file = folder.display().to_string();
    let entries = fs::read_dir(folder).map_err(|source| FileError::Closed { file: file.clone(), source })?;
    let all: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).filter(|p| p.is_file()).collect();
    let ending = |p: &Path| p.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    let stem = |p: &Path| p.file_stem().map(|s| s.to_string_lossy().to_lowercase()).unwrap_or_default();
    let is_part = |p: &Path| ending(p) == "dbf" && all.iter().any(|other| ending(other) == "shp" && stem(other) == stem(p));
    let mut out: Vec<PathBuf> = all.iter().filter(|p| READ.contains(&ending(p).as_str()) && !is_part(p)).cloned().collect();
    out.sort();
    if out.is_empty() {
        let instead = "Give a folder with shapefiles, GeoJSON, GeoPackages, CSV or spreadsheets";
        return Err(FileError::NotRead { file, what: "the folder holds no file that can be read".to_owned(), instead });
    }
    Ok(out)
}

/// The names of the folders in a folder, those that systems hide left out; none where it cannot be opened.
pub fn folders_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten().filter(|entry| entry.path().is_dir());
    let mut out: Vec<String> = entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    out.retain(|name| !name.starts_with('.') && name != "__MACOSX");
    out.sort();
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_of_a_shapefile_are_one_and_other_things_are_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        assert!(readable_in(folder.path()).unwrap_err().to_string().contains("no file that can be read"));
        for name in ["Lots.shp", "lots.DBF", "Lots.prj", "Lots.shx", "visits.CSV", "alone.dbf", "notes.pdf"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        fs::create_dir(folder.path().join("inner.csv")).unwrap();
        let names: Vec<String> =
            readable_in(folder.path()).unwrap().iter().map(|p| p.file_name().unwrap().to_string_lossy().into_owned()).collect();
        assert_eq!(names, ["Lots.shp", "alone.dbf", "visits.CSV"]);
        assert_eq!(folders_in(folder.path()), ["inner.csv"]);
        assert!(matches!(readable_in(&folder.path().join("nowhere")), Err(FileError::Closed { .. })));
    }
}
