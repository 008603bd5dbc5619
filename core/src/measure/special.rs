//! Functions that the intervals need and the language lacks: gamma, beta, normal, Student, Poisson.

use std::f64::consts::PI;
use std::sync::OnceLock;

/// Steps after which a series or a continued fraction is taken as it is. Large arguments need about their square root.
const STEPS: u32 = 20_000;

/// The coefficients of Lanczos' series for g = 7.
///
/// # Source
/// C. Lanczos, SIAM J. Numer. Anal. Ser. B 1 (1964), 86–96; these nine digits strings from memory.
const LANCZOS: [f64; 9] = [
    0.999_999_999_999_809_9,
    676.520_368_121_885_1,
    -1_259.139_216_722_402_8,
    771.323_428_777_653_1,
    -176.615_029_162_140_6,
    12.507_343_278_686_905,
    -0.138_571_095_265_720_12,
    9.984_369_578_019_572e-6,
    1.505_632_735_149_311_6e-7,
];

/// The natural logarithm of the gamma function of a number above 0.
pub(crate) fn ln_gamma(x: f64) -> f64 {
    if x < 0.5 {
        return (PI / (PI * x).sin()).ln() - ln_gamma(1.0 - x);
    }
    let x = x - 1.0;
    let t = x + 7.5;
    let series = LANCZOS.iter().enumerate().skip(1).fold(LANCZOS[0], |sum, (i, c)| sum + c / (x + i as f64));
    0.5 * (2.0 * PI).ln() + (x + 0.5) * t.ln() - t + series.ln()
}

/// The logarithm of the number of ways to choose `k` of `n`.
pub(crate) fn ln_choose(n: u64, k: u64) -> f64 {
    ln_gamma(n as f64 + 1.0) - ln_gamma(k as f64 + 1.0) - ln_gamma((n - k) as f64 + 1.0)
}

/// A continued fraction b0 + a1/(b1 + a2/(b2 + …)) by the modified Lentz method; `term` gives (a, b) of each step from 1.
fn fraction(b0: f64, term: impl Fn(u32) -> (f64, f64)) -> f64 {
    let away = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let mut value = away(b0);
    let (mut c, mut d) = (value, 0.0);
    for step in 1..STEPS {
        let (a, b) = term(step);
        d = 1.0 / away(b + a * d);
        c = away(b + a / c);
        value *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
    }
    value
}

/// The regularised incomplete beta function: the share of a beta distribution (a, b) below `x`.
///
/// # Source
/// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.5.8, the continued fraction.
pub(crate) fn beta_below(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return if x <= 0.0 { 0.0 } else { 1.0 };
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_below(1.0 - x, b, a);
    }
    let front = ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (1.0 - x).ln();
    let below = fraction(1.0, |step| {
        let m = f64::from(step / 2);
        let top = if step % 2 == 0 { m * (b - m) * x } else { -(a + m) * (a + b + m) * x };
        (top / ((a + f64::from(step) - 1.0) * (a + f64::from(step))), 1.0)
    });
    front.exp() / (a * below)
}

/// The point below which a share of a beta distribution (a, b) lies.
pub(crate) fn beta_point(share: f64, a: f64, b: f64) -> f64 {
    crossing(0.0, 1.0, |x| beta_below(x, a, b) - share)
}

/// The share of a gamma distribution of shape `a` and scale 1 above `x`.
///
/// # Source
/// Abramowitz and Stegun (1964), 6.5.29 (series) and 6.5.31 (continued fraction).
pub(crate) fn gamma_above(x: f64, a: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for step in 1..STEPS {
            term *= x / (a + f64::from(step));
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        return 1.0 - front * sum;
    }
    let below = fraction(x + 1.0 - a, |step| {
        let n = f64::from(step);
        (-n * (n - a), x + 2.0 * n + 1.0 - a)
    });
    front / below
}

/// The share of the standard normal distribution above `z`.
pub(crate) fn normal_above(z: f64) -> f64 {
    let tail = 0.5 * gamma_above(z * z / 2.0, 0.5);
    if z >= 0.0 { tail } else { 1.0 - tail }
}

/// How many standard deviations hold a share of the normal distribution between them: 1.96 for 0.95.
pub(crate) fn normal_reach(confidence: f64) -> f64 {
    // Thousands of blocks ask for this one.
    static USUAL: OnceLock<f64> = OnceLock::new();
    if (confidence - 0.95).abs() < f64::EPSILON {
        return *USUAL.get_or_init(|| normal_point(0.975));
    }
    normal_point(f64::midpoint(1.0, confidence))
}

/// The point below which a share of the standard normal distribution lies.
pub(crate) fn normal_point(share: f64) -> f64 {
    if share < 0.5 {
        return -normal_point(1.0 - share);
    }
    crossing(0.0, 40.0, |z| (1.0 - share) - normal_above(z))
}

/// How many standard errors hold a share of Student's distribution with some degrees of freedom between them.
pub(crate) fn student_reach(confidence: f64, freedom: f64) -> f64 {
    // Thousands of blocks ask for the same few of them: they are found once.
    static KNOWN: [OnceLock<f64>; 256] = [const { OnceLock::new() }; 256];
    let find = || {
        let x = beta_point(1.0 - confidence, freedom / 2.0, 0.5);
        (freedom * (1.0 - x) / x).sqrt()
    };
    let whole = freedom.fract() == 0.0 && freedom >= 0.0 && (confidence - 0.95).abs() < f64::EPSILON;
    let kept = KNOWN.get(freedom as usize).filter(|_| whole);
    kept.map_or_else(find, |kept| *kept.get_or_init(find))
}

/// The exact limits of a Poisson mean of which `count` were seen.
///
/// # Source
/// F. Garwood, Biometrika 28 (1936), 437–442; by the gamma distribution, from memory.
pub(crate) fn poisson_limits(count: u64, confidence: f64) -> (f64, f64) {
    let (n, tail) = (count as f64, (1.0 - confidence) / 2.0);
    let far = n + 20.0 + 40.0 * (n + 1.0).sqrt();
    let low = if count == 0 { 0.0 } else { crossing(0.0, far, |x| (1.0 - tail) - gamma_above(x, n)) };
    (low, crossing(0.0, far, |x| tail - gamma_above(x, n + 1.0)))
}

/// Where a rising function crosses 0 between two places, by halving.
pub(crate) fn crossing(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if rising(middle) < 0.0 { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64) {
        assert!((found - expected).abs() <= 1e-10 * expected.abs().max(1e-3), "{found} for {expected}");
    }

    /// Values of scipy 1.17.1 (`special`, `stats`).
    #[test]
    fn agrees_with_scipy() {
        near(ln_gamma(0.1), 2.252712651734206);
        near(ln_gamma(0.5), 0.5723649429247);
        near(ln_gamma(1.0), 0.0);
        near(ln_gamma(3.7), 1.428072326665388);
        near(ln_gamma(60.0), 184.53382886144948);
        near(ln_gamma(1000000.0), 12815504.569147611);
        near(beta_below(0.3, 2.0, 5.0), 0.5798250000000003);
        near(beta_below(0.05, 7.0, 134.0), 0.5541223310477177);
        near(beta_below(0.9, 0.5, 0.5), 0.7951672353008665);
        near(beta_below(0.4, 4000.0, 6000.0), 0.5005428998724504);
        near(beta_below(0.001, 0.5, 300.0), 0.5613457311299086);
        near(beta_point(0.025, 15.0, 134.0), 0.05784401008344857);
        near(beta_point(0.975, 16.0, 133.0), 0.161650490349479);
        near(beta_point(0.025, 1.0, 29.0), 0.000872646883579922);
        near(beta_point(0.5, 0.5, 0.5), 0.4999999999999999);
        near(gamma_above(0.5, 0.5), 0.31731050786291115);
        near(gamma_above(12.0, 3.0), 0.0005222580500328981);
        near(gamma_above(3.0, 12.0), 0.9999286133710258);
        near(gamma_above(900.0, 1000.0), 0.9994500977342882);
        near(normal_above(-1.0), 0.8413447460685429);
        near(normal_above(0.5), 0.3085375387259869);
        near(normal_above(1.96), 0.024997895148220435);
        near(normal_above(6.0), 9.865876450376946e-10);
        near(normal_point(0.975), 1.959963984540054);
        near(normal_point(0.01), -2.3263478740408408);
        near(normal_point(0.9999), 3.719016485455709);
        near(student_reach(0.95, 1.0), 12.706204736174694);
        near(student_reach(0.95, 7.0), 2.364624251592784);
        near(student_reach(0.95, 19.0), 2.0930240544083087);
        near(student_reach(0.95, 59.0), 2.000995378088267);
        near(ln_choose(60, 20), 35.971917248160736);
        let (low, high) = poisson_limits(0, 0.95);
        near(low, 0.0);
        near(high, 3.6888794541139354);
        let (low, high) = poisson_limits(1, 0.95);
        near(low, 0.025317807984289876);
        near(high, 5.571643390938898);
        let (low, high) = poisson_limits(17, 0.95);
        near(low, 9.903126469607294);
        near(high, 27.218646815906613);
        let (low, high) = poisson_limits(334, 0.95);
        near(low, 299.1367036320307);
        near(high, 371.8107908205692);
    }
}
