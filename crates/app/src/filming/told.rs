//! What the kit says to the practitioner.

use plan::atlas::Atlas;
use plan::screening::Clearance;
use publish::retime::Wrong;
use publish::script::{Act, Take, Told};

use super::describe::{self, Kept};
use super::files::clock;
use crate::catalogue::{Catalogue, fill, text};
use crate::desk::editor::runnable::Refused;

/// What did not go as the routine has it, in sentences.
pub fn sentences(take: &Take, late: &[usize], (description, kept): (&str, Kept), no_chapters: bool) -> Vec<String> {
    let place = |at: usize| take.acts.get(at).map_or(String::new(), place);
    let mut said = Vec::new();
    let waits: Vec<(usize, f64)> =
        take.told.iter().filter_map(|t| if let Told::Later(at, by) = t { Some((*at, *by)) } else { None }).collect();
    if let Some((at, most)) = waits.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a }) {
        let together: f64 = waits.iter().map(|(_, by)| by).sum();
        let values: [(&str, &dyn std::fmt::Display); 5] = [
            ("n", &waits.len()),
            ("seconds", &of_seconds(together)),
            ("most", &of_seconds(most)),
            ("step", &(at + 1)),
            ("place", &place(at)),
        ];
        said.push(fill("kit.later", &values));
    }
    for told in &take.told {
        let step = |key: &'static str, at: usize, words: &str| {
            fill(key, &[("n", &(at + 1)), ("place", &place(at)), ("words", &words)])
        };
        match told {
            Told::Spared(at, words) => said.push(step("kit.spared", *at, words)),
            Told::Earlier(at, words) => said.push(step("kit.earlier", *at, words)),
            Told::Over(line, by) => said.extend(over(take, *line, *by)),
            Told::Beyond(by) => said.push(fill("kit.beyond", &[("seconds", &of_seconds(*by))])),
            Told::Later(..) => {}
        }
    }
    // What the captions could not keep, and was not told yet.
    let told: Vec<usize> =
        take.told.iter().filter_map(|t| if let Told::Over(line, _) = t { Some(*line) } else { None }).collect();
    said.extend(late.iter().filter(|at| !told.contains(at)).filter_map(|at| over(take, *at, 1.0)));
    let n = description.chars().count();
    if n > describe::MOST {
        said.push(fill("kit.long", &[("n", &n), ("most", &describe::MOST)]));
    }
    let gone: Vec<&str> = [
        (Kept::NoMovements, "kit.gone_movements"),
        (Kept::NoPreparations, "kit.gone_preparations"),
        (Kept::Parts, "kit.gone_within"),
        (Kept::NoChapters, "kit.gone_chapters"),
        (Kept::NoPlaces, "kit.gone_places"),
        (Kept::Urgent, "kit.gone_soon"),
    ]
    .into_iter()
    // Without any chapters, those within a part need no word.
    .filter(|(without, _)| kept >= *without && !(*without == Kept::Parts && kept >= Kept::NoChapters))
    .map(|(_, key)| text(key))
    .collect();
    if !gone.is_empty() {
        said.push(fill("kit.shorter", &[("most", &describe::MOST), ("what", &gone.join("; "))]));
    }
    if no_chapters {
        said.push(text("kit.no_chapters").to_owned());
    }
    said
}

fn over(take: &Take, line: usize, by: f64) -> Option<String> {
    let line = take.lines.get(line)?;
    let words: String = line.says.chars().take(120).collect();
    let values: [(&str, &dyn std::fmt::Display); 3] =
        [("clock", &clock(line.from)), ("seconds", &of_seconds(by)), ("words", &words)];
    Some(fill("kit.over", &values))
}

fn of_seconds(s: f64) -> String {
    crate::catalogue::seconds(s.ceil().max(1.0) as u32)
}

fn place(act: &Act) -> String {
    if act.side.is_empty() { act.place.clone() } else { format!("{}, {}", act.place, act.side) }
}

/// Why there is no kit, and what to do.
pub fn refused(atlas: &Atlas, why: &Refused) -> String {
    let clearance = Clearance::audience(atlas);
    match why {
        Refused::NotTheirs => text("kit.not_theirs").to_owned(),
        Refused::Unreadable => text("editor.unreadable").to_owned(),
        // An audience is never asked, so nothing says stop.
        Refused::Nothing | Refused::Stop(_) => text("filmcmd.nothing").to_owned(),
        Refused::Breaches(breaches, steps) => {
            let mut said = text("homecmd.breaches").to_owned();
            for breach in breaches {
                said.push_str("\n  ");
                said.push_str(&breach.message(&Catalogue, atlas, &clearance, steps));
            }
            said
        }
    }
}

/// What is wrong with a list of times, in a sentence, without its file.
pub fn wrong(wrong: &Wrong) -> String {
    match wrong {
        Wrong::Head => text("kit.wrong_head").to_owned(),
        Wrong::Line(line) => fill("kit.wrong_line", &[("line", line)]),
        Wrong::Step(line, word, steps) => fill("kit.wrong_step", &[("line", line), ("word", word), ("steps", steps)]),
        Wrong::Twice(line, step) => fill("kit.wrong_twice", &[("line", line), ("step", step)]),
        Wrong::Time(0, word) => fill("kit.wrong_tap", &[("word", word)]),
        Wrong::Time(line, word) => fill("kit.wrong_time", &[("line", line), ("word", word)]),
        Wrong::Order(step, at, before, early) => fill(
            "kit.wrong_order",
            &[("step", step), ("at", &clock(*at)), ("before", before), ("early", &clock(*early))],
        ),
        Wrong::Double(step, at) => fill("kit.wrong_double", &[("step", step), ("at", &clock(*at))]),
        Wrong::Room(step, at, 1) => fill("kit.wrong_room_one", &[("step", step), ("at", &clock(*at))]),
        Wrong::Room(step, at, n) => fill("kit.wrong_room", &[("step", step), ("at", &clock(*at)), ("n", n)]),
        Wrong::Many(n, steps) => fill("kit.wrong_many", &[("n", n), ("steps", steps)]),
        Wrong::None => text("kit.wrong_none").to_owned(),
    }
}
