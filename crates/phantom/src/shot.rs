//! How a person is photographed.

use crate::light::Light;
use crate::rng::Rng;
use crate::setting::Setting;
use crate::under_eye::UnderEye;

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
    /// The spectral light of a measured photograph; none: [`Shot::light`], and no truth of skin.
    pub setting: Option<Setting>,
    /// Seed of where that light stands; two photographs in the same light share it.
    pub light_seed: u64,
    /// What lies under the eyes (measured photographs).
    pub under_eye: UnderEye,
    /// Which invented camera (measured photographs); 0: colours as the eye sees them, straight.
    pub camera_kind: u8,
    /// Whether the reference card is held below the chin (measured photographs).
    pub card: bool,
    /// The space the file is written in.
    pub jpeg_space: Space,
    /// Whether spectacles are worn.
    pub spectacles: bool,
    /// Exposure, stops.
    pub exposure: f64,
    /// A picture without colour.
    pub monochrome: bool,
    /// The face's skin painted over with one flat colour.
    pub painted: bool,
}

/// The space that a file's numbers are in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Space {
    /// sRGB.
    Srgb,
    /// Display P3.
    DisplayP3,
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
            setting: None,
            light_seed: 0,
            under_eye: UnderEye::NONE,
            camera_kind: 0,
            card: false,
            jpeg_space: Space::Srgb,
            spectacles: false,
            exposure: 0.0,
            monochrome: false,
            painted: false,
        }
    }

    /// A photograph as a visit asks for: within 5 degrees of straight ahead, 500 to 900 mm away, the eyes at the camera, one of
    /// a few invented cameras, sRGB or Display P3.
    pub fn measured(seed: u64, setting: Setting) -> Self {
        let mut rng = Rng::new(seed, 53);
        let (yaw, pitch, roll) = (rng.range(-5.0, 5.0), rng.range(-4.0, 4.0), rng.range(-5.0, 5.0));
        Self {
            width: 1200,
            height: 1500,
            distance_mm: rng.range(500.0, 900.0),
            fill: rng.range(0.44, 0.52),
            yaw,
            pitch,
            roll,
            noise: rng.range(0.6, 1.8),
            blur: rng.range(0.4, 0.8),
            gaze: [-yaw, -pitch],
            seed,
            light_seed: seed,
            setting: Some(setting),
            camera_kind: 1 + rng.below(5) as u8,
            jpeg_space: if rng.unit() < 0.5 { Space::Srgb } else { Space::DisplayP3 },
            ..Self::plain()
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
