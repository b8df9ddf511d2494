//! Light: a set of far directions, each with a colour, in the world frame of the camera.

use crate::V3;

/// The lights a shot may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Light {
    /// Even, soft, from all round the camera.
    Even,
    /// A large window before the face, a little above.
    FrontWindow,
    /// A window at the person's own left side.
    SideWindow,
    /// A room lamp above.
    Overhead,
    /// A warm lamp, before and to the own right.
    WarmLamp,
}

impl Light {
    /// All lights.
    pub const ALL: [Self; 5] = [Self::Even, Self::FrontWindow, Self::SideWindow, Self::Overhead, Self::WarmLamp];
}

/// One far light.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ray {
    /// Unit vector toward the light.
    pub(crate) toward: V3,
    /// Linear red, green, blue.
    pub(crate) colour: [f64; 3],
}

/// A lobe of light: middle, sharpness (larger is narrower), strength, colour.
pub(crate) type Lobe = ([f64; 3], f64, f64, [f64; 3]);

const WHITE: [f64; 3] = [1.0, 1.0, 1.0];
const DAY: [f64; 3] = [0.99, 1.0, 1.03];
const SKY: [f64; 3] = [0.93, 1.0, 1.10];
const ROOM: [f64; 3] = [1.05, 1.0, 0.93];
const LAMP: [f64; 3] = [1.16, 0.99, 0.76];

impl Light {
    fn lobes(self) -> Vec<Lobe> {
        match self {
            Self::Even => vec![([0.0, 0.35, 1.0], 1.6, 1.0, WHITE), ([0.0, 1.0, 0.1], 1.0, 0.25, DAY)],
            Self::FrontWindow => vec![([-0.25, 0.45, 1.0], 5.0, 1.9, DAY), ([0.0, 0.4, 0.4], 0.4, 0.30, ROOM)],
            Self::SideWindow => vec![([1.0, 0.35, 0.75], 5.0, 2.0, SKY), ([-0.3, 0.3, 0.8], 0.6, 0.42, ROOM)],
            Self::Overhead => vec![([0.05, 1.0, 0.62], 4.5, 1.7, ROOM), ([0.0, 0.1, 1.0], 0.5, 0.50, WHITE)],
            Self::WarmLamp => vec![([-0.6, 0.35, 1.0], 6.0, 1.8, LAMP), ([0.2, 0.4, 0.7], 0.5, 0.42, LAMP)],
        }
    }

    /// Where the eye's highlight and the skin's shine come from.
    pub(crate) fn key(self) -> V3 {
        let [x, y, z] = self.lobes()[0].0;
        let lift = if matches!(self, Self::Even) { V3::new(-0.28, 0.22, 0.0) } else { V3::zeros() };
        (V3::new(x, y, z).normalize() + lift).normalize()
    }

    /// The light as rays.
    pub(crate) fn rays(self) -> Vec<Ray> {
        spread(&self.lobes(), 42, false)
    }
}

/// Lobes as rays, spread evenly over the sphere (Fibonacci lattice), scaled so that a surface facing the camera in the open
/// receives 1. `mirrored`: each way and its mirror image, so that an even light is as even as it says.
pub(crate) fn spread(lobes: &[Lobe], count: usize, mirrored: bool) -> Vec<Ray> {
    let golden = std::f64::consts::PI * (3.0 - 5f64.sqrt());
    let mut rays: Vec<Ray> = (0..count)
        .flat_map(|i| if mirrored { vec![(i, 1.0), (i, -1.0)] } else { vec![(i, 1.0)] })
        .filter_map(|(i, side)| {
            let y = 1.0 - 2.0 * (i as f64 + 0.5) / count as f64;
            let (s, c) = (golden * i as f64).sin_cos();
            let r = (1.0 - y * y).sqrt();
            let toward = V3::new(side * c * r, y, s * r);
            let mut colour = [0.0; 3];
            for (middle, sharp, strength, tint) in lobes {
                let m = V3::new(middle[0], middle[1], middle[2]).normalize();
                let l = strength * (sharp * (m.dot(&toward) - 1.0)).exp() * (1.0 + 0.2 * sharp);
                (0..3).for_each(|k| colour[k] += l * tint[k]);
            }
            (colour[1] > 0.02 && toward.z > -0.45).then_some(Ray { toward, colour })
        })
        .collect();
    let straight: f64 = rays.iter().map(|r| r.colour[1] * r.toward.z.max(0.0)).sum();
    rays.iter_mut().for_each(|r| r.colour = r.colour.map(|c| c / straight.max(1e-6)));
    rays
}
