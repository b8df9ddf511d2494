//! Statements, each once, with what they mean in each country.

use std::collections::HashMap;

use publish::claims::{Claim, Verdict};

/// What a statement means in one country, or in several where verdict, reason and rule are the same.
pub struct Ruling<'c> {
    /// What is to be done.
    pub verdict: Verdict,
    /// Why.
    pub reason: &'c str,
    /// The leading rule's id; empty: none.
    pub rule: &'c str,
    /// Its source.
    pub source: &'c str,
    /// The countries' codes, in the order asked.
    pub countries: Vec<&'c str>,
}

/// The same in short: where verdict and reason are the same, whatever the rule.
pub struct Told<'c> {
    /// What is to be done.
    pub verdict: Verdict,
    /// Why, without the rule's own words; empty for what may be said.
    pub reason: &'c str,
    /// The countries' codes.
    pub countries: Vec<&'c str>,
}

/// A statement at a place of the text.
pub struct Group<'c> {
    /// Where its words begin, in code points.
    pub start: usize,
    /// Where they end.
    pub end: usize,
    /// When they are said, in seconds.
    pub time: Option<f64>,
    /// The words.
    pub text: &'c str,
    /// Which kind of statement.
    pub kind: &'c str,
    /// About what.
    pub topic: &'c str,
    /// The strictest of its verdicts.
    pub worst: Verdict,
    /// How sure, 0 to 1: the highest of its countries.
    pub confidence: f64,
    /// By country; the strictest first.
    pub rulings: Vec<Ruling<'c>>,
    /// Safer wordings of the whole sentence, each once.
    pub instead: Vec<&'c str>,
}

impl<'c> Group<'c> {
    fn new(claim: &'c Claim) -> Group<'c> {
        Group {
            start: claim.start,
            end: claim.end,
            time: claim.time,
            text: &claim.text,
            kind: &claim.kind,
            topic: &claim.topic,
            worst: claim.verdict,
            confidence: claim.confidence,
            rulings: Vec::new(),
            instead: Vec::new(),
        }
    }

    fn take(&mut self, claim: &'c Claim) {
        self.worst = self.worst.min(claim.verdict);
        self.confidence = self.confidence.max(claim.confidence);
        let rule = claim.rules.first().map_or("", String::as_str);
        let of = (claim.verdict, claim.reason.as_str(), rule, claim.source.as_str());
        match self.rulings.iter_mut().find(|r| (r.verdict, r.reason, r.rule, r.source) == of) {
            Some(ruling) => ruling.countries.push(&claim.country),
            None => {
                let (verdict, reason, rule, source) = of;
                self.rulings.push(Ruling { verdict, reason, rule, source, countries: vec![&claim.country] });
            }
        }
        if let Some(instead) = claim.instead.as_deref()
            && !self.instead.contains(&instead)
        {
            self.instead.push(instead);
        }
    }
}

impl<'c> Group<'c> {
    /// The rulings in short, the strictest first.
    pub fn told(&self) -> Vec<Told<'c>> {
        let mut all: Vec<Told<'c>> = Vec::new();
        for ruling in &self.rulings {
            let reason = if ruling.verdict == Verdict::Ok { "" } else { reason_alone(ruling.reason) };
            match all.iter_mut().find(|t| (t.verdict, t.reason) == (ruling.verdict, reason)) {
                Some(told) => told.countries.extend(&ruling.countries),
                None => all.push(Told { verdict: ruling.verdict, reason, countries: ruling.countries.clone() }),
            }
        }
        all
    }
}

/// A reason without the rule that the check adds to it: the rule has a line of its own.
fn reason_alone(reason: &str) -> &str {
    reason.split(" The rule: ").next().unwrap_or(reason)
}

/// The statements in the order of the text. Two claims are one statement where place, kind and topic are the same.
pub fn groups(claims: &[Claim]) -> Vec<Group<'_>> {
    let mut all: Vec<Group<'_>> = Vec::new();
    let mut known = HashMap::new();
    for claim in claims {
        let same = (claim.start, claim.end, claim.kind.as_str(), claim.topic.as_str());
        let n = *known.entry(same).or_insert(all.len());
        if n == all.len() {
            all.push(Group::new(claim));
        }
        all[n].take(claim);
    }
    for group in &mut all {
        group.rulings.sort_by_key(|r| r.verdict);
    }
    all.sort_by_key(|g| (g.start, g.end));
    all
}

/// So many statements are told in full at most; the text itself marks all.
pub const MOST_TOLD: usize = 200;

/// The numbers, from 0 and rising, of the statements that are told in full: all, or the strictest, the first of them in the text.
pub fn told(groups: &[Group<'_>]) -> Vec<usize> {
    let mut all: Vec<usize> = (0..groups.len()).collect();
    if all.len() > MOST_TOLD {
        all.sort_by_key(|n| groups[*n].worst);
        all.truncate(MOST_TOLD);
        all.sort_unstable();
    }
    all
}

/// How many statements have each verdict as their strictest, in the order of [`Verdict`].
pub fn counts(claims: &[Claim]) -> [usize; 4] {
    let mut counts = [0; 4];
    for group in groups(claims) {
        counts[group.worst as usize] += 1;
    }
    counts
}

/// The line pattern of a verdict: what tells it apart before colour does.
pub fn pattern(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Avoid => "struck",
        Verdict::NeedsTrial => "dashed",
        Verdict::NeedsDisclosure => "dotted",
        Verdict::Ok => "clear",
    }
}
