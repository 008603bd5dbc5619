//! A polynomial in place of a coordinate transformation, proven over the extent of the data.

/// Chebyshev nodes on a side; also one more than the highest degree in either coordinate.
const NODES: usize = 14;
/// Highest total degree tried.
const HIGHEST: usize = 11;
/// Places on a side of the grid on which a fit is checked, its edges included.
const CHECKED: usize = 24;

/// Two polynomials of total degree `degree` in coordinates scaled to −1..1 over a box.
///
/// # Source
/// Interpolation at Chebyshev nodes by discrete orthogonality: T. J. Rivlin, Chebyshev Polynomials (1990), section 4.1; from
/// memory.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fit {
    centre: [f64; 2],
    half: [f64; 2],
    degree: usize,
    /// Coefficients of x^i y^j, i from the degree down, then j from degree − i down; both answers beside each other.
    terms: Vec<[f64; 2]>,
}

impl Fit {
    /// The polynomial of least degree that keeps within `tolerance` of `exact`, in the unit of its answers, on a grid finer
    /// than the one it was made from; `None` when there is none, or when `exact` has no answer somewhere in the box.
    pub(super) fn new(extent: [[f64; 2]; 2], tolerance: f64, exact: impl Fn([f64; 2]) -> Option<[f64; 2]>) -> Option<Self> {
        let centre = [0, 1].map(|k| f64::midpoint(extent[0][k], extent[1][k]));
        let half = [0, 1].map(|k| ((extent[1][k] - extent[0][k]) / 2.0).max(centre[k].abs() * 1e-9 + 1e-9));
        if !(centre.iter().chain(&half).all(|v| v.is_finite())) {
            return None;
        }
        let at = |u: f64, v: f64| exact([centre[0] + half[0] * u, centre[1] + half[1] * v]);
        let series = chebyshev_series(at)?;
        let check = check_grid(at)?;
        (2..=HIGHEST).find_map(|degree| {
            let fit = Self { centre, half, degree, terms: monomials(&series, degree) };
            (fit.worst_error(&check) <= tolerance).then_some(fit)
        })
    }

    /// Whether a place lies in the box for which the fit was proven.
    #[inline]
    pub(super) fn covers(&self, p: [f64; 2]) -> bool {
        (p[0] - self.centre[0]).abs() <= self.half[0] && (p[1] - self.centre[1]).abs() <= self.half[1]
    }

    /// The fitted answer at a place.
    #[inline]
    pub(super) fn at(&self, p: [f64; 2]) -> [f64; 2] {
        self.scaled([(p[0] - self.centre[0]) / self.half[0], (p[1] - self.centre[1]) / self.half[1]])
    }

    /// Horner's rule in y inside Horner's rule in x.
    #[inline]
    fn scaled(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        let mut sum = [0.0; 2];
        let mut terms = self.terms.as_slice();
        for length in 1..=self.degree + 1 {
            let (row, rest) = terms.split_at(length);
            terms = rest;
            let inner = row.iter().fold([0.0; 2], |s, c| [s[0] * v + c[0], s[1] * v + c[1]]);
            sum = [sum[0] * u + inner[0], sum[1] * u + inner[1]];
        }
        sum
    }

    fn worst_error(&self, check: &[([f64; 2], [f64; 2])]) -> f64 {
        let off = |(uv, wanted): &([f64; 2], [f64; 2])| {
            let got = self.scaled(*uv);
            (got[0] - wanted[0]).hypot(got[1] - wanted[1])
        };
        check.iter().map(off).fold(0.0, f64::max)
    }
}

/// Places of a regular grid in −1..1, shifted in rows so that no line of it meets the nodes, with the exact answers.
fn check_grid(at: impl Fn(f64, f64) -> Option<[f64; 2]>) -> Option<Vec<([f64; 2], [f64; 2])>> {
    let step = |i: usize| 2.0 * i as f64 / (CHECKED - 1) as f64 - 1.0;
    let mut grid = Vec::with_capacity(CHECKED * CHECKED);
    for i in 0..CHECKED {
        for j in 0..CHECKED {
            let (u, v) = (step(i), step(j));
            grid.push(([u, v], at(u, v)?));
        }
    }
    Some(grid)
}

type Series = [[[f64; 2]; NODES]; NODES];

/// Coefficients of T_i(u) T_j(v) of the interpolant at the Chebyshev nodes.
fn chebyshev_series(at: impl Fn(f64, f64) -> Option<[f64; 2]>) -> Option<Box<Series>> {
    let angle = |k: usize| std::f64::consts::PI * (k as f64 + 0.5) / NODES as f64;
    let mut values = Box::new([[[0.0; 2]; NODES]; NODES]);
    for (a, row) in values.iter_mut().enumerate() {
        for (b, value) in row.iter_mut().enumerate() {
            *value = at(angle(a).cos(), angle(b).cos())?;
        }
    }
    let weight = |i: usize, k: usize| (i as f64 * angle(k)).cos() * if i == 0 { 1.0 } else { 2.0 } / NODES as f64;
    let along = |values: &Series, swap: bool| {
        let mut out = Box::new([[[0.0; 2]; NODES]; NODES]);
        for i in 0..NODES {
            for j in 0..NODES {
                let value = |k: usize| if swap { values[j][k] } else { values[k][j] };
                let sum = (0..NODES).fold([0.0; 2], |s, k| [0, 1].map(|c| s[c] + weight(i, k) * value(k)[c]));
                *(if swap { &mut out[j][i] } else { &mut out[i][j] }) = sum;
            }
        }
        out
    };
    Some(along(&along(&values, false), true))
}

/// The series up to a total degree as powers of u and v, in the order of [`Fit::terms`].
fn monomials(series: &Series, degree: usize) -> Vec<[f64; 2]> {
    let powers = chebyshev_powers();
    let mut table = vec![[0.0; 2]; (degree + 1) * (degree + 1)];
    for i in 0..=degree {
        for j in 0..=degree - i {
            for (p, a) in powers[i].iter().enumerate().filter(|(_, a)| **a != 0.0) {
                for (q, b) in powers[j].iter().enumerate().filter(|(_, b)| **b != 0.0) {
                    let into = &mut table[p * (degree + 1) + q];
                    *into = [0, 1].map(|c| into[c] + a * b * series[i][j][c]);
                }
            }
        }
    }
    (0..=degree).rev().flat_map(|p| (0..=degree - p).rev().map(move |q| (p, q))).map(|(p, q)| table[p * (degree + 1) + q]).collect()
}

/// Coefficients of the Chebyshev polynomials T_0, T_1, ... as powers, lowest first.
fn chebyshev_powers() -> [[f64; NODES]; NODES] {
    let mut t = [[0.0; NODES]; NODES];
    t[0][0] = 1.0;
    t[1][1] = 1.0;
    for n in 2..NODES {
        for k in 0..NODES {
            t[n][k] = if k > 0 { 2.0 * t[n - 1][k - 1] } else { 0.0 } - t[n - 2][k];
        }
    }
    t
}
