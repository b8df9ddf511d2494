//! A take-home made at the desk: of a kept routine, for its client or for many, through the one gate.

use std::io::Write;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::extract::{Path, Request, State};
use axum::http::header::{self, HeaderValue};
use axum::response::Response;
use axum::routing::get;
use cabinet::{Cabinet, ClientId, ConsentKind, Error, Reader, RoutineId, Version};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use press::Paper;
use vocab::Date;
use zip::write::SimpleFileOptions;

use super::schedule::Schedule;
use crate::catalogue::{Language, atlas_in, fill, text};
use crate::desk::clients::{form, said};
use crate::desk::editor::page::Whose;
use crate::desk::editor::runnable::{Refused, Runnable};
use crate::desk::editor::{self, chosen, ready};
use crate::desk::fields::{choice, wrong};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, value};
use crate::desk::page::{Here, whole};
use crate::desk::person::Person;
use crate::desk::visitor::token;
use crate::desk::{Desk, visits};
use crate::takehome::page::{self as home_page, More};
use crate::takehome::{self, Given};

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/routines/{id}/takehome", get(show).post(make))
}

/// A routine as it may be given to take home today, and to whom.
struct Chosen {
    kept: cabinet::Routine,
    version: Version,
    file: RoutineFile,
    whose: Whose,
    person: Option<Person>,
    /// Whether there is a consent to photographs.
    photographs: bool,
    /// At which hour their first visit with one was, if it was written down.
    hour: Option<String>,
}

/// The hour of the earliest visit that tells one: `21:30`.
fn first_hour(r: &Reader<'_>, client: ClientId) -> Result<Option<String>, Error> {
    let hour = |visit: &cabinet::Visit| {
        let told: serde_json::Value = serde_json::from_str(visit.conditions.as_str()).ok()?;
        let hour = told.get("hour")?.as_str()?;
        takehome::calendar::At::parse(hour).map(|at| at.to_string())
    };
    Ok(r.visits(client)?.iter().find_map(hour))
}

/// Reads the routine; where it can't be given, the page that says why.
fn read(
    r: &Reader<'_>,
    atlas: &Atlas,
    id: RoutineId,
    asked: &[u8],
    today: Date,
) -> Result<Result<Chosen, Markup>, Error> {
    let kept = r.routine(id)?;
    let client: Option<ClientId> = said(asked, "client").parse().ok().map(ClientId::from_number);
    if kept.client.is_some() && client.is_some() && client != kept.client {
        return Err(cabinet::ErrorKind::NotTheirs.into());
    }
    let number: Option<u32> = said(asked, "version").parse().ok();
    let version = chosen(r, id, number)?;
    let (whose, person) = editor::whose(r, atlas, kept.client.or(client), today)?;
    let photographs = match &whose.client {
        Some((id, _)) => r.consents_to(*id, ConsentKind::Photographs)?,
        None => false,
    };
    let file = version.as_ref().and_then(|v| editor::read(atlas, v));
    let (Some(version), Some(file)) = (version, file) else {
        return Ok(Err(ready::refused(atlas, &kept, &whose, None)));
    };
    let hour = match &whose.client {
        Some((client, _)) if photographs => first_hour(r, *client)?,
        _ => None,
    };
    Ok(Ok(Chosen { kept, version, file, whose, person, photographs, hour }))
}

impl Chosen {
    /// The steps, from the one gate.
    fn runnable(&self, atlas: &Atlas) -> Result<Runnable, Refused> {
        match &self.person {
            Some(person) => Runnable::for_client(atlas, person, &self.kept, &self.version),
            None => Runnable::for_audience(atlas, &self.kept, &self.version),
        }
    }

    fn client(&self) -> Option<ClientId> {
        self.whose.client.as_ref().map(|(id, _)| *id)
    }
}

/// What the form asks, as it was filled in.
struct Asked {
    name: String,
    language: Language,
    map: bool,
    photographs: bool,
    paper: Paper,
    schedule: Schedule,
    code: String,
}

impl Asked {
    /// As it stands there at first.
    fn first(chosen: &Chosen) -> Asked {
        let client = chosen.person.as_ref().map(|p| &p.client.details);
        let name = client.map(|d| first_name(&d.name)).unwrap_or_default();
        let language = client.and_then(|d| Language::parse(&d.language).ok()).unwrap_or_default();
        Asked {
            name,
            language,
            map: chosen.photographs,
            photographs: chosen.photographs,
            paper: Paper::A4,
            schedule: Schedule::first(),
            code: new_code(),
        }
    }

    fn read(form: &[u8]) -> Result<Asked, String> {
        let name: String = said(form, "name");
        if name.chars().count() > MOST_NAME || name.chars().any(char::is_control) {
            return Err(fill("takehomes.long_name", &[("most", &MOST_NAME)]));
        }
        Ok(Asked {
            name,
            language: Language::parse(&said(form, "language"))?,
            map: said(form, "map") == "yes",
            photographs: said(form, "photographs") == "yes",
            paper: Paper::parse(&said(form, "paper")).unwrap_or(Paper::A4),
            schedule: Schedule::read(form),
            code: Some(said(form, "code")).filter(|c| is_code(c)).unwrap_or_else(new_code),
        })
    }
}

/// The longest first name that is written on a take-home.
const MOST_NAME: usize = 40;

fn first_name(name: &str) -> String {
    name.split_whitespace().next().unwrap_or_default().chars().take(MOST_NAME).collect()
}

/// Letters and digits that are not mistaken for each other (no i, l, o, u).
const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";
const CODE: usize = 10;

/// Fifty random bits: of a practice's thousands no two are the same, and none is guessed.
fn new_code() -> String {
    let mut bytes = [0_u8; CODE];
    // Without randomness there is no code, and the form says that it is missing.
    if getrandom::fill(&mut bytes).is_err() {
        return String::new();
    }
    bytes.iter().map(|b| char::from(LETTERS[usize::from(b % 32)])).collect()
}

fn is_code(text: &str) -> bool {
    text.len() == CODE && text.bytes().all(|b| LETTERS.contains(&b))
}

async fn show(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = RoutineId::from_number(id);
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return editor::no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let chosen = match cabinet.read(|r| read(r, &atlas, id, query.as_bytes(), today))? {
            Ok(chosen) => chosen,
            Err(refused) => return Ok(ok(whole(Here::Routines, text("takehomes.title"), refused))),
        };
        if let Err(why) = chosen.runnable(&atlas) {
            let refused = ready::refused(&atlas, &chosen.kept, &chosen.whose, Some(&why));
            return Ok(ok(whole(Here::Routines, &chosen.kept.name, refused)));
        }
        let face = face(desk, cabinet, &chosen)?.is_some();
        Ok(ok(asked(&chosen, &Asked::first(&chosen), face, None)))
    })
    .await
}

/// The face of the latest photograph, where there is a consent to photographs.
fn face(desk: &Desk, cabinet: &Cabinet, chosen: &Chosen) -> Result<Option<Arc<crate::desk::album::Face>>, Error> {
    match chosen.client().filter(|_| chosen.photographs) {
        Some(client) => visits::latest_face(desk, cabinet, client),
        None => Ok(None),
    }
}

fn asked(chosen: &Chosen, a: &Asked, face: bool, said: Option<&str>) -> Markup {
    let languages: Vec<(&str, &str)> = Language::ALL.iter().map(|l| (l.tag(), l.own_name())).collect();
    let yes_no = [("yes", text("takehomes.yes")), ("no", text("takehomes.no"))];
    let yes = |on: bool| if on { "yes" } else { "no" };
    let main = html! {
        div.narrow {
            h1 { (fill("takehomes.title_of", &[("routine", &chosen.kept.name)])) }
            p.lead {
                @match &chosen.whose.client {
                    Some((_, name)) => (fill("takehomes.for_client", &[("name", name)])),
                    None => (text("takehomes.for_all")),
                }
            }
            (wrong(said))
            form.home-form method="post" action={ "/routines/" (chosen.kept.id) "/takehome" } {
                (token())
                input type="hidden" name="version" value=(chosen.version.number);
                input type="hidden" name="code" value=(a.code);
                @if let Some(client) = chosen.client() {
                    input type="hidden" name="client" value=(client);
                    div.field {
                        label for="name" { (text("takehomes.name")) }
                        input #name type="text" name="name" value=(a.name) autocomplete="off" maxlength=(MOST_NAME) aria-describedby="name-hint";
                        p.hint #name-hint { (text("takehomes.name_hint")) }
                    }
                }
                (choice("language", text("takehomes.language"), &languages, a.language.tag()))
                @if face {
                    div { (choice("map", text("takehomes.map"), &yes_no, yes(a.map))) p.hint { (text("takehomes.map_hint")) } }
                } @else if chosen.client().is_some() { p.hint { (text("takehomes.no_map")) } }
                (choice("paper", text("takehomes.paper"), &[("a4", text("takehomes.a4")), ("letter", text("takehomes.letter"))], a.paper.name()))
                (a.schedule.fields())
                @if chosen.photographs { (choice("photographs", text("takehomes.photographs"), &yes_no, yes(a.photographs))) }
                div.act { (buttons()) }
            }
            p.hint { (fill("takehomes.code", &[("code", &a.code)])) }
            p { a href={ "/routines/" (chosen.kept.id) "/ready" } { (text("takehomes.back")) } }
        }
    };
    whole(Here::Routines, text("takehomes.title"), main)
}

fn buttons() -> Markup {
    html! {
        button.go type="submit" name="do" value="all" { (text("takehomes.all")) }
        button type="submit" name="do" value="page" { (text("takehomes.page")) }
        button type="submit" name="do" value="guide" { (text("takehomes.guide")) }
        button type="submit" name="do" value="calendar" { (text("takehomes.calendar")) }
    }
}

async fn make(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = RoutineId::from_number(id);
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return editor::no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let chosen = match cabinet.read(|r| read(r, &atlas, id, &form, today))? {
            Ok(chosen) => chosen,
            Err(refused) => return Ok(keep::again(whole(Here::Routines, text("takehomes.title"), refused))),
        };
        let runnable = match chosen.runnable(&atlas) {
            Ok(runnable) => runnable,
            Err(why) => {
                let refused = ready::refused(&atlas, &chosen.kept, &chosen.whose, Some(&why));
                return Ok(keep::again(whole(Here::Routines, &chosen.kept.name, refused)));
            }
        };
        let face = face(desk, cabinet, &chosen)?;
        let again = |a: &Asked, why: &str| keep::again(asked(&chosen, a, face.is_some(), Some(why)));
        let a = match Asked::read(&form) {
            Ok(a) if a.code.is_empty() => return Ok(again(&a, text("takehomes.no_code"))),
            Ok(a) => a,
            Err(why) => return Ok(again(&Asked::first(&chosen), &why)),
        };
        let answers = chosen.person.as_ref().map(|p| &p.answers);
        let each_time = takehome::each_time(&atlas, answers, today);
        let until = answers.and_then(|a| takehome::until(&atlas, &chosen.file, &runnable, a, &each_time, today));
        let held = face.as_ref().filter(|_| a.map).map(|f| f.held());
        // A routine that belongs to nobody is for whoever takes it, whatever its file says.
        let file = RoutineFile { audience: chosen.person.is_none(), ..chosen.file.clone() };
        let given = Given {
            atlas: &atlas_in(a.language, &atlas),
            name: &chosen.kept.name,
            file: &file,
            runnable: &runnable,
            clearance: &chosen.whose.clearance,
            until,
            each_time: &each_time,
            face: held.as_ref().map(|h| &h.seen.map),
            language: a.language,
            code: &a.code,
            day: today,
        };
        let files = match files(desk, &given, &a, &chosen, value(&form, "do").unwrap_or_default().as_str()) {
            Ok(files) => files,
            Err(why) => return Ok(again(&a, &why)),
        };
        let response = match files.as_slice() {
            [(name, media, bytes)] => download(name, media, bytes.clone()),
            _ => match zipped(&files) {
                Ok(bytes) => download("take-home.zip", "application/zip", bytes),
                Err(error) => return Ok(again(&a, &fill("takehomes.no_zip", &[("error", &error)]))),
            },
        };
        // Only what is handed out is on record; the same form sent twice is one take-home.
        cabinet.write(keep::now(desk), |w| {
            if let Some(client) = chosen.client() {
                w.require(client, ConsentKind::Care)?;
            }
            match w.takehome_with(&a.code)? {
                Some(known) if known.version == chosen.version.id && known.client == chosen.client() => Ok(()),
                _ => w.add_takehome(chosen.client(), chosen.version.id, &a.code, today, a.language.tag()).map(drop),
            }
        })?;
        Ok(response)
    })
    .await
}

/// A file to take along: name, media type, bytes.
type File = (&'static str, &'static str, Vec<u8>);

/// What was asked for: one file, or all there are. In words what is to be changed.
fn files(desk: &Desk, given: &Given<'_>, a: &Asked, chosen: &Chosen, what: &str) -> Result<Vec<File>, String> {
    let all = !matches!(what, "page" | "guide" | "calendar");
    let mut files: Vec<File> = Vec::new();
    if all || what == "page" {
        let who = chosen.client().map(|_| a.name.clone()).filter(|n| !n.is_empty());
        let more = More { who, photographs: a.photographs && chosen.photographs, hour: chosen.hour.clone() };
        files.push(("routine.html", "text/html; charset=utf-8", home_page::page(given, &more).into_bytes()));
    }
    if all || what == "guide" {
        let guide =
            takehome::guide::guide(given, a.paper).map_err(|why| fill("homecmd.unwritable_page", &[("why", &why)]))?;
        files.push(("guide.pdf", "application/pdf", guide.pdf));
    }
    if all || what == "calendar" {
        match a.schedule.when()? {
            Some(when) => {
                let now = jiff::Timestamp::from_second(keep::now(desk).unix()).unwrap_or_default();
                let made = takehome::calendar::calendar(given, &when, now)?;
                files.push(("sessions.ics", "text/calendar; charset=utf-8", made.file.into_bytes()));
            }
            None if all => {}
            None => return Err(text("takehomes.no_first").to_owned()),
        }
    }
    Ok(files)
}

fn zipped(files: &[File]) -> Result<Vec<u8>, zip::result::ZipError> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, _, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default())?;
        zip.write_all(bytes)?;
    }
    Ok(zip.finish()?.into_inner())
}

/// A file to be saved under a name.
pub fn download(name: &str, media: &'static str, bytes: Vec<u8>) -> Response {
    let mut response = Response::new(Body::from(bytes));
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(media));
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
        headers.insert(header::CONTENT_DISPOSITION, value);
    }
    response
}
