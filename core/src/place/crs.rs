//! Naming a coordinate system.

use std::fmt;

/// The coordinate system of a file's numbers.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Crs {
    /// Degrees on WGS 84, longitude first.
    Wgs84,
    /// A system by its number in the EPSG register, coordinates in the order east, north (or longitude, latitude).
    Epsg(u32),
    /// A system described in well-known text, as a `.prj` file or a GeoPackage holds it.
    Text(String),
}

impl Crs {
    /// Reads `EPSG:2248`, `epsg:4326` or a bare number.
    ///
    /// # Errors
    /// [`NotACrs`] when the text names no EPSG number.
    ///
    /// ```
    /// use yardring_core::place::Crs;
    /// assert_eq!(Crs::from_code("EPSG:2248")?, Crs::Epsg(2248));
    /// assert_eq!(Crs::from_code("epsg:4326")?, Crs::Wgs84);
    /// assert!(Crs::from_code("Maryland feet").is_err());
    /// # Ok::<(), yardring_core::place::NotACrs>(())
    /// ```
    pub fn from_code(text: &str) -> Result<Self, NotACrs> {
        let trimmed = text.trim();
        let digits = match trimmed.split_once(':') {
            Some((register, number)) if register.eq_ignore_ascii_case("epsg") => number,
            None => trimmed,
            Some(_) => "",
        };
        match digits.parse::<u32>() {
            Ok(4326) => Ok(Self::Wgs84),
            Ok(number) if number > 0 => Ok(Self::Epsg(number)),
            _ => Err(NotACrs { given: trimmed.to_owned() }),
        }
    }
}

impl fmt::Display for Crs {
    /// The EPSG number, or the name that a description begins with.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Wgs84 => f.write_str("EPSG:4326"),
            Self::Epsg(number) => write!(f, "EPSG:{number}"),
            Self::Text(text) => f.write_str(text.split('"').nth(1).unwrap_or(text)),
        }
    }
}

/// A text that names no coordinate system.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{given}' names no coordinate system: write EPSG: and its number, as EPSG:2248")]
pub struct NotACrs {
    /// The text as it was given.
    pub given: String,
}
