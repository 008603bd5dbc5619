//! The ground underneath: pictures of web map tiles, each warped from web Mercator into the district frame.

use super::camera::Camera;
use super::scene::Inks;
use egui::epaint::{Mesh, Vertex};
use egui::{Painter, TextureHandle, pos2};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use yardring_core::place::{Frame, Local, TileStock, WebTile};

/// Cells along a tile's side, each of which is drawn as two flat triangles.
const CELLS: usize = 8;
/// Most tiles that a view may need; farther out no ground is drawn.
const MOST_TILES: usize = 160;
/// Zooms by which a coarser tile may stand in for one that is not there yet.
const STAND_IN: usize = 6;

/// One tile's picture, and where its corners and the corners of its cells lie in the district frame.
#[derive(Clone)]
pub struct GroundTile {
    texture: TextureHandle,
    places: Arc<Vec<Local>>,
}

impl std::fmt::Debug for GroundTile {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "GroundTile of {:?}", self.texture.size())
    }
}

impl GroundTile {
    /// A tile with its picture, for maps in a frame.
    pub fn new(frame: &Frame, tile: WebTile, texture: TextureHandle) -> Self {
        Self { texture, places: Arc::new(places(frame, tile)) }
    }

    /// Bytes that the picture takes up.
    pub fn bytes(&self) -> usize {
        4 * self.texture.size()[0] * self.texture.size()[1]
    }

    /// Pixels along its side.
    pub fn side(&self) -> u32 {
        self.texture.size()[0] as u32
    }

    fn mesh(&self, camera: &Camera, inks: &Inks) -> Mesh {
        let mut mesh = Mesh::with_texture(self.texture.id());
        for (k, &place) in self.places.iter().enumerate() {
            let [u, v] = [k % (CELLS + 1), k / (CELLS + 1)].map(|i| i as f32 / CELLS as f32);
            mesh.vertices.push(Vertex { pos: camera.on_screen(place), uv: pos2(u, v), color: inks.ground });
        }
        for k in (0..CELLS * CELLS).map(|k| (k / CELLS * (CELLS + 1) + k % CELLS) as u32) {
            let below = k + CELLS as u32 + 1;
            mesh.add_triangle(k, k + 1, below);
            mesh.add_triangle(k + 1, below + 1, below);
        }
        mesh
    }
}

/// Where the corners of a tile's cells lie, from its north-west corner row after row.
fn places(frame: &Frame, tile: WebTile) -> Vec<Local> {
    let share = |k: usize| k as f64 / CELLS as f64;
    let row = |j: usize| (0..=CELLS).map(move |i| frame.local_from_lon_lat(tile.place(share(i), share(j))));
    (0..=CELLS).flat_map(row).collect()
}

/// Tiles known so far; `None` for one that there is not.
pub type Tiles = BTreeMap<WebTile, Option<GroundTile>>;

/// The ground to be drawn underneath.
#[derive(Clone, Debug)]
pub struct Ground {
    /// Tiles known so far.
    pub tiles: Arc<Tiles>,
    /// Which tiles there may be.
    pub stock: TileStock,
    /// Who is named at the foot of the map.
    pub attribution: String,
}

impl Ground {
    /// The tiles that a view needs, those next to its middle first; none where it would need too many.
    pub fn needed(&self, frame: &Frame, camera: &Camera, pixels_per_point: f32) -> Vec<WebTile> {
        let pixels_per_metre = camera.points_per_metre * f64::from(pixels_per_point);
        self.stock.needed(frame, &camera.view(), pixels_per_metre, MOST_TILES)
    }

    /// Draws the needed tiles, and below those that are missing whatever coarser tile is known.
    pub(super) fn paint(&self, painter: &Painter, camera: &Camera, needed: &[WebTile], inks: &Inks) {
        let known = |tile: &WebTile| self.tiles.get(tile).and_then(Option::as_ref);
        let coarser = |tile: &WebTile| {
            let parents = std::iter::successors(tile.parent(), |t| t.parent());
            parents.take(STAND_IN).find(|t| known(t).is_some())
        };
        let stand_ins: BTreeSet<WebTile> = needed.iter().filter(|t| known(t).is_none()).filter_map(coarser).collect();
        // in the order of their zooms, so that finer ones lie above
        for tile in stand_ins.iter().chain(needed).filter_map(known) {
            painter.add(tile.mesh(camera, inks));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::map::points_per_metre;
    use egui::{Pos2, Rect, vec2};
    use yardring_core::place::LonLat;

    const CENTRE: LonLat = LonLat { lon: -118.29, lat: 36.58 };

    fn camera(zoom: f64) -> Camera {
        let rect = Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 800.0));
        Camera { rect, centre: Local { x: 0.0, y: 0.0 }, points_per_metre: points_per_metre(zoom) }
    }

    fn of(stock: TileStock) -> Ground {
        Ground { tiles: Arc::default(), stock, attribution: String::new() }
    }

    fn ground() -> Ground {
        of(TileStock { zooms: (4, 18), side: 256, corners: None })
    }

    /// Between the corners of cells a picture is drawn flat; that must not be seen.
    #[test]
    fn within_a_cell_the_picture_lies_where_it_belongs_to_a_third_of_a_pixel() {
        let frame = Frame::centred_on(CENTRE);
        for zoom in 8..=18 {
            let tile = WebTile::at(LonLat { lon: CENTRE.lon + 0.3, lat: CENTRE.lat + 0.2 }, zoom).unwrap();
            let at = places(&frame, tile);
            let pixel = at[0].distance(at[CELLS]) / 512.0;
            let mut worst = 0.0f64;
            for j in 0..CELLS {
                for i in 0..CELLS {
                    let corner = |a: usize, b: usize| at[(j + b) * (CELLS + 1) + i + a];
                    let flat = Local { x: f64::midpoint(corner(1, 0).x, corner(0, 1).x), y: f64::midpoint(corner(1, 0).y, corner(0, 1).y) };
                    let share = |k: usize| (k as f64 + 0.5) / CELLS as f64;
                    worst = worst.max(frame.local_from_lon_lat(tile.place(share(i), share(j))).distance(flat) / pixel);
                }
            }
            assert!(worst < 0.34, "zoom {zoom}: {worst} of a pixel");
        }
    }

    #[test]
    fn neighbouring_tiles_share_their_edge_to_the_last_bit() {
        let frame = Frame::centred_on(CENTRE);
        let tile = WebTile::at(CENTRE, 15).unwrap();
        let (here, there) = (places(&frame, tile), places(&frame, WebTile { column: tile.column + 1, ..tile }));
        for j in 0..=CELLS {
            assert_eq!(here[j * (CELLS + 1) + CELLS], there[j * (CELLS + 1)]);
        }
    }

    #[test]
    fn a_view_needs_the_tiles_it_sees_at_about_their_own_size() {
        let (frame, ground) = (Frame::centred_on(CENTRE), ground());
        for zoom in [9.3, 14.0, 16.8] {
            let camera = camera(zoom);
            let tiles = ground.needed(&frame, &camera, 1.0);
            assert_eq!(tiles[0], WebTile::at(CENTRE, tiles[0].zoom).unwrap(), "the one in the middle comes first");
            let on_screen = WebTile::side(tiles[0].zoom, CENTRE.lat) * camera.points_per_metre / 256.0;
            assert!((0.7..1.45).contains(&on_screen), "{on_screen} points to a pixel");
            for corner in [camera.rect.left_top(), camera.rect.right_bottom(), camera.rect.right_top()] {
                let place = frame.lon_lat_from_local(camera.on_ground(corner));
                assert!(tiles.contains(&WebTile::at(place, tiles[0].zoom).unwrap()), "{place:?}");
            }
        }
    }

    #[test]
    fn nothing_is_needed_beyond_the_ground_or_too_far_out() {
        let frame = Frame::centred_on(CENTRE);
        let stock = ground().stock;
        let corners = Some([LonLat { lon: 10.0, lat: 40.0 }, LonLat { lon: 11.0, lat: 41.0 }]);
        let elsewhere = of(TileStock { corners, ..stock });
        assert!(elsewhere.needed(&frame, &camera(14.0), 1.0).is_empty());
        let fine = of(TileStock { zooms: (15, 18), ..stock });
        assert!(fine.needed(&frame, &camera(8.0), 1.0).is_empty() && !fine.needed(&frame, &camera(15.0), 1.0).is_empty());
        let coarse = of(TileStock { zooms: (4, 9), ..stock });
        assert!(coarse.needed(&frame, &camera(20.0), 1.0).len() <= 4, "from nearer by the coarse tiles are drawn large");
    }
}
