//! The photograph: one function from a person and a shot to a picture and its truth.

use crate::V3;
use crate::camera::Camera;
use crate::figure::Figure;
use crate::groom::Ground;
use crate::hair::present;
use crate::head::PAINTS;
use crate::irradiance::{Lit, Scene, light};
use crate::marks::{LIDS, MENTON};
use crate::measured::Measured;
use crate::mesh::{Part, normals};
use crate::person::{Hair, Person};
use crate::raster::{NOTHING, Raster};
use crate::shade::{Seen, Stage};
use crate::shot::Shot;
use crate::skin::Palette;
use crate::skin_truth::Sums;
use crate::strokes::{Canvas, draw};
use crate::truth::Truth;
use crate::{card, develop, fitted, head, irradiance, region, spectacles};

/// An upright picture, sRGB, 8 bits, three bytes a pixel, rows from the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Red, green, blue.
    pub rgb: Vec<u8>,
}

/// All meshes as one list of vertices.
struct All {
    part: Vec<Part>,
    face: Vec<V3>,
    world: Vec<V3>,
    normals: Vec<V3>,
    paint: Vec<[f32; PAINTS]>,
    triangles: Vec<[u32; 3]>,
    casters: Vec<[u32; 3]>,
}

/// The share of the head's pose that a point of the trunk follows: all at the jaw, a fifth at the shoulders.
fn follow(part: Part, p: V3, chin: V3) -> f64 {
    if !matches!(part, Part::Plain | Part::Cloth) {
        return 1.0;
    }
    let below = ((chin.y - 8.0 - p.y) / 60.0).clamp(0.0, 1.0);
    1.0 - 0.8 * below * below * (3.0 - 2.0 * below)
}

fn gather(figure: &Figure, camera: &Camera) -> All {
    let mut all = All {
        part: Vec::new(),
        face: Vec::new(),
        world: Vec::new(),
        normals: Vec::new(),
        paint: Vec::new(),
        triangles: Vec::new(),
        casters: Vec::new(),
    };
    let chin = figure.head[MENTON];
    for mesh in &figure.meshes {
        let first = all.face.len() as u32;
        let world: Vec<V3> = mesh.points.iter().map(|p| camera.world(*p, follow(mesh.part, *p, chin))).collect();
        all.normals.extend(normals(&world, &mesh.triangles));
        all.part.extend(std::iter::repeat_n(mesh.part, mesh.points.len()));
        all.face.extend(&mesh.points);
        all.world.extend(world);
        all.paint.extend(&mesh.paint);
        let moved = mesh.triangles.iter().map(|t| t.map(|i| i + first));
        if !matches!(mesh.part, Part::Rim | Part::Mouth) {
            all.casters.extend(moved.clone());
        }
        all.triangles.extend(moved);
    }
    all
}

/// Light wanders a little under skin: each vertex takes part of its neighbours' light, red most.
fn soften(lit: &mut [Lit], triangles: &[[u32; 3]], count: usize) {
    for share in [[0.55, 0.45, 0.35], [0.5, 0.25, 0.15], [0.5, 0.1, 0.0]] {
        let mut sum = vec![[0f32; 5]; count];
        for t in triangles.iter().filter(|t| t.iter().all(|&i| (i as usize) < count)) {
            for &i in t {
                for &j in t {
                    if i != j {
                        let from = lit[j as usize].soft;
                        (0..3).for_each(|k| sum[i as usize][k] += from[k]);
                        sum[i as usize][3] += 1.0;
                        sum[i as usize][4] += lit[j as usize].smooth;
                    }
                }
            }
        }
        for (l, s) in lit.iter_mut().zip(&sum).filter(|(_, s)| s[3] > 0.0) {
            for k in 0..3 {
                l.soft[k] += (s[k] / s[3] - l.soft[k]) * share[k];
            }
            l.smooth += (s[4] / s[3] - l.smooth) * share[1];
        }
    }
}

/// Photographs a person. The same person and shot give the same bytes on every run.
pub fn photograph(person: &Person, shot: &Shot) -> (Picture, Truth) {
    let figure = Figure::of(person, shot.eyes_closed, shot.gaze);
    let camera = frame(&figure, shot);
    let mut palette = Palette::of(person);
    let all = gather(&figure, &camera);
    let mut rays = shot.light.rays();
    if let Some(setting) = shot.setting {
        let measured = Measured::new(person, &figure, shot, setting, camera.turn());
        rays = measured.rays.clone();
        palette = palette.seen(measured);
    }
    let mut smooth = all.normals.clone();
    if shot.setting.is_some() {
        for (own, n) in smooth.iter_mut().zip(fitted::normals(&figure)) {
            *own = camera.turn() * n;
        }
    }
    let scene = Scene { points: &all.world, normals: &all.normals, smooth: &smooth, casters: &all.casters };
    let mut lit = light(&scene, &rays);
    soften(&mut lit, &all.triangles, figure.head.len());
    if shot.setting.is_some() {
        // Light that wanders under skin comes out redder at the edge of shadow only: skin in the open has its own colour.
        let open = irradiance::open(&rays, V3::z());
        for l in &mut lit {
            (0..3).for_each(|k| l.soft[k] *= open[k]);
            l.smooth *= open[1];
        }
    }

    let raster = see(person, &figure, &camera, &all, shot);
    let mut tint = [0.0; 3];
    rays.iter().for_each(|r| (0..3).for_each(|k| tint[k] += r.colour[k]));
    let stage = Stage {
        palette: &palette,
        seed: person.seed,
        key: shot.setting.map_or_else(|| shot.light.key(), |s| s.key(shot.light_seed)),
        key_colour: tint.map(|c| (c / tint[1]) as f32),
        turn: camera.turn(),
        wall: palette.named(develop::wall(shot)),
        irises: figure.irises,
        lids: [0, 1].map(|side| (0..=8).map(|k| figure.head[LIDS[side][(16 - k) % 16]]).collect()),
    };
    let polygons = shot.setting.map(|_| region::regions(&figure, &camera));
    let mask = polygons.as_ref().map(|p| region::mask(p, shot.width, shot.height));
    let (mut canvas, sums) = paint(&stage, &raster, &camera, &all, &lit, shot, mask.as_deref());
    let ground = Ground {
        person,
        palette: &palette,
        points: &figure.head,
        normals: &figure.head_normals,
        lit: &lit,
        triangles: &head::topology().scheme.triangles,
        skull: &figure.skull,
        line: &figure.line,
        closed: shot.eyes_closed,
    };
    let mut first = 0;
    let mut loose = Vec::new();
    for mesh in &figure.meshes {
        if mesh.part == Part::Hair {
            loose = ground.loose(mesh, first);
            break;
        }
        first += mesh.points.len();
    }
    // Freckles and folds are no part of what a measured photograph holds the truth of.
    let plain = shot.setting.is_none();
    let (freckles, folds) = if plain { (ground.freckles(), ground.folds()) } else { (Vec::new(), Vec::new()) };
    for strokes in [freckles, folds, ground.brows(), loose, ground.edge(), ground.lashes()] {
        draw(&mut canvas, &raster, shot.samples.max(1), &camera, &strokes);
    }
    if shot.spectacles {
        let looks = [palette.named([0.012, 0.011, 0.011]), stage.key_colour];
        spectacles::wear(&mut canvas, &raster, shot.samples.max(1), &figure, &camera, person.seed, looks);
    }
    let measured = palette.measured.as_ref();
    let card =
        measured.filter(|_| shot.card).map(|m| card::draw(&mut canvas, &figure, &camera, &m.rays, &m.sensor, shot));
    let picture = develop::develop(canvas, shot, measured.map(|m| (&m.sensor, m.gain())));
    let mut truth = truth(person, &figure, camera, shot);
    truth.card = card;
    truth.skin = measured.map(|_| sums.truth());
    (picture, truth)
}

/// The truth of a photograph without taking it: the same as [`photograph`] gives, in a small part of the time.
pub fn known(person: &Person, shot: &Shot) -> Truth {
    let figure = Figure::of(person, shot.eyes_closed, shot.gaze);
    let camera = frame(&figure, shot);
    truth(person, &figure, camera, shot)
}

/// The camera before this head.
pub(crate) fn frame(figure: &Figure, shot: &Shot) -> Camera {
    let irises = (figure.irises[0].at(0.0, 0.0) + figure.irises[1].at(0.0, 0.0)) / 2.0;
    Camera::new(
        V3::new(0.0, irises.y, irises.z),
        figure.head[crate::marks::OUTLINE[0]],
        figure.head[MENTON],
        [shot.yaw, shot.pitch, shot.roll],
        shot.distance_mm,
        shot.fill,
        [shot.width, shot.height],
    )
}

/// Fills the depth buffer.
fn see(person: &Person, figure: &Figure, camera: &Camera, all: &All, shot: &Shot) -> Raster {
    let samples = shot.samples.max(1);
    let mut raster = Raster::new(shot.width * samples, shot.height * samples);
    let seen: Vec<[f64; 3]> = all
        .world
        .iter()
        .map(|w| {
            let [x, y, depth] = camera.see(*w);
            [x * samples as f64, y * samples as f64, depth]
        })
        .collect();
    for (id, t) in all.triangles.iter().enumerate() {
        let [a, b, c] = t.map(|i| i as usize);
        let p = [seen[a], seen[b], seen[c]];
        if all.part[a] != Part::Hair {
            raster.draw(id as u32, p, |_, _| true);
            continue;
        }
        // Far from the hairline and the cut ends nothing is refused: skip the test there.
        let whole = [a, b, c].iter().all(|&v| {
            if all.paint[v][crate::hair::CAP] > 0.5 {
                figure.line.above(&figure.skull, all.face[v]) > 9.0
            } else {
                all.paint[v][crate::hair::END] < 0.85
            }
        });
        raster.draw(id as u32, p, |sb, sc| {
            whole || {
                let sa = 1.0 - sb - sc;
                let paint: [f32; PAINTS] =
                    std::array::from_fn(|k| all.paint[a][k] * sa + all.paint[b][k] * sb + all.paint[c][k] * sc);
                let place = all.face[a] * f64::from(sa) + all.face[b] * f64::from(sb) + all.face[c] * f64::from(sc);
                present(&paint, place, &figure.line, &figure.skull, person.seed)
            }
        });
    }
    raster
}

/// Colours every pixel: once for each kind of surface its samples see.
fn paint(
    stage: &Stage<'_>,
    raster: &Raster,
    camera: &Camera,
    all: &All,
    lit: &[Lit],
    shot: &Shot,
    mask: Option<&[u8]>,
) -> (Canvas, Sums) {
    let (width, height) = (shot.width, shot.height);
    let mut canvas = Canvas { width, height, light: vec![[0.0; 3]; width * height] };
    let eye_at = camera.eye();
    let row = |y: usize, out: &mut [[f32; 3]], sums: &mut Sums| {
        for (x, pixel) in out.iter_mut().enumerate() {
            let region = mask.map_or(0, |m| m[y * width + x]);
            *pixel = one(stage, raster, eye_at, camera, all, lit, shot, x, y, (region, sums));
        }
    };
    let half = height.div_ceil(2) * width;
    let (upper, lower) = canvas.light.split_at_mut(half);
    let (mut above, mut below) = (Sums::default(), Sums::default());
    std::thread::scope(|scope| {
        scope.spawn(|| upper.chunks_mut(width).enumerate().for_each(|(y, out)| row(y, out, &mut above)));
        lower.chunks_mut(width).enumerate().for_each(|(y, out)| row(y + half / width, out, &mut below));
    });
    above.add(&below);
    (canvas, above)
}

#[allow(clippy::too_many_arguments)]
fn one(
    stage: &Stage<'_>,
    raster: &Raster,
    eye_at: V3,
    camera: &Camera,
    all: &All,
    lit: &[Lit],
    shot: &Shot,
    x: usize,
    y: usize,
    (region, sums): (u8, &mut Sums),
) -> [f32; 3] {
    let samples = shot.samples.max(1);
    let mut groups: [(Option<Part>, Gathered); 3] = [(None, Gathered::default()); 3];
    let mut nothing = 0;
    for sy in 0..samples {
        for sx in 0..samples {
            let at = (y * samples + sy) * raster.width + x * samples + sx;
            let id = raster.triangle[at];
            if id == NOTHING {
                nothing += 1;
                continue;
            }
            let [a, b, c] = all.triangles[id as usize].map(|i| i as usize);
            let part = all.part[a];
            let slot = groups.iter().position(|g| g.0 == Some(part) || g.0.is_none()).unwrap_or(2);
            if groups[slot].0.is_none() {
                groups[slot].0 = Some(part);
            }
            let [sb, sc] = raster.share[at];
            for (v, s) in [(a, 1.0 - sb - sc), (b, sb), (c, sc)] {
                groups[slot].1.add(all, lit, v, s);
            }
        }
    }
    let mut sum = [0.0; 3];
    let count = (samples * samples) as f32;
    for (part, gathered) in groups {
        let Some(part) = part else { continue };
        let seen = gathered.mean(part, eye_at, camera);
        let mut c = stage.shade(&seen);
        if shot.painted && part == Part::Skin {
            c = stage.palette.named([0.34, 0.27, 0.22]);
        }
        if region > 0
            && let Some(own) = stage.truth(&seen)
        {
            sums.take(region, &own, f64::from(gathered.weight / count));
        }
        (0..3).for_each(|k| sum[k] += c[k] * gathered.weight / count);
    }
    if nothing > 0 {
        let c = develop::background(shot, stage.wall, stage.key, x, y);
        (0..3).for_each(|k| sum[k] += c[k] * nothing as f32 / count);
    }
    sum
}

#[derive(Clone, Copy, Default)]
struct Gathered {
    weight: f32,
    p: V3,
    w: V3,
    n: V3,
    lit: Lit,
    paint: [f32; PAINTS],
}

impl Gathered {
    fn add(&mut self, all: &All, lit: &[Lit], v: usize, s: f32) {
        let d = f64::from(s);
        self.weight += s;
        self.p += all.face[v] * d;
        self.w += all.world[v] * d;
        self.n += all.normals[v] * d;
        for k in 0..3 {
            self.lit.soft[k] += lit[v].soft[k] * s;
            self.lit.hard[k] += lit[v].hard[k] * s;
        }
        self.lit.open += lit[v].open * s;
        self.lit.smooth += lit[v].smooth * s;
        (0..PAINTS).for_each(|k| self.paint[k] += all.paint[v][k] * s);
    }

    fn mean(&self, part: Part, eye_at: V3, camera: &Camera) -> Seen {
        let d = f64::from(self.weight).max(1e-9);
        let s = 1.0 / self.weight.max(1e-9);
        let world = self.w / d;
        Seen {
            part,
            p: self.p / d,
            normal: self.n.try_normalize(1e-12).unwrap_or_else(V3::z),
            view: (eye_at - world).normalize(),
            lit: Lit {
                hard: self.lit.hard.map(|v| v * s),
                soft: self.lit.soft.map(|v| v * s),
                open: self.lit.open * s,
                smooth: self.lit.smooth * s,
            },
            paint: self.paint.map(|v| v * s),
            px_mm: camera.px_mm(world) as f32,
        }
    }
}

fn truth(person: &Person, figure: &Figure, camera: Camera, shot: &Shot) -> Truth {
    let mut points: Vec<V3> = figure.head[..face::VERTICES].to_vec();
    figure.irises.iter().for_each(|iris| points.extend(iris.points()));
    let landmarks = points
        .iter()
        .map(|p| {
            let [x, y] = camera.project(*p);
            [x, y, camera.depth_px(*p)]
        })
        .collect();
    let mm_per_px = figure.irises.iter().map(|i| camera.mm_per_px(i.at(0.0, 0.0))).sum::<f64>() / 2.0;
    Truth {
        landmarks,
        head_mm: points.iter().map(|p| [p.x, p.y, p.z]).collect(),
        hairline_mm: figure.hairline.iter().map(|p| [p.x, p.y, p.z]).collect(),
        hairline_px: figure.hairline.iter().map(|p| camera.project(*p)).collect(),
        hairline_seen: person.hair.shows_hairline() && person.hair != Hair::Bald,
        mm_per_px,
        iris_mm: person.build.iris_mm,
        pose_deg: [shot.yaw, shot.pitch, shot.roll],
        camera,
        skin: None,
        card: None,
    }
}
