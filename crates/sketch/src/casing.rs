//! The light casing beneath a mark that lies over a photograph: ink on a light edge reads on any skin.

use std::fmt::Write;

use crate::ground::OVER_CASING;
use crate::svg::{UNITS, num};

/// How far the casing reaches beyond the ink, in centimetres.
const REACH: f64 = 0.07;

/// The art of a mark beneath itself, wider by [`REACH`] on every edge. The art is that of [`crate::marks`]: `path` and `circle`
/// elements, filled or lined. Broken lines are cased through, so that a dotted ring lies on a whole light one.
pub(crate) fn under(art: &str) -> String {
    let mut out = format!("<g class=\"sk-casing\" color=\"{OVER_CASING}\">");
    for element in art.split("/>").map(str::trim).filter(|e| !e.is_empty()) {
        let get = |key: &str| element.split(&format!(" {key}=\"")).nth(1).and_then(|t| t.split('"').next());
        let number = |key: &str| get(key).and_then(|t| t.parse::<f64>().ok()).unwrap_or(0.0);
        let wide = num(number("stroke-width") + 2.0 * REACH * UNITS);
        let ends = "stroke=\"currentColor\" stroke-linejoin=\"round\" stroke-linecap=\"round\"";
        if element.contains("sk-fill") {
            // The dial of a hold: the sector is read against a light disc.
            let (x, y, r) = (number("cx"), number("cy"), number("r") * 2.0);
            let _ = write!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"currentColor\" fill-opacity=\"0.7\"/>",
                num(x),
                num(y),
                num(r)
            );
        } else if let Some(d) = get("d") {
            let fill = if element.contains("fill=\"none\"") { "none" } else { "currentColor" };
            let _ = write!(out, "<path d=\"{d}\" fill=\"{fill}\" {ends} stroke-width=\"{wide}\"/>");
        } else {
            let (x, y, r) = (number("cx"), number("cy"), number("r"));
            let _ = write!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"currentColor\" {ends} stroke-width=\"{wide}\"/>",
                num(x),
                num(y),
                num(r)
            );
        }
    }
    out.push_str("</g>");
    out
}
