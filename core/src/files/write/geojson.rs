//! Rows as GeoJSON: degrees on WGS 84, outer rings counter-clockwise.

use super::{Drawn, Failure, Features, Values};
use crate::job::Watch;
use crate::place::{Frame, Local, PartView, ShapeView, signed_area};
use rayon::prelude::*;
use std::fs::File;
use std::io::{BufWriter, Result, Write as _};
use std::path::Path;

/// Rows that one thread writes at a stretch.
const STRETCH: usize = 1_024;

/// # Source
/// RFC 7946: 3.3 (features), 3.1.6 (rings closed; outer ones counter-clockwise, holes clockwise), 4 (WGS 84). Eight decimals
/// are about a millimetre.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> std::result::Result<(), Failure> {
    let mut out = BufWriter::new(File::create(path)?);
    out.write_all(b"{\"type\":\"FeatureCollection\",\"features\":[\n")?;
    let rows = features.rows();
    let wave = STRETCH * rayon::current_num_threads().max(1);
    for from in (0..rows).step_by(wave) {
        watch.step("Writing the rows", from as u64, rows as u64)?;
        let starts: Vec<usize> = (from..rows.min(from + wave)).step_by(STRETCH).collect();
        let texts = starts.into_par_iter().map(|start| stretch(features, start, rows)).collect::<Result<Vec<_>>>()?;
        for text in texts {
            out.write_all(&text)?;
        }
    }
    out.write_all(b"]}\n")?;
    Ok(out.flush()?)
}

fn stretch(features: &Features, from: usize, rows: usize) -> Result<Vec<u8>> {
    let mut out = Vec::new();
    for row in from..rows.min(from + STRETCH) {
        out.write_all(b"{\"type\":\"Feature\",\"properties\":{")?;
        properties(features, row, &mut out)?;
        out.write_all(b"},\"geometry\":")?;
        match &features.shapes {
            Some((frame, drawn, shapes)) if !shapes.get(row).is_empty() => geometry(frame, *drawn, shapes.get(row), &mut out)?,
            _ => out.write_all(b"null")?,
        }
        out.write_all(if row + 1 == rows { b"}\n" } else { b"},\n" })?;
    }
    Ok(out)
}

fn properties(features: &Features, row: usize, out: &mut Vec<u8>) -> Result<()> {
    for (i, column) in features.columns.iter().enumerate() {
        write!(out, "{}\"{}\":", if i == 0 { "" } else { "," }, column.name)?;
        let cell = column.cell(row);
        match &column.values {
            _ if cell.is_empty() => out.write_all(b"null")?,
            Values::Whole(_) | Values::Number(..) => out.write_all(cell.as_bytes())?,
            Values::Text(_) | Values::Day(_) => serde_json::to_writer(&mut *out, cell.as_ref())?,
        }
    }
    Ok(())
}

fn geometry(frame: &Frame, drawn: Drawn, shape: ShapeView<'_>, out: &mut Vec<u8>) -> Result<()> {
    let (one, kind) = match drawn {
        Drawn::Outlines => (shape.parts().len() == 1, "Polygon"),
        Drawn::Lines => (shape.rings().len() == 1, "LineString"),
        Drawn::Points => (shape.places().len() == 1, "Point"),
    };
    write!(out, "{{\"type\":\"{}{kind}\",\"coordinates\":", if one { "" } else { "Multi" })?;
    let members = |out: &mut Vec<u8>| match drawn {
        Drawn::Outlines => listed(shape.parts(), out, |part, out| polygon(frame, part, out)),
        Drawn::Lines => listed(shape.rings(), out, |run, out| bracketed(out, |out| listed(run, out, |p, out| place(frame, *p, out)))),
        Drawn::Points => listed(shape.places(), out, |p, out| place(frame, *p, out)),
    };
    if one {
        members(out)?;
    } else {
        bracketed(out, members)?;
    }
    out.write_all(b"}")
}

fn polygon(frame: &Frame, part: PartView<'_>, out: &mut Vec<u8>) -> Result<()> {
    let ring = |(i, ring): (usize, &[Local]), out: &mut Vec<u8>| {
        let outer = i == 0;
        let closed = ring.iter().chain(ring.first());
        if (signed_area(ring) >= 0.0) == outer {
            bracketed(out, |out| listed(closed, out, |p, out| place(frame, *p, out)))
        } else {
            bracketed(out, |out| listed(ring.first().into_iter().chain(ring.iter().rev()), out, |p, out| place(frame, *p, out)))
        }
    };
    bracketed(out, |out| listed(part.rings().enumerate(), out, ring))
}

fn place(frame: &Frame, p: Local, out: &mut Vec<u8>) -> Result<()> {
    let p = frame.lon_lat_from_local(p);
    write!(out, "[{:.8},{:.8}]", p.lon, p.lat)
}

fn bracketed(out: &mut Vec<u8>, inside: impl FnOnce(&mut Vec<u8>) -> Result<()>) -> Result<()> {
    out.push(b'[');
    inside(out)?;
    out.push(b']');
    Ok(())
}

fn listed<T>(items: impl IntoIterator<Item = T>, out: &mut Vec<u8>, mut write: impl FnMut(T, &mut Vec<u8>) -> Result<()>) -> Result<()> {
    for (i, item) in items.into_iter().enumerate() {
        if i > 0 {
            out.push(b',');
        }
        write(item, out)?;
    }
    Ok(())
}
