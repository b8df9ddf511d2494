use plan::atlas::{Atlas, TargetIx, TechniqueIx};
use plan::reading::HANDS;
use sha2::{Digest, Sha256};
use vocab::{Movement, Pressure, Side, Sides};

use super::*;
use crate::catalogue::{Language, atlas_in, in_language};

/// Every place of the atlas on each side, with a technique of each kind of mark and the one whose name is longest.
fn every_step(atlas: &Atlas) -> Vec<Step> {
    let hands = atlas.tool_named(HANDS).expect("hands");
    let mut all = vec![step(What::Oil, Side::Both, hands)];
    let mut techniques: Vec<TechniqueIx> = (0..atlas.techniques.len()).map(TechniqueIx).collect();
    techniques.sort_by_key(|ix| std::cmp::Reverse(atlas.technique(*ix).name.chars().count()));
    for (n, target) in (0..atlas.targets.len()).map(TargetIx).enumerate() {
        for technique in [techniques[0], techniques[n % techniques.len()]] {
            let sides: &[Side] = match atlas.target(target).sides {
                Sides::Midline => &[Side::Midline],
                _ => &[Side::Left, Side::Right, Side::Both],
            };
            all.extend(sides.iter().map(|side| step(What::Target(target, technique), *side, hands)));
        }
    }
    all
}

fn step(what: What, side: Side, tool: plan::atlas::ToolIx) -> Step {
    // The longest that is said of a time.
    Step { movement: Movement::Work, what, side, tool, pressure: Pressure::Light, seconds: 105 }
}

fn given<'a>(atlas: &'a Atlas, steps: &'a [Step]) -> Given<'a> {
    Given { atlas, steps, mirrored: false }
}

/// The words lie within their column and the picture, one below the other, and leave the figure room.
fn words_fit(given: Given<'_>, i: usize) {
    let outlines = Outlines::new().expect("fonts");
    for (size, _) in Size::ALL {
        let block = block(&outlines, given, i, size).expect("words");
        let (words, figure) = laid(size, &block);
        let [width, height] = size.pixels().map(f64::from);
        let boxes = block.boxes(&outlines);
        let what = format!("{size:?} {boxes:?}");
        assert!(boxes.len() >= 4 && words.y >= 40.0 && words.y + words.h <= height - 40.0, "{what}");
        let mut foot = 0.0;
        for (_, [left, top, right, bottom]) in &boxes {
            assert!(*left >= 0.0 && *right <= words.w + 0.01, "cut off: {what}");
            assert!(*top >= foot - 0.01, "one over the other: {what}");
            foot = *bottom;
        }
        assert!(foot <= words.h + 0.01, "{what}");
        let apart = figure.x >= words.x + words.w || figure.y >= words.y + words.h;
        let inside = figure.x + figure.w <= width && figure.y + figure.h <= height;
        assert!(apart && inside && figure.w >= 600.0 && figure.h >= 600.0, "{figure:?} {what}");
        let whole: String = boxes.iter().map(|(text, _)| text.replace(' ', "")).collect();
        let said = tell::step(given.atlas, &given.steps[i]);
        let place = outlines.legible(Weight::Bold, &said.place).replace(' ', "");
        assert!(whole.contains(&place), "a word is missing: {what}");
    }
}

#[test]
fn every_place_and_technique_fits_in_both_languages() {
    let english = Atlas::built_in();
    for language in [Language::English, Language::German] {
        in_language(language, || {
            let atlas = atlas_in(language, &english);
            let steps = every_step(&atlas);
            assert!(steps.len() > 200, "{}", steps.len());
            // The longest of each kind of word; a look at all of them finds no other.
            let longest = |of: &dyn Fn(&Step) -> String| {
                (0..steps.len()).max_by_key(|i| of(&steps[*i]).chars().count()).expect("steps")
            };
            let place = longest(&|s| tell::step(&atlas, s).place);
            let word = longest(&|s| {
                let place = tell::step(&atlas, s).place;
                place.split(' ').max_by_key(|w| w.chars().count()).unwrap_or_default().to_owned()
            });
            let does = longest(&|s| tell::step(&atlas, s).does.to_owned());
            for i in [place, word, does] {
                words_fit(given(&atlas, &steps), i);
            }
            let mut seen = std::collections::BTreeSet::new();
            for (i, step) in steps.iter().enumerate() {
                let said = tell::step(&atlas, step);
                if seen.insert((said.place, said.does.to_owned(), said.side)) {
                    words_fit(given(&atlas, &steps), i);
                }
            }
        });
    }
}

#[test]
fn a_practitioner_s_own_name_fits_whatever_it_is() {
    let mut atlas = Atlas::built_in();
    let hands = atlas.tool_named(HANDS).expect("hands");
    let target = TargetIx(0);
    let technique = TechniqueIx(0);
    let steps = [step(What::Target(target, technique), Side::Both, hands)];
    for name in [
        "the place a little outward and below the corner of the mouth where it begins to soften when one smiles",
        "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaftsmuskelansatzgrube",
        "a < b & \u{4e00}\u{1f642}",
        "x",
    ] {
        atlas.targets[0].name = name.to_owned();
        words_fit(given(&atlas, &steps), 0);
        let svg = svg(given(&atlas, &steps), 0, Size::Tall, Light::Day).expect("a still").expect("a step");
        png(&svg).expect("it is well-formed");
    }
}

/// Pixels of a picture, with a way to ask whether a rectangle is nothing but ground.
struct Seen(tiny_skia::Pixmap);

impl Seen {
    fn of(svg: &str) -> Seen {
        Seen(tiny_skia::Pixmap::decode_png(&png(svg).expect("a picture")).expect("PNG"))
    }

    fn inked(&self, at: Place) -> usize {
        let ground = self.0.pixel(2, 2);
        let (x, y) = (at.x as u32, at.y as u32);
        let spots = (y..y + at.h as u32).flat_map(|y| (x..x + at.w as u32).map(move |x| (x, y)));
        spots.filter(|(x, y)| self.0.pixel(*x, *y) != ground).count()
    }
}

#[test]
fn stills_are_of_their_size_and_colours_and_the_same_each_time() {
    let atlas = Atlas::built_in();
    let steps: Vec<Step> = every_step(&atlas).into_iter().step_by(97).take(3).collect();
    let given = given(&atlas, &steps);
    let mut sums = std::collections::BTreeSet::new();
    for (size, _) in Size::ALL {
        for (light, _) in Light::ALL {
            let made = stills(given, size, light).expect("stills");
            let again = stills(given, size, light).expect("stills");
            assert_eq!(made, again);
            let ending = format!("-{}-{}.png", size.word(), light.word());
            assert!(
                made.iter()
                    .enumerate()
                    .all(|(i, (name, _))| name.starts_with(&format!("step-{:02}-", i + 1)) && name.ends_with(&ending))
            );
            for (name, bytes) in &made {
                let picture = tiny_skia::Pixmap::decode_png(bytes).expect("PNG");
                assert_eq!([picture.width(), picture.height()], size.pixels(), "{name}");
                let ground = u32::from_str_radix(&light.colours()[0][1..], 16).expect("a colour");
                let at = picture.pixel(2, 2).expect("a pixel");
                let colour = u32::from_be_bytes([0, at.red(), at.green(), at.blue()]);
                assert_eq!((colour, at.alpha()), (ground, 255), "{name}");
                assert!(sums.insert(Sha256::digest(bytes).to_vec()), "two alike: {name}");
            }
        }
    }
}

#[test]
fn nothing_of_the_figure_lies_under_the_words_of_the_sides() {
    let atlas = Atlas::built_in();
    let steps: Vec<Step> = every_step(&atlas);
    let titles = drawing::step_titles(&atlas, &steps);
    let outlines = Outlines::new().expect("fonts");
    // The oil (the bare face), and a place of each zone: head, torso, from behind.
    let mut zones = std::collections::BTreeSet::new();
    let zone = |s: &Step| match s.what {
        What::Oil => String::new(),
        What::Target(target, _) => format!("{:?}", atlas.target(target).zone),
    };
    let some: Vec<usize> = (0..steps.len()).filter(|i| zones.insert(zone(&steps[*i]))).collect();
    assert!(some.len() > 6, "{}", some.len());
    for i in some {
        for (size, _) in Size::ALL {
            let block = block(&outlines, given(&atlas, &steps), i, size).expect("words");
            let (_, at) = laid(size, &block);
            let [width, height] = size.pixels();
            let alone = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\">\
                 <rect width=\"{width}\" height=\"{height}\" fill=\"#edf0ee\"/>{}</svg>",
                face(given(&atlas, &steps), &titles, i, Light::Day, at)
            );
            let seen = Seen::of(&alone);
            assert!(seen.inked(at) > 5_000, "no figure: {i} {size:?}");
            for (words, end) in [(text("drawing.right"), false), (text("drawing.left"), true)] {
                let long = outlines.width(Weight::Regular, words).expect("a width") * 34.0;
                let x = if end { at.x + at.w - long } else { at.x };
                let under = seen.inked(Place { x, y: at.y, w: long, h: 36.0 });
                assert_eq!(under, 0, "{words}: {size:?}, {}", titles[i]);
            }
        }
    }
}

#[test]
fn in_a_mirrored_film_the_mark_lies_at_the_other_side_and_so_do_the_words() {
    let atlas = Atlas::built_in();
    let steps: Vec<Step> = every_step(&atlas)
        .into_iter()
        .filter(|s| {
            s.side == Side::Left && drawing::places().see(s.target_id(&atlas), s.side).is_some_and(|p| p.view.front())
        })
        .take(1)
        .collect();
    let mirrored = |mirrored: bool| {
        let given = Given { mirrored, ..given(&atlas, &steps) };
        svg(given, 0, Size::Wide, Light::Day).expect("a still").expect("a step")
    };
    let (plain, turned) = (mirrored(false), mirrored(true));
    let outlines = Outlines::new().expect("fonts");
    let block = block(&outlines, given(&atlas, &steps), 0, Size::Wide).expect("words");
    let (_, at) = laid(Size::Wide, &block);
    let half = |left: bool| Place {
        x: if left { at.x } else { at.x + at.w / 2.0 },
        y: at.y + 120.0,
        w: at.w / 2.0,
        h: at.h - 120.0,
    };
    let count = |svg: &str| {
        let seen = Seen::of(svg);
        [seen.inked(half(true)), seen.inked(half(false))]
    };
    let (p, t) = (count(&plain), count(&turned));
    // The person's left is at the viewer's right, until the film is mirrored.
    assert!(p[1] > p[0] + 200 && t[0] > t[1] + 200, "{p:?} {t:?}");
    let words = |svg: &str, words: &str, at: [f64; 2]| {
        let path = outlines.path(Weight::Regular, words, at, 34.0).expect("a path");
        svg.contains(&path)
    };
    let first = [at.x, at.y + 34.0];
    assert!(words(&plain, text("drawing.right"), first) && words(&turned, text("drawing.left"), first));
}

#[test]
fn there_is_no_still_of_a_step_that_is_not_there() {
    let atlas = Atlas::built_in();
    let steps = [every_step(&atlas)[0].clone()];
    assert!(svg(given(&atlas, &steps), 1, Size::Wide, Light::Day).expect("no fault").is_none());
    for (size, word) in Size::ALL {
        assert_eq!(Size::from_word(word), Some(size));
    }
    for (light, word) in Light::ALL {
        assert_eq!(Light::from_word(word), Some(light));
    }
    assert!(Size::from_word("square").is_none() && Light::from_word("").is_none());
}

#[test]
fn a_still_asks_for_nothing_from_outside() {
    let atlas = Atlas::built_in();
    let steps: Vec<Step> = every_step(&atlas).into_iter().take(2).collect();
    for i in 0..2 {
        let svg = svg(given(&atlas, &steps), i, Size::Wide, Light::Night).expect("a still").expect("a step");
        for word in ["href", "url(", "<style", "<script", "font-family", "http://www.w3.org/1999"] {
            assert!(!svg.contains(word), "{word}");
        }
    }
}
