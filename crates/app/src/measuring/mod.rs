//! From a photograph to its measurement: what was asked, the card, the networks, and what `measure` makes of them.

pub mod card;
pub mod figures;
mod lit;
pub mod many;
pub mod overlay;
pub mod visit;
pub mod words;

pub use lit::Lit;

use colour::Tone;
use face::{Hands, Landmarks, Signature};
use measure::{Measured, Options, SideMeasured};
use vision::{Care, Finder, Found, Note, Photograph, Quad, View};
use vocab::Side;

use crate::catalogue::{fill, text};
use crate::own::{self, Refused};
use card::{Asked, Used};

/// How photographs are to be measured.
#[derive(Clone, Debug)]
pub struct Told {
    /// Which card to look for.
    pub card: Asked,
    /// The person's skin class.
    pub tone: Option<Tone>,
    /// The shape of the same person's first photograph.
    pub first: Option<Signature>,
    /// Whether the photographs are mirror images.
    pub mirrored: bool,
    /// What was set right by hand, in pixels of the upright picture as it is shown.
    pub hands: Hands,
    /// Whether values are wanted although a gate failed; see [`Options::past_gates`].
    pub past_gates: bool,
}

impl Default for Told {
    fn default() -> Told {
        Told { card: Asked::Auto, tone: None, first: None, mirrored: false, hands: Hands::default(), past_gates: false }
    }
}

/// Where a skin class came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToneFrom {
    /// It was said.
    Told,
    /// The card's colours gave it.
    Card,
    /// It was guessed from the photograph's own colours.
    Guessed,
}

/// A photograph, measured, with all that an answer or a page says of it. The photograph itself is not held.
#[derive(Clone, Debug)]
pub struct Taken {
    /// Width and height of the upright picture, pixels.
    pub picture: [u32; 2],
    /// Whether it was said to be mirrored; everything else is then in the unmirrored picture.
    pub mirrored: bool,
    /// How many faces it shows.
    pub faces: usize,
    /// The landmarks, corrected.
    pub landmarks: Landmarks,
    /// The values.
    pub measured: Measured,
    /// Where the skin class came from.
    pub tone_from: ToneFrom,
    /// The card's patches, of whatever kind, whether or not they could be used.
    pub patches: Vec<Quad>,
    /// What the numbers of the file were read by.
    pub profile: String,
    /// Whether that was assumed.
    pub profile_assumed: bool,
    /// What to mind, in words.
    pub warnings: Vec<String>,
}

impl Taken {
    /// Own right and own left; none where the photograph is refused, unless values past its gates were asked for.
    pub fn sides(&self) -> Option<&[SideMeasured; 2]> {
        self.measured.sides.as_ref()
    }
}

/// Reads and measures one file.
pub fn measure_file(bytes: &[u8], finder: &Finder, told: &Told) -> Result<Taken, Refused> {
    let photo = own::photograph(bytes)?;
    let photo = if told.mirrored { own::turned_over(photo) } else { photo };
    // Of 16-bit pictures this is a copy: it goes before the next is made.
    let found = finder.find(&view(&photo)?.view(), Care::PHOTOGRAPH);
    let found =
        found.map_err(|e| Refused(if e.is_no_face() { text("map.no_face").to_owned() } else { e.to_string() }))?;
    measure_photo(&photo, &found, told)
}

/// Between the outer corners of the eyes of the canonical face, mm: near enough to know how large a card would be.
const EYES_MM: f64 = 89.0;

/// Measures a photograph in which a face was found; of a mirrored one, the unmirrored picture.
pub fn measure_photo(photo: &Photograph, found: &Found, told: &Told) -> Result<Taken, Refused> {
    if photo.notes.contains(&Note::Cmyk) {
        return Err(Refused(text("measure.inks").to_owned()));
    }
    let lit = Lit::new(photo);
    let held = view(photo)?;
    let view = held.view();
    let hands = if told.mirrored { own::over(&told.hands, f64::from(photo.width)) } else { told.hands.clone() };
    let landmarks = face::corrected(&found.landmarks, &hands.landmarks);
    let Used { card, patches, mut warnings } =
        card::used(photo, &view, landmarks.eye_distance() / EYES_MM, lit.space(), told)?;
    let with_card = card.is_some();
    let options = Options {
        card,
        tone: told.tone,
        first: told.first.clone(),
        lids_by_hand: [Side::Right, Side::Left].map(|side| {
            let lid = face::region::lower_lid(side);
            hands.landmarks.iter().any(|(n, _)| lid[1..8].contains(n))
        }),
        past_gates: told.past_gates,
        chroma_step: photo.chroma_step.unwrap_or(0.0),
    };
    let measured = measure::measure(&lit, &view, &landmarks, &options).map_err(|_| unmeasurable(told))?;
    if found.faces > 1 {
        warnings.push(fill("measure.several", &[("faces", &found.faces)]));
    }
    warnings.extend(lit.space().note().map(str::to_owned));
    if lit.assumed() && photo.icc.is_some() && own::notes(photo).is_empty() {
        warnings.push(text("photo.note_icc").to_owned());
    }
    warnings.extend(own::notes(photo));
    warnings.extend(words::warnings(&measured));
    let tone_from = match (told.tone, with_card) {
        (Some(_), _) => ToneFrom::Told,
        (None, true) => ToneFrom::Card,
        (None, false) => ToneFrom::Guessed,
    };
    Ok(Taken {
        picture: [photo.width, photo.height],
        mirrored: told.mirrored,
        faces: found.faces,
        landmarks,
        measured,
        tone_from,
        patches,
        profile: lit.space().name().to_owned(),
        profile_assumed: lit.assumed(),
        warnings,
    })
}

fn unmeasurable(told: &Told) -> Refused {
    let by_hand = !told.hands.landmarks.is_empty();
    Refused(if by_hand {
        text("map.hands_no_face").to_owned()
    } else {
        fill("map.profile", &[("most", &face::PROFILE)])
    })
}

/// A photograph's 8-bit pixels for as long as they are looked at.
struct Held<'a> {
    width: usize,
    height: usize,
    rgb: std::borrow::Cow<'a, [u8]>,
}

impl Held<'_> {
    fn view(&self) -> View<'_> {
        View { width: self.width, height: self.height, rgb: &self.rgb }
    }
}

/// The pixels of a photograph as the networks look at them.
fn view(photo: &Photograph) -> Result<Held<'_>, Refused> {
    let held = Held { width: photo.width as usize, height: photo.height as usize, rgb: photo.rgb8() };
    let whole = View::new(held.width, held.height, &held.rgb).is_some();
    if whole { Ok(held) } else { Err(Refused(text("photo.broken").to_owned())) }
}
