//! Zones, zone sets and the main tree to the collarbone outlet.

use vocab::read::{Table, Word};
use vocab::{Pressure, Sides};

use super::rows::{Row, look_up, merged, need_pressure, need_u32};
use crate::atlas::{Atlas, MOST_ROWS, TechniqueIx, View, Zone, ZoneIx, ZoneSet};

/// The id of the zone where every way ends.
pub(super) const OUTLET: &str = "outlet";

/// The zones of all files. Their rows are handed back: zones are targets too, and later checks name their lines.
pub(super) fn zones<'d, 't>(roots: &[Table<'d, 't>], atlas: &mut Atlas) -> Vec<Row<'d, 't>> {
    let rows = merged(roots, "zone");
    let ids: Vec<&str> = rows.iter().map(|row| row.id.as_str()).collect();
    for row in &rows {
        let zone = zone(row, &ids, atlas);
        if let Some(twin) = atlas.zones.iter().find(|z| z.height == zone.height) {
            let line = row.table.line_of("height");
            let message =
                format!("zone `{}`: height {} is also that of `{}`; heights must differ", row.id, zone.height, twin.id);
            row.table.document().note(line, message);
        }
        atlas.zones.push(zone);
    }
    if let Some(row) = rows.get(MOST_ROWS) {
        row.table
            .note(format!("zone `{}` is one too many: at most {MOST_ROWS} zones are kept; leave some out", row.id));
    }
    if let (Some(root), None) = (roots.first(), atlas.zone_named(OUTLET)) {
        root.document().note(0, "no file has the zone `outlet`, where every way ends");
    }
    rows
}

fn zone(row: &Row, ids: &[&str], atlas: &Atlas) -> Zone {
    let t = &row.table;
    let place = |key: &str, word: &Word| look_up(t, key, word, ids.iter().copied()).map(ZoneIx);
    let next_main = t.text("next").and_then(|word| place("next", &word));
    if row.id == OUTLET && t.has("next") {
        t.document().note(t.line_of("next"), "the zone `outlet` has no `next`: the way ends there");
    } else if row.id != OUTLET && !t.has("next") {
        t.note(format!("zone `{}` has no way to the outlet: `next` is missing", row.id));
    }
    let views = [("face", View::Face), ("torso", View::Torso), ("back", View::Back)];
    let (open_technique, open_s) = way_step(row, atlas, "open", "open_s");
    let (close_technique, close_s) = way_step(row, atlas, "close", "close_s");
    Zone {
        id: row.id.clone(),
        name: t.need_text("name").text,
        sides: need_sides(t),
        next_main: if row.id == OUTLET { None } else { next_main },
        next_part: t.words("next_part").iter().filter_map(|word| place("next_part", word)).collect(),
        neck: t.flag("neck").unwrap_or(false),
        height: t.need_int("height", -10_000..=10_000),
        depth: 0,
        view: t.need_choice("view", &views).unwrap_or(View::Face),
        pressure: need_pressure(t),
        door: t.flag("door").unwrap_or(false),
        open_technique,
        open_s,
        close_technique,
        close_s,
        source: t.need_text("source").text,
    }
}

/// The technique and seconds of an opening or closing: featherlight, without oil, at least 5 seconds.
fn way_step(row: &Row, atlas: &Atlas, key: &str, seconds_key: &str) -> (TechniqueIx, u32) {
    let t = &row.table;
    let seconds = need_u32(t, seconds_key, 5, 120);
    let word = t.need_text(key);
    if word.text.is_empty() {
        return (TechniqueIx(0), seconds);
    }
    let ids = atlas.techniques.iter().map(|technique| technique.id.as_str());
    let Some(ix) = look_up(t, key, &word, ids) else { return (TechniqueIx(0), seconds) };
    let technique = &atlas.techniques[ix];
    let refuse = |why: &str| {
        let message = format!("zone `{}`: `{key}` names `{}`, which {why}; choose another", row.id, technique.id);
        t.document().note(word.line, message);
    };
    if technique.glides {
        refuse("glides on oil, and the way is worked before the oil");
    }
    if !technique.pressures.contains(&Pressure::Featherlight) {
        refuse("cannot be done featherlight, as the way must be");
    }
    (TechniqueIx(ix), seconds)
}

/// Whether a place exists once or on both sides.
pub(super) fn need_sides(table: &Table) -> Sides {
    let known = Sides::ALL.iter().map(|sides| (sides.word(), *sides)).collect::<Vec<_>>();
    table.need_choice("sides", &known).unwrap_or(Sides::Lateral)
}

/// The named groups of zones; a set may name sets that stand before it.
pub(super) fn zone_sets(roots: &[Table], atlas: &mut Atlas) {
    for row in merged(roots, "zone_set") {
        if atlas.zone_named(&row.id).is_some() {
            row.table.note(format!("zone_set `{}` has the id of a zone; choose another", row.id));
        }
        let zones = zones_in(&row.table, "zones", atlas);
        if zones.is_empty() {
            row.table.note(format!("zone_set `{}` holds no zone; name at least one in `zones`", row.id));
        }
        row.table.need_text("source");
        atlas.zone_sets.push(ZoneSet { name: row.table.need_text("name").text, zones, id: row.id });
        row.table.finish();
    }
}

/// The zones under `key`, named one by one or by set, each once, in the order named.
pub(in crate::atlas) fn zones_in(table: &Table, key: &str, atlas: &Atlas) -> Vec<ZoneIx> {
    let mut zones = Vec::new();
    for word in table.words(key) {
        let named = match (atlas.zone_named(&word.text), atlas.zone_set(&word.text)) {
            (Some(zone), _) => vec![zone],
            (None, Some(set)) => set.zones.clone(),
            (None, None) => {
                let zone_ids = atlas.zones.iter().map(|zone| zone.id.as_str());
                table.unknown_word(key, &word, zone_ids.chain(atlas.zone_sets.iter().map(|set| set.id.as_str())));
                Vec::new()
            }
        };
        for zone in named {
            if !zones.contains(&zone) {
                zones.push(zone);
            }
        }
    }
    zones
}

/// Follows `next` from every zone to the outlet, fills the depths, and notes circles and dead ends.
pub(super) fn check_ways(rows: &[Row], atlas: &mut Atlas) {
    let outlet = atlas.zone_named(OUTLET);
    let mut circles: Vec<ZoneIx> = Vec::new();
    for (start, row) in rows.iter().enumerate() {
        let note = |message: String| row.table.document().note(row.table.line_of("next"), message);
        let mut passed = vec![ZoneIx(start)];
        let mut here = ZoneIx(start);
        while let Some(next) = atlas.zone(here).next_main {
            if let Some(at) = passed.iter().position(|zone| *zone == next) {
                let ids = |zones: &[ZoneIx]| zones.iter().map(|z| atlas.zone(*z).id.clone()).collect::<Vec<_>>();
                if at > 0 {
                    let met = &atlas.zone(next).id;
                    note(format!("zone `{}` has no way to the outlet: it runs into a circle at `{met}`", row.id));
                } else if !circles.contains(&next) {
                    circles.extend(&passed);
                    let round = format!("{} -> {}", ids(&passed).join(" -> "), row.id);
                    note(format!("`next` goes in a circle, so there is no way to the outlet: {round}"));
                }
                break;
            }
            passed.push(next);
            here = next;
        }
        if Some(here) == outlet {
            atlas.zones[start].depth = u32::try_from(passed.len() - 1).unwrap_or(u32::MAX);
        }
        if let Some(next) = atlas.zones[start].next_main
            && (atlas.zones[start].sides, atlas.zone(next).sides) == (Sides::Lateral, Sides::Midline)
        {
            note(format!(
                "zone `{}` has two sides, so its way cannot pass `{}`, which has none",
                row.id,
                atlas.zone(next).id
            ));
        }
    }
    if let Some(outlet) = outlet
        && atlas.zone(outlet).sides == Sides::Midline
    {
        rows[outlet.0].table.note("the zone `outlet` must be lateral: there is one on each side");
    }
}
