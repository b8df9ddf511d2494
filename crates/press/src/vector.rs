//! A drawing as SVG text, read so that it can be drawn anew as vectors. Only what our own drawings are made of is known; anything else
//! is refused, so that nothing is left out in silence.

use krilla::geom::{Path, PathBuilder, Transform};
use krilla::paint::{LineCap, LineJoin};
use roxmltree::{Document, Node};

use crate::error::PressError;

/// A drawing.
pub struct Picture {
    /// Left, top, width and height of what is seen, in the drawing's own units.
    pub view: [f64; 4],
    /// What is drawn, from the bottom up.
    pub shapes: Vec<Shape>,
}

/// A part of a drawing, in the drawing's own units.
pub struct Shape {
    /// From its own place to the drawing's.
    pub place: Transform,
    /// What it is.
    pub what: What,
    /// How it is filled.
    pub fill: Option<Tint>,
    /// How its edge is drawn.
    pub edge: Option<Edge>,
}

/// What is drawn.
pub enum What {
    /// An outline or a line.
    Path(Path),
    /// A word: its baseline begins (0), has its middle (0.5) or ends (1) here.
    Word {
        /// What it says.
        text: String,
        /// Where.
        at: [f64; 2],
        /// How large.
        size: f64,
        /// Which part of it lies there.
        anchor: f64,
    },
}

/// A colour.
#[derive(Clone, Debug, PartialEq)]
pub struct Tint {
    /// 8-bit sRGB.
    pub rgb: [u8; 3],
    /// From 0 (not seen) to 1.
    pub opacity: f64,
    /// Thinner outward.
    pub fading: Option<Fading>,
}

/// How a tint grows thinner from the middle of a disc to its rim.
#[derive(Clone, Debug, PartialEq)]
pub struct Fading {
    /// The middle.
    pub middle: [f64; 2],
    /// The radius.
    pub radius: f64,
    /// How far out, from 0 to 1, and how opaque there.
    pub stops: Vec<(f64, f64)>,
}

/// A line's look.
pub struct Edge {
    /// Its colour.
    pub tint: Tint,
    /// Its width.
    pub width: f64,
    /// Its ends.
    pub cap: LineCap,
    /// Its corners.
    pub join: LineJoin,
    /// Lengths drawn and left out, in turn.
    pub dashes: Vec<f64>,
}

/// What holds for everything within an element.
#[derive(Clone)]
struct Within {
    colour: [u8; 3],
    place: Transform,
}

impl Picture {
    /// Reads a drawing.
    ///
    /// # Errors
    /// It is no SVG, or holds an element, attribute or value that this does not know; the error names it.
    pub fn read(svg: &str) -> Result<Picture, PressError> {
        let document = Document::parse(svg).map_err(|e| PressError::drawing(format!("{e}")))?;
        let root = document.root_element();
        only(
            &root,
            &[
                "class",
                "viewBox",
                "role",
                "aria-labelledby",
                "aria-hidden",
                "aria-label",
                "focusable",
                "width",
                "height",
            ],
        )?;
        if root.tag_name().name() != "svg" {
            return Err(unknown(&root));
        }
        let view = numbers(need(&root, "viewBox")?)?;
        let view = <[f64; 4]>::try_from(view).map_err(|_| PressError::drawing("a viewBox"))?;
        let mut picture = Picture { view, shapes: Vec::new() };
        let within = Within { colour: [0; 3], place: Transform::identity() };
        let fades = fades(&document)?;
        children(&root, &within, &fades, &mut picture.shapes)?;
        Ok(picture)
    }
}

/// Fadings of the drawing by their ids: offsets and opacities.
type Fades = Vec<(String, Vec<(f64, f64)>)>;

fn fades(document: &Document<'_>) -> Result<Fades, PressError> {
    let mut all = Vec::new();
    for node in document.descendants().filter(|n| name(n) == "radialGradient") {
        only(&node, &["id"])?;
        let mut stops = Vec::new();
        for stop in node.children().filter(Node::is_element) {
            if name(&stop) != "stop" {
                return Err(unknown(&stop));
            }
            only(&stop, &["offset", "stop-color", "stop-opacity"])?;
            if need(&stop, "stop-color")? != "currentColor" {
                return Err(PressError::drawing(format!("the colour of {}", shown(&stop))));
            }
            stops.push((number(need(&stop, "offset")?)?, number(need(&stop, "stop-opacity")?)?));
        }
        all.push((need(&node, "id")?.to_owned(), stops));
    }
    Ok(all)
}

fn children(node: &Node<'_, '_>, within: &Within, fades: &Fades, shapes: &mut Vec<Shape>) -> Result<(), PressError> {
    for child in node.children() {
        if child.is_element() {
            element(&child, within, fades, shapes)?;
        } else if child.is_text() && !child.text().unwrap_or_default().trim().is_empty() {
            return Err(PressError::drawing("words outside of a text"));
        }
    }
    Ok(())
}

const PAINT: [&str; 12] = [
    "class",
    "fill",
    "fill-opacity",
    "stroke",
    "stroke-opacity",
    "stroke-width",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-dasharray",
    "transform",
    "data-round",
    "data-step",
];

fn element(node: &Node<'_, '_>, within: &Within, fades: &Fades, shapes: &mut Vec<Shape>) -> Result<(), PressError> {
    let own = |more: &[&str]| only(node, &[&PAINT[..], more].concat());
    let place = |within: &Within| match node.attribute("transform") {
        None => Ok(within.place),
        // What is within is placed first, what is around it after.
        Some(words) => Ok(transform(words)?.then(within.place)),
    };
    match name(node) {
        "title" | "desc" => Ok(()),
        // Read before anything is drawn.
        "defs" => match node.children().filter(Node::is_element).find(|n| name(n) != "radialGradient") {
            Some(other) => Err(unknown(&other)),
            None => Ok(()),
        },
        "g" => {
            only(node, &["class", "color", "transform", "data-step", "data-side", "data-target", "data-shown"])?;
            let colour = node.attribute("color").map_or(Ok(within.colour), hex)?;
            children(node, &Within { colour, place: place(within)? }, fades, shapes)
        }
        "path" => {
            own(&["d"])?;
            let Some(path) = outline(need(node, "d")?)? else { return Ok(()) };
            shape(node, What::Path(path), within, place(within)?, fades, None, shapes)
        }
        "circle" => {
            own(&["cx", "cy", "r"])?;
            let [x, y, r] = ["cx", "cy", "r"].map(|key| need(node, key).and_then(number));
            let (x, y, r) = (x?, y?, r?);
            let mut drawn = PathBuilder::new();
            drawn.move_to((x + r) as f32, y as f32);
            arc(&mut drawn, [x, y], r, 0.0, std::f64::consts::TAU);
            drawn.close();
            let Some(path) = drawn.finish() else { return Ok(()) };
            shape(node, What::Path(path), within, place(within)?, fades, Some(([x, y], r)), shapes)
        }
        "rect" => {
            own(&["x", "y", "width", "height"])?;
            let [x, y, w, h] = ["x", "y", "width", "height"].map(|key| need(node, key).and_then(number));
            let (x, y, w, h) = (x? as f32, y? as f32, w? as f32, h? as f32);
            let mut drawn = PathBuilder::new();
            drawn.move_to(x, y);
            drawn.line_to(x + w, y);
            drawn.line_to(x + w, y + h);
            drawn.line_to(x, y + h);
            drawn.close();
            let Some(path) = drawn.finish() else { return Ok(()) };
            shape(node, What::Path(path), within, place(within)?, fades, None, shapes)
        }
        "text" => {
            own(&["x", "y", "text-anchor", "font-size", "font-family"])?;
            if node.children().any(|c| !c.is_text()) {
                return Err(PressError::drawing("something within a text"));
            }
            let anchor = match node.attribute("text-anchor").unwrap_or("start") {
                "start" => 0.0,
                "middle" => 0.5,
                "end" => 1.0,
                other => return Err(PressError::drawing(format!("text-anchor {other:?}"))),
            };
            let [x, y, size] = ["x", "y", "font-size"].map(|key| need(node, key).and_then(number));
            let text = node.text().unwrap_or_default().to_owned();
            let word = What::Word { text, at: [x?, y?], size: size?, anchor };
            shape(node, word, within, place(within)?, fades, None, shapes)
        }
        _ => Err(unknown(node)),
    }
}

fn shape(
    node: &Node<'_, '_>,
    what: What,
    within: &Within,
    place: Transform,
    fades: &Fades,
    round: Option<([f64; 2], f64)>,
    shapes: &mut Vec<Shape>,
) -> Result<(), PressError> {
    let opacity = |key| node.attribute(key).map_or(Ok(1.0), number);
    let tint = |value: &str, opacity: f64| {
        if let Some(id) = value.strip_prefix("url(#").and_then(|v| v.strip_suffix(')')) {
            let (fade, (middle, radius)) =
                fades.iter().find(|(known, _)| known == id).zip(round).ok_or_else(|| unknown(node))?;
            let fading = Some(Fading { middle, radius, stops: fade.1.clone() });
            return Ok(Some(Tint { rgb: within.colour, opacity, fading }));
        }
        let rgb = match value {
            "none" => return Ok(None),
            "currentColor" => within.colour,
            other => hex(other)?,
        };
        Ok(Some(Tint { rgb, opacity, fading: None }))
    };
    let fill = tint(node.attribute("fill").unwrap_or("#000000"), opacity("fill-opacity")?)?;
    let edge = match tint(node.attribute("stroke").unwrap_or("none"), opacity("stroke-opacity")?)? {
        None => None,
        Some(Tint { fading: Some(_), .. }) => return Err(unknown(node)),
        Some(tint) => Some(Edge {
            tint,
            width: node.attribute("stroke-width").map_or(Ok(1.0), number)?,
            cap: match node.attribute("stroke-linecap").unwrap_or("butt") {
                "butt" => LineCap::Butt,
                "round" => LineCap::Round,
                other => return Err(PressError::drawing(format!("stroke-linecap {other:?}"))),
            },
            join: match node.attribute("stroke-linejoin").unwrap_or("miter") {
                "miter" => LineJoin::Miter,
                "round" => LineJoin::Round,
                other => return Err(PressError::drawing(format!("stroke-linejoin {other:?}"))),
            },
            dashes: node.attribute("stroke-dasharray").map_or(Ok(Vec::new()), numbers)?,
        }),
    };
    if fill.is_some() || edge.is_some() {
        shapes.push(Shape { place, what, fill, edge });
    }
    Ok(())
}

fn name<'a>(node: &Node<'a, '_>) -> &'a str {
    node.tag_name().name()
}

fn shown(node: &Node<'_, '_>) -> String {
    format!("<{}>", name(node))
}

fn unknown(node: &Node<'_, '_>) -> PressError {
    PressError::drawing(shown(node))
}

/// Only these attributes may stand there, and `id`.
fn only(node: &Node<'_, '_>, known: &[&str]) -> Result<(), PressError> {
    match node.attributes().find(|a| a.name() != "id" && !known.contains(&a.name())) {
        Some(other) => Err(PressError::drawing(format!("{} of {}", other.name(), shown(node)))),
        None => Ok(()),
    }
}

fn need<'a>(node: &Node<'a, '_>, key: &str) -> Result<&'a str, PressError> {
    node.attribute(key).ok_or_else(|| PressError::drawing(format!("{} without {key}", shown(node))))
}

fn number(text: &str) -> Result<f64, PressError> {
    let read = text.trim().parse::<f64>().ok().filter(|n| n.is_finite());
    read.ok_or_else(|| PressError::drawing(format!("the number {text:?}")))
}

fn numbers(text: &str) -> Result<Vec<f64>, PressError> {
    text.split([' ', ',']).filter(|t| !t.is_empty()).map(number).collect()
}

fn hex(text: &str) -> Result<[u8; 3], PressError> {
    let digits = text.strip_prefix('#').filter(|d| d.len() == 6).and_then(|d| u32::from_str_radix(d, 16).ok());
    let rgb = digits.ok_or_else(|| PressError::drawing(format!("the colour {text:?}")))?;
    Ok([(rgb >> 16) as u8, (rgb >> 8) as u8, rgb as u8])
}

/// `translate(x y) scale(s) rotate(a x y)`, the last one first.
fn transform(text: &str) -> Result<Moved, PressError> {
    let refuse = || PressError::drawing(format!("the transform {text:?}"));
    let mut moved = Moved(Transform::identity());
    for part in text.split_inclusive(')').map(str::trim).filter(|p| !p.is_empty()) {
        let (kind, values) = part.strip_suffix(')').and_then(|p| p.split_once('(')).ok_or_else(refuse)?;
        let values: Vec<f32> = numbers(values)?.into_iter().map(|v| v as f32).collect();
        let next = match (kind.trim(), values.as_slice()) {
            ("translate", [x, y]) => Transform::from_translate(*x, *y),
            ("scale", [s]) => Transform::from_scale(*s, *s),
            ("rotate", [a, x, y]) => Transform::from_rotate_at(*a, *x, *y),
            _ => return Err(refuse()),
        };
        moved = Moved(Moved(next).then(moved.0));
    }
    Ok(moved)
}

/// A transform that can be put before another.
struct Moved(Transform);

impl Moved {
    /// This first, then the other.
    fn then(self, other: Transform) -> Transform {
        let (a, b) = (self.0, other);
        let linear = |x: f32, y: f32| (b.sx() * x + b.kx() * y, b.ky() * x + b.sy() * y);
        let ((sx, ky), (kx, sy)) = (linear(a.sx(), a.ky()), linear(a.kx(), a.sy()));
        let (tx, ty) = linear(a.tx(), a.ty());
        Transform::from_row(sx, ky, kx, sy, tx + b.tx(), ty + b.ty())
    }
}

/// Path data: M, L, H, V, Q, C, A of circles, Z, and the same in small letters.
fn outline(data: &str) -> Result<Option<Path>, PressError> {
    let mut reader = Data { rest: data.as_bytes(), data };
    let mut drawn = PathBuilder::new();
    let (mut at, mut start, mut any) = ([0.0, 0.0], [0.0, 0.0], false);
    while let Some(command) = reader.command()? {
        let mut command = command;
        loop {
            let relative = command.is_ascii_lowercase();
            let from = if relative { at } else { [0.0, 0.0] };
            let point = |r: &mut Data<'_>| Ok::<_, PressError>([r.number()? + from[0], r.number()? + from[1]]);
            match command.to_ascii_uppercase() {
                b'M' => {
                    at = point(&mut reader)?;
                    start = at;
                    drawn.move_to(at[0] as f32, at[1] as f32);
                    // What follows without a letter is lines.
                    command = if relative { b'l' } else { b'L' };
                }
                b'Z' => {
                    drawn.close();
                    at = start;
                    break;
                }
                _ if !any => return Err(reader.refuse("it does not begin with M")),
                b'L' => {
                    at = point(&mut reader)?;
                    drawn.line_to(at[0] as f32, at[1] as f32);
                }
                b'H' | b'V' => {
                    let axis = usize::from(command.eq_ignore_ascii_case(&b'V'));
                    at[axis] = reader.number()? + from[axis];
                    drawn.line_to(at[0] as f32, at[1] as f32);
                }
                b'Q' => {
                    let [a, b] = [point(&mut reader)?, point(&mut reader)?];
                    drawn.quad_to(a[0] as f32, a[1] as f32, b[0] as f32, b[1] as f32);
                    at = b;
                }
                b'C' => {
                    let [a, b, c] = [point(&mut reader)?, point(&mut reader)?, point(&mut reader)?];
                    let [ax, ay, bx, by, cx, cy] = [a[0], a[1], b[0], b[1], c[0], c[1]].map(|v| v as f32);
                    drawn.cubic_to(ax, ay, bx, by, cx, cy);
                    at = c;
                }
                b'A' => {
                    let [rx, ry, turned, large, sweep] =
                        [reader.number()?, reader.number()?, reader.number()?, reader.number()?, reader.number()?];
                    let end = point(&mut reader)?;
                    if rx != ry || rx <= 0.0 || turned != 0.0 {
                        return Err(reader.refuse("an arc of no circle"));
                    }
                    circle_arc(&mut drawn, at, end, rx, large != 0.0, sweep != 0.0);
                    at = end;
                }
                other => return Err(reader.refuse(&format!("the command {}", char::from(other)))),
            }
            any = true;
            if !reader.goes_on() {
                break;
            }
        }
    }
    Ok(drawn.finish())
}

/// What is left of path data.
struct Data<'a> {
    rest: &'a [u8],
    data: &'a str,
}

impl Data<'_> {
    fn refuse(&self, why: &str) -> PressError {
        let at = self.data.len() - self.rest.len();
        PressError::drawing(format!("path data at {at}: {why}"))
    }

    fn blanks(&mut self) {
        while let [b' ' | b',' | b'\n' | b'\t', rest @ ..] = self.rest {
            self.rest = rest;
        }
    }

    fn command(&mut self) -> Result<Option<u8>, PressError> {
        self.blanks();
        match self.rest {
            [] => Ok(None),
            [letter, rest @ ..] if letter.is_ascii_alphabetic() => {
                self.rest = rest;
                Ok(Some(*letter))
            }
            _ => Err(self.refuse("no command")),
        }
    }

    /// Whether a number follows.
    fn goes_on(&mut self) -> bool {
        self.blanks();
        matches!(self.rest, [b'0'..=b'9' | b'-' | b'+' | b'.', ..])
    }

    fn number(&mut self) -> Result<f64, PressError> {
        self.blanks();
        let mut long = usize::from(matches!(self.rest, [b'-' | b'+', ..]));
        let mut point = false;
        while let Some(byte) = self.rest.get(long).filter(|b| b.is_ascii_digit() || (**b == b'.' && !point)) {
            point |= *byte == b'.';
            long += 1;
        }
        let (read, rest) = self.rest.split_at(long);
        let value = std::str::from_utf8(read).ok().and_then(|t| t.parse().ok());
        let value = value.ok_or_else(|| self.refuse("no number"))?;
        self.rest = rest;
        Ok(value)
    }
}

/// An arc of a circle from one end to the other (SVG 2, implementation notes B.2.4, for equal radii).
fn circle_arc(drawn: &mut PathBuilder, from: [f64; 2], to: [f64; 2], r: f64, large: bool, sweep: bool) {
    let (dx, dy) = ((from[0] - to[0]) / 2.0, (from[1] - to[1]) / 2.0);
    let half = dx.hypot(dy);
    if half == 0.0 {
        return;
    }
    let r = r.max(half);
    let high = (r * r - half * half).max(0.0).sqrt() / half * if large == sweep { -1.0 } else { 1.0 };
    let middle = [(from[0] + to[0]) / 2.0 + high * dy, (from[1] + to[1]) / 2.0 - high * dx];
    let angle = |p: [f64; 2]| (p[1] - middle[1]).atan2(p[0] - middle[0]);
    let begin = angle(from);
    let mut by = angle(to) - begin;
    if sweep && by <= 0.0 {
        by += std::f64::consts::TAU;
    } else if !sweep && by >= 0.0 {
        by -= std::f64::consts::TAU;
    }
    arc(drawn, middle, r, begin, by);
}

/// Goes on along a circle, in pieces of an eighth at most: a cubic is then within 4e-6 of the radius.
fn arc(drawn: &mut PathBuilder, [x, y]: [f64; 2], r: f64, begin: f64, by: f64) {
    let pieces = (by.abs() / std::f64::consts::FRAC_PI_4).ceil().max(1.0);
    let step = by / pieces;
    let handle = 4.0 / 3.0 * (step / 4.0).tan() * r;
    let on = |a: f64, h: f64| ((x + r * a.cos() - h * a.sin()) as f32, (y + r * a.sin() + h * a.cos()) as f32);
    for i in 0..pieces as usize {
        let (a, b) = (begin + step * i as f64, begin + step * (i + 1) as f64);
        let ((ax, ay), (bx, by), (cx, cy)) = (on(a, handle), on(b, -handle), on(b, 0.0));
        drawn.cubic_to(ax, ay, bx, by, cx, cy);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(inside: &str) -> Result<Picture, String> {
        let svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 10 10\">{inside}</svg>");
        Picture::read(&svg).map_err(|e| e.to_string())
    }

    #[test]
    fn what_it_does_not_know_is_refused_and_named() {
        for (inside, said) in [
            ("<image href=\"a\"/>", "<image>"),
            ("<path d=\"M0 0L1 1\" filter=\"url(#a)\"/>", "filter of <path>"),
            ("<path d=\"M0 0S1 1 2 2\"/>", "the command S"),
            ("<path d=\"M0 0A2 1 0 0 1 2 2\"/>", "an arc of no circle"),
            ("<path d=\"M0 0L1\"/>", "no number"),
            ("<path d=\"L1 1\"/>", "it does not begin with M"),
            ("<path d=\"M0 0L1 1\" fill=\"red\"/>", "the colour \"red\""),
            ("<path d=\"M0 0L1 1\" fill=\"url(#nowhere)\"/>", "<path>"),
            ("<path d=\"M0 0L1 1\" stroke=\"#000000\" stroke-linecap=\"square\"/>", "stroke-linecap"),
            ("<g style=\"opacity:0\"></g>", "style of <g>"),
            ("<g opacity=\"0.3\"></g>", "opacity of <g>"),
            ("<g transform=\"skewX(3)\"></g>", "skewX(3)"),
            ("<defs><pattern id=\"p\"/></defs>", "<pattern>"),
            ("<text x=\"0\" y=\"0\" font-size=\"2\">a<tspan>b</tspan></text>", "within a text"),
            ("<text x=\"0\" y=\"0\" font-size=\"2\" text-anchor=\"left\">a</text>", "text-anchor"),
            ("words", "words outside"),
            ("<circle cx=\"0\" cy=\"0\"/>", "<circle> without r"),
            ("<g>", "expected"),
        ] {
            let refused = read(inside).err().unwrap_or_default();
            assert!(refused.contains(said), "{inside}: {refused:?}");
        }
    }

    #[test]
    fn places_colours_and_words_are_read() {
        let picture = read(
            "<title>t</title><g color=\"#102030\" transform=\"translate(10 20) scale(2)\"><path d=\"M1 1l2-.5h1v-1z\" \
             fill=\"currentColor\"/><circle cx=\"1\" cy=\"2\" r=\"3\" fill=\"none\" stroke=\"currentColor\" \
             stroke-dasharray=\"4 1.5\" transform=\"rotate(90 1 2)\"/></g><text x=\"1\" y=\"2\" font-size=\"4\" \
             text-anchor=\"end\">a &amp; b</text>",
        );
        let picture = picture.expect("it is known");
        assert_eq!(picture.view, [0.0, 0.0, 10.0, 10.0]);
        let [path, circle, word] = picture.shapes.as_slice() else { panic!("{} shapes", picture.shapes.len()) };
        assert_eq!(path.fill, Some(Tint { rgb: [0x10, 0x20, 0x30], opacity: 1.0, fading: None }));
        assert_eq!((path.place.sx(), path.place.tx(), path.place.ty()), (2.0, 10.0, 20.0));
        let edge = circle.edge.as_ref().expect("an edge");
        assert!(circle.fill.is_none() && edge.dashes == [4.0, 1.5] && edge.width == 1.0);
        // A quarter turn about its own middle, which lies at (1, 2) before and at (12, 24) after.
        let (p, near) = (circle.place, |a: f32, b: f32| (a - b).abs() < 1e-4);
        assert!(near(p.sx() + 2.0 * p.kx() + p.tx(), 12.0) && near(p.ky() + 2.0 * p.sy() + p.ty(), 24.0));
        assert!(matches!(&word.what, What::Word { text, anchor, .. } if text == "a & b" && *anchor == 1.0));
        // What has neither fill nor edge is nothing.
        assert!(read("<path d=\"M0 0L1 1\" fill=\"none\"/>").expect("known").shapes.is_empty());
    }
}
