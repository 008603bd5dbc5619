//! Distances, fences and rings of real lots against GEOS (through shapely; script and versions in `core/oracles`).
//!
//! The lots are open data of the City of Cambridge, Massachusetts (parcels of the fiscal year 2014). They lie beside the
//! workspace; where they are absent the tests say so and look at nothing.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not as it should be")]

use std::path::Path;
use std::sync::Arc;
use yardring_core::job::Unwatched;
use yardring_core::place::{Frame, Local, LonLat, Shapes, distance, inside, shared_line, shares_fence, within};
use yardring_core::reach::{Wanted, ground, sources};
use yardring_core::survey::{Standing, Survey};
use yardring_core::units::Metres;

const FOOT: f64 = 1200.0 / 3937.0;

fn lots() -> Option<Shapes> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/parcels/cambridge_ma_fy2014_epsg2249_ft.shp");
    if !path.exists() {
        println!("skipped: the Cambridge lots are not beside the workspace");
        return None;
    }
    let mut shapes = Shapes::default();
    for shape in shapefile::ShapeReader::from_path(path).unwrap().iter_shapes() {
        if let shapefile::Shape::Polygon(polygon) = shape.unwrap() {
            let mut open = false;
            for ring in polygon.rings() {
                if matches!(ring, shapefile::PolygonRing::Outer(_)) && std::mem::replace(&mut open, true) {
                    shapes.end_part();
                }
                let places: Vec<Local> = ring.points().iter().map(|p| Local { x: p.x * FOOT, y: p.y * FOOT }).collect();
                shapes.push_ring(&places[..places.len() - 1]);
            }
            shapes.end_part();
        }
        shapes.end_shape();
    }
    Some(shapes)
}

fn rows(table: &str) -> impl Iterator<Item = Vec<&str>> {
    table.lines().filter(|l| !l.starts_with('#')).skip(1).map(|l| l.split('\t').collect())
}

#[test]
fn distances_and_fences_agree_with_geos() {
    let Some(lots) = lots() else { return };
    let mut fences = 0;
    for row in rows(include_str!("../oracles/outlines.tsv")) {
        let (a, b) = (lots.get(row[0].parse().unwrap()), lots.get(row[1].parse().unwrap()));
        let metres: f64 = row[2].parse().unwrap();
        let found = distance(a, b);
        assert!((found - metres).abs() < 1e-6, "lots {} and {}: {found} for {metres}", row[0], row[1]);
        assert_eq!(found, distance(b, a));
        assert!(within(a, b, metres + 1e-6) && (metres < 1e-6 || !within(a, b, metres - 1e-6)));
        match row[3] {
            "yes" => assert!(shares_fence(a, b) && shares_fence(b, a), "lots {} and {}: {}", row[0], row[1], shared_line(a, b)),
            "no" => assert!(!shares_fence(a, b) && !shares_fence(b, a), "lots {} and {}: {}", row[0], row[1], shared_line(a, b)),
            _ => continue,
        }
        fences += usize::from(row[3] == "yes");
    }
    assert!(fences > 150);
}

#[test]
fn every_lot_holds_the_place_that_stands_for_it() {
    let Some(lots) = lots() else { return };
    let with_area = lots.iter().filter(|l| l.area() > 0.01);
    let outside = with_area.filter(|l| !l.holds(inside(*l).unwrap())).count();
    assert_eq!(outside, 0);
}

fn survey_of(lots: Shapes) -> Survey {
    let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -71.1, lat: 42.37 }));
    survey.premises.parcel_id = Arc::new((0..lots.len()).map(|i| format!("{i:06}")).collect());
    survey.premises.block = Arc::new(vec![None; lots.len()]);
    // The file's own coordinates lie 230 km from the frame's middle, where it would stretch areas: bring them near.
    let mut lots = lots;
    let o = lots.extent().centre();
    lots.move_places(|places| places.iter_mut().for_each(|p| *p = Local { x: p.x - o.x, y: p.y - o.y }));
    survey.premises.outline = Arc::new(lots);
    survey
}

fn left_out(table: &str) -> Vec<usize> {
    let line = table.lines().find(|l| l.starts_with("# left out")).unwrap();
    line.rsplit(": ").next().unwrap().split(' ').map(|n| n.parse().unwrap()).collect()
}

/// Inscribed arcs of 96 sides lose at most 0.07 % against GEOS's arcs of 1,024 sides.
#[test]
fn dissolved_rings_agree_with_geos() {
    let Some(lots) = lots() else { return };
    let survey = survey_of(lots);
    let table = include_str!("../oracles/buffers.tsv");
    let left_out = left_out(table);
    let good: Vec<usize> = (0..survey.premises.len()).filter(|i| left_out.binary_search(i).is_err()).collect();
    for row in rows(table) {
        let number: usize = row[0].rsplit(' ').next().unwrap().parse().unwrap();
        let chosen = if row[0].starts_with("one") { vec![number] } else { good.iter().step_by(number).copied().collect() };
        let mut standings = vec![Standing::default(); survey.premises.len()];
        chosen.iter().for_each(|&i| standings[i].source = true);
        let wanted = Wanted { radius: Metres(row[1].parse().unwrap()), ..Wanted::default() };
        let sources = sources(&survey, &standings, &wanted);
        assert_eq!(sources.len(), chosen.len());
        let ground = ground(&survey, &sources, wanted.radius, &Unwatched).unwrap();
        let (area, parts): (f64, usize) = (row[2].parse().unwrap(), row[3].parse().unwrap());
        let off = ground.area.0 / area - 1.0;
        println!("{} at {} m: {:+.4} %, {} parts for {parts}", row[0], row[1], off * 100.0, ground.parts);
        assert!((-0.0007..=0.000_01).contains(&off), "{}: {off}", row[0]);
        assert_eq!(ground.parts, parts, "{}", row[0]);
    }
}
