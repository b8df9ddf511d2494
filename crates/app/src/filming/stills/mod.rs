//! One still picture for each step, for whoever cuts the film: the drawn face with the step's mark, and beside it in large words where, on
//! which side, for how long, and which step of how many.
//!
//! The words are drawn as outlines, so that a still looks the same where our type is not installed. The same steps give the same bytes.

mod words;

use std::fmt::Write;

use plan::atlas::Atlas;
use plan::routine::{Step, What};
use press::outline::{Outlines, Weight};
use resvg::{tiny_skia, usvg};
use sketch::{Ground, MarkedStep, Options, Words};
use vocab::Class;

use self::words::{Block, Line};
use crate::catalogue::{fill, seconds, sentence_case, text};
use crate::{drawing, tell};

/// The shape of the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// 1920 by 1080 pixels.
    Wide,
    /// 1080 by 1920 pixels.
    Tall,
}

/// Its colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Light {
    /// Ink on linen.
    Day,
    /// Lamp light on the dark.
    Night,
}

impl Size {
    /// Each with its word in addresses and names.
    pub const ALL: [(Size, &'static str); 2] = [(Size::Wide, "wide"), (Size::Tall, "tall")];

    /// Its word.
    pub fn word(self) -> &'static str {
        Size::ALL.iter().find(|(s, _)| *s == self).map_or("wide", |(_, word)| word)
    }

    /// Of a word.
    pub fn from_word(word: &str) -> Option<Size> {
        Size::ALL.iter().find(|(_, w)| *w == word).map(|(s, _)| *s)
    }

    /// Width and height in pixels.
    pub fn pixels(self) -> [u32; 2] {
        match self {
            Size::Wide => [1920, 1080],
            Size::Tall => [1080, 1920],
        }
    }
}

impl Light {
    /// Each with its word in addresses and names.
    pub const ALL: [(Light, &'static str); 2] = [(Light::Day, "day"), (Light::Night, "night")];

    /// Its word.
    pub fn word(self) -> &'static str {
        Light::ALL.iter().find(|(l, _)| *l == self).map_or("day", |(_, word)| word)
    }

    /// Of a word.
    pub fn from_word(word: &str) -> Option<Light> {
        Light::ALL.iter().find(|(_, w)| *w == word).map(|(l, _)| *l)
    }

    fn ground(self) -> Ground {
        match self {
            Light::Day => Ground::Linen,
            Light::Night => Ground::Night,
        }
    }

    /// Behind, words, softer words: as on the pages.
    fn colours(self) -> [&'static str; 3] {
        match self {
            Light::Day => ["#edf0ee", "#1f2a33", "#4c5963"],
            Light::Night => ["#12161a", "#e3dfd4", "#b0ada4"],
        }
    }
}

/// What the stills are made of. The steps come out of the gate; nothing here looks at a clearance.
#[derive(Clone, Copy)]
pub struct Given<'a> {
    /// The words of the places, in the language of the film.
    pub atlas: &'a Atlas,
    /// The steps, in order.
    pub steps: &'a [Step],
    /// Whether the film is mirrored, as a mirror or most front cameras show it: the person's left is then at the viewer's left.
    pub mirrored: bool,
}

/// Why there is no still. The text is for a log: what was wrong lies in this program.
#[derive(Debug)]
pub struct Unmade(String);

impl std::fmt::Display for Unmade {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "a still picture can't be drawn: {}", self.0)
    }
}

impl From<press::PressError> for Unmade {
    fn from(error: press::PressError) -> Unmade {
        Unmade(error.to_string())
    }
}

/// Space around everything.
const MARGIN: f64 = 84.0;

/// A rectangle: left, top, width, height in pixels.
#[derive(Clone, Copy, Debug)]
struct Place {
    x: f64,
    y: f64,
    w: f64,
    h: f64,
}

/// The file name of a still without an ending: `step-03-cheek-left-wide-day`.
pub fn name(given: Given<'_>, step: usize, size: Size, light: Light) -> String {
    let of = given.steps.get(step).map_or_else(String::new, |of| super::still(given.atlas, step, of));
    format!("{of}-{}-{}", size.word(), light.word())
}

/// Every step as PNG: names and bytes, in the order of the steps, in the language of now.
///
/// # Errors
/// A drawing or a font of our own can't be read.
pub fn stills(given: Given<'_>, size: Size, light: Light) -> Result<Vec<(String, Vec<u8>)>, Unmade> {
    let outlines = Outlines::new()?;
    let named =
        |i: usize| Ok((format!("{}.png", name(given, i, size, light)), drawn(&outlines, given, i, size, light)?));
    let drawn: Vec<(String, String)> = (0..given.steps.len()).map(named).collect::<Result<_, Unmade>>()?;
    // Two million pixels each: on all cores. The words are drawn already, so no thread needs the language.
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let parts = drawn.chunks(drawn.len().div_ceil(cores).max(1));
    let rastered = |part: &[(String, String)]| part.iter().map(|(_, svg)| png(svg)).collect::<Result<Vec<_>, Unmade>>();
    let made: Vec<Result<Vec<Vec<u8>>, Unmade>> = std::thread::scope(|scope| {
        let work: Vec<_> = parts.map(|part| scope.spawn(move || rastered(part))).collect();
        let lost = |_| Err(Unmade("a thread ended".to_owned()));
        work.into_iter().map(|part| part.join().unwrap_or_else(lost)).collect()
    });
    let bytes = made.into_iter().collect::<Result<Vec<_>, Unmade>>()?.into_iter().flatten();
    Ok(drawn.iter().map(|(name, _)| name.clone()).zip(bytes).collect())
}

/// One step as SVG without fonts, styles and scripts; none where there is no such step.
///
/// # Errors
/// As [`stills`].
pub fn svg(given: Given<'_>, step: usize, size: Size, light: Light) -> Result<Option<String>, Unmade> {
    if step >= given.steps.len() {
        return Ok(None);
    }
    drawn(&Outlines::new()?, given, step, size, light).map(Some)
}

/// Such a picture as PNG, at its own size.
///
/// # Errors
/// It can't be read.
pub fn png(svg: &str) -> Result<Vec<u8>, Unmade> {
    let unmade = |why: &dyn std::fmt::Display| Unmade(why.to_string());
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).map_err(|e| unmade(&e))?;
    let size = tree.size().to_int_size();
    let mut pixels = tiny_skia::Pixmap::new(size.width(), size.height()).ok_or_else(|| unmade(&"no size"))?;
    resvg::render(&tree, tiny_skia::Transform::identity(), &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| unmade(&e))
}

fn drawn(outlines: &Outlines, given: Given<'_>, i: usize, size: Size, light: Light) -> Result<String, Unmade> {
    let step = &given.steps[i];
    let [width, height] = size.pixels().map(f64::from);
    let [ground, ink, soft] = light.colours();
    let titles = drawing::step_titles(given.atlas, given.steps);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\">\
         <title>{}</title><rect width=\"{width}\" height=\"{height}\" fill=\"{ground}\"/>",
        escaped(&format!("{}: {}", count(i, given.steps.len()), titles[i]))
    );
    let block = block(outlines, given, i, size)?;
    let (words, figure) = laid(size, &block);
    block.draw(outlines, [words.x, words.y], [ink, soft], &mut out)?;
    let (mark_at, mark_size) = ([words.x, words.y + block.mark_top], block.mark_size);
    let mark = sketch::mark_svg(mark_of(given, step), step.side, step.pressure, Class::Go, 48, "");
    out.push_str(&nested(&mark, Place { x: mark_at[0], y: mark_at[1], w: mark_size, h: mark_size }, ink, false));
    out.push_str(&face(given, &titles, i, light, figure));
    sides(outlines, given.mirrored, figure, soft, &mut out)?;
    out.push_str("</svg>");
    Ok(out)
}

fn count(i: usize, all: usize) -> String {
    let n = fill("home.step_n", &[("n", &(i + 1))]);
    fill("play.of", &[("n", &n), ("all", &all)])
}

/// The words of a step, fitted to their column.
fn block(outlines: &Outlines, given: Given<'_>, i: usize, size: Size) -> Result<Block, Unmade> {
    let step = &given.steps[i];
    let said = tell::step(given.atlas, step);
    let side = sentence_case(said.side);
    let (does, long) = (sentence_case(said.does), seconds(step.seconds));
    let count = count(i, given.steps.len());
    let wide = matches!(size, Size::Wide);
    let width = if wide { 880.0 } else { 1080.0 - 2.0 * MARGIN };
    let lines = [
        Line { text: &count, weight: Weight::Regular, soft: true, sizes: (46, 30), lines: 1, mark: false },
        Line { text: &said.place, weight: Weight::Bold, soft: false, sizes: (124, 50), lines: 3, mark: false },
        Line { text: &side, weight: Weight::Regular, soft: false, sizes: (84, 40), lines: 1, mark: false },
        Line { text: &does, weight: Weight::Regular, soft: true, sizes: (54, 36), lines: 2, mark: true },
        Line { text: &long, weight: Weight::Bold, soft: false, sizes: (108, 50), lines: 1, mark: false },
    ];
    Ok(Block::fitted(outlines, &lines, width)?)
}

/// Where words and figure stand: side by side, or one below the other. In a tall film the lowest part lies under the buttons of
/// whoever shows it: there the figure ends, not the words.
fn laid(size: Size, block: &Block) -> (Place, Place) {
    let [width, height] = size.pixels().map(f64::from);
    match size {
        Size::Wide => {
            let words = Place { x: MARGIN, y: (height - block.height) / 2.0, w: block.width, h: block.height };
            let left = MARGIN + block.width + 48.0;
            (words, Place { x: left, y: 40.0, w: width - left - 56.0, h: height - 80.0 })
        }
        Size::Tall => {
            let words = Place { x: MARGIN, y: 150.0, w: block.width, h: block.height };
            let top = words.y + words.h + 56.0;
            (words, Place { x: 60.0, y: top, w: width - 120.0, h: height - top - 60.0 })
        }
    }
}

fn mark_of(given: Given<'_>, step: &Step) -> sketch::Mark {
    let word = match step.what {
        What::Oil => "oil",
        What::Target(_, technique) => &given.atlas.technique(technique).mark,
    };
    sketch::Mark::from_word(word).unwrap_or(sketch::Mark::Hold)
}

/// The figure with this step alone, turned over for a mirrored film.
fn face(given: Given<'_>, titles: &[String], i: usize, light: Light, at: Place) -> String {
    let steps = drawing::marked_steps(given.atlas, given.steps, titles, &|_| Class::Go);
    // The sides are written by us, so that no word is turned over.
    let words = Words { title: &titles[i], desc: "", your_right: "", your_left: "", from_behind: "" };
    let options = Options { ground: light.ground(), id: "still", words, numerals: false };
    let step: &MarkedStep<'_> = &steps[i];
    let view = sketch::step_view(drawing::places(), step, None, &options);
    // Words and ground are the picture's own.
    let view = without(&without(&view, "<rect ", "/>"), "<text ", "</text>");
    nested(&view, at, light.colours()[1], given.mirrored)
}

/// A drawing without the parts that begin and end so.
fn without(svg: &str, begins: &str, ends: &str) -> String {
    let mut parts = svg.split(begins);
    let mut kept = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        kept.push_str(part.split_once(ends).map_or("", |(_, rest)| rest));
    }
    kept
}

/// A drawing within the picture, in its place.
fn nested(svg: &str, at: Place, colour: &str, mirrored: bool) -> String {
    // It has a size of its own where it is a mark.
    let (open, rest) = svg.split_once('>').unwrap_or((svg, ""));
    let kept: String = ["viewBox=\"", "class=\""].iter().filter_map(|key| attribute(open, key)).collect();
    let turned =
        if mirrored { format!(" transform=\"matrix(-1 0 0 1 {} 0)\"", 2.0 * at.x + at.w) } else { String::new() };
    format!(
        "<g color=\"{colour}\"{turned}><svg x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{kept}>{rest}</g>",
        at.x, at.y, at.w, at.h
    )
}

/// ` key="value"` of an opening tag.
fn attribute(open: &str, key: &str) -> Option<String> {
    let (_, rest) = open.split_once(&format!(" {key}"))?;
    let (value, _) = rest.split_once('"')?;
    Some(format!(" {key}{value}\""))
}

/// Whose left and right, at the upper corners of the figure.
fn sides(outlines: &Outlines, mirrored: bool, at: Place, colour: &str, out: &mut String) -> Result<(), Unmade> {
    let (left, right) = (text("drawing.left"), text("drawing.right"));
    let (here, there) = if mirrored { (left, right) } else { (right, left) };
    let size = 34.0;
    for (words, end) in [(here, false), (there, true)] {
        let long = outlines.width(Weight::Regular, words)? * size;
        let x = if end { at.x + at.w - long } else { at.x };
        let path = outlines.path(Weight::Regular, words, [x, at.y + size], size)?;
        let _ = write!(out, "<path d=\"{path}\" fill=\"{colour}\"/>");
    }
    Ok(())
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests;
