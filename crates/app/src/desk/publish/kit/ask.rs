//! What is asked before a film, as it was filled in; and the form.

use maud::{Markup, html};
use plan::atlas::Atlas;
use publish::captions::MOST_RATE;
use publish::script::Pace;

use super::body::Body;
use crate::catalogue::{Language, fill, sentence_case, text};
use crate::desk::clients::said;
use crate::desk::fields::{Field, choice, lines};
use crate::filming::{Disclosed, On, Options};

/// The longest name and title, and the longest of everything else, in letters.
const MOST_NAME: usize = 120;
const MOST_WORDS: usize = 4000;

/// The paces that are offered: the word, its label, characters a second.
const PACES: [(&str, &str, f64); 3] = [
    ("calm", "film.pace_calm", Pace::SLOWEST),
    ("usual", "film.pace_usual", Pace::USUAL),
    ("brisk", "film.pace_brisk", MOST_RATE - 1.0),
];

/// The form, as typed.
#[derive(Clone, Default)]
pub struct Ask {
    /// What the film is called.
    pub name: String,
    /// A language tag.
    pub language: String,
    model: bool,
    mirrored: bool,
    pace: String,
    count: bool,
    quiet: bool,
    concerns: Vec<String>,
    unpaid: bool,
    paid: String,
    gifted: String,
    own: String,
    commission: String,
    title: String,
    words: String,
}

impl Ask {
    /// As it stands there at first.
    pub fn first(name: &str) -> Ask {
        Ask { name: name.to_owned(), mirrored: true, ..Ask::default() }
    }

    /// Of a film that is kept.
    pub fn of(name: &str, language: &str, body: &Body) -> Ask {
        let (o, d) = (&body.options, &body.options.disclosed);
        let near = |rate: f64| PACES.iter().min_by(|a, b| (a.2 - rate).abs().total_cmp(&(b.2 - rate).abs()));
        Ask {
            name: name.to_owned(),
            language: language.to_owned(),
            model: o.on.model(),
            mirrored: o.on.mirrored(),
            pace: near(o.pace.rate()).map_or_else(String::new, |p| p.0.to_owned()),
            count: o.count,
            quiet: o.quiet,
            concerns: o.concerns.clone(),
            unpaid: d.unpaid,
            paid: d.paid.clone(),
            gifted: d.gifted.clone(),
            own: d.own.join("\n"),
            commission: d.commission.join("\n"),
            title: body.title.clone(),
            words: body.words.clone(),
        }
    }

    /// Of a form.
    pub fn read(form: &[u8]) -> Ask {
        let yes = |name: &str| said(form, name) == "yes";
        let concerns = form_urlencoded::parse(form).filter(|(n, _)| n == "concern").map(|(_, v)| v.into_owned());
        Ask {
            name: said(form, "name"),
            language: said(form, "language"),
            model: said(form, "face") == "model",
            mirrored: said(form, "picture") != "camera",
            pace: said(form, "pace"),
            count: yes("count"),
            quiet: yes("quiet"),
            concerns: concerns.collect(),
            unpaid: yes("unpaid"),
            paid: said(form, "paid"),
            gifted: said(form, "gifted"),
            own: said(form, "own"),
            commission: said(form, "commission"),
            title: said(form, "title"),
            words: said(form, "words"),
        }
    }

    /// What it asks for, over what was kept (times stay); or which field can't be used: its id and a sentence that says what to do.
    ///
    /// # Errors
    /// Every field that is wrong.
    pub fn body(&self, atlas: &Atlas, kept: &Body) -> Result<Body, Vec<(&'static str, String)>> {
        let mut wrong = Vec::new();
        if self.name.is_empty() {
            wrong.push(("name", text("film.no_name").to_owned()));
        }
        let long = [("name", &self.name, MOST_NAME), ("title", &self.title, MOST_NAME)];
        let more =
            [("paid", &self.paid), ("gifted", &self.gifted), ("own", &self.own), ("commission", &self.commission)];
        let more = more.into_iter().chain([("words", &self.words)]).map(|(id, said)| (id, said, MOST_WORDS));
        for (id, said, most) in long.into_iter().chain(more) {
            let n = said.chars().count();
            if n > most {
                wrong.push((id, fill("film.too_long", &[("n", &n), ("most", &most)])));
            }
        }
        let list = |said: &str| said.lines().map(str::trim).filter(|l| !l.is_empty()).map(str::to_owned).collect();
        let on = match (self.model, self.mirrored) {
            (false, true) => On::Mirror,
            (false, false) => On::Own,
            (true, false) => On::Model,
            (true, true) => On::ModelMirrored,
        };
        let rate = PACES.iter().find(|p| p.0 == self.pace).map_or(Pace::USUAL, |p| p.2);
        let options = Options {
            on,
            pace: Pace::new(rate).unwrap_or_default(),
            count: self.count,
            quiet: self.quiet,
            concerns: self.concerns.clone(),
            disclosed: Disclosed {
                paid: self.paid.clone(),
                gifted: self.gifted.clone(),
                own: list(&self.own),
                commission: list(&self.commission),
                unpaid: self.unpaid,
            },
            length: kept.options.length,
        };
        if let Err(why) = options.check(atlas) {
            wrong.push(("unpaid", sentence_case(&why)));
        }
        if !wrong.is_empty() {
            return Err(wrong);
        }
        Ok(Body { options, title: self.title.clone(), words: self.words.clone(), tapped: kept.tapped.clone() })
    }

    /// The language asked for; English where it is none of ours.
    pub fn tag(&self) -> &'static str {
        Language::parse(&self.language).unwrap_or_default().tag()
    }

    /// The fields, in the order in which one thinks of a film.
    pub fn fields(&self, atlas: &Atlas) -> Markup {
        let languages: Vec<(&str, &str)> = Language::ALL.iter().map(|l| (l.tag(), language(*l))).collect();
        let faces = [("own", text("film.face_own")), ("model", text("film.face_model"))];
        let pictures = [("mirror", text("film.picture_mirror")), ("camera", text("film.picture_camera"))];
        let paces: Vec<(&str, &str)> = PACES.iter().map(|(word, label, _)| (*word, text(label))).collect();
        let word = |said: &str, usual: &'static str| if said.is_empty() { usual.to_owned() } else { said.to_owned() };
        html! {
            fieldset {
                legend { (text("film.part_film")) }
                (Field::text("name", text("film.name"), &self.name).required().hint(text("film.name_hint")).show())
                (choice("language", text("film.language"), &languages, self.tag()))
                (choice("face", text("film.face"), &faces, if self.model { "model" } else { "own" }))
                (choice("picture", text("film.picture"), &pictures, if self.mirrored { "mirror" } else { "camera" }))
                p.hint { (text("film.picture_hint")) }
                (choice("pace", text("film.pace"), &paces, &word(&self.pace, "usual")))
                (tick("quiet", "film.quiet", self.quiet))
                (tick("count", "film.count", self.count))
            }
            fieldset {
                legend { (text("film.part_told")) }
                p.hint { (text("film.told_hint")) }
                (tick("unpaid", "film.unpaid", self.unpaid))
                (Field::text("paid", text("film.paid"), &self.paid).hint(text("film.paid_hint")).show())
                (Field::text("gifted", text("film.gifted"), &self.gifted).show())
                (lines("own", text("film.own"), &self.own, 2, Some(text("film.a_line_each"))))
                (lines("commission", text("film.commission"), &self.commission, 2, Some(text("film.a_line_each"))))
            }
            fieldset {
                legend { (text("film.part_words")) }
                (Field::text("title", text("film.title"), &self.title).hint(text("film.title_hint")).show())
                (lines("words", text("film.words"), &self.words, 4, Some(text("film.words_hint"))))
                details.more-concerns open[!self.concerns.is_empty()] {
                    summary { (text("film.concerns")) }
                    p.hint { (text("film.concerns_hint")) }
                    div.choices { @for concern in &atlas.concerns {
                        label.choice { input type="checkbox" name="concern" value=(concern.id) checked[self.concerns.contains(&concern.id)]; span { (sentence_case(&concern.name)) } }
                    } }
                }
            }
        }
    }
}

/// A language by its name.
pub fn language(language: Language) -> &'static str {
    match language {
        Language::English => text("film.english"),
        Language::German => text("film.german"),
    }
}

fn tick(name: &str, label: &'static str, on: bool) -> Markup {
    html! { div.field { label.choice for=(name) { input #(name) type="checkbox" name=(name) value="yes" checked[on]; span { (text(label)) } } } }
}

/// What can't be used, each with the way to its field.
pub fn all_wrong(wrong: &[(&'static str, String)]) -> Markup {
    html! {
        @if !wrong.is_empty() {
            div.missing role="alert" {
                p { (text("film.wrong")) }
                ul { @for (field, why) in wrong { li { a href={ "#" (field) } { (why) } } } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_becomes_a_body_and_a_body_the_form() {
        let atlas = Atlas::built_in();
        let form = b"name=Jaw&language=de&face=model&picture=camera&pace=brisk&count=yes&concern=tight_jaw&paid=A+firm&own=Oil%0AStone+%0A&title=T&words=W";
        let body = Ask::read(form).body(&atlas, &Body::default()).expect("it is right");
        assert_eq!((body.options.on, body.options.count), (On::Model, true));
        assert_eq!(body.options.disclosed.own, ["Oil", "Stone"]);
        assert_eq!((body.title.as_str(), body.words.as_str()), ("T", "W"));
        let again = Ask::of("Jaw", "de", &body);
        assert_eq!(again.body(&atlas, &Body::default()).expect("it is right"), body);
        assert_eq!((again.tag(), again.pace.as_str()), ("de", "brisk"));
    }

    #[test]
    fn what_is_wrong_names_its_field_and_what_to_do() {
        let atlas = Atlas::built_in();
        let wrong = |form: &str| {
            let all = Ask::read(form.as_bytes()).body(&atlas, &Body::default()).expect_err("it is wrong");
            all.into_iter().map(|(field, _)| field).collect::<Vec<_>>()
        };
        assert_eq!(wrong("name="), ["name"]);
        assert_eq!(wrong("name=a&unpaid=yes&paid=A+firm"), ["unpaid"]);
        assert_eq!(wrong(&format!("name={}&words={}", "n".repeat(121), "w".repeat(4001))), ["name", "words"]);
        assert_eq!(wrong("name=a&concern=nothing"), ["unpaid"]);
    }
}
