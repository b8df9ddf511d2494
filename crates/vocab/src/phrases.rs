//! Where the words for people come from: a catalogue that the edge holds, by key.

use std::fmt::Display;

/// A catalogue of texts. Templates hold places in braces (`{name}`).
pub trait Phrases {
    /// The text of a key; a key that is not known shows as itself.
    fn say<'a>(&'a self, key: &'a str) -> &'a str;

    /// The text of a key with its places filled.
    fn fill(&self, key: &str, values: &[(&str, &dyn Display)]) -> String {
        filled(key, self.say(key), values)
    }

    /// A list in words: "a", "a and b", "a, b and c".
    fn list(&self, words: &[String]) -> String {
        match words {
            [] => String::new(),
            [one] => one.clone(),
            [most @ .., last] => self.fill("list.last", &[("most", &most.join(", ")), ("last", last)]),
        }
    }
}

/// A template with its places filled; `key` names it when a place stays empty.
pub fn filled(key: &str, template: &str, values: &[(&str, &dyn Display)]) -> String {
    let mut filled = String::with_capacity(template.len() + 32);
    let mut rest = template;
    while let Some(open) = rest.find('{') {
        let Some(close) = rest[open..].find('}').map(|at| open + at) else { break };
        filled.push_str(&rest[..open]);
        let name = &rest[open + 1..close];
        match values.iter().find(|(known, _)| *known == name) {
            Some((_, value)) => filled.push_str(&value.to_string()),
            None => {
                debug_assert!(false, "the text `{key}` has a place `{name}` that nothing fills");
                filled.push_str(&rest[open..=close]);
            }
        }
        rest = &rest[close + 1..];
    }
    filled.push_str(rest);
    filled
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_filled_and_texts_stay() {
        let check = |template: &str, expected: &str| {
            assert_eq!(filled("x", template, &[("n", &3), ("what", &"oil")]), expected, "{template}");
        };
        check("step {n}: {what}", "step 3: oil");
        check("no place", "no place");
        check("{n}{n}", "33");
        check("open { brace", "open { brace");
    }
}
