//! Plane to plane: how a flat card appears in a picture.

use face::Pixel;

/// A projective map of the plane, row by row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homography(pub [[f64; 3]; 3]);

impl Homography {
    /// The map that takes each of `from` to its partner in `to`; none where three of either lie on a line.
    pub fn of(from: &[[f64; 2]; 4], to: &[[f64; 2]; 4]) -> Option<Homography> {
        let mut rows = Vec::with_capacity(8);
        let mut right = Vec::with_capacity(8);
        for ([x, y], [u, v]) in from.iter().zip(to) {
            rows.push([*x, *y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y]);
            rows.push([0.0, 0.0, 0.0, *x, *y, 1.0, -v * x, -v * y]);
            right.extend([*u, *v]);
        }
        let matrix: [[f64; 8]; 8] = rows.try_into().ok()?;
        let h = solve(matrix, right.try_into().ok()?)?;
        Some(Homography([[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]]))
    }

    /// Where a point comes to lie.
    pub fn map(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [a, b, c] = self.0;
        let w = c[0] * x + c[1] * y + c[2];
        [(a[0] * x + a[1] * y + a[2]) / w, (b[0] * x + b[1] * y + b[2]) / w]
    }

    /// The same, as a place in the picture.
    pub fn pixel(&self, at: [f64; 2]) -> Pixel {
        let [x, y] = self.map(at);
        Pixel::new(x, y)
    }

    /// How a small step at a point is carried: `[[dx'/dx, dx'/dy], [dy'/dx, dy'/dy]]`.
    pub fn jacobian(&self, at: [f64; 2]) -> [[f64; 2]; 2] {
        let [a, b, c] = self.0;
        let w = c[0] * at[0] + c[1] * at[1] + c[2];
        let [u, v] = self.map(at);
        [[(a[0] - u * c[0]) / w, (a[1] - u * c[1]) / w], [(b[0] - v * c[0]) / w, (b[1] - v * c[1]) / w]]
    }

    /// The larger and the smaller stretch of small steps at a point (the singular values of the Jacobian).
    pub fn stretches(&self, at: [f64; 2]) -> [f64; 2] {
        let [[a, b], [c, d]] = self.jacobian(at);
        let (sum, product) = (a * a + b * b + c * c + d * d, (a * d - b * c).abs());
        let root = (sum * sum - 4.0 * product * product).max(0.0).sqrt();
        [((sum + root) / 2.0).sqrt(), ((sum - root) / 2.0).max(0.0).sqrt()]
    }

    /// This map after `first`.
    pub fn after(&self, first: &Homography) -> Homography {
        let mut out = [[0.0; 3]; 3];
        for (i, row) in out.iter_mut().enumerate() {
            for (j, cell) in row.iter_mut().enumerate() {
                *cell = (0..3).map(|k| self.0[i][k] * first.0[k][j]).sum();
            }
        }
        Homography(out)
    }

    /// The way back; none for a map that flattens the plane.
    pub fn inverse(&self) -> Option<Homography> {
        let m = self.0;
        let minor = |i: usize, j: usize| {
            let (r, s) = ((i + 1) % 3, (i + 2) % 3);
            let (t, u) = ((j + 1) % 3, (j + 2) % 3);
            m[r][t] * m[s][u] - m[r][u] * m[s][t]
        };
        let determinant: f64 = (0..3).map(|j| m[0][j] * minor(0, j)).sum();
        if !determinant.is_finite() || determinant.abs() < 1e-18 {
            return None;
        }
        let mut out = [[0.0; 3]; 3];
        for (i, row) in out.iter_mut().enumerate() {
            for (j, cell) in row.iter_mut().enumerate() {
                *cell = minor(j, i) / determinant;
            }
        }
        Some(Homography(out))
    }
}

/// Solves `matrix * x = right` by elimination with row exchange; none where the matrix is singular.
pub fn solve<const N: usize>(mut matrix: [[f64; N]; N], mut right: [f64; N]) -> Option<[f64; N]> {
    let scale = matrix.iter().flatten().fold(0.0f64, |m, v| m.max(v.abs()));
    for column in 0..N {
        let pivot = (column..N).max_by(|a, b| matrix[*a][column].abs().total_cmp(&matrix[*b][column].abs()))?;
        let size = matrix[pivot][column].abs();
        if !size.is_finite() || size <= 1e-13 * scale {
            return None;
        }
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        for row in column + 1..N {
            let factor = matrix[row][column] / matrix[column][column];
            let above = matrix[column];
            for (cell, from) in matrix[row].iter_mut().zip(&above).skip(column) {
                *cell -= factor * from;
            }
            right[row] -= factor * right[column];
        }
    }
    let mut x = [0.0; N];
    for row in (0..N).rev() {
        let known: f64 = (row + 1..N).map(|k| matrix[row][k] * x[k]).sum();
        x[row] = (right[row] - known) / matrix[row][row];
    }
    x.iter().all(|v| v.is_finite()).then_some(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: [[f64; 2]; 4] = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
    const SKEW: [[f64; 2]; 4] = [[10.0, 12.0], [220.0, 40.0], [190.0, 170.0], [30.0, 150.0]];

    #[test]
    fn four_points_and_back() {
        let there = Homography::of(&SQUARE, &SKEW).expect("a map");
        let back = there.inverse().expect("a way back");
        for (from, to) in SQUARE.iter().zip(&SKEW) {
            let got = there.map(*from);
            assert!((got[0] - to[0]).hypot(got[1] - to[1]) < 1e-9, "{got:?} {to:?}");
        }
        for at in [[0.3, 0.8], [2.0, -1.0], [0.5, 0.5]] {
            let got = back.map(there.map(at));
            assert!((got[0] - at[0]).hypot(got[1] - at[1]) < 1e-9, "{got:?} {at:?}");
            let one = there.after(&back).map(at);
            assert!((one[0] - at[0]).hypot(one[1] - at[1]) < 1e-9, "{one:?}");
        }
    }

    #[test]
    fn the_jacobian_is_the_slope() {
        let map = Homography::of(&SQUARE, &SKEW).expect("a map");
        let (at, h) = ([0.4, 0.7], 1e-6);
        let [[a, b], [c, d]] = map.jacobian(at);
        let (p, x, y) = (map.map(at), map.map([at[0] + h, at[1]]), map.map([at[0], at[1] + h]));
        for (slope, got) in [(x[0] - p[0], a), (y[0] - p[0], b), (x[1] - p[1], c), (y[1] - p[1], d)] {
            assert!((slope / h - got).abs() < 1e-3 * got.abs().max(1.0), "{} {got}", slope / h);
        }
        let turned = Homography([[3.0f64.sqrt(), -1.0, 5.0], [1.0, 3.0f64.sqrt(), 2.0], [0.0, 0.0, 1.0]]);
        let [large, small] = turned.stretches([7.0, -2.0]);
        assert!((large - 2.0).abs() < 1e-6 && (small - 2.0).abs() < 1e-6, "{large} {small}");
    }

    #[test]
    fn points_on_a_line_are_refused() {
        let line = [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0], [0.0, 1.0]];
        assert_eq!(Homography::of(&line, &SKEW), None);
    }
}
