//! Textbook methods, each with its source; checked against reference libraries (docs/validation.md, "Did it change").
//!
//! Numbers come in as slices of finite `f64`; an answer that does not exist (too few numbers, nothing varies) is `None`.

mod distributions;
mod effects;
mod holm;
mod paired;
mod permutation;
mod proportion;
mod rank;
mod regression;
mod theil_sen;
mod wilcoxon;

pub use distributions::{normal_quantile, normal_two_sided, power_two_sided, student_quantile, student_two_sided};
pub use effects::{RandomEffects, random_effects};
pub use holm::holm;
pub use paired::{PairedT, SignTest, paired_t, sign_test};
pub use permutation::{MOST_SIGNS, sign_changes};
pub use proportion::wilson;
pub use rank::{MannKendall, hamed_rao, kendall_tau, mann_kendall};
pub use regression::{Regression, linear, polynomial, regression};
pub use theil_sen::{TheilSen, median, theil_sen};
pub(crate) use theil_sen::{between, middle, slopes};
pub use wilcoxon::{MOST_EXACT, Wilcoxon, wilcoxon};
