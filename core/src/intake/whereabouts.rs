//! Where the numbers of a file lie on the earth: a system for files that name none, and a word about those that name a wrong one.

use super::Role;
use super::ground::Extent;
use crate::place::{
    AreaOfUse, Bounds, Crs, CrsError, CrsFacts, Frame, Local, LonLat, area_by_name, lon_lats, register_number, usual_systems,
};
use crate::survey::Survey;

/// Two layers of one survey whose ground is farther apart than this, in metres, are not both in the right place.
const APART: f64 = 100_000.0;
/// A system is suggested when it puts a file at most this far from ground that is known, in metres.
const BESIDE: f64 = 50_000.0;
/// A file may lie this far outside the area that its system is meant for, in degrees: counties lie across borders.
const OVER_THE_EDGE: f64 = 1.0;
/// Metres of one degree of latitude on a sphere of 6,371,008.8 m (the mean radius of WGS 84, from memory).
const DEGREE: f64 = 111_195.08;

/// A part of the earth, in degrees on WGS 84.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// The south-western corner.
    pub least: LonLat,
    /// The north-eastern corner.
    pub most: LonLat,
}

impl Spread {
    fn of(places: &[LonLat]) -> Option<Self> {
        let first = *places.first()?;
        let grow = |s: Self, p: &LonLat| Self {
            least: LonLat { lon: s.least.lon.min(p.lon), lat: s.least.lat.min(p.lat) },
            most: LonLat { lon: s.most.lon.max(p.lon), lat: s.most.lat.max(p.lat) },
        };
        Some(places.iter().fold(Self { least: first, most: first }, grow))
    }

    /// The middle.
    pub fn middle(&self) -> LonLat {
        LonLat { lon: f64::midpoint(self.least.lon, self.most.lon), lat: f64::midpoint(self.least.lat, self.most.lat) }
    }

    /// The least distance to another, in metres, to a percent or so; 0 where they meet.
    fn gap(&self, other: &Self) -> f64 {
        let apart = |a: (f64, f64), b: (f64, f64)| (a.0 - b.1).max(b.0 - a.1).max(0.0);
        let north = apart((self.least.lat, self.most.lat), (other.least.lat, other.most.lat));
        let east = apart((self.least.lon, self.most.lon), (other.least.lon, other.most.lon));
        let round = f64::midpoint(self.middle().lat, other.middle().lat).to_radians().cos();
        DEGREE * north.hypot(east.min(360.0 - east).max(0.0) * round)
    }
}

/// Ground that is known: of another file, or of the survey.
#[derive(Clone, Debug)]
pub struct Known {
    /// What lies there, in words: "the streets in roads.shp".
    pub what: String,
    /// The numbers of the file and their system; none for a survey.
    pub numbers: Option<([[f64; 2]; 2], Crs)>,
    /// Where it lies.
    pub spread: Spread,
}

impl Known {
    /// The ground of a file that names its system; `None` where its numbers are no places in it.
    pub(super) fn of_numbers(crs: Crs, extent: Extent, what: String) -> Option<Self> {
        let spread = spread(&crs, extent).ok().flatten()?;
        Some(Self { what, numbers: Some((extent, crs)), spread })
    }

    /// The ground of a survey's premises.
    pub fn of_survey(survey: &Survey) -> Option<Self> {
        let extent = survey.premises.outline.extent();
        (!extent.is_empty()).then(|| Self {
            what: "the premises of the survey".to_owned(),
            numbers: None,
            spread: in_degrees(&survey.frame, &extent),
        })
    }
}

fn in_degrees(frame: &Frame, extent: &Bounds) -> Spread {
    let at = |p: Local| frame.lon_lat_from_local(p);
    Spread { least: at(extent.min), most: at(extent.max) }
}

/// Where a box of numbers lies in a system; `None` where it lies outside what the system covers.
fn spread(crs: &Crs, [a, b]: [[f64; 2]; 2]) -> Result<Option<Spread>, CrsError> {
    let middle = [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
    let places = lon_lats(crs, &[a, [a[0], b[1]], [b[0], a[1]], b, middle])?;
    Ok(Spread::of(&places.into_iter().flatten().collect::<Vec<_>>()))
}

/// A system that a file's numbers may be in, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct CrsSuggestion {
    /// The system; none where nothing speaks for one.
    pub crs: Option<Crs>,
    /// What speaks for it, or what to do, in a sentence without its full stop.
    pub why: String,
}

/// What a file needs whose longitudes stand where the latitudes should, in no system at all.
const TURNED: &str = "Its longitudes and latitudes seem to be the wrong way round: have the file written again, longitude (x) first";

impl CrsSuggestion {
    /// Whether no system helps, because the numbers stand the wrong way round.
    pub(super) fn is_turned(&self) -> bool {
        self.why == TURNED
    }

    /// For the command line.
    pub(super) fn hint(&self) -> String {
        match &self.crs {
            Some(crs) => format!("{}: try --crs {crs}", self.why),
            None if self.is_turned() => self.why.clone(),
            None => format!("{}, as --crs EPSG:2248", self.why),
        }
    }

    /// For the window, which has a field for it.
    pub(super) fn in_window(&self) -> String {
        match &self.crs {
            Some(crs) => format!("{}: try {crs}", self.why),
            None if self.is_turned() => self.why.clone(),
            None => format!("{}, as EPSG:2248", self.why),
        }
    }
}

/// What the numbers of a file look like, from their size and from ground that is known.
pub fn suggest(extent: [[f64; 2]; 2], known: &[Known]) -> CrsSuggestion {
    let over = |n: &&Known| n.numbers.as_ref().is_some_and(|(other, _)| overlap(*other, extent));
    if let Some((near, (_, crs))) = known.iter().find(over).and_then(|n| Some((n, n.numbers.as_ref()?))) {
        return over_numbers(near, crs);
    }
    let within = |x: f64, y: f64| extent.iter().all(|p| p[0].abs() <= x && p[1].abs() <= y);
    if look_like_degrees(extent) {
        return CrsSuggestion { crs: Some(Crs::Wgs84), why: "Its numbers look like degrees".to_owned() };
    }
    if let Some(found) = known.iter().find_map(|near| by_ground(extent, near)) {
        return found;
    }
    let why = if within(20_037_509.0, 20_048_967.0) && extent[0].iter().all(|v| v.abs() > 2_000_000.0) {
        "Numbers of this size are often web map metres (EPSG:3857) or State Plane feet: ask whoever made the file and give its number"
    } else {
        "They are metres or feet of some local system: ask whoever made the file and give its number"
    };
    CrsSuggestion { crs: None, why: why.to_owned() }
}

/// Whether numbers can be longitudes and latitudes.
fn look_like_degrees(extent: Extent) -> bool {
    extent.iter().all(|p| p[0].abs() <= 180.0 && p[1].abs() <= 90.0)
}

/// The system of the file whose numbers lie over those in question, by its number in the register where it has one.
fn over_numbers(near: &Known, crs: &Crs) -> CrsSuggestion {
    let over = format!("Its numbers lie over those of {}", near.what);
    match register_number(crs) {
        Some(4326) => CrsSuggestion { crs: Some(Crs::Wgs84), why: over },
        Some(number) => CrsSuggestion { crs: Some(Crs::Epsg(number)), why: over },
        None => {
            let why =
                format!("{over}, whose system, {crs}, has no number here: lay a copy of that file's .prj beside it, or give a number");
            CrsSuggestion { crs: None, why }
        }
    }
}

/// The usual system that puts the numbers nearest to known ground.
fn by_ground(extent: [[f64; 2]; 2], near: &Known) -> Option<CrsSuggestion> {
    let ask = |number: u32| {
        let crs = Crs::Epsg(number);
        let there = spread(&crs, extent).ok()??;
        Some((crs, there.gap(&near.spread), distance(there.middle(), near.spread.middle())))
    };
    let fitting = usual_systems(near.spread.middle()).chain([3857]).filter_map(ask).filter(|f| f.1 <= BESIDE);
    // The same ground to some metres, in a newer and an older system of a kind: the likelier family comes first.
    let (crs, ..) = fitting.min_by(|a, b| (a.2 / 10.0).round().total_cmp(&(b.2 / 10.0).round()))?;
    let name = CrsFacts::of(&crs).map_or_else(|_| String::new(), |f| format!(" ({})", f.name));
    Some(CrsSuggestion { why: format!("Read in {crs}{name}, it would lie beside {}", near.what), crs: Some(crs) })
}

fn distance(a: LonLat, b: LonLat) -> f64 {
    let point = |p| Spread { least: p, most: p };
    point(a).gap(&point(b))
}

fn overlap(a: [[f64; 2]; 2], b: [[f64; 2]; 2]) -> bool {
    (0..2).all(|k| a[0][k] <= b[1][k] && b[0][k] <= a[1][k])
}

/// A file that its own coordinate system puts where it cannot be.
#[derive(Clone, Debug, PartialEq)]
pub struct Misplaced {
    /// Where it lies then.
    pub lies: String,
    /// What a better system may be.
    pub suggestion: CrsSuggestion,
}

/// Whether a file lies far from what its system is meant for, or far from other ground of the survey.
///
/// # Errors
/// [`CrsError`] when the system cannot be used.
pub(super) fn misplaced(extent: Extent, crs: &Crs, others: &[Known]) -> Result<Option<Misplaced>, CrsError> {
    let facts = CrsFacts::of(crs)?;
    let turned = turned(extent).filter(|_| facts.unit_metres.is_none());
    let Some(spread) = spread(crs, extent)? else {
        return Ok(Some(if turned.is_some() {
            the_wrong_way_round(format!("nowhere: {crs} has no place for its numbers"))
        } else {
            nowhere(extent, crs, others)
        }));
    };
    let at = spread.middle();
    let place = format!("at longitude {:.2}, latitude {:.2}", at.lon, at.lat);
    let area = facts.area.or_else(|| area_by_name(crs));
    // A county never lies within some metres of the origin of its system: these are degrees.
    if area.is_none() && facts.unit_metres.is_some() && look_like_degrees(extent) {
        let lies = format!("within {:.0} {}s of the place where {crs} begins to count", size(extent), facts.unit.name());
        return Ok(Some(Misplaced { lies, suggestion: suggest_other(extent, crs, &[]) }));
    }
    if let Some(area) = area.filter(|a| !holds(a, at)) {
        let meant = format!("longitude {:.1} to {:.1} and latitude {:.1} to {:.1}", area.west, area.east, area.south, area.north);
        let there =
            Known { what: "the part of the earth that its system is meant for".to_owned(), numbers: None, spread: spread_of(&area) };
        let known: Vec<Known> = others.iter().filter(|o| o.numbers.is_none()).cloned().chain([there]).collect();
        let lies = format!("{place}, where {crs} is not meant for: that is {meant}");
        return Ok(Some(Misplaced { lies, suggestion: suggest_other(extent, crs, &known) }));
    }
    let beside = |there: &Spread| others.iter().any(|o| o.spread.gap(there) <= BESIDE);
    if turned.is_some_and(|turned| beside(&turned) && !beside(&spread)) {
        return Ok(Some(the_wrong_way_round(place)));
    }
    if !inhabited(at) {
        let lies = format!("{place}, where nobody lives");
        return Ok(Some(if turned.is_some() {
            the_wrong_way_round(lies)
        } else {
            Misplaced { lies, suggestion: suggest_other(extent, crs, others) }
        }));
    }
    let far = others.iter().map(|o| (o.spread.gap(&spread), o)).filter(|f| f.0 > APART).min_by(|a, b| a.0.total_cmp(&b.0));
    let near = others.iter().any(|o| o.spread.gap(&spread) <= APART);
    let told = |(gap, other): (f64, &Known)| Misplaced {
        lies: format!("{place}, {:.0} km from {}", gap / 1000.0, other.what),
        suggestion: suggest_other(extent, crs, &[Known { numbers: None, ..other.clone() }]),
    };
    Ok(far.filter(|_| !near).map(told))
}

/// Where a box of degrees lies when its longitudes are taken for latitudes; `None` where people do not live there or the numbers are none.
fn turned([a, b]: Extent) -> Option<Spread> {
    let places = [LonLat::new(a[1], a[0])?, LonLat::new(b[1], b[0])?];
    Spread::of(&places).filter(|spread| inhabited(spread.middle()))
}

/// Whether people live so far north or south: the southernmost town lies at 55 degrees south, the northernmost at 78 north, few above 72.
fn inhabited(at: LonLat) -> bool {
    (-56.0..=72.0).contains(&at.lat)
}

fn the_wrong_way_round(lies: String) -> Misplaced {
    Misplaced { lies, suggestion: CrsSuggestion { crs: None, why: TURNED.to_owned() } }
}

/// How far from nothing the numbers of a box reach.
fn size(extent: Extent) -> f64 {
    extent.iter().flatten().fold(0.0, |most, v| v.abs().max(most))
}

/// A file none of whose corners its system has a place for.
fn nowhere(extent: Extent, crs: &Crs, others: &[Known]) -> Misplaced {
    Misplaced { lies: format!("nowhere: {crs} has no place for its numbers"), suggestion: suggest_other(extent, crs, others) }
}

/// A suggestion other than the system that is doubted.
fn suggest_other(extent: [[f64; 2]; 2], doubted: &Crs, known: &[Known]) -> CrsSuggestion {
    let found = suggest(extent, known);
    if found.crs.as_ref() == Some(doubted) {
        let why = "Ask whoever made the file for its coordinate system and give its number".to_owned();
        return CrsSuggestion { crs: None, why };
    }
    found
}

fn spread_of(area: &AreaOfUse) -> Spread {
    Spread { least: LonLat { lon: area.west, lat: area.south }, most: LonLat { lon: area.east.max(area.west), lat: area.north } }
}

fn holds(area: &AreaOfUse, p: LonLat) -> bool {
    let (west, east) = (area.west - OVER_THE_EDGE, area.east + OVER_THE_EDGE);
    let across = if area.west > area.east { p.lon >= west || p.lon <= east } else { (west..=east).contains(&p.lon) };
    across && (area.south - OVER_THE_EDGE..=area.north + OVER_THE_EDGE).contains(&p.lat)
}

/// What a role's file is called among known ground.
pub(super) fn named(role: Role, file: &str) -> String {
    format!("the {role} in {file}")
}

#[cfg(test)]
mod tests {
    use super::super::ground::main_extent;
    use super::super::samples::{table, with_rings};
    use super::*;
    use crate::files::Table;

    fn square(x: f64, y: f64, side: f64, crs: Option<Crs>) -> Table {
        let ring = vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]];
        let mut t = with_rings(table("lots", &["A"], &[&["1"]]), &[ring]);
        t.crs = crs;
        t
    }

    /// Harvard Square's neighbourhood in Massachusetts State Plane feet (EPSG:2249) and metres (EPSG:26986): places by pyproj 3.7.2.
    fn feet() -> Table {
        square(759_000.0, 2_961_000.0, 3_000.0, None)
    }

    fn town() -> Known {
        let at = |lon, lat| LonLat { lon, lat };
        Known {
            what: "the premises of the survey".to_owned(),
            numbers: None,
            spread: Spread { least: at(-71.16, 42.35), most: at(-71.06, 42.41) },
        }
    }

    #[test]
    fn a_system_is_suggested_from_numbers_alone_and_from_ground_that_is_known() {
        let extent = |t: &Table| main_extent(&t.shapes).unwrap();
        assert_eq!(suggest(extent(&square(-71.12, 42.37, 0.01, None)), &[]).crs, Some(Crs::Wgs84));
        assert_eq!(suggest(extent(&feet()), &[]).crs, None);
        assert_eq!(suggest(extent(&feet()), &[town()]).crs, Some(Crs::Epsg(2249)));
        assert_eq!(suggest(extent(&square(231_000.0, 902_000.0, 1_000.0, None)), &[town()]).crs, Some(Crs::Epsg(26986)));
        let over = Known { numbers: Some(([[7e5, 2.9e6], [8e5, 3e6]], Crs::Epsg(2249))), ..town() };
        assert!(suggest(extent(&feet()), &[over]).hint().contains("over those of the premises of the survey: try --crs EPSG:2249"));
    }

    #[test]
    fn feet_called_metres_are_outside_the_area_of_the_system_and_the_feet_are_found() {
        let told = misplaced(main_extent(&feet().shapes).unwrap(), &Crs::Epsg(26986), &[]).unwrap().unwrap();
        assert!(told.lies.contains("EPSG:26986 is not meant for"), "{}", told.lies);
        assert_eq!(told.suggestion.crs, Some(Crs::Epsg(2249)));
        assert_eq!(misplaced(main_extent(&feet().shapes).unwrap(), &Crs::Epsg(2249), &[town()]).unwrap(), None);
    }

    #[test]
    fn degrees_the_wrong_way_round_are_told_by_where_they_lie() {
        let told = |x: f64, y: f64, others: &[Known]| {
            let numbers = main_extent(&square(x, y, 0.01, None).shapes).unwrap();
            misplaced(numbers, &Crs::Wgs84, others).unwrap().map(|told| (told.lies, told.suggestion.in_window()))
        };
        assert_eq!(told(-71.12, 42.37, &[]), None);
        for (x, y) in [(42.37, -71.12), (30.0, -97.7)] {
            let (lies, why) = told(x, y, &[]).unwrap();
            assert!(why.contains("wrong way round") && why.ends_with("first"), "{lies}. {why}");
        }
        let rome = LonLat { lon: 12.5, lat: 41.9 };
        let rome = Known { what: "the streets".to_owned(), numbers: None, spread: Spread { least: rome, most: rome } };
        assert_eq!(told(12.49, 41.89, std::slice::from_ref(&rome)), None);
        assert!(told(41.89, 12.49, &[rome]).unwrap().1.contains("wrong way round"));
        assert!(told(10.0, 80.0, &[]).unwrap().0.ends_with("where nobody lives"));
    }

    /// NAD83 / Massachusetts Mainland in metres as pyproj 3.7.2 writes it for a `.prj` file.
    const METRES: &str = r#"PROJCS["NAD_1983_StatePlane_Massachusetts_Mainland_FIPS_2001",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",200000.0],PARAMETER["False_Northing",750000.0],PARAMETER["Central_Meridian",-71.5],PARAMETER["Standard_Parallel_1",42.6833333333333],PARAMETER["Standard_Parallel_2",41.7166666666667],PARAMETER["Latitude_Of_Origin",41.0],UNIT["Meter",1.0]]"#;

    #[test]
    fn a_prj_file_is_judged_by_the_system_of_the_register_that_it_names() {
        let metres = Crs::Text(METRES.to_owned());
        let told = |x: f64, y: f64, side: f64| {
            let numbers = main_extent(&square(x, y, side, None).shapes).unwrap();
            misplaced(numbers, &metres, &[]).unwrap().map(|told| (told.lies, told.suggestion.crs))
        };
        let (lies, feet) = told(759_000.0, 2_961_000.0, 3_000.0).unwrap();
        assert!(lies.contains("is not meant for: that is longitude -73.5"), "{lies}");
        assert_eq!(feet, Some(Crs::Epsg(2249)));
        assert_eq!(told(-71.12, 42.37, 0.01).unwrap().1, Some(Crs::Wgs84));
        assert_eq!(told(231_000.0, 902_000.0, 1_000.0), None);
        let own = Crs::Text(METRES.replace("NAD_1983_StatePlane", "Town"));
        let degrees = main_extent(&square(-71.12, 42.37, 0.01, None).shapes).unwrap();
        let told = misplaced(degrees, &own, &[]).unwrap().unwrap();
        assert!(told.lies.starts_with("within 71 metres of the place where Town_"), "{}", told.lies);
        assert_eq!(told.suggestion.crs, Some(Crs::Wgs84));
    }

    #[test]
    fn a_system_of_a_prj_file_is_suggested_by_its_number_and_one_without_a_number_by_its_file() {
        let beside = |text: &str| Known { numbers: Some(([[2e5, 9e5], [3e5, 9.5e5]], Crs::Text(text.to_owned()))), ..town() };
        let numbers = main_extent(&square(231_000.0, 902_000.0, 1_000.0, None).shapes).unwrap();
        assert_eq!(suggest(numbers, &[beside(METRES)]).crs, Some(Crs::Epsg(26986)));
        let own = suggest(numbers, &[beside(&METRES.replace("200000.0", "200100.0").replace("NAD_1983", "Town"))]);
        assert_eq!(own.crs, None);
        assert!(own.hint().contains("lay a copy of that file's .prj beside it"), "{}", own.hint());
    }

    #[test]
    fn numbers_that_are_no_places_at_all_are_told_with_the_system_that_they_may_be_in() {
        let told = misplaced(main_extent(&feet().shapes).unwrap(), &Crs::Wgs84, &[town()]).unwrap().unwrap();
        assert_eq!((told.lies.as_str(), told.suggestion.crs), ("nowhere: EPSG:4326 has no place for its numbers", Some(Crs::Epsg(2249))));
    }

    #[test]
    fn a_district_far_from_another_layer_is_said_with_the_distance() {
        let at = |lon, lat| LonLat { lon, lat };
        let baltimore = Known {
            what: "the streets in b.shp".to_owned(),
            numbers: None,
            spread: Spread { least: at(-76.7, 39.2), most: at(-76.5, 39.4) },
        };
        let told = misplaced(main_extent(&feet().shapes).unwrap(), &Crs::Epsg(2249), std::slice::from_ref(&baltimore)).unwrap().unwrap();
        // From the corner of one to the corner of the other: geodesic by pyproj 3.7.2, Geod(ellps="WGS84"), 560.7 km.
        let km: f64 = told.lies.split(", ").last().unwrap().split(' ').next().unwrap().parse().unwrap();
        assert!((km / 560.7 - 1.0).abs() < 0.02, "{}", told.lies);
        assert_eq!(
            misplaced(main_extent(&feet().shapes).unwrap(), &Crs::Epsg(2249), &[baltimore, town()]).unwrap(),
            None,
            "beside one layer it is in place"
        );
    }
}
