//! Renders sample sheets for looking at: `cargo run -p sketch --example render -- OUTDIR`. The routine is invented.

// An example stands at the edge: it reads its argument, writes files and says which.
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

use face::Drawing;
use sketch::{Ground, Mark, MarkedStep, Options, Words};
use vocab::{Class, Movement, Pressure, Side};

#[path = "render/persons.rs"]
mod persons;

fn main() -> std::io::Result<()> {
    let dir = std::path::PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| ".".to_owned()));
    let drawing = Drawing::built_in();
    let options = |ground, id| Options {
        ground,
        id,
        words: Words {
            title: "A routine on the drawn face",
            desc: "An invented sample.",
            your_right: "your right",
            your_left: "your left",
            from_behind: "from behind",
        },
        numerals: false,
    };
    let jaw = jaw();
    let all = everything();
    let mut files: Vec<(String, String)> = vec![
        ("figure.svg".into(), sketch::sheet(&drawing, &[], &options(Ground::Linen, "f"))),
        ("jaw.svg".into(), sketch::sheet(&drawing, &jaw, &options(Ground::Linen, "j"))),
        ("jaw_night.svg".into(), sketch::sheet(&drawing, &jaw, &options(Ground::Night, "n"))),
        ("jaw_print.svg".into(), sketch::sheet(&drawing, &jaw, &options(Ground::Print, "p"))),
        ("all.svg".into(), sketch::sheet(&drawing, &all, &options(Ground::Linen, "a"))),
    ];
    for n in [3usize, 9, 13] {
        if let Some(step) = jaw.get(n) {
            let svg = sketch::step_view(&drawing, step, jaw.get(n + 1), &options(Ground::Linen, "s"));
            files.push((format!("step{n}.svg"), svg));
        }
    }
    files.extend(persons::files(&drawing, &jaw));
    let mut icons = String::new();
    for pressure in Pressure::ALL {
        for (_, mark) in Mark::ALL {
            icons.push_str(&sketch::mark_svg(mark, Side::Left, *pressure, Class::Go, 45, ""));
        }
    }
    for class in Class::ALL {
        icons.push_str(&sketch::class_svg(*class, 45, ""));
    }
    files.push(("icons.html".into(), icons));
    files.push(("page.html".into(), page(&sketch::sheet(&drawing, &jaw, &options(Ground::Page, "pg")))));
    for (name, text) in &files {
        std::fs::write(dir.join(name), text)?;
        println!("{name} {} bytes", text.len());
    }
    Ok(())
}

pub(crate) fn page(svg: &str) -> String {
    let css = sketch::CSS;
    format!(
        "<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'><style>:root{{--ink:#1F2A33;--lamp:#1F5F8B;\
         --wash:#7A838A;--ground:#EDF0EE}}body{{margin:16px;background:#EDF0EE;color:#1F2A33;font:17px sans-serif}}main{{max-width:720px;margin:auto}}{css}\
         @media (prefers-color-scheme:dark){{:root{{--ink:#E3DFD4;--lamp:#7FB4D6;--wash:#7F7E79;--ground:#12161A}}body{{background:#12161A;color:#E3DFD4}}}}\
         </style><main>{svg}</main>"
    )
}

fn step(
    number: usize,
    target: &'static str,
    side: Side,
    mark: Mark,
    pressure: Pressure,
    movement: Movement,
) -> MarkedStep<'static> {
    MarkedStep {
        number,
        target,
        side,
        mark,
        pressure,
        seconds: 15,
        full_s: 20,
        movement,
        class: Class::Go,
        title: target,
    }
}

fn jaw() -> Vec<MarkedStep<'static>> {
    use Movement::{Close, Open, Work};
    use Pressure::{Featherlight, Firm, Light};
    let mut steps = Vec::new();
    let mut both = |target, mark, pressure, movement| {
        for side in [Side::Left, Side::Right] {
            let n = steps.len() + 1;
            steps.push(step(n, target, side, mark, pressure, movement));
        }
    };
    for zone in ["outlet", "neck_side", "before_ear", "below_jaw"] {
        both(zone, Mark::Stroke, Featherlight, Open);
    }
    both("jaw_muscle", Mark::Palm, Light, Work);
    both("ST5", Mark::Press, Light, Work);
    both("ST6", Mark::Circles, Firm, Work);
    both("jaw_edge", Mark::Stroke, Light, Work);
    both("ST7", Mark::Hold, Light, Work);
    both("cheek_back", Mark::ToAndFro, Light, Work);
    both("temple", Mark::Circles, Light, Work);
    both("EX-HN4", Mark::Hold, Light, Work);
    both("brow_line", Mark::Pinch, Light, Work);
    let n = steps.len() + 1;
    steps.push(step(n, "EX-HN3", Side::Midline, Mark::Hold, Light, Work));
    let mut both = |target, mark, pressure, movement| {
        for side in [Side::Left, Side::Right] {
            let n = steps.len() + 1;
            steps.push(step(n, target, side, mark, pressure, movement));
        }
    };
    for zone in ["below_jaw", "before_ear", "neck_side", "outlet"] {
        both(zone, Mark::Stroke, Featherlight, Close);
    }
    steps
}

fn everything() -> Vec<MarkedStep<'static>> {
    let mut steps = jaw();
    let extra = [
        ("nape", Mark::Stroke, Class::Go),
        ("GB20", Mark::Circles, Class::Gently),
        ("shoulder_back", Mark::Palm, Class::Go),
        ("shoulder_top", Mark::Pinch, Class::Go),
        ("forehead", Mark::Palm, Class::Go),
        ("orbit_ring", Mark::Stroke, Class::Gently),
        ("SI18", Mark::Press, Class::AskFirst),
        ("LI20", Mark::Hold, Class::LeaveOut),
        ("below_collarbone", Mark::Stroke, Class::Go),
        ("armpit", Mark::Hold, Class::Gently),
    ];
    for (target, mark, class) in extra {
        for side in [Side::Left, Side::Right] {
            let n = steps.len() + 1;
            let mut s = step(n, target, side, mark, Pressure::Light, Movement::Work);
            s.class = class;
            steps.push(s);
        }
    }
    steps
}
