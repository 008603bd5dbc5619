//! Two kinds of coordinates that must never be mistaken for each other.

/// A place on the earth: degrees east and degrees north on WGS 84.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LonLat {
    /// Degrees east of Greenwich, −180 to 180.
    pub lon: f64,
    /// Degrees north of the equator, −90 to 90.
    pub lat: f64,
}

impl LonLat {
    /// The place, when both numbers are finite and on the earth; otherwise `None`.
    ///
    /// ```
    /// use yardring_core::place::LonLat;
    /// assert!(LonLat::new(-71.1, 42.4).is_some());
    /// assert!(LonLat::new(42.4, -171.1).is_none());
    /// ```
    pub fn new(lon: f64, lat: f64) -> Option<Self> {
        (lon.abs() <= 180.0 && lat.abs() <= 90.0).then_some(Self { lon, lat })
    }
}

/// A place in the survey's district frame: metres east and metres north of the frame's centre.
#[derive(Default, Clone, Copy, Debug, PartialEq)]
#[repr(C)]
pub struct Local {
    /// Metres east of the frame's centre.
    pub x: f64,
    /// Metres north of the frame's centre.
    pub y: f64,
}

impl Local {
    /// Straight-line distance to another place of the same frame, in metres.
    ///
    /// ```
    /// use yardring_core::place::Local;
    /// assert_eq!(Local { x: 0.0, y: 0.0 }.distance(Local { x: 3.0, y: 4.0 }), 5.0);
    /// ```
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}
