//! Handles over a photograph, for a page's script to drag.

use std::fmt::Write;

use crate::ground::{OVER_CASING, OVER_INK};
use crate::svg::{escape, num};

/// A place of a photograph that can be dragged.
#[derive(Clone, Copy, Debug)]
pub struct Handle<'a> {
    /// Becomes `data-handle`.
    pub name: &'a str,
    /// Its accessible name, from the caller's catalogue.
    pub label: &'a str,
    /// Where it stands, in pixels of the picture: x right, y down.
    pub at: [f64; 2],
}

/// The radius of a handle's ring in centimetres of the face: around a corner of the eye, and still between two of them.
const RING: f64 = 0.34;

/// Handles as SVG, for a drawing whose user unit is a pixel of the picture, such as [`crate::overlay`] makes.
///
/// Each is `<g class="sk-handle" data-handle role="button" tabindex="0" aria-label transform="translate(x y)">`; a script moves it by
/// setting the `transform`. The target is 44 CSS pixels wide at every size of the picture: a dot of a line that does not scale
/// (`vector-effect`, SVG 2, 8.12); a page for the table sets `.sk-reach{stroke-width:72px}`.
pub fn handles(handles: &[Handle<'_>], px_per_cm: f64) -> String {
    let mut out = String::new();
    let fixed = "vector-effect=\"non-scaling-stroke\" stroke-linecap=\"round\"";
    for handle in handles {
        let [x, y] = handle.at;
        let r = num(RING * px_per_cm);
        let _ = write!(
            out,
            "<g class=\"sk-handle\" data-handle=\"{}\" role=\"button\" tabindex=\"0\" aria-label=\"{}\" \
             transform=\"translate({} {})\">\
             <path class=\"sk-reach\" d=\"M0 0h.01\" stroke=\"{OVER_CASING}\" stroke-opacity=\"0\" stroke-width=\"44\" \
             pointer-events=\"all\" {fixed}/>\
             <circle r=\"{r}\" fill=\"none\" stroke=\"{OVER_CASING}\" stroke-width=\"6\" {fixed}/>\
             <circle class=\"sk-grip\" r=\"{r}\" fill=\"none\" stroke=\"{OVER_INK}\" stroke-width=\"2.5\" {fixed}/>\
             <path d=\"M0 0h.01\" stroke=\"{OVER_CASING}\" stroke-width=\"7\" {fixed}/>\
             <path d=\"M0 0h.01\" stroke=\"{OVER_INK}\" stroke-width=\"4\" {fixed}/></g>",
            escape(handle.name),
            escape(handle.label),
            num(x),
            num(y),
        );
    }
    out
}
