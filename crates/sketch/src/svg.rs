//! The small vocabulary of SVG text: numbers, coordinates, escaping.

use std::fmt::Write;

use face::Spot;

/// SVG units in a centimetre of the drawing.
pub(crate) const UNITS: f64 = 20.0;

/// A number with one decimal at most, and no minus before zero.
pub(crate) fn num(value: f64) -> String {
    let tenths = (value * 10.0).round() as i64;
    if tenths % 10 == 0 {
        format!("{}", tenths / 10)
    } else {
        let sign = if tenths < 0 { "-" } else { "" };
        format!("{sign}{}.{}", tenths.abs() / 10, tenths.abs() % 10)
    }
}

/// A length of the drawing in SVG units.
pub(crate) fn len(cm: f64) -> String {
    num(cm * UNITS)
}

/// A place of the drawing as `x y` in SVG units (y down).
pub(crate) fn xy(spot: Spot) -> String {
    format!("{} {}", num(spot.x * UNITS), num(-spot.y * UNITS))
}

/// A polyline as path data.
pub(crate) fn polyline(spots: &[Spot], closed: bool) -> String {
    let mut d = String::new();
    for (i, spot) in spots.iter().enumerate() {
        let _ = write!(d, "{}{}", if i == 0 { "M" } else { "L" }, xy(*spot));
    }
    if closed && !spots.is_empty() {
        d.push('Z');
    }
    d
}

/// A smooth run through the middles of the given places, as path data; ends lie on the first and last place.
pub(crate) fn soft(spots: &[Spot], closed: bool) -> String {
    if spots.len() < 3 {
        return polyline(spots, closed);
    }
    let mid = |a: Spot, b: Spot| (a + b) * 0.5;
    let n = spots.len();
    let mut writer = Relative::default();
    if closed {
        writer.start(mid(spots[n - 1], spots[0]));
        for i in 0..n {
            writer.bend(spots[i], mid(spots[i], spots[(i + 1) % n]));
        }
        writer.d.push('z');
    } else {
        writer.start(spots[0]);
        for i in 1..n - 1 {
            writer.bend(spots[i], if i == n - 2 { spots[i + 1] } else { mid(spots[i], spots[i + 1]) });
        }
    }
    writer.d
}

/// Writes path data with relative coordinates, which are a third shorter; rounding never adds up, because each is taken
/// from where the pen really stands.
#[derive(Default)]
struct Relative {
    d: String,
    x: i64,
    y: i64,
}

impl Relative {
    fn tenths(at: Spot) -> (i64, i64) {
        ((at.x * UNITS * 10.0).round() as i64, (-at.y * UNITS * 10.0).round() as i64)
    }

    fn start(&mut self, at: Spot) {
        (self.x, self.y) = Relative::tenths(at);
        let _ = write!(self.d, "M{}q", xy(at));
    }

    fn bend(&mut self, by: Spot, to: Spot) {
        let (bx, by) = Relative::tenths(by);
        let (tx, ty) = Relative::tenths(to);
        for value in [bx - self.x, by - self.y, tx - self.x, ty - self.y] {
            let text = num(value as f64 / 10.0);
            // A blank is needed only where a digit would join the number before.
            if !(self.d.ends_with('q') || text.starts_with('-')) {
                self.d.push(' ');
            }
            self.d.push_str(text.strip_prefix("0.").map(|t| format!(".{t}")).as_deref().unwrap_or(&text));
        }
        (self.x, self.y) = (tx, ty);
    }
}

/// Text made safe for element content and quoted attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            // XML 1.0 knows no other control characters (section 2.2, Char).
            c if (c as u32) < 0x20 && c != '\n' && c != '\t' => {}
            c => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        for (value, text) in [(0.0, "0"), (-0.04, "0"), (1.25, "1.3"), (-0.5, "-0.5"), (-12.0, "-12"), (7.14, "7.1")] {
            assert_eq!(num(value), text);
        }
    }

    #[test]
    fn text_is_escaped() {
        assert_eq!(escape("a<b>&\"c'\u{1}"), "a&lt;b&gt;&amp;&quot;c&#39;");
    }
}
