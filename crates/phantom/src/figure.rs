//! A person's geometry in the face frame, ready to be lit and seen.

use crate::V3;
use crate::body::{ear, trunk};
use crate::eye::{Iris, inner_strip};
use crate::groom::upper_front;
use crate::hair::hair;
use crate::hairline::{Hairline, TEMPLE_DEG, on_surface};
use crate::head::{Skull, head, topology};
use crate::marks::{BROW_UPPER, GLABELLA, MENTON};
use crate::mesh::{Mesh, Part, normals};
use crate::person::Person;
use crate::shape::face;

/// All surfaces and the known curves.
pub(crate) struct Figure {
    /// The fine head; its first 468 points are the landmarks.
    pub(crate) head: Vec<V3>,
    pub(crate) head_normals: Vec<V3>,
    pub(crate) skull: Skull,
    pub(crate) line: Hairline,
    /// The hairline of the forehead on the surface, own right temple to own left.
    pub(crate) hairline: Vec<V3>,
    pub(crate) irises: [Iris; 2],
    /// Every mesh; the head first.
    pub(crate) meshes: Vec<Mesh>,
}

/// How many points the hairline of the truth has.
const HAIRLINE_POINTS: usize = 41;

impl Figure {
    /// Builds the figure; `gaze` in degrees toward the own left and up.
    pub(crate) fn of(person: &Person, closed: bool, gaze: [f64; 2]) -> Self {
        let shaped = face(&person.build, closed);
        let skull = Skull::behind(&shaped, &person.build);
        let topology = topology();
        let fine = topology.scheme.fine(&head(&shaped, &skull, &person.build));
        let triangles = &topology.scheme.triangles;
        let head_normals = normals(&fine, triangles);

        let front = upper_front(&fine, triangles, &skull);
        let recede = 0.5 + 0.5 * ((person.seed * 7 % 10) as f64 / 9.0);
        let line = Hairline::new(front_elevation(&fine, &front, &skull, person.build.hairline_mm), recede);
        let hairline = (0..HAIRLINE_POINTS)
            .filter_map(|i| {
                let azimuth = TEMPLE_DEG * (2.0 * i as f64 / (HAIRLINE_POINTS - 1) as f64 - 1.0);
                on_surface(skull.centre, Skull::direction(azimuth, line.elevation(azimuth)), &fine, &front)
            })
            .collect();

        let irises = [0, 1].map(|side| {
            let (sy, cy) = gaze[0].to_radians().sin_cos();
            let (sp, cp) = gaze[1].to_radians().sin_cos();
            Iris::new(shaped.eyes[side], V3::new(sy * cp, sp, cy * cp), person.build.iris_mm)
        });

        let mut meshes = vec![Mesh {
            part: Part::Skin,
            points: fine.clone(),
            triangles: triangles.clone(),
            paint: topology.paint.clone(),
        }];
        for side in 0..2 {
            meshes.push(irises[side].mesh());
            meshes.push(inner_strip(topology, &fine, side, Part::Rim, Some(shaped.eyes[side])));
            let zygion = fine[crate::marks::ZYGIA[side]];
            let sign = if side == 0 { -1.0 } else { 1.0 };
            meshes.push(ear(zygion + V3::new(sign * 5.5, 0.0, -16.0), sign, &person.build));
        }
        meshes.push(inner_strip(topology, &fine, 2, Part::Mouth, None));
        meshes.push(trunk(fine[MENTON], &person.build, false));
        meshes.push(trunk(fine[MENTON], &person.build, true));
        let brow_y = BROW_UPPER[0].iter().map(|&i| fine[i].y).fold(f64::MIN, f64::max);
        meshes.extend(hair(person, &fine, &head_normals, triangles, &line, &skull, &front, brow_y));
        Self { head: fine, head_normals, skull, line, hairline, irises, meshes }
    }
}

/// The elevation at which the midline of the head lies `height` mm (straight) above the glabella.
fn front_elevation(fine: &[V3], front: &[[u32; 3]], skull: &Skull, height: f64) -> f64 {
    let midline: Vec<[u32; 3]> =
        front.iter().filter(|t| t.iter().any(|&i| fine[i as usize].x.abs() < 6.0)).copied().collect();
    let (mut low, mut high) = (15.0, 85.0);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        let reached = on_surface(skull.centre, Skull::direction(0.0, middle), fine, &midline)
            .is_some_and(|p| (p - fine[GLABELLA]).norm() < height);
        if reached { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}
