//! A sentence as words and marks: contractions taken apart, hyphens and hashtags split, emoji left out.

use std::collections::HashMap;

use super::stem::stem;

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Letters.
    Word,
    /// Digits.
    Number,
    /// A mark that parts clauses.
    Mark(char),
}

/// How a verb is inflected, as far as its ending shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// remove
    Base,
    /// removes
    S,
    /// removing
    Ing,
    /// removed
    Ed,
}

/// A word, a number or a mark.
#[derive(Clone, Debug)]
pub(super) struct Token {
    /// In small letters.
    pub word: String,
    /// Known word as written; 0 if unknown.
    pub exact: u32,
    /// Known stem; 0 if unknown.
    pub stem: u32,
    /// First character in the sentence.
    pub lo: usize,
    /// One past the last.
    pub hi: usize,
    /// What it is.
    pub kind: Kind,
    /// How it is inflected.
    pub form: Form,
    /// Within quotation marks.
    pub quoted: bool,
    /// Part of a hashtag.
    pub tag: bool,
    /// Begins with a capital letter.
    pub capital: bool,
}

impl Token {
    /// A comma.
    pub fn comma(&self) -> bool {
        self.kind == Kind::Mark(',')
    }

    /// A mark that ends a clause.
    pub fn hard(&self) -> bool {
        matches!(self.kind, Kind::Mark(c) if c != ',')
    }

    /// Is it this word?
    pub fn is(&self, word: &str) -> bool {
        self.word == word
    }

    /// Is it one of these words?
    pub fn any(&self, words: &[&str]) -> bool {
        words.contains(&self.word.as_str())
    }
}

/// The words that the lexicon knows, as numbers.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    exact: HashMap<String, (u32, u32)>,
    stems: HashMap<String, u32>,
}

impl Known {
    /// The number of a word as written, made if it is new.
    pub fn exact(&mut self, word: &str) -> u32 {
        self.both(word).0
    }

    /// The number of a word's stem, made if it is new.
    pub fn stem(&mut self, word: &str) -> u32 {
        self.both(word).1
    }

    fn both(&mut self, word: &str) -> (u32, u32) {
        if let Some(both) = self.exact.get(word) {
            return *both;
        }
        let next = self.stems.len() as u32 + 1;
        let stem = *self.stems.entry(stem(word)).or_insert(next);
        let both = (self.exact.len() as u32 + 1, stem);
        self.exact.insert(word.to_owned(), both);
        both
    }

    fn knows(&self, word: &str) -> bool {
        self.exact.contains_key(word) || (word.len() > 3 && self.stems.contains_key(&stem(word)))
    }

    fn look(&self, token: &mut Token) {
        (token.exact, token.stem) = match self.exact.get(&token.word) {
            Some(both) => *both,
            None => (0, self.stems.get(&stem(&token.word)).copied().unwrap_or(0)),
        };
    }
}

/// Contractions without their apostrophe, as captions have them.
const BARE: &[(&str, &str)] = &[
    ("dont", "do not"),
    ("doesnt", "does not"),
    ("didnt", "did not"),
    ("wont", "will not"),
    ("cant", "can not"),
    ("cannot", "can not"),
    ("isnt", "is not"),
    ("arent", "are not"),
    ("wasnt", "was not"),
    ("werent", "were not"),
    ("couldnt", "could not"),
    ("wouldnt", "would not"),
    ("shouldnt", "should not"),
    ("hasnt", "has not"),
    ("havent", "have not"),
    ("hadnt", "had not"),
    ("youll", "you will"),
    ("theyll", "they will"),
    ("itll", "it will"),
    ("youre", "you are"),
    ("theyre", "they are"),
    ("ive", "i have"),
    ("youve", "you have"),
    ("weve", "we have"),
    ("im", "i am"),
    ("thats", "that is"),
    ("whats", "what is"),
    ("theres", "there is"),
    ("heres", "here is"),
    ("gonna", "going to"),
    ("wanna", "want to"),
    ("gotta", "got to"),
    ("yall", "you"),
    ("aint", "is not"),
];

/// Words before `'s` that make it `is`.
const IS: &[&str] =
    &["it", "that", "there", "here", "what", "who", "he", "she", "this", "where", "how", "everything", "nothing"];

/// The parts of a word in small letters: `don't` is `do` and `not`.
fn parts(word: &str) -> Vec<String> {
    let own = |w: &str| w.split(' ').map(str::to_owned).collect::<Vec<_>>();
    if let Some((_, whole)) = BARE.iter().find(|(bare, _)| *bare == word) {
        return own(whole);
    }
    let Some(at) = word.find('\'') else { return vec![word.to_owned()] };
    if let Some(verb) = word.strip_suffix("n't") {
        let verb = match verb {
            "wo" => "will",
            "ca" => "can",
            "sha" => "shall",
            "ai" => "is",
            verb => verb,
        };
        return vec![verb.to_owned(), "not".to_owned()];
    }
    let (head, tail) = (&word[..at], &word[at + 1..]);
    let more = match tail {
        "ll" => "will",
        "re" => "are",
        "ve" => "have",
        "m" => "am",
        "d" => "would",
        "s" if head == "let" => "us",
        "s" if IS.contains(&head) => "is",
        "s" | "" => return vec![head.to_owned()],
        _ => return vec![word.replace('\'', "")],
    };
    vec![head.to_owned(), more.to_owned()]
}

fn form(word: &str) -> Form {
    const ED: &[&str] = &[
        "gone", "lost", "taken", "shrunk", "beaten", "broken", "driven", "thrown", "undone", "given", "made", "kept",
        "fought", "built", "rebuilt", "brought", "woken", "swept", "done", "grew", "grown", "took", "shrank", "broke",
        "drove", "threw", "gave", "woke", "fed", "got", "went", "sent", "said", "told", "felt", "seen", "saw", "fell",
    ];
    if word.ends_with("ing") && word.len() > 4 {
        Form::Ing
    } else if (word.ends_with("ed") && word.len() > 3 && !word.ends_with("eed")) || ED.contains(&word) {
        Form::Ed
    } else if word.len() > 2 && word.ends_with('s') && !word.ends_with("ss") && !word.ends_with("us") {
        Form::S
    } else {
        Form::Base
    }
}

/// A letter without its mark, where it is one letter still: é is e.
fn plain(c: char) -> char {
    match c {
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' => 'a',
        'ç' => 'c',
        'è' | 'é' | 'ê' | 'ë' => 'e',
        'ì' | 'í' | 'î' | 'ï' => 'i',
        'ñ' => 'n',
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' => 'o',
        'ù' | 'ú' | 'û' | 'ü' => 'u',
        'É' | 'È' => 'E',
        c => c,
    }
}

/// Letters of a word, with the marks that belong to them.
fn letter(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '\u{300}'..='\u{36f}')
}

/// The words and marks of a sentence.
pub(super) fn tokens(known: &Known, text: &str) -> Vec<Token> {
    let chars: Vec<char> =
        text.chars().map(plain).map(|c| if matches!(c, '’' | 'ʼ' | '‘' | '`' | '´') { '\'' } else { c }).collect();
    let mut found: Vec<Token> = Vec::new();
    let mut quote: Option<char> = None;
    let mut i = 0;
    let put = |found: &mut Vec<Token>, word: String, lo: usize, hi: usize, kind: Kind, quoted: bool, tag: bool| {
        let capital = chars[lo].is_uppercase();
        let mut token = Token { form: form(&word), word, exact: 0, stem: 0, lo, hi, kind, quoted, tag, capital };
        if !matches!(kind, Kind::Mark(_)) {
            known.look(&mut token);
        }
        found.push(token);
    };
    while i < chars.len() {
        let c = chars[i];
        if letter(c) {
            let lo = i;
            while i < chars.len()
                && (letter(chars[i]) || (chars[i] == '\'' && i + 1 < chars.len() && letter(chars[i + 1])))
            {
                i += 1;
            }
            let word: String = chars[lo..i].iter().flat_map(|c| c.to_lowercase()).collect();
            // Abbreviations with full stops are one word: f.d.a.
            if i - lo == 1
                && i + 1 < chars.len()
                && chars[i] == '.'
                && letter(chars[i + 1])
                && (i + 2 >= chars.len() || !letter(chars[i + 2]))
            {
                let mut whole = word;
                while i + 1 < chars.len()
                    && chars[i] == '.'
                    && letter(chars[i + 1])
                    && (i + 2 >= chars.len() || !letter(chars[i + 2]))
                {
                    whole.extend(chars[i + 1].to_lowercase());
                    i += 2;
                }
                if i < chars.len() && chars[i] == '.' && whole.chars().count() > 1 && whole != "am" && whole != "pm" {
                    i += 1;
                }
                put(&mut found, whole, lo, i, Kind::Word, quote.is_some(), false);
                continue;
            }
            for part in parts(&word) {
                put(&mut found, part, lo, i, Kind::Word, quote.is_some(), false);
            }
            continue;
        }
        if c.is_ascii_digit() {
            let lo = i;
            while i < chars.len()
                && (chars[i].is_ascii_digit()
                    || (matches!(chars[i], '.' | ',' | ':') && i + 1 < chars.len() && chars[i + 1].is_ascii_digit()))
            {
                i += 1;
            }
            let word: String = chars[lo..i].iter().collect();
            put(&mut found, word, lo, i, Kind::Number, quote.is_some(), false);
            continue;
        }
        match c {
            '#' if i + 1 < chars.len() && letter(chars[i + 1]) => {
                let lo = i + 1;
                i += 1;
                while i < chars.len() && (letter(chars[i]) || chars[i].is_ascii_digit() || chars[i] == '_') {
                    i += 1;
                }
                // Each hashtag is a statement of its own.
                if found.last().is_some_and(|t| t.kind == Kind::Word) {
                    put(&mut found, "|".into(), lo - 1, lo, Kind::Mark('|'), false, true);
                }
                for (from, to) in hashtag(known, &chars, lo, i) {
                    let word: String = chars[from..to].iter().flat_map(|c| c.to_lowercase()).collect();
                    let kind = if chars[from].is_ascii_digit() { Kind::Number } else { Kind::Word };
                    put(&mut found, word, from, to, kind, quote.is_some(), true);
                }
                if i < chars.len() {
                    put(&mut found, "|".into(), i - 1, i, Kind::Mark('|'), false, true);
                }
                continue;
            }
            '"' | '“' | '”' | '„' | '«' | '»' => {
                quote = if quote.is_some() { None } else { Some(c) };
            }
            // A single quotation mark opens after a blank and closes before one.
            '\'' => match quote {
                Some('\'') => quote = None,
                None if i + 1 < chars.len()
                    && letter(chars[i + 1])
                    && (i == 0 || !letter(chars[i - 1]))
                    && chars[i + 1..].contains(&'\'') =>
                {
                    quote = Some('\'')
                }
                _ => {}
            },
            '%' => put(&mut found, "percent".into(), i, i + 1, Kind::Word, quote.is_some(), false),
            '&' | '+' => put(&mut found, "and".into(), i, i + 1, Kind::Word, quote.is_some(), false),
            '✅' | '❌' | '✔' => put(&mut found, "|".into(), i, i + 1, Kind::Mark('|'), false, false),
            ',' | '.' | ';' | ':' | '!' | '?' | '(' | ')' | '[' | ']' | '|' | '•' | '…' => {
                put(&mut found, c.to_string(), i, i + 1, Kind::Mark(c), quote.is_some(), false);
            }
            // A dash between blanks parts clauses; a hyphen within a word only parts its parts.
            '–' | '—' => put(&mut found, "-".into(), i, i + 1, Kind::Mark('-'), false, false),
            '-' if i > 0 && chars[i - 1] == ' ' && i + 1 < chars.len() && chars[i + 1] == ' ' => {
                put(&mut found, "-".into(), i, i + 1, Kind::Mark('-'), false, false);
            }
            _ => {}
        }
        i += 1;
    }
    found
}

/// The words of a hashtag: at capitals, at underlines and digits, else by the words that are known.
fn hashtag(known: &Known, chars: &[char], lo: usize, hi: usize) -> Vec<(usize, usize)> {
    let mut words = Vec::new();
    let mut from = lo;
    for i in lo..hi {
        let digit = chars[i].is_ascii_digit();
        let parts = i > from
            && ((chars[i].is_uppercase() && !chars[i - 1].is_uppercase()) || digit != chars[i - 1].is_ascii_digit());
        if chars[i] == '_' || parts {
            if i > from {
                words.push((from, i));
            }
            from = if chars[i] == '_' { i + 1 } else { i };
        }
    }
    if from < hi {
        words.push((from, hi));
    }
    let mut split = Vec::new();
    for (from, to) in words {
        let word: Vec<char> = chars[from..to].iter().flat_map(|c| c.to_lowercase()).collect();
        if word.len() != to - from || word.len() > 60 {
            split.push((from, to));
            continue;
        }
        split.extend(segmented(known, &word).into_iter().map(|(a, b)| (from + a, from + b)));
    }
    split
}

/// The fewest known words that a run of letters is made of, or the run itself.
fn segmented(known: &Known, word: &[char]) -> Vec<(usize, usize)> {
    let n = word.len();
    if known.knows(&word.iter().collect::<String>()) {
        return vec![(0, n)];
    }
    let mut best: Vec<Option<(usize, usize)>> = vec![None; n + 1];
    best[0] = Some((0, 0));
    for end in 1..=n {
        for begin in end.saturating_sub(20)..end {
            let Some((cost, _)) = best[begin] else { continue };
            if end - begin < 2 && word[begin] != 'a' && word[begin] != 'i' {
                continue;
            }
            if known.knows(&word[begin..end].iter().collect::<String>()) && best[end].is_none_or(|(c, _)| cost + 1 < c)
            {
                best[end] = Some((cost + 1, begin));
            }
        }
    }
    if best[n].is_none() {
        return vec![(0, n)];
    }
    let mut found = Vec::new();
    let mut end = n;
    while end > 0 {
        let begin = best[end].map_or(0, |(_, b)| b);
        found.push((begin, end));
        end = begin;
    }
    found.reverse();
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> String {
        let mut known = Known::default();
        for word in ["no", "more", "wrinkles", "face", "lift", "anti", "aging"] {
            known.stem(word);
        }
        tokens(&known, text).iter().map(|t| t.word.as_str()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn sentences_come_apart() {
        assert_eq!(words("It won’t, don't 'stop'!"), "it will not , do not stop !");
        assert_eq!(words("#NoMoreWrinkles #facelift"), "no more wrinkles | face lift");
        assert_eq!(words("anti-ageing: 80% — at 1.5x"), "anti ageing : 80 percent - at 1.5 x");
        assert_eq!(words("✨Crow's feet✨"), "crow feet");
        assert_eq!(words("F.D.A. approved"), "fda approved");
        assert_eq!(words(""), "");
    }
}
