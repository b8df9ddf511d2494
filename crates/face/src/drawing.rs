//! Where every zone, point and line lies on the drawings: the reader of `data/atlas/drawing.toml`.
//!
//! The file gives the person's own left only, in the front frame at x > 0 and in the back frame at x < 0; the right is
//! its mirror. A midline place lies at x = 0; its outline gives the left half, from midline to midline.
//!
//! - `[[zone]]` `id`, `view`, `midline` (optional), `at` (where its mark stands), `outline`, `way` (how a stroke runs
//!   there, toward the next zone of the main way), `source`.
//! - `[[point]]` `id`, `view`, `at`, `source`.
//! - `[[line]]` `id`, `view`, `midline` (optional), `path` (in the line's direction; several strips are parted by ` / `),
//!   `source`.

use std::collections::BTreeMap;

use vocab::read::{Document, Table};
use vocab::{Finding, Side};

use crate::{Spot, read_knots};

static BUILT_IN: &str = include_str!("../../../data/atlas/drawing.toml");

/// Which drawing shows a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum View {
    /// The face from in front.
    Face,
    /// Neck, chest and shoulders from in front; the same frame as the face.
    Torso,
    /// Head, neck and shoulders from behind.
    Back,
}

impl View {
    /// Whether the view is of the front frame.
    pub fn front(self) -> bool {
        self != View::Back
    }
}

/// A zone on a drawing, the person's own left or the midline.
#[derive(Clone, Debug, PartialEq)]
pub struct ZonePlace {
    /// The drawing that shows it.
    pub view: View,
    /// Whether it exists once.
    pub midline: bool,
    /// Where its mark stands.
    pub at: Spot,
    /// Its closed outline; for a midline zone both halves.
    pub outline: Vec<Spot>,
    /// How a stroke runs there, toward the next zone of the main way.
    pub way: Vec<Spot>,
}

/// A point on a drawing, the person's own left or the midline.
#[derive(Clone, Debug, PartialEq)]
pub struct PointPlace {
    /// The drawing that shows it.
    pub view: View,
    /// Where it lies.
    pub at: Spot,
}

/// A line on a drawing, the person's own left or along the midline.
#[derive(Clone, Debug, PartialEq)]
pub struct LinePlace {
    /// The drawing that shows it.
    pub view: View,
    /// Whether it exists once.
    pub midline: bool,
    /// Its strips, each with its knots in the line's direction.
    pub strips: Vec<Vec<Spot>>,
}

/// A target as one side of the drawing shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// The drawing.
    pub view: View,
    /// Where its mark stands.
    pub at: Spot,
    /// Whether it exists once.
    pub midline: bool,
    /// The closed outline of a zone; empty for points and lines.
    pub outline: Vec<Spot>,
    /// The way of a stroke (two, mirrored, in a midline zone), or the strips of a line; empty for points.
    pub ways: Vec<Vec<Spot>>,
    /// Whether `ways` is a drawn line rather than a stroke through a zone.
    pub line: bool,
}

/// The places of all targets.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Zones by id.
    pub zones: BTreeMap<String, ZonePlace>,
    /// Points by code.
    pub points: BTreeMap<String, PointPlace>,
    /// Lines by id.
    pub lines: BTreeMap<String, LinePlace>,
}

impl Drawing {
    /// The places of the built-in atlas; a test holds that they load.
    pub fn built_in() -> Drawing {
        Drawing::load("drawing.toml", BUILT_IN).unwrap_or_default()
    }

    /// Reads a drawing file. `file` is the name used in findings.
    ///
    /// # Errors
    /// Everything that is wrong with the file, each with its line.
    pub fn load(file: &str, text: &str) -> Result<Drawing, Vec<Finding>> {
        let document = Document::parse(file, text)?;
        let mut drawing = Drawing::default();
        let root = document.root();
        for table in root.tables("zone") {
            let row = Row::open(table, "zone");
            if let Some(zone) = row.zone() {
                row.keep(&mut drawing.zones, zone);
            }
            row.close();
        }
        for table in root.tables("point") {
            let row = Row::open(table, "point");
            if let (Some(view), Some(at)) = (row.view(), row.spot("at")) {
                row.check_side(view, &[at]);
                row.keep(&mut drawing.points, PointPlace { view, at });
            }
            row.close();
        }
        for table in root.tables("line") {
            let row = Row::open(table, "line");
            let midline = row.table.flag("midline").unwrap_or(false);
            let strips = row.strips();
            if let Some(view) = row.view() {
                if !midline {
                    row.check_side(view, &strips.concat());
                }
                row.keep(&mut drawing.lines, LinePlace { view, midline, strips });
            }
            row.close();
        }
        root.finish();
        let findings = document.into_findings();
        if findings.is_empty() { Ok(drawing) } else { Err(findings) }
    }

    /// Lays another drawing over this one: a known id is replaced, a new id is added.
    pub fn extend(&mut self, over: Drawing) {
        self.zones.extend(over.zones);
        self.points.extend(over.points);
        self.lines.extend(over.lines);
    }

    /// The ids among `targets` that have no place.
    pub fn missing<'a>(&self, targets: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
        targets.into_iter().filter(|id| self.see(id, Side::Left).is_none()).collect()
    }

    /// Where a target lies on one side; a midline place answers alike for every side, and [`Side::Both`] and
    /// [`Side::Midline`] answer for the left. `None` if the target is not drawn.
    pub fn see(&self, target: &str, side: Side) -> Option<Seen> {
        let seen = if let Some(zone) = self.zones.get(target) {
            let ZonePlace { view, midline, at, outline, way } = zone.clone();
            let mut ways = vec![way];
            if midline && ways[0].iter().any(|s| s.x.abs() > 1e-9) {
                ways.push(ways[0].iter().map(|s| s.mirrored()).collect());
            }
            Seen { view, at, midline, outline, ways, line: false }
        } else if let Some(point) = self.points.get(target) {
            let midline = point.at.x.abs() < 1e-9;
            Seen { view: point.view, at: point.at, midline, outline: vec![], ways: vec![], line: false }
        } else {
            let LinePlace { view, midline, strips } = self.lines.get(target)?.clone();
            let middle = strips.get(strips.len() / 2)?;
            let at = middle.get(middle.len() / 2).copied()?;
            Seen { view, at, midline, outline: vec![], ways: strips, line: true }
        };
        Some(if side == Side::Right && !seen.midline { seen.mirrored() } else { seen })
    }
}

impl Seen {
    /// The same target on the other side.
    pub fn mirrored(mut self) -> Seen {
        self.at = self.at.mirrored();
        for spot in self.outline.iter_mut().chain(self.ways.iter_mut().flatten()) {
            *spot = spot.mirrored();
        }
        self
    }
}

/// One row of the file while it is read.
struct Row<'d, 't> {
    table: Table<'d, 't>,
    id: String,
}

impl<'d, 't> Row<'d, 't> {
    fn open(table: Table<'d, 't>, kind: &str) -> Self {
        let id = table.need_text("id").text;
        let table = table.named(&format!("{kind} `{id}`"));
        table.need_text("source");
        Row { table, id }
    }

    fn close(self) {
        self.table.finish();
    }

    fn keep<T>(&self, map: &mut BTreeMap<String, T>, value: T) {
        if map.insert(self.id.clone(), value).is_some() {
            self.table.note(format!("`{}` is placed twice; keep one", self.id));
        }
    }

    fn view(&self) -> Option<View> {
        self.table.need_choice("view", &[("face", View::Face), ("torso", View::Torso), ("back", View::Back)])
    }

    fn knots(&self, key: &str, least: usize) -> Vec<Spot> {
        let word = self.table.need_text(key);
        if word.text.trim().is_empty() {
            return Vec::new();
        }
        match read_knots(&word.text) {
            Ok(spots) if spots.len() >= least => spots,
            Ok(spots) => {
                let message = format!("{}: `{key}` has {} places but needs {least} or more", self.id, spots.len());
                self.table.document().note(word.line, message);
                Vec::new()
            }
            Err(why) => {
                self.table.document().note(word.line, format!("{}: `{key}`: {why}", self.id));
                Vec::new()
            }
        }
    }

    fn strips(&self) -> Vec<Vec<Spot>> {
        let word = self.table.need_text("path");
        let mut strips = Vec::new();
        for piece in word.text.split('/').filter(|_| !word.text.trim().is_empty()) {
            match read_knots(piece) {
                Ok(spots) if spots.len() >= 2 => strips.push(spots),
                Ok(_) => self
                    .table
                    .document()
                    .note(word.line, format!("{}: a strip of `path` needs two places or more", self.id)),
                Err(why) => self.table.document().note(word.line, format!("{}: `path`: {why}", self.id)),
            }
        }
        strips
    }

    fn spot(&self, key: &str) -> Option<Spot> {
        self.knots(key, 1).first().copied()
    }

    /// The file gives the person's own left: x > 0 in front, x < 0 behind; the midline belongs to both.
    fn check_side(&self, view: View, spots: &[Spot]) {
        let sign = if view.front() { 1.0 } else { -1.0 };
        let sum: f64 = spots.iter().map(|s| s.x * sign).sum();
        if sum < -1e-9 {
            let side = if view.front() { "x > 0" } else { "x < 0" };
            self.table.note(format!("`{}` lies on the person's right; give their own left ({side})", self.id));
        }
    }

    fn zone(&self) -> Option<ZonePlace> {
        let midline = self.table.flag("midline").unwrap_or(false);
        let (view, at) = (self.view(), self.spot("at"));
        let (mut outline, way) = (self.knots("outline", 3), self.knots("way", 2));
        let (view, at) = (view?, at?);
        self.check_side(view, &outline);
        if midline {
            if at.x.abs() > 1e-9 {
                self.table.note(format!("`{}` is a midline zone: its mark must stand at x = 0", self.id));
            }
            let half = outline.clone();
            outline.extend(half.iter().rev().filter(|s| s.x.abs() > 1e-9).map(|s| s.mirrored()));
        }
        Some(ZonePlace { view, midline, at, outline, way })
    }
}
