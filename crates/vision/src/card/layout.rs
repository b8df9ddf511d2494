//! What lies where on the printed card, from `data/card/layout.csv` and `data/card/qr.txt`.

use std::sync::OnceLock;

use colour::{Lab, Patch};

const ROWS: &str = include_str!("../../../../data/card/layout.csv");
const MODULES: &str = include_str!("../../../../data/card/qr.txt");

/// Width and height of the card in millimetres: that of a bank card (ISO/IEC 7810 ID-1, rounded to a tenth).
pub const CARD_MM: [f64; 2] = [85.6, 54.0];
/// What the card's QR code says.
pub const PAYLOAD: &str = "TRAGION-CARD 1";
/// Modules along a side of the QR code (ISO/IEC 18004, version 1).
pub const QR_SIDE: usize = 21;

/// One patch of the card. Millimetres from the card's top left corner, y down.
#[derive(Clone, Debug, PartialEq)]
pub struct PatchRow {
    /// Left edge.
    pub x_mm: f64,
    /// Top edge.
    pub y_mm: f64,
    /// Width.
    pub w_mm: f64,
    /// Height.
    pub h_mm: f64,
    /// Its name, its nominal colour, and whether it is one of the grey steps.
    pub patch: Patch,
}

/// The card's design.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Left edge of the QR code without its quiet zone, in millimetres.
    pub qr_x_mm: f64,
    /// Top edge of it.
    pub qr_y_mm: f64,
    /// Side of a module of it.
    pub module_mm: f64,
    /// Its modules row by row from the top left; true is dark.
    pub modules: Vec<bool>,
    /// The patches.
    pub patches: Vec<PatchRow>,
}

/// The card that is printed. The compiled-in files are held to the design by a test.
pub fn layout() -> &'static Layout {
    static LAYOUT: OnceLock<Layout> = OnceLock::new();
    LAYOUT.get_or_init(|| parse(ROWS, MODULES))
}

fn parse(rows: &str, modules: &str) -> Layout {
    let modules = modules.bytes().filter(|b| matches!(b, b'0' | b'1')).map(|b| b == b'1').collect();
    let mut layout = Layout { qr_x_mm: 0.0, qr_y_mm: 0.0, module_mm: 0.0, modules, patches: Vec::new() };
    for line in rows.lines().filter(|l| !l.starts_with('#')) {
        let words: Vec<&str> = line.split(',').collect();
        let number = |i: usize| words.get(i).and_then(|w| w.parse::<f64>().ok()).unwrap_or(f64::NAN);
        match words[0] {
            "qr" => {
                (layout.qr_x_mm, layout.qr_y_mm) = (number(2), number(3));
                layout.module_mm = number(4) / QR_SIDE as f64;
            }
            "patch" => layout.patches.push(PatchRow {
                x_mm: number(2),
                y_mm: number(3),
                w_mm: number(4),
                h_mm: number(5),
                patch: Patch {
                    name: words[1].to_owned(),
                    lab: Lab { l: number(6), a: number(7), b: number(8) },
                    grey: words.last() == Some(&"true"),
                },
            }),
            _ => {}
        }
    }
    layout
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_card_is_as_it_was_designed() {
        let card = layout();
        assert_eq!(card.patches.len(), 18);
        assert_eq!(card.patches.iter().filter(|p| p.patch.grey).count(), 6);
        assert_eq!(card.modules.len(), QR_SIDE * QR_SIDE);
        assert!((card.module_mm - 1.0).abs() < 1e-9, "{}", card.module_mm);
        let boxes: Vec<(&str, [f64; 4])> = card
            .patches
            .iter()
            .map(|p| (p.patch.name.as_str(), [p.x_mm, p.y_mm, p.x_mm + p.w_mm, p.y_mm + p.h_mm]))
            .collect();
        // The quiet zone of a QR code is four modules wide (ISO/IEC 18004, 5.3.8).
        let (quiet, side) = (4.0 * card.module_mm, QR_SIDE as f64 * card.module_mm);
        let code =
            [card.qr_x_mm - quiet, card.qr_y_mm - quiet, card.qr_x_mm + side + quiet, card.qr_y_mm + side + quiet];
        let apart = |a: &[f64; 4], b: &[f64; 4]| a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
        for (i, (name, a)) in boxes.iter().enumerate() {
            assert!(a.iter().all(|v| v.is_finite()), "{name}");
            assert!(a[2] - a[0] >= 8.5 && a[3] - a[1] >= 8.5, "{name} is small");
            assert!(a[0] >= 1.0 && a[1] >= 1.0 && a[2] <= CARD_MM[0] - 1.0 && a[3] <= CARD_MM[1] - 1.0, "{name}");
            assert!(apart(a, &code), "{name} lies in the quiet zone");
            for (other, b) in &boxes[i + 1..] {
                assert!(apart(a, b), "{name} lies on {other}");
                assert_ne!(name, other);
            }
        }
    }

    #[test]
    fn the_grey_steps_are_neutral_and_spread_over_the_card() {
        let greys: Vec<&PatchRow> = layout().patches.iter().filter(|p| p.patch.grey).collect();
        let mean = |f: fn(&PatchRow) -> f64| greys.iter().map(|p| f(p)).sum::<f64>() / greys.len() as f64;
        let (x, y, l) = (mean(|p| p.x_mm), mean(|p| p.y_mm), mean(|p| p.patch.lab.l));
        let covariance =
            |f: fn(&PatchRow) -> f64, m: f64| greys.iter().map(|p| (f(p) - m) * (p.patch.lab.l - l)).sum::<f64>();
        let spread = |f: fn(&PatchRow) -> f64, m: f64| greys.iter().map(|p| (f(p) - m).powi(2)).sum::<f64>().sqrt();
        let tones = spread(|p| p.patch.lab.l, l);
        // Light that falls off across the card must not look like a tone curve.
        for (what, with) in [
            ("x", covariance(|p| p.x_mm, x) / (spread(|p| p.x_mm, x) * tones)),
            ("y", covariance(|p| p.y_mm, y) / (spread(|p| p.y_mm, y) * tones)),
        ] {
            assert!(with.abs() < 0.15, "lightness goes with {what}: {with}");
        }
        for grey in greys {
            assert_eq!((grey.patch.lab.a, grey.patch.lab.b), (0.0, 0.0), "{}", grey.patch.name);
        }
    }
}
