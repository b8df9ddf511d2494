//! The drawing of Tragion: face, torso and back in one ink line of varying weight, and the notation of steps on it.
//!
//! Which function for what:
//!
//! | wanted | function |
//! | --- | --- |
//! | a whole routine, read like a score | [`sheet`] |
//! | the run-through: one figure, every step drawn large, one shown at a time by a script | [`stage`] |
//! | one step large with the next one faint, for print or without a script | [`step_view`] |
//! | one of these on a person's own face | [`sheet_for`], [`stage_for`], [`step_view_for`] |
//! | a routine on a small printed sheet, its numerals larger | [`sheet_with`] |
//! | where targets lie, without a routine (a map) | [`map`] |
//! | a photograph with the drawing and a map or a routine over it | [`overlay`] |
//! | one step over the moving picture of a camera | [`live()`] |
//! | a page to print, at true scale or to fit | [`print()`] |
//! | a picture for each step beside its words, the figure drawn once | [`leaflet_for`] |
//! | handles a page's script can drag | [`handles`] |
//! | one mark for a list or a legend row | [`mark_svg`] |
//! | the hollow mark of openings and closings for a legend | [`opening_svg`] |
//! | a swatch of a clearance's line pattern | [`class_svg`] |
//!
//! Everything is SVG text without inline style, `<style>` or script, coloured by `currentColor`; with [`Ground::Page`] a
//! page's style sheet decides ([`CSS`] holds rules that do), else the colours stand in the file.
//! Pure: no file, no clock, no environment. The crate knows no planner: callers pass marks and words.

mod casing;
mod chart;
mod figure;
mod ground;
mod hand;
mod handle;
mod layout;
mod leaflet;
mod live;
mod marks;
mod numerals;
mod overlay;
mod pen;
mod person;
mod print;
mod sheet;
mod stage;
mod svg;
mod thread;

pub use chart::{MapPlace, MapView, Shown, map};
pub use ground::{CSS, Ground};
pub use hand::{Mark, MarkedStep, Notation, Options, Words};
pub use handle::{Handle, handles};
pub use leaflet::{Leaflet, leaflet_for};
pub use live::live;
pub use marks::{class_svg, mark_svg, opening_svg};
pub use overlay::{Overlay, Picture, overlay};
pub use person::Person;
pub use print::{Scale, print};
pub use sheet::{sheet, sheet_for, sheet_with};
pub use stage::{stage, stage_for, step_view, step_view_for};
