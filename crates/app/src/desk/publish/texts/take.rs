//! A safer wording taken into a text: the words of one sentence are replaced, and nothing else is touched. In captions the times between
//! its words stay, and so do tags; the new words are spread over the cues that the old ones stood in.

use publish::timed::{Format, Sentence, Spoken};

/// A piece of the text that is replaced: from, to (code points), by what.
pub type Edit = (usize, usize, String);

/// The sentences of a text: cut once, however many wordings are offered.
pub struct Sentences {
    format: Format,
    rolling: bool,
    /// In the order of the file.
    all: Vec<Sentence>,
}

impl Sentences {
    /// Of what was read.
    pub fn of(spoken: &Spoken) -> Sentences {
        let mut all = spoken.sentences();
        all.sort_by_key(|s| s.at.first().copied());
        Sentences { format: spoken.format, rolling: spoken.rolling, all }
    }

    /// The one at an offset.
    fn at(&self, at: usize) -> Option<&Sentence> {
        let after = self.all.partition_point(|s| s.at.first().is_some_and(|first| *first <= at));
        self.all[..after].last().filter(|s| s.at.last().is_some_and(|end| at < *end))
    }
}

/// The edits that put these words in the place of the sentence at an offset, rising; none where no sentence stands there. None either in
/// captions that repeat each line (the words stand there again), and where nobody set a full stop: then the sentence is our own guess, and
/// holds more than the statement.
pub fn edits(body: &[char], spoken: &Sentences, at: usize, instead: &str) -> Option<Vec<Edit>> {
    let sentence = spoken.at(at)?;
    let ended = sentence.text.trim_end_matches(['"', '”', '’', ')', ' ']).ends_with(['.', '?', '!', '…', ':']);
    if spoken.rolling || (spoken.format != Format::Text && !ended) {
        return None;
    }
    if sentence.at.last().is_none_or(|end| *end > body.len()) {
        return None;
    }
    let stretches = stretches(body, sentence);
    let weights: Vec<usize> = stretches.iter().map(|s| s.letters.max(1)).collect();
    let mut all = Vec::new();
    for (stretch, words) in stretches.iter().zip(shared(instead, &weights)) {
        let timed = spoken.format != Format::Text;
        let words = if timed { in_lines(&words, stretch.lines) } else { words };
        let words = if spoken.format == Format::WebVtt { escaped(&words) } else { words };
        let mut words = Some(words);
        for (from, to) in &stretch.runs {
            all.push((*from, *to, words.take().unwrap_or_default()));
        }
    }
    (!all.is_empty()).then_some(all)
}

/// The text with the edits made.
pub fn made(body: &[char], edits: &[Edit]) -> String {
    let (mut text, mut done) = (String::new(), 0);
    for (from, to, words) in edits {
        text.extend(&body[done..*from]);
        text.push_str(words);
        done = *to;
    }
    text.extend(&body[done..]);
    text
}

/// What of a sentence stands in one cue, or in one paragraph.
#[derive(Default)]
struct Stretch {
    /// Where its words stand, without the tags between them.
    runs: Vec<(usize, usize)>,
    letters: usize,
    lines: usize,
}

impl Stretch {
    fn add(&mut self, from: usize, to: usize) {
        match self.runs.last_mut() {
            Some(last) if last.1 == from => last.1 = to,
            _ => self.runs.push((from, to)),
        }
    }
}

fn stretches(body: &[char], sentence: &Sentence) -> Vec<Stretch> {
    let mut all = vec![Stretch { lines: 1, ..Stretch::default() }];
    for (letter, ends) in sentence.text.chars().zip(sentence.at.windows(2)) {
        let (from, to) = (ends[0], ends[1]);
        let whole = &body[from..to];
        let end = from + extent(whole);
        // Behind the last letter of a cue stand a tag's end, the next one's number and times: they are no part of what is said. The blank
        // between the two stands nowhere in the file.
        let between = letter == ' ' && (!whole[0].is_whitespace() || (whole.contains(&'\n') && end < to));
        if between {
            all.push(Stretch { lines: 1, ..Stretch::default() });
            continue;
        }
        let Some(last) = all.last_mut() else { continue };
        last.letters += 1;
        last.lines += body[from..end].iter().filter(|c| **c == '\n').count();
        last.add(from, end);
    }
    all.retain(|s| !s.runs.is_empty());
    all
}

/// How many code points at the beginning of a piece of the file make its one character: an entity, white space, a letter.
fn extent(whole: &[char]) -> usize {
    if whole[0].is_whitespace() {
        return whole.iter().take_while(|c| c.is_whitespace()).count();
    }
    match (whole[0], whole.iter().position(|c| *c == ';')) {
        ('&', Some(end)) => end + 1,
        _ => 1,
    }
}

/// Words spread over places by how much stood in each; every place gets one while there are enough.
fn shared(instead: &str, weights: &[usize]) -> Vec<String> {
    let words: Vec<&str> = instead.split_whitespace().collect();
    let letters: usize = words.iter().map(|w| w.chars().count() + 1).sum();
    let total: usize = weights.iter().sum::<usize>().max(1);
    let (mut parts, mut next, mut placed, mut due) = (Vec::new(), 0, 0, 0);
    for (n, weight) in weights.iter().enumerate() {
        due += weight;
        let left = weights.len() - n - 1;
        let mut part: Vec<&str> = Vec::new();
        while next < words.len() {
            // Whichever is nearer to what is due: without the next word, or with it.
            let half = words[next].chars().count().div_ceil(2);
            let enough = (placed + half) * total >= due * letters && !part.is_empty();
            let needed = words.len() - next <= left && !part.is_empty();
            if left > 0 && (enough || needed) {
                break;
            }
            placed += words[next].chars().count() + 1;
            part.push(words[next]);
            next += 1;
        }
        parts.push(part.join(" "));
    }
    parts
}

/// Words in so many lines of about the same length.
fn in_lines(words: &str, lines: usize) -> String {
    if lines < 2 { words.to_owned() } else { shared(words, &vec![1; lines]).join("\n").trim_end().to_owned() }
}

/// As WebVTT writes letters that would open a tag or an entity.
fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use publish::timed::read;

    use super::*;

    /// Replaces the sentence that holds these words, and says what stands there then.
    fn taken(body: &str, holds: &str, instead: &str) -> String {
        let letters: Vec<char> = body.chars().collect();
        let at = body[..body.find(holds).expect("the words")].chars().count();
        let spoken = read("a", body).expect("it is read");
        made(&letters, &edits(&letters, &Sentences::of(&spoken), at, instead).expect("a sentence"))
    }

    #[test]
    fn one_sentence_of_a_text_is_replaced_and_nothing_else() {
        let body = "Ünd 🙂 first. It lifts\nthe face. Last one.\n\nAnother.";
        assert_eq!(
            taken(body, "lifts", "It feels fresh & <new>."),
            "Ünd 🙂 first. It feels fresh & <new>. Last one.\n\nAnother."
        );
        assert_eq!(taken("One only", "only", "Two"), "Two");
    }

    #[test]
    fn in_captions_times_and_tags_stay_and_words_are_spread() {
        let body = "WEBVTT\n\nNOTE a word\n\n1\n00:01.000 --> 00:03.000 line:90%\n<v Ann>Hello. This &amp; that\nlifts <i>all</i>\n\n\
                    2\n00:03.000 --> 00:05.000\nof the face. Bye.\n";
        assert_eq!(
            taken(body, "lifts", "It feels nice & warm for a while."),
            "WEBVTT\n\nNOTE a word\n\n1\n00:01.000 --> 00:03.000 line:90%\n<v Ann>Hello. It feels\nnice &amp; warm<i></i>\n\n\
             2\n00:03.000 --> 00:05.000\nfor a while. Bye.\n"
        );
        let body = "1\n00:00:01,000 --> 00:00:03,000\nIt lifts\n\n2\n00:00:03,000 --> 00:00:05,000\nyour face.\n\n3\n00:00:05,000 --> 00:00:06,000\nBye.\n";
        assert_eq!(
            taken(body, "lifts", "It <feels> nice."),
            "1\n00:00:01,000 --> 00:00:03,000\nIt <feels>\n\n2\n00:00:03,000 --> 00:00:05,000\nnice.\n\n3\n00:00:05,000 --> 00:00:06,000\nBye.\n"
        );
        let body = "0:05 It lifts\n0:08 the face.\n0:12 Bye.\n";
        assert_eq!(taken(body, "lifts", "It feels nice."), "0:05 It feels\n0:08 nice.\n0:12 Bye.\n");
    }

    #[test]
    fn what_would_stand_there_again_or_is_no_sentence_is_left() {
        let says = [
            "welcome to the lesson",
            "this massage removes wrinkles",
            "that is what we do today",
            "place your hand on the cheek",
            "and breathe",
        ];
        let cue = |i: usize, words: &str| format!("00:0{i}.000 --> 00:0{}.000\n{words}\n\n", i + 1);
        let rolling: String = (0..4).map(|i| cue(i, &format!("{}\n{}", says[i], says[i + 1]))).collect();
        let plain: String = (0..5).map(|i| cue(i, says[i])).collect();
        for (body, repeats) in [(format!("WEBVTT\n\n{rolling}"), true), (format!("WEBVTT\n\n{plain}"), false)] {
            let letters: Vec<char> = body.chars().collect();
            let spoken = read("a", &body).expect("it is read");
            assert_eq!(spoken.rolling, repeats);
            let at = body.find("removes").expect("there");
            assert_eq!(edits(&letters, &Sentences::of(&spoken), at, "It feels calm."), None, "{body}");
        }
    }

    #[test]
    fn every_place_gets_a_word_while_there_are_enough() {
        assert_eq!(shared("a b c", &[10, 1, 1]), ["a", "b", "c"]);
        assert_eq!(shared("a", &[5, 5]), ["a", ""]);
        assert_eq!(shared("one two three four", &[1, 1]), ["one two", "three four"]);
        assert_eq!(shared("", &[1]), [""]);
    }

    proptest::proptest! {
        /// Whatever the file and the place: outside of the edits every character stays, and edits rise.
        #[test]
        fn nothing_else_is_changed(
            rows in proptest::collection::vec(0..9_usize, 1..14), at in 0..200_usize,
            instead in "[a-z<&]{1,6}( [a-z]{1,9}){0,12}",
        ) {
            const ROWS: [&str; 9] = [
                "", "00:01.000 --> 00:02.000", "It <b>lifts</b> the", "face &amp; more. And", "one two three", "Ä 🙂 end.", "7",
                "00:00:04,000 --> 00:00:06,000", "0:15 now that",
            ];
            let body = rows.iter().map(|r| ROWS[*r]).collect::<Vec<_>>().join("\n");
            let letters: Vec<char> = body.chars().collect();
            if let Ok(spoken) = read("a", &body)
                && let Some(edits) = edits(&letters, &Sentences::of(&spoken), at, &instead)
            {
                let mut last = 0;
                for (from, to, _) in &edits {
                    proptest::prop_assert!(last <= *from && from < to && *to <= letters.len(), "{edits:?}");
                    // No time and, in captions, no tag is ever part of what is replaced.
                    let gone: String = letters[*from..*to].iter().collect();
                    let plain = matches!(spoken.format, Format::Text | Format::PlainTimed);
                    let tags = plain || !gone.contains(['<', '>']);
                    proptest::prop_assert!(tags && !gone.contains("-->"), "{gone:?}");
                    last = *to;
                }
                let said: String = edits.iter().flat_map(|(.., w)| [w.as_str(), " "]).collect::<String>().split_whitespace().collect();
                let wanted: String = instead.split_whitespace().collect();
                let wanted = if spoken.format == Format::WebVtt { escaped(&wanted) } else { wanted };
                proptest::prop_assert_eq!(said, wanted);
                proptest::prop_assert!(made(&letters, &edits).chars().count() > 0);
            }
        }
    }
}
