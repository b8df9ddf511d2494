//! A request file: `examples/request.toml` explains it.

use std::cell::Cell;

use vocab::Finding;
use vocab::read::{Document, Table, Word};

use super::{STEP_SECONDS, listed, same_place, side_of, target, technique, tool, tools_at_hand, where_it_is, workable};
use crate::atlas::{Atlas, Kind, Target, TargetIx, TechniqueIx, ToolIx};
use crate::request::{Asked, Lock, MINUTES, Order, PRIORITY, Request, SideMode, WEIGHT, Wish};

/// The priority of a concern that is only named: the middle of [`PRIORITY`].
pub const PRIORITY_UNSAID: u32 = 3;

/// How left and right follow each other, as written.
const SIDE_MODES: &[(&str, SideMode)] =
    &[("target_by_target", SideMode::TargetByTarget), ("side_by_side", SideMode::SideBySide)];

/// The orders that have a name.
const ORDERS: [&str; 2] = ["outward", "downward"];

/// How a word becomes a target.
type Find = fn(&Table, &str, &Word, &Atlas) -> Option<TargetIx>;

impl Request {
    /// Reads a request file; `file` is the name used in findings.
    ///
    /// # Errors
    /// Everything that is wrong in the file, in the order of its lines.
    pub fn parse(file: &str, text: &str, atlas: &Atlas) -> Result<Request, Vec<Finding>> {
        let document = Document::parse(file, text)?;
        let root = document.root();
        let tools = tools_at_hand(&root, "tools", atlas);
        let asks = Cell::new(false);
        let request = Request {
            minutes: u32::try_from(root.need_int("minutes", MINUTES)).unwrap_or_default(),
            concerns: concerns(&root, atlas, &asks),
            both: root.flag("both").unwrap_or(false),
            side_mode: root.choice("sides", SIDE_MODES).unwrap_or(SideMode::TargetByTarget),
            order: order(&root, atlas),
            wanted: wishes(&root, "wanted", "want", atlas, workable, &asks),
            unwanted: wishes(&root, "unwanted", "unwant", atlas, target, &Cell::new(false)),
            locked: locks(&root, &tools, atlas, &asks),
            free: free(&root, atlas),
            weights: weights(&root, atlas),
            tender: felt(&root, "tender", atlas),
            softer: felt(&root, "softer", atlas),
            audience: root.flag("audience").unwrap_or(false),
            answers: root.text("answers").map(|word| word.text),
            tools,
        };
        if !asks.get() {
            let message =
                "no concern is asked and nothing is wanted; name a concern, as in `concerns = [\"tight_jaw\"]`";
            document.note(root.line_of("concerns"), message);
        }
        contradictions(&root, &request, atlas);
        root.finish();
        let findings = document.into_findings();
        if findings.is_empty() { Ok(request) } else { Err(findings) }
    }
}

/// The concerns, named in a list or each in a table with its priority; in the order of the file.
fn concerns(root: &Table, atlas: &Atlas, asks: &Cell<bool>) -> Vec<Asked> {
    let mut asked: Vec<Asked> = Vec::new();
    let mut take = |table: &Table, key: &str, word: &Word, priority: u32| {
        asks.set(true);
        let Some(concern) = atlas.concern_named(&word.text) else {
            table.unknown_word(key, word, atlas.concerns.iter().map(|c| c.id.as_str()));
            return;
        };
        if asked.iter().any(|a| a.concern == concern) {
            table.document().note(word.line, format!("the concern `{}` is named twice; once is enough", word.text));
            return;
        }
        asked.push(Asked { concern, priority });
    };
    for word in root.words("concerns") {
        take(root, "concerns", &word, PRIORITY_UNSAID);
    }
    for table in root.tables("concern") {
        let word = table.need_text("id");
        let priority = table.int("priority", PRIORITY).and_then(|n| u32::try_from(n).ok());
        if !word.text.trim().is_empty() {
            take(&table, "id", &word, priority.unwrap_or(PRIORITY_UNSAID));
        }
        table.finish();
    }
    asked
}

/// The order of the zones: a name, or a list of zones of the practitioner's own.
fn order(root: &Table, atlas: &Atlas) -> Order {
    let words = root.words("order");
    match words.as_slice() {
        [] => Order::Outward,
        [word] if word.text == ORDERS[0] => Order::Outward,
        [word] if word.text == ORDERS[1] => Order::Downward,
        words => {
            let mut zones = Vec::new();
            for word in words {
                match atlas.zone_named(&word.text) {
                    None => {
                        let known = ORDERS.into_iter().chain(atlas.zones.iter().map(|z| z.id.as_str()));
                        root.unknown_word("order", word, known);
                    }
                    Some(zone) if zones.contains(&zone) => {
                        let message = format!("`order` names the zone `{}` twice; once is enough", word.text);
                        root.document().note(word.line, message);
                    }
                    Some(zone) => zones.push(zone),
                }
            }
            Order::Own(zones)
        }
    }
}

/// Wishes in a list of targets, or each in a table with its side.
fn wishes(root: &Table, list: &str, tables: &str, atlas: &Atlas, find: Find, asks: &Cell<bool>) -> Vec<Wish> {
    let mut wishes: Vec<Wish> = Vec::new();
    let mut take = |table: &Table, line: usize, wish: Wish| {
        if wishes.iter().any(|w| w.target == wish.target && same_place(w.side, wish.side)) {
            let id = &atlas.target(wish.target).id;
            table.document().note(line, format!("`{id}` is named twice under `{list}`; once is enough"));
        } else {
            wishes.push(wish);
        }
    };
    for word in root.words(list) {
        asks.set(true);
        if let Some(target) = find(root, list, &word, atlas) {
            take(root, word.line, Wish { target, side: None });
        }
    }
    for table in root.tables(tables) {
        asks.set(true);
        let word = table.need_text("target");
        let target = if word.text.trim().is_empty() { None } else { find(&table, "target", &word, atlas) };
        let side = side_of(&table, "side", target, atlas);
        if let Some(target) = target {
            take(&table, word.line, Wish { target, side });
        }
        table.finish();
    }
    wishes
}

/// The targets whose sides are decided apart.
fn free(root: &Table, atlas: &Atlas) -> Vec<TargetIx> {
    let mut free = Vec::new();
    for word in root.words("free") {
        let Some(ix) = target(root, "free", &word, atlas) else { continue };
        let row = atlas.target(ix);
        if row.sides == vocab::Sides::Midline {
            let message =
                format!("`free` names `{}`, which {}: it has no sides to free", row.id, where_it_is(row.sides));
            root.document().note(word.line, message);
        } else if free.contains(&ix) {
            root.document().note(word.line, format!("`free` names `{}` twice; once is enough", row.id));
        } else {
            free.push(ix);
        }
    }
    free
}

/// Targets by what was felt there last time.
fn felt(root: &Table, key: &'static str, atlas: &Atlas) -> Vec<TargetIx> {
    let mut felt = Vec::new();
    for word in root.words(key) {
        let Some(ix) = workable(root, key, &word, atlas) else { continue };
        if felt.contains(&ix) {
            root.document().note(word.line, format!("`{key}` names `{}` twice; once is enough", atlas.target(ix).id));
        } else {
            felt.push(ix);
        }
    }
    felt
}

/// The practitioner's own weights, each under its target's id.
fn weights(root: &Table, atlas: &Atlas) -> Vec<(TargetIx, u32)> {
    let mut weights = Vec::new();
    let Some(table) = root.table("weights").map(|t| t.named("weights")) else { return weights };
    for key in table.keys() {
        let weight = table.int(&key.text, WEIGHT).and_then(|n| u32::try_from(n).ok());
        let found = workable(&table, "weights", &key, atlas);
        if let (Some(target), Some(weight)) = (found, weight) {
            weights.push((target, weight));
        }
    }
    table.finish();
    weights
}

/// The steps that must be as given.
fn locks(root: &Table, tools: &[ToolIx], atlas: &Atlas, asks: &Cell<bool>) -> Vec<Lock> {
    let mut locks: Vec<Lock> = Vec::new();
    for table in root.tables("lock") {
        asks.set(true);
        let word = table.need_text("target");
        let named = if word.text.trim().is_empty() { None } else { workable(&table, "target", &word, atlas) };
        let table = if named.is_some() { table.named(&format!("lock of `{}`", word.text)) } else { table };
        let side = side_of(&table, "side", named, atlas);
        let with = table.text("technique").and_then(|word| lock_technique(&table, &word, named, atlas));
        let tool = table.text("tool").and_then(|word| lock_tool(&table, &word, named, with, tools, atlas));
        let seconds = lock_seconds(&table, named.map(|ix| atlas.target(ix)), with, atlas);
        if let Some(target) = named {
            let lock = Lock { target, side, technique: with, tool, seconds };
            if locks.iter().any(|l| l.target == target && same_place(l.side, side)) {
                let message = format!("`{}` is locked twice for the same side; keep one of the two", word.text);
                table.document().note(word.line, message);
            } else {
                locks.push(lock);
            }
        }
        table.finish();
    }
    locks
}

/// A technique that the locked target lists.
fn lock_technique(table: &Table, word: &Word, named: Option<TargetIx>, atlas: &Atlas) -> Option<TechniqueIx> {
    let found = technique(table, "technique", word, atlas)?;
    let row = atlas.target(named?);
    if !row.techniques.contains(&found) {
        let known = listed(row.techniques.iter().map(|t| atlas.technique(*t).id.as_str()));
        let message = format!("`{}` is not worked with `{}`; it takes {known}", row.id, word.text);
        table.document().note(word.line, message);
        return None;
    }
    Some(found)
}

/// A tool that is at hand and that the locked technique (or one of the target's) takes.
fn lock_tool(
    table: &Table,
    word: &Word,
    named: Option<TargetIx>,
    with: Option<TechniqueIx>,
    tools: &[ToolIx],
    atlas: &Atlas,
) -> Option<ToolIx> {
    let found = tool(table, "tool", word, atlas)?;
    if !tools.contains(&found) {
        let message =
            format!("the lock needs `{}`, which is not among the `tools` of this request; add it there", word.text);
        table.document().note(word.line, message);
        return None;
    }
    let row = atlas.target(named?);
    let techniques = with.map_or_else(|| row.techniques.clone(), |t| vec![t]);
    if !techniques.iter().any(|t| atlas.technique(*t).tools.contains(&found)) {
        let known = listed(techniques.iter().map(|t| atlas.technique(*t).id.as_str()));
        table.document().note(word.line, format!("{known} cannot be done with `{}`", word.text));
        return None;
    }
    Some(found)
}

/// Seconds or laps that the locked target can have.
fn lock_seconds(table: &Table, row: Option<&Target>, with: Option<TechniqueIx>, atlas: &Atlas) -> Option<u32> {
    let most = row.and_then(|r| r.laps).map_or(*STEP_SECONDS.end(), |line| i64::from(line.most));
    let seconds = table.int("seconds", STEP_SECONDS).and_then(|n| u32::try_from(n).ok());
    let laps = table.int("laps", 1..=most).and_then(|n| u32::try_from(n).ok());
    if table.has("seconds") && table.has("laps") {
        table.document().note(table.line_of("laps"), "a lock has `seconds` or `laps`, not the two");
        return None;
    }
    let row = row?;
    let Some(line) = row.laps.filter(|_| row.kind == Kind::Line) else {
        if table.has("laps") {
            let message = format!("`{}` is not a line and has no laps; write `seconds`", row.id);
            table.document().note(table.line_of("laps"), message);
            return None;
        }
        return seconds.filter(|s| point_seconds(table, row, with, *s, atlas));
    };
    if let Some(laps) = laps {
        return Some(laps * line.lap_s);
    }
    let seconds = seconds?;
    if seconds % line.lap_s != 0 || seconds > line.most * line.lap_s {
        let message = format!(
            "`seconds` is {seconds}, but `{}` is a line of {} s a lap, at most {} laps; write `laps = 1` to `{}`",
            row.id, line.lap_s, line.most, line.most
        );
        table.document().note(table.line_of("seconds"), message);
        return None;
    }
    Some(seconds)
}

/// Whether some technique that the lock leaves open can last so long; a finding otherwise.
fn point_seconds(table: &Table, row: &Target, with: Option<TechniqueIx>, seconds: u32, atlas: &Atlas) -> bool {
    let techniques = with.map_or_else(|| row.techniques.clone(), |t| vec![t]);
    let fits = |t: &TechniqueIx| {
        let (min, max) = atlas.technique(*t).seconds;
        (min..=max).contains(&seconds) && (seconds - min).is_multiple_of(5)
    };
    if techniques.iter().any(fits) {
        return true;
    }
    let ranges: Vec<String> = techniques
        .iter()
        .map(|t| {
            let row = atlas.technique(*t);
            format!("`{}` from {} to {} in steps of 5", row.id, row.seconds.0, row.seconds.1)
        })
        .collect();
    let message = format!("`seconds` is {seconds}, but `{}` takes {}", row.id, ranges.join(", or "));
    table.document().note(table.line_of("seconds"), message);
    false
}

/// What is right by itself and wrong together.
fn contradictions(root: &Table, request: &Request, atlas: &Atlas) {
    let against =
        |target: TargetIx, side| request.unwanted.iter().any(|u| u.target == target && same_place(u.side, side));
    for wish in request.wanted.iter().filter(|w| against(w.target, w.side)) {
        let message = format!("`{}` is both wanted and unwanted; take one away", atlas.target(wish.target).id);
        root.document().note(root.line_of("unwanted").max(root.line_of("unwant")), message);
    }
    for lock in request.locked.iter().filter(|l| against(l.target, l.side)) {
        let message = format!("`{}` is both locked and unwanted; take one away", atlas.target(lock.target).id);
        root.document().note(root.line_of("lock"), message);
    }
    if request.audience && root.has("answers") {
        let message = "an `audience` cannot be screened, so `answers` would say nothing; leave one of the two out";
        root.document().note(root.line_of("answers"), message);
    }
}
