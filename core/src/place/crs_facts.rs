//! What is known about a coordinate system: its name, its unit, where it is meant for.

use super::wkt::Wkt;
use super::{Crs, CrsError, transform};

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
        let wkt = Wkt::read(&text);
        let geographic = wkt.as_ref().is_some_and(Wkt::is_geographic);
        let (unit, unit_metres) = match wkt.as_ref().and_then(Wkt::unit) {
            Some((name, factor)) if geographic => (angle(name, factor), None),
            Some((name, factor)) => (length(name, factor), Some(factor)),
            None => (CrsUnit::Other("unit not named".into()), None),
        };
        Ok(Self { name: wkt.map_or_else(String::new, |w| w.name()), unit, unit_metres, area })
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Units and areas of use as the EPSG register gives them (pyproj 3.7.2, `CRS.axis_info` and `CRS.area_of_use`).
    #[test]
    fn knows_units_and_areas_of_the_register() {
        for (number, unit, metres, west) in [
            (2248, CrsUnit::UsSurveyFoot, Some(1200.0 / 3937.0), -79.49),
            (2249, CrsUnit::UsSurveyFoot, Some(1200.0 / 3937.0), -73.5),
            (2222, CrsUnit::InternationalFoot, Some(0.3048), -111.71),
            (2223, CrsUnit::InternationalFoot, Some(0.3048), -113.35),
            (26915, CrsUnit::Metre, Some(1.0), -96.0),
            (4269, CrsUnit::Degree, None, 167.65),
        ] {
            let facts = CrsFacts::of(&Crs::Epsg(number)).unwrap();
            assert_eq!((&facts.unit, facts.area.unwrap().west), (&unit, west), "{facts:?}");
            assert!(facts.unit_metres.is_none_or(|m| (m - metres.unwrap()).abs() < 1e-12), "{facts:?}");
        }
        assert_eq!(CrsFacts::of(&Crs::Epsg(2248)).unwrap().name, "NAD83 / Maryland (ftUS)");
        assert_eq!(CrsFacts::of(&Crs::Wgs84).unwrap().unit.name(), "degree");
    }

    #[test]
    fn reads_the_facts_out_of_a_description() {
        let text = r#"PROJCS["Site_Feet",GEOGCS["G",DATUM["D",SPHEROID["S",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["Central_Meridian",-71.5],UNIT["US survey foot",0.304800609601219]]"#;
        let facts = CrsFacts::of(&Crs::Text(text.into())).unwrap();
        assert_eq!((facts.name.as_str(), facts.unit, facts.area), ("Site Feet", CrsUnit::UsSurveyFoot, None));
    }
}
