//! The page of a report: what would stand in it, or why there is none; and the file.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::http::header::{self, HeaderValue};
use axum::response::Response;
use cabinet::{Cabinet, ClientId, ConsentKind, Error, Reader, WeeksId};
use maud::{Markup, html};
use plan::atlas::{Atlas, ConcernIx};
use press::Paper;
use vocab::Date;

use super::super::clients::{form, said};
use super::super::fields::{Field, choice, wrong};
use super::super::home::download;
use super::super::keep;
use super::super::map_routes::ok;
use super::super::page::{Here, whole};
use super::super::reply::html as answer_html;
use super::super::visitor::token;
use super::super::{Desk, page};
use super::{address, chosen, pair, pictures, sentence, verdict};
use crate::catalogue::{Language, fill, sentence_case, text};
use crate::desk::keep::date_in_words;
use crate::following::one::{Followed, must};
use crate::following::pair::Chosen;
use crate::following::report::{Asked, Consented, Photographs, Refused, Report, make};
use crate::following::words::value_name;

type Shared = State<Arc<Desk>>;

/// The longest name, in letters.
const MOST_NAME: usize = 120;

/// What the form asks, as it was filled in.
struct Form {
    language: Language,
    paper: Paper,
    photographs: bool,
    concerns: Vec<ConcernIx>,
    by: String,
}

/// What the page knows.
struct Known {
    followed: Followed,
    pair: Option<[Chosen; 2]>,
    care: bool,
    photographs: bool,
    publication: bool,
    /// The client's language.
    language: Language,
    /// What the routine of these weeks is called.
    routine: String,
}

fn known(r: &Reader<'_>, client: ClientId, weeks: WeeksId, today: Date) -> Result<Known, Error> {
    let followed = must(r, client, weeks, today)?;
    let holds = |kind| r.consents_to(client, kind);
    let photographs = holds(ConsentKind::Photographs)?;
    let version = followed.weeks.version;
    let mut routine = String::new();
    for kept in r.routines(Some(client))? {
        if version.is_some_and(|v| r.versions(kept.id).is_ok_and(|all| all.iter().any(|known| known.id == v))) {
            routine = kept.name;
        }
    }
    Ok(Known {
        pair: if photographs { chosen(r, &followed)? } else { None },
        care: holds(ConsentKind::Care)?,
        photographs,
        publication: holds(ConsentKind::Publication)?,
        language: Language::parse(&r.client(client)?.details.language).unwrap_or_default(),
        routine,
        followed,
    })
}

impl Known {
    /// Whether photographs may leave the client's page.
    fn may_leave(&self) -> bool {
        self.photographs && self.publication
    }

    /// The concerns that the routine is named after, or that the value speaks of.
    fn concerns(&self, atlas: &Atlas) -> Vec<ConcernIx> {
        let routine = self.routine.to_lowercase();
        let value = self.followed.primary().map_or("", |s| s.value.name);
        let spoken = match value {
            "dE00" | "dL" | "brown" | "blue_red" | "relief" => "shadows_under_eyes",
            "sleep" | "relaxed" | "stress" => "before_sleep",
            _ => "",
        };
        let all = atlas.concerns.iter().enumerate();
        let fits = all.filter(|(_, c)| c.id == spoken || routine.contains(&c.name.to_lowercase()));
        fits.map(|(ix, _)| ConcernIx(ix)).collect()
    }

    /// The form as it stands there at first.
    fn form(&self, atlas: &Atlas) -> Form {
        Form {
            language: self.language,
            paper: Paper::A4,
            photographs: self.may_leave() && self.pair.is_some(),
            concerns: self.concerns(atlas),
            by: String::new(),
        }
    }
}

impl Form {
    /// What was sent; what is missing stays as it would stand there.
    fn read(sent: &[u8], first: Form, atlas: &Atlas) -> Result<Form, (Form, String)> {
        let photographs = match said(sent, "photographs").as_str() {
            "" => first.photographs,
            word => word == "yes",
        };
        let pairs = || form_urlencoded::parse(sent);
        let concerns =
            pairs().filter(|(name, _)| name == "concern").filter_map(|(_, v)| atlas.concern_named(&v)).collect();
        // A form without any box ticked says so; an address that names none asks for the usual.
        let chosen = pairs().any(|(name, _)| name == "concern" || name == "chosen");
        let form = Form {
            language: Language::parse(&said(sent, "language")).unwrap_or(first.language),
            paper: Paper::parse(&said(sent, "paper")).unwrap_or(first.paper),
            photographs,
            concerns: if chosen { concerns } else { first.concerns },
            by: said(sent, "by").chars().filter(|c| !c.is_control()).collect(),
        };
        if form.by.chars().count() > MOST_NAME {
            let why = fill("reportpage.too_long", &[("most", &MOST_NAME)]);
            return Err((form, why));
        }
        Ok(form)
    }
}

pub async fn show(State(desk): Shared, Path((id, weeks)): Path<(i64, i64)>) -> Response {
    let (id, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    keep::answer(desk, move |desk, cabinet| {
        let known = cabinet.read(|r| known(r, id, weeks, today))?;
        let atlas = desk.atlas();
        Ok(ok(asking(&known, &atlas, &known.form(&atlas), None)))
    })
    .await
}

pub async fn by_address(state: Shared, path: Path<(i64, i64)>, request: Request) -> Response {
    let sent = request.uri().query().unwrap_or_default().as_bytes().to_vec();
    file(state, path, sent).await
}

pub async fn save(state: Shared, path: Path<(i64, i64)>, request: Request) -> Response {
    match form(request).await {
        Ok(sent) => file(state, path, sent).await,
        Err(response) => response,
    }
}

async fn file(State(desk): Shared, Path((id, weeks)): Path<(i64, i64)>, sent: Vec<u8>) -> Response {
    let (id, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    keep::answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let known = cabinet.read(|r| known(r, id, weeks, today))?;
        let again = |form: &Form, why: &str| keep::again(asking(&known, &atlas, form, Some(why)));
        let form = match Form::read(&sent, known.form(&atlas), &atlas) {
            Ok(form) => form,
            Err((form, why)) => return Ok(again(&form, &why)),
        };
        // What may leave is said by the page, not by an error without a way on.
        if let Err(why) = refused(&known, &form) {
            let mut response = again(&form, &why);
            *response.status_mut() = StatusCode::CONFLICT;
            return Ok(response);
        }
        let asked = Asked {
            language: form.language,
            atlas: &atlas,
            concerns: form.concerns.clone(),
            by: form.by.clone(),
            day: today,
        };
        match report(desk, cabinet, &known, &form, &asked)? {
            Ok(report) => match report.pdf(form.paper) {
                Ok(made) => {
                    let mut response = download("report.pdf", "application/pdf", made.pdf);
                    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
                    Ok(response)
                }
                Err(_) => Ok(again(&form, text("reportpage.not_made"))),
            },
            Err(why) => Ok(again(&form, &why)),
        }
    })
    .await
}

/// Why there is no such report; what to do stands with it.
fn refused(known: &Known, form: &Form) -> Result<(), String> {
    if !known.care {
        return Err(text("reportpage.no_care").to_owned());
    }
    verdict(&known.followed)?;
    if form.photographs && !known.may_leave() {
        return Err(text("reportpage.refused_publication").to_owned());
    }
    if form.photographs && known.pair.is_none() {
        return Err(text("reportpage.too_few").to_owned());
    }
    Ok(())
}

/// The report; why there is none, in words. The consent is read once more when everything is there.
fn report(
    desk: &Desk,
    cabinet: &Cabinet,
    known: &Known,
    form: &Form,
    asked: &Asked<'_>,
) -> Result<Result<Report, String>, Error> {
    let mut photographs = None;
    if let (true, Some(both)) = (form.photographs, &known.pair) {
        match pictures::made(desk, cabinet, known.followed.client, both)? {
            Ok(made) => photographs = Some(Photographs { chosen: both.clone(), made: (*made).clone() }),
            Err(why) => return Ok(Err(fill("reportpage.unreadable", &[("why", &why)]))),
        }
    }
    let consent = cabinet.read(|r| Consented::read(r, known.followed.client, form.photographs))?;
    let words = |why: Refused| why.words(known.followed.body.first);
    Ok(make(&known.followed, consent, asked, photographs.as_ref()).map_err(words))
}

fn asking(known: &Known, atlas: &Atlas, form: &Form, why: Option<&str>) -> Markup {
    let f = &known.followed;
    let at = address(f.client, f.weeks.id);
    let verdict = verdict(f);
    let refused =
        if known.care { verdict.as_ref().err().cloned() } else { Some(text("reportpage.no_care").to_owned()) };
    let main = html! {
        div.heading { div {
            h1 { (text("reportpage.title")) }
            p.lead {
                a href={ "/clients/" (f.client) } { (f.name) } " · "
                a href={ (at) "/follow" } { (text("reportpage.back")) } " · "
                (fill("reportpage.lead", &[("first", &date_in_words(f.body.first))]))
            }
        } }
        @if let Some(reason) = &refused {
            section.part aria-labelledby="refused-title" {
                h2 #refused-title { (text("reportpage.refused")) }
                p { (reason) }
                @if !known.care { p { a href={ "/clients/" (f.client) "#consents" } { (text("reportpage.to_consents")) } } }
            }
        } @else {
            (wrong(why))
            @if let Some(both) = &known.pair { (pair(&at, f, both)) }
            section.part aria-labelledby="verdict-title" {
                h2 #verdict-title { (text("reportpage.verdict")) }
                p.verdict { (sentence(&verdict)) }
            }
            section.part aria-labelledby="contents-title" {
                h2 #contents-title { (text("reportpage.contents")) }
                ul.holds {
                    li { (fill("reportpage.holds", &[("value", &f.primary().map_or("", |s| value_name(s.value)))])) }
                    li { (fill("reportpage.holds_incidents", &[("n", &f.written.iter().filter(|w| w.incident).count())])) }
                    @if known.pair.is_some() && known.may_leave() { li { (text("reportpage.holds_pair")) } }
                }
            }
            (fields(known, atlas, form, &at))
        }
    };
    whole(Here::Weeks, text("reportpage.title"), main)
}

fn fields(known: &Known, atlas: &Atlas, form: &Form, at: &str) -> Markup {
    let languages: Vec<(&str, &str)> = Language::ALL.iter().map(|l| (l.tag(), l.own_name())).collect();
    let papers = [("a4", text("reportpage.a4")), ("letter", text("reportpage.letter"))];
    let with = [("yes", text("reportpage.with_photographs")), ("no", text("reportpage.without_photographs"))];
    html! {
        form.report-form method="post" action={ (at) "/report.pdf" } {
            (token())
            (choice("language", text("reportpage.language"), &languages, form.language.tag()))
            (choice("paper", text("reportpage.paper"), &papers, form.paper.name()))
            @if known.pair.is_none() {
                input type="hidden" name="photographs" value="no";
                p.hint { (text(if known.photographs { "reportpage.too_few" } else { "reportpage.no_photo_consent" })) }
            } @else if known.may_leave() {
                (choice("photographs", text("reportpage.photographs"), &with, if form.photographs { "yes" } else { "no" }))
                p.hint { (text("reportpage.without_hint")) }
            } @else {
                input type="hidden" name="photographs" value="no";
                p.gently { (text("reportpage.refused_publication")) " " a href={ "/clients/" (known.followed.client) "#consents" } { (text("reportpage.to_consents")) } }
                p.hint { (text("reportpage.without_hint")) }
            }
            input type="hidden" name="chosen" value="1";
            fieldset.field {
                legend { (text("reportpage.concerns")) }
                div.row {
                    @for (ix, concern) in atlas.concerns.iter().enumerate() {
                        @let id = format!("concern-{}", concern.id);
                        label.choice for=(id) {
                            input #(id) type="checkbox" name="concern" value=(concern.id) checked[form.concerns.contains(&ConcernIx(ix))];
                            span { (sentence_case(&concern.name)) }
                        }
                    }
                }
            }
            (Field::text("by", text("reportpage.by"), &form.by).hint(text("reportpage.by_hint")).show())
            div.act { button.go type="submit" { (text("reportpage.make")) } }
        }
    }
}
