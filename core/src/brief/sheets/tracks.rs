//! The day's walks for receivers in the hand (GPX) and for other programs (GeoJSON, KML), in degrees on WGS 84.

use super::content::clock;
use crate::files::{degrees, escaped};
use crate::place::{Frame, Local};
use crate::survey::Survey;
use crate::walks::{CrewWalk, Day, Door};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// One crew's walk: a waypoint and a route point for each door, and the line walked as a track.
///
/// # Source
/// GPX 1.1 schema (topografix.com/GPX/1/1), from memory: waypoints, then routes, then tracks; in each of them `name`, `cmt`,
/// `desc`, `type` in this order.
pub fn gpx(day: &Day, survey: &Survey, walk: &CrewWalk) -> String {
    let at = |p: Local| {
        let (lon, lat) = degrees(&survey.frame, p);
        format!("lat=\"{lat}\" lon=\"{lon}\"")
    };
    let name = format!("{}, {}", walk.crew, day.on);
    let name = escaped(&name);
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    out += "<gpx version=\"1.1\" creator=\"Yardring\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n";
    out += &format!("<metadata><name>{name}</name></metadata>\n");
    let point = |tag: &str, door: &Door, i: usize| {
        let (name, words) = (door_name(survey, door, i), door_words(day, door));
        let (name, words) = (escaped(&name), escaped(&words));
        format!("<{tag} {}><name>{name}</name><desc>{words}</desc><type>door</type></{tag}>\n", at(door.at))
    };
    let meet = |tag: &str| format!("<{tag} {}><name>Meet here</name><type>meeting point</type></{tag}>\n", at(day.meeting_point));
    out += &meet("wpt");
    out.extend(walk.doors.iter().enumerate().map(|(i, d)| point("wpt", d, i)));
    out += &format!("<rte><name>{name}</name>\n{}", meet("rtept"));
    out.extend(walk.doors.iter().enumerate().map(|(i, d)| point("rtept", d, i)));
    out += &format!("{}</rte>\n<trk><name>{name}</name><trkseg>\n", meet("rtept"));
    out.extend(walk.path.iter().map(|&p| format!("<trkpt {}/>\n", at(p))));
    out + "</trkseg></trk>\n</gpx>\n"
}

/// All walks: a folder for each crew with its line and its doors.
///
/// # Source
/// OGC 12-007r2 (KML 2.3) and its 2.2 predecessor, from memory: `Document`, `Folder`, `Placemark`; coordinates are longitude, latitude.
pub fn kml(day: &Day, survey: &Survey) -> String {
    let at = |p: Local| {
        let (lon, lat) = degrees(&survey.frame, p);
        format!("{lon},{lat}")
    };
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n");
    out += &format!("<name>Walks of {}</name>\n", day.on);
    for walk in day.walks.iter().filter(|w| !w.doors.is_empty()) {
        let crew = escaped(&walk.crew);
        let line: Vec<String> = walk.path.iter().map(|&p| at(p)).collect();
        out += &format!("<Folder><name>{crew}</name>\n");
        if line.len() > 1 {
            out += &format!(
                "<Placemark><name>{crew}</name><LineString><coordinates>{}</coordinates></LineString></Placemark>\n",
                line.join(" ")
            );
        }
        for (i, door) in walk.doors.iter().enumerate() {
            let (name, words) = (door_name(survey, door, i), door_words(day, door));
            let (name, words) = (escaped(&name), escaped(&words));
            let place = at(door.at);
            out += &format!(
                "<Placemark><name>{name}</name><description>{words}</description><Point><coordinates>{place}</coordinates></Point></Placemark>\n"
            );
        }
        out += "</Folder>\n";
    }
    out + "</Document>\n</kml>\n"
}

/// All walks: a line for each crew, then a point for each door, with the columns of `walks.csv`.
///
/// # Source
/// RFC 7946: WGS 84, longitude first.
pub fn geojson(day: &Day, survey: &Survey) -> String {
    let frame = &survey.frame;
    let walked = || day.walks.iter().filter(|w| !w.doors.is_empty());
    let lines = walked().filter(|w| w.path.len() > 1).map(|w| {
        let line: Vec<Value> = w.path.iter().map(|&p| place(frame, p)).collect();
        let about = json!({"crew": w.crew, "doors": w.doors.len(), "walk_m": tenth(w.walk_m), "back": clock(day.begins, w.back_after)});
        json!({"type": "Feature", "properties": about, "geometry": {"type": "LineString", "coordinates": line}})
    });
    let doors = walked().flat_map(|w| w.doors.iter().enumerate().map(move |(i, d)| door_feature(day, survey, w, i, d)));
    let features: Vec<String> = lines.chain(doors).map(|f| f.to_string()).collect();
    format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", features.join(",\n"))
}

fn door_feature(day: &Day, survey: &Survey, walk: &CrewWalk, i: usize, door: &Door) -> Value {
    let row = door.premise.row();
    let about = json!({
        "crew": walk.crew,
        "order": i + 1,
        "parcel_id": survey.premises.parcel_id.get(row),
        "address": survey.premises.address.get(row),
        "arrive": clock(day.begins, door.arrive),
        "leave": clock(day.begins, door.leave()),
        "minutes": tenth(door.minutes),
        "walk_m": tenth(door.walk_m),
        "reason": door.why.words,
        "probability": door.probability,
    });
    json!({"type": "Feature", "properties": about, "geometry": {"type": "Point", "coordinates": place(&survey.frame, door.at)}})
}

/// Seven decimals of a degree are about a centimetre.
fn place(frame: &Frame, p: Local) -> Value {
    let p = frame.lon_lat_from_local(p);
    let rounded = |d: f64| (d * 1e7).round() / 1e7;
    json!([rounded(p.lon), rounded(p.lat)])
}

fn tenth(v: f64) -> f64 {
    (v * 10.0).round() / 10.0
}

/// "7 · 12 Kettle Lane"
fn door_name(survey: &Survey, door: &Door, i: usize) -> String {
    let row = door.premise.row();
    let address = survey.premises.address.get(row);
    format!("{} · {}", i + 1, if address.is_empty() { survey.premises.parcel_id.get(row) } else { address })
}

fn door_words(day: &Day, door: &Door) -> String {
    let mut out = format!("{}: {}", clock(day.begins, door.arrive), door.why.words);
    if let Some(urgency) = door.urgency() {
        // Writing to memory cannot fail.
        let _ = write!(out, "; {urgency}");
    }
    out
}
