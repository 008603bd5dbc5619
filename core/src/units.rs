//! Quantities with their unit in the type, so that metres and yards cannot meet unseen.

use std::fmt;
use std::str::FromStr;

/// Metres in one international yard. Source: international yard and pound agreement, 1959.
pub const METRES_PER_YARD: f64 = 0.9144;
/// Metres in one statute mile of 1,760 international yards.
pub const METRES_PER_MILE: f64 = 1609.344;

/// A length on the ground, in metres.
///
/// ```
/// use yardring_core::units::Metres;
/// let radius: Metres = "150yd".parse()?;
/// assert!((radius.0 - 137.16).abs() < 1e-9);
/// assert_eq!("0.5 mi".parse::<Metres>()?.0, 804.672);
/// # Ok::<(), yardring_core::units::LengthError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Metres(pub f64);

impl Metres {
    /// The same length in international yards.
    pub fn yards(self) -> f64 {
        self.0 / METRES_PER_YARD
    }

    /// A length given in international yards.
    pub fn from_yards(yards: f64) -> Self {
        Self(yards * METRES_PER_YARD)
    }
}

impl fmt::Display for Metres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} m", self.0)
    }
}

/// Why a text is not a length.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{given}' is not a length: write a number above 0 and its unit, as 150m, 150yd or 0.5mi")]
pub struct LengthError {
    /// The text as it was given.
    pub given: String,
}

impl FromStr for Metres {
    type Err = LengthError;

    fn from_str(text: &str) -> Result<Self, LengthError> {
        let wrong = || LengthError { given: text.to_owned() };
        let trimmed = text.trim();
        let split = trimmed.find(|c: char| c.is_ascii_alphabetic()).ok_or_else(wrong)?;
        let factor = match trimmed[split..].trim() {
            "m" => 1.0,
            "yd" => METRES_PER_YARD,
            "mi" => METRES_PER_MILE,
            "km" => 1000.0,
            "cm" => 0.01,
            "ft" => METRES_PER_YARD / 3.0,
            "in" => METRES_PER_YARD / 36.0,
            _ => return Err(wrong()),
        };
        let number: f64 = trimmed[..split].trim().parse().map_err(|_| wrong())?;
        if number.is_finite() && number > 0.0 { Ok(Self(number * factor)) } else { Err(wrong()) }
    }
}

/// An area on the ground, in square metres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct SquareMetres(pub f64);

impl SquareMetres {
    /// The same area in hectares (10,000 m² each).
    pub fn hectares(self) -> f64 {
        self.0 / 10_000.0
    }
}

impl fmt::Display for SquareMetres {
    /// Square metres below one hectare, hectares above, with a decimal below a hundred of them: "640 m²", "2.5 ha", "10,112 ha".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.hectares() {
            ha if ha < 1.0 => write!(f, "{:.0} m²", self.0),
            ha if ha < 99.95 => write!(f, "{ha:.1} ha"),
            ha => write!(f, "{} ha", grouped(ha.round() as u64)),
        }
    }
}

/// A whole number with a comma between thousands: "1,853".
pub fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_the_three_units_of_the_trade() {
        assert_eq!("150m".parse(), Ok(Metres(150.0)));
        assert_eq!(" 150 yd ".parse(), Ok(Metres(137.16)));
        assert_eq!("1mi".parse(), Ok(Metres(1609.344)));
    }

    #[test]
    fn areas_are_said_shortly() {
        let said = [640.0, 25_000.0, 101_120_400.0].map(|m| SquareMetres(m).to_string());
        assert_eq!(said, ["640 m²", "2.5 ha", "10,112 ha"]);
    }

    #[test]
    fn refuses_what_is_no_length() {
        for bad in ["", "150", "yd", "-5m", "0m", "NaNm", "1 furlong", "infm"] {
            assert!(bad.parse::<Metres>().is_err(), "{bad}");
        }
    }
}
