//! From the district frame to the screen and back.

use egui::{Pos2, Rect, Vec2};
use walkers::{Pixels, Position, Projection};
use yardring_core::place::{Bounds, Local};

/// Metres of one point of the screen at zoom 0; each step of zoom halves it. The same as a web map's at the equator, so that
/// zoom numbers mean what people expect.
const METRES_AT_ZOOM_0: f64 = 156_543.033_928;

/// The largest zoom, where a point of the screen is 2 mm.
pub const CLOSEST: f64 = 26.0;

/// The map shows the district frame itself: metres east and north, true to scale, so that no corner has to be turned into
/// degrees to be drawn. The panning widget's "position" is such a pair of metres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plat;

impl Projection for Plat {
    fn project(&self, position: Position, zoom: f64) -> Pixels {
        let scale = points_per_metre(zoom);
        Pixels::new(position.x() * scale, -position.y() * scale)
    }

    fn unproject(&self, pixels: Pixels, zoom: f64) -> Position {
        let scale = points_per_metre(zoom);
        Position::new(pixels.x() / scale, -pixels.y() / scale)
    }

    fn scale_pixel_per_meter(&self, _position: Position, zoom: f64) -> f64 {
        points_per_metre(zoom)
    }
}

/// Points of the screen to a metre on the ground.
pub fn points_per_metre(zoom: f64) -> f64 {
    zoom.exp2() / METRES_AT_ZOOM_0
}

/// The zoom at which a box fills a part of the screen, with a margin round it.
pub(super) fn zoom_that_fits(extent: &Bounds, size: Vec2) -> f64 {
    let room = |points: f32| f64::from((points - 48.0).max(16.0));
    let scale = (room(size.x) / extent.width().max(1.0)).min(room(size.y) / extent.height().max(1.0));
    (scale * METRES_AT_ZOOM_0).log2().clamp(0.0, 20.0)
}

/// The zoom at which a box fills the map, and the points by which its middle moves left and up, so that a corner that is taken,
/// the lower right one, hides hardly any of what is in the box: `content`, boxes on the ground. The box may reach into the
/// corner where it is empty. Where keeping the corner free would make the box much smaller, the corner lies over it.
pub(super) fn fit_beside(extent: &Bounds, size: Vec2, corner: Vec2, content: &[Bounds]) -> (f64, Vec2) {
    let whole = zoom_that_fits(extent, size);
    if corner == Vec2::ZERO {
        return (whole, Vec2::ZERO);
    }
    let steps = (0..=MOST_SMALLER).map(|k| whole - 0.1 * f64::from(k));
    let shares = [0.0, 0.5, 1.0].into_iter().flat_map(|x| [0.0, 0.5, 1.0].map(|y| Vec2::new(x, y)));
    let tried = steps.flat_map(|zoom| shares.clone().map(move |share| (zoom, share)));
    let with_shift = tried.map(|(zoom, share)| (zoom, share * spare(extent, size, zoom)));
    let free = |(zoom, shift): &(f64, Vec2)| {
        let scale = points_per_metre(*zoom);
        let hidden = |b: &&Bounds| {
            let right = ((b.max.x - extent.centre().x) * scale) as f32 - shift.x + size.x / 2.0;
            let foot = ((extent.centre().y - b.min.y) * scale) as f32 - shift.y + size.y / 2.0;
            right > size.x - corner.x && foot > size.y - corner.y
        };
        content.iter().filter(hidden).count() * HIDDEN_OF <= content.len()
    };
    with_shift.into_iter().find(free).unwrap_or((whole, Vec2::ZERO))
}

/// Tenths of a step of zoom that a box may be shown smaller so that hardly anything of it is hidden.
const MOST_SMALLER: i32 = 9;
/// One in so many things of the box may be hidden.
const HIDDEN_OF: usize = 200;

/// The points by which a box can move aside within its margins at a zoom.
fn spare(extent: &Bounds, size: Vec2, zoom: f64) -> Vec2 {
    let scale = points_per_metre(zoom);
    let room = |points: f32, metres: f64| ((points - 48.0) / 2.0 - (metres * scale / 2.0) as f32).max(0.0);
    Vec2::new(room(size.x, extent.width()), room(size.y, extent.height()))
}

/// Where the map looks, whatever its size on the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// The place in the middle.
    pub centre: Local,
    /// The zoom.
    pub zoom: f64,
}

impl Look {
    /// Whether another look shows much the same: less than some 200 points aside and half a step of zoom off.
    pub fn is_near(&self, other: &Self) -> bool {
        let points = self.centre.distance(other.centre) * points_per_metre(self.zoom.min(other.zoom));
        points < 200.0 && (self.zoom - other.zoom).abs() < 0.5
    }
}

/// Where the map looks: the part of the screen, the place in its middle, and the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// The part of the screen that the map fills.
    pub rect: Rect,
    /// The place in its middle.
    pub centre: Local,
    /// Points of the screen to a metre.
    pub points_per_metre: f64,
}

impl Camera {
    /// Where a place falls on the screen.
    ///
    /// ```
    /// use yardring::map::Camera;
    /// use yardring_core::place::Local;
    /// let rect = egui::Rect::from_min_size(egui::pos2(0.0, 0.0), egui::vec2(200.0, 100.0));
    /// let camera = Camera { rect, centre: Local { x: 1000.0, y: 2000.0 }, points_per_metre: 2.0 };
    /// assert_eq!(camera.on_screen(Local { x: 1010.0, y: 2005.0 }), egui::pos2(120.0, 40.0));
    /// ```
    pub fn on_screen(&self, p: Local) -> Pos2 {
        let east = ((p.x - self.centre.x) * self.points_per_metre) as f32;
        let north = ((p.y - self.centre.y) * self.points_per_metre) as f32;
        self.rect.center() + Vec2::new(east, -north)
    }

    /// The place under a point of the screen.
    pub fn on_ground(&self, at: Pos2) -> Local {
        let from_centre = at - self.rect.center();
        Local {
            x: self.centre.x + f64::from(from_centre.x) / self.points_per_metre,
            y: self.centre.y - f64::from(from_centre.y) / self.points_per_metre,
        }
    }

    /// The ground in view.
    pub fn view(&self) -> Bounds {
        Bounds::of(&[self.on_ground(self.rect.left_bottom()), self.on_ground(self.rect.right_top())])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fitted_box_fills_the_screen_and_no_more() {
        let size = Vec2::new(800.0, 600.0);
        let extent = Bounds { min: Local { x: -500.0, y: 100.0 }, max: Local { x: 1_500.0, y: 400.0 } };
        let scale = points_per_metre(zoom_that_fits(&extent, size));
        assert!((extent.width() * scale - 752.0).abs() < 1e-6);
        assert!(extent.height() * scale < 552.0);
    }

    /// How many of some boxes a fitted map hides under its lower right corner, and whether all of them are on the map.
    fn hidden(extent: &Bounds, size: Vec2, corner: Vec2, content: &[Bounds]) -> (usize, bool) {
        let (zoom, shift) = fit_beside(extent, size, corner, content);
        let scale = points_per_metre(zoom);
        let centre = Local { x: extent.centre().x + f64::from(shift.x) / scale, y: extent.centre().y - f64::from(shift.y) / scale };
        let camera = Camera { rect: Rect::from_min_size(Pos2::ZERO, size), centre, points_per_metre: scale };
        let taken = Rect::from_min_max(Pos2::ZERO + size - corner, Pos2::ZERO + size);
        let drawn = content.iter().map(|b| Rect::from_two_pos(camera.on_screen(b.min), camera.on_screen(b.max)));
        drawn.fold((0, true), |(n, all), r| (n + usize::from(r.intersects(taken)), all && camera.rect.contains_rect(r)))
    }

    fn grid(wide: u32, high: u32) -> (Bounds, Vec<Bounds>) {
        let corner = |i: u32, j: u32| Local { x: f64::from(i) * 20.0, y: f64::from(j) * 20.0 };
        let lots = (0..wide * high).map(|k| Bounds { min: corner(k % wide, k / wide), max: corner(k % wide + 1, k / wide + 1) });
        (Bounds { min: corner(0, 0), max: corner(wide, high) }, lots.collect())
    }

    #[test]
    fn a_corner_hides_hardly_anything_and_an_empty_corner_costs_nothing() {
        let (size, corner) = (Vec2::new(900.0, 700.0), Vec2::new(280.0, 240.0));
        for (wide, high) in [(80, 15), (50, 50), (20, 60)] {
            let (extent, lots) = grid(wide, high);
            let (n, all) = hidden(&extent, size, corner, &lots);
            assert!(n * HIDDEN_OF <= lots.len() && all, "{wide} by {high}: {n} hidden");
        }
        // A district whose lower right quarter is empty fills the map as if there were no corner.
        let (extent, mut lots) = grid(60, 45);
        lots.retain(|b| b.min.x < extent.centre().x || b.min.y > extent.centre().y);
        assert_eq!(fit_beside(&extent, size, corner, &lots), (zoom_that_fits(&extent, size), Vec2::ZERO));
        let (extent, lots) = grid(50, 50);
        assert_eq!(fit_beside(&extent, size, Vec2::new(800.0, 650.0), &lots).1, Vec2::ZERO, "not at any price");
    }

    #[test]
    fn one_place_and_half_a_continent_both_have_a_zoom() {
        let size = Vec2::new(800.0, 600.0);
        let place = Bounds::of(&[Local { x: 1.0, y: 1.0 }]);
        assert!(zoom_that_fits(&place, size) <= 20.0);
        let wide = Bounds { min: Local { x: -1.5e6, y: 0.0 }, max: Local { x: 1.5e6, y: 1.0 } };
        assert!(wide.width() * points_per_metre(zoom_that_fits(&wide, size)) <= 752.001);
    }

    #[test]
    fn the_widget_and_the_camera_agree() {
        let (p, zoom) = (Position::new(1234.5, -987.25), 17.5);
        let pixels = Plat.project(p, zoom);
        let back = Plat.unproject(pixels, zoom);
        assert!((back.x() - p.x()).abs() < 1e-9 && (back.y() - p.y()).abs() < 1e-9);
        let rect = Rect::from_center_size(Pos2::ZERO, Vec2::splat(100.0));
        let camera = Camera { rect, centre: Local { x: 0.0, y: 0.0 }, points_per_metre: points_per_metre(zoom) };
        let on_screen = camera.on_screen(Local { x: p.x(), y: p.y() });
        assert!((f64::from(on_screen.x) - pixels.x()).abs() < 1e-3 && (f64::from(on_screen.y) - pixels.y()).abs() < 1e-3);
    }
}
