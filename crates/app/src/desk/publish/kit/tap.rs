//! The times of the finished film, taken by tapping along to it or typed.
//!
//! The film itself stays in the browser: it is chosen from a field that no form sends, and played from a `blob:` address, which this page
//! alone allows ([`guard::OwnFilm`]).

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{Cabinet, Error, FilmId, Json, NewFilm};
use maud::{Markup, html};

use super::body::Tapped;
use super::known::{Known, Made};
use super::show as page_of;
use super::taps::{Meant, Problem, Taps, field};
use crate::catalogue::{clock, fill, sentence_case, text};
use crate::desk::clients::{form, said};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;
use crate::desk::{Desk, guard};

type Shared = State<Arc<Desk>>;

/// The page.
pub async fn show(State(desk): Shared, Path(id): Path<i64>) -> Response {
    answer(desk, move |desk, cabinet| {
        let known = cabinet.read(|r| Known::read(r, FilmId::from_number(id)))?;
        Ok(match known.made(&desk.atlas()) {
            Ok(made) => {
                let tapped = known.body.tapped.as_ref().filter(|_| !made.outdated);
                let taps = match tapped {
                    Some(tapped) => Taps::of(&tapped.times, known.body.options.length),
                    None => Taps { starts: vec![String::new(); made.planned.len()], length: String::new() },
                };
                with_film(ok(page(&known, &made, &taps, &Told::default())))
            }
            Err(why) => ok(whole(Here::Kit, &known.film.name, page_of::refused(&known, &why))),
        })
    })
    .await
}

fn with_film(mut response: Response) -> Response {
    response.extensions_mut().insert(guard::OwnFilm);
    response
}

/// What stands above the form.
#[derive(Default)]
struct Told {
    /// What can't be used.
    wrong: Vec<Problem>,
    /// The times that were typed for other steps.
    other: Option<Vec<String>>,
}

fn page(known: &Known, made: &Made, taps: &Taps, told: &Told) -> Markup {
    let wrong = &told.wrong;
    let title = fill("film.tap_title", &[("name", &known.film.name)]);
    let tapped = known.body.tapped.is_some();
    let main = html! {
        h1 { (title) }
        p.lead { (text("film.tap_lead")) }
        @if !wrong.is_empty() {
            div.missing role="alert" {
                p { (text("film.wrong")) }
                ul { @for (field, why) in wrong { li { a href={ "#" (field) } { (why) } } } }
            }
        }
        @if let Some(other) = &told.other {
            div.missing role="alert" {
                p { (text("film.tap_other")) }
                @if !other.is_empty() {
                    p { (text("film.tap_other_typed")) }
                    ul lang=(made.kit.language.tag()) { @for time in other { li { (time) } } }
                }
            }
        }
        form.tap #tap method="post" action={ (known.at()) "/tap" }
            data-left=(text("film.tap_left")) data-all=(text("film.tap_all")) data-none=(text("film.tap_none"))
            data-taken=(text("film.tap_taken")) data-undone=(text("film.tap_undone")) data-restored=(text("film.tap_restored")) data-on=(text("film.tap_on")) data-pause=(text("film.tap_pause"))
            data-begin=(text("film.tap_begin")) {
            (token())
            (Meant::fields(known.version.number, made.kit.names()))
            div.tap-work {
                (along())
                div.tap-steps {
                    p.hint { (text("film.tap_type")) }
                    ol.taps { @for (i, start) in taps.starts.iter().enumerate() { (row(made, i, start, wrong)) } }
                    div.field {
                        label for="length" { (text("film.length")) }
                        input #length.short type="text" name="length" value=(taps.length) inputmode="decimal" autocomplete="off"
                            aria-describedby="length-hint" aria-invalid=[wrong.iter().any(|(f, _)| f == "length").then_some("true")];
                        p.hint #length-hint { (text("film.length_hint")) }
                    }
                }
            }
            div.act {
                button.go type="submit" name="do" value="keep" data-tap="keep" { (text("film.tap_keep")) }
                @if tapped { button type="submit" name="do" value="clear" formnovalidate { (text("film.tap_clear")) } }
                a.button href=(known.at()) { (text("film.back")) }
            }
        }
    };
    whole(Here::Kit, &title, main)
}

/// What a script needs to tap along; without one it is not there.
fn along() -> Markup {
    html! {
        div.tap-along hidden data-tap="along" {
            div.field {
                label for="film-file" { (text("film.tap_file")) }
                // Without a name: it is never sent.
                input #film-file type="file" accept="video/*" data-tap="file" aria-describedby="film-file-hint";
                p.hint #film-file-hint { (text("film.tap_file_hint")) }
            }
            p.missing-film role="alert" hidden data-tap="unplayable" { (text("film.tap_unplayable")) }
            video data-tap="film" controls playsinline hidden preload="metadata" aria-label=(text("film.tap_film")) {}
            p.tap-clock { span data-tap="clock" role="timer" { "0:00" } }
            p.tap-next { span.hint { (text("film.tap_next")) } " " strong data-tap="next" {} }
            button.big type="button" data-tap="now" { (text("film.tap_now")) }
            div.act {
                button type="button" data-tap="run" { (text("film.tap_begin")) }
                button.quiet type="button" data-tap="undo" { (text("film.tap_undo")) }
                button.quiet type="button" data-tap="again" { (text("film.tap_again")) }
            }
            p.hint { (text("film.tap_keys")) }
            p.unseen role="status" data-tap="told" {}
        }
    }
}

fn row(made: &Made, i: usize, start: &str, wrong: &[Problem]) -> Markup {
    let (id, act) = (field(i), &made.kit.acts[i]);
    let bad = wrong.iter().find(|(f, _)| *f == id).map(|(_, why)| why);
    let name = made.kit.names().get(i).map_or_else(|| act.place.clone(), |n| sentence_case(n));
    let planned = clock(made.planned[i].max(0.0) as u32);
    html! {
        li data-tap="row" {
            label for=(id) { span lang=(made.kit.language.tag()) { (name) } " " span.hint { (fill("film.tap_planned", &[("at", &planned)])) } }
            input.short #(id) type="text" name=(id) value=(start) inputmode="decimal" autocomplete="off" placeholder="0:00"
                aria-invalid=[bad.map(|_| "true")] aria-describedby=[bad.map(|_| format!("{id}-bad"))];
            @if let Some(bad) = bad { p.bad #{ (id) "-bad" } { (bad) } }
        }
    }
}

/// Keeps the times, or takes them out.
pub async fn keep(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let id = FilmId::from_number(id);
        let known = cabinet.read(|r| Known::read(r, id))?;
        if let Some(response) = kept(desk, cabinet, &known, &form)? {
            return Ok(response);
        }
        // Its version became another between reading and keeping: the form is held against that one.
        let known = cabinet.read(|r| Known::read(r, id))?;
        kept(desk, cabinet, &known, &form)?.map_or_else(keep::lost, Ok)
    })
    .await
}

/// The answer to a form; none where the film has another version by the time it is kept.
fn kept(desk: &Desk, cabinet: &Cabinet, known: &Known, form: &[u8]) -> Result<Option<Response>, Error> {
    let atlas = desk.atlas();
    let made = match known.made(&atlas) {
        Ok(made) => made,
        Err(why) => {
            return Ok(Some(keep::again(whole(Here::Kit, &known.film.name, page_of::refused(known, &why)))));
        }
    };
    let again = |taps: &Taps, told: &Told| Ok(Some(with_film(keep::again(page(known, &made, taps, told)))));
    let clear = said(form, "do") == "clear";
    let mut body = known.body.clone();
    if clear {
        (body.tapped, body.options.length) = (None, None);
    } else {
        let (meant, steps) = (Meant::read(form), made.kit.names());
        if !meant.is(known.version.number, steps) {
            let (taps, other) = meant.carried(form, steps);
            return again(&taps, &Told { other: Some(other), ..Told::default() });
        }
        let taps = Taps::read(form, made.planned.len());
        match taps.times(&made.planned) {
            Err(wrong) => return again(&taps, &Told { wrong, other: None }),
            Ok((times, length)) => {
                body.tapped = Some(Tapped { times, steps: steps.to_vec() });
                body.options.length = length;
            }
        }
        // What the kit says of them, before they are kept.
        if known.made_in(&atlas, known.language(), &body).is_err() {
            let wrong = vec![(field(0), text("film.not_made").to_owned())];
            return again(&taps, &Told { wrong, other: None });
        }
    }
    let json = Json::new(body.json())?;
    let (name, language) = (&known.film.name, &known.film.language);
    let new = NewFilm { version: known.version.id, name, language, body: &json };
    let done = cabinet.write(keep::now(desk), |w| {
        let same = w.film(known.film.id)?.version == known.version.id;
        if same {
            w.change_film(known.film.id, &new)?;
        }
        Ok(same)
    })?;
    Ok(done.then(|| to(&format!("{}?done={}", known.at(), if clear { "untapped" } else { "tapped" }))))
}
