//! Arithmetic on a rate that somebody typed from a product's label. No product and no rate is kept here: the label is the law.

use super::Water;
use std::str::FromStr;

/// Square metres in one acre. Source: 43,560 square feet of 0.3048 m, exact.
const SQUARE_METRES_PER_ACRE: f64 = 4_046.856_422_4;
/// Grams in one avoirdupois pound, exact.
const GRAMS_PER_POUND: f64 = 453.592_37;

/// What must stand beside every quantity.
pub const CAUTIONS: [&str; 5] = [
    "This is arithmetic on the rate you typed. The product's label is the law: read it before every use.",
    "Wear what the label asks for. Only a licensed applicator where the law says so; local codes first.",
    "No treatment of drinking water or of ponds with fish unless the label allows it.",
    "Larvicides do not stop pupae: tip the water out, or ask what the label says of pupae.",
    "Enter no yard without permission or other lawful authority.",
];

/// The unit in which a label gives its rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RateUnit {
    /// Kilograms of product a hectare.
    KilogramsPerHectare,
    /// Pounds of product an acre.
    PoundsPerAcre,
    /// Grams of product a square metre.
    GramsPerSquareMetre,
    /// Litres of product a hectare.
    LitresPerHectare,
    /// US gallons of product an acre.
    GallonsPerAcre,
    /// Grams of product a cubic metre of water.
    GramsPerCubicMetre,
    /// Milligrams of active ingredient a litre of water.
    MilligramsActivePerLitre,
}

impl RateUnit {
    /// Every unit with the way it is written.
    pub const ALL: [(Self, &'static str); 7] = [
        (Self::KilogramsPerHectare, "kg/ha"),
        (Self::PoundsPerAcre, "lb/acre"),
        (Self::GramsPerSquareMetre, "g/m2"),
        (Self::LitresPerHectare, "L/ha"),
        (Self::GallonsPerAcre, "gal/acre"),
        (Self::GramsPerCubicMetre, "g/m3"),
        (Self::MilligramsActivePerLitre, "mg/L"),
    ];

    /// The unit as it is written.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|u| u.0 == self).map_or("", |u| u.1)
    }
}

impl FromStr for RateUnit {
    type Err = crate::survey::UnknownWord;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let known = || Self::ALL.map(|u| u.1).join(", ");
        let found = Self::ALL.iter().find(|u| u.1.eq_ignore_ascii_case(text.trim())).map(|u| u.0);
        found.ok_or_else(|| crate::survey::UnknownWord { given: text.to_owned(), what: "a unit of a label's rate", known: known() })
    }
}

/// A rate typed from a label, with the range that the label allows for the place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LabelRate {
    /// The rate to use.
    pub rate: f64,
    /// The least that the label allows.
    pub lowest: f64,
    /// The most that the label allows.
    pub highest: f64,
    /// The unit of all three.
    pub unit: RateUnit,
    /// The share of the product that is active ingredient, 0 to 1; needed where the rate is one of active ingredient.
    pub active_share: Option<f64>,
}

/// How much product.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// Grams.
    Grams(f64),
    /// Millilitres.
    Millilitres(f64),
}

/// Why no quantity is given.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LabelError {
    /// A rate or a limit is not above 0.
    #[error("the {what} must be more than 0; found {found}")]
    NotARate {
        /// Which number.
        what: &'static str,
        /// What was given.
        found: f64,
    },
    /// The rate lies outside the label's range.
    #[error("the rate {rate} {unit} lies outside the label's range of {lowest} to {highest} {unit}")]
    OutOfRange {
        /// The rate.
        rate: f64,
        /// The unit.
        unit: &'static str,
        /// The least allowed.
        lowest: f64,
        /// The most allowed.
        highest: f64,
    },
    /// The lowest rate of the label lies above the highest.
    #[error("the label's lowest rate ({lowest} {unit}) lies above its highest ({highest} {unit})")]
    UpsideDown {
        /// The unit.
        unit: &'static str,
        /// What was given as the least allowed.
        lowest: f64,
        /// What was given as the most allowed.
        highest: f64,
    },
    /// The share of active ingredient is needed and missing, or no share.
    #[error("a rate in mg/L is one of active ingredient: its share of the product is needed, more than 0 and at most 1")]
    ActiveShare,
}

impl crate::error::Hint for LabelError {
    fn hint(&self) -> String {
        "Type the rate, its range and its unit from the label of the product in your hand".to_owned()
    }
}

impl LabelRate {
    fn check(&self) -> Result<(), LabelError> {
        for (what, found) in [("rate", self.rate), ("label's lowest rate", self.lowest), ("label's highest rate", self.highest)] {
            if !(found > 0.0 && found.is_finite()) {
                return Err(LabelError::NotARate { what, found });
            }
        }
        let Self { rate, lowest, highest, unit, .. } = *self;
        if lowest > highest {
            return Err(LabelError::UpsideDown { unit: unit.word(), lowest, highest });
        }
        let inside = rate >= lowest && rate <= highest;
        if inside { Ok(()) } else { Err(LabelError::OutOfRange { rate, unit: unit.word(), lowest, highest }) }
    }

    /// The amount of product for some water.
    ///
    /// # Errors
    /// [`LabelError`] when a number is missing or lies outside the label's range.
    ///
    /// # Source
    /// Unit factors; acre and pound are exact.
    ///
    /// ```
    /// use yardring_core::measure::{Amount, LabelRate, RateUnit, Water};
    /// use yardring_core::units::SquareMetres;
    /// let rate = LabelRate { rate: 10.0, lowest: 5.0, highest: 20.0, unit: RateUnit::KilogramsPerHectare, active_share: None };
    /// let pond = Water { litres: 1884.96, surface: SquareMetres(4.7124) };
    /// assert_eq!(rate.amount(&pond), Ok(Amount::Grams(4.7124)));
    /// ```
    pub fn amount(&self, water: &Water) -> Result<Amount, LabelError> {
        self.check()?;
        let (rate, area) = (self.rate, water.surface.0);
        Ok(match self.unit {
            RateUnit::KilogramsPerHectare => Amount::Grams(rate * area / 10.0),
            RateUnit::PoundsPerAcre => Amount::Grams(rate * GRAMS_PER_POUND * area / SQUARE_METRES_PER_ACRE),
            RateUnit::GramsPerSquareMetre => Amount::Grams(rate * area),
            RateUnit::LitresPerHectare => Amount::Millilitres(rate * area / 10.0),
            RateUnit::GallonsPerAcre => Amount::Millilitres(rate * 1000.0 * super::LITRES_PER_GALLON * area / SQUARE_METRES_PER_ACRE),
            RateUnit::GramsPerCubicMetre => Amount::Grams(rate * water.litres / 1000.0),
            RateUnit::MilligramsActivePerLitre => {
                let share = self.active_share.filter(|s| *s > 0.0 && *s <= 1.0).ok_or(LabelError::ActiveShare)?;
                Amount::Grams(rate * water.litres / 1000.0 / share)
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::SquareMetres;

    fn rate(rate: f64, unit: RateUnit) -> LabelRate {
        LabelRate { rate, lowest: 0.1, highest: 50.0, unit, active_share: None }
    }

    /// Worked out in Python 3 from unit factors (the project's science notes, 8.3).
    #[test]
    fn agrees_with_worked_amounts() {
        let water = |square_metres| Water { litres: 100.0, surface: SquareMetres(square_metres) };
        let grams = |amount| match amount {
            Ok(Amount::Grams(n) | Amount::Millilitres(n)) => n,
            Err(e) => panic!("{e}"),
        };
        assert!((grams(rate(5.0, RateUnit::PoundsPerAcre).amount(&water(120.0 * 0.092_903_04))) - 6.2478).abs() < 1e-4);
        assert!((grams(rate(0.2, RateUnit::GallonsPerAcre).amount(&water(4.7124))) - 0.8816).abs() < 1e-4);
        assert!((grams(rate(1.0, RateUnit::GallonsPerAcre).amount(&water(4.7124))) - 4.4079).abs() < 1e-3);
    }

    #[test]
    fn refuses_what_the_label_does_not_allow() {
        let water = Water { litres: 10.0, surface: SquareMetres(1.0) };
        let told = |r: LabelRate| r.amount(&water).unwrap_err().to_string();
        assert!(told(rate(60.0, RateUnit::KilogramsPerHectare)).contains("outside the label's range of 0.1 to 50 kg/ha"));
        assert!(told(rate(0.0, RateUnit::KilogramsPerHectare)).contains("more than 0"));
        assert!(told(rate(1.0, RateUnit::MilligramsActivePerLitre)).contains("active ingredient"));
        assert!("oz/yd".parse::<RateUnit>().unwrap_err().to_string().contains("lb/acre"));
    }
}
