//! What the county hands over: parcels with a few real-life flaws, street centrelines, and blocks.

use super::earth::{Earth, PRJ};
use super::plan::{Lot, Plan, Side, Spot, Use};
use super::random::Chance;
use super::shapefile_bytes::ShapefileBytes;

/// Parcels as the county's table holds them, in the order of [`Plan::lots`].
pub struct Parcels {
    pub id: Vec<String>,
    pub address: Vec<String>,
    /// Empty where the county left it out.
    pub block: Vec<String>,
    pub flaw: Vec<Flaw>,
}

/// What is wrong with a parcel row.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Flaw {
    None,
    /// Two corners are swapped, so that the outline crosses itself.
    BowTie,
    /// No outline at all.
    NoOutline,
    /// The id of the row before, once more.
    RepeatedId,
}

/// Numbers the parcels, writes their addresses and puts the flaws in.
pub fn parcels(plan: &Plan, chance: &mut Chance) -> Parcels {
    let mut out = Parcels { id: vec![], address: vec![], block: vec![], flaw: vec![Flaw::None; plan.lots.len()] };
    for (i, lot) in plan.lots.iter().enumerate() {
        let name = plan.segments[lot.segment].name;
        out.id.push(format!("QM-{:05}", 10_000 + 7 * i));
        out.address.push(match lot.unit {
            Some(unit) => format!("{} {name} Unit {unit}", lot.number),
            None => format!("{} {name}", lot.number),
        });
        out.block.push(plan.blocks[lot.block].name.clone());
    }
    let mut plain = |out: &Parcels| loop {
        let i = chance.whole(1, plan.lots.len() as u32 - 1) as usize;
        let ordinary = |j: usize| plan.lots[j].land_use == Use::SingleFamily && out.flaw[j] == Flaw::None && !out.block[j].is_empty();
        if ordinary(i) && ordinary(i - 1) {
            return i;
        }
    };
    for flaw in [Flaw::BowTie, Flaw::BowTie, Flaw::NoOutline, Flaw::RepeatedId, Flaw::RepeatedId, Flaw::RepeatedId] {
        let i = plain(&out);
        out.flaw[i] = flaw;
        if flaw == Flaw::RepeatedId {
            out.id[i] = out.id[i - 1].clone();
        }
    }
    for _ in 0..14 {
        let i = plain(&out);
        out.block[i].clear();
    }
    out
}

/// The parcel files: ending and bytes.
pub fn parcel_files(plan: &Plan, parcels: &Parcels, earth: &Earth) -> Vec<(&'static str, Vec<u8>)> {
    let fields = [("PARCEL_ID", b'C', 12), ("SITUS", b'C', 36), ("BLOCK_ID", b'C', 4), ("LAND_USE", b'C', 14), ("YEAR_BUILT", b'N', 4)];
    let mut file = ShapefileBytes::new(&fields);
    for (i, lot) in plan.lots.iter().enumerate() {
        let ring = outline(lot, parcels.flaw[i], earth);
        let year = if lot.year == 0 { String::new() } else { lot.year.to_string() };
        let cells = [parcels.id[i].clone(), parcels.address[i].clone(), parcels.block[i].clone(), lot.land_use.word().to_owned(), year];
        file.push(ring.as_deref(), &cells);
    }
    let [shp, shx, dbf] = file.finish();
    vec![("shp", shp), ("shx", shx), ("dbf", dbf), ("prj", PRJ.into()), ("cpg", b"UTF-8".to_vec())]
}

fn outline(lot: &Lot, flaw: Flaw, earth: &Earth) -> Option<Vec<[f64; 2]>> {
    let mut ring: Vec<[f64; 2]> = lot.ring.iter().map(|&p| earth.feet(p)).collect();
    match flaw {
        Flaw::NoOutline => return None,
        Flaw::BowTie => ring.swap(0, 1),
        Flaw::None | Flaw::RepeatedId => {}
    }
    Some(ring)
}

/// Street centrelines as GeoJSON.
pub fn streets(plan: &Plan, earth: &Earth) -> String {
    let feature = |s: &super::plan::Segment| {
        let [left, right] = [Side::Left, Side::Right].map(|side| s.range(side).unwrap_or((0, 0)));
        let facts = format!(r#""NAME":"{}","L_FROM":{},"L_TO":{},"R_FROM":{},"R_TO":{}"#, s.name, left.0, left.1, right.0, right.1);
        feature_line(&facts, "LineString", &places(earth, &s.line))
    };
    collection("streets", plan.segments.iter().map(feature))
}

/// Blocks as GeoJSON.
pub fn blocks(plan: &Plan, earth: &Earth) -> String {
    let feature = |b: &super::plan::Block| {
        let mut ring = b.ring.clone();
        ring.push(ring[0]);
        feature_line(&format!(r#""BLOCK_ID":"{}""#, b.name), "Polygon", &format!("[{}]", places(earth, &ring)))
    };
    collection("blocks", plan.blocks.iter().map(feature))
}

fn places(earth: &Earth, line: &[Spot]) -> String {
    let pairs: Vec<String> = line.iter().map(|&p| format!("[{}]", earth.degrees(p).join(","))).collect();
    format!("[{}]", pairs.join(","))
}

fn feature_line(facts: &str, kind: &str, places: &str) -> String {
    format!(r#"{{"type":"Feature","properties":{{{facts}}},"geometry":{{"type":"{kind}","coordinates":{places}}}}}"#)
}

fn collection(name: &str, features: impl Iterator<Item = String>) -> String {
    let lines: Vec<String> = features.collect();
    format!("{{\"type\":\"FeatureCollection\",\"name\":\"{name}\",\"features\":[\n{}\n]}}\n", lines.join(",\n"))
}
