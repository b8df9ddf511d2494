//! Transfer curves: from an encoded value to linear light of one channel.

/// A channel's curve.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Curve {
    /// IEC 61966-2-1, formulae 5 and 6.
    Srgb,
    /// A power.
    Power(f64),
    /// ICC.1 parametricCurveType, brought to one form: below `d` it is c x + f, from there (a x + b)^g + e.
    Parametric { g: f64, a: f64, b: f64, c: f64, d: f64, e: f64, f: f64 },
    /// ICC.1 curveType with two or more values, 0 to 1, evenly spaced over 0 to 1.
    Table(Box<[f64]>),
}

impl Curve {
    /// The linear light of an encoded value.
    pub(crate) fn linear(&self, v: f64) -> f64 {
        match self {
            Curve::Srgb if v.abs() <= 0.04045 => v / 12.92,
            Curve::Srgb => ((v.abs() + 0.055) / 1.055).powf(2.4).copysign(v),
            Curve::Power(g) => v.abs().powf(*g).copysign(v),
            Curve::Parametric { c, d, f, .. } if v < *d => c * v + f,
            Curve::Parametric { g, a, b, e, .. } => (a * v + b).max(0.0).powf(*g) + e,
            Curve::Table(values) => {
                let last = values.len() - 1;
                let place = v.clamp(0.0, 1.0) * last as f64;
                let below = (place as usize).min(last - 1);
                values[below] + (values[below + 1] - values[below]) * (place - below as f64)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn srgb_by_hand() {
        // IEC 61966-2-1: 8-bit 128 and 10, worked out by hand: ((128/255 + 0.055)/1.055)^2.4 and (10/255)/12.92.
        for (v, expected) in
            [(128.0, 0.215_860_5), (10.0, 0.003_035_27), (255.0, 1.0), (0.0, 0.0), (-10.0, -0.003_035_27)]
        {
            let found = Curve::Srgb.linear(v / 255.0);
            assert!((found - expected).abs() < 1e-7, "{v}: {found} against {expected}");
        }
    }

    #[test]
    fn a_table_is_read_between_its_values() {
        let table = Curve::Table([0.0, 0.1, 1.0].into());
        for (v, expected) in [(-1.0, 0.0), (0.25, 0.05), (0.5, 0.1), (0.75, 0.55), (1.0, 1.0), (2.0, 1.0)] {
            assert!((table.linear(v) - expected).abs() < 1e-15, "{v}");
        }
    }
}
