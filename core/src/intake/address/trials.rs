//! How often addresses damaged as typists damage them are found, missed, or taken for another.

use super::Address;
use super::book::{AddressBook, clearly_best};
use super::damage::{Dice, WAYS, damaged};
use std::fmt::Write as _;

/// What came of damaging every address in one way: joined to its own door, offered it, neither, taken for another door.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Tally {
    tried: usize,
    joined: usize,
    offered: usize,
    missed: usize,
    wrong: usize,
}

fn trial(addresses: &[String], seed: u64) -> Vec<Tally> {
    let book = AddressBook::new(&addresses.iter().collect());
    let mut dice = Dice(seed);
    let mut out = vec![Tally::default(); WAYS.len()];
    for (row, text) in addresses.iter().enumerate() {
        for (way, tally) in out.iter_mut().enumerate() {
            let Some(damaged) = damaged(text, way, &mut dice) else { continue };
            tally.tried += 1;
            let wanted = Address::parse(&damaged);
            let same = book.same(&wanted);
            let like = book.like(&wanted);
            // An address that several premises share is one door.
            let own = |rows: &[u32]| rows.iter().any(|&r| r as usize == row || addresses[r as usize] == *text);
            match (same.is_empty(), clearly_best(&like, |l| l.score)) {
                (false, _) if own(&same) => tally.joined += 1,
                (true, Some(best)) if own(&best.rows) => tally.offered += 1,
                (true, None) => tally.missed += 1,
                _ => tally.wrong += 1,
            }
        }
    }
    out
}

fn table(tallies: &[Tally]) -> String {
    let mut out = "way | tried | joined | offered | missed | wrong\n".to_owned();
    for (way, t) in WAYS.iter().zip(tallies) {
        let _ = writeln!(out, "{way} | {} | {} | {} | {} | {}", t.tried, t.joined, t.offered, t.missed, t.wrong);
    }
    out
}

/// Streets of an invented town: names of two syllables, six suffixes, some with a direction, some differing by it alone.
fn town() -> Vec<String> {
    let first = ["FEN", "GAR", "HAM", "MAR", "DUN", "ULM", "ORC", "WIN", "JOR", "PEM", "ELM", "TAL"];
    let second = ["BURY", "TON", "DALE", "WORTH", "GATE", "YARD", "SIDE", "BROOK"];
    let suffix = ["ST", "AVE", "DR", "LN", "RD", "CT", "BLVD"];
    let mut out = Vec::new();
    for (i, f) in first.iter().enumerate() {
        for (j, s) in second.iter().enumerate() {
            let k = i * second.len() + j;
            let direction = if k.is_multiple_of(5) { ["N ", "E ", "S ", "W "][k / 5 % 4] } else { "" };
            for house in 0..20_usize {
                let unit = if k.is_multiple_of(17) && house.is_multiple_of(4) { format!(" UNIT {}", house + 1) } else { String::new() };
                out.push(format!("{} {direction}{f}{s} {}{unit}", 100 + house * 4 + j, suffix[k % 7]));
            }
        }
    }
    out
}

#[test]
fn of_damaged_addresses_no_more_than_two_in_a_thousand_are_taken_for_another() {
    let tallies = trial(&town(), 7);
    println!("{}", table(&tallies));
    let sum = |f: fn(&Tally) -> usize| tallies.iter().map(f).sum::<usize>();
    let (tried, wrong, found) = (sum(|t| t.tried), sum(|t| t.wrong), sum(|t| t.joined) + sum(|t| t.offered));
    assert!(wrong * 500 <= tried, "{wrong} of {tried}\n{}", table(&tallies));
    assert!(found * 100 >= tried * 95, "{found} of {tried}\n{}", table(&tallies));
    for way in 0..3 {
        assert_eq!(tallies[way].joined, tallies[way].tried, "{}", WAYS[way]);
    }
}
