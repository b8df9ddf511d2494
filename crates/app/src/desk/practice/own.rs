//! The practice's own points, lines, techniques, tools and products: rows in words, kept as TOML, merged over the atlas.
//!
//! What is own can never lift a rule. Its id is ours to give, so it replaces no row that ships with the program; a point lies in the zone
//! that it names; and a technique or a tool says which known one it is like, and every rule that names that one names it too.

use std::collections::BTreeMap;

use cabinet::{Error, Reader, Toml};
use face::{Drawing, Places, Spot, drawn_head};
use plan::atlas::{Atlas, TechniqueIx, ToolIx};
use vocab::read::{Document, Table};
use vocab::{Pressure, Side, Sides};

use super::super::Desk;
use super::own_form::{Kind, specs};
use crate::catalogue::{fill, text};
use crate::own::{set_places, without_own};

/// The atlas as the desk was started, and the files it was read from: what is there while the practice is locked.
pub struct Base {
    /// The atlas.
    pub atlas: Atlas,
    /// Name and text of each further file, in their order.
    pub files: Vec<(String, String)>,
}

/// A part of the own atlas.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Points,
    Lines,
    Techniques,
    Tools,
    Products,
}

impl Part {
    /// All of them, in the order in which they merge.
    pub const ALL: [Part; 5] = [Part::Tools, Part::Techniques, Part::Points, Part::Lines, Part::Products];

    /// Its name in the store and in an address.
    pub fn word(self) -> &'static str {
        match self {
            Part::Points => "points",
            Part::Lines => "lines",
            Part::Techniques => "techniques",
            Part::Tools => "tools",
            Part::Products => "products",
        }
    }

    /// The part of this name.
    pub fn from_word(word: &str) -> Option<Part> {
        Part::ALL.into_iter().find(|part| part.word() == word)
    }

    /// The name of its tables.
    fn table(self) -> &'static str {
        self.word().trim_end_matches('s')
    }
}

/// A row: its id, and what each field holds, as it was typed. A list has several values.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    pub id: String,
    pub values: BTreeMap<&'static str, Vec<String>>,
}

impl Row {
    /// The first value of a field; empty where there is none.
    pub fn one(&self, key: &str) -> &str {
        self.values.get(key).and_then(|v| v.first()).map_or("", String::as_str)
    }

    /// All values of a field.
    pub fn all(&self, key: &str) -> &[String] {
        self.values.get(key).map_or(&[], Vec::as_slice)
    }
}

/// What is wrong with a row, at a field of it; without one, with the row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    pub part: Part,
    pub id: String,
    pub key: Option<&'static str>,
    pub said: String,
}

/// Every part's rows.
pub type Rows = Vec<(Part, Vec<Row>)>;

/// The rows of one part.
pub fn of(rows: &Rows, part: Part) -> &[Row] {
    rows.iter().find(|(p, _)| *p == part).map_or(&[], |(_, rows)| rows)
}

/// The rows as they are kept.
///
/// # Errors
/// Of the store.
pub fn kept(r: &Reader<'_>) -> Result<Rows, Error> {
    let parts = r.atlas()?;
    let body = |part: Part| parts.iter().find(|p| p.name == part.word()).map_or("", |p| p.body.as_str());
    Ok(Part::ALL.into_iter().map(|part| (part, read(part, body(part)))).collect())
}

/// The rows of a part's text, as [`write`] writes it.
pub fn read(part: Part, body: &str) -> Vec<Row> {
    let Ok(document) = Document::parse(part.word(), body) else { return Vec::new() };
    let root = document.root();
    let (likes, places) = (root.tables("like"), root.tables("place"));
    let id_of = |t: &Table<'_, '_>| t.text("id").map(|w| w.text).unwrap_or_default();
    let mut rows = Vec::new();
    for table in root.tables(part.table()) {
        let mut row = Row { id: id_of(&table), values: BTreeMap::new() };
        for spec in specs(part) {
            let from = match spec.key {
                "like" => likes.iter().find(|t| id_of(t) == row.id),
                "rule_across" | "rule_up" => places.iter().find(|t| id_of(t) == row.id),
                "mm_across" | "mm_up" => None,
                _ => Some(&table),
            };
            let Some(from) = from else { continue };
            let key = spec.key.strip_prefix("rule_").unwrap_or(spec.key);
            let found = match spec.kind {
                Kind::Several(..) | Kind::Lines => from.words(key).into_iter().map(|w| w.text).collect(),
                Kind::Whole(least, most) => from.int(key, least..=most).map(|n| n.to_string()).into_iter().collect(),
                Kind::Flag => from.flag(key).filter(|f| *f).map(|_| "yes".to_owned()).into_iter().collect(),
                _ => from.text(key).map(|w| w.text).into_iter().collect::<Vec<_>>(),
            };
            if !found.is_empty() {
                row.values.insert(spec.key, found);
            }
        }
        let tapped = places.iter().find(|t| id_of(t) == row.id).and_then(|t| t.text("tapped"));
        if let Some((x, y)) = tapped.as_ref().and_then(|w| w.text.split_once(',')) {
            let number = |s: &str| s.trim().parse::<f64>().unwrap_or(0.0);
            row.values.insert("mm_across", vec![tenth(10.0 * number(x))]);
            row.values.insert("mm_up", vec![tenth(10.0 * number(y) - pupils())]);
        }
        if part == Part::Points || part == Part::Lines {
            row.values.insert("rank", vec![table.int("rank", 0..=10_000).unwrap_or(900).to_string()]);
        }
        rows.push(row);
    }
    rows
}

/// The height of the line of the pupils on the drawn face, in millimetres above its origin.
pub fn pupils() -> f64 {
    drawn_head().pupil(Side::Left)[1]
}

fn tenth(mm: f64) -> String {
    let rounded = (mm * 10.0).round() / 10.0;
    // No minus before nought.
    format!("{}", rounded + 0.0)
}

/// A number as people type it, with a point or a comma.
fn decimal(typed: &str) -> Option<f64> {
    typed.replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite() && n.abs() < 1000.0)
}

/// A part as text, and which row and field each line holds.
#[derive(Default)]
struct Written {
    text: String,
    lines: Vec<(usize, Option<&'static str>)>,
}

impl Written {
    fn line(&mut self, row: usize, key: Option<&'static str>, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
        self.lines.push((row, key));
    }
}

/// A text as TOML has it, on one line.
fn quoted(text: &str) -> String {
    let mut out = String::from('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", c as u32)),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn listed(values: &[String]) -> String {
    format!("[{}]", values.iter().map(|v| quoted(v)).collect::<Vec<_>>().join(", "))
}

/// Writes the rows of a part. `atlas`: only what the atlas reads of it.
fn write(part: Part, rows: &[Row], known: &Atlas, atlas: bool) -> Written {
    let mut out = Written::default();
    for (i, row) in rows.iter().enumerate() {
        out.line(i, None, &format!("[[{}]]", part.table()));
        out.line(i, None, &format!("id = {}", quoted(&row.id)));
        for spec in specs(part) {
            let beside = ["like", "rule_across", "rule_up", "mm_across", "mm_up"].contains(&spec.key);
            let values = row.all(spec.key);
            if beside || (values.is_empty() && !matches!(spec.kind, Kind::Several(..))) {
                continue;
            }
            let value = match spec.kind {
                Kind::Several(..) | Kind::Lines => listed(values),
                Kind::Whole(..) => values[0].clone(),
                Kind::Flag => "true".to_owned(),
                _ => quoted(&values[0]),
            };
            out.line(i, Some(spec.key), &format!("{} = {value}", spec.key));
        }
        match part {
            Part::Points | Part::Lines => {
                let shown = if place(row).is_some() { "photo" } else { "sketch" };
                out.line(i, Some("name"), &format!("rank = {}", row.one("rank")));
                out.line(i, Some("name"), &format!("shown = \"{shown}\""));
            }
            Part::Techniques => {
                // With oil or without, as what it is like: rules that speak of oil must find it.
                let glides = known.technique_named(row.one("like")).is_some_and(|t| known.technique(t).glides);
                out.line(i, Some("like"), &format!("glides = {glides}"));
            }
            _ => {}
        }
        if part == Part::Points
            && let Some(place) = place(row)
        {
            out.line(i, Some("mm_across"), "[[place]]");
            out.line(i, Some("mm_across"), &format!("id = {}", quoted(&row.id)));
            for (key, value) in place {
                let field = if key == "up" {
                    "rule_up"
                } else if key == "across" {
                    "rule_across"
                } else {
                    "mm_across"
                };
                out.line(i, Some(field), &format!("{key} = {}", quoted(&value)));
            }
            out.line(i, Some("mm_across"), "source = \"own\"");
        }
        if !atlas && !row.one("like").is_empty() {
            out.line(i, Some("like"), "[[like]]");
            out.line(i, Some("like"), &format!("id = {}\nlike = {}", quoted(&row.id), quoted(row.one("like"))));
        }
    }
    out
}

/// The place of a point as its rows have it.
fn place(row: &Row) -> Option<Vec<(&'static str, String)>> {
    let rule = (row.one("rule_across"), row.one("rule_up"));
    if !rule.0.is_empty() || !rule.1.is_empty() {
        return Some(vec![("across", rule.0.to_owned()), ("up", rule.1.to_owned())]);
    }
    let (x, y) = (decimal(row.one("mm_across"))?, decimal(row.one("mm_up"))?);
    Some(vec![("tapped", format!("{:.3},{:.3}", x / 10.0, (y + pupils()) / 10.0))])
}

/// A part as it is kept.
///
/// # Errors
/// It is too long for the store.
pub fn body(part: Part, rows: &[Row], known: &Atlas) -> Result<Toml, Error> {
    Toml::new(&write(part, rows, known, false).text)
}

/// The atlas with the own rows merged over it, and their places.
///
/// # Errors
/// Everything that is wrong, each at its field.
pub fn merged(base: &Base, rows: &Rows) -> Result<(Atlas, Places), Vec<Wrong>> {
    let mut wrong = Vec::new();
    for (part, rows) in rows {
        wrong.extend(rows.iter().flat_map(|row| typed_wrong(*part, row)));
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let own: Vec<(Part, Written)> = rows
        .iter()
        .filter(|(part, rows)| *part != Part::Products && !rows.is_empty())
        .map(|(part, rows)| (*part, write(*part, rows, &base.atlas, true)))
        .collect();
    let files: Vec<(&str, &str)> = (Atlas::built_in_files().iter().copied())
        .chain(base.files.iter().map(|(n, t)| (n.as_str(), t.as_str())))
        .chain(own.iter().map(|(part, w)| (part.word(), w.text.as_str())))
        .collect();
    let at = |finding: &vocab::Finding| {
        let found = own.iter().find(|(part, _)| part.word() == finding.file);
        let (part, written) = found?;
        let (row, key) = written.lines.get(finding.line.saturating_sub(1)).copied()?;
        let id = of(rows, *part).get(row)?.id.clone();
        // The reader of places names the field in its words, not by its line.
        let rules = [("`across`: ", "rule_across"), ("`up`: ", "rule_up")];
        let ruled = rules.iter().find(|(begins, _)| finding.message.starts_with(begins));
        if let Some((begins, key)) = ruled {
            let said = finding.message.trim_start_matches(begins).to_owned();
            return Some(Wrong { part: *part, id, key: Some(key), said });
        }
        let said = in_words(&finding.message, &id, &base.atlas, rows);
        Some(Wrong { part: *part, id, key, said })
    };
    let elsewhere =
        |f: &vocab::Finding| Wrong { part: Part::Points, id: String::new(), key: None, said: f.to_string() };
    let all = |findings: Vec<vocab::Finding>| {
        findings.iter().map(|f| at(f).unwrap_or_else(|| elsewhere(f))).collect::<Vec<_>>()
    };
    let mut atlas = Atlas::load(&files).map_err(all)?;
    let mut places = Places::default();
    for (part, written) in own.iter().filter(|(part, _)| *part == Part::Points) {
        places.extend(Places::among(part.word(), &written.text).map_err(all)?);
    }
    let misplaced = misplaced(&atlas, &places, of(rows, Part::Points));
    if !misplaced.is_empty() {
        return Err(misplaced);
    }
    carry_rules(&mut atlas, rows);
    Ok((atlas, places))
}

/// A message of the atlas' reader, for a person: names instead of ids, and not whose row it is, since it stands there.
fn in_words(message: &str, id: &str, atlas: &Atlas, rows: &Rows) -> String {
    let tables = ["point", "line", "technique", "tool"];
    let begins = tables.iter().find_map(|t| message.strip_prefix(&format!("{t} `{id}`")));
    let message = begins.map_or(message, |rest| rest.trim_start_matches([':', ',', ' ']));
    let name = |id: &str| {
        let own = rows.iter().flat_map(|(_, rows)| rows).find(|row| row.id == id).map(|row| row.one("name"));
        let zone = || atlas.zone_named(id).map(|z| atlas.zone(z).name.as_str());
        let technique = || atlas.technique_named(id).map(|t| atlas.technique(t).name.as_str());
        let tool = || atlas.tool_named(id).map(|t| atlas.tool(t).name.as_str());
        own.or_else(zone).or_else(technique).or_else(tool).map(|name| format!("“{name}”"))
    };
    let parts = message.split('`').enumerate();
    parts
        .map(|(i, part)| if i % 2 == 1 { name(part).unwrap_or_else(|| part.to_owned()) } else { part.to_owned() })
        .collect()
}

/// What was typed wrong before any of it is read as a row.
fn typed_wrong(part: Part, row: &Row) -> Vec<Wrong> {
    let mut wrong = Vec::new();
    let mut say =
        |key: &'static str, said: String| wrong.push(Wrong { part, id: row.id.clone(), key: Some(key), said });
    for spec in specs(part) {
        let values = row.all(spec.key);
        if spec.needed && values.is_empty() {
            say(spec.key, text("ownmap.needed").to_owned());
        }
        match spec.kind {
            Kind::Whole(least, most)
                if !values.is_empty() && !values[0].parse::<i64>().is_ok_and(|n| (least..=most).contains(&n)) =>
            {
                say(spec.key, fill("ownmap.whole", &[("least", &least), ("most", &most)]));
            }
            Kind::Decimal if !values.is_empty() && decimal(&values[0]).is_none() => {
                say(spec.key, text("ownmap.decimal").to_owned())
            }
            Kind::Several(_, most) if values.len() > most => say(spec.key, fill("ownmap.at_most", &[("most", &most)])),
            _ => {}
        }
    }
    if part == Part::Points {
        let given = |a: &str, b: &str| (!row.one(a).is_empty(), !row.one(b).is_empty());
        for (pair, missing) in [
            (given("mm_across", "mm_up"), ["mm_across", "mm_up"]),
            (given("rule_across", "rule_up"), ["rule_across", "rule_up"]),
        ] {
            match pair {
                (true, false) => say(missing[1], text("ownmap.both").to_owned()),
                (false, true) => say(missing[0], text("ownmap.both").to_owned()),
                _ => {}
            }
        }
        if !row.one("mm_across").is_empty() && !row.one("rule_across").is_empty() {
            say("rule_across", text("ownmap.one_place").to_owned());
        }
    }
    wrong
}

/// A point that is placed must lie in the zone that it names, whose rules it follows: by the drawing, 5 mm beyond its edge at most.
fn misplaced(atlas: &Atlas, places: &Places, rows: &[Row]) -> Vec<Wrong> {
    let (ground, own, head) = (Drawing::built_in(), places.drawn(), drawn_head());
    let mut wrong = Vec::new();
    for row in rows.iter().filter(|row| places.rule(&row.id).is_some()) {
        let key = Some(if row.one("rule_across").is_empty() { "mm_across" } else { "rule_across" });
        let mut say = |key, said| wrong.push(Wrong { part: Part::Points, id: row.id.clone(), key, said });
        let (Some(_), Some(point)) = (places.find(&row.id, Side::Left, &head), own.points.get(&row.id)) else {
            say(key, text("ownmap.beside_face").to_owned());
            continue;
        };
        let midline = row.one("sides") == Sides::Midline.word();
        if midline && point.at.x.abs() > 0.15 {
            say(key, text("ownmap.not_midline").to_owned());
        }
        let near = |zone: &str| {
            [Side::Left, Side::Right, Side::Midline]
                .into_iter()
                .filter_map(|s| ground.see(zone, s))
                .filter(|seen| seen.view.front())
                .map(|seen| outside(point.at, &seen.outline))
                .fold(f64::INFINITY, f64::min)
        };
        if near(row.one("zone")) > 0.5 {
            let there = atlas.zones.iter().map(|z| (near(&z.id), z)).min_by(|a, b| a.0.total_cmp(&b.0));
            let name = there.filter(|(d, _)| *d <= 0.5).map_or("", |(_, z)| z.name.as_str());
            say(
                Some("zone"),
                if name.is_empty() {
                    text("ownmap.no_zone").to_owned()
                } else {
                    fill("ownmap.other_zone", &[("zone", &name)])
                },
            );
        }
    }
    wrong
}

/// How far a place is outside of an outline, in centimetres of the drawing; 0 inside.
fn outside(at: Spot, outline: &[Spot]) -> f64 {
    if outline.len() < 3 {
        return f64::INFINITY;
    }
    let pairs = || outline.iter().zip(outline.iter().cycle().skip(1));
    let crosses =
        pairs().filter(|(a, b)| (a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x));
    if crosses.count() % 2 == 1 {
        return 0.0;
    }
    let to_edge = |(a, b): (&Spot, &Spot)| {
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let along = (((at.x - a.x) * dx + (at.y - a.y) * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
        (at.x - a.x - along * dx).hypot(at.y - a.y - along * dy)
    };
    pairs().map(to_edge).fold(f64::INFINITY, f64::min)
}

/// Every rule that names what an own technique or tool is like names the own one too.
fn carry_rules(atlas: &mut Atlas, rows: &Rows) {
    let pairs = |part: Part| of(rows, part).iter().map(|row| (row.id.as_str(), row.one("like")));
    let tools: Vec<(ToolIx, ToolIx)> =
        pairs(Part::Tools).filter_map(|(own, like)| Some((atlas.tool_named(own)?, atlas.tool_named(like)?))).collect();
    let techniques: Vec<(TechniqueIx, TechniqueIx)> = pairs(Part::Techniques)
        .filter_map(|(own, like)| Some((atlas.technique_named(own)?, atlas.technique_named(like)?)))
        .collect();
    for rule in atlas.conditions.iter_mut().flat_map(|c| &mut c.rules) {
        for (own, like) in &tools {
            if rule.tools.contains(like) {
                rule.tools.push(*own);
            }
        }
        for (own, like) in &techniques {
            if rule.techniques.contains(like) {
                rule.techniques.push(*own);
            }
        }
    }
}

/// Reads what is kept and puts it in use.
///
/// # Errors
/// In words: why it is not in use. It stays kept.
pub fn put_in_use(desk: &Desk) -> Result<(), Vec<String>> {
    let rows = desk.keep.cabinet().read(kept).map_err(|e| vec![e.to_string()])?;
    let (atlas, places) = merged(&desk.practice.base, &rows).map_err(|wrong| {
        take_out_of_use(desk);
        wrong
            .into_iter()
            .map(|w| fill("ownmap.at", &[("part", &w.part.word()), ("id", &w.id), ("said", &w.said)]))
            .collect::<Vec<_>>()
    })?;
    desk.set_atlas(atlas);
    set_places(&places);
    Ok(())
}

/// The atlas as the desk was started.
pub fn take_out_of_use(desk: &Desk) {
    desk.set_atlas(desk.practice.base.atlas.clone());
    without_own();
}

/// An id that no row has, from a name.
pub fn id_for(name: &str, rows: &[Row]) -> String {
    let letters =
        name.to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '_' }).collect::<String>();
    let plain = letters.split('_').filter(|p| !p.is_empty()).take(6).collect::<Vec<_>>().join("_");
    let stem = if plain.is_empty() { "own".to_owned() } else { format!("own_{plain}") };
    let ids = (1_usize..).map(|n| if n == 1 { stem.clone() } else { format!("{stem}_{n}") });
    ids.into_iter().find(|id| rows.iter().all(|row| row.id != *id)).unwrap_or(stem)
}

/// The next place in the order of a zone.
pub fn next_rank(rows: &Rows) -> String {
    let ranks = rows.iter().flat_map(|(_, rows)| rows).filter_map(|row| row.one("rank").parse::<u32>().ok());
    (ranks.max().unwrap_or(899).max(899) + 1).to_string()
}

/// The words of a pressure, gentlest first.
pub fn pressures() -> Vec<(String, String)> {
    Pressure::ALL.iter().map(|p| (p.word().to_owned(), crate::tell::pressure(*p).to_owned())).collect()
}

#[cfg(test)]
#[path = "own_tests.rs"]
mod tests;
