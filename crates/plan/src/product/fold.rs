//! A name as it is compared: words of plain small letters and digits, without marks, case and punctuation.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Letters that no decomposition takes apart, and the Greek ones that chemists put before a name.
const PLAIN: [(char, &str); 14] = [
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
    ('α', "alpha"),
    ('β', "beta"),
    ('γ', "gamma"),
    ('δ', "delta"),
];

/// Marks that lead to a footnote, and signs of ownership: no part of a name.
pub const NOTES: &str = "*†‡§°^#®™©⁰¹²³⁴⁵⁶⁷⁸⁹";

/// The words of a name.
pub fn words(text: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    let kept = text.chars().filter(|c| !NOTES.contains(*c)).collect::<String>();
    for c in kept.nfkd().filter(|c| !is_combining_mark(*c)).flat_map(char::to_lowercase) {
        match PLAIN.iter().find(|(letter, _)| *letter == c) {
            Some((_, plain)) => word.push_str(plain),
            None if is_combining_mark(c) || matches!(c, '\'' | '’' | '`' | 'ʼ') => {}
            None if c.is_alphanumeric() => word.push(c),
            None => {
                if !word.is_empty() {
                    words.push(std::mem::take(&mut word));
                }
            }
        }
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_fold_to_plain_words() {
        let check = |name: &str, expected: &str| assert_eq!(words(name).join(" "), expected, "{name}");
        check("Prunus Amygdalus Dulcis (Sweet Almond) Oil*", "prunus amygdalus dulcis sweet almond oil");
        check("α-Isomethyl  IONONE²", "alpha isomethyl ionone");
        check("Süßmandelöl", "sussmandelol");
        check("Methyl 2-Octynoate", "methyl 2 octynoate");
        check("Huile d’amande", "huile damande");
        check(" ,;() ", "");
    }
}
