//! The square tiles that web maps are cut into.

use super::LonLat;

/// The parallel at which web maps end, north and south. It makes the whole map a square.
const FARTHEST_NORTH: f64 = 85.051_128_779_806_6;

/// One tile of a web map: at zoom 0 one tile holds the world, each further zoom cuts every tile into four. Columns are counted
/// from the west, rows from the north.
///
/// # Source
/// Spherical Mercator on WGS 84, EPSG:3857; EPSG guidance note 7-2, "Popular Visualisation Pseudo-Mercator". The numbering is
/// that of OGC 17-083r4 (Two Dimensional Tile Matrix Set), WebMercatorQuad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WebTile {
    /// The zoom, 0 to 30.
    pub zoom: u8,
    /// The column.
    pub column: u32,
    /// The row.
    pub row: u32,
}

impl WebTile {
    /// The greatest zoom there is.
    pub const MOST_ZOOM: u8 = 30;

    /// The tile at a zoom that a place lies in; `None` for a place beyond 85.05° north or south.
    ///
    /// ```
    /// use yardring_core::place::{LonLat, WebTile};
    /// let tile = WebTile::at(LonLat { lon: -71.1, lat: 42.37 }, 14).unwrap();
    /// assert_eq!((tile.column, tile.row), (4956, 6059)); // from EPSG:3857 metres of pyproj 3.7.2
    /// ```
    pub fn at(place: LonLat, zoom: u8) -> Option<Self> {
        let across = f64::from(Self::across(zoom));
        let (x, y) = Self::share(place)?;
        let cell = |share: f64| (share * across).floor().clamp(0.0, across - 1.0) as u32;
        Some(Self { zoom, column: cell(x), row: cell(y) })
    }

    /// Where a place lies on the square of the whole map: its shares of the way from the west and from the north edge; `None`
    /// beyond 85.05° north or south.
    pub fn share(place: LonLat) -> Option<(f64, f64)> {
        Some((share_east(place.lon), share_south(place.lat)?))
    }

    /// How many tiles lie side by side at a zoom.
    pub fn across(zoom: u8) -> u32 {
        1 << zoom.min(Self::MOST_ZOOM)
    }

    /// Whether there is such a tile.
    pub fn exists(self) -> bool {
        self.zoom <= Self::MOST_ZOOM && self.column.max(self.row) < Self::across(self.zoom)
    }

    /// The place at shares of the tile's sides: 0, 0 is its north-west corner, 1, 1 its south-east corner.
    pub fn place(self, east: f64, south: f64) -> LonLat {
        let across = f64::from(Self::across(self.zoom));
        let (x, y) = ((f64::from(self.column) + east) / across, (f64::from(self.row) + south) / across);
        let up = std::f64::consts::PI * (1.0 - 2.0 * y);
        LonLat { lon: 360.0 * x - 180.0, lat: up.sinh().atan().to_degrees() }
    }

    /// The tile of the zoom before that holds this one; `None` at zoom 0.
    pub fn parent(self) -> Option<Self> {
        Some(Self { zoom: self.zoom.checked_sub(1)?, column: self.column / 2, row: self.row / 2 })
    }

    /// Metres on the ground along a tile's side at a latitude.
    pub fn side(zoom: u8, latitude: f64) -> f64 {
        2.0 * std::f64::consts::PI * 6_378_137.0 * latitude.to_radians().cos() / f64::from(Self::across(zoom))
    }
}

fn share_east(lon: f64) -> f64 {
    (lon + 180.0) / 360.0
}

fn share_south(lat: f64) -> Option<f64> {
    let up = lat.to_radians().tan().asinh() / std::f64::consts::PI;
    (lat.abs() <= FARTHEST_NORTH).then_some((1.0 - up) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Metres of EPSG:3857, from pyproj 3.7.2.
    const KNOWN: [(f64, f64, f64, f64); 3] = [
        (-118.3, 36.58, -13_169_095.760_844_262, 4_380_724.779_869_889),
        (11.2, 43.8, 1_246_778.296_884_663_9, 5_434_543.708_480_057),
        (-71.1, 42.37, -7_914_815.795_401_75, 5_216_565.798_596_94),
    ];

    #[test]
    fn places_lie_where_web_mercator_puts_them() {
        let half = 20_037_508.342_789_248;
        for (lon, lat, x, y) in KNOWN {
            let share = ((x + half) / (2.0 * half), (half - y) / (2.0 * half));
            assert!((share_east(lon) - share.0).abs() < 1e-12 && (share_south(lat).unwrap() - share.1).abs() < 1e-12);
            for zoom in [0, 7, 19] {
                let tile = WebTile::at(LonLat { lon, lat }, zoom).unwrap();
                let n = f64::from(WebTile::across(zoom));
                assert_eq!((tile.column, tile.row), ((share.0 * n) as u32, (share.1 * n) as u32));
                let back = tile.place(share.0 * n - f64::from(tile.column), share.1 * n - f64::from(tile.row));
                assert!((back.lon - lon).abs() < 1e-9 && (back.lat - lat).abs() < 1e-9, "{back:?}");
            }
        }
    }

    #[test]
    fn the_world_is_one_tile_and_ends_before_the_poles() {
        let world = WebTile { zoom: 0, column: 0, row: 0 };
        assert!((world.place(0.0, 0.0).lat - FARTHEST_NORTH).abs() < 1e-9 && world.place(1.0, 1.0).lon == 180.0);
        assert_eq!(WebTile::at(LonLat { lon: 0.0, lat: 89.0 }, 3), None);
        assert_eq!(WebTile { zoom: 3, column: 5, row: 2 }.parent(), Some(WebTile { zoom: 2, column: 2, row: 1 }));
        assert_eq!(world.parent(), None);
        assert!(world.exists() && !WebTile { zoom: 1, column: 2, row: 0 }.exists());
    }

    #[test]
    fn a_tile_is_as_wide_as_its_parallel_allows() {
        assert!((WebTile::side(0, 0.0) - 40_075_016.685_578_5).abs() < 1e-6);
        let tile = WebTile::at(LonLat { lon: -71.1, lat: 42.37 }, 15).unwrap();
        let frame = crate::place::Frame::centred_on(LonLat { lon: -71.1, lat: 42.37 });
        let [west, east] = [0.0, 1.0].map(|e| frame.local_from_lon_lat(tile.place(e, 0.5)));
        let side = WebTile::side(15, tile.place(0.5, 0.5).lat);
        // A tile's ground side is that of the sphere; the ellipsoid's parallel is longer by up to 0.34 %.
        assert!((west.distance(east) / side - 1.0).abs() < 0.0035, "{} {side}", west.distance(east));
    }
}
