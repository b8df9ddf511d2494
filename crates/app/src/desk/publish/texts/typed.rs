//! What the form of a text holds, and what is wrong with it.

use axum::extract::multipart::MultipartRejection;
use axum::extract::{FromRequest, Multipart, Request};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::Response;
use cabinet::{Json, NewText, PublicText};
use publish::claims::{Claim, check};
use publish::timed::{Format, MOST_BYTES, Spoken, decode, read};
use vocab::Finding;

use super::super::standing::Standing;
use super::consent::Named;
use super::kept::known;
use crate::catalogue::{fill, text};
use crate::desk::clients::form;
use crate::desk::map_routes::up_to;
use crate::desk::page;
use crate::desk::reply::html as answer_html;

/// The most letters of a text: some five hours of captions.
pub const MOST_LETTERS: usize = 400_000;
/// The same as people write it.
pub fn most() -> String {
    format!("{},000", MOST_LETTERS / 1000)
}

/// The most letters of what a text is called.
const LONGEST_TITLE: usize = 120;
/// So many letters of a text without a name stand for one.
const USUAL_TITLE: usize = 60;

/// What a text is, by its word in the form and in the store.
pub const KINDS: [(&str, &str); 7] = [
    ("title", "texts.kind_title"),
    ("thumbnail", "texts.kind_thumbnail"),
    ("description", "texts.kind_description"),
    ("comment", "texts.kind_comment"),
    ("script", "texts.kind_script"),
    ("post", "texts.kind_post"),
    ("captions", "texts.kind_captions"),
];

/// What a kind is called.
pub fn kind_name(kind: &str) -> &'static str {
    text(KINDS.iter().find(|(word, _)| *word == kind).map_or("texts.kind_other", |(_, key)| key))
}

/// The form.
#[derive(Clone, Debug, Default)]
pub struct Typed {
    /// What it is called in the list; may be empty.
    pub title: String,
    /// One of [`KINDS`].
    pub kind: String,
    /// The name of the file that the text came in; empty: it was typed.
    pub file: String,
    /// The words, line ends as `\n`.
    pub body: String,
    /// The countries ticked.
    pub countries: Vec<String>,
}

/// A form as it was sent.
#[derive(Default)]
pub struct Sent {
    fields: Vec<(String, String)>,
    /// A file: its name and its bytes.
    pub file: Option<(String, Vec<u8>)>,
    /// The file was larger than is taken.
    pub too_large: bool,
}

impl Sent {
    /// Reads a form, in parts or not.
    ///
    /// # Errors
    /// The page that says it can't be read.
    pub async fn read(request: Request) -> Result<Sent, Response> {
        let media = request.headers().get(CONTENT_TYPE).and_then(|m| m.to_str().ok()).unwrap_or_default();
        if !media.starts_with("multipart/form-data") {
            let body = form(request).await?;
            let fields = form_urlencoded::parse(&body).map(|(n, v)| (n.into_owned(), v.into_owned())).collect();
            return Ok(Sent { fields, ..Sent::default() });
        }
        let unreadable = |status| answer_html(status, page::unreadable());
        let parts: Result<Multipart, MultipartRejection> = Multipart::from_request(request, &()).await;
        let mut parts = parts.map_err(|_| unreadable(StatusCode::UNSUPPORTED_MEDIA_TYPE))?;
        let mut sent = Sent::default();
        loop {
            let field = parts.next_field().await.map_err(|_| unreadable(StatusCode::BAD_REQUEST))?;
            let Some(field) = field else { return Ok(sent) };
            let name = field.name().unwrap_or_default().to_owned();
            let file = field.file_name().map(str::to_owned);
            let taken = up_to(field, MOST_BYTES).await;
            let (bytes, whole) = taken.ok_or_else(|| unreadable(StatusCode::BAD_REQUEST))?;
            match file {
                Some(file) if !file.is_empty() || !bytes.is_empty() => {
                    sent.too_large |= !whole;
                    sent.file = Some((file, bytes));
                }
                Some(_) => {}
                None => sent.fields.push((name, String::from_utf8_lossy(&bytes).into_owned())),
            }
        }
    }

    /// The value of a field; empty where it is missing.
    pub fn of(&self, name: &str) -> &str {
        self.fields.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    /// All values of a field, in order.
    pub fn all(&self, name: &str) -> Vec<&str> {
        self.fields.iter().filter(|(n, _)| n == name).map(|(_, v)| v.as_str()).collect()
    }

    /// Whether a file was chosen in a form that carries no files.
    pub fn only_named(&self) -> bool {
        self.file.is_none() && !self.of("file").trim().is_empty()
    }
}

impl Typed {
    /// An empty form for all countries.
    pub fn blank(standing: &Standing) -> Typed {
        Typed { kind: "description".into(), countries: standing.codes(), ..Typed::default() }
    }

    /// From what was sent; kinds and countries that are none are passed over.
    pub fn read(sent: &Sent, standing: &Standing) -> Typed {
        let codes = standing.codes();
        let ticked: Vec<&str> = sent.fields.iter().filter(|(n, _)| n == "country").map(|(_, v)| v.as_str()).collect();
        Typed {
            title: sent.of("title").split_whitespace().collect::<Vec<_>>().join(" "),
            kind: KINDS.iter().find(|(word, _)| *word == sent.of("kind")).map_or("description", |(w, _)| w).to_owned(),
            file: sent.of("from").trim().to_owned(),
            body: lines_as_here(sent.of("body")),
            countries: codes.into_iter().filter(|c| ticked.contains(&c.as_str())).collect(),
        }
    }

    /// As it was kept.
    pub fn kept(kept: &PublicText, standing: &Standing) -> Typed {
        Typed {
            title: kept.title.clone(),
            kind: kept.kind.clone(),
            file: kept.file.clone(),
            body: kept.body.clone(),
            countries: known(&kept.countries, standing),
        }
    }

    /// Takes a file in the place of the words.
    ///
    /// # Errors
    /// What is wrong with it, and what to do; the words are as they were.
    pub fn bring(&mut self, name: &str, bytes: &[u8]) -> Result<(), Vec<String>> {
        let brought = decode(name, bytes).map_err(|all| all.iter().map(said).collect::<Vec<_>>())?;
        let body = lines_as_here(brought.trim_start_matches('\u{feff}'));
        let spoken = read(name, &body).map_err(|all| all.iter().map(said).collect::<Vec<_>>())?;
        if spoken.format != Format::Text {
            self.kind = "captions".into();
        }
        // The last part of a path: some browsers send all of it.
        let short = name.rsplit(['/', '\\']).next().unwrap_or_default();
        self.file = short.chars().filter(|c| !c.is_control()).take(LONGEST_TITLE).collect();
        self.body = body;
        Ok(())
    }

    /// What it is called: what was typed, or its first words.
    pub fn named(&self) -> String {
        let first = || {
            let words = read(&self.file, &self.body).ok().and_then(|s| s.pieces.first().map(|p| p.text.clone()));
            let words = words.unwrap_or_default();
            let short: String = words.chars().take(USUAL_TITLE).collect();
            let whole = short.len() == words.len();
            if whole {
                short
            } else {
                format!("{}…", short.rsplit_once(' ').map_or(short.as_str(), |(most, _)| most))
            }
        };
        Some(self.title.clone()).filter(|t| !t.is_empty()).unwrap_or_else(first)
    }

    /// The text to keep.
    pub fn to_keep<'t>(&'t self, title: &'t str, rules: &'t str, findings: &'t Json) -> NewText<'t> {
        let Typed { kind, file, body, countries, .. } = self;
        NewText { title, kind, file, body, countries, rules, findings }
    }
}

/// What a check came to.
pub struct Looked {
    /// As it was read.
    pub spoken: Spoken,
    /// What was found.
    pub claims: Vec<Claim>,
    /// Clients whose names stand in it.
    pub named: Vec<Named>,
}

/// Checks what was typed.
///
/// # Errors
/// What is wrong with it, and what to do.
pub fn look(typed: &Typed, standing: &Standing) -> Result<Looked, Vec<String>> {
    let letters = typed.body.chars().count();
    let title = typed.title.chars().count();
    let mut wrong = Vec::new();
    if title > LONGEST_TITLE {
        wrong.push(fill("texts.title_too_long", &[("n", &title), ("most", &LONGEST_TITLE)]));
    }
    if typed.countries.is_empty() {
        wrong.push(text("texts.no_country").to_owned());
    }
    if typed.body.trim().is_empty() {
        wrong.push(text("texts.empty").to_owned());
    } else if letters > MOST_LETTERS {
        wrong.push(fill("texts.too_long", &[("n", &letters), ("most", &most())]));
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let spoken = read(&typed.file, &typed.body).map_err(|all| all.iter().map(said).collect::<Vec<_>>())?;
    let claims = check(&standing.rules, &spoken, &typed.countries);
    Ok(Looked { spoken, claims, named: Vec::new() })
}

/// A finding of the reader as a sentence with its line.
pub fn said(finding: &Finding) -> String {
    let message = crate::catalogue::sentence_case(&finding.message);
    let message = crate::catalogue::full_stop(&message);
    if finding.line == 0 { message } else { fill("texts.at_line", &[("line", &finding.line), ("said", &message)]) }
}

/// Line ends as pages of this program have them.
fn lines_as_here(text: &str) -> String {
    text.replace("\r\n", "\n").replace('\r', "\n")
}
