//! Clients from vCards, version 3 (RFC 2426) and 4 (RFC 6350): what telephones and address books send.
//!
//! Read are FN, N, BDAY, EMAIL, TEL, ADR, LANG and NOTE. Any other property with words in it goes into the notes under its
//! name; pictures and sounds are left out and said. Version 2.1 is read as far as it looks like version 3, and a value in
//! quoted-printable, which only 2.1 has, is decoded.

use super::text::text_of;
use super::{Reading, csv, note};
use crate::clients::{Birth, Details};

/// Properties that say nothing about the person.
const SILENT: [&str; 12] = [
    "VERSION",
    "PRODID",
    "REV",
    "UID",
    "KIND",
    "SORT-STRING",
    "CLASS",
    "CLIENTPIDMAP",
    "X-ABUID",
    "X-ABSHOWAS",
    "CALSCALE",
    "CHARSET",
];
/// Properties whose value is a picture, a sound or a key.
const BLOBS: [&str; 4] = ["PHOTO", "LOGO", "SOUND", "KEY"];

/// Reads the cards of a file.
pub fn read_vcards(bytes: &[u8]) -> Reading {
    let mut reading = Reading::default();
    let Some(text) = text_of(bytes, &mut reading) else { return reading };
    let mut card: Option<Card> = None;
    let mut seen = false;
    for (line, content) in unfolded(&text) {
        let Some(property) = Property::parse(&content) else {
            match &mut card {
                Some(card) => card.bad.push((line, content)),
                None => reading.left_out(line, "this line is no part of a vCard: look at it by hand", content),
            }
            continue;
        };
        let word = property.value.trim().to_ascii_uppercase();
        match (property.name.as_str(), word.as_str(), card.take()) {
            ("BEGIN", "VCARD", open) => {
                seen = true;
                if let Some(open) = open {
                    unended(open, &mut reading);
                }
                card = Some(Card { line, text: content, properties: Vec::new(), bad: Vec::new() });
            }
            ("END", "VCARD", Some(open)) => open.close(&mut reading),
            (_, _, Some(mut open)) => {
                open.text.push('\n');
                open.text.push_str(&content);
                open.properties.push((line, property));
                card = Some(open);
            }
            (_, _, None) => {
                reading.left_out(line, "this line stands outside of a vCard: look at it by hand", content);
            }
        }
    }
    if let Some(open) = card {
        unended(open, &mut reading);
    }
    if !seen && reading.problems.is_empty() {
        reading.left_out(0, "there is no vCard in this file: choose one that begins with BEGIN:VCARD", "");
    }
    reading.sorted()
}

fn unended(card: Card, reading: &mut Reading) {
    let message = "this card has no END:VCARD, so it may be cut short: export it again";
    reading.left_out(card.line, message, card.text);
}

/// Logical lines with the number of their first one: a line that begins with a blank continues the one before, and a line
/// in quoted-printable goes on after `=` at its end.
fn unfolded(text: &str) -> Vec<(usize, String)> {
    let mut lines: Vec<(usize, String)> = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let continued = line.strip_prefix([' ', '\t']);
        match (continued, lines.last_mut()) {
            (Some(rest), Some((_, last))) => last.push_str(rest),
            (_, Some((_, last))) if last.ends_with('=') && is_quoted_printable(last) => {
                last.pop();
                last.push_str(line);
            }
            _ if line.trim().is_empty() => {}
            _ => lines.push((number + 1, line.to_owned())),
        }
    }
    lines
}

fn is_quoted_printable(line: &str) -> bool {
    line.split(':').next().is_some_and(|head| head.to_ascii_uppercase().contains("QUOTED-PRINTABLE"))
}

struct Card {
    line: usize,
    text: String,
    properties: Vec<(usize, Property)>,
    bad: Vec<(usize, String)>,
}

struct Property {
    name: String,
    parameters: Vec<String>,
    value: String,
}

impl Property {
    /// `group.NAME;PARAMETER=x;PARAMETER="a:b":value`
    fn parse(line: &str) -> Option<Property> {
        let mut quoted = false;
        let colon = line.char_indices().find_map(|(at, c)| {
            quoted ^= c == '"';
            (c == ':' && !quoted).then_some(at)
        })?;
        let (head, value) = (&line[..colon], &line[colon + 1..]);
        let mut parts = Vec::from([String::new()]);
        quoted = false;
        for c in head.chars() {
            quoted ^= c == '"';
            match (c, quoted, parts.last_mut()) {
                (';', false, _) => parts.push(String::new()),
                (_, _, Some(last)) => last.push(c),
                _ => {}
            }
        }
        let name = parts.remove(0);
        let name = name.rsplit('.').next().unwrap_or_default().trim().to_ascii_uppercase();
        let fine = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_');
        fine.then(|| Property { name, parameters: parts, value: value.to_owned() })
    }

    fn is(&self, parameter: &str) -> bool {
        self.parameters.iter().any(|p| p.to_ascii_uppercase().contains(parameter))
    }

    /// The value without the folding of its transport; `None` if it can't be decoded.
    fn plain(&self) -> Option<String> {
        if !self.is("QUOTED-PRINTABLE") {
            return Some(self.value.clone());
        }
        let mut bytes = Vec::new();
        let mut rest = self.value.bytes();
        while let Some(b) = rest.next() {
            if b == b'=' {
                let digits = [rest.next()?, rest.next()?];
                bytes.push(u8::from_str_radix(std::str::from_utf8(&digits).ok()?, 16).ok()?);
            } else {
                bytes.push(b);
            }
        }
        String::from_utf8(bytes).ok()
    }
}

/// The parts of a structured value, each with its escapes taken out (RFC 6350, section 3.4).
fn parts(value: &str, between: char) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut escaped = false;
    for c in value.chars() {
        let Some(last) = parts.last_mut() else { break };
        match (escaped, c) {
            (true, 'n' | 'N') => last.push('\n'),
            (true, c) => last.push(c),
            (false, '\\') => {}
            (false, c) if c == between => parts.push(String::new()),
            (false, c) => last.push(c),
        }
        escaped = !escaped && c == '\\';
    }
    parts
}

/// A text value: one part, whatever stands in it.
fn text(value: &str) -> String {
    parts(value, '\u{0}').join("")
}

impl Card {
    fn close(self, reading: &mut Reading) {
        let mut details = Details::default();
        let (mut formatted, mut structured, mut organisation) = (String::new(), String::new(), String::new());
        for (line, content) in self.bad {
            reading.otherwise(
                line,
                "this line of a card is not understood: it was put into the notes",
                content.clone(),
            );
            note(&mut details, "not understood", &content);
        }
        for (line, property) in &self.properties {
            let Some(value) = property.plain() else {
                let message =
                    format!("the value of {} is not what it says it is: it was put into the notes", property.name);
                reading.otherwise(*line, message, property.value.clone());
                note(&mut details, &property.name, &property.value);
                continue;
            };
            if value.trim().trim_matches(';').is_empty() {
                continue;
            }
            match property.name.as_str() {
                "FN" if formatted.is_empty() => formatted = text(&value).trim().to_owned(),
                "N" if structured.is_empty() => structured = name_of(&value),
                "EMAIL" => join(&mut details.email, text(&value).trim(), ", "),
                "TEL" => join(&mut details.phone, text(&value).trim().trim_start_matches("tel:"), ", "),
                "ADR" => join(&mut details.address, &address_of(&value), "\n\n"),
                "NOTE" => join(&mut details.notes, &text(&value), "\n"),
                "LANG" if details.language.is_empty() => details.language = text(&value).trim().to_owned(),
                "BDAY" if details.birth.is_none() => match birth(&value) {
                    Some(birth) => details.birth = Some(birth),
                    None => {
                        let message = "the day of birth is not understood, or has no year: it was put into the notes";
                        reading.otherwise(*line, message, value.clone());
                        note(&mut details, "BDAY", &text(&value));
                    }
                },
                name if SILENT.contains(&name) => {}
                name if BLOBS.contains(&name) || property.is("ENCODING=B") || value.starts_with("data:") => {
                    let message = format!("{name} of a card is no text and was left out; keep the card if it matters");
                    reading.otherwise(*line, message, String::new());
                }
                name => {
                    if name == "ORG" {
                        organisation = parts(&value, ';').join(", ");
                    }
                    let shown = parts(&value, ';').iter().filter(|p| !p.is_empty()).cloned().collect::<Vec<_>>();
                    note(&mut details, name, &shown.join("; "));
                }
            }
        }
        details.name = [formatted, structured, organisation].into_iter().find(|n| !n.is_empty()).unwrap_or_default();
        reading.take(self.line, details, &self.text);
    }
}

/// `family;given;additional;prefixes;suffixes` as it is written in English: prefixes, given, additional, family, suffixes.
fn name_of(value: &str) -> String {
    let parts = parts(value, ';');
    let part = |n: usize| parts.get(n).map(|p| p.replace(',', " ")).unwrap_or_default();
    let name: Vec<String> = [3, 1, 2, 0, 4].into_iter().map(part).filter(|p| !p.trim().is_empty()).collect();
    name.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `box;extended;street;city;region;code;country`, a line for each that is there; code and city together.
fn address_of(value: &str) -> String {
    let parts = parts(value, ';');
    let part = |n: usize| parts.get(n).map(|p| p.trim().to_owned()).unwrap_or_default();
    let city = [part(5), part(3)].iter().filter(|p| !p.is_empty()).cloned().collect::<Vec<_>>().join(" ");
    let lines = [part(0), part(1), part(2), city, part(4), part(6)];
    lines.into_iter().filter(|l| !l.is_empty()).collect::<Vec<_>>().join("\n")
}

/// `19960415`, `1996-04-15`, either with a time after it, `1996`, or what a table writes.
fn birth(value: &str) -> Option<Birth> {
    let day = value.trim().split('T').next().unwrap_or_default();
    if day.len() == 8 && day.bytes().all(|b| b.is_ascii_digit()) {
        return Birth::parse(&format!("{}-{}-{}", &day[..4], &day[4..6], &day[6..]));
    }
    csv::birth(day)
}

fn join(to: &mut String, more: &str, between: &str) {
    if !to.is_empty() {
        to.push_str(between);
    }
    to.push_str(more);
}
