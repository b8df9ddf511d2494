//! Textbook methods, each with its source; checked against reference libraries (docs/validation.md, "Did it change").

mod distributions;

pub use distributions::{normal_quantile, power_two_sided, student_quantile, student_two_sided};
