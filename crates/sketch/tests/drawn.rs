//! The drawing as a page and a printer get it: well-formed, without inline style or script, with every step findable,
//! the same twice, and readable without colour.

use face::Drawing;
use sketch::{Ground, Mark, MarkedStep, Options, Words, class_svg, mark_svg, sheet, stage, step_view};
use vocab::{Class, Movement, Pressure, Side};

fn options(ground: Ground) -> Options<'static> {
    let words = Words {
        title: "A <routine> & more",
        desc: "Eight \"steps\"",
        your_right: "your right",
        your_left: "your left",
        from_behind: "from behind",
    };
    Options { ground, id: "t", words, numerals: true }
}

fn step(number: usize, target: &str, side: Side, mark: Mark) -> MarkedStep<'_> {
    MarkedStep {
        number,
        target,
        side,
        mark,
        pressure: Pressure::Light,
        seconds: 15,
        full_s: 20,
        movement: Movement::Work,
        class: Class::Go,
        title: target,
    }
}

/// Open elements close in order; attributes are quoted. Enough of XML to catch a slip of the pen.
#[track_caller]
fn well_formed(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    for (i, tag) in svg.split('<').enumerate() {
        if i == 0 {
            assert!(tag.is_empty(), "text before the root: {tag}");
            continue;
        }
        let (tag, text) = tag.split_once('>').unwrap_or_else(|| panic!("tag without end: {tag}"));
        assert!(!text.contains('&') || text.contains(';'), "{text}");
        assert_eq!(tag.matches('"').count() % 2, 0, "quotes in {tag}");
        let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap_or_default();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name), "closing {name}");
        } else if !tag.ends_with('/') {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
    for banned in ["style=", "<style", "<script", "NaN", "inf", "onload", "href"] {
        assert!(!svg.contains(banned), "{banned} in the drawing");
    }
}

#[test]
fn every_target_takes_every_mark() {
    let drawing = Drawing::built_in();
    let targets: Vec<&String> = drawing.zones.keys().chain(drawing.points.keys()).chain(drawing.lines.keys()).collect();
    for (_, mark) in Mark::ALL {
        for class in Class::ALL {
            let marked = |(i, t)| MarkedStep { class: *class, ..step(i + 1, t, Side::Both, mark) };
            let steps: Vec<MarkedStep<'_>> = targets.iter().map(|t| t.as_str()).enumerate().map(marked).collect();
            let svg = stage(&drawing, &steps, &options(Ground::Page));
            well_formed(&svg);
            for step in &steps {
                let group = svg.split(&format!("data-step=\"{}\"", step.number)).nth(1).unwrap_or_default();
                let art = group.split("<g ").next().unwrap_or_default();
                assert!(art.contains("<path d=\"M"), "{} {mark:?} {class}: nothing is drawn", step.target);
            }
        }
    }
}

#[test]
fn one_step_is_shown_with_the_next_faint() {
    let drawing = Drawing::built_in();
    let (now, next) = (step(3, "ST6", Side::Left, Mark::Hold), step(4, "GB14", Side::Right, Mark::Circles));
    let svg = step_view(&drawing, &now, Some(&next), &options(Ground::Page));
    well_formed(&svg);
    assert!(svg.contains("data-step=\"3\"") && svg.contains("data-step=\"4\"") && svg.contains("opacity=\"0.3\""));
}

#[test]
fn a_sheet_shows_every_step_and_is_the_same_twice() {
    let drawing = Drawing::built_in();
    let targets: Vec<&str> = drawing.points.keys().map(String::as_str).collect();
    let steps: Vec<MarkedStep<'_>> =
        targets.iter().enumerate().map(|(i, t)| step(i + 1, t, Side::Both, Mark::Circles)).collect();
    for ground in [Ground::Page, Ground::Linen, Ground::Night, Ground::Print] {
        let svg = sheet(&drawing, &steps, &options(ground));
        well_formed(&svg);
        assert_eq!(svg, sheet(&drawing, &steps, &options(ground)));
        for step in &steps {
            assert!(svg.contains(&format!("data-step=\"{}\"", step.number)), "step {}", step.number);
        }
        assert!(svg.contains("role=\"img\"") && svg.contains("A &lt;routine&gt; &amp; more"));
        assert!(svg.contains("your left") && svg.contains("from behind"));
        // Only a file of its own has colours.
        assert_eq!(svg.contains("color=\"#"), ground != Ground::Page);
    }
    well_formed(&stage(&drawing, &steps, &options(Ground::Page)));
}

#[test]
fn opening_and_closing_of_a_place_are_one_hollow_mark() {
    let drawing = Drawing::built_in();
    let moved = |n, movement| MarkedStep { movement, ..step(n, "neck_side", Side::Left, Mark::Stroke) };
    let svg = sheet(&drawing, &[moved(1, Movement::Open), moved(2, Movement::Close)], &options(Ground::Page));
    assert!(svg.contains("<g class=\"sk-step\" data-step=\"1 2\""), "one mark for both");
    let work = sheet(&drawing, &[moved(1, Movement::Open), moved(2, Movement::Work)], &options(Ground::Page));
    assert!(
        work.contains("<g class=\"sk-step\" data-step=\"1\"") && work.contains("<g class=\"sk-step\" data-step=\"2\"")
    );
}

#[test]
fn the_right_is_the_mirror_of_the_left_but_hatched_otherwise() {
    let drawing = Drawing::built_in();
    let place = |side| {
        let svg = sheet(&drawing, &[step(1, "ST6", side, Mark::Hold)], &options(Ground::Page));
        let cx = svg.split("cx=\"").nth(1).and_then(|t| t.split('"').next()).map(str::to_owned);
        cx.and_then(|t| t.parse::<f64>().ok()).unwrap_or_else(|| panic!("a hold has a centre"))
    };
    assert!(place(Side::Left) > 0.0, "the person's left is on the viewer's right");
    assert_eq!(place(Side::Left), -place(Side::Right));
    let icon = |side| mark_svg(Mark::Palm, side, Pressure::Light, Class::Go, 48, "");
    assert_ne!(icon(Side::Left), icon(Side::Right));
    assert_ne!(icon(Side::Left), icon(Side::Midline));
}

#[test]
fn marks_pressures_and_clearances_differ_without_colour() {
    let mut icons = std::collections::BTreeSet::new();
    for (_, mark) in Mark::ALL {
        for pressure in Pressure::ALL {
            let svg = mark_svg(mark, Side::Left, *pressure, Class::Go, 48, "named");
            well_formed(&svg);
            assert!(svg.contains("aria-label=\"named\""));
            assert!(icons.insert(svg), "{mark:?} {pressure} looks like another");
        }
    }
    let swatch = |class| class_svg(class, 48, "");
    assert!(!swatch(Class::Go).contains("stroke-linecap=\"round\" stroke-dasharray"));
    let classes: std::collections::BTreeSet<String> =
        [Class::Go, Class::Gently, Class::AskFirst, Class::LeaveOut].map(swatch).into_iter().collect();
    assert_eq!(classes.len(), 4);
}

#[test]
fn a_hold_fills_with_its_seconds_and_what_is_left_out_does_not() {
    let drawing = Drawing::built_in();
    let share = |seconds, class| {
        let held = MarkedStep { seconds, class, ..step(1, "EX-HN3", Side::Midline, Mark::Hold) };
        let svg = sheet(&drawing, &[held], &options(Ground::Page));
        let dash = svg.split("sk-fill").nth(1).and_then(|t| t.split("stroke-dasharray=\"").nth(1)).unwrap_or_default();
        let mut numbers = dash.split(['"', ' ']).map(|t| t.parse::<f64>().unwrap_or(f64::NAN));
        let (filled, round) = (numbers.next().unwrap_or(f64::NAN), numbers.next().unwrap_or(f64::NAN));
        filled / round
    };
    for (seconds, expected) in [(5, 0.25), (10, 0.5), (20, 1.0), (40, 1.0)] {
        let got = share(seconds, Class::Go);
        assert!((got - expected).abs() < 0.02, "{seconds} of 20 seconds: {got}");
    }
    assert_eq!(share(20, Class::LeaveOut), 0.0);
}

#[test]
fn the_thread_passes_what_is_done_and_not_what_is_left_out() {
    let drawing = Drawing::built_in();
    let thread = |class| {
        let steps =
            [step(1, "ST6", Side::Left, Mark::Hold), MarkedStep { class, ..step(2, "GB14", Side::Left, Mark::Hold) }];
        let svg = sheet(&drawing, &steps, &options(Ground::Page));
        let part = svg.split("class=\"sk-thread\">").nth(1).and_then(|t| t.split("</g>").next()).map(str::len);
        part.unwrap_or_else(|| panic!("no thread layer"))
    };
    assert!(thread(Class::Go) > 100);
    assert_eq!(thread(Class::LeaveOut), 0);
}

#[test]
fn no_thread_runs_over_a_neck_that_is_not_worked() {
    let drawing = Drawing::built_in();
    let thread = |targets: &[&'static str]| {
        let steps: Vec<MarkedStep<'_>> =
            targets.iter().enumerate().map(|(i, t)| step(i + 1, t, Side::Left, Mark::Palm)).collect();
        let svg = sheet(&drawing, &steps, &options(Ground::Page));
        svg.split("class=\"sk-thread\">").nth(1).and_then(|t| t.split("</g>").next()).map_or(0, str::len)
    };
    assert_eq!(thread(&["outlet", "before_ear"]), 0);
    assert!(thread(&["outlet", "neck_side", "before_ear"]) > 100);
}

#[test]
fn no_thread_crosses_an_eye() {
    let drawing = Drawing::built_in();
    let codes: Vec<&str> = drawing.points.keys().map(String::as_str).filter(|c| !["ST1", "BL1"].contains(c)).collect();
    for a in &codes {
        let steps: Vec<MarkedStep<'_>> = codes
            .iter()
            .flat_map(|b| [*a, *b])
            .enumerate()
            .map(|(i, t)| step(i + 1, t, Side::Left, Mark::Hold))
            .collect();
        let svg = sheet(&drawing, &steps, &Options { numerals: false, ..options(Ground::Page) });
        let layer = svg.split("class=\"sk-thread\">").nth(1).and_then(|t| t.split("</g>").next()).unwrap_or_default();
        for d in layer.split(" d=\"").skip(1).filter_map(|t| t.split('"').next()) {
            for at in pieces(d) {
                let near = ((at.0 / 20.0 - 3.15) / 1.25).hypot((-at.1 / 20.0 - 2.6) / 0.45);
                assert!(near > 1.0, "from {a} the thread runs over the eye at {at:?}");
            }
        }
    }
}

/// The end points of a path of `M x y q dx dy dx dy ...` and `M x y L x y`.
fn pieces(d: &str) -> Vec<(f64, f64)> {
    let mut spots = Vec::new();
    for run in d.split('M').skip(1) {
        let (start, bends) = run.split_once('q').unwrap_or((run.split('L').next().unwrap_or_default(), ""));
        let mut numbers = Vec::new();
        let mut word = String::new();
        for c in bends.chars().chain([' ']) {
            let joins = c == '-' || c == ' ' || (c == '.' && word.contains('.'));
            if joins && !word.is_empty() {
                numbers.push(word.parse::<f64>().unwrap_or_else(|_| panic!("`{word}` in {bends}")));
                word.clear();
            }
            if c != ' ' {
                word.push(c);
            }
        }
        let first: Vec<f64> = start.split(' ').filter_map(|t| t.parse().ok()).collect();
        let mut at = (first[0], first[1]);
        spots.push(at);
        for bend in numbers.chunks_exact(4) {
            at = (at.0 + bend[2], at.1 + bend[3]);
            spots.push(at);
        }
    }
    spots
}

#[test]
fn an_unknown_target_and_the_oil_are_not_drawn_and_do_no_harm() {
    let drawing = Drawing::built_in();
    let svg = sheet(&drawing, &[step(1, "oil", Side::Midline, Mark::Oil)], &options(Ground::Page));
    well_formed(&svg);
    assert!(!svg.contains("data-step"));
}
