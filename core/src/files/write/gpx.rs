//! Rows as GPX for a hand-held receiver: doors as waypoints, streets and the edges of larger ground as tracks.

use super::markup::{answered, degrees, escaped, label};
use super::{Drawn, Failure, Features};
use crate::job::Watch;
use crate::place::{Frame, Local, ShapeView, inside};
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::Path;

/// Rows between two looks at whether somebody asked to stop.
const STEP: usize = 4_096;

/// A row about a premise is a waypoint inside it; another ground is the track along its edge. A row without a place is left
/// out, since GPX has no room for one.
///
/// # Source
/// GPX 1.1 schema: `lat` and `lon` are attributes, waypoints stand before tracks, and a name before its description.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let mut out = BufWriter::new(File::create(path)?);
    let head = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"Yardring\" xmlns=\"http://www.topografix.com/GPX/1/1\">";
    let (name, about) = (escaped(features.name), escaped(features.about));
    writeln!(out, "{head}\n<metadata><name>{name}</name><desc>{about}</desc></metadata>")?;
    if let Some((frame, drawn, shapes)) = &features.shapes {
        let doors = features.columns.iter().any(|c| c.name == "parcel_id");
        for (row, shape) in shapes.iter().enumerate() {
            if row % STEP == 0 {
                watch.step("Writing the rows", row as u64, shapes.len() as u64)?;
            }
            let about = told(features, row);
            let text = match drawn {
                Drawn::Points => shape.places().iter().map(|p| waypoint(frame, *p, &about)).collect(),
                Drawn::Outlines if doors => inside(shape).map(|p| waypoint(frame, p, &about)).unwrap_or_default(),
                Drawn::Outlines => track(frame, shape, true, &about),
                Drawn::Lines => track(frame, shape, false, &about),
            };
            out.write_all(text.as_bytes())?;
        }
    }
    out.write_all(b"</gpx>\n")?;
    Ok(out.flush()?)
}

fn told(features: &Features, row: usize) -> String {
    let name = label(features, row);
    let cells = answered(features, row).map(|(c, cell)| format!("{}: {cell}", c.name)).collect::<Vec<_>>().join("; ");
    format!("<name>{}</name><desc>{}</desc>", escaped(&name), escaped(&cells))
}

fn waypoint(frame: &Frame, p: Local, about: &str) -> String {
    let (lon, lat) = degrees(frame, p);
    format!("<wpt lat=\"{lat}\" lon=\"{lon}\">{about}</wpt>\n")
}

fn track(frame: &Frame, shape: ShapeView<'_>, closed: bool, about: &str) -> String {
    if shape.places().is_empty() {
        return String::new();
    }
    let point = |p: &Local| {
        let (lon, lat) = degrees(frame, *p);
        format!("<trkpt lat=\"{lat}\" lon=\"{lon}\"/>")
    };
    let segment = |run: &[Local]| {
        let last = if closed { run.first() } else { None };
        format!("<trkseg>{}</trkseg>", run.iter().chain(last).map(point).collect::<String>())
    };
    format!("<trk>{about}{}</trk>\n", shape.rings().map(segment).collect::<String>())
}
