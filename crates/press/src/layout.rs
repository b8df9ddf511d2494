//! The card's design, from `data/card/layout.csv` and `data/card/qr.txt`. Millimetres from the card's top left corner, y
//! down.

const ROWS: &str = include_str!("../../../data/card/layout.csv");
const MODULES: &str = include_str!("../../../data/card/qr.txt");

/// Width and height of the card.
pub const CARD_MM: [f64; 2] = [85.6, 54.0];

/// A rectangle of one colour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    pub x: f64,
    pub y: f64,
    pub w: f64,
    pub h: f64,
    /// CIELAB for D65, 2 degree.
    pub lab: [f64; 3],
}

/// The patches.
pub fn patches() -> Vec<Area> {
    areas("patch,")
}

/// The dark parts of the code, neighbours of a row joined.
pub fn code() -> Vec<Area> {
    let Some(whole) = areas("qr,").first().copied() else { return Vec::new() };
    let rows: Vec<&str> = MODULES.lines().collect();
    let module = whole.w / rows.len().max(1) as f64;
    let mut dark = Vec::new();
    for (row, line) in rows.iter().enumerate() {
        let mut from = 0;
        // Runs of one kind: "111", "0", "11".
        for run in line.as_bytes().chunk_by(|a, b| a == b) {
            if run[0] == b'1' {
                dark.push(Area {
                    x: whole.x + from as f64 * module,
                    y: whole.y + row as f64 * module,
                    w: run.len() as f64 * module,
                    h: module,
                    lab: whole.lab,
                });
            }
            from += run.len();
        }
    }
    dark
}

fn areas(kind: &str) -> Vec<Area> {
    let area = |line: &str| {
        let n: Vec<f64> = line.split(',').skip(2).take(7).filter_map(|w| w.parse().ok()).collect();
        let [x, y, w, h, l, a, b] = n.try_into().ok()?;
        Some(Area { x, y, w, h, lab: [l, a, b] })
    };
    ROWS.lines().filter(|l| l.starts_with(kind)).filter_map(area).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_patch_and_module_is_there() {
        assert_eq!(patches().len(), 18);
        let dark: f64 = code().iter().map(|a| a.w * a.h).sum();
        let designed = MODULES.bytes().filter(|b| *b == b'1').count() as f64;
        assert!((dark - designed).abs() < 1e-9, "{dark} square millimetres for {designed} modules of 1 mm");
    }
}
