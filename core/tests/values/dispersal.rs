//! Rings, distances on the earth, and how far mosquitoes go.

use super::{Row, each};
use geo::{Distance, Geodesic, GeodesicMeasure, Point};
use serde_json::{Value, json};
use yardring_core::measure::ring_hectares;
use yardring_core::place::{Frame, LonLat};
use yardring_core::reach::{inner_radius, share_beyond, web_map_stretch};

const IDS: &[&str] = &["CV073", "CV075", "CV076", "CV077", "CV079", "CV080", "CV081"];

fn degrees(parts: &[f64]) -> f64 {
    parts[0].signum() * (parts[0].abs() + parts[1] / 60.0 + parts[2] / 3600.0)
}

fn found(row: &Row) -> Value {
    match row.id {
        "CV073" => json!({ "ha": row.numbers("radius_m").into_iter().map(ring_hectares).collect::<Vec<_>>() }),
        // Two premises' distance, as the program measures it: in a frame centred near by.
        "CV075" => {
            let (from, to) = (row.numbers("from"), row.numbers("to"));
            let frame = Frame::centred_on(LonLat { lon: from[1], lat: from[0] });
            let local = |p: &[f64]| frame.local_from_lon_lat(LonLat { lon: p[1], lat: p[0] });
            json!({ "metres": local(&from).distance(local(&to)) })
        }
        // Far beyond any district: the geodesics against which the frame is held in its own tests.
        "CV076" => {
            let (from, to) = (row.numbers("from"), row.numbers("to"));
            json!({ "metres": Geodesic.distance(Point::new(from[1], from[0]), Point::new(to[1], to[0])) })
        }
        "CV077" => {
            let place = |name| {
                let parts = row.numbers(name);
                Point::new(degrees(&parts[3..]), degrees(&parts[..3]))
            };
            let grs80 = GeodesicMeasure::new(6_378_137.0, 1.0 / 298.257_222_101);
            json!({ "metres": grs80.distance(place("from_dms"), place("to_dms")) })
        }
        "CV079" => json!({ "scale": web_map_stretch(row.number("lat")) }),
        "CV080" => json!({ "metres": inner_radius(row.number("radius_m"), row.whole("sides") as u32) }),
        _ => json!({ "share": share_beyond(row.number("mean_m"), row.number("r_m")) }),
    }
}

/// Goes through the rows.
pub fn rows() {
    each(IDS, |row| row.holds(found(row)));
}

#[test]
fn rings_and_distances() {
    rows();
}
