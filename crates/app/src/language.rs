//! Languages: which there are, and in which one this thread speaks just now.

use std::cell::Cell;
use std::fmt;

use crate::catalogue::{fill, listed};

/// A language that everything a client gets can be given in. The desk itself speaks English.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Language {
    /// English, the language of the data.
    #[default]
    English,
    /// German; the person is addressed with "Sie".
    German,
}

impl Language {
    /// All there are.
    pub const ALL: [Language; 2] = [Language::English, Language::German];

    /// Its tag (BCP 47), as in the attribute `lang`.
    pub fn tag(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::German => "de",
        }
    }

    /// What it calls itself.
    pub fn own_name(self) -> &'static str {
        match self {
            Language::English => "English",
            Language::German => "Deutsch",
        }
    }

    /// The language of a tag: `de`, or with a country as in `de-AT`, in small or large letters.
    ///
    /// # Errors
    /// A sentence that names the tag and lists what there is.
    pub fn parse(tag: &str) -> Result<Language, String> {
        let tag = tag.trim();
        let well_formed = tag.len() <= 35
            && tag
                .split('-')
                .all(|part| (1..=8).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_alphanumeric()));
        let primary = tag.split('-').next().unwrap_or_default();
        let found = Language::ALL.into_iter().find(|l| well_formed && l.tag().eq_ignore_ascii_case(primary));
        found.ok_or_else(|| {
            let known: Vec<String> = Language::ALL.iter().map(|l| format!("{} ({})", l.tag(), l.own_name())).collect();
            let shown: String = tag.chars().take(40).collect();
            fill("language.unknown", &[("tag", &shown), ("known", &listed(&known))])
        })
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.tag())
    }
}

thread_local! {
    static NOW: Cell<Language> = const { Cell::new(Language::English) };
}

/// The language in which the catalogue answers on this thread.
pub fn now() -> Language {
    NOW.get()
}

/// Does the work with the catalogue in this language, on this thread only; afterwards, also after a panic, the language is what it was.
/// The catalogue answers when it is asked: what is kept as a key or closure and read later is read in the language of then.
pub fn in_language<T>(language: Language, work: impl FnOnce() -> T) -> T {
    struct Before(Language);
    impl Drop for Before {
        fn drop(&mut self) {
            NOW.set(self.0);
        }
    }
    let _before = Before(NOW.replace(language));
    work()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::text;

    #[test]
    fn tags_are_read_with_and_without_a_country() {
        for (tag, language) in [
            ("en", Language::English),
            ("en-GB", Language::English),
            ("de", Language::German),
            ("de-DE", Language::German),
            ("de-AT", Language::German),
            ("DE-ch", Language::German),
            (" de ", Language::German),
            ("de-Latn-DE-1996", Language::German),
        ] {
            assert_eq!(Language::parse(tag), Ok(language), "{tag}");
        }
        for tag in ["", "-", "d", "den", "fr", "de-", "-de", "de_DE", "german", "de-ö", "de\0", "de-abcdefghi"] {
            let refused = Language::parse(tag).expect_err(tag);
            assert!(refused.contains("en (English) and de (Deutsch)"), "{tag}: {refused}");
            assert!(refused.contains(&format!("`{}`", tag.trim())), "{tag}: {refused}");
        }
        for language in Language::ALL {
            assert_eq!(Language::parse(language.tag()), Ok(language));
        }
    }

    #[test]
    fn the_scope_nests_ends_and_survives_a_panic() {
        assert_eq!((now(), text("side.left")), (Language::English, "your left"));
        in_language(Language::German, || {
            assert_eq!((now(), text("side.left")), (Language::German, "Ihre linke Seite"));
            in_language(Language::English, || assert_eq!(text("side.left"), "your left"));
            assert_eq!(text("side.left"), "Ihre linke Seite");
            // Another thread is not concerned.
            let other = std::thread::spawn(|| (now(), text("side.left"))).join().expect("a thread");
            assert_eq!(other, (Language::English, "your left"));
        });
        let panicked = std::panic::catch_unwind(|| in_language(Language::German, || panic!("on purpose")));
        assert!(panicked.is_err());
        assert_eq!((now(), text("side.left")), (Language::English, "your left"));
    }
}
