//! Symmetric banded matrices of the width that a chain of three-freedom nodes needs.

use crate::beam::{DOF, Matrix};

/// Sub-diagonals that are kept: two nodes of three freedoms couple.
pub(crate) const HALF: usize = 2 * DOF - 1;

/// A symmetric matrix of which the diagonal and five sub-diagonals are stored, row by row: entry
/// (i, i − k) stands at `rows[HALF + i][HALF − k]`.
///
/// Rows of noughts stand before the first, so that every row has as many above it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Band {
    rows: Vec<[f64; HALF + 1]>,
}

/// The matrix has a pivot that is not positive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct NotPositiveDefinite;

impl Band {
    pub(crate) fn new(size: usize) -> Self {
        Self { rows: vec![[0.0; HALF + 1]; HALF + size] }
    }

    /// The rows of an element whose first freedom is `first`: entry (i, j) of its lower triangle is at
    /// `[i][HALF + j - i]`.
    #[inline]
    pub(crate) fn rows_of(&mut self, first: usize) -> &mut [[f64; HALF + 1]; 2 * DOF] {
        self.rows[HALF + first..].first_chunk_mut().expect("an element has two nodes")
    }
}

impl Matrix for Band {
    fn clear(&mut self) {
        self.rows.iter_mut().for_each(|row| *row = [0.0; HALF + 1]);
    }

    #[inline]
    fn add_diagonal(&mut self, freedom: usize, value: f64) {
        self.rows[HALF + freedom][HALF] += value;
    }

    fn stiffen(&mut self, share: f64) {
        self.rows.iter_mut().for_each(|row| row[HALF] *= 1.0 + share);
    }

    /// Factors the matrix in place as L D Lᵀ; the diagonal then holds the inverse of D.
    fn factor(&mut self) -> Result<(), NotPositiveDefinite> {
        for i in HALF..self.rows.len() {
            let (above, rest) = self.rows.split_at_mut(i);
            let Some(above) = above.last_chunk::<HALF>() else { continue };
            let row = &mut rest[0];
            let mut pivot = row[HALF];
            for j in 0..HALF {
                // row[j] holds L(i,j)·D(j) until it is divided.
                for k in 0..j {
                    row[j] -= row[k] * above[j][HALF + k - j];
                }
            }
            for j in 0..HALF {
                let lower = row[j] * above[j][HALF];
                pivot -= row[j] * lower;
                row[j] = lower;
            }
            if pivot.is_nan() || pivot <= 0.0 {
                return Err(NotPositiveDefinite);
            }
            row[HALF] = 1.0 / pivot;
        }
        Ok(())
    }

    fn solve(&self, x: &mut [f64]) {
        let rows = &self.rows[HALF..];
        for (i, row) in rows.iter().enumerate() {
            let (above, rest) = x.split_at_mut(i);
            let known = &above[i.saturating_sub(HALF)..];
            let sum: f64 = row[HALF - known.len()..HALF].iter().zip(known).map(|(l, x)| l * x).sum();
            rest[0] -= sum;
        }
        for (value, row) in x.iter_mut().zip(rows) {
            *value *= row[HALF];
        }
        for (i, row) in rows.iter().enumerate().rev() {
            let (above, rest) = x.split_at_mut(i);
            let left = &mut above[i.saturating_sub(HALF)..];
            for (x, l) in left.iter_mut().rev().zip(row[..HALF].iter().rev()) {
                *x -= l * rest[0];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solving_gives_back_the_vector_that_was_multiplied() {
        let size = 31;
        let entry = |i: usize, j: usize| {
            if i == j { 10.0 + i as f64 } else { ((i * 7 + j * 3) % 5) as f64 * 0.3 - 0.5 }
        };
        let mut band = Band::new(size);
        let mut product = vec![0.0; size];
        let wanted: Vec<f64> = (0..size).map(|i| (i as f64 * 0.7).sin()).collect();
        for i in 0..size {
            for j in i.saturating_sub(HALF)..=i {
                band.rows[HALF + i][HALF + j - i] += entry(i, j);
                product[i] += entry(i, j) * wanted[j];
                if i != j {
                    product[j] += entry(i, j) * wanted[i];
                }
            }
        }
        band.factor().unwrap();
        band.solve(&mut product);
        for (got, wanted) in product.iter().zip(&wanted) {
            assert!((got - wanted).abs() < 1e-12);
        }
    }

    #[test]
    fn an_indefinite_matrix_is_refused() {
        let mut band = Band::new(3);
        for (freedom, value) in [(0, 1.0), (1, -1.0), (2, 1.0)] {
            band.add_diagonal(freedom, value);
        }
        assert_eq!(band.factor(), Err(NotPositiveDefinite));
    }
}
