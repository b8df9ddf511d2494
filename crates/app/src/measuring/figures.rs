//! What a page says of photographs and of a visit: the same whether it was measured just now or is read back from an answer that
//! was kept.

use face::Outline;
use measure::{Gate, Leading, Mode, Shadow, Value};
use vision::Quad;
use vocab::Side;

use super::visit::Combined;
use super::{Taken, overlay};

/// A photograph as a page shows it. Places are in pixels of the unmirrored picture.
#[derive(Clone, Debug)]
pub struct Looked {
    /// Width and height, pixels.
    pub picture: [u32; 2],
    /// The part around face and card: left, top, width, height, pixels.
    pub around: [f64; 4],
    /// What it had to pass.
    pub gates: Vec<Gate>,
    /// Own right and own left; none where it is refused.
    pub sides: Option<[LookedSide; 2]>,
    /// The card's patches.
    pub patches: Vec<Quad>,
    /// What to mind, in words.
    pub warnings: Vec<String>,
    /// Whether it was assumed what the numbers of the file mean.
    pub profile_assumed: bool,
}

/// A side of a photograph as a page shows it.
#[derive(Clone, Debug)]
pub struct LookedSide {
    /// The person's own.
    pub side: Side,
    /// What was averaged: the whole band first.
    pub outlines: Vec<Outline>,
    /// The shadow's dE00.
    pub de: Value,
    /// The shadow's dL*.
    pub l: Value,
}

impl Looked {
    /// Of what was measured.
    pub fn of(taken: &Taken) -> Looked {
        let side = |s: &measure::SideMeasured| LookedSide {
            side: s.side,
            outlines: s.outlines.clone(),
            de: s.shadow.de,
            l: s.shadow.l,
        };
        Looked {
            picture: taken.picture,
            around: overlay::around(taken),
            gates: taken.measured.gates.clone(),
            sides: taken.sides().map(|sides| sides.each_ref().map(side)),
            patches: taken.patches.clone(),
            warnings: taken.warnings.clone(),
            profile_assumed: taken.profile_assumed,
        }
    }

    /// Whether it counts: every gate is passed and there are values.
    pub fn usable(&self) -> bool {
        self.sides.is_some() && self.gates.iter().all(|g| g.passed)
    }
}

/// A visit in numbers.
#[derive(Clone, Debug)]
pub struct Figures {
    /// How many photographs count.
    pub photographs: usize,
    /// How their colours were read.
    pub mode: Mode,
    /// Own right, own left.
    pub sides: [SideFigures; 2],
    /// Own left less own right of dE00.
    pub apart: Value,
    /// What to mind, in words.
    pub warnings: Vec<String>,
}

/// A side of a visit in numbers.
#[derive(Clone, Debug)]
pub struct SideFigures {
    /// The shadow, light divided out.
    pub shadow: Shadow,
    /// The shadow as photographed.
    pub as_photographed: Shadow,
    /// Density of brown, blue-red and relief.
    pub parts: [Option<Value>; 3],
    /// What leads.
    pub leading: Leading,
    /// Standard deviation of dE00 between the photographs.
    pub spread: Option<f64>,
    /// Heights by name, mm.
    pub heights: Vec<(&'static str, Value)>,
    /// Redness and yellowness of the white of the eye.
    pub sclera: Option<[Value; 2]>,
}

impl Figures {
    /// Of what was combined.
    pub fn of(combined: &Combined) -> Figures {
        let side = |k: usize| {
            let (s, more) = (&combined.visit.sides[k], &combined.more[k]);
            SideFigures {
                shadow: s.shadow,
                as_photographed: more.as_photographed,
                parts: s.parts,
                leading: s.leading,
                spread: s.spread,
                heights: more.heights.clone(),
                sclera: more.sclera,
            }
        };
        Figures {
            photographs: combined.visit.photographs,
            mode: combined.mode,
            sides: [side(0), side(1)],
            apart: combined.visit.difference[1],
            warnings: combined.warnings.clone(),
        }
    }
}
