//! How often addresses damaged as typists damage them find their door, miss it, or find another, on real files.
//!
//! `cargo run --release -p yardring-core --example address_trials -- [--parcels F] [--streets F --lots F]` prints a table: `--parcels`
//! are parcels with addresses, `--streets` centrelines with house numbers beside lots that have no addresses.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "an example stops at the first thing that is not as it should be")]

#[path = "../src/intake/address/damage.rs"]
mod damage;

use damage::{Dice, WAYS, damaged};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use yardring_core::intake::settle::waiting;
use yardring_core::intake::{Address, Report, Request, bring_in};
use yardring_core::job::Unwatched;
use yardring_core::place::distance;
use yardring_core::survey::{PremiseId, Streets, Survey};

/// Doors that are tried in one go.
const AT_ONCE: usize = 4_000;

/// What came of one way of damaging addresses.
#[derive(Clone, Debug, Default)]
struct Tally {
    tried: usize,
    /// Joined to the door that was meant.
    hit: usize,
    /// Not joined, and offered for settling as the best candidate.
    offered: usize,
    /// Neither.
    missed: usize,
    /// Joined to another door, each with how far off it was in metres.
    wrong: Vec<f64>,
}

/// An address and the premise that it means.
struct Door {
    address: String,
    premise: PremiseId,
}

/// Brings in visits with some addresses over a survey: for each the premise that it was joined to, or the best one offered.
fn find(survey: &Survey, addresses: &[String], folder: &Path) -> Vec<Result<PremiseId, Option<PremiseId>>> {
    let path = folder.join("visits.csv");
    let mut text = "visit_id,date,address,outcome\n".to_owned();
    for (i, address) in addresses.iter().enumerate() {
        writeln!(text, "V{i},2025-07-01,\"{}\",no answer", address.replace('"', "")).unwrap();
    }
    std::fs::write(&path, text).unwrap();
    let request = Request { visits: Some(path), ..Request::default() };
    let (after, _): (Survey, Report) = bring_in(Some(survey), &request, &Unwatched).unwrap();
    let mut out = vec![Err(None); addresses.len()];
    let number = |id: &str| id[1..].parse::<usize>().unwrap();
    after.visits.rows().iter().filter(|v| v.id.starts_with('V')).for_each(|v| out[number(&v.id)] = Ok(v.premise));
    for w in waiting(&after, &Unwatched).unwrap() {
        let id = &w.first(&after).cells[0].1;
        out[number(id)] = Err(w.candidates.first().map(|c| c.premise));
    }
    out
}

/// Damages every door's address in every way and looks for it.
fn trial(survey: &Survey, doors: &[Door], seed: u64) -> Vec<Tally> {
    let folder = tempfile::tempdir().unwrap();
    let mut dice = Dice(seed);
    let mut out = vec![Tally::default(); WAYS.len()];
    let same_door = |a: PremiseId, b: PremiseId| {
        let address = |p: PremiseId| survey.premises.address.get(p.row());
        a == b || (!address(a).is_empty() && Address::parse(address(a)) == Address::parse(address(b)))
    };
    for some in doors.chunks(AT_ONCE) {
        for (way, tally) in out.iter_mut().enumerate() {
            let tried: Vec<(&Door, String)> = some.iter().filter_map(|d| Some((d, damaged(&d.address, way, &mut dice)?))).collect();
            let texts: Vec<String> = tried.iter().map(|t| t.1.clone()).collect();
            for ((door, _), found) in tried.iter().zip(find(survey, &texts, folder.path())) {
                tally.tried += 1;
                match found {
                    Ok(premise) if same_door(premise, door.premise) => tally.hit += 1,
                    Ok(premise) => {
                        let outline = |p: PremiseId| survey.premises.outline.get(p.row());
                        tally.wrong.push(distance(outline(premise), outline(door.premise)));
                    }
                    Err(Some(premise)) if same_door(premise, door.premise) => tally.offered += 1,
                    Err(_) => tally.missed += 1,
                }
            }
        }
    }
    out
}

fn table(name: &str, tallies: &[Tally]) -> String {
    let mut out = format!("{name}\nway | tried | hit | offered first | missed | wrong | how far off (median, most)\n");
    let mut all = Tally::default();
    for (way, t) in WAYS.iter().zip(tallies) {
        writeln!(out, "{}", line(way, t)).unwrap();
        all.tried += t.tried;
        all.hit += t.hit;
        all.offered += t.offered;
        all.missed += t.missed;
        all.wrong.extend(&t.wrong);
    }
    out + &line("all", &all) + "\n"
}

fn line(way: &str, t: &Tally) -> String {
    let mut off = t.wrong.clone();
    off.sort_by(f64::total_cmp);
    let share = |n: usize| format!("{n} ({:.2} %)", n as f64 * 100.0 / t.tried.max(1) as f64);
    let far = match (off.get(off.len() / 2), off.last()) {
        (Some(middle), Some(most)) => format!("{middle:.0} m, {most:.0} m"),
        _ => String::new(),
    };
    format!("{way} | {} | {} | {} | {} | {} | {far}", t.tried, share(t.hit), share(t.offered), share(t.missed), share(off.len()))
}

/// Every premise with an address and an outline.
fn doors_of_parcels(survey: &Survey) -> Vec<Door> {
    let premises = &survey.premises;
    let has_both = |&i: &usize| !premises.address.get(i).is_empty() && !premises.outline.get(i).is_empty();
    let door = |i: usize| Door { address: premises.address.get(i).to_owned(), premise: PremiseId(i as u32) };
    (0..premises.len()).filter(has_both).map(door).collect()
}

/// The least, the middle and the greatest house number on each side of each centreline, as far as it finds a premise undamaged.
fn doors_of_streets(survey: &Survey) -> Vec<Door> {
    let addresses = house_numbers(&survey.streets);
    let folder = tempfile::tempdir().unwrap();
    let found = find(survey, &addresses, folder.path());
    println!("{} of {} house numbers find a premise as they stand", found.iter().filter(|f| f.is_ok()).count(), addresses.len());
    addresses.into_iter().zip(found).filter_map(|(address, found)| Some(Door { address, premise: found.ok()? })).collect()
}

fn house_numbers(streets: &Streets) -> Vec<String> {
    let mut out = BTreeSet::new();
    for (i, ranges) in streets.ranges.iter().enumerate() {
        for (_, numbers) in ranges.sides() {
            let (low, high) = (numbers.from.min(numbers.to), numbers.from.max(numbers.to));
            let middle = low + (high - low) / 4 * 2;
            out.extend([low, middle, high].map(|n| format!("{n} {}", streets.name.get(i).to_uppercase())));
        }
    }
    out.into_iter().collect()
}

fn survey(parcels: &Path, streets: Option<&PathBuf>) -> Survey {
    let request = Request { parcels: Some(parcels.to_owned()), streets: streets.cloned(), ..Request::default() };
    bring_in(None, &request, &Unwatched).unwrap().0
}

fn main() {
    let mut given: BTreeMap<String, PathBuf> = BTreeMap::new();
    let mut words = std::env::args().skip(1);
    while let (Some(name), Some(path)) = (words.next(), words.next()) {
        given.insert(name, path.into());
    }
    if let Some(parcels) = given.get("--parcels") {
        let survey = survey(parcels, None);
        println!("{}", table("parcels with addresses", &trial(&survey, &doors_of_parcels(&survey), 7)));
    }
    if let (Some(streets), Some(lots)) = (given.get("--streets"), given.get("--lots")) {
        let survey = survey(lots, Some(streets));
        println!("{}", table("house numbers of streets", &trial(&survey, &doors_of_streets(&survey), 7)));
    }
    if given.is_empty() {
        println!("Give --parcels F, or --streets F and --lots F");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The City of Cambridge's centrelines with their house numbers over its lots (open data), beside the workspace.
    #[test]
    fn damaged_house_numbers_of_a_real_city_are_hardly_ever_put_at_another_door() {
        let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
        let (lots, lines) =
            (data.join("parcels/cambridge_ma_fy2014_epsg2249_ft.shp"), data.join("streets/cambridge_ma_centerlines_epsg2249_ft.shp"));
        if !lots.exists() {
            println!("skipped: the Cambridge lots are not beside the workspace");
            return;
        }
        let survey = survey(&lots, Some(&lines));
        let doors: Vec<Door> = doors_of_streets(&survey).into_iter().step_by(12).collect();
        let tallies = trial(&survey, &doors, 7);
        println!("{}", table("every twelfth house number of Cambridge", &tallies));
        let (tried, wrong) = (tallies.iter().map(|t| t.tried).sum::<usize>(), tallies.iter().map(|t| t.wrong.len()).sum::<usize>());
        let found = tallies.iter().map(|t| t.hit + t.offered).sum::<usize>();
        assert!(tried > 4_000 && wrong * 500 <= tried, "{wrong} of {tried}");
        assert!(found * 100 >= tried * 90, "{found} of {tried}");
    }
}
