//! What the words tell besides a place: action, tool, pressure, side, and which kind of talk it is.

use vocab::Side;

use super::lexicon::{Lexicon, Manner};
use super::stream::Word;

/// A manner that was heard: where its words begin and end.
#[derive(Clone, Debug)]
pub struct Heard<'a> {
    /// Which.
    pub manner: &'a Manner,
    /// First and last word.
    pub words: (usize, usize),
}

/// Which side was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Said {
    /// This one.
    This(Side),
    /// The other one.
    Other,
}

/// Every manner in these words; longer ones first at one place, several kinds side by side.
pub fn manners<'a>(lexicon: &'a Lexicon, words: &[Word], from: usize, to: usize) -> Vec<Heard<'a>> {
    let mut found: Vec<Heard> = Vec::new();
    for i in from..to {
        for manner in lexicon.manners(&words[i].stem) {
            let n = manner.words.len();
            let exact = manner.is == "is" || manner.kind == "side";
            if i + n > to
                || !(0..n)
                    .all(|k| words[i + k].raw == manner.words[k] || !exact && same(&words[i + k], &manner.words[k]))
            {
                continue;
            }
            let covered = found.iter().any(|h| {
                h.manner.kind == manner.kind
                    && h.words.0 <= i
                    && i + n - 1 <= h.words.1
                    && (h.manner.kind != "cue" || h.manner.is == manner.is)
            });
            if covered || stray(words, i, n, manner) {
                continue;
            }
            found.push(Heard { manner, words: (i, i + n - 1) });
        }
    }
    found
}

/// Whether a spoken word is this one: the same, or another form of the verb that tells to do it.
fn same(word: &Word, said: &str) -> bool {
    if word.raw == said {
        return true;
    }
    let form = !word.raw.ends_with('s') && !word.raw.ends_with("ed") && !said.ends_with('s') && !said.contains('\'');
    form && said.len() > 3 && word.stem == super::lexicon::stem(said)
}

/// A verb's word that is none here: "hold tension", "the rest of", "your right hand".
fn stray(words: &[Word], i: usize, n: usize, manner: &Manner) -> bool {
    let before = |k: usize| i.checked_sub(k).map_or("", |j| words[j].raw.as_str());
    let after = |k: usize| words.get(i + n - 1 + k).map_or("", |w| w.raw.as_str());
    if manner.kind == "action" {
        return match words[i].raw.as_str() {
            "hold" | "holding" => {
                matches!(
                    after(1),
                    "tension" | "stress" | "so" | "our" | "on" | "a" | "everything" | "worry" | "worries"
                ) || matches!(before(1), "muscles" | "we" | "people" | "that")
            }
            "rest" | "resting" => {
                matches!(before(1), "the")
                    || matches!(after(1), "of")
                    || matches!(after(2), "tongue" | "head" | "elbows" | "feet")
            }
            "smooth" => !matches!(
                after(1),
                "out" | "over" | "along" | "your" | "the" | "down" | "up" | "from" | "it" | "across"
            ),
            "run" | "draw" | "comb" | "iron" | "pull" | "brush" => {
                matches!(before(1), "the" | "a" | "my" | "will") && n == 1
            }
            "stretch" | "stretching" => {
                matches!(after(1), "your") && matches!(after(2), "neck" | "arms" | "back" | "legs")
            }
            "roll" | "rolling" => matches!(after(1), "your") && matches!(after(2), "shoulders" | "eyes" | "head"),
            "roller" => false,
            "pressure" => true,
            "push" | "press" => matches!(before(1), "the" | "blood"),
            "tap" => matches!(before(1), "the"),
            "circles" => matches!(before(1), "dark"),
            "follow" => matches!(after(1), "me" | "along" | "us" | "with" | "my"),
            "travel" => matches!(before(1), "when" | "i"),
            _ => false,
        };
    }
    false
}

/// The sides that are told, each with its word. A hand's own side is not the side of the face.
pub fn sides(lexicon: &Lexicon, words: &[Word], from: usize, to: usize) -> Vec<(Said, usize)> {
    let mut found = Vec::new();
    let spans: Vec<Heard> = manners(lexicon, words, from, to).into_iter().filter(|h| h.manner.kind == "side").collect();
    for heard in &spans {
        // "one hand after the other" is no side.
        let before = heard.words.0.checked_sub(1).map_or("", |j| words[j].raw.as_str());
        if heard.manner.is == "other"
            && matches!(
                before,
                "after"
                    | "over"
                    | "each"
                    | "than"
                    | "behind"
                    | "against"
                    | "above"
                    | "below"
                    | "under"
                    | "beside"
                    | "or"
            )
        {
            continue;
        }
        let said = if heard.manner.is == "other" { Said::Other } else { Said::This(Side::Both) };
        found.push((said, heard.words.0));
    }
    let spans: Vec<(usize, usize)> = spans.iter().map(|h| h.words).collect();
    for i in (from..to).filter(|i| !spans.iter().any(|(a, b)| a <= i && i <= b)) {
        let joined = |k: usize| (i + 1 - k.min(i)..=i).all(|j| words[j].before < super::stream::Break::Comma);
        let before = |k: usize| i.checked_sub(k).filter(|_| joined(k)).map_or("", |j| words[j].raw.as_str());
        let after = |k: usize| words.get(i + k).map_or("", |w| w.raw.as_str());
        let parted = words.get(i + 1).is_none_or(|w| w.before > super::stream::Break::None);
        let one = match words[i].raw.as_str() {
            "left" => Side::Left,
            "right" => Side::Right,
            _ => continue,
        };
        let handed = matches!(
            after(1),
            "hand"
                | "hands"
                | "palm"
                | "finger"
                | "fingers"
                | "fingertips"
                | "thumb"
                | "index"
                | "arm"
                | "middle"
                | "ring"
                | "elbow"
                | "fist"
                | "knuckles"
                | "fingertip"
                | "hand's"
                | "forefinger"
        ) && !parted
            || after(1) == "one" && matches!(after(2), "goes" | "lies" | "rests" | "comes" | "moves" | "does");
        if handed {
            continue;
        }
        let told = match one {
            Side::Left => {
                !matches!(
                    before(1),
                    "seconds"
                        | "minutes"
                        | "nothing"
                        | "have"
                        | "we"
                        | "i"
                        | "is"
                        | "what's"
                        | "been"
                        | "are"
                        | "minute"
                        | "time"
                        | "was"
                        | "he"
                        | "they"
                ) && !matches!(after(1), "over" | "out" | "alone" | "in" | "behind")
            }
            _ => {
                let bound = matches!(
                    before(1),
                    "the"
                        | "your"
                        | "my"
                        | "our"
                        | "on"
                        | "to"
                        | "and"
                        | "their"
                        | "now"
                        | "or"
                        | "her"
                        | "his"
                        | "then"
                        | "round"
                        | "over"
                );
                let adverb = !parted
                    && matches!(
                        after(1),
                        "beside"
                            | "here"
                            | "there"
                            | "under"
                            | "at"
                            | "in"
                            | "on"
                            | "where"
                            | "above"
                            | "into"
                            | "behind"
                            | "between"
                            | "next"
                            | "after"
                            | "before"
                            | "up"
                            | "down"
                            | "below"
                            | "now"
                            | "away"
                            | "beneath"
                            | "underneath"
                            | "across"
                            | "along"
                            | "across_from"
                            | "outside"
                            | "inside"
                            | "by"
                            | "around"
                            | "from"
                            | "then"
                    );
                let started = matches!(
                    words[i].before,
                    super::stream::Break::Sentence
                        | super::stream::Break::Pause
                        | super::stream::Break::Comma
                        | super::stream::Break::Colon
                );
                let place = matches!(
                    after(1),
                    "side"
                        | "cheek"
                        | "temple"
                        | "brow"
                        | "eyebrow"
                        | "eye"
                        | "ear"
                        | "nostril"
                        | "jaw"
                        | "collarbone"
                        | "neck"
                        | "shoulder"
                        | "half"
                        | "one"
                        | "earlobe"
                        | "cheekbone"
                        | "clavicle"
                        | "armpit"
                        | "lobe"
                        | "masseter"
                        | "jawline"
                        | "chewing"
                        | "muscle"
                        | "front"
                        | "lower"
                        | "upper"
                        | "bone"
                        | "rim"
                        | "again"
                        | "corner"
                        | "inner"
                        | "outer"
                        | "hollow"
                        | "dip"
                        | "dent"
                        | "notch"
                        | "bulge"
                        | "groove"
                        | "pit"
                        | "tail"
                        | "trap"
                        | "rims"
                        | "apple"
                        | "wing"
                        | "smile"
                        | "laugh"
                        | "blade"
                        | "scapula"
                        | "of"
                ) || after(1) == "as" && matches!(after(2), "before" | "above");
                place && !parted
                    || (bound || (started && parted && after(1) != "so")) && !adverb
                    || bound
                        && adverb
                        && matches!(before(1), "the" | "your" | "my")
                        && matches!(before(2), "on" | "to" | "of" | "over")
            }
        };
        // "what the right got", "as long as you took on the left": the side that was.
        let was = matches!(after(1), "got" | "had" | "did" | "has" | "received")
            || before(2) == "on" && matches!(before(3), "took" | "did" | "spent" | "was" | "as" | "like" | "than");
        let told = told && !was;
        if told && !found.iter().any(|(_, at)| *at == i) {
            // On the screen the person's left is the viewer's right.
            let screen = (i..(i + 5).min(to)).any(|k| matches!(words[k].raw.as_str(), "screen" | "picture"));
            let side = match (screen, one) {
                (true, Side::Left) => Side::Right,
                (true, _) => Side::Left,
                (false, one) => one,
            };
            found.push((Said::This(side), i));
        }
    }
    // "Switch." alone.
    let bare = |w: &&Word| {
        !matches!(w.raw.as_str(), "and" | "now" | "then" | "okay" | "so" | "over" | "sides" | "it" | "arms" | "hands")
    };
    let turn: Vec<&Word> = words[from..to].iter().filter(bare).collect();
    if let [turn] = turn.as_slice()
        && matches!(turn.raw.as_str(), "switch" | "swap" | "swop" | "mirror" | "change")
        && found.is_empty()
    {
        found.push((Said::Other, from));
    }
    // "the other jawline": the other of any place.
    for i in from..to {
        let next = words.get(i + 1).filter(|w| w.before < super::stream::Break::Comma).map_or("", |w| w.raw.as_str());
        let thing = matches!(
            next,
            "" | "way"
                | "day"
                | "words"
                | "word"
                | "video"
                | "people"
                | "hand"
                | "thing"
                | "things"
                | "finger"
                | "fingers"
                | "end"
                | "than"
                | "times"
                | "week"
                | "point"
                | "palm"
                | "thumb"
                | "tool"
                | "night"
                | "hands"
        );
        // "one above the other" is no side.
        let heaped = i > 1
            && matches!(
                words[i - 2].raw.as_str(),
                "above" | "below" | "under" | "after" | "over" | "beside" | "behind"
            );
        if matches!(words[i].raw.as_str(), "other" | "opposite")
            && !thing
            && !heaped
            && !found.iter().any(|(_, at)| *at <= i && i < *at + 2)
        {
            found.push((Said::Other, i));
        }
    }
    found.sort_by_key(|(_, at)| *at);
    found
}

/// Several of one place: on both sides.
pub fn many(raw: &str) -> bool {
    matches!(
        raw,
        "temples"
            | "brows"
            | "eyebrows"
            | "ears"
            | "earlobes"
            | "lobes"
            | "cheeks"
            | "cheekbones"
            | "nostrils"
            | "eyes"
            | "collarbones"
            | "clavicles"
            | "shoulders"
            | "armpits"
            | "corners"
            | "hollows"
            | "wings"
            | "sides"
            | "jaws"
            | "tails"
            | "sockets"
            | "clavicle's"
            | "apples"
            | "pupils"
            | "traps"
            | "masseters"
            | "jawlines"
            | "lines"
            | "folds"
            | "ends"
            | "muscles"
    )
}
