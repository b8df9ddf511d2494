//! A measured photograph agrees with what is said to be true of it.

use phantom::{Kind, Person, Setting, Shot, SkinTruth, Tone, Truth, UnderEye, known, photograph};

/// A small measured photograph, without noise.
fn small(seed: u64, setting: Setting) -> Shot {
    Shot { width: 240, height: 300, samples: 1, noise: 0.0, ..Shot::measured(seed, setting) }
}

fn truth_of(person: &Person, shot: &Shot) -> Truth {
    photograph(person, shot).1
}

fn skin(person: &Person, shot: &Shot) -> SkinTruth {
    truth_of(person, shot).skin.expect("a measured shot has its truth")
}

fn cheek(skin: &SkinTruth) -> [f64; 3] {
    std::array::from_fn(|k| (skin.sides[0].cheek[k] + skin.sides[1].cheek[k]) / 2.0)
}

/// The class of a typology angle (Chardon 1991, Del Bino and Bernerd 2013).
fn class_of(ita: f64) -> Tone {
    Tone::ALL[[55.0, 41.0, 28.0, 10.0, -30.0].iter().filter(|limit| ita <= **limit).count()]
}

/// Published means of skin, all sites of the table, by the class of their own angle.
fn published() -> [Vec<[f64; 3]>; 6] {
    let mut groups: [Vec<[f64; 3]>; 6] = Default::default();
    for line in include_str!("../../../data/colour/skin_lab.csv").lines() {
        let cells: Vec<&str> = line.split(',').collect();
        // "All" repeats the sites beside it.
        if cells.len() < 5 || cells[1].contains("(All)") {
            continue;
        }
        let numbers: Option<Vec<f64>> = cells[2..5].iter().map(|c| c.parse().ok()).collect();
        let Some(n) = numbers else { continue };
        groups[class_of((n[0] - 50.0).atan2(n[2]).to_degrees()) as usize].push([n[0], n[1], n[2]]);
    }
    groups
}

fn mean(rows: &[[f64; 3]]) -> [f64; 3] {
    std::array::from_fn(|k| rows.iter().map(|r| r[k]).sum::<f64>() / rows.len() as f64)
}

/// Every cheek has the angle of its class, in every light, and the mean of a class is near the published means of that class
/// (Alaluf 2002, Xiao 2017; very light skin has none there).
#[test]
fn cheeks_are_of_their_class_and_near_published_means() {
    let mut drawn: [Vec<[f64; 3]>; 6] = Default::default();
    for seed in 0..120 {
        let person = Person::invented(seed);
        let mut shot = small(seed, Setting::ALL[(seed / 6 % 6) as usize]);
        shot.under_eye = UnderEye::of_severity(&person, (seed % 5) as f64, seed);
        let skin = skin(&person, &shot);
        let name = person.tone.name();
        assert_eq!(class_of(skin.tone_ita), person.tone, "{name}, seed {seed}: {:.1} degrees", skin.tone_ita);
        drawn[person.tone as usize].push(cheek(&skin));
    }
    let mut compared = 0;
    for ((tone, rows), groups) in Tone::ALL.into_iter().zip(&drawn).zip(published()) {
        if groups.is_empty() {
            continue;
        }
        let (own, theirs) = (mean(rows), mean(&groups));
        for (k, (channel, most)) in [("L*", 4.0), ("a*", 4.0), ("b*", 4.0)].into_iter().enumerate() {
            let name = tone.name();
            assert!((own[k] - theirs[k]).abs() < most, "{name} {channel}: drawn {own:.1?}, published {theirs:.1?}");
        }
        compared += 1;
    }
    assert_eq!(compared, 5, "classes with a published mean");
}

/// Whether a place lies within the four corners of a card.
fn within(corners: &[[f64; 2]; 4], [x, y]: [f64; 2]) -> bool {
    (0..4).all(|i| {
        let (a, b) = (corners[i], corners[(i + 1) % 4]);
        (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]) >= 0.0
    })
}

/// The card lies wholly inside the picture, clear of its edge and of the face.
#[test]
fn the_card_is_wholly_seen_and_hides_no_face() {
    for seed in 0..36 {
        let mut shot = small(seed, Setting::ALL[(seed % 6) as usize]);
        (shot.card, shot.width, shot.height) = (true, 200, 250);
        let truth = truth_of(&Person::invented(seed), &shot);
        let card = truth.card.as_ref().expect("a card");
        for [x, y] in card.corners_px {
            let inside = (4.0..196.0).contains(&x) && (4.0..246.0).contains(&y);
            assert!(inside, "seed {seed}: a corner at {x:.0}, {y:.0} of 200 x 250");
        }
        // Forehead, eyes, cheeks, mouth, jaw and chin stay free.
        for n in [10, 33, 263, 50, 280, 101, 330, 61, 291, 17, 172, 397, 152] {
            let at = [truth.landmarks[n][0], truth.landmarks[n][1]];
            assert!(!within(&card.corners_px, at), "seed {seed}: the card hides landmark {n}");
        }
    }
}

/// Grey patches are grey under daylight, and to a camera with the eye's own colours nearly so under tungsten.
#[test]
fn the_cards_greys_are_grey() {
    for setting in [Setting::D65, Setting::A] {
        let shot = Shot { card: true, noise: 0.0, blur: 0.0, camera_kind: 0, ..Shot::measured(4, setting) };
        let shot = Shot { jpeg_space: phantom::Space::Srgb, ..shot };
        let (picture, truth) = photograph(&Person::invented(4), &shot);
        let card = truth.card.expect("a card");
        let greys: Vec<_> = card.patches.iter().filter(|p| p.grey).collect();
        assert_eq!(greys.len(), 6);
        for patch in greys {
            let [_, a, b] = patch.lab_d65;
            assert!(a.abs() < 0.5 && b.abs() < 0.5, "{}: {:?}", patch.name, patch.lab_d65);
            let middle: [f64; 2] = std::array::from_fn(|k| patch.corners_px.iter().map(|c| c[k]).sum::<f64>() / 4.0);
            let at = 3 * (middle[1] as usize * picture.width + middle[0] as usize);
            let [r, g, b] = [0, 1, 2].map(|k| i32::from(picture.rgb[at + k]));
            let most = if setting == Setting::D65 { 2 } else { 4 };
            assert!((r - g).abs() <= most && (b - g).abs() <= most, "{} {setting:?}: {r} {g} {b}", patch.name);
        }
    }
}

/// Wall and clothes are seen by the camera as skin is: one that is right about colours shows them alike in every light.
#[test]
fn the_world_keeps_its_colours_in_every_light() {
    for seed in [1, 2, 8] {
        let of = |setting| {
            let shot = Shot { camera_kind: 0, blur: 0.0, exposure: -0.5, ..small(seed, setting) };
            photograph(&Person::invented(seed), &Shot { jpeg_space: phantom::Space::Srgb, light_seed: 5, ..shot }).0
        };
        let day = of(Setting::D65);
        for other in [Setting::A, Setting::Led].map(of) {
            // A piece of wall in both upper corners, of cloth below.
            for at in [[8.0, 8.0], [231.0, 8.0], [120.0, 292.0], [60.0, 288.0]] {
                let piece = |p: &phantom::Picture| {
                    let [x, y] = at;
                    average(p, &[[x - 5.0, y - 5.0], [x + 5.0, y - 5.0], [x + 5.0, y + 5.0], [x - 5.0, y + 5.0]])
                };
                let (a, b) = (lab(piece(&day)), lab(piece(&other)));
                let off = (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt();
                assert!(off < 1.5, "seed {seed} at {at:?}: {a:.1?} by day, {b:.1?} by lamp");
            }
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_measured_bytes() {
    let person = Person::invented(9);
    let shot = Shot { card: true, noise: 1.0, spectacles: true, ..small(9, Setting::Window) };
    let (a, b) = (photograph(&person, &shot), photograph(&person, &shot));
    assert!(a.0 == b.0 && a.1 == b.1);
    let other = photograph(&person, &Shot { seed: 10, ..shot });
    assert!(a.0 != other.0, "another seed has other noise");
}

/// Nothing under the eyes: what is left of a shadow is the face's own shape, and little.
#[test]
fn without_severity_there_is_little_shadow() {
    for seed in 0..12 {
        let skin = skin(&Person::invented(seed), &small(seed, Setting::D65));
        for side in &skin.sides {
            let [dl, da, db, _, _] = side.shadow;
            assert!(side.brown.abs() < 0.01 && side.blue_red.abs() < 0.02, "seed {seed}: {side:?}");
            assert!(dl.abs() < 6.0 && da.abs() < 3.0 && db.abs() < 3.0, "seed {seed}: {:?}", side.shadow);
        }
    }
}

/// Each kind raises its own part, on its own side alone, and darkens; more of it more so.
#[test]
fn each_kind_raises_its_own_part_on_its_own_side() {
    for seed in [0, 9, 16, 35] {
        let person = Person::invented(seed);
        let of = |under_eye: UnderEye| skin(&person, &Shot { under_eye, ..small(seed, Setting::D65) });
        let none = of(UnderEye::NONE);
        for kind in [Kind::Brown, Kind::BlueRed, Kind::Relief] {
            let parts = |s: &SkinTruth, side: usize| {
                let s = &s.sides[side];
                [s.brown, s.blue_red, s.relief]
            };
            let mut before = none.clone();
            for strength in [1.0, 3.0] {
                // On the own left alone.
                let mut under = UnderEye::only(kind, strength);
                (under.brown[0], under.blue_red[0], under.relief[0]) = (0.0, 0.0, 0.0);
                let now = of(under);
                let name = person.tone.name();
                assert_eq!(now.sides[0], none.sides[0], "{name} {kind:?}: the other side stays");
                let (was, is) = (parts(&before, 1), parts(&now, 1));
                for (k, own) in [Kind::Brown, Kind::BlueRed, Kind::Relief].into_iter().enumerate() {
                    if own == kind {
                        assert!(is[k] > was[k] + 0.002, "{name} {kind:?} {strength}: {was:?} to {is:?}");
                    } else {
                        assert!((is[k] - was[k]).abs() < 1e-6, "{name}: {kind:?} leaves {own:?} alone");
                    }
                }
                assert!(now.sides[1].shadow[0] < before.sides[1].shadow[0], "{name} {kind:?} {strength}: darker");
                before = now;
            }
        }
    }
}

/// More severity, more shadow.
#[test]
fn shadow_grows_with_severity() {
    for seed in [1, 2, 4, 5] {
        let person = Person::invented(seed);
        let of = |severity| {
            let under_eye = UnderEye::of_severity(&person, severity, seed);
            skin(&person, &Shot { under_eye, ..small(seed, Setting::Led) })
        };
        let all = [0.0, 1.0, 2.5, 4.0].map(of);
        for pair in all.windows(2) {
            for side in 0..2 {
                let [less, more] = [0, 1].map(|i| pair[i].sides[side].shadow[0]);
                assert!(more < less, "seed {seed}, side {side}: dL* {less:.2}, then {more:.2}");
            }
        }
    }
}

/// Linear light of an sRGB level (IEC 61966-2-1), as XYZ under D65.
fn xyz([r, g, b]: [u8; 3]) -> [f64; 3] {
    let [r, g, b] = [r, g, b].map(|v| {
        let v = f64::from(v) / 255.0;
        if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    });
    [0.4124 * r + 0.3576 * g + 0.1805 * b, 0.2126 * r + 0.7152 * g + 0.0722 * b, 0.0193 * r + 0.1192 * g + 0.9505 * b]
}

/// CIELAB under D65 (ISO/CIE 11664-4).
fn lab([x, y, z]: [f64; 3]) -> [f64; 3] {
    let f = |t: f64| if t > 216.0 / 24389.0 { t.cbrt() } else { (24389.0 / 27.0 * t + 16.0) / 116.0 };
    let [x, y, z] = [f(x / 0.95046), f(y), f(z / 1.08906)];
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// Luminance of CIELAB's lightness.
fn luminance(l: f64) -> f64 {
    ((l + 16.0) / 116.0).powi(3)
}

/// A straight camera under daylight shows what is said to be true: the cheek has its colour, and the band is to the cheek as skin and
/// light say. What is left is shine, which is no part of skin.
#[test]
fn the_picture_shows_the_truth() {
    for seed in 0..12 {
        let person = Person::invented(seed);
        let shot = Shot {
            camera_kind: 0,
            jpeg_space: phantom::Space::Srgb,
            noise: 0.0,
            blur: 0.0,
            exposure: -0.3,
            ..Shot::measured(seed, Setting::D65)
        };
        let (picture, truth) = photograph(&person, &shot);
        let landmarks = face::Landmarks::new(truth.landmarks.clone()).expect("finite");
        let frame = face::Frame::fit(&landmarks).expect("a face").with_scale(truth.mm_per_px);
        let skin = truth.skin.expect("measured");
        for (number, side) in [vocab::Side::Right, vocab::Side::Left].into_iter().enumerate() {
            let seen = |area| {
                let lids = face::region::margins(&landmarks);
                let corners = face::region::outline(area, side, &landmarks, &frame, &lids, [0.0; 2]).corners;
                average(&picture, &corners.iter().map(|p| [p.x, p.y]).collect::<Vec<_>>())
            };
            let (band, cheek) = (seen(face::region::Area::Band), seen(face::region::Area::Cheek));
            let own = &skin.sides[number];
            let by = luminance(own.cheek[0]) / cheek[1];
            let [_, a, b] = lab(cheek.map(|v| v * by));
            let name = person.tone.name();
            assert!(
                (a - own.cheek[1]).abs() < 2.0 && (b - own.cheek[2]).abs() < 2.0,
                "{name}, {side:?} cheek: a* {a:.1} b* {b:.1}, true {:.1?}",
                own.cheek
            );
            let expected = (luminance(own.band[0]) / luminance(own.cheek[0])).ln() + own.light;
            let got = (band[1] / cheek[1]).ln();
            // Shine lights both alike, and is more of what dark skin sends back.
            let most = 0.02 + 0.006 / luminance(own.cheek[0]);
            assert!((got - expected).abs() < most, "{name}, {side:?}: ln {got:.3}, true {expected:.3}");
        }
    }
}

/// Worn spectacles cross the skin under many eyes with a dark rim, and change the rest of the face not at all.
#[test]
fn spectacles_cross_the_skin_under_many_eyes() {
    let (mut crossed, mut sides) = (0, 0);
    for seed in 0..20 {
        let person = Person::invented(seed);
        let bare = Shot { width: 480, height: 600, blur: 0.0, ..small(seed, Setting::D65) };
        let (without, truth) = photograph(&person, &bare);
        let (with, worn) = photograph(&person, &Shot { spectacles: true, ..bare });
        assert_eq!(truth, worn, "seed {seed}: what is true of the skin stays");
        let landmarks = face::Landmarks::new(truth.landmarks.clone()).expect("finite");
        let frame = face::Frame::fit(&landmarks).expect("a face").with_scale(truth.mm_per_px);
        for side in [vocab::Side::Right, vocab::Side::Left] {
            let of = |area| {
                let lids = face::region::margins(&landmarks);
                let corners = face::region::outline(area, side, &landmarks, &frame, &lids, [0.0; 2]).corners;
                inside(&without, &corners.iter().map(|p| [p.x, p.y]).collect::<Vec<_>>())
            };
            let level = |p: &phantom::Picture, at: usize| f64::from(p.rgb[at + 1]);
            let band = of(face::region::Area::Band);
            let dark = band.iter().filter(|at| level(&with, **at) < 0.5 * level(&without, **at)).count();
            sides += 1;
            crossed += u32::from(dark as f64 > 0.04 * band.len() as f64);
            let jaw = of(face::region::Area::Jaw);
            assert!(jaw.iter().all(|at| with.rgb[*at] == without.rgb[*at]), "seed {seed}: the jaw is bare");
        }
    }
    assert!(crossed * 5 >= sides * 2, "rims cross {crossed} of {sides} bands");
}

/// The mean XYZ of the pixels whose centres lie inside a polygon.
fn average(picture: &phantom::Picture, corners: &[[f64; 2]]) -> [f64; 3] {
    let all = inside(picture, corners);
    let of = |at: &usize| xyz([picture.rgb[*at], picture.rgb[at + 1], picture.rgb[at + 2]]);
    let sum = all.iter().map(of).fold([0.0; 3], |s, v| std::array::from_fn(|k| s[k] + v[k]));
    sum.map(|v| v / all.len().max(1) as f64)
}

/// Where the bytes of the pixels begin whose centres lie inside a polygon.
fn inside(picture: &phantom::Picture, corners: &[[f64; 2]]) -> Vec<usize> {
    let mut all = Vec::new();
    for y in 0..picture.height {
        for x in 0..picture.width {
            let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
            let odd = (0..corners.len())
                .filter(|i| {
                    let (a, b) = (corners[*i], corners[(i + 1) % corners.len()]);
                    (a[1] > py) != (b[1] > py) && px < (b[0] - a[0]) * (py - a[1]) / (b[1] - a[1]) + a[0]
                })
                .count();
            if odd % 2 == 1 {
                all.push(3 * (y * picture.width + x));
            }
        }
    }
    all
}

/// A plain shot holds no truth of skin.
#[test]
fn a_plain_shot_has_no_truth_of_skin() {
    let (person, shot) = (Person::invented(3), Shot { width: 240, height: 300, ..Shot::plain() });
    let (_, truth) = photograph(&person, &shot);
    assert!(truth.skin.is_none() && truth.card.is_none());
    assert_eq!(truth, known(&person, &shot));
}
