//! The product check: what stands on an ingredient list, and what it means for one person.
//!
//! [`Product::read`] reads a pasted list and says which names the atlas knows; [`Judged::new`] holds them against the limits on
//! the face and against what a client told. Whatever is not in the table is not judged, and is handed back as it was written.

mod fold;
mod judge;
mod list;
mod names;
mod share;

pub use judge::{Asked, Judged, Limit, Met, Reason, Row};
pub(crate) use names::keys;

use std::collections::BTreeSet;

use crate::atlas::Atlas;
use list::Part;
use names::Names;

/// At most so many characters of a list are read; more is no ingredient list.
pub const MOST_CHARS: usize = 20_000;

/// A name of the list that the atlas knows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// As it was written.
    pub written: String,
    /// Its place in [`Atlas::ingredients`].
    pub ingredient: usize,
    /// The how-manieth name of the list it is, from 1.
    pub position: usize,
    /// The share written beside it, in millionths (1 % is 10 000); of a span its end, rounded up.
    pub share_ppm: Option<u32>,
    /// Whether the list says only that it may be in it.
    pub may: bool,
}

/// A list that was read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Product {
    /// What the atlas knows, in the list's order.
    pub found: Vec<Found>,
    /// Names that it does not know, as written: they are not judged.
    pub unknown: Vec<String>,
    /// What was read as a heading or a footnote, as written.
    pub remarks: Vec<String>,
    /// How many names the list has.
    pub names: usize,
}

impl Product {
    /// Reads an ingredient list, however it is set: commas, semicolons, bullets or lines between the names. What is beyond
    /// [`MOST_CHARS`] is not read; the edge refuses it before.
    pub fn read(atlas: &Atlas, text: &str) -> Product {
        let names = Names::of(&atlas.ingredients);
        let mut product = Product::default();
        let text: String = text.chars().take(MOST_CHARS).collect();
        for entry in list::entries(&text) {
            product.take(&names, &entry);
        }
        product
    }

    /// Takes an entry: its lines belong together as far as they make a known name, the longest first.
    fn take(&mut self, names: &Names, entry: &[Part]) {
        /// A name does not run over more lines than this.
        const LINES: usize = 4;
        if entry.len() > 1 && !(1..=LINES.min(entry.len())).any(|n| entry.windows(n).any(|w| is_known(names, w))) {
            self.judge_name(names, &Part::joined(entry));
            return;
        }
        let mut at = 0;
        while at < entry.len() {
            let most = LINES.min(entry.len() - at);
            let lines = (1..=most).rev().find(|n| is_known(names, &entry[at..at + n])).unwrap_or(1);
            self.judge_name(names, &Part::joined(&entry[at..at + lines]));
            at += lines;
        }
    }

    fn judge_name(&mut self, names: &Names, part: &Part) {
        if !part.has_name() {
            return;
        }
        let inner = part.inner();
        let matching = |part: &Part| part.readings().iter().flat_map(|r| names.matching(r)).collect::<BTreeSet<_>>();
        let mut found = matching(part);
        let mut lists: Vec<_> = inner.iter().filter(|i| i.is_list || !part.has_outside()).collect();
        if part.has_outside() {
            let known = found.clone();
            for single in inner.iter().filter(|i| !i.is_list) {
                let within: BTreeSet<usize> = single.entries.iter().flatten().flat_map(matching).collect();
                // `Parfum (Limonene)` are two; `Cera Alba (Beeswax)` is one, and so is an unknown name that is explained.
                if known.is_empty() {
                    found.extend(within);
                } else if !within.is_subset(&known) {
                    lists.push(single);
                }
            }
            if found.is_empty() {
                let pieces = part.pieces();
                if pieces.iter().any(|p| is_known(names, std::slice::from_ref(p))) {
                    for piece in &pieces {
                        self.judge_name(names, piece);
                    }
                } else {
                    self.note(part);
                }
            } else {
                self.names += 1;
                let (position, share_ppm, may) = (self.names, part.share(), part.may);
                let written = part.written.clone();
                let row = |ingredient| Found { written: written.clone(), ingredient, position, share_ppm, may };
                self.found.extend(found.into_iter().map(row));
            }
        }
        for list in lists {
            for entry in &list.entries {
                self.take(names, entry);
            }
        }
    }

    fn note(&mut self, part: &Part) {
        if part.is_remark() {
            self.remarks.push(part.written.clone());
        } else {
            self.names += 1;
            self.unknown.push(part.written.clone());
        }
    }
}

fn is_known(names: &Names, parts: &[Part]) -> bool {
    Part::joined(parts).readings().iter().any(|r| !names.matching(r).is_empty())
}
