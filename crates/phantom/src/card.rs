//! The reference card in a measured photograph: held below the chin, lit by the same rays.

use nalgebra::Matrix3;

use crate::V3;
use crate::camera::Camera;
use crate::figure::Figure;
use crate::light::Ray;
use crate::marks::MENTON;
use crate::rng::Rng;
use crate::shot::Shot;
use crate::spectral::cielab::lab;
use crate::spectral::sensor::{Sensor, smooth};
use crate::spectral::tables::{COUNT, xyz};
use crate::strokes::Canvas;
use crate::truth::{CardPatch, CardTruth};

static LAYOUT: &str = include_str!("../../../data/card/layout.csv");
static CODE: &str = include_str!("../../../data/card/qr.txt");

/// Width and height of the card, mm.
const SIZE: [f64; 2] = [85.6, 54.0];

/// A rectangle of the card, mm from its top left corner.
struct Field {
    name: String,
    low: [f64; 2],
    size: [f64; 2],
    lab: [f64; 3],
    grey: bool,
    code: bool,
}

fn layout() -> Vec<Field> {
    let one = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let n: Vec<f64> = cells.get(2..9)?.iter().map(|c| c.parse().ok()).collect::<Option<_>>()?;
        Some(Field {
            name: cells[1].to_owned(),
            low: [n[0], n[1]],
            size: [n[2], n[3]],
            lab: [n[4], n[5], n[6]],
            grey: *cells.get(9)? == "true",
            code: cells[0] == "qr",
        })
    };
    LAYOUT.lines().filter(|l| !l.starts_with('#')).filter_map(one).collect()
}

/// XYZ of L*a*b* (D65), white Y = 1.
fn xyz_of([l, a, b]: [f64; 3]) -> [f64; 3] {
    let white = [0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290];
    let y = (l + 16.0) / 116.0;
    let back = |f: f64| if f > 6.0 / 29.0 { f * f * f } else { (116.0 * f - 16.0) * 27.0 / 24389.0 };
    let f = [y + a / 500.0, y, y - b / 200.0];
    std::array::from_fn(|k| white[k] * back(f[k]))
}

/// How far the card keeps from the picture's edge, as a share of the picture's width.
const MARGIN: f64 = 0.025;

/// Where a person holds the card so that all of it is seen and none of it hides the face: moved inside the picture, and where the room
/// below the chin (at `chin_px`) is too low, held farther back, where it looks smaller. World, the card's middle.
fn held(camera: &Camera, wanted: V3, chin_px: f64, turn: nalgebra::Rotation3<f64>, size: [usize; 2]) -> V3 {
    let margin = MARGIN * size[0] as f64;
    let mut pivot = wanted;
    for step in 0..8 {
        pivot = wanted - V3::new(0.0, 0.0, 12.0 * f64::from(step));
        let mut top = 0.0;
        // Once more, as a moved card is seen from a little elsewhere.
        for _ in 0..3 {
            let seen = [[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]]
                .map(|[x, y]| camera.see(pivot + turn * V3::new(x * SIZE[0] / 2.0, y * SIZE[1] / 2.0, 0.0)));
            let by: [f64; 2] = std::array::from_fn(|k| {
                let low = seen.iter().map(|p| p[k]).fold(f64::MAX, f64::min);
                let high = seen.iter().map(|p| p[k]).fold(f64::MIN, f64::max);
                (margin - low).max(0.0) + (size[k] as f64 - margin - high).min(0.0)
            });
            pivot += V3::new(by[0], -by[1], 0.0) * camera.px_mm(pivot);
            top = seen.iter().map(|p| p[1]).fold(f64::MAX, f64::min) + by[1];
        }
        if top > chin_px {
            break;
        }
    }
    pivot
}

/// Draws the card over the canvas and says where it lies and what its patches are.
pub(crate) fn draw(
    canvas: &mut Canvas,
    figure: &Figure,
    camera: &Camera,
    rays: &[Ray],
    sensor: &Sensor,
    shot: &Shot,
) -> CardTruth {
    let mut rng = Rng::new(shot.seed, 61);
    let chin = figure.head[MENTON];
    let middle = chin + V3::new(rng.range(-12.0, 12.0), -44.0, 14.0);
    let tilt = |rng: &mut Rng, most: f64| rng.range(-most, most).to_radians();
    let (a, b, c) = (tilt(&mut rng, 7.0), tilt(&mut rng, 7.0), tilt(&mut rng, 6.0));
    let turn = nalgebra::Rotation3::from_euler_angles(a, b, c);
    // The card follows the shoulders, not the head: it stands before the camera.
    let pivot = held(camera, camera.world(middle, 1.0), camera.project(chin)[1], turn, [canvas.width, canvas.height]);
    let world = |u: f64, v: f64| pivot + turn * V3::new(u - SIZE[0] / 2.0, SIZE[1] / 2.0 - v, 0.0);
    let normal = turn * V3::z();
    let light: [f64; 3] =
        std::array::from_fn(|k| rays.iter().map(|r| r.colour[k] * normal.dot(&r.toward).max(0.0)).sum());
    let see = |u: f64, v: f64| {
        let [x, y, _] = camera.see(world(u, v));
        [x, y]
    };
    let corners_px = [see(0.0, 0.0), see(SIZE[0], 0.0), see(SIZE[0], SIZE[1]), see(0.0, SIZE[1])];
    let fields = layout();
    let look = |lab: [f64; 3]| {
        let r = if lab[1] == 0.0 && lab[2] == 0.0 { [xyz_of(lab)[1]; COUNT] } else { smooth(xyz_of(lab)) };
        let seen = sensor.see(&r);
        (std::array::from_fn::<f32, 3, _>(|k| (seen[k] * light[k]) as f32), xyz(&r))
    };
    let looks: Vec<_> = fields.iter().map(|f| look(f.lab)).collect();
    let (paper, _) = look([93.0, 0.0, 1.0]);
    let (ink, _) = look([18.0, 0.0, 0.0]);
    let code: Vec<Vec<bool>> = CODE
        .lines()
        .filter(|l| !l.starts_with('#') && !l.trim().is_empty())
        .map(|l| l.chars().filter(|c| matches!(c, '0' | '1')).map(|c| c == '1').collect())
        .collect();
    let colour = |u: f64, v: f64| -> Option<[f32; 3]> {
        if !(0.0..SIZE[0]).contains(&u) || !(0.0..SIZE[1]).contains(&v) {
            return None;
        }
        let inside = |f: &&Field| (0..2).all(|k| [u, v][k] >= f.low[k] && [u, v][k] < f.low[k] + f.size[k]);
        let Some(at) = fields.iter().position(|f| inside(&f)) else { return Some(paper) };
        let f = &fields[at];
        if !f.code {
            return Some(looks[at].0);
        }
        let n = code.len();
        let cell = |k: usize, p: f64| (((p - f.low[k]) / f.size[k] * n as f64) as usize).min(n.saturating_sub(1));
        let dark = code.get(cell(1, v)).and_then(|row| row.get(cell(0, u))).copied().unwrap_or(false);
        Some(if dark { ink } else { paper })
    };
    // From the picture to the card: the plane's homography, from three of its places.
    let (o, ux, vy) = (world(0.0, 0.0), world(1.0, 0.0) - world(0.0, 0.0), world(0.0, 1.0) - world(0.0, 0.0));
    let project = |w: V3, direction: bool| {
        let p = camera.homogeneous(w, direction);
        V3::new(p[0], p[1], p[2])
    };
    let forward = Matrix3::from_columns(&[project(ux, true), project(vy, true), project(o, false)]);
    let Some(back) = forward.try_inverse() else {
        return CardTruth { patches: Vec::new(), corners_px };
    };
    let range = |k: usize, most: usize| {
        let v = corners_px.map(|p| p[k]);
        (v.iter().copied().fold(f64::MAX, f64::min).floor().clamp(0.0, most as f64) as usize)
            ..(v.iter().copied().fold(f64::MIN, f64::max).ceil().clamp(0.0, most as f64) as usize)
    };
    const FINE: usize = 3;
    for y in range(1, canvas.height) {
        for x in range(0, canvas.width) {
            let (mut sum, mut count) = ([0f32; 3], 0f32);
            for s in 0..FINE * FINE {
                let place = |k: usize, i: usize| k as f64 + (i as f64 + 0.5) / FINE as f64;
                let q = back * V3::new(place(x, s % FINE), place(y, s / FINE), 1.0);
                if let Some(c) = colour(q.x / q.z, q.y / q.z) {
                    (0..3).for_each(|k| sum[k] += c[k]);
                    count += 1.0;
                }
            }
            let share = count / (FINE * FINE) as f32;
            if count > 0.0 {
                let pixel = &mut canvas.light[y * canvas.width + x];
                *pixel = std::array::from_fn(|k| pixel[k] * (1.0 - share) + sum[k] / count * share);
            }
        }
    }
    let patches = fields
        .iter()
        .zip(&looks)
        .filter(|(f, _)| !f.code)
        .map(|(f, look)| {
            let [x, y] = f.low;
            let [w, h] = f.size;
            CardPatch {
                name: f.name.clone(),
                corners_px: [see(x, y), see(x + w, y), see(x + w, y + h), see(x, y + h)],
                lab_d65: lab(look.1),
                grey: f.grey,
            }
        })
        .collect();
    CardTruth { patches, corners_px }
}
