//! A number and how sure it is.

/// A value and the half width of the interval that holds the truth with 95 %.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Value {
    /// The value.
    pub value: f64,
    /// The half width of its 95 % interval, in the value's unit.
    pub u95: f64,
}

impl Value {
    /// A value with its standard uncertainty: the interval is 1.96 of them to each side.
    pub fn of(value: f64, u: f64) -> Value {
        Value { value, u95: 1.96 * u }
    }

    /// The standard uncertainty.
    pub fn u(self) -> f64 {
        self.u95 / 1.96
    }
}
