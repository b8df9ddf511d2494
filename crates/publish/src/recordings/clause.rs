//! Clauses, and what kind of talk each is.

use super::heard::{Heard, Said, manners, sides};
use super::length::{Length, length};
use super::lexicon::Lexicon;
use super::place::Mention;
use super::stream::{Break, Stream, Word};

/// What a clause does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// It tells what is, or what is not to be done: no step.
    Talk,
    /// It looks for a place.
    Find,
    /// It names a place like a heading.
    Name,
    /// It puts the hand somewhere.
    Go,
    /// It tells what the hand does.
    Act,
}

/// A stretch of words that tells one thing.
#[derive(Clone, Debug)]
pub struct Clause<'a> {
    /// From its first word to the word after its last.
    pub words: (usize, usize),
    /// What it does.
    pub kind: Kind,
    /// The places that count, with what stands before each.
    pub mentions: Vec<Mention>,
    /// Places in talk, which "there" may mean.
    pub aside: Vec<Mention>,
    /// Actions in order, by name.
    pub actions: Vec<&'a str>,
    /// The tool that is told.
    pub tool: Option<&'a str>,
    /// The pressure that is told.
    pub pressure: Option<&'a str>,
    /// Sides in order.
    pub sides: Vec<Said>,
    /// The length that is told.
    pub length: Option<Length>,
    /// Still the same place.
    pub keep: bool,
    /// Everything again.
    pub block: bool,
    /// One finger.
    pub finger: bool,
    /// Both hands, by their number alone.
    pub hands: bool,
    /// The hand or a tool is named.
    pub hand: bool,
    /// It begins with next, now, then ...
    pub next: bool,
    /// It says first, begin, start: what follows may say it nearer.
    pub starts: bool,
    /// It goes on along the skin: drop, slide, walk.
    pub path: bool,
    /// "there", "here", "it", "this".
    pub points_back: bool,
    /// The same again.
    pub same: bool,
    /// Nothing in it is a step.
    pub out: bool,
}

/// Words at which a clause begins.
const OPENS: &[&str] = &["then", "but", "so", "because", "while", "if", "when", "whenever", "unless", "now", "which"];

/// Where clauses begin.
fn begins(lexicon: &Lexicon, words: &[Word], i: usize) -> bool {
    let word = &words[i];
    if i == 0 || word.before >= Break::Comma {
        return true;
    }
    if OPENS.contains(&word.raw.as_str()) {
        return i > 0 && words[i - 1].raw != "and" && words[i - 1].raw != "right";
    }
    let after = |k: usize| words.get(i + k).map_or("", |w| w.raw.as_str());
    match word.raw.as_str() {
        "okay" | "ok" | "finally" | "anyway" | "aye" | "alright" => true,
        "first" => {
            matches!(after(1), "both" | "one" | "two" | "put" | "place" | "lay" | "take" | "i" | "we" | "set" | "rest")
                && !matches!(
                    words[i - 1].raw.as_str(),
                    "the" | "and" | "at" | "is" | "do" | "from" | "side" | "one" | "your"
                )
        }
        // Where nobody punctuated, the hand begins what is told.
        "both" | "one" | "two" | "flat" | "hand" | "hands" | "palms" | "fingers" | "fingertips" => {
            let itself = matches!(word.raw.as_str(), "hand" | "hands" | "palms" | "fingers" | "fingertips");
            let hand = |w: &str| {
                itself
                    && matches!(
                        w,
                        "flat"
                            | "on"
                            | "over"
                            | "in"
                            | "under"
                            | "behind"
                            | "between"
                            | "beside"
                            | "above"
                            | "below"
                            | "either"
                            | "along"
                    )
                    || !itself
                        && matches!(
                            w,
                            "hand" | "hands" | "palms" | "finger" | "fingers" | "fingertip" | "fingertips" | "thumbs"
                        )
            };
            let open = matches!(
                words[i - 1].raw.as_str(),
                "with"
                    | "the"
                    | "your"
                    | "my"
                    | "of"
                    | "and"
                    | "on"
                    | "in"
                    | "to"
                    | "at"
                    | "from"
                    | "for"
                    | "by"
                    | "just"
                    | "put"
                    | "place"
                    | "lay"
                    | "use"
                    | "using"
                    | "take"
                    | "cup"
                    | "rest"
                    | "set"
                    | "bring"
                    | "hold"
                    | "spread"
                    | "or"
                    | "only"
                    | "first"
                    | "into"
                    | "press"
                    | "need"
                    | "let"
                    | "these"
                    | "those"
                    | "then"
                    | "next"
                    | "now"
                    | "so"
                    | "okay"
                    | "as"
                    | "than"
                    | "both"
                    | "one"
                    | "two"
                    | "flat"
                    | "right"
                    | "left"
                    | "ring"
                    | "middle"
                    | "index"
                    | "other"
                    | "whole"
                    | "three"
                    | "four"
                    | "ten"
                    | "all"
                    | "little"
                    | "lightly"
                    | "gently"
                    | "softly"
                    | "warm"
                    | "rub"
                    | "last"
                    | "i"
                    | "we"
                    | "you"
                    | "last one"
            );
            let bare = words[i.saturating_sub(8)..=i].iter().all(|w| w.before < Break::Comma);
            hand(after(1)) && !open && bare
        }
        "that's" | "thats" => matches!(after(1), "it" | "us" | "all" | "me" | "you" | "your"),
        "next" => {
            !matches!(after(1), "to" | "week" | "time" | "video" | "day")
                && i > 0
                && !matches!(
                    words[i - 1].raw.as_str(),
                    "the" | "right" | "your" | "my" | "and" | "up" | "comes" | "is" | "just"
                )
        }
        "and" => {
            (1..=3).any(|k| {
                words.get(i + k).is_some_and(|w| {
                    w.before < Break::Comma
                        && lexicon.manners(&w.stem).iter().any(|m| {
                            let verb = m.kind == "action" && !w.raw.ends_with('s')
                                || m.kind == "cue" && matches!(m.is.as_str(), "go" | "find" | "not");
                            verb && (0..m.words.len()).all(|n| {
                                words.get(i + k + n).is_some_and(|w| {
                                    w.raw == m.words[n]
                                        || w.stem == super::lexicon::stem(&m.words[n]) && !w.raw.ends_with('s')
                                })
                            })
                        })
                        && (1..k).all(|j| {
                            matches!(
                                after(j),
                                "then"
                                    | "now"
                                    | "we"
                                    | "i"
                                    | "you"
                                    | "just"
                                    | "gently"
                                    | "slowly"
                                    | "softly"
                                    | "very"
                                    | "let's"
                            )
                        })
                })
            }) || (matches!(after(1), "my" | "your" | "the" | "our" | "it" | "this")
                && (2..=4).any(|k| matches!(after(k), "are" | "is" | "was" | "were" | "feels" | "feel")))
                || matches!(after(1), "then" | "now" | "next" | "not" | "never" | "we" | "i" | "don't" | "breathe")
        }
        "we" | "i" => {
            // "no I'm not allowed to say that we stroke down ..."
            let verb = words.get(i + 1).is_some_and(|w| {
                w.before < Break::Comma
                    && lexicon
                        .manners(&w.stem)
                        .iter()
                        .any(|m| m.kind == "action" && m.words.len() == 1 && m.words[0] == w.raw)
            });
            let does = matches!(after(1), "do" | "start" | "begin")
                && words[i.saturating_sub(6)..=i].iter().all(|w| w.before < Break::Comma);
            (verb || does)
                && i > 0
                && !matches!(
                    words[i - 1].raw.as_str(),
                    "and"
                        | "then"
                        | "if"
                        | "as"
                        | "when"
                        | "what"
                        | "where"
                        | "do"
                        | "how"
                        | "now"
                        | "so"
                        | "here"
                        | "muscles"
                        | "people"
                        | "don't"
                )
        }
        "before" => matches!(after(1), "we" | "you" | "i" | "going" | "moving"),
        _ => false,
    }
}

/// Takes the stream apart.
pub fn clauses<'a>(lexicon: &'a Lexicon, stream: &Stream, mentions: &[Mention]) -> Vec<Clause<'a>> {
    let words = &stream.words;
    let inside = |i: usize| mentions.iter().any(|m| m.words.0 < i && i <= m.words.1);
    let mut starts: Vec<usize> = (0..words.len())
        .filter(|i| *i == 0 || words[*i].before >= Break::Sentence || begins(lexicon, words, *i) && !inside(*i))
        .collect();
    let parted = after_talk(lexicon, words, mentions, &starts);
    starts.extend(parted.iter().copied());
    starts.sort_unstable();
    starts.dedup();
    starts.push(words.len());
    let mut out: Vec<Clause> = Vec::new();
    let mut carried = Carried::default();
    for pair in starts.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        if words[from].before >= Break::Sentence {
            carried = Carried::default();
        }
        let here: Vec<&Mention> = mentions.iter().filter(|m| from <= m.words.0 && m.words.0 < to).collect();
        out.push(clause(lexicon, words, (from, to), &here, &mut carried));
    }
    whole_sentences(words, &mut out, lexicon, &parted);
    out
}

/// After so many words of talk that nobody punctuated a place begins something new.
const TALK_WORDS: usize = 12;

/// Where a place follows long talk without a stop: "... the same page since march beside the outer corners of the eyes ...".
fn after_talk(lexicon: &Lexicon, words: &[Word], mentions: &[Mention], starts: &[usize]) -> Vec<usize> {
    let leads = |w: &str| {
        matches!(
            w,
            "the"
                | "a"
                | "your"
                | "my"
                | "left"
                | "right"
                | "both"
                | "each"
                | "two"
                | "of"
                | "on"
                | "in"
                | "at"
                | "to"
                | "under"
                | "from"
                | "over"
                | "beside"
                | "between"
                | "along"
                | "down"
                | "up"
                | "take"
                | "hold"
                | "grab"
                | "drop"
                | "find"
                | "and"
                | "go"
                | "then"
                | "come"
                | "back"
                | "into"
                | "just"
        )
    };
    let mut found = Vec::new();
    for (n, mention) in mentions.iter().enumerate() {
        let at = mention.words.0;
        let mut from = at;
        while from > 0 && words[from].before == Break::None && leads(&words[from - 1].raw) {
            from -= 1;
        }
        let last = starts.iter().rev().find(|s| **s <= from).copied().unwrap_or(0);
        let said_before = n > 0 && mentions[n - 1].words.1 >= last;
        let long = from >= last + TALK_WORDS && words[last + 1..=at].iter().all(|w| w.before == Break::None);
        if !long || said_before || mention.weight < 4 {
            continue;
        }
        let told = manners(lexicon, words, from - 8, from);
        let does = |h: &Heard| {
            h.manner.kind == "action"
                || h.manner.kind == "cue" && matches!(h.manner.is.as_str(), "hand" | "not" | "find" | "block" | "later")
        };
        // What is not to be touched, or is looked for with the hand, goes on.
        if !told.iter().any(does) {
            found.push(from);
        }
    }
    found
}

/// What goes on from clause to clause of a sentence.
#[derive(Default)]
struct Carried {
    not: bool,
    talk: bool,
}

fn clause<'a>(
    lexicon: &'a Lexicon,
    words: &[Word],
    (from, to): (usize, usize),
    here: &[&Mention],
    carried: &mut Carried,
) -> Clause<'a> {
    let heard = manners(lexicon, words, from, to);
    let of_place = |h: &Heard| here.iter().any(|m| m.words.0 <= h.words.0 && h.words.1 <= m.words.1);
    let cue = |is: &str| heard.iter().find(|h| h.manner.kind == "cue" && h.manner.is == is && !of_place(h));
    let raw = |i: usize| words.get(i).map_or("", |w| w.raw.as_str());
    // From here on nothing of the clause is to be done.
    let mut not = cue("not").map(|h| h.words.0);
    if let Some(at) = not
        && raw(at) == "not"
        && raw(at + 1) == "only"
    {
        not = None;
    }
    // "leave it out", "let it alone".
    let left_out = |i: usize| {
        let ends: &[&str] = if raw(i) == "leave" { &["alone", "out"] } else { &["alone", "be"] };
        matches!(raw(i), "leave" | "let") && (i + 1..to.min(i + 5)).any(|k| ends.contains(&raw(k)))
    };
    if (from..to).any(left_out) {
        not = Some(from);
    }
    let counts = |at: usize| not.is_none_or(|n| at < n);
    let mut actions: Vec<(&Heard, &'a str)> = Vec::new();
    for h in heard.iter().filter(|h| h.manner.kind == "action" && counts(h.words.0)) {
        // A landmark's own word is no action: the slope of the roll.
        if !of_place(h)
            || matches!(h.manner.is.as_str(), "stroke" | "press" | "circle" | "pinch" | "palm")
                && here.iter().any(|m| m.words.0 < h.words.0)
        {
            actions.push((h, h.manner.is.as_str()));
        }
    }
    // "don't press, drag or pull": what only goes on has the same sense, until something else is told to do.
    let begins_anew = words[from].before >= Break::Sentence
        || matches!(
            raw(from),
            "but" | "just" | "only" | "then" | "now" | "next" | "okay" | "ok" | "finally" | "anyway"
        )
        || raw(from) == "and" && matches!(raw(from + 1), "then" | "now" | "next")
        || !actions.is_empty() && !matches!(raw(from), "or" | "nor");
    // Without a comma only what is joined goes on.
    let joined = words[from].before >= Break::Comma || matches!(raw(from), "or" | "nor" | "and");
    if carried.not && not.is_none() && !begins_anew && joined {
        not = Some(from);
        actions.clear();
    }
    carried.not = not.is_some();
    let counts = |at: usize| not.is_none_or(|n| at < n);
    let body = cue("body").is_some_and(|b| {
        !heard.iter().any(|h| h.manner.kind == "cue" && h.manner.is == "find" && h.words.0 == b.words.0)
    });
    let hand =
        heard.iter().any(|h| h.manner.kind == "cue" && h.manner.is == "hand" && counts(h.words.0) && !of_place(h))
            || heard.iter().any(|h| {
                h.manner.kind == "cue"
                    && h.manner.is == "hand"
                    && matches!(raw(h.words.0), "fingertip" | "fingertips" | "fingers" | "palms" | "palm" | "thumbs")
            });
    let find = cue("find").is_some();
    let go = cue("go").filter(|h| counts(h.words.0)).is_some();
    let condition = cue("condition").is_some_and(|h| h.words.0 <= from + 1) && !find;
    // "the right one goes under the bone": what the hand does, not what is.
    let by_hand = |h: &Heard| {
        matches!(raw(h.words.0), "goes" | "lies" | "rests" | "comes" | "moves" | "sits" | "go" | "runs" | "works")
            && (from..h.words.0).next_back().is_some_and(|k| {
                let hand = matches!(raw(k), "hand" | "hands" | "finger" | "fingers" | "fingertip" | "thumb" | "thumbs");
                hand || matches!(raw(k), "palm" | "palms" | "fingertips")
                    || raw(k) == "one" && k > from && matches!(raw(k - 1), "right" | "left" | "other")
            })
    };
    let told_is = |h: &&Heard| h.manner.kind == "cue" && h.manner.is == "is" && !of_place(h) && counts(h.words.0);
    let is = heard.iter().filter(told_is).find(|h| !by_hand(h));
    let hand_goes = heard.iter().filter(told_is).any(by_hand);
    let keep = cue("keep").is_some_and(|h| h.words.0 <= from + 2);
    let verbs_s = is.is_some();
    let short = to - from <= 15;
    let kind = if condition || (body && actions.is_empty() && !hand && !find) {
        Kind::Talk
    } else if !actions.is_empty() {
        Kind::Act
    } else if hand && (go || !verbs_s) || hand_goes && !verbs_s {
        Kind::Go
    } else if find {
        Kind::Find
    } else if go && !verbs_s {
        Kind::Go
    } else if !verbs_s && (short || words[from].before >= Break::Sentence) {
        Kind::Name
    } else {
        Kind::Talk
    };
    // "Notice your jaw, your brow, your shoulders": a list of talk.
    let kind = if carried.talk && kind == Kind::Name && words[from].before == Break::Comma { Kind::Talk } else { kind };
    carried.talk = kind == Kind::Talk && !condition;
    let strokes = actions.iter().any(|(_, a)| matches!(*a, "stroke" | "scrape" | "roll" | "pinch"));
    let mut kept: Vec<Mention> = Vec::new();
    let mut aside: Vec<Mention> = Vec::new();
    for (n, mention) in here.iter().enumerate() {
        let lead: Vec<&str> = (mention.words.0.saturating_sub(4).max(from)..mention.words.0).map(raw).collect();
        let leads = |word: &str| {
            lead.iter()
                .rev()
                .take_while(|w| {
                    super::lexicon::small(w, None)
                        || **w == word
                        || matches!(**w, "down" | "up" | "out" | "over" | "back" | "across")
                })
                .any(|w| *w == word)
        };
        let from_there = leads("from") && !lead.contains(&"there") && !lead.contains(&"here") && !mention.way;
        let toward = ["toward", "towards", "until", "past"].iter().any(|w| leads(w));
        let to_there = leads("to") && (strokes && here.len() > 1 || n > 0 || strokes && !hand);
        let to_there = to_there || n == 0 && leads("to") && lead.contains(&"out") && !hand && !actions.is_empty();
        let verb_of_body = kind == Kind::Go && !hand && lead.last().is_some_and(|_| moves_a_part(&lead));
        // "till you get to the tail": only where it ends.
        let end =
            mention.words.0 == mention.words.1 && matches!(raw(mention.words.0), "tail" | "tails" | "end" | "ends");
        let reached = end && lead.iter().any(|w| matches!(*w, "to" | "till" | "until" | "toward" | "towards"));
        if !counts(mention.words.0) || reached {
            continue;
        }
        if kind == Kind::Talk {
            aside.push((*mention).clone());
        } else if verb_of_body || from_there && (here.len() > 1 || actions.is_empty()) || toward || to_there {
            if !from_there {
                aside.push((*mention).clone());
            }
        } else {
            kept.push((*mention).clone());
        }
    }
    join_ways(&mut kept, &raw);
    // "the soft hollow" tells no pressure.
    let of_noun = |h: &Heard| here.iter().any(|m| m.words.0 == h.words.1 + 1);
    let told = |kind: &str| {
        let all = heard.iter().filter(|h| h.manner.kind == kind && counts(h.words.0) && !of_place(h));
        all.filter(|h| kind != "pressure" || !of_noun(h)).map(|h| h.manner.is.as_str()).next_back()
    };
    let raws: Vec<&str> = (from..to).map(raw).collect();
    let any = |all: &[&str]| raws.iter().any(|w| all.contains(w));
    let spoken_sides = sides(lexicon, words, from, to);
    let first = raws
        .iter()
        .find(|w| {
            !matches!(**w, "and" | "okay" | "ok" | "so" | "well" | "alright" | "right" | "good" | "great" | "uh" | "um")
        })
        .copied()
        .unwrap_or("");
    Clause {
        words: (from, to),
        kind,
        mentions: kept,
        aside,
        actions: actions.iter().map(|(_, a)| *a).collect(),
        tool: told("tool"),
        pressure: told("pressure"),
        sides: spoken_sides.iter().copied().filter(|(_, at)| counts(*at)).map(|(s, _)| s).collect(),
        length: if not.is_some_and(|n| n == from) { None } else { length(&words[from..not.unwrap_or(to)]) },
        keep,
        block: cue("block").is_some(),
        finger: any(&["finger", "fingertip", "thumb", "tip", "index", "knuckle"]),
        hands: any(&["palms", "hands", "thumbs", "knuckles", "fists"]) && spoken_sides.is_empty(),
        hand: hand || hand_goes,
        next: matches!(first, "next" | "now" | "then" | "finally" | "last" | "lastly" | "step" | "after" | "another"),
        starts: any(&["start", "starting", "begin", "beginning", "first", "find", "from", "set"]),
        path: any(&[
            "drop", "slide", "slip", "walk", "follow", "wander", "drift", "trace", "travel", "straight", "until",
            "glide", "climb",
        ]),
        points_back: any(&["there", "here", "it", "this", "that", "these", "those", "them", "'em", "same"]),
        same: any(&["same", "again", "repeat", "likewise", "too", "also", "mirror", "ditto"])
            || raws.windows(2).any(|w| matches!(w, ["as", "before" | "above"])),
        out: condition,
    }
}

/// "the forehead, from the brow to the hairline" is one place; "under the jaw, from the chin to the ear" as well.
fn join_ways<'w>(kept: &mut Vec<Mention>, raw: &impl Fn(usize) -> &'w str) {
    let mut i = 1;
    while i < kept.len() {
        let between = kept[i - 1].words.1 + 1..kept[i].words.0;
        // "the side of the nose, beside the inner corner of the eye": one place, the second says where.
        let told_nearer = !kept[i].way
            && between.len() <= 3
            && between.clone().all(|k| {
                matches!(
                    raw(k),
                    "on" | "in"
                        | "at"
                        | "right"
                        | "just"
                        | "bone"
                        | "the"
                        | "your"
                        | "skin"
                        | "straight"
                        | "beside"
                        | "under"
                        | "below"
                        | "behind"
                        | "above"
                        | "between"
                        | "of"
                        | "directly"
                        | "very"
                )
            })
            && !between.is_empty()
            && !kept[i - 1].way
            && kept[i].targets != kept[i - 1].targets;
        if told_nearer {
            let first = kept.remove(i - 1);
            // What was said in more words is the nearer of the two.
            if first.weight > kept[i - 1].weight + 3 {
                kept[i - 1].targets = first.targets;
            }
            kept[i - 1].words.0 = first.words.0;
            kept[i - 1].weight = kept[i - 1].weight.max(first.weight);
            continue;
        }
        let joined =
            kept[i].way && between.len() <= 6 && !between.clone().any(|k| matches!(raw(k), "and" | "then" | "or"));
        if joined {
            // Which of the two is meant is decided where the atlas is known.
            let way = kept.remove(i);
            kept[i - 1].along = way.targets.first().copied();
            kept[i - 1].words.1 = kept[i - 1].words.1.max(way.words.1);
        } else {
            i += 1;
        }
    }
}

/// "drop your shoulders", "lift the chin": a part of the body is moved, no hand is put there.
fn moves_a_part(lead: &[&str]) -> bool {
    let mut back =
        lead.iter().rev().skip_while(|w| matches!(**w, "your" | "the" | "both" | "my" | "our" | "left" | "right"));
    back.next().is_some_and(|w| {
        matches!(
            *w,
            "drop" | "move" | "lift" | "lower" | "turn" | "bring" | "set" | "take" | "put" | "stop" | "open" | "shift"
        )
    })
}

/// A sentence that looks ahead, back or over the whole holds no step.
fn whole_sentences(words: &[Word], clauses: &mut [Clause], lexicon: &Lexicon, parted: &[usize]) {
    let mut i = 0;
    while i < clauses.len() {
        let mut end = i + 1;
        while end < clauses.len()
            && words[clauses[end].words.0].before < Break::Sentence
            && words[clauses[end].words.0].sentence == words[clauses[i].words.0].sentence
        {
            // What nobody punctuated begins anew where the speaker does.
            let said = &words[clauses[i].words.0 + 1..clauses[end].words.0];
            let anew = matches!(
                words[clauses[end].words.0].raw.as_str(),
                "okay" | "ok" | "now" | "next" | "then" | "anyway" | "alright" | "finally" | "that's"
            );
            if parted.contains(&clauses[end].words.0) {
                break;
            }
            if anew && said.len() >= 8 && said.iter().all(|w| w.before == Break::None) {
                break;
            }
            end += 1;
        }
        let (from, to) = (clauses[i].words.0, clauses[end - 1].words.1);
        let heard = manners(lexicon, words, from, to);
        let cue = |is: &str| heard.iter().any(|h| h.manner.kind == "cue" && h.manner.is == is);
        let works = clauses[i..end].iter().any(|c| {
            c.hand && c.kind >= Kind::Go && !c.mentions.is_empty()
                || c.length.is_some() && c.kind >= Kind::Name && !c.mentions.is_empty()
                || c.length.is_some() && c.kind == Kind::Act
                || c.block && !c.sides.is_empty()
        });
        let asked = words[from].asked;
        let out = cue("later") || cue("past") && !works || cue("overview") && !works || asked && !works;
        let done = (from..to).any(|k| matches!(words[k].raw.as_str(), "done" | "finished")) && !works;
        if out || done {
            for clause in &mut clauses[i..end] {
                let (kind, mentions) = (clause.kind, std::mem::take(&mut clause.mentions));
                // A question may still point at a place.
                if asked && kind == Kind::Find {
                    clause.mentions = mentions;
                    continue;
                }
                clause.kind = Kind::Talk;
                clause.out = true;
            }
        }
        i = end;
    }
}
