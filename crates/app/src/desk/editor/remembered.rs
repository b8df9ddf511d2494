//! What was felt before, at the table and at home, for the next draft.

use cabinet::{ClientId, Error, Reader};
use plan::atlas::Atlas;
use plan::session::{Felt, Memory, Past, remember};
use serde_json::Value;
use vocab::Side;

use crate::desk::keep::at_noon;

/// What the next draft of a client should heed: of each target what was felt when it was last worked. Of a home note it is not known what was
/// worked without being felt, so it fades at the table alone.
///
/// # Errors
/// Of the store.
pub fn of(r: &Reader<'_>, atlas: &Atlas, client: ClientId) -> Result<Memory, Error> {
    let mut all: Vec<(i64, Past)> = Vec::new();
    for session in r.sessions(Some(client))? {
        let (log, felt) = (parsed(session.log.as_str()), parsed(session.felt.as_str()));
        let worked = list(&log, "steps").filter_map(|v| place(atlas, v)).collect();
        all.push((session.at.unix(), Past { worked, felt: felt_in(atlas, &felt) }));
    }
    for note in r.home_notes(client)? {
        let body = parsed(note.body.as_str());
        all.push((at_noon(note.day).unix(), Past { worked: Vec::new(), felt: felt_in(atlas, &body["felt"]) }));
    }
    // The newest first.
    all.sort_by_key(|(at, _)| *at);
    let newest: Vec<Past> = all.into_iter().rev().map(|(_, past)| past).collect();
    Ok(remember(&newest))
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_default()
}

fn list<'a>(of: &'a Value, key: &str) -> impl Iterator<Item = &'a Value> {
    of.get(key).and_then(Value::as_array).into_iter().flatten()
}

fn place(atlas: &Atlas, v: &Value) -> Option<(plan::atlas::TargetIx, Side)> {
    Some((atlas.target_named(v.get("target")?.as_str()?)?, Side::from_word(v.get("side")?.as_str()?)?))
}

fn felt_in(atlas: &Atlas, felt: &Value) -> Vec<(plan::atlas::TargetIx, Side, Felt)> {
    let one = |v: &Value| {
        let (target, side) = place(atlas, v)?;
        Some((target, side, Felt::from_word(v.get("felt")?.as_str()?)?))
    };
    list(felt, "places").filter_map(one).collect()
}
