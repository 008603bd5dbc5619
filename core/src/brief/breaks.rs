//! Where one class of a map ends and the next begins, by a rule that can be said aloud.

use super::classes::ColourBy;
use crate::measure::{CONVENTION, Programmes, Scheme};
use crate::survey::UnknownWord;
use std::str::FromStr;

/// By what rule the breaks between classes are chosen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Breaks {
    /// Limits that a programme reads the measure by, with the programme's name; round numbers where no programme has any.
    #[default]
    Programme,
    /// Classes of equal width from nothing to the highest value.
    Equal,
    /// Classes that hold about equally many.
    Quantile,
}

impl Breaks {
    /// Every rule.
    pub const ALL: [Self; 3] = [Self::Programme, Self::Equal, Self::Quantile];

    /// The rule as the command line and the screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Programme => "programme",
            Self::Equal => "equal",
            Self::Quantile => "quantile",
        }
    }
}

impl FromStr for Breaks {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let given = text.trim();
        Self::ALL.into_iter().find(|b| b.word().eq_ignore_ascii_case(given)).ok_or_else(|| UnknownWord {
            given: given.to_owned(),
            what: "a rule for breaks",
            known: Self::ALL.map(Self::word).join(", "),
        })
    }
}

/// How values become classes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Classing {
    /// By what rule.
    pub breaks: Breaks,
    /// Into how many classes, 3 to 5; fewer are made where the values do not differ enough.
    pub classes: usize,
    /// Blocks of which a smaller share was inspected, 0 to 1, are hatched.
    pub enough: f64,
}

impl Classing {
    /// How many classes there may be.
    pub const CLASSES: std::ops::RangeInclusive<usize> = 3..=5;
}

impl Default for Classing {
    /// Programme limits, five classes, hatched under a quarter.
    ///
    /// # Source
    /// A quarter: common practice, no source.
    fn default() -> Self {
        Self { breaks: Breaks::Programme, classes: *Self::CLASSES.end(), enough: 0.25 }
    }
}

/// Breaks between classes, and what is said of them.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Limits {
    /// The least value of the second class and of those after it.
    pub least: Vec<f64>,
    /// What each class is called, from below.
    pub labels: Vec<String>,
    /// The rule with the scheme's name, as sentences.
    pub said: String,
}

impl Limits {
    /// The class of a value: how many breaks it reaches.
    pub fn class_of(&self, value: f64) -> u8 {
        self.least.iter().filter(|least| value >= **least).count() as u8
    }
}

/// The breaks for some values of a measure; `programmes` are those of the district.
pub(super) fn limits(colour_by: ColourBy, classing: &Classing, programmes: &Programmes, values: &[f64]) -> Limits {
    let classes = classing.classes.clamp(*Classing::CLASSES.start(), *Classing::CLASSES.end());
    let index = matches!(colour_by, ColourBy::HouseIndex | ColourBy::Smoothed);
    let scheme = programmes.of_house_index().filter(|_| index && classing.breaks == Breaks::Programme);
    let (least, said) = match classing.breaks {
        Breaks::Programme => match scheme {
            Some(scheme) => of_scheme(scheme, classes),
            None => (round_numbers(colour_by, classes).to_vec(), round_said(colour_by)),
        },
        Breaks::Equal => (equal(values, classes), "Classes of equal width, from 0 to the highest value.".to_owned()),
        Breaks::Quantile => {
            let of = if colour_by.by_premise() { "yards" } else { "blocks" };
            let least = quantiles(values, classes);
            let fewer = if least.len() + 1 < classes { ", but equal values stay together, so that there are fewer classes" } else { "" };
            (least, format!("Quantiles: each class holds about as many {of} as the next{fewer}."))
        }
    };
    let labels = (0..=least.len()).map(|i| label(colour_by, &least, i, scheme)).collect();
    Limits { least, labels, said }
}

/// The limits of a scheme, and round numbers above them until there are enough classes; what is said of them.
fn of_scheme(scheme: &Scheme, classes: usize) -> (Vec<f64>, String) {
    /// Round numbers that are added.
    const ROUND: [f64; 9] = [1.0, 2.0, 5.0, 10.0, 20.0, 40.0, 60.0, 80.0, 90.0];
    let mut least: Vec<f64> = scheme.bands.iter().skip(1).map(|b| b.0).take(Classing::CLASSES.end() - 1).collect();
    let of_scheme = least.len();
    let highest = least.last().copied().unwrap_or(0.0);
    let more = ROUND.into_iter().filter(|r| *r >= 2.0 * highest.max(0.5)).take((classes - 1).saturating_sub(of_scheme));
    least.extend(more);
    let listed = |values: &[f64]| values.iter().map(f64::to_string).collect::<Vec<_>>().join(" and ");
    let above = match &least[of_scheme..] {
        [] => String::new(),
        [one] => format!("; {one} is a round number"),
        several => format!("; {} are round numbers", listed(several)),
    };
    let said = format!("Limits: {} ({}){above}. {CONVENTION}", scheme.name, listed(&least[..of_scheme]));
    (least, said)
}

/// Round numbers, for what no programme has limits for.
///
/// # Source
/// Common practice, no source.
fn round_numbers(colour_by: ColourBy, classes: usize) -> &'static [f64] {
    let all: [&'static [f64]; 3] = match colour_by {
        ColourBy::HouseIndex | ColourBy::Smoothed => [&[5.0, 10.0], &[5.0, 10.0, 20.0], &[5.0, 10.0, 20.0, 40.0]],
        ColourBy::Containers => [&[1.0, 2.0], &[0.5, 1.0, 2.0], &[0.5, 1.0, 2.0, 4.0]],
        ColourBy::Coverage | ColourBy::Gaps | ColourBy::HotSpots | ColourBy::Clusters | ColourBy::Change => {
            [&[0.5, 0.75], &[0.25, 0.5, 0.75], &[0.25, 0.5, 0.75, 0.9]]
        }
        ColourBy::Foreseen => [&[0.1, 0.2], &[0.05, 0.1, 0.2], &[0.05, 0.1, 0.2, 0.4]],
    };
    all[classes - 3]
}

fn round_said(colour_by: ColourBy) -> String {
    match colour_by {
        ColourBy::HouseIndex | ColourBy::Smoothed | ColourBy::Coverage => {
            "No programme has limits for this: the breaks are round numbers.".to_owned()
        }
        ColourBy::Containers | ColourBy::Foreseen => "No programme has limits for this: each break is twice the one before.".to_owned(),
        ColourBy::Gaps | ColourBy::HotSpots | ColourBy::Clusters | ColourBy::Change => String::new(),
    }
}

/// Breaks a step apart that begins with two figures at most, so that the last class still reaches the highest value.
fn equal(values: &[f64], classes: usize) -> Vec<f64> {
    let highest = values.iter().copied().fold(0.0, f64::max);
    if highest <= 0.0 {
        return Vec::new();
    }
    let step = highest / classes as f64;
    let power = step.log10().floor() - 1.0;
    let steps = (step / 10f64.powf(power) - 1e-9).ceil();
    (1..classes).map(|k| plain(steps * k as f64 * 10f64.powf(power))).collect()
}

/// Breaks that leave about equally many values between them, each the shortest number that divides the values alike.
fn quantiles(values: &[f64], classes: usize) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mut out: Vec<f64> = Vec::new();
    for k in 1..classes {
        let Some(&value) = sorted.get((k * sorted.len()).div_ceil(classes)) else { continue };
        // Equal values stay together: the break lies below all of them, and there is none below the least.
        let below = sorted[..sorted.partition_point(|v| *v < value)].last();
        out.extend(below.map(|&below| shortest(below, value)));
    }
    out.dedup();
    out
}

/// The number with the fewest decimals above one number and not above another.
fn shortest(above: f64, most: f64) -> f64 {
    (0..6).map(|d| plain((most * 10f64.powi(d)).floor() / 10f64.powi(d))).find(|&v| v > above && v <= most).unwrap_or(most)
}

/// A number as it reads with six decimals.
fn plain(v: f64) -> f64 {
    format!("{v:.6}").parse().unwrap_or(v)
}

/// What a class is called; with the programme's word for it where it has one.
fn label(colour_by: ColourBy, least: &[f64], class: usize, scheme: Option<&Scheme>) -> String {
    let percent = matches!(colour_by, ColourBy::Coverage | ColourBy::Foreseen);
    let number = |v: f64| plain(if percent { 100.0 * v } else { v }).to_string();
    let unit = if percent { " %" } else { "" };
    let words = match (class.checked_sub(1).and_then(|i| least.get(i)), least.get(class)) {
        (None, None) => "all that were seen".to_owned(),
        (None, Some(next)) => format!("under {}{unit}", number(*next)),
        (Some(from), Some(next)) => format!("{} to under {}{unit}", number(*from), number(*next)),
        (Some(from), None) => format!("{}{unit} and over", number(*from)),
    };
    let from = class.checked_sub(1).map_or(0.0, |i| least[i]);
    match scheme.and_then(|s| s.word(from)) {
        Some(band) => format!("{words} · {band}"),
        None => words,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn with(breaks: Breaks, classes: usize) -> Classing {
        Classing { breaks, classes, ..Classing::default() }
    }

    #[test]
    fn programmes_are_named_and_their_words_stand_in_the_legend() {
        let three = limits(ColourBy::HouseIndex, &with(Breaks::Programme, 3), &Programmes::usual(), &[]);
        assert_eq!(three.labels, ["under 1 · satisfactory", "1 to under 4 · alert", "4 and over · risk"]);
        assert!(three.said.starts_with("Limits: Brazilian rapid survey (1 and 4). A programme's convention"));
        let ours = limits(ColourBy::Smoothed, &Classing::default(), &Programmes::usual().with_limit(0, 2, 3.0), &[]);
        assert_eq!((ours.least, ours.labels[2].as_str()), (vec![1.0, 3.0, 10.0, 20.0], "3 to under 10 · risk"));
        assert!(ours.said.starts_with("Limits: Brazilian rapid survey (1 and 3); 10 and 20 are round numbers."), "{}", ours.said);
        // The bulletins' bands have gaps between 0.95 and 1 and between 3.9 and 4: unrounded values fall on one side.
        assert_eq!([0.99, 1.0, 3.99, 4.0].map(|v| three.class_of(v)), [0, 1, 1, 2]);
        let five = limits(ColourBy::Coverage, &Classing::default(), &Programmes::usual(), &[]);
        assert_eq!((five.labels[0].as_str(), five.labels[4].as_str()), ("under 25 %", "90 % and over"));
    }

    #[test]
    fn equal_classes_are_equally_wide_and_easy_to_read() {
        let found = limits(ColourBy::HouseIndex, &with(Breaks::Equal, 4), &Programmes::usual(), &[0.0, 3.0, 37.3]);
        assert_eq!(found.least, [9.4, 18.8, 28.2]);
        assert_eq!(found.labels, ["under 9.4", "9.4 to under 18.8", "18.8 to under 28.2", "28.2 and over"]);
        assert_eq!(limits(ColourBy::HouseIndex, &with(Breaks::Equal, 4), &Programmes::usual(), &[0.0]).labels, ["all that were seen"]);
    }

    #[test]
    fn values_that_are_alike_stay_in_one_class() {
        let mut values = vec![0.0; 70];
        values.extend((1..=30).map(|i| f64::from(i) / 3.0));
        let found = limits(ColourBy::HouseIndex, &with(Breaks::Quantile, 5), &Programmes::usual(), &values);
        // 20, 40 and 60 of 100 fall on zeros; the fourth break comes after 80 values, the tenth of 30 thirds being 3.33 and the next 3.67.
        assert_eq!(found.least, [3.6]);
        assert_eq!(values.iter().filter(|v| found.class_of(**v) == 0).count(), 80);
    }

    proptest! {
        /// Against the definition: no class but those with ties holds more than a share of the values, rounded up.
        #[test]
        fn quantiles_divide_evenly_where_values_differ(n in 5usize..200, classes in 3usize..=5, seed in 1u64..1000) {
            let values: Vec<f64> = (0..n as u64).map(|i| (i * seed % 1009) as f64 + i as f64 / 2048.0).collect();
            let found = limits(ColourBy::HouseIndex, &with(Breaks::Quantile, classes), &Programmes::usual(), &values);
            let mut counts = vec![0; classes];
            values.iter().for_each(|v| counts[usize::from(found.class_of(*v))] += 1);
            prop_assert_eq!(found.labels.len(), classes);
            prop_assert!(counts.iter().all(|&c| c <= n.div_ceil(classes) && c >= n / classes), "{:?}", counts);
        }

        #[test]
        fn equal_classes_reach_the_highest_value(highest in 0.001f64..5000.0, classes in 3usize..=5) {
            let found = equal(&[highest], classes);
            let step = found[0];
            prop_assert!(found.iter().enumerate().all(|(i, v)| (v - step * (i + 1) as f64).abs() < 1e-5));
            prop_assert!(step * classes as f64 >= highest * (1.0 - 1e-9) - 1e-5 && found[classes - 2] < highest);
        }
    }
}
