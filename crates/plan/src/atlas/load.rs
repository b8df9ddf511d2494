//! Reads the atlas from its files and refuses what is broken, with file, line and reason.
//!
//! Files are given in the order in which they merge: a row whose id an earlier file has replaces that row, a new id
//! is added behind. Everything that names something else is looked up only when all files are read, so the order of
//! rows and files does not matter otherwise. Every mistake of every file is reported at once.

mod concerns;
mod drainage;
mod hands;
pub(super) mod places;
pub(super) mod rows;
mod targets;

use vocab::Finding;
use vocab::read::{Document, Table};

use super::{Atlas, load_screening};

macro_rules! data_files {
    ($($name:literal),+ $(,)?) => {
        &[$(($name, include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/", $name)))),+]
    };
}

/// The files that ship with the program, in merge order. `atlas/drawing.toml` is read by the `face` crate.
const BUILT_IN: &[(&str, &str)] = data_files![
    "atlas/settings.toml",
    "atlas/techniques.toml",
    "atlas/zones.toml",
    "atlas/drainage.toml",
    "atlas/points.toml",
    "atlas/lines.toml",
    "atlas/concerns.toml",
    "screening/groups.toml",
    "screening/conditions.toml",
    "screening/warning_signs.toml",
    "screening/products.toml",
    "screening/checklists.toml",
];

impl Atlas {
    /// The atlas that ships with the program.
    ///
    /// # Panics
    /// Only if the shipped data is broken, which the tests of this crate rule out.
    pub fn built_in() -> Atlas {
        match Atlas::load(BUILT_IN) {
            Ok(atlas) => atlas,
            Err(findings) => {
                let lines: Vec<String> = findings.iter().map(ToString::to_string).collect();
                panic!("the built-in atlas is broken:\n{}", lines.join("\n"))
            }
        }
    }

    /// Name and text of the files that ship with the program, in merge order: put a practitioner's own behind them.
    pub fn built_in_files() -> &'static [(&'static str, &'static str)] {
        BUILT_IN
    }

    /// Reads and merges files given as (name, text).
    ///
    /// # Errors
    /// Everything that is wrong, in the order of files and lines; then there is no atlas.
    pub fn load(files: &[(&str, &str)]) -> Result<Atlas, Vec<Finding>> {
        let mut documents = Vec::new();
        let mut unreadable = Vec::new();
        for (name, text) in files {
            match Document::parse(name, text) {
                Ok(document) => documents.push(document),
                Err(findings) => unreadable.extend(findings),
            }
        }
        if files.is_empty() {
            unreadable.push(Finding::new("atlas", 0, "no file was given; give at least the built-in ones"));
        }
        if !unreadable.is_empty() {
            return Err(unreadable);
        }
        let atlas = read(&documents);
        let findings: Vec<Finding> = documents.into_iter().flat_map(Document::into_findings).collect();
        if findings.is_empty() { Ok(atlas) } else { Err(findings) }
    }
}

/// Tools, techniques, zones, the graph, targets, concerns, then the screening tables that name all of these.
/// Mistakes are noted in the documents; what they touch is left out so that the rest can still be checked.
fn read(documents: &[Document]) -> Atlas {
    let roots: Vec<Table> = documents.iter().map(Document::root).collect();
    let mut atlas = Atlas::default();
    hands::settings(&roots, &mut atlas);
    hands::tools(&roots, &mut atlas);
    hands::techniques(&roots, &mut atlas);
    let zones = places::zones(&roots, &mut atlas);
    places::zone_sets(&roots, &mut atlas);
    places::check_ways(&zones, &mut atlas);
    drainage::read(&roots, &mut atlas);
    drainage::check_main_tree(&zones, &atlas);
    targets::read(&roots, zones, &mut atlas);
    concerns::read(&roots, &mut atlas);
    load_screening::read(&roots, &mut atlas);
    for root in roots {
        // Where points lie on a face is not this crate's matter; the rows are read, and checked, by whoever places them.
        root.tables("place");
        root.finish();
    }
    atlas
}
