//! Water in containers by their shape: litres, and the surface that a rate by area is reckoned on.

use crate::units::SquareMetres;
use std::f64::consts::PI;

/// Litres in one US gallon. Source: 231 cubic inches of 2.54 cm, exact.
pub const LITRES_PER_GALLON: f64 = 3.785_411_784;

/// The shape of standing water; lengths in metres, measured inside, the depth being that of the water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WaterShape {
    /// An upright cylinder: drum, saucer, round pool, bamboo stump.
    Round {
        /// Across.
        diameter: f64,
        /// Depth of the water.
        depth: f64,
    },
    /// A bucket wider above than below, or the other way round.
    Bucket {
        /// Across the bottom.
        bottom: f64,
        /// Across the water's surface.
        surface: f64,
        /// Depth of the water.
        depth: f64,
    },
    /// A round pipe lying level.
    Pipe {
        /// Across.
        diameter: f64,
        /// How long the water stands in it.
        length: f64,
        /// Depth of the water at the middle.
        depth: f64,
    },
    /// A tire lying flat: water between two rims.
    Ring {
        /// Across the outer rim.
        outer: f64,
        /// Across the inner rim.
        inner: f64,
        /// Depth of the water.
        depth: f64,
    },
    /// An oval pond.
    Oval {
        /// Longest across.
        length: f64,
        /// Widest across.
        width: f64,
        /// Mean depth of the water.
        depth: f64,
    },
    /// A box: gutter, trough, sump.
    Box {
        /// Long side.
        length: f64,
        /// Short side.
        width: f64,
        /// Depth of the water.
        depth: f64,
    },
    /// A bird bath: a part of a ball.
    Bowl {
        /// Across the water's surface.
        diameter: f64,
        /// Depth of the water at the middle.
        depth: f64,
    },
}

/// How much water stands in a container.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Litres.
    pub litres: f64,
    /// The water's surface.
    pub surface: SquareMetres,
}

impl Water {
    /// The same in US gallons.
    pub fn gallons(&self) -> f64 {
        self.litres / LITRES_PER_GALLON
    }
}

/// A length that cannot be.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ShapeError {
    /// A length is 0 or less, or no number.
    #[error("the {what} must be more than 0 m; found {found} m")]
    NotALength {
        /// Which length.
        what: &'static str,
        /// What was given, in metres.
        found: f64,
    },
    /// The water is deeper than the container, or a part wider than the whole.
    #[error("the {part} ({found} m) cannot be more than the {whole} ({most} m)")]
    TooMuch {
        /// The length that is too large.
        part: &'static str,
        /// What was given, in metres.
        found: f64,
        /// What bounds it.
        whole: &'static str,
        /// The bound, in metres.
        most: f64,
    },
}

impl crate::error::Hint for ShapeError {
    fn hint(&self) -> String {
        "Measure inside, and the water rather than the container".to_owned()
    }
}

fn length(what: &'static str, found: f64) -> Result<f64, ShapeError> {
    if found > 0.0 && found.is_finite() { Ok(found) } else { Err(ShapeError::NotALength { what, found }) }
}

fn at_most(part: &'static str, found: f64, whole: &'static str, most: f64) -> Result<f64, ShapeError> {
    if found <= most { Ok(found) } else { Err(ShapeError::TooMuch { part, found, whole, most }) }
}

impl WaterShape {
    /// How much water stands in the shape.
    ///
    /// # Errors
    /// [`ShapeError`] when a length is not more than 0, or larger than what bounds it.
    ///
    /// # Source
    /// Elementary geometry.
    ///
    /// ```
    /// use yardring_core::measure::WaterShape;
    /// let drum = WaterShape::Round { diameter: 0.572, depth: 0.60 }.water()?;
    /// assert!((drum.litres - 154.18).abs() < 0.01);
    /// # Ok::<(), yardring_core::measure::ShapeError>(())
    /// ```
    pub fn water(self) -> Result<Water, ShapeError> {
        let (area, cubic_metres) = match self {
            Self::Round { diameter, depth } => prism(PI / 4.0 * length("diameter", diameter)?.powi(2), depth)?,
            Self::Box { length: long, width, depth } => prism(length("length", long)? * length("width", width)?, depth)?,
            Self::Oval { length: long, width, depth } => prism(PI / 4.0 * length("length", long)? * length("width", width)?, depth)?,
            Self::Ring { outer, inner, depth } => {
                at_most("inner diameter", length("inner diameter", inner)?, "outer diameter", outer)?;
                prism(PI / 4.0 * (outer * outer - inner * inner), depth)?
            }
            Self::Bucket { bottom, surface, depth } => {
                let (r, top) = (length("diameter of the bottom", bottom)? / 2.0, length("diameter of the surface", surface)? / 2.0);
                (PI * top * top, PI * length("depth", depth)? * (top * top + top * r + r * r) / 3.0)
            }
            Self::Pipe { diameter, length: long, depth } => pipe(diameter, long, depth)?,
            Self::Bowl { diameter, depth } => {
                let (a, h) = (length("diameter", diameter)? / 2.0, length("depth", depth)?);
                if h > a {
                    return Err(ShapeError::TooMuch { part: "depth", found: h, whole: "half of the diameter", most: a });
                }
                (PI * a * a, PI * h * (3.0 * a * a + h * h) / 6.0)
            }
        };
        Ok(Water { litres: 1000.0 * cubic_metres, surface: SquareMetres(area) })
    }
}

/// Straight walls: the surface, and surface times depth.
fn prism(area: f64, depth: f64) -> Result<(f64, f64), ShapeError> {
    Ok((area, area * length("depth", depth)?))
}

fn pipe(diameter: f64, long: f64, depth: f64) -> Result<(f64, f64), ShapeError> {
    let (r, h) = (length("diameter", diameter)? / 2.0, length("depth", depth)?);
    at_most("depth", h, "diameter", diameter)?;
    let half_chord = (2.0 * r * h - h * h).max(0.0).sqrt();
    let section = r * r * ((r - h) / r).acos() - (r - h) * half_chord;
    Ok((2.0 * half_chord * length("length", long)?, section * long))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out in Python 3 from the formulas (the project's science notes, 8.4).
    #[test]
    fn agrees_with_worked_shapes() {
        let rows = [
            (WaterShape::Round { diameter: 0.25, depth: 0.02 }, 0.981_75, 0.049_087),
            (WaterShape::Pipe { diameter: 0.10, length: 3.0, depth: 0.03 }, 5.9451, 0.274_95),
            (WaterShape::Pipe { diameter: 0.10, length: 3.0, depth: 0.05 }, 11.781, 0.30),
            (WaterShape::Ring { outer: 0.60, inner: 0.40, depth: 0.05 }, 7.854, 0.157_08),
            (WaterShape::Oval { length: 3.0, width: 2.0, depth: 0.4 }, 1884.96, 4.7124),
            (WaterShape::Box { length: 6.0, width: 0.10, depth: 0.03 }, 18.0, 0.6),
            (WaterShape::Bowl { diameter: 0.40, depth: 0.04 }, 2.5468, 0.125_66),
        ];
        for (shape, litres, surface) in rows {
            let found = shape.water().unwrap();
            assert!((found.litres - litres).abs() < 1e-4 * litres && (found.surface.0 - surface).abs() < 1e-3 * surface, "{found:?}");
        }
    }

    #[test]
    fn refuses_what_cannot_be() {
        let told = |shape: WaterShape| shape.water().unwrap_err().to_string();
        assert_eq!(told(WaterShape::Round { diameter: 0.3, depth: -0.1 }), "the depth must be more than 0 m; found -0.1 m");
        assert_eq!(
            told(WaterShape::Pipe { diameter: 0.1, length: 3.0, depth: 0.2 }),
            "the depth (0.2 m) cannot be more than the diameter (0.1 m)"
        );
        assert_eq!(
            told(WaterShape::Bowl { diameter: 0.4, depth: 0.9 }),
            "the depth (0.9 m) cannot be more than the half of the diameter (0.2 m)"
        );
        assert!(WaterShape::Ring { outer: 0.3, inner: 0.5, depth: 0.1 }.water().is_err());
        assert!(WaterShape::Box { length: f64::NAN, width: 1.0, depth: 1.0 }.water().is_err());
    }
}
