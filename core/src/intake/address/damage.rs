//! Addresses damaged as typists damage them. The trials of this room use it, and the example `address_trials`.

use super::Address;

/// Numbers that look random and are the same everywhere (a linear congruential generator, D. Knuth's MMIX constants).
pub struct Dice(pub u64);

impl Dice {
    /// A number from 0 up to one less than `n`.
    pub fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n
    }
}

/// How an address is damaged, in words.
pub const WAYS: [&str; 10] = [
    "as it stands",
    "other case and blanks",
    "words in full",
    "suffix left off",
    "direction left off",
    "letters swapped",
    "one wrong letter",
    "one letter missing",
    "a unit too many",
    "wrong letter, no suffix",
];

fn in_full(text: &str) -> String {
    let long = |w: &str| match w {
        "ST" => "Street".to_owned(),
        "AVE" => "Avenue".to_owned(),
        "DR" => "Drive".to_owned(),
        "LN" => "Lane".to_owned(),
        "RD" => "Road".to_owned(),
        "CT" => "Court".to_owned(),
        "BLVD" => "Boulevard".to_owned(),
        "HWY" => "Highway".to_owned(),
        "UNIT" => "Apt.".to_owned(),
        "N" => "North".to_owned(),
        "S" => "South".to_owned(),
        "E" => "East".to_owned(),
        "W" => "West".to_owned(),
        other => other.to_owned(),
    };
    text.split(' ').map(long).collect::<Vec<_>>().join(" ")
}

/// The address damaged in one way; `None` where that way does not apply to it.
pub fn damaged(text: &str, way: usize, dice: &mut Dice) -> Option<String> {
    let a = Address::parse(text);
    let unit = a.unit.replace('#', "UNIT");
    let join = |before: &str, name: &str, suffix: &str, unit: &str| {
        [&a.number, before, name, suffix, &a.after, unit].into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(" ")
    };
    let mut letters: Vec<char> = a.name.chars().collect();
    let at = dice.below(letters.len().max(2) - 1);
    let other = char::from(b'A' + dice.below(26) as u8);
    match way {
        0 => return Some(text.to_owned()),
        1 => return Some(format!(" {}", text.to_lowercase().replace(' ', "  "))),
        2 => return Some(in_full(text)),
        3 if !a.suffix.is_empty() => return Some(join(&a.before, &a.name, "", &unit)),
        4 if !a.before.is_empty() => return Some(join("", &a.name, &a.suffix, &unit)),
        5 if letters.len() > 1 && letters[at] != letters[at + 1] => letters.swap(at, at + 1),
        6 if letters[at] != other => letters[at] = other,
        7 if letters.len() > 1 => drop(letters.remove(at)),
        8 if unit.is_empty() => return Some(join(&a.before, &a.name, &a.suffix, "UNIT 3")),
        9 if !a.suffix.is_empty() && letters[at] != other => letters[at] = other,
        _ => return None,
    }
    let name: String = letters.into_iter().collect();
    Some(join(&a.before, &name, if way == 9 { "" } else { &a.suffix }, &unit))
}
