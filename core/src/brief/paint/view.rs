//! From metres of the district to pixels of a picture.

use crate::place::{Bounds, Local, ShapeView};
use tiny_skia::PathBuilder;

/// How the district lies on a sheet of pixels: north up, one scale everywhere.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// The place at the sheet's upper left corner.
    corner: Local,
    /// Pixels in a metre.
    pub scale: f64,
    /// Size of the sheet in pixels.
    pub size: (u32, u32),
}

impl View {
    /// The largest view of some ground in the middle of a sheet, with a margin of pixels.
    pub fn of(ground: &Bounds, size: (u32, u32), margin: f64) -> Self {
        let room = |n: u32| (f64::from(n) - 2.0 * margin).max(1.0);
        let scale = (room(size.0) / ground.width().max(1.0)).min(room(size.1) / ground.height().max(1.0));
        let centre = ground.centre();
        let half = |n: u32| f64::from(n) / 2.0 / scale;
        Self { corner: Local { x: centre.x - half(size.0), y: centre.y + half(size.1) }, scale, size }
    }

    /// The part of the view between two rows of pixels, as a view of its own.
    pub fn band(&self, from: u32, to: u32) -> Self {
        let y = self.corner.y - f64::from(from) / self.scale;
        Self { corner: Local { x: self.corner.x, y }, scale: self.scale, size: (self.size.0, to - from) }
    }

    /// The same view with so many pixels to one of its own, each way.
    pub fn finer(&self, times: u32) -> Self {
        Self { corner: self.corner, scale: self.scale * f64::from(times), size: (self.size.0 * times, self.size.1 * times) }
    }

    /// The place at a pixel, counted from the upper left corner of the sheet.
    pub fn place(&self, x: f64, y: f64) -> Local {
        Local { x: self.corner.x + x / self.scale, y: self.corner.y - y / self.scale }
    }

    /// The ground in view.
    pub fn ground(&self) -> Bounds {
        Bounds::of(&[self.corner, self.place(f64::from(self.size.0), f64::from(self.size.1))])
    }

    /// A place in pixels.
    pub fn pixel(&self, p: Local) -> (f32, f32) {
        (((p.x - self.corner.x) * self.scale) as f32, ((self.corner.y - p.y) * self.scale) as f32)
    }

    /// Whether something within some pixels of a box could be seen.
    pub fn sees(&self, b: &Bounds, margin: f64) -> bool {
        !b.is_empty() && b.touches(&self.ground().grown(margin / self.scale))
    }

    /// Adds an outline to a path: outer rings one way round and holes the other, so that the path winds round what is inside.
    pub fn add(&self, path: &mut PathBuilder, shape: ShapeView<'_>) {
        for part in shape.parts() {
            for (i, ring) in part.rings().enumerate() {
                let left = crate::place::signed_area(ring) > 0.0;
                if left == (i == 0) {
                    self.trace(path, ring.iter());
                } else {
                    self.trace(path, ring.iter().rev());
                }
                path.close();
            }
        }
    }

    /// Adds open runs to a path.
    pub fn add_runs(&self, path: &mut PathBuilder, shape: ShapeView<'_>) {
        for ring in shape.rings() {
            self.trace(path, ring.iter());
        }
    }

    fn trace<'a>(&self, path: &mut PathBuilder, mut places: impl Iterator<Item = &'a Local>) {
        if let Some(&first) = places.next() {
            let (x, y) = self.pixel(first);
            path.move_to(x, y);
        }
        for &p in places {
            let (x, y) = self.pixel(p);
            path.line_to(x, y);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ground_fits_and_bands_agree_with_the_whole() {
        let ground = Bounds { min: Local { x: -50.0, y: 0.0 }, max: Local { x: 150.0, y: 100.0 } };
        let view = View::of(&ground, (420, 300), 10.0);
        assert_eq!(view.scale, 2.0);
        assert_eq!(view.pixel(Local { x: -50.0, y: 100.0 }), (10.0, 50.0));
        assert_eq!(view.pixel(Local { x: 150.0, y: 0.0 }), (410.0, 250.0));
        let band = view.band(100, 160);
        assert_eq!(band.pixel(Local { x: 150.0, y: 0.0 }), (410.0, 150.0));
        assert!(band.sees(&Bounds::of(&[Local { x: 0.0, y: 70.0 }]), 0.0) && !band.sees(&Bounds::of(&[Local { x: 0.0, y: 90.0 }]), 5.0));
    }
}
