//! The ground underneath: where its pictures come from, and those that are here.

use crate::map::{GroundTile, Tiles};
use crate::online::Online;
use crate::ui::notice::Trouble;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::files::TileFile;
use yardring_core::place::{TileStock, WebTile};

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
            Self::File(_, file) => file.name().to_owned(),
            Self::Server(online) => online.host().to_owned(),
        }
    }

    /// Who is named at the foot of the map.
    pub fn attribution(&self) -> String {
        match self {
            Self::File(_, file) => file.credit(),
            Self::Server(online) => format!("Ground: {}", online.attribution()),
        }
    }

    /// Which tiles there may be.
    pub fn stock(&self) -> TileStock {
        match self {
            Self::File(_, file) => file.stock(),
            Self::Server(_) => TileStock { zooms: (0, MOST_ZOOM_OF_A_SERVER), side: 256, corners: None },
        }
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
    /// Which tiles there may be, and how large they are.
    pub stock: TileStock,
    in_view: Vec<WebTile>,
    used: BTreeMap<WebTile, u64>,
    clock: u64,
}

impl UnderSurvey {
    /// A source whose pictures are all still to come.
    pub fn new(source: Source) -> Self {
        let stock = source.stock();
        Self { source, tiles: Arc::default(), stock, in_view: Vec::new(), used: BTreeMap::new(), clock: 0 }
    }

    /// Lets go of all pictures, as when another survey with another frame is opened.
    pub fn forget_tiles(&mut self) {
        *self = Self { stock: self.stock, ..Self::new(self.source.clone()) };
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
                self.stock.side = picture.side();
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
