//! A safer wording of a whole sentence, in the speaker's voice: who speaks, to whom, in which form; from data/words/claims/instead.csv.
//! Every wording goes through the check itself before it is given.

use std::collections::BTreeMap;

use super::context::{Scene, Way};
use super::find::Hit;
use super::token::{Form, Kind, Token};

/// Wordings by type, topic and form.
pub(super) type Wordings = BTreeMap<(String, String, String), String>;

/// Which statement of a sentence its safer wording speaks of: the gravest.
const GRAVEST: &[&str] = &[
    "disease",
    "advice",
    "story",
    "guarantee",
    "fear",
    "approval",
    "number",
    "body",
    "before_after",
    "promise",
    "rivals",
    "selling",
    "unclear",
];

/// Words with which a sentence may open and that are kept.
const OPENINGS: &[&str] = &["so", "and", "now", "okay", "ok", "well", "honestly", "guys", "ladies", "everyone"];

/// Words at which a subject ends.
const VERBS: &[&str] = &[
    "will",
    "can",
    "may",
    "might",
    "could",
    "would",
    "should",
    "must",
    "is",
    "are",
    "was",
    "were",
    "has",
    "have",
    "had",
    "does",
    "do",
    "did",
    "help",
    "helps",
    "helped",
    "really",
    "even",
    "also",
    "actually",
    "just",
    "naturally",
    "instantly",
    "gently",
    "visibly",
    "literally",
    "quickly",
    "simply",
    "always",
    "never",
    "get",
    "gets",
    "got",
    "make",
    "makes",
    "made",
    "let",
    "lets",
    "not",
    "to",
    "finally",
    "truly",
    "effectively",
    "immediately",
    "slowly",
    "works",
    "work",
    "keeps",
    "keep",
    "gives",
    "give",
    "takes",
    "take",
];

/// Who does it in a sentence.
#[derive(Debug, PartialEq)]
enum Voice {
    /// A thing, in its own words; several of them.
    Third(String, bool),
    /// I or we.
    First(String),
    /// You.
    You,
    /// Said to the hand.
    Order,
    /// No verb of its own.
    Title,
    /// A question that sells.
    Ask,
    /// Anything else.
    Plain,
}

/// The wordings to try for a sentence, the best first.
pub(super) fn candidates(wordings: &Wordings, scene: &Scene, sentence: &str, hits: &[Hit]) -> Vec<String> {
    let grave = |hit: &&Hit| GRAVEST.iter().position(|k| *k == hit.kind).unwrap_or(GRAVEST.len());
    let Some(hit) = hits.iter().filter(|h| GRAVEST.contains(&h.kind.as_str())).min_by_key(grave) else {
        return Vec::new();
    };
    let (opening, from) = opening(scene, sentence);
    let voice = voice(scene, sentence, hit, from);
    let name = match &voice {
        Voice::Third(..) => "third",
        Voice::First(_) => "first",
        Voice::You => "you",
        Voice::Order => "order",
        Voice::Title => "title",
        Voice::Ask => "ask",
        Voice::Plain => "plain",
    };
    let look = |form: &str| {
        [hit.topic.as_str(), "*"]
            .iter()
            .find_map(|topic| wordings.get(&(hit.kind.clone(), (*topic).to_owned(), form.to_owned())))
    };
    let mut found = Vec::new();
    for form in [name, "plain", "keep"] {
        let Some(template) = look(form) else { continue };
        let mut text = template
            .replace("{about}", look("about").map_or("the face", String::as_str))
            .replace("{them}", look("them").map_or("it", String::as_str));
        text = text.replace("{matter}", &matter(scene, sentence, hit));
        if let Voice::Third(subject, many) = &voice {
            let inner = if text.starts_with("{S}") { subject.clone() } else { lowered(subject, scene) };
            text = agreed(&text, *many).replace("{S}", &inner);
        }
        if let Voice::First(subject) = &voice {
            text = text.replace("{S}", subject);
        }
        if form == "keep" {
            text = text.replace("{sentence}", &lowered(sentence.trim(), scene));
            found.push(text);
            continue;
        }
        if text.contains('{') {
            continue;
        }
        found.push(set(&opening, &text, sentence));
    }
    found.dedup();
    found
}

/// The words with which the sentence opens, and the first token after them.
fn opening(scene: &Scene, sentence: &str) -> (String, usize) {
    let mut end = 0;
    while end < scene.tokens.len().min(3) && scene.tokens[end].any(OPENINGS) {
        end += 1;
        if scene.tokens.get(end).is_some_and(Token::comma) {
            end += 1;
        }
    }
    if end == 0 || end >= scene.tokens.len() {
        return (String::new(), 0);
    }
    (cut(sentence, 0, scene.tokens[end - 1].hi), end)
}

fn cut(sentence: &str, lo: usize, hi: usize) -> String {
    sentence.chars().skip(lo).take(hi - lo).collect()
}

/// Who does it.
fn voice(scene: &Scene, sentence: &str, hit: &Hit, from: usize) -> Voice {
    let tokens = &scene.tokens;
    if tokens.last().is_some_and(|t| t.kind == Kind::Mark('?')) {
        return Voice::Ask;
    }
    if tokens.is_empty() || hit.at < from || tokens.iter().any(|t| t.tag) {
        return Voice::Title;
    }
    if scene.begins(Way::Yes) {
        return Voice::Plain;
    }
    let end = (from..=hit.at).find(|i| *i == hit.at || tokens[*i].any(VERBS)).unwrap_or(hit.at);
    let region = &tokens[from..end];
    let Some(first) = region.first() else {
        let verb = &tokens[from];
        return match verb.form {
            Form::Base if hit.at == from && hit.pair => Voice::Order,
            _ => Voice::Title,
        };
    };
    if region.iter().any(|t| t.kind != Kind::Word) || region.len() > 5 || tokens[end].any(&["to", "not"]) {
        return Voice::Plain;
    }
    if region.len() == 1 {
        match first.word.as_str() {
            "i" => return Voice::First("I".into()),
            "we" => return Voice::First("We".into()),
            "you" => return Voice::You,
            "they" | "he" | "she" => return Voice::Plain,
            "it" | "this" | "that" => return Voice::Third(said(sentence, first), false),
            "these" | "those" => return Voice::Third(said(sentence, first), true),
            _ => {}
        }
    }
    let Some(last) = region.last() else { return Voice::Plain };
    let at = end - 1;
    let noun = (scene.covers(Way::Ours, at) || scene.covers(Way::Tool, at))
        && !last.any(&[
            "it",
            "this",
            "that",
            "these",
            "those",
            "i",
            "we",
            "you",
            "they",
            "he",
            "she",
            "which",
            "who",
            "my",
            "our",
            "daily",
            "everything",
        ]);
    let whole = first.any(&[
        "this", "that", "the", "our", "my", "your", "these", "those", "a", "an", "facial", "face", "daily", "gentle",
    ]) || first.form == Form::Ing
        || region.len() == 1;
    let clean = !region
        .iter()
        .any(|t| t.any(&["of", "for", "and", "with", "that", "which", "who", "you", "i", "we", "if", "when"]));
    let hands = last.any(&["hands", "hand", "fingers", "finger", "fingertips", "knuckles"]) && hit.kind != "body";
    if noun && whole && clean && !hands {
        let many = last.form == Form::S && !first.any(&["this", "that", "a", "an"]) && !last.word.ends_with("ss");
        let words = cut(sentence, first.lo, last.hi);
        return Voice::Third(words, many);
    }
    Voice::Plain
}

/// A word without what is drawn to it: `that` of `that's`.
fn said(sentence: &str, token: &Token) -> String {
    cut(sentence, token.lo, token.hi).split(['\'', '’']).next().unwrap_or_default().to_owned()
}

/// The illness as it was said, or in general where the words would not stand after "for".
fn matter(scene: &Scene, sentence: &str, hit: &Hit) -> String {
    let general = match hit.topic.as_str() {
        "pain" => "pain that stays",
        "skin_condition" => "a skin condition",
        _ => "an illness",
    };
    if hit.kind != "disease" || !hit.pair {
        return general.to_owned();
    }
    let mark = scene
        .marks
        .all
        .iter()
        .filter(|m| m.lo >= hit.lo && m.hi <= hit.hi && scene.named(m.class, &hit.matter))
        .max_by_key(|m| m.hi - m.lo);
    let Some(mark) = mark else { return general.to_owned() };
    let last = &scene.tokens[mark.hi - 1].word;
    if ["ful", "ed", "ing", "y", "ic"].iter().any(|e| last.ends_with(e))
        && !["allergy", "anxiety", "palsy", "neuropathy", "apathy"].contains(&last.as_str())
    {
        return general.to_owned();
    }
    let owned = mark.lo > 0 && scene.tokens[mark.lo - 1].any(&["your", "a", "an", "the"]);
    let from = mark.lo - usize::from(owned);
    let said = cut(sentence, scene.tokens[from].lo, scene.tokens[mark.hi - 1].hi);
    let acronym = said.chars().take_while(|c| c.is_alphabetic()).filter(|c| c.is_uppercase()).count() > 1;
    if acronym || scene.tokens[from].lo > 0 { said } else { said.to_lowercase() }
}

/// Verbs that agree with one thing or several.
fn agreed(text: &str, many: bool) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("{v:") {
        out.push_str(&rest[..at]);
        let tail = &rest[at + 3..];
        let Some(end) = tail.find('}') else { break };
        let verb = &tail[..end];
        match (verb, many) {
            ("be", true) => out.push_str("are"),
            ("be", false) => out.push_str("is"),
            (verb, true) => out.push_str(verb),
            (verb, false) => {
                out.push_str(verb);
                out.push('s');
            }
        }
        rest = &tail[end + 1..];
    }
    out.push_str(rest);
    out
}

/// A sentence that is told within another: small at its beginning, but for I and names.
fn lowered(sentence: &str, scene: &Scene) -> String {
    let own = |t: &Token| {
        t.is("i") || (t.exact == 0 && t.stem == 0) || sentence.chars().nth(1).is_some_and(char::is_uppercase)
    };
    let keeps = scene.tokens.first().is_none_or(own);
    if keeps { sentence.to_owned() } else { with_first(sentence, false) }
}

fn with_first(text: &str, large: bool) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(c) if large => c.to_uppercase().chain(chars).collect(),
        Some(c) => c.to_lowercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// Set as the speaker set theirs: the opening kept, small or capital, with or without a full stop.
fn set(opening: &str, text: &str, sentence: &str) -> String {
    let small = sentence.trim_start().chars().next().is_some_and(char::is_lowercase);
    let ended = sentence.trim_end().ends_with(['.', '!', '?', '"', '”', '…']);
    let proper = text.starts_with("I ") || text.starts_with("I'");
    let text = text.trim_end_matches(['.', '?']);
    let mut out = String::new();
    if opening.is_empty() {
        out.push_str(&if small && !proper { with_first(text, false) } else { with_first(text, true) });
    } else {
        out.push_str(opening.trim());
        out.push(' ');
        out.push_str(&if proper { text.to_owned() } else { with_first(text, false) });
    }
    if sentence.trim_end().ends_with('?') && (text.starts_with("Curious") || text.starts_with("curious")) {
        out.push('?');
    } else if ended {
        out.push('.');
    }
    out
}
