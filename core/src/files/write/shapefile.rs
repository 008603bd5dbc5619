//! Rows as a shapefile: shapes in `.shp` and their places in `.shx`, attributes in `.dbf`, the district frame in `.prj`, and
//! in `.cpg` that texts are UTF-8.

use super::dbase;
use super::{Drawn, Failure, Features, Unfinished};
use crate::job::Watch;
use crate::place::{Bounds, Local, ShapeView, Shapes, signed_area};
use std::fs::File;
use std::io::{BufWriter, Error, Result, Write as _};
use std::path::Path;

/// Bytes of the header of `.shp` and `.shx`.
const HEADER: usize = 100;
/// Rows between two looks at whether somebody asked to stop.
const STEP: usize = 16_384;

/// Writes the files that make up a shapefile beside one another. Each takes an old one's place in one step, the `.shp` last:
/// before that, the old `.shp` still stands.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> std::result::Result<(), Failure> {
    let beside = |ending: &str| Unfinished::beside(&path.with_extension(ending));
    let Some((frame, drawn, shapes)) = &features.shapes else { return Ok(()) };
    let [dbf, cpg, prj, shx] = ["dbf", "cpg", "prj", "shx"].map(beside);
    let shp = Unfinished::beside(path);
    dbase::write(features, dbf.path(), watch)?;
    std::fs::write(cpg.path(), "UTF-8")?;
    std::fs::write(prj.path(), frame.esri_text())?;
    write_shapes(*drawn, shapes, [shp.path(), shx.path()], watch)?;
    Ok([dbf, cpg, prj, shx, shp].into_iter().try_for_each(Unfinished::finish)?)
}

/// # Source
/// Esri Shapefile Technical Description, July 1998: main file header (p. 4), record headers (p. 5), index (p. 23); kinds of
/// shape 0, 1, 3, 5 and 8 (pp. 6–9). Lengths are counted in words of 16 bits.
fn write_shapes(drawn: Drawn, shapes: &Shapes, [shp, shx]: [&Path; 2], watch: &dyn Watch) -> std::result::Result<(), Failure> {
    let kind = kind(drawn, shapes);
    let (mut main, mut index) = (BufWriter::new(File::create(shp)?), BufWriter::new(File::create(shx)?));
    let sizes: usize = shapes.iter().map(|s| 8 + length(kind, s)).sum();
    let extent = shapes.extent();
    main.write_all(&header(kind, HEADER + sizes, extent)?)?;
    index.write_all(&header(kind, HEADER + 8 * shapes.len(), extent)?)?;
    let (mut at, mut record) = (HEADER, Vec::new());
    for (row, shape) in shapes.iter().enumerate() {
        if row % STEP == 0 {
            watch.step("Writing the rows", row as u64, shapes.len() as u64)?;
        }
        let content = words(length(kind, shape))?;
        index.write_all(&[words(at)?, content].concat())?;
        record.clear();
        record.extend((row as u32 + 1).to_be_bytes());
        record.extend(content);
        draw(kind, shape, &mut record);
        main.write_all(&record)?;
        at += record.len();
    }
    index.flush()?;
    Ok(main.flush()?)
}

/// A number of bytes as the format writes it.
fn words(bytes: usize) -> Result<[u8; 4]> {
    let too_large = || Error::other("a shapefile holds no more than 4 GB; write a GeoPackage");
    i32::try_from(bytes / 2).map(i32::to_be_bytes).map_err(|_| too_large())
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Point = 1,
    Lines = 3,
    Polygon = 5,
    Points = 8,
}

fn kind(drawn: Drawn, shapes: &Shapes) -> Kind {
    match drawn {
        Drawn::Outlines => Kind::Polygon,
        Drawn::Lines => Kind::Lines,
        Drawn::Points if shapes.iter().all(|s| s.places().len() <= 1) => Kind::Point,
        Drawn::Points => Kind::Points,
    }
}

/// Bytes of a record behind its header.
fn length(kind: Kind, shape: ShapeView<'_>) -> usize {
    let places = shape.places().len();
    match kind {
        _ if places == 0 => 4,
        Kind::Point => 20,
        Kind::Points => 40 + 16 * places,
        Kind::Lines => 44 + shape.rings().len() * 4 + 16 * places,
        // Rings are closed by their first place.
        Kind::Polygon => 44 + shape.rings().len() * 20 + 16 * places,
    }
}

fn header(kind: Kind, length: usize, extent: Bounds) -> Result<Vec<u8>> {
    let mut out = Vec::with_capacity(HEADER);
    out.extend(9994i32.to_be_bytes());
    out.resize(24, 0);
    out.extend(words(length)?);
    out.extend(1000i32.to_le_bytes());
    out.extend((kind as i32).to_le_bytes());
    if !extent.is_empty() {
        put_bounds(extent, &mut out);
    }
    out.resize(HEADER, 0);
    Ok(out)
}

fn put_bounds(b: Bounds, out: &mut Vec<u8>) {
    [b.min, b.max].into_iter().for_each(|p| put(p, out));
}

fn put(p: Local, out: &mut Vec<u8>) {
    out.extend(p.x.to_le_bytes());
    out.extend(p.y.to_le_bytes());
}

fn draw(kind: Kind, shape: ShapeView<'_>, out: &mut Vec<u8>) {
    let places = shape.places();
    let Some(&first) = places.first() else { return out.extend(0i32.to_le_bytes()) };
    out.extend((kind as i32).to_le_bytes());
    if kind == Kind::Point {
        return put(first, out);
    }
    put_bounds(*shape.bounds(), out);
    if kind == Kind::Points {
        out.extend((places.len() as i32).to_le_bytes());
        return places.iter().for_each(|p| put(*p, out));
    }
    let closing = usize::from(kind == Kind::Polygon);
    out.extend((shape.rings().len() as i32).to_le_bytes());
    out.extend(((places.len() + closing * shape.rings().len()) as i32).to_le_bytes());
    let mut begin = 0;
    for ring in shape.rings() {
        out.extend((begin as i32).to_le_bytes());
        begin += ring.len() + closing;
    }
    if kind == Kind::Lines {
        return places.iter().for_each(|p| put(*p, out));
    }
    for part in shape.parts() {
        part.rings().enumerate().for_each(|(i, ring)| put_ring(ring, i == 0, out));
    }
}

/// An outer ring runs clockwise, a hole the other way (p. 8).
fn put_ring(ring: &[Local], outer: bool, out: &mut Vec<u8>) {
    let Some(&first) = ring.first() else { return put(Local { x: 0.0, y: 0.0 }, out) };
    put(first, out);
    if (signed_area(ring) <= 0.0) == outer {
        ring[1..].iter().for_each(|p| put(*p, out));
    } else {
        ring[1..].iter().rev().for_each(|p| put(*p, out));
    }
    put(first, out);
}
