//! A sheet of paper being filled: areas, lines and tagged text, all in millimetres from its top left corner, y down.

use krilla::Document;
use krilla::color::{luma, rgb};
use krilla::geom::{Path, PathBuilder, Point, Rect, Size as Extent, Transform};
use krilla::image::Image;
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, Paint, RadialGradient, SpreadMethod, Stop, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Node, SpanTag, TagGroup, TagKind};

use crate::error::PressError;
use crate::letters::{Letters, Run};
use crate::vector::{Picture, Tint, What};

/// Points a millimetre.
pub const POINTS: f64 = 72.0 / 25.4;

/// A size of text.
#[derive(Clone, Copy)]
pub struct Size {
    /// Height of the font, in points.
    pub points: f64,
    /// From line to line, in millimetres.
    pub leading: f64,
}

/// The sheet.
pub struct Sheet<'a> {
    surface: Surface<'a>,
}

impl<'a> Sheet<'a> {
    /// Begins on an empty surface.
    pub fn new(surface: Surface<'a>) -> Sheet<'a> {
        Sheet { surface }
    }

    /// Ends it.
    pub fn finish(self) {
        self.surface.finish();
    }

    /// What is drawn within is one thing with a meaning of its own.
    pub fn figure(&mut self, draw: impl FnOnce(&mut Sheet<'a>) -> Result<(), PressError>) -> Result<Node, PressError> {
        let identifier = self.surface.start_tagged(ContentTag::Other);
        let drawn = draw(self);
        self.surface.end_tagged();
        drawn.map(|()| Node::Leaf(identifier))
    }

    /// What is drawn within is ornament, which a reader passes over.
    pub fn ornament(&mut self, draw: impl FnOnce(&mut Sheet<'a>)) {
        self.surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)));
        draw(self);
        self.surface.end_tagged();
    }

    /// What is drawn within belongs to the page, not to what is read: its number, for one.
    pub fn foot(&mut self, draw: impl FnOnce(&mut Sheet<'a>) -> Result<(), PressError>) -> Result<(), PressError> {
        self.surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Footer)));
        let drawn = draw(self);
        self.surface.end_tagged();
        drawn
    }

    /// What is drawn within is read as text.
    pub fn words(&mut self, draw: impl FnOnce(&mut Sheet<'a>)) -> Node {
        let identifier = self.surface.start_tagged(ContentTag::Span(SpanTag::empty()));
        draw(self);
        self.surface.end_tagged();
        Node::Leaf(identifier)
    }

    /// A filled rectangle of 8-bit sRGB.
    pub fn area(&mut self, x: f64, y: f64, w: f64, h: f64, rgb: [u8; 3]) {
        self.filled(
            paint(rgb),
            Rect::from_xywh(pt(x), pt(y), pt(w), pt(h)).and_then(|rect| {
                let mut path = PathBuilder::new();
                path.push_rect(rect);
                path.finish()
            }),
        );
    }

    fn filled(&mut self, paint: Paint, path: Option<Path>) {
        if let Some(path) = path {
            self.surface.set_stroke(None);
            self.surface.set_fill(Some(Fill { paint, opacity: NormalizedF32::ONE, rule: FillRule::NonZero }));
            self.surface.draw_path(&path);
        }
    }

    /// A line through these places, `width` millimetres wide, of a grey from 0 (black) to 255.
    pub fn line(&mut self, places: &[[f64; 2]], width: f64, grey: u8) {
        self.rule(places, width, [grey; 3]);
    }

    /// [`Sheet::line`] in 8-bit sRGB.
    pub fn rule(&mut self, places: &[[f64; 2]], width: f64, rgb: [u8; 3]) {
        let mut path = PathBuilder::new();
        for (i, [x, y]) in places.iter().enumerate() {
            if i == 0 { path.move_to(pt(*x), pt(*y)) } else { path.line_to(pt(*x), pt(*y)) }
        }
        let Some(path) = path.finish() else { return };
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(Stroke { paint: paint(rgb), width: pt(width), ..Stroke::default() }));
        self.surface.draw_path(&path);
    }

    /// A run of text in black, its baseline beginning at `x`, `y`. Tagging is the caller's.
    pub fn run(&mut self, letters: &Letters, run: &Run, points: f64, x: f64, y: f64) {
        self.tinted(letters, run, points, [x, y], [0; 3]);
    }

    /// [`Sheet::run`] in 8-bit sRGB.
    pub fn tinted(&mut self, letters: &Letters, run: &Run, points: f64, [x, y]: [f64; 2], rgb: [u8; 3]) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint: paint(rgb), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }));
        let start = Point::from_xy(pt(x), pt(y));
        self.surface.draw_glyphs(start, &run.glyphs, letters.font.clone(), &run.text, points as f32, false);
    }

    /// A drawing, `width` millimetres wide, its top left corner at `x`, `y`. Its words are set in `letters`. Tagging is the caller's.
    pub fn picture(&mut self, letters: &Letters, picture: &Picture, [x, y, width]: [f64; 3]) -> Result<(), PressError> {
        let scale = pt(width) / picture.view[2] as f32;
        let (left, top) = (picture.view[0] as f32 * scale, picture.view[1] as f32 * scale);
        self.surface.push_transform(&Transform::from_row(scale, 0.0, 0.0, scale, pt(x) - left, pt(y) - top));
        let drawn = picture.shapes.iter().try_for_each(|shape| {
            self.surface.push_transform(&shape.place);
            self.surface.set_fill(shape.fill.as_ref().map(filled));
            self.surface.set_stroke(shape.edge.as_ref().map(|edge| {
                Stroke {
                    paint: paint(edge.tint.rgb),
                    width: edge.width as f32,
                    line_cap: edge.cap,
                    line_join: edge.join,
                    opacity: part(edge.tint.opacity),
                    dash: (!edge.dashes.is_empty())
                        .then(|| StrokeDash { array: edge.dashes.iter().map(|d| *d as f32).collect(), offset: 0.0 }),
                    ..Stroke::default()
                }
            }));
            let drawn = match &shape.what {
                What::Path(path) => {
                    self.surface.draw_path(path);
                    Ok(())
                }
                What::Word { text, at: [x, y], size, anchor } => letters.shaped(text).map(|run| {
                    let start = Point::from_xy((x - anchor * run.width * size) as f32, *y as f32);
                    // On white, so that no line runs through it; outlined, so that it is read once.
                    let fill = self.surface.get_fill().cloned();
                    let around = Stroke { paint: paint([255; 3]), width: 0.22 * *size as f32, ..Stroke::default() };
                    self.surface.set_fill(None);
                    self.surface.set_stroke(Some(around));
                    self.surface.draw_glyphs(start, &run.glyphs, letters.font.clone(), text, *size as f32, true);
                    self.surface.set_stroke(None);
                    self.surface.set_fill(fill);
                    self.surface.draw_glyphs(start, &run.glyphs, letters.font.clone(), text, *size as f32, false);
                }),
            };
            self.surface.pop();
            drawn
        });
        self.surface.pop();
        drawn
    }

    /// A photograph in a JPEG file, stretched over left, top, width and height. Tagging is the caller's.
    ///
    /// # Errors
    /// It is no JPEG file.
    pub fn photograph(&mut self, jpeg: &[u8], [x, y, w, h]: [f64; 4]) -> Result<(), PressError> {
        // Not smoothed by the reader: PDF/A and PDF/UA readers may differ in how.
        let image = Image::from_jpeg(jpeg.to_vec().into(), false)
            .map_err(|why| PressError::drawing(format!("a photograph: {why}")))?;
        let size = Extent::from_wh(pt(w), pt(h)).ok_or_else(|| PressError::drawing("a photograph without width"))?;
        self.surface.push_transform(&Transform::from_translate(pt(x), pt(y)));
        self.surface.draw_image(image, size);
        self.surface.pop();
        Ok(())
    }

    /// A paragraph within `width` millimetres whose first baseline lies at `y`: its place in the tree of what the page says,
    /// and the baseline that would follow.
    pub fn paragraph(
        &mut self,
        tag: impl Into<TagKind>,
        letters: &Letters,
        size: Size,
        text: &str,
        [x, mut y, width]: [f64; 3],
    ) -> Result<(Node, f64), PressError> {
        let mut group = TagGroup::new(tag);
        for line in letters.lines(text, width * POINTS / size.points)? {
            let identifier = self.surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            self.run(letters, &line, size.points, x, y);
            self.surface.end_tagged();
            group.push(identifier);
            y += size.leading;
        }
        Ok((Node::Group(group), y))
    }
}

/// How a shape of a drawing is filled.
fn filled(tint: &Tint) -> Fill {
    let plain = |paint: Paint| Fill { paint, opacity: part(tint.opacity), rule: FillRule::NonZero };
    let Some(fading) = &tint.fading else { return plain(paint(tint.rgb)) };
    let stop = |(offset, opacity): &(f64, f64)| Stop {
        offset: part(*offset),
        color: rgb::Color::new(tint.rgb[0], tint.rgb[1], tint.rgb[2]).into(),
        opacity: part(*opacity),
    };
    let [x, y] = fading.middle.map(|v| v as f32);
    plain(
        RadialGradient {
            fx: x,
            fy: y,
            fr: 0.0,
            cx: x,
            cy: y,
            cr: fading.radius as f32,
            transform: Transform::identity(),
            spread_method: SpreadMethod::Pad,
            stops: fading.stops.iter().map(stop).collect(),
            anti_alias: true,
        }
        .into(),
    )
}

/// Greys as greys, so that black is black ink alone.
fn paint([r, g, b]: [u8; 3]) -> Paint {
    if r == g && g == b { luma::Color::new(r).into() } else { rgb::Color::new(r, g, b).into() }
}

fn part(value: f64) -> NormalizedF32 {
    NormalizedF32::new(value.clamp(0.0, 1.0) as f32).unwrap_or(NormalizedF32::ONE)
}

fn pt(mm: f64) -> f32 {
    (mm * POINTS) as f32
}

/// A page of the document, filled by `fill`.
pub fn page<T>(
    document: &mut Document,
    [w, h]: [f64; 2],
    fill: impl FnOnce(&mut Sheet<'_>) -> Result<T, PressError>,
) -> Result<T, PressError> {
    let settings = krilla::page::PageSettings::from_wh(pt(w), pt(h)).ok_or_else(|| PressError::refused("paper"))?;
    let mut page = document.start_page_with(settings);
    let mut sheet = Sheet::new(page.surface());
    let filled = fill(&mut sheet);
    sheet.finish();
    page.finish();
    filled
}
