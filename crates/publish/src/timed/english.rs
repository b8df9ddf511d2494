//! Whether a text is English, by the small words that every language has of its own.

use super::Spoken;

/// Fewer words tell nothing.
const FEW: usize = 8;

const ENGLISH: &[&str] = &[
    "the", "and", "of", "to", "is", "it", "you", "that", "this", "for", "with", "your", "on", "are", "we", "i", "be",
    "not", "have", "from", "or", "by", "what", "can", "will", "there", "my", "they", "at", "as", "so", "do", "if",
    "how", "just", "then", "now", "but", "our", "it's", "don't", "into", "here", "no", "a",
];

/// German, French, Spanish, Italian, Portuguese, Dutch, Polish, Swedish, Turkish; no word that English has too.
const OTHERS: &[&str] = &[
    "der", "und", "ist", "nicht", "das", "sie", "mit", "auf", "ein", "eine", "den", "ich", "wir", "zu", "im", "sich",
    "auch", "von", "dem", "wie", "le", "les", "et", "est", "des", "une", "vous", "que", "qui", "pas", "dans", "pour",
    "votre", "avec", "sur", "nous", "du", "el", "los", "las", "y", "una", "es", "por", "con", "para", "su", "como",
    "il", "che", "di", "gli", "della", "sono", "non", "si", "per", "o", "os", "um", "uma", "com", "seu", "het", "een",
    "niet", "je", "jouw", "voor", "ook", "wat", "nie", "jest", "na", "się", "och", "att", "det", "som", "på", "för",
    "bir", "bu", "ve", "için",
];

impl Spoken {
    /// Whether it seems to be in another language than English; too few words: it does not.
    pub fn seems_foreign(&self) -> bool {
        let (mut words, mut english, mut others) = (0usize, 0usize, 0usize);
        let (mut letters, mut latin) = (0usize, 0usize);
        for piece in &self.pieces {
            for c in piece.text.chars().filter(|c| c.is_alphabetic()) {
                letters += 1;
                latin += usize::from(matches!(c, 'a'..='z' | 'A'..='Z' | '\u{c0}'..='\u{24f}'));
            }
            for word in piece.text.split(' ') {
                let word = word.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase().replace('\u{2019}', "'");
                words += usize::from(!word.is_empty());
                english += usize::from(ENGLISH.contains(&word.as_str()));
                others += usize::from(OTHERS.contains(&word.as_str()));
            }
        }
        // Scripts without blanks have few words and many letters.
        (letters >= 2 * FEW && latin * 2 < letters) || (words >= FEW && others * 10 >= words && others > english)
    }
}
