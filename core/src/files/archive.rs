//! Zip archives: shapefiles and other files inside them, read in memory by their names. Nothing is unpacked to the disk.

use super::format::{self, Format};
use super::shapefile::{Attributes, Beside};
use super::{FileError, Table};
use crate::job::Watch;
use std::fs::File;
use std::io::{BufReader, Read as _};
use std::path::Path;
use zip::ZipArchive;
use zip::result::ZipError;

/// The least that an archive may unpack to, whatever its size.
const ALWAYS: u64 = 256 << 20;
/// Beyond that, how many times its size an archive may unpack to.
const TIMES: u64 = 10;

/// Whether some bytes begin as a zip archive does.
pub(super) fn sniff(start: &[u8]) -> bool {
    start.starts_with(b"PK\x03\x04") || start.starts_with(b"PK\x05\x06")
}

/// An open archive.
#[derive(Debug)]
pub(super) struct Archive {
    file: String,
    zip: ZipArchive<BufReader<File>>,
    entries: Vec<Entry>,
    /// Bytes that one layer may unpack to.
    most: u64,
    /// Bytes that may still be unpacked.
    budget: u64,
    notes: Vec<String>,
}

#[derive(Clone, Debug)]
struct Entry {
    index: usize,
    /// The whole name, folders parted by `/`.
    name: String,
}

impl Entry {
    fn stem(&self) -> &str {
        self.name.rsplit_once('.').map_or(self.name.as_str(), |(stem, _)| stem)
    }

    fn ending(&self) -> String {
        self.name.rsplit_once('.').map_or_else(String::new, |(_, ending)| ending.to_lowercase())
    }

    fn format(&self) -> Option<Format> {
        match self.ending().as_str() {
            "shp" => Some(Format::Shapefile),
            "geojson" | "json" => Some(Format::GeoJson),
            "fgb" => Some(Format::FlatGeobuf),
            "csv" | "tsv" => Some(Format::Delimited),
            "dbf" => Some(Format::Dbase),
            _ => None,
        }
    }
}

impl Archive {
    /// Opens an archive and lists what is in it.
    ///
    /// # Errors
    /// [`FileError`] when it is no zip archive, or holds nothing that can be read.
    pub fn open(file: &str, path: &Path, size: u64) -> Result<Self, FileError> {
        let opened = File::open(path).map_err(|source| FileError::Closed { file: file.to_owned(), source })?;
        let zip = ZipArchive::new(BufReader::new(opened)).map_err(|error| broken(file, "the list of entries", &error))?;
        let most = ALWAYS.saturating_add(size.saturating_mul(TIMES));
        let mut archive = Self { file: file.to_owned(), zip, entries: Vec::new(), most, budget: most, notes: Vec::new() };
        archive.list();
        Ok(archive)
    }

    fn list(&mut self) {
        let mut outside = 0;
        for index in 0..self.zip.len() {
            let Ok(entry) = self.zip.by_index_raw(index) else { continue };
            let Ok(name) = entry.name().map(|n| n.replace('\\', "/")) else { continue };
            if entry.is_dir() || entry.is_symlink() || name.ends_with('/') {
                continue;
            }
            if name.starts_with('/') || name.contains(':') || name.split('/').any(|part| part == "..") {
                outside += 1;
            } else if !name.split('/').any(|part| part.starts_with('.') || part == "__MACOSX") {
                self.entries.push(Entry { index, name });
            }
        }
        if outside > 0 {
            self.notes.push(format!("{outside} of its entries lead out of the archive: left alone"));
        }
        self.entries.sort_by(|a, b| a.name.cmp(&b.name));
    }

    /// The layers and tables inside: number of the entry and name.
    fn layers_listed(&self) -> Vec<(usize, String)> {
        let is_part = |e: &Entry| e.format() == Some(Format::Dbase) && self.beside(e, "shp").is_some();
        let found: Vec<usize> =
            (0..self.entries.len()).filter(|&i| self.entries[i].format().is_some() && !is_part(&self.entries[i])).collect();
        let short = |i: usize| self.entries[i].stem().rsplit('/').next().unwrap_or_default().to_owned();
        let alone = |i: usize| found.iter().filter(|&&k| short(k) == short(i)).count() == 1;
        found.iter().map(|&i| (i, if alone(i) { short(i) } else { self.entries[i].name.clone() })).collect()
    }

    /// The names of the layers and tables inside.
    ///
    /// # Errors
    /// [`FileError`] when there is none.
    pub fn layers(&self) -> Result<Vec<String>, FileError> {
        let names: Vec<String> = self.layers_listed().into_iter().map(|(_, name)| name).collect();
        if names.is_empty() { Err(self.nothing()) } else { Ok(names) }
    }

    /// Why there is nothing to read in it.
    fn nothing(&self) -> FileError {
        let holds = |what: &str| self.entries.iter().any(|e| e.name.to_lowercase().contains(what));
        let (what, instead) = if holds(".gdb/") || holds(".gdbtable") {
            ("the archive holds a file geodatabase, which is not read", "Save its layer as a shapefile, a GeoPackage or GeoJSON")
        } else if holds(".gpkg") {
            ("the archive holds a GeoPackage, which is only read unpacked", "Unpack it and give the .gpkg file")
        } else if holds("xl/workbook.xml") || holds("content.xml") {
            ("this is a spreadsheet without its ending", "Give the file its ending, .xlsx or .ods")
        } else {
            ("the archive holds no shapefile, GeoJSON, FlatGeobuf or CSV", "Give an archive with a .shp and the files beside it")
        };
        let notes: String = self.notes.iter().map(|n| format!(" ({n})")).collect();
        FileError::NotRead { file: self.file.clone(), what: format!("{what}{notes}"), instead }
    }

    fn choose(&self, asked: Option<&str>) -> Result<(usize, String), FileError> {
        let layers = self.layers_listed();
        let names = |all: &[(usize, String)]| all.iter().map(|(_, name)| name.clone()).collect::<Vec<_>>();
        if layers.is_empty() {
            return Err(self.nothing());
        }
        if let Some(asked) = asked {
            let found =
                layers.iter().find(|(i, name)| name.eq_ignore_ascii_case(asked) || self.entries[*i].name.eq_ignore_ascii_case(asked));
            let unknown = || FileError::NoSuchLayer { file: self.file.clone(), asked: asked.to_owned(), layers: names(&layers) };
            return found.cloned().ok_or_else(unknown);
        }
        let with_shapes = |l: &&(usize, String)| !matches!(self.entries[l.0].format(), Some(Format::Delimited | Format::Dbase));
        let shaped: Vec<(usize, String)> = layers.iter().filter(with_shapes).cloned().collect();
        match (shaped.as_slice(), layers.as_slice()) {
            ([one], _) | ([], [one]) => Ok(one.clone()),
            _ => Err(FileError::ManyLayers { file: self.file.clone(), layers: names(&layers) }),
        }
    }

    fn beside(&self, entry: &Entry, ending: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.ending() == ending && e.stem().eq_ignore_ascii_case(entry.stem()))
    }

    fn bytes(&mut self, entry: &Entry) -> Result<Vec<u8>, FileError> {
        let place = format!("entry {}", entry.name);
        let mut unpacked = self.zip.by_index(entry.index).map_err(|error| broken(&self.file, &place, &error))?;
        let mut bytes = Vec::with_capacity(unpacked.size().min(self.budget).min(64 << 20) as usize);
        let read = unpacked.by_ref().take(self.budget + 1).read_to_end(&mut bytes);
        if bytes.len() as u64 > self.budget {
            let what = format!("entry {} unpacks to far more than an archive of this size should hold", entry.name);
            return Err(FileError::TooBig { file: self.file.clone(), what });
        }
        read.map_err(|error| FileError::broken(&self.file, place, "packed bytes", error.to_string()))?;
        self.budget -= bytes.len() as u64;
        Ok(bytes)
    }

    /// The bytes of an entry by its whole name, if there is one.
    ///
    /// # Errors
    /// [`FileError`] when it cannot be unpacked, or unpacks to far too much.
    pub fn named(&mut self, name: &str) -> Result<Option<Vec<u8>>, FileError> {
        self.budget = self.most;
        self.entries.iter().find(|e| e.name == name).cloned().map(|e| self.bytes(&e)).transpose()
    }

    fn bytes_beside(&mut self, entry: &Entry, ending: &str) -> Result<Option<Vec<u8>>, FileError> {
        self.beside(entry, ending).cloned().map(|e| self.bytes(&e)).transpose()
    }

    /// Reads one layer.
    ///
    /// # Errors
    /// [`FileError`] when there is none, several and none was named, one that is broken or unpacks to far too much, or when
    /// somebody stopped it.
    pub fn read(&mut self, asked: Option<&str>, watch: &dyn Watch) -> Result<Table, FileError> {
        let (number, name) = self.choose(asked)?;
        let entry = self.entries[number].clone();
        watch.step("unpacking", 0, 0)?;
        self.budget = self.most;
        let bytes = self.bytes(&entry)?;
        let dbf = if entry.format() == Some(Format::Shapefile) { self.bytes_beside(&entry, "dbf")? } else { None };
        let beside =
            Beside { dbf: dbf.map(Attributes::Memory), prj: self.bytes_beside(&entry, "prj")?, cpg: self.bytes_beside(&entry, "cpg")? };
        let file = format!("{} ({})", self.file, entry.name);
        let mut table = format::read_bytes(entry.format().unwrap_or(Format::Delimited), &file, name, bytes, beside, watch)?;
        table.notes.extend(self.notes.iter().cloned());
        Ok(table)
    }
}

fn broken(file: &str, place: &str, error: &ZipError) -> FileError {
    match error {
        ZipError::UnsupportedArchive(why) => FileError::NotRead {
            file: file.to_owned(),
            what: format!("{place} cannot be unpacked: {why}"),
            instead: "Unpack it with another program and give the files",
        },
        other => FileError::broken(file, place, "a zip archive", other.to_string()),
    }
}

/// Whether the entries of an archive unpack to no more than an archive of its size may hold.
///
/// # Errors
/// [`FileError`] when they do not, or when it is no zip archive.
pub(super) fn check_size(file: &str, path: &Path, size: u64) -> Result<(), FileError> {
    let mut archive = Archive::open(file, path, size)?;
    for index in 0..archive.zip.len() {
        let mut entry = archive.zip.by_index(index).map_err(|error| broken(file, "an entry", &error))?;
        let unpacked = std::io::copy(&mut entry.by_ref().take(archive.budget + 1), &mut std::io::sink())
            .map_err(|error| FileError::broken(file, "an entry", "packed bytes", error.to_string()))?;
        archive.budget = archive.budget.checked_sub(unpacked).ok_or_else(|| FileError::TooBig {
            file: file.to_owned(),
            what: "it unpacks to far more than a file of this size should hold".to_owned(),
        })?;
    }
    Ok(())
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::job::Unwatched;
    use std::io::Write as _;
    use std::path::PathBuf;
    use zip::write::{SimpleFileOptions, ZipWriter};

    pub(in crate::files) fn packed(folder: &Path, name: &str, entries: &[(&str, &[u8])]) -> PathBuf {
        let path = folder.join(name);
        let mut zip = ZipWriter::new(File::create(&path).unwrap());
        for (name, bytes) in entries {
            zip.start_file(*name, SimpleFileOptions::default()).unwrap();
            zip.write_all(bytes).unwrap();
        }
        zip.finish().unwrap();
        path
    }

    fn open(path: &Path) -> Result<Archive, FileError> {
        Archive::open("a.zip", path, std::fs::metadata(path).unwrap().len())
    }

    const POINT: &[u8] = br#"{"type":"Point","coordinates":[1,2]}"#;

    #[test]
    fn one_layer_is_found_and_several_are_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = packed(folder.path(), "a.zip", &[("x/Lots.geojson", POINT), ("x/notes.csv", b"a,b\n1,2\n"), ("__MACOSX/._q.shp", b"")]);
        let mut archive = open(&path).unwrap();
        assert_eq!(archive.layers().unwrap(), ["Lots", "notes"]);
        assert_eq!(archive.read(None, &Unwatched).unwrap().name, "Lots");
        assert_eq!(archive.read(Some("notes"), &Unwatched).unwrap().cell(0, 1), "2");
        let path = packed(folder.path(), "b.zip", &[("x/a.json", POINT), ("y/a.json", POINT)]);
        assert_eq!(open(&path).unwrap().read(None, &Unwatched).unwrap_err().to_string(), "a.zip: holds 2 layers: x/a.json, y/a.json");
        assert_eq!(open(&path).unwrap().read(Some("y/a.json"), &Unwatched).unwrap().rows, 1);
    }

    #[test]
    fn parts_of_a_shapefile_are_one_layer() {
        let folder = tempfile::tempdir().unwrap();
        let dbf = crate::files::dbase::tests::table(&[("ID", b'C', 1)], &[" a"], 0);
        let mut shp = 9994u32.to_be_bytes().to_vec();
        shp.resize(100, 0);
        shp.extend([0, 0, 0, 1, 0, 0, 0, 10, 1, 0, 0, 0]);
        [1.0f64, 2.0].iter().for_each(|v| shp.extend(v.to_le_bytes()));
        let prj = b"PROJCS[\"Plane\"]";
        let path = packed(folder.path(), "a.zip", &[("LOTS.SHP", &shp), ("lots.dbf", &dbf), ("Lots.prj", prj)]);
        let table = open(&path).unwrap().read(None, &Unwatched).unwrap();
        assert_eq!((table.name.as_str(), table.cell(0, 0).as_ref(), table.shapes.xy.as_slice()), ("LOTS", "a", &[[1.0, 2.0]][..]));
        assert_eq!(table.crs.unwrap().to_string(), "Plane");
    }

    #[test]
    fn entries_that_lead_out_are_left_alone_and_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = packed(folder.path(), "a.zip", &[("../out.geojson", POINT), ("in.geojson", POINT)]);
        let table = open(&path).unwrap().read(None, &Unwatched).unwrap();
        assert_eq!(
            (table.name.as_str(), table.notes.as_slice()),
            ("in", &["1 of its entries lead out of the archive: left alone".to_owned()][..])
        );
        let path = packed(folder.path(), "b.zip", &[("../out.geojson", POINT)]);
        assert!(matches!(open(&path).unwrap().read(None, &Unwatched), Err(FileError::NotRead { .. })));
    }

    #[test]
    fn what_unpacks_to_far_too_much_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = packed(folder.path(), "a.zip", &[("a.csv", &[b'a'; 4000])]);
        let mut archive = open(&path).unwrap();
        archive.most = 3999;
        assert!(matches!(archive.read(None, &Unwatched), Err(FileError::TooBig { .. })));
        assert!(check_size("a", &path, 1).is_ok());
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        let folder = tempfile::tempdir().unwrap();
        let whole = std::fs::read(packed(folder.path(), "a.zip", &[("a.csv", b"id,n\n1,2\n")])).unwrap();
        let path = folder.path().join("b.zip");
        for n in (0..whole.len() * 8).step_by(7) {
            let mut bytes = whole.clone();
            bytes[n / 8] ^= 1 << (n % 8);
            for bytes in [&bytes[..], &whole[..n / 8]] {
                std::fs::write(&path, bytes).unwrap();
                if let Ok(t) = open(&path).and_then(|mut a| a.read(None, &Unwatched)) {
                    assert!(t.rows <= 3);
                }
            }
        }
    }
}
