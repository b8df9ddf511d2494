//! A document being written: blocks drawn on their pages, the tree of what is said, and the file at the end.

use std::num::NonZeroU16;

use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Point, Rect};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::tagging::{BBox, ListNumbering, Node, Tag, TagGroup, TagKind, TagTree};
use krilla::{Document, SerializeSettings};

use crate::Paper;
use crate::error::PressError;
use crate::flow::{Block, INSET, Placed, Role, tops};
use crate::prose::{Fonts, Line, Piece, lines};
use crate::sheet::{POINTS, Sheet};

pub const INK: [u8; 3] = [0x1F, 0x2A, 0x33];
/// Ink let down with water: 5.9:1 on white.
pub const WATER: [u8; 3] = [0x5C, 0x66, 0x6E];
pub const LINE: [u8; 3] = [0x9A, 0xA3, 0xA8];
pub const LINEN: [u8; 3] = [0xED, 0xF0, 0xEE];

/// Left and right margin, top and bottom, in millimetres.
pub const MARGIN: f64 = 12.0;
pub const TOP: f64 = 11.0;
pub const BOTTOM: f64 = 13.0;
pub const GAP: f64 = 6.0;
/// The size of a mark before a step.
pub const MARK: f64 = 9.0;
/// Points of captions and feet.
pub const CAPTION: f64 = 8.5;

/// An empty document that has to satisfy PDF/UA-1.
pub fn document() -> Result<Document, PressError> {
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(PressError::refused)?;
    let settings = SerializeSettings { configuration, no_device_cs: true, ..SerializeSettings::default() };
    Ok(Document::new_with(settings))
}

/// The tag of a heading.
pub fn tag(level: u16, title: &str) -> TagKind {
    Tag::Hn(NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN), Some(title.to_owned())).into()
}

/// A figure that was drawn at left, top, width and height of page `number`, in millimetres, with the words in its place.
pub fn figure(drawn: Node, described: &str, [x, y, w, h]: [f64; 4], number: usize) -> Node {
    let [left, top, wide, high] = [x, y, w, h].map(|mm| (mm * POINTS) as f32);
    let bounds = Rect::from_xywh(left, top, wide, high).map(|rect| BBox::new(number, rect));
    let mut figure = TagGroup::new(Tag::Figure(Some(described.to_owned())).with_bbox(bounds));
    figure.push(drawn);
    Node::Group(figure)
}

/// What is read, in its order.
#[derive(Default)]
pub struct Said {
    /// What is read, in order.
    pub nodes: Vec<Node>,
    /// Headings with their page and place, for the bookmarks.
    pub headings: Vec<(String, usize, [f64; 2])>,
    list: Option<(usize, TagGroup)>,
    /// The entry that a part of may follow.
    entry: Option<(usize, TagGroup, TagGroup)>,
}

impl Said {
    fn end_entry(&mut self) {
        if let (Some((_, mut entry, body)), Some((_, list))) = (self.entry.take(), self.list.as_mut()) {
            entry.push(Node::Group(body));
            list.push(Node::Group(entry));
        }
    }

    /// What follows belongs to no list.
    pub fn end_list(&mut self) {
        self.end_entry();
        if let Some((_, list)) = self.list.take() {
            self.nodes.push(Node::Group(list));
        }
    }

    /// Draws a block at its place on page `number`, from 0, and puts it into what is read.
    pub fn block(
        &mut self,
        sheet: &mut Sheet<'_>,
        fonts: &Fonts,
        block: &Block,
        part: &Placed,
        number: usize,
    ) -> Result<(), PressError> {
        let inset = if block.panel { INSET } else { 0.0 };
        let left = part.column.x + inset;
        // On a ground of its own, a little lower.
        let down = if block.panel { 1.0 } else { 0.0 };
        if let Some(mark) = &block.mark
            && !part.goes_on
        {
            let under = part.y + block.points / POINTS * 1.2;
            let mut drawn = Ok(());
            sheet.ornament(|sheet| drawn = sheet.picture(&fonts.regular, mark, [left + 0.4, under, MARK]));
            drawn?;
        }
        let mut paragraphs: Vec<(usize, TagGroup)> = Vec::new();
        let mut label = None;
        if let (Role::Entry(_), false) = (block.role, part.goes_on) {
            let bold = block.mark.is_some();
            let set = lines(fonts, &[Piece { bold, text: block.label.clone() }], 1e6)?;
            let mut group = TagGroup::new(Tag::Lbl);
            for line in &set {
                let wide: f64 = line.iter().map(|(_, run)| run.width).sum::<f64>() * block.points / POINTS;
                let x = if bold { left + ((MARK + 0.8 - wide) / 2.0).max(0.0) } else { left };
                write(sheet, fonts, line, block.points, [x, part.y + down], INK)
                    .into_iter()
                    .for_each(|n| group.push(n));
            }
            label = Some(group);
        }
        for (paragraph, line, top) in tops(block, part) {
            let quiet = block.mark.is_some() && paragraph > 0 && !line.first().is_some_and(|(bold, _)| *bold);
            let rgb = if quiet && paragraph == 1 { WATER } else { INK };
            let nodes = write(sheet, fonts, line, block.points, [left + block.indent, top + down], rgb);
            if paragraphs.last().is_none_or(|(n, _)| *n != paragraph) {
                paragraphs.push((paragraph, TagGroup::new(Tag::P)));
            }
            if let Some((_, group)) = paragraphs.last_mut() {
                nodes.into_iter().for_each(|node| group.push(node));
            }
        }
        if !block.aside.0.is_empty() && !part.goes_on {
            let mut group = TagGroup::new(Tag::P);
            for line in &lines(fonts, &[Piece::plain(block.aside.0.clone())], 1e6)? {
                let wide: f64 = line.iter().map(|(_, run)| run.width).sum::<f64>() * block.points / POINTS;
                let x = part.column.x + part.column.width - wide;
                write(sheet, fonts, line, block.points, [x, part.y + down], WATER)
                    .into_iter()
                    .for_each(|n| group.push(n));
            }
            paragraphs.insert(1.min(paragraphs.len()), (usize::MAX, group));
        }
        match block.role {
            Role::Heading(level) => {
                self.end_list();
                let title = block.paragraphs.iter().flatten().map(|p| p.text.as_str()).collect::<Vec<_>>().join(" ");
                if level == 2 {
                    self.headings.push((title.clone(), number, [left, part.y - 3.0]));
                }
                let mut group = TagGroup::new(tag(level, &title));
                // A heading's lines are its own.
                for line in paragraphs {
                    line.1.children.into_iter().for_each(|node| group.push(node));
                }
                self.nodes.push(Node::Group(group));
            }
            Role::Text => {
                self.end_list();
                self.nodes.extend(paragraphs.into_iter().map(|(_, group)| Node::Group(group)));
            }
            Role::Entry(list) => {
                if self.list.as_ref().is_none_or(|(open, _)| *open != list) {
                    self.end_list();
                    let numbering = if block.mark.is_some() { ListNumbering::Decimal } else { ListNumbering::Disc };
                    self.list = Some((list, TagGroup::new(Tag::L(numbering))));
                }
                if !part.goes_on || self.entry.is_none() {
                    self.end_entry();
                    let mut entry = TagGroup::new(Tag::LI);
                    label.into_iter().for_each(|group| entry.push(Node::Group(group)));
                    self.entry = Some((part.block, entry, TagGroup::new(Tag::LBody)));
                }
                if let Some((_, _, body)) = self.entry.as_mut() {
                    paragraphs.into_iter().for_each(|(_, group)| body.push(Node::Group(group)));
                }
            }
        }
        Ok(())
    }

    /// The file: the tree, the bookmarks, what it is called, in which language, and by which program it was made.
    pub fn file(
        mut self,
        mut document: Document,
        title: &str,
        language: &str,
        creator: &str,
    ) -> Result<Vec<u8>, PressError> {
        self.end_list();
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        for node in self.nodes {
            tree.push(node);
        }
        document.set_tag_tree(tree);
        let mut outline = Outline::new();
        for (title, page, [x, y]) in self.headings {
            let place = Point::from_xy((x * POINTS) as f32, (y * POINTS) as f32);
            outline.push_child(OutlineNode::new(title, XyzDestination::new(page, place)));
        }
        document.set_outline(outline);
        document.set_metadata(
            Metadata::new().title(title.to_owned()).language(language.to_owned()).creator(creator.to_owned()),
        );
        document.finish().map_err(PressError::refused)
    }
}

/// A line whose top lies at `top`, in millimetres; its place in what is read.
pub fn write(
    sheet: &mut Sheet<'_>,
    fonts: &Fonts,
    line: &Line,
    points: f64,
    [x, top]: [f64; 2],
    rgb: [u8; 3],
) -> Vec<Node> {
    let baseline = top + 1.02 * points / POINTS;
    let mut x = x;
    let mut nodes = Vec::new();
    for (bold, run) in line {
        nodes.push(sheet.words(|sheet| sheet.tinted(fonts.of(*bold), run, points, [x, baseline], rgb)));
        x += run.width * points / POINTS;
    }
    nodes
}

/// Grounds and lines that lie under the words of a page.
pub fn grounds(sheet: &mut Sheet<'_>, blocks: &[Block], placed: &[Placed], number: usize) {
    let here = || placed.iter().filter(|p| p.column.page == number);
    let panels: Vec<&Placed> = here().filter(|p| blocks[p.block].panel).collect();
    sheet.ornament(|sheet| {
        for same in panels.chunk_by(|a, b| a.column == b.column) {
            let (Some(first), Some(last)) = (same.first(), same.last()) else { continue };
            let (top, bottom) = (first.y - 0.4, last.y + last.height + INSET - 0.4);
            sheet.area(first.column.x, top, first.column.width, bottom - top, LINEN);
        }
        for part in here().filter(|p| blocks[p.block].ruled) {
            let (x, y) = (part.column.x, part.y - 1.0);
            sheet.rule(&[[x, y], [x + part.column.width, y]], 0.2, LINE);
        }
    });
}

/// The foot of page `number`, from 0: its number, and where it goes on.
pub fn foot(
    sheet: &mut Sheet<'_>,
    fonts: &Fonts,
    paper: Paper,
    [page, goes_on]: [&str; 2],
    [number, pages]: [usize; 2],
) -> Result<(), PressError> {
    let [width, height] = paper.mm();
    let said = page.replace("{n}", &(number + 1).to_string()).replace("{all}", &pages.to_string());
    let next = goes_on.replace("{n}", &(number + 2).to_string());
    let set = |piece: Piece| lines(fonts, &[piece], 1e6);
    let (left, right) = (set(Piece::plain(said))?, set(Piece::bold(next))?);
    sheet.foot(|sheet| {
        let y = height - BOTTOM + 4.0;
        let draw = |sheet: &mut Sheet<'_>, line: &Line, x: f64| {
            for (bold, run) in line {
                sheet.tinted(fonts.of(*bold), run, CAPTION, [x, y], WATER);
            }
        };
        for line in &left {
            draw(sheet, line, MARGIN);
        }
        for line in right.iter().filter(|_| number + 1 < pages) {
            let wide: f64 = line.iter().map(|(_, run)| run.width).sum::<f64>() * CAPTION / POINTS;
            draw(sheet, line, width - MARGIN - wide);
        }
        Ok(())
    })
}
