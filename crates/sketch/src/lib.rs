//! The drawing of Tragion: face, torso and back in one ink line of varying weight, and the notation of steps on it.
//!
//! Which function for what:
//!
//! | wanted | function |
//! | --- | --- |
//! | a whole routine, read like a score | [`sheet`] |
//! | the run-through: one figure, every step drawn large, one shown at a time by a script | [`stage`] |
//! | one step large with the next one faint, for print or without a script | [`step_view`] |
//! | where targets lie, without a routine (a map) | [`map`] |
//! | one mark for a list or a legend row | [`mark_svg`] |
//! | the hollow mark of openings and closings for a legend | [`opening_svg`] |
//! | a swatch of a clearance's line pattern | [`class_svg`] |
//!
//! Everything is SVG text without inline style, `<style>` or script, coloured by `currentColor`; with [`Ground::Page`] a
//! page's style sheet decides ([`CSS`] holds rules that do), else the colours stand in the file.
//! Pure: no file, no clock, no environment. The crate knows no planner: callers pass marks and words.

mod figure;
mod ground;
mod hand;
mod layout;
mod marks;
mod numerals;
mod pen;
mod sheet;
mod stage;
mod svg;
mod thread;

pub use ground::{CSS, Ground};
pub use hand::{Mark, MarkedStep, Options, Words};
pub use marks::{class_svg, mark_svg, opening_svg};
pub use sheet::{map, sheet};
pub use stage::{stage, step_view};
