//! All writers on the same rows.

use super::*;
use crate::job::Unwatched;
use crate::place::{Frame, Local, LonLat, Shapes};
use jiff::civil::date;
use rusqlite::Connection;
use serde_json::{Value, json};
use std::sync::Arc;

fn frame() -> Frame {
    Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 })
}

/// A square whose outer ring runs clockwise, with a hole that runs counter-clockwise; two squares; and no shape.
fn yards() -> Features {
    let square = |x: f64, side: f64| [(x, 0.0), (x, side), (x + side, side), (x + side, 0.0)].map(|(x, y)| Local { x, y });
    let mut shapes = Shapes::default();
    shapes.push_ring(&square(0.0, 30.0));
    let mut hole = square(20.0, 5.0);
    hole.reverse();
    shapes.push_ring(&hole);
    shapes.end_part();
    shapes.end_shape();
    for x in [100.0, 200.0] {
        shapes.push_ring(&square(x, 10.0));
        shapes.end_part();
    }
    shapes.end_shape();
    shapes.end_shape();
    let columns = vec![
        Column::text("parcel_id", ["007", "a \"b\", c", ""]),
        Column::whole("attempts", [Some(2), None, Some(0)]),
        Column::number("share", 2, [Some(0.124), None, Some(1.0)]),
        Column::day("seen", [Some(date(2026, 7, 14)), None, None]),
    ];
    Features::new("yards", "Yards", columns).drawn(frame(), Drawn::Outlines, Arc::new(shapes))
}

fn written(name: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    write_features(&yards(), &path, &Unwatched).unwrap();
    (folder, path)
}

/// Quoting and the empty cell: RFC 4180, section 2, rules 5 to 7.
#[test]
fn csv_has_a_place_inside_and_nothing_where_there_is_no_answer() {
    let (_folder, path) = written("yards.csv");
    let text = std::fs::read_to_string(path).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "parcel_id,attempts,share,seen,lon,lat");
    assert!(lines[1].starts_with("007,2,0.12,2026-07-14,-90.0") && lines[2].starts_with("\"a \"\"b\"\", c\",,,,-90.06"), "{text}");
    assert_eq!(lines[3], ",0,1.00,,,");
    let place: Vec<f64> = lines[1].split(',').skip(4).map(|v| v.parse().unwrap()).collect();
    let here = frame().local_from_lon_lat(LonLat { lon: place[0], lat: place[1] });
    let yards = yards();
    assert!(yards.shapes.as_ref().unwrap().2.get(0).holds(here), "{here:?}");
}

/// RFC 7946, 3.1.6: rings closed, outer ones counter-clockwise, holes clockwise; 3.2: a feature without a place has null.
#[test]
fn geojson_rings_are_closed_and_run_the_right_way() {
    let (_folder, path) = written("yards.geojson");
    let all: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let of = |i: usize, part: &str| all["features"][i][part].clone();
    assert_eq!(of(0, "properties"), json!({"parcel_id": "007", "attempts": 2, "share": 0.12, "seen": "2026-07-14"}));
    assert_eq!(of(1, "properties"), json!({"parcel_id": "a \"b\", c", "attempts": null, "share": null, "seen": null}));
    assert_eq!((of(0, "geometry")["type"].as_str(), of(1, "geometry")["type"].as_str()), (Some("Polygon"), Some("MultiPolygon")));
    assert_eq!(of(2, "geometry"), Value::Null);
    let rings: Vec<Vec<[f64; 2]>> = serde_json::from_value(of(0, "geometry")["coordinates"].clone()).unwrap();
    let twice = |r: &[[f64; 2]]| r.windows(2).map(|w| w[0][0] * w[1][1] - w[1][0] * w[0][1]).sum::<f64>();
    assert!(rings.iter().all(|r| r.len() == 5 && r[0] == r[4]));
    assert!(twice(&rings[0]) > 0.0 && twice(&rings[1]) < 0.0);
    let corner = frame().local_from_lon_lat(LonLat { lon: rings[0][0][0], lat: rings[0][0][1] });
    assert!(corner.x.hypot(corner.y) < 0.002, "{corner:?}");
}

#[test]
fn geopackages_keep_the_district_frame_and_are_sound() {
    let (_folder, path) = written("yards.gpkg");
    let file = Connection::open(path).unwrap();
    let say = |ask: &str| file.query_row(ask, [], |r| r.get::<_, String>(0)).unwrap();
    assert_eq!((say("PRAGMA integrity_check"), say("SELECT rtreecheck('rtree_yards_geom')")), ("ok".into(), "ok".into()));
    assert_eq!(say("SELECT group_concat(max_x, ' ') FROM gpkg_contents"), "210.0");
    assert_eq!(say("SELECT parcel_id || attempts || share || seen FROM yards WHERE fid = 1"), "00720.1242026-07-14");
    assert_eq!(say("SELECT count(*) || '' FROM yards WHERE geom IS NULL AND parcel_id IS NULL AND attempts = 0"), "1");
    let mut shape = Shapes::default();
    let blob: Vec<u8> = file.query_row("SELECT geom FROM yards WHERE fid = 1", [], |r| r.get(0)).unwrap();
    crate::files::geopackage::read_shape(&blob, &mut shape).unwrap();
    assert_eq!(shape.get(0).area(), 875.0);
}

#[test]
fn an_ending_that_names_no_format_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let error = write_features(&yards(), &folder.path().join("yards.docx"), &Unwatched).unwrap_err();
    assert!(matches!(&error, WriteError::Ending { .. }) && error.hint().contains(".geojson"));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    let error = write_features(&yards(), &folder.path().join("no such folder/yards.csv"), &Unwatched).unwrap_err();
    assert!(matches!(error, WriteError::Refused { .. }), "{error}");
}

/// Esri Shapefile Technical Description, July 1998: pp. 3–5 and 8 (main file), p. 23 (index), p. 25 (table).
#[test]
fn shapefiles_are_laid_out_as_their_description_says() {
    let (folder, path) = written("yards.shp");
    let part = |ending: &str| std::fs::read(path.with_extension(ending)).unwrap();
    let (shp, shx, dbf) = (part("shp"), part("shx"), part("dbf"));
    let big = |bytes: &[u8], at: usize| i32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
    let little = |bytes: &[u8], at: usize| i32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
    let number = |bytes: &[u8], at: usize| f64::from_le_bytes(bytes[at..at + 8].try_into().unwrap());
    for file in [&shp, &shx] {
        assert_eq!((big(file, 0), big(file, 24) as usize * 2, little(file, 28), little(file, 32)), (9994, file.len(), 1000, 5));
        assert_eq!([36, 44, 52, 60].map(|at| number(file, at)), [0.0, 0.0, 210.0, 30.0]);
        assert!(file[68..100].iter().all(|b| *b == 0));
    }
    let mut at = 100;
    for (row, kind) in [5, 5, 0].into_iter().enumerate() {
        let (offset, length) = (big(&shx, 100 + 8 * row), big(&shx, 104 + 8 * row));
        assert_eq!((offset as usize * 2, big(&shp, at), big(&shp, at + 4), little(&shp, at + 8)), (at, row as i32 + 1, length, kind));
        at += 8 + length as usize * 2;
    }
    assert_eq!(at, shp.len());
    // The first record: two rings of five places, the outer one clockwise, the hole the other way.
    assert_eq!((little(&shp, 144), little(&shp, 148), little(&shp, 152), little(&shp, 156)), (2, 10, 0, 5));
    let ring = |from: usize| (0..5).map(|k| (number(&shp, 160 + 16 * (from + k)), number(&shp, 168 + 16 * (from + k)))).collect::<Vec<_>>();
    let twice = |r: &[(f64, f64)]| r.windows(2).map(|w| w[0].0 * w[1].1 - w[1].0 * w[0].1).sum::<f64>();
    assert_eq!((twice(&ring(0)), twice(&ring(5)), ring(0)[0], ring(0)[4]), (-1800.0, 50.0, (0.0, 0.0), (0.0, 0.0)));
    assert_eq!((dbf[0], little(&dbf, 4), dbf.last()), (3, 3, Some(&26)));
    assert_eq!(part("cpg"), b"UTF-8");
    assert!(String::from_utf8(part("prj")).unwrap().starts_with("PROJCS[\"Yardring_district_frame\""));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 5);
}

/// Read by the crate `shapefile`, which knows nothing of our writer.
#[test]
fn another_reader_finds_the_same_shapes_and_cells() {
    let (_folder, path) = written("yards.shp");
    let rows = ::shapefile::read(&path).unwrap();
    let parts = |s: &::shapefile::Shape| match s {
        ::shapefile::Shape::Polygon(p) => p.rings().len(),
        _ => 0,
    };
    assert_eq!(rows.iter().map(|r| parts(&r.0)).collect::<Vec<_>>(), [2, 2, 0]);
    let cell = |row: usize, name: &str| format!("{:?}", rows[row].1.get(name).unwrap());
    assert_eq!(cell(0, "parcel_id"), "Character(Some(\"007\"))");
    assert_eq!((cell(0, "attempts"), cell(1, "attempts")), ("Numeric(Some(2.0))".into(), "Numeric(None)".into()));
    assert!(cell(0, "seen").contains("2026") && cell(1, "seen") == "Date(None)", "{}", cell(0, "seen"));
}

/// FlatGeobuf, read by its reference reader: the index finds the yard at a place and no other.
#[test]
fn the_index_of_a_flatgeobuf_finds_the_yard_at_a_place() {
    use ::flatgeobuf::{FallibleStreamingIterator as _, FeatureProperties as _, FgbReader};
    let mut shapes = Shapes::default();
    for k in 0..100 {
        let (x, y) = (f64::from(k % 10) * 40.0, f64::from(k / 10) * 40.0);
        shapes.push_ring(&[(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)].map(|(dx, dy)| Local { x: x + dx, y: y + dy }));
        shapes.end_part();
        shapes.end_shape();
    }
    let yards = Features::new("yards", "Yards", vec![Column::text("id", (0..100).map(|k| k.to_string()))]);
    let yards = yards.drawn(frame(), Drawn::Outlines, Arc::new(shapes));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.fgb");
    write_features(&yards, &path, &Unwatched).unwrap();
    let at = frame().lon_lat_from_local(Local { x: 135.0, y: 255.0 });
    let file = std::io::BufReader::new(std::fs::File::open(path).unwrap());
    let mut found = FgbReader::open(file).unwrap().select_bbox(at.lon, at.lat, at.lon, at.lat).unwrap();
    let mut ids = Vec::new();
    while let Some(feature) = found.next().unwrap() {
        ids.push(feature.property::<String>("id").unwrap());
    }
    assert_eq!(ids, ["63"]);
}

/// GPX 1.1: a row about a premise is a place to walk to, whatever its outline.
#[test]
fn doors_are_waypoints_inside_their_outline() {
    let (_folder, path) = written("yards.gpx");
    let text = std::fs::read_to_string(path).unwrap();
    assert_eq!((text.matches("<wpt ").count(), text.matches("<trk>").count()), (2, 0), "{text}");
    assert!(text.contains("<name>007</name><desc>parcel_id: 007; attempts: 2; share: 0.12; seen: 2026-07-14</desc>"), "{text}");
}

#[test]
fn rows_without_a_place_are_not_written_where_only_places_go() {
    let folder = tempfile::tempdir().unwrap();
    let rows = Features::new("indices", "Indices", vec![Column::whole("n", [Some(1)])]);
    for name in ["a.shp", "a.kml", "a.gpx", "a.fgb"] {
        let error = write_features(&rows, &folder.path().join(name), &Unwatched).unwrap_err();
        assert!(matches!(error, WriteError::Shapeless { .. }) && error.hint().contains(".csv"));
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}
