//! From any coordinate system to the district frame and back: the only caller of PROJ.

use std::sync::OnceLock;

use proj::Proj;
use rayon::prelude::*;

use super::fit::Fit;
use super::wkt::{self, Root};
use super::{AreaOfUse, Crs, CrsError, Frame, Local, LonLat};

/// Places handed to one PROJ object at a time; making one costs as much as some 40,000 places.
const CHUNK: usize = 65_536;

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
        let fit = Fit::new(extent, |xy| exact.local(xy));
        Ok(Self { crs: crs.clone(), frame: *frame, fit })
    }

    /// Turns coordinates into metres east and north of the frame's centre, in place. A place outside the system's domain
    /// becomes NaN, NaN.
    pub fn apply(&self, xy: &mut [[f64; 2]]) {
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

    fn apply_fit(&self, fit: &Fit, xy: &mut [[f64; 2]]) {
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
        self.apply_exact(&mut rest);
        for (i, p) in outside.into_iter().zip(rest) {
            xy[i] = p;
        }
    }

    fn apply_exact(&self, xy: &mut [[f64; 2]]) {
        xy.par_chunks_mut(CHUNK).for_each(|places| match Exact::new(&self.crs, &self.frame) {
            Ok(exact) => places.iter_mut().for_each(|p| *p = exact.local(*p).unwrap_or(NOWHERE)),
            Err(_) => places.fill(NOWHERE),
        });
    }

    /// A polynomial over where nearly all places lie, for files with a few stray ones far away.
    fn fit_to_most(&self, xy: &[[f64; 2]]) -> Option<Fit> {
        if xy.len() < CHUNK {
            return None;
        }
        let (x, y) = rayon::join(|| middle(xy, 0), || middle(xy, 1));
        let ((x0, x1), (y0, y1)) = (x?, y?);
        let exact = Exact::new(&self.crs, &self.frame).ok()?;
        Fit::new([[x0, y0], [x1, y1]], |p| exact.local(p))
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

    /// Turns metres of the frame into the file's coordinates, in place: east, north (or longitude, latitude). A place outside
    /// the system's domain becomes NaN, NaN.
    pub fn apply(&self, xy: &mut [[f64; 2]]) {
        xy.par_chunks_mut(CHUNK).for_each(|places| {
            for p in places.iter_mut() {
                let q = self.frame.lon_lat_from_local(Local { x: p[0], y: p[1] });
                *p = [q.lon, q.lat];
            }
            if self.crs != Crs::Wgs84 {
                match from_degrees(&self.crs) {
                    Ok(proj) => places.iter_mut().for_each(|p| *p = converted(&proj, *p).unwrap_or(NOWHERE)),
                    Err(_) => places.fill(NOWHERE),
                }
            }
        });
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

/// Degrees of places of a system: PROJ, or nothing to do.
enum Degrees {
    Already,
    Through(Box<Proj>),
}

impl Degrees {
    fn new(crs: &Crs) -> Result<Self, CrsError> {
        if *crs == Crs::Wgs84 {
            return Ok(Self::Already);
        }
        let definition = definition(crs)?;
        Proj::new_known_crs(&definition, "EPSG:4326", None).map(|p| Self::Through(Box::new(p))).map_err(|_| unreadable(&definition))
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

fn from_degrees(crs: &Crs) -> Result<Proj, CrsError> {
    let definition = definition(crs)?;
    Proj::new_known_crs("EPSG:4326", &definition, None).map_err(|_| unreadable(&definition))
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
        Crs::Text(text) => match wkt::root(text) {
            Some(Root::Projected | Root::Geographic | Root::Compound) => Ok(text.trim().to_owned()),
            Some(Root::Local) => Err(CrsError::Local { name: wkt::name(text) }),
            Some(Root::NotFlat) => Err(CrsError::NotFlat { name: wkt::name(text) }),
            None => match Crs::from_code(text) {
                Ok(code) => definition(&code),
                Err(_) => Err(unreadable(text)),
            },
        },
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

/// A system's well-known text and where it is meant for.
pub(super) fn described(crs: &Crs) -> Result<(String, Option<AreaOfUse>), CrsError> {
    let definition = definition(crs)?;
    let proj = Proj::new(&definition).map_err(|_| unreadable(&definition))?;
    let area = proj.area_of_use().ok().and_then(|(area, _)| area);
    let area = area.map(|a| AreaOfUse { west: a.west, south: a.south, east: a.east, north: a.north });
    let text = match crs {
        Crs::Text(text) if wkt::root(text).is_some() => text.clone(),
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
        into.apply(&mut got);
        let exact = Exact::new(&crs, &frame).unwrap();
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
        let places = scattered(extent, 500);
        let mut moved = places.clone();
        IntoFrame::new(&crs, &frame, extent).unwrap().apply(&mut moved);
        OutOfFrame::new(&frame, &crs).unwrap().apply(&mut moved);
        assert!(places.iter().zip(&moved).all(|(p, m)| (p[0] - m[0]).hypot(p[1] - m[1]) < 1e-3));
    }

    #[test]
    fn what_is_no_system_is_said_and_not_guessed() {
        let of = |text: &str| lon_lats(&Crs::Text(text.into()), &[[0.0, 0.0]]).unwrap_err();
        assert_eq!(lon_lats(&Crs::Epsg(999_999), &[]).unwrap_err(), CrsError::UnknownNumber { number: 999_999 });
        assert_eq!(lon_lats(&Crs::Epsg(5703), &[]).unwrap_err(), CrsError::UnknownNumber { number: 5703 }); // heights
        assert_eq!(of("garbage"), CrsError::Unreadable { beginning: "garbage".into() });
        assert_eq!(of(r#"LOCAL_CS["Site_plan",UNIT["metre",1]]"#), CrsError::Local { name: "Site plan".into() });
        assert_eq!(of(r#"VERT_CS["Heights",UNIT["metre",1]]"#), CrsError::NotFlat { name: "Heights".into() });
        assert!(matches!(of(r#"PROJCS["x",PROJECTION["No_Such_Thing"],UNIT["metre",1]]"#), CrsError::Unreadable { .. }));
    }

    #[test]
    fn places_beyond_the_earth_have_no_answer() {
        let answers = lon_lats(&Crs::Epsg(32617), &[[500_000.0, 3_000_000.0], [1e30, 1e30], [f64::NAN, 0.0]]).unwrap();
        assert!(answers[0].is_some() && answers[1].is_none() && answers[2].is_none());
    }
}
