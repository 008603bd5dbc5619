//! The bent quarters: crescents round a green, and courts that end in a turning circle.

use super::plan::{Plan, Side, Spot, Use, rectangle};
use super::random::Chance;
use super::squares::HALF_STREET;

const CENTRE: Spot = [560.0, 560.0];
const CRESCENTS: [(&str, f64); 5] = [
    ("Curlew Crescent", 80.0),
    ("Plover Crescent", 170.0),
    ("Lapwing Crescent", 260.0),
    ("Sandpiper Crescent", 350.0),
    ("Bittern Crescent", 440.0),
];
const SPOKES: [&str; 4] = ["Thistle Lane", "Yarrow Lane", "Bracken Lane", "Teasel Lane"];
const SECTORS: usize = 5;
const COURTS: [&str; 5] = ["Trowel Court", "Cigüeña Court", "Mallet Court", "Sickle Court", "Whetstone Court"];

/// Draws the bent quarters.
pub fn draw(plan: &mut Plan, chance: &mut Chance) {
    let crescents = streets(plan);
    let green = arc(80.0 - HALF_STREET, 0.0, 1.0, (0, SECTORS), 24);
    let block = plan.block("F00".to_owned(), green.clone(), 'C');
    plan.lot(green, block, (crescents[0][2], Side::Left), Use::Park, 0);
    for ring in 0..5 {
        for sector in 0..SECTORS {
            crescent_block(plan, chance, ring, sector, &crescents);
        }
    }
    for (i, name) in COURTS.iter().enumerate() {
        court(plan, chance, i, name);
    }
}

/// A place at a share of a sector's width between its two spokes, at a distance from the centre.
fn at(radius: f64, share: f64, (from, to): (usize, usize)) -> Spot {
    let step = std::f64::consts::PI / SECTORS as f64;
    let margin = (HALF_STREET / radius).asin();
    let (a, b) = (from as f64 * step + margin, to as f64 * step - margin);
    let angle = a + (b - a) * share;
    [CENTRE[0] + radius * angle.cos(), CENTRE[1] + radius * angle.sin()]
}

/// Places along a crescent between two shares of a sector.
fn arc(radius: f64, from: f64, to: f64, sector: (usize, usize), pieces: usize) -> Vec<Spot> {
    (0..=pieces).map(|i| at(radius, from + (to - from) * i as f64 / pieces as f64, sector)).collect()
}

fn streets(plan: &mut Plan) -> Vec<Vec<usize>> {
    let step = std::f64::consts::PI / SECTORS as f64;
    let spot = |radius: f64, angle: f64| [CENTRE[0] + radius * angle.cos(), CENTRE[1] + radius * angle.sin()];
    for (i, name) in SPOKES.iter().enumerate() {
        for (ring, pair) in CRESCENTS.windows(2).enumerate() {
            let angle = (i + 1) as f64 * step;
            plan.segment(name, vec![spot(pair[0].1, angle), spot(pair[1].1, angle)], 100 * (ring as u32 + 1));
        }
    }
    let run = |radius: f64, sector: usize| (0..=12).map(|i| spot(radius, (sector as f64 + f64::from(i) / 12.0) * step)).collect();
    CRESCENTS
        .iter()
        .map(|(name, radius)| (0..SECTORS).map(|s| plan.segment(name, run(*radius, s), 100 * (s as u32 + 1))).collect())
        .collect()
}

/// Two rows of lots between two crescents, or one row outside the last.
fn crescent_block(plan: &mut Plan, chance: &mut Chance, ring: usize, sector: usize, crescents: &[Vec<usize>]) {
    let inner = CRESCENTS[ring].1 + HALF_STREET;
    let outer = CRESCENTS.get(ring + 1).map_or(inner + 38.0, |c| c.1 - HALF_STREET);
    let place = (sector, sector + 1);
    let mut outline = arc(outer, 0.0, 1.0, place, 30);
    outline.extend(arc(inner, 1.0, 0.0, place, 30));
    let block = plan.block(format!("F{:02}", ring * SECTORS + sector + 1), outline, 'C');
    let lots = ((f64::midpoint(inner, outer) * 0.6283 - 15.0) / 17.0).round().max(3.0) as usize;
    let rear = if ring == 4 { outer } else { f64::midpoint(inner, outer) };
    let mut lot = |plan: &mut Plan, low: f64, high: f64, i: usize, faces| {
        let (a, b) = (i as f64 / lots as f64, (i + 1) as f64 / lots as f64);
        let mut outline = arc(high, a, b, place, 2);
        outline.extend(arc(low, b, a, place, 2));
        let vacant = chance.happens(0.02);
        let year = chance.whole(1954, 1978);
        let (land_use, year) = if vacant { (Use::VacantLot, 0) } else { (Use::SingleFamily, year) };
        plan.lot(outline, block, faces, land_use, year);
    };
    for i in 0..lots {
        lot(plan, inner, rear, i, (crescents[ring][sector], Side::Right));
    }
    for i in 0..if ring == 4 { 0 } else { lots } {
        lot(plan, rear, outer, i, (crescents[ring + 1][sector], Side::Left));
    }
}

/// A street that ends in a turning circle, lots along it and fanned round its end.
fn court(plan: &mut Plan, chance: &mut Chance, i: usize, name: &'static str) {
    let (u, v, half, kerb) = (1176.0 + 88.0 * i as f64, 567.5, 44.0, 7.0);
    let (end, top) = (v + 144.0, v + 144.0 + 62.0);
    let hub = [u, end + 20.0];
    let street = plan.segment(name, vec![[u, 560.0], hub], 100);
    let circle = |degrees: f64| [hub[0] + 14.0 * degrees.to_radians().cos(), hub[1] + 14.0 * degrees.to_radians().sin()];
    let mut outline = vec![[u + kerb, v], [u + half, v], [u + half, top], [u - half, top], [u - half, v], [u - kerb, v]];
    outline.extend(notch(hub, kerb, &circle));
    let block = plan.block(format!("C{:02}", i + 1), outline, 'B');
    let mut lot =
        |plan: &mut Plan, ring: Vec<Spot>, side| plan.lot(ring, block, (street, side), Use::SingleFamily, chance.whole(1984, 2006));
    for k in 0..8 {
        let (a, b) = (v + 18.0 * f64::from(k), v + 18.0 * f64::from(k + 1));
        lot(plan, rectangle([u - half, a], [u - kerb, b]), Side::Left);
        lot(plan, rectangle([u + kerb, a], [u + half, b]), Side::Right);
    }
    for (ring, side) in fan(hub, [half, end, top, kerb], &circle) {
        lot(plan, ring, side);
    }
}

/// The kerb from the left mouth of the turning circle round it to the right mouth.
fn notch(hub: Spot, kerb: f64, circle: &dyn Fn(f64) -> Spot) -> Vec<Spot> {
    let mouth = (14.0f64 * 14.0 - kerb * kerb).sqrt();
    let mut out = vec![[hub[0] - kerb, hub[1] - mouth]];
    out.extend([216.0, 189.0, 162.0, 117.0, 90.0, 63.0, 18.0, -9.0, -36.0].map(circle));
    out.push([hub[0] + kerb, hub[1] - mouth]);
    out
}

/// Five lots round a turning circle, from the right mouth to the left.
fn fan(hub: Spot, [half, end, top, kerb]: [f64; 4], circle: &dyn Fn(f64) -> Spot) -> [(Vec<Spot>, Side); 5] {
    let (u, v) = (hub[0], hub[1]);
    let mouth = v - (14.0f64 * 14.0 - kerb * kerb).sqrt();
    let rise = half * 18f64.to_radians().tan();
    let run = (top - v) / 63f64.to_radians().tan();
    let right = vec![[u + kerb, end], [u + half, end], [u + half, v + rise], circle(18.0), circle(-9.0), circle(-36.0), [u + kerb, mouth]];
    let upper_right = vec![circle(18.0), [u + half, v + rise], [u + half, top], [u + run, top], circle(63.0)];
    let head = vec![circle(63.0), [u + run, top], [u - run, top], circle(117.0), circle(90.0)];
    let upper_left = vec![circle(117.0), [u - run, top], [u - half, top], [u - half, v + rise], circle(162.0)];
    let left = vec![[u - half, end], [u - kerb, end], [u - kerb, mouth], circle(216.0), circle(189.0), circle(162.0), [u - half, v + rise]];
    [(right, Side::Right), (upper_right, Side::Right), (head, Side::Right), (upper_left, Side::Left), (left, Side::Left)]
}
