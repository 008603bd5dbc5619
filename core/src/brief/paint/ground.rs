//! The ground underneath: pictures of web map tiles, warped from web Mercator into the district frame pixel by pixel.

use super::view::View;
use super::{Ground, MapError};
use crate::error::Hint as _;
use crate::files::{FileError, TileFile, TilePixels};
use crate::job::Watch;
use crate::place::{Frame, Local, TileStock, WebTile};
use rayon::prelude::*;
use std::collections::BTreeMap;
use tiny_skia::Pixmap;

/// Pixels of the map between places whose degrees are worked out exactly; between them they are interpolated.
const CELL: u32 = 16;
/// Bytes of unpacked tiles that one map may need; beyond, coarser ones are drawn.
const MOST_BYTES: usize = 256 << 20;
/// Zooms by which a coarser tile may stand in for one that the file lacks.
const STAND_IN: usize = 6;

/// A picture of the ground and where it lies.
pub struct Underlay {
    /// Its pixels.
    pub pixels: Pixmap,
    /// The place at its upper left corner.
    corner: Local,
    /// Its pixels in a metre.
    scale: f64,
    /// Who is to be named on the map.
    pub credit: String,
}

/// Tiles by where they are.
type Tiles = BTreeMap<WebTile, TilePixels>;

impl Underlay {
    /// The ground under a view of a district, with so many pixels to one of the view.
    pub fn of(ground: &Ground, frame: &Frame, view: &View, finer: u32, watch: &dyn Watch) -> Result<Self, MapError> {
        let view = view.finer(finer);
        let tiles = tiles(&ground.file, frame, &view, watch)?;
        if tiles.is_empty() {
            return Err(MapError::NoGround { file: ground.file.name().to_owned() });
        }
        let pixels = warped(frame, &view, &tiles, watch)?.ok_or(MapError::Picture)?;
        Ok(Self { pixels, corner: view.place(0.0, 0.0), scale: view.scale, credit: ground.file.credit() })
    }

    /// Where it lies on a view: left, top, and pixels of the view to one of its own.
    pub fn on(&self, view: &View) -> (f32, f32, f32) {
        let (x, y) = view.pixel(self.corner);
        (x, y, (view.scale / self.scale) as f32)
    }
}

/// The tiles that a view needs, unpacked; those that the file lacks by a coarser one, or not at all.
fn tiles(file: &TileFile, frame: &Frame, view: &View, watch: &dyn Watch) -> Result<Tiles, MapError> {
    let seen = view.ground();
    let needed = |stock: &TileStock| {
        let most = (MOST_BYTES / (4 * stock.side.max(1) as usize * stock.side.max(1) as usize)).max(1);
        stock.needed_or_coarser(frame, &seen, view.scale, most)
    };
    let stock = file.stock();
    let mut wanted = needed(&stock);
    let first = wanted.iter().find_map(|tile| unpacked(file, *tile).transpose()).transpose()?;
    if let Some((_, picture)) = first.filter(|(_, p)| p.width != stock.side) {
        // The file did not say how large its tiles are.
        wanted = needed(&TileStock { side: picture.width, ..stock });
    }
    let total = wanted.len() as u64;
    let read = |(k, tile): (usize, &WebTile)| {
        watch.step("reading the ground", k as u64, total)?;
        unpacked(file, *tile)
    };
    let read: Result<Vec<_>, MapError> = wanted.par_iter().enumerate().map(read).collect();
    Ok(read?.into_iter().flatten().collect())
}

/// A tile, or the nearest coarser one that the file has; a picture that is broken counts as none.
fn unpacked(file: &TileFile, tile: WebTile) -> Result<Option<(WebTile, TilePixels)>, MapError> {
    for tile in std::iter::successors(Some(tile), |t| t.parent()).take(STAND_IN + 1) {
        if let Some(picture) = file.tile(tile).map_err(broken)?.and_then(|bytes| TilePixels::unpack(&bytes)) {
            return Ok(Some((tile, picture)));
        }
    }
    Ok(None)
}

fn broken(error: FileError) -> MapError {
    MapError::Ground { hint: error.hint(), what: error.to_string() }
}

/// Every pixel of a view from the tile that lies there; clear where there is none. `None` when it cannot be held in memory.
fn warped(frame: &Frame, view: &View, tiles: &Tiles, watch: &dyn Watch) -> Result<Option<Pixmap>, MapError> {
    let (width, height) = view.size;
    let Some(mut out) = Pixmap::new(width, height) else { return Ok(None) };
    let zooms = zooms(tiles);
    let rows_of_cells = out.data_mut().par_chunks_mut((4 * width * CELL) as usize);
    rows_of_cells.enumerate().try_for_each(|(j, pixels)| {
        watch.step("warping the ground", 0, 0)?;
        let top = j as u32 * CELL;
        for i in 0..width.div_ceil(CELL) {
            let left = i * CELL;
            let corners = [(0, 0), (CELL, 0), (0, CELL), (CELL, CELL)].map(|(x, y)| {
                let place = view.place(f64::from(left + x), f64::from(top + y));
                WebTile::share(frame.lon_lat_from_local(place))
            });
            let [Some(a), Some(b), Some(c), Some(d)] = corners else { continue };
            for (row, y) in pixels.chunks_mut(4 * width as usize).zip(0..) {
                for x in 0..CELL.min(width - left) {
                    let share = between([a, b, c, d], (f64::from(x) + 0.5) / f64::from(CELL), (f64::from(y) + 0.5) / f64::from(CELL));
                    if let Some(pixel) = zooms.iter().find_map(|&zoom| sampled(tiles, zoom, share)) {
                        let at = 4 * (left + x) as usize;
                        row[at..at + 4].copy_from_slice(&pixel);
                    }
                }
            }
        }
        Ok::<(), MapError>(())
    })?;
    Ok(Some(out))
}

/// The zooms of some tiles, the finest first.
fn zooms(tiles: &Tiles) -> Vec<u8> {
    let mut zooms: Vec<u8> = tiles.keys().map(|t| t.zoom).collect();
    zooms.dedup();
    zooms.reverse();
    zooms
}

/// Between four corners: upper left, upper right, lower left, lower right.
fn between([a, b, c, d]: [(f64, f64); 4], x: f64, y: f64) -> (f64, f64) {
    let mix = |a: f64, b: f64, c: f64, d: f64| (a * (1.0 - x) + b * x) * (1.0 - y) + (c * (1.0 - x) + d * x) * y;
    (mix(a.0, b.0, c.0, d.0), mix(a.1, b.1, c.1, d.1))
}

/// The colour at a place of the whole map, given by its shares of the way east and south, between the four pixels next to it,
/// multiplied with how opaque it is; `None` where no tile of the zoom lies.
fn sampled(tiles: &Tiles, zoom: u8, (east, south): (f64, f64)) -> Option<[u8; 4]> {
    let across = f64::from(WebTile::across(zoom));
    let (x, y) = (east * across, south * across);
    let picture = tiles.get(&WebTile { zoom, column: x as u32, row: y as u32 })?;
    let (u, v) = (x.fract() * f64::from(picture.width) - 0.5, y.fract() * f64::from(picture.height) - 0.5);
    let pixel = |i: f64, j: f64| {
        let i = i.clamp(0.0, f64::from(picture.width) - 1.0) as usize;
        let j = j.clamp(0.0, f64::from(picture.height) - 1.0) as usize;
        let at = 4 * (j * picture.width as usize + i);
        let p = &picture.rgba[at..at + 4];
        let opaque = f32::from(p[3]) / 255.0;
        [f32::from(p[0]) * opaque, f32::from(p[1]) * opaque, f32::from(p[2]) * opaque, f32::from(p[3])]
    };
    let (i, j, x, y) = (u.floor(), v.floor(), (u - u.floor()) as f32, (v - v.floor()) as f32);
    let four = [pixel(i, j), pixel(i + 1.0, j), pixel(i, j + 1.0), pixel(i + 1.0, j + 1.0)];
    Some(std::array::from_fn(|k| {
        let [a, b, c, d] = four.map(|p| p[k]);
        ((a * (1.0 - x) + b * x) * (1.0 - y) + (c * (1.0 - x) + d * x) * y).round() as u8
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::place::{Bounds, LonLat};

    /// Tiles whose pixels say where they are: red the column, green the row of the pixel in its tile.
    fn tiles_round(place: LonLat, zoom: u8) -> Tiles {
        let middle = WebTile::at(place, zoom).unwrap();
        let picture = TilePixels {
            width: 256,
            height: 256,
            rgba: (0..256 * 256).flat_map(|k| [(k % 256) as u8, (k / 256) as u8, 99, 255]).collect(),
        };
        let near = |k: u32| WebTile { zoom, column: middle.column + k % 5 - 2, row: middle.row + k / 5 - 2 };
        (0..25).map(|k| (near(k), picture.clone())).collect()
    }

    /// Against the tile's own arithmetic at every seventh pixel: a third of a pixel is not seen.
    #[test]
    fn every_pixel_comes_from_where_it_belongs() {
        let place = LonLat { lon: -118.29, lat: 36.58 };
        let frame = Frame::centred_on(place);
        for (zoom, metres) in [(16, 900.0), (11, 30_000.0), (8, 240_000.0)] {
            let half = metres / 2.0;
            let box_ = Bounds { min: Local { x: -half, y: -half }, max: Local { x: half, y: half } };
            let view = View::of(&box_, (500, 400), 0.0);
            let out = warped(&frame, &view, &tiles_round(place, zoom), &Unwatched).unwrap().unwrap();
            let across = f64::from(WebTile::across(zoom));
            for (x, y) in (0..500u32).step_by(7).flat_map(|x| (0..400u32).step_by(7).map(move |y| (x, y))) {
                let there = frame.lon_lat_from_local(view.place(f64::from(x) + 0.5, f64::from(y) + 0.5));
                let (east, south) = WebTile::share(there).unwrap();
                let wanted = [east, south].map(|s| (s * across).fract() * 256.0 - 0.5);
                let found = out.pixel(x, y).unwrap();
                for (found, wanted) in [found.red(), found.green()].into_iter().zip(wanted) {
                    // at the edge of a tile the next pixel is another tile's first
                    if (1.0..254.0).contains(&wanted) {
                        assert!((f64::from(found) - wanted).abs() < 0.84, "zoom {zoom} at {x}, {y}: {found}, not {wanted:.2}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_coarser_tile_stands_in_and_what_is_beyond_stays_clear() {
        let place = LonLat { lon: -71.1, lat: 42.37 };
        let frame = Frame::centred_on(place);
        let mut tiles = tiles_round(place, 16);
        let middle = WebTile::at(place, 16).unwrap();
        tiles.remove(&middle);
        let parent = middle.parent().unwrap();
        tiles.insert(parent, TilePixels { width: 1, height: 1, rgba: vec![10, 200, 10, 255] });
        let at = frame.local_from_lon_lat(middle.place(0.5, 0.5));
        let view = View::of(&Bounds::of(&[at]), (5, 5), 0.0);
        let out = warped(&frame, &view, &tiles, &Unwatched).unwrap().unwrap();
        assert_eq!(out.pixel(2, 2).unwrap().green(), 200);
        let far = View::of(&Bounds::of(&[Local { x: 90_000.0, y: 0.0 }]), (5, 5), 0.0);
        assert!(warped(&frame, &far, &tiles, &Unwatched).unwrap().unwrap().pixels().iter().all(|p| p.alpha() == 0));
    }
}
