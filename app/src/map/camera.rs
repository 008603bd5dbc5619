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

/// The zoom at which a box fills the map beside or above a corner that is taken, and the points by which the room shrinks at
/// the right and at the foot. Where that would make the box much smaller, the corner is left to lie over it.
pub(super) fn fit_beside(extent: &Bounds, size: Vec2, corner: Vec2) -> (f64, [f32; 2]) {
    let whole = zoom_that_fits(extent, size);
    let left = (zoom_that_fits(extent, size - Vec2::new(corner.x, 0.0)), [corner.x, 0.0]);
    let above = (zoom_that_fits(extent, size - Vec2::new(0.0, corner.y)), [0.0, corner.y]);
    let best = if left.0 >= above.0 { left } else { above };
    if best.0 >= whole - MOST_SMALLER { best } else { (whole, [0.0; 2]) }
}

/// Steps of zoom that a box may be shown smaller so that nothing lies over it.
const MOST_SMALLER: f64 = 0.65;

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

    #[test]
    fn a_corner_is_kept_free_where_that_costs_little() {
        let size = Vec2::new(900.0, 700.0);
        let wide = Bounds { min: Local { x: 0.0, y: 0.0 }, max: Local { x: 1_600.0, y: 300.0 } };
        let (zoom, beside) = fit_beside(&wide, size, Vec2::new(280.0, 240.0));
        assert_eq!((zoom, beside), (zoom_that_fits(&wide, size), [0.0, 240.0]), "a low box moves up and stays as large");
        let square = Bounds { min: Local { x: 0.0, y: 0.0 }, max: Local { x: 1_000.0, y: 1_000.0 } };
        let (zoom, beside) = fit_beside(&square, size, Vec2::new(280.0, 240.0));
        assert!(beside == [280.0, 0.0] && zoom >= zoom_that_fits(&square, size) - MOST_SMALLER);
        assert_eq!(fit_beside(&square, size, Vec2::new(700.0, 600.0)).1, [0.0, 0.0], "not at any price");
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
