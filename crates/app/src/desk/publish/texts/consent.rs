//! A client's story or picture in a text: whether their consent to publication stands in their record.

use cabinet::{ClientId, ConsentKind, Error, Reader};
use maud::{Markup, html};
use publish::claims::Claim;
use vocab::folded;

use crate::catalogue::{fill, text};

/// So many clients' names are looked for.
const MOST: u32 = 20_000;
/// So many that are named are told.
const TOLD: usize = 8;

/// A client whose name stands in a text.
pub struct Named {
    id: ClientId,
    name: String,
    /// Whether they consent to publication now.
    consents: bool,
}

/// The clients whose whole name of two words or more stands in the title or the text, in the order of their names. One word alone names too many.
///
/// # Errors
/// Of the store.
pub fn named(r: &Reader<'_>, title: &str, body: &str) -> Result<Vec<Named>, Error> {
    let body = format!(" {}  {} ", folded(title), folded(body));
    let stands = |name: &str| {
        let name = folded(name);
        name.contains(' ') && body.contains(&format!(" {name} "))
    };
    let found = r.clients(None, MOST)?.into_iter().filter(|line| stands(&line.name)).take(TOLD);
    found
        .map(|line| {
            let consents = r.consents_to(line.id, ConsentKind::Publication)?;
            Ok(Named { id: line.id, name: line.name, consents })
        })
        .collect()
}

/// What is said beside a story, a before and after, or a client's name; nothing where there is none of them.
pub fn note(claims: &[Claim], named: &[Named]) -> Markup {
    let story = claims.iter().any(|c| c.kind == "story" || c.kind == "before_after");
    html! {
        @if story || !named.is_empty() {
            div.consent-note {
                h3 { (text("texts.consent_title")) }
                @for of in named {
                    p {
                        (fill(if of.consents { "texts.consent_stands" } else { "texts.consent_lacks" }, &[("name", &of.name)])) " "
                        a href={ "/clients/" (of.id) "#consents" } { (fill("texts.consent_of", &[("name", &of.name)])) }
                    }
                }
                @if story && named.is_empty() { p { (text("texts.consent")) " " a href="/clients" { (text("texts.consent_way")) } } }
            }
        }
    }
}
