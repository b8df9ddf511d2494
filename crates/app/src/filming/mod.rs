//! A routine as a film: what is made of it for whoever speaks, films and cuts.

pub mod stills;

use plan::atlas::Atlas;
use plan::routine::Step;
use vocab::Side;

/// The name of a step's still picture, without what kind of file it is.
pub fn still(atlas: &Atlas, at: usize, step: &Step) -> String {
    let target = step.target_id(atlas).to_lowercase().replace(|c: char| !c.is_ascii_alphanumeric(), "-");
    match step.side {
        Side::Midline => format!("step-{:02}-{target}", at + 1),
        side => format!("step-{:02}-{target}-{}", at + 1, side.word()),
    }
}
