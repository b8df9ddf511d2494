//! The card of a photograph: which one is asked for, where it lies, and what its patches make of the colours.

use std::path::PathBuf;

use colour::{CardFit, FitError, Patch, Space};
use face::Pixel;
use measure::Card;
use vision::card::{Edition, Target, taps};
use vision::{Photograph, Quad, View, find_card_near, read_patches};
use vocab::Finding;

use super::Told;
use crate::catalogue::{fill, text};
use crate::commands::card::{described, worded};
use crate::own::Refused;

/// Which card to look for.
#[derive(Clone, Debug)]
pub enum Asked {
    /// The tool's own, if it is there.
    Auto,
    /// None: measure without.
    None,
    /// A bought target whose corners were tapped, in pixels of the upright picture.
    Taps(Target, Quad),
    /// One described in a file.
    Described(PathBuf),
}

/// What came of it.
pub struct Used {
    /// The fit; none: relative mode.
    pub card: Option<Card>,
    /// Where the patches lie.
    pub patches: Vec<Quad>,
    /// Why there is no fit although there is a card, in words.
    pub warnings: Vec<String>,
}

impl Asked {
    /// Reads `--card` and `--target`.
    pub fn parse(said: &str, target: Option<&str>) -> Result<Asked, String> {
        let numbers = said.chars().all(|c| c.is_ascii_digit() || ",.-+ ".contains(c)) && said.contains(',');
        let target = match target {
            None | Some("grey") => Target::Grey,
            Some("24-before") => Target::Twentyfour { edition: Edition::Before2014 },
            Some(_) => Target::Twentyfour { edition: Edition::After2014 },
        };
        match said {
            "auto" => Ok(Asked::Auto),
            "none" => Ok(Asked::None),
            _ if numbers => {
                let read: Option<Vec<f64>> = said.split(',').map(|w| w.trim().parse().ok()).collect();
                let read = read.and_then(|n| <[f64; 8]>::try_from(n).ok());
                let Some([a, b, c, d, e, f, g, h]) = read else { return Err(text("measure.four_taps").to_owned()) };
                let corners = [(a, b), (c, d), (e, f), (g, h)].map(|(x, y)| Pixel::new(x, y));
                taps(target, corners).map_err(|e| worded(&e))?;
                Ok(Asked::Taps(target, corners))
            }
            _ => Ok(Asked::Described(PathBuf::from(said))),
        }
    }

    /// Whether four taps are given, which is what a target needs.
    pub fn is_taps(&self) -> bool {
        matches!(self, Asked::Taps(..))
    }

    /// What can be said against it before any photograph is opened.
    pub fn check(&self) -> Result<(), Vec<Finding>> {
        match self {
            Asked::Described(path) => described(path, u32::MAX, u32::MAX).map(|_| ()),
            _ => Ok(()),
        }
    }
}

/// Finds the card that is asked for and fits it. That its colours do not fit is no error: the photograph is measured without
/// it, and a warning says why.
pub fn used(photo: &Photograph, view: &View<'_>, px_per_mm: f64, space: &Space, told: &Told) -> Result<Used, Refused> {
    let mut warnings = Vec::new();
    let width = f64::from(photo.width);
    // What a person marks is marked on the picture as it was sent.
    let turned = |quad: Quad| if told.mirrored { quad.map(|p| Pixel::new(width - p.x, p.y)) } else { quad };
    let (quads, patches, tilt_deg): (Vec<Quad>, Vec<Patch>, Option<f64>) = match &told.card {
        Asked::None => return Ok(Used { card: None, patches: Vec::new(), warnings }),
        Asked::Auto => {
            let Some(seen) = find_card_near(view, px_per_mm) else {
                return Ok(Used { card: None, patches: Vec::new(), warnings });
            };
            if seen.mirrored {
                warnings.push(
                    text(if told.mirrored { "measure.card_not_mirrored" } else { "measure.card_mirrored" }).to_owned(),
                );
            }
            let (rows, quads): (Vec<_>, Vec<_>) = seen.quads.into_iter().unzip();
            (quads, rows.into_iter().map(|r| r.patch).collect(), Some(seen.tilt_deg))
        }
        Asked::Taps(target, corners) => {
            let beyond = |p: &&Pixel| p.x < 0.0 || p.y < 0.0 || p.x > width || p.y > f64::from(photo.height);
            if let Some(p) = corners.iter().find(beyond) {
                let size = [("width", &photo.width as &dyn std::fmt::Display), ("height", &photo.height)];
                return Err(Refused(fill("measure.tap_outside", &[size[0], size[1], ("x", &p.x), ("y", &p.y)])));
            }
            let (quads, patches) = taps(*target, turned(*corners)).map_err(|e| Refused(worded(&e)))?;
            (quads, patches, None)
        }
        Asked::Described(path) => {
            let (quads, patches) = described(path, photo.width, photo.height)
                .map_err(|f| Refused(f.iter().map(Finding::to_string).collect::<Vec<_>>().join("; ")))?;
            (quads.into_iter().map(turned).collect(), patches, None)
        }
    };
    let readings = read_patches(photo, space, &quads);
    let card = match CardFit::fit(&patches, &readings) {
        Ok(fit) => {
            warnings.extend(fit.leave_one_out().is_none().then(|| text("measure.card_unproven").to_owned()));
            Some(Card { fit, tilt_deg })
        }
        Err(why) => {
            warnings.push(fill("measure.card_refused", &[("why", &unfit(&why))]));
            None
        }
    };
    Ok(Used { card, patches: quads, warnings })
}

/// Why a card's colours cannot be used, in words.
fn unfit(why: &FitError) -> String {
    match why {
        FitError::Uneven(..) => text("measure.card_uneven").to_owned(),
        FitError::TooFewPatches { kept, dropped } => fill("measure.card_few", &[("kept", kept), ("dropped", dropped)]),
        FitError::NoGreys => text("measure.card_no_greys").to_owned(),
        FitError::TooFar { loo } => fill(
            "measure.card_far",
            &[("error", &format!("{loo:.1}")), ("most", &format!("{:.1}", colour::WORST_LEAVE_ONE_OUT))],
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_of_the_card_is_read_or_refused() {
        assert!(matches!(Asked::parse("auto", None), Ok(Asked::Auto)));
        assert!(matches!(Asked::parse("none", None), Ok(Asked::None)));
        assert!(matches!(Asked::parse("mine.json", None), Ok(Asked::Described(_))));
        assert!(matches!(Asked::parse("1,1,9,1,9,9,1,9", None), Ok(Asked::Taps(Target::Grey, _))));
        let old = Asked::parse("1, 1, 9.5, 1, 9, 9, 1, 9", Some("24-before"));
        assert!(matches!(old, Ok(Asked::Taps(Target::Twentyfour { edition: Edition::Before2014 }, _))));
        // Too few, too many, no number, corners that cross, corners on a line.
        for wrong in ["1,1,9,1,9,9", "1,1,9,1,9,9,1,9,3", "1,1,9,1,9,9,1,.", "1,1,9,9,9,1,1,9", "1,1,2,1,3,1,4,1", ","]
        {
            assert!(Asked::parse(wrong, None).is_err(), "{wrong}");
        }
    }
}
