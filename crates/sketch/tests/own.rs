//! The drawing as a person's own: carried to their face, over their photograph, and on paper.

use face::{Drawing, Spot, vertex};
use sketch::{
    Ground, Handle, MapPlace, MapView, Mark, MarkedStep, Notation, Options, Person, Picture, Scale, Shown, Words, map,
    overlay, print, sheet, sheet_for, stage_for, step_view_for,
};
use vocab::{Class, Movement, Pressure, Side};

const WORDS: Words<'static> = Words {
    title: "Anna's <own> & map",
    desc: "Where \"it\" lies",
    your_right: "your right",
    your_left: "your left",
    from_behind: "from behind",
};

fn options(ground: Ground) -> Options<'static> {
    Options { ground, id: "t", words: WORDS, numerals: true }
}

/// A longer, narrower face with a fuller left jaw.
fn bulge(s: Spot) -> Spot {
    let fuller = 0.45 * (-((s.x - 5.5).powi(2) + (s.y + 5.0).powi(2)) / 12.0).exp();
    Spot::new(s.x * 0.9 + fuller, s.y * 1.08)
}

/// The same in a picture of 1000 by 1400 pixels at 40 pixels a centimetre.
fn pictured(s: Spot) -> Spot {
    bulge(s) + Spot::new(12.5, -17.5)
}

const PICTURE: Picture<'static> = Picture {
    href: "/photo/1?a=1&b=\"2\"<3>",
    width_px: 1000.0,
    height_px: 1400.0,
    px_per_cm: 40.0,
    crop: None,
    drawing: true,
    handles: &[],
};

fn places(drawing: &Drawing) -> Vec<MapPlace<'_>> {
    let ids = drawing.points.keys().chain(drawing.zones.keys()).chain(drawing.lines.keys());
    let place = |id| MapPlace { target: id, side: Side::Both, title: id, label: "", shown: Shown::Photo };
    ids.map(|id: &String| place(id.as_str())).collect()
}

fn view<'a>(places: &'a [MapPlace<'a>]) -> MapView<'a> {
    MapView { places, points: true, zones: true, lines: true, sketched: true, chosen: None }
}

fn step<'a>(number: usize, target: &'a str, mark: Mark) -> MarkedStep<'a> {
    MarkedStep {
        number,
        target,
        side: Side::Both,
        mark,
        pressure: Pressure::Light,
        seconds: 15,
        full_s: 20,
        movement: Movement::Work,
        class: Class::Go,
        title: target,
    }
}

/// The value of an attribute of the first element after `from`.
#[track_caller]
fn number(svg: &str, from: &str, key: &str) -> f64 {
    let rest = svg.split(from).nth(1).unwrap_or_else(|| panic!("no {from}"));
    let text = rest.split(&format!(" {key}=\"")).nth(1).and_then(|t| t.split('"').next()).unwrap_or_default();
    text.trim_end_matches("mm").parse().unwrap_or_else(|_| panic!("{key} after {from}: `{text}`"))
}

fn group(target: &str, side: Side) -> String {
    format!("data-target=\"{target}\" data-side=\"{}\"", side.word())
}

/// Open elements close in order, quotes pair, and nothing a strict page forbids.
#[track_caller]
fn strict(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    for tag in svg.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').unwrap_or_else(|| panic!("tag without end: {tag}"));
        assert_eq!(tag.matches('"').count() % 2, 0, "quotes in {tag}");
        let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap_or_default();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name), "closing {name}");
        } else if !tag.ends_with('/') {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
    for banned in [" style=", "<style", "<script", "NaN", "inf", " onload"] {
        assert!(!svg.contains(banned), "{banned} in the drawing");
    }
}

/// The first point of every stroke and every end of its bends, in centimetres.
fn ends(svg: &str) -> Vec<Spot> {
    let mut spots = Vec::new();
    for d in svg.split(" d=\"").skip(1).filter_map(|t| t.split('"').next()) {
        for run in d.split('M').skip(1) {
            let (start, bends) = run.split_once('q').unwrap_or((run.split(['L', 'a']).next().unwrap_or_default(), ""));
            let first: Vec<f64> = start.split(' ').filter_map(|t| t.parse().ok()).collect();
            let [x, y] = first[..] else { continue };
            let mut at = Spot::new(x, y);
            spots.push(at);
            let mut words = vec![String::new()];
            for c in bends.trim_end_matches('z').chars() {
                let last = words.len() - 1;
                if c == ' ' || c == '-' || c == '.' && words[last].contains('.') {
                    words.push(String::new());
                }
                if c != ' ' {
                    let last = words.len() - 1;
                    words[last].push(c);
                }
            }
            let numbers: Vec<f64> = words.iter().filter_map(|w| w.parse().ok()).collect();
            for bend in numbers.chunks_exact(4) {
                at = at + Spot::new(bend[2], bend[3]);
                spots.push(at);
            }
        }
    }
    spots.into_iter().map(|s| Spot::new(s.x / 20.0, -s.y / 20.0)).collect()
}

#[test]
fn the_figure_passes_the_carried_landmarks() {
    let drawing = Drawing::built_in();
    let check = |svg: &str, carry: &dyn Fn(Spot) -> Spot, close: f64| {
        let drawn = ends(svg);
        // Jaw, chin, lid, lip, wing of the nose.
        for landmark in [361, 365, 378, 152, 176, 58, 257, 269, 0] {
            let there = carry(vertex(landmark).expect("a landmark"));
            let miss = drawn.iter().map(|s| s.to(there)).fold(f64::MAX, f64::min);
            // The outline lies half a line beside the landmark, and its bends end between samples up to 4 mm apart.
            assert!(miss < close, "landmark {landmark} is missed by {miss:.3} cm");
        }
    };
    let own = sheet_for(&drawing, &Person::new(&bulge), &[], &options(Ground::Page));
    check(&own, &bulge, 0.25);
    check(&sheet(&drawing, &[], &options(Ground::Page)), &|s| s, 0.25);
    // The bulge moves the chin by 7 mm: the drawn face does not pass it.
    let chin = vertex(152).expect("a landmark");
    assert!(chin.to(bulge(chin)) > 0.6);
    assert_ne!(own, sheet(&drawing, &[], &options(Ground::Page)));
}

#[test]
fn an_identity_sheet_is_the_drawn_face() {
    let drawing = Drawing::built_in();
    let steps = [step(1, "ST6", Mark::Hold), step(2, "jaw_edge", Mark::Stroke), step(3, "nape", Mark::Palm)];
    let same = |s: Spot| s;
    let person = Person::new(&same);
    let options = options(Ground::Linen);
    assert_eq!(sheet(&drawing, &steps, &options), sheet_for(&drawing, &person, &steps, &options));
}

#[test]
fn marks_and_rings_stand_where_the_person_has_them() {
    let drawing = Drawing::built_in();
    let all = places(&drawing);
    let own = |target: &str, side: Side| (target == "ST6" && side == Side::Left).then_some(Spot::new(5.1, -5.9));
    let person = Person::new(&bulge).with_places(&own);
    let svg = map(&drawing, &person, &view(&all), &options(Ground::Page));
    strict(&svg);
    for (code, point) in drawing.points.iter().filter(|(_, p)| p.view.front()) {
        let sides: &[Side] = if point.at.x.abs() < 1e-9 { &[Side::Midline] } else { &[Side::Left, Side::Right] };
        for side in sides {
            let at = if *side == Side::Right { point.at.mirrored() } else { point.at };
            let there = own(code, *side).unwrap_or_else(|| bulge(at));
            let (x, y) = (number(&svg, &group(code, *side), "cx"), number(&svg, &group(code, *side), "cy"));
            // Numbers are written to a twentieth of a millimetre.
            let miss = Spot::new(x / 20.0, -y / 20.0).to(there);
            assert!(miss < 0.005, "{code} {side:?} is {miss} cm beside its place");
        }
    }
    let hold = sheet_for(&drawing, &person, &[step(1, "ST6", Mark::Hold)], &options(Ground::Page));
    let (x, y) = (number(&hold, "data-side=\"left\"", "cx"), number(&hold, "data-side=\"left\"", "cy"));
    assert!(Spot::new(x / 20.0, -y / 20.0).to(Spot::new(5.1, -5.9)) < 0.005, "the hold stands at {x} {y}");
}

#[test]
fn a_halo_has_its_true_size() {
    let drawing = Drawing::built_in();
    let all = places(&drawing);
    for radius in [0.15, 0.3, 0.55, 1.2] {
        let halo = |target: &str, side: Side| (target == "GB14" && side == Side::Right).then_some(radius);
        let person = Person::new(&bulge).with_halo_cm(&halo);
        let svg = map(&drawing, &person, &view(&all), &options(Ground::Page));
        assert_eq!(svg.matches("class=\"sk-halo\"").count(), 1);
        assert!((number(&svg, "class=\"sk-halo\"", "r") / 20.0 - radius).abs() < 0.0026, "{radius}");
        let pictured = Person::new(&pictured).with_halo_cm(&halo);
        let over = overlay(&drawing, &pictured, &PICTURE, Notation::Map(&view(&all)), &options(Ground::Page)).svg;
        let px = number(&over, "class=\"sk-halo\"", "r") * 40.0 / 20.0;
        assert!((px - radius * 40.0).abs() < 0.11, "{radius} cm is {px} px at 40 px a centimetre");
        let band = |_: &str, _: Side| Some(radius);
        let chosen = MapView { points: false, zones: false, chosen: Some(("jaw_edge", Side::Left)), ..view(&all) };
        let line = map(&drawing, &Person::drawn().with_halo_cm(&band), &chosen, &options(Ground::Page));
        assert!((number(&line, "class=\"sk-halo\"", "stroke-width") / 20.0 - 2.0 * radius).abs() < 0.0026, "{radius}");
    }
    for nothing in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let halo = |_: &str, _: Side| Some(nothing);
        let svg = map(&drawing, &Person::drawn().with_halo_cm(&halo), &view(&all), &options(Ground::Page));
        assert!(!svg.contains("sk-halo"), "{nothing}");
    }
}

#[test]
fn a_map_shows_what_is_asked() {
    let drawing = Drawing::built_in();
    let mut all = places(&drawing);
    all.iter_mut()
        .filter(|p| ["TE16", "TE17", "GB12", "GB20"].contains(&p.target))
        .for_each(|p| p.shown = Shown::Sketch);
    let base = MapView { points: false, zones: false, lines: false, sketched: false, ..view(&all) };
    let check = |view: MapView<'_>, has: &[&str], lacks: &[&str]| {
        let svg = map(&drawing, &Person::drawn(), &view, &options(Ground::Page));
        strict(&svg);
        has.iter().for_each(|t| assert!(svg.contains(&format!("data-target=\"{t}\"")), "{t} is missing"));
        lacks.iter().for_each(|t| assert!(!svg.contains(&format!("data-target=\"{t}\"")), "{t} is too much"));
        svg
    };
    check(base, &[], &["ST6", "forehead", "jaw_edge"]);
    let points = check(MapView { points: true, ..base }, &["ST6", "GV26"], &["TE17", "GB20", "forehead", "jaw_edge"]);
    assert!(!points.contains("sk-back") && points.contains("your left") && points.contains("<title>ST6</title>"));
    let sketched = check(MapView { points: true, sketched: true, ..base }, &["ST6", "TE17", "GB20"], &["forehead"]);
    assert!(sketched.contains("sk-back") && sketched.contains("data-shown=\"sketch\""));
    check(MapView { zones: true, ..base }, &["forehead"], &["ST6", "jaw_edge"]);
    check(MapView { lines: true, ..base }, &["jaw_edge"], &["ST6", "forehead"]);
    let one = check(MapView { chosen: Some(("TE17", Side::Left)), ..base }, &["TE17"], &["ST6"]);
    assert_eq!(one.matches("sk-chosen").count(), 1);
    assert!(one.contains(&group("TE17", Side::Left)) && !one.contains(&group("TE17", Side::Right)));
}

#[test]
fn nothing_of_a_page_has_styles_and_all_text_is_escaped() {
    let drawing = Drawing::built_in();
    let nasty = "a\"><script>x</script>&'";
    let place = |target| MapPlace { target, side: Side::Left, title: nasty, label: nasty, shown: Shown::Photo };
    let all = [place("ST6"), place("forehead")];
    let view = MapView { chosen: Some(("ST6", Side::Left)), ..view(&all) };
    let halo = |_: &str, _: Side| Some(0.3);
    let steps = [MarkedStep { title: nasty, ..step(1, "ST4", Mark::Hold) }];
    let handle = [Handle { name: nasty, label: nasty, at: [400.0, 500.0] }];
    let picture = Picture { href: nasty, handles: &handle, ..PICTURE };
    let person = Person::new(&bulge).with_halo_cm(&halo);
    let photographed = Person::new(&pictured).with_halo_cm(&halo);
    let options =
        Options { id: nasty, words: Words { title: nasty, your_left: nasty, ..WORDS }, ..options(Ground::Page) };
    for svg in [
        map(&drawing, &person, &view, &options),
        overlay(&drawing, &photographed, &picture, Notation::Map(&view), &options).svg,
        overlay(&drawing, &photographed, &picture, Notation::Routine(&steps), &options).svg,
        overlay(&drawing, &photographed, &picture, Notation::Bare, &options).svg,
        print(&drawing, &person, Notation::Map(&view), Scale::True, nasty, &options).svg,
        print(&drawing, &person, Notation::Routine(&steps), Scale::Fit, nasty, &options).svg,
        sheet_for(&drawing, &person, &steps, &options),
        stage_for(&drawing, &person, &steps, &options),
        step_view_for(&drawing, &person, &steps[0], None, &options),
    ] {
        strict(&svg);
        assert!(svg.contains("&lt;script&gt;"), "the words are there");
    }
}

#[test]
fn a_photograph_lies_in_its_own_pixels() {
    let drawing = Drawing::built_in();
    let person = Person::new(&pictured);
    let draw =
        |crop| overlay(&drawing, &person, &Picture { crop, ..PICTURE }, Notation::Bare, &options(Ground::Page)).svg;
    let whole = draw(None);
    strict(&whole);
    assert!(whole.contains("viewBox=\"0.0 0.0 1000.0 1400.0\"") && whole.contains("width=\"1000\" height=\"1400\""));
    assert!(whole.contains("href=\"/photo/1?a=1&amp;b=&quot;2&quot;&lt;3&gt;\"") && whole.contains("scale(2.00000)"));
    for (crop, view_box) in [
        ([100.0, 200.0, 500.0, 600.0], "100.0 200.0 500.0 600.0"),
        ([-50.0, 1000.0, 300.0, 900.0], "0.0 1000.0 250.0 400.0"),
        ([2000.0, 0.0, 10.0, 10.0], "0.0 0.0 1000.0 1400.0"),
    ] {
        assert!(draw(Some(crop)).contains(&format!("viewBox=\"{view_box}\"")), "{crop:?}");
    }
    // Mirrored, the person's left is on the viewer's left.
    let flipped = |s: Spot| pictured(s.mirrored());
    let mirror = overlay(&drawing, &Person::new(&flipped), &PICTURE, Notation::Bare, &options(Ground::Page)).svg;
    let first = |svg: &str| svg.find("your left") < svg.find("your right");
    assert!(first(&mirror) && !first(&whole));
}

#[test]
fn marks_stay_inside_the_picture_and_the_rest_is_named() {
    let drawing = Drawing::built_in();
    let all = places(&drawing);
    let person = Person::new(&pictured);
    let steps = [step(1, "ST4", Mark::Hold), step(2, "nape", Mark::Palm), step(3, "GB14", Mark::Circles)];
    for crop in [None, Some([150.0, 150.0, 700.0, 1000.0]), Some([0.0, 700.0, 1000.0, 400.0])] {
        let picture = Picture { crop, ..PICTURE };
        let [left, top, width, height] = crop.unwrap_or([0.0, 0.0, 1000.0, 1400.0]);
        let over = overlay(&drawing, &person, &picture, Notation::Map(&view(&all)), &options(Ground::Page));
        let mut shown = 0;
        for (i, place) in all.iter().enumerate() {
            let drawn = [Side::Left, Side::Right, Side::Midline].map(|s| over.svg.contains(&group(place.target, s)));
            assert!(drawn.contains(&true) || over.left_out.contains(&i), "{} is neither shown nor named", place.target);
            shown += usize::from(drawn.contains(&true));
        }
        assert!(shown > 3 && over.left_out.len() > 3, "{shown} shown, {} left out", over.left_out.len());
        let marks =
            over.svg.split("class=\"sk-marks\"").nth(1).and_then(|t| t.split("<image").next()).unwrap_or_default();
        for part in marks.split("class=\"sk-place").skip(1).filter(|p| p.starts_with(" sk-point")) {
            let (x, y) = (number(part, "sk-point", "cx") * 2.0, number(part, "sk-point", "cy") * 2.0);
            assert!(x > left && x < left + width && y > top && y < top + height, "a ring at {x} {y}");
        }
        let routine = overlay(&drawing, &person, &picture, Notation::Routine(&steps), &options(Ground::Page));
        strict(&routine.svg);
        let expected: &[usize] = if top > 500.0 { &[1, 2] } else { &[1] };
        assert_eq!(routine.left_out, expected, "{crop:?}");
        assert!(routine.svg.contains("sk-casing"), "ink over skin has a light edge");
    }
}

#[test]
fn at_true_scale_a_centimetre_is_a_centimetre() {
    let drawing = Drawing::built_in();
    let all = places(&drawing);
    let view = view(&all);
    for person in [Person::drawn(), Person::new(&bulge)] {
        let page = print(&drawing, &person, Notation::Map(&view), Scale::True, "measure me", &options(Ground::Print));
        for (i, place) in all.iter().enumerate() {
            let drawn = page.svg.contains(&format!("data-target=\"{}\"", place.target));
            assert!(drawn || page.left_out.contains(&i), "{} is neither shown nor named", place.target);
        }
        let svg = page.svg;
        strict(&svg);
        let (width, height) = (number(&svg, "<svg", "width"), number(&svg, "<svg", "height"));
        // Within the margins of 10 mm of A4 (210 by 297 mm, ISO 216) and US Letter (215.9 by 279.4 mm).
        assert!(width <= 190.0 && height <= 259.4, "{width} by {height} mm");
        let view_box = svg.split("viewBox=\"").nth(1).and_then(|t| t.split('"').next()).unwrap_or_default();
        let sides: Vec<f64> = view_box.split(' ').filter_map(|n| n.parse().ok()).collect();
        // 20 units are a centimetre.
        assert_eq!((sides[2] / width, sides[3] / height), (2.0, 2.0));
        // The head's own window is at the same scale.
        let inner = svg.split("<svg x=").nth(1).unwrap_or_default();
        let own = inner.split("viewBox=\"").nth(1).and_then(|t| t.split('"').next()).unwrap_or_default();
        let own: Vec<f64> = own.split(' ').filter_map(|n| n.parse().ok()).collect();
        assert_eq!((number(&svg, "<svg x=", "width"), number(&svg, "<svg x=", "height")), (own[2], own[3]));
        // The bar, from its first tick to its last, is 10 cm.
        let bar = svg.split("class=\"sk-bar\" d=\"M").nth(1).and_then(|t| t.split('M').next()).unwrap_or_default();
        let xs: Vec<f64> = bar.split(['L', ' ']).filter_map(|n| n.parse().ok()).collect();
        assert!(((xs[2] - xs[0]) / sides[2] * width - 100.0).abs() < 1e-9, "{bar}");
        assert!(
            svg.contains("measure me") && svg.contains("data-target=\"ST6\"") && svg.contains("data-target=\"CV24\"")
        );
    }
    let fit = print(&drawing, &Person::drawn(), Notation::Bare, Scale::Fit, "", &options(Ground::Print)).svg;
    assert!(!fit.split("viewBox").next().unwrap_or_default().contains("mm\""));
}

#[test]
fn a_handle_can_be_named_reached_and_moved() {
    let handle = Handle { name: "eye_left", label: "Corner of the left eye", at: [700.5, 420.25] };
    let picture = Picture { handles: &[handle], ..PICTURE };
    let drawing = Drawing::built_in();
    let svg = overlay(&drawing, &Person::new(&pictured), &picture, Notation::Bare, &options(Ground::Page)).svg;
    strict(&svg);
    for part in [
        "role=\"group\"",
        "class=\"sk-handle\" data-handle=\"eye_left\" role=\"button\" tabindex=\"0\" aria-label=\"Corner of the left eye\"",
        "transform=\"translate(700.5 420.3)\"",
        "stroke-width=\"44\" pointer-events=\"all\" vector-effect=\"non-scaling-stroke\"",
    ] {
        assert!(svg.contains(part), "{part}");
    }
}
