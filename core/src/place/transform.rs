//! From any coordinate system to the district frame and back: the only caller of PROJ.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::{Mutex, OnceLock, PoisonError};

use proj::Proj;
use rayon::prelude::*;

use super::fit::Fit;
use super::lately::Lately;
use super::wkt::{Root, Wkt};
use super::{AreaOfUse, Bounds, Crs, CrsError, Frame, Local, LonLat};

/// Places handed to one PROJ object at a time; making one costs as much as some 40,000 places.
const CHUNK: usize = 65_536;

/// Greatest error of a fitted polynomial, in metres.
const TOLERANCE: f64 = 1e-4;

/// From so many places on, a polynomial is worth its making.
const WORTH_A_FIT: usize = 4_096;

const NOWHERE: [f64; 2] = [f64::NAN; 2];

/// The way from a file's coordinates to metres of the district frame.
///
/// For [`Crs::Wgs84`] this is the frame's own series. For every other system a polynomial is fitted to PROJ over the extent
/// of the data and used where it keeps within a tenth of a millimetre; elsewhere PROJ is asked place by place.
///
/// ```
/// use yardring_core::place::{Crs, Frame, IntoFrame, LonLat};
/// let frame = Frame::centred_on(LonLat { lon: -71.1, lat: 42.37 });
/// let into = IntoFrame::new(&Crs::Epsg(2249), &frame, [[750_000.0, 2_950_000.0], [770_000.0, 2_970_000.0]])?;
/// let mut corner = [[760_000.0, 2_960_000.0]];
/// into.apply(&mut corner);
/// assert!(corner[0][0].abs() < 5_000.0 && corner[0][1].abs() < 5_000.0);
/// # Ok::<(), yardring_core::place::CrsError>(())
/// ```
#[derive(Clone, Debug)]
pub struct IntoFrame {
    crs: Crs,
    frame: Frame,
    fit: Option<Fit>,
}

impl IntoFrame {
    /// Prepares the way for coordinates within `extent`, `[[least x, least y], [largest x, largest y]]` in the file's numbers.
    /// Coordinates outside the extent come out right too, only slower.
    ///
    /// # Errors
    /// [`CrsError`] when the system is not known, cannot be read, or is not tied to the earth.
    pub fn new(crs: &Crs, frame: &Frame, extent: [[f64; 2]; 2]) -> Result<Self, CrsError> {
        let exact = Exact::new(crs, frame)?;
        let fit = Fit::new(extent, TOLERANCE, |xy| exact.local(xy));
        Ok(Self { crs: crs.clone(), frame: *frame, fit })
    }

    /// Turns coordinates into metres east and north of the frame's centre, in place. A place outside the system's domain
    /// becomes NaN, NaN; gives back how many did. When all did, the file is not in this system, or PROJ knows no way for it.
    pub fn apply(&self, xy: &mut [[f64; 2]]) -> usize {
        let fit = self.fit.clone().or_else(|| self.fit_to_most(xy));
        match fit {
            Some(fit) => self.apply_fit(&fit, xy),
            None => self.apply_exact(xy),
        }
    }

    /// Whether a polynomial keeps to PROJ within a tenth of a millimetre over the whole extent.
    pub fn is_fitted(&self) -> bool {
        self.fit.is_some()
    }

    fn apply_fit(&self, fit: &Fit, xy: &mut [[f64; 2]]) -> usize {
        let outside: Vec<Vec<usize>> = xy
            .par_chunks_mut(CHUNK)
            .enumerate()
            .map(|(chunk, places)| {
                let mut outside = Vec::new();
                for (i, p) in places.iter_mut().enumerate() {
                    if fit.covers(*p) {
                        *p = fit.at(*p);
                    } else {
                        outside.push(chunk * CHUNK + i);
                    }
                }
                outside
            })
            .collect();
        let outside = outside.concat();
        let mut rest: Vec<[f64; 2]> = outside.iter().map(|&i| xy[i]).collect();
        let nowhere = self.apply_exact(&mut rest);
        for (i, p) in outside.into_iter().zip(rest) {
            xy[i] = p;
        }
        nowhere
    }

    fn apply_exact(&self, xy: &mut [[f64; 2]]) -> usize {
        let all = |places: &mut [[f64; 2]]| {
            match Exact::new(&self.crs, &self.frame) {
                Ok(exact) => places.iter_mut().for_each(|p| *p = exact.local(*p).unwrap_or(NOWHERE)),
                Err(_) => places.fill(NOWHERE),
            }
            places.iter().filter(|p| p[0].is_nan()).count()
        };
        xy.par_chunks_mut(CHUNK).map(all).sum()
    }

    /// A polynomial over where nearly all places lie, for files with a few stray ones far away.
    fn fit_to_most(&self, xy: &[[f64; 2]]) -> Option<Fit> {
        if xy.len() < CHUNK {
            return None;
        }
        let (x, y) = rayon::join(|| middle(xy, 0), || middle(xy, 1));
        let ((x0, x1), (y0, y1)) = (x?, y?);
        let exact = Exact::new(&self.crs, &self.frame).ok()?;
        Fit::new([[x0, y0], [x1, y1]], TOLERANCE, |p| exact.local(p))
    }
}

/// The range of one coordinate without its outermost hundredth on either side, widened by a tenth.
fn middle(xy: &[[f64; 2]], axis: usize) -> Option<(f64, f64)> {
    let mut values: Vec<f64> = xy.iter().map(|p| p[axis]).filter(|v| v.is_finite()).collect();
    if values.is_empty() {
        return None;
    }
    let (low, high) = (values.len() / 100, values.len() - 1 - values.len() / 100);
    let least = *values.select_nth_unstable_by(low, f64::total_cmp).1;
    let largest = *values.select_nth_unstable_by(high, f64::total_cmp).1;
    let margin = (largest - least) / 10.0;
    Some((least - margin, largest + margin))
}

/// The way from the district frame to a file's coordinates.
///
/// ```
/// use yardring_core::place::{Crs, Frame, Local, LonLat, OutOfFrame};
/// let frame = Frame::centred_on(LonLat { lon: -71.1, lat: 42.37 });
/// let out = OutOfFrame::new(&frame, &Crs::Wgs84)?;
/// let mut centre = [[0.0, 0.0]];
/// out.apply(&mut centre);
/// assert!((centre[0][0] + 71.1).abs() < 1e-12);
/// # Ok::<(), yardring_core::place::CrsError>(())
/// ```
#[derive(Clone, Debug)]
pub struct OutOfFrame {
    crs: Crs,
    frame: Frame,
}

impl OutOfFrame {
    /// Prepares the way.
    ///
    /// # Errors
    /// [`CrsError`] when the system is not known, cannot be read, or is not tied to the earth.
    pub fn new(frame: &Frame, crs: &Crs) -> Result<Self, CrsError> {
        if *crs != Crs::Wgs84 {
            from_degrees(crs)?;
        }
        Ok(Self { crs: crs.clone(), frame: *frame })
    }

    /// Turns metres of the frame into the file's coordinates, in place: east, north (or longitude, latitude), within a tenth
    /// of a millimetre. A place outside the system's domain becomes NaN, NaN.
    pub fn apply(&self, xy: &mut [[f64; 2]]) {
        let fit = if xy.len() < WORTH_A_FIT { None } else { self.fit_over(xy) };
        xy.par_chunks_mut(CHUNK).for_each(|places| match &fit {
            Some(fit) => places.iter_mut().for_each(|p| *p = if fit.covers(*p) { fit.at(*p) } else { NOWHERE }),
            None => self.apply_exact(places),
        });
    }

    fn apply_exact(&self, places: &mut [[f64; 2]]) {
        match self.exact() {
            Ok(exact) => places.iter_mut().for_each(|p| *p = exact(*p).unwrap_or(NOWHERE)),
            Err(_) => places.fill(NOWHERE),
        }
    }

    fn exact(&self) -> Result<impl Fn([f64; 2]) -> Option<[f64; 2]>, CrsError> {
        let proj = if self.crs == Crs::Wgs84 { None } else { Some(from_degrees(&self.crs)?) };
        let frame = self.frame;
        Ok(move |p: [f64; 2]| {
            let q = frame.lon_lat_from_local(Local { x: p[0], y: p[1] });
            let degrees = [q.lon, q.lat];
            if let Some(proj) = &proj { converted(proj, degrees) } else { (degrees[0] + degrees[1]).is_finite().then_some(degrees) }
        })
    }

    /// A polynomial over all the places, as good as [`TOLERANCE`] in the unit of the answers.
    fn fit_over(&self, xy: &[[f64; 2]]) -> Option<Fit> {
        let finite = |p: &&[f64; 2]| p[0].is_finite() && p[1].is_finite();
        let extent = xy.iter().filter(finite).fold(Bounds::EMPTY, |b, p| b.with(Local { x: p[0], y: p[1] }));
        let exact = self.exact().ok()?;
        let [a, b] = [extent.min, extent.max].map(|l| [l.x, l.y]);
        let [c, d] = [exact(a)?, exact(b)?];
        let unit_per_metre = (c[0] - d[0]).hypot(c[1] - d[1]) / (a[0] - b[0]).hypot(a[1] - b[1]);
        Fit::new([a, b], TOLERANCE * unit_per_metre, exact)
    }
}

/// Degrees on WGS 84 of a few places of a coordinate system, straight from PROJ; `None` for a place outside its domain.
///
/// # Errors
/// [`CrsError`] when the system is not known, cannot be read, or is not tied to the earth.
///
/// ```
/// use yardring_core::place::{Crs, lon_lats};
/// let there = lon_lats(&Crs::Epsg(2248), &[[1_770_000.0, 250_000.0]])?[0].unwrap();
/// assert!((there.lon + 75.404_247_662).abs() < 1e-8); // pyproj 3.7.2
/// # Ok::<(), yardring_core::place::CrsError>(())
/// ```
pub fn lon_lats(crs: &Crs, xy: &[[f64; 2]]) -> Result<Vec<Option<LonLat>>, CrsError> {
    let to_degrees = Degrees::new(crs)?;
    Ok(xy.iter().map(|p| to_degrees.lon_lat(*p)).collect())
}

/// The numbers that a system has for a few places in degrees; a place outside its domain has none, nor has the whole answer then.
pub(super) fn numbers_of(crs: &Crs, degrees: &[[f64; 2]]) -> Result<Option<Vec<[f64; 2]>>, CrsError> {
    let proj = from_degrees(crs)?;
    Ok(degrees.iter().map(|p| converted(&proj, *p)).collect())
}

/// Degrees of places of a system: PROJ, or nothing to do.
enum Degrees {
    Already,
    Through(Rc<Proj>),
}

impl Degrees {
    fn new(crs: &Crs) -> Result<Self, CrsError> {
        if *crs == Crs::Wgs84 {
            return Ok(Self::Already);
        }
        let definition = definition(crs)?;
        Ok(Self::Through(between(&definition, "EPSG:4326").ok_or_else(|| unreadable(&definition))?))
    }

    fn lon_lat(&self, xy: [f64; 2]) -> Option<LonLat> {
        let [lon, lat] = match self {
            Self::Already => xy,
            Self::Through(proj) => converted(proj, xy)?,
        };
        LonLat::new(lon, lat)
    }
}

/// The slow and exact way into the frame.
struct Exact {
    degrees: Degrees,
    frame: Frame,
}

impl Exact {
    fn new(crs: &Crs, frame: &Frame) -> Result<Self, CrsError> {
        Ok(Self { degrees: Degrees::new(crs)?, frame: *frame })
    }

    fn local(&self, xy: [f64; 2]) -> Option<[f64; 2]> {
        let p = self.frame.local_from_lon_lat(self.degrees.lon_lat(xy)?);
        (p.x.is_finite() && p.y.is_finite()).then_some([p.x, p.y])
    }
}

fn from_degrees(crs: &Crs) -> Result<Rc<Proj>, CrsError> {
    let definition = definition(crs)?;
    between("EPSG:4326", &definition).ok_or_else(|| unreadable(&definition))
}

thread_local! {
    /// The transformations, from one system to another, that this thread made lately. Making one takes PROJ some 20 ms of reading
    /// in its register.
    static MADE: RefCell<Lately<[String; 2], Rc<Proj>>> = const { RefCell::new(Lately::new()) };
}

/// The transformation from one system to another; `None` when PROJ knows none.
fn between(from: &str, to: &str) -> Option<Rc<Proj>> {
    let pair = [from.to_owned(), to.to_owned()];
    let made_before = MADE.with_borrow(|made| made.get(&pair));
    if made_before.is_some() {
        return made_before;
    }
    let proj = Rc::new(Proj::new_known_crs(from, to, None).ok()?);
    MADE.with_borrow_mut(|made| made.keep(pair, Rc::clone(&proj)));
    Some(proj)
}

/// One place through PROJ; PROJ answers "done" with infinities for a place outside the domain.
fn converted(proj: &Proj, xy: [f64; 2]) -> Option<[f64; 2]> {
    if !(xy[0].is_finite() && xy[1].is_finite()) {
        return None;
    }
    let (x, y) = proj.convert((xy[0], xy[1])).ok()?;
    (x.is_finite() && y.is_finite()).then_some([x, y])
}

/// The text that PROJ is given for a system. What PROJ would not understand is found here, because PROJ itself writes to
/// the terminal when it meets it.
fn definition(crs: &Crs) -> Result<String, CrsError> {
    match crs {
        Crs::Wgs84 => Ok("EPSG:4326".into()),
        Crs::Epsg(number) if is_in_register(*number) => Ok(format!("EPSG:{number}")),
        Crs::Epsg(number) => Err(CrsError::UnknownNumber { number: *number }),
        Crs::Text(text) => match (Wkt::read(text), Crs::from_code(text)) {
            (Some(wkt), _) => told(&wkt, text),
            (None, Ok(code)) => definition(&code),
            (None, Err(_)) => Err(unreadable(text)),
        },
    }
}

/// A well-known text for PROJ, once it is known to be one that PROJ can use.
fn told(wkt: &Wkt, text: &str) -> Result<String, CrsError> {
    match wkt.root() {
        Root::Local => Err(CrsError::Local { name: wkt.name() }),
        Root::NotFlat => Err(CrsError::NotFlat { name: wkt.name() }),
        _ if wkt.is_complete() => Ok(text.trim_start_matches('\u{feff}').trim().to_owned()),
        _ => Err(unreadable(text)),
    }
}

fn unreadable(text: &str) -> CrsError {
    CrsError::Unreadable { beginning: text.trim().chars().take(60).collect() }
}

/// Whether the EPSG register has a projected, geographic or compound system with this number.
///
/// # Source
/// The register as PROJ 9.6.2 carries it, written down as ranges in `epsg_numbers.txt`.
fn is_in_register(number: u32) -> bool {
    static RANGES: OnceLock<Vec<(u32, u32)>> = OnceLock::new();
    let ranges = RANGES.get_or_init(|| {
        let words = include_str!("epsg_numbers.txt").split_whitespace();
        words
            .filter_map(|w| {
                let (first, last) = w.split_once('-').unwrap_or((w, w));
                Some((first.parse().ok()?, last.parse().ok()?))
            })
            .collect()
    });
    let after = ranges.partition_point(|r| r.0 <= number);
    after > 0 && number <= ranges[after - 1].1
}

/// A well-known text, and where its system is meant for.
type Described = (String, Option<AreaOfUse>);

/// Descriptions asked for lately. One takes PROJ as long as a transformation does.
static DESCRIBED: Mutex<Lately<Crs, Described>> = Mutex::new(Lately::new());

/// A system's well-known text and where it is meant for.
pub(super) fn described(crs: &Crs) -> Result<Described, CrsError> {
    let lately = || DESCRIBED.lock().unwrap_or_else(PoisonError::into_inner);
    let described_before = lately().get(crs);
    if let Some(described) = described_before {
        return Ok(described);
    }
    let described = describe(crs)?;
    lately().keep(crs.clone(), described.clone());
    Ok(described)
}

fn describe(crs: &Crs) -> Result<Described, CrsError> {
    // Only later forms of well-known text say what a system is meant for. PROJ has read this one when it knows a way to degrees, which
    // is kept and asked for next.
    if let Crs::Text(text) = crs
        && Wkt::read(text).is_some()
        && !text.to_ascii_uppercase().contains("BBOX")
    {
        Degrees::new(crs)?;
        return Ok((text.clone(), None));
    }
    let definition = definition(crs)?;
    let proj = Proj::new(&definition).map_err(|_| unreadable(&definition))?;
    let area = proj.area_of_use().ok().and_then(|(area, _)| area);
    let area = area.map(|a| AreaOfUse { west: a.west, south: a.south, east: a.east, north: a.north });
    let text = match crs {
        Crs::Text(text) if Wkt::read(text).is_some() => text.clone(),
        _ => proj.as_wkt(None, None).map_err(|_| unreadable(&definition))?,
    };
    Ok((text, area))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Scattered places of a box, the same at every run.
    fn scattered(extent: [[f64; 2]; 2], count: usize) -> Vec<[f64; 2]> {
        let mut state = 11u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / 2f64.powi(53)
        };
        let mut place = || [0, 1].map(|k| extent[0][k] + (extent[1][k] - extent[0][k]) * next());
        (0..count).map(|_| place()).collect()
    }

    /// A district of 60 km by 60 km in the system's own numbers round a place given in degrees.
    fn district(crs: &Crs, lon: f64, lat: f64) -> (Frame, [[f64; 2]; 2]) {
        let frame = Frame::centred_on(LonLat { lon, lat });
        let mut corners = [[-30e3, -30e3], [30e3, -30e3], [30e3, 30e3], [-30e3, 30e3]];
        OutOfFrame::new(&frame, crs).unwrap().apply(&mut corners);
        let least = [0, 1].map(|k| corners.iter().map(|c| c[k]).fold(f64::INFINITY, f64::min));
        let largest = [0, 1].map(|k| corners.iter().map(|c| c[k]).fold(f64::NEG_INFINITY, f64::max));
        (frame, [least, largest])
    }

    /// Against PROJ 9.6.2 itself, place by place: the fit may be off by a tenth of a millimetre, the contract allows one.
    #[test]
    fn the_fit_keeps_to_proj_over_a_district_of_sixty_kilometres() {
        let systems = [
            (Crs::Epsg(2248), -76.6, 39.3),
            (Crs::Epsg(2249), -71.1, 42.4),
            (Crs::Epsg(2223), -112.1, 33.4),
            (Crs::Epsg(26915), -90.1, 30.0),
            (Crs::Epsg(32617), -81.4, 28.5),
            (Crs::Epsg(2154), 6.0, 47.2),
            (Crs::Epsg(31370), 4.4, 50.8),
            (Crs::Epsg(3857), -90.1, 30.0),
            (Crs::Epsg(4269), -80.2, 25.8),
            (Crs::Wgs84, 120.2, 23.0),
        ];
        for (crs, lon, lat) in systems {
            let (frame, extent) = district(&crs, lon, lat);
            let into = IntoFrame::new(&crs, &frame, extent).unwrap();
            assert!(into.is_fitted(), "{crs}");
            let places = scattered(extent, 20_000);
            let mut got = places.clone();
            into.apply(&mut got);
            let exact = Exact::new(&crs, &frame).unwrap();
            let off = places.iter().zip(&got).map(|(p, g)| {
                let e = exact.local(*p).unwrap();
                (e[0] - g[0]).hypot(e[1] - g[1])
            });
            let worst = off.fold(0.0, f64::max);
            assert!(worst <= 1.1e-4, "{crs}: {worst} m");
        }
    }

    #[test]
    fn a_stray_place_far_away_slows_nothing_and_spoils_nothing() {
        let crs = Crs::Epsg(2249);
        let (frame, extent) = district(&crs, -71.1, 42.4);
        let mut places = scattered(extent, CHUNK + 1000);
        places.extend([[0.0, 0.0], [f64::NAN, 1.0], [1e9, -3e9]]);
        let into = IntoFrame::new(&crs, &frame, [[-1e30, -3e9], [1e9, extent[1][1]]]).unwrap();
        assert!(!into.is_fitted());
        let mut got = places.clone();
        let nowhere = into.apply(&mut got);
        let exact = Exact::new(&crs, &frame).unwrap();
        assert_eq!(nowhere, places.iter().filter(|p| exact.local(**p).is_none()).count());
        assert!((1..=3).contains(&nowhere));
        for (p, g) in places.iter().zip(&got) {
            match exact.local(*p) {
                Some(e) => assert!((e[0] - g[0]).hypot(e[1] - g[1]) <= 1.1e-4),
                None => assert!(g[0].is_nan() && g[1].is_nan()),
            }
        }
    }

    #[test]
    fn there_and_back_through_us_survey_feet() {
        let crs = Crs::Epsg(2248);
        let (frame, extent) = district(&crs, -76.6, 39.3);
        let (into, out) = (IntoFrame::new(&crs, &frame, extent).unwrap(), OutOfFrame::new(&frame, &crs).unwrap());
        for count in [500, WORTH_A_FIT + 500] {
            let places = scattered(extent, count);
            let mut moved = places.clone();
            into.apply(&mut moved);
            out.apply(&mut moved);
            assert!(places.iter().zip(&moved).all(|(p, m)| (p[0] - m[0]).hypot(p[1] - m[1]) < 7e-4));
        }
    }

    #[test]
    fn the_fitted_way_back_to_degrees_keeps_to_the_series() {
        let (frame, _) = district(&Crs::Wgs84, 120.2, 23.0);
        let mut places = scattered([[-30e3, -30e3], [30e3, 30e3]], WORTH_A_FIT);
        places.push([f64::NAN, 0.0]);
        let mut moved = places.clone();
        OutOfFrame::new(&frame, &Crs::Wgs84).unwrap().apply(&mut moved);
        assert!(moved[WORTH_A_FIT][0].is_nan() && moved[WORTH_A_FIT][1].is_nan());
        for (p, m) in places.iter().zip(&moved).take(WORTH_A_FIT) {
            let q = frame.lon_lat_from_local(Local { x: p[0], y: p[1] });
            assert!((q.lon - m[0]).abs() < 2e-9 && (q.lat - m[1]).abs() < 2e-9, "{m:?} for {q:?}");
        }
    }

    #[test]
    fn what_is_no_system_is_said_and_not_guessed() {
        let of = |text: &str| lon_lats(&Crs::Text(text.into()), &[[0.0, 0.0]]).unwrap_err();
        assert_eq!(lon_lats(&Crs::Epsg(999_999), &[]).unwrap_err(), CrsError::UnknownNumber { number: 999_999 });
        assert_eq!(lon_lats(&Crs::Epsg(5703), &[]).unwrap_err(), CrsError::UnknownNumber { number: 5703 }); // heights
        assert_eq!(of("garbage"), CrsError::Unreadable { beginning: "garbage".into() });
        assert_eq!(of(r#"LOCAL_CS["Site_plan",UNIT["metre",1]]"#), CrsError::Local { name: "Site plan".into() });
        assert_eq!(of(r#"VERT_CS["Heights",UNIT["metre",1]]"#), CrsError::NotFlat { name: "Heights".into() });
        assert!(matches!(of(r#"PROJCS["x",PROJECTION["Transverse_Mercator"],UNIT["metre",1]]"#), CrsError::Unreadable { .. }));
    }

    #[test]
    fn places_beyond_the_earth_have_no_answer() {
        let answers = lon_lats(&Crs::Epsg(32617), &[[500_000.0, 3_000_000.0], [1e30, 1e30], [f64::NAN, 0.0]]).unwrap();
        assert!(answers[0].is_some() && answers[1].is_none() && answers[2].is_none());
    }

    /// 72 places in 18 systems by pyproj 3.7.2 on PROJ 9.5.1: `tests-data/make_places.py`. Degrees to 1e-9 (0.1 mm), the
    /// district frame to 0.2 mm through the fit, to 0.1 mm from the degrees alone.
    #[test]
    fn agrees_with_pyproj_in_many_systems() {
        let mut count = 0;
        for line in include_str!("../../tests-data/places.tsv").lines() {
            let (system, numbers) = line.split_once('\t').unwrap();
            let n: Vec<f64> = numbers.split('\t').map(|v| v.parse().unwrap()).collect();
            let crs = Crs::from_code(system).unwrap_or_else(|_| Crs::Text(system.into()));
            let there = lon_lats(&crs, &[[n[0], n[1]]]).unwrap()[0].unwrap();
            assert!((there.lon - n[2]).abs() < 1e-9 && (there.lat - n[3]).abs() < 1e-9, "{crs} {there:?}");
            let frame = Frame::centred_on(LonLat { lon: n[4], lat: n[5] });
            let local = frame.local_from_lon_lat(LonLat { lon: n[2], lat: n[3] });
            assert!((local.x - n[6]).abs() < 1e-4 && (local.y - n[7]).abs() < 1e-4, "{crs} {local:?}");
            let side = if n[0].abs() <= 180.0 { 0.2 } else { 50_000.0 };
            let into = IntoFrame::new(&crs, &frame, [[n[0] - side, n[1] - side], [n[0] + side, n[1] + side]]).unwrap();
            let mut moved = [[n[0], n[1]]];
            assert_eq!((into.apply(&mut moved), into.is_fitted()), (0, true), "{crs}");
            assert!((moved[0][0] - n[6]).abs() < 2e-4 && (moved[0][1] - n[7]).abs() < 2e-4, "{crs} {moved:?}");
            count += 1;
        }
        assert_eq!(count, 72);
    }

    /// Worked examples of EPSG guidance note 7-2 (from memory), to the centimetre or hundredth of a unit given there:
    /// transverse Mercator, Lambert conformal with two parallels and with one, Hotine oblique Mercator, Cassini, oblique
    /// stereographic, azimuthal equal area, popular pseudo-Mercator, Krovak.
    #[test]
    fn agrees_with_the_worked_examples_of_the_guidance_note() {
        let dms = |d: f64, m: f64, s: f64| d + m / 60.0 + s / 3600.0;
        for (base, projected, lon, lat, east, north) in [
            (4277, 27700, 0.5, 50.5, 577_274.99, 69_740.50),
            (4267, 32040, -96.0, 28.5, 2_963_503.91, 254_759.80),
            (4242, 24200, -dms(76.0, 56.0, 37.26), dms(17.0, 55.0, 55.80), 255_966.58, 142_493.51),
            (4298, 29873, dms(115.0, 48.0, 19.8196), dms(5.0, 23.0, 14.1129), 679_245.73, 596_562.78),
            (4302, 30200, -62.0, 10.0, 66_644.94, 82_536.22),
            (4289, 28992, 6.0, 53.0, 196_105.28, 557_057.74),
            (4258, 3035, 5.0, 50.0, 3_962_799.45, 2_999_718.85),
            (4326, 3857, -dms(100.0, 20.0, 0.0), dms(24.0, 22.0, 54.433), -11_169_055.58, 2_800_000.00),
            (4156, 5514, dms(16.0, 50.0, 59.179), dms(50.0, 12.0, 32.442), -568_991.00, -1_050_538.63),
        ] {
            let proj = Proj::new_known_crs(&format!("EPSG:{base}"), &format!("EPSG:{projected}"), None).unwrap();
            let [x, y] = converted(&proj, [lon, lat]).unwrap();
            assert!((x - east).abs() < 0.011 && (y - north).abs() < 0.011, "EPSG:{projected}: {x} {y}");
        }
    }

    /// The two feet differ by 2 millionths: 2.07 m at an easting of 3.4 million feet.
    #[test]
    fn the_two_feet_are_told_apart() {
        let mut text = r#"PROJCS["Any_Feet",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-80.0],PARAMETER["Scale_Factor",1.0],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Foot_US",0.3048006096012192]]"#.to_owned();
        let frame = Frame::centred_on(LonLat { lon: -80.0, lat: 9.0 });
        let mut norths = Vec::new();
        for unit in [r#""Foot_US",0.3048006096012192"#, r#""Foot",0.3048"#] {
            text = text.replace(r#""Foot_US",0.3048006096012192"#, unit);
            let exact = Exact::new(&Crs::Text(text.clone()), &frame).unwrap();
            norths.push(exact.local([0.0, 3_400_000.0]).unwrap()[1]);
        }
        let off = 3_400_000.0 * (1200.0 / 3937.0 - 0.3048);
        assert!((norths[0] - norths[1] - off).abs() < 1e-6 && (off - 2.0726).abs() < 1e-3, "{norths:?} {off}");
    }
}
