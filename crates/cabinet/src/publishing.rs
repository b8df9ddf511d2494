//! What is published: texts with what a check found in them, films made of a routine, a practice's own rules.
//!
//! None of them points at a client, and an erasure leaves them: who names a client in a text takes the name out by hand.

use rusqlite::Row;

use crate::access::{Done, Reader, Writer, time};
use crate::error::{Error, ErrorKind};
use crate::id::{FilmId, OwnRulesId, RoutineId, TextId, VersionId};
use crate::text::{Json, Toml, bounded, quiet, said};
use crate::time::Time;

quiet!(PublicText, NewText<'t>, Film, NewFilm<'f>, OwnRules);

/// A text that is to be public, as it was kept.
#[derive(Clone, PartialEq, Eq)]
pub struct PublicText {
    /// Its number.
    pub id: TextId,
    /// What it is called in the list; never empty.
    pub title: String,
    /// What it is: a title, a description, captions; a word of the caller's.
    pub kind: String,
    /// The name of the file it came in; empty: it was typed.
    pub file: String,
    /// Its words, as they were typed or brought.
    pub body: String,
    /// The countries it was checked for, by code, in the caller's order.
    pub countries: Vec<String>,
    /// When it was kept first.
    pub made: Time,
    /// When its words, its kind or its countries were kept last.
    pub changed: Time,
    /// The sum of the rules it was checked with last.
    pub rules: String,
    /// When it was checked last.
    pub checked: Time,
    /// What was found.
    pub findings: Json,
    /// What was found before the rules changed, until somebody has looked at the difference.
    pub before: Option<Json>,
}

/// A text to keep.
#[derive(Clone, Copy)]
pub struct NewText<'t> {
    /// What it is called in the list; not empty.
    pub title: &'t str,
    /// What it is; not empty.
    pub kind: &'t str,
    /// The name of the file it came in; empty: it was typed.
    pub file: &'t str,
    /// Its words; not empty.
    pub body: &'t str,
    /// Codes of countries; no commas in them.
    pub countries: &'t [String],
    /// The sum of the rules it was checked with.
    pub rules: &'t str,
    /// What was found.
    pub findings: &'t Json,
}

/// A film made of a version of a routine that belongs to no client.
#[derive(Clone, PartialEq, Eq)]
pub struct Film {
    /// Its number.
    pub id: FilmId,
    /// Of which routine.
    pub routine: RoutineId,
    /// Of which of its versions.
    pub version: VersionId,
    /// Its name.
    pub name: String,
    /// The language that is spoken, a tag of BCP 47.
    pub language: String,
    /// When it was made.
    pub made: Time,
    /// When it was changed last.
    pub changed: Time,
    /// Options and tapped times.
    pub body: Json,
}

/// A film to keep.
#[derive(Clone, Copy)]
pub struct NewFilm<'f> {
    /// Of which version of a routine.
    pub version: VersionId,
    /// Its name; not empty.
    pub name: &'f str,
    /// The language that is spoken, a tag of BCP 47.
    pub language: &'f str,
    /// Options and tapped times.
    pub body: &'f Json,
}

/// Rules of the practice's own, beside those that ship: a country, words.
#[derive(Clone, PartialEq, Eq)]
pub struct OwnRules {
    /// Their number; they hold in this order.
    pub id: OwnRulesId,
    /// What they are called.
    pub name: String,
    /// When they were made.
    pub made: Time,
    /// When they were changed last.
    pub changed: Time,
    /// As the check reads them.
    pub body: Toml,
}

const TEXT: &str =
    "SELECT id, title, kind, file, body, countries, made, changed, rules, checked, findings, before FROM texts";
const FILM: &str = "SELECT f.id, v.routine, f.version, f.name, f.language, f.made, f.changed, f.body FROM films f \
                    JOIN routine_versions v ON v.id = f.version";
const OWN: &str = "SELECT id, name, made, changed, body FROM own_rules";

fn text(row: &Row<'_>) -> rusqlite::Result<PublicText> {
    let countries: String = row.get(5)?;
    Ok(PublicText {
        id: row.get(0)?,
        title: row.get(1)?,
        kind: row.get(2)?,
        file: row.get(3)?,
        body: row.get(4)?,
        countries: countries.split(',').filter(|c| !c.is_empty()).map(str::to_owned).collect(),
        made: time(row, 6)?,
        changed: time(row, 7)?,
        rules: row.get(8)?,
        checked: time(row, 9)?,
        findings: Json::kept(row.get(10)?),
        before: row.get::<_, Option<String>>(11)?.map(Json::kept),
    })
}

fn film(row: &Row<'_>) -> rusqlite::Result<Film> {
    Ok(Film {
        id: row.get(0)?,
        routine: row.get(1)?,
        version: row.get(2)?,
        name: row.get(3)?,
        language: row.get(4)?,
        made: time(row, 5)?,
        changed: time(row, 6)?,
        body: Json::kept(row.get(7)?),
    })
}

fn own(row: &Row<'_>) -> rusqlite::Result<OwnRules> {
    let body = Toml::kept(row.get(4)?);
    Ok(OwnRules { id: row.get(0)?, name: row.get(1)?, made: time(row, 2)?, changed: time(row, 3)?, body })
}

impl Reader<'_> {
    /// All texts, the latest change first.
    ///
    /// # Errors
    /// Of the store.
    pub fn texts(&self) -> Result<Vec<PublicText>, Error> {
        self.all(&format!("{TEXT} ORDER BY changed DESC, id DESC"), [], text)
    }

    /// A text.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn text(&self, id: TextId) -> Result<PublicText, Error> {
        self.first(&format!("{TEXT} WHERE id = ?1"), [id], text)?
            .ok_or_else(|| ErrorKind::NoSuch(TextId::WORD, id.0).into())
    }

    /// All films, the latest change first.
    ///
    /// # Errors
    /// Of the store.
    pub fn films(&self) -> Result<Vec<Film>, Error> {
        self.all(&format!("{FILM} ORDER BY f.changed DESC, f.id DESC"), [], film)
    }

    /// The films of a routine, the latest change first.
    ///
    /// # Errors
    /// Of the store.
    pub fn films_of(&self, routine: RoutineId) -> Result<Vec<Film>, Error> {
        self.all(&format!("{FILM} WHERE v.routine = ?1 ORDER BY f.changed DESC, f.id DESC"), [routine], film)
    }

    /// A film.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn film(&self, id: FilmId) -> Result<Film, Error> {
        self.first(&format!("{FILM} WHERE f.id = ?1"), [id], film)?
            .ok_or_else(|| ErrorKind::NoSuch(FilmId::WORD, id.0).into())
    }

    /// The practice's own rules, in the order in which they hold.
    ///
    /// # Errors
    /// Of the store.
    pub fn own_rules(&self) -> Result<Vec<OwnRules>, Error> {
        self.all(&format!("{OWN} ORDER BY id"), [], own)
    }

    /// One file of the practice's own rules.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn own_rule(&self, id: OwnRulesId) -> Result<OwnRules, Error> {
        self.first(&format!("{OWN} WHERE id = ?1"), [id], own)?
            .ok_or_else(|| ErrorKind::NoSuch(OwnRulesId::WORD, id.0).into())
    }
}

/// The codes as a column holds them; refuses what could not be read back.
fn joined(countries: &[String]) -> Result<String, Error> {
    if countries.iter().any(|c| c.is_empty() || c.contains(',')) {
        return Err(Error::bad("country's code", "it is empty or holds a comma"));
    }
    let all = countries.join(",");
    bounded("list of countries", &all).map(|()| all)
}

impl NewText<'_> {
    fn must_be_said(&self) -> Result<String, Error> {
        said("text's title", self.title)?;
        said("kind of text", self.kind)?;
        bounded("name of a file", self.file)?;
        said("text", self.body)?;
        bounded("sum of the rules", self.rules)?;
        joined(self.countries)
    }
}

impl Writer<'_> {
    /// Keeps a text that was just checked.
    ///
    /// # Errors
    /// Title, kind or words are empty or too long; a country's code is empty or holds a comma.
    pub fn add_text(&self, new: &NewText<'_>) -> Result<TextId, Error> {
        let countries = new.must_be_said()?;
        let sql = "INSERT INTO texts (title, kind, file, body, countries, made, changed, rules, checked, findings) \
                   VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?6, ?7, ?6, ?8)";
        let now = self.now().unix();
        let row = (new.title, new.kind, new.file, new.body, countries, now, new.rules, new.findings.as_str());
        self.add(TextId::WORD, None, sql, row).map(TextId)
    }

    /// Replaces a text by its new state, just checked. What was found before the rules changed is told no longer: somebody has
    /// looked at it.
    ///
    /// # Errors
    /// As [`Writer::add_text`]; there is no such text.
    pub fn change_text(&self, id: TextId, new: &NewText<'_>) -> Result<(), Error> {
        let countries = new.must_be_said()?;
        self.must_have("texts", TextId::WORD, id.0)?;
        let sql = "UPDATE texts SET title = ?2, kind = ?3, file = ?4, body = ?5, countries = ?6, changed = ?7, rules = ?8, \
                   checked = ?7, findings = ?9, before = NULL WHERE id = ?1";
        let now = self.now().unix();
        let row = (id, new.title, new.kind, new.file, new.body, countries, now, new.rules, new.findings.as_str());
        self.run(sql, row)?;
        self.log(Done::Changed, TextId::WORD, Some(id.0), None)
    }

    /// A text was checked again because the rules are others now. What was found before is kept beside it until
    /// [`Writer::seen_text`]; where the rules changed twice meanwhile, what was found before the first time. Where nothing
    /// differs there is nothing to look at.
    ///
    /// # Errors
    /// There is no such text.
    pub fn recheck_text(&self, id: TextId, rules: &str, findings: &Json) -> Result<(), Error> {
        bounded("sum of the rules", rules)?;
        self.must_have("texts", TextId::WORD, id.0)?;
        let sql = "UPDATE texts SET rules = ?2, checked = ?3, before = nullif(coalesce(before, findings), ?4), findings = ?4 \
                   WHERE id = ?1";
        self.run(sql, (id, rules, self.now().unix(), findings.as_str()))?;
        self.log(Done::Changed, TextId::WORD, Some(id.0), None)
    }

    /// Somebody has looked at what changed with the rules.
    ///
    /// # Errors
    /// There is no such text.
    pub fn seen_text(&self, id: TextId) -> Result<(), Error> {
        self.must_have("texts", TextId::WORD, id.0)?;
        self.run("UPDATE texts SET before = NULL WHERE id = ?1", [id])?;
        self.log(Done::Changed, TextId::WORD, Some(id.0), None)
    }

    /// Takes out a text.
    ///
    /// # Errors
    /// There is no such text.
    pub fn remove_text(&self, id: TextId) -> Result<(), Error> {
        self.remove("texts", TextId::WORD, id.0, None)
    }

    /// Keeps a film.
    ///
    /// # Errors
    /// The name is empty; there is no such version, or its routine belongs to a client.
    pub fn add_film(&self, new: &NewFilm<'_>) -> Result<FilmId, Error> {
        self.must_be_a_film(new)?;
        let sql = "INSERT INTO films (version, name, language, made, changed, body) VALUES (?1, ?2, ?3, ?4, ?4, ?5)";
        let row = (new.version, new.name, new.language, self.now().unix(), new.body.as_str());
        self.add(FilmId::WORD, None, sql, row).map(FilmId)
    }

    /// Replaces a film by its new state.
    ///
    /// # Errors
    /// As [`Writer::add_film`]; there is no such film.
    pub fn change_film(&self, id: FilmId, new: &NewFilm<'_>) -> Result<(), Error> {
        self.must_be_a_film(new)?;
        self.must_have("films", FilmId::WORD, id.0)?;
        let sql = "UPDATE films SET version = ?2, name = ?3, language = ?4, changed = ?5, body = ?6 WHERE id = ?1";
        self.run(sql, (id, new.version, new.name, new.language, self.now().unix(), new.body.as_str()))?;
        self.log(Done::Changed, FilmId::WORD, Some(id.0), None)
    }

    fn must_be_a_film(&self, new: &NewFilm<'_>) -> Result<(), Error> {
        said("film's name", new.name)?;
        said("film's language", new.language)?;
        self.must_be_theirs(new.version, None)
    }

    /// Takes out a film.
    ///
    /// # Errors
    /// There is no such film.
    pub fn remove_film(&self, id: FilmId) -> Result<(), Error> {
        self.remove("films", FilmId::WORD, id.0, None)
    }

    /// Keeps rules of the practice's own; whether the check reads them is the caller's to know.
    ///
    /// # Errors
    /// The name is empty.
    pub fn add_own_rules(&self, name: &str, body: &Toml) -> Result<OwnRulesId, Error> {
        said("name of the rules", name)?;
        let sql = "INSERT INTO own_rules (name, made, changed, body) VALUES (?1, ?2, ?2, ?3)";
        self.add(OwnRulesId::WORD, None, sql, (name, self.now().unix(), body.as_str())).map(OwnRulesId)
    }

    /// Replaces rules of the practice's own.
    ///
    /// # Errors
    /// The name is empty; there are no such rules.
    pub fn change_own_rules(&self, id: OwnRulesId, name: &str, body: &Toml) -> Result<(), Error> {
        said("name of the rules", name)?;
        self.must_have("own_rules", OwnRulesId::WORD, id.0)?;
        let sql = "UPDATE own_rules SET name = ?2, changed = ?3, body = ?4 WHERE id = ?1";
        self.run(sql, (id, name, self.now().unix(), body.as_str()))?;
        self.log(Done::Changed, OwnRulesId::WORD, Some(id.0), None)
    }

    /// Takes out rules of the practice's own.
    ///
    /// # Errors
    /// There are no such rules.
    pub fn remove_own_rules(&self, id: OwnRulesId) -> Result<(), Error> {
        self.remove("own_rules", OwnRulesId::WORD, id.0, None)
    }
}
