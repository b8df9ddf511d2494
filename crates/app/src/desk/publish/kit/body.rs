//! What is kept of a film beside its routine: options, own words, tapped times.

use serde_json::{Value, json};

use crate::filming::Options;

/// The body of a film.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Body {
    /// As they were chosen.
    pub options: Options,
    /// The practitioner's own title; empty: the one that is suggested.
    pub title: String,
    /// Own words around the film: on its picture, in a comment below it.
    pub words: String,
    /// When each step begins in the finished film, in seconds, and of which steps that was tapped.
    pub tapped: Option<Tapped>,
}

/// Tapped times.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tapped {
    /// In seconds of the film; as many as there are steps.
    pub times: Vec<f64>,
    /// The names of the steps they belong to.
    pub steps: Vec<String>,
}

impl Tapped {
    /// The times, if they were tapped for these very steps.
    pub fn of(&self, steps: &[String]) -> Option<&[f64]> {
        (self.steps == steps && self.times.len() == steps.len()).then_some(&self.times)
    }
}

impl Body {
    /// As the cabinet keeps it.
    pub fn json(&self) -> String {
        let tapped = self.tapped.as_ref().map(|t| json!({"times": t.times, "steps": t.steps}));
        json!({"options": self.options.json(), "title": self.title, "words": self.words, "tapped": tapped}).to_string()
    }

    /// Of what was kept; what is missing or can't be read is as usual.
    pub fn read(kept: &str) -> Body {
        let kept: Value = serde_json::from_str(kept).unwrap_or_default();
        let word = |key: &str| kept[key].as_str().unwrap_or_default().to_owned();
        let list = |key: &str| kept["tapped"][key].as_array();
        let tapped = list("times").zip(list("steps")).map(|(times, steps)| Tapped {
            times: times.iter().filter_map(Value::as_f64).collect(),
            steps: steps.iter().filter_map(|s| s.as_str().map(str::to_owned)).collect(),
        });
        Body { options: Options::from_json(&kept["options"]), title: word("title"), words: word("words"), tapped }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_read_back_and_what_is_broken_is_as_usual() {
        let body = Body {
            title: "Jaw \"before\" sleep".into(),
            words: "Ad: <own> oil".into(),
            tapped: Some(Tapped { times: vec![0.0, 12.5], steps: vec!["a".into(), "b, left".into()] }),
            ..Body::default()
        };
        assert_eq!(Body::read(&body.json()), body);
        assert_eq!(Body::read(&Body::default().json()), Body::default());
        for broken in ["", "{", "[]", "{\"tapped\": {\"times\": 3}}"] {
            assert_eq!(Body::read(broken), Body::default(), "{broken}");
        }
        let tapped = body.tapped.expect("times");
        let steps = |names: &[&str]| names.iter().map(|n| (*n).to_owned()).collect::<Vec<_>>();
        assert_eq!(tapped.of(&steps(&["a", "b, left"])), Some([0.0, 12.5].as_slice()));
        assert!(tapped.of(&steps(&["b, left", "a"])).is_none() && tapped.of(&steps(&["a"])).is_none());
    }
}
