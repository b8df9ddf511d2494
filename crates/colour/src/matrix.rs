//! Three by three, in plain numbers.

/// Rows of a matrix.
pub(crate) type M3 = [[f64; 3]; 3];

/// A matrix times a column.
pub(crate) const fn times(m: &M3, v: [f64; 3]) -> [f64; 3] {
    [
        m[0][0] * v[0] + m[0][1] * v[1] + m[0][2] * v[2],
        m[1][0] * v[0] + m[1][1] * v[1] + m[1][2] * v[2],
        m[2][0] * v[0] + m[2][1] * v[1] + m[2][2] * v[2],
    ]
}

/// A matrix times a matrix.
pub(crate) const fn product(a: &M3, b: &M3) -> M3 {
    let mut out = [[0.0; 3]; 3];
    let mut column = 0;
    while column < 3 {
        let v = times(a, [b[0][column], b[1][column], b[2][column]]);
        out[0][column] = v[0];
        out[1][column] = v[1];
        out[2][column] = v[2];
        column += 1;
    }
    out
}

/// The inverse, by the adjugate. A singular matrix gives infinities: callers ask [`determinant`] first where it can be one.
pub(crate) const fn inverse(m: &M3) -> M3 {
    let d = determinant(m);
    [
        [
            (m[1][1] * m[2][2] - m[1][2] * m[2][1]) / d,
            (m[0][2] * m[2][1] - m[0][1] * m[2][2]) / d,
            (m[0][1] * m[1][2] - m[0][2] * m[1][1]) / d,
        ],
        [
            (m[1][2] * m[2][0] - m[1][0] * m[2][2]) / d,
            (m[0][0] * m[2][2] - m[0][2] * m[2][0]) / d,
            (m[0][2] * m[1][0] - m[0][0] * m[1][2]) / d,
        ],
        [
            (m[1][0] * m[2][1] - m[1][1] * m[2][0]) / d,
            (m[0][1] * m[2][0] - m[0][0] * m[2][1]) / d,
            (m[0][0] * m[1][1] - m[0][1] * m[1][0]) / d,
        ],
    ]
}

/// The determinant.
pub(crate) const fn determinant(m: &M3) -> f64 {
    m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
}
