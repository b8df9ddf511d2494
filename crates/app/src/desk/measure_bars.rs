//! A value of both sides as two bars: the band that holds it with 95 %, and the value as a line within. The sides differ in
//! hatching as well as in place.

use maud::{Markup, html};
use measure::Value;

use crate::catalogue::{fill, text};
use crate::measuring::words;

/// One quantity.
pub struct Quantity {
    /// The beginning of the ids of its drawing.
    pub id: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// What it means, in a sentence.
    pub hint: &'static str,
    /// Own left and own right; none: it cannot be told.
    pub sides: [Option<Value>; 2],
    /// Digits after the point.
    pub decimals: usize,
    /// The least range that the axis spans, so that drawings of different days can be laid side by side.
    pub range: [f64; 2],
}

/// Width and height of the drawing in its own units.
const SIZE: [f64; 2] = [340.0, 62.0];
/// The edges of the axis.
const EDGES: [f64; 2] = [10.0, 330.0];
/// The middle of each lane.
const LANES: [f64; 2] = [14.0, 36.0];
/// Half a lane's height.
const HALF: f64 = 7.0;

impl Quantity {
    /// Words, numbers and drawing.
    pub fn row(&self) -> Markup {
        let names = [text("measure.left"), text("measure.right")];
        let said =
            |v: Option<Value>| v.map_or_else(|| text("measpage.untold").to_owned(), |v| words::value(v, self.decimals));
        html! {
            div.me-row {
                h3 { (self.title) }
                p.hint { (self.hint) }
                dl {
                    @for (name, v) in names.iter().zip(self.sides) {
                        div { dt { (name) } dd { (said(v)) } }
                    }
                }
                (self.drawing())
            }
        }
    }

    fn span(&self) -> [f64; 2] {
        let [mut low, mut high] = self.range;
        for v in self.sides.iter().flatten() {
            low = low.min(v.value - v.u95);
            high = high.max(v.value + v.u95);
        }
        [low, high]
    }

    fn drawing(&self) -> Markup {
        let [low, high] = self.span();
        let x = |v: f64| EDGES[0] + (v - low) / (high - low).max(1e-12) * (EDGES[1] - EDGES[0]);
        let number =
            |v: f64| words::value(Value { value: v, u95: 0.0 }, self.decimals).split(' ').next().map(str::to_owned);
        let [left, right] = self.sides;
        let said =
            |v: Option<Value>| v.map_or_else(|| text("measpage.untold").to_owned(), |v| words::value(v, self.decimals));
        let desc = fill("measpage.bar_desc", &[("left", &said(left)), ("right", &said(right))]);
        let (title_id, desc_id) = (format!("{}-title", self.id), format!("{}-desc", self.id));
        let coordinate = |v: f64| format!("{v:.1}");
        html! {
            svg.me-bar viewBox={ "0 0 " (SIZE[0]) " " (SIZE[1]) } role="img" aria-labelledby={ (title_id) " " (desc_id) } {
                title id=(title_id) { (self.title) }
                desc id=(desc_id) { (desc) }
                line.me-axis x1=(EDGES[0]) x2=(EDGES[1]) y1="48" y2="48" {}
                @if low < 0.0 && high > 0.0 || low == 0.0 {
                    line.me-nought x1=(coordinate(x(0.0))) x2=(coordinate(x(0.0))) y1="2" y2="51" {}
                    text.me-number x=(coordinate(x(0.0))) y="60" text-anchor="middle" { "0" }
                }
                @if (x(0.0) - EDGES[0]).abs() > 26.0 { text.me-number x=(EDGES[0]) y="60" { (number(low).unwrap_or_default()) } }
                @if (x(0.0) - EDGES[1]).abs() > 26.0 { text.me-number x=(EDGES[1]) y="60" text-anchor="end" { (number(high).unwrap_or_default()) } }
                @for ((v, lane), class) in self.sides.iter().zip(LANES).zip(["me-left", "me-right"]) {
                    @if let Some(v) = v {
                        @let (from, to) = (x(v.value - v.u95), x(v.value + v.u95));
                        rect class={ "me-band " (class) } x=(coordinate(from)) y=(coordinate(lane - HALF)) width=(coordinate((to - from).max(1.0))) height=(2.0 * HALF) {}
                        @if class == "me-right" {
                            // Hatched: strokes a few units apart, cut to the band.
                            @for k in 0..((to - from) / 6.0) as usize {
                                @let at = from + 3.0 + 6.0 * k as f64;
                                line.me-hatch x1=(coordinate(at)) x2=(coordinate(at)) y1=(coordinate(lane - HALF + 1.5)) y2=(coordinate(lane + HALF - 1.5)) {}
                            }
                        }
                        line.me-value x1=(coordinate(x(v.value))) x2=(coordinate(x(v.value))) y1=(coordinate(lane - HALF - 2.0)) y2=(coordinate(lane + HALF + 2.0)) {}
                    }
                }
            }
        }
    }
}
