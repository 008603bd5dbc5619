//! When the first adult can fly, from the oldest stage seen.

use super::development::{DegreeDays, SharpeDeMichele, degree_days_of};
use crate::survey::{DayTemperature, Stage};
use jiff::ToSpan as _;
use jiff::civil::Date;

/// The two species that the flight range and the growth of larvae are known for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Species {
    /// *Aedes albopictus*.
    #[default]
    Albopictus,
    /// *Aedes aegypti*.
    Aegypti,
}

impl std::str::FromStr for Species {
    type Err = crate::survey::UnknownWord;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim().to_ascii_lowercase().as_str() {
            "albopictus" => Ok(Self::Albopictus),
            "aegypti" => Ok(Self::Aegypti),
            _ => Err(crate::survey::UnknownWord { given: text.to_owned(), what: "a species", known: "albopictus, aegypti".to_owned() }),
        }
    }
}

/// Larvae of males of *Aedes albopictus*, which emerge first.
///
/// # Source
/// D. C. Calado and M. A. Navarro-Silva, Rev. Bras. Entomol. 46 (2002): 12.03 °C, 99.48 degree-days.
pub const ALBOPICTUS_LARVA: DegreeDays = DegreeDays { needed: 99.48, threshold: 12.03 };
/// Their pupae (as above: 11.87 °C, 32.40 degree-days).
pub const ALBOPICTUS_PUPA: DegreeDays = DegreeDays { needed: 32.40, threshold: 11.87 };
/// Larvae of females, which follow about a day later (as above).
pub const ALBOPICTUS_LARVA_FEMALE: DegreeDays = DegreeDays { needed: 110.11, threshold: 11.95 };
/// Their pupae (as above).
pub const ALBOPICTUS_PUPA_FEMALE: DegreeDays = DegreeDays { needed: 35.30, threshold: 11.60 };

impl Species {
    /// Its name as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Albopictus => "albopictus",
            Self::Aegypti => "aegypti",
        }
    }

    /// The share of the larval time that each of the four instars takes.
    ///
    /// # Source
    /// One thesis at 15 °C (Pingtung, adviser Chang N.-T.); taken as the same at all temperatures, which is weak.
    fn instars(self) -> [f64; 4] {
        // Days of L1 to L4 at 15 °C.
        let days: [f64; 4] = match self {
            Self::Albopictus => [5.3, 3.6, 4.4, 7.5],
            Self::Aegypti => [3.9, 2.4, 2.8, 6.8],
        };
        let all: f64 = days.iter().sum();
        days.map(|d| d / all)
    }

    /// The share of the larval time, and of the pupal time, that a day covers.
    fn rates(self, day: Warmth) -> [f64; 2] {
        let of_day = |of: DegreeDays| match day.range {
            Some((low, high)) if low < of.threshold && of.threshold < high => degree_days_of(low, high, of.threshold) / of.needed,
            _ => of.of_a_day(day.mean),
        };
        match self {
            Self::Albopictus => [ALBOPICTUS_LARVA, ALBOPICTUS_PUPA].map(of_day),
            Self::Aegypti => [SharpeDeMichele::AEGYPTI_LARVA, SharpeDeMichele::AEGYPTI_PUPA].map(|of| day.mean_of(|t| of.rate(t))),
        }
    }
}

/// How warm a day is: its mean, and its lowest and highest where they are known. A cool night does not take back what the
/// afternoon gave, so a day that swings round a threshold grows more than its mean says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warmth {
    /// The mean, degrees Celsius.
    pub mean: f64,
    /// The lowest and the highest.
    pub range: Option<(f64, f64)>,
}

impl Warmth {
    /// A day of which only the mean is known.
    pub fn mean(celsius: f64) -> Self {
        Self { mean: celsius, range: None }
    }

    /// The mean over the day of a rate that depends on the temperature, the day taken as a sine round its mean.
    fn mean_of(self, rate: impl Fn(f64) -> f64) -> f64 {
        /// Steps of half a day's wave, from its lowest to its highest; middles of an hour each.
        const STEPS: usize = 12;
        let Some((low, high)) = self.range else { return rate(self.mean) };
        let half = (high - low) / 2.0;
        let at = |k: usize| self.mean - half * (std::f64::consts::PI * (k as f64 + 0.5) / STEPS as f64).cos();
        (0..STEPS).map(|k| rate(at(k))).sum::<f64>() / STEPS as f64
    }

    /// The mean of some days: of their means, and of their ends where any has them.
    fn of_days<'d>(days: impl Iterator<Item = &'d DayTemperature>) -> Option<Self> {
        let (mut n, mut sum, mut ranged, mut low, mut high) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for day in days {
            (n, sum) = (n + 1.0, sum + day.mean);
            if let Some(ends) = day.range {
                (ranged, low, high) = (ranged + 1.0, low + ends.0, high + ends.1);
            }
        }
        (n > 0.0).then(|| Self { mean: sum / n, range: (ranged > 0.0).then(|| (low / ranged, high / ranged)) })
    }
}

/// Days until the first adult.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstAdult {
    /// When the oldest animal is just about to leave the stage that was seen. Deadlines go by this one.
    pub earliest: f64,
    /// When it is half-way through it.
    pub likely: f64,
    /// When it has only entered it.
    pub latest: f64,
}

/// What is left to grow, as shares of the larval and of the pupal time, from a point within a stage (0 entered, 1 leaving).
fn left(species: Species, stage: Stage, through: f64) -> [f64; 2] {
    let instars = species.instars();
    let at = match stage {
        Stage::L1 => 0,
        Stage::L2 => 1,
        Stage::L3 => 2,
        Stage::L4 => 3,
        Stage::Pupa => return [0.0, 1.0 - through],
    };
    [instars[at] * (1.0 - through) + instars[at + 1..].iter().sum::<f64>(), 1.0]
}

/// Days until the first adult at a constant temperature; `None` where it is too cold to grow. Larvae in the field, shaded or
/// short of food, are slower; water in the sun is warmer than the air.
///
/// # Source
/// Stage shares as stated at the species; *albopictus* by degree-days (Calado and Navarro-Silva 2002), *aegypti* by Focks et
/// al. (1993). Males, since they emerge first.
///
/// ```
/// use yardring_core::foresee::{Species, first_adult};
/// use yardring_core::survey::Stage;
/// let days = first_adult(Species::Albopictus, Stage::L4, 25.0).unwrap();
/// assert!((days.earliest - 2.47).abs() < 0.01 && (days.latest - 5.23).abs() < 0.01);
/// ```
pub fn first_adult(species: Species, stage: Stage, celsius: f64) -> Option<FirstAdult> {
    let [larva, pupa] = species.rates(Warmth::mean(celsius));
    let days = |through: f64| {
        let [of_larva, of_pupa] = left(species, stage, through);
        of_larva / larva + of_pupa / pupa
    };
    (larva > 1e-9 && pupa > 1e-9).then(|| FirstAdult { earliest: days(1.0), likely: days(0.5), latest: days(0.0) })
}

/// Days until the first adult when the temperature changes from day to day: `warmth` tells of each day from the first. `None`
/// when nothing emerges within `most` days.
pub fn first_adult_by_days(species: Species, stage: Stage, warmth: &dyn Fn(usize) -> Warmth, most: usize) -> Option<FirstAdult> {
    let days = |through: f64| grow(species, left(species, stage, through), warmth, most);
    Some(FirstAdult { earliest: days(1.0)?, likely: days(0.5)?, latest: days(0.0)? })
}

/// Days until both shares are used up, the larval first.
fn grow(species: Species, mut left: [f64; 2], warmth: &dyn Fn(usize) -> Warmth, most: usize) -> Option<f64> {
    for day in 0..most {
        let rates = species.rates(warmth(day));
        let mut rest = 1.0;
        for (left, rate) in left.iter_mut().zip(rates) {
            let covered = (rate * rest).min(*left);
            *left -= covered;
            if *left > 1e-12 {
                rest = 0.0;
                break;
            }
            rest -= if covered > 0.0 { covered / rate } else { 0.0 };
        }
        if left[0] <= 1e-12 && left[1] <= 1e-12 {
            return Some(day as f64 + 1.0 - rest);
        }
    }
    None
}

/// How warm any day is: as measured, or else the mean of all days measured in the same month, or a warm summer's day.
#[derive(Clone, Debug)]
pub struct Weather<'a> {
    days: &'a [DayTemperature],
    months: [Warmth; 12],
}

/// Degrees Celsius that are taken where a survey has no temperatures of a month: a warm summer's day, so that deadlines come early.
pub const WITHOUT_TEMPERATURES: f64 = 28.0;

impl<'a> Weather<'a> {
    /// From the measured days, oldest first.
    pub fn of(days: &'a [DayTemperature]) -> Self {
        let of_month = |m: usize| Warmth::of_days(days.iter().filter(|d| d.day.month() as usize == m + 1));
        Self { days, months: std::array::from_fn(|m| of_month(m).unwrap_or(Warmth::mean(WITHOUT_TEMPERATURES))) }
    }

    /// Whether there is any measured day.
    pub fn measured(&self) -> bool {
        !self.days.is_empty()
    }

    /// How warm a day is.
    pub fn on(&self, day: Date) -> Warmth {
        match self.days.binary_search_by_key(&day, |d| d.day) {
            Ok(i) => Warmth { mean: self.days[i].mean, range: self.days[i].range },
            Err(_) => self.months[day.month() as usize - 1],
        }
    }

    /// Days until the first adult from what was seen on a day; `None` when nothing emerges within 120 days.
    pub fn first_adult(&self, species: Species, stage: Stage, seen: Date) -> Option<FirstAdult> {
        let warmth = |day: usize| seen.checked_add((day as i64).days()).map_or(Warmth::mean(WITHOUT_TEMPERATURES), |d| self.on(d));
        first_adult_by_days(species, stage, &warmth, 120)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tables of the project's science notes, 5.3, worked out in Python 3 from the same published constants.
    #[test]
    fn agrees_with_the_worked_tables() {
        let rows = [
            (Species::Albopictus, Stage::L1, 20.0, [13.29, 14.88, 16.47]),
            (Species::Albopictus, Stage::L2, 25.0, [6.86, 7.52, 8.18]),
            (Species::Albopictus, Stage::L3, 30.0, [3.78, 4.37, 4.95]),
            (Species::Albopictus, Stage::Pupa, 25.0, [0.0, 1.23, 2.47]),
            (Species::Aegypti, Stage::L1, 25.0, [6.68, 7.34, 8.01]),
            (Species::Aegypti, Stage::L3, 25.0, [4.91, 5.38, 5.86]),
            (Species::Aegypti, Stage::Pupa, 30.0, [0.0, 0.84, 1.68]),
        ];
        for (species, stage, celsius, expected) in rows {
            let found = first_adult(species, stage, celsius).unwrap();
            let days = first_adult_by_days(species, stage, &|_| Warmth::mean(celsius), 60).unwrap();
            for (found, expected) in [found.earliest, found.likely, found.latest].into_iter().zip(expected) {
                assert!((found - expected).abs() < 0.011, "{species:?} {stage:?} {celsius}: {found} for {expected}");
            }
            assert!((found.earliest - days.earliest).abs() < 1e-9 && (found.latest - days.latest).abs() < 1e-9);
        }
        assert_eq!(first_adult(Species::Albopictus, Stage::L1, 11.0), None);
    }

    /// A fourth instar just entered, on days of 24 to 28 °C: emergence after 5.007 days (the same notes, worked example B).
    #[test]
    fn follows_the_weather() {
        let days = [24.0, 22.0, 27.0, 29.0, 26.0, 25.0, 28.0];
        let found = first_adult_by_days(Species::Albopictus, Stage::L4, &|d| Warmth::mean(days[d.min(6)]), 60).unwrap();
        assert!((found.latest - 5.007).abs() < 2e-3, "{found:?}");
        assert_eq!(first_adult_by_days(Species::Albopictus, Stage::L4, &|_| Warmth::mean(5.0), 60), None);
    }

    /// Days of 8 to 20 °C have 4.0653 degree-days above 10.4 (the same notes, 5.2); the shares of the larval and pupal
    /// time are held to the same wave taken moment by moment. The mean of 14 °C would have but 1.97 above the 12.03 of larvae.
    #[test]
    fn a_day_that_swings_round_the_threshold_grows_more_than_its_mean_says() {
        let swings = Warmth { mean: 14.0, range: Some((8.0, 20.0)) };
        let [larva, pupa] = Species::Albopictus.rates(swings);
        let wave = |threshold: f64| {
            let at = |k: usize| 14.0 + 6.0 * (std::f64::consts::TAU * (k as f64 + 0.5) / 1e5).sin();
            (0..100_000).map(|k| (at(k) - threshold).max(0.0)).sum::<f64>() / 1e5
        };
        assert!((larva * 99.48 - wave(12.03)).abs() < 1e-4 && (pupa * 32.40 - wave(11.87)).abs() < 1e-4);
        let mean = first_adult_by_days(Species::Albopictus, Stage::L3, &|_| Warmth::mean(14.0), 120).unwrap();
        let swung = first_adult_by_days(Species::Albopictus, Stage::L3, &|_| swings, 120).unwrap();
        assert!(swung.earliest < 0.8 * mean.earliest, "{swung:?} {mean:?}");
        // Of the other species the rate bends upwards where it is cool.
        let [cool, level] = [swings, Warmth::mean(14.0)].map(|d| Species::Aegypti.rates(d)[0]);
        assert!(cool > 1.02 * level && cool < 2.0 * level, "{cool} {level}");
    }

    #[test]
    fn unmeasured_days_take_the_months_mean() {
        let day = |d, mean| DayTemperature { day: jiff::civil::date(2025, 7, d), mean, range: None };
        let measured = [day(1, 20.0), day(2, 30.0)];
        let weather = Weather::of(&measured);
        assert_eq!([weather.on(jiff::civil::date(2025, 7, 2)), weather.on(jiff::civil::date(2025, 7, 9))], [30.0, 25.0].map(Warmth::mean));
        // A month without a measured day is no mean of the others: January would take July's deadline away.
        assert_eq!(weather.on(jiff::civil::date(2025, 8, 2)), Warmth::mean(WITHOUT_TEMPERATURES));
        assert_eq!(Weather::of(&[]).on(jiff::civil::date(2025, 1, 1)), Warmth::mean(WITHOUT_TEMPERATURES));
    }
}
