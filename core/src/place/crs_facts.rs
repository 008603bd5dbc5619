//! What is known about a coordinate system: its name, its unit, where it is meant for.

use super::{Crs, CrsError, transform, wkt};

/// The unit of a file's coordinates.
#[derive(Clone, Debug, PartialEq)]
pub enum CrsUnit {
    /// Metres.
    Metre,
    /// US survey feet of 1200/3937 m.
    UsSurveyFoot,
    /// International feet of 0.3048 m.
    InternationalFoot,
    /// Degrees of longitude and latitude.
    Degree,
    /// Another unit, by its name.
    Other(String),
}

impl CrsUnit {
    /// The unit's name for people.
    pub fn name(&self) -> &str {
        match self {
            Self::Metre => "metre",
            Self::UsSurveyFoot => "US survey foot",
            Self::InternationalFoot => "international foot",
            Self::Degree => "degree",
            Self::Other(name) => name,
        }
    }
}

/// Part of the earth a system is meant for, in degrees; `west` is greater than `east` where it lies across 180°.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AreaOfUse {
    /// Least longitude.
    pub west: f64,
    /// Least latitude.
    pub south: f64,
    /// Greatest longitude.
    pub east: f64,
    /// Greatest latitude.
    pub north: f64,
}

/// What is known about a coordinate system.
#[derive(Clone, Debug, PartialEq)]
pub struct CrsFacts {
    /// Its name, as the EPSG register or the description gives it.
    pub name: String,
    /// The unit of its coordinates.
    pub unit: CrsUnit,
    /// One unit in metres; `None` for degrees.
    pub unit_metres: Option<f64>,
    /// Where it is meant for, when PROJ knows.
    pub area: Option<AreaOfUse>,
}

impl CrsFacts {
    /// The facts about a system.
    ///
    /// # Errors
    /// [`CrsError`] when the system is not known, cannot be read, or is not tied to the earth.
    ///
    /// ```
    /// use yardring_core::place::{Crs, CrsFacts, CrsUnit};
    /// assert_eq!(CrsFacts::of(&Crs::Epsg(2248))?.unit, CrsUnit::UsSurveyFoot);
    /// assert_eq!(CrsFacts::of(&Crs::Epsg(2223))?.unit, CrsUnit::InternationalFoot);
    /// # Ok::<(), yardring_core::place::CrsError>(())
    /// ```
    pub fn of(crs: &Crs) -> Result<Self, CrsError> {
        let (text, area) = transform::described(crs)?;
        let geographic = wkt::root(&text) == Some(wkt::Root::Geographic);
        let (unit, unit_metres) = match wkt::unit(&text) {
            Some((name, factor)) if geographic => (angle(name, factor), None),
            Some((name, factor)) => (length(name, factor), Some(factor)),
            None => (CrsUnit::Other("unit not named".into()), None),
        };
        Ok(Self { name: wkt::name(&text), unit, unit_metres, area })
    }
}

fn angle(name: String, radians: f64) -> CrsUnit {
    if (radians.to_degrees() - 1.0).abs() < 1e-9 { CrsUnit::Degree } else { CrsUnit::Other(name) }
}

/// The two feet differ by 2 millionths; descriptions write either with seven digits or more.
fn length(name: String, metres: f64) -> CrsUnit {
    let is = |wanted: f64| (metres / wanted - 1.0).abs() < 2e-7;
    if is(1.0) {
        CrsUnit::Metre
    } else if is(1200.0 / 3937.0) {
        CrsUnit::UsSurveyFoot
    } else if is(0.3048) {
        CrsUnit::InternationalFoot
    } else {
        CrsUnit::Other(name)
    }
}
