//! What a radius leaves out: how far mosquitoes go, and how a drawn circle falls short of a true one.

/// The share of mosquitoes that go farther than `beyond` metres when they go `mean` metres on average, should they scatter
/// like a normal distribution in two directions. No ring is safe; this says by how much.
///
/// # Source
/// Rayleigh distribution: exp(−π r² / 4 m²).
///
/// ```
/// use yardring_core::reach::share_beyond;
/// assert!((share_beyond(119.0, 200.0) - 0.1088).abs() < 1e-4);
/// ```
pub fn share_beyond(mean: f64, beyond: f64) -> f64 {
    (-std::f64::consts::PI * beyond * beyond / (4.0 * mean * mean)).exp()
}

/// How far from the middle the sides of a many-sided figure lie whose corners lie on a circle, in the circle's unit.
///
/// # Source
/// r cos(π/n).
pub fn inner_radius(radius: f64, sides: u32) -> f64 {
    radius * (std::f64::consts::PI / f64::from(sides)).cos()
}

/// How many times too long the metres of web maps are at a latitude, degrees: why no reach is ever drawn in them.
///
/// # Source
/// Spherical Mercator: 1 / cos φ.
pub fn web_map_stretch(latitude: f64) -> f64 {
    1.0 / latitude.to_radians().cos()
}
