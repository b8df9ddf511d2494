//! The page of a text: the form, and beside it the text with its places marked and what was found.

use cabinet::PublicText;
use maud::{Markup, html};

use super::super::found::{self, Group, More, marked};
use super::super::standing::Standing;
use super::take;
use super::typed::{KINDS, Looked, Typed, kind_name, most};
use super::{consent, news};
use crate::catalogue::{fill, text};
use crate::desk::fields::Field;
use crate::desk::keep;
use crate::desk::page::{self, Here};
use crate::desk::visitor::token;

/// What the page is made of.
pub struct Page<'p> {
    /// The rules.
    pub standing: &'p Standing,
    /// The form.
    pub typed: &'p Typed,
    /// The text as it was kept; none: it is new.
    pub kept: Option<&'p PublicText>,
    /// What was found; none: it was not checked yet.
    pub looked: Option<&'p Looked>,
    /// What is wrong.
    pub wrong: &'p [String],
    /// What was done.
    pub note: Option<&'p str>,
    /// What stood in the form before a file came in its place.
    pub before: Option<&'p str>,
}

impl Page<'_> {
    /// The whole page.
    pub fn show(&self) -> Markup {
        let title = self.kept.map_or_else(|| text("texts.new").to_owned(), |k| k.title.clone());
        let main = html! {
            div.pub-head {
                h1 { (title) }
                @match self.kept {
                    None => p.lead { (text("texts.new_lead")) },
                    Some(kept) => p.hint { (kind_name(&kept.kind)) ". " (fill("texts.kept_on", &[("day", &keep::day_in_words(kept.changed)), ("checked", &keep::day_in_words(kept.checked))])) },
                }
                (found::notice())
            }
            @if let Some(note) = self.note { p.said role="status" { (note) } }
            @if !self.wrong.is_empty() { div.missing role="alert" { @for said in self.wrong { p { (said) } } } }
            @if let Some(kept) = self.kept { (self.news(kept)) }
            form.text-form #text-form method="post" action=(self.action()) data-look="/publish/texts/look" {
                (token())
                input type="hidden" name="from" value=(self.typed.file);
                div.text-write { (self.fields()) }
                div.text-result #text-result { (self.result()) }
            }
            @if let Some(before) = self.before {
                details.add { summary { (text("texts.before_file")) } div.field { label.unseen for="before" { (text("texts.before_file")) } textarea #before rows="8" readonly { "\n" (before) } } }
            }
            @if let Some(kept) = self.kept {
                p.text-ways {
                    a href={ "/publish/texts/" (kept.id) "/file" } { (text("texts.download")) }
                    a href={ "/publish/texts/" (kept.id) "/gone" } { (text("texts.take_out")) }
                    a href="/publish" { (text("texts.back")) }
                }
            } @else { p.text-ways { a href="/publish" { (text("texts.back")) } } }
        };
        page::whole(Here::Publish, &title, main)
    }

    fn action(&self) -> String {
        self.kept.map_or_else(|| "/publish/texts/new".to_owned(), |k| format!("/publish/texts/{}", k.id))
    }

    /// What changed with the rules, until it was looked at.
    fn news(&self, kept: &PublicText) -> Markup {
        let told = news::differences(kept, self.standing);
        html! {
            @if !told.is_empty() {
                section.part.rules-news aria-labelledby="news-title" {
                    h2 #news-title { (text("texts.news_title")) }
                    p { (text("texts.news")) }
                    (news::list(&told))
                    form method="post" action={ "/publish/texts/" (kept.id) "/seen" } { (token()) button type="submit" { (text("texts.seen")) } }
                }
            }
        }
    }

    fn fields(&self) -> Markup {
        let typed = self.typed;
        html! {
            div.field {
                label for="kind" { (text("texts.kind")) }
                select #kind name="kind" { @for (word, key) in KINDS { option value=(word) selected[word == typed.kind] { (text(key)) } } }
            }
            fieldset.field.countries {
                legend { (text("texts.countries")) }
                div.row { @for (code, name) in self.standing.countries() {
                    label.choice for={ "country-" (code) } {
                        input #{ "country-" (code) } type="checkbox" name="country" value=(code) checked[typed.countries.contains(code)];
                        span { (name) }
                    }
                } }
            }
            div.field.words-field {
                label for="body" { (text("texts.body")) }
                textarea #body name="body" rows="12" spellcheck="true" aria-describedby="body-hint" { "\n" (typed.body) }
                p.hint #body-hint { (fill("texts.body_hint", &[("most", &most())])) @if !typed.file.is_empty() { " " (fill("texts.from_file", &[("file", &typed.file)])) } }
            }
            div.act {
                button.go type="submit" name="do" value="check" { (text("texts.check")) }
                button type="submit" name="do" value="keep" { (text("texts.keep")) }
            }
            (Field::text("title", text("texts.title"), &typed.title).hint(text("texts.title_hint")).show())
            div.field.bring {
                label for="file" { (text("texts.file")) }
                input #file type="file" name="file" accept=".vtt,.srt,.txt,.sbv,.md,text/plain,text/vtt" aria-describedby="file-hint";
                p.hint #file-hint { (text("texts.file_hint")) }
                button.quiet #bring type="submit" name="do" value="bring" formenctype="multipart/form-data" { (text("texts.bring")) }
            }
        }
    }

    /// The part that changes as one types: what was found, in a line that is read out, and in full.
    pub fn result(&self) -> Markup {
        let told = self.looked.map(|l| format!("{}.", crate::catalogue::sentence_case(&found::summary(&l.claims))));
        html! {
            h2 #result-title { (text("texts.result")) }
            p.told #text-told role="status" { (told.as_deref().unwrap_or(text("texts.not_yet"))) }
            div.text-found #text-found {
                @match self.looked {
                    None => { @for said in self.wrong { p { (said) } } }
                    Some(looked) => (self.found(looked)),
                }
            }
        }
    }

    fn found(&self, looked: &Looked) -> Markup {
        let body: Vec<char> = self.typed.body.chars().collect();
        let sentences = take::Sentences::of(&looked.spoken);
        let take = |n: usize, group: &Group<'_>, instead: &str| {
            let edits = take::edits(&body, &sentences, group.start, instead);
            html! { @if edits.is_none() { p.hint { (text("texts.no_take")) } } @if let Some(edits) = edits {
                button.quiet.take type="submit" name="take" value={ (group.start) "," (group.end) "," (group.kind) "," (group.topic) "," (instead) }
                    data-edits=(serde_json::to_string(&edits).unwrap_or_default())
                    aria-label=(fill("texts.take_of", &[("n", &(n + 1))])) { (text("texts.take")) }
            } }
        };
        let more = More { places: true, take: Some(&take), ..More::default() };
        let long = self.typed.body.lines().count() > 14 || body.len() > 1400;
        html! {
            @for note in &looked.spoken.notes { p.hint { (super::typed::said(note)) } }
            @if !looked.claims.is_empty() {
                (key())
                div.marked.long[long] tabindex=[long.then_some("0")] role="group" aria-label=(text("texts.marked")) { (marked(&self.typed.body, &looked.claims, "found")) }
            }
            (found::found(&looked.claims, self.standing, &more))
            (consent::note(&looked.claims, &looked.named))
        }
    }
}

/// What the lines under the words mean.
fn key() -> Markup {
    html! {
        ul.key aria-label=(text("texts.key")) {
            li { span.place.struck { (text("found.short_avoid")) } }
            li { span.place.dashed { (text("found.short_trial")) } }
            li { span.place.dotted { (text("found.short_disclosure")) } }
            li { span.place.clear { (text("found.short_ok")) } }
        }
    }
}
