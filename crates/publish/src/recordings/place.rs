//! Places in a row of words.

use plan::atlas::{Atlas, TargetIx};

use super::lexicon::{Lexicon, Wording, small};
use super::stream::{Break, Stream};

/// A place that was named.
#[derive(Clone, Debug)]
pub struct Mention {
    /// What it may mean, the likeliest by the words alone first.
    pub targets: Vec<TargetIx>,
    /// The first and the last word of it in the stream.
    pub words: (usize, usize),
    /// How many words speak for it.
    pub weight: usize,
    /// A line by its ends.
    pub way: bool,
    /// The line whose ends were said right after it.
    pub along: Option<TargetIx>,
}

/// A word of the row that is compared.
type Compared = (String, usize, usize);

/// Words of direction: no gap.
const SOFT: &[&str] = &[
    "up", "down", "out", "over", "back", "straight", "round", "outward", "upward", "downward", "all", "way", "across",
    "into", "onto", "right", "left", "ther", "her", "there", "here", "go", "com",
];
/// Words that no wording reaches over.
const PARTING: &[&str] =
    &["and", "or", "but", "then", "now", "next", "from", "to", "until", "toward", "if", "when", "so", "not", "near"];
/// How a place lies to a landmark, as they are compared.
const RELATIONS: &[&str] = &["abov", "under", "besid", "behind", "befor", "between"];
/// So many words may stand between two of a wording.
const GAP: usize = 2;
/// So many words may stand between the ends of a line.
const WAY: usize = 16;

/// Everything that is named from one break to the next.
pub fn mentions(atlas: &Atlas, lexicon: &Lexicon, stream: &Stream) -> Vec<Mention> {
    let mut found = Vec::new();
    let mut from = 0;
    for i in 1..=stream.words.len() {
        // "The earlobe, left. Behind it."
        let on = i < stream.words.len() && stream.words[i].before < Break::Pause && lies_to_it(stream, i);
        if i == stream.words.len() || stream.words[i].before >= Break::Sentence && !on {
            found.extend(between(atlas, lexicon, stream, from, i));
            from = i;
        }
    }
    found
}

/// "behind it": how a place lies to the one before.
fn lies_to_it(stream: &Stream, i: usize) -> bool {
    let raw = |i: usize| stream.words.get(i).map_or("", |w| w.raw.as_str());
    matches!(raw(i), "behind" | "above" | "under" | "underneath" | "below" | "beneath" | "beside" | "outside")
        && matches!(raw(i + 1), "it" | "them" | "that")
}

fn between(atlas: &Atlas, lexicon: &Lexicon, stream: &Stream, from: usize, to: usize) -> Vec<Mention> {
    let row = &stream.words[from..to];
    let kept = (0..row.len()).filter(|i| !small(&row[*i].raw, row.get(i + 1).map(|w| w.raw.as_str())));
    let words: Vec<Compared> = kept.map(|i| (row[i].stem.clone(), from + i, from + i)).collect();
    let words = lexicon.compared(words);
    let mut all: Vec<(usize, usize, usize, usize, &Wording)> = Vec::new();
    for i in 0..words.len() {
        // "clench once": only beside "where you" it tells a place.
        let said = |k: usize| words[i].1.checked_sub(k).map_or("", |j| stream.words[j].raw.as_str());
        let verb = matches!(words[i].0.as_str(), "clench" | "frown" | "squint" | "bit" | "scowl");
        // "a bit higher, in front of the ear": only the way there.
        let higher = matches!(words[i].0.as_str(), "higher" | "lower")
            && words
                .get(i + 1)
                .is_some_and(|w| stream.words[words[i].2 + 1..=w.1].iter().any(|w| w.before >= Break::Comma));
        let verb = verb && !matches!(said(1), "you" | "where" | "the" | "your");
        if higher {
            continue;
        }
        for wording in lexicon.places.beginning(&words[i].0).iter().filter(|w| !verb || w.words.len() > 1) {
            if let Some((end, gap)) = fits(lexicon, stream, wording, &words, i) {
                // A finger's width, not the finger.
                let width = matches!(words[i].0.as_str(), "finger" | "thumb");
                let next = stream.words.get(words[i].1 + 1).map_or("", |w| w.raw.as_str());
                if width
                    && (matches!(
                        next,
                        "on" | "in" | "at" | "into" | "to" | "onto" | "and" | "over" | "along" | "there"
                    ) || stream.words[words[i].1].raw.ends_with('s')
                        || end > i + 1 && gap > 0
                        || (words[i].1 + 1..=words[(i + 1).min(end)].2).any(|k| stream.words[k].before > Break::None))
                {
                    continue;
                }
                // What was put together from several words speaks for more.
                let weight: usize = wording.words.len() * 2 + (words[end].2 - words[i].1).min(6);
                // "above the middle of the brow" is not the middle of the brow.
                let leans =
                    i > 0 && RELATIONS.contains(&words[i - 1].0.as_str()) && !RELATIONS.contains(&words[i].0.as_str());
                let weight = if leans { weight.saturating_sub(6).max(1) } else { weight };
                all.push((i, end, gap, weight, wording));
            }
        }
    }
    all.sort_by_key(|(i, end, gap, weight, _)| (std::cmp::Reverse(*weight - (*gap).min(*weight)), *i, *end));
    let is_point =
        |w: &Wording| atlas.target_named(&w.is).is_some_and(|t| atlas.target(t).kind == plan::atlas::Kind::Point);
    let all_points: Vec<(usize, usize)> = all.iter().filter(|a| is_point(a.4)).map(|a| (a.0, a.1)).collect();
    let mut taken: Vec<(usize, usize)> = Vec::new();
    let mut out: Vec<(usize, usize, Mention)> = Vec::new();
    for way in ways(atlas, lexicon, stream, &words) {
        taken.push((way.0, way.1));
        out.push(way);
    }
    for (i, end, gap, weight, wording) in all {
        let Some(target) = atlas.target_named(&wording.is) else { continue };
        if let Some((_, _, same)) = out.iter_mut().find(|(a, b, m)| (*a, *b) == (i, end) && !m.way) {
            if same.weight == weight - gap.min(weight) && !same.targets.contains(&target) {
                same.targets.push(target);
            }
            continue;
        }
        // The whole row between the ends of a line belongs to it.
        if let Some((_, _, way)) = out.iter_mut().find(|(a, b, m)| m.way && *a <= end && i <= *b) {
            if way.targets.contains(&target) {
                way.weight += 1;
            }
            continue;
        }
        if taken.iter().any(|(a, b)| *a <= end && i <= *b) {
            continue;
        }
        taken.push((i, end));
        // "the very top of the head" is a point.
        let very = words[i].1 > 0 && stream.words[words[i].1 - 1].raw == "very";
        if very && atlas.target(target).kind != plan::atlas::Kind::Point && all_points.contains(&(i, end)) {
            taken.pop();
            continue;
        }
        let mention = Mention {
            targets: vec![target],
            words: (words[i].1, words[end].2),
            weight: weight - gap.min(weight),
            way: false,
            along: None,
        };
        out.push((i, end, mention));
    }
    out.sort_by_key(|(i, _, _)| *i);
    let mut found: Vec<Mention> = out.into_iter().map(|(_, _, m)| m).collect();
    for mention in &mut found {
        let rank = |t: &TargetIx| lexicon.rank.get(&atlas.target(*t).id).copied().unwrap_or(usize::MAX);
        mention.targets.sort_by_key(rank);
    }
    found
}

/// Where a wording that begins here ends, and how many strange words stand in it.
fn fits(
    lexicon: &Lexicon,
    stream: &Stream,
    wording: &Wording,
    words: &[Compared],
    from: usize,
) -> Option<(usize, usize)> {
    let (mut at, mut gap) = (from, 0);
    for word in &wording.words[1..] {
        at += 1;
        loop {
            let next = &words.get(at)?.0;
            if next == word {
                break;
            }
            if SOFT.contains(&next.as_str()) {
                at += 1;
                continue;
            }
            // "to end, cover both ears" is no end of an ear.
            let parted = stream.words[words[at - 1].2 + 1..=words[at].1].iter().any(|w| w.before >= Break::Comma);
            if at == from + 1 && parted && !lies_to_it(stream, words[at].1)
                || PARTING.contains(&next.as_str())
                || lexicon.known.contains_key(next)
                || gap == GAP
            {
                return None;
            }
            gap += 1;
            at += 1;
        }
    }
    Some((at, gap))
}

/// Lines by their ends.
fn ways(atlas: &Atlas, lexicon: &Lexicon, stream: &Stream, words: &[Compared]) -> Vec<(usize, usize, Mention)> {
    let mut found: Vec<(usize, usize, Mention)> = Vec::new();
    let named = |i: usize| words.get(i).map(|w| w.0.as_str());
    for i in 0..words.len() {
        // "from the chin ... to the ear", and "chin to ear".
        let soft = (i + 1..words.len()).take_while(|j| named(*j).is_some_and(|w| SOFT.contains(&w))).count().min(3);
        let parted = |j: usize, by: Break| stream.words[words[i].2 + 1..=words[j].1].iter().any(|w| w.before >= by);
        let (joined, whole) = (|j: usize| !parted(j, Break::Comma), |j: usize| !parted(j, Break::Colon));
        // "behind the ear, down to the collarbone"
        let down = matches!(named(i + 1), Some("down" | "up" | "out"));
        let bare = (named(i + 1 + soft) == Some("to") && (joined(i + 1 + soft) || down && whole(i + 1 + soft)))
            .then_some(i + 2 + soft)
            .or(stroked_to(lexicon, words, i).map(|to| to + 1));
        if named(i) != Some("from") && bare.is_none() || found.iter().any(|(a, b, _)| *a <= i && i <= *b) {
            continue;
        }
        let first = if named(i) == Some("from") { i + 1 } else { i };
        // A line that is told by its ends alone begins at this word.
        let near = bare.filter(|_| first == i);
        let begins: Vec<usize> = (first..words.len().min(first + 4))
            .take_while(|j| !matches!(named(*j), Some("to" | "ther" | "her")))
            .take(if near.is_some() { 1 } else { 4 })
            .collect();
        let until = |j: &usize| matches!(named(*j), Some("to" | "until" | "toward" | "before" | "outward" | "into"));
        let mut best: Option<(usize, usize, Mention)> = None;
        for way in &lexicon.ways {
            let starts = begins.iter().any(|j| named(*j).is_some_and(|w| way.from.iter().any(|f| f == w)));
            if !starts {
                continue;
            }
            let tos = (first + 1..words.len().min(near.unwrap_or(i + WAY))).filter(until);
            let end = tos
                .flat_map(|j| j..words.len().min(j + 4))
                .find(|j| named(*j).is_some_and(|w| way.to.iter().any(|t| t == w)));
            let Some(mut end) = end else { continue };
            // "to in front of the ear": the ear belongs to it.
            if named(end).is_some_and(|w| RELATIONS.contains(&w)) {
                let next = named(end + 1).is_some_and(|w| lexicon.known.contains_key(w));
                end += usize::from(next && stream.words[words[end + 1].1].before < Break::Comma);
            }
            let lower = i.saturating_sub(4);
            let through = |by: &Vec<String>| {
                words[lower..=end].windows(by.len().max(1)).any(|w| w.iter().map(|x| &x.0).eq(by.iter()))
            };
            if !way.by.is_empty() && !way.by.iter().any(through) {
                continue;
            }
            let Some(target) = atlas.target_named(&way.target) else { continue };
            if best.is_none() {
                let mention = Mention {
                    targets: vec![target],
                    words: (words[i].1, words[end].2),
                    weight: 8,
                    way: true,
                    along: None,
                };
                best = Some((i, end, mention));
            }
        }
        found.extend(best);
    }
    found
}

/// Verbs of a hand that goes along the skin, as they are compared; "slide to" only goes to the next place.
const ALONG: &[&str] = &["strok", "sweep", "glid", "smooth", "swip", "brush", "iron", "skim", "wip"];

/// "the middle of the forehead and stroke out to the temples": where the "to" stands, for a place that such a verb follows.
fn stroked_to(lexicon: &Lexicon, words: &[Compared], i: usize) -> Option<usize> {
    let named = |i: usize| words.get(i).map(|w| w.0.as_str());
    let acts = |w: &str| matches!(w, "circl" | "pres" | "hold" | "knead" | "pinch" | "rub" | "rest");
    if (i.saturating_sub(3)..i).any(|j| named(j).is_some_and(acts)) {
        return None;
    }
    // "under the ears, and long smooth strokes down to ..."
    let between = |w: &str| w == "and" || !PARTING.contains(&w) && !lexicon.known.contains_key(w);
    let verb = (i + 1..words.len().min(i + 5))
        .find(|j| named(*j).is_some_and(|w| ALONG.contains(&w) && w != "smooth"))
        .or_else(|| (i + 1..words.len().min(i + 3)).find(|j| named(*j) == Some("smooth")))?;
    if !(i + 1..verb).all(|j| named(j).is_some_and(between)) {
        return None;
    }
    let soft = (verb + 1..words.len()).take_while(|j| named(*j).is_some_and(|w| SOFT.contains(&w))).count();
    (named(verb + 1 + soft) == Some("to")).then_some(verb + 1 + soft)
}

/// Points by code and by name: `LI20`, `large intestine twenty`, `Yingxiang`, `ying xiang`.
pub fn codes(atlas: &Atlas, stream: &Stream) -> Vec<Mention> {
    let mut found = Vec::new();
    let words = &stream.words;
    let plain =
        |i: usize| words.get(i).filter(|w| w.before < Break::Sentence || i == 0).map(|w| w.raw.replace('\'', ""));
    for i in 0..words.len() {
        let mut hit = None;
        for (t, target) in atlas.targets.iter().enumerate() {
            let id = target.id.to_lowercase();
            let code = target.pinyin.is_some();
            let one = words[i].raw.replace('\'', "");
            let mut joined = one.clone();
            for n in 0..4 {
                if n > 0 {
                    let Some(next) = plain(i + n) else { break };
                    joined.push_str(&next);
                }
                let pinyin = target.pinyin.as_deref().is_some_and(|p| p.to_lowercase() == joined);
                if code && (joined == id.replace('-', "") || pinyin) {
                    hit = hit.max(Some((n, t)));
                }
            }
            if code && let Some(n) = channel(words, i, &id) {
                hit = hit.max(Some((n, t)));
            }
        }
        if let Some((n, t)) = hit {
            found.push(Mention { targets: vec![TargetIx(t)], words: (i, i + n), weight: 12, way: false, along: None });
        }
    }
    found
}

/// Channels by their names in English.
const CHANNELS: &[(&str, &[&str])] = &[
    ("st", &["stomach"]),
    ("li", &["large intestine", "l i"]),
    ("si", &["small intestine", "s i"]),
    ("bl", &["bladder", "urinary bladder"]),
    (
        "te",
        &[
            "triple energizer",
            "triple burner",
            "triple warmer",
            "triple heater",
            "san jiao",
            "sanjiao",
            "sj",
            "tw",
            "tb",
            "th",
        ],
    ),
    ("gb", &["gall bladder", "gallbladder", "g b"]),
    ("gv", &["governing vessel", "governor vessel", "du", "du mai", "g v"]),
    ("cv", &["conception vessel", "ren", "ren mai", "c v"]),
];

/// The number of words after the first, where a channel's name and the number of this point stand here.
fn channel(words: &[super::stream::Word], i: usize, id: &str) -> Option<usize> {
    let (letters, number) = id.split_at(id.find(|c: char| c.is_ascii_digit())?);
    let number: u32 = number.parse().ok()?;
    let (_, names) = CHANNELS.iter().find(|(code, _)| *code == letters)?;
    for name in *names {
        let parts: Vec<&str> = name.split(' ').collect();
        if parts.iter().enumerate().all(|(k, p)| words.get(i + k).is_some_and(|w| w.raw == *p)) {
            let rest: Vec<&str> = words[i + parts.len()..].iter().take(2).map(|w| w.raw.as_str()).collect();
            if let Some((said, used)) = super::length::number(&rest)
                && said == f64::from(number)
            {
                return Some(parts.len() + used - 1);
            }
        }
    }
    None
}
