//! From the drawing board to the earth: turned a little and laid on open water in the northern Gulf, where nobody lives.

use super::plan::Spot;
use yardring_core::place::{Frame, Local, LonLat};

/// The well-known text of the parcels' coordinate system, as a `.prj` file holds it.
///
/// # Source
/// EPSG register, code 32166: NAD83 / BLM 16N (ftUS), whose area of use holds the place; written in the ESRI form of WKT 1.
pub const PRJ: &str = "PROJCS[\"NAD_1983_BLM_Zone_16N_ftUS\",GEOGCS[\"GCS_North_American_1983\",DATUM[\"D_North_American_1983\",\
SPHEROID[\"GRS_1980\",6378137.0,298.257222101]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]],\
PROJECTION[\"Transverse_Mercator\"],PARAMETER[\"False_Easting\",1640416.67],PARAMETER[\"False_Northing\",0.0],\
PARAMETER[\"Central_Meridian\",-87.0],PARAMETER[\"Scale_Factor\",0.9996],PARAMETER[\"Latitude_Of_Origin\",0.0],\
UNIT[\"Foot_US\",0.3048006096012192]]";

/// Metres in one US survey foot.
///
/// # Source
/// US Metric Law of 1866 and Mendenhall Order of 1893: 1200/3937.
const SURVEY_FOOT: f64 = 1200.0 / 3937.0;
/// The middle of the drawing board, and how far the board is turned.
const MIDDLE: Spot = [780.0, 470.0];
const TURN_DEGREES: f64 = 8.0;

/// Lays places of the drawing board on the earth.
pub struct Earth {
    district: Frame,
    zone: Frame,
}

impl Earth {
    /// The earth under Quillmere: 88.3° W, 29.4° N.
    pub fn new() -> Self {
        Self { district: Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }), zone: Frame::centred_on(LonLat { lon: -87.0, lat: 0.0 }) }
    }

    /// Degrees on WGS 84, unrounded.
    pub fn lon_lat(&self, p: Spot) -> LonLat {
        let (sin, cos) = TURN_DEGREES.to_radians().sin_cos();
        let (u, v) = (p[0] - MIDDLE[0], p[1] - MIDDLE[1]);
        self.district.lon_lat_from_local(Local { x: u * cos - v * sin, y: u * sin + v * cos })
    }

    /// Degrees as text with seven decimals (about a centimetre).
    pub fn degrees(&self, p: Spot) -> [String; 2] {
        let place = self.lon_lat(p);
        [format!("{:.7}", place.lon), format!("{:.7}", place.lat)]
    }

    /// US survey feet of the parcels' coordinate system, to a ten-thousandth.
    ///
    /// The ellipsoids of WGS 84 and GRS 1980 differ by 0.1 mm in their shorter axis, which is let pass here.
    pub fn feet(&self, p: Spot) -> [f64; 2] {
        let metres = self.zone.local_from_lon_lat(self.lon_lat(p));
        let round = |feet: f64| (feet * 1e4).round() / 1e4;
        [round(metres.x * 0.9996 / SURVEY_FOOT + 1_640_416.67), round(metres.y * 0.9996 / SURVEY_FOOT)]
    }
}
