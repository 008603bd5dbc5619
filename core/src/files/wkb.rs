//! Well-known binary, plain and in the wrapping of a GeoPackage.
//!
//! # Source
//! OGC 06-103r4, section 8.2 (well-known binary) with the type numbers of ISO 13249-3 for curves and for heights and measures;
//! the flag bits for heights, measures and reference systems that other programs write into the type; OGC 12-128r18, section
//! 2.1.3 (the wrapping).

use super::ShapeKind;
use super::bytes::Bytes;
use super::curves;
use super::sketch::{Pen, Unusable};

/// Shapes within shapes that are followed.
const DEEPEST: u8 = 16;
const CUT: &str = "is cut short";

/// Draws the shape of a GeoPackage's blob; plain well-known binary is taken too.
pub(super) fn draw_wrapped(blob: &[u8], pen: &mut Pen<'_>) -> Result<(), Unusable> {
    let mut bytes = Bytes::new(blob);
    if blob.starts_with(b"GP") {
        let flags = bytes.take(4).ok_or(CUT)?[3];
        if flags & 0b10_0000 != 0 {
            return Err("is of a kind outside the standard".into());
        }
        let envelope = [0, 32, 48, 48, 64].get(usize::from(flags >> 1 & 7)).ok_or("has an unknown kind of box round it")?;
        bytes.take(4 + envelope).ok_or(CUT)?;
        if flags & 0b1_0000 != 0 {
            return Ok(());
        }
    } else if !matches!(blob.first(), Some(0 | 1)) {
        return Err("is no geometry but other data".into());
    }
    draw(&mut bytes, pen, 0)
}

/// How the numbers of one geometry are written.
#[derive(Clone, Copy)]
struct Manner {
    little_endian: bool,
    heights: bool,
    measures: bool,
}

impl Manner {
    fn count(self, bytes: &mut Bytes<'_>, least_size: usize) -> Result<u32, Unusable> {
        let count = if self.little_endian { bytes.u32() } else { bytes.u32_big_endian() }.ok_or(CUT)?;
        if (count as usize).saturating_mul(least_size) > bytes.left() {
            return Err(format!("says it has {count} pieces, more than its record holds").into());
        }
        Ok(count)
    }

    fn number(self, bytes: &mut Bytes<'_>) -> Result<f64, Unusable> {
        Ok(if self.little_endian { bytes.f64() } else { bytes.f64_big_endian() }.ok_or(CUT)?)
    }

    fn size(self) -> usize {
        16 + 8 * (usize::from(self.heights) + usize::from(self.measures))
    }

    fn place(self, bytes: &mut Bytes<'_>) -> Result<[f64; 2], Unusable> {
        let xy = [self.number(bytes)?, self.number(bytes)?];
        bytes.take(self.size() - 16).ok_or(CUT)?;
        Ok(xy)
    }

    fn run(self, bytes: &mut Bytes<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
        for _ in 0..self.count(bytes, self.size())? {
            let [x, y] = self.place(bytes)?;
            pen.place(x, y)?;
        }
        Ok(())
    }
}

/// The byte order and the kind at the head of a geometry.
fn head(bytes: &mut Bytes<'_>, pen: &mut Pen<'_>) -> Result<(u32, Manner), Unusable> {
    let little_endian = match bytes.byte().ok_or(CUT)? {
        0 => false,
        1 => true,
        _ => return Err("has no byte order".into()),
    };
    let written = if little_endian { bytes.u32() } else { bytes.u32_big_endian() }.ok_or(CUT)?;
    if written & 0x2000_0000 != 0 {
        bytes.take(4).ok_or(CUT)?;
    }
    let kind = written & 0x0fff_ffff;
    let (heights, measures) = match kind / 1000 {
        0 => (written & 0x8000_0000 != 0, written & 0x4000_0000 != 0),
        1 => (true, false),
        2 => (false, true),
        3 => (true, true),
        _ => return Err(format!("is of the unknown kind {kind}").into()),
    };
    if heights {
        pen.without_heights();
    }
    if measures {
        pen.without_measures();
    }
    Ok((kind % 1000, Manner { little_endian, heights, measures }))
}

fn draw(bytes: &mut Bytes<'_>, pen: &mut Pen<'_>, depth: u8) -> Result<(), Unusable> {
    if depth > DEEPEST {
        return Err("has shapes nested too deep".into());
    }
    let (kind, manner) = head(bytes, pen)?;
    match kind {
        1 => point(manner, bytes, pen),
        2 | 8 | 9 | 13 => pen.member(ShapeKind::Line, |pen| {
            curve_of(kind, manner, bytes, pen, depth)?;
            pen.end_run();
            Ok(())
        }),
        3 | 17 => pen.member(ShapeKind::Polygon, |pen| {
            for _ in 0..manner.count(bytes, 4)? {
                manner.run(bytes, pen)?;
                pen.end_ring();
            }
            pen.end_part();
            Ok(())
        }),
        10 => pen.member(ShapeKind::Polygon, |pen| {
            for _ in 0..manner.count(bytes, 9)? {
                curve(bytes, pen, depth + 1)?;
                pen.end_ring();
            }
            pen.end_part();
            Ok(())
        }),
        4..=7 | 11 | 12 | 15 | 16 => {
            for _ in 0..manner.count(bytes, 5)? {
                draw(bytes, pen, depth + 1)?;
            }
            Ok(())
        }
        other => Err(format!("is of the unknown kind {other}").into()),
    }
}

fn point(manner: Manner, bytes: &mut Bytes<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    let [x, y] = manner.place(bytes)?;
    // A point without a place is written as two numbers that are none.
    if x.is_nan() && y.is_nan() {
        return Ok(());
    }
    pen.member(ShapeKind::Point, |pen| {
        pen.place(x, y)?;
        pen.end_run();
        Ok(())
    })
}

/// Draws one piece of a curve behind what was drawn before.
fn curve(bytes: &mut Bytes<'_>, pen: &mut Pen<'_>, depth: u8) -> Result<(), Unusable> {
    if depth > DEEPEST {
        return Err("has shapes nested too deep".into());
    }
    let (kind, manner) = head(bytes, pen)?;
    curve_of(kind, manner, bytes, pen, depth)
}

fn curve_of(kind: u32, manner: Manner, bytes: &mut Bytes<'_>, pen: &mut Pen<'_>, depth: u8) -> Result<(), Unusable> {
    match kind {
        2 => manner.run(bytes, pen),
        8 => {
            pen.with_arcs();
            let count = manner.count(bytes, manner.size())?;
            let places: Vec<[f64; 2]> = (0..count).map(|_| manner.place(bytes)).collect::<Result<_, _>>()?;
            curves::through(&places).into_iter().try_for_each(|p| pen.place(p[0], p[1]))
        }
        9 => {
            for _ in 0..manner.count(bytes, 9)? {
                curve(bytes, pen, depth + 1)?;
            }
            Ok(())
        }
        other => Err(format!("has a curve of the unknown kind {other}").into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::sketch::Batch;
    use crate::place::RawShapes;

    /// The shapes that geo's `wkb` crate wrote, as this reader draws them.
    fn drawn(blob: &[u8]) -> (ShapeKind, RawShapes, Option<String>) {
        let mut batch = Batch::default();
        batch.row(|pen| draw_wrapped(blob, pen));
        (batch.kinds[0], batch.shapes, batch.unusable.into_values().next())
    }

    fn written(shape: &geo_types::Geometry) -> Vec<u8> {
        let mut out = Vec::new();
        let endianness = wkb::Endianness::BigEndian;
        wkb::writer::write_geometry(&mut out, shape, &wkb::writer::WriteOptions { endianness }).unwrap();
        out
    }

    #[test]
    fn reads_what_another_writer_wrote() {
        // Reference writer: crate wkb 0.9.
        let ring = |places: &[(f64, f64)]| geo_types::LineString::from(places.to_vec());
        let hole = ring(&[(5.0, 1.0), (6.0, 1.0), (6.0, 2.0)]);
        let holed = geo_types::Polygon::new(ring(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)]), vec![hole]);
        let two = geo_types::MultiPolygon(vec![holed.clone(), holed]);
        let (kind, shapes, _) = drawn(&written(&two.into()));
        assert_eq!((kind, shapes.ring_ends, shapes.part_ends), (ShapeKind::Polygon, vec![3, 6, 9, 12], vec![2, 4]));
        let (kind, shapes, _) = drawn(&written(&geo_types::LineString::from(vec![(1.0, 2.0), (3.0, 4.0)]).into()));
        assert_eq!((kind, shapes.xy), (ShapeKind::Line, vec![[1.0, 2.0], [3.0, 4.0]]));
        let (kind, shapes, _) = drawn(&written(&geo_types::MultiPoint::from(vec![(1.0, 2.0), (3.0, 4.0)]).into()));
        assert_eq!((kind, shapes.part_ends), (ShapeKind::Point, vec![1, 2]));
    }

    #[test]
    fn a_ring_of_arcs_is_a_circle() {
        let mut blob = vec![1, 10, 0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 3, 0, 0, 0];
        [[1.0f64, 0.0], [-1.0, 0.0], [1.0, 0.0]].iter().flatten().for_each(|v| blob.extend(v.to_le_bytes()));
        let (kind, shapes, _) = drawn(&blob);
        let area: f64 = super::super::rings::signed_area(&[shapes.xy.as_slice(), &shapes.xy[..1]].concat()) / 2.0;
        assert_eq!(kind, ShapeKind::Polygon);
        assert!(shapes.xy.len() >= 64 && (area.abs() - std::f64::consts::PI).abs() < 0.005, "{area}");
    }

    #[test]
    fn garbage_is_unusable_with_a_reason() {
        assert_eq!(drawn(b"hello").2.as_deref(), Some("is no geometry but other data"));
        assert_eq!(
            drawn(&[1, 3, 0, 0, 0, 255, 255, 255, 255]).2.as_deref(),
            Some("says it has 4294967295 pieces, more than its record holds")
        );
        let deep: Vec<u8> = [1, 7, 0, 0, 0, 1, 0, 0, 0].repeat(100_000);
        assert_eq!(drawn(&deep).2.as_deref(), Some("has shapes nested too deep"));
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        let line = geo_types::LineString::from(vec![(1.0, 2.0), (3.0, 4.0)]);
        let mixed = geo_types::GeometryCollection(vec![line.into(), geo_types::Point::new(1.0, 2.0).into()]);
        let whole = written(&geo_types::Geometry::GeometryCollection(mixed));
        for cut in 0..whole.len() {
            assert!(drawn(&whole[..cut]).2.is_some(), "{cut}");
        }
        for bit in 0..whole.len() * 8 {
            let mut blob = whole.clone();
            blob[bit / 8] ^= 1 << (bit % 8);
            let (_, shapes, _) = drawn(&blob);
            assert!(shapes.len() == 1 && shapes.xy.iter().flatten().all(|v| v.is_finite()));
        }
    }
}
