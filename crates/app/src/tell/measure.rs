//! A measurement in plain text, for people at a terminal.

use std::fmt::Write;

use measure::{Leading, Shadow, Value};

use crate::catalogue::{fill, listed, text};
use crate::measuring::visit::Combined;
use crate::measuring::{Taken, ToneFrom, words};

/// A row of the table: its words, and own left and right.
type Row = (&'static str, [Option<String>; 2]);

fn pair(left: Option<Value>, right: Option<Value>, decimals: usize) -> [Option<String>; 2] {
    [left, right].map(|v| v.map(|v| words::value(v, decimals)))
}

fn shadow_rows(left: &Shadow, right: &Shadow) -> Vec<Row> {
    vec![
        ("measure.row_de", pair(Some(left.de), Some(right.de), 1)),
        ("measure.row_l", pair(Some(left.l), Some(right.l), 1)),
        ("measure.row_a", pair(Some(left.a), Some(right.a), 1)),
        ("measure.row_b", pair(Some(left.b), Some(right.b), 1)),
        ("measure.row_ita", pair(left.ita, right.ita, 0)),
    ]
}

fn height_key(name: &str) -> &'static str {
    match name {
        "brow" => "measure.row_brow",
        "lid_opening" => "measure.row_lid_opening",
        "mouth_corner" => "measure.row_mouth_corner",
        _ => "measure.row_jaw",
    }
}

fn table(out: &mut String, rows: &[Row]) {
    let _ =
        writeln!(out, "  {:<44}{:>16}{:>16}", text("measure.under_eye"), text("measure.left"), text("measure.right"));
    for (key, values) in rows {
        let [left, right] = values.each_ref().map(|v| v.as_deref().unwrap_or("\u{2013}"));
        let _ = writeln!(out, "    {:<42}{left:>16}{right:>16}", text(key));
    }
}

fn leads(out: &mut String, [right, left]: [Leading; 2]) {
    for (side, which) in [(text("measure.left"), left), (text("measure.right"), right)] {
        let _ = writeln!(out, "  {}", fill("measure.side_says", &[("side", &side), ("says", &words::leading(which))]));
    }
}

/// One photograph.
pub fn photo(name: &str, taken: &Taken) -> String {
    let m = &taken.measured;
    let mut out = format!("{name}\n  {}\n", words::mode(m.mode));
    let tone_key = match taken.tone_from {
        ToneFrom::Told => "measure.tone_told",
        ToneFrom::Card => "measure.tone_card",
        ToneFrom::Guessed => "measure.tone_from_photo",
    };
    let read = if taken.profile_assumed { "measure.profile_assumed" } else { "measure.profile" };
    let _ = writeln!(
        out,
        "  {} {}",
        fill(tone_key, &[("tone", &words::tone(m.tone))]),
        fill(read, &[("profile", &taken.profile)])
    );
    if let Some([right, left]) = taken.sides() {
        let mut rows = shadow_rows(&left.shadow, &right.shadow);
        rows.extend([
            ("measure.row_brown", pair(left.brown, right.brown, 3)),
            ("measure.row_blue_red", pair(Some(left.blue_red), Some(right.blue_red), 3)),
            ("measure.row_relief", pair(Some(left.relief), Some(right.relief), 3)),
        ]);
        if left.sclera.is_some() || right.sclera.is_some() {
            let of = |pick: fn(&measure::Sclera) -> Value| {
                pair(left.sclera.as_ref().map(pick), right.sclera.as_ref().map(pick), 1)
            };
            rows.push(("measure.row_redness", of(|s| s.redness)));
            rows.push(("measure.row_yellowness", of(|s| s.yellowness)));
        }
        for (l, r) in left.heights.named().into_iter().zip(right.heights.named()) {
            rows.push((height_key(l.0), pair(Some(l.1), Some(r.1), 1)));
        }
        table(&mut out, &rows);
        leads(&mut out, [right.leading, left.leading]);
        if [left.leading, right.leading].iter().any(|l| *l != Leading::CannotTell) {
            let _ = writeln!(out, "  {} {}", text("measure.hand_tests"), text("measure.no_diagnosis"));
        }
    }
    let failed: Vec<_> = m.gates.iter().filter(|g| !g.passed).collect();
    for gate in &failed {
        let title = words::gate_title(gate.name);
        let _ = writeln!(out, "  {title}: {}. {}", words::gate_value(gate), words::advice(gate.name));
    }
    if failed.is_empty() {
        let _ = writeln!(out, "  {}", fill("measure.all_passed", &[("n", &m.gates.len())]));
    }
    for warning in &taken.warnings {
        let _ = writeln!(out, "  {warning}");
    }
    out
}

/// A visit.
pub fn visit(combined: &Combined) -> String {
    let [right, left] = &combined.visit.sides;
    let mut out = fill("measure.visit", &[("n", &combined.visit.photographs)]) + "\n";
    let mut rows = shadow_rows(&left.shadow, &right.shadow);
    let parts = ["measure.row_brown", "measure.row_blue_red", "measure.row_relief"];
    rows.extend(parts.iter().enumerate().map(|(k, key)| (*key, pair(left.parts[k], right.parts[k], 3))));
    let [mr, ml] = &combined.more;
    for (l, r) in ml.heights.iter().zip(&mr.heights) {
        rows.push((height_key(l.0), pair(Some(l.1), Some(r.1), 1)));
    }
    table(&mut out, &rows);
    leads(&mut out, combined.leading());
    let [_, de] = combined.visit.difference;
    let _ = writeln!(out, "  {}", fill("measure.left_less_right", &[("value", &words::value(de, 1))]));
    let spreads: Vec<String> = [left.spread, right.spread].iter().flatten().map(|s| format!("{s:.2}")).collect();
    if !spreads.is_empty() {
        let _ = writeln!(out, "  {}", fill("measure.spread", &[("values", &listed(&spreads))]));
    }
    for warning in &combined.warnings {
        let _ = writeln!(out, "  {warning}");
    }
    out
}
