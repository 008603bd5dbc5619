//! The coordinate systems that an office's files are mostly in: where each is meant for, and what it is called.

use super::wkt::Wkt;
use super::{AreaOfUse, Crs, LonLat, transform};

/// How far apart two systems may put the same numbers, in degrees, to be taken for one: some three metres, since a `.prj` file
/// does not say which epoch of its datum it means.
const SAME_PLACE: f64 = 3e-5;

/// A system of the list.
#[derive(Clone, Copy, Debug)]
struct Usual {
    number: u32,
    area: AreaOfUse,
    /// Its names in the register and in `.prj` files.
    names: [&'static str; 2],
}

/// The list: those that are offered, or all that are known by name. A line that cannot be read is no system.
fn listed(known: bool) -> impl Iterator<Item = Usual> {
    let lines = include_str!("usual_systems.txt").lines();
    lines.take_while(move |line| known || !line.is_empty()).filter_map(|line| {
        let mut cells = line.split('\t');
        let mut words = cells.next()?.split(' ');
        let number = words.next()?.parse().ok()?;
        let mut degrees = || words.next()?.parse::<f64>().ok();
        let area = AreaOfUse { west: degrees()?, south: degrees()?, east: degrees()?, north: degrees()? };
        Some(Usual { number, area, names: [cells.next()?, cells.next()?] })
    })
}

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
    let holds = move |a: AreaOfUse| (a.west..=a.east).contains(&near.lon) && (a.south..=a.north).contains(&near.lat);
    listed(false).filter(move |usual| holds(usual.area)).map(|usual| usual.number)
}

/// The system of the list that a description calls itself; whether it is that one its numbers must tell.
fn namesake(wkt: &Wkt) -> Option<Usual> {
    let plain = |name: &str| name.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_lowercase()).collect::<String>();
    let (wanted, number) = (plain(&wkt.name()), wkt.register_number());
    listed(true).find(|usual| Some(usual.number) == number || usual.names.iter().any(|name| !name.is_empty() && plain(name) == wanted))
}

/// The part of the earth that the namesake of a description is meant for. Quick, since nothing is reckoned: whether description
/// and namesake are one says [`register_number`].
pub(crate) fn area_by_name(crs: &Crs) -> Option<AreaOfUse> {
    let Crs::Text(text) = crs else { return None };
    namesake(&Wkt::read(text)?).map(|usual| usual.area)
}

/// The EPSG number of a system: its own, or that of the usual system that a description calls itself and agrees with to some
/// three metres all over the ground it is meant for. `None` for every other description.
///
/// ```
/// use yardring_core::place::{Crs, register_number};
/// assert_eq!(register_number(&Crs::Epsg(2248)), Some(2248));
/// assert_eq!(register_number(&Crs::Wgs84), Some(4326));
/// assert_eq!(register_number(&Crs::Text("a site plan".into())), None);
/// ```
pub fn register_number(crs: &Crs) -> Option<u32> {
    let text = match crs {
        Crs::Wgs84 => return Some(4326),
        Crs::Epsg(number) => return Some(*number),
        Crs::Text(text) => text,
    };
    let usual = namesake(&Wkt::read(text)?)?;
    let AreaOfUse { west, south, east, north } = usual.area;
    let within = |share: f64| [west + share * (east - west), south + (1.0 - share) * (north - south)];
    let places = [0.25, 0.5, 0.75].map(within);
    let numbers = transform::numbers_of(&Crs::Epsg(usual.number), &places).ok()??;
    let told = transform::lon_lats(crs, &numbers).ok()?;
    let same = |(told, [lon, lat]): (&Option<LonLat>, [f64; 2])| {
        told.is_some_and(|t| (t.lon - lon).abs() <= SAME_PLACE && (t.lat - lat).abs() <= SAME_PLACE)
    };
    told.iter().zip(places).all(same).then_some(usual.number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::CrsFacts;

    /// Every line is a system that PROJ knows, with the area and the name that PROJ gives it.
    #[test]
    fn every_line_is_as_the_register_has_it() {
        let mut lines = 0;
        for usual in listed(true).step_by(40) {
            let facts = CrsFacts::of(&Crs::Epsg(usual.number)).unwrap();
            assert_eq!((facts.area.unwrap(), facts.name.as_str()), (usual.area, usual.names[0]));
            lines += 1;
        }
        assert!(lines > 45);
    }

    #[test]
    fn a_place_at_sea_has_only_the_zone_of_the_world_that_it_lies_in() {
        // Zone 26 south of WGS 84 / UTM is EPSG:32726.
        let at_sea: Vec<u32> = usual_systems(LonLat { lon: -25.0, lat: -55.0 }).collect();
        assert!(at_sea.contains(&32_726) && at_sea.len() <= 2, "{at_sea:?}");
        assert!(usual_systems(LonLat { lon: -76.6, lat: 39.3 }).any(|n| n == 2248));
    }

    /// Descriptions as pyproj 3.7.2 writes them for `.prj` files (`CRS.to_wkt("WKT1_ESRI")`, and "WKT1_GDAL" without its number).
    const FEET: &str = r#"PROJCS["NAD_1983_StatePlane_Maryland_FIPS_1900_Feet",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",1312333.333],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-77.0],PARAMETER["Standard_Parallel_1",39.45],PARAMETER["Standard_Parallel_2",38.3],PARAMETER["Latitude_Of_Origin",37.6666666666667],UNIT["US survey foot",0.304800609601219]]"#;

    #[test]
    fn a_prj_file_has_the_number_of_its_system_unless_its_parameters_are_others() {
        let of = |text: &str| register_number(&Crs::Text(text.to_owned()));
        assert_eq!(of(FEET), Some(2248));
        assert_eq!(of(&FEET.replace("NAD_1983_StatePlane_Maryland_FIPS_1900_Feet", "NAD83 / Maryland (ftUS)")), Some(2248));
        let numbered = FEET.replace("_Feet\"", "_Own\"").replace("0.304800609601219]]", "0.304800609601219],AUTHORITY[\"EPSG\",\"2248\"]]");
        assert_eq!(of(&numbered), Some(2248));
        assert_eq!(of(&FEET.replace("1312333.333", "1312433.333")), None, "a hundred feet to the east");
        assert_eq!(of(&FEET.replace("NAD_1983_StatePlane_Maryland_FIPS_1900_Feet", "Site")), None);
    }
}
