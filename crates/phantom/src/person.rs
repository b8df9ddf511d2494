//! Who is pictured: an invented identity, drawn from a seed.

use crate::rng::Rng;

/// The skin classes, from the lightest to the darkest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Very light skin.
    VeryLight,
    /// Light skin.
    Light,
    /// Between light and tan.
    Intermediate,
    /// Tan skin.
    Tan,
    /// Brown skin.
    Brown,
    /// Dark skin.
    Dark,
}

impl Tone {
    /// All six, lightest first.
    pub const ALL: [Self; 6] = [Self::VeryLight, Self::Light, Self::Intermediate, Self::Tan, Self::Brown, Self::Dark];

    /// The name used in data: `very_light`, `light`, `intermediate`, `tan`, `brown`, `dark`.
    pub fn name(self) -> &'static str {
        ["very_light", "light", "intermediate", "tan", "brown", "dark"][self as usize]
    }
}

/// How the hair is worn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hair {
    /// Cut short and combed back; the hairline shows.
    Short,
    /// Parted in the middle and falling to the shoulders; the hairline shows.
    Long,
    /// Drawn back and gathered behind; the hairline shows.
    Back,
    /// Cut with a fringe over the forehead: the hairline is hidden.
    Fringe,
    /// No hair: there is no hairline to see.
    Bald,
}

impl Hair {
    /// All styles.
    pub const ALL: [Self; 5] = [Self::Short, Self::Long, Self::Back, Self::Fringe, Self::Bald];

    /// Whether a picture of this style shows the hairline.
    pub fn shows_hairline(self) -> bool {
        !matches!(self, Self::Fringe | Self::Bald)
    }
}

/// Sizes of the head in millimetres and the smaller ways in which faces differ.
///
/// Sizes follow ANSUR II (6 068 adults; women and men pooled with equal weight) and, for the iris, Rufer et al. 2005
/// (Cornea 24:259). The signed modes are in standard deviations of our own choosing.
#[derive(Clone, Debug, PartialEq)]
pub struct Build {
    /// Between the pupils, mm: 62.9 +- 3.6.
    pub interpupillary_mm: f64,
    /// Menton to sellion, mm: 118 +- 8.
    pub menton_sellion_mm: f64,
    /// Between the zygia, mm: 138 +- 7.
    pub bizygomatic_mm: f64,
    /// Diameter of the visible iris, mm: 11.71 +- 0.42.
    pub iris_mm: f64,
    /// Breadth of the thumb, mm: 20 +- 2 (common practice, no source).
    pub thumb_mm: f64,
    /// Midline height of the hairline above the glabella, mm: 60 +- 8 (common practice, no source).
    pub hairline_mm: f64,
    /// Depth of the face as a factor, 1 +- 0.04.
    pub depth: f64,
    /// Local modes, see [`Mode`].
    pub modes: [f64; Mode::COUNT],
    /// Left-right unevenness: own left minus own right of brow height, eye height, mouth corner, jaw, cheek and nose axis.
    pub uneven: [f64; 6],
}

/// Local modes of shape; positive means more of what the name says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Wider lid openings.
    EyeWidth,
    /// Taller lid openings.
    EyeOpening,
    /// Outer corners higher.
    EyeTilt,
    /// Higher brows.
    BrowHeight,
    /// More arch.
    BrowArch,
    /// A longer nose.
    NoseLength,
    /// Wider wings.
    NoseWidth,
    /// A more forward tip.
    NoseTip,
    /// A higher bridge.
    NoseBridge,
    /// A wider mouth.
    MouthWidth,
    /// A higher mouth.
    MouthHeight,
    /// Fuller lips.
    LipFullness,
    /// A wider jaw.
    JawWidth,
    /// A longer chin.
    ChinLength,
    /// Fuller cheeks.
    CheekFullness,
    /// A more forward chin.
    ChinForward,
}

impl Mode {
    /// How many there are.
    pub const COUNT: usize = 16;
}

/// An invented identity.
#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    /// The seed it was drawn from; also the seed of its freckles and hairs.
    pub seed: u64,
    /// Skin class.
    pub tone: Tone,
    /// Hair style.
    pub hair: Hair,
    /// Hair colour, sRGB 0-255, as seen in even light.
    pub hair_rgb: [f64; 3],
    /// Iris colour, sRGB 0-255.
    pub iris_rgb: [f64; 3],
    /// Colour of the clothes, sRGB 0-255.
    pub cloth_rgb: [f64; 3],
    /// Share of freckles and moles, 0-1.
    pub freckles: f64,
    /// Share of grey in the hair, 0-1.
    pub grey: f64,
    /// Shape and sizes.
    pub build: Build,
}

/// Hair colours, sRGB, dark to fair; our own choice.
const HAIRS: [[f64; 3]; 7] = [
    [26.0, 22.0, 21.0],
    [40.0, 30.0, 25.0],
    [64.0, 44.0, 32.0],
    [92.0, 63.0, 42.0],
    [124.0, 88.0, 56.0],
    [168.0, 131.0, 86.0],
    [122.0, 62.0, 34.0],
];

/// Iris colours, sRGB: brown, hazel, green, grey, blue; our own choice.
const IRISES: [[f64; 3]; 6] = [
    [62.0, 38.0, 24.0],
    [92.0, 60.0, 34.0],
    [116.0, 96.0, 56.0],
    [108.0, 120.0, 88.0],
    [118.0, 134.0, 142.0],
    [96.0, 132.0, 164.0],
];

const CLOTHES: [[f64; 3]; 7] = [
    [92.0, 106.0, 118.0],
    [188.0, 180.0, 168.0],
    [86.0, 100.0, 84.0],
    [140.0, 96.0, 88.0],
    [70.0, 74.0, 88.0],
    [206.0, 204.0, 200.0],
    [116.0, 102.0, 122.0],
];

impl Build {
    /// Draws a build. The three sizes of the head go together (correlation 0.45, our own choice).
    fn invented(rng: &mut Rng) -> Self {
        let common = rng.normal();
        let mut size = |mean: f64, sd: f64| mean + sd * (0.67 * common + 0.742 * rng.normal()) * 1.03;
        let (interpupillary_mm, menton_sellion_mm) = (size(62.9, 3.6), size(118.0, 8.0));
        let bizygomatic_mm = size(138.0, 7.0).max(1.95 * interpupillary_mm);
        Self {
            interpupillary_mm,
            menton_sellion_mm,
            bizygomatic_mm,
            iris_mm: 11.71 + 0.42 * rng.normal(),
            thumb_mm: 20.0,
            hairline_mm: 60.0 + 8.0 * rng.normal(),
            depth: 1.0 + 0.04 * rng.normal(),
            modes: std::array::from_fn(|_| rng.normal()),
            uneven: std::array::from_fn(|_| rng.normal()),
        }
    }

    /// The mean build: every mode nought, both halves alike.
    pub fn mean() -> Self {
        Self {
            interpupillary_mm: 62.9,
            menton_sellion_mm: 118.0,
            bizygomatic_mm: 138.0,
            iris_mm: 11.71,
            thumb_mm: 20.0,
            hairline_mm: 60.0,
            depth: 1.0,
            modes: [0.0; Mode::COUNT],
            uneven: [0.0; 6],
        }
    }

    /// The strength of one mode.
    pub fn mode(&self, mode: Mode) -> f64 {
        self.modes[mode as usize]
    }
}

impl Person {
    /// The person of this seed. Neighbouring seeds go through the skin classes in turn, so that any six are all six.
    pub fn invented(seed: u64) -> Self {
        let mut rng = Rng::new(seed, 1);
        let tone = Tone::ALL[(seed % 6) as usize];
        let mut build = Build::invented(&mut rng);
        build.thumb_mm = 20.0 + 2.0 * Rng::new(seed, 9).normal();
        let hair = Hair::ALL[match rng.unit() {
            u if u < 0.30 => 0,
            u if u < 0.54 => 1,
            u if u < 0.76 => 2,
            u if u < 0.90 => 3,
            _ => 4,
        }];
        let (fairest_hair, fairest_iris) = match tone {
            Tone::VeryLight => (7, 6),
            Tone::Light => (6, 6),
            Tone::Intermediate => (4, 4),
            Tone::Tan => (3, 2),
            Tone::Brown => (2, 2),
            Tone::Dark => (1, 1),
        };
        let spread = |rng: &mut Rng, c: [f64; 3], by: f64| {
            let f = 1.0 + by * rng.range(-1.0, 1.0);
            c.map(|v| v * f)
        };
        let hair_rgb = HAIRS[rng.below(fairest_hair)];
        let iris_rgb = IRISES[rng.below(fairest_iris)];
        let cloth_rgb = CLOTHES[rng.below(CLOTHES.len())];
        Self {
            seed,
            tone,
            hair,
            hair_rgb: spread(&mut rng, hair_rgb, 0.15),
            iris_rgb: spread(&mut rng, iris_rgb, 0.12),
            cloth_rgb: spread(&mut rng, cloth_rgb, 0.12),
            freckles: if rng.unit() < 0.35 { rng.range(0.15, 1.0) } else { rng.range(0.0, 0.12) },
            grey: if rng.unit() < 0.2 { rng.range(0.2, 0.8) } else { 0.0 },
            build,
        }
    }
}
