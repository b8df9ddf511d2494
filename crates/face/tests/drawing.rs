//! The drawing file: everything of the atlas has a place, and what is wrong is told with its line.

use face::{Drawing, Spot, View};
use vocab::Side;
use vocab::read::Document;

static ZONES: &str = include_str!("../../../data/atlas/zones.toml");
static POINTS: &str = include_str!("../../../data/atlas/points.toml");
static LINES: &str = include_str!("../../../data/atlas/lines.toml");
static DRAWING: &str = include_str!("../../../data/atlas/drawing.toml");

fn rows(text: &str, kind: &str) -> Vec<(String, String, String)> {
    let document = Document::parse("atlas", text).expect("the atlas is valid TOML");
    let word = |t: &vocab::read::Table<'_, '_>, key: &str| t.text(key).map(|w| w.text).unwrap_or_default();
    document.root().tables(kind).iter().map(|t| (word(t, "id"), word(t, "view"), word(t, "sides"))).collect()
}

#[test]
fn everything_of_the_atlas_has_a_place_and_nothing_else() {
    let drawing = Drawing::load("drawing.toml", DRAWING).unwrap_or_else(|f| panic!("{f:?}"));
    assert_eq!(drawing, Drawing::built_in());
    let (zones, points, lines) = (rows(ZONES, "zone"), rows(POINTS, "point"), rows(LINES, "line"));
    assert_eq!((zones.len(), points.len()), (30, 57));
    let ids = || zones.iter().chain(&points).chain(&lines).map(|r| r.0.as_str());
    assert_eq!(drawing.missing(ids()), Vec::<&str>::new());
    let drawn = drawing.zones.len() + drawing.points.len() + drawing.lines.len();
    assert_eq!(drawn, ids().count(), "a place for nothing");
    for (id, view, sides) in &zones {
        let zone = &drawing.zones[id];
        let expected = match view.as_str() {
            "back" => View::Back,
            "torso" => View::Torso,
            _ => View::Face,
        };
        assert_eq!(zone.view, expected, "{id}");
        assert_eq!(zone.midline, sides == "midline", "{id}");
    }
    for (id, _, sides) in &points {
        assert_eq!(drawing.points[id].at.x.abs() < 1e-9, sides == "midline", "{id}");
    }
    for (id, _, sides) in &lines {
        assert_eq!(drawing.lines[id].midline, sides == "midline", "{id}");
    }
}

/// Whether a closed outline holds a place (crossings of a ray).
fn holds(outline: &[Spot], at: Spot) -> bool {
    let n = outline.len();
    let crossing = |i: &usize| {
        let (a, b) = (outline[*i], outline[(i + 1) % n]);
        (a.y > at.y) != (b.y > at.y) && at.x < a.x + (b.x - a.x) * (at.y - a.y) / (b.y - a.y)
    };
    (0..n).filter(crossing).count() % 2 == 1
}

#[test]
fn marks_stand_in_their_zones() {
    for (id, zone) in &Drawing::built_in().zones {
        assert!(holds(&zone.outline, zone.at), "{id}: its mark stands outside its outline");
    }
}

#[test]
fn no_zone_or_line_runs_over_the_eye() {
    // The opening of the left eye, as an ellipse inside its rim landmarks.
    let over = |s: &Spot| ((s.x - 3.15) / 1.25).hypot((s.y - 2.6) / 0.45) < 1.0;
    let drawing = Drawing::built_in();
    for (id, zone) in drawing.zones.iter().filter(|(_, z)| z.view.front()) {
        assert!(!zone.outline.iter().chain(&zone.way).any(over), "{id}");
        assert!(!holds(&zone.outline, Spot::new(3.15, 2.6)), "{id} covers the eye");
    }
    for (id, line) in drawing.lines.iter().filter(|(_, l)| l.view.front()) {
        assert!(!line.strips.concat().iter().any(over), "{id}");
    }
}

#[test]
fn mistakes_are_told_with_their_line() {
    let check = |text: &str, line: usize, says: &str| {
        let findings = Drawing::load("own.toml", text).expect_err("must be refused");
        assert!(findings.iter().any(|f| f.line == line && f.message.contains(says)), "{text}: {findings:?}");
    };
    let source = "source = \"common practice, no source\"\n";
    check(&format!("[[point]]\nid = \"A\"\nview = \"face\"\nat = \"v468\"\n{source}"), 4, "v0 to v467");
    check(&format!("[[point]]\nid = \"A\"\nview = \"face\"\nat = \"-2,1\"\n{source}"), 1, "own left");
    check(&format!("[[point]]\nid = \"A\"\nview = \"back\"\nat = \"2,1\"\n{source}"), 1, "own left");
    check(&format!("[[point]]\nid = \"A\"\nview = \"side\"\nat = \"2,1\"\n{source}"), 3, "not known");
    check("[[point]]\nid = \"A\"\nview = \"face\"\nat = \"2,1\"\n", 1, "`source` is missing");
    check(&format!("[[line]]\nid = \"l\"\nview = \"face\"\npath = \"1,1\"\n{source}"), 4, "two places or more");
    check(&format!("[[line]]\nid = \"l\"\nveiw = \"face\"\npath = \"1,1 2,2\"\n{source}"), 3, "did you mean `view`");
    let zone = "[[zone]]\nid = \"z\"\nview = \"face\"\nat = \"1,1\"\noutline = \"0,0 2,0\"\nway = \"0,0 1,1\"\n";
    check(&format!("{zone}{source}"), 5, "needs 3 or more");
    let twice = format!("[[point]]\nid = \"A\"\nview = \"face\"\nat = \"2,1\"\n{source}");
    check(&format!("{twice}{twice}"), 6, "placed twice");
}

#[test]
fn an_own_drawing_lies_over_the_built_in() {
    let text =
        "[[point]]\nid = \"own_chin\"\nview = \"face\"\nat = \"v199\"\nsource = \"common practice, no source\"\n";
    let mut drawing = Drawing::built_in();
    drawing.extend(Drawing::load("own.toml", text).expect("one point"));
    assert_eq!(drawing.points.len(), 58);
    assert!(drawing.see("own_chin", Side::Midline).is_some_and(|s| s.midline));
}
