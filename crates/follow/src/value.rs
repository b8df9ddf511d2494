//! What can be followed, with the stated prior of its noise.

/// A value that is followed.
#[derive(Debug, PartialEq)]
pub struct Value {
    /// Its name in files, as the measurement names it.
    pub name: &'static str,
    /// Its unit in files.
    pub unit: &'static str,
    /// Stated prior of the standard deviation between days of one person, with the within-visit scatter left out.
    pub between: f64,
    /// Stated prior of the standard deviation between photographs of one visit.
    pub within: f64,
    /// The size of a change that a plan asks for unless it says otherwise.
    pub size: f64,
    /// The bounds of what can be told: a value outside is an error of input.
    pub range: [f64; 2],
    /// Whether it is a difference of colour, for which it can be said whether an eye would see it.
    pub colour: bool,
    /// Whether somebody says it (0 to 10) instead of a photograph.
    pub said: bool,
}

const fn photo(name: &'static str, unit: &'static str, noise: [f64; 2], size: f64, range: [f64; 2]) -> Value {
    Value { name, unit, between: noise[0], within: noise[1], size, range, colour: false, said: false }
}

const fn said(name: &'static str) -> Value {
    Value { name, unit: "points", between: 1.5, within: 0.25, size: 2.0, range: [0.0, 10.0], colour: false, said: true }
}

/// All of them. The first is the usual one. Sources: dE00's prior (0.45 between days, 0.25 within a visit) was set by simulation
/// (docs/validation.md, "Did it change"); dL, redness and yellowness share it, being steps of CIELAB of like size; of the others the
/// numbers are our own choice, no source, and wide on purpose: a prior that is too wide only costs power.
pub const VALUES: [Value; 14] = [
    Value { colour: true, ..photo("dE00", "dE00", [0.45, 0.25], 2.0, [0.0, 60.0]) },
    photo("dL", "L*", [0.45, 0.25], 2.0, [-60.0, 60.0]),
    photo("brown", "density", [0.03, 0.01], 0.05, [-2.0, 2.0]),
    photo("blue_red", "density", [0.03, 0.01], 0.05, [-2.0, 2.0]),
    photo("relief", "density", [0.03, 0.01], 0.05, [-2.0, 2.0]),
    photo("redness", "a*", [0.45, 0.25], 2.0, [-60.0, 60.0]),
    photo("yellowness", "b*", [0.45, 0.25], 2.0, [-60.0, 60.0]),
    photo("lid_opening", "mm", [0.6, 0.3], 1.0, [0.0, 30.0]),
    photo("brow", "mm", [0.8, 0.4], 1.5, [-100.0, 100.0]),
    photo("mouth_corner", "mm", [0.8, 0.4], 1.5, [-150.0, 150.0]),
    said("relaxed"),
    said("stress"),
    said("wellbeing"),
    said("sleep"),
];

impl Value {
    /// The usual one: CIEDE2000 of the skin under the eyes against the cheek.
    pub fn usual() -> &'static Value {
        &VALUES[0]
    }

    /// The value of this name.
    pub fn named(name: &str) -> Option<&'static Value> {
        VALUES.iter().find(|v| v.name == name)
    }
}
