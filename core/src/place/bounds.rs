//! Upright boxes in the district frame.

use super::Local;

/// The smallest upright box round something, in metres of the district frame. Empty when `min > max`.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C)]
pub struct Bounds {
    /// South-west corner.
    pub min: Local,
    /// North-east corner.
    pub max: Local,
}

impl Bounds {
    /// The box that holds nothing; growing it by a place gives that place.
    pub const EMPTY: Self =
        Self { min: Local { x: f64::INFINITY, y: f64::INFINITY }, max: Local { x: f64::NEG_INFINITY, y: f64::NEG_INFINITY } };

    /// The box round some places.
    ///
    /// ```
    /// use yardring_core::place::{Bounds, Local};
    /// let b = Bounds::of(&[Local { x: 1.0, y: 5.0 }, Local { x: 3.0, y: 2.0 }]);
    /// assert_eq!((b.width(), b.height()), (2.0, 3.0));
    /// ```
    pub fn of(places: &[Local]) -> Self {
        places.iter().fold(Self::EMPTY, |b, &p| b.with(p))
    }

    /// This box grown to hold a place.
    #[must_use]
    pub fn with(self, p: Local) -> Self {
        Self {
            min: Local { x: self.min.x.min(p.x), y: self.min.y.min(p.y) },
            max: Local { x: self.max.x.max(p.x), y: self.max.y.max(p.y) },
        }
    }

    /// The box round two boxes.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self {
            min: Local { x: self.min.x.min(other.min.x), y: self.min.y.min(other.min.y) },
            max: Local { x: self.max.x.max(other.max.x), y: self.max.y.max(other.max.y) },
        }
    }

    /// This box with its sides moved outwards by some metres.
    #[must_use]
    pub fn grown(self, by: f64) -> Self {
        Self { min: Local { x: self.min.x - by, y: self.min.y - by }, max: Local { x: self.max.x + by, y: self.max.y + by } }
    }

    /// Whether it holds nothing at all.
    pub fn is_empty(&self) -> bool {
        !(self.min.x <= self.max.x && self.min.y <= self.max.y)
    }

    /// Whether two boxes share a place; edges count.
    pub fn touches(&self, other: &Self) -> bool {
        // All four at once: which of them fails first nobody can foretell, and a processor that guesses wrong waits.
        (self.min.x <= other.max.x) & (other.min.x <= self.max.x) & (self.min.y <= other.max.y) & (other.min.y <= self.max.y)
    }

    /// Whether a place lies in the box; edges count.
    pub fn holds(&self, p: Local) -> bool {
        self.min.x <= p.x && p.x <= self.max.x && self.min.y <= p.y && p.y <= self.max.y
    }

    /// Least distance between two boxes in metres; 0 when they touch.
    pub fn distance(&self, other: &Self) -> f64 {
        let dx = (self.min.x - other.max.x).max(other.min.x - self.max.x).max(0.0);
        let dy = (self.min.y - other.max.y).max(other.min.y - self.max.y).max(0.0);
        // Not hypot: boxes are asked by the million, and coordinates in metres neither overflow nor vanish when squared.
        (dx * dx + dy * dy).sqrt()
    }

    /// Middle of the box.
    pub fn centre(&self) -> Local {
        Local { x: f64::midpoint(self.min.x, self.max.x), y: f64::midpoint(self.min.y, self.max.y) }
    }

    /// East–west extent in metres.
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// South–north extent in metres.
    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }
}
