//! One photograph, measured.

use colour::{Base, CardFit, Lab, Linear, Tone, ita, separate};
use face::region::{margins, outline, thirds};
use face::{Area, Frame, Hairline, Head, Iris, Landmarks, Outline, Pixel, Pixels, Pose, Scale, Signature};
use vocab::Side;

use crate::compression::{CALIBRATED, Rounding, rounding};
use crate::gates::{Gate, GateName};
use crate::gather::{Gathered, gather};
use crate::heights::Heights;
use crate::leading::Leading;
use crate::lids;
use crate::light::{Light, spot};
use crate::sclera::{Sclera, White, sclera, white};
use crate::shading::{LUMINANCE, Shading, median};
use crate::shadow::{Reading, Shadow, bootstrap, density, shadow};
use crate::{M3, V3, Value};

/// How the colours of a photograph were read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// A card in the picture says what its colours mean.
    Referenced,
    /// No card: only differences inside the photograph.
    Relative,
}

/// The card of a photograph.
#[derive(Clone, Debug)]
pub struct Card {
    /// The fit of its patches.
    pub fit: CardFit,
    /// How far it was tilted against the camera, degrees; none where unknown (taps, a file).
    pub tilt_deg: Option<f64>,
}

/// What is known beside the photograph.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// The card.
    pub card: Option<Card>,
    /// The person's skin class, fixed at the first visit; none: the photograph's own estimate is taken and a warning given.
    pub tone: Option<Tone>,
    /// The shape of the person's first photograph, to notice a mirrored one.
    pub first: Option<Signature>,
    /// Whether the lower lid of the own right, and of the own left, was placed by hand: it is left where it was put.
    pub lids_by_hand: [bool; 2],
    /// Whether values are computed although a gate failed: only to test how well they repeat, on photographs that were not taken
    /// for a measurement. They are not `usable` all the same.
    pub past_gates: bool,
    /// The step in which the file keeps the mean chroma (Cb, Cr) of a block, in levels of 255; nought where it keeps colours whole.
    pub chroma_step: f64,
}

/// What a person should know of a measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Warning {
    /// No skin class was given: this one was read from the photograph, which an unknown light colours.
    ToneEstimated(Tone),
    /// The picture seems mirrored against the first photograph.
    LooksMirrored,
    /// The irises could not be fitted: millimetres are less sure.
    ScaleUnclear,
    /// The lids' margins were not clear on this side; the network's own are taken.
    LidUnclear(Side),
}

/// One side's values.
#[derive(Clone, Debug)]
pub struct SideMeasured {
    /// The person's own side.
    pub side: Side,
    /// The band and its thirds, the cheek.
    pub outlines: Vec<Outline>,
    /// The shadow: skin with its relief.
    pub shadow: Shadow,
    /// The same without the light on the smooth face divided out.
    pub as_photographed: Shadow,
    /// Shadow of the outer, middle and inner third; none where too few pixels are left.
    pub thirds: [Option<Shadow>; 3],
    /// Colour of the cheek: measured with a card, nominal without.
    pub cheek: Lab,
    /// Colour of the band on that cheek.
    pub band: Lab,
    /// ln(light on the band / light on the cheek) that was divided out.
    pub shading: Value,
    /// Luminance density (log10) of brown; none where it cannot be told from shading.
    pub brown: Option<Value>,
    /// Luminance density of blue-red.
    pub blue_red: Value,
    /// Luminance density of relief.
    pub relief: Value,
    /// How far the three channels miss the sum of the parts, density.
    pub residual: f64,
    /// What leads.
    pub leading: Leading,
    /// The white of the eye, with a card.
    pub sclera: Option<Sclera>,
    /// Heights.
    pub heights: Heights,
    /// The share of the band's and the cheek's pixels left out.
    pub left_out: [f64; 2],
    /// Densities of the three channels and their covariance; none where brown cannot be told from shading.
    pub(crate) densities: Option<(V3, M3)>,
    /// Covariance of (dL, da, db) that changes from one photograph to the next.
    pub(crate) repeat: M3,
    /// Covariance that all photographs of a person share.
    pub(crate) shared: M3,
}

/// A photograph, measured.
#[derive(Clone, Debug)]
pub struct Measured {
    /// How colours were read.
    pub mode: Mode,
    /// All gates.
    pub gates: Vec<Gate>,
    /// Whether every gate was passed.
    pub usable: bool,
    /// Own right, own left; none where the photograph is refused, unless [`Options::past_gates`] asked for them.
    pub sides: Option<[SideMeasured; 2]>,
    /// Own left less own right of the white of the eyes without a card: redness and yellowness on a nominal white.
    pub sclera_difference: Option<Sclera>,
    /// Skin class: as given, or as estimated.
    pub tone: Tone,
    /// The head's pose.
    pub pose: Pose,
    /// Millimetres to a pixel.
    pub scale: Scale,
    /// The lids' margins as refined, own right and left.
    pub margins: face::Margins,
    /// What to mind.
    pub warnings: Vec<Warning>,
}

/// What the parts of the uncertainty are: our own estimates, calibrated on invented faces of other seeds than those that the
/// bars are held to (see docs/validation.md).
pub(crate) mod budget {
    /// One standard deviation of where the band lies, across and down, mm, of what differs between photographs.
    pub const BAND_MM: [f64; 2] = [0.4, 0.35];
    /// The same for the cheek.
    pub const CHEEK_MM: [f64; 2] = [0.8, 0.8];
    /// The share of the divided-out shading that is wrong, and what is wrong anyway, ln.
    pub const SHADING: [f64; 2] = [0.19, 0.019];
    /// The share of the fit's own uncertainty of a ratio that is left between two areas so near to each other.
    pub const FIT: f64 = 0.5;
    /// Without a card a camera's tone curve stretches or squeezes differences by this share.
    pub const TONE_CURVE: f64 = 0.06;
    /// Without a card the channels disagree by this share of a difference.
    pub const CROSSTALK: f64 = 0.05;
    /// With a card the channels' densities are still wrong by this share of a difference.
    pub const CARD: f64 = 0.03;
    /// The light on the band is of another colour than that on the cheek (mixed lights, light from skin to skin): red and blue against
    /// green, log10.
    pub const LIGHT_COLOUR: f64 = 0.0035;
    /// The share of the bootstrap's variance that is the skin's own texture, alike in every photograph.
    pub const TEXTURE_SHARED: f64 = 0.7;
}

/// Why nothing can be said at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unmeasurable {
    /// The landmarks span no face, or one turned to its profile.
    NoFace,
}

/// Measures a photograph whose landmarks are known (corrections by hand included). `picture` is the same picture for the fit of the irises.
///
/// # Errors
/// [`Unmeasurable`], where there is no face to measure. A photograph that fails a gate is no error: it is not `usable`, and has
/// no values.
pub fn measure(
    light: &impl Light,
    picture: &impl Pixels,
    landmarks: &Landmarks,
    options: &Options,
) -> Result<Measured, Unmeasurable> {
    let frame = Frame::fit(landmarks).ok_or(Unmeasurable::NoFace)?;
    let (scale, irises) = Scale::measure(landmarks, &frame, picture);
    let frame = frame.with_scale(scale.mm_per_px);
    let head = Head::of(landmarks, &frame, Hairline::level(91.0, 63.6));
    let mut warnings = Vec::new();
    if irises.is_empty() {
        warnings.push(Warning::ScaleUnclear);
    }
    let placed = margins(landmarks);
    let (mut margins, mut clear) = lids::refine(light, landmarks, &frame, &placed);
    for side in (0..2).filter(|side| options.lids_by_hand[*side]) {
        (margins[side], clear[side]) = (placed[side], true);
    }
    warnings.extend(
        [Side::Right, Side::Left].into_iter().zip(clear).filter(|(_, c)| !c).map(|(s, _)| Warning::LidUnclear(s)),
    );
    if options.first.as_ref().is_some_and(|first| first.compare(&Signature::of(&head)).mirrored()) {
        warnings.push(Warning::LooksMirrored);
    }
    let scene = Scene { light, landmarks, frame: &frame, head: &head, scale: &scale, irises: &irises, margins };
    Ok(scene.measured(options, warnings))
}

/// What all steps look at.
struct Scene<'a, L: Light> {
    light: &'a L,
    landmarks: &'a Landmarks,
    frame: &'a Frame,
    head: &'a Head,
    scale: &'a Scale,
    irises: &'a [(Side, Iris)],
    margins: face::Margins,
}

const SIDES: [Side; 2] = [Side::Right, Side::Left];

/// What was gathered of one side.
struct Areas {
    side: Side,
    band: Gathered,
    cheek: Gathered,
}

impl<L: Light> Scene<'_, L> {
    fn measured(&self, options: &Options, mut warnings: Vec<Warning>) -> Measured {
        let mode = if options.card.is_some() { Mode::Referenced } else { Mode::Relative };
        let meaning = |c: Linear| match &options.card {
            Some(card) => Linear::of_xyz(card.fit.apply(c)),
            None => c,
        };
        let shading = Shading::fit(self.light, self.landmarks, self.frame);
        let areas: Option<Vec<Areas>> =
            shading.as_ref().and_then(|s| SIDES.iter().map(|side| self.areas(*side, s, &meaning)).collect());
        let whites: [Option<White>; 2] = SIDES.map(|side| {
            let (_, iris) = self.irises.iter().find(|i| i.0 == side)?;
            white(self.light, self.landmarks, iris, side, self.scale.mm_per_px, &meaning)
        });
        let tone = self.tone(options, &meaning, &mut warnings);
        let gates = self.gates(options, areas.as_deref(), &whites);
        let usable = gates.iter().all(|g| g.passed);
        let mut measured = Measured {
            mode,
            gates,
            usable,
            sides: None,
            sclera_difference: None,
            tone,
            pose: self.frame.pose(),
            scale: *self.scale,
            margins: self.margins,
            warnings,
        };
        let (Some(areas), Some(shading), true) = (areas, shading, usable || options.past_gates) else {
            return measured;
        };
        let sides: Vec<SideMeasured> = areas
            .iter()
            .zip(&whites)
            .map(|(a, w)| self.side(a, w.as_ref(), &shading, options, tone, &meaning))
            .collect();
        if let (Mode::Relative, [Some(right), Some(left)]) = (mode, &whites) {
            measured.sclera_difference = Some(whites_apart(right, left));
        }
        measured.sides = sides.try_into().ok();
        measured
    }

    fn outline(&self, area: Area, side: Side, by: [f64; 2]) -> Outline {
        outline(area, side, self.landmarks, self.frame, &self.margins, by)
    }

    fn areas(&self, side: Side, shading: &Shading, meaning: &impl Fn(Linear) -> Linear) -> Option<Areas> {
        let of = |area| {
            gather(
                self.light,
                &self.outline(area, side, [0.0; 2]),
                self.landmarks,
                shading,
                self.scale.mm_per_px,
                MOST,
                meaning,
            )
        };
        Some(Areas { side, band: of(Area::Band)?, cheek: of(Area::Cheek)? })
    }

    /// The skin class: as given; with a card measured; else guessed from the photograph.
    fn tone(&self, options: &Options, meaning: &impl Fn(Linear) -> Linear, warnings: &mut Vec<Warning>) -> Tone {
        if let Some(tone) = options.tone {
            return tone;
        }
        let seen: Vec<[f64; 3]> = self.cheeks().into_iter().flatten().collect();
        let mean: [f64; 3] = std::array::from_fn(|k| seen.iter().map(|c| c[k]).sum::<f64>() / seen.len().max(1) as f64);
        let tone = ita(meaning(Linear(mean)).xyz().lab()).map_or(Tone::Intermediate, Tone::of_ita);
        if options.card.is_none() {
            warnings.push(Warning::ToneEstimated(tone));
        }
        tone
    }

    fn side(
        &self,
        areas: &Areas,
        white: Option<&White>,
        shading: &Shading,
        options: &Options,
        tone: Tone,
        meaning: &impl Fn(Linear) -> Linear,
    ) -> SideMeasured {
        let (band, cheek, side) = (&areas.band, &areas.cheek, areas.side);
        let reading =
            if options.card.is_some() { Reading::Referenced } else { Reading::Relative(tone.nominal_cheek()) };
        let (band_lab, cheek_lab) = reading.colours(band.skin, cheek.skin);
        let (ratio, u_fit) = shading.ratio(&band.row, &cheek.row);
        let u_shade = (budget::FIT * u_fit).hypot(budget::SHADING[0] * ratio).hypot(budget::SHADING[1]);
        let place = self.placement(areas, shading, reading, meaning);
        let card = options.card.as_ref().map(|c| &c.fit);
        let coarse = self.rounding(areas, shading, options.chroma_step);
        let budget = Budget::of(band.skin, cheek.skin, band, cheek, reading, false, u_shade, place, card, &coarse);
        let plain = Budget::of(band.plain, cheek.plain, band, cheek, reading, true, 0.0, place, card, &coarse);
        let (plain_band, plain_cheek) = reading.colours(band.plain, cheek.plain);
        let outlines = self.outline(Area::Band, side, [0.0; 2]);
        let parts_of_band = thirds(&outlines, self.landmarks);
        let third = |o: &Outline| {
            let g = gather(self.light, o, self.landmarks, shading, self.scale.mm_per_px, MOST / 3.0, meaning)?;
            let b = Budget::of(g.skin, cheek.skin, &g, cheek, reading, false, u_shade, place, card, &coarse);
            let (l, c) = reading.colours(g.skin, cheek.skin);
            Some(shadow(l, c, &b.whole()))
        };
        let base = Base::at(cheek_lab.xyz());
        let densities = density(band.skin, cheek.skin);
        let parts = separate(densities.into(), budget.density.into(), &base);
        let part = |value: f64, k: usize| Value::of(value, parts.covariance[k][k].max(0.0).sqrt());
        let (brown, blue_red, relief) = (part(parts.melanin, 0), part(parts.haemoglobin, 1), part(parts.shading, 2));
        let parallel = base.cosine > PARALLEL || ita(cheek_lab).is_some_and(|angle| angle < DARKEST);
        SideMeasured {
            side,
            shadow: shadow(band_lab, cheek_lab, &budget.whole()),
            as_photographed: shadow(plain_band, plain_cheek, &plain.whole()),
            thirds: [third(&parts_of_band[0]), third(&parts_of_band[1]), third(&parts_of_band[2])],
            cheek: cheek_lab,
            band: band_lab,
            shading: Value::of(ratio, u_shade),
            brown: (!parallel).then_some(brown),
            blue_red,
            relief,
            residual: parts.residual,
            leading: if parallel { Leading::CannotTell } else { Leading::of(densities.into(), &budget.density, &base) },
            sclera: white
                .filter(|_| options.card.is_some())
                .map(|w| sclera(w, options.card.as_ref().and_then(|c| c.fit.leave_one_out()).unwrap_or(1.5))),
            heights: Heights::of(self.head, side, self.scale),
            left_out: [band.left_out, cheek.left_out],
            densities: (!parallel).then_some((densities, budget.density)),
            repeat: budget.repeat,
            shared: budget.shared,
            outlines: [vec![outlines], parts_of_band.to_vec(), vec![self.outline(Area::Cheek, side, [0.0; 2])]]
                .concat(),
        }
    }

    /// What the file's rounding of chroma does to band and cheek.
    fn rounding(&self, areas: &Areas, shading: &Shading, step: f64) -> [Rounding; 2] {
        if step <= CALIBRATED {
            return Default::default();
        }
        let raw = |area| {
            let outline = self.outline(area, areas.side, [0.0; 2]);
            let mm = self.scale.mm_per_px;
            gather(self.light, &outline, self.landmarks, shading, mm, MOST / 4.0, &|c| c).map(|g| g.plain)
        };
        [Area::Band, Area::Cheek].map(|area| raw(area).map_or(Rounding::default(), |light| rounding(step, light)))
    }

    /// What it costs that the areas may lie elsewhere: differences of colour and density for a standard deviation of shift.
    fn placement(
        &self,
        areas: &Areas,
        shading: &Shading,
        reading: Reading,
        meaning: &impl Fn(Linear) -> Linear,
    ) -> [M3; 2] {
        let of = |area, by| {
            let o = self.outline(area, areas.side, by);
            gather(self.light, &o, self.landmarks, shading, self.scale.mm_per_px, MOST / 4.0, meaning).map(|g| g.skin)
        };
        let mut sums = [M3::zeros(); 2];
        for (area, [across, down]) in [(Area::Band, budget::BAND_MM), (Area::Cheek, budget::CHEEK_MM)] {
            for by in [[across, 0.0], [0.0, down]] {
                let (Some(there), Some(back)) = (of(area, by), of(area, by.map(|v| -v))) else { continue };
                let pair = |v: [f64; 3]| match area {
                    Area::Band => (v, areas.cheek.skin),
                    _ => (areas.band.skin, v),
                };
                let ((b1, c1), (b2, c2)) = (pair(there), pair(back));
                for (sum, d) in sums.iter_mut().zip([
                    (reading.difference(b1, c1) - reading.difference(b2, c2)) / 2.0,
                    (density(b1, c1) - density(b2, c2)) / 2.0,
                ]) {
                    *sum += d * d.transpose();
                }
            }
        }
        sums
    }

    fn gates(&self, options: &Options, areas: Option<&[Areas]>, whites: &[Option<White>; 2]) -> Vec<Gate> {
        let pose = self.frame.pose();
        let worst = |of: &dyn Fn(&Areas) -> f64| areas.map_or(f64::NAN, |a| a.iter().map(of).fold(f64::MIN, f64::max));
        let least = |of: &dyn Fn(&Areas) -> f64| areas.map_or(f64::NAN, |a| a.iter().map(of).fold(f64::MAX, f64::min));
        let at = |n| self.landmarks.at(n);
        let mouth = at(13).to(at(14)) / at(78).to(at(308)).max(1e-9);
        let opening = self.head.opening(Side::Left).min(self.head.opening(Side::Right));
        let (iris_mm, _) = face::IRIS_MM;
        let mut gates = vec![
            Gate::of(GateName::Yaw, pose.yaw.abs()),
            Gate::of(GateName::Pitch, pose.pitch.abs()),
            Gate::of(GateName::Roll, pose.roll.abs()),
            Gate::of(GateName::IrisPx, iris_mm / self.scale.mm_per_px),
            Gate::of(GateName::Sharpness, self.sharpness()),
            Gate::of(GateName::Clipped, worst(&|a| a.band.clipped.max(a.cheek.clipped))),
            Gate::of(GateName::Exposure, self.exposure()),
            Gate::of(GateName::Evenness, self.evenness()),
            Gate::of(GateName::EyesOpen, opening),
            Gate::of(GateName::Mouth, mouth),
            Gate::of(GateName::LeftOut, worst(&|a| a.band.left_out.max(a.cheek.left_out))),
            Gate::of(GateName::Skin, least(&|a| likeness(&a.band).min(likeness(&a.cheek)))),
        ];
        match &options.card {
            None => {
                let seen: Vec<f64> = whites.iter().flatten().map(|w| cast(w.light)).collect();
                if !seen.is_empty() {
                    gates.push(Gate::of(GateName::Cast, seen.iter().sum::<f64>() / seen.len() as f64));
                }
            }
            Some(card) => {
                if let Some(tilt) = card.tilt_deg {
                    gates.push(Gate::of(GateName::CardFlat, tilt));
                }
                if let Some(error) = card.fit.leave_one_out() {
                    gates.push(Gate::of(GateName::CardFit, error));
                }
            }
        }
        gates
    }

    /// The mean of a cheek disc on each side, as photographed, clipped pixels left out: linear light.
    fn cheeks(&self) -> [Option<[f64; 3]>; 2] {
        SIDES.map(|side| {
            let o = self.outline(Area::Cheek, side, [0.0; 2]);
            let n = o.corners.len() as f64;
            let middle = Pixel::new(
                o.corners.iter().map(|p| p.x).sum::<f64>() / n,
                o.corners.iter().map(|p| p.y).sum::<f64>() / n,
            );
            spot(self.light, middle, 0.8 * face::region::CHEEK_MM / self.scale.mm_per_px)
        })
    }

    fn evenness(&self) -> f64 {
        let [right, left] = self.cheeks();
        let lum = |c: [f64; 3]| (0..3).map(|k| LUMINANCE[k] * c[k]).sum::<f64>().max(1e-6);
        match (right, left) {
            (Some(r), Some(l)) => (lum(l) / lum(r)).ln().abs(),
            _ => f64::NAN,
        }
    }

    /// The darker cheek's level, 0 to 255 (the mean of the three channels' median).
    fn exposure(&self) -> f64 {
        let level = |side| {
            let o = self.outline(Area::Cheek, side, [0.0; 2]);
            let mut seen = Vec::new();
            crate::light::within(&o.corners, self.light.size(), |x, y| {
                if x % 4 == 0 && y % 2 == 0 {
                    seen.push(self.light.levels(x, y).iter().map(|v| f64::from(*v)).sum::<f64>() / 3.0);
                }
            });
            median(seen)
        };
        level(Side::Right).min(level(Side::Left))
    }

    /// The width of the sharpest edges round the eyes, mm: contrast over steepest slope.
    fn sharpness(&self) -> f64 {
        let reach = 0.22 * self.landmarks.eye_distance();
        let (w, h) = self.light.size();
        let value = |x: usize, y: usize| {
            let Linear(c) = self.light.linear(x, y);
            c[1].max(0.0).sqrt()
        };
        let widths: Vec<f64> = [(33, 133), (362, 263)]
            .into_iter()
            .filter_map(|(m, n)| {
                let (p, q) = (self.landmarks.at(m), self.landmarks.at(n));
                let (cx, cy) = ((p.x + q.x) / 2.0, (p.y + q.y) / 2.0);
                let clamp = |v: f64, most: usize| v.clamp(1.0, most as f64 - 2.0) as usize;
                let (x0, x1) = (clamp(cx - reach, w), clamp(cx + reach, w));
                let (y0, y1) = (clamp(cy - 0.5 * reach, h), clamp(cy + 0.5 * reach, h));
                let step = ((x1.saturating_sub(x0)) / 200).max(1);
                let (mut levels, mut slopes) = (Vec::new(), Vec::new());
                for y in (y0..y1).step_by(step) {
                    for x in (x0..x1).step_by(step) {
                        levels.push(value(x, y));
                        let (dx, dy) = (value(x + 1, y) - value(x - 1, y), value(x, y + 1) - value(x, y - 1));
                        slopes.push(dx.hypot(dy) / 2.0);
                    }
                }
                if levels.len() < 50 {
                    return None;
                }
                levels.sort_by(f64::total_cmp);
                slopes.sort_by(f64::total_cmp);
                let of = |v: &[f64], share: f64| v[((v.len() - 1) as f64 * share) as usize];
                Some((of(&levels, 0.95) - of(&levels, 0.05)) / of(&slopes, 0.98).max(1e-6) * self.scale.mm_per_px)
            })
            .collect();
        if widths.is_empty() { f64::NAN } else { widths.iter().sum::<f64>() / widths.len() as f64 }
    }
}

/// Pixels of an area.
const MOST: f64 = 6000.0;
/// Beyond this cosine between melanin's and a shadow's direction in the three channels they cannot be told apart.
const PARALLEL: f64 = 0.996;
/// The same for cheeks of the darkest class (ITA of -30 degrees and less), with the angle's own error of 3 degrees.
const DARKEST: f64 = -27.0;

/// How much an area is like skin in texture (a painted patch has none) and colour (a grey picture has none): 0 to 1.
fn likeness(g: &Gathered) -> f64 {
    let texture = (g.texture / 0.006).min(g.uneven / 0.006);
    let red = (g.plain[0].max(1e-6) / g.plain[1].max(1e-6)).ln() / 0.10;
    texture.min(red).clamp(0.0, 1.0)
}

/// How far a white is from neutral: the larger |ln| of red and blue against green.
fn cast(c: [f64; 3]) -> f64 {
    let of = |k: usize| (c[k].max(1e-6) / c[1].max(1e-6)).ln().abs();
    of(0).max(of(2))
}

/// Own left less own right of two whites, on a nominal white of L* 80.
fn whites_apart(right: &White, left: &White) -> Sclera {
    let base = Linear::of_xyz(Lab { l: 80.0, a: 0.0, b: 0.0 }.xyz()).0;
    let on = |w: &White| -> White {
        let scale = V3::from_fn(|k, _| base[k] / ((right.light[k] + left.light[k]) / 2.0).max(1e-6));
        let by = M3::from_diagonal(&scale);
        White { light: V3::from(w.light).component_mul(&scale).into(), covariance: by * w.covariance * by }
    };
    let (r, l) = (sclera(&on(right), 0.0), sclera(&on(left), 0.0));
    let less = |a: Value, b: Value| Value { value: a.value - b.value, u95: a.u95.hypot(b.u95) };
    Sclera { redness: less(l.redness, r.redness), yellowness: less(l.yellowness, r.yellowness) }
}

/// The uncertainty of one difference.
struct Budget {
    /// Of (dL, da, db), what changes between photographs.
    repeat: M3,
    /// Of (dL, da, db), what all photographs of a person share.
    shared: M3,
    /// Of the three channels' densities, whole.
    density: M3,
}

impl Budget {
    #[allow(clippy::too_many_arguments)]
    fn of(
        band: [f64; 3],
        cheek: [f64; 3],
        band_area: &Gathered,
        cheek_area: &Gathered,
        reading: Reading,
        plain: bool,
        u_shade: f64,
        place: [M3; 2],
        card: Option<&CardFit>,
        coarse: &[Rounding; 2],
    ) -> Budget {
        let (boot, boot_density) = bootstrap(band_area, cheek_area, reading, plain);
        let here = reading.difference(band, cheek);
        let moved = |by: V3| {
            let band = std::array::from_fn(|k| band[k] * 10f64.powf(-by[k]));
            reading.difference(band, cheek) - here
        };
        let outer = |v: V3| v * v.transpose();
        // Shading acts on all three channels alike.
        let shade = V3::repeat(u_shade / std::f64::consts::LN_10);
        let mut density = boot_density + place[1] + outer(shade);
        for k in [0, 2] {
            density[(k, k)] += budget::LIGHT_COLOUR.powi(2);
        }
        let mut repeat = boot * (1.0 - budget::TEXTURE_SHARED) + place[0] + outer(moved(shade));
        // Each area is rounded on its own; the cheek's error turned over is one of the band's.
        for one in coarse.iter().flatten() {
            repeat += outer(moved(V3::from(*one)));
            density += outer(V3::from(*one));
        }
        let mut shared = boot * budget::TEXTURE_SHARED;
        let d = crate::shadow::density(band, cheek);
        let (_, around) = reading.colours(band, cheek);
        match card.and_then(|fit| fit.difference_error(around, here.into())) {
            // No card, or one that does not know its own error.
            None => {
                shared += outer(moved(d * budget::TONE_CURVE));
                density += outer(d * budget::TONE_CURVE);
                for k in 0..3 {
                    let mut one = V3::zeros();
                    one[k] = d[k] * budget::CROSSTALK;
                    shared += outer(moved(one));
                    density += outer(one);
                }
            }
            Some([l, a, b]) => {
                shared += M3::from_diagonal(&V3::new(l * l, a * a, b * b));
                for k in 0..3 {
                    density[(k, k)] += (budget::CARD * d[k]).powi(2);
                }
            }
        }
        Budget { repeat, shared, density }
    }

    fn whole(&self) -> M3 {
        self.repeat + self.shared
    }
}
