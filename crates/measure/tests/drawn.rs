//! The measurement on a drawn face whose every number is known: the canonical surface, one skin colour, a darker band, a
//! light from a known way. Simpler than an invented person, and by a path that shares nothing with one.

use colour::{Lab, Linear, ciede2000};
use face::region::{margins, outline};
use face::{Area, Frame, LANDMARKS, Landmarks, Pixel, Pixels, Pose, canonical, triangles};
use measure::{GateName, Leading, Light, Options, Warning, combine, measure};
use vocab::Side;

const PX_PER_MM: f64 = 5.0;
const SIZE: (usize, usize) = (1000, 1200);

/// A picture of linear light.
struct Drawn {
    light: Vec<[f64; 3]>,
    landmarks: Landmarks,
}

/// How it is drawn.
#[derive(Clone, Copy)]
struct Sheet {
    cheek: Lab,
    band: Lab,
    /// The way to a lamp, and its share of the light; the rest comes from everywhere.
    lamp: ([f64; 3], f64),
    /// Everything times this.
    exposure: f64,
    /// Texture of the skin, a share.
    texture: f64,
    grey: bool,
}

const LIGHT: Lab = Lab { l: 66.0, a: 11.0, b: 15.5 };
const SHADED: Lab = Lab { l: 61.0, a: 12.0, b: 14.5 };

impl Sheet {
    fn plain() -> Sheet {
        Sheet { cheek: LIGHT, band: SHADED, lamp: ([0.0, 0.3, 1.0], 0.5), exposure: 1.0, texture: 0.02, grey: false }
    }
}

fn unit(v: [f64; 3]) -> [f64; 3] {
    let n = v.iter().map(|c| c * c).sum::<f64>().sqrt();
    v.map(|c| c / n)
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}

fn inside(polygon: &[Pixel], p: Pixel) -> bool {
    let mut odd = false;
    for (i, a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            odd = !odd;
        }
    }
    odd
}

fn draw(sheet: &Sheet) -> Drawn {
    let surface = canonical();
    let at =
        |v: &[f64; 3]| [500.0 + 10.0 * PX_PER_MM * v[0], 560.0 - 10.0 * PX_PER_MM * v[1], -10.0 * PX_PER_MM * v[2]];
    let mut places: Vec<[f64; 3]> = surface.iter().map(at).collect();
    let bare = margins(&Landmarks::new([places.clone(), vec![[0.0; 3]; 10]].concat()).expect("finite"));
    // Irises of 11.71 mm in the middles of the eyes.
    for rim in bare {
        let (x, y) = ((rim[0].x + rim[8].x) / 2.0, (rim[0].y + rim[8].y) / 2.0 - 1.5 * PX_PER_MM);
        let r = 11.71 / 2.0 * PX_PER_MM;
        places.extend([[x, y], [x + r, y], [x, y - r], [x - r, y], [x, y + r]].map(|[x, y]| [x, y, -30.0 * PX_PER_MM]));
    }
    assert_eq!(places.len(), LANDMARKS);
    let landmarks = Landmarks::new(places.clone()).expect("finite");
    let frame = Frame::of_pose(Pose::default(), Pixel::new(500.0, 560.0), 1.0 / PX_PER_MM);
    let lids = margins(&landmarks);
    // The darker skin reaches past the band on every side, so that its edge is no matter here.
    let bands: Vec<Vec<Pixel>> = [Side::Right, Side::Left]
        .iter()
        .map(|side| {
            let of = |by| outline(Area::Band, *side, &landmarks, &frame, &lids, by).corners;
            let (up, down) = (of([0.0, -2.2]), of([0.0, 2.0]));
            let n = up.len();
            let middle = up.iter().map(|p| p.y).sum::<f64>() / n as f64;
            up.into_iter().zip(down).map(|(u, d)| if u.y < middle { u } else { d }).collect()
        })
        .collect();
    let eyes: Vec<Vec<Pixel>> = [
        [33, 7, 163, 144, 145, 153, 154, 155, 133, 173, 157, 158, 159, 160, 161, 246],
        [263, 249, 390, 373, 374, 380, 381, 382, 362, 398, 384, 385, 386, 387, 388, 466],
    ]
    .iter()
    .map(|ring| ring.iter().map(|n| landmarks.at(*n)).collect())
    .collect();
    let mut normals = vec![[0.0; 3]; surface.len()];
    for t in triangles() {
        let [a, b, c] = t.map(|n| surface[n]);
        let (u, v): ([f64; 3], [f64; 3]) = (std::array::from_fn(|k| b[k] - a[k]), std::array::from_fn(|k| c[k] - a[k]));
        let n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
        let sign = if n[2] < 0.0 { -1.0 } else { 1.0 };
        for i in t {
            (0..3).for_each(|k| normals[*i][k] += sign * n[k]);
        }
    }
    let Linear(cheek) = Linear::of_xyz(sheet.cheek.xyz());
    let Linear(band) = Linear::of_xyz(sheet.band.xyz());
    let lamp = unit(sheet.lamp.0);
    let mut light = vec![[0.5 * sheet.exposure; 3]; SIZE.0 * SIZE.1];
    let mut depth = vec![f64::MAX; SIZE.0 * SIZE.1];
    for t in triangles() {
        let p = t.map(|n| places[n]);
        let range = |k: usize, most: usize| {
            let v = p.map(|q| q[k]);
            (v.iter().copied().fold(f64::MAX, f64::min).max(0.0) as usize)
                ..((v.iter().copied().fold(f64::MIN, f64::max) + 1.0) as usize).min(most)
        };
        let det = (p[1][0] - p[0][0]) * (p[2][1] - p[0][1]) - (p[2][0] - p[0][0]) * (p[1][1] - p[0][1]);
        if det.abs() < 1e-9 {
            continue;
        }
        for y in range(1, SIZE.1) {
            for x in range(0, SIZE.0) {
                let q = [x as f64 + 0.5, y as f64 + 0.5];
                let b = ((q[0] - p[0][0]) * (p[2][1] - p[0][1]) - (p[2][0] - p[0][0]) * (q[1] - p[0][1])) / det;
                let c = ((p[1][0] - p[0][0]) * (q[1] - p[0][1]) - (q[0] - p[0][0]) * (p[1][1] - p[0][1])) / det;
                let a = 1.0 - b - c;
                if a < 0.0 || b < 0.0 || c < 0.0 {
                    continue;
                }
                let index = y * SIZE.0 + x;
                let z = a * p[0][2] + b * p[1][2] + c * p[2][2];
                if z > depth[index] {
                    continue;
                }
                depth[index] = z;
                let n =
                    unit(std::array::from_fn(|k| a * normals[t[0]][k] + b * normals[t[1]][k] + c * normals[t[2]][k]));
                let shade = (1.0 - sheet.lamp.1) + sheet.lamp.1 * dot(n, lamp).max(0.0);
                let here = Pixel::new(q[0], q[1]);
                let eye = eyes.iter().position(|e| inside(e, here));
                let own = match eye {
                    Some(side) => {
                        let iris = landmarks.at(if side == 0 { face::IRIS_RIGHT } else { face::IRIS_LEFT });
                        if here.to(iris) < 11.71 / 2.0 * PX_PER_MM { [0.05, 0.04, 0.03] } else { [0.62, 0.58, 0.56] }
                    }
                    None if bands.iter().any(|b| inside(b, here)) => band,
                    None => cheek,
                };
                // A fixed, fine, even pattern: its mean over an area is nought.
                let grain = ((x * 7 + y * 13) % 11) as f64 / 5.0 - 1.0;
                let by = shade * sheet.exposure * if eye.is_none() { 1.0 + sheet.texture * grain } else { 1.0 };
                light[index] = own.map(|v| v * by);
                if sheet.grey {
                    let y = 0.2126 * light[index][0] + 0.7152 * light[index][1] + 0.0722 * light[index][2];
                    light[index] = [y; 3];
                }
            }
        }
    }
    Drawn { light, landmarks }
}

fn encoded(v: f64) -> f64 {
    let v = v.clamp(0.0, 1.0);
    if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
}

impl Light for Drawn {
    fn size(&self) -> (usize, usize) {
        SIZE
    }

    fn linear(&self, x: usize, y: usize) -> Linear {
        Linear(self.light[y * SIZE.0 + x])
    }

    fn levels(&self, x: usize, y: usize) -> [u8; 3] {
        self.light[y * SIZE.0 + x].map(|v| (encoded(v) * 255.0).round() as u8)
    }
}

impl Pixels for Drawn {
    fn rgb(&self, at: Pixel) -> Option<[f64; 3]> {
        let inside = at.x >= 0.0 && at.y >= 0.0 && at.x < SIZE.0 as f64 && at.y < SIZE.1 as f64;
        inside.then(|| self.light[at.y as usize * SIZE.0 + at.x as usize].map(encoded))
    }
}

fn of(sheet: &Sheet) -> measure::Measured {
    let drawn = draw(sheet);
    let options = Options { tone: Some(colour::Tone::Intermediate), ..Options::default() };
    measure(&drawn, &drawn, &drawn.landmarks, &options).expect("a face")
}

fn failed(m: &measure::Measured) -> Vec<GateName> {
    m.gates.iter().filter(|g| !g.passed).map(|g| g.name).collect()
}

/// Without a card: the ratio of band to cheek on the nominal cheek, whatever the light's way.
#[test]
fn the_band_is_measured_against_the_cheek_under_lights_of_many_ways() {
    let nominal = colour::Tone::Intermediate.nominal_cheek();
    // The ratio of the cones that the Bradford adaptation scales, on the nominal cheek's.
    let on = LIGHT.xyz().adapted(LIGHT.xyz(), nominal.xyz());
    assert!(ciede2000(on.lab(), nominal) < 1e-6);
    let on = SHADED.xyz().adapted(LIGHT.xyz(), nominal.xyz()).lab();
    let expected = ciede2000(on, nominal);
    for lamp in [[0.0, 0.0, 1.0], [0.0, 0.6, 1.0], [0.12, 0.3, 1.0], [-0.12, 0.3, 1.0]] {
        let m = of(&Sheet { lamp: (lamp, 0.5), ..Sheet::plain() });
        assert!(m.usable, "{lamp:?}: {:?}", failed(&m));
        for s in m.sides.as_ref().expect("usable") {
            let got = s.shadow.de.value;
            assert!((got - expected).abs() < 0.6, "{lamp:?} {:?}: {got:.2} for {expected:.2}", s.side);
            assert!(
                (got - expected).abs() < s.shadow.de.u95,
                "{lamp:?} {:?}: within its U95 {:.2}",
                s.side,
                s.shadow.de.u95
            );
            assert!((s.shadow.l.value - (on.l - nominal.l)).abs() < 0.9, "{:?}", s.shadow);
        }
    }
}

/// No band: no shadow, and nothing leads.
#[test]
fn even_skin_has_no_shadow() {
    let m = of(&Sheet { band: LIGHT, ..Sheet::plain() });
    for s in m.sides.as_ref().expect("usable") {
        assert!(s.shadow.de.value < 0.9, "{:?}", s.shadow);
        assert_eq!(s.leading, Leading::CannotTell);
    }
}

/// A larger difference is a larger value.
#[test]
fn a_darker_band_is_a_larger_shadow() {
    let mut last = -1.0;
    for darker in [0.0, 2.0, 4.0, 8.0] {
        let m = of(&Sheet { band: Lab { l: LIGHT.l - darker, ..LIGHT }, ..Sheet::plain() });
        let de = m.sides.as_ref().expect("usable")[0].shadow.de.value;
        assert!(de > last, "{darker}: {de} after {last}");
        last = de;
    }
}

/// Each way to spoil a photograph is refused by its own gate, and refused photographs have no values.
#[test]
fn what_cannot_be_measured_is_refused_by_name() {
    for (gate, sheet) in [
        (GateName::Evenness, Sheet { lamp: ([1.0, 0.2, 0.5], 0.8), ..Sheet::plain() }),
        (GateName::Clipped, Sheet { exposure: 2.6, ..Sheet::plain() }),
        (GateName::Exposure, Sheet { exposure: 0.01, ..Sheet::plain() }),
        (GateName::Skin, Sheet { grey: true, ..Sheet::plain() }),
        (GateName::Skin, Sheet { texture: 0.0, lamp: ([0.0, 0.0, 1.0], 0.0), ..Sheet::plain() }),
    ] {
        let m = of(&sheet);
        assert!(failed(&m).contains(&gate), "{gate:?}: {:?}", failed(&m));
        assert!(!m.usable && m.sides.is_none());
    }
}

/// Two photographs of a visit: the mean, and less doubt than one.
#[test]
fn a_visit_is_the_mean_of_its_usable_photographs() {
    let (a, b) = (of(&Sheet::plain()), of(&Sheet { lamp: ([0.1, 0.4, 1.0], 0.5), ..Sheet::plain() }));
    let refused = of(&Sheet { grey: true, ..Sheet::plain() });
    let l = |m: &measure::Measured| m.sides.as_ref().expect("usable")[0].shadow.l;
    let visit = combine(&[a.clone(), refused.clone(), b.clone()]).expect("two usable");
    assert_eq!(visit.photographs, 2);
    let shadow = &visit.sides[0].shadow;
    assert!((shadow.l.value - (l(&a).value + l(&b).value) / 2.0).abs() < 1e-9);
    assert!(shadow.l.u95 < l(&a).u95.max(l(&b).u95), "{} of {} and {}", shadow.l.u95, l(&a).u95, l(&b).u95);
    let change = visit.sides[0].since(&combine(&[a]).expect("usable").sides[0]);
    assert!(change.de.value.abs() < change.de.u95, "nothing changed: {change:?}");
    assert!(combine(&[refused]).is_none());
}

#[test]
fn an_unknown_skin_class_is_estimated_and_said() {
    let drawn = draw(&Sheet::plain());
    let m = measure(&drawn, &drawn, &drawn.landmarks, &Options::default()).expect("a face");
    assert!(m.warnings.iter().any(|w| matches!(w, Warning::ToneEstimated(_))), "{:?}", m.warnings);
}

/// A lid that a person has placed stays where it was put; the other is still refined.
#[test]
fn a_lid_placed_by_hand_is_left_there() {
    let drawn = draw(&Sheet::plain());
    let lid = face::region::lower_lid(vocab::Side::Left)[4];
    let mut put = drawn.landmarks.at(lid);
    put.y += 5.0;
    let landmarks = face::corrected(&drawn.landmarks, &[(lid, put)]);
    let tone = Some(colour::Tone::Intermediate);
    let of = |lids_by_hand| {
        let options = Options { tone, lids_by_hand, ..Options::default() };
        measure(&drawn, &drawn, &landmarks, &options).expect("a face").margins
    };
    let (refined, left) = (of([false; 2]), of([false, true]));
    assert!(left[1][4].to(put) < 1e-3, "{:?} put {put:?}", left[1][4]);
    assert!(refined[1][4].to(put) > 0.5, "else the test says nothing: {:?} {put:?}", refined[1][4]);
    assert_eq!(refined[0], left[0]);
}
