//! The printed guide of a routine: the face with the steps on it, what comes first, the steps, when to stop. One or two pages; more only
//! where the steps are many, and then each page says that it goes on.

use std::rc::Rc;

use krilla::tagging::{Node, Tag, TagGroup};

use crate::Paper;
use crate::error::PressError;
use crate::flow::{Block, Column, Flow, INSET, Placed, Role};
use crate::prose::{Fonts, Line, lines, writable};
use crate::said::{self, BOTTOM, CAPTION, GAP, INK, MARGIN, MARK, Said, TOP, WATER, figure, foot, grounds, tag, write};
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

impl Pages<'_> {
    fn file(&self, placed: &[Placed], pages: usize) -> Result<Vec<u8>, PressError> {
        let mut document = said::document()?;
        let mut said = Said::default();
        for number in 0..pages {
            page(&mut document, self.paper.mm(), |sheet| {
                if number == 0 {
                    self.begin(sheet, &mut said)?;
                }
                grounds(sheet, self.blocks, placed, number);
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
                        said.block(sheet, self.fonts, &self.blocks[part.block], part, number)?;
                    }
                }
                // Where the steps begin on a later page, the face closes the first.
                let later = face_at.and_then(|i| placed.get(i)).is_none_or(|p| p.column.page > 0);
                if number == 0 && later {
                    said.end_list();
                    self.face(sheet, &mut said)?;
                }
                foot(sheet, self.fonts, self.paper, [&self.guide.page, &self.guide.goes_on], [number, pages])
            })?;
        }
        said.file(document, self.named, &self.guide.language, CREATOR)
    }

    /// Whether this is the heading of the steps.
    fn is_steps(&self, placed: &Placed) -> bool {
        let before = self.guide.first.iter().map(|part| 1 + part.paragraphs.len() + part.items.len()).sum::<usize>();
        placed.block == before
    }

    /// The title and the lead.
    fn begin(&self, sheet: &mut Sheet<'_>, said: &mut Said) -> Result<(), PressError> {
        let mut y = TOP - 2.0;
        let mut title = TagGroup::new(tag(1, &self.guide.title));
        said.headings.push((self.named.to_owned(), 0, [MARGIN, y - 4.0]));
        for line in &self.head.title {
            write(sheet, self.fonts, line, TITLE, [MARGIN, y], INK).into_iter().for_each(|node| title.push(node));
            y += TITLE * 1.15 / POINTS;
        }
        said.nodes.push(Node::Group(title));
        y += 1.5;
        for paragraph in &self.head.lead {
            let mut group = TagGroup::new(Tag::P);
            for line in paragraph {
                write(sheet, self.fonts, line, LEAD, [MARGIN, y], WATER).into_iter().for_each(|node| group.push(node));
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
        said.nodes.push(figure(drawn, &self.guide.face.described, [x, y, w, h], 0));
        let left = self.paper.mm()[0] - MARGIN - self.head.beside;
        let mut y = y + h + 2.0;
        for paragraph in &self.head.caption {
            let mut group = TagGroup::new(Tag::P);
            for line in paragraph {
                write(sheet, self.fonts, line, CAPTION, [left, y], WATER).into_iter().for_each(|node| group.push(node));
                y += CAPTION * HIGH;
            }
            said.nodes.push(Node::Group(group));
        }
        Ok(())
    }
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
