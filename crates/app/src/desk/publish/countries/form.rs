//! The form of a practice's own country.

use maud::{Markup, html};
use vocab::Finding;

use super::super::found::words;
use super::super::shipped::{COUNTRIES, Statement, statements};
use super::super::standing::Standing;
use super::super::texts::said;
use super::own::{Own, OwnVerdict, OwnWords};
use crate::catalogue::{fill, text};
use crate::desk::fields::{Field, choice};
use crate::desk::map_routes::value;

/// Empty lines for further words.
const MORE_WORDS: usize = 3;
/// At most so many lines of words are read from a form.
const MOST_WORDS: usize = 300;

/// Based on no country.
pub const NO_BASE: &str = "none";

/// The words of a verdict in the form, each with its text; empty: as the country it is based on.
const VERDICTS: [&str; 5] = ["avoid", "needs_trial", "needs_disclosure", "ok", "none"];

fn key(s: &Statement) -> String {
    format!("{}.{}", s.kind, s.topic)
}

/// What a form says; what is wrong with it is the check's to say.
pub fn read(form: &[u8]) -> Own {
    let of = |name: &str| value(form, name).unwrap_or_default();
    let line = |name: &str| of(name).split_whitespace().collect::<Vec<_>>().join(" ");
    let mut own = Own {
        code: line("code").to_lowercase(),
        name: line("name"),
        based_on: Some(of("based_on"))
            .filter(|b| COUNTRIES.contains(&b.as_str()))
            .unwrap_or_else(|| NO_BASE.to_owned()),
        ..Own::default()
    };
    for s in statements() {
        let verdict = of(&format!("verdict.{}", key(s)));
        let (reason, source) = (line(&format!("reason.{}", key(s))), line(&format!("source.{}", key(s))));
        // A reason without a verdict is kept as well: it is not lost, and the check says what is missing.
        if VERDICTS.contains(&verdict.as_str()) || !reason.is_empty() || !source.is_empty() {
            own.verdicts.push(OwnVerdict { kind: s.kind.clone(), topic: s.topic.clone(), verdict, reason, source });
        }
    }
    for n in 0..MOST_WORDS {
        let said = of(&format!("words.{n}"));
        if value(form, &format!("words.{n}")).is_none() {
            break;
        }
        let words: Vec<String> = said
            .split([';', '\n', '\r'])
            .map(|w| w.split_whitespace().collect::<Vec<_>>().join(" "))
            .filter(|w| !w.is_empty())
            .collect();
        let source = line(&format!("from.{n}"));
        if words.is_empty() && source.is_empty() {
            continue;
        }
        let statement = of(&format!("statement.{n}"));
        let (kind, topic) = statement.split_once('.').unwrap_or_default();
        own.words.push(OwnWords { kind: kind.to_owned(), topic: topic.to_owned(), words, source });
    }
    own
}

/// What the form can tell wrong by itself, at its fields; the rest is the check's.
pub fn wrong(own: &Own, standing: &Standing) -> Vec<String> {
    let mut all = Vec::new();
    if own.name.is_empty() {
        all.push(text("countries.no_name").to_owned());
    }
    let fits = (2..=12).contains(&own.code.len())
        && own.code.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if !fits {
        all.push(text("countries.bad_code").to_owned());
    } else if standing.codes().contains(&own.code) {
        all.push(fill("countries.code_taken", &[("code", &own.code), ("name", &standing.name(&own.code))]));
    }
    for v in own.verdicts.iter().filter(|v| [&v.verdict, &v.reason, &v.source].iter().any(|s| s.is_empty())) {
        all.push(fill("countries.no_verdict", &[("statement", &words::statement(&v.kind, &v.topic))]));
    }
    for w in &own.words {
        if w.words.is_empty() {
            all.push(fill("countries.no_words", &[("source", &w.source)]));
        } else if w.kind.is_empty() || w.source.is_empty() {
            all.push(fill("countries.no_statement", &[("words", &w.words.join("; "))]));
        }
    }
    all
}

/// What was wrong, above the form.
pub fn told(wrong: &[String]) -> Markup {
    html! { @if !wrong.is_empty() { div.missing role="alert" { p { (text("countries.to_mend")) } ul { @for said in wrong { li { (said) } } } } } }
}

/// The check's findings as sentences: with their lines in a file, without them in a form, which shows none.
pub fn sentences(findings: &[Finding], lines: bool) -> Vec<String> {
    findings.iter().map(|f| if lines { said(f) } else { said(&Finding { line: 0, ..f.clone() }) }).collect()
}

/// The fields.
pub fn fields(own: &Own, standing: &Standing) -> Markup {
    let bases: Vec<(String, String)> = COUNTRIES
        .iter()
        .map(|c| ((*c).to_owned(), standing.name(c)))
        .chain([(NO_BASE.to_owned(), text("countries.no_base").to_owned())])
        .collect();
    let bases: Vec<(&str, &str)> = bases.iter().map(|(c, n)| (c.as_str(), n.as_str())).collect();
    html! {
        (Field::text("name", text("countries.name"), &own.name).show())
        (Field::text("code", text("countries.code"), &own.code).hint(text("countries.code_hint")).show())
        (choice("based_on", text("countries.based_on"), &bases, &own.based_on))
        section.verdicts aria-labelledby="verdicts-title" {
            h2 #verdicts-title { (text("countries.verdicts")) }
            p.hint { (text("countries.verdicts_hint")) }
            @for (kind, of) in kinds() { (kind_part(kind, &of, own)) }
        }
        section.verdicts aria-labelledby="words-title" {
            h2 #words-title { (text("countries.words")) }
            p.hint { (text("countries.words_hint")) }
            @for n in 0..own.words.len() + MORE_WORDS { (words_part(n, own.words.get(n))) }
        }
    }
}

/// The statements by type, in their order.
fn kinds() -> Vec<(&'static str, Vec<&'static Statement>)> {
    let mut all: Vec<(&str, Vec<&Statement>)> = Vec::new();
    for s in statements() {
        match all.last_mut() {
            Some((kind, of)) if *kind == s.kind => of.push(s),
            _ => all.push((&s.kind, vec![s])),
        }
    }
    all
}

fn kind_part(kind: &str, of: &[&Statement], own: &Own) -> Markup {
    let said = |s: &Statement| own.verdicts.iter().find(|v| v.kind == s.kind && v.topic == s.topic);
    let count = of.iter().filter(|s| said(s).is_some()).count();
    html! {
        details.verdict-kind open[count > 0] {
            summary { (words::kind(kind)) @if count > 0 { span.hint { (fill("countries.differ", &[("n", &count)])) } } }
            @for s in of { (statement_part(s, said(s))) }
        }
    }
}

fn statement_part(s: &Statement, said: Option<&OwnVerdict>) -> Markup {
    let (topic, key) = (s.topic.replace('_', " "), key(s));
    let [verdict, reason, source] = ["verdict", "reason", "source"].map(|name| format!("{name}.{key}"));
    html! {
        fieldset.verdict-row {
            legend { (crate::catalogue::sentence_case(&topic)) }
            div.field {
                label for=(verdict) { (text("countries.verdict")) }
                select #(verdict) name=(verdict) {
                    option value="" selected[said.is_none_or(|v| v.verdict.is_empty())] { (text("countries.as_base")) }
                    @for word in VERDICTS { option value=(word) selected[said.is_some_and(|v| v.verdict == word)] { (words::of_data(word)) } }
                }
            }
            (Field::text(&reason, text("countries.reason"), said.map_or("", |v| &v.reason)).show())
            (Field::text(&source, text("countries.source"), said.map_or("", |v| &v.source)).show())
        }
    }
}

fn words_part(n: usize, of: Option<&OwnWords>) -> Markup {
    let [statement, said, source] = ["statement", "words", "from"].map(|name| format!("{name}.{n}"));
    let chosen = |s: &Statement| of.is_some_and(|w| w.kind == s.kind && w.topic == s.topic);
    html! {
        fieldset.verdict-row.of-words {
            legend { (fill("countries.words_n", &[("n", &(n + 1))])) }
            (Field::text(&said, text("countries.when"), &of.map(|w| w.words.join("; ")).unwrap_or_default()).show())
            div.field {
                label for=(statement) { (text("countries.makes")) }
                select #(statement) name=(statement) {
                    option value="" { (text("countries.choose")) }
                    @for (kind, of) in kinds() { optgroup label=(words::kind(kind)) {
                        @for s in of { option value=(key(s)) selected[chosen(s)] { (s.topic.replace('_', " ")) } }
                    } }
                }
            }
            (Field::text(&source, text("countries.from"), of.map_or("", |w| &w.source)).show())
        }
    }
}
