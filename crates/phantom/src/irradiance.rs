//! How much light reaches each vertex: every ray of the light casts a depth map of the scene, so that nose, brows, chin,
//! lids and hair throw soft shadows, and corners are darker because fewer rays reach them.

use crate::V3;
use crate::light::Ray;

/// Side of a depth map, texels.
const SIDE: usize = 128;
/// A vertex this far behind the nearest surface begins to be in shadow, and twice as far is fully in it, mm.
const BIAS_MM: f64 = 3.2;

/// Light at one vertex.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Lit {
    /// Light falling on a hard surface, linear RGB.
    pub(crate) hard: [f32; 3],
    /// The same wrapped round the edge of shadow, as in skin, where light wanders under the surface; red goes farthest.
    pub(crate) soft: [f32; 3],
    /// Share of all light that reaches the vertex, whatever its slope.
    pub(crate) open: f32,
    /// Soft green light on the smooth fitted face there: its slope, the same shadows.
    pub(crate) smooth: f32,
}

/// A scene for the light: all points and normals in the world, all triangles that throw shadows.
pub(crate) struct Scene<'a> {
    pub(crate) points: &'a [V3],
    pub(crate) normals: &'a [V3],
    /// Normals of the smooth fitted face.
    pub(crate) smooth: &'a [V3],
    pub(crate) casters: &'a [[u32; 3]],
}

struct Map {
    depth: Vec<f32>,
    x: V3,
    y: V3,
    origin: [f64; 2],
    scale: f64,
}

impl Map {
    fn cast(scene: &Scene<'_>, toward: V3) -> Self {
        let x = V3::new(0.13, 1.0, -0.21).cross(&toward).normalize();
        let y = toward.cross(&x);
        // The head and the neck: what lies lower only catches light.
        let (reach, centre) = (330.0, V3::new(0.0, -30.0, -10.0));
        let scale = SIDE as f64 / reach;
        let origin = [centre.dot(&x) - reach / 2.0, centre.dot(&y) - reach / 2.0];
        let mut map = Self { depth: vec![f32::MIN; SIDE * SIDE], x, y, origin, scale };
        let placed: Vec<(f64, f64, f64)> = scene
            .points
            .iter()
            .map(|q| {
                let (u, v) = map.texel(*q);
                (u, v, q.dot(&toward))
            })
            .collect();
        for t in scene.casters {
            map.fill(t.map(|i| placed[i as usize]));
        }
        map
    }

    fn texel(&self, p: V3) -> (f64, f64) {
        ((p.dot(&self.x) - self.origin[0]) * self.scale, (p.dot(&self.y) - self.origin[1]) * self.scale)
    }

    fn fill(&mut self, [a, b, c]: [(f64, f64, f64); 3]) {
        let area = (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
        if area.abs() < 1e-9 {
            return;
        }
        // Adding one half and cutting off is rounding up here: places are positive or clamped.
        let low = |p: f64, q: f64, r: f64| (p.min(q).min(r) + 0.5).max(0.0) as usize;
        let high = |p: f64, q: f64, r: f64| (p.max(q).max(r) + 0.5).clamp(0.0, SIDE as f64) as usize;
        for row in low(a.1, b.1, c.1)..high(a.1, b.1, c.1) {
            let v = row as f64 + 0.5;
            for column in low(a.0, b.0, c.0)..high(a.0, b.0, c.0) {
                let u = column as f64 + 0.5;
                let wb = ((u - a.0) * (c.1 - a.1) - (v - a.1) * (c.0 - a.0)) / area;
                let wc = ((b.0 - a.0) * (v - a.1) - (b.1 - a.1) * (u - a.0)) / area;
                if wb >= 0.0 && wc >= 0.0 && wb + wc <= 1.0 {
                    let d = (a.2 + wb * (b.2 - a.2) + wc * (c.2 - a.2)) as f32;
                    let here = &mut self.depth[row * SIDE + column];
                    *here = here.max(d);
                }
            }
        }
    }

    /// Share of this ray that reaches `p`, from the four texels round it.
    fn reaches(&self, p: V3, toward: V3) -> f64 {
        let (u, v) = self.texel(p);
        let (u, v) = (u - 0.5, v - 0.5);
        if !(u >= 0.0 && v >= 0.0 && u < (SIDE - 1) as f64 && v < (SIDE - 1) as f64) {
            return 1.0;
        }
        let (column, row) = (u as usize, v as usize);
        let (fu, fv) = (u - column as f64, v - row as f64);
        let d = p.dot(&toward);
        let one = |r: usize, c: usize| {
            let behind = f64::from(self.depth[r * SIDE + c]) - d;
            1.0 - ((behind - BIAS_MM) / BIAS_MM).clamp(0.0, 1.0)
        };
        (one(row, column) * (1.0 - fu) + one(row, column + 1) * fu) * (1.0 - fv)
            + (one(row + 1, column) * (1.0 - fu) + one(row + 1, column + 1) * fu) * fv
    }
}

/// How far red, green and blue wrap round the edge of shadow in skin; our own choice, after the order of the mean
/// free paths of light in skin.
const WRAP: [f64; 3] = [0.36, 0.20, 0.13];

/// Hard light over soft light of each channel on an open surface of this normal.
pub(crate) fn open(rays: &[Ray], normal: V3) -> [f32; 3] {
    std::array::from_fn(|k| {
        let (mut hard, mut soft) = (0.0, 0.0);
        for ray in rays {
            let slope = normal.dot(&ray.toward);
            hard += slope.max(0.0) * ray.colour[k];
            soft += ((slope + WRAP[k]) / (1.0 + WRAP[k])).max(0.0) * ray.colour[k];
        }
        (hard / soft.max(1e-9)) as f32
    })
}

/// Light at every vertex.
pub(crate) fn light(scene: &Scene<'_>, rays: &[Ray]) -> Vec<Lit> {
    let total: f64 = rays.iter().map(|r| r.colour[1]).sum();
    let one = |ray: &Ray, lit: &mut [Lit]| {
        let map = Map::cast(scene, ray.toward);
        for (((p, n), s), l) in scene.points.iter().zip(scene.normals).zip(scene.smooth).zip(lit) {
            let (slope, even) = (n.dot(&ray.toward), s.dot(&ray.toward));
            if slope.max(even) <= -WRAP[0] {
                continue;
            }
            let free = map.reaches(p + n * 1.0, ray.toward);
            for (k, wrap) in WRAP.into_iter().enumerate() {
                let soft = ((slope + wrap) / (1.0 + wrap)).max(0.0);
                l.soft[k] += (free * soft * ray.colour[k]) as f32;
                l.hard[k] += (free * slope.max(0.0) * ray.colour[k]) as f32;
            }
            l.smooth += (free * ((even + WRAP[1]) / (1.0 + WRAP[1])).max(0.0) * ray.colour[1]) as f32;
            l.open += (free * ray.colour[1] / total) as f32;
        }
    };
    // Two halves, each summed in its own order: the same sum on every run.
    let (first, second) = rays.split_at(rays.len() / 2);
    let run = |rays: &[Ray]| {
        let mut lit = vec![Lit::default(); scene.points.len()];
        rays.iter().for_each(|ray| one(ray, &mut lit));
        lit
    };
    let (mut a, b) = std::thread::scope(|scope| {
        let other = scope.spawn(|| run(second));
        let mine = run(first);
        (mine, other.join().unwrap_or_default())
    });
    for (a, b) in a.iter_mut().zip(&b) {
        (0..3).for_each(|k| {
            a.soft[k] += b.soft[k];
            a.hard[k] += b.hard[k];
        });
        a.open += b.open;
        a.smooth += b.smooth;
    }
    a
}
