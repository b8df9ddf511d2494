//! One client on one page, in the order of the work: consent, screening, visits, map, routine, sessions, notes, records.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{ClientId, ClinicianWord, Consent, ConsentKind, NewWord, Note, NoteId, NoteKind, WordId};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::screening::Answer;
use vocab::{Class, Date};

use super::clients::{form, said};
use super::fields::{Field, choice, done, lines};
use super::keep::{self, answer, day_in_words};
use super::map_routes::{ok, to};
use super::page::{self, Here};
use super::person::Person;
use super::reply::html as answer_html;
use super::visitor::token;
use super::{Desk, editor, fields, home, session, visits, weeks};
use crate::catalogue::{Catalogue, fill, full_stop, lower_first, sentence_case, text};
use crate::tell;

type Shared = State<Arc<Desk>>;

/// Which wording of the consents is read on the page today; it goes up when a word of them changes.
pub const WORDING: &str = "1";

/// The three consents: to what, its name, what is read before it is given.
const CONSENTS: [(ConsentKind, &str, &str); 3] = [
    (ConsentKind::Care, "consent.care", "consent.care_text"),
    (ConsentKind::Photographs, "consent.photographs", "consent.photographs_text"),
    (ConsentKind::Publication, "consent.publication", "consent.publication_text"),
];

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/clients/{id}", get(show))
        .route("/clients/{id}/consent", post(consent))
        .route("/clients/{id}/word", post(word))
        .route("/clients/{id}/word/{word}/withdraw", post(withdraw))
        .route("/clients/{id}/notes", post(note))
        .route("/clients/{id}/notes/{note}/remove", post(remove_note))
}

/// Everything that the page shows.
struct Shown {
    person: Person,
    consents: Vec<Consent>,
    words: Vec<ClinicianWord>,
    notes: Vec<Note>,
    sessions: Markup,
    visits: Markup,
    routines: Markup,
    home: Markup,
    weeks: Markup,
}

async fn show(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = ClientId::from_number(id);
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let shown = cabinet.read(|r| {
            let person = Person::read(r, &atlas, id, today)?;
            Ok(Shown {
                consents: r.consents(id)?,
                words: r.clinician_words(id)?,
                notes: r.notes(id)?,
                sessions: session::section(r, &atlas, id)?,
                visits: visits::section(r, id)?,
                routines: editor::section(r, &atlas, &person)?,
                home: home::section(r, &atlas, id)?,
                weeks: weeks::section(r, id, today)?,
                person,
            })
        })?;
        Ok(ok(client_page(&atlas, &shown, today, &query)))
    })
    .await
}

impl Shown {
    /// Whether a consent holds: the last word said.
    fn holds(&self, kind: ConsentKind) -> bool {
        self.consents.iter().rev().find(|c| c.kind == kind).is_some_and(|c| c.given)
    }
}

fn client_page(atlas: &Atlas, s: &Shown, today: Date, query: &str) -> Markup {
    let c = &s.person.client;
    let at = format!("/clients/{}", c.id);
    let cared = s.holds(ConsentKind::Care);
    let main = html! {
        div.heading {
            div {
                h1 { (c.details.name) }
                p.lead { (lead(s)) }
            }
            div.act { a.button href={ (at) "/details" } { (text("client.details")) } }
        }
        (done(query))
        nav.within aria-label=(text("client.within")) {
            @for (id, label) in [
                ("consents", text("client.consents")), ("screening", text("client.screening")), ("visits", text("client.visits")),
                ("routines", text("client.routines")), ("sessions", text("client.sessions")), ("home", text("homenotes.section")), ("weeks", text("weeks.section")), ("notes", text("client.notes")),
                ("records", text("client.records")),
            ] { a href={ "#" (id) } { (label) } }
        }
        (consents(&at, s))
        @if cared {
            (screening(atlas, &at, s, today))
            (s.visits)
            (s.routines)
            (s.sessions)
            (s.home)
            (s.weeks)
            (notes(&at, s))
        } @else {
            section.part #screening aria-labelledby="screening-title" {
                h2 #screening-title { (text("client.screening")) }
                p.gently { (text("client.consent_first")) }
            }
            @if !s.notes.is_empty() { (notes(&at, s)) }
        }
        (records(&at))
    };
    page::whole(Here::Clients, &c.details.name, main)
}

fn lead(s: &Shown) -> String {
    let d = &s.person.client.details;
    let born = fields::born(d.birth);
    let mut parts = Vec::new();
    if !born.is_empty() {
        parts.push(fill("client.born", &[("born", &born)]));
    }
    parts.extend([&d.phone, &d.email].into_iter().filter(|t| !t.is_empty()).cloned());
    match d.hands {
        cabinet::Hands::Both => {}
        cabinet::Hands::Left => parts.push(text("client.left_hand").to_owned()),
        cabinet::Hands::Right => parts.push(text("client.right_hand").to_owned()),
    }
    parts.join(" · ")
}

fn consents(at: &str, s: &Shown) -> Markup {
    let given: Vec<String> =
        CONSENTS.iter().filter(|(kind, ..)| s.holds(*kind)).map(|(_, name, _)| lower_first(text(name))).collect();
    let summed = if given.is_empty() {
        text("consent.none_given").to_owned()
    } else {
        fill("consent.which", &[("which", &crate::catalogue::listed(&given))])
    };
    html! {
        section.part #consents aria-labelledby="consents-title" {
            h2 #consents-title { (text("client.consents")) }
            // Once care is agreed to, the texts need not stand before the day's work.
            details.consents open[!s.holds(ConsentKind::Care)] {
            summary { (summed) }
            p.hint { (text("consent.three")) }
            @for (kind, name, words) in CONSENTS {
                @let last = s.consents.iter().rev().find(|c| c.kind == kind);
                @let holds = last.is_some_and(|c| c.given);
                form.consent method="post" action={ (at) "/consent" } {
                    (token())
                    input type="hidden" name="kind" value=(kind.words());
                    h3 { (text(name)) }
                    p { (text(words)) }
                    p.state {
                        @match last {
                            None => (text("consent.never")),
                            Some(c) if c.given => { strong { (fill("consent.given", &[("day", &day_in_words(c.at))])) } }
                            Some(c) => (fill("consent.withdrawn", &[("day", &day_in_words(c.at))])),
                        }
                    }
                    @if holds {
                        button.quiet type="submit" name="given" value="no" { (text("consent.withdraw")) span.unseen { ": " (text(name)) } }
                    } @else {
                        button type="submit" name="given" value="yes" { (text("consent.give")) span.unseen { ": " (text(name)) } }
                    }
                }
            }
            }
        }
    }
}

async fn consent(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = ClientId::from_number(id);
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let kind = ConsentKind::EACH.into_iter().find(|k| k.words() == said(&form, "kind"));
        let Some(kind) = kind else { return keep::lost() };
        let (given, now) = (said(&form, "given") == "yes", keep::now(desk));
        let wording = format!("{} {WORDING}", kind.words());
        cabinet.write(now, |w| w.record_consent(id, kind, given, now, &wording))?;
        Ok(to(&format!("/clients/{id}?done=saved#consents")))
    })
    .await
}

/// What the answers come to today: what is left out, what has to be asked, what is gentle; and the words of clinicians.
fn screening(atlas: &Atlas, at: &str, s: &Shown, today: Date) -> Markup {
    let p = &s.person;
    let clearance = &p.clearance;
    let signs: Vec<_> = clearance.warning_signs.iter().map(|ix| &atlas.warning_signs[*ix]).collect();
    html! {
        section.part #screening aria-labelledby="screening-title" {
            h2 #screening-title { (text("client.screening")) }
            p.state {
                @match p.asked {
                    None => (text("screening.never")),
                    Some(at) => (fill("screening.asked", &[("day", &day_in_words(at))])),
                }
            }
            @if p.unreadable { div.missing role="alert" { p { (text("screening.unreadable")) } } }
            @for sign in &signs {
                div.missing { p { (sentence_case(&full_stop(&sign.sign))) } p.plainly { strong { (tell::urgency(sign.urgency)) } " " (sign.action) } }
            }
            @if p.asked.is_some() {
                @if !clearance.unanswered.is_empty() {
                    p { (fill("screening.open", &[("n", &clearance.unanswered.len())])) }
                    ul.questions { @for id in clearance.unanswered.iter().take(6) { li { (tell::question(atlas, id)) } } }
                }
                (answered(atlas, s))
            }
            div.act {
                a.button.go[p.asked.is_none()] href={ (at) "/intake" } {
                    (text(if p.asked.is_some() { "screening.again" } else { "screening.begin" }))
                }
                a.button href={ "/product?client=" (s.person.client.id) } { (text("product.to")) }
            }
            (words(atlas, at, s, today))
        }
    }
}

/// Each condition that applies, with what follows from it.
fn answered(atlas: &Atlas, s: &Shown) -> Markup {
    let yes: Vec<_> = atlas
        .conditions
        .iter()
        .enumerate()
        .filter(|(ix, _)| s.person.answers.own(plan::atlas::ConditionIx(*ix)).is_some_and(|o| o.answer == Answer::Yes))
        .collect();
    html! {
        @if yes.is_empty() && s.person.clearance.unanswered.is_empty() { p { (text("screening.nothing")) } }
        @if !yes.is_empty() {
            dl.answered {
                @for (ix, condition) in &yes {
                    @let own = s.person.answers.own(plan::atlas::ConditionIx(*ix));
                    @let strictest = condition.rules.iter().map(|r| r.class).min_by_key(|c| strictness(*c));
                    div class=(strictest.map_or("plain", pattern)) {
                        dt { (sentence_case(&condition.name)) }
                        dd {
                            @if let Some(own) = own { (where_since(atlas, own)) }
                            (full_stop(&sentence_case(&condition.reason))) " " (condition.action)
                            @if let Some(cleared) = own.and_then(|o| o.cleared.as_ref()) {
                                p { (fill("screening.cleared", &[("by", &cleared.by), ("until", &keep::date_in_words(cleared.until))])) }
                            }
                        }
                    }
                }
            }
        }
        @if !s.person.clearance.stop.is_empty() {
            div.missing { p { (text("screening.stop")) } ul { @for rule in &s.person.clearance.stop { li { (s.person.clearance.reason(&Catalogue, atlas, &rule.id(atlas))) } } } }
        }
    }
}

fn strictness(class: Class) -> u8 {
    match class {
        Class::Stop => 0,
        Class::LeaveOut => 1,
        Class::AskFirst => 2,
        Class::Gently => 3,
        Class::Go => 4,
    }
}

fn pattern(class: Class) -> &'static str {
    match class {
        Class::Stop | Class::LeaveOut => "struck",
        Class::AskFirst => "dashed",
        Class::Gently => "dotted",
        Class::Go => "plain",
    }
}

fn where_since(atlas: &Atlas, own: &plan::screening::Own) -> Markup {
    let places: Vec<&str> = own.places.iter().map(|z| atlas.zone(*z).name.as_str()).collect();
    html! {
        @if !places.is_empty() || own.side.is_some() || own.since.is_some() {
            p.where-since {
                @if !places.is_empty() { (sentence_case(&crate::catalogue::listed(&places))) }
                @if let Some(side) = own.side { " " (tell::side(side)) }
                @if let Some(since) = own.since { " " (fill("screening.since", &[("day", &keep::date_in_words(since))])) }
            }
        }
    }
}

/// The words of clinicians on record, and the form for one. Only what is asked first can be lifted by a word.
fn words(atlas: &Atlas, at: &str, s: &Shown, today: Date) -> Markup {
    let asks: Vec<(&str, &str)> = atlas
        .conditions
        .iter()
        .enumerate()
        .filter(|(ix, c)| {
            let yes = s.person.answers.own(plan::atlas::ConditionIx(*ix)).is_some_and(|o| o.answer == Answer::Yes);
            yes && c.rules.iter().any(|r| r.class == Class::AskFirst)
        })
        .map(|(_, c)| (c.id.as_str(), c.name.as_str()))
        .collect();
    html! {
        @if !s.words.is_empty() || !asks.is_empty() {
            h3 { (text("word.title")) }
            p.hint { (text("word.what")) }
        }
        @if !s.words.is_empty() {
            ul.words {
                @for word in &s.words {
                    @let name = atlas.condition_named(&word.condition).map_or(word.condition.as_str(), |c| atlas.conditions[c.0].name.as_str());
                    @let over = word.withdrawn.is_some() || word.until < today;
                    li.over[over] {
                        p { strong { (sentence_case(name)) } ": " (fill("word.one", &[("who", &word.who), ("said", &keep::date_in_words(word.said)), ("until", &keep::date_in_words(word.until))])) }
                        @if word.withdrawn.is_some() { p.hint { (text("word.withdrawn")) } } @else if over { p.hint { (text("word.over")) } } @else {
                            form method="post" action={ (at) "/word/" (word.id) "/withdraw" } { (token()) button.quiet type="submit" { (text("word.withdraw")) } }
                        }
                    }
                }
            }
        }
        @if !asks.is_empty() {
            details.add {
                summary { (text("word.add")) }
                form method="post" action={ (at) "/word" } {
                    (token())
                    (choice("condition", text("word.on"), &asks.iter().map(|(id, name)| (*id, *name)).collect::<Vec<_>>(), asks[0].0))
                    (Field::text("who", text("word.who"), "").required().show())
                    (Field::text("said", text("word.said"), &today.to_string()).kind("date").required().show())
                    (Field::text("until", text("word.until"), "").kind("date").required().show())
                    div.act { button type="submit" { (text("word.keep")) } }
                }
            }
        }
    }
}

async fn word(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = ClientId::from_number(id);
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let condition = said(&form, "condition");
        let (who, day) = (said(&form, "who"), |name: &str| Date::parse(&said(&form, name)));
        let (Some(said), Some(until), true) =
            (day("said"), day("until"), desk.atlas().condition_named(&condition).is_some())
        else {
            return Ok(keep::again(sorry(id, text("word.incomplete"))));
        };
        let new = NewWord { condition: &condition, place: "", who: &who, said, until };
        cabinet.write(keep::now(desk), |w| {
            w.require(id, ConsentKind::Care)?;
            w.add_clinician_word(id, &new)
        })?;
        Ok(to(&format!("/clients/{id}?done=saved#screening")))
    })
    .await
}

/// What can't be kept, with the way back to the client.
pub fn sorry(id: ClientId, why: &str) -> Markup {
    let main = html! {
        div.short {
            h1 { (text("keep.not_done")) }
            div.missing role="alert" { p { (why) } }
            p { (text("keep.back")) }
            p { a href={ "/clients/" (id) } { (text("client.to")) } }
        }
    };
    page::whole(Here::Clients, text("keep.not_done"), main)
}

async fn withdraw(State(desk): Shared, Path((id, word)): Path<(i64, i64)>) -> Response {
    answer(desk, move |desk, cabinet| {
        let (id, word) = (ClientId::from_number(id), WordId::from_number(word));
        cabinet.write(keep::now(desk), |w| {
            if !w.clinician_words(id)?.iter().any(|known| known.id == word) {
                return Err(cabinet::ErrorKind::NoSuch(WordId::WORD, word.number()).into());
            }
            w.withdraw_clinician_word(word)
        })?;
        Ok(to(&format!("/clients/{id}?done=saved#screening")))
    })
    .await
}

fn notes(at: &str, s: &Shown) -> Markup {
    html! {
        section.part #notes aria-labelledby="notes-title" {
            h2 #notes-title { (text("client.notes")) }
            @if !s.notes.is_empty() {
                ul.log {
                    @for note in s.notes.iter().rev() {
                        li.incident[note.kind == NoteKind::Incident] {
                            p.hint { @if note.kind == NoteKind::Incident { strong { (text("note.incident")) } " · " } (day_in_words(note.at)) }
                            p.words { (note.text) }
                            @if note.kind == NoteKind::Note {
                                form method="post" action={ (at) "/notes/" (note.id) "/remove" } {
                                    (token())
                                    button.quiet type="submit" { (text("note.remove")) span.unseen { ", " (day_in_words(note.at)) } }
                                }
                            }
                        }
                    }
                }
            }
            details.add open[s.notes.is_empty()] {
                summary { (text("note.add")) }
                form method="post" action={ (at) "/notes" } {
                    (token())
                    (lines("text", text("note.words"), "", 4, None))
                    (choice("kind", text("note.kind"), &[("note", text("note.note")), ("incident", text("note.incident"))], "note"))
                    p.hint { (text("note.incident_hint")) }
                    div.act { button type="submit" { (text("note.keep")) } }
                }
            }
        }
    }
}

async fn note(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = ClientId::from_number(id);
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let kind = if said(&form, "kind") == "incident" { NoteKind::Incident } else { NoteKind::Note };
        let words = said(&form, "text");
        if words.is_empty() {
            return Ok(keep::again(sorry(id, text("note.empty"))));
        }
        cabinet.write(keep::now(desk), |w| {
            w.require(id, ConsentKind::Care)?;
            w.add_note(id, None, kind, &words)
        })?;
        Ok(to(&format!("/clients/{id}?done=saved#notes")))
    })
    .await
}

async fn remove_note(State(desk): Shared, Path((id, note)): Path<(i64, i64)>) -> Response {
    answer(desk, move |desk, cabinet| {
        let (id, note) = (ClientId::from_number(id), NoteId::from_number(note));
        cabinet.write(keep::now(desk), |w| {
            if w.note(note)?.client != id {
                return Err(cabinet::ErrorKind::NoSuch(NoteId::WORD, note.number()).into());
            }
            w.remove_note(note)
        })?;
        Ok(to(&format!("/clients/{id}?done=gone#notes")))
    })
    .await
}

/// What can be taken along, and the way out.
fn records(at: &str) -> Markup {
    html! {
        section.part #records aria-labelledby="records-title" {
            h2 #records-title { (text("client.records")) }
            p { (text("client.records_what")) }
            div.act {
                a.button href={ (at) "/export" } { (text("client.export")) }
                a.button href={ (at) "/erase" } { (text("client.erase")) }
            }
        }
    }
}
