//! Bands that programmes read indices by. They are conventions, not biology: every one carries the name of its scheme.

use super::Counts;

/// What must stand beside every band.
pub const CONVENTION: &str = "A programme's convention, not biology: transmission has been seen below every such limit.";

/// A scheme of bands for one index.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scheme {
    /// Its name, to be printed beside every colour and word.
    pub name: &'static str,
    /// The index it reads: per 100.
    pub index: &'static str,
    /// Words of the bands from below, and the value from which each holds.
    pub bands: &'static [(f64, &'static str)],
}

/// Schemes in use. A district may edit its own; none is law in the United States.
///
/// # Source
/// Brazil: rapid survey bulletins (printed with gaps, here compared unrounded); WHO: dengue and yellow fever, Breteau 5 in
/// use, 50 from memory; PAHO: Sci. Publ. 548 (1994), from memory.
pub const SCHEMES: [Scheme; 3] = [
    Scheme { name: "Brazilian rapid survey", index: "house index", bands: &[(0.0, "satisfactory"), (1.0, "alert"), (4.0, "risk")] },
    Scheme { name: "WHO, Breteau index", index: "Breteau index", bands: &[(0.0, "low"), (5.0, "between"), (50.0, "high")] },
    Scheme { name: "PAHO 1994, house index", index: "house index", bands: &[(0.0, "low"), (0.1, "medium"), (5.0, "high")] },
];

impl Scheme {
    /// The word for a group by the index that the scheme reads; `None` when nobody was inspected.
    pub fn of(&self, counts: &Counts) -> Option<&'static str> {
        let index = if self.index == "house index" { counts.house_index() } else { counts.breteau_index() };
        index.and_then(|v| self.word(v))
    }

    /// The word for an index, compared as it is, not rounded; `None` below 0.
    ///
    /// ```
    /// use yardring_core::measure::SCHEMES;
    /// assert_eq!(SCHEMES[0].word(3.99), Some("alert"));
    /// ```
    pub fn word(&self, index: f64) -> Option<&'static str> {
        self.bands.iter().rev().find(|b| index >= b.0).map(|b| b.1)
    }
}

/// An index of which the World Health Organization's density figure is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DensityOf {
    /// House index.
    House,
    /// Container index.
    Container,
    /// Breteau index.
    Breteau,
}

/// The density figure 1 to 9 of one index per 100; 0 for nothing found. Above 0 but below the table counts as 1. Values are
/// rounded to the nearest whole number first, halves up, since the table has whole numbers only.
///
/// # Source
/// WHO (1972) table, read in two copies of it; the rounding is this program's convention.
///
/// ```
/// use yardring_core::measure::{DensityOf, density_figure};
/// assert_eq!(density_figure(DensityOf::Breteau, 85.0), 7);
/// ```
pub fn density_figure(of: DensityOf, index: f64) -> u8 {
    let from: [f64; 9] = match of {
        DensityOf::House => [1.0, 4.0, 8.0, 18.0, 29.0, 38.0, 50.0, 60.0, 77.0],
        DensityOf::Container => [1.0, 3.0, 6.0, 10.0, 15.0, 21.0, 28.0, 32.0, 41.0],
        DensityOf::Breteau => [1.0, 5.0, 10.0, 20.0, 35.0, 50.0, 75.0, 100.0, 200.0],
    };
    if index <= 0.0 {
        return 0;
    }
    let rounded = (index + 0.5).floor();
    from.iter().filter(|f| rounded >= **f).count().max(1) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published surveys read by the table: Tanjungpinang 2020 (6, 4, 7 and 6, 4, 6).
    #[test]
    fn agrees_with_published_readings() {
        let three =
            |h, c, b| [(DensityOf::House, h), (DensityOf::Container, c), (DensityOf::Breteau, b)].map(|(of, v)| density_figure(of, v));
        assert_eq!([three(45.0, 12.6, 76.0), three(38.8, 12.6, 68.0)], [[6, 4, 7], [6, 4, 6]]);
        assert_eq!([density_figure(DensityOf::House, 0.0), density_figure(DensityOf::House, 0.2)], [0, 1]);
        assert!(SCHEMES.iter().all(|s| s.word(-1.0).is_none() && s.word(1e9).is_some()));
    }
}
