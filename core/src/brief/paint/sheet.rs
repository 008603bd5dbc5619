//! What a page can be drawn with: fills, lines, hatching and letters. Pixels, SVG and PDF each know how to do them, so that one
//! map looks the same in all three.

use super::super::ink::Rgb;
use super::lettering::{Hand, Lettering};
use tiny_skia::{Path, Pixmap, Transform};

/// Something to draw on. Places are pixels from the upper left corner, y downwards.
pub trait Sheet {
    /// Fills a path; a place lies inside when the path winds round it.
    fn fill(&mut self, path: &Path, ink: Rgb);

    /// Fills a path; a place lies inside when a ray from it crosses the path an odd number of times.
    fn fill_even_odd(&mut self, path: &Path, ink: Rgb);

    /// Tints the inside of a path, what lies below showing through: `share` of the ink, 0 to 1; even and odd as above.
    fn wash(&mut self, path: &Path, ink: Rgb, share: f32);

    /// Lays a picture with its upper left corner at a place, `scale` pixels of the sheet to one of its own.
    fn picture(&mut self, picture: &Pixmap, at: (f32, f32), scale: f32);

    /// Draws slanting lines over the inside of a path, `apart` pixels from line to line.
    fn hatch(&mut self, path: &Path, ink: Rgb, apart: u32, width: f32);

    /// Draws a line along a path.
    fn line(&mut self, path: &Path, ink: Rgb, width: f32);

    /// Draws a line along a path with round ends.
    fn soft_line(&mut self, path: &Path, ink: Rgb, width: f32);

    /// Writes letters one after the other; `at` takes 0, 0 to where the first begins, on the line that it stands on.
    fn letters(&mut self, lettering: &Lettering, text: &str, hand: Hand, at: Transform);

    /// What follows is another part of the page, until the next: for people who open the file in a drawing program.
    fn part(&mut self, _name: &'static str) {}
}

/// A sheet without pixels, on which a smaller sheet can be framed.
pub trait Framed: Sheet {
    /// From now on places are those of a sheet inside this one (left, top, width, height), and nothing is drawn beyond it.
    fn enter(&mut self, frame: (u32, u32, u32, u32));

    /// Back to the sheet itself.
    fn leave(&mut self);
}

/// The slanting lines on a square tile that fits itself on every side: from and to.
pub fn slants(side: f32) -> [[(f32, f32); 2]; 3] {
    [-side, 0.0, side].map(|shift| [(shift - side, 2.0 * side), (shift + 2.0 * side, -side)])
}
