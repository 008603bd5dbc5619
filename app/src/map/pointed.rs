//! Where the pointer is, in words: degrees, and the county's own coordinates where the survey knows them.

use yardring_core::place::{Crs, CrsFacts, CrsUnit, Frame, Local, LonLat, OutOfFrame};
use yardring_core::units::grouped;

/// Most letters of a system's name that stand beside its numbers: a longer one would be cut in a small window.
const LONGEST: usize = 14;

/// The county's coordinate system, ready to turn places of one survey into its numbers.
#[derive(Clone, Debug)]
pub struct CountyGrid {
    name: String,
    unit: &'static str,
    out: OutOfFrame,
}

impl CountyGrid {
    /// The system for a survey's frame; `None` where it cannot be read.
    pub fn new(frame: &Frame, crs: &Crs) -> Option<Self> {
        let unit = match CrsFacts::of(crs).ok()?.unit {
            CrsUnit::Metre => "m",
            CrsUnit::UsSurveyFoot | CrsUnit::InternationalFoot => "ft",
            CrsUnit::Degree => "°",
            CrsUnit::Other(_) => "",
        };
        let name = Some(crs.to_string()).filter(|n| n.chars().count() <= LONGEST).unwrap_or_else(|| "county's system".to_owned());
        Some(Self { name, unit, out: OutOfFrame::new(frame, crs).ok()? })
    }

    /// The place that two of the county's numbers name, east first, looked for from a place near by (Newton's method); `None` where
    /// the system leads nowhere within some 200 km of it.
    pub fn find(&self, (east, north): (f64, f64), near: Local) -> Option<Local> {
        let told = |p: Local| {
            let mut xy = [[p.x, p.y]];
            self.out.apply(&mut xy);
            Some(xy[0]).filter(|v| v.iter().all(|v| v.is_finite()))
        };
        let mut at = near;
        for _ in 0..8 {
            let here = told(at)?;
            let (dx, dy) = (told(Local { x: at.x + 1.0, ..at })?, told(Local { y: at.y + 1.0, ..at })?);
            let [a, b, c, d] = [dx[0] - here[0], dy[0] - here[0], dx[1] - here[1], dy[1] - here[1]];
            let (miss, whole) = ([east - here[0], north - here[1]], a * d - b * c);
            if whole.abs() < 1e-12 {
                return None;
            }
            let step = Local { x: (d * miss[0] - b * miss[1]) / whole, y: (a * miss[1] - c * miss[0]) / whole };
            at = Local { x: at.x + step.x, y: at.y + step.y };
            if at.distance(near) > 200_000.0 {
                return None;
            }
            if step.x.hypot(step.y) < 0.01 {
                return Some(at);
            }
        }
        None
    }

    /// A place in the county's numbers, as `764,259 E 2,960,111 N ft, EPSG:2249`; empty outside what the system covers.
    pub fn words(&self, place: Local) -> String {
        let mut xy = [[place.x, place.y]];
        self.out.apply(&mut xy);
        let [x, y] = xy[0];
        if !x.is_finite() || !y.is_finite() {
            return String::new();
        }
        let of = if self.unit == "°" { |v: f64| format!("{v:.5}") } else { |v: f64| whole(v) };
        format!("{} E {} N {}, {}", of(x), of(y), self.unit, self.name)
    }
}

/// A whole number with commas between thousands.
fn whole(v: f64) -> String {
    let sign = if v <= -0.5 { "−" } else { "" };
    format!("{sign}{}", grouped(v.abs().round_ties_even() as u64))
}

/// A place in degrees to about a metre, latitude first: `42.36521° N 71.10512° W`.
pub fn degrees(p: LonLat) -> String {
    let (north, east) = (if p.lat < 0.0 { "S" } else { "N" }, if p.lon < 0.0 { "W" } else { "E" });
    format!("{:.5}° {north} {:.5}° {east}", p.lat.abs(), p.lon.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_say_which_is_which() {
        assert_eq!(degrees(LonLat { lon: -71.105_12, lat: 42.365_21 }), "42.36521° N 71.10512° W");
        assert_eq!(degrees(LonLat { lon: 151.2, lat: -33.87 }), "33.87000° S 151.20000° E");
    }

    /// EPSG:2249 of 71.1° W 42.37° N: pyproj 3.7.2 gives 764,258.59 E 2,960,110.86 N.
    #[test]
    fn the_county_s_numbers_are_those_of_proj() {
        let place = LonLat { lon: -71.1, lat: 42.37 };
        let frame = Frame::centred_on(place);
        let grid = CountyGrid::new(&frame, &Crs::Epsg(2249)).unwrap();
        assert_eq!(grid.words(frame.local_from_lon_lat(place)), "764,259 E 2,960,111 N ft, EPSG:2249");
        assert_eq!(grid.words(Local { x: f64::NAN, y: 0.0 }), "");
        let far = frame.local_from_lon_lat(LonLat { lon: -71.2, lat: 42.3 });
        let found = grid.find((764_258.59, 2_960_110.86), far).unwrap();
        assert!(found.distance(frame.local_from_lon_lat(place)) < 0.02, "{found:?}");
        assert_eq!(grid.find((12.0, 9.0), far), None, "as far away as that no county lies");
        assert!(CountyGrid::new(&frame, &Crs::Text("no such system".into())).is_none());
    }
}
