//! Hair as volumes over the skull: the cap, the fall of long hair, the fringe.

use crate::V3;
use crate::hairline::{Hairline, on_surface};
use crate::head::{PAINTS, Skull};
use crate::mesh::{Mesh, Part};
use crate::person::{Hair, Person};
use crate::rng::noise;

/// Meaning of hair paint: place across the strands and along them (mm), and 1 where a ragged end may be cut.
pub(crate) const ACROSS: usize = 0;
pub(crate) const ALONG: usize = 1;
/// How far down to the cut end, 0-1 (0 on the cap).
pub(crate) const END: usize = 2;
/// 1 on the cap, where the hairline cuts exactly.
pub(crate) const CAP: usize = 3;
/// Which way the strands run: 0 back, 1 to the sides, 2 down.
pub(crate) const FLOW: usize = 4;

/// Greatest thickness of the hair over the skull, mm.
fn thickness(hair: Hair, seed: u64) -> f64 {
    let own = (seed % 7) as f64 / 6.0;
    match hair {
        Hair::Short => 9.0 + 9.0 * own,
        Hair::Long => 10.0 + 4.0 * own,
        Hair::Back => 6.0 + 3.0 * own,
        Hair::Fringe => 12.0 + 4.0 * own,
        Hair::Bald => 0.0,
    }
}

/// The direction strands run at a point, before it is laid into the surface.
pub(crate) fn flow(kind: f32, p: V3) -> V3 {
    match kind {
        k if k < 0.5 => V3::new(0.0, if p.y < 60.0 { -0.45 } else { 0.25 }, -1.0),
        k if k < 1.5 => V3::new(p.x.signum(), -0.35, -0.25),
        _ => V3::new(0.0, -1.0, 0.0),
    }
}

/// The cap: the head's own surface lifted off where hair grows.
fn cap(person: &Person, fine: &[V3], normals: &[V3], triangles: &[[u32; 3]], line: &Hairline, skull: &Skull) -> Mesh {
    let thick = thickness(person.hair, person.seed);
    let sideways = person.hair == Hair::Long;
    let above: Vec<f64> = fine.iter().map(|p| line.above(skull, *p)).collect();
    let mut index = vec![u32::MAX; fine.len()];
    let mut mesh = Mesh { part: Part::Hair, points: Vec::new(), triangles: Vec::new(), paint: Vec::new() };
    for t in triangles {
        if t.iter().all(|&i| above[i as usize] < 0.0) {
            continue;
        }
        let out = t.map(|i| {
            let v = i as usize;
            if index[v] == u32::MAX {
                index[v] = mesh.points.len() as u32;
                let p = fine[v];
                let top = ((p.y - 60.0) / 60.0).clamp(0.0, 1.0);
                let sides = if person.hair == Hair::Short { 0.35 + 0.65 * top } else { 0.75 + 0.25 * top };
                let rise = 1.0 - (-above[v].max(0.0) / 7.0).exp();
                let tuft = 1.0
                    + 0.05 * f64::from(noise([p.x as f32 / 22.0, p.y as f32 / 22.0, p.z as f32 / 22.0], person.seed));
                let lift = if above[v] <= 0.0 { above[v].max(-3.0) * 0.25 } else { 0.25 + thick * rise * sides * tuft };
                mesh.points.push(p + normals[v] * lift);
                let round = p.x.atan2((p.y - skull.centre.y).max(-40.0) + 50.0) * 95.0;
                let mut paint = [0.0; PAINTS];
                (paint[ACROSS], paint[ALONG]) =
                    if sideways { (p.z as f32, round as f32) } else { (round as f32, p.z as f32) };
                paint[CAP] = 1.0;
                paint[FLOW] = if sideways { 1.0 } else { 0.0 };
                mesh.paint.push(paint);
            }
            index[v]
        });
        mesh.triangles.push(out);
    }
    mesh
}

/// Long hair falling beside the face, one side.
fn fall(person: &Person, skull: &Skull, side: f64, length: f64) -> Mesh {
    let thick = thickness(person.hair, person.seed);
    let (rows, columns) = (30, 34);
    Mesh::grid(Part::Hair, rows, columns, false, |row, column| {
        let (t, s) = (row as f64 / (rows - 1) as f64, column as f64 / (columns - 1) as f64);
        // The front edge is rolled in, so that the fall has a body.
        let roll = (1.0 - s / 0.10).max(0.0);
        let early = (1.0 - t / 0.5).clamp(0.0, 1.0);
        let front = 67.0 - 5.0 * t + 17.0 * early * early * (3.0 - 2.0 * early);
        let azimuth = front + (180.0 - front) * s;
        let elevation = 46.0 * (1.0 - t / 0.30).max(0.0);
        let d = Skull::direction(side * azimuth, elevation);
        let level = Skull::direction(side * azimuth, 0.0);
        let wave = 2.4 * (t * 9.0 + s * 5.0 + (person.seed % 11) as f64).sin() * t;
        // It comes out from under the cap.
        let rise = (t / 0.32).min(1.0);
        let rise = rise * rise * (3.0 - 2.0 * rise);
        let over = (thick * (0.55 + 0.6 * t.min(0.5)) + 5.0) * rise - 2.0 - 6.0 * roll * roll + wave;
        let mut p = skull.centre + d * (skull.radius(d) + over);
        if t > 0.30 {
            let down = (t - 0.30) / 0.70;
            let out = skull.radius(level) + over;
            let drawn = 1.0 - 0.08 * down * down + 0.03 * (down * 3.1).sin();
            p = skull.centre + level * out * drawn;
            p.y = skull.centre.y - length * down;
        }
        let mut paint = [0.0; PAINTS];
        paint[ACROSS] = (side * azimuth * 1.5) as f32;
        paint[ALONG] = (t * length) as f32;
        paint[END] = t as f32;
        paint[FLOW] = 2.0;
        (p, paint)
    })
    .turned(side < 0.0)
}

/// The fringe over the forehead down to `lowest` (y, mm).
fn fringe(person: &Person, skull: &Skull, lowest: f64, points: &[V3], front: &[[u32; 3]]) -> Mesh {
    let thick = thickness(person.hair, person.seed);
    let (rows, columns) = (13, 31);
    Mesh::grid(Part::Hair, rows, columns, false, |row, column| {
        let (t, s) = (row as f64 / (rows - 1) as f64, 2.0 * column as f64 / (columns - 1) as f64 - 1.0);
        let azimuth = 64.0 * s;
        let lower = lowest - 16.0 * s.powi(4);
        let end = ((lower - skull.centre.y) / 97.0).asin().to_degrees();
        let elevation = 76.0 + (end - 76.0) * t;
        let d = Skull::direction(azimuth, elevation);
        // It rises out of the cap, then lies down on the forehead.
        let out = (t / 0.28).min(1.0);
        let over = thick * (0.55 + 0.47 * out * out * (3.0 - 2.0 * out) - 0.5 * t)
            + 1.0 * (s * 21.0 + (person.seed % 5) as f64).sin() * t;
        let mut paint = [0.0; PAINTS];
        paint[ACROSS] = (azimuth * 1.6) as f32;
        paint[ALONG] = (t * 80.0) as f32;
        paint[END] = t as f32;
        paint[FLOW] = 2.0;
        let ground = on_surface(skull.centre, d, points, front).map_or(skull.radius(d), |p| (p - skull.centre).norm());
        (skull.centre + d * (ground + over), paint)
    })
}

/// All hair of a person; `front` holds the triangles of the forehead.
#[allow(clippy::too_many_arguments)]
pub(crate) fn hair(
    person: &Person,
    fine: &[V3],
    normals: &[V3],
    triangles: &[[u32; 3]],
    line: &Hairline,
    skull: &Skull,
    front: &[[u32; 3]],
    brow_y: f64,
) -> Vec<Mesh> {
    if person.hair == Hair::Bald {
        return Vec::new();
    }
    let mut all = vec![cap(person, fine, normals, triangles, line, skull)];
    let long = match person.hair {
        Hair::Long => Some(185.0 + (person.seed % 4) as f64 * 12.0),
        Hair::Fringe if person.seed.is_multiple_of(2) => Some(135.0),
        _ => None,
    };
    if let Some(length) = long {
        all.extend([-1.0, 1.0].map(|side| fall(person, skull, side, length)));
    }
    if person.hair == Hair::Fringe {
        all.push(fringe(person, skull, brow_y + 7.0, fine, front));
    }
    all
}

/// Whether a sample of hair is there: cut by the hairline on the cap, ragged at the ends elsewhere.
pub(crate) fn present(paint: &[f32; PAINTS], p: V3, line: &Hairline, skull: &Skull, seed: u64) -> bool {
    if paint[CAP] > 0.5 {
        return line.above(skull, p) > 0.0;
    }
    let ragged =
        noise([paint[ACROSS] / 1.3, 0.0, 7.0], seed) * 0.5 + noise([paint[ACROSS] / 6.0, 3.0, 0.0], seed) * 0.5;
    paint[END] < 0.95 + 0.05 * ragged
}
