use moxcms::ColorProfile;
use proptest::prelude::*;

use super::*;

/// A profile of these tags, ICC.1:2022, 7.2 and 7.3; the header's other fields are zero.
fn profile(version: u8, kind: &[u8; 4], connection: &[u8; 4], tags: &[(&[u8; 4], Vec<u8>)]) -> Vec<u8> {
    let mut out = vec![0; 128];
    out[8] = version;
    out[12..16].copy_from_slice(b"mntr");
    out[16..20].copy_from_slice(kind);
    out[20..24].copy_from_slice(connection);
    out[36..40].copy_from_slice(b"acsp");
    out[68..80].copy_from_slice(&[fixed(0.9642), fixed(1.0), fixed(0.8249)].concat());
    out.extend((tags.len() as u32).to_be_bytes());
    let mut at = out.len() + 12 * tags.len();
    for (name, body) in tags {
        out.extend(*name);
        out.extend([(at as u32).to_be_bytes(), (body.len() as u32).to_be_bytes()].concat());
        at += body.len();
    }
    tags.iter().for_each(|(_, body)| out.extend(body));
    let size = out.len() as u32;
    out[..4].copy_from_slice(&size.to_be_bytes());
    out
}

fn fixed(v: f64) -> [u8; 4] {
    ((v * 65536.0).round() as i32).to_be_bytes()
}

fn xyz(v: [f64; 3]) -> Vec<u8> {
    [b"XYZ \0\0\0\0".to_vec(), v.map(fixed).concat()].concat()
}

fn parametric(kind: u16, values: &[f64]) -> Vec<u8> {
    let values: Vec<u8> = values.iter().flat_map(|v| fixed(*v)).collect();
    [b"para\0\0\0\0".to_vec(), kind.to_be_bytes().to_vec(), vec![0, 0], values].concat()
}

fn table(values: &[u16]) -> Vec<u8> {
    let count = (values.len() as u32).to_be_bytes();
    let mut out =
        [b"curv\0\0\0\0".to_vec(), count.to_vec(), values.iter().flat_map(|v| v.to_be_bytes()).collect()].concat();
    out.resize(out.len().next_multiple_of(4), 0);
    out
}

/// sRGB's colorants as its own profiles carry them, under D50.
const COLORANTS: [[f64; 3]; 3] = [
    [0.436_065_67, 0.222_488_4, 0.013_916_02],
    [0.385_147_1, 0.716_873_2, 0.097_076_42],
    [0.143_066_41, 0.060_607_91, 0.714_096_1],
];

fn shaper(curve: &[u8]) -> Vec<u8> {
    let [r, g, b] = COLORANTS.map(xyz);
    let c = || curve.to_vec();
    let tags: [(&[u8; 4], Vec<u8>); 6] =
        [(b"rXYZ", r), (b"gXYZ", g), (b"bXYZ", b), (b"rTRC", c()), (b"gTRC", c()), (b"bTRC", c())];
    profile(4, b"RGB ", b"XYZ ", &tags)
}

fn near(found: Linear, expected: Linear, by: f64) {
    for (f, e) in found.0.iter().zip(expected.0) {
        assert!((f - e).abs() <= by, "{found:?} against {expected:?}");
    }
}

const SOME: [[f64; 3]; 5] = [[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [0.8, 0.62, 0.51], [0.02, 0.9, 0.1], [0.35, 0.2, 0.17]];

#[test]
fn the_library_s_own_profiles_are_the_standards() {
    for (profile, space) in [
        (ColorProfile::new_srgb(), Space::srgb()),
        (ColorProfile::new_display_p3(), Space::display_p3()),
        (ColorProfile::new_adobe_rgb(), Space::adobe_rgb()),
    ] {
        let found = Space::of_icc(&profile.encode().unwrap()).unwrap();
        assert_eq!(found.note(), None, "{}", found.name());
        for rgb in SOME {
            // The library's D65 and D50 differ from the standards' in the fourth digit.
            near(found.linear(rgb), space.linear(rgb), 5e-4);
        }
    }
}

#[test]
fn every_kind_of_curve_is_read() {
    let [g, a, b, c, d] = [2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045];
    let srgb: Vec<u16> =
        (0..1024).map(|i| (Curve::Srgb.linear(f64::from(i) / 1023.0) * 65535.0).round() as u16).collect();
    let expected: [(Vec<u8>, Curve); 8] = [
        (table(&[]), Curve::Power(1.0)),
        (table(&[0x0233]), Curve::Power(563.0 / 256.0)),
        (table(&srgb), Curve::Srgb),
        (parametric(0, &[1.8]), Curve::Power(1.8)),
        (
            parametric(1, &[2.0, 0.9, 0.1]),
            Curve::Parametric { g: 2.0, a: 0.9, b: 0.1, c: 0.0, d: -1.0, e: 0.0, f: 0.0 },
        ),
        (
            parametric(2, &[2.0, 0.8, 0.1, 0.19]),
            Curve::Parametric { g: 2.0, a: 0.8, b: 0.1, c: 0.0, d: -1.0, e: 0.19, f: 0.19 },
        ),
        (parametric(3, &[g, a, b, c, d]), Curve::Srgb),
        (parametric(4, &[g, a, b, c, d, 0.0, 0.0]), Curve::Srgb),
    ];
    for (bytes, curve) in expected {
        let space = Space::of_icc(&shaper(&bytes)).unwrap();
        for rgb in SOME {
            // The colorants carry five digits and the parameters as many.
            near(space.linear(rgb), Linear(rgb.map(|v| curve.linear(v))), 1.5e-4);
        }
    }
}

#[test]
fn nothing_is_clipped() {
    let Linear([r, _, _]) =
        Space::of_icc(&ColorProfile::new_display_p3().encode().unwrap()).unwrap().linear([0.0, 1.0, 0.0]);
    // P3's green in sRGB: -0.2249 (from the two standards' primaries, by hand).
    assert!((r + 0.2249).abs() < 5e-4, "{r}");
}

/// sRGB as a version 2 table to Lab, exact at its grid points.
fn lut16() -> Vec<u8> {
    const POINTS: u16 = 9;
    let mut body =
        [b"mft2\0\0\0\0\x03\x03\x09\0".to_vec(), [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0].map(fixed).concat()]
            .concat();
    let mut push = |v: f64| body.extend((v.round() as u16).to_be_bytes());
    [2.0, 2.0].into_iter().for_each(&mut push);
    (0..3).for_each(|_| [0.0, 65535.0].into_iter().for_each(&mut push));
    let space = Space::srgb();
    for r in 0..POINTS {
        for g in 0..POINTS {
            for b in 0..POINTS {
                let light = space.linear([r, g, b].map(|v| f64::from(v) / 8.0));
                let d50 = light.xyz().adapted(Xyz::WHITE_D65, Xyz::WHITE_D50);
                // Lab under D50 is Lab of the same ratios to white.
                let lab = Xyz(std::array::from_fn(|k| d50.0[k] / Xyz::WHITE_D50.0[k] * Xyz::WHITE_D65.0[k])).lab();
                [lab.l * 652.8, (lab.a + 128.0) * 256.0, (lab.b + 128.0) * 256.0].into_iter().for_each(&mut push);
            }
        }
    }
    (0..3).for_each(|_| [0.0, 65535.0].into_iter().for_each(&mut push));
    profile(2, b"RGB ", b"Lab ", &[(b"A2B0", body)])
}

/// sRGB as a version 4 table to XYZ: curves and a matrix, no grid.
fn lut_ab() -> Vec<u8> {
    let curve = parametric(3, &[2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045]);
    let line = parametric(0, &[1.0]);
    let matrix: Vec<u8> = (0..3)
        .flat_map(|row| COLORANTS.map(|c| fixed(c[row] * 32768.0 / 65535.0)).concat())
        .chain([fixed(0.0); 3].concat())
        .collect();
    let (b, m) = (line.repeat(3), curve.repeat(3));
    let at = [32, 32 + b.len(), 32 + b.len() + matrix.len(), 0, 0].map(|v| (v as u32).to_be_bytes()).concat();
    let body = [b"mAB \0\0\0\0\x03\x03\0\0".to_vec(), at, b, matrix, m].concat();
    profile(4, b"RGB ", b"XYZ ", &[(b"A2B1", body)])
}

#[test]
fn tables_are_followed() {
    let space = Space::of_icc(&lut16()).unwrap();
    assert!(space.note().is_some());
    for rgb in [[0.0; 3], [1.0; 3], [0.875, 0.625, 0.5], [0.5, 0.25, 0.125], [0.125, 1.0, 0.0]] {
        near(space.linear(rgb), Space::srgb().linear(rgb), 2e-4);
    }
    // Between grid points of a coarse table the table itself is off.
    near(space.linear([0.81, 0.62, 0.51]), Space::srgb().linear([0.81, 0.62, 0.51]), 5e-3);
    let space = Space::of_icc(&lut_ab()).unwrap();
    for rgb in SOME {
        // The colorants' sum is white to four digits.
        near(space.linear(rgb), Space::srgb().linear(rgb), 4e-4);
        let byte = rgb.map(|v| (v * 255.0).round() as u8);
        assert_eq!(space.table8().linear(byte), space.linear(byte.map(|v| f64::from(v) / 255.0)));
    }
}

#[test]
fn the_fast_way_is_the_slow_way() {
    for space in [Space::srgb(), Space::display_p3(), Space::adobe_rgb()] {
        let table = space.table8();
        for v in 0..=255u8 {
            let rgb = [v, 255 - v, v.wrapping_mul(7)];
            assert_eq!(table.linear(rgb), space.linear(rgb.map(|v| f64::from(v) / 255.0)));
        }
    }
}

#[test]
fn what_cannot_be_read_says_why() {
    let line = parametric(0, &[1.0]);
    let (r, g) = (xyz(COLORANTS[0]), xyz(COLORANTS[1]));
    let flat: [(&[u8; 4], Vec<u8>); 6] = [
        (b"rXYZ", r.clone()),
        (b"gXYZ", g.clone()),
        (b"bXYZ", g),
        (b"rTRC", line.clone()),
        (b"gTRC", line.clone()),
        (b"bTRC", line.clone()),
    ];
    let cases: [(Vec<u8>, &str); 6] = [
        (Vec::new(), "damaged"),
        (vec![7; 300], "damaged"),
        (profile(4, b"CMYK", b"Lab ", &[]), "for CMYK, not RGB"),
        (profile(4, b"RGB ", b"XYZ ", &[(b"rXYZ", r)]), "does not say what its colours mean"),
        (profile(4, b"RGB ", b"XYZ ", &flat), "do not span"),
        (shaper(&table(&[0; 16])), "black to white"),
    ];
    for (bytes, said) in cases {
        let error = Space::of_icc(&bytes).unwrap_err().to_string();
        assert!(error.contains(said), "{error:?} does not say {said:?}");
    }
}

#[test]
fn a_white_that_is_not_d50_is_the_file_s_white() {
    // As some old monitor profiles carry it: the colorants under D65.
    let m = crate::light::primaries(&SRGB, D65);
    let column = |k: usize| xyz([m[0][k], m[1][k], m[2][k]]);
    let c = || table(&[0x0200]);
    let tags: [(&[u8; 4], Vec<u8>); 6] = [
        (b"rXYZ", column(0)),
        (b"gXYZ", column(1)),
        (b"bXYZ", column(2)),
        (b"rTRC", c()),
        (b"gTRC", c()),
        (b"bTRC", c()),
    ];
    let space = Space::of_icc(&profile(2, b"RGB ", b"XYZ ", &tags)).unwrap();
    assert!(space.note().is_some_and(|n| n.contains("white")));
    near(space.linear([1.0; 3]), Linear([1.0; 3]), 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn damage_is_an_error_or_a_space_and_never_a_crash(
        which in 0..4usize,
        hits in prop::collection::vec((0.0..1.0f64, any::<u8>()), 1..24),
        cut in 0.0..1.0f64,
        keep in any::<bool>(),
    ) {
        let mut bytes = match which {
            0 => ColorProfile::new_display_p3().encode().unwrap(),
            1 => lut16(),
            2 => lut_ab(),
            _ => shaper(&table(&[0, 1000, 30_000, 65_535])),
        };
        // Half of the damage goes to the header and the list of tags, which say where everything lies.
        for (i, (place, value)) in hits.iter().enumerate() {
            let reach = if i % 2 == 0 { bytes.len() } else { bytes.len().min(260) };
            let at = (place * reach as f64) as usize;
            bytes[at] = *value;
        }
        if !keep {
            bytes.truncate((cut * bytes.len() as f64) as usize);
        }
        match Space::of_icc(&bytes) {
            Ok(space) => {
                for rgb in SOME {
                    prop_assert!(space.linear(rgb).0.iter().all(|v| v.is_finite()), "{space:?}");
                }
            }
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}
