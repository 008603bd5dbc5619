//! What is written and read again is what was written, in every format that has a reader.

use super::*;
use crate::files::{ShapeKind, Table, read};
use crate::job::Unwatched;
use crate::place::{Crs, Frame, Local, LonLat, Shapes, signed_area};
use jiff::civil::{Date, date};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use roxmltree::{Document, Node};
use std::sync::Arc;

fn frame() -> Frame {
    Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 })
}

/// A ring of some corners round a middle, at some distance, either way round.
fn ring(middle: Local, radius: f64, corners: usize, clockwise: bool) -> Vec<Local> {
    let corner = |k: usize| {
        let (sin, cos) = (k as f64 / corners as f64 * std::f64::consts::TAU).sin_cos();
        Local { x: middle.x + radius * cos, y: middle.y + radius * sin }
    };
    let mut out: Vec<Local> = (0..corners).map(corner).collect();
    if clockwise {
        out.reverse();
    }
    out
}

/// Shapes of up to three parts that lie apart: outlines with up to two holes, runs, or single places.
fn shapes(drawn: Drawn, count: usize) -> impl Strategy<Value = Shapes> {
    let part = (3usize..7, vec(3usize..6, 0..3), any::<[bool; 3]>(), -1e4..1e4f64);
    vec(vec(part, 0..4), count).prop_map(move |rows| {
        let mut out = Shapes::default();
        for row in rows {
            for (i, (corners, holes, ways, y)) in row.iter().enumerate() {
                if drawn == Drawn::Points && i > 0 {
                    continue;
                }
                let middle = Local { x: 100.0 * i as f64, y: *y };
                match drawn {
                    Drawn::Points => out.push_ring(&[middle]),
                    _ => out.push_ring(&ring(middle, 40.0, *corners, ways[0])),
                }
                for (k, corners) in holes.iter().enumerate().filter(|_| drawn == Drawn::Outlines) {
                    out.push_ring(&ring(Local { x: middle.x - 8.0 + 12.0 * k as f64, ..middle }, 4.0, *corners, ways[k + 1]));
                }
                out.end_part();
            }
            out.end_shape();
        }
        out
    })
}

/// Any text that readers keep: they take U+FFFD at a text's end for half a letter, and blanks round it for nothing.
fn word() -> impl Strategy<Value = String> {
    prop_oneof!["[ -~]{0,12}", "\\PC{0,6}", Just("O'Brien & <7>; \"8\",ß漢".to_owned())]
        .prop_map(|t| t.replace('\u{fffd}', "").trim().to_owned())
}

fn day() -> impl Strategy<Value = Date> {
    (1990i16..2040, 1i8..=12, 1i8..=28).prop_map(|(y, m, d)| date(y, m, d))
}

fn rows() -> impl Strategy<Value = Features> {
    let kinds = prop_oneof![Just(Drawn::Outlines), Just(Drawn::Lines), Just(Drawn::Points)];
    (kinds, 1usize..6).prop_flat_map(|(drawn, count)| {
        let cells = (vec(word(), count), vec(option::of(any::<i32>()), count));
        let more = (vec(option::of(-1e6..1e6f64), count), vec(option::of(day()), count));
        (cells, more, shapes(drawn, count)).prop_map(move |((texts, wholes), (numbers, days), shapes)| {
            let columns = vec![
                Column::whole("row", (0..count as i64).map(Some)),
                Column::text("address", texts),
                Column::whole("attempts", wholes.into_iter().map(|n| n.map(i64::from))),
                Column::number("share", 3, numbers),
                Column::day("seen", days),
            ];
            Features::new("yards", "Yards", columns).drawn(frame(), drawn, Arc::new(shapes))
        })
    })
}

/// Writes, reads, and gives the table with the rows in the order of the column `row`.
fn there_and_back(features: &Features, name: &str) -> (Table, Vec<usize>) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    write_features(features, &path, &Unwatched).unwrap();
    let table = read(&path, None, &Unwatched).unwrap();
    let row = table.column("row").unwrap();
    let mut order: Vec<usize> = (0..table.rows).collect();
    order.sort_by_key(|&r| table.cell(r, row).parse::<usize>().unwrap());
    (table, order)
}

fn same_cells(features: &Features, table: &Table, order: &[usize]) {
    assert_eq!(order.len(), features.rows());
    for column in &features.columns {
        let at = table.column(column.name).unwrap();
        for (row, &there) in order.iter().enumerate() {
            let (ours, theirs) = (column.cell(row), table.cell(there, at));
            match &column.values {
                Values::Number(v, _) if !theirs.is_empty() => {
                    let off = v[row].unwrap() - theirs.parse::<f64>().unwrap();
                    assert!(off.abs() <= 0.000_501, "{} of row {row}: {ours} is read as {theirs}", column.name);
                }
                _ => assert_eq!(theirs.trim(), ours.trim(), "{} of row {row}", column.name),
            }
        }
    }
}

/// Rings of one row, each turned counter-clockwise and begun at its most easterly place, of which a made-up ring has only one.
fn told<'a>(rings: impl Iterator<Item = &'a [Local]>, closed: bool) -> Vec<Vec<Local>> {
    let turned = |ring: &[Local]| {
        let mut ring = ring.to_vec();
        if closed && signed_area(&ring) < 0.0 {
            ring.reverse();
        }
        let first = (0..ring.len()).max_by(|&a, &b| ring[a].x.total_cmp(&ring[b].x));
        if closed {
            ring.rotate_left(first.unwrap_or(0));
        }
        ring
    };
    rings.map(turned).collect()
}

fn same_shapes(features: &Features, table: &Table, order: &[usize], near: f64) {
    let (frame, drawn, shapes) = features.shapes.as_ref().unwrap();
    for (row, &there) in order.iter().enumerate() {
        let local = |p: &[f64; 2]| match &table.crs {
            Some(Crs::Wgs84) => frame.local_from_lon_lat(LonLat { lon: p[0], lat: p[1] }),
            _ => Local { x: p[0], y: p[1] },
        };
        let read: Vec<Vec<Vec<Local>>> =
            table.shapes.parts(there).map(|part| part.map(|ring| ring.iter().map(local).collect()).collect()).collect();
        let ours: Vec<Vec<Vec<Local>>> = shapes.get(row).parts().map(|part| told(part.rings(), *drawn == Drawn::Outlines)).collect();
        let theirs: Vec<Vec<Vec<Local>>> =
            read.iter().map(|part| told(part.iter().map(Vec::as_slice), *drawn == Drawn::Outlines)).collect();
        assert_eq!(table.kinds[there] == ShapeKind::Nothing, ours.is_empty());
        let counts = |parts: &[Vec<Vec<Local>>]| parts.iter().map(|p| p.iter().map(Vec::len).collect()).collect::<Vec<Vec<usize>>>();
        assert_eq!(counts(&theirs), counts(&ours), "row {row}");
        for (a, b) in ours.iter().flatten().flatten().zip(theirs.iter().flatten().flatten()) {
            assert!(a.distance(*b) <= near, "{a:?} is read as {b:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn every_format_with_a_reader_gives_back_what_was_written(features in rows()) {
        for (name, near) in [("a.shp", 0.0), ("a.gpkg", 0.0), ("a.geojson", 0.002), ("a.fgb", 1e-6)] {
            let (table, order) = there_and_back(&features, name);
            same_cells(&features, &table, &order);
            same_shapes(&features, &table, &order, near);
        }
        let (table, order) = there_and_back(&features, "a.csv");
        same_cells(&features, &table, &order);
    }

    /// The KML and GPX schemas: names and order of elements, `lat` and `lon` in range, closed rings, outer ones counter-clockwise.
    #[test]
    fn kml_and_gpx_keep_to_their_schemas(features in rows()) {
        let folder = tempfile::tempdir().unwrap();
        let text = |name: &str| {
            write_features(&features, &folder.path().join(name), &Unwatched).unwrap();
            std::fs::read_to_string(folder.path().join(name)).unwrap()
        };
        let (kml, gpx) = (text("a.kml"), text("a.gpx"));
        check_kml(&features, &Document::parse(&kml).unwrap());
        check_gpx(&features, &Document::parse(&gpx).unwrap());
    }
}

fn names<'a>(node: Node<'a, 'a>) -> Vec<&'a str> {
    node.children().filter(Node::is_element).map(|n| n.tag_name().name()).collect()
}

fn below<'a>(node: Node<'a, 'a>, name: &'a str) -> Vec<Node<'a, 'a>> {
    node.descendants().filter(|n| n.has_tag_name(name)).collect()
}

/// OGC 07-147r2, 9.1 (features), 10.2 (geometries).
fn check_kml(features: &Features, kml: &Document<'_>) {
    let placemarks = below(kml.root(), "Placemark");
    assert_eq!(placemarks.len(), features.rows());
    for (row, placemark) in placemarks.into_iter().enumerate() {
        let tags = names(placemark);
        assert_eq!(tags[..2], ["name", "ExtendedData"]);
        assert!(tags.len() <= 3 && tags[2..].iter().all(|t| ["MultiGeometry", "Polygon", "LineString", "Point"].contains(t)), "{tags:?}");
        let cell = below(placemark, "Data").into_iter().find(|d| d.attribute("name") == Some("address"));
        let address = features.columns[1].cell(row);
        assert_eq!(cell.and_then(|d| below(d, "value")[0].text()).unwrap_or_default(), address);
        for polygon in below(placemark, "Polygon") {
            let sides = names(polygon);
            assert!(sides[0] == "outerBoundaryIs" && sides[1..].iter().all(|s| *s == "innerBoundaryIs"));
            for (i, ring) in below(polygon, "coordinates").into_iter().enumerate() {
                let place = |t: &str| t.split(',').map(|n| n.parse::<f64>().unwrap()).collect::<Vec<_>>();
                let places: Vec<Vec<f64>> = ring.text().unwrap().split(' ').map(place).collect();
                assert!(places.len() >= 4 && places.first() == places.last());
                let twice: f64 = places.windows(2).map(|w| (w[0][0] + 90.0) * (w[1][1] - 30.0) - (w[1][0] + 90.0) * (w[0][1] - 30.0)).sum();
                assert_eq!(twice > 0.0, i == 0);
            }
        }
    }
}

/// GPX 1.1 schema (gpx.xsd): gpxType, wptType, trkType, trksegType, latitudeType, longitudeType.
fn check_gpx(features: &Features, gpx: &Document<'_>) {
    let root = gpx.root_element();
    assert_eq!((root.tag_name().namespace(), root.attribute("version")), (Some("http://www.topografix.com/GPX/1/1"), Some("1.1")));
    assert!(root.attribute("creator").is_some());
    let order = ["metadata", "wpt", "trk"];
    let ranks: Vec<usize> = names(root).iter().map(|n| order.iter().position(|o| o == n).unwrap()).collect();
    assert!(ranks.is_sorted() && ranks.iter().filter(|r| **r == 0).count() == 1);
    for point in root.descendants().filter(|n| n.has_tag_name("wpt") || n.has_tag_name("trkpt")) {
        let degrees = |name| point.attribute(name).unwrap().parse::<f64>().unwrap();
        assert!((-90.0..=90.0).contains(&degrees("lat")) && (-180.0..180.0).contains(&degrees("lon")));
        assert!(point.has_tag_name("trkpt") || names(point) == ["name", "desc"]);
    }
    let (_, drawn, shapes) = features.shapes.as_ref().unwrap();
    let there = shapes.iter().filter(|s| !s.is_empty()).count();
    let tracks = below(root, "trk");
    assert_eq!(if *drawn == Drawn::Points { below(root, "wpt").len() } else { tracks.len() }, there);
    for track in tracks {
        let tags = names(track);
        assert!(tags[..2] == ["name", "desc"] && tags[2..].iter().all(|t| *t == "trkseg"), "{tags:?}");
    }
}
