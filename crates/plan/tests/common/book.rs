//! The words of breaches and reasons, for tests that read them.
#![allow(dead_code)]

/// The program's own catalogue, read from its file: the words of breaches and reasons stand there.
pub struct Book(std::collections::BTreeMap<String, String>);

impl Book {
    pub fn english() -> &'static Book {
        static BOOK: std::sync::OnceLock<Book> = std::sync::OnceLock::new();
        BOOK.get_or_init(Book::read)
    }

    fn read() -> Book {
        let text = include_str!("../../../app/text/en.toml");
        let document = vocab::read::Document::parse("en.toml", text).expect("the catalogue reads");
        let root = document.root();
        let mut texts = std::collections::BTreeMap::new();
        for section in ["list", "breach", "repair", "reason", "spoken"] {
            let table = root.table(section).expect("the section is there");
            for key in table.keys() {
                texts.insert(format!("{section}.{}", key.text), table.text(&key.text).expect("a text").text);
            }
        }
        Book(texts)
    }
}

impl vocab::Phrases for Book {
    fn say<'a>(&'a self, key: &'a str) -> &'a str {
        self.0.get(key).unwrap_or_else(|| panic!("the catalogue lacks {key}"))
    }
}
