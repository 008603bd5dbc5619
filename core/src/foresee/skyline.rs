//! Symmetric matrices whose rows begin late: a band with a border of full rows, factored in place.

use crate::job::Watch;
use rayon::prelude::*;
use std::ops::Range;

/// Rows that are worked out between one look at the watch and the next.
const LOOKED: usize = 32;

/// The lower half of a symmetric matrix. Row `i` is kept from its first column to the diagonal; what lies before is zero and
/// stays zero when the matrix is factored. The rows from `border` on are kept whole.
#[derive(Clone, Debug)]
pub(super) struct Skyline {
    first: Vec<usize>,
    offset: Vec<usize>,
    border: usize,
    values: Vec<f64>,
}

impl Skyline {
    /// A matrix of zeros: where each row of the band begins, and how many whole rows follow.
    pub(super) fn new(mut first: Vec<usize>, whole: usize) -> Self {
        let border = first.len();
        // A row that begins no later than those after it keeps every entry that its factor and its inverse need.
        for i in (1..border).rev() {
            first[i - 1] = first[i - 1].min(first[i]);
        }
        first.resize(border + whole, 0);
        let mut offset = Vec::with_capacity(first.len() + 1);
        let mut at = 0;
        for (i, f) in first.iter().enumerate() {
            offset.push(at);
            at += i + 1 - f;
        }
        offset.push(at);
        Self { first, offset, border, values: vec![0.0; at] }
    }

    /// Rows of the matrix.
    pub(super) fn len(&self) -> usize {
        self.first.len()
    }

    fn place(&self, i: usize, j: usize) -> usize {
        self.offset[i] + j - self.first[i]
    }

    /// Adds to the entry of a row and a column not after it, inside the kept part.
    pub(super) fn add(&mut self, i: usize, j: usize, by: f64) {
        let at = self.place(i, j);
        self.values[at] += by;
    }

    /// Adds a few numbers' products with each other, each with its row, in rising order of the rows: `by` times a row and a column.
    pub(super) fn add_products_of(&mut self, terms: &[(usize, f64)], by: f64) {
        for (at, &(i, a)) in terms.iter().enumerate() {
            let (from, by) = (self.first[i], by * a);
            let row = &mut self.values[self.offset[i]..self.offset[i + 1]];
            terms[..=at].iter().for_each(|&(j, b)| row[j - from] += by * b);
        }
    }

    /// The entry of a row and a column in any order, inside the kept part.
    pub(super) fn get(&self, i: usize, j: usize) -> f64 {
        self.values[self.place(i.max(j), i.min(j))]
    }

    /// The entry of a row and a column in any order; `None` outside the kept part.
    pub(super) fn kept(&self, i: usize, j: usize) -> Option<f64> {
        (i.min(j) >= self.first[i.max(j)]).then(|| self.get(i, j))
    }

    fn row(&self, i: usize) -> &[f64] {
        &self.values[self.offset[i]..self.offset[i + 1]]
    }

    /// Turns the matrix into its Cholesky factor; `None` when it is not positive definite and when somebody asked to stop.
    ///
    /// # Source
    /// The row-wise form of Cholesky's method for matrices kept by their envelope; A. George and J. W. H. Liu, Computer
    /// Solution of Large Sparse Positive Definite Systems (1981), chapter 4, from memory.
    pub(super) fn factored(mut self, watch: &dyn Watch) -> Option<Factor> {
        for i in 0..self.border {
            if i % LOOKED == 0 && watch.cancelled() {
                return None;
            }
            let (before, rest) = self.values.split_at_mut(self.offset[i]);
            let row = &mut rest[..i + 1 - self.first[i]];
            reduce(row, self.first[i], i, &self.first, &self.offset, before);
            finish(row)?;
        }
        let (band, whole) = self.values.split_at_mut(self.offset[self.border]);
        let (first, offset, border) = (&self.first, &self.offset, self.border);
        split_rows(whole, border).into_par_iter().for_each(|row| {
            // What is left undone is never read: the next row looks too.
            if !watch.cancelled() {
                reduce(row, 0, border, first, offset, band);
            }
        });
        for i in border..self.first.len() {
            if watch.cancelled() {
                return None;
            }
            let (before, rest) = self.values.split_at_mut(self.offset[i]);
            let row = &mut rest[..=i];
            for j in border..i {
                let other = &before[self.offset[j]..self.offset[j + 1]];
                row[j] = (row[j] - dot(&row[..j], &other[..j])) / other[j];
            }
            finish(row)?;
        }
        Some(Factor(self))
    }
}

/// Whole rows, one slice each: the first has `border + 1` entries.
fn split_rows(mut whole: &mut [f64], border: usize) -> Vec<&mut [f64]> {
    let mut rows = Vec::new();
    let mut length = border + 1;
    while !whole.is_empty() {
        let (row, rest) = whole.split_at_mut(length);
        rows.push(row);
        whole = rest;
        length += 1;
    }
    rows
}

/// Works out the factor's entries of a row that begins at column `from`, up to column `to`.
fn reduce(row: &mut [f64], from: usize, to: usize, first: &[usize], offset: &[usize], before: &[f64]) {
    for j in from..to {
        let common = from.max(first[j]);
        let other = &before[offset[j]..offset[j + 1]];
        let known = dot(&row[common - from..j - from], &other[common - first[j]..j - first[j]]);
        row[j - from] = (row[j - from] - known) / other[j - first[j]];
    }
}

/// The diagonal entry, from the rest of its row.
fn finish(row: &mut [f64]) -> Option<()> {
    let (diagonal, rest) = row.split_last_mut()?;
    let left = *diagonal - dot(rest, rest);
    *diagonal = left.sqrt();
    (left > 0.0).then_some(())
}

/// Sum of products, in eight running sums so that the machine can do several at once.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (a8, b8) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = a8.remainder().iter().zip(b8.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a8.zip(b8) {
        for k in 0..8 {
            sums[k] += x[k] * y[k];
        }
    }
    sums.iter().sum::<f64>() + rest
}

/// The Cholesky factor of a symmetric matrix.
#[derive(Clone, Debug)]
pub(super) struct Factor(Skyline);

impl Factor {
    /// The natural logarithm of the determinant of the matrix that was factored.
    pub(super) fn ln_determinant(&self) -> f64 {
        2.0 * (0..self.0.len()).map(|i| self.diagonal(i).ln()).sum::<f64>()
    }

    fn diagonal(&self, i: usize) -> f64 {
        self.0.values[self.0.offset[i + 1] - 1]
    }

    /// Solves the system for one right-hand side, in its place.
    pub(super) fn solve(&self, x: &mut [f64]) {
        let l = &self.0;
        for i in 0..l.len() {
            let row = l.row(i);
            let known = dot(&row[..row.len() - 1], &x[l.first[i]..i]);
            x[i] = (x[i] - known) / self.diagonal(i);
        }
        for i in (0..l.len()).rev() {
            x[i] /= self.diagonal(i);
            let (done, rest) = x.split_at_mut(i);
            for (v, entry) in done[l.first[i]..].iter_mut().zip(l.row(i)) {
                *v -= entry * rest[0];
            }
        }
    }

    /// The entries of the inverse where the matrix is kept; `None` when somebody asked to stop.
    ///
    /// # Source
    /// K. Takahashi, J. Fagan and M.-S. Chen (1973), the recursion from the last column backwards; from memory.
    pub(super) fn inverse(&self, watch: &dyn Watch) -> Option<Skyline> {
        let l = &self.0;
        let mut z = l.clone();
        let (mut column, mut sums) = (vec![0.0; l.len()], vec![0.0; l.len()]);
        for j in (0..l.len()).rev() {
            if j % LOOKED == 0 && watch.cancelled() {
                return None;
            }
            let near = j + 1..l.first[..l.border].partition_point(|&f| f <= j).max(j + 1);
            let far = l.border.max(near.end)..l.len();
            for k in near.clone().chain(far.clone()) {
                (column[k], sums[k]) = (l.values[l.place(k, j)], 0.0);
            }
            for k in near.clone().chain(far.clone()) {
                let own = near.start..near.end.min(k);
                add_products(&z.row(k)[own.start - l.first[k]..own.end - l.first[k]], own, k, &column, &mut sums);
                if k >= far.start {
                    add_products(&z.row(k)[far.start..k], far.start..k, k, &column, &mut sums);
                }
                sums[k] += z.get(k, k) * column[k];
            }
            let pivot = self.diagonal(j);
            let mut own = 1.0 / pivot;
            for k in near.chain(far) {
                let at = z.place(k, j);
                z.values[at] = -sums[k] / pivot;
                own -= column[k] * z.values[at];
            }
            let at = z.place(j, j);
            z.values[at] = own / pivot;
        }
        Some(z)
    }
}

/// Adds what one row of a symmetric matrix, left of its diagonal, gives to the product with a column: once as a row, once as
/// the column that mirrors it.
fn add_products(part: &[f64], at: Range<usize>, row: usize, column: &[f64], sums: &mut [f64]) {
    sums[row] += dot(part, &column[at.clone()]);
    let by = column[row];
    for (sum, entry) in sums[at].iter_mut().zip(part) {
        *sum += entry * by;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    /// A positive definite matrix with a band of uneven rows and two whole rows, and the same with all entries.
    fn example() -> (Skyline, Vec<Vec<f64>>) {
        let mut kept = Skyline::new(vec![0, 0, 1, 0, 2, 4, 3], 2);
        let n = kept.len();
        let mut all = vec![vec![0.0; n]; n];
        let places: Vec<(usize, usize)> = (0..n).flat_map(|i| (kept.first[i]..=i).map(move |j| (i, j)).collect::<Vec<_>>()).collect();
        for (i, j) in places {
            let value = if i == j { 9.0 + i as f64 } else { ((i * 7 + j * 3) % 5) as f64 / 2.0 - 0.8 };
            kept.add(i, j, value);
            (all[i][j], all[j][i]) = (value, value);
        }
        (kept, all)
    }

    /// Gauss–Jordan elimination, the slow obvious way, and the determinant on the way.
    fn slow_inverse(mut a: Vec<Vec<f64>>) -> (Vec<Vec<f64>>, f64) {
        let n = a.len();
        let mut determinant = 1.0;
        let mut out: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| f64::from(u8::from(i == j))).collect()).collect();
        for p in 0..n {
            let pivot = a[p][p];
            determinant *= pivot;
            for j in 0..n {
                a[p][j] /= pivot;
                out[p][j] /= pivot;
            }
            for i in (0..n).filter(|&i| i != p) {
                let by = a[i][p];
                for j in 0..n {
                    a[i][j] -= by * a[p][j];
                    out[i][j] -= by * out[p][j];
                }
            }
        }
        (out, determinant)
    }

    #[test]
    fn solves_inverts_and_takes_the_determinant_like_elimination() {
        let (kept, all) = example();
        let factor = kept.clone().factored(&Unwatched).unwrap();
        let (inverse, determinant) = slow_inverse(all);
        assert!((factor.ln_determinant() - determinant.ln()).abs() < 1e-10);
        let entries = factor.inverse(&Unwatched).unwrap();
        for (i, row) in inverse.iter().enumerate() {
            let kept_part = row.iter().enumerate().take(i + 1).skip(kept.first[i]);
            kept_part.for_each(|(j, v)| assert!((entries.get(i, j) - v).abs() < 1e-12, "{i} {j}"));
            let mut x = vec![0.0; kept.len()];
            x[i] = 1.0;
            factor.solve(&mut x);
            assert!(x.iter().zip(row).all(|(a, b)| (a - b).abs() < 1e-12));
        }
    }

    #[test]
    fn tells_a_matrix_that_is_not_positive_definite() {
        let mut m = Skyline::new(vec![0, 0], 1);
        for i in 0..3 {
            m.add(i, i, 1.0);
        }
        m.add(2, 0, 1.5);
        assert!(m.factored(&Unwatched).is_none());
    }
}
