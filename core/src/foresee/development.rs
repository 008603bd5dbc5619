//! How fast larvae grow: days from temperature, by three models and for two species.

/// Degree-days above a threshold.
///
/// # Source
/// Linear development, common practice; holds from about 18 to 30 °C and promises too much outside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DegreeDays {
    /// Degree-days needed.
    pub needed: f64,
    /// Degrees Celsius at and below which nothing grows.
    pub threshold: f64,
}

impl DegreeDays {
    /// Days at a constant temperature; `None` at or below the threshold.
    ///
    /// ```
    /// use yardring_core::foresee::DegreeDays;
    /// let whole = DegreeDays { needed: 181.2, threshold: 8.3 };
    /// assert!((whole.days(25.0).unwrap() - 10.85).abs() < 1e-2);
    /// ```
    pub fn days(self, celsius: f64) -> Option<f64> {
        (celsius > self.threshold).then(|| self.needed / (celsius - self.threshold))
    }

    /// The share of the stage that a day of some mean temperature covers.
    pub fn of_a_day(self, mean: f64) -> f64 {
        (mean - self.threshold).max(0.0) / self.needed
    }
}

/// Degree-days of one day above a threshold when the temperature swings between its lowest and its highest as a sine.
///
/// # Source
/// G. L. Baskerville and P. Emin, Ecology 50 (1969), 514–517, from memory.
pub fn degree_days_of(lowest: f64, highest: f64, threshold: f64) -> f64 {
    let (middle, half) = (f64::midpoint(lowest, highest), (highest - lowest) / 2.0);
    if lowest >= threshold || half <= 0.0 {
        return (middle - threshold).max(0.0);
    }
    if highest <= threshold {
        return 0.0;
    }
    let turn = ((threshold - middle) / half).asin();
    ((middle - threshold) * (std::f64::consts::FRAC_PI_2 - turn) + half * turn.cos()) / std::f64::consts::PI
}

/// A rate that rises with temperature and falls steeply before the heat kills.
///
/// # Source
/// J.-F. Brière et al., Environ. Entomol. 28 (1999), 22–29: c T (T − T0) √(Tm − T); from memory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Briere {
    /// The factor c.
    pub c: f64,
    /// Degrees Celsius at and below which nothing grows.
    pub t0: f64,
    /// Degrees Celsius at and above which nothing grows.
    pub tm: f64,
}

impl Briere {
    /// *Aedes albopictus*, hatched larva to adult. Constants of Mordecai et al., PLoS Negl. Trop. Dis. 11 (2017) e0005568, from memory.
    pub const ALBOPICTUS: Self = Self { c: 6.38e-5, t0: 8.60, tm: 39.66 };
    /// *Aedes aegypti*, as above.
    pub const AEGYPTI: Self = Self { c: 7.86e-5, t0: 11.36, tm: 39.17 };

    /// The share of the development that a day covers; 0 outside the range.
    pub fn rate(self, celsius: f64) -> f64 {
        let inside = celsius > self.t0 && celsius < self.tm;
        if inside { self.c * celsius * (celsius - self.t0) * (self.tm - celsius).sqrt() } else { 0.0 }
    }

    /// Days at a constant temperature; `None` outside the range.
    pub fn days(self, celsius: f64) -> Option<f64> {
        let rate = self.rate(celsius);
        (rate > 0.0).then(|| 1.0 / rate)
    }
}

/// A rate from the chemistry of one enzyme, slowed by heat.
///
/// # Source
/// P. J. H. Sharpe and D. W. DeMichele, J. Theor. Biol. 64 (1977), 649–670, as written by R. M. Schoolfield et al., J. Theor.
/// Biol. 88 (1981), 719–731; from memory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SharpeDeMichele {
    /// Rate at 25 °C, per day.
    pub rho25: f64,
    /// Enthalpy of activation, calories per mole.
    pub activation: f64,
    /// The temperature, in kelvins, at which half of the enzyme is stopped by heat.
    pub half_hot: f64,
    /// Enthalpy of that, calories per mole.
    pub heat: f64,
}

/// The gas constant in calories per kelvin and mole, as the published fits use it.
const GAS: f64 = 1.987;

impl SharpeDeMichele {
    /// *Aedes aegypti* larvae (Focks et al., J. Med. Entomol. 30 (1993), 1003–1017; per hour there; from memory).
    pub const AEGYPTI_LARVA: Self = Self { rho25: 0.00873 * 24.0, activation: 26_018.51, half_hot: 304.58, heat: 55_990.75 };
    /// *Aedes aegypti* pupae, as above.
    pub const AEGYPTI_PUPA: Self = Self { rho25: 0.01610 * 24.0, activation: 14_931.94, half_hot: 148.45, heat: -472_379.0 };

    /// The share of the stage that a day covers; 0 where it cannot be reckoned.
    pub fn rate(self, celsius: f64) -> f64 {
        let t = celsius + 273.15;
        if t <= 0.0 {
            return 0.0;
        }
        let power = |x: f64| x.clamp(-700.0, 700.0).exp();
        let up = self.rho25 * t / 298.15 * power(self.activation / GAS * (1.0 / 298.15 - 1.0 / t));
        up / (1.0 + power(self.heat / GAS * (1.0 / self.half_hot - 1.0 / t)))
    }

    /// Days at a constant temperature; `None` when the rate is nothing.
    pub fn days(self, celsius: f64) -> Option<f64> {
        let rate = self.rate(celsius);
        (rate > 1e-9).then(|| 1.0 / rate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out by the formulas in Python 3 (the project's science notes, 5.2).
    #[test]
    fn agrees_with_worked_examples() {
        let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-3 * expected.max(1.0), "{found} for {expected}");
        near(degree_days_of(8.0, 20.0, 10.4), 4.0653);
        near(degree_days_of(15.0, 30.0, 10.4), 12.1);
        near(degree_days_of(2.0, 9.0, 10.4), 0.0);
        for (t, albopictus, aegypti) in [(15.0, 32.88, 47.40), (20.0, 15.50, 16.82), (28.0, 8.450, 8.170), (35.0, 7.858, 7.530)] {
            near(Briere::ALBOPICTUS.days(t).unwrap(), albopictus);
            near(Briere::AEGYPTI.days(t).unwrap(), aegypti);
        }
        for (t, larva, pupa) in [(20.0, 10.545, 4.046), (25.0, 5.422, 2.588), (30.0, 3.745, 1.680)] {
            near(SharpeDeMichele::AEGYPTI_LARVA.days(t).unwrap(), larva);
            near(SharpeDeMichele::AEGYPTI_PUPA.days(t).unwrap(), pupa);
        }
        assert_eq!(DegreeDays { needed: 100.0, threshold: 12.0 }.days(12.0), None);
    }
}
