//! Findings as they are kept with a text, and texts that are checked again because the rules are others now.

use cabinet::{Cabinet, Error, Json, PublicText, Reader, TextId, Time};
use publish::claims::{Claim, Verdict, check};
use publish::timed::read;
use serde_json::{Value, json};

use super::super::standing::Standing;

/// The words of a verdict, as `tragion words --json` prints them too.
const VERDICTS: [(Verdict, &str); 4] = [
    (Verdict::Avoid, "avoid"),
    (Verdict::NeedsTrial, "needs_trial"),
    (Verdict::NeedsDisclosure, "needs_disclosure"),
    (Verdict::Ok, "ok"),
];

/// Findings to keep.
///
/// # Errors
/// Of the store: they are longer than it takes.
pub fn to_json(claims: &[Claim]) -> Result<Json, Error> {
    let word = |v: Verdict| VERDICTS.iter().find(|(known, _)| *known == v).map_or("", |(_, word)| word);
    let all: Vec<Value> = claims
        .iter()
        .map(|c| {
            json!({
                "start": c.start, "end": c.end, "time": c.time, "text": c.text, "country": c.country, "type": c.kind,
                "topic": c.topic, "verdict": word(c.verdict), "confidence": c.confidence, "rules": c.rules, "reason": c.reason,
                "source": c.source, "instead": c.instead,
            })
        })
        .collect();
    Json::new(Value::Array(all).to_string())
}

/// Findings that were kept; what is not one is passed over.
pub fn from_json(kept: &Json) -> Vec<Claim> {
    let all: Value = serde_json::from_str(kept.as_str()).unwrap_or_default();
    all.as_array().map(|all| all.iter().filter_map(claim).collect()).unwrap_or_default()
}

fn claim(v: &Value) -> Option<Claim> {
    let text = |key: &str| v[key].as_str().unwrap_or_default().to_owned();
    let number = |key: &str| v[key].as_u64().and_then(|n| usize::try_from(n).ok());
    Some(Claim {
        start: number("start")?,
        end: number("end")?,
        time: v["time"].as_f64(),
        text: text("text"),
        country: text("country"),
        kind: text("type"),
        topic: text("topic"),
        verdict: VERDICTS.iter().find(|(_, word)| v["verdict"] == *word).map(|(verdict, _)| *verdict)?,
        confidence: v["confidence"].as_f64().unwrap_or_default(),
        rules: v["rules"].as_array()?.iter().filter_map(|r| r.as_str().map(str::to_owned)).collect(),
        reason: text("reason"),
        source: text("source"),
        instead: v["instead"].as_str().map(str::to_owned),
    })
}

/// The countries of a text that the rules still know.
pub fn known(countries: &[String], standing: &Standing) -> Vec<String> {
    let codes = standing.codes();
    countries.iter().filter(|c| codes.contains(c)).cloned().collect()
}

/// What is found in a text now.
fn found(text: &PublicText, standing: &Standing) -> Vec<Claim> {
    let spoken = read(&text.file, &text.body);
    // What could be read once is read again; were it not, nothing is found, and the text's own page says why.
    spoken.map(|s| check(&standing.rules, &s, &known(&text.countries, standing))).unwrap_or_default()
}

/// The rules as they stand, and all texts: those that were checked with others are checked again first.
///
/// # Errors
/// Of the store.
pub fn all(cabinet: &Cabinet, now: Time) -> Result<(Standing, Vec<PublicText>), Error> {
    let (standing, texts) = cabinet.read(|r| Ok((Standing::read(r)?, r.texts()?)))?;
    let sum = standing.rules.sum();
    let old: Vec<&PublicText> = texts.iter().filter(|t| t.rules != sum).collect();
    if old.is_empty() {
        return Ok((standing, texts));
    }
    let anew = old.iter().map(|t| Ok((t.id, to_json(&found(t, &standing))?))).collect::<Result<Vec<_>, Error>>()?;
    let texts = cabinet.write(now, |w| {
        for (id, findings) in &anew {
            w.recheck_text(*id, &sum, findings)?;
        }
        w.texts()
    })?;
    Ok((standing, texts))
}

/// One text, checked again first where that is due.
///
/// # Errors
/// There is no such text; of the store.
pub fn one(cabinet: &Cabinet, id: TextId, now: Time) -> Result<(Standing, PublicText), Error> {
    let (standing, text) = cabinet.read(|r: &Reader<'_>| Ok((Standing::read(r)?, r.text(id)?)))?;
    let sum = standing.rules.sum();
    if text.rules == sum {
        return Ok((standing, text));
    }
    let findings = to_json(&found(&text, &standing))?;
    let text = cabinet.write(now, |w| {
        w.recheck_text(id, &sum, &findings)?;
        w.text(id)
    })?;
    Ok((standing, text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn findings_come_back_as_they_were_kept() {
        let claim = Claim {
            start: 3,
            end: 9,
            time: Some(1.5),
            text: "lifts".into(),
            country: "x1".into(),
            kind: "body".into(),
            topic: "lift".into(),
            verdict: Verdict::NeedsDisclosure,
            confidence: 0.75,
            rules: vec!["a".into(), "b".into()],
            reason: "why".into(),
            source: "where".into(),
            instead: None,
        };
        let all = [claim.clone(), Claim { time: None, instead: Some("so".into()), verdict: Verdict::Ok, ..claim }];
        assert_eq!(from_json(&to_json(&all).expect("kept")), all);
        for odd in ["1", "[1, {}]", "[{\"start\": -1, \"end\": 2, \"verdict\": \"ok\", \"rules\": []}]"] {
            assert_eq!(from_json(&Json::new(odd).expect("JSON")), [], "{odd}");
        }
    }
}
