use super::*;
use crate::matrix::{inverse, times};

/// The tool's own card as designed.
fn card() -> Vec<Patch> {
    let table = include_str!("../../../../data/card/layout.csv");
    let rows = table.lines().filter(|l| l.starts_with("patch,"));
    rows.map(|row| {
        let f: Vec<&str> = row.split(',').collect();
        let n = |i: usize| f[i].parse().unwrap();
        Patch { name: f[1].to_string(), lab: Lab { l: n(6), a: n(7), b: n(8) }, grey: f[9] == "true" }
    })
    .collect()
}

/// An invented camera: its own primaries and white (one matrix), then a tone curve a channel.
struct Camera {
    mix: M3,
    tone: fn(f64) -> f64,
}

const PLAIN: fn(f64) -> f64 = |v| v;
/// A gamma with a soft shoulder, as telephones lay over their pictures.
const SHOULDER: fn(f64) -> f64 = |v| {
    let v = v.max(0.0).powf(0.92);
    1.08 * v / (1.0 + 0.08 * v * v)
};
/// An S: darks darker, lights lighter.
const ESS: fn(f64) -> f64 = |v| {
    let v = v.max(0.0);
    v * (0.82 + 0.5 * v - 0.3 * v * v)
};
const WARM: M3 = [[1.12, -0.10, 0.02], [-0.04, 0.92, 0.03], [0.01, -0.06, 0.71]];

impl Camera {
    fn sees(&self, lab: Lab) -> Linear {
        Linear(times(&self.mix, Linear::of_xyz(lab.xyz()).0).map(|v| (self.tone)(v)))
    }

    fn reads(&self, patches: &[Patch]) -> Vec<Reading> {
        patches.iter().map(|p| Reading { linear: self.sees(p.lab), se: [2e-4; 3], clipped: 0.0 }).collect()
    }
}

/// Mean CIEDE2000 over published means of skin, which are not on the card.
fn skin_error(camera: &Camera, fit: &CardFit) -> f64 {
    let table = include_str!("../../../../data/colour/skin_lab.csv");
    let rows: Vec<Lab> = table
        .lines()
        .filter(|l| !l.starts_with(['#', 's']))
        .map(|l| {
            let f: Vec<&str> = l.split(',').collect();
            Lab::of_array([2, 3, 4].map(|i: usize| f[i].parse().unwrap()))
        })
        .collect();
    mean(rows.iter().map(|lab| ciede2000(*lab, fit.apply(camera.sees(*lab)).lab())))
}

#[test]
fn a_linear_camera_is_undone_exactly() {
    let camera = Camera { mix: WARM, tone: PLAIN };
    let patches = card();
    let fit = CardFit::fit(&patches, &camera.reads(&patches)).unwrap();
    assert_eq!(fit.kind(), FitKind::Matrix);
    assert!(fit.leave_one_out().unwrap() < 1e-6, "{:?}", fit.leave_one_out());
    let back = times(&inverse(&WARM), [0.3, 0.2, 0.1]);
    let found = Linear::of_xyz(fit.apply(Linear([0.3, 0.2, 0.1]))).0;
    for k in 0..3 {
        assert!((found[k] - back[k]).abs() < 1e-6, "{found:?} against {back:?}");
    }
}

#[test]
fn an_even_gain_needs_white_balance_alone() {
    let camera = Camera { mix: [[1.3, 0.0, 0.0], [0.0, 0.8, 0.0], [0.0, 0.0, 0.5]], tone: PLAIN };
    let patches = card();
    let fit = CardFit::fit(&patches, &camera.reads(&patches)).unwrap();
    assert_eq!(fit.kind(), FitKind::WhiteBalance);
    assert!(skin_error(&camera, &fit) < 1e-6);
}

#[test]
fn straightening_takes_the_tone_curve_out() {
    let patches = card();
    for (name, tone, bar) in [("shoulder", SHOULDER, 0.15), ("ess", ESS, 0.25)] {
        let camera = Camera { mix: WARM, tone };
        let readings = camera.reads(&patches);
        let fit = CardFit::fit(&patches, &readings).unwrap();
        let loo = fit.leave_one_out().unwrap();
        // The same card with its greys not known as such: nothing to straighten on.
        let colours: Vec<Patch> = patches.iter().map(|p| Patch { grey: false, ..p.clone() }).collect();
        let crooked = match CardFit::fit(&colours, &readings) {
            Ok(fit) => fit.leave_one_out().unwrap(),
            Err(FitError::TooFar { loo }) => loo,
            Err(e) => panic!("{name}: {e}"),
        };
        let skin = skin_error(&camera, &fit);
        assert!(loo < 0.6 * crooked, "{name}: {loo} against {crooked}");
        assert!(skin < bar, "{name}: {skin}");
    }
}

#[test]
fn a_curve_bent_in_display_p3_is_straightened_there() {
    const TO_P3: M3 = [[0.8225, 0.1775, 0.0], [0.0332, 0.9668, 0.0], [0.0171, 0.0724, 0.9105]];
    let patches = card();
    let readings: Vec<Reading> = patches
        .iter()
        .map(|p| {
            let bent = times(&TO_P3, Linear::of_xyz(p.lab.xyz()).0).map(SHOULDER);
            Reading { linear: Linear(times(&inverse(&TO_P3), bent)), se: [2e-4; 3], clipped: 0.0 }
        })
        .collect();
    let fit = CardFit::fit(&patches, &readings).unwrap();
    assert!(fit.leave_one_out().unwrap() < 0.3, "{:?}", fit.leave_one_out());
}

#[test]
fn a_blown_out_patch_takes_no_part() {
    let camera = Camera { mix: WARM, tone: SHOULDER };
    let patches = card();
    let mut readings = camera.reads(&patches);
    let (white, yellow) = (3, 2);
    assert_eq!((patches[white].name.as_str(), patches[yellow].name.as_str()), ("grey_95", "yellow"));
    for i in [white, yellow] {
        readings[i].linear = Linear([1.0, 0.8, 0.7]);
        readings[i].clipped = 0.3;
    }
    let fit = CardFit::fit(&patches, &readings).unwrap();
    for (i, r) in fit.residuals().iter().enumerate() {
        let out = [white, yellow].contains(&i);
        assert_eq!(r.dropped, out.then_some(Dropped::Clipped), "{}", r.name);
        assert_eq!(r.left_out.is_none(), out, "{}", r.name);
    }
    assert!(skin_error(&camera, &fit) < 0.35);
    // Had it been believed, the card would not have fitted.
    readings.iter_mut().for_each(|r| r.clipped = 0.0);
    assert!(matches!(CardFit::fit(&patches, &readings), Err(FitError::TooFar { .. })));
}

#[test]
fn one_grey_gives_white_balance_and_no_error() {
    let camera = Camera { mix: [[1.3, 0.0, 0.0], [0.0, 0.8, 0.0], [0.0, 0.0, 0.5]], tone: PLAIN };
    let grey = [Patch { name: "grey".to_string(), lab: Lab { l: 49.5, a: 0.0, b: 0.0 }, grey: true }];
    let fit = CardFit::fit(&grey, &camera.reads(&grey)).unwrap();
    assert_eq!((fit.kind(), fit.leave_one_out()), (FitKind::WhiteBalance, None));
    assert_eq!(fit.difference_error(grey[0].lab, [1.0, 0.0, 0.0]), None);
    assert!(skin_error(&camera, &fit) < 1e-6);
}

#[test]
fn greys_alone_straighten_and_balance() {
    let camera = Camera { mix: [[1.1, 0.0, 0.0], [0.0, 0.9, 0.0], [0.0, 0.0, 0.6]], tone: SHOULDER };
    let greys: Vec<Patch> = card().into_iter().filter(|p| p.grey).collect();
    let fit = CardFit::fit(&greys, &camera.reads(&greys)).unwrap();
    assert_eq!((fit.kind(), fit.leave_one_out()), (FitKind::WhiteBalance, None));
    assert!(skin_error(&camera, &fit) < 0.5, "{} {:?}", skin_error(&camera, &fit), fit);
}

#[test]
fn what_cannot_be_fitted_says_what_to_do() {
    let camera = Camera { mix: WARM, tone: PLAIN };
    let patches = card();
    let readings = camera.reads(&patches);
    let colours: Vec<usize> = (0..patches.len()).filter(|i| !patches[*i].grey).collect();
    let some = |n: usize| -> (Vec<Patch>, Vec<Reading>) {
        colours.iter().take(n).map(|i| (patches[*i].clone(), readings[*i])).unzip()
    };
    let (three, light) = some(3);
    assert_eq!(CardFit::fit(&three, &light), Err(FitError::NoGreys));
    assert_eq!(CardFit::fit(&patches, &readings[1..]), Err(FitError::Uneven(18, 17)));
    let blown: Vec<Reading> = readings.iter().map(|r| Reading { clipped: 1.0, ..*r }).collect();
    assert_eq!(CardFit::fit(&patches, &blown), Err(FitError::TooFewPatches { kept: 0, dropped: 18 }));
    let broken: Vec<Reading> = readings.iter().map(|r| Reading { linear: Linear([f64::NAN; 3]), ..*r }).collect();
    assert_eq!(CardFit::fit(&patches, &broken), Err(FitError::TooFewPatches { kept: 0, dropped: 18 }));
    // Another card than the one whose values were entered.
    let mut other = patches.clone();
    other.rotate_left(5);
    let Err(error @ FitError::TooFar { loo }) = CardFit::fit(&other, &readings) else { panic!("it fits") };
    assert!(loo > WORST_LEAVE_ONE_OUT);
    assert!(error.to_string().contains("keep the card flat"), "{error}");
}

#[test]
fn colours_without_greys_are_fitted_as_they_are() {
    let camera = Camera { mix: WARM, tone: PLAIN };
    let colours: Vec<Patch> = card().into_iter().filter(|p| !p.grey).collect();
    let fit = CardFit::fit(&colours, &camera.reads(&colours)).unwrap();
    assert_eq!(fit.kind(), FitKind::Matrix);
    assert!(skin_error(&camera, &fit) < 1e-6);
}

/// A camera that no matrix undoes: its red sees a little of green's square root, as overlapping sensitivities do.
fn crooked(lab: Lab) -> Linear {
    let [r, g, b] = Linear::of_xyz(lab.xyz()).0.map(|v| v.max(0.0));
    let mixed = [r + 0.10 * ((r * g).sqrt() - r), g + 0.06 * ((g * b).sqrt() - g), b + 0.15 * ((r * b).sqrt() - b)];
    Linear(mixed.map(|v| SHOULDER(0.9 * v)))
}

#[test]
fn root_polynomials_undo_what_a_matrix_cannot() {
    let patches = card();
    let readings: Vec<Reading> =
        patches.iter().map(|p| Reading { linear: crooked(p.lab), se: [2e-4; 3], clipped: 0.0 }).collect();
    let fit = CardFit::fit(&patches, &readings).unwrap();
    assert_eq!(fit.kind(), FitKind::RootPolynomial);
    // The same with the 24-patch target, of which D65 colours are made from its published D50 ones.
    let table = include_str!("../../../../data/colour/target24_lab.csv");
    let target: Vec<Patch> = table
        .lines()
        .filter(|l| l.starts_with(|c: char| c.is_ascii_digit()))
        .map(|l| {
            let f: Vec<&str> = l.split(',').collect();
            let lab = Lab::of_d50([5, 6, 7].map(|i: usize| f[i].parse().unwrap()));
            Patch { name: f[1].to_string(), lab, grey: f[0].parse::<u8>().unwrap() >= 19 }
        })
        .collect();
    let readings: Vec<Reading> =
        target.iter().map(|p| Reading { linear: crooked(p.lab), se: [2e-4; 3], clipped: 0.0 }).collect();
    let fit = CardFit::fit(&target, &readings).unwrap();
    assert!(fit.leave_one_out().unwrap() < 0.5, "{:?} {:?}", fit.kind(), fit.leave_one_out());
}

#[test]
fn the_error_of_a_difference_is_about_what_it_says() {
    // Held to a matrix, the crooked camera leaves errors that are not noise.
    let patches: Vec<Patch> = card();
    let readings: Vec<Reading> =
        patches.iter().map(|p| Reading { linear: crooked(p.lab), se: [2e-4; 3], clipped: 0.0 }).collect();
    let used: Vec<Used> = patches.iter().zip(&readings).map(|(p, r)| (p, r, model::metric(p, r))).collect();
    let form = Form { kind: FitKind::Matrix, degree: Some(2), channels: Channels::Srgb };
    let errors = leave_one_out(form, &used)
        .unwrap()
        .iter()
        .map(|(k, f)| (k.array(), std::array::from_fn(|c| f.array()[c] - k.array()[c])))
        .collect();
    let model = Model::fit(form, &used).unwrap();
    let fit = CardFit { kind: form.kind, model, loo: None, residuals: Vec::new(), errors };
    let (mut said, mut true_) = (0.0, 0.0);
    for cheek in crate::Tone::ALL.map(crate::Tone::nominal_cheek) {
        for delta in [[-6.0, 1.0, -1.0], [-4.0, 3.0, -3.0], [-5.0, 0.5, 2.0]] {
            let band = Lab { l: cheek.l + delta[0], a: cheek.a + delta[1], b: cheek.b + delta[2] };
            let seen = |lab| fit.apply(crooked(lab)).lab().array();
            let (b, c) = (seen(band), seen(cheek));
            true_ += (0..3).map(|k| (b[k] - c[k] - delta[k]).powi(2)).sum::<f64>();
            said += fit.difference_error(cheek, delta).unwrap().iter().map(|v| v * v).sum::<f64>();
        }
    }
    let ratio = (said / true_).sqrt();
    // It says 0.28 where 0.10 is true: on the careful side, since leaving a patch out costs more than having it.
    assert!((0.8..4.0).contains(&ratio), "said {:.3}, true {:.3}", (said / 18.0).sqrt(), (true_ / 18.0).sqrt());
}

mod properties {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn any_telephone_s_curve_and_colours_are_undone(
            gains in prop::array::uniform3(0.55..1.2f64),
            cross in prop::array::uniform6(-0.08..0.08f64),
            gamma in 0.9..1.1f64,
            shoulder in 0.0..0.12f64,
            noise in 0.0..6e-4f64,
            seed in any::<u32>(),
        ) {
            let [a, b, c, d, e, f] = cross;
            let mix = [[gains[0], a, b], [c, gains[1], d], [e, f, gains[2]]];
            let patches = card();
            let tone = |v: f64| {
                let v = v.max(0.0).powf(gamma);
                (1.0 + shoulder) * v / (1.0 + shoulder * v)
            };
            let see = |lab: Lab| Linear(times(&mix, Linear::of_xyz(lab.xyz()).0).map(tone));
            // Noise of even spread, from a congruential sequence (Knuth's constants).
            let mut state = u64::from(seed);
            let mut shake = || {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                ((state >> 33) as f64 / f64::from(1u32 << 31) - 0.5) * 3.46 * noise
            };
            let readings: Vec<Reading> = patches
                .iter()
                .map(|p| Reading { linear: Linear(see(p.lab).0.map(|v| v + shake())), se: [noise; 3], clipped: 0.0 })
                .collect();
            let fit = CardFit::fit(&patches, &readings);
            prop_assert!(fit.is_ok(), "{fit:?}");
            let fit = fit.unwrap();
            for tone in crate::Tone::ALL {
                let lab = tone.nominal_cheek();
                let de = ciede2000(lab, fit.apply(see(lab)).lab());
                // At the corner of the ranges 1.09 was met; the fit then said 1.06 of itself, and it is held to that.
                let said = fit.leave_one_out().unwrap_or(0.0);
                prop_assert!(de < f64::max(1.0, 1.5 * said), "{}: {de}, {:?} {:?}", tone.name(), fit.kind(), fit.leave_one_out());
            }
        }
    }
}
