//! First and latest, and the report.
//!
//! The two pictures stay on the client's page: like every picture of a client they need consent to photographs, and no cache keeps them. A
//! report leaves the page: with photographs it needs consent to publication too, without them consent to care.

mod ask;
mod pictures;

use std::sync::Arc;

use axum::Router;
use axum::routing::get;
use cabinet::{ClientId, ConsentKind, Error, Reader, WeeksId};
use maud::{Markup, html};

use super::Desk;
use crate::catalogue::{fill, text};
use crate::following::one::Followed;
use crate::following::pair::{Chosen, choose};
use crate::following::report::Verdict;
use crate::following::report_words::light;
use crate::following::words::day;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/clients/{id}/weeks/{weeks}/report", get(ask::show))
        .route("/clients/{id}/weeks/{weeks}/report.pdf", get(ask::by_address).post(ask::save))
        .route("/clients/{id}/weeks/{weeks}/first.jpg", get(pictures::first))
        .route("/clients/{id}/weeks/{weeks}/latest.jpg", get(pictures::latest))
}

/// The address of a client's weeks.
fn address(client: ClientId, weeks: WeeksId) -> String {
    format!("/clients/{client}/weeks/{weeks}")
}

/// First and latest as the rule chooses them for these weeks; none where there are no two such visits.
fn chosen(r: &Reader<'_>, f: &Followed) -> Result<Option<[Chosen; 2]>, Error> {
    choose(r, f.client, f.body.first, [f.body.earliest(), f.today.min(f.body.end())])
}

/// Why the verdict can't stand under the pictures, or the verdict.
fn verdict(f: &Followed) -> Result<String, String> {
    Verdict::of(f).map(|v| v.sentence().to_owned()).map_err(|why| why.words(f.body.first))
}

/// First and latest with the verdict under them, and the way to the report: for the follow-up page.
///
/// # Errors
/// Of the store.
pub fn section(r: &Reader<'_>, f: &Followed) -> Result<Markup, Error> {
    let photographs = r.consents_to(f.client, ConsentKind::Photographs)?;
    let publication = r.consents_to(f.client, ConsentKind::Publication)?;
    let chosen = if photographs { chosen(r, f)? } else { None };
    let verdict = verdict(f);
    let at = address(f.client, f.weeks.id);
    Ok(html! {
        section.part #pair aria-labelledby="pair-title" {
            h2 #pair-title { (text("reportpage.section")) }
            @match &chosen {
                _ if !photographs => p { (text("reportpage.no_photo_consent")) " " a href={ "/clients/" (f.client) "#consents" } { (text("reportpage.to_consents")) } },
                None => p { (text("reportpage.too_few")) },
                Some(both) => {
                    (pair(&at, f, both))
                    p.verdict { (sentence(&verdict)) }
                    p.hint { (fill("report.pair_days", &[("n", &(both[1].day - both[0].day))])) " " (text("report.pair_rule")) " " (text("report.pair_eyes")) " " (text("report.pair_mind")) }
                    @if !publication { p.hint { (text("reportpage.stay")) } }
                }
            }
        }
        section.part #report aria-labelledby="report-title" {
            h2 #report-title { (text("reportpage.report_part")) }
            @if let Err(why) = &verdict { p { (why) } }
            div.act { a.button href={ (at) "/report" } { (text("reportpage.to_report")) } }
        }
    })
}

/// What stands under the two pictures.
fn sentence(verdict: &Result<String, String>) -> String {
    match verdict {
        Ok(sentence) => sentence.clone(),
        Err(why) => fill("reportpage.no_verdict", &[("why", why)]),
    }
}

/// The two pictures, each with its day and its light.
fn pair(at: &str, f: &Followed, both: &[Chosen; 2]) -> Markup {
    html! {
        div.pair {
            @for (name, key, chosen) in [("first.jpg", "report.first_photo", &both[0]), ("latest.jpg", "report.latest_photo", &both[1])] {
                @let when = day(chosen.day, Some(f.body.first));
                @let light = light(chosen);
                figure {
                    img src={ (at) "/" (name) } width="720" height="960" loading="lazy"
                        alt=(fill("report.photograph", &[("day", &when), ("light", &light)]));
                    figcaption { strong { (fill(key, &[("day", &when)])) } br; (light) }
                }
            }
        }
    }
}
