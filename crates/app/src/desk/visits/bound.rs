//! A map bound to a client: what their clearance says today of each place, in words, in the list and on paper.

use std::collections::BTreeMap;

use maud::{Markup, html};
use plan::atlas::{Atlas, Shown, TargetIx};
use vocab::{Class, Side};

use super::super::person::Person;
use crate::catalogue::{Catalogue, fill, full_stop, sentence_case, text};
use crate::own::sides;
use crate::tell;

/// What a client's clearance says of a place.
pub struct Said {
    class: Class,
    reasons: Vec<String>,
}

impl Said {
    /// The line pattern that stands for it.
    pub fn pattern(&self) -> &'static str {
        match self.class {
            Class::Stop | Class::LeaveOut => "struck",
            Class::AskFirst => "dashed",
            Class::Gently => "dotted",
            Class::Go => "plain",
        }
    }

    /// The same as a word.
    pub fn word(&self) -> &'static str {
        match self.class {
            Class::Stop | Class::LeaveOut => text("clientmap.left_out"),
            Class::AskFirst => text("clientmap.ask_first"),
            Class::Gently => text("clientmap.gently"),
            Class::Go => "",
        }
    }
}

/// Whose map it is.
pub struct Bound {
    /// The address without its query.
    pub address: String,
    /// The client's page.
    pub back: String,
    /// The client's name.
    pub name: String,
    asked: bool,
    said: BTreeMap<(String, &'static str), Said>,
}

impl Bound {
    /// What a client's clearance says of every place that is for the hand.
    pub fn new(atlas: &Atlas, person: &Person, address: String) -> Bound {
        let mut said = BTreeMap::new();
        for (ix, target) in atlas.targets.iter().enumerate().filter(|(_, t)| !matches!(t.shown, Shown::Never(_))) {
            for side in sides(target.sides) {
                if let Some(found) = of(atlas, person, TargetIx(ix), *side) {
                    said.insert((target.id.clone(), side.word()), found);
                }
            }
        }
        let back = format!("/clients/{}", person.client.id);
        Bound { address, back, name: person.client.details.name.clone(), asked: person.asked.is_some(), said }
    }

    /// What is said of a place; none where nothing speaks against it.
    pub fn said(&self, target: &str, side: Side) -> Option<&Said> {
        self.said.get(&(target.to_owned(), side.word()))
    }

    /// Beneath the title: from what the map is, and that what is left out is marked.
    pub fn lead(&self, photograph: bool) -> Markup {
        html! {
            @if !photograph { p.lead { (text("clientmap.drawn")) } }
            @if !self.asked { p.gently { (text("clientmap.never_asked")) " " a href={ (self.back) "/intake" } { (text("clientmap.to_questions")) } } }
            @else if !self.said.is_empty() { p.hint { (text("clientmap.marked")) } }
        }
    }

    /// Why a place is left out, asked first or gentle; said once where both sides say the same.
    pub fn reasons(&self, target: &str, on: &[Side]) -> Markup {
        let found: Vec<(Side, &Said)> = on.iter().filter_map(|s| Some((*s, self.said(target, *s)?))).collect();
        let same = found.len() == on.len()
            && found.windows(2).all(|w| w[0].1.class == w[1].1.class && w[0].1.reasons == w[1].1.reasons);
        let shown = if same { &found[..found.len().min(1)] } else { &found[..] };
        html! {
            @for (side, said) in shown {
                p.clearance.(said.pattern()) {
                    strong { (sentence_case(said.word())) @if !same { ", " (tell::side(*side)) } ":" } " "
                    @for reason in &said.reasons { (full_stop(&sentence_case(reason))) " " }
                }
            }
        }
    }

    /// What is left out and what has to be asked, as a list that is printed with the face.
    pub fn on_paper(&self, atlas: &Atlas) -> Markup {
        let hard = |s: &&Said| s.class >= Class::AskFirst;
        let mut rows: Vec<(&str, Markup)> = Vec::new();
        for target in &atlas.targets {
            let on: Vec<Side> = sides(target.sides)
                .iter()
                .copied()
                .filter(|s| self.said(&target.id, *s).filter(hard).is_some())
                .collect();
            if !on.is_empty() {
                rows.push((&target.name, self.reasons(&target.id, &on)));
            }
        }
        html! {
            section.left-out aria-labelledby="left-out-title" {
                h2 #left-out-title { (fill("clientmap.paper_title", &[("name", &self.name)])) }
                @if rows.is_empty() { p { (text("clientmap.paper_none")) } }
                dl { @for (name, why) in &rows { div { dt { (sentence_case(name)) } dd { (why) } } } }
            }
        }
    }
}

/// The mildest class over everything that can be done at a place, with its reasons.
fn of(atlas: &Atlas, person: &Person, target: TargetIx, side: Side) -> Option<Said> {
    let techniques = &atlas.target(target).techniques;
    let pairs = techniques.iter().flat_map(|t| atlas.technique(*t).tools.iter().map(move |tool| (*t, *tool)));
    let verdicts = pairs.map(|(technique, tool)| person.clearance.of(atlas, target, side, technique, tool));
    let mildest = verdicts.min_by_key(|v| v.class)?;
    let reasons = mildest.rules.iter().map(|r| person.clearance.reason_at(&Catalogue, atlas, target, *r)).collect();
    (mildest.class != Class::Go).then_some(Said { class: mildest.class, reasons })
}
