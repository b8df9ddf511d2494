//! Where a point lies on one person's own face: the rules of `data/atlas/places.toml`, applied to a head.

mod error;
mod rule;

use std::collections::BTreeMap;

use vocab::read::Document;
use vocab::{Finding, Side};

pub use error::{LandmarkErrors, PointError, Spread};
pub use rule::{Rule, Term, What};

use crate::head::barycentric;
use crate::surface::triangles;
use crate::{Drawing, Head, Place, PointPlace, Spot, View, canonical};

static BUILT_IN: &str = include_str!("../../../../data/atlas/places.toml");

/// The breadth of a finger and its standard deviation, millimetres (common practice, no source: from memory of hand
/// breadths).
pub const FINGER_MM: (f64, f64) = (16.0, 1.5);
/// The breadth of a thumb and its standard deviation, millimetres (the same).
pub const FINGER_CUN_MM: (f64, f64) = (20.0, 2.0);

/// How a point is found on a head.
#[derive(Clone, Debug, PartialEq)]
pub enum PointRule {
    /// By measures of the face.
    Measured {
        /// Toward the side of the point.
        across: Rule,
        /// Upward.
        up: Rule,
    },
    /// By the place that was tapped on the drawn face: carried by the triangle that it lies in.
    Tapped(Spot),
}

/// The rules of all points that a photograph can show, by code.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places(BTreeMap<String, PointRule>);

impl Places {
    /// The built-in rules; a test holds that they load.
    pub fn built_in() -> Places {
        Places::load("places.toml", BUILT_IN).unwrap_or_default()
    }

    /// Reads a file of `[[place]]` rows: `id`, then `across` and `up`, or `tapped` (a place of the drawing as in
    /// `drawing.toml`); and `source`.
    ///
    /// # Errors
    /// Everything that is wrong with the file, each with its line.
    pub fn load(file: &str, text: &str) -> Result<Places, Vec<Finding>> {
        Places::read(file, text, true)
    }

    /// Reads the `[[place]]` rows of a file that holds other rows too, such as a practitioner's own points; those are left to
    /// their own readers.
    ///
    /// # Errors
    /// Everything that is wrong with these rows, each with its line.
    pub fn among(file: &str, text: &str) -> Result<Places, Vec<Finding>> {
        Places::read(file, text, false)
    }

    fn read(file: &str, text: &str, alone: bool) -> Result<Places, Vec<Finding>> {
        let document = Document::parse(file, text)?;
        let mut places = Places::default();
        let root = document.root();
        for table in root.tables("place") {
            let id = table.need_text("id").text;
            let table = table.named(&format!("place `{id}`"));
            table.need_text("source");
            if let Some(rule) = read(&table)
                && places.0.insert(id.clone(), rule).is_some()
            {
                table.note(format!("`{id}` is placed twice; keep one"));
            }
            table.finish();
        }
        if alone {
            root.finish();
        }
        let findings = document.into_findings();
        if findings.is_empty() { Ok(places) } else { Err(findings) }
    }

    /// Where each point lies on the drawn face, so that it can be drawn there too.
    pub fn drawn(&self) -> Drawing {
        let head = crate::drawn_head();
        let mut drawing = Drawing::default();
        for (code, rule) in &self.0 {
            let at = match rule {
                PointRule::Tapped(spot) => *spot,
                PointRule::Measured { .. } => {
                    let Some((at, _)) = self.find(code, Side::Left, &head) else { continue };
                    // The pupils of the drawn face and its midline are symmetrical to less than a tenth of a millimetre.
                    Spot::new(if at[0].abs() < 0.1 { 0.0 } else { at[0] / 10.0 }, at[1] / 10.0)
                }
            };
            drawing.points.insert(code.clone(), PointPlace { view: View::Face, at });
        }
        drawing
    }

    /// Lays other rules over these: a known code is replaced, a new one added.
    pub fn extend(&mut self, over: Places) {
        self.0.extend(over.0);
    }

    /// The codes, in order.
    pub fn codes(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }

    /// The rule of a point.
    pub fn rule(&self, code: &str) -> Option<&PointRule> {
        self.0.get(code)
    }

    /// Where a point lies on a head, on one side ([`Side::Midline`] and [`Side::Both`] answer as the left), and the
    /// outward normal of the skin there. None if the point has no rule.
    pub fn find(&self, code: &str, side: Side, head: &Head) -> Option<(Place, Place)> {
        let side = if side == Side::Right { Side::Right } else { Side::Left };
        let [x, y] = match self.0.get(code)? {
            PointRule::Measured { across, up } => {
                let x = across.across(head, side);
                [x, up.up(head, side, x)]
            }
            PointRule::Tapped(spot) => tapped(*spot, side, head)?,
        };
        Some(head.surface(x, y))
    }
}

fn read(table: &vocab::read::Table<'_, '_>) -> Option<PointRule> {
    let texts = |key: &str| table.text(key);
    let (across, up, spot) = (texts("across"), texts("up"), texts("tapped"));
    if let Some(word) = spot {
        if across.is_some() || up.is_some() {
            table.note("`tapped` says it all: leave `across` and `up` out".to_owned());
        }
        return match crate::read_knots(&word.text) {
            Ok(spots) if spots.len() == 1 => Some(PointRule::Tapped(spots[0])),
            Ok(_) => {
                table.note("`tapped` is one place".to_owned());
                None
            }
            Err(why) => {
                table.note(format!("`tapped`: {why}"));
                None
            }
        };
    }
    let (Some(across), Some(up)) = (across, up) else {
        table.note("needs `across` and `up`, or `tapped`".to_owned());
        return None;
    };
    let rule = |key: &str, text: &str, upward: bool| match Rule::parse(text, upward) {
        Ok(rule) => Some(rule),
        Err(why) => {
            table.note(format!("`{key}`: {why}"));
            None
        }
    };
    let (across, up) = (rule("across", &across.text, false), rule("up", &up.text, true));
    Some(PointRule::Measured { across: across?, up: up? })
}

/// A place of the drawing (own left at x > 0) on a head, by the triangle it lies in; off the face there is none.
fn tapped(spot: Spot, side: Side, head: &Head) -> Option<[f64; 2]> {
    let (corners, weights) = triangle_at(spot)?;
    let at = corners.map(|n| head.point(n, side));
    Some(std::array::from_fn(|k| (0..3).map(|i| weights[i] * at[i][k]).sum()))
}

/// The foremost triangle of the canonical face at a place of the drawing, and the weights of its corners.
pub(crate) fn triangle_at(spot: Spot) -> Option<([usize; 3], [f64; 3])> {
    let surface = canonical();
    let mut best: Option<(f64, [usize; 3], [f64; 3])> = None;
    for corners in triangles() {
        let at = corners.map(|n| surface[n]);
        let Some(weights) = barycentric(at.map(|v| [v[0], v[1]]), [spot.x, spot.y]) else { continue };
        let z = (0..3).map(|i| weights[i] * at[i][2]).sum::<f64>();
        if best.is_none_or(|(known, ..)| z > known) {
            best = Some((z, *corners, weights));
        }
    }
    best.map(|(_, corners, weights)| (corners, weights))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Hairline, IRIS_LEFT, IRIS_RIGHT};

    fn drawn() -> Head {
        let mut points: Vec<Place> = canonical().iter().map(|v| v.map(|c| c * 10.0)).collect();
        points.resize(crate::LANDMARKS, [0.0; 3]);
        points[IRIS_LEFT] = [31.8, 26.3, 38.0];
        points[IRIS_RIGHT] = [-31.8, 26.3, 38.0];
        Head::new(points, Hairline::level(91.0, 63.6))
    }

    #[test]
    fn the_rules_load_and_agree_with_the_drawing() {
        let places = Places::load("places.toml", BUILT_IN).expect("rules");
        assert_eq!(places.0.len(), 25);
        let (head, drawing) = (drawn(), Drawing::built_in());
        for code in places.codes() {
            let (at, normal) = places.find(code, Side::Left, &head).expect("placed");
            let seen = drawing.see(code, Side::Left).expect("drawn").at;
            let apart = Spot::new(at[0] / 10.0, at[1] / 10.0).to(seen);
            // The drawing's hairline is drawn lower at the corner than the plain arch of this test.
            assert!(apart < if code == "ST8" { 1.2 } else { 0.55 }, "{code}: {at:?} against {seen:?}");
            assert!(normal[2] > 0.0, "{code}");
            let (right, _) = places.find(code, Side::Right, &head).expect("placed");
            let midline = seen.x.abs() < 1e-9;
            assert!((right[0] + at[0]).abs() < 1e-6 || midline, "{code} mirrors: {at:?} {right:?}");
        }
    }

    #[test]
    fn a_tap_lands_where_it_was_made() {
        let places =
            Places::load("own.toml", "[[place]]\nid = \"own\"\ntapped = \"3.0,-3.0\"\nsource = \"own\"").expect("one");
        let (at, _) = places.find("own", Side::Left, &drawn()).expect("on the face");
        assert!((at[0] - 30.0).abs() < 1e-6 && (at[1] + 30.0).abs() < 1e-6, "{at:?}");
    }

    #[test]
    fn wrong_rules_say_what_is_wrong() {
        for (row, says) in [
            ("across = \"pupil\"", "needs `across` and `up`"),
            ("across = \"v999\"\nup = \"v1\"", "v0 to v467"),
            ("across = \"brow\"\nup = \"v1\"", "only upward"),
            ("across = \"v1 + x cun\"\nup = \"v1\"", "`x cun`"),
            ("across = \"0.5 v1\"\nup = \"v1\"", "add up to 1"),
            ("tapped = \"1,2 3,4\"", "one place"),
        ] {
            let text = format!("[[place]]\nid = \"own\"\n{row}\nsource = \"s\"");
            let findings = Places::load("own.toml", &text).expect_err(row);
            assert!(findings.iter().any(|f| f.to_string().contains(says)), "{row}: {findings:?}");
        }
    }
}
