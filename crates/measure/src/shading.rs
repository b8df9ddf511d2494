//! The light on the smooth face, fitted to this photograph and divided out.
//!
//! Face shape and side light are the largest error of a shadow read from a photograph. So the skin's luminance, at landmarks away
//! from eyes, brows, lips and nose, is fitted robustly as a light of nine patterns (`transfer`) falling on this face: its
//! slopes, and what nose and brows keep off. What the fit says of the under-eye band and of the cheek is divided out of both.
//! The colour of the light may differ a little from place to place (a window at one side, a lamp at the other): each
//! channel may leave the luminance's fit, but is held close to it.

use std::sync::OnceLock;

use face::{Frame, Landmarks, VERTICES, canonical, mirror, triangles};
use nalgebra::{SMatrix, SVector};

use crate::V3;
use crate::light::{Light, spot};
use crate::transfer::{PATTERNS, Row, normals, open, project, transfer};

type Vec9 = SVector<f64, PATTERNS>;
type Mat9 = SMatrix<f64, PATTERNS, PATTERNS>;

/// The fitted light of one photograph.
#[derive(Clone, Debug)]
pub struct Shading {
    rows: Vec<Row>,
    /// The share of the shadows thrown by nose and brows that this photograph shows, and its uncertainty.
    pub thrown: f64,
    u_thrown: f64,
    /// Strengths of the patterns: red, green, blue.
    channels: [Vec9; 3],
    /// Covariance of the luminance's strengths.
    covariance: Mat9,
    luminance: Vec9,
    /// Each channel's light on an open surface that faces the camera.
    facing: [f64; 3],
    /// Standard deviation of skin about the fit, as a share.
    pub sigma: f64,
    /// How many places carried the fit.
    pub places: usize,
}

/// What light makes of one place: its row, and how the row changes with the share of thrown shadows.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Rows {
    pub lit: Vec9,
    pub thrown: Vec9,
}

/// Weights of red, green and blue in luminance (IEC 61966-2-1).
pub(crate) const LUMINANCE: [f64; 3] = [0.2126, 0.7152, 0.0722];

/// How far a light may be from a soft one before the face and a little above, one standard deviation, as a share of its even part, for
/// patterns of the first and the second order (our own choice, tuned on invented faces).
const PRIOR_FIRST: f64 = 0.25;
const PRIOR_SECOND: f64 = 0.12;
/// A face differs from the canonical one in broad swells, and skin in broad patches: of so many places only one is news.
const NEWS: f64 = 24.0;
/// The same for how much of the thrown shadows there is.
const NEWS_OF_SHADOWS: f64 = 20.0;
/// How far a channel's light may leave the luminance's, as a share of the light, for each pattern but the first.
const PRIOR_COLOUR: f64 = 0.35;
/// Skin differs by at least this much from place to place, as a share.
const LEAST_SIGMA: f64 = 0.03;
/// The mean of a spot of this radius stands for a place, mm.
const SPOT_MM: f64 = 1.6;

/// A place of the surface: three vertices and their weights.
type Spot = ([usize; 3], [f64; 3]);

/// Where skin is sampled: vertices and middles of triangles on cheeks, forehead, temples, jaw and chin.
fn spots() -> &'static [Spot] {
    static SPOTS: OnceLock<Vec<Spot>> = OnceLock::new();
    SPOTS.get_or_init(|| {
        let surface: Vec<V3> = canonical().iter().map(|v| V3::from(*v) * 10.0).collect();
        let both = |own: &[usize]| -> Vec<V3> { own.iter().flat_map(|n| [surface[*n], surface[mirror(*n)]]).collect() };
        let eyes = both(&[263, 249, 390, 373, 374, 380, 381, 382, 362, 466, 388, 387, 386, 385, 384, 398]);
        let brows = both(&[276, 283, 282, 295, 285, 300, 293, 334, 296, 336]);
        let lips = both(&[291, 409, 270, 269, 267, 0, 17, 314, 405, 321, 375]);
        let far = |p: &V3, set: &[V3], mm: f64| set.iter().all(|q| (p.xy() - q.xy()).norm() > mm);
        let skin = |p: &V3| {
            let nose = p.x.abs() < 24.0 && p.y < 30.0 && p.y > -28.0;
            far(p, &eyes, 13.0) && far(p, &brows, 6.0) && far(p, &lips, 8.0) && !nose && p.y > -78.0
        };
        let normal = normals(&surface);
        let vertices =
            (0..VERTICES).filter(|n| skin(&surface[*n]) && normal[*n].z > 0.30).map(|n| ([n, n, n], [1.0, 0.0, 0.0]));
        let middles = triangles().iter().filter_map(|t| {
            let middle = t.iter().map(|n| surface[*n]).sum::<V3>() / 3.0;
            let facing = t.iter().map(|n| normal[*n].z).sum::<f64>() / 3.0;
            (skin(&middle) && facing > 0.30).then_some((*t, [1.0 / 3.0; 3]))
        });
        vertices.chain(middles).collect()
    })
}

fn blend(rows: &[Row], (corners, weights): &Spot) -> Vec9 {
    let mut sum = Vec9::zeros();
    for (n, w) in corners.iter().zip(weights) {
        sum += Vec9::from(rows[*n]) * *w;
    }
    sum
}

/// How much of the shadow that the canonical nose and brows throw is tried, and how likely each is beforehand: on a face all of it and more,
/// since eyes lie deeper than the canonical surface says; less where something else lights the hollows (our own choice, tuned on
/// invented faces).
const STEPS: [(f64, f64); 5] = [(0.0, 0.08), (0.5, 0.12), (1.0, 0.35), (1.4, 0.30), (1.8, 0.15)];

/// The transfer of the canonical face, which stands for the person's own: the network's depth of a landmark is a guess, and noise in
/// slopes costs more than a face that is not quite theirs.
fn canonical_rows() -> &'static [(Row, Row)] {
    static ROWS: OnceLock<Vec<(Row, Row)>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let points: Vec<V3> = canonical().iter().map(|v| V3::from(*v) * 10.0).collect();
        let normals = normals(&points);
        normals.iter().map(|n| open(*n)).zip(transfer(&points, &normals)).collect()
    })
}

/// The rows of all vertices with this share of the shadows thrown by nose and brows.
fn rows_at(share: f64) -> Vec<Row> {
    canonical_rows().iter().map(|(open, own)| std::array::from_fn(|k| open[k] + share * (own[k] - open[k]))).collect()
}

impl Shading {
    /// Fits the light of a photograph; none where too little skin is seen.
    pub fn fit(light: &impl Light, landmarks: &Landmarks, frame: &Frame) -> Option<Shading> {
        let radius = SPOT_MM / frame.mm_per_px();
        let seen: Vec<Sample> = spots()
            .iter()
            .filter_map(|s| {
                let at = s.0.iter().zip(s.1).fold((0.0, 0.0), |(x, y), (n, w)| {
                    let p = landmarks.at(*n);
                    (x + p.x * w, y + p.y * w)
                });
                let value = spot(light, face::Pixel::new(at.0, at.1), radius)?;
                Some((s, value))
            })
            .collect();
        let seen = alike(seen);
        if seen.len() < 40 {
            return None;
        }
        let lum = |c: &[f64; 3]| (0..3).map(|k| LUMINANCE[k] * c[k]).sum::<f64>();
        let scale = median(seen.iter().map(|s| lum(&s.1)).collect());
        if !(scale.is_finite() && scale > 1e-6) {
            return None;
        }
        let values: Vec<f64> = seen.iter().map(|s| lum(&s.1) / scale).collect();
        let prior = prior();
        // How much of the thrown shadows there is, the photograph says: steps weighed by how well they fit.
        let mut tried = Vec::new();
        for (share, before) in STEPS {
            let rows = rows_at(share);
            let a: Vec<Vec9> = seen.iter().map(|s| blend(&rows, s.0)).collect();
            let fit = robust(&a, &values, &prior)?;
            let loss: f64 = a
                .iter()
                .zip(&values)
                .map(|(row, v)| huber((v / row.dot(&fit.0).max(0.1) - 1.0) / LEAST_SIGMA.max(fit.2)))
                .sum::<f64>()
                + 2.0 * a.len() as f64 * fit.2.ln()
                - 2.0 * NEWS_OF_SHADOWS * f64::ln(before);
            tried.push((share, loss));
        }
        let best = tried.iter().map(|t| t.1).fold(f64::MAX, f64::min);
        let weight = |loss: f64| (-(loss - best) / (2.0 * NEWS_OF_SHADOWS)).exp();
        let total: f64 = tried.iter().map(|t| weight(t.1)).sum();
        let thrown = tried.iter().map(|t| t.0 * weight(t.1)).sum::<f64>() / total;
        let u_thrown = (tried.iter().map(|t| (t.0 - thrown).powi(2) * weight(t.1)).sum::<f64>() / total).sqrt();
        let rows = rows_at(thrown);
        let a: Vec<Vec9> = seen.iter().map(|s| blend(&rows, s.0)).collect();
        let (luminance, weights, sigma, inverse) = robust(&a, &values, &prior)?;
        let facing_row = Vec9::from(open(view(frame)));
        let mut channels = [luminance; 3];
        let mut facing = [1.0; 3];
        for k in 0..3 {
            let values: Vec<f64> = seen.iter().map(|s| s.1[k] / scale).collect();
            channels[k] = near(&a, &values, &weights, &luminance, sigma)?;
            facing[k] = channels[k].dot(&facing_row).max(1e-3);
        }
        let covariance = inverse;
        let places = weights.iter().filter(|w| **w > 0.1).count();
        Some(Shading { rows, thrown, u_thrown, channels, covariance, luminance, facing, sigma, places })
    }

    /// Light on the smooth face at a vertex, each channel, against an open surface that faces the camera.
    pub fn at(&self, corners: [usize; 3], weights: [f64; 3]) -> [f64; 3] {
        let row = blend(&self.rows, &(corners, weights));
        std::array::from_fn(|k| (self.channels[k].dot(&row) / self.facing[k]).max(0.02))
    }

    /// ln(light on one place / light on another) of the luminance and its standard uncertainty. Each is a mean of rows.
    pub(crate) fn ratio(&self, one: &Rows, other: &Rows) -> (f64, f64) {
        let (p, q) = (self.luminance.dot(&one.lit).max(0.02), self.luminance.dot(&other.lit).max(0.02));
        let slope = one.lit / p - other.lit / q;
        let fit = (slope.transpose() * self.covariance * slope)[(0, 0)].max(0.0).sqrt();
        let thrown = self.u_thrown * (self.luminance.dot(&one.thrown) / p - self.luminance.dot(&other.thrown) / q);
        ((p / q).ln(), fit.hypot(thrown))
    }

    /// The rows of a place.
    pub(crate) fn row(&self, corners: [usize; 3], weights: [f64; 3]) -> Rows {
        let mut thrown = Vec9::zeros();
        for (n, w) in corners.iter().zip(weights) {
            let (open, own) = &canonical_rows()[*n];
            thrown += (Vec9::from(*own) - Vec9::from(*open)) * w;
        }
        Rows { lit: blend(&self.rows, &(corners, weights)), thrown }
    }
}

/// A place of the surface and the light seen there.
type Sample = (&'static Spot, [f64; 3]);

/// Keeps the places whose colour is like that of most: hair, a beard, a rim or a shadow of another colour is no skin to fit.
fn alike(seen: Vec<Sample>) -> Vec<Sample> {
    let ratios = |c: &[f64; 3]| [(c[0].max(1e-6) / c[1].max(1e-6)).ln(), (c[2].max(1e-6) / c[1].max(1e-6)).ln()];
    let middle = [0, 1].map(|k| median(seen.iter().map(|s| ratios(&s.1)[k]).collect()));
    let spread = [0, 1].map(|k| {
        let away = seen.iter().map(|s| (ratios(&s.1)[k] - middle[k]).abs()).collect();
        (1.4826 * median(away)).max(0.025)
    });
    // Skin in even light is nowhere less than three fifths or more than five thirds of its median.
    let luminance = |c: &[f64; 3]| (0..3).map(|k| LUMINANCE[k] * c[k]).sum::<f64>().max(1e-6).ln();
    let level = median(seen.iter().map(|s| luminance(&s.1)).collect());
    let far = |s: &Sample| {
        if (luminance(&s.1) - level).abs() > 0.51 {
            return true;
        }
        let r = ratios(&s.1);
        (0..2).any(|k| (r[k] - middle[k]).abs() > 3.5 * spread[k])
    };
    seen.into_iter().filter(|s| !far(s)).collect()
}

/// The way to the camera in the face frame.
fn view(frame: &Frame) -> V3 {
    let (near, zero) = (frame.to_face([0.0, 0.0, -1.0]), frame.to_face([0.0; 3]));
    (V3::from(near) - V3::from(zero)).normalize()
}

/// A soft light from before the face and a little above: its strengths.
fn soft() -> Vec9 {
    static SOFT: OnceLock<Vec9> = OnceLock::new();
    *SOFT.get_or_init(|| {
        let middle = V3::new(0.0, 0.35, 1.0).normalize();
        Vec9::from(project(|d| (1.8 * (middle.dot(&d) - 1.0)).exp()))
    })
}

/// What is known of a light before it is seen, as shares of its even part: precision of each strength.
fn prior() -> Mat9 {
    let p = |sd: f64| 1.0 / (sd * sd);
    let mut diagonal = Vec9::repeat(p(PRIOR_SECOND));
    diagonal[0] = p(10.0);
    (1..4).for_each(|k| diagonal[k] = p(PRIOR_FIRST));
    Mat9::from_diagonal(&diagonal)
}

/// Robust least squares of relative residuals (Tukey's biweight, 4.685 scaled MAD): strengths, weights, sigma, covariance.
fn robust(a: &[Vec9], values: &[f64], prior: &Mat9) -> Option<(Vec9, Vec<f64>, f64, Mat9)> {
    let mut c = soft();
    let level = median(a.iter().zip(values).map(|(row, v)| v / row.dot(&c).max(1e-6)).collect());
    c *= level;
    let mut weights = vec![1.0; a.len()];
    let mut sigma: f64 = 0.1;
    let mut inverse = Mat9::zeros();
    for _ in 0..12 {
        let centre = soft() * (c[0] / soft()[0]);
        let mut normal = prior / (c[0] * c[0]);
        let mut right = normal * centre;
        for ((row, v), w) in a.iter().zip(values).zip(&weights) {
            let w = w / (row.dot(&c).max(0.1) * sigma).powi(2) / NEWS;
            normal += row * row.transpose() * w;
            right += row * (v * w);
        }
        inverse = normal.try_inverse()?;
        c = inverse * right;
        let rest: Vec<f64> = a.iter().zip(values).map(|(row, v)| v / row.dot(&c).max(0.1) - 1.0).collect();
        sigma = (1.4826 * median(rest.iter().map(|r| r.abs()).collect())).max(LEAST_SIGMA);
        for (w, r) in weights.iter_mut().zip(&rest) {
            let u = r / (4.685 * sigma);
            *w = if u.abs() < 1.0 { (1.0 - u * u).powi(2) } else { 0.0 };
        }
    }
    c.iter().all(|v| v.is_finite()).then_some((c, weights, sigma, inverse))
}

/// One channel's light, held close to the luminance's.
fn near(a: &[Vec9], values: &[f64], weights: &[f64], luminance: &Vec9, sigma: f64) -> Option<Vec9> {
    let ratios = a.iter().zip(values).zip(weights).filter(|(_, w)| **w > 0.1);
    let level = median(ratios.map(|((row, v), _)| v / row.dot(luminance).max(0.1)).collect());
    let mean = luminance * level;
    let size = level * luminance[0].abs().max(1.0);
    let mut diagonal = Vec9::repeat((PRIOR_COLOUR * 0.1 * size).powi(-2));
    diagonal[0] = (PRIOR_COLOUR * size).powi(-2);
    let mut normal = Mat9::from_diagonal(&diagonal);
    let mut right = Vec9::zeros();
    for ((row, v), w) in a.iter().zip(values).zip(weights) {
        let w = w / (row.dot(&mean).max(0.1 * level) * sigma).powi(2);
        normal += row * row.transpose() * w;
        right += row * ((v - row.dot(&mean)) * w);
    }
    let c = mean + normal.try_inverse()? * right;
    c.iter().all(|v| v.is_finite()).then_some(c)
}

/// A square near nought, straight beyond 2.
fn huber(r: f64) -> f64 {
    if r.abs() <= 2.0 { r * r } else { 4.0 * r.abs() - 4.0 }
}

/// The middle value; 0 of none.
pub(crate) fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    let (_, m, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    *m
}
