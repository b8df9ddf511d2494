//! What a photograph must pass before any number of it is believed.

/// What is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GateName {
    /// The head's turn to a side, degrees.
    Yaw,
    /// The head's nod, degrees.
    Pitch,
    /// The head's tilt, degrees.
    Roll,
    /// The width of the iris, pixels.
    IrisPx,
    /// The width of the sharpest edges at the eyes, mm.
    Sharpness,
    /// The share of pixels blown out or black in band and cheek.
    Clipped,
    /// The level of the cheek, 0 to 255.
    Exposure,
    /// |ln(left cheek / right cheek)| of luminance.
    Evenness,
    /// How far the lids are open, as a share of the width of the eye.
    EyesOpen,
    /// How far the lips are apart, as a share of the width of the mouth.
    Mouth,
    /// The share of band or cheek left out as lashes, hair, rims or shine.
    LeftOut,
    /// How much the two sides' skin resembles skin: texture and colour (0 nothing like it, 1 like it).
    Skin,
    /// How unlike daylight the light is, as the white of the eye shows it (relative mode).
    Cast,
    /// The card's tilt, degrees (referenced mode).
    CardFlat,
    /// The card's own leave-one-out error, CIEDE2000 (referenced mode).
    CardFit,
}

impl GateName {
    /// All of them.
    pub const ALL: [GateName; 15] = [
        GateName::Yaw,
        GateName::Pitch,
        GateName::Roll,
        GateName::IrisPx,
        GateName::Sharpness,
        GateName::Clipped,
        GateName::Exposure,
        GateName::Evenness,
        GateName::EyesOpen,
        GateName::Mouth,
        GateName::LeftOut,
        GateName::Skin,
        GateName::Cast,
        GateName::CardFlat,
        GateName::CardFit,
    ];

    /// Its name in answers.
    pub fn name(self) -> &'static str {
        match self {
            GateName::Yaw => "yaw",
            GateName::Pitch => "pitch",
            GateName::Roll => "roll",
            GateName::IrisPx => "iris_px",
            GateName::Sharpness => "sharpness",
            GateName::Clipped => "clipped",
            GateName::Exposure => "exposure",
            GateName::Evenness => "evenness",
            GateName::EyesOpen => "eyes_open",
            GateName::Mouth => "mouth",
            GateName::LeftOut => "left_out",
            GateName::Skin => "skin",
            GateName::Cast => "cast",
            GateName::CardFlat => "card_flat",
            GateName::CardFit => "card_fit",
        }
    }

    /// The limit, and whether the value must be at least it (else at most).
    pub fn limit(self) -> (f64, bool) {
        match self {
            GateName::Yaw => (12.0, false),
            GateName::Pitch => (15.0, false),
            GateName::Roll => (20.0, false),
            GateName::IrisPx => (20.0, true),
            GateName::Sharpness => (1.3, false),
            GateName::Clipped => (0.05, false),
            GateName::Exposure => (25.0, true),
            // measurement.md: window light from one side is refused, not measured.
            GateName::Evenness => (0.20, false),
            GateName::EyesOpen => (0.15, true),
            GateName::Mouth => (0.17, false),
            GateName::LeftOut => (0.18, false),
            GateName::Skin => (0.5, true),
            GateName::Cast => (0.45, false),
            GateName::CardFlat => (25.0, false),
            GateName::CardFit => (1.5, false),
        }
    }
}

/// One gate of one photograph.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    /// Which.
    pub name: GateName,
    /// What was found, in the gate's unit; the worse of the two sides.
    pub value: f64,
    /// The limit.
    pub limit: f64,
    /// Whether it was passed.
    pub passed: bool,
}

impl Gate {
    /// A gate with its limit applied. A value that is no number fails.
    pub fn of(name: GateName, value: f64) -> Gate {
        let (limit, at_least) = name.limit();
        let passed = if at_least { value >= limit } else { value <= limit };
        Gate { name, value, limit, passed }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_fails() {
        for name in GateName::ALL {
            assert!(!Gate::of(name, f64::NAN).passed, "{}", name.name());
            let (limit, at_least) = name.limit();
            assert!(Gate::of(name, limit).passed);
            assert!(!Gate::of(name, limit + if at_least { -1e-6 } else { 1e-6 }).passed);
        }
    }
}
