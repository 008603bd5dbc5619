//! Which tiles of a web map a view of the district needs.

use super::{Bounds, Frame, Local, LonLat, WebTile};

/// The parallel beyond which no tile lies.
const END: f64 = 85.05;

/// Which tiles there are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TileStock {
    /// The least and the greatest zoom there is.
    pub zooms: (u8, u8),
    /// Pixels along a tile's side.
    pub side: u32,
    /// South-west and north-east corners of all tiles, where they are known.
    pub corners: Option<[LonLat; 2]>,
}

impl TileStock {
    /// The tiles that a view of the ground needs at so many pixels to a metre, those next to its middle first; none where it
    /// would need more than `most`.
    pub fn needed(&self, frame: &Frame, view: &Bounds, pixels_per_metre: f64, most: usize) -> Vec<WebTile> {
        let Some(seen) = seen(frame, view).and_then(|seen| self.within(seen)) else { return Vec::new() };
        self.tiles(frame, view, seen, self.zoom_for(seen, pixels_per_metre), most)
    }

    /// The same, but coarser tiles where there would be more than `most`.
    pub fn needed_or_coarser(&self, frame: &Frame, view: &Bounds, pixels_per_metre: f64, most: usize) -> Vec<WebTile> {
        let Some(seen) = seen(frame, view).and_then(|seen| self.within(seen)) else { return Vec::new() };
        let zooms = (self.zooms.0..=self.zoom_for(seen, pixels_per_metre)).rev();
        zooms.map(|zoom| self.tiles(frame, view, seen, zoom, most)).find(|tiles| !tiles.is_empty()).unwrap_or_default()
    }

    /// The zoom whose pixels are about as large as those of a view.
    fn zoom_for(&self, [low, high]: [LonLat; 2], pixels_per_metre: f64) -> u8 {
        let pixels = WebTile::side(0, f64::midpoint(low.lat, high.lat)) * pixels_per_metre;
        let suits = (pixels / f64::from(self.side.max(1))).max(1.0).log2().round() as u8;
        suits.clamp(self.zooms.0, self.zooms.1.max(self.zooms.0))
    }

    fn tiles(&self, frame: &Frame, view: &Bounds, [low, high]: [LonLat; 2], zoom: u8, most: usize) -> Vec<WebTile> {
        let (Some(first), Some(last)) =
            (WebTile::at(LonLat { lat: high.lat, ..low }, zoom), WebTile::at(LonLat { lat: low.lat, ..high }, zoom))
        else {
            return Vec::new();
        };
        let across = (last.column + 1).saturating_sub(first.column) as usize;
        let down = (last.row + 1).saturating_sub(first.row) as usize;
        if across.saturating_mul(down) > most {
            return Vec::new();
        }
        let columns = first.column..=last.column;
        let mut all: Vec<WebTile> =
            columns.flat_map(|column| (first.row..=last.row).map(move |row| WebTile { zoom, column, row })).collect();
        let away = |t: &WebTile| frame.local_from_lon_lat(t.place(0.5, 0.5)).distance(view.centre());
        all.sort_by(|a, b| away(a).total_cmp(&away(b)).then(a.cmp(b)));
        all
    }

    /// The part of a box in degrees that tiles may lie in.
    fn within(&self, [low, high]: [LonLat; 2]) -> Option<[LonLat; 2]> {
        let [south_west, north_east] = self.corners.unwrap_or([LonLat { lon: -180.0, lat: -END }, LonLat { lon: 180.0, lat: END }]);
        let low = LonLat { lon: low.lon.max(south_west.lon), lat: low.lat.max(south_west.lat).max(-END) };
        let high = LonLat { lon: high.lon.min(north_east.lon), lat: high.lat.min(north_east.lat).min(END) };
        (low.lon < high.lon && low.lat < high.lat).then_some([low, high])
    }
}

/// The box in degrees round a view; `None` where none of it is on the earth.
fn seen(frame: &Frame, view: &Bounds) -> Option<[LonLat; 2]> {
    let along = |k: usize| k as f64 / 4.0;
    let point = |k: usize| Local { x: view.min.x + view.width() * along(k % 5), y: view.min.y + view.height() * along(k / 5) };
    let places = (0..25).map(|k| frame.lon_lat_from_local(point(k))).filter(|p| p.lon.is_finite() && p.lat.is_finite());
    places.fold(None, |all, p| {
        let [low, high] = all.unwrap_or([p, p]);
        let low = LonLat { lon: low.lon.min(p.lon), lat: low.lat.min(p.lat) };
        Some([low, LonLat { lon: high.lon.max(p.lon), lat: high.lat.max(p.lat) }])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_there_would_be_too_many_coarser_ones_are_taken() {
        let frame = Frame::centred_on(LonLat { lon: -71.1, lat: 42.37 });
        let view = Bounds { min: Local { x: -5_000.0, y: -4_000.0 }, max: Local { x: 5_000.0, y: 4_000.0 } };
        let stock = TileStock { zooms: (3, 19), side: 256, corners: None };
        let fine = stock.needed(&frame, &view, 0.5, 5_000);
        assert!(stock.needed(&frame, &view, 0.5, 50).is_empty());
        let coarse = stock.needed_or_coarser(&frame, &view, 0.5, 50);
        assert!(coarse[0].zoom < fine[0].zoom && coarse.len() <= 50 && coarse.len() * 4 > 50, "{} tiles", coarse.len());
        for corner in [view.min, view.max] {
            let tile = WebTile::at(frame.lon_lat_from_local(corner), coarse[0].zoom).unwrap();
            assert!(coarse.contains(&tile), "{tile:?}");
        }
    }
}
