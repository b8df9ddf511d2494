//! The printed report of some weeks: what was asked beforehand, how somebody felt, a chart, the verdict, two photographs, what is
//! known and what cannot be said. One or two pages; more only where there is much to tell, and then each page says that it goes on.
//!
//! There is no report without a [`Verdict`], and the same sentence stands under the photographs.

use krilla::tagging::{Node, TagGroup};

use crate::Paper;
use crate::error::PressError;
use crate::flow::{Block, Column, Flow, INSET, Placed, Role};
use crate::prose::{Fonts, lines, writable};
use crate::said::{self, BOTTOM, CAPTION, GAP, INK, MARGIN, Said, TOP, figure, foot, grounds, tag, write};
use crate::sheet::{POINTS, page};
use crate::vector::Picture;

pub use crate::guide::{Made, Part};
pub use crate::prose::Piece;

/// By which a report of ours is known again: what its metadata name as creator.
pub const CREATOR: &str = "Tragion report";

/// The verdict in one sentence: never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict(String);

impl Verdict {
    /// Of a sentence; none where it says nothing.
    pub fn new(sentence: impl Into<String>) -> Option<Verdict> {
        let sentence = sentence.into();
        (!sentence.trim().is_empty()).then_some(Verdict(sentence))
    }

    /// What it says.
    pub fn sentence(&self) -> &str {
        &self.0
    }
}

/// Every word of a report, in the order in which it is read.
#[derive(Clone, Debug)]
pub struct Report {
    /// The language, as in BCP 47.
    pub language: String,
    /// Whose weeks they were.
    pub title: String,
    /// Which days.
    pub lead: Vec<String>,
    /// Side by side: what was asked beforehand, how they felt.
    pub first: [Part; 2],
    /// The chart.
    pub chart: Chart,
    /// Side by side beneath it: sessions, incidents.
    pub beneath: [Part; 2],
    /// The heading of the verdict.
    pub verdict_title: String,
    verdict: Verdict,
    /// What stands below the verdict, in smaller type.
    pub verdict_more: Vec<String>,
    /// First and latest.
    pub pair: Option<Pair>,
    /// What is known, what cannot be said, who made it.
    pub after: Vec<Part>,
    /// At the foot of each page, with `{n}` and `{all}`.
    pub page: String,
    /// At the foot of each page but the last, with `{n}` for the next.
    pub goes_on: String,
}

/// A chart.
#[derive(Clone, Debug, Default)]
pub struct Chart {
    /// Its heading.
    pub title: String,
    /// As SVG of what [`crate::vector`] knows, black ink alone.
    pub svg: String,
    /// What it shows, for someone who does not see it.
    pub described: String,
    /// What its signs mean.
    pub caption: Vec<String>,
}

/// Two photographs of one size.
#[derive(Clone, Debug, Default)]
pub struct Pair {
    /// The heading.
    pub title: String,
    /// First and latest.
    pub photographs: [Photograph; 2],
    /// How they were chosen, aligned and corrected.
    pub how: Vec<String>,
}

/// A photograph as it is printed.
#[derive(Clone, Debug, Default)]
pub struct Photograph {
    /// The JPEG file, sRGB, without metadata.
    pub jpeg: Vec<u8>,
    /// Width and height in pixels.
    pub size: [u32; 2],
    /// What it shows, for someone who does not see it.
    pub described: String,
    /// Its day, its light: the first line stands out.
    pub caption: Vec<String>,
}

/// How closely it is set.
#[derive(Clone, Copy)]
struct Setting {
    points: f64,
    leading: f64,
    air: f64,
    /// Width of a photograph, in millimetres.
    photograph: f64,
    /// How much of the paper's width the chart has.
    chart: f64,
}

/// What is tried: the first with which two pages hold everything and the verdict stands on the first; never smaller than 8.5 points.
const SETTINGS: [Setting; 5] = [
    Setting { points: 10.0, leading: 1.32, air: 1.0, photograph: 66.0, chart: 1.0 },
    Setting { points: 9.5, leading: 1.3, air: 0.9, photograph: 62.0, chart: 1.0 },
    Setting { points: 9.0, leading: 1.28, air: 0.75, photograph: 56.0, chart: 0.94 },
    Setting { points: 8.5, leading: 1.22, air: 0.55, photograph: 48.0, chart: 0.9 },
    Setting { points: 8.5, leading: 1.16, air: 0.3, photograph: 42.0, chart: 0.84 },
];

const TITLE: f64 = 22.0;
/// Of a title that is longer than a line.
const LONG_TITLE: f64 = 15.0;
const LEAD: f64 = 10.5;
/// Between two parts, in millimetres.
const PART: f64 = 6.0;

impl Report {
    /// A report with this verdict, and nothing else yet.
    pub fn new(verdict: Verdict) -> Report {
        let part = Part::default;
        Report {
            language: String::new(),
            title: String::new(),
            lead: Vec::new(),
            first: [part(), part()],
            chart: Chart::default(),
            beneath: [part(), part()],
            verdict_title: String::new(),
            verdict,
            verdict_more: Vec::new(),
            pair: None,
            after: Vec::new(),
            page: String::new(),
            goes_on: String::new(),
        }
    }

    /// The verdict.
    pub fn verdict(&self) -> &Verdict {
        &self.verdict
    }

    /// Every text, with what is done to each.
    fn each(&mut self, change: &mut dyn FnMut(&str) -> String) {
        let mut one = |text: &mut String| *text = change(text);
        for text in [&mut self.title, &mut self.chart.title, &mut self.chart.described, &mut self.verdict_title] {
            one(text);
        }
        one(&mut self.verdict.0);
        self.lead.iter_mut().chain(&mut self.chart.caption).chain(&mut self.verdict_more).for_each(&mut one);
        for part in self.first.iter_mut().chain(&mut self.beneath).chain(&mut self.after) {
            one(&mut part.title);
            part.paragraphs.iter_mut().chain(&mut part.items).flatten().for_each(|piece| one(&mut piece.text));
        }
        if let Some(pair) = &mut self.pair {
            one(&mut pair.title);
            pair.how.iter_mut().for_each(&mut one);
            for photograph in &mut pair.photographs {
                one(&mut photograph.described);
                photograph.caption.iter_mut().for_each(&mut one);
            }
        }
        one(&mut self.page);
        one(&mut self.goes_on);
    }
}

/// The report as a PDF file. The same report gives the same bytes.
///
/// # Errors
/// [`PressError`] where the chart holds what is not known, a photograph is no JPEG file, or the file would not satisfy PDF/UA-1.
pub fn report(paper: Paper, report: &Report) -> Result<Made, PressError> {
    let fonts = Fonts::new()?;
    let (mut report, named) = (report.clone(), report.title.clone());
    let mut missing = Vec::new();
    // A number stays with its per cent.
    report.each(&mut |text| writable(&fonts, &text.replace(" %", "\u{a0}%"), &mut missing));
    let chart = Picture::read(&report.chart.svg)?;
    let set = |setting: Setting| Laying::new(&fonts, paper, setting).all(&report, &chart);
    // Where no setting does with two pages, as many as the closest needs.
    let most = set(SETTINGS[SETTINGS.len() - 1])?.page.max(1);
    let mut chosen = None;
    for setting in SETTINGS {
        let laid = set(setting)?;
        let (fits, beside) = (laid.page <= most, laid.verdict == 0);
        // The verdict is to stand on the chart's page, if any setting brings it there.
        if fits && (beside || chosen.is_none()) {
            chosen = Some((laid, setting));
        }
        if fits && beside {
            break;
        }
    }
    let Some((laid, setting)) = chosen else { return Err(PressError::too_long("the report")) };
    let pages = laid.page + 1;
    let pdf = file(&fonts, paper, &report, &named, &chart, &laid)?;
    Ok(Made { pdf, pages, points: setting.points, missing })
}

/// A thing at its place.
enum Thing {
    /// Text, in its own blocks.
    Text(Vec<Block>, Vec<Placed>),
    /// The chart: page; left, top, width, height.
    Chart(usize, [f64; 4]),
    /// One of the photographs.
    Photograph(usize, usize, [f64; 4]),
}

/// What is laid out so far, and where the next thing begins.
struct Laying<'a> {
    fonts: &'a Fonts,
    paper: Paper,
    setting: Setting,
    things: Vec<Thing>,
    page: usize,
    y: f64,
    list: usize,
    /// On which page the verdict stands.
    verdict: usize,
}

impl<'a> Laying<'a> {
    fn new(fonts: &'a Fonts, paper: Paper, setting: Setting) -> Laying<'a> {
        Laying { fonts, paper, setting, things: Vec::new(), page: 0, y: TOP, list: 0, verdict: 0 }
    }

    fn bottom(&self) -> f64 {
        self.paper.mm()[1] - BOTTOM - 2.5
    }

    fn whole(&self) -> f64 {
        self.paper.mm()[0] - 2.0 * MARGIN
    }

    fn all(mut self, report: &Report, chart: &Picture) -> Result<Laying<'a>, PressError> {
        self.title(report)?;
        self.beside(&report.first, 0.4)?;
        self.together(&|s| {
            let heading = s.heading(&report.chart.title);
            s.column(vec![heading], 0.0)?;
            s.y += 1.5;
            let wide = s.whole() * s.setting.chart;
            let high = wide * chart.view[3] / chart.view[2];
            s.things.push(Thing::Chart(s.page, [MARGIN + (s.whole() - wide) / 2.0, s.y, wide, high]));
            s.y += high + 1.5;
            let caption = report.chart.caption.iter().map(|t| s.small(t)).collect();
            s.column(caption, 0.0)
        })?;
        self.together(&|s| {
            let title = Block { panel: true, ruled: false, ..s.heading(&report.verdict_title) };
            let sentence = Block {
                panel: true,
                points: s.setting.points * 1.25,
                ..s.text(&[Piece::bold(report.verdict.sentence())])
            };
            let more = report.verdict_more.iter().map(|t| Block { panel: true, ..s.text(&[Piece::plain(t)]) });
            let blocks = [title, sentence].into_iter().chain(more).collect();
            s.column(blocks, INSET)
        })?;
        self.verdict = self.page;
        self.beside(&report.beneath, 0.42)?;
        if let Some(pair) = &report.pair {
            self.together(&|s| s.pair(pair, &report.verdict))?;
        }
        self.flowing(&report.after)?;
        Ok(self)
    }

    fn title(&mut self, report: &Report) -> Result<(), PressError> {
        self.y = TOP - 2.0;
        let mut title = self.heading(&report.title);
        let one_line = lines(self.fonts, &[Piece::bold(&report.title)], self.whole() * POINTS / TITLE)?.len() < 2;
        let points = if one_line { TITLE } else { LONG_TITLE };
        (title.role, title.points, title.leading, title.ruled) = (Role::Heading(1), points, 1.15, false);
        let lead: Vec<Block> = report
            .lead
            .iter()
            .map(|t| Block { points: LEAD, leading: 1.3, above: 1.0, ..self.text(&[Piece::plain(t)]) })
            .collect();
        self.column([title].into_iter().chain(lead).collect(), 0.0)
    }

    fn gap(&mut self) {
        if self.y > TOP {
            self.y += PART * self.setting.air;
        }
    }

    fn heading(&self, title: &str) -> Block {
        Block {
            role: Role::Heading(2),
            points: self.setting.points * 1.3,
            leading: 1.1,
            above: 4.0 * self.setting.air,
            ruled: true,
            ..self.text(&[Piece::bold(title)])
        }
    }

    fn text(&self, pieces: &[Piece]) -> Block {
        Block {
            role: Role::Text,
            label: String::new(),
            mark: None,
            paragraphs: vec![pieces.to_vec()],
            aside: Default::default(),
            points: self.setting.points,
            leading: self.setting.leading,
            above: 1.2 * self.setting.air,
            ruled: false,
            panel: false,
            indent: 0.0,
            least: 0.0,
        }
    }

    fn small(&self, text: &str) -> Block {
        Block { points: CAPTION, leading: 1.25, above: 0.6, ..self.text(&[Piece::plain(text)]) }
    }

    /// A part as blocks.
    fn part(&mut self, part: &Part) -> Vec<Block> {
        let mut blocks = vec![self.heading(&part.title)];
        blocks.extend(part.paragraphs.iter().map(|p| self.text(p)));
        self.list += 1;
        let list = self.list;
        let entry = |pieces: &Vec<Piece>| Block {
            role: Role::Entry(list),
            label: "•".to_owned(),
            indent: 3.6,
            ..self.text(pieces)
        };
        blocks.extend(part.items.iter().map(entry));
        blocks
    }

    /// Blocks over the whole width, from here on.
    fn column(&mut self, blocks: Vec<Block>, below: f64) -> Result<(), PressError> {
        let whole = self.whole();
        let (page, y) = self.set(blocks, [MARGIN, whole])?;
        (self.page, self.y) = (page, y + below);
        Ok(())
    }

    /// Blocks in one column from here on; where they end. The place is not moved.
    fn set(&mut self, blocks: Vec<Block>, [x, width]: [f64; 2]) -> Result<(usize, f64), PressError> {
        let (page, y, bottom) = (self.page, self.y, self.bottom());
        if blocks.is_empty() {
            return Ok((page, y));
        }
        let column = |n: usize| Column { page: page + n, x, top: if n == 0 { y } else { TOP }, bottom, width };
        let placed = Flow::new(self.fonts, &blocks).place(&column)?;
        let end = placed.last().map_or((page, y), |p| (p.column.page, p.y + p.height));
        self.things.push(Thing::Text(blocks, placed));
        Ok(end)
    }

    /// Two parts side by side, the left one with this share of the width; one alone over the whole width; an empty one not at all.
    fn beside(&mut self, parts: &[Part; 2], left: f64) -> Result<(), PressError> {
        let said: Vec<&Part> = parts.iter().filter(|p| !(p.paragraphs.is_empty() && p.items.is_empty())).collect();
        if said.is_empty() {
            return Ok(());
        }
        let whole = self.whole() - GAP;
        let columns = match said.len() {
            1 => [[MARGIN, self.whole()]; 2],
            _ => [[MARGIN, whole * left], [MARGIN + whole * left + GAP, whole * (1.0 - left)]],
        };
        self.together(&|s| {
            let mut end = (s.page, s.y);
            for (part, column) in said.iter().zip(columns) {
                let blocks = s.part(part);
                let below = s.set(blocks, column)?;
                if below.0 > end.0 || (below.0 == end.0 && below.1 > end.1) {
                    end = below;
                }
            }
            (s.page, s.y) = end;
            Ok(())
        })
    }

    /// Parts one after another in two columns that are about equally full on the last page.
    fn flowing(&mut self, parts: &[Part]) -> Result<(), PressError> {
        let blocks: Vec<Block> = parts.iter().flat_map(|p| self.part(p)).collect();
        if blocks.is_empty() {
            return Ok(());
        }
        self.gap();
        let (page, y, bottom) = (self.page, self.y, self.bottom());
        let wide = (self.whole() - GAP) / 2.0;
        let column = |n: usize, cut: Option<(usize, f64)>| {
            let here = page + n / 2;
            let bottom = cut.filter(|c| c.0 == here).map_or(bottom, |c| c.1);
            let x = if n.is_multiple_of(2) { MARGIN } else { MARGIN + wide + GAP };
            Column { page: here, x, top: if here == page { y } else { TOP }, bottom, width: wide }
        };
        let mut flow = Flow::new(self.fonts, &blocks);
        let mut placed = flow.place(&|n| column(n, None))?;
        let last = placed.iter().map(|p| p.column.page).max().unwrap_or(page);
        let mut cut = if last == page { y } else { TOP } + 15.0;
        while cut < bottom {
            let tried = flow.place(&|n| column(n, Some((last, cut))))?;
            if tried.iter().all(|p| p.column.page <= last) {
                placed = tried;
                break;
            }
            cut += 2.0;
        }
        let low = placed.iter().filter(|p| p.column.page == last).map(|p| p.y + p.height).fold(TOP, f64::max);
        self.things.push(Thing::Text(blocks, placed));
        (self.page, self.y) = (last, low);
        Ok(())
    }

    /// What stays on one page, as long as a page can hold it.
    fn together(&mut self, lay: &dyn Fn(&mut Laying<'a>) -> Result<(), PressError>) -> Result<(), PressError> {
        self.gap();
        let (things, page, list) = (self.things.len(), self.page, self.list);
        let fresh = self.y <= TOP;
        lay(self)?;
        let over = self.page > page || self.y > self.bottom();
        if over && !fresh {
            self.things.truncate(things);
            (self.page, self.y, self.list) = (page + 1, TOP, list);
            lay(self)?;
        }
        Ok(())
    }

    /// The photographs with their captions below and how they were made beside; the verdict under them.
    fn pair(&mut self, pair: &Pair, verdict: &Verdict) -> Result<(), PressError> {
        self.column(vec![self.heading(&pair.title)], 2.0)?;
        let wide = self.setting.photograph;
        let (top, page) = (self.y, self.page);
        let mut low = top;
        for (n, photograph) in pair.photographs.iter().enumerate() {
            let x = MARGIN + n as f64 * (wide + GAP);
            let high = wide * f64::from(photograph.size[1]) / f64::from(photograph.size[0].max(1));
            self.things.push(Thing::Photograph(page, n, [x, top, wide, high]));
            self.y = top + high + 1.5;
            let caption = photograph.caption.iter().enumerate().map(|(i, t)| {
                let piece = if i == 0 { Piece::bold(t) } else { Piece::plain(t) };
                Block { above: 0.3, ..self.text(&[piece]) }
            });
            let caption = caption.collect();
            let end = self.set(caption, [x, wide])?;
            low = low.max(if end.0 == page { end.1 } else { self.bottom() + 1.0 });
            self.y = top;
        }
        let x = MARGIN + 2.0 * (wide + GAP);
        let beside = self.paper.mm()[0] - MARGIN - x;
        let how = pair.how.iter().map(|t| Block { above: 2.0 * self.setting.air, ..self.small(t) }).collect();
        let end = self.set(how, [x, beside])?;
        low = low.max(if end.0 == page { end.1 } else { self.bottom() + 1.0 });
        self.y = low + 2.5 * self.setting.air;
        self.column(vec![self.text(&[Piece::bold(verdict.sentence())])], 0.0)
    }
}

fn file(
    fonts: &Fonts,
    paper: Paper,
    report: &Report,
    named: &str,
    chart: &Picture,
    laid: &Laying<'_>,
) -> Result<Vec<u8>, PressError> {
    let mut document = said::document()?;
    let mut said = Said::default();
    // A later page may hold the end of what began on an earlier one: each thing is read where it began, in its order there.
    for number in 0..=laid.page {
        page(&mut document, paper.mm(), |sheet| {
            for thing in &laid.things {
                if let Thing::Text(blocks, placed) = thing {
                    grounds(sheet, blocks, placed, number);
                }
            }
            for thing in &laid.things {
                match thing {
                    Thing::Text(blocks, placed) => {
                        for part in placed.iter().filter(|p| p.column.page == number) {
                            let block = &blocks[part.block];
                            if block.role == Role::Heading(1) {
                                title(sheet, fonts, &mut said, (block, part), (&report.title, named))?;
                            } else {
                                said.block(sheet, fonts, block, part, number)?;
                            }
                        }
                        said.end_list();
                    }
                    Thing::Chart(at, place) if *at == number => {
                        let [x, y, w, _] = *place;
                        let drawn = sheet.figure(|sheet| sheet.picture(&fonts.regular, chart, [x, y, w]))?;
                        said.nodes.push(figure(drawn, &report.chart.described, *place, number));
                    }
                    Thing::Photograph(at, n, place) if *at == number => {
                        let Some(photograph) = report.pair.as_ref().map(|p| &p.photographs[*n]) else { continue };
                        let drawn = sheet.figure(|sheet| sheet.photograph(&photograph.jpeg, *place))?;
                        said.nodes.push(figure(drawn, &photograph.described, *place, number));
                    }
                    _ => {}
                }
            }
            foot(sheet, fonts, paper, [&report.page, &report.goes_on], [number, laid.page + 1])
        })?;
    }
    said.file(document, named, &report.language, CREATOR)
}

/// The title, whose bookmark has every letter of it.
fn title(
    sheet: &mut crate::sheet::Sheet<'_>,
    fonts: &Fonts,
    said: &mut Said,
    (block, part): (&Block, &Placed),
    (shown, named): (&str, &str),
) -> Result<(), PressError> {
    let mut group = TagGroup::new(tag(1, shown));
    said.headings.push((named.to_owned(), 0, [MARGIN, part.y - 4.0]));
    for (_, line, top) in crate::flow::tops(block, part) {
        write(sheet, fonts, line, block.points, [part.column.x, top], INK).into_iter().for_each(|n| group.push(n));
    }
    said.nodes.push(Node::Group(group));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHART: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 800 340\"><rect x=\"100\" y=\"40\" width=\"600\" \
                         height=\"80\" fill=\"#dde2e4\"/><text x=\"90\" y=\"60\" text-anchor=\"end\" font-size=\"13\">8</text></svg>";

    fn jpeg(blue: u8) -> Vec<u8> {
        let picture = image::RgbImage::from_fn(36, 48, |x, y| image::Rgb([5 * x as u8, 5 * y as u8, blue]));
        let mut out = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut out, image::ImageFormat::Jpeg).expect("a file");
        out.into_inner()
    }

    fn part(title: &str, items: usize) -> Part {
        let item = |n: usize| vec![Piece::bold(format!("Item {n}:")), Piece::plain("word ".repeat(18))];
        Part {
            title: title.to_owned(),
            paragraphs: vec![vec![Piece::plain("word ".repeat(20))]],
            items: (0..items).map(item).collect(),
        }
    }

    fn some(items: usize, photographs: bool) -> Report {
        let verdict = Verdict::new("Nothing has changed beyond the noise.").expect("a verdict");
        let photograph = |name: &str| Photograph {
            jpeg: jpeg(name.as_bytes()[0]),
            size: [36, 48],
            described: format!("The {name} photograph, of somebody who is invented."),
            caption: vec![format!("{name}: day 1"), "In window light.".to_owned()],
        };
        Report {
            language: "en".to_owned(),
            title: "Report: Somebody".to_owned(),
            lead: vec!["28 days.".to_owned()],
            first: [part("Asked", 5), part("Felt", 4)],
            chart: Chart {
                title: "The run".to_owned(),
                svg: CHART.to_owned(),
                described: "A chart of something over some days.".to_owned(),
                caption: vec!["Each dot is a visit.".to_owned()],
            },
            beneath: [part("Sessions", 0), part("Incidents", items)],
            verdict_title: "The verdict".to_owned(),
            pair: photographs.then(|| Pair {
                title: "First and latest".to_owned(),
                photographs: [photograph("First"), photograph("Latest")],
                how: vec!["Chosen by rule.".to_owned()],
            }),
            after: vec![part("Known", 4), part("Cannot be said", 6), part("Who", 0)],
            page: "Page {n} of {all}".to_owned(),
            goes_on: "Goes on: page {n}".to_owned(),
            ..Report::new(verdict)
        }
    }

    #[test]
    fn a_verdict_says_something() {
        assert_eq!(Verdict::new(" \n"), None);
        assert_eq!(
            Verdict::new("It is too early.").map(|v| v.sentence().to_owned()),
            Some("It is too early.".to_owned())
        );
    }

    #[test]
    fn one_or_two_pages_unless_there_is_much_to_tell() {
        for paper in Paper::ALL {
            for (items, photographs, most) in [(0, false, 2), (3, true, 2), (12, true, 3), (120, true, 12)] {
                let made = report(paper, &some(items, photographs)).expect("a report");
                assert!(made.points >= 8.5 && made.pages <= most, "{items} items: {} pages", made.pages);
                let pictures = made.pdf.windows(14).filter(|w| *w == b"/Subtype/Image").count();
                assert_eq!(pictures, if photographs { 2 } else { 0 });
            }
        }
        assert!(report(Paper::A4, &some(120, false)).expect("a report").pages > 2, "nothing is left out");
    }

    #[test]
    fn what_cannot_be_drawn_or_read_is_refused() {
        let refused = |change: fn(&mut Report)| {
            let mut given = some(1, true);
            change(&mut given);
            report(Paper::A4, &given).map_or_else(|e| e.to_string(), |made| format!("{:?}", made.missing))
        };
        assert!(refused(|r| r.chart.described.clear()).contains("MissingAltText"), "a chart without words");
        assert!(refused(|r| r.chart.svg = CHART.replace("rect", "image")).contains("<image>"), "an unknown element");
        let cut = refused(|r| r.pair.iter_mut().for_each(|p| p.photographs[1].jpeg.truncate(9)));
        assert!(cut.contains("a photograph"), "a file that is cut: {cut}");
        let words = refused(|r| r.pair.iter_mut().for_each(|p| p.photographs[0].described.clear()));
        assert!(words.contains("MissingAltText"), "a photograph without words: {words}");
        assert_eq!(refused(|r| r.title = "Report: 漢".to_owned()), "['漢']");
    }
}
