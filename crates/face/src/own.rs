//! One person's own map: from landmarks and a picture to every point on their face.

use vocab::Side;

use crate::place::{LandmarkErrors, Spread};
use crate::{
    Frame, Hairline, HairlineSource, Head, Iris, Landmarks, Pixel, Pixels, Place, Places, Pose, Scale, ScaleSource,
    Spot, Warp, canonical, corrected, hand,
};

/// What a person set right by hand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hands {
    /// Landmarks that were dragged, and where to.
    pub landmarks: Vec<(usize, Pixel)>,
    /// Places of the hairline in the picture, from one temple to the other; none: it is estimated.
    pub hairline: Vec<Pixel>,
}

/// A point on one person's face.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnPoint {
    /// Its code in the atlas.
    pub code: String,
    /// Left, right or midline.
    pub side: Side,
    /// Where it lies in the picture.
    pub at: Pixel,
    /// Where it lies in the face frame, millimetres.
    pub place: Place,
    /// The radius that holds it in 95 of 100 faces, millimetres.
    pub uncertainty_mm: f64,
    /// Bias and deviation of where it is shown, across and upward, millimetres.
    pub spread: Spread,
    /// How directly the skin there faces the camera: 1 straight, less than about 0.15 hidden or edge on.
    pub facing: f64,
}

/// What makes a map less sure, or calls for another photograph.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Caveat {
    /// The head is turned further than 15 degrees (yaw or pitch): the far side is seen at a slant.
    Turned(Pose),
    /// The irises span fewer than 16 pixels: come nearer.
    Small(f64),
    /// Both eyes are closed: the scale comes from the distance of the eyes.
    EyesClosed,
    /// No clear edge of an iris was found: the scale is the network's own.
    IrisUnclear,
    /// No hairline was seen: it is estimated by proportion.
    HairlineUnclear,
}

/// One person's own map.
#[derive(Clone, Debug)]
pub struct OwnMap {
    /// The landmarks it stands on, corrections included.
    pub landmarks: Landmarks,
    /// Where the face stands in the picture.
    pub frame: Frame,
    /// Millimetres to a pixel.
    pub scale: Scale,
    /// The irises that were fitted.
    pub irises: Vec<(Side, Iris)>,
    /// The head.
    pub head: Head,
    /// Every point asked for that has a rule.
    pub points: Vec<OwnPoint>,
    /// What to mind.
    pub caveats: Vec<Caveat>,
}

/// Beyond this turn (degrees, yaw or pitch) the map warns.
pub const TURNED: f64 = 15.0;
/// Beyond this turn the far half of the face cannot be seen: no map is made.
pub const PROFILE: f64 = 40.0;

impl OwnMap {
    /// Makes the map: frame, scale from the irises, hairline, points. `asked` names the points and their sides. None where
    /// the landmarks do not span a face, or the head is turned to its profile.
    pub fn make(
        landmarks: &Landmarks,
        picture: &impl Pixels,
        hands: &Hands,
        places: &Places,
        asked: &[(&str, Side)],
    ) -> Option<OwnMap> {
        let landmarks = corrected(landmarks, &hands.landmarks);
        let frame = Frame::fit(&landmarks)?;
        let (scale, irises) = Scale::measure(&landmarks, &frame, picture);
        let frame = frame.with_scale(scale.mm_per_px);
        let pose = frame.pose();
        if pose.yaw.abs() > PROFILE || pose.pitch.abs() > PROFILE {
            return None;
        }
        let bare = Head::of(&landmarks, &frame, Hairline::level(91.0, 63.6));
        let hairline = if hands.hairline.len() >= 3 {
            Hairline::by_hand(hands.hairline.iter().map(|p| on_forehead(&bare, &frame, *p)).collect())
        } else {
            Hairline::find(&bare, &frame, picture)
        };
        let head = Head::of(&landmarks, &frame, hairline);
        let points = points(&head, &frame, hands, places, asked);
        let caveats = caveats(&head, &scale);
        let mut map = OwnMap { landmarks, frame, scale, irises, head, points, caveats };
        if pose.yaw.abs() > TURNED || pose.pitch.abs() > TURNED {
            map.caveats.push(Caveat::Turned(pose));
        }
        Some(map)
    }

    /// The same face in the next picture of a moving one: scale and hairline are kept, all else follows the landmarks.
    pub fn follow(&self, landmarks: &Landmarks, places: &Places, asked: &[(&str, Side)]) -> Option<OwnMap> {
        // Both fits are to the canonical face: the measured scale stays in proportion.
        let (before, now) = (Frame::fit(&self.landmarks)?, Frame::fit(landmarks)?);
        let grown = now.mm_per_px() / before.mm_per_px();
        let scale = Scale { mm_per_px: self.scale.mm_per_px * grown, u95: self.scale.u95 * grown, ..self.scale };
        Some(OwnMap::with(landmarks, now, scale, self.head.hairline.clone(), places, asked))
    }

    /// The map of landmarks whose frame, scale and hairline (in millimetres of that scale) are known already.
    pub fn with(
        landmarks: &Landmarks,
        frame: Frame,
        scale: Scale,
        hairline: Hairline,
        places: &Places,
        asked: &[(&str, Side)],
    ) -> OwnMap {
        let frame = frame.with_scale(scale.mm_per_px);
        let head = Head::of(landmarks, &frame, hairline);
        let points = points(&head, &frame, &Hands::default(), places, asked);
        let caveats = caveats(&head, &scale);
        OwnMap { landmarks: landmarks.clone(), frame, scale, irises: Vec::new(), head, points, caveats }
    }

    /// How the head is turned.
    pub fn pose(&self) -> Pose {
        self.frame.pose()
    }

    /// The drawing carried onto the picture: pixels, y counted downward as negative (a sheet is y up).
    pub fn onto_picture(&self) -> Warp {
        let place = |n: usize| {
            let p = self.landmarks.at(n);
            Spot::new(p.x, -p.y)
        };
        let beside = self.hairline_pairs(|place| {
            let p = self.frame.to_picture(place);
            Spot::new(p.x, -p.y)
        });
        Warp::onto(place, &beside)
    }

    /// The drawing carried onto this face as seen straight from in front: centimetres of this person, y up.
    pub fn onto_sheet(&self) -> Warp {
        let spot = |p: Place| Spot::new(p[0] / 10.0, p[1] / 10.0);
        let beside = self.hairline_pairs(spot);
        Warp::onto(|n| self.head.points().get(n).map_or(Spot::default(), |p| spot(*p)), &beside)
    }

    /// Places of the drawn hairline, and where they are on this head.
    fn hairline_pairs(&self, to: impl Fn(Place) -> Spot) -> Vec<(Spot, Spot)> {
        let drawn = [(0.0, 9.1), (3.2, 8.95), (-3.2, 8.95)];
        let brows = self.head.between_brows();
        let half = (self.head.point(284, Side::Left)[0] - self.head.point(284, Side::Right)[0]) / 2.0;
        let pair = |(x, y): (f64, f64)| {
            let own = brows[0] + x * half / canonical()[284][0];
            let (place, _) = self.head.surface(own, self.head.hairline.height(own));
            (Spot::new(x, y), to(place))
        };
        drawn.into_iter().map(pair).collect()
    }
}

/// A place of the picture on the forehead of a head, as seen from in front.
fn on_forehead(head: &Head, frame: &Frame, at: Pixel) -> [f64; 2] {
    // Along the camera's ray: start on the plane of the origin, and step until the surface's depth agrees.
    let mut place = frame.to_face([at.x, at.y, 0.0]);
    for _ in 0..12 {
        let (on, _) = head.surface(place[0], place[1]);
        let seen = frame.to_picture(on);
        let back = frame.to_face([at.x, at.y, 0.0]);
        let shown = frame.to_face([seen.x, seen.y, 0.0]);
        place = [place[0] + back[0] - shown[0], place[1] + back[1] - shown[1], on[2]];
    }
    [place[0], place[1]]
}

fn points(head: &Head, frame: &Frame, hands: &Hands, places: &Places, asked: &[(&str, Side)]) -> Vec<OwnPoint> {
    let errors = LandmarkErrors::built_in();
    let steadied = |n: usize| hand::steadied(n, &hands.landmarks);
    let pose = frame.pose();
    // The table was made from heads turned up to 12 degrees.
    let turned = 1.0 + (pose.yaw.abs().max(pose.pitch.abs()) - 12.0).max(0.0) / 15.0;
    let one = |(code, side): &(&str, Side)| {
        let (place, normal) = places.find(code, *side, head)?;
        let error = errors.of_point(places.rule(code)?, *side, head, &steadied, turned);
        Some(OwnPoint {
            code: (*code).to_owned(),
            side: *side,
            at: frame.to_picture(place),
            place,
            uncertainty_mm: error.r95,
            spread: error.spread,
            facing: frame.facing(normal),
        })
    };
    asked.iter().filter_map(one).collect()
}

fn caveats(head: &Head, scale: &Scale) -> Vec<Caveat> {
    let mut list = Vec::new();
    let iris_px = crate::iris::IRIS_MM.0 / scale.mm_per_px;
    if iris_px < 16.0 {
        list.push(Caveat::Small(iris_px));
    }
    match scale.source {
        ScaleSource::Interpupillary => list.push(Caveat::EyesClosed),
        ScaleSource::IrisPoints => list.push(Caveat::IrisUnclear),
        _ => {}
    }
    if head.hairline.source == HairlineSource::Proportion {
        list.push(Caveat::HairlineUnclear);
    }
    list
}

/// The canonical face as a head with the drawn hairline: what a person without a photograph is shown.
pub fn drawn_head() -> Head {
    let mut points: Vec<Place> = canonical().iter().map(|v| v.map(|c| 10.0 * c)).collect();
    let eye = |side| -> Place {
        let rim = crate::head::rim(side);
        std::array::from_fn(|k| rim.iter().map(|n| points[*n][k]).sum::<f64>() / 16.0)
    };
    let (right, left) = (eye(Side::Right), eye(Side::Left));
    points.extend(std::iter::repeat_n(right, 5));
    points.extend(std::iter::repeat_n(left, 5));
    Head::new(points, Hairline::level(91.0, 63.6))
}
