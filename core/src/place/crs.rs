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
    /// What tells the system from all others, to be written down: `EPSG:` and its number, or well-known text; `None` for
    /// degrees on WGS 84, which need no word.
    ///
    /// ```
    /// use yardring_core::place::Crs;
    /// assert_eq!(Crs::from_definition(&Crs::Epsg(2248).definition().unwrap()), Crs::Epsg(2248));
    /// assert_eq!(Crs::Wgs84.definition(), None);
    /// ```
    pub fn definition(&self) -> Option<String> {
        match self {
            Self::Wgs84 => None,
            Self::Epsg(_) => Some(self.to_string()),
            Self::Text(text) => Some(text.clone()),
        }
    }

    /// The system that [`Crs::definition`] wrote down.
    pub fn from_definition(text: &str) -> Self {
        Self::from_code(text).unwrap_or_else(|_| Self::Text(text.to_owned()))
    }

    /// Reads `EPSG:2248`, `epsg:4326`, a bare number, or a name as older GeoJSON files carry it:
    /// `urn:ogc:def:crs:EPSG::2248`, `urn:ogc:def:crs:OGC:1.3:CRS84`.
    ///
    /// # Errors
    /// [`NotACrs`] when the text names no EPSG number.
    ///
    /// ```
    /// use yardring_core::place::Crs;
    /// assert_eq!(Crs::from_code("EPSG:2248")?, Crs::Epsg(2248));
    /// assert_eq!(Crs::from_code("epsg:4326")?, Crs::Wgs84);
    /// assert_eq!(Crs::from_code("urn:ogc:def:crs:EPSG::2248")?, Crs::Epsg(2248));
    /// assert!(Crs::from_code("Maryland feet").is_err());
    /// # Ok::<(), yardring_core::place::NotACrs>(())
    /// ```
    pub fn from_code(text: &str) -> Result<Self, NotACrs> {
        let trimmed = text.trim();
        let lower = trimmed.to_ascii_lowercase();
        if lower == "urn:ogc:def:crs:ogc:1.3:crs84" || lower == "ogc:crs84" {
            return Ok(Self::Wgs84);
        }
        let short = lower.strip_prefix("urn:ogc:def:crs:").unwrap_or(&lower);
        let digits = match short.split_once(':') {
            // A version may stand between the register and the number.
            Some(("epsg", number)) => number.rsplit(':').next().unwrap_or(number),
            None => short,
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
