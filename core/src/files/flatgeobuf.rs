//! FlatGeobuf: features in flat buffers, with an index that is passed over.
//!
//! # Source
//! FlatGeobuf specification, version 3: magic bytes, header, index, features, each of them after its length.

use super::columns::{Columns, MOST_COLUMNS, ROOM};
use super::sketch::{Batch, Pen, Unusable};
use super::{FileError, ShapeKind, Table, bytes::Bytes, curves, wkt};
use crate::job::{Cancelled, Watch};
use crate::place::Crs;
use flatgeobuf::{ColumnType, Geometry, GeometryType, Header, size_prefixed_root_as_feature, size_prefixed_root_as_header};
use rayon::prelude::*;

const MAGIC: usize = 8;
/// Bytes of one node of the index.
const NODE: u64 = 40;
/// Features that one worker reads at a time.
const CHUNK: usize = 2048;

/// Whether some bytes begin as a FlatGeobuf does.
pub(super) fn sniff(start: &[u8]) -> bool {
    start.starts_with(b"fgb") && start.get(4..7) == Some(b"fgb")
}

/// Reads all features.
///
/// # Errors
/// [`FileError`] when the header cannot be read, or when somebody stopped it.
pub(super) fn read(file: &str, name: String, bytes: &[u8], watch: &dyn Watch) -> Result<Table, FileError> {
    let broken = |found: &str| FileError::broken(file, format!("byte {MAGIC}"), "the header of a FlatGeobuf", found);
    let length = bytes.get(MAGIC..).and_then(|rest| Bytes::new(rest).u32()).ok_or_else(|| broken("the end of the file"))? as usize;
    let described = bytes.get(MAGIC..MAGIC + 4 + length).ok_or_else(|| broken("a header longer than the file"))?;
    let header = size_prefixed_root_as_header(described).map_err(|error| broken(&error.to_string()))?;
    let first = index_size(&header).and_then(|size| size.checked_add((MAGIC + 4 + length) as u64));
    let (spans, mut notes) = spans(bytes, first.ok_or_else(|| broken("an index of no possible size"))?, header.features_count());
    let columns: Vec<(String, ColumnType)> =
        header.columns().map(|all| all.iter().map(|c| (c.name().to_owned(), c.type_())).collect()).unwrap_or_default();
    if columns.len() > MOST_COLUMNS {
        return Err(broken(&format!("{} columns", columns.len())));
    }
    let named = |room| Columns::named(columns.iter().map(|(name, _)| name.clone()).collect(), room);
    let parts: Result<Vec<(Batch, Columns)>, Cancelled> = spans
        .par_chunks(CHUNK)
        .map(|chunk| {
            watch.step("reading features", chunk[0].0 as u64, bytes.len() as u64)?;
            let mut part = (Batch::default(), named(ROOM * chunk.len() / spans.len() + chunk.len()));
            chunk.iter().for_each(|&(from, to)| take(&bytes[from..to], &header, &columns, &mut part));
            Ok(part)
        })
        .collect();
    let (mut batches, mut cells) = (Vec::new(), named(ROOM));
    for (batch, part) in parts? {
        batches.push(batch);
        cells.append(part);
    }
    let Batch { shapes, kinds, unusable, remarks } = Batch::join(batches, watch)?;
    notes.extend(remarks.notes());
    let crs = crs(&header, &mut notes);
    let rows = spans.len();
    let (columns, cells) = cells.into_cells(&mut notes);
    Ok(Table { name, crs, columns, rows, cells: Box::new(cells), kinds, shapes, unusable, notes })
}

/// Bytes of the packed index: all levels of a tree of so many children a node.
fn index_size(header: &Header<'_>) -> Option<u64> {
    let (mut level, children) = (header.features_count(), u64::from(header.index_node_size()));
    if level == 0 || children == 0 {
        return Some(0);
    }
    if children < 2 {
        return None;
    }
    let mut nodes = level;
    while level > 1 {
        level = level.div_ceil(children);
        nodes = nodes.checked_add(level)?;
    }
    // A single feature has a leaf and a root.
    if header.features_count() == 1 {
        nodes += 1;
    }
    nodes.checked_mul(NODE)
}

/// Where each feature lies, its length before it; as far as the lengths can be followed.
fn spans(bytes: &[u8], first: u64, said: u64) -> (Vec<(usize, usize)>, Vec<String>) {
    let mut at = usize::try_from(first).unwrap_or(usize::MAX);
    let mut spans = Vec::new();
    while let Some(length) = bytes.get(at..).and_then(|rest| Bytes::new(rest).u32()) {
        let to = at + 4 + length as usize;
        if to > bytes.len() {
            break;
        }
        spans.push((at, to));
        at = to;
    }
    let there = spans.len() as u64;
    let short = (said > there).then(|| format!("the file is cut short: {there} of {said} features are there"));
    (spans, short.into_iter().collect())
}

fn crs(header: &Header<'_>, notes: &mut Vec<String>) -> Option<Crs> {
    let crs = header.crs()?;
    if crs.code() > 0 && crs.org().is_none_or(|o| o.eq_ignore_ascii_case("epsg")) {
        return Crs::from_code(&crs.code().to_string()).ok();
    }
    wkt::named(crs.wkt()?, "header", notes)
}

fn take(bytes: &[u8], header: &Header<'_>, columns: &[(String, ColumnType)], (batch, cells): &mut (Batch, Columns)) {
    let feature = size_prefixed_root_as_feature(bytes);
    batch.row(|pen| {
        let feature = feature.as_ref().map_err(|_| Unusable::from("is broken"))?;
        if header.has_z() {
            pen.without_heights();
        }
        if header.has_m() {
            pen.without_measures();
        }
        feature.geometry().map_or(Ok(()), |g| draw(&g, header.geometry_type(), pen, 0))
    });
    cells.next_row();
    if let Some(properties) = feature.ok().and_then(|f| f.properties()) {
        let mut bytes = Bytes::new(properties.bytes());
        while put(&mut bytes, columns, cells).is_some() {}
    }
}

/// Reads one property into its cell; `None` at the end, or where what follows cannot be read.
fn put(bytes: &mut Bytes<'_>, columns: &[(String, ColumnType)], cells: &mut Columns) -> Option<()> {
    let column = usize::from(bytes.u16()?);
    let kind = columns.get(column)?.1;
    let number = |n: &dyn ToString| n.to_string();
    let text = match kind {
        ColumnType::Byte => number(&(bytes.byte()? as i8)),
        ColumnType::UByte => number(&bytes.byte()?),
        ColumnType::Bool => number(&(bytes.byte()? != 0)),
        ColumnType::Short => number(&(bytes.u16()? as i16)),
        ColumnType::UShort => number(&bytes.u16()?),
        ColumnType::Int => number(&(bytes.u32()? as i32)),
        ColumnType::UInt => number(&bytes.u32()?),
        ColumnType::Float => finite(f64::from(f32::from_bits(bytes.u32()?))),
        ColumnType::Long => number(&i64::from_le_bytes(bytes.take(8)?.try_into().ok()?)),
        ColumnType::ULong => number(&u64::from_le_bytes(bytes.take(8)?.try_into().ok()?)),
        ColumnType::Double => finite(bytes.f64()?),
        _ => {
            let length = bytes.u32()? as usize;
            let raw = bytes.take(length)?;
            if kind == ColumnType::Binary { String::new() } else { String::from_utf8_lossy(raw).into_owned() }
        }
    };
    cells.put(column, &text);
    Some(())
}

fn finite(number: f64) -> String {
    if number.is_finite() { number.to_string() } else { String::new() }
}

fn draw(geometry: &Geometry<'_>, of_layer: GeometryType, pen: &mut Pen<'_>, depth: u8) -> Result<(), Unusable> {
    let kind = if of_layer == GeometryType::Unknown { geometry.type_() } else { of_layer };
    match kind {
        GeometryType::Point | GeometryType::MultiPoint => pen.member(ShapeKind::Point, |pen| {
            for p in runs(geometry)?.concat() {
                pen.place(p[0], p[1])?;
                pen.end_run();
            }
            Ok(())
        }),
        GeometryType::LineString | GeometryType::MultiLineString | GeometryType::CircularString => pen.member(ShapeKind::Line, |pen| {
            for run in runs(geometry)? {
                let bent = kind == GeometryType::CircularString;
                if bent {
                    pen.with_arcs();
                }
                let run = if bent { curves::through(&run) } else { run };
                run.iter().try_for_each(|p| pen.place(p[0], p[1]))?;
                pen.end_run();
            }
            Ok(())
        }),
        GeometryType::Polygon | GeometryType::Triangle => pen.member(ShapeKind::Polygon, |pen| {
            for ring in runs(geometry)? {
                ring.iter().try_for_each(|p| pen.place(p[0], p[1]))?;
                pen.end_ring();
            }
            pen.end_part();
            Ok(())
        }),
        GeometryType::MultiPolygon | GeometryType::GeometryCollection if depth < 16 => {
            let of_parts = if kind == GeometryType::MultiPolygon { GeometryType::Polygon } else { GeometryType::Unknown };
            geometry.parts().map_or(Ok(()), |parts| parts.iter().try_for_each(|p| draw(&p, of_parts, pen, depth + 1)))
        }
        other => Err(format!("is of a kind that is not read ({})", other.variant_name().unwrap_or("unknown")).into()),
    }
}

/// The places of a geometry, parted where it says that a ring or a run ends.
fn runs(geometry: &Geometry<'_>) -> Result<Vec<Vec<[f64; 2]>>, Unusable> {
    let Some(xy) = geometry.xy() else { return Ok(Vec::new()) };
    let places: Vec<[f64; 2]> = (0..xy.len() / 2).map(|i| [xy.get(2 * i), xy.get(2 * i + 1)]).collect();
    let Some(ends) = geometry.ends().filter(|e| !e.is_empty()) else { return Ok(vec![places]) };
    let mut from = 0;
    let run = |end: u32| {
        let run = places.get(std::mem::replace(&mut from, end as usize)..end as usize);
        run.map(<[_]>::to_vec).ok_or_else(|| Unusable::from("has rings that end outside it"))
    };
    ends.iter().map(run).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use flatgeobuf::geozero::{ColumnValue, GeomProcessor, GeozeroGeometry, PropertyProcessor as _, error::Result as Processed};
    use flatgeobuf::{FgbCrs, FgbWriter, FgbWriterOptions};

    /// A polygon for the reference writer.
    struct Rings(Vec<[[f64; 2]; 4]>);

    impl GeozeroGeometry for Rings {
        fn process_geom<P: GeomProcessor>(&self, to: &mut P) -> Processed<()> {
            to.polygon_begin(true, self.0.len(), 0)?;
            for (i, ring) in self.0.iter().enumerate() {
                to.linestring_begin(false, ring.len(), i)?;
                ring.iter().enumerate().try_for_each(|(k, p)| to.xy(p[0], p[1], k))?;
                to.linestring_end(false, i)?;
            }
            to.polygon_end(true, 0)
        }
    }

    /// Written by the reference writer (crate flatgeobuf 6).
    fn small(write_index: bool) -> Vec<u8> {
        let crs = FgbCrs { code: 2249, ..FgbCrs::default() };
        let options = FgbWriterOptions { write_index, crs, ..FgbWriterOptions::default() };
        let mut writer = FgbWriter::create_with_options("lots", GeometryType::Polygon, options).unwrap();
        writer.add_column("name", ColumnType::String, |_, _| {});
        writer.add_column("rooms", ColumnType::Int, |_, _| {});
        let triangle = |x: f64| [[x, 0.0], [x + 9.0, 0.0], [x + 9.0, 9.0], [x, 0.0]];
        let hole = [[5.0, 1.0], [6.0, 1.0], [6.0, 2.0], [5.0, 1.0]];
        for (i, rings) in [vec![triangle(0.0), hole], vec![triangle(20.0)], vec![triangle(40.0)]].into_iter().enumerate() {
            writer
                .add_feature_geom(Rings(rings), |feature| {
                    feature.property(0, "name", &ColumnValue::String(["a", "b", "c"][i])).unwrap();
                    feature.property(1, "rooms", &ColumnValue::Int(i as i32 - 1)).unwrap();
                })
                .unwrap();
        }
        let mut out = Vec::new();
        writer.write(&mut out).unwrap();
        out
    }

    fn read_small(bytes: &[u8]) -> Result<Table, FileError> {
        read("a.fgb", "a".to_owned(), bytes, &Unwatched)
    }

    #[test]
    fn reads_what_the_reference_writer_wrote() {
        for write_index in [false, true] {
            let t = read_small(&small(write_index)).unwrap();
            assert_eq!((t.rows, t.crs.clone(), t.columns.join(" ")), (3, Some(Crs::Epsg(2249)), "name rooms".to_owned()));
            let mut rows: Vec<String> = (0..3).map(|r| format!("{} {}", t.cell(r, 0), t.cell(r, 1))).collect();
            rows.sort();
            assert_eq!(rows, ["a -1", "b 0", "c 1"]);
            assert_eq!((t.kinds, t.shapes.xy.len(), t.shapes.ring_ends.len()), (vec![ShapeKind::Polygon; 3], 12, 4));
        }
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        let whole = small(true);
        for n in 0..whole.len() * 8 {
            let mut bytes = whole.clone();
            bytes[n / 8] ^= 1 << (n % 8);
            for bytes in [&bytes[..], &whole[..n / 8]] {
                let Ok(t) = read_small(bytes) else { continue };
                assert!(t.kinds.len() == t.rows && t.shapes.xy.len() <= whole.len());
            }
        }
    }
}
