//! A series of values over days, as a file: what `follow` on the command line reads, beside a plan.

pub mod plan;
pub mod read;
pub mod visits;
pub mod words;

use vocab::Finding;

pub use plan::SeriesPlan;
pub use read::Table;

/// Reads a series; `name` is what the file is called in errors.
///
/// # Errors
/// Everything that is wrong with it, by line.
pub fn read(name: &str, text: &str, value: &follow::Value) -> Result<Table, Vec<Finding>> {
    read::read(text, value.range).map_err(|wrong| {
        let shown = wrong.iter().take(MOST_FINDINGS).map(|w| Finding::new(name, w.line, words::wrong(&w.why, value)));
        let more = wrong.len().saturating_sub(MOST_FINDINGS);
        let more = (more > 0).then(|| Finding::new(name, 0, crate::catalogue::fill("series.more", &[("n", &more)])));
        shown.chain(more).collect()
    })
}

/// More would not help anybody who mends the file.
const MOST_FINDINGS: usize = 20;

#[cfg(test)]
mod tests;
