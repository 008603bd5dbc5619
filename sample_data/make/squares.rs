//! The straight quarters: the old grid, the narrow mill rows with their alleys, and the large lots at the edge.

use super::plan::{Plan, Side, Spot, Use, rectangle};
use super::random::Chance;

/// Half the width of an ordinary street.
pub const HALF_STREET: f64 = 7.5;
/// Width of a grid column from street to street.
const COLUMN: f64 = 160.0;
/// Depth of a grid row from street to street.
const ROW: f64 = 560.0 / 6.0;
/// Where the streets up and down the page lie.
const UP_STREETS: [(&str, f64); 10] = [
    ("Alder Street", 0.0),
    ("Bobbin Street", COLUMN),
    ("Candle Street", 2.0 * COLUMN),
    ("Dovetail Street", 3.0 * COLUMN),
    ("Ember Street", 4.0 * COLUMN),
    ("Ferrule Street", 5.0 * COLUMN),
    ("Gimlet Street", 6.0 * COLUMN),
    ("Heron Boulevard", 7.0 * COLUMN),
    ("Inkwell Street", 1339.5),
    ("Juniper Street", 1554.5),
];
const GRID_STREETS: [&str; 7] =
    ["Sedge Road", "Anvil Street", "Bellows Street", "Chisel Street", "Distaff Street", "Eyelet Street", "Harrow Avenue"];
const MILL_STREETS: [&str; 9] =
    ["Sedge Road", "Spindle Row", "Treadle Row", "Bodkin Row", "Heddle Row", "Shuttle Row", "Carding Row", "Skein Row", "Harrow Avenue"];

/// Draws the straight quarters.
pub fn draw(plan: &mut Plan, chance: &mut Chance) {
    let grid = across(plan, &GRID_STREETS, 0..7, ROW);
    let mill = across(plan, &MILL_STREETS, 7..9, 70.0);
    up_and_down(plan);
    for (row, streets) in grid.windows(2).enumerate() {
        for (column, (south, north)) in streets[0].iter().zip(&streets[1]).enumerate() {
            grid_block(plan, chance, (column, row), *south, *north);
        }
    }
    for (row, streets) in mill.windows(2).enumerate() {
        for (column, (south, north)) in streets[0].iter().zip(&streets[1]).enumerate() {
            mill_block(plan, chance, (column, row), *south, *north);
        }
    }
    edge(plan, chance, &[grid[0].as_slice(), mill[0].as_slice()].concat());
}

/// Streets across the page; gives back the segments, street by street.
fn across(plan: &mut Plan, names: &[&'static str], columns: std::ops::Range<usize>, depth: f64) -> Vec<Vec<usize>> {
    let segments = |plan: &mut Plan, (i, name): (usize, &&'static str)| {
        let v = i as f64 * depth;
        let line = |c: usize| vec![[UP_STREETS[c].1, v], [UP_STREETS[c + 1].1, v]];
        columns.clone().map(|c| plan.segment(name, line(c), 100 * (c as u32 + 1))).collect()
    };
    names.iter().enumerate().map(|street| segments(plan, street)).collect()
}

fn up_and_down(plan: &mut Plan) {
    for (i, (name, u)) in UP_STREETS.iter().enumerate() {
        let (rows, depth) = if i < 8 { (6, ROW) } else { (8, 70.0) };
        for row in 0..rows {
            plan.segment(name, vec![[*u, f64::from(row) * depth], [*u, f64::from(row + 1) * depth]], 100 * (row + 1));
        }
    }
}

fn grid_block(plan: &mut Plan, chance: &mut Chance, (column, row): (usize, usize), south: usize, north: usize) {
    let low = [column as f64 * COLUMN + HALF_STREET, row as f64 * ROW + HALF_STREET];
    let high = [(column + 1) as f64 * COLUMN - HALF_STREET, (row + 1) as f64 * ROW - HALF_STREET];
    let crew = if column < 4 { 'A' } else { 'B' };
    let block = plan.block(format!("G{:02}", row * 7 + column + 1), rectangle(low, high), crew);
    let mut rows =
        Rows { block, faces: [(south, Side::Left), (north, Side::Right)], low, high, alley: 0.0, width: 16.5, years: [1931, 1966] };
    let part = |from: f64, to: f64| (low[0] + from * (high[0] - low[0]), low[0] + to * (high[0] - low[0]));
    let whole = |from: f64, to: f64| rectangle([part(from, to).0, low[1]], [part(from, to).1, high[1]]);
    match (column, row) {
        (3, 3) => plan.lot(whole(0.0, 1.0), block, rows.faces[0], Use::Park, 0),
        (5, 4) => {
            plan.lot(whole(0.0, 0.62), block, rows.faces[0], Use::School, 1958);
            rows.draw(plan, chance, part(0.62, 1.0));
        }
        (1, 4) => {
            rows.draw(plan, chance, part(0.0, 0.33));
            plan.lot(whole(0.33, 0.7), block, rows.faces[0], Use::Pond, 0);
            rows.draw(plan, chance, part(0.7, 1.0));
        }
        (4, 1) => {
            plan.apartments(&whole(0.0, 0.4), block, rows.faces[0], 24, 1972);
            rows.draw(plan, chance, part(0.4, 1.0));
        }
        _ => {
            rows.alley = if [(0, 1), (2, 2), (6, 3)].contains(&(column, row)) { 5.0 } else { 0.0 };
            rows.draw(plan, chance, part(0.0, 1.0));
        }
    }
}

fn mill_block(plan: &mut Plan, chance: &mut Chance, (column, row): (usize, usize), south: usize, north: usize) {
    let u = [1132.0, 1347.0][column];
    let low = [u, row as f64 * 70.0 + HALF_STREET];
    let high = [u + 200.0, (row + 1) as f64 * 70.0 - HALF_STREET];
    let block = plan.block(format!("M{:02}", row * 2 + column + 1), rectangle(low, high), 'D');
    let faces = [(south, Side::Left), (north, Side::Right)];
    let rows = Rows { block, faces, low, high, alley: 5.0, width: 11.8, years: [1908, 1931] };
    rows.draw(plan, chance, (low[0], high[0]));
    let v = f64::midpoint(low[1], high[1]);
    plan.segment("", vec![[low[0] - 4.5, v], [high[0] + HALF_STREET, v]], 0);
}

/// Large lots on the far side of the southern road.
fn edge(plan: &mut Plan, chance: &mut Chance, road: &[usize]) {
    let lots = 34;
    let at = |i: usize| HALF_STREET + (1547.0 - HALF_STREET) * i as f64 / lots as f64;
    for (b, range) in [0..11, 11..23, 23..lots].into_iter().enumerate() {
        let ring = rectangle([at(range.start), -92.5], [at(range.end), -HALF_STREET]);
        let block = plan.block(format!("E{:02}", b + 1), ring, 'B');
        for i in range {
            let middle = at(i) + 22.0;
            let column = (0..9).find(|c| middle < UP_STREETS[c + 1].1).unwrap_or(8);
            let (land_use, year) = if i == 19 { (Use::Pond, 0) } else { (Use::LargeLot, chance.whole(1940, 2004)) };
            let ring = rectangle([at(i), -92.5], [at(i + 1), -HALF_STREET]);
            plan.lot(ring, block, (road[column], Side::Right), land_use, year);
        }
    }
}

/// Two rows of lots that stand back to back, with or without an alley between them.
struct Rows {
    block: usize,
    faces: [(usize, Side); 2],
    low: Spot,
    high: Spot,
    alley: f64,
    width: f64,
    years: [u32; 2],
}

impl Rows {
    fn draw(&self, plan: &mut Plan, chance: &mut Chance, span: (f64, f64)) {
        let same = chance.happens(0.5);
        let south = divisions(chance, span, self.width);
        let north = if same { south.clone() } else { divisions(chance, span, self.width) };
        let rear = f64::midpoint(self.low[1], self.high[1]);
        let (lower, upper) = (rear - self.alley / 2.0, rear + self.alley / 2.0);
        for w in south.windows(2) {
            let mut ring = vec![[w[0], self.low[1]], [w[1], self.low[1]], [w[1], lower]];
            ring.extend(self.corners(&north, w).rev().map(|u| [u, lower]));
            ring.push([w[0], lower]);
            self.lot(plan, chance, ring, 0);
        }
        for w in north.windows(2) {
            let mut ring = vec![[w[0], upper]];
            ring.extend(self.corners(&south, w).map(|u| [u, upper]));
            ring.extend([[w[1], upper], [w[1], self.high[1]], [w[0], self.high[1]]]);
            self.lot(plan, chance, ring, 1);
        }
    }

    /// Corners of the lots behind that meet the rear fence of a lot: both sides of a fence have the same places.
    fn corners<'a>(&self, behind: &'a [f64], w: &'a [f64]) -> impl DoubleEndedIterator<Item = f64> + 'a {
        let shared = self.alley == 0.0;
        behind.iter().copied().filter(move |u| shared && *u > w[0] && *u < w[1])
    }

    fn lot(&self, plan: &mut Plan, chance: &mut Chance, ring: Vec<Spot>, row: usize) {
        let vacant = chance.happens(0.03);
        let year = chance.whole(self.years[0], self.years[1]);
        let (land_use, year) = if vacant { (Use::VacantLot, 0) } else { (Use::SingleFamily, year) };
        plan.lot(ring, self.block, self.faces[row], land_use, year);
    }
}

/// Where the fences between the lots of a row stand: ends included, widths a little uneven, in whole decimetres.
fn divisions(chance: &mut Chance, (from, to): (f64, f64), width: f64) -> Vec<f64> {
    let lots = (((to - from) / width).round() as usize).max(1);
    let widths: Vec<f64> = (0..lots).map(|_| chance.between(0.86, 1.14)).collect();
    let scale = (to - from) / widths.iter().sum::<f64>();
    let mut out = vec![from];
    let mut u = from;
    for w in &widths[..lots - 1] {
        u += w * scale;
        out.push((u * 10.0).round() / 10.0);
    }
    out.push(to);
    out
}
