//! The coordinate systems that an office's files are mostly in, by where they are meant for.

use super::LonLat;

/// The EPSG numbers of usual projected systems that are meant for a place, the likelier families first.
///
/// # Source
/// The EPSG register's areas of use as pyproj 3.7.2 carries them, written down by `tests-data/make_usual_systems.py`; the order
/// of the families is common practice, no source.
///
/// ```
/// use yardring_core::place::{LonLat, usual_systems};
/// assert_eq!(usual_systems(LonLat { lon: -71.1, lat: 42.37 }).next(), Some(2249)); // Massachusetts, US survey feet
/// ```
pub fn usual_systems(near: LonLat) -> impl Iterator<Item = u32> {
    include_str!("usual_systems.txt").lines().filter_map(move |line| {
        let mut words = line.split(' ');
        let number = words.next()?.parse().ok()?;
        let mut degrees = || words.next()?.parse::<f64>().ok();
        let (west, south, east, north) = (degrees()?, degrees()?, degrees()?, degrees()?);
        ((west..=east).contains(&near.lon) && (south..=north).contains(&near.lat)).then_some(number)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Crs, CrsFacts};

    /// Every line is a system that PROJ knows, with the area that PROJ gives it.
    #[test]
    fn every_line_is_as_the_register_has_it() {
        let mut lines = 0;
        for line in include_str!("usual_systems.txt").lines().step_by(40) {
            let numbers: Vec<f64> = line.split(' ').map(|w| w.parse().unwrap()).collect();
            let area = CrsFacts::of(&Crs::Epsg(numbers[0] as u32)).unwrap().area.unwrap();
            assert_eq!([area.west, area.south, area.east, area.north], numbers[1..], "{line}");
            lines += 1;
        }
        assert!(lines > 30);
    }

    #[test]
    fn a_place_at_sea_has_only_the_zone_of_the_world_that_it_lies_in() {
        // Zone 26 south of WGS 84 / UTM is EPSG:32726.
        let at_sea: Vec<u32> = usual_systems(LonLat { lon: -25.0, lat: -55.0 }).collect();
        assert!(at_sea.contains(&32_726) && at_sea.len() <= 2, "{at_sea:?}");
        assert!(usual_systems(LonLat { lon: -76.6, lat: 39.3 }).any(|n| n == 2248));
    }
}
