//! The ground underneath: where its pictures come from, and those that are here.

use crate::map::{GroundTile, Tiles};
use crate::online::Online;
use crate::ui::notice::Trouble;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::files::TileFile;
use yardring_core::place::{LonLat, WebTile};

/// Bytes of pictures that are kept.
const MOST_BYTES: usize = 96 << 20;
/// Tiles of a file that one job brings.
const FROM_A_FILE: usize = 6;
/// Tiles that are asked of a server at once.
const FROM_A_SERVER: usize = 2;
/// The greatest zoom that is asked of a server.
const MOST_ZOOM_OF_A_SERVER: u8 = 19;

/// Where pictures of the ground come from.
#[derive(Clone, Debug)]
pub enum Source {
    /// A file of map tiles and where it is.
    File(PathBuf, Arc<TileFile>),
    /// A server that somebody agreed to.
    Server(Arc<Online>),
}

impl Source {
    /// Whether two are the same.
    pub fn is(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::File(_, a), Self::File(_, b)) => Arc::ptr_eq(a, b),
            (Self::Server(a), Self::Server(b)) => Arc::ptr_eq(a, b),
            _ => false,
        }
    }

    /// Its name for people: the file's without its folders, or the server's.
    pub fn name(&self) -> String {
        match self {
            Self::File(path, _) => path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned()),
            Self::Server(online) => online.host().to_owned(),
        }
    }

    /// Who is named at the foot of the map.
    pub fn attribution(&self) -> String {
        let told = match self {
            Self::File(_, file) => [&file.facts().attribution, &file.facts().name].into_iter().find(|t| !t.is_empty()).cloned(),
            Self::Server(online) => Some(online.attribution().to_owned()),
        };
        format!("Ground: {}", told.unwrap_or_else(|| self.name()))
    }

    /// The least and the greatest zoom there is.
    pub fn zooms(&self) -> (u8, u8) {
        match self {
            Self::File(_, file) => (file.facts().least_zoom, file.facts().most_zoom),
            Self::Server(_) => (0, MOST_ZOOM_OF_A_SERVER),
        }
    }

    /// South-west and north-east corners of all tiles, where they are known.
    pub fn corners(&self) -> Option<[LonLat; 2]> {
        if let Self::File(_, file) = self { file.facts().corners } else { None }
    }

    /// The bytes of a tile's picture; `None` where there is none. May take long.
    ///
    /// # Errors
    /// [`Trouble`] when the file is broken or the server does not answer.
    pub fn tile(&self, tile: WebTile) -> Result<Option<Vec<u8>>, Trouble> {
        match self {
            Self::File(_, file) => file.tile(tile).map_err(Trouble::from),
            Self::Server(online) => online.tile(tile),
        }
    }
}

/// Pictures under the survey.
#[derive(Clone, Debug)]
pub struct UnderSurvey {
    /// Where they come from.
    pub source: Source,
    /// Those that are here; `None` where there is none.
    pub tiles: Arc<Tiles>,
    /// Pixels along a tile's side.
    pub side: u32,
    in_view: Vec<WebTile>,
    used: BTreeMap<WebTile, u64>,
    clock: u64,
}

impl UnderSurvey {
    /// A source whose pictures are all still to come.
    pub fn new(source: Source) -> Self {
        let side = if let Source::File(_, file) = &source { file.facts().side } else { None };
        Self { source, tiles: Arc::default(), side: side.unwrap_or(256), in_view: Vec::new(), used: BTreeMap::new(), clock: 0 }
    }

    /// Lets go of all pictures, as when another survey with another frame is opened.
    pub fn forget_tiles(&mut self) {
        *self = Self { side: self.side, ..Self::new(self.source.clone()) };
    }

    /// The tiles in view now, those next to the middle first.
    pub fn in_view(&self) -> &[WebTile] {
        &self.in_view
    }

    /// Notes which tiles are in view.
    pub fn look(&mut self, tiles: Vec<WebTile>) {
        self.clock += 1;
        for tile in &tiles {
            self.used.insert(*tile, self.clock);
        }
        self.in_view = tiles;
    }

    /// The next tiles to bring; none when all in view are here.
    pub fn missing(&self) -> Vec<WebTile> {
        let load = if matches!(self.source, Source::Server(_)) { FROM_A_SERVER } else { FROM_A_FILE };
        self.in_view.iter().filter(|t| !self.tiles.contains_key(t)).take(load).copied().collect()
    }

    /// Takes tiles that came, and lets go of those out of view longest where there are too many.
    pub fn take(&mut self, came: Vec<(WebTile, Option<GroundTile>)>) {
        let tiles = Arc::make_mut(&mut self.tiles);
        for (tile, picture) in came {
            if let Some(picture) = &picture {
                self.side = picture.side();
            }
            tiles.insert(tile, picture);
        }
        let bytes = |p: &Option<GroundTile>| p.as_ref().map_or(64, GroundTile::bytes);
        let mut all: usize = tiles.values().map(bytes).sum();
        let in_view: BTreeSet<WebTile> = self.in_view.iter().copied().collect();
        let mut out: Vec<(u64, WebTile)> =
            tiles.keys().filter(|t| !in_view.contains(t)).map(|t| (self.used.get(t).copied().unwrap_or(0), *t)).collect();
        out.sort_unstable();
        for (_, tile) in out {
            if all <= MOST_BYTES {
                break;
            }
            all -= tiles.remove(&tile).as_ref().map_or(0, bytes);
            self.used.remove(&tile);
        }
    }
}
