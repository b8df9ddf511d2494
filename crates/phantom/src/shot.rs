//! How a person is photographed.

use crate::light::Light;
use crate::rng::Rng;

/// One photograph to be taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    /// Picture width, px.
    pub width: usize,
    /// Picture height, px.
    pub height: usize,
    /// From the pinhole to the irises of the straight head, mm; 450 to 1200.
    pub distance_mm: f64,
    /// Face height (top landmark to chin) as a share of the picture's height.
    pub fill: f64,
    /// Degrees; > 0: the person turns toward their own left.
    pub yaw: f64,
    /// Degrees; > 0: chin up.
    pub pitch: f64,
    /// Degrees; > 0: the head tilts toward the person's own left shoulder.
    pub roll: f64,
    /// The light.
    pub light: Light,
    /// Standard deviation of the sensor's noise at mid grey, sRGB levels 0-255.
    pub noise: f64,
    /// Standard deviation of the lens's blur, px.
    pub blur: f64,
    /// Lids drawn down.
    pub eyes_closed: bool,
    /// Where the eyes look, degrees from straight ahead of the head: toward the own left, and up.
    pub gaze: [f64; 2],
    /// Samples a pixel, each way (2 or 3).
    pub samples: usize,
    /// Seed of noise and background.
    pub seed: u64,
}

impl Shot {
    /// Straight, even light, 960 x 1200.
    pub fn plain() -> Self {
        Self {
            width: 960,
            height: 1200,
            distance_mm: 700.0,
            fill: 0.50,
            yaw: 0.0,
            pitch: 0.0,
            roll: 0.0,
            light: Light::Even,
            noise: 1.2,
            blur: 0.45,
            eyes_closed: false,
            gaze: [0.0, 0.0],
            samples: 2,
            seed: 0,
        }
    }

    /// Pose within 12 degrees each way, any light, 600 to 1400 px high.
    pub fn random(seed: u64) -> Self {
        let mut rng = Rng::new(seed, 2);
        let height = 600 + 2 * rng.below(401);
        let mut shot = Self {
            width: height * 4 / 5,
            height,
            distance_mm: rng.range(450.0, 1200.0),
            fill: rng.range(0.38, 0.58),
            yaw: rng.range(-12.0, 12.0),
            pitch: rng.range(-12.0, 12.0),
            roll: rng.range(-12.0, 12.0),
            light: Light::ALL[rng.below(Light::ALL.len())],
            noise: rng.range(0.5, 3.0),
            blur: rng.range(0.3, 0.9),
            seed,
            ..Self::plain()
        };
        // Most people look at the camera.
        shot.gaze =
            if rng.unit() < 0.7 { [-shot.yaw, -shot.pitch] } else { [rng.range(-8.0, 8.0), rng.range(-5.0, 5.0)] };
        shot
    }
}
