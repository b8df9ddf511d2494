//! Statements, each once, with what they mean in each country.

use publish::claims::{Claim, Verdict};

/// What a statement means in one country, or in several alike.
pub struct Ruling<'c> {
    /// What is to be done.
    pub verdict: Verdict,
    /// Why; empty for what may be said.
    pub reason: &'c str,
    /// The countries' codes, in the order asked.
    pub countries: Vec<&'c str>,
}

/// The rule that leads in one country, or in several.
pub struct Ground<'c> {
    /// Its id; empty: none.
    pub rule: &'c str,
    /// Where it stands.
    pub source: &'c str,
    /// The countries' codes, in the order asked.
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
    /// What they stand on, in the order asked.
    pub grounds: Vec<Ground<'c>>,
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
            grounds: Vec::new(),
            instead: Vec::new(),
        }
    }

    /// Whether the claim is the same statement.
    fn is(&self, claim: &Claim) -> bool {
        (self.start, self.end) == (claim.start, claim.end) && self.kind == claim.kind && self.topic == claim.topic
    }

    fn take(&mut self, claim: &'c Claim) {
        self.worst = self.worst.min(claim.verdict);
        self.confidence = self.confidence.max(claim.confidence);
        let (rule, source) = (claim.rules.first().map_or("", String::as_str), claim.source.as_str());
        let (verdict, country) = (claim.verdict, claim.country.as_str());
        let reason = if verdict == Verdict::Ok { "" } else { reason_alone(&claim.reason) };
        match self.rulings.iter_mut().find(|r| (r.verdict, r.reason) == (verdict, reason)) {
            Some(ruling) => ruling.countries.push(country),
            None => self.rulings.push(Ruling { verdict, reason, countries: vec![country] }),
        }
        match self.grounds.iter_mut().find(|g| (g.rule, g.source) == (rule, source)) {
            Some(ground) => ground.countries.push(country),
            None => self.grounds.push(Ground { rule, source, countries: vec![country] }),
        }
        if let Some(instead) = claim.instead.as_deref()
            && !self.instead.contains(&instead)
        {
            self.instead.push(instead);
        }
    }
}

/// A reason without the rule that the check adds to it: the rule has a line of its own.
fn reason_alone(reason: &str) -> &str {
    reason.split(" The rule: ").next().unwrap_or(reason)
}

/// The statements in the order of the text. Two claims are one statement where place, kind and topic are the same.
pub fn groups(claims: &[Claim]) -> Vec<Group<'_>> {
    let mut all: Vec<Group<'_>> = Vec::new();
    for claim in claims {
        match all.iter_mut().find(|g| g.is(claim)) {
            Some(group) => group.take(claim),
            None => {
                let mut group = Group::new(claim);
                group.take(claim);
                all.push(group);
            }
        }
    }
    for group in &mut all {
        group.rulings.sort_by_key(|r| r.verdict);
    }
    all.sort_by_key(|g| (g.start, g.end));
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
