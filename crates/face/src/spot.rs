//! A place on a drawing.

use std::ops::{Add, Mul, Sub};

/// A place on a drawing, or the way between two: centimetres, x toward the viewer's right, y up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    /// Toward the viewer's right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

impl Spot {
    /// The place at `x`, `y`.
    pub const fn new(x: f64, y: f64) -> Spot {
        Spot { x, y }
    }

    /// The same place on the other side of the midline.
    pub fn mirrored(self) -> Spot {
        Spot { x: -self.x, y: self.y }
    }

    /// The length of the way from the origin.
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// The distance to another place.
    pub fn to(self, other: Spot) -> f64 {
        (other - self).length()
    }

    /// The way turned a quarter to the left, of length 1; zero stays zero.
    pub fn normal(self) -> Spot {
        let l = self.length();
        if l < 1e-12 { Spot::default() } else { Spot::new(-self.y / l, self.x / l) }
    }

    /// The same direction with length 1; zero stays zero.
    pub fn unit(self) -> Spot {
        let l = self.length();
        if l < 1e-12 { Spot::default() } else { self * (1.0 / l) }
    }
}

impl Add for Spot {
    type Output = Spot;
    fn add(self, o: Spot) -> Spot {
        Spot::new(self.x + o.x, self.y + o.y)
    }
}

impl Sub for Spot {
    type Output = Spot;
    fn sub(self, o: Spot) -> Spot {
        Spot::new(self.x - o.x, self.y - o.y)
    }
}

impl Mul<f64> for Spot {
    type Output = Spot;
    fn mul(self, k: f64) -> Spot {
        Spot::new(self.x * k, self.y * k)
    }
}
