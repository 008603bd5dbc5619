//! The survey's own metric frame: a transverse Mercator on WGS 84 centred on the parcels.

use super::{Local, LonLat};

const A: f64 = 6_378_137.0;
const F: f64 = 1.0 / 298.257_223_563;

/// The district frame: metres east and north of a centre, true to scale along the centre's meridian.
///
/// The scale elsewhere is 1 + x²/2R² to first order: 1.2 millionths at 10 km from the centre, 31 at 50 km, so an area
/// measured 50 km out is 0.006 % too large.
///
/// # Source
/// C. F. F. Karney, Transverse Mercator with an accuracy of a few nanometers, J. Geodesy 85 (2011), the sixth-order
/// series of L. Krüger (1912), equations 35 and 36.
///
/// ```
/// use yardring_core::place::{Frame, LonLat};
/// let frame = Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 });
/// let there = LonLat { lon: -90.0712, lat: 29.9612 };
/// let p = frame.local_from_lon_lat(there);
/// assert!((p.x.hypot(p.y) - 176.384).abs() < 1e-3); // the geodesic distance
/// let back = frame.lon_lat_from_local(p);
/// assert!((back.lon - there.lon).abs() < 1e-12);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    centre: LonLat,
    northing_at_centre: f64,
}

impl Frame {
    /// The frame centred on a place; the centre is rounded to 0.0001 degree so that it can be written down exactly.
    pub fn centred_on(place: LonLat) -> Self {
        let round = |v: f64| (v * 1e4).round() / 1e4;
        let centre = LonLat { lon: round(place.lon), lat: round(place.lat) };
        Self { centre, northing_at_centre: forward(0.0, centre.lat.to_radians()).1 }
    }

    /// The centre, where x = y = 0.
    pub fn centre(&self) -> LonLat {
        self.centre
    }

    /// A place on the earth in metres of this frame.
    pub fn local_from_lon_lat(&self, p: LonLat) -> Local {
        let mut east = p.lon - self.centre.lon;
        if east.abs() > 180.0 {
            east -= 360.0 * east.signum();
        }
        let (x, y) = forward(east.to_radians(), p.lat.to_radians());
        Local { x, y: y - self.northing_at_centre }
    }

    /// A place of this frame in degrees on WGS 84.
    pub fn lon_lat_from_local(&self, p: Local) -> LonLat {
        let (lon, lat) = inverse(p.x, p.y + self.northing_at_centre);
        let mut lon = lon.to_degrees() + self.centre.lon;
        if lon.abs() > 180.0 {
            lon -= 360.0 * lon.signum();
        }
        LonLat { lon, lat: lat.to_degrees() }
    }

    /// The frame as OGC well-known text (WKT 1), for the files that carry its coordinates.
    pub fn well_known_text(&self) -> String {
        format!(
            "PROJCS[\"Yardring district frame\",GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563,\
             AUTHORITY[\"EPSG\",\"7030\"]],AUTHORITY[\"EPSG\",\"6326\"]],PRIMEM[\"Greenwich\",0],\
             UNIT[\"degree\",0.0174532925199433],AUTHORITY[\"EPSG\",\"4326\"]],PROJECTION[\"Transverse_Mercator\"],\
             PARAMETER[\"latitude_of_origin\",{:.4}],PARAMETER[\"central_meridian\",{:.4}],PARAMETER[\"scale_factor\",1],\
             PARAMETER[\"false_easting\",0],PARAMETER[\"false_northing\",0],UNIT[\"metre\",1],AXIS[\"Easting\",EAST],\
             AXIS[\"Northing\",NORTH]]",
            self.centre.lat, self.centre.lon
        )
    }

    /// Metres on the ground between two places of this frame: within a millionth to 50 km from the centre, within a thousandth
    /// to 750 km.
    ///
    /// # Source
    /// The scale of a line from those of its ends and its middle by Simpson's rule, as in Ordnance Survey, A guide to
    /// coordinate systems in Great Britain, annexe C; from memory.
    ///
    /// ```
    /// use yardring_core::place::{Frame, LonLat};
    /// let frame = Frame::centred_on(LonLat { lon: -71.1, lat: 42.37 });
    /// let there = frame.local_from_lon_lat(LonLat { lon: -71.1012, lat: 42.3712 });
    /// let metres = frame.ground_metres(frame.local_from_lon_lat(frame.centre()), there);
    /// assert!((metres - 165.9449).abs() < 1e-4); // the geodesic, pyproj 3.7.2
    /// ```
    pub fn ground_metres(&self, a: Local, b: Local) -> f64 {
        let middle = Local { x: f64::midpoint(a.x, b.x), y: f64::midpoint(a.y, b.y) };
        let [start, half, end] = [a, middle, b].map(|p| self.scale_error(p));
        a.distance(b) / (1.0 + (start + 4.0 * half + end) / 6.0)
    }

    /// The frame in the words of the `.prj` file of a shapefile.
    ///
    /// # Source
    /// Names as GDAL writes them for a transverse Mercator in this dialect (`gdalsrsinfo -o wkt_esri`, from memory).
    pub fn esri_text(&self) -> String {
        format!(
            "PROJCS[\"Yardring_district_frame\",GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,\
             298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]],PROJECTION[\"Transverse_Mercator\"],\
             PARAMETER[\"False_Easting\",0.0],PARAMETER[\"False_Northing\",0.0],PARAMETER[\"Central_Meridian\",{:.4}],\
             PARAMETER[\"Scale_Factor\",1.0],PARAMETER[\"Latitude_Of_Origin\",{:.4}],UNIT[\"Meter\",1.0]]",
            self.centre.lon, self.centre.lat
        )
    }

    /// How much longer a metre on the ground is drawn at a place than at the centre's meridian, minus 1.
    pub fn scale_error(&self, p: Local) -> f64 {
        p.x * p.x / (2.0 * A * A * (1.0 - F))
    }
}

/// Third flattening.
const N: f64 = F / (2.0 - F);
/// Radius of the sphere whose meridians are as long as the ellipsoid's.
const RECTIFYING: f64 = A / (1.0 + N) * (1.0 + N * N / 4.0 + N * N * N * N / 64.0 + N * N * N * N * N * N / 256.0);

const ALPHA: [f64; 6] = [
    poly(N, &[0.0, 1.0 / 2.0, -2.0 / 3.0, 5.0 / 16.0, 41.0 / 180.0, -127.0 / 288.0, 7891.0 / 37800.0]),
    poly(N, &[0.0, 0.0, 13.0 / 48.0, -3.0 / 5.0, 557.0 / 1440.0, 281.0 / 630.0, -1_983_433.0 / 1_935_360.0]),
    poly(N, &[0.0, 0.0, 0.0, 61.0 / 240.0, -103.0 / 140.0, 15061.0 / 26880.0, 167_603.0 / 181_440.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 49561.0 / 161_280.0, -179.0 / 168.0, 6_601_661.0 / 7_257_600.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 0.0, 34729.0 / 80640.0, -3_418_889.0 / 1_995_840.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 212_378_941.0 / 319_334_400.0]),
];

const BETA: [f64; 6] = [
    poly(N, &[0.0, 1.0 / 2.0, -2.0 / 3.0, 37.0 / 96.0, -1.0 / 360.0, -81.0 / 512.0, 96199.0 / 604_800.0]),
    poly(N, &[0.0, 0.0, 1.0 / 48.0, 1.0 / 15.0, -437.0 / 1440.0, 46.0 / 105.0, -1_118_711.0 / 3_870_720.0]),
    poly(N, &[0.0, 0.0, 0.0, 17.0 / 480.0, -37.0 / 840.0, -209.0 / 4480.0, 5569.0 / 90720.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 4397.0 / 161_280.0, -11.0 / 504.0, -830_251.0 / 7_257_600.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 0.0, 4583.0 / 161_280.0, -108_847.0 / 3_991_680.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 20_648_693.0 / 638_668_800.0]),
];

/// From the conformal latitude to the latitude.
///
/// # Source
/// L. Krüger (1912), as series in Karney (2022), On auxiliary latitudes, equation A6 to the sixth order; from memory.
const DELTA: [f64; 6] = [
    poly(N, &[0.0, 2.0, -2.0 / 3.0, -2.0, 116.0 / 45.0, 26.0 / 45.0, -2854.0 / 675.0]),
    poly(N, &[0.0, 0.0, 7.0 / 3.0, -8.0 / 5.0, -227.0 / 45.0, 2704.0 / 315.0, 2323.0 / 945.0]),
    poly(N, &[0.0, 0.0, 0.0, 56.0 / 15.0, -136.0 / 35.0, -1262.0 / 105.0, 73814.0 / 2835.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 4279.0 / 630.0, -332.0 / 35.0, -399_572.0 / 14175.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 0.0, 4174.0 / 315.0, -144_838.0 / 6237.0]),
    poly(N, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 601_676.0 / 22275.0]),
];

const fn poly(n: f64, coefficients: &[f64]) -> f64 {
    let (mut sum, mut i) = (0.0, coefficients.len());
    while i > 0 {
        i -= 1;
        sum = sum * n + coefficients[i];
    }
    sum
}

/// Real and imaginary part of the sum of c₁ sin 2ζ + c₂ sin 4ζ + ... for ζ = ξ + iη.
///
/// # Source
/// C. W. Clenshaw, A note on the summation of Chebyshev series, Math. Comp. 9 (1955); from memory.
fn sine_sum(coefficients: &[f64; 6], xi: f64, eta: f64) -> (f64, f64) {
    let ((sin, cos), (sinh, cosh)) = ((2.0 * xi).sin_cos(), ((2.0 * eta).sinh(), (2.0 * eta).cosh()));
    let (re, im) = (2.0 * cos * cosh, -2.0 * sin * sinh);
    let ((mut b_re, mut b_im), (mut c_re, mut c_im)) = ((0.0, 0.0), (0.0, 0.0));
    for c in coefficients.iter().rev() {
        let next = (c + re * b_re - im * b_im - c_re, re * b_im + im * b_re - c_im);
        (c_re, c_im) = (b_re, b_im);
        (b_re, b_im) = next;
    }
    let (s_re, s_im) = (sin * cosh, cos * sinh);
    (s_re * b_re - s_im * b_im, s_re * b_im + s_im * b_re)
}

/// The secant of an angle by its tangent. Not hypot: the tangent of a latitude neither overflows nor vanishes when squared.
fn secant(tangent: f64) -> f64 {
    (1.0 + tangent * tangent).sqrt()
}

/// The tangent of the conformal latitude by the tangent and the secant of the latitude.
fn conformal(e: f64, tau: f64, of_tau: f64) -> f64 {
    let sigma = (e * (e * tau / of_tau).atanh()).sinh();
    tau * secant(sigma) - sigma * of_tau
}

/// Radians east of the central meridian and radians north to metres.
fn forward(east: f64, lat: f64) -> (f64, f64) {
    let e = (F * (2.0 - F)).sqrt();
    let tau = lat.tan();
    let tau_c = conformal(e, tau, secant(tau));
    let xi_c = tau_c.atan2(east.cos());
    let eta_c = (east.sin() / tau_c.hypot(east.cos())).asinh();
    let (xi_more, eta_more) = sine_sum(&ALPHA, xi_c, eta_c);
    (RECTIFYING * (eta_c + eta_more), RECTIFYING * (xi_c + xi_more))
}

/// Metres to radians east of the central meridian and radians north.
fn inverse(x: f64, y: f64) -> (f64, f64) {
    let (xi, eta) = (y / RECTIFYING, x / RECTIFYING);
    let (xi_more, eta_more) = sine_sum(&BETA, xi, eta);
    let (xi_c, eta_c) = (xi - xi_more, eta - eta_more);
    let ((sin, cos), sinh) = (xi_c.sin_cos(), eta_c.sinh());
    let conformal = sin.atan2((sinh * sinh + cos * cos).sqrt());
    (sinh.atan2(cos), conformal + sine_sum(&DELTA, conformal, 0.0).0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ring of 150 m and two inverse problems of science.md §4.3 (pyproj 3.7.2, WGS 84): near the centre the frame's
    /// straight lines are geodesics to well under a millimetre.
    #[test]
    fn agrees_with_geodesics_near_the_centre() {
        let f = Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 });
        for (lon, lat, metres) in [(-90.0712, 29.9612, 176.383_96), (-90.068_446_00, 29.959_999_99, 150.0), (-90.07, 29.961_353_16, 150.0)]
        {
            let p = f.local_from_lon_lat(LonLat { lon, lat });
            assert!((p.x.hypot(p.y) - metres).abs() < 1.5e-3, "{} for {metres}", p.x.hypot(p.y));
        }
    }

    #[test]
    fn there_and_back_over_a_whole_state() {
        let f = Frame::centred_on(LonLat { lon: -81.5, lat: 28.0 });
        for i in -20..=20 {
            for j in -20..=20 {
                let p = LonLat { lon: -81.5 + 0.15 * f64::from(i), lat: 28.0 + 0.15 * f64::from(j) };
                let q = f.lon_lat_from_local(f.local_from_lon_lat(p));
                assert!((p.lon - q.lon).abs() < 1e-11 && (p.lat - q.lat).abs() < 1e-11, "{p:?} {q:?}");
            }
        }
    }

    /// Check values CV075 (pyproj), CV076 (Karney's documentation) and CV077 (the GDA example from Flinders Peak to
    /// Buninyong, on GRS 80): the geodesics of `geo`, against which the frame is held here.
    /// Geodesics on WGS 84 from pyproj 3.7.2 (GeographicLib).
    #[test]
    fn metres_on_the_ground_are_those_of_the_geodesic() {
        let frame = Frame::centred_on(LonLat { lon: -71.1, lat: 42.37 });
        let start = frame.local_from_lon_lat(frame.centre());
        for (lon, lat, metres, within) in
            [(-71.7, 42.37, 49_421.342, 1e-6), (-71.7, 42.9, 76_734.451, 1e-6), (-89.0, 42.37, 1_471_670.15, 5e-3)]
        {
            let far = frame.ground_metres(start, frame.local_from_lon_lat(LonLat { lon, lat }));
            assert!((far / metres - 1.0).abs() < within, "{far} for {metres}");
        }
    }

    #[test]
    fn geodesics_are_the_published_ones() {
        use geo::{Distance, Geodesic, GeodesicMeasure, Point};
        let cv075 = Geodesic.distance(Point::new(-90.07, 29.96), Point::new(-90.0712, 29.9612));
        assert!((cv075 - 176.383_96).abs() < 1e-4, "{cv075}");
        let cv076 = Geodesic.distance(Point::new(-73.8, 40.6), Point::new(-0.5, 51.6));
        assert!((cv076 - 5_551_759.400_3).abs() < 1e-3, "{cv076}");
        let dms = |d: f64, m: f64, s: f64| d + m / 60.0 + s / 3600.0;
        let flinders = Point::new(dms(144.0, 25.0, 29.5244), -dms(37.0, 57.0, 3.7203));
        let buninyong = Point::new(dms(143.0, 55.0, 35.3839), -dms(37.0, 39.0, 10.1561));
        // The second number is the flattening itself, whatever its name in `geo` says.
        let cv077 = GeodesicMeasure::new(6_378_137.0, 1.0 / 298.257_222_101).distance(flinders, buninyong);
        assert!((cv077 - 54_972.271).abs() < 1e-3, "{cv077}");

        let frame = Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 });
        for k in 0..36 {
            let (sin, cos) = (f64::from(k) * 0.1745).sin_cos();
            let (a, b) = (Local { x: 4000.0 * cos, y: 4000.0 * sin }, Local { x: 4150.0 * cos, y: 4150.0 * sin });
            let [p, q] = [a, b].map(|l| frame.lon_lat_from_local(l)).map(|d| Point::new(d.lon, d.lat));
            let off = a.distance(b) / (1.0 + frame.scale_error(a)) - Geodesic.distance(p, q);
            assert!(off.abs() < 1e-4, "{off}");
        }
    }
}
