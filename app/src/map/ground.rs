//! The ground underneath: pictures of web map tiles, each warped from web Mercator into the district frame.

use super::camera::Camera;
use super::scene::Inks;
use egui::epaint::{Mesh, Vertex};
use egui::{Painter, Pos2, TextureHandle, pos2};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use yardring_core::place::{Frame, Local, LonLat, WebTile};

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
    /// The least and the greatest zoom there is.
    pub zooms: (u8, u8),
    /// Pixels along a tile's side.
    pub side: u32,
    /// South-west and north-east corners of all tiles, where they are known.
    pub corners: Option<[LonLat; 2]>,
    /// Who is named at the foot of the map.
    pub attribution: String,
}

impl Ground {
    /// The tiles that a view needs, those next to its middle first; none where it would need too many.
    pub fn needed(&self, frame: &Frame, camera: &Camera, pixels_per_point: f32) -> Vec<WebTile> {
        let Some([low, high]) = seen(frame, camera).and_then(|seen| self.within(seen)) else { return Vec::new() };
        let latitude = f64::midpoint(low.lat, high.lat);
        let pixels = WebTile::side(0, latitude) * camera.points_per_metre * f64::from(pixels_per_point);
        let suits = (pixels / f64::from(self.side.max(1))).max(1.0).log2().round() as u8;
        let zoom = suits.clamp(self.zooms.0, self.zooms.1.max(self.zooms.0));
        let (Some(first), Some(last)) =
            (WebTile::at(LonLat { lat: high.lat, ..low }, zoom), WebTile::at(LonLat { lat: low.lat, ..high }, zoom))
        else {
            return Vec::new();
        };
        let across = (last.column + 1).saturating_sub(first.column) as usize;
        let down = (last.row + 1).saturating_sub(first.row) as usize;
        if across.saturating_mul(down) > MOST_TILES {
            return Vec::new();
        }
        let columns = first.column..=last.column;
        let mut all: Vec<WebTile> =
            columns.flat_map(|column| (first.row..=last.row).map(move |row| WebTile { zoom, column, row })).collect();
        let away = |t: &WebTile| frame.local_from_lon_lat(t.place(0.5, 0.5)).distance(camera.centre);
        all.sort_by(|a, b| away(a).total_cmp(&away(b)).then(a.cmp(b)));
        all
    }

    /// The part of a box in degrees that tiles may lie in.
    fn within(&self, [low, high]: [LonLat; 2]) -> Option<[LonLat; 2]> {
        let end = 85.05;
        let [south_west, north_east] = self.corners.unwrap_or([LonLat { lon: -180.0, lat: -end }, LonLat { lon: 180.0, lat: end }]);
        let low = LonLat { lon: low.lon.max(south_west.lon), lat: low.lat.max(south_west.lat).max(-end) };
        let high = LonLat { lon: high.lon.min(north_east.lon), lat: high.lat.min(north_east.lat).min(end) };
        (low.lon < high.lon && low.lat < high.lat).then_some([low, high])
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

/// The box in degrees round what a camera sees; `None` where none of it is on the earth.
fn seen(frame: &Frame, camera: &Camera) -> Option<[LonLat; 2]> {
    let rect = camera.rect;
    let along = |k: usize| k as f32 / 4.0;
    let point = |k: usize| Pos2::new(rect.left() + rect.width() * along(k % 5), rect.top() + rect.height() * along(k / 5));
    let places = (0..25).map(|k| frame.lon_lat_from_local(camera.on_ground(point(k)))).filter(|p| p.lon.is_finite() && p.lat.is_finite());
    places.fold(None, |all, p| {
        let [low, high] = all.unwrap_or([p, p]);
        let low = LonLat { lon: low.lon.min(p.lon), lat: low.lat.min(p.lat) };
        Some([low, LonLat { lon: high.lon.max(p.lon), lat: high.lat.max(p.lat) }])
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::map::points_per_metre;
    use egui::{Rect, vec2};

    const CENTRE: LonLat = LonLat { lon: -118.29, lat: 36.58 };

    fn camera(zoom: f64) -> Camera {
        let rect = Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 800.0));
        Camera { rect, centre: Local { x: 0.0, y: 0.0 }, points_per_metre: points_per_metre(zoom) }
    }

    fn ground() -> Ground {
        Ground { tiles: Arc::default(), zooms: (4, 18), side: 256, corners: None, attribution: String::new() }
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
        let elsewhere = Ground { corners: Some([LonLat { lon: 10.0, lat: 40.0 }, LonLat { lon: 11.0, lat: 41.0 }]), ..ground() };
        assert!(elsewhere.needed(&frame, &camera(14.0), 1.0).is_empty());
        let fine = Ground { zooms: (15, 18), ..ground() };
        assert!(fine.needed(&frame, &camera(8.0), 1.0).is_empty() && !fine.needed(&frame, &camera(15.0), 1.0).is_empty());
        let coarse = Ground { zooms: (4, 9), ..ground() };
        assert!(coarse.needed(&frame, &camera(20.0), 1.0).len() <= 4, "from nearer by the coarse tiles are drawn large");
    }
}
