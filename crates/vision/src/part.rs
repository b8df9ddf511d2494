//! A part of a photograph as a picture of its own: moved, turned and scaled, in the light that is wanted, as sRGB.

use colour::{Linear, Space, Table8};
use face::Pixel;

use crate::{Photograph, Samples};

/// Where the pixels of a picture lie in a photograph: a similarity, so that nothing is warped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placing {
    /// Where the top left corner of the picture lies in the photograph.
    pub corner: Pixel,
    /// How far one pixel to the right leads in the photograph, in its pixels (x, y). One pixel down leads at a right angle to it.
    pub right: [f64; 2],
}

impl Placing {
    /// The placing with which `from` of the picture lies at `to` of the photograph, for two places. None where two of them are one.
    pub fn of([from_a, from_b]: [Pixel; 2], [to_a, to_b]: [Pixel; 2]) -> Option<Placing> {
        let (u, v) = (from_b.x - from_a.x, from_b.y - from_a.y);
        let (x, y) = (to_b.x - to_a.x, to_b.y - to_a.y);
        let long = u * u + v * v;
        if long < 1e-9 || x * x + y * y < 1e-9 {
            return None;
        }
        // The quotient of the two as complex numbers.
        let right = [(x * u + y * v) / long, (y * u - x * v) / long];
        let corner = Pixel::new(
            to_a.x - (right[0] * from_a.x - right[1] * from_a.y),
            to_a.y - (right[1] * from_a.x + right[0] * from_a.y),
        );
        Some(Placing { corner, right })
    }

    /// Where a place of the picture lies in the photograph.
    pub fn place(&self, at: Pixel) -> Pixel {
        let [a, b] = self.right;
        Pixel::new(self.corner.x + a * at.x - b * at.y, self.corner.y + b * at.x + a * at.y)
    }

    /// How many pixels of the photograph a pixel of the picture is wide.
    pub fn scale(&self) -> f64 {
        self.right[0].hypot(self.right[1])
    }

    /// Whether all of a picture of this size lies within the photograph.
    pub fn within(&self, [w, h]: [u32; 2], photo: &Photograph) -> bool {
        let (w, h) = (f64::from(w), f64::from(h));
        [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h)].iter().all(|(x, y)| {
            let p = self.place(Pixel::new(*x, *y));
            p.x >= 0.0 && p.y >= 0.0 && p.x <= f64::from(photo.width) && p.y <= f64::from(photo.height)
        })
    }
}

/// At most so many samples are taken along each side of a pixel.
const MOST_SAMPLES: usize = 6;

/// The part of a photograph at `placing`, `w` by `h` pixels, 8-bit sRGB row by row; beyond the photograph it is white. Each pixel is the mean
/// of the linear light that it covers, `seen` as it is wanted (a card's correction, for one). The photograph's numbers are read by
/// `space`.
pub fn part(
    photo: &Photograph,
    space: &Space,
    placing: &Placing,
    [w, h]: [u32; 2],
    seen: &dyn Fn(Linear) -> Linear,
) -> Vec<u8> {
    let table = space.table8();
    let fine = (placing.scale().ceil() as usize).clamp(1, MOST_SAMPLES);
    let mut rgb = Vec::with_capacity(3 * w as usize * h as usize);
    for row in 0..h {
        for column in 0..w {
            let mut sum = [0.0; 3];
            let mut white = 0.0;
            for k in 0..fine * fine {
                let inner = |n: usize| (n as f64 + 0.5) / fine as f64;
                let at = Pixel::new(f64::from(column) + inner(k % fine), f64::from(row) + inner(k / fine));
                match light(photo, space, &table, placing.place(at)) {
                    Some(Linear(v)) => (0..3).for_each(|c| sum[c] += v[c]),
                    None => white += 1.0,
                }
            }
            let all = (fine * fine) as f64;
            let within = all - white;
            let Linear(lit) = if within > 0.0 { seen(Linear(sum.map(|s| s / within))) } else { Linear([1.0; 3]) };
            rgb.extend(lit.map(|v| encoded((v * within + white) / all)));
        }
    }
    rgb
}

/// The light at a place, between four pixels; none outside of the photograph.
fn light(photo: &Photograph, space: &Space, table: &Table8, at: Pixel) -> Option<Linear> {
    let (w, h) = (photo.width as usize, photo.height as usize);
    if !(at.x >= 0.0 && at.y >= 0.0 && at.x <= w as f64 && at.y <= h as f64) {
        return None;
    }
    let (x, y) = ((at.x - 0.5).clamp(0.0, (w - 1) as f64), (at.y - 0.5).clamp(0.0, (h - 1) as f64));
    let (left, top) = (x.floor() as usize, y.floor() as usize);
    let (right, low) = ((left + 1).min(w - 1), (top + 1).min(h - 1));
    let (dx, dy) = (x - left as f64, y - top as f64);
    let at = |x: usize, y: usize| -> [f64; 3] {
        let i = 3 * (y * w + x);
        match &photo.samples {
            Samples::Eight(v) => table.linear([v[i], v[i + 1], v[i + 2]]).0,
            Samples::Sixteen(v) => space.linear([v[i], v[i + 1], v[i + 2]].map(|s| f64::from(s) / 65_535.0)).0,
        }
    };
    let (a, b, c, d) = (at(left, top), at(right, top), at(left, low), at(right, low));
    Some(Linear(std::array::from_fn(|k| {
        (1.0 - dy) * ((1.0 - dx) * a[k] + dx * b[k]) + dy * ((1.0 - dx) * c[k] + dx * d[k])
    })))
}

/// Linear light as an 8-bit value of sRGB (IEC 61966-2-1); what lies beyond is cut off.
fn encoded(linear: f64) -> u8 {
    let v = linear.clamp(0.0, 1.0);
    let v = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
    (255.0 * v).round() as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Red grows to the right, green downward.
    fn ramp(w: u32, h: u32) -> Photograph {
        let rgb = (0..h).flat_map(|y| (0..w).flat_map(move |x| [x as u8, y as u8, 77])).collect();
        Photograph::drawn(w, h, rgb).expect("a picture")
    }

    #[test]
    fn two_places_are_enough_and_lie_where_they_should() {
        let from = [Pixel::new(30.0, 40.0), Pixel::new(70.0, 40.0)];
        for to in [
            [Pixel::new(130.0, 90.0), Pixel::new(210.0, 96.0)],
            [Pixel::new(80.5, 20.0), Pixel::new(60.0, 100.0)],
            [Pixel::new(30.0, 40.0), Pixel::new(70.0, 40.0)],
        ] {
            let placing = Placing::of(from, to).expect("a placing");
            for (a, b) in from.iter().zip(&to) {
                assert!(placing.place(*a).to(*b) < 1e-9, "{placing:?}");
            }
            // A similarity: any third place keeps its angles and its share of the length.
            let third = placing.place(Pixel::new(30.0, 90.0));
            assert!((third.to(to[0]) / to[1].to(to[0]) - 50.0 / 40.0).abs() < 1e-9);
        }
        assert_eq!(Placing::of([from[0], from[0]], from), None);
        assert_eq!(Placing::of(from, [from[1], from[1]]), None);
    }

    #[test]
    fn a_part_that_is_not_moved_is_the_photograph() {
        let photo = ramp(40, 30);
        let same = Placing { corner: Pixel::new(0.0, 0.0), right: [1.0, 0.0] };
        let made = part(&photo, &Space::srgb(), &same, [40, 30], &|l| l);
        let Samples::Eight(given) = &photo.samples else { panic!("eight bits") };
        assert_eq!(&made, given);
        // A whole step, and a quarter turn.
        let moved = Placing { corner: Pixel::new(5.0, 3.0), right: [1.0, 0.0] };
        assert_eq!(&part(&photo, &Space::srgb(), &moved, [2, 2], &|l| l)[..6], [5, 3, 77, 6, 3, 77]);
        let turned = Placing { corner: Pixel::new(20.0, 10.0), right: [0.0, 1.0] };
        assert_eq!(&part(&photo, &Space::srgb(), &turned, [2, 2], &|l| l)[..6], [19, 10, 77, 19, 11, 77]);
    }

    #[test]
    fn beyond_the_photograph_it_is_white_and_light_is_averaged_as_light() {
        let black_white: Vec<u8> =
            (0..4 * 4).flat_map(|i| [if (i % 4 + i / 4) % 2 == 0 { 0 } else { 255 }; 3]).collect();
        let photo = Photograph::drawn(4, 4, black_white).expect("a picture");
        let half = Placing { corner: Pixel::new(0.0, 0.0), right: [2.0, 0.0] };
        assert!(half.within([2, 2], &photo) && !half.within([3, 2], &photo));
        // Half of the light is 188 in sRGB, not 128.
        let made = part(&photo, &Space::srgb(), &half, [3, 1], &|l| l);
        assert!(made[..6].iter().all(|v| (185..=191).contains(v)), "{made:?}");
        assert_eq!(made[6..], [255; 3]);
        let darker = part(&photo, &Space::srgb(), &half, [1, 1], &|Linear(v)| Linear(v.map(|v| v / 2.0)));
        assert!((134..=140).contains(&darker[0]), "a quarter of the light: {darker:?}");
    }
}
