//! The page that asks whose face: one of the demo's people, a photograph, or the drawn face.

use maud::{Markup, html};

use super::album::{Album, PEOPLE};
use super::page::{self, Here};
use super::visitor::token;
use crate::catalogue::{fill, text};

/// Something to be said above the page.
pub enum Note<'a> {
    /// Nothing.
    None,
    /// A photograph was forgotten.
    Forgotten,
    /// The address names a photograph that is no longer kept.
    Gone,
    /// What was sent gives no map; the words say what to do.
    Refused(&'a str),
}

/// The page. `routine`: the one that waits for a face.
pub fn page(album: &Album, routine: Option<u64>, mirrored: bool, note: &Note<'_>) -> Markup {
    let waiting = routine.and_then(|id| album.routine(id));
    let routine = waiting.as_ref().map(|r| r.id);
    let main = html! {
        div.whose {
            h1 { (text("mappage.whose")) }
            p.lead { (text("mappage.lead")) }
            @if let Some(waiting) = &waiting { p.waiting { (fill("mappage.waiting", &[("title", &waiting.title)])) } }
            @match note {
                Note::None => {}
                Note::Forgotten => { p.said role="status" { (text("mappage.forgotten")) } }
                Note::Gone => { p.said role="status" { (text("mappage.gone")) } }
                Note::Refused(why) => { div.missing role="alert" { p { (why) } } }
            }
            (brought(album, routine))
            (bring(routine, mirrored))
            (people(routine))
            section.one-of-all aria-labelledby="drawn-title" {
                h2 #drawn-title { (text("mappage.drawn_title")) }
                p { a.button href={ "/map/drawn" (query(routine)) } { (text("mappage.drawn")) } }
                @if super::visitor::me().is_some_and(|m| m.inside) { p { a href="/live" { (text("live.link")) } } }
            }
        }
    };
    page::whole(Here::Map, text("mappage.page"), main)
}

fn query(routine: Option<u64>) -> String {
    routine.map_or_else(String::new, |id| format!("?routine={id}"))
}

fn carried(routine: Option<u64>) -> Markup {
    html! { @if let Some(id) = routine { input type="hidden" name="routine" value=(id); } }
}

/// The form for a photograph. It works without script; with script a photograph can be dropped on it.
fn bring(routine: Option<u64>, mirrored: bool) -> Markup {
    html! {
        section.bring aria-labelledby="bring-title" {
            h2 #bring-title { (text("mappage.bring")) }
            form #bring method="post" action="/map" enctype="multipart/form-data" {
                (token())
                (carried(routine))
                div.drop #drop {
                    label for="photo" { (text("mappage.photo")) }
                    input #photo type="file" name="photo" required
                        accept="image/jpeg,image/png,image/webp,image/heic,image/heif,.heic,.heif";
                    p.hint { (text("mappage.photo_hint")) }
                    p.hint.dropping hidden { (text("mappage.drop_hint")) }
                }
                label.choice for="mirrored" {
                    input #mirrored type="checkbox" name="mirrored" value="yes" checked[mirrored];
                    span { (text("mappage.mirrored")) }
                }
                p.hint { (text("mappage.mirrored_hint")) }
                div.act {
                    button.go type="submit" { (text("mappage.make")) }
                    p.hint #bringing role="status" data-busy=(text("mappage.busy")) {}
                }
                p.kept-note { (fill("mappage.kept", &[("most", &super::album::MOST_FACES)])) }
            }
        }
    }
}

/// The demo's people.
fn people(routine: Option<u64>) -> Markup {
    html! {
        section.people aria-labelledby="people-title" {
            h2 #people-title { (text("mappage.people")) }
            p.hint { (text("mappage.people_hint")) }
            form method="post" action="/map/choose" {
                (token())
                (carried(routine))
                ul {
                    @for n in 0..PEOPLE.len() {
                        li {
                            button type="submit" name="person" value=(n) {
                                img src={ "/people/" (n) ".jpg" } alt="" width="288" height="360" loading="lazy";
                                span { (fill("mappage.person", &[("n", &(n + 1))])) }
                                span.tag { (text("mappage.invented")) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Photographs that are kept already.
fn brought(album: &Album, routine: Option<u64>) -> Markup {
    let kept = album.brought();
    html! {
        @if !kept.is_empty() {
            section.brought aria-labelledby="brought-title" {
                h2 #brought-title { (text("mappage.brought")) }
                ul {
                    @for face in &kept {
                        li {
                            a href={ "/map/" (face.id) (query(routine)) } {
                                img src={ "/map/" (face.id) "/photo.jpg" } alt="" width="72" height="90";
                                span { (fill("mappage.brought_one", &[("n", &face.id)])) }
                            }
                        }
                    }
                }
            }
        }
    }
}
