//! `card OUT.pdf`: the reference card on a page to print.

use std::path::Path;

use clap::ArgMatches;
use press::{CardWords, Paper};
use serde::Deserialize;
use vision::Quad;
use vision::card::{MarkedError, MarkedErrorKind, MarkedRow, marked};
use vocab::Finding;

use super::path;
use crate::catalogue::{fill, text};
use crate::files;
use crate::outcome::Outcome;

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let out = path(args, "out")?;
    let name = out.display().to_string();
    let wrong = |why: String| vec![Finding::new(name.clone(), 0, why)];
    if !out.extension().is_some_and(|e| e.eq_ignore_ascii_case("pdf")) {
        return Err(wrong(text("card.ending").to_owned()));
    }
    let paper = args.get_one::<Paper>("paper").copied().unwrap_or(Paper::A4);
    let file = press::card(paper, &words()).map_err(|why| wrong(fill("card.broken", &[("why", &why)])))?;
    files::write_bytes(out, &file)?;
    Ok(Outcome::done(format!("{}\n", fill("card.done", &[("file", &name)]))))
}

/// The words of the page.
fn words() -> CardWords {
    let of = |key: &'static str| text(key).to_owned();
    let part = |title: &'static str, paragraphs: [&'static str; 2]| (of(title), paragraphs.map(of).to_vec());
    CardWords {
        language: of("card.language"),
        title: of("card.title"),
        lead: of("card.lead"),
        described: of("card.described"),
        maker: of("card.maker"),
        name: of("card.name"),
        printed_on: of("card.printed_on"),
        rule: of("card.rule"),
        rule_described: of("card.rule_described"),
        parts: vec![
            part("card.print_title", ["card.print_paper", "card.print_measure"]),
            part("card.hold_title", ["card.hold_place", "card.hold_light"]),
            part("card.keep_title", ["card.keep_flat", "card.keep_replace"]),
            part("card.gives_title", ["card.gives", "card.gives_not"]),
            part("card.true_title", ["card.true_measured", "card.true_bought"]),
        ],
        left: 2,
    }
}

/// A card described by hand, as its file has it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CardFile {
    patches: Vec<PatchInFile>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PatchInFile {
    name: String,
    corners_px: Vec<[f64; 2]>,
    lab_d65: Vec<f64>,
    #[serde(default)]
    grey: bool,
}

/// The patches of a card described by hand, for a photograph of this size in pixels: where each lies, and its colour.
pub fn described(path: &Path, width: u32, height: u32) -> Result<(Vec<Quad>, Vec<colour::Patch>), Vec<Finding>> {
    parse(&path.display().to_string(), &files::read(path)?, width, height)
}

fn parse(file: &str, contents: &str, width: u32, height: u32) -> Result<(Vec<Quad>, Vec<colour::Patch>), Vec<Finding>> {
    let wrong = |line: usize, why: String| vec![Finding::new(file, line, why)];
    let read: CardFile = serde_json::from_str(contents)
        .map_err(|error| wrong(error.line(), fill("cardfile.unreadable", &[("error", &error)])))?;
    let row = |p: PatchInFile| MarkedRow { name: p.name, corners_px: p.corners_px, lab_d65: p.lab_d65, grey: p.grey };
    let rows: Vec<MarkedRow> = read.patches.into_iter().map(row).collect();
    marked(&rows, width, height).map_err(|error| wrong(0, worded(&error)))
}

/// What is wrong with a card described by hand.
pub fn worded(error: &MarkedError) -> String {
    use MarkedErrorKind::*;
    let patch = error.patch();
    match error.kind() {
        TooFew { found, fewest } => fill("cardfile.too_few", &[("found", found), ("fewest", fewest)]),
        Nameless => fill("cardfile.nameless", &[("patch", &patch)]),
        Twice => fill("cardfile.twice", &[("patch", &patch)]),
        NotFourCorners(found) => fill("cardfile.corners", &[("patch", &patch), ("found", found)]),
        NotThreeNumbers(found) => fill("cardfile.numbers", &[("patch", &patch), ("found", found)]),
        NotFinite | NoColour => fill("cardfile.no_colour", &[("patch", &patch)]),
        Crossing => fill("cardfile.crossing", &[("patch", &patch)]),
        Outside { x, y } => fill("cardfile.outside", &[("patch", &patch), ("x", x), ("y", y)]),
        _ => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_is_the_same_each_time_on_each_paper() {
        for paper in Paper::ALL {
            let page = press::card(paper, &words()).unwrap_or_else(|e| panic!("{}: {e}", paper.name()));
            assert!(page.starts_with(b"%PDF-1.7"), "{}", paper.name());
            assert_eq!(Ok(page), press::card(paper, &words()), "{}", paper.name());
        }
    }

    #[test]
    fn a_card_described_by_hand_is_read_or_refused_in_words() {
        let patch = |name: &str, x: f64, corners: usize, l: f64| {
            let all = [[x, 10.0], [x + 8.0, 10.0], [x + 8.0, 20.0], [x, 20.0]];
            let corners: Vec<String> = all[..corners].iter().map(|[x, y]| format!("[{x}, {y}]")).collect();
            let corners = corners.join(", ");
            format!(r#"{{"name": "{name}", "corners_px": [{corners}], "lab_d65": [{l}, 0, 1.5], "grey": true}}"#)
        };
        let card = |first: String| {
            let rest = [patch("b", 20.0, 4, 50.0), patch("c", 40.0, 4, 60.0), patch("d", 60.0, 4, 70.0)].join(", ");
            format!(r#"{{"patches": [{first}, {rest}]}}"#)
        };
        let (quads, patches) = parse("mine.json", &card(patch("a", 0.0, 4, 40.0)), 100, 100).expect("a card");
        assert_eq!((quads.len(), patches[0].name.as_str(), patches[0].lab.l), (4, "a", 40.0));
        for (first, said) in [
            (patch("a", 0.0, 3, 40.0), "`a` has 3 corners"),
            (patch("b", 0.0, 4, 40.0), "called `b`"),
            (patch("a", 95.0, 4, 40.0), "`a` at 103, 10 lies beyond"),
            (patch("a", 0.0, 4, 400.0), "`a` has no possible colour"),
            (r#"{"name": "a"}"#.to_owned(), "corners_px"),
            (String::new(), "JSON"),
        ] {
            let found = parse("mine.json", &card(first), 100, 100).expect_err(said);
            assert!(found[0].to_string().contains(said), "{}", found[0]);
        }
    }
}
