//! Rows as KML: degrees on WGS 84, one placemark a row.

use super::markup::{answered, degrees, escaped, label};
use super::{Drawn, Failure, Features};
use crate::job::Watch;
use crate::place::{Frame, Local, PartView, ShapeView, signed_area};
use rayon::prelude::*;
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::Path;

/// Rows that one thread writes at a stretch.
const STRETCH: usize = 1_024;

/// # Source
/// OGC KML 2.2 (OGC 07-147r2): a placemark's name stands before its data, and these before its shape; coordinates are
/// `lon,lat`; rings are closed, and an outer one runs counter-clockwise.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let mut out = BufWriter::new(File::create(path)?);
    let head = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n";
    let (name, about) = (escaped(features.name), escaped(features.about));
    writeln!(out, "{head}<name>{name}</name>\n<description>{about}</description>")?;
    let rows = features.rows();
    let wave = STRETCH * rayon::current_num_threads().max(1);
    for from in (0..rows).step_by(wave) {
        watch.step("Writing the rows", from as u64, rows as u64)?;
        let starts: Vec<usize> = (from..rows.min(from + wave)).step_by(STRETCH).collect();
        let stretch = |start: usize| (start..rows.min(start + STRETCH)).map(|row| placemark(features, row)).collect::<String>();
        let texts: Vec<String> = starts.into_par_iter().map(stretch).collect();
        texts.iter().try_for_each(|text| out.write_all(text.as_bytes()))?;
    }
    out.write_all(b"</Document>\n</kml>\n")?;
    Ok(out.flush()?)
}

fn placemark(features: &Features, row: usize) -> String {
    let mut out = format!("<Placemark><name>{}</name><ExtendedData>", escaped(&label(features, row)));
    for (column, cell) in answered(features, row) {
        out += &format!("<Data name=\"{}\"><value>{}</value></Data>", column.name, escaped(&cell));
    }
    out += "</ExtendedData>";
    if let Some((frame, drawn, shapes)) = &features.shapes {
        geometry(frame, *drawn, shapes.get(row), &mut out);
    }
    out + "</Placemark>\n"
}

fn geometry(frame: &Frame, drawn: Drawn, shape: ShapeView<'_>, out: &mut String) {
    let members: Vec<String> = match drawn {
        Drawn::Outlines => shape.parts().map(|part| polygon(frame, part)).collect(),
        Drawn::Lines => shape.rings().map(|run| format!("<LineString>{}</LineString>", places(frame, run))).collect(),
        Drawn::Points => shape.places().iter().map(|p| format!("<Point>{}</Point>", places(frame, [p]))).collect(),
    };
    match members.as_slice() {
        [] => {}
        [one] => *out += one,
        many => *out += &format!("<MultiGeometry>{}</MultiGeometry>", many.concat()),
    }
}

fn polygon(frame: &Frame, part: PartView<'_>) -> String {
    let ring = |(i, ring): (usize, &[Local])| {
        let (side, outer) = if i == 0 { ("outerBoundaryIs", true) } else { ("innerBoundaryIs", false) };
        let text = if (signed_area(ring) >= 0.0) == outer {
            places(frame, ring.iter().chain(ring.first()))
        } else {
            places(frame, ring.first().into_iter().chain(ring.iter().rev()))
        };
        format!("<{side}><LinearRing>{text}</LinearRing></{side}>")
    };
    format!("<Polygon>{}</Polygon>", part.rings().enumerate().map(ring).collect::<String>())
}

fn places<'a>(frame: &Frame, run: impl IntoIterator<Item = &'a Local>) -> String {
    let place = |p: &Local| {
        let (lon, lat) = degrees(frame, *p);
        format!("{lon},{lat}")
    };
    format!("<coordinates>{}</coordinates>", run.into_iter().map(place).collect::<Vec<_>>().join(" "))
}
