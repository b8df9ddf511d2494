//! The drawings: sound XML, and paper at true scale.

use crate::house::{Folder, run};
use crate::pictures::{points, usual, usual_map};

/// Fails unless the text is well-formed: tags close in order, attributes are quoted and named once, no stray sign.
fn well_formed(row: &str, text: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = text.trim_end();
    let said = |text: &str| {
        for (i, _) in text.match_indices('&') {
            let name = text[i + 1..].split_once(';').map(|n| n.0).unwrap_or("");
            let known = matches!(name, "amp" | "lt" | "gt" | "quot" | "apos") || name.starts_with('#');
            assert!(known, "{row}: a stray & in {text:?}");
        }
    };
    let mut roots = 0;
    while let Some(at) = rest.find('<') {
        let (before, tag) = rest.split_at(at);
        said(before);
        assert!(!open.is_empty() || before.trim().is_empty(), "{row}: text outside: {before:?}");
        // No value here holds a `>`.
        let (tag, after) = tag[1..].split_once('>').unwrap_or_else(|| panic!("{row}: an open tag"));
        rest = after;
        if tag.starts_with('?') || tag.starts_with('!') {
            continue;
        }
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "{row}");
            continue;
        }
        let (body, alone) = tag.strip_suffix('/').map_or((tag, false), |body| (body, true));
        let (name, mut attributes) = body.split_once(' ').unwrap_or((body, ""));
        let mut names = Vec::new();
        while !attributes.trim().is_empty() {
            let (key, value) = attributes.trim_start().split_once("=\"").unwrap_or_else(|| panic!("{row}: {tag}"));
            let (value, more) = value.split_once('"').unwrap_or_else(|| panic!("{row}: {tag}"));
            said(value);
            assert!(!value.contains('<') && !names.contains(&key), "{row}: {key} in {name}");
            names.push(key);
            attributes = more;
        }
        roots += usize::from(open.is_empty());
        if !alone {
            open.push(name);
        }
    }
    assert!(open.is_empty() && roots == 1 && rest.is_empty(), "{row}: {open:?}, {roots} roots, {rest:?}");
}

/// The value of an attribute of the first tag.
fn attribute<'a>(svg: &'a str, key: &str) -> &'a str {
    let (tag, _) = svg.split_once('>').expect("a tag");
    tag.split_once(&format!(" {key}=\"")).and_then(|(_, v)| v.split_once('"')).map_or("", |v| v.0)
}

fn numbers(text: &str) -> Vec<f64> {
    text.split([' ', ',']).map(|n| n.parse().unwrap_or_else(|_| panic!("no number: {text}"))).collect()
}

/// Where a point's circle is drawn.
fn circle(svg: &str, code: &str, side: &str) -> [f64; 2] {
    let (_, place) = svg.split_once(&format!("data-target=\"{code}\" data-side=\"{side}\"")).expect("the point");
    let (_, circle) = place.split_once("<circle").expect("its circle");
    ["cx", "cy"].map(|key| attribute(circle, key).parse().expect("a number"))
}

#[test]
fn drawings_are_sound_and_paper_is_true() {
    let folder = Folder::new("drawn");
    let photo = folder.write("photo.png", usual().png());
    let [svg, overlay, print, fit] = ["a.svg", "b.svg", "c.svg", "d.svg"].map(|f| folder.file(f));
    let said = run(&["map", &photo, "--svg", &svg, "--overlay", &overlay, "--print", &print]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(run(&["map", &photo, "--print", &fit, "--fit"]).code, 0);
    let [svg, overlay, print, fit] = [svg, overlay, print, fit].map(|f| std::fs::read_to_string(f).expect("a drawing"));
    for (row, text) in [("sheet", &svg), ("overlay", &overlay), ("print", &print), ("fit", &fit)] {
        well_formed(row, text);
        assert!(attribute(text, "xmlns") == "http://www.w3.org/2000/svg" && !text.contains("NaN"), "{row}");
    }

    // The page: 190 mm x 255 mm, and the same millimetres a unit both ways.
    assert_eq!((attribute(&print, "width"), attribute(&print, "height")), ("190mm", "255mm"));
    let view = numbers(attribute(&print, "viewBox"));
    let unit_mm = 190.0 / view[2];
    assert!((unit_mm - 255.0 / view[3]).abs() < 1e-9, "{view:?}");
    // The bar that is measured: 10 cm.
    let (_, bar) = print.split_once("class=\"sk-bar\" d=\"M").expect("a bar");
    let ends: Vec<f64> = bar.split(['M', 'L']).take(2).map(|p| numbers(p)[0]).collect();
    assert!(((ends[1] - ends[0]) * unit_mm - 100.0).abs() < 0.1, "{ends:?} at {unit_mm} mm");
    // The figure inside is not scaled again.
    let (_, inner) = print.split_once("<rect").and_then(|(_, r)| r.split_once("<svg")).expect("the figure");
    let inner_view = numbers(attribute(inner, "viewBox"));
    let inner_width: f64 = attribute(inner, "width").parse().expect("a width");
    assert!((inner_view[2] - inner_width).abs() < 1e-9, "{inner_view:?}");

    // And it is this face: a distance on paper is the distance in the picture by its scale.
    let mm = usual_map()["scale"]["mm_per_px"].as_f64().expect("mm");
    let place = |code: &str, on: &str| {
        points(usual_map()).into_iter().find(|(c, s, _)| c == code && s == on).expect("a point").2
    };
    for code in ["LI20", "ST2", "SI18"] {
        let [a, b] = ["left", "right"].map(|s| circle(&print, code, s));
        let [p, q] = ["left", "right"].map(|s| place(code, s));
        let paper = (a[0] - b[0]).hypot(a[1] - b[1]) * unit_mm;
        let face = (p[0] - q[0]).hypot(p[1] - q[1]) * mm;
        assert!((paper / face - 1.0).abs() < 0.02, "{code}: {paper:.1} mm on paper, {face:.1} mm on the face");
    }

    // The overlay lies on the picture: twenty units are a centimetre, and points are where the answer says.
    assert!(overlay.contains("data:image/"));
    let px: f64 = attribute(&overlay, "data-px-per-cm").parse().expect("pixels a centimetre");
    assert!((px * mm - 10.0).abs() < 0.02, "{px} pixels a centimetre, {mm} mm a pixel");
    let mut drawn_points = 0;
    for (code, side, at) in points(usual_map()) {
        if overlay.contains(&format!("data-target=\"{code}\" data-side=\"{side}\"")) {
            let drawn = circle(&overlay, &code, &side).map(|v| v * px / 20.0);
            drawn_points += 1;
            assert!((drawn[0] - at[0]).hypot(drawn[1] - at[1]) < 0.5, "{code} {side}: {drawn:?} {at:?}");
        }
    }
    assert!(drawn_points > 30, "{drawn_points}");
    let lost = run(&["map", &photo, "--svg", &folder.file("no/such/folder.svg")]);
    assert!(lost.code == 2 && lost.err.contains("folder.svg"), "{}", lost.err);
}
