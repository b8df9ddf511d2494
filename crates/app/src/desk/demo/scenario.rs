//! The scenario of the demo as it is written down: `demo/people.toml`, read once.

use cabinet::{Birth, Details, Hands};
use phantom::Setting;
use plan::atlas::{Atlas, ConcernIx, ConditionIx, ToolIx, ZoneIx};
use vocab::Finding;
use vocab::Side;
use vocab::read::{Document, Table};

/// Where the scenario is written.
const FILE: &str = "demo/people.toml";
const TEXT: &str = include_str!("../../../demo/people.toml");

/// The furthest day back, in days.
const SEASON: i64 = 120;

/// One of the twelve.
pub struct Invented {
    /// Name, birth and the rest.
    pub details: Details,
    /// Draws the face.
    pub seed: u64,
    /// Whose photographs are made first: 1.
    pub draw: i64,
    /// Known for so many days.
    pub since: i64,
    /// Whether no consent has been asked for yet.
    pub unasked: bool,
    /// Consent to photographs: given so many days ago, and taken back so many days ago.
    pub photographs: (Option<i64>, Option<i64>),
    /// Consent to publication: given so many days ago.
    pub publication: Option<i64>,
    /// What they come with, the first first.
    pub concerns: Vec<ConcernIx>,
    /// The minutes of the first routine and of the one today.
    pub minutes: [u32; 2],
    /// Tools at hand.
    pub tools: Vec<ToolIx>,
    /// Questions answered yes.
    pub yes: Vec<Yes>,
    /// Questions not answered yet.
    pub open: Vec<ConditionIx>,
    /// A warning sign that is there today: its place in the atlas, and the side.
    pub sign: Option<(usize, Side)>,
    /// The plan of weeks.
    pub weeks: Option<Weeks>,
    /// The home notes.
    pub home: Option<Home>,
    /// How they say they are in them.
    pub levels: Option<Levels>,
    /// Visits with photographs, oldest first.
    pub visits: Vec<Visit>,
    /// Sessions, oldest first.
    pub sessions: Vec<Session>,
    /// Notes and incidents.
    pub written: Vec<Written>,
}

/// A question answered yes.
pub struct Yes {
    /// Which.
    pub condition: ConditionIx,
    /// Where.
    pub places: Vec<ZoneIx>,
    /// A clinician's word: whose, said so many days ago, held until so many days ago.
    pub word: Option<(String, i64, i64)>,
}

/// A plan of weeks.
pub struct Weeks {
    /// Began so many days ago.
    pub ago: i64,
    /// For so many days.
    pub days: u16,
    /// When in the day.
    pub times: String,
    /// How often a week.
    pub week: i64,
    /// The level that decides, and on how many days before the first it is asked; none: a schedule alone.
    pub plan: Option<(&'static follow::Value, u8)>,
}

/// How they say they are, 0 to 10: relaxed, stress, well-being, sleep.
pub struct Levels {
    /// Before the weeks.
    pub from: [f64; 4],
    /// At their end.
    pub to: [f64; 4],
    /// By so much a session moves the first three.
    pub after: [f64; 3],
}

/// Home notes: every day but each `skip`-th.
pub struct Home {
    /// The first, days ago.
    pub from: i64,
    /// The last, days ago.
    pub until: i64,
    /// Every so many days there is none.
    pub skip: i64,
    /// What they say, in turn.
    pub words: Vec<String>,
}

/// A visit with photographs.
pub struct Visit {
    /// So many days ago.
    pub ago: i64,
    /// In which light, and its word.
    pub light: (Setting, &'static str),
    /// Brown, blue-red and relief under the eyes.
    pub under: [f64; 3],
    /// Whether the card lies in the picture.
    pub card: bool,
}

/// A session.
pub struct Session {
    /// So many days ago.
    pub ago: i64,
    /// Own words.
    pub words: String,
    /// Target, side and what was felt there.
    pub felt: Vec<[String; 3]>,
    /// Whether it ended before its end.
    pub stopped: bool,
}

/// A note.
pub struct Written {
    /// So many days ago.
    pub ago: i64,
    /// Whether it is an incident.
    pub incident: bool,
    /// What it says.
    pub words: String,
}

const LIGHTS: &[(&str, (Setting, &str))] = &[
    ("d65", (Setting::D65, "even daylight")),
    ("led", (Setting::Led, "a cool lamp before the face")),
    ("window", (Setting::Window, "a window before the face")),
];
const HANDS: &[(&str, Hands)] = &[("both", Hands::Both), ("left", Hands::Left), ("right", Hands::Right)];

/// Reads the scenario.
///
/// # Errors
/// Everything that is wrong in it.
pub fn read(atlas: &Atlas) -> Result<Vec<Invented>, Vec<Finding>> {
    let document = Document::parse(FILE, TEXT)?;
    let root = document.root();
    let people = root.tables("person").into_iter().map(|t| person(t, atlas)).collect();
    root.finish();
    let findings = document.into_findings();
    if findings.is_empty() { Ok(people) } else { Err(findings) }
}

fn person(t: Table<'_, '_>, atlas: &Atlas) -> Invented {
    let t = {
        let name = t.need_text("name").text;
        t.named(&name)
    };
    if t.need_text("source").text != "invented" {
        t.note("the source of everybody in the demo is \"invented\"");
    }
    let days = |key: &str| t.int(key, 0..=SEASON);
    let said = |key: &str| t.text(key).map(|w| w.text).unwrap_or_default();
    let born = t.need_text("born");
    let birth = Birth::parse(&born.text);
    if birth.is_none() {
        t.note("`born` is a year or a day");
    }
    let details = Details {
        name: said("name"),
        birth,
        language: said("language"),
        email: said("email"),
        phone: said("phone"),
        address: String::new(),
        notes: said("notes"),
        hands: t.choice("hands", HANDS).unwrap_or(Hands::Both),
    };
    let minutes: Vec<u32> = t.ints("minutes", 2..=60).iter().filter_map(|m| u32::try_from(*m).ok()).collect();
    let minutes = <[u32; 2]>::try_from(minutes).unwrap_or_else(|_| {
        t.note("`minutes` are two");
        [8; 2]
    });
    let person = Invented {
        details,
        seed: t.need_int("seed", 1..=9999).unsigned_abs(),
        draw: t.need_int("draw", 1..=12),
        since: t.need_int("since", 0..=SEASON),
        unasked: t.flag("unasked").unwrap_or(false),
        photographs: (days("photographs"), days("no_photographs")),
        publication: days("publication"),
        concerns: named(&t, "concerns", |w| atlas.concern_named(w)),
        minutes,
        tools: named(&t, "tools", |w| atlas.tool_named(w)),
        yes: t.tables("yes").into_iter().map(|t| yes(t, atlas)).collect(),
        open: named(&t, "open", |w| atlas.condition_named(w)),
        sign: t.text("sign").and_then(|w| {
            let found = w.text.split_once(' ').and_then(|(id, side)| {
                Some((atlas.warning_signs.iter().position(|s| s.id == id)?, Side::from_word(side)?))
            });
            if found.is_none() {
                t.note("`sign` is a warning sign and a side");
            }
            found
        }),
        weeks: t.table("weeks").map(|t| {
            let days = u16::try_from(t.need_int("days", 1..=366)).unwrap_or(1);
            let weeks = Weeks {
                ago: t.need_int("ago", 0..=SEASON),
                days,
                times: t.need_text("times").text,
                week: t.need_int("week", 1..=7),
                plan: t.text("value").and_then(|w| {
                    let value = follow::Value::named(&w.text).filter(|v| v.said);
                    if value.is_none() {
                        t.note("`value` is one of the four levels");
                    }
                    Some((value?, u8::try_from(t.need_int("baseline", 3..=14)).unwrap_or(3)))
                }),
            };
            t.finish();
            weeks
        }),
        home: t.table("home").map(|t| {
            let home = Home {
                from: t.need_int("from", 0..=SEASON),
                until: t.need_int("until", 0..=SEASON),
                skip: t.need_int("skip", 2..=30),
                words: t.words("words").into_iter().map(|w| w.text).collect(),
            };
            t.finish();
            home
        }),
        levels: t.table("levels").map(|t| {
            let numbers = |key: &str| -> Vec<f64> { t.ints(key, -10..=10).iter().map(|n| *n as f64).collect() };
            let (from, to, after) = (numbers("from"), numbers("to"), numbers("after"));
            let levels = match (from.try_into(), to.try_into(), after.try_into()) {
                (Ok(from), Ok(to), Ok(after)) => Levels { from, to, after },
                _ => {
                    t.note("`from` and `to` are four numbers, `after` are three");
                    Levels { from: [5.0; 4], to: [5.0; 4], after: [0.0; 3] }
                }
            };
            t.finish();
            levels
        }),
        visits: t.tables("visits").into_iter().map(visit).collect(),
        sessions: t.tables("sessions").into_iter().map(|t| session(t, atlas)).collect(),
        written: t
            .tables("written")
            .into_iter()
            .map(|t| {
                let written = Written {
                    ago: t.need_int("ago", 0..=SEASON),
                    incident: t.flag("incident").unwrap_or(false),
                    words: t.need_text("words").text,
                };
                t.finish();
                written
            })
            .collect(),
    };
    t.finish();
    person
}

fn named<T>(t: &Table<'_, '_>, key: &str, find: impl Fn(&str) -> Option<T>) -> Vec<T> {
    let words = t.words(key);
    let found: Vec<T> = words.iter().filter_map(|w| find(&w.text)).collect();
    if found.len() != words.len() {
        t.note(format!("`{key}` names what the atlas does not have"));
    }
    found
}

fn yes(t: Table<'_, '_>, atlas: &Atlas) -> Yes {
    let id = t.need_text("id");
    let condition = atlas.condition_named(&id.text).unwrap_or_else(|| {
        t.note(format!("the atlas has no question `{}`", id.text));
        ConditionIx(0)
    });
    let places = named(&t, "places", |w| atlas.zone_named(w));
    let word = t.table("word").map(|t| {
        let word = (t.need_text("who").text, t.need_int("ago", 0..=SEASON), t.need_int("until", 0..=SEASON));
        t.finish();
        word
    });
    t.finish();
    Yes { condition, places, word }
}

fn visit(t: Table<'_, '_>) -> Visit {
    let parts: Vec<f64> = t.ints("under", 0..=40).iter().map(|n| *n as f64 / 10.0).collect();
    let under = <[f64; 3]>::try_from(parts).unwrap_or_else(|_| {
        t.note("`under` is three numbers");
        [0.0; 3]
    });
    let visit = Visit {
        ago: t.need_int("ago", 0..=SEASON),
        light: t.need_choice("light", LIGHTS).unwrap_or((Setting::D65, "even daylight")),
        under,
        card: t.flag("card").unwrap_or(false),
    };
    t.finish();
    visit
}

fn session(t: Table<'_, '_>, atlas: &Atlas) -> Session {
    let felt = t.words("felt").into_iter().filter_map(|w| {
        let parts: Vec<String> = w.text.split(' ').map(str::to_owned).collect();
        let known = <[String; 3]>::try_from(parts).ok().filter(|[target, side, felt]| {
            atlas.target_named(target).is_some() && Side::from_word(side).is_some() && super::super::due::is_felt(felt)
        });
        if known.is_none() {
            t.note(format!("`{}` is no target, side and what was felt", w.text));
        }
        known
    });
    let felt = felt.collect();
    let session = Session {
        ago: t.need_int("ago", 0..=SEASON),
        words: t.text("words").map(|w| w.text).unwrap_or_default(),
        felt,
        stopped: t.flag("stopped").unwrap_or(false),
    };
    t.finish();
    session
}
