//! What the claims check found, as every page of publishing shows it: the list, and the text with its places marked.

mod group;
pub mod words;

use std::collections::BTreeSet;

use maud::{Markup, html};
use publish::claims::{Claim, Verdict};

use self::group::told;
pub use self::group::{Group, Ruling, counts, groups, pattern};
use super::shipped::row;
use super::standing::Standing;
use crate::catalogue::{clock, fill, listed, text};

/// What stands under a safer wording: for the number of the finding from 0, the finding, the wording.
pub type Take<'t> = dyn Fn(usize, &Group<'_>, &str) -> Markup + 't;

/// What a page adds to the list.
#[derive(Clone, Copy)]
pub struct More<'m> {
    /// Before the number of a finding and of its place, so that two lists on one page differ; a word of small letters.
    pub prefix: &'m str,
    /// Whether the page has the text itself, marked by [`marked`] with the same prefix: each finding then leads to its place.
    pub places: bool,
    /// What stands under a safer wording, as a button that takes it over; none where the page offers nothing.
    pub take: Option<&'m Take<'m>>,
}

impl Default for More<'_> {
    fn default() -> Self {
        More { prefix: "found", places: false, take: None }
    }
}

/// The list of what was found, in the order of the text: each statement once, with what it means in each country. Where nothing was
/// found, a line that says so and that silence is no clearance. Of very many the strictest, and how many more there are.
pub fn found(claims: &[Claim], standing: &Standing, more: &More<'_>) -> Markup {
    let groups = groups(claims);
    let told = told(&groups);
    let left = groups.len() - told.len();
    html! {
        @if groups.is_empty() {
            p.silent { (text("found.none")) " " (text("found.silence")) }
        } @else {
            ol.findings { @for n in &told { (finding(*n, &groups[*n], standing, more)) } }
            @if left > 0 { p.more-findings { (fill("found.more", &[("n", &left)])) } }
        }
    }
}

/// In one line: how many statements are not to be said, need a trial, need a disclosure; for a heading or a live region.
pub fn summary(claims: &[Claim]) -> String {
    let counts = counts(claims);
    let words = [
        (Verdict::Avoid, "found.n_avoid"),
        (Verdict::NeedsTrial, "found.n_trial"),
        (Verdict::NeedsDisclosure, "found.n_disclosure"),
    ];
    let told = words.into_iter().filter(|(verdict, _)| counts[*verdict as usize] > 0);
    let parts: Vec<String> = told.map(|(verdict, key)| fill(key, &[("n", &counts[verdict as usize])])).collect();
    if parts.is_empty() { text("found.clear").to_owned() } else { fill("found.told", &[("what", &listed(&parts))]) }
}

/// That the check is guidance, not legal advice, English alone, and that silence is no clearance.
pub fn notice() -> Markup {
    html! { p.hint.guidance { (text("found.notice")) } }
}

fn finding(n: usize, group: &Group<'_>, standing: &Standing, more: &More<'_>) -> Markup {
    let place = format!("{}-place-{}", more.prefix, n + 1);
    let names = |codes: &[&str]| listed(&codes.iter().map(|c| standing.name(c)).collect::<Vec<_>>());
    html! {
        li.finding.(pattern(group.worst)) #{ (more.prefix) "-" (n + 1) } value=(n + 1) tabindex="-1" {
            p.claimed {
                span.n aria-hidden="true" { (n + 1) ". " }
                @if let Some(time) = group.time { span.at-time { (clock_of(time)) } " " }
                q { (group.text) }
                @if more.places { " " a.to-place href={ "#" (place) } aria-label=(fill("found.to_place_of", &[("n", &(n + 1))])) { (text("found.to_place")) } }
            }
            p.kind { (words::kind(group.kind)) ". " (words::sure(group.confidence)) }
            ul.by-country { @for of in group.told() {
                li.(pattern(of.verdict)) {
                    p { strong { (words::verdict(of.verdict)) } " " (names(&of.countries)) "." }
                    @if !of.reason.is_empty() { p { (of.reason) } }
                }
            } }
            @for instead in &group.instead {
                div.instead {
                    p { span.label { (text("found.instead")) } " " q { (instead) } }
                    @if let Some(take) = more.take { (take(n, group, instead)) }
                }
            }
            @if group.worst != Verdict::Ok {
                ul.grounds { @for ruling in &group.rulings { li { (ground_of(ruling, &names(&ruling.countries))) } } }
            }
        }
    }
}

/// The rule that leads, its source, and how well the source is known. What does not ship is the practice's own.
fn ground_of(ground: &Ruling<'_>, countries: &str) -> Markup {
    html! {
        (countries) ": "
        @match row(ground.rule) {
            Some(rule) => {
                (rule.meaning) @if let Some(means) = words::means(&rule.verdict) { " (" (means) ")" } ". "
                (fill("found.source", &[("source", &rule.source)])) " " (words::mark(&rule.mark))
            },
            None => {
                @if !ground.source.is_empty() { (fill("found.source", &[("source", &ground.source.trim_end_matches('.'))])) " " }
                (text("found.mark_own"))
            },
        }
    }
}

/// The text with the places of what was found marked: a line pattern for each verdict, and a way to the finding. Offsets are code points.
/// Where places lie over each other the strictest is seen; each has its name all the same. What the list does not tell leads nowhere.
pub fn marked(body: &str, claims: &[Claim], prefix: &str) -> Markup {
    let groups = groups(claims);
    let letters: Vec<char> = body.chars().collect();
    let mut told = vec![false; groups.len()];
    for n in self::told(&groups) {
        told[n] = true;
    }
    html! {
        @for run in runs(&groups, letters.len()) {
            @let words: String = letters[run.from..run.to].iter().collect();
            @match run.worst {
                None => (words),
                Some(n) => {
                    @for under in run.begins.iter().filter(|b| **b != n && told[**b]) { span #{ (prefix) "-place-" (under + 1) } tabindex="-1" {} }
                    @if !told[n] {
                        span.place.(pattern(groups[n].worst)) {
                            (words)
                            @if run.begins.contains(&n) { span.unseen { (fill("found.place_only", &[("verdict", &words::short(groups[n].worst))])) } }
                        }
                    } @else { a.place.(pattern(groups[n].worst)) id=[run.begins.contains(&n).then(|| format!("{prefix}-place-{}", n + 1))]
                        href={ "#" (prefix) "-" (n + 1) } {
                        (words)
                        @if run.begins.contains(&n) {
                            span.unseen { (fill("found.place_says", &[("verdict", &words::short(groups[n].worst)), ("n", &(n + 1))])) }
                        }
                    } }
                }
            }
        }
    }
}

/// A piece of a text under one line, or under none.
struct Run {
    from: usize,
    to: usize,
    /// The strictest finding over it.
    worst: Option<usize>,
    /// The findings that begin in it.
    begins: Vec<usize>,
}

/// A text of so many code points in pieces, each under the strictest finding over it.
fn runs(groups: &[Group<'_>], length: usize) -> Vec<Run> {
    let mut edges: Vec<usize> = groups.iter().flat_map(|g| [g.start, g.end]).chain([0, length]).collect();
    edges.retain(|e| *e <= length);
    edges.sort_unstable();
    edges.dedup();
    // Groups rise by their beginnings: those over a piece are kept in a set, the strictest first.
    let mut ends_at: Vec<usize> = (0..groups.len()).collect();
    ends_at.sort_by_key(|n| groups[*n].end);
    let (mut begun, mut ended) = (groups.iter().enumerate().peekable(), ends_at.into_iter().peekable());
    let mut over = BTreeSet::new();
    let mut runs: Vec<Run> = Vec::new();
    for ends in edges.windows(2) {
        let (from, to) = (ends[0], ends[1]);
        let mut begins = Vec::new();
        while let Some((n, group)) = begun.next_if(|(_, g)| g.start <= from) {
            if group.end > from {
                over.insert((group.worst, n));
                begins.push(n);
            }
        }
        while let Some(n) = ended.next_if(|n| groups[*n].end <= from) {
            over.remove(&(groups[n].worst, n));
        }
        let worst = over.first().map(|(_, n)| *n);
        match runs.last_mut() {
            Some(last) if last.worst == worst => {
                last.to = to;
                last.begins.extend(begins);
            }
            _ => runs.push(Run { from, to, worst, begins }),
        }
    }
    runs
}

/// A time in a text, as `1:02`.
fn clock_of(time: f64) -> String {
    clock(time.max(0.0).min(f64::from(u32::MAX)) as u32)
}

#[cfg(test)]
mod tests;
