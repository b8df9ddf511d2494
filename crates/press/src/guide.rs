//! The printed guide of a routine: the face with the steps on it, what comes first, the steps, when to stop. One or two pages; more only
//! where the steps are many, and then each page says that it goes on.

use std::num::NonZeroU16;
use std::rc::Rc;

use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Point, Rect};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::tagging::{BBox, ListNumbering, Node, Tag, TagGroup, TagKind, TagTree};
use krilla::{Document, SerializeSettings};

use crate::Paper;
use crate::error::PressError;
use crate::flow::{Block, Column, Flow, INSET, Placed, Role, tops};
use crate::prose::{Fonts, Line, lines, writable};
use crate::sheet::{POINTS, Sheet, page};
use crate::vector::Picture;

pub use crate::prose::Piece;

/// Every word of a guide, in the order in which it is read.
#[derive(Clone, Debug, Default)]
pub struct Guide {
    /// The language, as in BCP 47.
    pub language: String,
    /// What the routine is called.
    pub title: String,
    /// How long it is, when it was made, until when it holds.
    pub lead: Vec<String>,
    /// What comes before the steps: cautions, when to stop, preparations. The first of them stands out.
    pub first: Vec<Part>,
    /// The face.
    pub face: Face,
    /// The heading of the steps.
    pub steps: String,
    /// The steps, by their movements.
    pub movements: Vec<Movement>,
    /// What comes after the steps.
    pub after: Vec<Part>,
    /// At the foot of each page, with `{n}` and `{all}`.
    pub page: String,
    /// At the foot of each page but the last, with `{n}` for the next.
    pub goes_on: String,
}

/// A heading with what stands below it.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// The heading.
    pub title: String,
    /// Paragraphs.
    pub paragraphs: Vec<Vec<Piece>>,
    /// A list.
    pub items: Vec<Vec<Piece>>,
}

/// The drawing.
#[derive(Clone, Debug, Default)]
pub struct Face {
    /// As SVG, such as the sketch gives it.
    pub svg: String,
    /// What it looks like, for someone who does not see it.
    pub described: String,
    /// What stands below it.
    pub caption: Vec<String>,
}

/// A part of the routine.
#[derive(Clone, Debug, Default)]
pub struct Movement {
    /// Its heading.
    pub title: String,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// A step, or two that are alike.
#[derive(Clone, Debug, Default)]
pub struct Step {
    /// Its number, or numbers.
    pub label: String,
    /// The sign of what the hand does, as SVG. It says nothing that the words don't.
    pub mark: String,
    /// When it begins.
    pub at: String,
    /// What to do: the first line names it.
    pub paragraphs: Vec<Vec<Piece>>,
}

/// A guide that was made.
pub struct Made {
    /// The file.
    pub pdf: Vec<u8>,
    /// How many pages.
    pub pages: usize,
    /// The size of its text, in points.
    pub points: f64,
    /// Letters that the fonts lack; a question mark stands in place of each.
    pub missing: Vec<char>,
}

/// By which a file of ours is known again: what its metadata name as creator.
pub const CREATOR: &str = "Tragion take-home";

/// How many times larger than on the desk's sheet the numerals of the drawing are: about 8 points high, at the width it has here.
pub const NUMERALS: f64 = 1.5;

const INK: [u8; 3] = [0x1F, 0x2A, 0x33];
/// Ink let down with water: 5.9:1 on white.
const WATER: [u8; 3] = [0x5C, 0x66, 0x6E];
const LINE: [u8; 3] = [0x9A, 0xA3, 0xA8];
const LINEN: [u8; 3] = [0xED, 0xF0, 0xEE];

/// Left and right margin, top and bottom, in millimetres.
const MARGIN: f64 = 12.0;
const TOP: f64 = 11.0;
const BOTTOM: f64 = 13.0;
const GAP: f64 = 6.0;
/// The face is at most so high, so that steps begin below it.
const FACE_HIGH: f64 = 158.0;

/// How closely it is set.
#[derive(Clone, Copy)]
struct Setting {
    /// Size of text, in points.
    points: f64,
    /// From line to line, in parts of that.
    leading: f64,
    /// How much of the air between blocks is left.
    air: f64,
    /// Width of the face's column, in millimetres.
    face: f64,
}

/// What is tried: the first with which two pages hold everything, or as few as the last needs; never smaller than 8.5 points.
const SETTINGS: [Setting; 6] = [
    Setting { points: 10.0, leading: 1.3, air: 1.0, face: 100.0 },
    Setting { points: 9.5, leading: 1.3, air: 1.0, face: 100.0 },
    Setting { points: 9.0, leading: 1.3, air: 1.0, face: 100.0 },
    Setting { points: 8.5, leading: 1.28, air: 0.85, face: 98.0 },
    Setting { points: 8.5, leading: 1.2, air: 0.5, face: 86.0 },
    Setting { points: 8.5, leading: 1.12, air: 0.2, face: 60.0 },
];
/// Space for a step's mark and number.
const GUTTER: f64 = 11.0;
const MARK: f64 = 9.0;

impl Guide {
    /// Every text, with what is done to each.
    fn each(&mut self, change: &mut dyn FnMut(&str) -> String) {
        let mut one = |text: &mut String| *text = change(text);
        for text in [&mut self.title, &mut self.face.described, &mut self.steps, &mut self.page, &mut self.goes_on] {
            one(text);
        }
        self.lead.iter_mut().chain(&mut self.face.caption).for_each(&mut one);
        for part in self.first.iter_mut().chain(&mut self.after) {
            one(&mut part.title);
            part.paragraphs.iter_mut().chain(&mut part.items).flatten().for_each(|piece| one(&mut piece.text));
        }
        for movement in &mut self.movements {
            one(&mut movement.title);
            for step in &mut movement.steps {
                one(&mut step.label);
                one(&mut step.at);
                step.paragraphs.iter_mut().flatten().for_each(|piece| one(&mut piece.text));
            }
        }
    }

    fn blocks(&self, fonts: &Fonts, setting: Setting) -> Result<Vec<Block>, PressError> {
        let points = setting.points;
        let mut blocks = Vec::new();
        let mut list = 0;
        let mut below_ground = None;
        for (n, part) in self.first.iter().enumerate() {
            section(&mut blocks, part, points, n == 0, &mut list);
            if n == 1 {
                below_ground = blocks.iter().rposition(|b| matches!(b.role, Role::Heading(_)));
            }
        }
        blocks.push(heading(2, &self.steps, points));
        for movement in &self.movements {
            blocks.push(heading(3, &movement.title, points));
            list += 1;
            for step in &movement.steps {
                let mark = if step.mark.is_empty() { None } else { Some(Rc::new(Picture::read(&step.mark)?)) };
                blocks.push(Block {
                    role: Role::Entry(list),
                    label: step.label.clone(),
                    least: if mark.is_some() { MARK + 0.4 * points } else { 0.0 },
                    mark,
                    paragraphs: step.paragraphs.clone(),
                    aside: (step.at.clone(), fonts.regular.shaped(&step.at)?.width * points / POINTS + 3.0),
                    points,
                    leading: setting.leading,
                    above: 0.23 * points,
                    ruled: false,
                    panel: false,
                    indent: GUTTER + 1.5,
                });
            }
        }
        for part in &self.after {
            section(&mut blocks, part, points, false, &mut list);
        }
        for block in &mut blocks {
            block.leading = setting.leading;
            // A rule keeps clear of what stands above it, however close the rest is.
            let least: f64 = if block.ruled {
                2.0
            } else if matches!(block.role, Role::Heading(_)) {
                1.0
            } else {
                0.0
            };
            block.above = (block.above * setting.air).max(least.min(block.above));
        }
        // Clear of the ground of the first.
        if let Some(title) = below_ground {
            blocks[title].above += INSET;
        }
        Ok(blocks)
    }
}

fn heading(level: u16, title: &str, points: f64) -> Block {
    let large = level == 2;
    Block {
        role: Role::Heading(level),
        label: String::new(),
        mark: None,
        paragraphs: vec![vec![Piece::bold(title)]],
        aside: Default::default(),
        points: if large { points * 1.3 } else { points * 1.08 },
        leading: 1.0,
        above: if large { 5.0 } else { 3.2 },
        ruled: large,
        panel: false,
        indent: 0.0,
        least: 0.0,
    }
}

fn section(blocks: &mut Vec<Block>, part: &Part, points: f64, panel: bool, list: &mut usize) {
    let mut title = heading(2, &part.title, points);
    (title.panel, title.ruled) = (panel, !panel);
    blocks.push(title);
    let block = |role, label: &str, pieces: &[Piece], indent| Block {
        role,
        label: label.to_owned(),
        mark: None,
        paragraphs: vec![pieces.to_vec()],
        aside: Default::default(),
        points,
        leading: 1.0,
        above: 0.12 * points,
        ruled: false,
        panel,
        indent,
        least: 0.0,
    };
    blocks.extend(part.paragraphs.iter().map(|pieces| block(Role::Text, "", pieces, 0.0)));
    *list += 1;
    blocks.extend(part.items.iter().map(|pieces| block(Role::Entry(*list), "•", pieces, 3.6)));
}

/// The guide as a PDF file. The same guide gives the same bytes.
///
/// # Errors
/// [`PressError`] where a drawing holds what is not known, or the file would not satisfy PDF/UA-1.
pub fn guide(paper: Paper, guide: &Guide) -> Result<Made, PressError> {
    let fonts = Fonts::new()?;
    let (mut guide, named) = (guide.clone(), guide.title.clone());
    let mut missing = Vec::new();
    guide.each(&mut |text| writable(&fonts, text, &mut missing));
    let face = Picture::read(&guide.face.svg)?;
    let set = |setting: Setting| -> Result<(Head, Vec<Block>, usize), PressError> {
        let head = Head::new(&fonts, paper, &guide, &face, setting)?;
        let blocks = guide.blocks(&fonts, setting)?;
        let pages = pages(&Flow::new(&fonts, &blocks).place(&|n| head.column(paper, n, None))?);
        Ok((head, blocks, pages))
    };
    // Where no setting does with two pages, as many as the closest needs.
    let most = set(SETTINGS[SETTINGS.len() - 1])?.2.max(2);
    for setting in SETTINGS {
        let (head, blocks, pages) = set(setting)?;
        if pages > most {
            continue;
        }
        let placed = balanced(&mut Flow::new(&fonts, &blocks), &head, paper)?;
        let made =
            Pages { paper, fonts: &fonts, guide: &guide, named: &named, head: &head, face: &face, blocks: &blocks };
        return Ok(Made { pdf: made.file(&placed, pages)?, pages, points: setting.points, missing });
    }
    Err(PressError::too_long("the guide"))
}

fn pages(placed: &[Placed]) -> usize {
    placed.iter().map(|p| p.column.page + 1).max().unwrap_or(1)
}

/// Every block at its place, with the columns of the last page about equally full.
fn balanced(flow: &mut Flow<'_>, head: &Head, paper: Paper) -> Result<Vec<Placed>, PressError> {
    let placed = flow.place(&|n| head.column(paper, n, None))?;
    let all = pages(&placed);
    if all < 2 {
        return Ok(placed);
    }
    let bottom = head.column(paper, 2, None).bottom;
    let mut cut = TOP + 20.0;
    while cut < bottom {
        let tried = flow.place(&|n| head.column(paper, n, Some((all - 1, cut))))?;
        if pages(&tried) == all {
            return Ok(tried);
        }
        cut += 3.0;
    }
    Ok(placed)
}

/// The title and what stands below it, and where the face lies.
struct Head {
    title: Vec<Line>,
    lead: Vec<Vec<Line>>,
    /// Where the columns of the first page begin.
    below: f64,
    /// Left, top, width and height of the face.
    face: [f64; 4],
    /// Width of its column.
    beside: f64,
    caption: Vec<Vec<Line>>,
    caption_below: f64,
}

const TITLE: f64 = 24.0;
const LEAD: f64 = 10.5;
const CAPTION: f64 = 8.5;
const HIGH: f64 = 1.3 / POINTS;

impl Head {
    fn new(fonts: &Fonts, paper: Paper, guide: &Guide, face: &Picture, setting: Setting) -> Result<Head, PressError> {
        let [width, _] = paper.mm();
        let whole = width - 2.0 * MARGIN;
        let title = lines(fonts, &[Piece::bold(&guide.title)], whole * POINTS / TITLE)?;
        let set = |texts: &[String], width: f64, points: f64| {
            texts
                .iter()
                .map(|t| lines(fonts, &[Piece::plain(t)], width * POINTS / points))
                .collect::<Result<Vec<_>, _>>()
        };
        let lead = set(&guide.lead, whole, LEAD)?;
        let rows = |paragraphs: &[Vec<Line>]| paragraphs.iter().map(Vec::len).sum::<usize>() as f64;
        let below = TOP + title.len() as f64 * TITLE * 1.15 / POINTS + rows(&lead) * LEAD * HIGH + 7.0;
        // The words around the figure stand well inside its frame: no further air is needed.
        let wide = setting.face.min(FACE_HIGH * face.view[2] / face.view[3]);
        let high = wide * face.view[3] / face.view[2];
        let caption = set(&guide.face.caption, setting.face, CAPTION)?;
        let face = [width - MARGIN - (setting.face + wide) / 2.0, below, wide, high];
        let caption_below = below + high + 2.0 + rows(&caption) * CAPTION * HIGH;
        Ok(Head { title, lead, below, face, beside: setting.face, caption, caption_below })
    }

    /// The columns: beside the face and below it on the first page, then two a page. `cut`: a page whose columns end earlier.
    fn column(&self, paper: Paper, n: usize, cut: Option<(usize, f64)>) -> Column {
        let [width, height] = paper.mm();
        let bottom = height - BOTTOM - 2.5;
        let left = width - 2.0 * MARGIN - self.beside - GAP;
        match n {
            0 => Column { page: 0, x: MARGIN, top: self.below, bottom, width: left },
            1 => {
                let (x, top) = (width - MARGIN - self.beside, self.caption_below + 5.0);
                Column { page: 0, x, top, bottom, width: self.beside }
            }
            _ => {
                let (page, wide) = (n / 2, (width - 2.0 * MARGIN - GAP) / 2.0);
                let x = if n.is_multiple_of(2) { MARGIN } else { MARGIN + wide + GAP };
                let bottom = cut.filter(|(of, _)| *of == page).map_or(bottom, |(_, at)| at);
                Column { page, x, top: TOP, bottom, width: wide }
            }
        }
    }
}

/// What is drawn.
struct Pages<'a> {
    paper: Paper,
    fonts: &'a Fonts,
    guide: &'a Guide,
    /// The title with every letter of it.
    named: &'a str,
    head: &'a Head,
    face: &'a Picture,
    blocks: &'a [Block],
}

/// What is read, in its order.
#[derive(Default)]
struct Said {
    nodes: Vec<Node>,
    headings: Vec<(String, usize, [f64; 2])>,
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

    fn end_list(&mut self) {
        self.end_entry();
        if let Some((_, list)) = self.list.take() {
            self.nodes.push(Node::Group(list));
        }
    }
}

impl Pages<'_> {
    fn file(&self, placed: &[Placed], pages: usize) -> Result<Vec<u8>, PressError> {
        let configuration = ConfigurationBuilder::new()
            .with_accessibility_validator(Accessibility::UA1)
            .finish()
            .map_err(PressError::refused)?;
        let settings = SerializeSettings { configuration, no_device_cs: true, ..SerializeSettings::default() };
        let mut document = Document::new_with(settings);
        let mut said = Said::default();
        for number in 0..pages {
            page(&mut document, self.paper.mm(), |sheet| {
                if number == 0 {
                    self.begin(sheet, &mut said)?;
                }
                self.grounds(sheet, placed, number);
                let face_at = placed
                    .iter()
                    .position(|p| matches!(self.blocks[p.block].role, Role::Heading(2)) && self.is_steps(p));
                for (i, part) in placed.iter().enumerate() {
                    if face_at == Some(i) && part.column.page == number {
                        said.end_list();
                        if number == 0 {
                            self.face(sheet, &mut said)?;
                        }
                    }
                    if part.column.page == number {
                        self.block(sheet, &mut said, part, number)?;
                    }
                }
                // Where the steps begin on a later page, the face closes the first.
                let later = face_at.and_then(|i| placed.get(i)).is_none_or(|p| p.column.page > 0);
                if number == 0 && later {
                    said.end_list();
                    self.face(sheet, &mut said)?;
                }
                self.foot(sheet, number, pages)
            })?;
        }
        said.end_list();
        let mut tree = TagTree::new().with_lang(Some(self.guide.language.clone()));
        for node in said.nodes {
            tree.push(node);
        }
        document.set_tag_tree(tree);
        let mut outline = Outline::new();
        for (title, page, [x, y]) in said.headings {
            let place = Point::from_xy((x * POINTS) as f32, (y * POINTS) as f32);
            outline.push_child(OutlineNode::new(title, XyzDestination::new(page, place)));
        }
        document.set_outline(outline);
        document.set_metadata(
            Metadata::new()
                .title(self.named.to_owned())
                .language(self.guide.language.clone())
                .creator(CREATOR.to_owned()),
        );
        document.finish().map_err(PressError::refused)
    }

    /// Whether this is the heading of the steps.
    fn is_steps(&self, placed: &Placed) -> bool {
        let before = self.guide.first.iter().map(|part| 1 + part.paragraphs.len() + part.items.len()).sum::<usize>();
        placed.block == before
    }

    fn line(&self, sheet: &mut Sheet<'_>, line: &Line, points: f64, [x, top]: [f64; 2], rgb: [u8; 3]) -> Vec<Node> {
        let baseline = top + 1.02 * points / POINTS;
        let mut x = x;
        let mut nodes = Vec::new();
        for (bold, run) in line {
            nodes.push(sheet.words(|sheet| sheet.tinted(self.fonts.of(*bold), run, points, [x, baseline], rgb)));
            x += run.width * points / POINTS;
        }
        nodes
    }

    /// The title and the lead.
    fn begin(&self, sheet: &mut Sheet<'_>, said: &mut Said) -> Result<(), PressError> {
        let mut y = TOP - 2.0;
        let mut title = TagGroup::new(tag(1, &self.guide.title));
        said.headings.push((self.named.to_owned(), 0, [MARGIN, y - 4.0]));
        for line in &self.head.title {
            self.line(sheet, line, TITLE, [MARGIN, y], INK).into_iter().for_each(|node| title.push(node));
            y += TITLE * 1.15 / POINTS;
        }
        said.nodes.push(Node::Group(title));
        y += 1.5;
        for paragraph in &self.head.lead {
            let mut group = TagGroup::new(Tag::P);
            for line in paragraph {
                self.line(sheet, line, LEAD, [MARGIN, y], WATER).into_iter().for_each(|node| group.push(node));
                y += LEAD * HIGH;
            }
            said.nodes.push(Node::Group(group));
        }
        Ok(())
    }

    /// The face and what stands below it.
    fn face(&self, sheet: &mut Sheet<'_>, said: &mut Said) -> Result<(), PressError> {
        let [x, y, w, h] = self.head.face;
        let drawn = sheet.figure(|sheet| sheet.picture(&self.fonts.regular, self.face, [x, y, w]))?;
        let [left, top, wide, high] = [x, y, w, h].map(|mm| (mm * POINTS) as f32);
        let bounds = Rect::from_xywh(left, top, wide, high).map(|rect| BBox::new(0, rect));
        let mut figure = TagGroup::new(Tag::Figure(Some(self.guide.face.described.clone())).with_bbox(bounds));
        figure.push(drawn);
        said.nodes.push(Node::Group(figure));
        let left = self.paper.mm()[0] - MARGIN - self.head.beside;
        let mut y = y + h + 2.0;
        for paragraph in &self.head.caption {
            let mut group = TagGroup::new(Tag::P);
            for line in paragraph {
                self.line(sheet, line, CAPTION, [left, y], WATER).into_iter().for_each(|node| group.push(node));
                y += CAPTION * HIGH;
            }
            said.nodes.push(Node::Group(group));
        }
        Ok(())
    }

    /// Grounds and lines that lie under the words of a page.
    fn grounds(&self, sheet: &mut Sheet<'_>, placed: &[Placed], number: usize) {
        let here = || placed.iter().filter(|p| p.column.page == number);
        let panels: Vec<&Placed> = here().filter(|p| self.blocks[p.block].panel).collect();
        sheet.ornament(|sheet| {
            for same in panels.chunk_by(|a, b| a.column == b.column) {
                let (Some(first), Some(last)) = (same.first(), same.last()) else { continue };
                let (top, bottom) = (first.y - 0.4, last.y + last.height + INSET - 0.4);
                sheet.area(first.column.x, top, first.column.width, bottom - top, LINEN);
            }
            for part in here().filter(|p| self.blocks[p.block].ruled) {
                let (x, y) = (part.column.x, part.y - 1.0);
                sheet.rule(&[[x, y], [x + part.column.width, y]], 0.2, LINE);
            }
        });
    }

    fn block(&self, sheet: &mut Sheet<'_>, said: &mut Said, part: &Placed, number: usize) -> Result<(), PressError> {
        let block = &self.blocks[part.block];
        let inset = if block.panel { INSET } else { 0.0 };
        let left = part.column.x + inset;
        // On a ground of its own, a little lower.
        let down = if block.panel { 1.0 } else { 0.0 };
        if let Some(mark) = &block.mark
            && !part.goes_on
        {
            let under = part.y + block.points / POINTS * 1.2;
            let mut drawn = Ok(());
            sheet.ornament(|sheet| drawn = sheet.picture(&self.fonts.regular, mark, [left + 0.4, under, MARK]));
            drawn?;
        }
        let mut paragraphs: Vec<(usize, TagGroup)> = Vec::new();
        let mut label = None;
        if let (Role::Entry(_), false) = (block.role, part.goes_on) {
            let bold = block.mark.is_some();
            let set = lines(self.fonts, &[Piece { bold, text: block.label.clone() }], 1e6)?;
            let mut group = TagGroup::new(Tag::Lbl);
            for line in &set {
                let wide: f64 = line.iter().map(|(_, run)| run.width).sum::<f64>() * block.points / POINTS;
                let x = if bold { left + ((MARK + 0.8 - wide) / 2.0).max(0.0) } else { left };
                self.line(sheet, line, block.points, [x, part.y + down], INK).into_iter().for_each(|n| group.push(n));
            }
            label = Some(group);
        }
        for (paragraph, line, top) in tops(block, part) {
            let quiet = block.mark.is_some() && paragraph > 0 && !line.first().is_some_and(|(bold, _)| *bold);
            let rgb = if quiet && paragraph == 1 { WATER } else { INK };
            let nodes = self.line(sheet, line, block.points, [left + block.indent, top + down], rgb);
            if paragraphs.last().is_none_or(|(n, _)| *n != paragraph) {
                paragraphs.push((paragraph, TagGroup::new(Tag::P)));
            }
            if let Some((_, group)) = paragraphs.last_mut() {
                nodes.into_iter().for_each(|node| group.push(node));
            }
        }
        if !block.aside.0.is_empty() && !part.goes_on {
            let mut group = TagGroup::new(Tag::P);
            for line in &lines(self.fonts, &[Piece::plain(block.aside.0.clone())], 1e6)? {
                let wide: f64 = line.iter().map(|(_, run)| run.width).sum::<f64>() * block.points / POINTS;
                let x = part.column.x + part.column.width - wide;
                self.line(sheet, line, block.points, [x, part.y + down], WATER).into_iter().for_each(|n| group.push(n));
            }
            paragraphs.insert(1.min(paragraphs.len()), (usize::MAX, group));
        }
        match block.role {
            Role::Heading(level) => {
                said.end_list();
                let title = block.paragraphs.iter().flatten().map(|p| p.text.as_str()).collect::<Vec<_>>().join(" ");
                if level == 2 {
                    said.headings.push((title.clone(), number, [left, part.y - 3.0]));
                }
                let mut group = TagGroup::new(tag(level, &title));
                // A heading's lines are its own.
                for line in paragraphs {
                    line.1.children.into_iter().for_each(|node| group.push(node));
                }
                said.nodes.push(Node::Group(group));
            }
            Role::Text => {
                said.end_list();
                said.nodes.extend(paragraphs.into_iter().map(|(_, group)| Node::Group(group)));
            }
            Role::Entry(list) => {
                if said.list.as_ref().is_none_or(|(open, _)| *open != list) {
                    said.end_list();
                    let numbering = if block.mark.is_some() { ListNumbering::Decimal } else { ListNumbering::Disc };
                    said.list = Some((list, TagGroup::new(Tag::L(numbering))));
                }
                if !part.goes_on || said.entry.is_none() {
                    said.end_entry();
                    let mut entry = TagGroup::new(Tag::LI);
                    label.into_iter().for_each(|group| entry.push(Node::Group(group)));
                    said.entry = Some((part.block, entry, TagGroup::new(Tag::LBody)));
                }
                if let Some((_, _, body)) = said.entry.as_mut() {
                    paragraphs.into_iter().for_each(|(_, group)| body.push(Node::Group(group)));
                }
            }
        }
        Ok(())
    }

    fn foot(&self, sheet: &mut Sheet<'_>, number: usize, pages: usize) -> Result<(), PressError> {
        let [width, height] = self.paper.mm();
        let said = self.guide.page.replace("{n}", &(number + 1).to_string()).replace("{all}", &pages.to_string());
        let next = self.guide.goes_on.replace("{n}", &(number + 2).to_string());
        let set = |piece: Piece| lines(self.fonts, &[piece], 1e6);
        let (left, right) = (set(Piece::plain(said))?, set(Piece::bold(next))?);
        sheet.foot(|sheet| {
            let y = height - BOTTOM + 4.0;
            let draw = |sheet: &mut Sheet<'_>, line: &Line, x: f64| {
                for (bold, run) in line {
                    sheet.tinted(self.fonts.of(*bold), run, CAPTION, [x, y], WATER);
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
}

fn tag(level: u16, title: &str) -> TagKind {
    Tag::Hn(NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN), Some(title.to_owned())).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FACE: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 300 400\"><circle cx=\"150\" cy=\"200\" r=\"90\" \
                        fill=\"none\" stroke=\"#000000\" stroke-width=\"2\"/><text x=\"150\" y=\"200\" font-size=\"20\">1</text></svg>";

    fn some(steps: usize) -> Guide {
        let say = |text: &str| vec![Piece::bold("Find it:"), Piece::plain(text)];
        let step = |n: usize| Step {
            label: format!("{n}"),
            mark: FACE.replace("300 400", "400 400"),
            at: format!("from {n}:00"),
            paragraphs: vec![vec![Piece::bold("Hold"), Piece::plain(format!("place {n}"))], say(&"word ".repeat(30))],
        };
        let part = |title: &str| Part {
            title: title.to_owned(),
            paragraphs: vec![say("mind this")],
            items: vec![say("one"), say("two")],
        };
        Guide {
            language: "en".to_owned(),
            title: "A routine".to_owned(),
            lead: vec!["Made today.".to_owned()],
            first: vec![part("First"), part("Before")],
            face: Face {
                svg: FACE.to_owned(),
                described: "A face with one mark.".to_owned(),
                caption: vec!["A face.".to_owned()],
            },
            steps: "Steps".to_owned(),
            movements: vec![Movement { title: "Work".to_owned(), steps: (1..=steps).map(step).collect() }],
            after: vec![part("After")],
            page: "Page {n} of {all}".to_owned(),
            goes_on: "Goes on: page {n}".to_owned(),
        }
    }

    #[test]
    fn two_pages_as_long_as_they_do_and_never_smaller_than_they_may_be() {
        let mut before = (0, f64::MAX);
        for steps in [1, 12, 24, 30, 36, 42, 60, 200] {
            for paper in Paper::ALL {
                let made = guide(paper, &some(steps)).expect("a guide");
                assert!(made.points >= 8.5 && made.pages >= 1, "{steps} steps: {} points", made.points);
                assert!(made.pages <= 2 || steps > 30, "{steps} steps on {} pages", made.pages);
                if paper == Paper::A4 {
                    // More steps never make larger letters on as many pages.
                    assert!(made.pages > before.0 || made.points <= before.1, "{steps} steps");
                    before = (made.pages, made.points);
                }
            }
        }
        assert!(before.0 > 3, "two hundred steps on {} pages", before.0);
    }

    #[test]
    fn what_cannot_be_drawn_or_read_is_refused_and_letters_that_are_not_there_are_told() {
        let refused = |change: fn(&mut Guide)| {
            let mut given = some(2);
            change(&mut given);
            guide(Paper::A4, &given)
                .map_or_else(|e| e.to_string(), |made| format!("{} pages, {:?}", made.pages, made.missing))
        };
        assert!(refused(|g| g.face.described.clear()).contains("MissingAltText"), "a figure without words");
        assert!(
            refused(|g| g.face.svg = FACE.replace("circle", "ellipse")).contains("<ellipse>"),
            "an unknown element"
        );
        assert!(refused(|g| g.movements[0].steps[1].mark = "<svg".to_owned()).contains("a drawing"), "no SVG");
        assert_eq!(refused(|g| g.title = "漢 and 漢".to_owned()), "1 pages, ['漢']");
    }
}
