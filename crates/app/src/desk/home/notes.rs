//! Home notes come in: as files, pictures of the QR, pasted text; for one client, or for as many as their codes name.

use std::sync::Arc;

use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{DefaultBodyLimit, Multipart, Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{ClientId, Error, Reader};
use maud::{Markup, html};
use vision::Limits;
use vocab::Date;

use super::look::{self, Looked, State as Kept};
use crate::catalogue::{fill, seconds, text};
use crate::desk::clients::form;
use crate::desk::keep::{self, answer, date_in_words};
use crate::desk::map_routes::{ok, up_to};
use crate::desk::page::{self, Here};
use crate::desk::reply::html as answer_html;
use crate::desk::visitor::token;
use crate::desk::{Desk, fields};
use crate::notes::{self, HomeNote};

/// So many files are taken at once.
const MOST_FILES: usize = 24;
/// So many bytes come in at once.
const MOST_SENT: usize = 96 * 1024 * 1024;

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    let most = DefaultBodyLimit::max(MOST_SENT);
    Router::new()
        .route("/notes-home", get(ask_all).post(take_all).layer(most))
        .route("/notes-home/keep", post(keep_all).get(ask_all))
        .route("/clients/{id}/notes-home", get(ask_one).post(take_one).layer(most))
        .route("/clients/{id}/notes-home/keep", post(keep_one).get(ask_one))
}

/// What came in: its name, and what it is.
struct Came {
    name: String,
    read: Result<HomeNote, String>,
}

/// Looked at.
struct Seen {
    name: String,
    looked: Result<(HomeNote, Looked), String>,
}

/// The client at whose page it is; none: at the page for all.
struct At {
    client: Option<(ClientId, String)>,
}

impl At {
    fn read(r: &Reader<'_>, client: Option<ClientId>) -> Result<At, Error> {
        let client = match client {
            Some(id) => {
                let name = r.client(id)?.details.name;
                r.require(id, cabinet::ConsentKind::Care)?;
                Some((id, name))
            }
            None => None,
        };
        Ok(At { client })
    }

    fn id(&self) -> Option<ClientId> {
        self.client.as_ref().map(|(id, _)| *id)
    }

    fn address(&self) -> String {
        self.id().map_or_else(|| "/notes-home".to_owned(), |id| format!("/clients/{id}/notes-home"))
    }

    fn here(&self) -> Here {
        if self.client.is_some() { Here::Clients } else { Here::Due }
    }

    fn title(&self) -> String {
        match &self.client {
            Some((_, name)) => fill("homenotes.title_of", &[("name", name)]),
            None => text("homenotes.title").to_owned(),
        }
    }

    fn back(&self) -> Markup {
        html! {
            @match self.id() {
                Some(id) => p { a href={ "/clients/" (id) "#home" } { (text("client.to")) } },
                None => p { a href="/due" { (text("rail.due")) } },
            }
        }
    }
}

async fn ask_all(State(desk): Shared) -> Response {
    ask(desk, None).await
}

async fn ask_one(State(desk): Shared, Path(id): Path<i64>) -> Response {
    ask(desk, Some(ClientId::from_number(id))).await
}

async fn ask(desk: Arc<Desk>, client: Option<ClientId>) -> Response {
    answer(desk, move |_, cabinet| {
        let at = cabinet.read(|r| At::read(r, client))?;
        Ok(ok(asked(&at, None, "")))
    })
    .await
}

/// The page that asks for notes; `wrong`: what came was none, `typed`: the text that was pasted.
fn asked(at: &At, wrong: Option<&str>, typed: &str) -> Markup {
    let lead = if at.client.is_some() { "homenotes.lead_of" } else { "homenotes.lead" };
    let main = html! {
        div.narrow {
            h1 { (at.title()) }
            p.lead { (text(lead)) }
            (fields::wrong(wrong))
            form.home-form method="post" action=(at.address()) enctype="multipart/form-data" {
                (token())
                div.field {
                    label for="note" { (text("homenotes.files")) }
                    input #note type="file" name="note" multiple accept=".json,application/json,image/*" aria-describedby="note-hint";
                    p.hint #note-hint { (fill("homenotes.files_hint", &[("most", &MOST_FILES)])) }
                }
                (fields::lines("text", text("homenotes.pasted"), typed, 5, Some(text("homenotes.pasted_hint"))))
                div.act { button.go type="submit" { (text("homenotes.look")) } }
            }
            p.hint { (text("homenotes.looked_first")) }
            (at.back())
        }
    };
    page::whole(at.here(), &at.title(), main)
}

async fn take_all(State(desk): Shared, sent: Result<Multipart, MultipartRejection>) -> Response {
    take(desk, None, sent).await
}

async fn take_one(State(desk): Shared, Path(id): Path<i64>, sent: Result<Multipart, MultipartRejection>) -> Response {
    take(desk, Some(ClientId::from_number(id)), sent).await
}

/// Everything that was sent: files by name, and the text.
async fn receive(mut sent: Multipart) -> Option<(Vec<(String, Result<Vec<u8>, String>)>, String)> {
    let (mut files, mut typed) = (Vec::new(), String::new());
    let most = Limits::default().most_bytes;
    while let Some(field) = sent.next_field().await.ok()? {
        match field.name().unwrap_or_default() {
            "note" => {
                let name = field.file_name().unwrap_or_default().to_owned();
                let name: String = name
                    .rsplit(['/', '\\'])
                    .next()
                    .unwrap_or_default()
                    .chars()
                    .filter(|c| !c.is_control())
                    .take(80)
                    .collect();
                let (bytes, whole) = up_to(field, if files.len() >= MOST_FILES { 0 } else { most }).await?;
                if !(name.is_empty() && bytes.is_empty() && whole) {
                    let too_large = || fill("photo.too_many_bytes", &[("most", &(most / 1_000_000))]);
                    files.push((name, if whole { Ok(bytes) } else { Err(too_large()) }));
                }
            }
            "text" => {
                let (bytes, whole) = up_to(field, notes::MOST_BYTES).await?;
                if whole {
                    typed = String::from_utf8_lossy(&bytes).into_owned();
                } else {
                    let too_long = fill("homenote.too_long", &[("most", &(notes::MOST_BYTES / 1024))]);
                    files.push((text("homenotes.the_text").to_owned(), Err(too_long)));
                }
            }
            _ => {
                up_to(field, 64).await?;
            }
        }
    }
    Some((files, typed))
}

async fn take(desk: Arc<Desk>, client: Option<ClientId>, sent: Result<Multipart, MultipartRejection>) -> Response {
    let unreadable = |status| answer_html(status, page::unreadable());
    let Ok(sent) = sent else { return unreadable(StatusCode::UNSUPPORTED_MEDIA_TYPE) };
    let Some((files, typed)) = receive(sent).await else { return unreadable(StatusCode::BAD_REQUEST) };
    answer(desk, move |_, cabinet| {
        let at = cabinet.read(|r| At::read(r, client))?;
        let mut came: Vec<Came> = Vec::new();
        let too_many = files.len() > MOST_FILES;
        for (name, bytes) in files.into_iter().take(MOST_FILES) {
            let read = bytes.and_then(|bytes| notes::from_bytes(&bytes));
            came.push(Came { name, read });
        }
        if !typed.trim().is_empty() {
            came.push(Came { name: text("homenotes.the_text").to_owned(), read: notes::from_text(&typed) });
        }
        if came.is_empty() {
            return Ok(keep::again(asked(&at, Some(text("homenotes.choose_first")), &typed)));
        }
        // One alone that can't be used: the form stands there again with what was pasted.
        if let [Came { name, read: Err(why) }] = came.as_slice() {
            let why = fill("homenotes.refused", &[("name", name), ("why", why)]);
            return Ok(keep::again(asked(&at, Some(&why), &typed)));
        }
        let seen = cabinet.read(|r| looked_at(r, &at, came))?;
        if let [Seen { name, looked: Err(why) }] = seen.as_slice() {
            let why = fill("homenotes.refused", &[("name", name), ("why", why)]);
            return Ok(keep::again(asked(&at, Some(&why), &typed)));
        }
        Ok(ok(shown(&at, &seen, too_many)))
    })
    .await
}

fn looked_at(r: &Reader<'_>, at: &At, came: Vec<Came>) -> Result<Vec<Seen>, Error> {
    let mut seen: Vec<Seen> = Vec::new();
    for Came { name, read } in came {
        let looked = match read {
            Err(why) => Err(why),
            Ok(note) => {
                let twice = seen.iter().any(|s| s.looked.as_ref().is_ok_and(|(known, _)| *known == note));
                if twice {
                    Err(text("homenotes.twice").to_owned())
                } else {
                    look::look(r, &note, at.id())?.map(|looked| (note, looked))
                }
            }
        };
        seen.push(Seen { name, looked });
    }
    Ok(seen)
}

/// What came in, before any of it is kept.
fn shown(at: &At, seen: &[Seen], too_many: bool) -> Markup {
    let good: Vec<(usize, &HomeNote, &Looked)> = seen
        .iter()
        .enumerate()
        .filter_map(|(i, s)| s.looked.as_ref().ok().map(|(note, looked)| (i, note, looked)))
        .collect();
    let something = good.iter().any(|(_, _, l)| l.days.iter().any(|(_, state)| *state != Kept::Same));
    let main = html! {
        div.narrow {
            h1 { (at.title()) }
            @if too_many { div.missing role="alert" { p { (fill("homenotes.too_many", &[("most", &MOST_FILES)])) } } }
            @for bad in seen.iter().filter(|s| s.looked.is_err()) {
                @if let Err(why) = &bad.looked {
                    div.missing role="alert" { p { (fill("homenotes.refused", &[("name", &bad.name), ("why", why)])) } }
                }
            }
            @if !good.is_empty() {
                form method="post" action={ (at.address()) "/keep" } {
                    (token())
                    @for (i, note, looked) in &good { (one(*i, &seen[*i].name, note, looked)) }
                    @if something { div.act { button.go type="submit" { (text("homenotes.keep")) } } }
                    @else { p.said { (text("homenotes.nothing_new")) } }
                }
            }
            p { a href=(at.address()) { (text("homenotes.others")) } }
            (at.back())
        }
    };
    page::whole(at.here(), &at.title(), main)
}

/// One note: whose, and its days.
fn one(i: usize, name: &str, note: &HomeNote, looked: &Looked) -> Markup {
    html! {
        section.home-note aria-labelledby={ "note-" (i) } {
            h2 #{ "note-" (i) } { (looked.name) }
            p.hint { (fill("homenotes.from", &[("name", &name), ("code", &note.code), ("made", &date_in_words(note.made))])) }
            @for left in &note.left_out { p.gently { (notes::left_out_words(left)) } }
            // The whole note travels along, so that nothing lies about in between.
            input type="hidden" name="note" value=(note.json());
            @if !looked.sure {
                div.gently {
                    p { (fill("homenotes.unsure", &[("code", &note.code), ("name", &looked.name)])) }
                    label.choice for={ "theirs-" (i) } {
                        input #{ "theirs-" (i) } type="checkbox" name="theirs" value=(note.code);
                        span { (fill("homenotes.theirs", &[("name", &looked.name)])) }
                    }
                }
            }
            ul.home-days {
                @for (day, state) in &looked.days {
                    li {
                        p {
                            strong { (date_in_words(day.day)) } ": "
                            (fill("homenotes.sessions", &[("n", &day.sessions.len()), ("length", &seconds(day.sessions.iter().map(|s| s.seconds).sum()))]))
                            " · " (look::state_words(state))
                        }
                        @if let Kept::Differs { more, .. } = state {
                            @let id = format!("replace-{i}-{}", day.day);
                            label.choice for=(id) {
                                input #(id) type="checkbox" name="replace" value={ (looked.client) " " (day.day) } checked[*more];
                                span { (text("homenotes.replace")) span.unseen { ", " (date_in_words(day.day)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

async fn keep_all(State(desk): Shared, request: Request) -> Response {
    keep_these(desk, None, request).await
}

async fn keep_one(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    keep_these(desk, Some(ClientId::from_number(id)), request).await
}

async fn keep_these(desk: Arc<Desk>, client: Option<ClientId>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let at = cabinet.read(|r| At::read(r, client))?;
        let fields: Vec<(String, String)> = form_urlencoded::parse(&form).into_owned().collect();
        let all = |name: &str| fields.iter().filter(|(n, _)| n == name).map(|(_, v)| v.as_str()).collect::<Vec<_>>();
        let (theirs, replace) = (all("theirs"), all("replace"));
        let came: Vec<Came> = all("note")
            .into_iter()
            .take(MOST_FILES + 1)
            .map(|text| Came { name: String::new(), read: notes::from_text(text) })
            .collect();
        if came.is_empty() {
            return Ok(keep::again(asked(&at, Some(text("homenotes.choose_first")), "")));
        }
        // Looked at and kept in one transaction: what changed in between is seen.
        let told = cabinet.write(keep::now(desk), |w| {
            let mut told: Vec<Result<String, String>> = Vec::new();
            for seen in looked_at(w, &at, came)? {
                told.push(match seen.looked {
                    Err(why) => Err(why),
                    Ok((note, looked)) if !looked.sure && !theirs.contains(&note.code.as_str()) => {
                        Err(fill("homenotes.say_whose", &[("code", &note.code), ("name", &looked.name)]))
                    }
                    Ok((_, looked)) => {
                        let days: Vec<Date> = replace
                            .iter()
                            .filter_map(|r| r.split_once(' '))
                            .filter(|(id, _)| id.parse() == Ok(looked.client.number()))
                            .filter_map(|(_, day)| Date::parse(day))
                            .collect();
                        Ok(look::told(&looked.name, look::keep(w, &looked, &days)?))
                    }
                });
            }
            Ok(told)
        })?;
        let status = if told.iter().any(Result::is_err) { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
        let main = html! {
            div.narrow {
                h1 { (at.title()) }
                @for said in &told {
                    @match said {
                        Ok(said) => p.said role="status" { (said) },
                        Err(why) => div.missing role="alert" { p { (why) } },
                    }
                }
                p { a.button.go href=(at.address()) { (text("homenotes.others")) } }
                (at.back())
            }
        };
        Ok(answer_html(status, page::whole(at.here(), &at.title(), main)))
    })
    .await
}
