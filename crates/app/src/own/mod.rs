//! From a photograph to a person's own map: decoding, the networks, and what `face` makes of them.

pub mod desk;
pub mod draw;
pub mod invented;

use std::sync::{Mutex, OnceLock, PoisonError, RwLock};

use face::{Caveat, Drawing, Hands, Landmarks, OwnMap, PROFILE, Places, Signature};
use plan::atlas::{Atlas, Kind, Shown};
use vision::{
    Care, DecodeError, DecodeErrorKind, FindError, Finder, Found, Limits, Note, Photograph, Profile, View, decode,
};
use vocab::{Side, Sides};

use crate::catalogue::{fill, text};

/// How a photograph is to be read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// How carefully the networks look.
    pub care: Care,
    /// Whether the photograph shows a mirror image (a selfie as some cameras save it).
    pub mirrored: bool,
    /// What was set right by hand, in pixels of the upright picture as it is shown.
    pub hands: Hands,
    /// The signature of the same person's first photograph.
    pub first: Option<Signature>,
}

impl Default for Reading {
    fn default() -> Reading {
        Reading { care: Care::PHOTOGRAPH, mirrored: false, hands: Hands::default(), first: None }
    }
}

/// A photograph with what was found in it.
pub struct Seen {
    /// The photograph; of a mirrored one the unmirrored picture, so that left and right are the person's own.
    pub photo: Photograph,
    /// What the networks found, before any correction.
    pub found: Found,
    /// The map.
    pub map: OwnMap,
    /// What to mind, in words.
    pub warnings: Vec<String>,
}

/// Why a photograph gives no map; the words say what to do.
#[derive(Debug)]
pub struct Refused(pub String);

/// The practitioner's own points, gathered while the atlas is read, before anything is placed or drawn.
static OWN: Mutex<Option<Places>> = Mutex::new(None);

/// Adds a practitioner's own rules. They count from the start of the program: what was placed before is not placed anew.
pub fn add_places(places: Places) {
    if let Ok(mut own) = OWN.lock() {
        own.get_or_insert_with(Places::default).extend(places);
    }
}

/// The practitioner's own rules.
pub fn own_places() -> Places {
    OWN.lock().ok().and_then(|own| own.clone()).unwrap_or_default()
}

/// Where points lie: the rules, and the same on the drawing.
struct Laid {
    places: Places,
    drawing: Drawing,
}

impl Laid {
    /// What ships with the program, what came with its start, and these.
    fn with(over: Places) -> Laid {
        let (mut places, mut drawing, mut own) = (Places::built_in(), Drawing::built_in(), own_places());
        own.extend(over);
        drawing.extend(own.drawn());
        places.extend(own);
        Laid { places, drawing }
    }
}

/// What is laid now, if it is not what came with the start; and every set that ever was.
static NOW: RwLock<(Option<&'static Laid>, Vec<&'static Laid>)> = RwLock::new((None, Vec::new()));

fn laid() -> &'static Laid {
    static START: OnceLock<Laid> = OnceLock::new();
    let now = NOW.read().unwrap_or_else(PoisonError::into_inner).0;
    now.unwrap_or_else(|| START.get_or_init(|| Laid::with(Places::default())))
}

/// Lays the practice's own points over what came with the start. Each set stays in memory (some kilobytes, once for every change of
/// the own points), so that whoever looks at one meanwhile can go on.
pub fn set_places(over: &Places) {
    let new = Laid::with(over.clone());
    let mut now = NOW.write().unwrap_or_else(PoisonError::into_inner);
    let known = now.1.iter().copied().find(|l| l.places == new.places);
    let set = known.unwrap_or_else(|| {
        let set: &'static Laid = Box::leak(Box::new(new));
        now.1.push(set);
        set
    });
    now.0 = Some(set);
}

/// The practice's own points are away again.
pub fn without_own() {
    NOW.write().unwrap_or_else(PoisonError::into_inner).0 = None;
}

/// The rules of where points lie, the practitioner's own among them.
pub fn places() -> &'static Places {
    &laid().places
}

/// Where each place lies on the drawing, the practitioner's own points among them.
pub fn drawn() -> &'static Drawing {
    &laid().drawing
}

/// The networks, loaded once.
fn finder() -> Result<&'static Mutex<Finder>, Refused> {
    static FINDER: OnceLock<Result<Mutex<Finder>, FindError>> = OnceLock::new();
    let loaded = FINDER.get_or_init(|| Finder::new().map(Mutex::new));
    loaded.as_ref().map_err(|e| Refused(e.to_string()))
}

/// Follows a face through the frames of a camera.
pub fn follower() -> Result<vision::Follower, Refused> {
    let finder = finder()?.lock().map_err(|_| Refused(text("map.no_face").to_owned()))?;
    Ok(vision::Follower::new(&finder))
}

/// Reads a photograph's bytes.
pub fn photograph(bytes: &[u8]) -> Result<Photograph, Refused> {
    decode(bytes, &Limits::default()).map_err(|e| Refused(unreadable(&e)))
}

/// The map of the largest face in a photograph.
pub fn read(atlas: &Atlas, places: &Places, photo: Photograph, reading: &Reading) -> Result<Seen, Refused> {
    let photo = if reading.mirrored { turned_over(photo) } else { photo };
    let found = find(&photo, reading.care)?;
    let (map, mut warnings) = map(atlas, places, &photo, &found, reading)?;
    warnings.extend(notes(&photo));
    Ok(Seen { photo, found, map, warnings })
}

/// What the networks find in a photograph.
pub fn find(photo: &Photograph, care: Care) -> Result<Found, Refused> {
    let rgb = photo.rgb8();
    let no_face = || Refused(text("map.no_face").to_owned());
    let view = View::new(photo.width as usize, photo.height as usize, &rgb).ok_or_else(no_face)?;
    let finder = finder()?.lock().map_err(|_| Refused(text("map.no_face").to_owned()))?;
    finder.find(&view, care).map_err(|e| if e.is_no_face() { no_face() } else { Refused(e.to_string()) })
}

/// The map anew, with other corrections, on what was found before.
pub fn map(
    atlas: &Atlas,
    places: &Places,
    photo: &Photograph,
    found: &Found,
    reading: &Reading,
) -> Result<(OwnMap, Vec<String>), Refused> {
    let rgb = photo.rgb8();
    let by_hand = !reading.hands.landmarks.is_empty();
    let refused = || {
        Refused(if by_hand { text("map.hands_no_face").to_owned() } else { fill("map.profile", &[("most", &PROFILE)]) })
    };
    let view = View::new(photo.width as usize, photo.height as usize, &rgb).ok_or_else(refused)?;
    let hands = if reading.mirrored { over(&reading.hands, f64::from(photo.width)) } else { reading.hands.clone() };
    let made = OwnMap::make(&found.landmarks, &view, &hands, places, &asked(atlas, places));
    let made = made.ok_or_else(refused)?;
    let mut warnings = Vec::new();
    if found.faces > 1 {
        warnings.push(fill("map.several", &[("faces", &found.faces)]));
    }
    warnings.extend(made.caveats.iter().map(caveat));
    if let Some(first) = &reading.first
        && first.compare(&Signature::of(&made.head)).mirrored()
    {
        warnings.push(text("map.looks_mirrored").to_owned());
    }
    Ok((made, warnings))
}

/// Every point that has a rule, on each side it exists on.
fn asked<'a>(atlas: &'a Atlas, places: &Places) -> Vec<(&'a str, Side)> {
    let points = atlas.targets.iter().filter(|t| t.kind == Kind::Point && t.shown == Shown::Photo);
    let known = points.filter(|t| places.rule(&t.id).is_some());
    known.flat_map(|t| sides(t.sides).iter().map(move |s| (t.id.as_str(), *s))).collect()
}

/// The sides a target exists on.
pub fn sides(sides: Sides) -> &'static [Side] {
    match sides {
        Sides::Midline => &[Side::Midline],
        Sides::Lateral => &[Side::Left, Side::Right],
    }
}

/// The signature of the face in a photograph.
pub fn signature(bytes: &[u8]) -> Result<Signature, Refused> {
    let photo = photograph(bytes)?;
    let found = find(&photo, Care::PHOTOGRAPH)?;
    signature_of(&found.landmarks).ok_or_else(|| Refused(text("map.no_face").to_owned()))
}

/// The signature of a face whose landmarks are known; none where they are no face.
pub fn signature_of(landmarks: &Landmarks) -> Option<Signature> {
    let frame = face::Frame::fit(landmarks)?;
    Some(Signature::of(&face::Head::of(landmarks, &frame, face::Hairline::level(91.0, 63.6))))
}

/// The picture with left and right exchanged.
pub fn turned_over(mut photo: Photograph) -> Photograph {
    fn rows<T>(samples: &mut [T], width: usize) {
        for row in samples.chunks_exact_mut(3 * width) {
            for x in 0..width / 2 {
                for c in 0..3 {
                    row.swap(3 * x + c, 3 * (width - 1 - x) + c);
                }
            }
        }
    }
    let width = photo.width as usize;
    match &mut photo.samples {
        vision::Samples::Eight(v) => rows(v, width),
        vision::Samples::Sixteen(v) => rows(v, width),
    }
    photo
}

/// Corrections made on the mirrored picture, on the unmirrored one. Numbers are the person's own, and stay.
pub fn over(hands: &Hands, width: f64) -> Hands {
    let turned = |p: &face::Pixel| face::Pixel::new(width - p.x, p.y);
    Hands {
        landmarks: hands.landmarks.iter().map(|(n, p)| (*n, turned(p))).collect(),
        hairline: hands.hairline.iter().map(turned).collect(),
    }
}

/// What a person is told of a file that is no photograph.
fn unreadable(error: &DecodeError) -> String {
    match error.kind() {
        DecodeErrorKind::Empty => text("photo.empty").to_owned(),
        DecodeErrorKind::NotAnImage => text("photo.not_an_image").to_owned(),
        DecodeErrorKind::UnsupportedFormat(what) => fill("photo.unsupported", &[("what", what)]),
        DecodeErrorKind::Truncated => text("photo.truncated").to_owned(),
        DecodeErrorKind::TooLarge { width, height } => fill("photo.too_large", &[("width", width), ("height", height)]),
        DecodeErrorKind::TooManyBytes { most, .. } => fill("photo.too_many_bytes", &[("most", &(most / 1_000_000))]),
        _ => text("photo.broken").to_owned(),
    }
}

/// What is to be known of how the file was read, in words.
pub fn notes(photo: &Photograph) -> Vec<String> {
    let mut said: Vec<String> = photo.notes.iter().filter_map(note).collect();
    if photo.profile == Profile::Unreadable && !photo.notes.contains(&Note::IccUnreadable) {
        said.extend(note(&Note::IccUnreadable));
    }
    said
}

fn note(note: &Note) -> Option<String> {
    Some(
        match note {
            Note::IccUnreadable | Note::IccNotRgb => text("photo.note_icc"),
            Note::ColourHintUnused => text("photo.note_colour_hint"),
            Note::Cmyk => text("photo.note_cmyk"),
            Note::Greyscale => text("photo.note_grey"),
            Note::Transparent => text("photo.note_transparent"),
            Note::Animated => text("photo.note_animated"),
            Note::ExifUnreadable | Note::OrientationInvalid => text("photo.note_exif"),
            Note::OrientationContradicts => text("photo.note_turned"),
            _ => return None,
        }
        .to_owned(),
    )
}

fn caveat(caveat: &Caveat) -> String {
    match caveat {
        Caveat::Turned(pose) => fill(
            "map.turned",
            &[("yaw", &format!("{:.0}", pose.yaw.abs())), ("pitch", &format!("{:.0}", pose.pitch.abs()))],
        ),
        Caveat::Small(px) => fill("map.small", &[("px", &format!("{px:.0}"))]),
        Caveat::EyesClosed => text("map.eyes_closed").to_owned(),
        Caveat::IrisUnclear => text("map.iris_unclear").to_owned(),
        Caveat::HairlineUnclear => text("map.hairline_unclear").to_owned(),
    }
}

/// Landmarks for an answer: 478 places rounded to a hundredth of a pixel.
pub fn rounded(landmarks: &Landmarks) -> Vec<[f64; 3]> {
    landmarks.all().iter().map(|p| p.map(|v| (v * 100.0).round() / 100.0)).collect()
}
