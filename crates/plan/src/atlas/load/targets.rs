//! What can be worked: whole zones, points, lines.

use vocab::Sides;
use vocab::read::Table;

use super::places::{need_sides, zones_in};
use super::rows::{self, Row, look_up, merged, need_pressure, need_u32, optional_text};
use crate::atlas::{Atlas, Kind, Laps, Shown, Target, ZoneIx};

/// Zones first, then points, then lines, each in data order; the zones' rows end here.
pub(super) fn read(roots: &[Table], zones: Vec<Row>, atlas: &mut Atlas) {
    for (ix, row) in zones.into_iter().enumerate() {
        let zone = ZoneIx(ix);
        let of = atlas.zone(zone);
        let target = Target {
            id: row.id.clone(),
            name: of.name.clone(),
            kind: Kind::Zone,
            sides: of.sides,
            zone,
            crosses: vec![zone],
            pressure: of.pressure,
            shown: Shown::Photo,
            laps: None,
            source: of.source.clone(),
            ..common(&row, atlas)
        };
        add(row, target, true, atlas);
    }
    for row in merged(roots, "point") {
        let t = &row.table;
        let place = order_zone(t, atlas);
        let zone = place.unwrap_or(ZoneIx(0));
        let target = Target {
            kind: Kind::Point,
            crosses: vec![zone],
            zone,
            rule: Some(t.need_text("rule").text),
            pinyin: optional_text(t, "pinyin"),
            ..own(&row, atlas)
        };
        add(row, target, place.is_some(), atlas);
    }
    for row in merged(roots, "line") {
        let t = &row.table;
        let place = order_zone(t, atlas);
        let zone = place.unwrap_or(ZoneIx(0));
        let crosses = zones_in(t, "crosses", atlas);
        if place.is_some() && !crosses.contains(&zone) {
            let message = format!("line `{}` must cross its own zone: add it to `crosses`", row.id);
            t.document().note(t.line_of("crosses"), message);
        }
        let laps = Laps { lap_s: need_u32(t, "lap_s", 2, 60), most: need_u32(t, "most_laps", 1, 10) };
        let target = Target {
            kind: Kind::Line,
            crosses,
            zone,
            laps: Some(laps),
            direction: Some(t.need_text("direction").text),
            dwell: t.words("dwell").into_iter().map(|word| word.text).collect(),
            ..own(&row, atlas)
        };
        add(row, target, place.is_some(), atlas);
    }
}

/// What zones, points and lines have alike.
fn common(row: &Row, atlas: &Atlas) -> Target {
    let t = &row.table;
    let techniques = rows::preferred(t, "techniques", atlas.techniques.iter().map(|technique| technique.id.as_str()));
    Target {
        id: row.id.clone(),
        name: String::new(),
        kind: Kind::Zone,
        sides: Sides::Lateral,
        zone: ZoneIx(0),
        crosses: Vec::new(),
        techniques: rows::technique_places(&techniques),
        pressure: vocab::Pressure::Featherlight,
        rank: t.need_int("rank", 0..=10_000),
        shown: Shown::Photo,
        find: t.need_text("find").text,
        rule: None,
        pinyin: None,
        direction: None,
        dwell: Vec::new(),
        caution: optional_text(t, "caution"),
        laps: None,
        source: String::new(),
    }
}

/// What points and lines say for themselves and a zone has already said.
fn own(row: &Row, atlas: &Atlas) -> Target {
    let t = &row.table;
    Target {
        name: t.need_text("name").text,
        sides: need_sides(t),
        pressure: need_pressure(t),
        shown: shown(t),
        source: t.need_text("source").text,
        ..common(row, atlas)
    }
}

fn order_zone(table: &Table, atlas: &Atlas) -> Option<ZoneIx> {
    let word = table.need_text("zone");
    let ids = atlas.zones.iter().map(|zone| zone.id.as_str());
    if word.text.is_empty() { None } else { look_up(table, "zone", &word, ids).map(ZoneIx) }
}

fn shown(table: &Table) -> Shown {
    let because = optional_text(table, "never_because");
    let photo_sketch_never = [("photo", 0), ("sketch", 1), ("never", 2)];
    match (table.need_choice("shown", &photo_sketch_never), because) {
        (Some(2), Some(reason)) => Shown::Never(reason),
        (Some(2), None) => {
            table.document().note(table.line_of("shown"), "what is never shown needs its reason in `never_because`");
            Shown::Never(String::new())
        }
        (kind, because) => {
            if because.is_some() {
                let line = table.line_of("never_because");
                table.document().note(line, "`never_because` goes only with shown = \"never\"");
            }
            if kind == Some(1) { Shown::Sketch } else { Shown::Photo }
        }
    }
}

/// Checks a target against its techniques and, where its zone is known, against its zones, and adds it.
fn add(row: Row, target: Target, placed: bool, atlas: &mut Atlas) {
    let t = &row.table;
    let what = match target.kind {
        Kind::Zone => "zone",
        Kind::Point => "point",
        Kind::Line => "line",
    };
    let say = |key: &str, message: String| t.document().note(t.line_of(key), format!("{what} `{}`: {message}", row.id));
    if target.id == crate::routine::OIL_TARGET {
        say("id", "this id is taken by the oil step; choose another".to_owned());
    }
    if let Some(twin) = atlas.target_named(&target.id) {
        let kind = format!("{:?}", atlas.target(twin).kind).to_lowercase();
        say("id", format!("this is already the id of a {kind}; choose another"));
    }
    let never = matches!(target.shown, Shown::Never(_));
    let twin = atlas.targets.iter().find(|other| other.zone == target.zone && other.rank == target.rank);
    if let (Some(twin), true) = (twin, placed) {
        say("rank", format!("rank {} is also that of `{}` in the same zone; ranks must differ", target.rank, twin.id));
    }
    if target.kind != Kind::Zone && t.words("techniques").is_empty() && !never {
        say("techniques", "it needs at least one technique".to_owned());
    }
    for technique in target.techniques.iter().map(|ix| atlas.technique(*ix)) {
        // A technique that could be done featherlight but not at the target's own pressure would become possible
        // by a condition that softens; a condition may only take away.
        if !technique.pressures.contains(&target.pressure) {
            let (id, pressure) = (&technique.id, target.pressure);
            say("techniques", format!("`{id}` cannot be done {pressure}, which is the pressure here"));
        }
    }
    for zone in target.crosses.iter().filter(|_| placed).map(|ix| atlas.zone(*ix)) {
        if target.pressure > zone.pressure {
            let (pressure, id, most) = (target.pressure, &zone.id, zone.pressure);
            say("pressure", format!("{pressure} is more than the zone `{id}` takes, which is {most}"));
        }
        match (target.sides, zone.sides) {
            (Sides::Lateral, Sides::Midline) => {
                say("sides", format!("it has two sides, but the zone `{}` exists once", zone.id));
            }
            (Sides::Midline, Sides::Lateral) if zone.neck && !never => {
                let message = format!("on the midline it would work both sides of `{}` at once; that is neck", zone.id);
                say("sides", format!("{message}, where one side at a time is worked"));
            }
            _ => {}
        }
    }
    atlas.targets.push(target);
    row.table.finish();
}
