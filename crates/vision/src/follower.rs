//! One face followed through the frames of a camera.
//!
//! What stays the same for a person while the head moves is not looked for anew in every frame: the scale from the irises and the
//! hairline are medians over several looks at frames in which the head is nearly straight. What moves is new in each frame: the
//! landmark network runs once around where the face was, and only where it is lost is it looked for in the whole frame again.
//! Between frames nothing of a picture is kept, only landmarks and what was measured on them.

use std::collections::VecDeque;

use face::{Frame, Hairline, HairlineSource, Head, Landmarks, OwnMap, PROFILE, Places, Pose, Scale, ScaleSource};
use vocab::Side;

use crate::{Care, FindError, Finder, View};

/// What one frame shows.
#[derive(Clone, Debug)]
pub enum Followed {
    /// The face, with the points that were asked for.
    Face(Box<OwnMap>),
    /// Nobody is seen.
    NoFace,
    /// It is too dark to see anybody.
    Dark,
    /// So many faces stand before the camera.
    Several(usize),
    /// The head is turned so far that half of the face is hidden.
    Turned(Pose),
}

/// How often a frame is looked at more closely, and how often the faces in it are counted.
const CLOSER: u64 = 5;
const COUNTED: u64 = 20;
/// At most so many looks are kept.
const LOOKS: usize = 15;
/// A head turned less than this (degrees, yaw and pitch) is nearly straight.
const STRAIGHT: f64 = 10.0;
/// Too dark: the lightest tenth of the face, or of a frame in which none is seen, is darker than this (encoded luma, 0 to 255). The
/// darkest skin in ordinary light is far above it.
const DARK: f64 = 34.0;

/// The upper edge of the mesh, from the person's right temple to their left.
const EDGE: [usize; 9] = [54, 103, 67, 109, 10, 338, 297, 332, 284];

/// A closer look at one frame. Millimetres are those of the canonical face here, since each frame's own scale is as unsure as its
/// irises.
#[derive(Clone, Debug)]
struct Look {
    /// The measured millimetres to one of the canonical face.
    ratio: f64,
    /// The relative half width of its interval.
    u95: f64,
    source: ScaleSource,
    /// How high the hairline lies above the upper edge of the mesh, see [`edge`].
    hairline: Hairline,
    /// The larger of yaw and pitch, degrees.
    turned: f64,
}

/// Follows one face. Cheap to make once the networks are loaded; holds no pixel.
pub struct Follower {
    finder: Finder,
    last: Option<Landmarks>,
    looks: VecDeque<Look>,
    frames: u64,
    faces: usize,
}

impl Follower {
    /// A follower that has seen nothing yet; it runs the networks on one thread of its own.
    pub fn new(finder: &Finder) -> Follower {
        Follower { finder: finder.beside(), last: None, looks: VecDeque::new(), frames: 0, faces: 0 }
    }

    /// Looks at the next frame.
    ///
    /// # Errors
    /// When the networks cannot be run; that there is no face is no error.
    pub fn next(&mut self, view: &View<'_>, places: &Places, asked: &[(&str, Side)]) -> Result<Followed, FindError> {
        let number = self.frames;
        self.frames += 1;
        let Some(landmarks) = self.landmarks(view, number)? else {
            let whole = [0.0, 0.0, view.width as f64, view.height as f64];
            return Ok(if lightest(view, whole) < DARK { Followed::Dark } else { Followed::NoFace });
        };
        if self.faces > 1 {
            return Ok(Followed::Several(self.faces));
        }
        if lightest(view, extent(&landmarks)) < DARK {
            return Ok(Followed::Dark);
        }
        let Some(frame) = Frame::fit(&landmarks) else {
            self.last = None;
            return Ok(Followed::NoFace);
        };
        let pose = frame.pose();
        let turned = pose.yaw.abs().max(pose.pitch.abs());
        if turned > PROFILE {
            return Ok(Followed::Turned(pose));
        }
        let straight = turned < STRAIGHT;
        if self.looks.is_empty()
            || straight && (number.is_multiple_of(CLOSER) || self.looks.iter().all(|l| l.turned > STRAIGHT))
        {
            self.look(view, &landmarks, &frame, turned);
        }
        let (scale, hairline) = self.known(&landmarks, &frame);
        Ok(Followed::Face(Box::new(OwnMap::with(&landmarks, frame, scale, hairline, places, asked))))
    }

    /// The landmarks of this frame: around where the face was, or looked for in the whole frame.
    fn landmarks(&mut self, view: &View<'_>, number: u64) -> Result<Option<Landmarks>, FindError> {
        if number.is_multiple_of(COUNTED) || self.last.is_none() {
            self.faces = self.finder.standing(view)?;
        }
        let missing = |e: FindError| if e.is_no_face() { Ok(None) } else { Err(e) };
        let found = match &self.last {
            Some(last) => self.finder.track(view, last).map(|(landmarks, _)| Some(landmarks)).or_else(missing)?,
            None => None,
        };
        let found = match found {
            Some(landmarks) => Some(landmarks),
            None => {
                // Somebody else may have come.
                if self.last.take().is_some() {
                    self.looks.clear();
                }
                let care = Care { passes: 2, mirrored: false };
                self.finder.find(view, care).map(|found| Some(found.landmarks)).or_else(missing)?
            }
        };
        self.last.clone_from(&found);
        Ok(found)
    }

    fn look(&mut self, view: &View<'_>, landmarks: &Landmarks, frame: &Frame, turned: f64) {
        let (scale, _) = Scale::measure(landmarks, frame, view);
        let ratio = scale.mm_per_px / frame.mm_per_px();
        let measured = frame.clone().with_scale(scale.mm_per_px);
        let bare = Head::of(landmarks, &measured, Hairline::level(91.0, 63.6));
        let found = scaled(&Hairline::find(&bare, &measured, view), 1.0 / ratio);
        let edge = edge(landmarks, frame);
        let above = evenly(&found).map(|x| [x, found.height(x) - edge.height(x)]).collect();
        let hairline = Hairline::through(above, found.source, found.u_mm);
        if turned < STRAIGHT {
            self.looks.retain(|l| l.turned < STRAIGHT);
        }
        if self.looks.len() == LOOKS {
            self.looks.pop_front();
        }
        self.looks.push_back(Look { ratio, u95: scale.u95 / scale.mm_per_px, source: scale.source, hairline, turned });
    }

    /// Scale and hairline of this person, as all looks together have them, in this frame.
    fn known(&self, landmarks: &Landmarks, frame: &Frame) -> (Scale, Hairline) {
        let best = |of: &dyn Fn(&Look) -> bool| -> Vec<&Look> {
            let some: Vec<&Look> = self.looks.iter().filter(|l| of(l)).collect();
            if some.is_empty() { self.looks.iter().collect() } else { some }
        };
        let by_iris = best(&|l| l.source == ScaleSource::Iris);
        let ratio = median(by_iris.iter().map(|l| l.ratio));
        let mm_per_px = frame.mm_per_px() * ratio;
        let source = by_iris.first().map_or(ScaleSource::Interpupillary, |l| l.source);
        let scale = Scale { mm_per_px, source, u95: mm_per_px * median(by_iris.iter().map(|l| l.u95)) };
        let seen = self.looks.iter().filter(|l| l.hairline.source == HairlineSource::Seen).count();
        let source =
            if 2 * seen >= self.looks.len().max(1) { HairlineSource::Seen } else { HairlineSource::Proportion };
        let lines: Vec<&Hairline> = best(&|l| l.hairline.source == source).iter().map(|l| &l.hairline).collect();
        // As wide as the narrowest of them, so that none is carried on beyond its end.
        let ends = |of: fn(&[[f64; 2]]) -> Option<&[f64; 2]>, pick: fn(f64, f64) -> f64, from: f64| {
            lines.iter().filter_map(|l| of(l.curve())).map(|p| p[0]).fold(from, pick)
        };
        let (from, to) = (ends(|c| c.first(), f64::max, -1e3), ends(|c| c.last(), f64::min, 1e3));
        let edge = edge(landmarks, frame);
        let curve =
            even(from, to).map(|x| [x * ratio, (edge.height(x) + median(lines.iter().map(|l| l.height(x)))) * ratio]);
        let u_mm = median(lines.iter().map(|l| l.u_mm)) * ratio;
        (scale, Hairline::through(curve.collect(), lines.first().map_or(source, |l| l.source), u_mm))
    }
}

/// The upper edge of the mesh in the frame of the face, as a line like the hairline's. What is found in one frame is carried to another
/// above it: with a nodding head the frame's own guess of the nod is wrong by a little, and the edge goes with it.
fn edge(landmarks: &Landmarks, frame: &Frame) -> Hairline {
    let edge = EDGE.iter().map(|n| landmarks.all()[*n]).map(|p| frame.to_face(p)).map(|[x, y, _]| [x, y]);
    Hairline::through(edge.collect(), HairlineSource::Seen, 0.0)
}

/// Forty even steps from one place across to another.
fn even(from: f64, to: f64) -> impl Iterator<Item = f64> {
    (0..=40).map(move |i| from + (to - from) * f64::from(i) / 40.0)
}

/// Forty even steps along a line. Where few of its rays agreed its own places are far apart, and the edge is bent between them.
fn evenly(line: &Hairline) -> impl Iterator<Item = f64> {
    let end = |p: Option<&[f64; 2]>| p.map_or(0.0, |p| p[0]);
    even(end(line.curve().first()), end(line.curve().last()))
}

fn scaled(line: &Hairline, by: f64) -> Hairline {
    Hairline::through(line.curve().iter().map(|p| p.map(|v| v * by)).collect(), line.source, line.u_mm * by)
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut all: Vec<f64> = values.collect();
    all.sort_by(f64::total_cmp);
    let (low, high) = (all.len().saturating_sub(1) / 2, all.len() / 2);
    match (all.get(low), all.get(high)) {
        (Some(a), Some(b)) => (a + b) / 2.0,
        _ => f64::NAN,
    }
}

/// Left, top, right and bottom of a face, pixels.
fn extent(landmarks: &Landmarks) -> [f64; 4] {
    landmarks.all().iter().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |[l, t, r, b], [x, y, _]| {
        [l.min(*x), t.min(*y), r.max(*x), b.max(*y)]
    })
}

/// The luma (Rec. 601, 0 to 255) that a tenth of the pixels in this part of the frame reaches, taken at 24 by 24 places.
fn lightest(view: &View<'_>, [left, top, right, bottom]: [f64; 4]) -> f64 {
    const STEPS: usize = 24;
    let place = |from: f64, to: f64, i: usize, most: usize| {
        let at = from + (to - from) * (i as f64 + 0.5) / STEPS as f64;
        (at.max(0.0) as usize).min(most - 1)
    };
    let mut all: Vec<f64> = (0..STEPS * STEPS)
        .map(|i| {
            let (x, y) = (place(left, right, i % STEPS, view.width), place(top, bottom, i / STEPS, view.height));
            let at = 3 * (y * view.width + x);
            let of = |c: usize| f64::from(view.rgb[at + c]);
            0.299 * of(0) + 0.587 * of(1) + 0.114 * of(2)
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all[all.len() * 9 / 10]
}
