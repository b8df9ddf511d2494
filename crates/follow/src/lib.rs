//! Did it change: from the values of a person's visits to a change with its interval and one verdict; and many people together.
//!
//! The plan is fixed before the weeks begin ([`Plan`]). What is compared is the level of the last week with the level before the first
//! worked day ([`change()`]), under a noise model whose ties between days are fixed and strong and whose size is drawn toward a stated
//! prior ([`Prior`]). One rule, one interval, one of three verdicts ([`assess()`]). Nothing here knows where a value comes from, and
//! nothing leaves out a visit: what looks odd is marked and kept.
//!
//! Days are whole numbers: day 1 is the first worked day, day 0 the one before it. This crate is pure.

mod assess;
mod change;
mod design;
mod dose;
mod level;
mod many;
mod plan;
mod prior;
pub mod stats;
mod trend;
mod value;
mod visit;

pub use assess::{Assessment, Baseline, NoVerdict, Sides, TooEarly, Verdict, assess, assess_shared, sides};
pub use change::{Change, Fit, LAST_WEEK, RHO, change, interval};
pub use design::{Design, needed, power, smallest_seen};
pub use dose::{Association, Dose};
pub use level::{Level, level};
pub use many::{Group, LeftOut, Member, Reason, Share, Standing, summarise};
pub use plan::{Eye, Look, Looks, Plan};
pub use prior::{Prior, PriorSource};
pub use trend::{Trend, trend};
pub use value::{VALUES, Value};
pub use visit::{Sided, Visit};
