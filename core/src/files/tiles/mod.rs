//! Files of map tiles: pictures of the ground, cut as web maps are, to lie under the district.

mod mbtiles;
mod picture;
mod pmtiles;

use super::FileError;
use crate::place::{LonLat, TileStock, WebTile};
use mbtiles::Mbtiles;
use pmtiles::Pmtiles;
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

pub use picture::TilePixels;

/// The most bytes that one tile, directory or description may have unpacked.
const MOST_BYTES: u64 = 32 << 20;

/// What a file of tiles says about itself.
#[derive(Clone, Debug, PartialEq)]
pub struct TileFacts {
    /// Its name, or nothing.
    pub name: String,
    /// Who has to be named on the map, in plain words; empty where the file names nobody.
    pub attribution: String,
    /// How the pictures are packed.
    pub picture: TilePicture,
    /// The least zoom it holds.
    pub least_zoom: u8,
    /// The greatest zoom it holds.
    pub most_zoom: u8,
    /// Its south-west and north-east corners, where it names them.
    pub corners: Option<[LonLat; 2]>,
    /// Pixels along a tile's side, where the file says so.
    pub side: Option<u32>,
}

/// How the pictures of tiles are packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TilePicture {
    /// PNG.
    Png,
    /// JPEG.
    Jpeg,
    /// WebP.
    Webp,
}

impl TilePicture {
    /// Its name for people.
    pub fn name(self) -> &'static str {
        match self {
            Self::Png => "PNG",
            Self::Jpeg => "JPEG",
            Self::Webp => "WebP",
        }
    }

    /// What the first bytes of a picture tell; `None` for what is no such picture.
    fn of(bytes: &[u8]) -> Option<Self> {
        match bytes {
            [0x89, b'P', b'N', b'G', ..] => Some(Self::Png),
            [0xFF, 0xD8, 0xFF, ..] => Some(Self::Jpeg),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::Webp),
            _ => None,
        }
    }
}

/// A file of tiles, open to be asked for one tile after another.
#[derive(Debug)]
pub struct TileFile {
    name: String,
    facts: TileFacts,
    inside: Inside,
}

#[derive(Debug)]
enum Inside {
    Pmtiles(Pmtiles),
    Mbtiles(Mbtiles),
}

impl TileFile {
    /// Opens a PMTiles (version 3) or MBTiles file of pictures.
    ///
    /// # Errors
    /// [`FileError`] when the file cannot be opened, is neither, is broken, or holds vector tiles.
    ///
    /// ```no_run
    /// use yardring_core::files::TileFile;
    /// let ground = TileFile::open("county.mbtiles".as_ref())?;
    /// println!("zoom {} to {}", ground.facts().least_zoom, ground.facts().most_zoom);
    /// # Ok::<(), yardring_core::files::FileError>(())
    /// ```
    pub fn open(path: &Path) -> Result<Self, FileError> {
        let name = path.display().to_string();
        let closed = |source| FileError::Closed { file: name.clone(), source };
        if path.is_dir() {
            return Err(FileError::NotAFile { file: name, found: "a folder" });
        }
        let mut file = File::open(path).map_err(closed)?;
        let mut first = Vec::new();
        file.by_ref().take(16).read_to_end(&mut first).map_err(closed)?;
        if first.is_empty() {
            return Err(FileError::Empty { file: name });
        }
        let (facts, inside) = if first.starts_with(b"PM") {
            let (facts, inside) = Pmtiles::open(file, &name)?;
            (facts, Inside::Pmtiles(inside))
        } else if first.starts_with(b"SQLite format 3\0") {
            let (facts, inside) = Mbtiles::open(path, &name)?;
            (facts, Inside::Mbtiles(inside))
        } else {
            return Err(FileError::NotRead { file: name, what: "this is no file of map tiles".to_owned(), instead: WANTED });
        };
        let name = path.file_name().map_or(name, |n| n.to_string_lossy().into_owned());
        Ok(Self { name, facts, inside })
    }

    /// What the file says about itself.
    pub fn facts(&self) -> &TileFacts {
        &self.facts
    }

    /// Its name for people, without its folders.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Who has to be named on a map over it: whom the file names, or else the file's own name.
    pub fn credit(&self) -> String {
        let told = [&self.facts.attribution, &self.facts.name, &self.name].into_iter().find(|t| !t.is_empty());
        format!("Ground: {}", told.map_or("", String::as_str))
    }

    /// Which tiles it may hold; where it does not say how large they are, 256 pixels.
    pub fn stock(&self) -> TileStock {
        let facts = &self.facts;
        TileStock { zooms: (facts.least_zoom, facts.most_zoom), side: facts.side.unwrap_or(256), corners: facts.corners }
    }

    /// The bytes of a tile's picture; `None` where the file has no such tile.
    ///
    /// # Errors
    /// [`FileError`] when the file is broken there or cannot be read any more.
    pub fn tile(&self, tile: WebTile) -> Result<Option<Vec<u8>>, FileError> {
        if !tile.exists() {
            return Ok(None);
        }
        match &self.inside {
            Inside::Pmtiles(inside) => inside.tile(tile),
            Inside::Mbtiles(inside) => inside.tile(tile),
        }
    }
}

/// What can be drawn.
const WANTED: &str = "Give a .pmtiles (version 3) or .mbtiles file whose tiles are pictures: PNG, JPEG or WebP";

/// A file of vector tiles.
fn vector(file: &str) -> FileError {
    FileError::NotRead { file: file.to_owned(), what: "its tiles are vector tiles, which are not drawn".to_owned(), instead: WANTED }
}

/// A file of tiles in a form that is not read.
fn not_read(file: &str, what: impl Into<String>) -> FileError {
    FileError::NotRead { file: file.to_owned(), what: what.into(), instead: WANTED }
}

/// Words out of a line of HTML, as descriptions of tiles carry it: tags go, the usual entities become their letters.
fn plain_words(html: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in html.chars() {
        match c {
            '<' => inside = true,
            '>' if inside => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    let entities = [("&copy;", "©"), ("&amp;", "&"), ("&nbsp;", " "), ("&quot;", "\""), ("&#169;", "©"), ("&lt;", "<"), ("&gt;", ">")];
    let out = entities.iter().fold(out, |text, (entity, letter)| text.replace(entity, letter));
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::PathBuf;

    /// A real file beside the checkout, or none with a line that says so.
    pub(super) fn real(name: &str) -> Option<PathBuf> {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/basemap").join(name);
        if path.exists() {
            return Some(path);
        }
        println!("passed over: {name} is not beside the checkout");
        None
    }

    #[test]
    fn attributions_lose_their_tags() {
        let html = "<a href=\"https://example.org\" target=\"_blank\">Quillmere  County</a> &copy; 2025 &amp; others";
        assert_eq!(plain_words(html), "Quillmere County © 2025 & others");
    }

    #[test]
    fn what_is_no_tile_file_is_told_what_to_give() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("notes.mbtiles");
        for (bytes, words) in [(&b"hello there"[..], "no file of map tiles"), (&b""[..], "empty"), (&b"PMTiles\x03"[..], "header")] {
            std::fs::write(&path, bytes).unwrap();
            let told = TileFile::open(&path).unwrap_err().to_string();
            assert!(told.contains(words), "{told}");
        }
        assert!(TileFile::open(folder.path()).is_err() && TileFile::open(&folder.path().join("none")).is_err());
    }

    #[test]
    fn vector_tiles_are_refused_in_words() {
        for name in ["protomaps_firenze.pmtiles", "world_cities.mbtiles"] {
            let Some(path) = real(name) else { return };
            let told = TileFile::open(&path).unwrap_err().to_string();
            assert!(told.contains("vector tiles, which are not drawn"), "{told}");
        }
    }
}
