//! Reads what a practitioner writes: requests and routines.
//!
//! Every mistake is a finding with its line, its key and the nearest right word; one reading reports them all.
//! The bounds in the messages are the constants of [`crate::request`] and of this module, and nothing else.

mod request;
mod routine;

pub use request::PRIORITY_UNSAID;
pub(crate) use routine::quoted;
pub use routine::{MOST_STEPS, RoutineFile, STEP_SECONDS, infer_movements, write_routine};

use vocab::read::{Table, Word};
use vocab::{Side, Sides};

use crate::atlas::{Atlas, Shown, TargetIx, TechniqueIx, ToolIx};

/// The tool that is always at hand.
pub const HANDS: &str = "hands";

/// The sides a person can name for one place.
const SIDES: &[(&str, Side)] = &[("left", Side::Left), ("right", Side::Right), ("midline", Side::Midline)];

/// The target that a word names; an unknown one is noted.
fn target(table: &Table, key: &str, word: &Word, atlas: &Atlas) -> Option<TargetIx> {
    let found = atlas.target_named(&word.text);
    if found.is_none() {
        table.unknown_word(key, word, atlas.targets.iter().map(|t| t.id.as_str()));
    }
    found
}

/// The target that a word names, when a hand may work it at all; what is not for the hand is noted.
fn workable(table: &Table, key: &str, word: &Word, atlas: &Atlas) -> Option<TargetIx> {
    let ix = target(table, key, word, atlas)?;
    if let Shown::Never(because) = &atlas.target(ix).shown {
        let message = format!("`{key}` names `{}`, which is not for the hand: {because}", word.text);
        table.document().note(word.line, message);
        return None;
    }
    Some(ix)
}

/// The technique that a word names; an unknown one is noted.
fn technique(table: &Table, key: &str, word: &Word, atlas: &Atlas) -> Option<TechniqueIx> {
    let found = atlas.technique_named(&word.text);
    if found.is_none() {
        table.unknown_word(key, word, atlas.techniques.iter().map(|t| t.id.as_str()));
    }
    found
}

/// The tool that a word names; an unknown one is noted, and so is one that no technique takes.
fn tool(table: &Table, key: &str, word: &Word, atlas: &Atlas) -> Option<ToolIx> {
    let Some(ix) = atlas.tool_named(&word.text) else {
        table.unknown_word(key, word, atlas.tools.iter().map(|t| t.id.as_str()));
        return None;
    };
    if !atlas.techniques.iter().any(|t| t.tools.contains(&ix)) {
        let message = format!("`{key}` names `{}`, but no technique takes this tool; leave it out", word.text);
        table.document().note(word.line, message);
        return None;
    }
    Some(ix)
}

/// The tools at hand under `key`, in data order, hands among them.
fn tools_at_hand(table: &Table, key: &str, atlas: &Atlas) -> Vec<ToolIx> {
    let mut found: Vec<ToolIx> = table.words(key).iter().filter_map(|word| tool(table, key, word, atlas)).collect();
    found.extend(atlas.tool_named(HANDS));
    found.sort_unstable();
    found.dedup();
    found
}

/// An optional side under `key` on which the target exists.
fn side_of(table: &Table, key: &str, target: Option<TargetIx>, atlas: &Atlas) -> Option<Side> {
    if !table.has(key) {
        return None;
    }
    let word = table.text(key)?;
    if word.text == Side::Both.word() {
        let message = format!("`{key}` is one side; leave it out when left and right are meant");
        table.document().note(word.line, message);
        return None;
    }
    let Some((_, side)) = SIDES.iter().find(|(name, _)| *name == word.text) else {
        table.unknown_word(key, &word, SIDES.iter().map(|(name, _)| *name));
        return None;
    };
    if let Some(ix) = target {
        let row = atlas.target(ix);
        if !row.sides.each().contains(side) {
            let message = format!("`{key}` is \"{side}\", but `{}` {}", row.id, where_it_is(row.sides));
            table.document().note(word.line, message);
            return None;
        }
    }
    Some(*side)
}

/// On which sides a place exists, as the end of a sentence.
fn where_it_is(sides: Sides) -> &'static str {
    match sides {
        Sides::Lateral => "exists on the left and on the right",
        Sides::Midline => "exists once, on the midline",
    }
}

/// Whether two optional sides of one target can mean the same place.
fn same_place(a: Option<Side>, b: Option<Side>) -> bool {
    a.is_none() || b.is_none() || a == b
}

/// The ids of some rows, for a message.
fn listed<'a>(ids: impl IntoIterator<Item = &'a str>) -> String {
    ids.into_iter().map(|id| format!("`{id}`")).collect::<Vec<_>>().join(", ")
}
