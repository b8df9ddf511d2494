//! A measured photograph as a drawing: the photograph with the areas that were averaged, the card's patches, and beside each eye
//! what was found.
//!
//! Every line is drawn twice, light below dark, so that it is seen on any skin; the sides differ in pattern, not in colour.

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use face::{Area, Outline, Pixel};
use vision::Photograph;
use vocab::Side;

use super::figures::Looked;
use super::{Taken, words};
use crate::catalogue::{fill, text};
use crate::own::Refused;

/// The longer side of the photograph within the drawing, in pixels.
const EMBEDDED: u32 = 1600;

/// The photograph itself as an address that carries it: it holds no place, no time, no camera.
pub fn carried(photo: &Photograph) -> Result<String, Refused> {
    let bytes = photo.jpeg(EMBEDDED, 88).map_err(|_| Refused(text("photo.broken").to_owned()))?;
    Ok(format!("data:image/jpeg;base64,{}", STANDARD.encode(bytes)))
}

/// The drawing. `href`: the address of the photograph (of a mirrored one, of the unmirrored picture); `id`: the beginning of
/// the ids in it.
pub fn svg(taken: &Looked, href: &str, id: &str) -> String {
    let [x, y, w, h] = taken.around;
    let unit = w.max(h) / 1000.0;
    let mut out = String::new();
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"me-over\" viewBox=\"{x:.1} {y:.1} {w:.1} {h:.1}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-desc\"><title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>\
         <image href=\"{}\" x=\"0\" y=\"0\" width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\"/>",
        escaped(text("measure.drawing")),
        escaped(&described(taken)),
        escaped(href),
        taken.picture[0],
        taken.picture[1],
    );
    for quad in &taken.patches {
        line(&mut out, quad, unit, None, 0.8);
    }
    for side in taken.sides.iter().flatten() {
        // The band, its thirds, the cheek: the thirds first, so that the band's own line lies over theirs.
        let is_whole = |i: usize, o: &Outline| i == 0 || o.area == Area::Cheek;
        let each = || side.outlines.iter().enumerate();
        for (_, outline) in each().filter(|(i, o)| !is_whole(*i, o)) {
            line(&mut out, &outline.corners, unit, Some([1.2, 2.4]), 0.9);
        }
        let dash = (side.side == Side::Right).then_some([9.0, 2.6]);
        for (_, outline) in each().filter(|(i, o)| is_whole(*i, o)) {
            line(&mut out, &outline.corners, unit, dash, 1.6);
        }
        let lines = [
            text(if side.side == Side::Left { "measure.left" } else { "measure.right" }).to_owned(),
            format!("dE00 {}", words::value(side.de, 1)),
            format!("dL* {}", words::value(side.l, 1)),
        ];
        label(&mut out, &lines, &side.outlines, side.side, unit, [x, w]);
    }
    out.push_str("</svg>");
    out
}

/// The same in words.
fn described(taken: &Looked) -> String {
    match &taken.sides {
        None => text("measure.drawing_refused").to_owned(),
        Some([right, left]) => {
            fill("measure.drawing_desc", &[("left", &words::value(left.de, 1)), ("right", &words::value(right.de, 1))])
        }
    }
}

/// The part of the picture around face and card, and some air: left, top, width, height in pixels.
pub fn around(taken: &Taken) -> [f64; 4] {
    let face = taken.landmarks.all().iter().map(|p| [p[0], p[1]]);
    let card = taken.patches.iter().flatten().map(|p| [p.x, p.y]);
    let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
    for p in face.chain(card) {
        for k in 0..2 {
            low[k] = low[k].min(p[k]);
            high[k] = high[k].max(p[k]);
        }
    }
    let air = 0.14 * (high[0] - low[0]);
    let [w, h] = taken.picture.map(f64::from);
    let (x0, y0) = ((low[0] - air).clamp(0.0, w - 1.0), (low[1] - air).clamp(0.0, h - 1.0));
    let (x1, y1) = ((high[0] + air).clamp(x0 + 1.0, w), (high[1] + air).clamp(y0 + 1.0, h));
    [x0, y0, x1 - x0, y1 - y0]
}

fn line(out: &mut String, corners: &[Pixel], unit: f64, dash: Option<[f64; 2]>, width: f64) {
    let points: Vec<String> = corners.iter().map(|p| format!("{:.1},{:.1}", p.x, p.y)).collect();
    let points = points.join(" ");
    let dash =
        dash.map_or_else(String::new, |[on, off]| format!(" stroke-dasharray=\"{:.2} {:.2}\"", on * unit, off * unit));
    for (colour, more, dash) in [("#f6f8f7", 2.4, ""), ("#1f2a33", 0.0, dash.as_str())] {
        let _ = write!(
            out,
            "<polygon points=\"{points}\" fill=\"none\" stroke=\"{colour}\" stroke-opacity=\"0.9\" stroke-width=\"{:.2}\" \
             stroke-linejoin=\"round\"{dash}/>",
            (width + more) * unit
        );
    }
}

/// The words beside an eye, on the outer side of it, within the drawing.
fn label(out: &mut String, lines: &[String], outlines: &[Outline], side: Side, unit: f64, [x, w]: [f64; 2]) {
    let Some(cheek) = outlines.iter().find(|o| o.area == Area::Cheek) else { return };
    let n = cheek.corners.len().max(1) as f64;
    let middle = cheek.corners.iter().map(|p| p.x).sum::<f64>() / n;
    let bottom = cheek.corners.iter().map(|p| p.y).fold(f64::MIN, f64::max);
    let size = 24.0 * unit;
    // A line of about 14 letters, centred below the cheek's disc, and kept within the drawing.
    let reach = 0.5 * 14.0 * 0.56 * size;
    let at = middle.clamp(x + reach, (x + w - reach).max(x + reach));
    let side = if side == Side::Left { "left" } else { "right" };
    let _ = write!(
        out,
        "<text class=\"me-{side}\" text-anchor=\"middle\" font-family=\"Next, 'Atkinson Hyperlegible', sans-serif\" \
         font-size=\"{size:.1}\" font-weight=\"600\" fill=\"#1f2a33\" stroke=\"#f6f8f7\" stroke-width=\"{:.1}\" \
         stroke-linejoin=\"round\" paint-order=\"stroke\">",
        0.22 * size
    );
    for (i, words) in lines.iter().enumerate() {
        let y = bottom + size * (1.15 + 1.2 * i as f64);
        let _ = write!(out, "<tspan x=\"{at:.1}\" y=\"{y:.1}\">{}</tspan>", escaped(words));
    }
    out.push_str("</text>");
}

fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
