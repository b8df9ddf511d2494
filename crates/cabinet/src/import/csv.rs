//! Clients from a table: CSV with comma, semicolon or tab and a line of headings, as spreadsheets write it.

use vocab::folded;

use super::text::text_of;
use super::{Reading, note};
use crate::clients::{Birth, Details, Hands};

/// Fields and the headings they go by, folded: English, German, French, Spanish, Italian.
const HEADINGS: &[(Field, &[&str])] = &[
    (Field::Name, &["name", "full name", "client", "display name", "fn", "nom complet", "nombre completo"]),
    (Field::Given, &["first name", "given name", "firstname", "forename", "vorname", "prenom", "nombre"]),
    (
        Field::Family,
        &["last name", "family name", "lastname", "surname", "nachname", "familienname", "nom", "apellidos", "cognome"],
    ),
    (
        Field::Birth,
        &[
            "birth",
            "birth date",
            "date of birth",
            "birthday",
            "birth year",
            "year of birth",
            "born",
            "geburtsdatum",
            "geburtstag",
            "geburtsjahr",
            "date de naissance",
            "fecha de nacimiento",
            "data di nascita",
        ],
    ),
    (Field::Language, &["language", "lang", "sprache", "langue", "idioma", "lingua"]),
    (
        Field::Email,
        &[
            "email",
            "e mail",
            "mail",
            "email address",
            "e mail address",
            "mail address",
            "e mail adresse",
            "courriel",
            "correo",
        ],
    ),
    (
        Field::Phone,
        &["phone", "telephone", "mobile", "mobile phone", "phone number", "telefon", "handy", "mobil", "telefono"],
    ),
    (Field::Address, &["address", "postal address", "adresse", "anschrift", "direccion", "indirizzo"]),
    (Field::Notes, &["notes", "note", "remarks", "comment", "notizen", "bemerkungen", "remarques", "notas"]),
    (Field::Hands, &["hands"]),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    Name,
    Given,
    Family,
    Birth,
    Language,
    Email,
    Phone,
    Address,
    Notes,
    Hands,
    /// Goes into the notes under its own heading.
    Other,
}

/// Reads a table of clients. Headings that are not known go into the notes with their values; a column is never dropped.
/// What the tool's own export wrote comes back as it was.
pub fn read_csv(bytes: &[u8]) -> Reading {
    let mut reading = Reading::default();
    let Some(text) = text_of(bytes, &mut reading) else { return reading };
    let Some(first) = text.lines().next().filter(|l| !l.trim().is_empty()) else {
        reading.left_out(0, "the file is empty, or its first line is: put the headings there, as in `name,email`", "");
        return reading;
    };
    let parted = [b',', b';', b'\t'].into_iter().max_by_key(|d| first.bytes().filter(|b| b == d).count());
    let delimiter = parted.unwrap_or(b',');
    let mut table =
        ::csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(text.as_bytes());
    let mut headings: Vec<(Field, String)> = Vec::new();
    let mut lines = Lines { text: &text, at: 0, line: 1 };
    for record in table.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let line = lines.of(error.position());
                reading.left_out(line, "this line is no row of a table: mend it and import it again", "");
                continue;
            }
        };
        let line = lines.of(record.position());
        if headings.is_empty() {
            headings = record.iter().map(|h| (field(h), h.trim().to_owned())).collect();
            let has = |f: Field| headings.iter().any(|(known, _)| *known == f);
            if !has(Field::Name) && !has(Field::Given) && !has(Field::Family) {
                let message =
                    "the first line has no heading `name`, `first name` or `last name`: name the columns there";
                reading.left_out(line, message, first);
                return reading;
            }
            continue;
        }
        if record.iter().all(|f| f.trim().is_empty()) {
            continue;
        }
        let raw = record.iter().collect::<Vec<_>>().join(char::from(delimiter).to_string().as_str());
        row(line, &headings, &record, &raw, &mut reading);
    }
    reading.sorted()
}

/// The line on which a record's first field stands. The reader's own count stands before the line end that it skips.
struct Lines<'t> {
    text: &'t str,
    at: usize,
    line: usize,
}

impl Lines<'_> {
    fn of(&mut self, position: Option<&::csv::Position>) -> usize {
        let bytes = self.text.as_bytes();
        let to = position.map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0));
        while self.at < bytes.len() && (self.at < to || matches!(bytes[self.at], b'\r' | b'\n')) {
            self.line += usize::from(bytes[self.at] == b'\n');
            self.at += 1;
        }
        self.line
    }
}

fn field(heading: &str) -> Field {
    let heading = folded(heading);
    HEADINGS.iter().find(|(_, names)| names.contains(&heading.as_str())).map_or(Field::Other, |(field, _)| *field)
}

fn row(line: usize, headings: &[(Field, String)], record: &::csv::StringRecord, raw: &str, reading: &mut Reading) {
    if record.len() > headings.len() {
        let message = format!(
            "this line has {} fields, the headings {}: put text with a comma, semicolon or line end into quotes, and \
             import the line again",
            record.len(),
            headings.len()
        );
        reading.left_out(line, message, raw);
        return;
    }
    let mut details = Details::default();
    let (mut given, mut family) = (String::new(), String::new());
    for ((field, heading), value) in headings.iter().zip(record) {
        let value = armed(value);
        if value.trim().is_empty() {
            continue;
        }
        match field {
            Field::Given => join(&mut given, value.trim(), " "),
            Field::Family => join(&mut family, value.trim(), " "),
            Field::Name if details.name.is_empty() => details.name = value.trim().to_owned(),
            Field::Language if details.language.is_empty() => details.language = value.trim().to_owned(),
            Field::Email => join(&mut details.email, value.trim(), ", "),
            Field::Phone => join(&mut details.phone, value.trim(), ", "),
            Field::Address => join(&mut details.address, value, "\n"),
            Field::Notes => join(&mut details.notes, value, "\n"),
            Field::Birth if details.birth.is_none() => match birth(value) {
                Some(birth) => details.birth = Some(birth),
                None => {
                    let message = "the day of birth is not understood (write YYYY-MM-DD, DD.MM.YYYY or a year): it was put into \
                                   the notes";
                    reading.otherwise(line, message, value);
                    note(&mut details, heading, value);
                }
            },
            Field::Hands => match folded(value).as_str() {
                "both" => details.hands = Hands::Both,
                "left" => details.hands = Hands::Left,
                "right" => details.hands = Hands::Right,
                _ => note(&mut details, heading, value),
            },
            _ => note(&mut details, heading, value),
        }
    }
    if details.name.is_empty() {
        details.name = [given, family].iter().filter(|p| !p.is_empty()).cloned().collect::<Vec<_>>().join(" ");
    } else {
        // A name is there already; its parts are kept if they say something else.
        for (heading, part) in [("first name", given), ("last name", family)] {
            if !part.is_empty() && !folded(&details.name).contains(&folded(&part)) {
                note(&mut details, heading, &part);
            }
        }
    }
    reading.take(line, details, raw);
}

/// The text that an export disarmed by an apostrophe before it.
fn armed(value: &str) -> &str {
    match value.strip_prefix('\'') {
        Some(rest) if crate::export::is_formula(rest) => rest,
        _ => value,
    }
}

fn join(to: &mut String, more: &str, between: &str) {
    if !to.is_empty() {
        to.push_str(between);
    }
    to.push_str(more);
}

/// A year, `YYYY-MM-DD`, or day and month as the continent writes them: `DD.MM.YYYY`. With slashes nobody can tell day from
/// month unless one is above 12.
pub fn birth(text: &str) -> Option<Birth> {
    let text = text.trim();
    if let Some(birth) = Birth::parse(text) {
        return Some(birth);
    }
    let (mark, parts): (char, Vec<&str>) =
        if text.contains('.') { ('.', text.split('.').collect()) } else { ('/', text.split('/').collect()) };
    let [a, b, year] = parts.as_slice() else { return None };
    let (a, b): (u8, u8) = (a.trim().parse().ok()?, b.trim().parse().ok()?);
    let (day, month) = match mark {
        '.' => (a, b),
        _ if a > 12 => (a, b),
        _ if b > 12 => (b, a),
        _ if a == b => (a, b),
        _ => return None,
    };
    let year = year.trim();
    (year.len() == 4).then(|| Birth::parse(&format!("{year}-{month:02}-{day:02}"))).flatten()
}
