//! The page with the reference card: the card at true size, a rule to check the print by, and how to use it.

use std::num::NonZeroU16;

use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Point, Rect};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::tagging::{BBox, Node, Tag, TagGroup, TagTree};
use krilla::{Document, SerializeSettings};

use crate::Paper;
use crate::error::PressError;
use crate::ink::srgb;
use crate::layout::{CARD_MM, code, patches};
use crate::letters::Letters;
use crate::sheet::{POINTS, Sheet, Size, page};

/// Every word on the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CardWords {
    /// The language they are in, as in BCP 47 (`en-GB`).
    pub language: String,
    /// The heading and the document's title.
    pub title: String,
    /// What the page is, in a sentence or two.
    pub lead: String,
    /// What the card looks like, for someone who does not see it.
    pub described: String,
    /// On the card, above the code: who made it.
    pub maker: String,
    /// On the card, below that: what it is.
    pub name: String,
    /// On the card, below the code, before the line for the date.
    pub printed_on: String,
    /// Above the rule of 100 mm.
    pub rule: String,
    /// What the rule looks like, for someone who does not see it.
    pub rule_described: String,
    /// Heading and paragraphs: the first stands beside the card, the others below in two columns, as wide as the card and
    /// what is beside it.
    pub parts: Vec<(String, Vec<String>)>,
    /// How many parts stand in the left column.
    pub left: usize,
}

/// Left and right margin, in millimetres.
const MARGIN: f64 = 22.0;
/// Between two columns.
const GAP: f64 = 10.0;
/// Where the card begins, from the top.
const CARD_TOP: f64 = 58.0;
/// The rule by which the print is checked, in millimetres.
const RULE: f64 = 100.0;
const TITLE: Size = Size { points: 24.0, leading: 10.0 };
const LEAD: Size = Size { points: 12.0, leading: 6.0 };
const HEADING: Size = Size { points: 12.0, leading: 6.0 };
const BODY: Size = Size { points: 10.3, leading: 5.1 };

/// The page as a PDF file.
///
/// # Errors
/// [`PressError`] where the words do not fit, hold a letter that the font lacks, or the page would not satisfy PDF/UA-1.
pub fn card(paper: Paper, words: &CardWords) -> Result<Vec<u8>, PressError> {
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(PressError::refused)?;
    // Device-independent colours: a printer is told that the patches are sRGB.
    let settings = SerializeSettings { configuration, no_device_cs: true, ..SerializeSettings::default() };
    let mut document = Document::new_with(settings);
    let said = page(&mut document, paper.mm(), |sheet| fill(sheet, paper, words))?;
    let mut tree = TagTree::new().with_lang(Some(words.language.clone()));
    for node in said.nodes {
        tree.push(node);
    }
    document.set_tag_tree(tree);
    let mut outline = Outline::new();
    for (title, [x, y]) in said.headings {
        let place = Point::from_xy((x * POINTS) as f32, (y * POINTS) as f32);
        outline.push_child(OutlineNode::new(title, XyzDestination::new(0, place)));
    }
    document.set_outline(outline);
    document.set_metadata(Metadata::new().title(words.title.clone()).language(words.language.clone()));
    document.finish().map_err(PressError::refused)
}

/// What the page says, in the order in which it is read, and where its headings stand.
#[derive(Default)]
struct Said {
    nodes: Vec<Node>,
    headings: Vec<(String, [f64; 2])>,
}

fn fill(sheet: &mut Sheet<'_>, paper: Paper, words: &CardWords) -> Result<Said, PressError> {
    let (regular, bold) = (Letters::regular()?, Letters::bold()?);
    let [width, height] = paper.mm();
    let whole = width - 2.0 * MARGIN;
    let mut said = Said::default();

    let (node, y) = sheet.paragraph(heading(1, &words.title), &bold, TITLE, &words.title, [MARGIN, 28.0, whole])?;
    said.nodes.push(node);
    said.headings.push((words.title.clone(), [MARGIN, 20.0]));
    let (node, y) = sheet.paragraph(Tag::P, &regular, LEAD, &words.lead, [MARGIN, y - 1.0, whole])?;
    said.nodes.push(node);
    if y - LEAD.leading > CARD_TOP - 6.0 {
        return Err(PressError::too_long("the lead"));
    }

    said.nodes.push(drawn_card(sheet, [MARGIN, CARD_TOP], &regular, &bold, words)?);

    let mut parts = words.parts.iter();
    let beside = MARGIN + CARD_MM[0] + GAP;
    let mut y = CARD_TOP + 3.2;
    if let Some(part) = parts.next() {
        y = written(sheet, &mut said, &regular, &bold, part, [beside, y, width - MARGIN - beside])?;
        if y - BODY.leading > CARD_TOP + CARD_MM[1] + 8.0 {
            return Err(PressError::too_long("the part beside the card"));
        }
    }

    let below = CARD_TOP + CARD_MM[1] + 14.0;
    let (node, after) = sheet.paragraph(Tag::P, &regular, BODY, &words.rule, [MARGIN, below, whole])?;
    said.nodes.push(node);
    let rule_at = after - BODY.leading + 4.0;
    said.nodes.push(drawn_rule(sheet, [MARGIN, rule_at], &regular, words)?);

    let columns = rule_at + 24.0;
    let rest: Vec<_> = parts.collect();
    let (left, right) = rest.split_at(words.left.min(rest.len()));
    for (x, wide, parts) in [(MARGIN, CARD_MM[0], left), (beside, width - MARGIN - beside, right)] {
        let mut y = columns;
        for part in parts {
            y = written(sheet, &mut said, &regular, &bold, part, [x, y, wide])? + 3.4;
        }
        if y - BODY.leading > height - 16.0 {
            return Err(PressError::too_long("the columns"));
        }
    }
    Ok(said)
}

/// A part with its heading; the baseline that would follow.
fn written(
    sheet: &mut Sheet<'_>,
    said: &mut Said,
    regular: &Letters,
    bold: &Letters,
    (title, paragraphs): &(String, Vec<String>),
    [x, y, width]: [f64; 3],
) -> Result<f64, PressError> {
    let (node, mut y) = sheet.paragraph(heading(2, title), bold, HEADING, title, [x, y, width])?;
    said.nodes.push(node);
    said.headings.push((title.clone(), [x, y - HEADING.leading]));
    for text in paragraphs {
        let (node, after) = sheet.paragraph(Tag::P, regular, BODY, text, [x, y, width])?;
        said.nodes.push(node);
        y = after + 1.4;
    }
    Ok(y)
}

fn heading(level: u16, title: &str) -> krilla::tagging::TagKind {
    Tag::Hn(NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN), Some(title.to_owned())).into()
}

/// The card itself, its top left corner at `x`, `y`.
fn drawn_card(
    sheet: &mut Sheet<'_>,
    [x, y]: [f64; 2],
    regular: &Letters,
    bold: &Letters,
    words: &CardWords,
) -> Result<Node, PressError> {
    let [w, h] = CARD_MM;
    sheet.ornament(|sheet| {
        let around = [[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]];
        sheet.line(&around, 0.1, 150);
        // Marks for a guillotine, outside the card.
        for (cx, side) in [(x, -1.0), (x + w, 1.0)] {
            for (cy, end) in [(y, -1.0), (y + h, 1.0)] {
                sheet.line(&[[cx + side * 1.0, cy], [cx + side * 5.0, cy]], 0.1, 0);
                sheet.line(&[[cx, cy + end * 1.0], [cx, cy + end * 5.0]], 0.1, 0);
            }
        }
    });
    let node = sheet.figure(|sheet| {
        for area in patches().iter().chain(&code()) {
            sheet.area(x + area.x, y + area.y, area.w, area.h, srgb(area.lab));
        }
        let middle = x + w / 2.0;
        for (letters, text, points, baseline) in [
            (bold, &words.maker, 11.0, 6.6),
            (regular, &words.name, 7.5, 10.4),
            (regular, &words.printed_on, 7.5, 45.0),
        ] {
            let run = letters.shaped(text)?;
            let long = run.width * points / POINTS;
            if long > 25.5 {
                return Err(PressError::too_long("the card itself"));
            }
            sheet.run(letters, &run, points, middle - long / 2.0, y + baseline);
        }
        sheet.line(&[[middle - 11.0, y + 51.0], [middle + 11.0, y + 51.0]], 0.15, 0);
        Ok(())
    })?;
    Ok(figure(&words.described, [x, y, w, h], node))
}

/// The rule with its ends, tens and ones.
fn drawn_rule(
    sheet: &mut Sheet<'_>,
    [x, y]: [f64; 2],
    letters: &Letters,
    words: &CardWords,
) -> Result<Node, PressError> {
    let node = sheet.figure(|sheet| {
        sheet.line(&[[x, y], [x + RULE, y]], 0.25, 0);
        for mm in 0..=RULE as usize {
            let long = match mm {
                0 | 100 => 5.0,
                n if n % 10 == 0 => 3.2,
                n if n % 5 == 0 => 2.2,
                _ => 1.4,
            };
            let at = x + mm as f64;
            sheet.line(&[[at, y], [at, y + long]], if mm % 10 == 0 { 0.2 } else { 0.1 }, 0);
        }
        for mm in [0, 50, 100] {
            let run = letters.shaped(&mm.to_string())?;
            let long = run.width * 7.5 / POINTS;
            sheet.run(letters, &run, 7.5, x + f64::from(mm) - long / 2.0, y + 8.4);
        }
        Ok(())
    })?;
    Ok(figure(&words.rule_described, [x, y, RULE, 9.0], node))
}

fn figure(described: &str, [x, y, w, h]: [f64; 4], node: Node) -> Node {
    let [x, y, w, h] = [x, y, w, h].map(|mm| (mm * POINTS) as f32);
    let place = Rect::from_xywh(x, y, w, h).map(|rect| BBox::new(0, rect));
    let mut group = TagGroup::new(Tag::Figure(Some(described.to_owned())).with_bbox(place));
    group.push(node);
    Node::Group(group)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words() -> CardWords {
        let part = |title: &str| (title.to_owned(), vec!["Some words.".to_owned()]);
        CardWords {
            language: "en-GB".to_owned(),
            title: "A card".to_owned(),
            lead: "What it is.".to_owned(),
            described: "Patches around a code.".to_owned(),
            maker: "Somebody".to_owned(),
            name: "Card".to_owned(),
            printed_on: "printed on".to_owned(),
            rule: "A rule.".to_owned(),
            rule_described: "A rule of 100 millimetres.".to_owned(),
            parts: ["One", "Two", "Three"].map(part).to_vec(),
            left: 1,
        }
    }

    fn refused(change: impl FnOnce(&mut CardWords)) -> String {
        let mut words = words();
        change(&mut words);
        card(Paper::Letter, &words).map_or_else(|e| e.to_string(), |page| format!("{} bytes", page.len()))
    }

    #[test]
    fn words_that_do_not_fit_are_refused_and_named() {
        assert!(refused(|_| ()).ends_with("bytes"), "{}", refused(|_| ()));
        let long = "many words ".repeat(200);
        for (said, part) in [
            (refused(|w| w.lead.clone_from(&long)), "the lead"),
            (refused(|w| w.parts[0].1[0].clone_from(&long)), "the part beside the card"),
            (refused(|w| w.parts[1].1[0].clone_from(&long)), "the columns"),
            (refused(|w| w.parts[2].1[0].clone_from(&long)), "the columns"),
            (refused(|w| w.maker = "Somebody with a long name".to_owned()), "the card itself"),
        ] {
            assert_eq!(said, format!("the words for {part} do not fit on the page"));
        }
        assert_eq!(refused(|w| w.rule.push('漢')), "the font has no letter '漢'");
    }

    #[test]
    fn a_figure_without_a_description_is_no_accessible_page() {
        assert!(refused(|w| w.described.clear()).contains("MissingAltText"), "{}", refused(|w| w.described.clear()));
    }
}
