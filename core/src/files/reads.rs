//! Whole files of open data against what another reader made of them.

use super::rings::signed_area;
use super::{ShapeKind, Table, look, read};
use crate::job::{Cancelled, Unwatched, Watch};
use crate::place::RawShapes;
use std::path::PathBuf;

/// The folder of shared test data beside the workspace; `None`, told in a line, where it is absent.
fn shared_data() -> Option<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
    let there = folder.is_dir();
    if !there {
        println!("skipped: no shared data beside the workspace");
    }
    there.then_some(folder)
}

/// Area of the outlines and length of the lines of a table, in the units of its coordinates.
fn sizes(table: &Table) -> (f64, f64) {
    let RawShapes { xy, ring_ends, part_ends, shape_ends } = &table.shapes;
    let before = |ends: &[u32], i: usize| if i == 0 { 0 } else { ends[i - 1] as usize };
    let (mut area, mut length) = (0.0, 0.0);
    for (row, kind) in table.kinds.iter().enumerate() {
        for part in before(shape_ends, row)..shape_ends[row] as usize {
            for ring in before(part_ends, part)..part_ends[part] as usize {
                let places = &xy[before(ring_ends, ring)..ring_ends[ring] as usize];
                let closed = [places, &places[..1]].concat();
                let twice = signed_area(&closed).abs();
                match kind {
                    ShapeKind::Polygon if ring == before(part_ends, part) => area += twice / 2.0,
                    ShapeKind::Polygon => area -= twice / 2.0,
                    _ => length += places.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum::<f64>(),
                }
            }
        }
    }
    (area, length)
}

fn close(ours: f64, theirs: &str) -> bool {
    let theirs: f64 = theirs.parse().unwrap();
    (ours - theirs).abs() <= 1e-9 * theirs.abs().max(1e-9)
}

/// Reference: pyogrio (GDAL) and shapely (GEOS), versions in the first line of `reference/facts.tsv`, made by
/// `reference/facts.py`.
#[test]
fn open_data_is_read_as_gdal_and_geos_read_it() {
    let Some(data) = shared_data() else { return };
    for line in include_str!("reference/facts.tsv").lines().filter(|l| !l.starts_with('#')) {
        let fact: Vec<&str> = line.split('\t').collect();
        let t = read(&data.join(fact[0]), Some(fact[1]).filter(|l| !l.is_empty()), &Unwatched).unwrap();
        let without = t.kinds.iter().filter(|k| matches!(k, ShapeKind::Nothing)).count();
        let counts = [t.rows, without, t.shapes.part_ends.len(), t.shapes.xy.len()].map(|n| n.to_string());
        assert_eq!(counts, fact[2..6], "rows, rows without a shape, parts, places of {line}");
        let (area, length) = sizes(&t);
        let sum = |k: usize| t.shapes.xy.iter().map(|p| p[k]).sum::<f64>();
        for (what, ours, theirs) in [("area", area, fact[6]), ("length", length, fact[7]), ("x", sum(0), fact[8]), ("y", sum(1), fact[9])] {
            assert!(close(ours, theirs), "{what}: {ours} is not {theirs} in {line}");
        }
        if let Some(column) = t.column(fact[10]) {
            let letters: usize = (0..t.rows).map(|r| t.cell(r, column).chars().count()).sum();
            assert_eq!(letters.to_string(), fact[11], "letters in column {} of {line}", fact[10]);
        }
    }
}

/// Reference: the letters are those of Python's codecs, `bytes.decode(name)`.
#[test]
fn letters_of_other_scripts_are_read() {
    let Some(data) = shared_data() else { return };
    for (file, column, expected) in [
        ("cpg_big5.shp", 0, "國語"),
        ("cpg_koi8r.dbf", 0, "русский"),
        ("cpg_shiftjis.dbf", 0, "カタカナひらがな"),
        ("cpg_win1251.dbf", 0, "РУССКИЙ"),
        ("ldid_chinese.shp", 0, "简体"),
        ("file_cp936.shp", 0, "测试中文"),
        ("nocpg_latin1.dbf", 0, "Peçeña México"),
        ("latin1-property.shp", 0, "México"),
    ] {
        let t = read(&data.join("bad/encoding").join(file), None, &Unwatched).unwrap();
        assert_eq!(t.cell(0, column), expected, "{file}");
    }
}

struct Stopped;

impl Watch for Stopped {
    fn progress(&self, _stage: &str, _done: u64, _total: u64) {}

    fn cancelled(&self) -> bool {
        true
    }
}

#[test]
fn reading_stops_when_asked_and_says_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.csv");
    std::fs::write(&path, "a,b\n1,2\n").unwrap();
    assert_eq!(read(&path, None, &Stopped).unwrap_err().to_string(), Cancelled.to_string());
    assert_eq!(look(&path, &Unwatched).unwrap().layers[0].columns[1].samples, ["2"]);
}
