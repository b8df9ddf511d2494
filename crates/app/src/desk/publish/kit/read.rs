//! The script to be read from two metres: large, in the colours of the night.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use cabinet::FilmId;
use maud::{Markup, html};

use super::known::{Known, Made};
use super::{parts, show};
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::keep::answer;
use crate::desk::map_routes::ok;
use crate::desk::page::{self, Here, whole};

/// The page.
pub async fn show(State(desk): State<Arc<Desk>>, Path(id): Path<i64>) -> Response {
    answer(desk, move |desk, cabinet| {
        let known = cabinet.read(|r| Known::read(r, FilmId::from_number(id)))?;
        match known.made(&desk.atlas()) {
            Ok(made) => {
                let styles = ["publish-kit.css"];
                let scripts = ["desk.js", "publish-kit.js"];
                Ok(ok(page::bare(&known.film.name, &styles, &scripts, reading(&known, &made))))
            }
            Err(why) => Ok(ok(whole(Here::Kit, &known.film.name, show::refused(&known, &why)))),
        }
    })
    .await
}

fn reading(known: &Known, made: &Made) -> Markup {
    let kit = &made.kit;
    let all = kit.acts.len();
    html! {
        div.reading {
            header.reading-head {
                h1 { (known.film.name) }
                p.unseen { (text("film.read_keys")) }
                a href=(known.at()) { (text("film.back")) }
            }
            div.reading-lines tabindex="0" role="region" aria-label=(text("film.script")) {
                @for (i, (act, lines)) in parts::by_act(kit).iter().enumerate() {
                    section.reading-act aria-labelledby={ "act-" (i) } tabindex="-1" {
                        h2 #{ "act-" (i) } {
                            span.film-at { (parts::at(lines.first().map_or(0.0, |l| l.from))) } " "
                            @if let Some(act) = act { span.reading-n { (fill("play.of", &[("n", &(act + 1)), ("all", &all)])) } " " }
                            span lang=(known.language().tag()) { (parts::act_name(kit, *act, i == 0)) }
                        }
                        @for line in lines { p lang=(known.language().tag()) { (line.says) } }
                    }
                }
            }
            div.reading-foot hidden {
                button.big type="button" data-read="back" { (text("film.read_back")) }
                button.big.go type="button" data-read="next" { (text("film.read_next")) }
            }
        }
    }
}
