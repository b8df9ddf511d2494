//! What another state of the rules changed about a text: told until somebody has looked at it.

use cabinet::PublicText;
use maud::{Markup, html};
use publish::claims::Claim;

use super::super::found::words;
use super::super::standing::Standing;
use super::kept::from_json;
use crate::catalogue::{fill, text};

/// So many differences are told by name.
const TOLD: usize = 12;

/// The differences in words, in the order of the text; empty where nothing is to be told.
pub fn differences(kept: &PublicText, standing: &Standing) -> Vec<String> {
    let Some(before) = &kept.before else { return Vec::new() };
    let (before, now) = (from_json(before), from_json(&kept.findings));
    let same = |a: &Claim, b: &Claim| {
        (a.start, a.end, &a.kind, &a.topic, &a.country) == (b.start, b.end, &b.kind, &b.topic, &b.country)
    };
    let mut all: Vec<(usize, String)> = Vec::new();
    for claim in &now {
        let (verdict, country) = (words::short(claim.verdict), standing.name(&claim.country));
        match before.iter().find(|b| same(b, claim)) {
            None => all.push((
                claim.start,
                fill("texts.news_new", &[("words", &claim.text), ("verdict", &verdict), ("country", &country)]),
            )),
            Some(was) if was.verdict != claim.verdict => {
                let was = words::short(was.verdict);
                let values: [(&str, &dyn std::fmt::Display); 4] =
                    [("words", &claim.text), ("verdict", &verdict), ("country", &country), ("before", &was)];
                all.push((claim.start, fill("texts.news_other", &values)));
            }
            Some(_) => {}
        }
    }
    for claim in before.iter().filter(|b| !now.iter().any(|n| same(n, b))) {
        let country = standing.name(&claim.country);
        all.push((claim.start, fill("texts.news_gone", &[("words", &claim.text), ("country", &country)])));
    }
    all.sort_by_key(|(start, _)| *start);
    let mut told: Vec<String> = all.into_iter().map(|(_, said)| said).collect();
    if told.is_empty() {
        // Reasons, sources or safer wordings are others, and no verdict.
        told.push(text("texts.news_words").to_owned());
    }
    told
}

/// The differences as a list, shortened where there are many.
pub fn list(told: &[String]) -> Markup {
    html! {
        ul.news { @for said in told.iter().take(TOLD) { li { (said) } } }
        @if told.len() > TOLD { p.hint { (fill("texts.news_more", &[("n", &(told.len() - TOLD))])) } }
    }
}
