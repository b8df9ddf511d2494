//! The picture and its truth agree.

use phantom::{Hair, Light, Person, Shot, Tone, known, photograph};

fn small(seed: u64) -> Shot {
    Shot { width: 320, height: 400, noise: 0.0, blur: 0.0, seed, ..Shot::plain() }
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    ((a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2) + (a[2] - b[2]).powi(2)).sqrt()
}

/// Mean linear-ish level of a small square, sRGB 0-255.
fn patch(picture: &phantom::Picture, at: [f64; 2], half: i64) -> Option<[f64; 3]> {
    let mut sum = [0.0; 3];
    let mut count = 0.0;
    for dy in -half..=half {
        for dx in -half..=half {
            let (x, y) = (at[0].floor() as i64 + dx, at[1].floor() as i64 + dy);
            if x < 0 || y < 0 || x >= picture.width as i64 || y >= picture.height as i64 {
                return None;
            }
            let i = (y as usize * picture.width + x as usize) * 3;
            (0..3).for_each(|k| sum[k] += f64::from(picture.rgb[i + k]));
            count += 1.0;
        }
    }
    Some(sum.map(|s| s / count))
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    for seed in [3, 17] {
        let shot = Shot { width: 320, height: 400, ..Shot::random(seed) };
        let (a, b) = (photograph(&Person::invented(seed), &shot), photograph(&Person::invented(seed), &shot));
        assert!(a.0 == b.0 && a.1 == b.1, "seed {seed}");
        let other = photograph(&Person::invented(seed + 1), &shot);
        assert!(a.0 != other.0, "another person looks other than {seed}");
    }
}

#[test]
fn projecting_the_head_gives_the_landmarks() {
    for seed in 0..6 {
        let shot = Shot { width: 320, height: 400, ..Shot::random(seed) };
        let person = Person::invented(seed);
        let (_, truth) = photograph(&person, &shot);
        assert!(truth == known(&person, &shot), "seed {seed}: known without the picture");
        assert_eq!((truth.landmarks.len(), truth.head_mm.len()), (478, 478));
        for (i, (mark, p)) in truth.landmarks.iter().zip(&truth.head_mm).enumerate() {
            let [x, y] = truth.project(*p);
            assert!((x - mark[0]).hypot(y - mark[1]) < 1e-9, "seed {seed}, landmark {i}");
        }
        // Nearer is smaller: the tip of the nose before the ear.
        assert!(truth.landmarks[4][2] < truth.landmarks[234][2] - 10.0, "seed {seed}");
        for (mm, px) in truth.hairline_mm.iter().zip(&truth.hairline_px) {
            assert_eq!(truth.project(*mm), *px);
        }
        assert!(truth.hairline_mm[0][0] < -30.0 && truth.hairline_mm[40][0] > 30.0, "own right to own left");
    }
}

/// A turned, nodding or tilting head moves as its pose says (signs of the frame).
#[test]
fn the_pose_has_its_sign() {
    let person = Person::invented(2);
    let nose = |yaw, pitch, roll| {
        let truth = known(&person, &Shot { yaw, pitch, roll, ..small(1) });
        (truth.landmarks[4], truth.landmarks[168], truth.landmarks[10], truth.landmarks[152])
    };
    let straight = nose(0.0, 0.0, 0.0);
    assert!(nose(10.0, 0.0, 0.0).0[0] > straight.0[0] + 3.0, "yaw > 0: the nose goes to the own left, larger x");
    assert!(nose(0.0, 10.0, 0.0).0[1] < straight.0[1] - 3.0, "pitch > 0: the nose goes up, smaller y");
    let tilted = nose(0.0, 0.0, 10.0);
    assert!(tilted.2[0] > straight.2[0] + 5.0 && tilted.3[0] < straight.3[0] - 5.0, "roll > 0: top to the own left");
}

#[test]
fn the_iris_has_its_diameter() {
    for seed in 0..8 {
        let person = Person::invented(seed);
        let truth = known(&person, &small(seed));
        for eye in [468, 473] {
            let across = truth.landmarks[eye + 1][0] - truth.landmarks[eye + 3][0];
            let mm = across * truth.mm_per_px;
            assert!((mm / truth.iris_mm - 1.0).abs() < 0.01, "seed {seed}, eye {eye}: {mm} for {}", truth.iris_mm);
        }
        assert!((truth.iris_mm - person.build.iris_mm).abs() < 1e-12);
    }
}

/// The pupil is painted where the truth says: the darkest small spot of the eye lies at the iris' centre.
#[test]
fn the_pupil_is_where_the_truth_says() {
    for seed in 0..6 {
        let shot = Shot { noise: 0.0, blur: 0.0, light: Light::SideWindow, ..Shot::plain() };
        let (picture, truth) = photograph(&Person::invented(seed), &shot);
        for eye in [468, 473] {
            let centre = truth.landmarks[eye];
            let radius = truth.iris_mm / truth.mm_per_px / 2.0;
            let level = |x: f64, y: f64| patch(&picture, [x, y], 1).map_or(255.0, |c| c[0] + c[1] + c[2]);
            let pupil = level(centre[0], centre[1] + 0.12 * radius);
            let white = level(centre[0] - 1.35 * radius, centre[1] + 0.2 * radius)
                .max(level(centre[0] + 1.35 * radius, centre[1] + 0.2 * radius));
            assert!(white > pupil + 90.0, "seed {seed}, eye {eye}: pupil {pupil}, white {white}");
        }
    }
}

/// ANSUR II (women and men pooled with equal weight) and Rufer et al. 2005; tolerances are four standard errors.
#[test]
fn sizes_agree_with_published_ones() {
    let people = 300;
    let mut rows: Vec<[f64; 5]> = Vec::new();
    for seed in 0..people {
        let truth = known(&Person::invented(seed), &Shot::plain());
        let h = &truth.head_mm;
        rows.push([
            distance(h[468], h[473]),
            distance(h[168], h[152]),
            distance(h[234], h[454]),
            truth.iris_mm,
            distance(truth.hairline_mm[20], h[9]),
        ]);
    }
    let expected = [
        ("interpupillary", 62.9, 3.6),
        ("menton-sellion", 118.0, 8.0),
        ("bizygomatic", 138.0, 7.0),
        ("iris", 11.71, 0.42),
        ("hairline", 60.0, 8.0),
    ];
    for (k, (name, mean, sd)) in expected.into_iter().enumerate() {
        let n = people as f64;
        let m = rows.iter().map(|r| r[k]).sum::<f64>() / n;
        let s = (rows.iter().map(|r| (r[k] - m).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        assert!((m - mean).abs() < 4.0 * sd / n.sqrt(), "{name}: mean {m:.2}, expected {mean}");
        assert!((s / sd - 1.0).abs() < 0.18, "{name}: SD {s:.2}, expected {sd}");
    }
}

/// Pairs of landmarks differ by little: both halves of a face are nearly alike, not the same.
#[test]
fn halves_are_nearly_alike() {
    let mut any = false;
    for seed in 0..20 {
        let truth = known(&Person::invented(seed), &Shot::plain());
        for (right, left) in [(33, 263), (133, 362), (61, 291), (234, 454), (172, 397), (105, 334)] {
            let (r, l) = (truth.head_mm[right], truth.head_mm[left]);
            let off = distance([-r[0], r[1], r[2]], l);
            assert!(off < 7.0, "seed {seed}, {right} and {left}: {off:.2} mm apart");
            any |= off > 0.3;
        }
    }
    assert!(any, "some faces are uneven");
}

/// Where the truth says cheek there is skin: redder than green than blue, and darker for darker classes.
#[test]
fn cheeks_are_skin() {
    let mut by_tone = [0.0; 6];
    for seed in 0..24 {
        let person = Person::invented(seed);
        let (picture, truth) = photograph(&person, &small(seed));
        for mark in [50, 280, 205, 425] {
            let Some([r, g, b]) = patch(&picture, [truth.landmarks[mark][0], truth.landmarks[mark][1]], 2) else {
                panic!("seed {seed}: cheek {mark} outside the picture");
            };
            assert!(r > g && g > b && r > 45.0, "seed {seed}, landmark {mark}: {r:.0} {g:.0} {b:.0}");
            by_tone[person.tone as usize] += g / 16.0;
        }
    }
    for (k, pair) in by_tone.windows(2).enumerate() {
        assert!(pair[0] > pair[1], "{} is lighter than {}: {by_tone:?}", Tone::ALL[k].name(), Tone::ALL[k + 1].name());
    }
}

/// Across a hairline that is seen, the colour changes from skin to hair where the truth says, within 1.5 mm.
#[test]
fn the_hairline_is_where_the_truth_says() {
    let (mut checked, mut near) = (0, 0);
    for seed in 0..30 {
        let person = Person::invented(seed);
        if person.hair != Hair::Bald {
            assert_eq!(person.hair == Hair::Fringe, !person.hair.shows_hairline());
        }
        let shot = Shot { noise: 0.0, blur: 0.0, width: 640, height: 800, ..Shot::plain() };
        let (picture, truth) = photograph(&person, &shot);
        assert_eq!(truth.hairline_seen, person.hair.shows_hairline(), "seed {seed}");
        if !truth.hairline_seen {
            continue;
        }
        for i in 6..=34 {
            let at = truth.hairline_px[i];
            let (dx, dy) = (at[0] - truth.landmarks[9][0], at[1] - truth.landmarks[9][1]);
            let (ux, uy) = (dx / dx.hypot(dy), dy / dx.hypot(dy));
            // Levels along the line from the glabella through the hairline, 14 px to each side; the border is where
            // the mean of the two sides differs most.
            let level = |s: i32| {
                let p = [at[0] + ux * f64::from(s), at[1] + uy * f64::from(s)];
                patch(&picture, p, 1).map_or([0.0; 3], |c| c)
            };
            let row: Vec<[f64; 3]> = (-14..=14).map(level).collect();
            let step = |k: usize| {
                let mean = |r: &[[f64; 3]], j: usize| r.iter().map(|c| c[j]).sum::<f64>() / r.len() as f64;
                (0..3).map(|j| (mean(&row[k - 4..k], j) - mean(&row[k..k + 4], j)).abs()).sum::<f64>()
            };
            let best = (4..row.len() - 4).max_by(|a, b| step(*a).total_cmp(&step(*b))).unwrap_or(0);
            let off = (best as f64 - 0.5 - 14.0) * truth.mm_per_px;
            checked += 1;
            near += i32::from(off.abs() <= 1.5);
        }
    }
    assert!(checked > 400, "only {checked} places looked at");
    assert!(f64::from(near) >= 0.95 * f64::from(checked), "{near} of {checked} within 1.5 mm");
}

#[test]
fn closed_lids_meet() {
    let open = known(&Person::invented(8), &small(0));
    let shut = known(&Person::invented(8), &Shot { eyes_closed: true, ..small(0) });
    for (upper, lower) in [(159, 145), (386, 374)] {
        assert!(distance(open.head_mm[upper], open.head_mm[lower]) > 5.0);
        assert!(distance(shut.head_mm[upper], shut.head_mm[lower]) < 0.3);
    }
}
