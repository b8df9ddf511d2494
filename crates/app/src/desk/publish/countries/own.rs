//! A practice's own country as the form holds it, and as the TOML file that the check reads (the same as `tragion words --rules`).

use std::fmt::Write;

use vocab::read::{Document, Table};

/// A country of the practice's own, with words of its own.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Own {
    /// Its code: small letters and digits.
    pub code: String,
    /// Its name.
    pub name: String,
    /// The code of the country whose verdicts hold where it says nothing itself, or `none`.
    pub based_on: String,
    /// What differs from that country.
    pub verdicts: Vec<OwnVerdict>,
    /// Own words.
    pub words: Vec<OwnWords>,
}

/// What a kind of statement means there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OwnVerdict {
    /// Its type: `body`.
    pub kind: String,
    /// About what: `lift`.
    pub topic: String,
    /// A word of the data: `avoid` ... `ok`, `none`.
    pub verdict: String,
    /// Why, in a sentence.
    pub reason: String,
    /// Where it stands.
    pub source: String,
}

/// Words that make such a statement.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OwnWords {
    /// The type of statement that they make.
    pub kind: String,
    /// About what.
    pub topic: String,
    /// The words, one or several ways.
    pub words: Vec<String>,
    /// Where they are from.
    pub source: String,
}

/// A text in quotes.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' | '\\' => {
                out.push('\\');
                out.push(letter);
            }
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

impl Own {
    /// As a file.
    pub fn write(&self) -> String {
        let mut out = String::from("[country]\n");
        let mut line = |key: &str, value: &str| {
            let _ = writeln!(out, "{key} = {}", quoted(value));
        };
        line("code", &self.code);
        line("name", &self.name);
        line("based_on", &self.based_on);
        for of in &self.verdicts {
            let OwnVerdict { kind, topic, verdict, reason, source } = of;
            let _ = write!(out, "\n[[verdict]]\ntype = {}\ntopic = {}\n", quoted(kind), quoted(topic));
            let _ = writeln!(
                out,
                "verdict = {}\nreason = {}\nsource = {}",
                quoted(verdict),
                quoted(reason),
                quoted(source)
            );
        }
        for OwnWords { kind, topic, words, source } in &self.words {
            let words = words.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(", ");
            let _ = write!(out, "\n[[words]]\ntype = {}\ntopic = {}\n", quoted(kind), quoted(topic));
            let _ = writeln!(out, "words = [{words}]\nsource = {}", quoted(source));
        }
        out
    }

    /// From a file; none where the file holds what the form can't, so that nothing of it would be lost by keeping the form.
    pub fn read(toml: &str) -> Option<Own> {
        let document = Document::parse("", toml).ok()?;
        let root = document.root();
        let text = |t: &Table<'_, '_>, key: &str| t.text(key).map(|w| w.text).unwrap_or_default();
        let country = root.table("country")?;
        let (code, name, based_on) = (text(&country, "code"), text(&country, "name"), text(&country, "based_on"));
        country.finish();
        let own = Own {
            code,
            name,
            based_on,
            verdicts: root
                .tables("verdict")
                .into_iter()
                .map(|t| {
                    let of = OwnVerdict {
                        kind: text(&t, "type"),
                        topic: text(&t, "topic"),
                        verdict: text(&t, "verdict"),
                        reason: text(&t, "reason"),
                        source: text(&t, "source"),
                    };
                    t.finish();
                    of
                })
                .collect(),
            words: root
                .tables("words")
                .into_iter()
                .map(|t| {
                    let of = OwnWords {
                        kind: text(&t, "type"),
                        topic: text(&t, "topic"),
                        words: t.words("words").into_iter().map(|w| w.text).collect(),
                        source: text(&t, "source"),
                    };
                    t.finish();
                    of
                })
                .collect(),
        };
        root.finish();
        let shown = document.into_findings().is_empty() && !toml.lines().any(|l| l.trim_start().starts_with('#'));
        let twice =
            |n: usize, v: &OwnVerdict| own.verdicts[..n].iter().any(|w| (&w.kind, &w.topic) == (&v.kind, &v.topic));
        let whole =
            !own.code.is_empty() && own.verdicts.iter().enumerate().all(|(n, v)| !v.topic.is_empty() && !twice(n, v));
        (shown && whole).then_some(own)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> Own {
        Own {
            code: "x1".into(),
            name: "Free \"quoted\" \\ land".into(),
            based_on: "eu".into(),
            verdicts: vec![OwnVerdict {
                kind: "body".into(),
                topic: "lift".into(),
                verdict: "avoid".into(),
                reason: "Two\nlines\u{7}.".into(),
                source: "A law".into(),
            }],
            words: vec![OwnWords {
                kind: "body".into(),
                topic: "lift".into(),
                words: vec!["snatches the jaw".into(), "tab\there".into()],
                source: "a letter".into(),
            }],
        }
    }

    #[test]
    fn what_the_form_holds_comes_back_from_its_file() {
        assert_eq!(Own::read(&example().write()), Some(example()));
        let least = Own { verdicts: Vec::new(), words: Vec::new(), based_on: "none".into(), ..example() };
        assert_eq!(Own::read(&least.write()), Some(least));
    }

    #[test]
    fn a_file_that_holds_more_than_the_form_is_left_to_be_edited_as_a_file() {
        let plain = example().write();
        for more in [
            format!("# a remark of mine\n{plain}"),
            format!("{plain}\n[[other]]\na = 1\n"),
            plain.replace("type = \"body\"\n", "type = \"body\"\nmore = 1\n"),
            plain.replace("topic = \"lift\"\nverdict", "verdict"),
            "[[words]]\ntype = \"body\"\ntopic = \"lift\"\nwords = [\"aa\"]\nsource = \"s\"\n".to_owned(),
            "no toml".to_owned(),
        ] {
            assert_eq!(Own::read(&more), None, "{more}");
        }
    }
}
