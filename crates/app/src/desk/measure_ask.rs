//! The page that asks for the photographs of a visit.

use colour::{Linear, Tone};
use maud::{Markup, html};

use super::album::PEOPLE;
use super::measure_store::MOST_PHOTOGRAPHS;
use super::page::{self, Here};
use super::visitor::token;
use crate::catalogue::{fill, text};
use crate::measuring::words;

/// Something to be said above the page.
pub enum Note<'a> {
    /// Nothing.
    None,
    /// The photographs were forgotten.
    Forgotten,
    /// The address names a visit that is no longer kept.
    Gone,
    /// Why nothing can be measured; the words say what to do.
    Refused(&'a [String]),
}

/// The page.
pub fn page(tone: Option<Tone>, mirrored: bool, note: &Note<'_>) -> Markup {
    let main = html! {
        div.whose {
            h1 { (text("measpage.title")) }
            p.lead { (text("measpage.lead")) }
            @match note {
                Note::None => {}
                Note::Forgotten => { p.said role="status" { (text("measpage.forgotten")) } }
                Note::Gone => { p.said role="status" { (text("measpage.gone")) } }
                Note::Refused(why) => { div.missing role="alert" { @for why in *why { p { (why) } } } }
            }
            section.bring aria-labelledby="bring-title" {
                h2 #bring-title { (text("measpage.bring")) }
                form #measure method="post" action="/measure" enctype="multipart/form-data" {
                    (token())
                    div.drop #measure-drop {
                        label for="photos" { (text("measpage.photos")) }
                        input #photos type="file" name="photo" multiple required
                            accept="image/jpeg,image/png,image/webp,image/heic,image/heif,.heic,.heif";
                        p.hint { (text("measpage.photos_hint")) }
                        p.hint #chosen role="status" data-one=(text("measpage.chosen_one")) data-many=(text("measpage.chosen"))
                            data-most=(text("measpage.chosen_most")) {}
                    }
                    (conventions())
                    (tones(tone))
                    label.choice for="mirrored" {
                        input #mirrored type="checkbox" name="mirrored" value="yes" checked[mirrored];
                        span { (text("mappage.mirrored")) }
                    }
                    p.hint { (text("mappage.mirrored_hint")) }
                    div.act {
                        button.go type="submit" { (text("measpage.measure")) }
                        p.hint #measuring role="status" data-busy=(text("measpage.busy")) {}
                    }
                    p.kept-note { (fill("mappage.kept", &[("most", &super::album::MOST_FACES)])) }
                }
            }
            section aria-labelledby="card-title" {
                h2 #card-title { (text("measpage.card")) }
                p { (text("measpage.card_why")) }
                p { (text("measpage.card_how")) " " code { "tragion card card.pdf" } }
            }
            (people())
        }
    };
    page::whole(Here::Measure, text("measpage.page"), main)
}

/// How to take the photographs.
pub fn conventions() -> Markup {
    html! {
        details.conventions {
            summary { (text("measpage.how")) }
            ul {
                @for key in ["measpage.how_light", "measpage.how_place", "measpage.how_face", "measpage.how_when", "measpage.how_many"] {
                    li { (text(key)) }
                }
            }
        }
    }
}

/// The six classes as swatches, and the photograph's own word.
pub fn tones(chosen: Option<Tone>) -> Markup {
    html! {
        fieldset.tones {
            legend { (text("measpage.tone")) }
            p.hint { (text("measpage.tone_hint")) }
            div.swatches {
                label.choice for="tone-photo" {
                    input #tone-photo type="radio" name="tone" value="photo" checked[chosen.is_none()];
                    span { (text("measpage.tone_photo")) }
                }
                @for tone in Tone::ALL {
                    @let id = format!("tone-{}", tone.name());
                    label.choice for=(id) {
                        input #(id) type="radio" name="tone" value=(tone.name()) checked[chosen == Some(tone)];
                        svg.swatch viewBox="0 0 40 28" width="40" height="28" aria-hidden="true" {
                            rect x="0.75" y="0.75" width="38.5" height="26.5" rx="2" fill=(hex(tone)) {}
                        }
                        span { (words::tone(tone)) }
                    }
                }
            }
        }
    }
}

/// The nominal cheek of a class as a page shows it: sRGB (IEC 61966-2-1), cut to what a screen has.
fn hex(tone: Tone) -> String {
    let Linear(c) = Linear::of_xyz(tone.nominal_cheek().xyz());
    let encoded = c.map(|v| {
        let v = v.clamp(0.0, 1.0);
        let e = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
        (255.0 * e).round() as u8
    });
    format!("#{:02x}{:02x}{:02x}", encoded[0], encoded[1], encoded[2])
}

/// The demo's people.
fn people() -> Markup {
    html! {
        section.people aria-labelledby="people-title" {
            h2 #people-title { (text("mappage.people")) }
            p.hint { (text("measpage.people_hint")) }
            form method="post" action="/measure/choose" {
                (token())
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
            p.hint { (fill("measpage.most", &[("most", &MOST_PHOTOGRAPHS)])) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn swatches_grow_darker_from_class_to_class() {
        let light = |tone: Tone| u8::from_str_radix(&hex(tone)[3..5], 16).expect("a number");
        let all: Vec<u8> = Tone::ALL.into_iter().map(light).collect();
        assert!(all.windows(2).all(|w| w[0] > w[1]), "{all:?}");
    }
}
