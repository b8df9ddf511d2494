//! Places as they are written in `drawing.toml`.
//!
//! A knot is `x,y` in centimetres, `v263` (a landmark of the canonical surface), `v263+0.2,-0.1` (that, moved),
//! or `v386~v374` (halfway between two landmarks), which may be moved as well. Knots are parted by blanks.

use crate::{Spot, vertex};

/// The furthest a place may lie from the origin, in centimetres: beyond the sheet it is a slip of the pen.
const REACH: f64 = 60.0;

/// Reads a list of knots.
///
/// # Errors
/// The first knot that cannot be read, and why.
pub fn read_knots(text: &str) -> Result<Vec<Spot>, String> {
    text.split_whitespace().map(read_knot).collect()
}

fn read_knot(word: &str) -> Result<Spot, String> {
    let shown: String = word.chars().take(40).collect();
    let wrong = |why: &str| format!("`{shown}` is no place: {why}");
    let spot = if word.starts_with('v') {
        let (base, moved) = match word.split_once('+') {
            Some((base, by)) => (base, pair(by).ok_or_else(|| wrong("after `+` write dx,dy in centimetres"))?),
            None => (word, Spot::default()),
        };
        let landmark = |w: &str| {
            let number = w.strip_prefix('v').and_then(|n| n.parse().ok());
            number.and_then(vertex).ok_or_else(|| wrong("landmarks are v0 to v467"))
        };
        let base = match base.split_once('~') {
            Some((a, b)) => (landmark(a)? + landmark(b)?) * 0.5,
            None => landmark(base)?,
        };
        base + moved
    } else {
        pair(word).ok_or_else(|| wrong("write x,y in centimetres, or a landmark such as v263 or v263+0.2,-0.1"))?
    };
    if spot.x.abs() > REACH || spot.y.abs() > REACH {
        return Err(wrong("it lies off the sheet"));
    }
    Ok(spot)
}

fn pair(text: &str) -> Option<Spot> {
    let (x, y) = text.split_once(',')?;
    let number = |t: &str| t.parse::<f64>().ok().filter(|n| n.is_finite());
    Some(Spot::new(number(x)?, number(y)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn knots_read() {
        let got = read_knots(" 1.5,-2  v263 v263+1,-1 v386~v374 ").expect("four knots");
        let corner = vertex(263).expect("a landmark");
        assert_eq!(got[0], Spot::new(1.5, -2.0));
        assert_eq!(got[1], corner);
        assert!((got[2] - corner - Spot::new(1.0, -1.0)).length() < 1e-9);
        assert!((got[3].x - 3.18).abs() < 0.01 && (got[3].y - 2.63).abs() < 0.01, "{:?}", got[3]);
        for bad in ["1", "v468", "v", "v1+2", "1,x", "99,0", "v1~2", "nan,1", "1,2,3"] {
            assert!(read_knots(bad).is_err(), "{bad} must be refused");
        }
    }
}
