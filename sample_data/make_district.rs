//! Makes Quillmere, the invented district of the sample data: `cargo run --example make_district -p yardring-core [-- FOLDER]`.

mod make;

use make::plan::{Plan, middle};
use make::random::Chance;
use make::rounds::Line;
use make::{county, curves, earth::Earth, readme, rounds, squares, weather};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

const SEED: u64 = 20_250_707;

fn main() -> std::io::Result<()> {
    let here = concat!(env!("CARGO_MANIFEST_DIR"), "/../sample_data");
    let folder = std::env::args().nth(1).map_or_else(|| PathBuf::from(here), PathBuf::from);
    std::fs::create_dir_all(&folder)?;
    for (name, bytes) in files() {
        std::fs::write(folder.join(&name), &bytes)?;
        println!("{name}: {} bytes", bytes.len());
    }
    Ok(())
}

/// All files of the district, by name.
fn files() -> BTreeMap<String, Vec<u8>> {
    let (mut plan, earth) = (Plan::default(), Earth::new());
    squares::draw(&mut plan, &mut Chance::new(SEED));
    curves::draw(&mut plan, &mut Chance::new(SEED + 1));
    let parcels = county::parcels(&plan, &mut Chance::new(SEED + 2));
    let lines = rounds::visits(&plan, &parcels, &earth, &mut Chance::new(SEED + 3));
    let signals = weather::signals(&earth);
    let temperatures = weather::temperatures(&mut Chance::new(SEED + 4));
    let counts = readme::Counts {
        parcels: plan.lots.len(),
        streets: plan.segments.len(),
        blocks: plan.blocks.len(),
        signals: signals.lines().count() - 1,
        days: temperatures.lines().count() - 1,
    };
    let mut out = BTreeMap::new();
    for (ending, bytes) in county::parcel_files(&plan, &parcels, &earth) {
        out.insert(format!("parcels.{ending}"), bytes);
    }
    let readme = readme::text(&counts, &lines, &tried(&plan, &parcels, &earth, &lines));
    let texts = [
        ("streets.geojson", county::streets(&plan, &earth)),
        ("blocks.geojson", county::blocks(&plan, &earth)),
        ("visits.csv", table(&lines)),
        ("signals.csv", signals),
        ("temperatures.csv", temperatures),
        ("README.md", readme),
    ];
    out.extend(texts.map(|(name, text)| (name.to_owned(), text.into_bytes())));
    out
}

fn table(lines: &[Line]) -> String {
    lines.iter().map(|line| line.join(",") + "\n").collect()
}

/// Where each visit went: the row of its parcel, looked up as the office would: by id, by point, by address.
fn joined(plan: &Plan, parcels: &county::Parcels, earth: &Earth, lines: &[Line]) -> BTreeMap<String, usize> {
    let mut known: BTreeMap<String, usize> = BTreeMap::new();
    for i in (0..plan.lots.len()).rev() {
        known.insert(earth.degrees(middle(&plan.lots[i].ring)).join(","), i);
        known.insert(parcels.address[i].clone(), i);
        known.insert(parcels.id[i].clone(), i);
    }
    let row = |l: &Line| {
        let point = format!("{},{}", l[3], l[4]);
        [l[2].as_str(), point.as_str(), l[5].as_str()].into_iter().find_map(|key| known.get(key)).copied()
    };
    lines[1..].iter().filter_map(|l| Some((l[0].clone(), row(l)?))).collect()
}

/// The share of premises tried in Round 3, and the house index inside and outside the hot areas in each round, in words.
fn tried(plan: &Plan, parcels: &county::Parcels, earth: &Earth, lines: &[Line]) -> String {
    let rows = joined(plan, parcels, earth, lines);
    let mut inspected: [[BTreeSet<usize>; 2]; 3] = Default::default();
    let mut positive = inspected.clone();
    let mut third = BTreeSet::new();
    for l in &lines[1..] {
        let Some(&i) = rows.get(&l[0]) else { continue };
        let round = usize::from(l[7].as_bytes()[6] - b'1');
        let place = usize::from(!rounds::is_hot(middle(&plan.lots[i].ring)));
        if round == 2 {
            third.insert(i);
        }
        if l[6] == "inspected" {
            inspected[round][place].insert(i);
            if [&l[12], &l[13]].iter().any(|n| !n.is_empty() && *n != "0") {
                positive[round][place].insert(i);
            }
        }
    }
    let index = |round: usize, place: usize| format!("{} of {}", positive[round][place].len(), inspected[round][place].len());
    let rows: Vec<String> = (0..3).map(|r| format!("| Round {} | {} | {} |", r + 1, index(r, 0), index(r, 1))).collect();
    format!(
        "{} of {} premises have been tried in it so far.\n\nPositive among inspected yards, in the four areas where more breeds and \
         elsewhere:\n\n| round | there | elsewhere |\n|---|---|---|\n{}",
        third.len(),
        plan.lots.len(),
        rows.join("\n")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_committed_files_are_what_the_program_makes() {
        let folder = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../sample_data"));
        let mut size = 0;
        for (name, bytes) in files() {
            assert!(std::fs::read(folder.join(&name)).unwrap() == bytes, "{name} differs: run the make_district example");
            size += bytes.len();
        }
        assert!(size < 2_500_000, "{size}");
    }

    fn rows() -> Vec<(shapefile::Shape, shapefile::dbase::Record)> {
        let path = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../sample_data/parcels.shp"));
        shapefile::read(path).unwrap()
    }

    /// The intake finds what the README tells, by its own count.
    #[test]
    fn the_readme_tells_what_an_intake_finds() {
        let folder = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../sample_data"));
        let file = |name: &str| Some(folder.join(name));
        let request = yardring_core::intake::Request {
            parcels: file("parcels.shp"),
            streets: file("streets.geojson"),
            blocks: file("blocks.geojson"),
            visits: file("visits.csv"),
            signals: file("signals.csv"),
            temperatures: file("temperatures.csv"),
            ..Default::default()
        };
        let (_, report) = yardring_core::intake::bring_in(None, &request, &yardring_core::job::Unwatched).unwrap();
        let r = serde_json::to_value(&report).unwrap();
        let n = |key: &str| r[key].as_u64().unwrap();
        assert_eq!((n("mended"), n("without_outline"), n("duplicates"), n("refused"), n("unjoined")), (2, 1, 3, 0, 6));
        let readme = std::fs::read_to_string(folder.join("README.md")).unwrap();
        let told = [
            format!("year built | {} |", n("premises")),
            format!("a name | {} |", n("streets")),
            format!("block outlines | {} |", n("blocks")),
            format!("{} visits in three weekly rounds", n("visits")),
            format!("five complaints | {} |", n("signals")),
            format!("to August 2025 | {} |", n("temperatures")),
        ];
        for text in told {
            assert!(readme.contains(&text), "{text}");
        }
    }

    /// The parcels, read back by the `shapefile` crate 0.9, have the flaws that the README tells and no others.
    #[test]
    fn parcels_read_back_with_their_flaws() {
        let rows = rows();
        let text = |r: &shapefile::dbase::Record, name: &str| match r.get(name) {
            Some(shapefile::dbase::FieldValue::Character(cell)) => cell.clone().unwrap_or_default(),
            other => panic!("{name}: {other:?}"),
        };
        let ids: BTreeSet<String> = rows.iter().map(|(_, r)| text(r, "PARCEL_ID")).collect();
        let outlines: Vec<Vec<[u64; 2]>> = rows.iter().filter_map(|(s, _)| ring(s)).map(bits).collect();
        let stacked = outlines.iter().filter(|o| outlines.iter().filter(|p| p == o).count() == 24).count();
        let crossing = rows.iter().filter_map(|(s, _)| ring(s)).filter(|r| crosses_itself(r)).count();
        let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../sample_data/README.md")).unwrap();
        assert!(readme.contains(&format!("year built | {} |", rows.len())));
        assert_eq!((rows.len() - outlines.len(), rows.len() - ids.len(), stacked, crossing), (1, 3, 24, 2));
        assert_eq!(rows.iter().filter(|(_, r)| text(r, "BLOCK_ID").is_empty()).count(), 14);
        assert!(rows.iter().any(|(_, r)| text(r, "SITUS") == "101 Cigüeña Court"));
    }

    /// The feet of the parcels are where PROJ 9.6 (EPSG:32166 to WGS 84) says, within a centimetre.
    #[test]
    fn parcels_lie_where_proj_says() {
        let proj = proj::Proj::new_known_crs("EPSG:32166", "EPSG:4326", None).unwrap();
        let earth = Earth::new();
        for p in [[0.0, 0.0], [1570.0, -92.5], [560.0, 1045.0], [1176.0, 700.0]] {
            let [x, y] = earth.feet(p);
            let (lon, lat) = proj.convert((x, y)).unwrap();
            let ours = earth.lon_lat(p);
            assert!((lon - ours.lon).abs() < 1e-7 && (lat - ours.lat).abs() < 1e-7, "{lon} {lat} {ours:?}");
        }
    }

    fn ring(shape: &shapefile::Shape) -> Option<Vec<[f64; 2]>> {
        match shape {
            shapefile::Shape::Polygon(p) => Some(p.rings()[0].points().iter().map(|p| [p.x, p.y]).collect()),
            _ => None,
        }
    }

    fn bits(ring: Vec<[f64; 2]>) -> Vec<[u64; 2]> {
        ring.into_iter().map(|p| p.map(f64::to_bits)).collect()
    }

    /// Whether two edges of a ring cross in their middles.
    fn crosses_itself(ring: &[[f64; 2]]) -> bool {
        let turn = |o: [f64; 2], a: [f64; 2], b: [f64; 2]| (a[0] - o[0]) * (b[1] - o[1]) - (b[0] - o[0]) * (a[1] - o[1]);
        let apart = |a: f64, b: f64| a.abs() > 1.0 && b.abs() > 1.0 && (a > 0.0) != (b > 0.0);
        let edges: Vec<&[[f64; 2]]> = ring.windows(2).collect();
        edges.iter().any(|e| {
            edges
                .iter()
                .any(|f| apart(turn(e[0], e[1], f[0]), turn(e[0], e[1], f[1])) && apart(turn(f[0], f[1], e[0]), turn(f[0], f[1], e[1])))
        })
    }
}
