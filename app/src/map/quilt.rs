//! Far out, where outlines are smaller than a point of the screen: square cells in the average colour of what lies in them.
//!
//! Drawing a million outlines that are each a third of a pixel shows only which of them happen to meet a pixel's middle, as a
//! false grid. The quilt shows how much of each cell is which colour instead, and is far cheaper to draw.

use super::scene::{ClassInk, Mark};
use egui::Color32;
use std::ops::Range;
use yardring_core::place::Local;

/// Cells along one side of a tile.
pub(super) const TILE: usize = 64;
/// Tiles side by side in the picture that holds them all.
pub(super) const TILES_ACROSS: usize = 16;
/// Pictures of a tile, each half as fine as the one before.
pub(super) const LEVELS: usize = 6;
/// Most tiles; the cells grow until there are no more.
const MOST_TILES: usize = 512;
/// How much of its edge's tone ground has whose edges are too fine to be drawn, and how firm what is hatched is there.
const EDGE_TONE: f32 = 0.18;
const HATCHED_PALE: f32 = 0.5;
/// Cells to one outline's side.
const CELLS_TO_A_SIDE: f64 = 1.25;

/// Where an outline is and how large: a box of its area, the side of the square of the same area, all in metres, and its number.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    pub middle: Local,
    pub size: [f32; 2],
    pub side: f32,
    pub outline: u32,
}

/// Which outlines lie in which cell, and how much of the cell each fills.
#[derive(Debug)]
pub(super) struct Quilt {
    /// Side of a cell in metres.
    pub cell: f64,
    /// The tiles that hold something, by column and row counted from the frame's centre; row after row.
    pub tiles: Vec<[i32; 2]>,
    starts: Vec<u32>,
    entries: Vec<Entry>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Entry {
    outline: u32,
    share: f32,
}

/// The cells that an outline's box meets, with the share of each that it fills.
fn cells_of(spot: &Spot, cell: f64) -> impl Iterator<Item = ([i32; 2], f32)> {
    let span = move |v: f64, size: f32| ((v - f64::from(size) / 2.0) / cell, (v + f64::from(size) / 2.0) / cell);
    let (x, y) = (span(spot.middle.x, spot.size[0]), span(spot.middle.y, spot.size[1]));
    let along = |(from, to): (f64, f64)| (from.floor() as i32)..=(to.floor() as i32);
    let overlap = |k: i32, (from, to): (f64, f64)| (to.min(f64::from(k) + 1.0) - from.max(f64::from(k))).max(0.0);
    along(y).flat_map(move |j| along(x).map(move |i| ([i, j], (overlap(i, x) * overlap(j, y)) as f32)))
}

fn tile_of(cell: [i32; 2]) -> [i32; 2] {
    cell.map(|v| v.div_euclid(TILE as i32))
}

impl Quilt {
    /// Sews the quilt of some outlines whose typical side is given; `None` when there is nothing to sew.
    pub(super) fn of(spots: &[Spot], typical_side: f64) -> Option<Self> {
        if spots.is_empty() || typical_side <= 0.0 {
            return None;
        }
        let mut cell = typical_side / CELLS_TO_A_SIDE;
        let (small, tiles) = loop {
            let small: Vec<Spot> = spots.iter().filter(|s| f64::from(s.side) < 4.0 * cell && s.side > 0.0).copied().collect();
            let tiles = tiles_of(&small, cell);
            if tiles.len() <= MOST_TILES {
                break (small, tiles);
            }
            cell *= 2.0;
        };
        let mut quilt = Self { cell, starts: vec![0; tiles.len() * TILE * TILE + 1], tiles, entries: Vec::new() };
        quilt.fill(&small);
        Some(quilt)
    }

    /// The side in metres from which on outlines are left out, to be drawn as they are.
    pub(super) fn largest(&self) -> f64 {
        4.0 * self.cell
    }

    fn fill(&mut self, spots: &[Spot]) {
        for spot in spots {
            for (cell, _) in cells_of(spot, self.cell) {
                let at = self.number(cell);
                self.starts[at + 1] += 1;
            }
        }
        for k in 1..self.starts.len() {
            self.starts[k] += self.starts[k - 1];
        }
        let mut next = self.starts.clone();
        self.entries = vec![Entry::default(); self.starts[self.starts.len() - 1] as usize];
        for spot in spots {
            for (cell, share) in cells_of(spot, self.cell) {
                let at = self.number(cell);
                self.entries[next[at] as usize] = Entry { outline: spot.outline, share };
                next[at] += 1;
            }
        }
    }

    /// A cell's number among the cells of all tiles.
    fn number(&self, cell: [i32; 2]) -> usize {
        let tile = tile_of(cell);
        let t = self.tiles.binary_search_by_key(&[tile[1], tile[0]], |t| [t[1], t[0]]).unwrap_or(0);
        let [i, j] = cell.map(|v| v.rem_euclid(TILE as i32) as usize);
        (t * TILE + j) * TILE + i
    }

    /// The colour of every cell of some tiles, premultiplied, tile after tile, each from its south-west cell row after row.
    pub(super) fn colours(&self, tiles: Range<usize>, classes: &[u8], inks: &[ClassInk]) -> Vec<[u8; 4]> {
        let fills: Vec<[f32; 4]> = inks.iter().map(average_fill).collect();
        let fill_of = |outline: u32| fills.get(usize::from(classes.get(outline as usize).copied().unwrap_or(0)));
        let cells = tiles.start * TILE * TILE..tiles.end * TILE * TILE;
        let colour = |k: usize| {
            let here = &self.entries[self.starts[k] as usize..self.starts[k + 1] as usize];
            let full = here.iter().map(|e| e.share).sum::<f32>().max(1.0);
            let mut sum = [0.0f32; 4];
            for entry in here {
                if let Some(fill) = fill_of(entry.outline) {
                    for (s, f) in sum.iter_mut().zip(fill) {
                        *s += f * entry.share / full;
                    }
                }
            }
            sum.map(|v| (v * 255.0).round() as u8)
        };
        cells.map(colour).collect()
    }
}

/// The tiles that some outlines need, row after row.
fn tiles_of(spots: &[Spot], cell: f64) -> Vec<[i32; 2]> {
    let mut tiles: Vec<[i32; 2]> = Vec::new();
    for spot in spots {
        for (c, _) in cells_of(spot, cell) {
            let tile = tile_of(c);
            if tiles.last() != Some(&tile) {
                tiles.push(tile);
            }
        }
    }
    tiles.sort_unstable_by_key(|t| [t[1], t[0]]);
    tiles.dedup();
    tiles
}

/// The colour that a class has on average, premultiplied, 0 to 1.
fn average_fill(ink: &ClassInk) -> [f32; 4] {
    let premultiplied = |c: Color32| c.to_array().map(|v| f32::from(v) / 255.0);
    let (fill, mark, edge) = (premultiplied(ink.fill), premultiplied(ink.mark_ink), premultiplied(ink.edge));
    let edge = if ink.edge_width.max(ink.ground_width) > 0.0 { edge } else { [0.0; 4] };
    let inside = if ink.mark == Mark::LowerHalf { std::array::from_fn(|k| f32::midpoint(fill[k], mark[k])) } else { fill };
    // As the outlines themselves are drawn where their edges and hatching are too fine to be seen (`fill_ink` of the shader).
    let pale = if ink.hatched { HATCHED_PALE } else { 1.0 };
    std::array::from_fn(|k| pale * (EDGE_TONE * edge[k] + inside[k] * (1.0 - EDGE_TONE * edge[3])))
}

/// Square pictures of some side, one after another, each half as fine.
pub(super) fn halved(pictures: &[[u8; 4]], side: usize) -> Vec<[u8; 4]> {
    let half = side / 2;
    let mean = |picture: &[[u8; 4]], i: usize, j: usize| {
        let at = |x: usize, y: usize| picture[(2 * j + y) * side + 2 * i + x].map(u16::from);
        let four = [at(0, 0), at(1, 0), at(0, 1), at(1, 1)];
        std::array::from_fn(|k| ((four.iter().map(|c| c[k]).sum::<u16>() + 2) / 4) as u8)
    };
    let of = |picture: &[[u8; 4]], k: usize| mean(picture, k % half, k / half);
    pictures.chunks(side * side).flat_map(|picture| (0..half * half).map(move |k| of(picture, k))).collect()
}

/// Pictures of tiles laid side by side, as one picture.
pub(super) fn side_by_side(pictures: &[[u8; 4]], side: usize) -> Vec<[u8; 4]> {
    let tiles = pictures.len() / (side * side);
    (0..side).flat_map(|j| (0..tiles).flat_map(move |t| pictures[(t * side + j) * side..][..side].iter().copied())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spots(n: u32, side: f32, apart: f64) -> Vec<Spot> {
        let place = |k: u32| Local { x: f64::from(k % 100) * apart - 900.0, y: f64::from(k / 100) * apart - 700.0 };
        (0..n).map(|k| Spot { middle: place(k), size: [side; 2], side, outline: k }).collect()
    }

    fn ink(grey: u8) -> ClassInk {
        ClassInk::plain(Color32::from_gray(grey), Color32::TRANSPARENT)
    }

    #[test]
    fn all_of_the_ground_is_counted_once() {
        let quilt = Quilt::of(&spots(10_000, 20.0, 23.0), 20.0).unwrap();
        let covered: f64 = quilt.entries.iter().map(|e| f64::from(e.share)).sum::<f64>() * quilt.cell * quilt.cell;
        assert!((covered - 10_000.0 * 400.0).abs() < 1.0, "{covered}");
    }

    #[test]
    fn an_even_town_has_an_even_quilt() {
        let quilt = Quilt::of(&spots(10_000, 20.0, 20.0), 20.0).unwrap();
        let colours = quilt.colours(0..quilt.tiles.len(), &[], &[ink(100)]);
        let inside = quilt.number([0, 0]);
        assert_eq!(colours[inside], [100, 100, 100, 255]);
        let full = colours.iter().filter(|c| c[3] == 255).count() as f64 * quilt.cell * quilt.cell;
        assert!(full > 0.97 * 4.0e6, "{full}");
    }

    #[test]
    fn a_cell_mixes_what_lies_in_it() {
        let mut here = spots(2, 10.0, 0.0);
        here[1].middle.x += 10.0;
        let quilt = Quilt::of(&here, 40.0 * CELLS_TO_A_SIDE).unwrap();
        let colours = quilt.colours(0..quilt.tiles.len(), &[0, 1], &[ink(0), ink(200)]);
        let alpha: f64 = colours.iter().map(|c| f64::from(c[3])).sum::<f64>() / 255.0 * 1600.0;
        assert!((alpha - 200.0).abs() < 10.0, "200 m² of outlines, {alpha} m² of ink");
        let grey: f64 = colours.iter().map(|c| f64::from(c[0])).sum::<f64>() / 200.0 * 1600.0;
        assert!((grey - 100.0).abs() < 8.0, "{grey}");
    }

    #[test]
    fn far_apart_needs_few_tiles() {
        let mut here = spots(2_000, 20.0, 25.0);
        here.extend(spots(2_000, 20.0, 25.0).iter().map(|s| Spot { middle: Local { x: s.middle.x + 3.0e6, y: s.middle.y }, ..*s }));
        let quilt = Quilt::of(&here, 20.0).unwrap();
        assert!(quilt.tiles.len() < 60 && quilt.cell < 20.0);
        let wide = spots(10_000, 20.0, 5_000.0);
        assert!(Quilt::of(&wide, 20.0).unwrap().tiles.len() <= MOST_TILES);
    }

    #[test]
    fn halving_keeps_the_mean_and_tiles_their_place() {
        let pictures: Vec<[u8; 4]> = (0..2 * 4 * 4u8).map(|k| [k; 4]).collect();
        let half = halved(&pictures, 4);
        assert_eq!(half.len(), 8);
        assert_eq!(half[0][0], 3); // mean of 0, 1, 4, 5 is 2.5
        let picture = side_by_side(&half, 2);
        assert_eq!(picture.len(), 8);
        assert_eq!((picture[2], picture[4]), (half[4], half[2]));
    }
}
