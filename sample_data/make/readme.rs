//! The README of the sample data, with counts taken from the finished files.

use super::rounds::Line;
use std::collections::{BTreeMap, BTreeSet};

/// What the README tells, counted over the finished tables.
pub struct Counts {
    pub parcels: usize,
    pub streets: usize,
    pub blocks: usize,
    pub signals: usize,
    pub days: usize,
}

/// Rounds and outcomes of a visits table: visits, by round and outcome.
pub fn outcomes(lines: &[Line]) -> BTreeMap<(String, String), usize> {
    let visits: BTreeSet<[&str; 3]> = lines[1..].iter().map(|l| [l[0].as_str(), &l[7], &l[6]]).collect();
    visits.into_iter().fold(BTreeMap::new(), |mut out, [_, round, outcome]| {
        *out.entry((round.to_owned(), outcome.to_owned())).or_default() += 1;
        out
    })
}

const WORDS: [&str; 8] = ["inspected", "front only", "seen over fence", "no answer", "locked gate", "refused", "unsafe", "vacant"];

/// The README.
pub fn text(counts: &Counts, lines: &[Line], share_inside: &str) -> String {
    let by = outcomes(lines);
    let visits: usize = by.values().sum();
    let finds = lines[1..].iter().filter(|l| !l[9].is_empty()).count();
    let mut out = format!(
        "# Quillmere, the invented district\n\n\
         Nothing here is real. The streets lie on open water in the northern Gulf, about 88.3° W, 29.4° N; the households, their\n\
         yards and what was found in them come from a seeded program, `make_district.rs`. The same seed makes the same bytes:\n\n\
         ```\ncargo run --example make_district -p yardring-core\n```\n\n\
         | file | holds | rows |\n|---|---|---|\n\
         | `parcels.shp` (`.shx .dbf .prj .cpg`) | parcel outlines in US survey feet, NAD83 / BLM 16N (EPSG:32166); ids, addresses, \
         blocks, land use, year built | {} |\n\
         | `streets.geojson` | street centrelines with names and address ranges; 0 where a side has no house; alleys without a name | {} |\n\
         | `blocks.geojson` | block outlines | {} |\n\
         | `visits.csv` | {visits} visits in three weekly rounds by crews A to D; {finds} finds | {} |\n\
         | `signals.csv` | one case, six trap counts, five complaints | {} |\n\
         | `temperatures.csv` | lowest and highest of each day, June to August 2025 | {} |\n\n",
        counts.parcels,
        counts.streets,
        counts.blocks,
        lines.len() - 1,
        counts.signals,
        counts.days
    );
    out += "## Flaws put in on purpose\n\n\
         - parcels: 2 outlines that cross themselves, 1 without an outline, 3 ids that repeat the row before, 14 rows without a block,\n\
         \x20 24 apartments with one and the same outline, and a street name beyond plain ASCII (Cigüeña Court).\n\
         - visits: 6 that cannot join: 3 mistyped ids, 2 points in the street, 1 address that nobody has.\n\n\
         ## Visits by outcome\n\n| outcome | Round 1 | Round 2 | Round 3 |\n|---|---|---|---|\n";
    for word in WORDS {
        let n = |round: &str| by.get(&(round.to_owned(), word.to_owned())).copied().unwrap_or(0);
        out += &format!("| {word} | {} | {} | {} |\n", n("Round 1"), n("Round 2"), n("Round 3"));
    }
    out += &format!("\nRound 3 is still going on. {share_inside}\n");
    out
}
