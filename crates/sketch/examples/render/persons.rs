//! Invented persons: the map and a routine on their own faces, over plain pictures, and for print.

use std::f64::consts::PI;

use face::{Drawing, Spot};
use sketch::{Ground, Handle, MapPlace, MapView, MarkedStep, Notation, Options, Person, Picture, Scale, Shown, Words};
use vocab::Side;

use crate::page;

/// Points that only the drawing shows, and points that are not for the hand, as the atlas has them.
#[rustfmt::skip] // a list of words
const SKETCHED: [&str; 22] = [
    "ST5", "ST6", "ST7", "ST12", "LI17", "SI16", "SI19", "TE16", "TE17", "TE20", "TE21", "TE22", "GB2", "GB3", "GB4", "GB7",
    "GB12", "GB20", "GB21", "GV20", "CV23", "EX-HN6",
];
const NEVER: [&str; 10] = ["ST1", "ST9", "ST10", "ST11", "LI18", "SI17", "BL1", "GV28", "CV22", "EX-HN7"];

/// A narrow, long face with a fuller left jaw.
fn long(s: Spot) -> Spot {
    let fuller = 0.45 * (-((s.x - 5.5).powi(2) + (s.y + 5.0).powi(2)) / 12.0).exp();
    Spot::new(s.x * 0.9 + fuller, s.y * 1.08 + 0.1 * (s.x * 0.4).sin())
}

/// The same face in a picture of 1200 by 1500 pixels at 44 pixels a centimetre, the head tilted by 6 degrees.
const PX_PER_CM: f64 = 44.0;
fn pictured(s: Spot) -> Spot {
    let (s, a) = (long(s), 6.0 * PI / 180.0);
    let turned = Spot::new(s.x * a.cos() + s.y * a.sin(), s.y * a.cos() - s.x * a.sin());
    turned + Spot::new(600.0 / PX_PER_CM, -760.0 / PX_PER_CM)
}

pub(crate) fn files(drawing: &Drawing, jaw: &[MarkedStep<'_>]) -> Vec<(String, String)> {
    let words = Words {
        title: "The map of an invented face",
        desc: "An invented sample.",
        your_right: "your right",
        your_left: "your left",
        from_behind: "from behind",
    };
    let options = |ground, id| Options { ground, id, words, numerals: false };
    let places = places(drawing, false);
    let points = MapView { places: &places, points: true, zones: false, lines: false, sketched: true, chosen: None };
    let all = MapView { zones: true, lines: true, chosen: Some(("ST6", Side::Left)), ..points };
    let seen = MapView { sketched: false, chosen: Some(("ST4", Side::Left)), ..points };
    let zone = MapView { points: false, zones: true, chosen: Some(("jaw_muscle", Side::Right)), ..seen };
    let halo = |target: &str, _: Side| Some(if target.starts_with("GB") { 0.55 } else { 0.32 });
    let person = Person::new(&long).with_halo_cm(&halo);
    let photographed = Person::new(&pictured).with_halo_cm(&halo);
    let drawn = Person::drawn();
    let mut files: Vec<(String, String)> = vec![
        ("map.svg".into(), sketch::map(drawing, &drawn, &points, &options(Ground::Linen, "m"))),
        ("map_all.svg".into(), sketch::map(drawing, &drawn, &all, &options(Ground::Linen, "ma"))),
        ("own_map.svg".into(), sketch::map(drawing, &person, &seen, &options(Ground::Linen, "o"))),
        ("own_map_night.svg".into(), sketch::map(drawing, &person, &seen, &options(Ground::Night, "on"))),
        ("own_zone.svg".into(), sketch::map(drawing, &person, &zone, &options(Ground::Linen, "oz"))),
        ("own_map.html".into(), page(&sketch::map(drawing, &person, &seen, &options(Ground::Page, "op")))),
        ("own_jaw.svg".into(), sketch::sheet_for(drawing, &person, jaw, &options(Ground::Linen, "oj"))),
    ];
    let named = self::places(drawing, true);
    let labelled = MapView { places: &named, sketched: true, chosen: None, ..seen };
    let bar = "Measure this bar: it is 10 cm long when printed at true scale.";
    for (name, notation, scale) in [
        ("print_map.svg", Notation::Map(&labelled), Scale::True),
        ("print_jaw.svg", Notation::Routine(jaw), Scale::True),
        ("print_fit.svg", Notation::Bare, Scale::Fit),
    ] {
        let svg = sketch::print(drawing, &person, notation, scale, bar, &options(Ground::Print, "p"));
        files.push((name.into(), svg.svg));
    }
    let handles =
        [(33, "eye_right", "Outer corner of the right eye"), (263, "eye_left", "Outer corner of the left eye")].map(
            |(n, name, label)| {
                let at = pictured(face::vertex(n).unwrap_or_default());
                Handle { name, label, at: [at.x * PX_PER_CM, -at.y * PX_PER_CM] }
            },
        );
    for (skin, light, deep) in
        [("light", "#E9C9B1", "#C99B80"), ("mid", "#B98563", "#8A5A3E"), ("deep", "#5A3A2A", "#2E1C14")]
    {
        let href = plain(light, deep);
        let picture = Picture {
            href: &href,
            width_px: 1200.0,
            height_px: 1500.0,
            px_per_cm: PX_PER_CM,
            crop: None,
            drawing: true,
            handles: &[],
        };
        let over = |picture: &Picture<'_>, notation, ground| {
            sketch::overlay(drawing, &photographed, picture, notation, &options(ground, "ov")).svg
        };
        files.push((format!("over_map_{skin}.svg"), over(&picture, Notation::Map(&seen), Ground::Linen)));
        files.push((format!("over_jaw_{skin}.svg"), over(&picture, Notation::Routine(jaw), Ground::Linen)));
        let held = Picture { handles: &handles, crop: Some([200.0, 200.0, 800.0, 1000.0]), ..picture };
        files.push((format!("over_{skin}.html"), page(&over(&held, Notation::Bare, Ground::Page))));
        files.push((format!("over_map_{skin}.html"), page(&over(&picture, Notation::Map(&seen), Ground::Page))));
    }
    files
}

fn places(drawing: &Drawing, labelled: bool) -> Vec<MapPlace<'_>> {
    let ids = drawing.points.keys().chain(drawing.zones.keys()).chain(drawing.lines.keys());
    let shown = ids.filter(|id| !NEVER.contains(&id.as_str()));
    shown
        .map(|id| MapPlace {
            target: id,
            side: Side::Both,
            title: id,
            label: if labelled && drawing.points.contains_key(id) { id } else { "" },
            shown: if SKETCHED.contains(&id.as_str()) { Shown::Sketch } else { Shown::Photo },
        })
        .collect()
}

/// A plain picture: a head of one colour on a wall, with a lamp at the viewer's left, as a data URI.
fn plain(light: &str, deep: &str) -> String {
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='1200' height='1500'><defs><radialGradient id='s' cx='0.38' cy='0.35' r='0.75'>\
         <stop offset='0' stop-color='{light}'/><stop offset='1' stop-color='{deep}'/></radialGradient></defs>\
         <rect width='1200' height='1500' fill='#8f958f'/><g transform='rotate(6 600 760)'><path d='M470 1050v330l-340 120h940l-340-120v-330z' fill='{deep}'/>\
         <ellipse cx='600' cy='590' rx='350' ry='520' fill='#2b211c'/><ellipse cx='605' cy='745' rx='315' ry='450' fill='url(#s)'/></g></svg>"
    );
    let escaped =
        svg.replace('%', "%25").replace('#', "%23").replace('<', "%3C").replace('>', "%3E").replace(' ', "%20");
    format!("data:image/svg+xml,{escaped}")
}
