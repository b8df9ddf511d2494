//! Settings, tools and techniques.

use vocab::Pressure;
use vocab::read::Table;

use super::rows::{self, merged, need_u32, optional_text};
use crate::atlas::{Atlas, MOST_ROWS, Technique, Tool};

/// Notation marks that the drawing knows.
const MARKS: [&str; 7] = ["stroke", "hold", "circles", "press", "to_and_fro", "palm", "pinch"];

/// The numbers of the model; a later file may set only some of them.
pub(super) fn settings(roots: &[Table], atlas: &mut Atlas) {
    for root in roots {
        let Some(table) = root.table("settings") else { continue };
        let table = table.named("settings");
        table.need_text("source");
        let s = &mut atlas.settings;
        for (key, value, low, high) in [
            ("change_tool_s", &mut s.change_tool_s, 0, 60),
            ("change_side_s", &mut s.change_side_s, 0, 60),
            ("change_zone_s", &mut s.change_zone_s, 0, 60),
            ("oil_s", &mut s.oil_s, 0, 120),
            ("full_point_s", &mut s.full_point_s, 5, 120),
            ("full_line_laps", &mut s.full_line_laps, 1, 10),
            ("full_zone_s", &mut s.full_zone_s, 5, 120),
            ("targets_per_zone", &mut s.targets_per_zone, 1, 12),
        ] {
            if table.has(key) {
                *value = need_u32(&table, key, low, high);
            }
        }
        if table.has("oil_drops") {
            match table.ints("oil_drops", 1..=40)[..] {
                [low, high] if low <= high => {
                    let drops = |n: i64| u32::try_from(n).unwrap_or(1);
                    atlas.oil_drops = (drops(low), drops(high));
                }
                _ => {
                    let message = "`oil_drops` must be two numbers from 1 to 40, the smaller first, as in [3, 6]";
                    table.document().note(table.line_of("oil_drops"), message);
                }
            }
        }
        table.finish();
    }
}

/// The tools; `hands` must be among them.
pub(super) fn tools(roots: &[Table], atlas: &mut Atlas) {
    for row in merged(roots, "tool") {
        let t = &row.table;
        if atlas.tools.len() == MOST_ROWS {
            t.note(format!("tool `{}` is one too many: at most {MOST_ROWS} tools are kept; leave some out", row.id));
        }
        let grams = ["grams_featherlight", "grams_light", "grams_firm"].map(|key| need_u32(t, key, 1, 5000));
        if !(grams[0] < grams[1] && grams[1] < grams[2]) {
            t.note(format!("tool `{}`: grams must grow from featherlight over light to firm", row.id));
        }
        atlas.tools.push(Tool {
            name: t.need_text("name").text,
            contact_mm2: need_u32(t, "contact_mm2", 10, 10_000),
            care: t.need_text("care").text,
            grams,
            source: t.need_text("source").text,
            id: row.id,
        });
        row.table.finish();
    }
    if let (Some(root), None) = (roots.first(), atlas.tool_named("hands")) {
        root.document().note(0, "no file has the tool `hands`; hands are always at hand, so the atlas needs them");
    }
}

/// The techniques.
pub(super) fn techniques(roots: &[Table], atlas: &mut Atlas) {
    for row in merged(roots, "technique") {
        let t = &row.table;
        if row.id == crate::routine::OIL_TECHNIQUE {
            t.note(format!("the technique id `{}` is taken by the oil step; choose another", row.id));
        }
        let seconds = (need_u32(t, "min_s", 5, 300), need_u32(t, "max_s", 5, 300));
        if t.has("min_s") && t.has("max_s") && (seconds.1 < seconds.0 || !(seconds.1 - seconds.0).is_multiple_of(5)) {
            let (min, max) = seconds;
            let message = format!(
                "technique `{}`: from min_s {min} to max_s {max} must be a whole number of 5-second strides",
                row.id
            );
            t.document().note(t.line_of("max_s"), message);
        }
        let tools = rows::preferred(t, "tools", atlas.tools.iter().map(|tool| tool.id.as_str()));
        if t.words("tools").is_empty() {
            t.note(format!("technique `{}`: `tools` is empty; name at least one, as in [\"hands\"]", row.id));
        }
        let mark = t.need_choice("mark", &MARKS.map(|mark| (mark, mark))).unwrap_or(MARKS[0]);
        atlas.techniques.push(Technique {
            name: t.need_text("name").text,
            says: t.need_text("says").text,
            direction: t.need_text("direction").text,
            mark: mark.to_owned(),
            tools: rows::tool_places(&tools),
            pressures: pressures(t, &row.id),
            seconds,
            glides: t.flag("glides").unwrap_or(false),
            two_hands: t.flag("two_hands").unwrap_or(false),
            support: optional_text(t, "support"),
            other_hand: optional_text(t, "other_hand"),
            never: t.words("never").into_iter().map(|word| word.text).collect(),
            source: t.need_text("source").text,
            id: row.id,
        });
        row.table.finish();
    }
}

/// The pressures a technique can take, gentlest first.
fn pressures(table: &Table, id: &str) -> Vec<Pressure> {
    let mut pressures = Vec::new();
    for word in table.words("pressures") {
        match Pressure::from_word(&word.text) {
            Some(pressure) if !pressures.contains(&pressure) => pressures.push(pressure),
            Some(_) => table.document().note(word.line, format!("`pressures` names `{}` twice", word.text)),
            None => table.unknown_word("pressures", &word, Pressure::ALL.iter().map(|p| p.word())),
        }
    }
    if pressures.is_empty() {
        table
            .note(format!("technique `{id}`: `pressures` names none it can take, as in [\"featherlight\", \"light\"]"));
    }
    pressures.sort();
    pressures
}
