//! A routine as plain text, for a terminal and for paper.

use std::fmt::Write;

use plan::atlas::Atlas;
use plan::draft::{Draft, NoDraft, Release};
use plan::request::Request;
use plan::screening::Clearance;
use vocab::Movement;

use super::{
    blocked, door_holds, left_out, movement, no_draft, place_left_out, pressure, question, releases, spoken, step, why,
};
use crate::catalogue::{Catalogue, clock, fill, listed, seconds, sentence_case, text};

/// The routine: an aligned table by movement, cautions under their step, reasons, what is left out.
pub fn routine(atlas: &Atlas, request: &Request, clearance: &Clearance, draft: &Draft) -> String {
    let names: Vec<&str> = request.concerns.iter().map(|c| atlas.concerns[c.concern.0].name.as_str()).collect();
    let mut out = String::new();
    let values: [(&str, &dyn std::fmt::Display); 4] = [
        ("concerns", &sentence_case(&listed(&names))),
        ("length", &seconds(draft.total_s)),
        ("minutes", &request.minutes),
        ("steps", &draft.steps.len()),
    ];
    let _ = writeln!(out, "{}", fill("plain.title", &values));
    let _ = writeln!(out, "{}", text("page.not_reviewed"));
    if door_holds(draft) {
        let _ = writeln!(out, "{}", text("routine.door"));
    }
    if !draft.blocked.is_empty() {
        let _ = writeln!(out, "{}", blocked(atlas, draft));
    }
    if request.audience {
        for spoken in clearance.spoken_first(atlas) {
            let _ = writeln!(out, "{}", spoken.sentences(&Catalogue, atlas));
        }
    }
    table(&mut out, atlas, request, clearance, draft);
    let _ = writeln!(out, "\n{}", text("routine.left_out"));
    for line in out_lines(atlas, clearance, draft) {
        let _ = writeln!(out, "  {line}");
    }
    out
}

fn table(out: &mut String, atlas: &Atlas, request: &Request, clearance: &Clearance, draft: &Draft) {
    let rows: Vec<[String; 4]> = draft.steps.iter().map(|s| row(atlas, s)).collect();
    let width = |column: usize| rows.iter().map(|r| r[column].chars().count()).max().unwrap_or(0);
    let widths = [width(0), width(1), width(2), width(3)];
    let mut before: Option<Movement> = None;
    let mut said: Vec<String> = Vec::new();
    for (drafted, row) in draft.steps.iter().zip(&rows) {
        let now = drafted.step.movement;
        if before != Some(now) {
            let _ = writeln!(out, "\n{}", movement(now));
            before = Some(now);
        }
        let cells: Vec<String> = row.iter().zip(widths).map(|(cell, w)| format!("{cell:<w$}")).collect();
        let tail = format!("{} · {}", pressure(drafted.step.pressure), atlas.tool(drafted.step.tool).name);
        let line = format!("{:>6} {:>4} s  {}  {tail}", clock(drafted.start_s), drafted.step.seconds, cells.join("  "));
        let _ = writeln!(out, "{}", line.trim_end());
        let mut notes: Vec<String> = Vec::new();
        if let Some(caution) = step(atlas, &drafted.step).caution {
            notes.push(format!("{} {caution}", text("step.mind")));
        }
        if request.audience {
            notes.extend(spoken(atlas, clearance, &drafted.step));
        }
        notes.extend(
            drafted.why.iter().map(|w| format!("{} {}", text("step.why"), why(atlas, clearance, &drafted.step, w))),
        );
        // Left and right say the same; the second time it is not repeated.
        for note in notes.iter().filter(|n| !said.contains(*n)) {
            let _ = writeln!(out, "{:15}{note}", "");
        }
        said = notes;
    }
}

fn row(atlas: &Atlas, drafted: &plan::draft::DraftStep) -> [String; 4] {
    let said = step(atlas, &drafted.step);
    let laps =
        said.laps.map(|n| if n == 1 { text("step.one_lap").to_owned() } else { fill("step.laps", &[("laps", &n)]) });
    [sentence_case(said.does), said.place.clone(), said.side.to_owned(), laps.unwrap_or_default()]
}

/// What is left out, each reason once.
fn out_lines(atlas: &Atlas, clearance: &Clearance, draft: &Draft) -> Vec<String> {
    let mut grouped: Vec<(String, Vec<String>)> = Vec::new();
    for out in &draft.left_out {
        let reason = left_out(atlas, clearance, out);
        let at = place_left_out(atlas, out.target, out.side);
        match grouped.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, places)) => places.push(at),
            None => grouped.push((reason, vec![at])),
        }
    }
    if grouped.is_empty() {
        return vec![text("routine.nothing_left_out").to_owned()];
    }
    grouped.into_iter().map(|(reason, places)| format!("{}: {reason}", sentence_case(&listed(&places)))).collect()
}

/// Why there is none, and what would make one.
pub fn none(atlas: &Atlas, clearance: &Clearance, none: &NoDraft) -> String {
    let mut out = format!("{}\n{}\n", text("plain.none"), no_draft(atlas, clearance, none));
    for (release, said) in none.release.iter().zip(releases(atlas, none)) {
        match release {
            Release::Answer(questions) => {
                let _ = writeln!(out, "{}", text("release.answer_these"));
                for id in questions {
                    let _ = writeln!(out, "  {}", question(atlas, id));
                }
            }
            _ => {
                let _ = writeln!(out, "  {said}");
            }
        }
    }
    let _ = writeln!(out, "{}", text("page.not_reviewed"));
    out
}
