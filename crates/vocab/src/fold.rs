//! A name as it is searched and compared: letters without marks and case, words parted by one blank.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Letters that no decomposition takes apart, as people type them on a keyboard without them.
const PLAIN: [(char, &str); 10] = [
    ('ß', "ss"),
    ('æ', "ae"),
    ('œ', "oe"),
    ('ø', "o"),
    ('đ', "d"),
    ('ð', "d"),
    ('þ', "th"),
    ('ł', "l"),
    ('ħ', "h"),
    ('ı', "i"),
];

/// Folds a name, or a part of one that is being typed: Unicode NFKD without marks, small letters, punctuation as blanks.
pub fn folded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.nfkd().filter(|c| !is_combining_mark(*c)).flat_map(char::to_lowercase) {
        match PLAIN.iter().find(|(letter, _)| *letter == c) {
            Some((_, plain)) => out.push_str(plain),
            // A dotted capital I leaves its dot behind when it is made small.
            None if is_combining_mark(c) => {}
            None if c.is_alphanumeric() => out.push(c),
            // An apostrophe parts no word: O'Hara is typed ohara as well.
            None if matches!(c, '\'' | '’' | '`' | 'ʼ') => {}
            None => {
                if !out.is_empty() && !out.ends_with(' ') {
                    out.push(' ');
                }
            }
        }
    }
    out.truncate(out.trim_end().len());
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_fold_as_they_are_typed() {
        let check = |name: &str, expected: &str| assert_eq!(folded(name), expected, "{name}");
        check("Zoë  Müller-Lüdenscheidt", "zoe muller ludenscheidt");
        check("O’Hara, Ó Súilleabháin", "ohara o suilleabhain");
        check("GROẞ Weiß", "gross weiss");
        check("Łukasz Ørsted", "lukasz orsted");
        check("İpek Işık", "ipek isik");
        check("Nguyễn Thị Ánh", "nguyen thi anh");
        check("김민준", "\u{1100}\u{1175}\u{11b7}\u{1106}\u{1175}\u{11ab}\u{110c}\u{116e}\u{11ab}");
        check("  ,.  ", "");
    }
}
