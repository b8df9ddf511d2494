//! Which part of a shadow leads: a description of the photograph, not a diagnosis.

use crate::Value;

/// The part that leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leading {
    /// Brown (melanin).
    Brown,
    /// Blue-red (blood).
    BlueRed,
    /// Relief (shape and its own small shadow).
    Relief,
    /// More than one part stands out.
    Mixed,
    /// Nothing stands out of its noise.
    CannotTell,
}

/// A part is above its noise from this many standard uncertainties on (measurement.md).
const CLEAR: f64 = 3.0;
/// A part is small against the largest below this share of it (our own choice).
const SMALL: f64 = 0.5;
/// Relief holds what neither direction explains; it leads only where the others are below this share of it.
const BARE: f64 = 0.25;
/// A part that could, at two standard uncertainties, be as large as this share of the leading one, keeps it from leading.
const COULD_BE: f64 = 0.9;

impl Leading {
    /// From the three parts in luminance density: brown, blue-red, relief.
    pub fn of(parts: [Value; 3]) -> Leading {
        let names = [Leading::Brown, Leading::BlueRed, Leading::Relief];
        let clear: Vec<usize> = (0..3).filter(|k| parts[*k].value > CLEAR * parts[*k].u()).collect();
        let Some(first) = clear.iter().copied().max_by(|a, b| parts[*a].value.total_cmp(&parts[*b].value)) else {
            return Leading::CannotTell;
        };
        let most = parts[first].value;
        let others = (0..3).filter(|k| *k != first);
        if others.clone().any(|k| clear.contains(&k) && parts[k].value > SMALL * most) {
            return Leading::Mixed;
        }
        let small = if names[first] == Leading::Relief { BARE } else { SMALL };
        if others
            .clone()
            .all(|k| parts[k].value.abs() < small * most && parts[k].value + 2.0 * parts[k].u() < COULD_BE * most)
        {
            return names[first];
        }
        Leading::CannotTell
    }

    /// Its name in answers.
    pub fn name(self) -> &'static str {
        match self {
            Leading::Brown => "brown",
            Leading::BlueRed => "blue_red",
            Leading::Relief => "relief",
            Leading::Mixed => "mixed",
            Leading::CannotTell => "cannot_tell",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_leads_only_when_it_is_clear_and_alone() {
        let v = |value, u| Value::of(value, u);
        for (parts, expected) in [
            ([v(0.10, 0.01), v(0.01, 0.01), v(0.01, 0.01)], Leading::Brown),
            ([v(0.01, 0.01), v(0.10, 0.02), v(-0.01, 0.01)], Leading::BlueRed),
            ([v(0.0, 0.01), v(0.0, 0.01), v(0.06, 0.01)], Leading::Relief),
            ([v(0.10, 0.01), v(0.08, 0.01), v(0.0, 0.01)], Leading::Mixed),
            ([v(0.02, 0.01), v(0.01, 0.01), v(0.02, 0.01)], Leading::CannotTell),
            // Clear, but another could be as large.
            ([v(0.10, 0.01), v(0.04, 0.05), v(0.0, 0.01)], Leading::CannotTell),
        ] {
            assert_eq!(Leading::of(parts), expected, "{parts:?}");
        }
    }
}
