//! Before a session: for whom and how it is looked at, the list of what to do, how they are. All but the first may be left out.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{Cabinet, ClientId, Error, Json, RoutineId};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::session::Score;
use serde_json::{Value, json};
use vocab::Date;

use super::log::Log;
use super::scale::{BEFORE, Scale};
use super::{Chosen, address, no_clock, unfinished};
use crate::catalogue::{fill, seconds, text};
use crate::desk::clients::{form, said};
use crate::desk::editor::ready;
use crate::desk::editor::runnable::Runnable;
use crate::desk::fields::{choice, lines};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;
use crate::desk::{Desk, routine};
use crate::play::View;

/// Seconds that are spoken before each step to a class, unless it says otherwise.
const USUAL_TALK: u32 = 10;
/// The most.
const MOST_TALK: u32 = 60;

/// For whom: its word in the log, its label, from where the face is looked at.
type For = (&'static str, &'static str, View);

/// A client.
const CLIENT: [For; 3] = [
    ("facing", "session.facing", View::Facing),
    ("head", "session.head", View::Head),
    ("mirror", "session.mirror", View::Mirror),
];
/// A routine that belongs to nobody. Whoever follows a class works as in a mirror.
const ANYONE: [For; 2] = [("self", "session.self", View::Mirror), ("class", "session.class", View::Mirror)];

/// The form as it stands.
struct Form {
    whom: String,
    posture: String,
    talk: String,
    room: String,
    words: String,
    scale: Scale,
}

impl Form {
    fn empty(bound: bool) -> Form {
        Form {
            whom: if bound { CLIENT[0].0 } else { ANYONE[0].0 }.to_owned(),
            posture: "lying".to_owned(),
            talk: USUAL_TALK.to_string(),
            room: String::new(),
            words: String::new(),
            scale: Scale::empty(&BEFORE),
        }
    }

    fn read(form: &[u8]) -> Form {
        Form {
            whom: said(form, "whom"),
            posture: said(form, "posture"),
            talk: said(form, "talk"),
            room: said(form, "room"),
            words: said(form, "words"),
            scale: Scale::of_form(&BEFORE, form),
        }
    }

    /// Seconds of talking; none where it is no number of them.
    fn talk(&self) -> Option<u32> {
        if self.whom != "class" {
            return Some(0);
        }
        self.talk.parse().ok().filter(|n| *n <= MOST_TALK)
    }
}

fn whom(bound: bool) -> &'static [For] {
    if bound { &CLIENT } else { &ANYONE }
}

/// What was asked for in the address: a version, and a client where the routine belongs to nobody.
fn asked(query: &[u8]) -> (Option<u32>, Option<ClientId>) {
    (said(query, "version").parse().ok(), said(query, "client").parse().ok().map(ClientId::from_number))
}

/// The form.
pub async fn show(State(desk): State<Arc<Desk>>, Path(id): Path<i64>, request: Request) -> Response {
    let id = RoutineId::from_number(id);
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let (number, client) = asked(query.as_bytes());
        let (chosen, open) = cabinet.read(|r| {
            let chosen = Chosen::read(r, &atlas, id, number, client, today)?;
            let open = unfinished(r, id, chosen.person.as_ref().map(|p| p.client.id))?;
            Ok((chosen, open))
        })?;
        let form = Form::empty(chosen.person.is_some());
        Ok(ok(page(&atlas, &chosen, &form, &[], &open)))
    })
    .await
}

/// Begins: the session is written into the cabinet before the player opens.
pub async fn begin(State(desk): State<Arc<Desk>>, Path(id): Path<i64>, request: Request) -> Response {
    let id = RoutineId::from_number(id);
    let sent = match form(request).await {
        Ok(sent) => sent,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| begun(desk, cabinet, id, &sent, today)).await
}

fn begun(desk: &Desk, cabinet: &Cabinet, id: RoutineId, sent: &[u8], today: Date) -> Result<Response, Error> {
    let atlas = desk.atlas();
    let (number, client) = asked(sent);
    let form = Form::read(sent);
    let now = keep::now(desk);
    // Screened and written in one transaction: nothing can come between.
    let done = cabinet.write(now, |w| {
        let chosen = Chosen::read(w, &atlas, id, number, client, today)?;
        let (Some(version), Some(file), Some(Ok(made))) = (&chosen.version, &chosen.file, &chosen.made) else {
            return Ok(Err((chosen, Vec::new())));
        };
        let wrong = wrong(&form, chosen.person.is_some());
        let view = whom(chosen.person.is_some()).iter().find(|(word, ..)| *word == form.whom).map(|(.., view)| *view);
        let (Some(view), Some(talk), true) = (view, form.talk(), wrong.is_empty()) else {
            return Ok(Err((chosen, wrong)));
        };
        let score = Score::new(&atlas, made.steps(), file.minutes, talk);
        let about = [
            ("whom", if chosen.person.is_some() { "client" } else { form.whom.as_str() }),
            ("view", view.word()),
            ("posture", form.posture.as_str()),
            ("room", form.room.as_str()),
        ];
        let log = Log::begin(&atlas, made.steps(), score, &about);
        let mut before = form.scale.json();
        if !form.words.is_empty() {
            before.insert("words".to_owned(), json!(form.words));
        }
        let felt = json!({ "words": "", "places": [], "before": Value::Object(before), "after": {} });
        let whose = chosen.person.as_ref().map(|p| p.client.id);
        let session = w.add_session(whose, version.id, now, &log.json()?, &Json::new(felt.to_string())?)?;
        Ok(Ok(session))
    })?;
    Ok(match done {
        Ok(session) => to(&address(id, session)),
        Err((chosen, wrong)) => keep::again(page(&atlas, &chosen, &form, &wrong, &html! {})),
    })
}

/// What can't be taken, each in one sentence.
fn wrong(form: &Form, bound: bool) -> Vec<String> {
    let mut wrong = Vec::new();
    if !whom(bound).iter().any(|(word, ..)| *word == form.whom) {
        wrong.push(text("session.choose_whom").to_owned());
    }
    if !["sitting", "lying"].contains(&form.posture.as_str()) {
        wrong.push(text("session.choose_posture").to_owned());
    }
    if form.talk().is_none() {
        wrong.push(fill("session.bad_talk", &[("most", &MOST_TALK)]));
    }
    if !form.scale.wrong().is_empty() {
        wrong.push(text("session.bad_scale").to_owned());
    }
    wrong
}

fn page(atlas: &Atlas, chosen: &Chosen, form: &Form, wrong: &[String], open: &Markup) -> Markup {
    let main = match (&chosen.version, &chosen.made) {
        (Some(version), Some(Ok(made))) => asking(atlas, chosen, (version.number, made), form, wrong, open),
        _ => ready::refused(atlas, &chosen.kept, &chosen.whose, chosen.made.as_ref().and_then(|m| m.as_ref().err())),
    };
    whole(Here::Session, &chosen.kept.name, main)
}

fn asking(
    atlas: &Atlas,
    chosen: &Chosen,
    (version, made): (u32, &Runnable),
    form: &Form,
    wrong: &[String],
    open: &Markup,
) -> Markup {
    let (draft, out) = (&made.timed(atlas), made.left_out().len());
    let bound = chosen.person.is_some();
    let views: Vec<(&str, &str)> = whom(bound).iter().map(|(word, label, _)| (*word, text(label))).collect();
    let postures = [("lying", text("session.lying")), ("sitting", text("session.sitting"))];
    html! {
        div.narrow.session-start {
            h1 { (chosen.kept.name) }
            p.lead {
                @match &chosen.whose.client {
                    Some((_, name)) => (fill("editor.ready_for", &[("name", name)])),
                    None => (text("editor.for_all")),
                }
                " " (fill("editor.ready_sum", &[("n", &draft.steps.len()), ("s", &seconds(draft.total_s))]))
            }
            @if !wrong.is_empty() { div.missing role="alert" { ul { @for line in wrong { li { (line) } } } } }
            (open)
            (routine::notices(atlas, draft))
            @if out > 0 { p.gently { (fill("session.left_out", &[("n", &out)])) } }
            form method="post" action={ "/routines/" (chosen.kept.id) "/session" } {
                (token())
                input type="hidden" name="version" value=(version);
                @if let Some((id, _)) = &chosen.whose.client { input type="hidden" name="client" value=(id); }
                (choice("whom", text(if bound { "session.how" } else { "session.for_whom" }), &views, &form.whom))
                (choice("posture", text("session.posture"), &postures, &form.posture))
                @if bound {
                    input type="hidden" name="talk" value="0";
                } @else {
                    div.field {
                        label for="talk" { (text("session.talk")) }
                        input #talk type="number" name="talk" min="0" max=(MOST_TALK) value=(form.talk) aria-describedby="talk-hint";
                        p.hint #talk-hint { (text("session.talk_hint")) }
                    }
                }
                section.session-list aria-labelledby="before-title" {
                    h2 #before-title { (text("routine.before")) }
                    ul { @for item in routine::checks(atlas, draft, "before") { li { (item) } } }
                }
                details.session-ask open[!form.scale.json().is_empty() || !form.scale.wrong().is_empty() || !form.words.is_empty()] {
                    summary { h2 { (text("session.before")) } }
                    p.hint { (text("session.before_hint")) }
                    (form.scale.fields(&BEFORE))
                    (lines("words", text("session.words_before"), &form.words, 2, None))
                    div.field {
                        label for="room" { (text("session.room")) }
                        input #room type="text" name="room" value=(form.room) autocomplete="off";
                    }
                }
                p.hint { (text("session.kept_from_here")) }
                div.act {
                    button.go type="submit" { (text("session.open")) }
                    a.button href={ "/routines/" (chosen.kept.id) "/ready" } { (text("session.to_ready")) }
                }
            }
            noscript { p.gently { (text("session.needs_script")) } }
        }
    }
}
