//! A name as it is compared: words of plain small letters and digits, without marks, case and punctuation.

use vocab::folded;

/// The Greek letters that chemists put before a name.
const GREEK: [(char, &str); 4] = [('α', "alpha"), ('β', "beta"), ('γ', "gamma"), ('δ', "delta")];

/// Marks that lead to a footnote, and signs of ownership: no part of a name.
pub const NOTES: &str = "*†‡§°^#®™©⁰¹²³⁴⁵⁶⁷⁸⁹";

/// The words of a name.
pub fn words(text: &str) -> Vec<String> {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars().filter(|c| !NOTES.contains(*c)) {
        let small = c.to_lowercase().next().unwrap_or(c);
        match GREEK.iter().find(|(letter, _)| *letter == small) {
            Some((_, word)) => plain.push_str(word),
            None => plain.push(c),
        }
    }
    folded(&plain).split(' ').filter(|word| !word.is_empty()).map(str::to_owned).collect()
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
