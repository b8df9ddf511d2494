//! The reader of home notes: strict, within bounds, and it says where something is wrong.
//!
//! It knows no catalogue and no atlas, so that the fuzzer can be given these very files. Two forms are read: the long one that a file
//! holds, and the short one of a QR picture (docs/home-note.md has both).

use vocab::{Date, Side};

use super::node::Node;

/// The most bytes of a note.
pub const MOST_BYTES: usize = 256 * 1024;
/// The most days in one note.
pub const MOST_DAYS: usize = 400;
/// The most sessions of one day.
pub const MOST_SESSIONS: usize = 12;
/// The most places that were felt in one session.
pub const MOST_FELT: usize = 64;
/// The most characters of own words.
pub const MOST_WORDS: usize = 1000;
/// The most seconds of one session.
pub const MOST_SECONDS: u32 = 7200;
/// The most characters of a code, a language or the id of a place.
pub const MOST_ID: usize = 64;

/// How a session ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// To its end.
    Whole,
    /// Earlier, by choice.
    Early,
    /// At a warning sign.
    Sign,
    /// Because of dizziness.
    Dizzy,
    /// Because something went numb.
    Numb,
}

impl Ended {
    /// Each with its word and its letter in the short form.
    pub const EACH: [(Ended, &'static str, &'static str); 5] = [
        (Ended::Whole, "whole", "w"),
        (Ended::Early, "early", "e"),
        (Ended::Sign, "sign", "s"),
        (Ended::Dizzy, "dizzy", "d"),
        (Ended::Numb, "numb", "n"),
    ];

    /// The word in files.
    pub fn word(self) -> &'static str {
        Ended::EACH.iter().find(|(e, ..)| *e == self).map_or("", |(_, word, _)| word)
    }
}

/// What can be felt at a place, by its word and its letters in the short form.
pub const FELT: [(&str, &str); 7] = [
    ("easy", "ea"),
    ("tender", "te"),
    ("tight", "ti"),
    ("red", "re"),
    ("painful", "pa"),
    ("dizzy", "di"),
    ("numb", "nu"),
];

/// The sides in the short form.
const SIDES: [(Side, &str); 4] = [(Side::Left, "l"), (Side::Right, "r"), (Side::Midline, "m"), (Side::Both, "b")];

/// What had to be left out of a QR picture.
pub const LEFT_OUT: [(&str, &str); 3] = [("words", "w"), ("felt", "f"), ("days", "d")];

/// What was felt at one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Felt {
    /// The id of the target.
    pub target: String,
    /// The side.
    pub side: Side,
    /// The word, one of [`FELT`].
    pub felt: &'static str,
}

/// One session at home.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// Hour and minute of the phone's clock.
    pub at: (u8, u8),
    /// Seconds worked.
    pub seconds: u32,
    /// How it ended.
    pub ended: Ended,
    /// What was felt where.
    pub felt: Vec<Felt>,
    /// Relaxed, stress of the day, well-being, last night's sleep before it, 0 to 10.
    pub before: [Option<u8>; 4],
    /// Relaxed, stress, well-being after it, 0 to 10.
    pub after: [Option<u8>; 3],
    /// Own words.
    pub words: String,
}

/// One day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Day {
    /// The day of the phone's calendar.
    pub day: Date,
    /// Its sessions.
    pub sessions: Vec<Session>,
}

/// A note, read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HomeNote {
    /// The code of the take-home that it comes from.
    pub code: String,
    /// The day on which it was made.
    pub made: Date,
    /// The language of the take-home.
    pub language: String,
    /// Its days, each once.
    pub days: Vec<Day>,
    /// What had no room in a QR picture, the words of [`LEFT_OUT`].
    pub left_out: Vec<&'static str>,
}

/// Where in a note.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// The field.
    pub field: &'static str,
    /// Which day, counted from 1.
    pub day: Option<usize>,
    /// Which session of it, counted from 1.
    pub session: Option<usize>,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// More than [`MOST_BYTES`].
    TooLong,
    /// It is no JSON; at this line and column, and the same name twice counts as such.
    NoJson(usize, usize),
    /// It is JSON, but no home note.
    NoNote,
    /// A version that is not known here.
    Version(String),
    /// A field is not there.
    Missing,
    /// A field that the format does not have.
    Unknown(String),
    /// Something else was expected there.
    Kind,
    /// A number beyond its bounds.
    Range(u32, u32),
    /// A word that is none of those known; these are.
    Word(String, &'static str),
    /// No day of the calendar, or none as `2026-03-02`.
    NoDay,
    /// No time as `21:30`.
    NoTime,
    /// More entries or characters than this.
    TooMany(usize),
    /// The same day twice.
    Twice(Date),
    /// A day later than the note itself.
    Later(Date),
    /// There is no day in it.
    Empty,
}

/// Why a note can't be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Where.
    pub place: Place,
    /// What.
    pub why: Why,
}

type Read<T> = Result<T, Wrong>;

impl Place {
    fn field(&self, field: &'static str) -> Place {
        Place { field, ..self.clone() }
    }

    fn wrong<T>(&self, why: Why) -> Read<T> {
        Err(Wrong { place: self.clone(), why })
    }
}

/// Reads a note in either form.
///
/// # Errors
/// The first thing that is wrong, and where.
pub fn read(text: &str) -> Result<HomeNote, Wrong> {
    let top = Place::default();
    if text.len() > MOST_BYTES {
        return top.wrong(Why::TooLong);
    }
    let text = text.trim_start_matches('\u{feff}').trim();
    let node: Node = match serde_json::from_str(text) {
        Ok(node) => node,
        Err(e) => return top.wrong(Why::NoJson(e.line(), e.column())),
    };
    let Node::Map(fields) = &node else { return top.wrong(Why::NoNote) };
    match fields.iter().find(|(k, _)| k == "tragion").map(|(_, v)| v) {
        Some(Node::Text(kind)) if kind == "home-note" => long(&Fields { all: fields, place: top }),
        Some(Node::Text(kind)) if kind == "hn" => short(&Fields { all: fields, place: top }),
        _ => top.wrong(Why::NoNote),
    }
}

/// The fields of an object, and where it stands.
struct Fields<'n> {
    all: &'n [(String, Node)],
    place: Place,
}

impl<'n> Fields<'n> {
    fn of(node: &'n Node, place: Place) -> Read<Fields<'n>> {
        match node {
            Node::Map(all) => Ok(Fields { all, place }),
            _ => place.wrong(Why::Kind),
        }
    }

    fn only(&self, known: &[&str]) -> Read<()> {
        match self.all.iter().find(|(k, _)| !known.contains(&k.as_str())) {
            Some((k, _)) => self.place.wrong(Why::Unknown(k.chars().take(MOST_ID).collect())),
            None => Ok(()),
        }
    }

    fn maybe(&self, name: &'static str) -> Option<&'n Node> {
        self.all.iter().find(|(k, _)| k == name).map(|(_, v)| v)
    }

    fn get(&self, name: &'static str) -> Read<(&'n Node, Place)> {
        let place = self.place.field(name);
        match self.maybe(name) {
            Some(node) => Ok((node, place)),
            None => place.wrong(Why::Missing),
        }
    }
}

fn known_version(fields: &Fields<'_>) -> Read<()> {
    let (node, place) = fields.get("version")?;
    match node {
        Node::Number(1) => Ok(()),
        Node::Number(other) => place.wrong(Why::Version(other.to_string())),
        _ => place.wrong(Why::Kind),
    }
}

fn long(top: &Fields<'_>) -> Read<HomeNote> {
    known_version(top)?;
    top.only(&["tragion", "version", "code", "made", "language", "days", "left_out"])?;
    let head = Head::read(top, ["code", "made", "language", "days"])?;
    let mut days = Vec::new();
    for (i, node) in head.days.iter().enumerate() {
        let place = Place { field: "day", day: Some(i + 1), session: None };
        let fields = Fields::of(node, place.clone())?;
        fields.only(&["day", "sessions"])?;
        let day = day(fields.get("day")?.0, &place)?;
        let (sessions, at) = fields.get("sessions")?;
        days.push(Day { day, sessions: each(sessions, &at, MOST_SESSIONS, |n, i| long_session(n, &at, i))? });
    }
    let left_out = match top.maybe("left_out") {
        None => Vec::new(),
        Some(node) => left_out(node, &top.place.field("left_out"), |(word, _)| word)?,
    };
    head.note(days, left_out)
}

fn long_session(node: &Node, at: &Place, i: usize) -> Read<Session> {
    let place = Place { field: "session", session: Some(i + 1), ..at.clone() };
    let fields = Fields::of(node, place.clone())?;
    fields.only(&["at", "seconds", "ended", "felt", "before", "after", "words"])?;
    let (ended, place_of_it) = fields.get("ended")?;
    let row = |place: &Place, node: Option<&Node>, f: &'static str| {
        let place = place.field(f);
        match node {
            None | Some(Node::Null) => Ok(Vec::new()),
            Some(node) => each(node, &place, MOST_FELT, |n, _| one_felt(n, &place, Side::from_word, |(word, _)| word)),
        }
    };
    Ok(Session {
        at: time(fields.get("at")?.0, &place.field("at"))?,
        seconds: number(fields.get("seconds")?.0, &place.field("seconds"), 0, MOST_SECONDS)?,
        ended: choice(ended, &place_of_it, &Ended::EACH.map(|(e, word, _)| (e, word)), ENDED_WORDS)?,
        felt: row(&place, fields.maybe("felt"), "felt")?,
        before: levels(fields.maybe("before"), &place.field("before"))?,
        after: levels(fields.maybe("after"), &place.field("after"))?,
        words: words(fields.maybe("words"), &place.field("words"))?,
    })
}

fn short(top: &Fields<'_>) -> Read<HomeNote> {
    known_version(top)?;
    top.only(&["tragion", "version", "c", "m", "l", "d", "o"])?;
    let head = Head::read(top, ["c", "m", "l", "d"])?;
    let mut days = Vec::new();
    for (i, node) in head.days.iter().enumerate() {
        let place = Place { field: "day", day: Some(i + 1), session: None };
        let Node::List(parts) = node else { return place.wrong(Why::Kind) };
        let [on, sessions] = parts.as_slice() else { return place.wrong(Why::Kind) };
        let at = place.field("sessions");
        let sessions = each(sessions, &at, MOST_SESSIONS, |n, i| short_session(n, &at, i))?;
        days.push(Day { day: day(on, &place)?, sessions });
    }
    let left_out = match top.maybe("o") {
        None => Vec::new(),
        Some(node) => left_out(node, &top.place.field("left_out"), |(_, letter)| letter)?,
    };
    head.note(days, left_out)
}

fn short_session(node: &Node, at: &Place, i: usize) -> Read<Session> {
    let place = Place { field: "session", session: Some(i + 1), ..at.clone() };
    let Node::List(parts) = node else { return place.wrong(Why::Kind) };
    if !(3..=7).contains(&parts.len()) {
        return place.wrong(Why::Kind);
    }
    // Nought stands for nothing: it is shorter than the word.
    let part = |i: usize| parts.get(i).filter(|node| **node != Node::Number(0));
    let felt_at = place.field("felt");
    let side = |s: &str| SIDES.iter().find(|(_, letter)| *letter == s).map(|(side, _)| *side);
    Ok(Session {
        at: time(&parts[0], &place.field("at"))?,
        seconds: number(&parts[1], &place.field("seconds"), 0, MOST_SECONDS)?,
        ended: choice(&parts[2], &place.field("ended"), &Ended::EACH.map(|(e, _, l)| (e, l)), ENDED_LETTERS)?,
        felt: match part(3) {
            None | Some(Node::Null) => Vec::new(),
            Some(node) => each(node, &felt_at, MOST_FELT, |n, _| one_felt(n, &felt_at, side, |(_, letters)| letters))?,
        },
        before: levels(part(4), &place.field("before"))?,
        after: levels(part(5), &place.field("after"))?,
        words: words(part(6), &place.field("words"))?,
    })
}

const ENDED_WORDS: &str = "whole, early, sign, dizzy, numb";
const ENDED_LETTERS: &str = "w, e, s, d, n";
const SIDE_WORDS: &str = "left, right, midline, both";
const FELT_WORDS: &str = "easy, tender, tight, red, painful, dizzy, numb";
const LEFT_OUT_WORDS: &str = "words, felt, days";

/// What both forms begin with.
struct Head<'n> {
    code: String,
    made: Date,
    language: String,
    days: &'n [Node],
    place: Place,
}

impl<'n> Head<'n> {
    fn read(top: &Fields<'n>, [code, made, language, days]: [&'static str; 4]) -> Read<Head<'n>> {
        let plain = |name: &'static str, shown: &'static str, extra: &str| {
            let place = top.place.field(shown);
            match top.maybe(name) {
                None => place.wrong(Why::Missing),
                Some(Node::Text(text)) => id(text, &place, extra),
                Some(_) => place.wrong(Why::Kind),
            }
        };
        let place = top.place.field("days");
        let list = match top.maybe(days) {
            None => return place.wrong(Why::Missing),
            Some(Node::List(list)) => list.as_slice(),
            Some(_) => return place.wrong(Why::Kind),
        };
        if list.is_empty() {
            return place.wrong(Why::Empty);
        }
        if list.len() > MOST_DAYS {
            return place.wrong(Why::TooMany(MOST_DAYS));
        }
        let made_at = top.place.field("made");
        let made = match top.maybe(made) {
            None => return made_at.wrong(Why::Missing),
            Some(node) => day(node, &made_at)?,
        };
        let (code, language) = (plain(code, "code", "-")?, plain(language, "language", "-")?);
        Ok(Head { code, made, language, days: list, place: top.place.clone() })
    }

    fn note(self, days: Vec<Day>, left_out: Vec<&'static str>) -> Read<HomeNote> {
        for (i, day) in days.iter().enumerate() {
            let place = Place { field: "day", day: Some(i + 1), ..self.place.clone() };
            if days[..i].iter().any(|d| d.day == day.day) {
                return place.wrong(Why::Twice(day.day));
            }
            // Who travels westward may write on the day before.
            if day.day.days_since(self.made) > 1 {
                return place.wrong(Why::Later(day.day));
            }
        }
        Ok(HomeNote { code: self.code, made: self.made, language: self.language, days, left_out })
    }
}

fn id(text: &str, place: &Place, extra: &str) -> Read<String> {
    if text.is_empty() || text.len() > MOST_ID {
        return place.wrong(Why::TooMany(MOST_ID));
    }
    if !text.chars().all(|c| c.is_ascii_alphanumeric() || extra.contains(c)) {
        return place.wrong(Why::Kind);
    }
    Ok(text.to_owned())
}

fn each<T>(node: &Node, place: &Place, most: usize, mut one: impl FnMut(&Node, usize) -> Read<T>) -> Read<Vec<T>> {
    let Node::List(list) = node else { return place.wrong(Why::Kind) };
    if list.len() > most {
        return place.wrong(Why::TooMany(most));
    }
    list.iter().enumerate().map(|(i, node)| one(node, i)).collect()
}

fn number(node: &Node, place: &Place, least: u32, most: u32) -> Read<u32> {
    match node {
        Node::Number(n) => match u32::try_from(*n) {
            Ok(n) if (least..=most).contains(&n) => Ok(n),
            _ => place.wrong(Why::Range(least, most)),
        },
        _ => place.wrong(Why::Kind),
    }
}

fn choice<T: Copy>(node: &Node, place: &Place, known: &[(T, &str)], all: &'static str) -> Read<T> {
    let Node::Text(word) = node else { return place.wrong(Why::Kind) };
    match known.iter().find(|(_, k)| k == word) {
        Some((value, _)) => Ok(*value),
        None => place.wrong(Why::Word(word.chars().take(MOST_ID).collect(), all)),
    }
}

fn one_felt(
    node: &Node,
    place: &Place,
    side: impl Fn(&str) -> Option<Side>,
    form: impl Fn((&'static str, &'static str)) -> &'static str,
) -> Read<Felt> {
    let Node::List(parts) = node else { return place.wrong(Why::Kind) };
    let [Node::Text(target), Node::Text(on), felt] = parts.as_slice() else { return place.wrong(Why::Kind) };
    let target = id(target, place, "-_.")?;
    let Some(side) = side(on) else {
        return place.wrong(Why::Word(on.chars().take(MOST_ID).collect(), SIDE_WORDS));
    };
    let felt = choice(felt, place, &FELT.map(|f| (f.0, form(f))), FELT_WORDS)?;
    Ok(Felt { target, side, felt })
}

fn left_out(
    node: &Node,
    place: &Place,
    form: impl Fn((&'static str, &'static str)) -> &'static str,
) -> Read<Vec<&'static str>> {
    each(node, place, LEFT_OUT.len(), |n, _| choice(n, place, &LEFT_OUT.map(|l| (l.0, form(l))), LEFT_OUT_WORDS))
}

fn levels<const N: usize>(node: Option<&Node>, place: &Place) -> Read<[Option<u8>; N]> {
    let mut said = [None; N];
    let list = match node {
        None | Some(Node::Null) => return Ok(said),
        Some(Node::List(list)) if list.len() == N => list,
        Some(_) => return place.wrong(Why::Kind),
    };
    for (slot, node) in said.iter_mut().zip(list) {
        if *node != Node::Null {
            *slot = Some(number(node, place, 0, 10)? as u8);
        }
    }
    Ok(said)
}

fn words(node: Option<&Node>, place: &Place) -> Read<String> {
    match node {
        None | Some(Node::Null) => Ok(String::new()),
        Some(Node::Text(text)) if text.chars().count() > MOST_WORDS => place.wrong(Why::TooMany(MOST_WORDS)),
        // What is shown and printed holds no control characters but line ends.
        Some(Node::Text(text)) => Ok(text.chars().filter(|c| *c == '\n' || !c.is_control()).collect()),
        Some(_) => place.wrong(Why::Kind),
    }
}

fn day(node: &Node, place: &Place) -> Read<Date> {
    let Node::Text(text) = node else { return place.wrong(Why::Kind) };
    // A phone whose clock was never set begins in 1970 or 2000.
    let real = Date::parse(text).filter(|d| Date::new(2020, 1, 1).is_some_and(|first| *d >= first));
    real.map_or_else(|| place.wrong(Why::NoDay), Ok)
}

fn time(node: &Node, place: &Place) -> Read<(u8, u8)> {
    let Node::Text(text) = node else { return place.wrong(Why::Kind) };
    let digits =
        text.len() == 5 && text.bytes().enumerate().all(|(i, b)| if i == 2 { b == b':' } else { b.is_ascii_digit() });
    let two = |at: usize| text.get(at..at + 2).and_then(|t| t.parse::<u8>().ok());
    match (digits, two(0), two(3)) {
        (true, Some(h), Some(m)) if h < 24 && m < 60 => Ok((h, m)),
        _ => place.wrong(Why::NoTime),
    }
}
