//! The words laid into the time.

use super::{Act, Held, Line, Part, Take, Told};
use crate::captions::{self, Tongue};

/// Between two lines, in seconds.
const BREATH: f64 = 0.4;
/// Before the first word and after the last, in seconds.
const EDGE: f64 = 0.6;
/// So many seconds are counted.
const COUNTED: f64 = 5.0;
/// Less than this is no delay, in seconds.
const NOTHING: f64 = 0.05;

/// How fast it is spoken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    rate: f64,
}

impl Pace {
    /// The slowest, in characters a second: a full caption then stands its seven seconds.
    pub const SLOWEST: f64 = 12.5;
    /// The usual one.
    pub const USUAL: f64 = 15.0;

    /// So many characters a second; none where that is too slow for captions, or faster than can be read (17).
    pub fn new(rate: f64) -> Option<Pace> {
        (Pace::SLOWEST..=captions::MOST_RATE).contains(&rate).then_some(Pace { rate })
    }

    /// In characters a second.
    pub fn rate(self) -> f64 {
        self.rate
    }
}

impl Default for Pace {
    fn default() -> Pace {
        Pace { rate: Pace::USUAL }
    }
}

/// What there is to say, and how.
#[derive(Clone, Copy, Debug)]
pub struct Given<'a> {
    /// Before the first step, each said as one.
    pub opening: &'a [String],
    /// The steps. Their `to` less their `from` is how long the hand is there; when they begin is worked out here.
    pub acts: &'a [Act],
    /// Seconds for the change of hands before each step; as many as there are steps.
    pub changes: &'a [f64],
    /// After the last step.
    pub closing: &'a [String],
    /// How the last seconds of a hold are counted; none: it is silent.
    pub count: Option<&'a str>,
    /// Whether a hold stays silent once its own words are said; else the next step's words begin in it.
    pub quiet: bool,
    /// How fast.
    pub pace: Pace,
    /// The language's small words.
    pub tongue: &'a Tongue,
}

/// The script, each step beginning when its words are said.
pub fn timed(given: &Given<'_>) -> Take {
    let mut lay = Lay::new(given, given.pace.rate);
    for words in given.opening {
        lay.say(words, Part::Opening, None);
    }
    for at in 0..given.acts.len() {
        let act = &given.acts[at];
        let seconds = (act.to - act.from).max(0.0);
        let (holds, earlier) = lay.fitting(at, seconds);
        let gone = if at == 0 { lay.now } else { lay.acts[at - 1].to };
        if given.quiet || act.short {
            lay.now = lay.now.max(gone);
        }
        let before = before(act, &earlier);
        for (words, part) in &before {
            lay.say(words, *part, Some(at));
        }
        lay.counted();
        let change = gone + given.changes.get(at).copied().unwrap_or_default();
        let from = tenth(change.max(lay.now));
        // The hand that waits for words is told, the breath between two lines is not.
        if from > change + BREATH + NOTHING {
            lay.told.push(Told::Later(at, from - change));
        }
        lay.hold(at, from, from + seconds, &holds, None);
    }
    lay.close();
    let length = lay.now.max(lay.acts.last().map_or(0.0, |a| a.to)) + EDGE;
    lay.whole(length)
}

/// The script in the time of a finished video: when each step begins there (as many as there are steps, rising), and how long the video is,
/// where that is known.
pub fn retimed(given: &Given<'_>, starts: &[f64], length: Option<f64>) -> Take {
    let mut lay = Lay::new(given, given.pace.rate);
    let n = given.acts.len().min(starts.len());
    for words in given.opening {
        lay.say(words, Part::Opening, None);
    }
    for at in 0..n {
        let (act, from) = (&given.acts[at], starts[at]);
        let seconds = (act.to - act.from).max(0.0);
        let to = match starts.get(at + 1) {
            Some(next) => (from + seconds).min(*next),
            None => from + seconds,
        };
        let (mut holds, mut earlier) = lay.fitting(at, to - from);
        // The words before it end where the hand begins, said as fast as they must be.
        let mut words = before(act, &earlier);
        let mut rate = given.pace.rate;
        if lay.after(&words, rate) > from && !earlier.is_empty() {
            // The hold of the video may be longer than the routine's.
            let next = starts.get(at + 1).map_or(f64::INFINITY, |next| *next);
            if next - from > to - from + BREATH {
                lay.told.retain(|t| !matches!(t, Told::Earlier(a, _) | Told::Spared(a, _) if *a == at));
                (holds, earlier) = lay.fitting(at, next - from);
                words = before(act, &earlier);
            }
        }
        if lay.after(&words, rate) > from {
            rate = captions::MOST_RATE;
        }
        lay.rate = rate;
        // Beside a count they begin as soon as they can.
        let aligned = from - lay.long(&words, rate);
        if lay.count.is_none_or(|(_, to, _)| aligned >= to + BREATH) {
            lay.now = lay.now.max(aligned);
        }
        for (words, part) in &words {
            lay.say(words, *part, Some(at));
            lay.over(from);
        }
        lay.counted();
        lay.rate = given.pace.rate;
        lay.hold(at, from, to, &holds, starts.get(at + 1).copied());
    }
    lay.close();
    let said = lay.lines.last().map_or(0.0, |l| l.to).max(lay.acts.last().map_or(0.0, |a| a.to));
    if let Some(length) = length
        && said > length + NOTHING
    {
        lay.told.push(Told::Beyond(said - length));
    }
    let length = length.unwrap_or(said + EDGE);
    lay.whole(length)
}

/// What is said before the hand is there.
fn before(act: &Act, earlier: &[String]) -> Vec<(String, Part)> {
    let mut words = vec![(act.says.clone(), Part::Says)];
    words.extend(earlier.iter().map(|w| (w.clone(), Part::Says)));
    if !act.minds.is_empty() {
        words.push((act.minds.join(" "), Part::Minds));
    }
    words.retain(|(w, _)| !w.trim().is_empty());
    words
}

/// Times are whole tenths, so that a list of them reads well and is the same when it is read again.
fn tenth(seconds: f64) -> f64 {
    (seconds * 10.0).ceil() / 10.0
}

/// The script as it grows.
struct Lay<'a> {
    given: &'a Given<'a>,
    rate: f64,
    now: f64,
    lines: Vec<Line>,
    acts: Vec<Act>,
    told: Vec<Told>,
    /// The count of the hold of now, which is still to be said and which no other words may meet: from, to, the step.
    count: Option<(f64, f64, usize)>,
}

impl<'a> Lay<'a> {
    fn new(given: &'a Given<'a>, rate: f64) -> Lay<'a> {
        Lay { given, rate, now: EDGE, lines: Vec::new(), acts: Vec::new(), told: Vec::new(), count: None }
    }

    fn need(&self, words: &str, rate: f64) -> f64 {
        captions::least_ms(words, rate, self.given.tongue) as f64 / 1000.0
    }

    /// How long these lines are, with a breath after each.
    fn long(&self, words: &[(String, Part)], rate: f64) -> f64 {
        words.iter().map(|(w, _)| self.need(w, rate) + BREATH).sum()
    }

    /// When these lines are over, a breath after the last, if they begin now and let the count be heard.
    fn after(&self, words: &[(String, Part)], rate: f64) -> f64 {
        let (mut now, mut count) = (self.now, self.count);
        for (words, _) in words {
            let long = self.need(words, rate) + BREATH;
            if let Some((_, to, _)) = count.take_if(|(from, _, _)| now + long > *from) {
                now = now.max(to + BREATH);
            }
            now += long;
        }
        now
    }

    fn say(&mut self, words: &str, part: Part, act: Option<usize>) {
        let long = self.need(words, self.rate);
        if long == 0.0 {
            return;
        }
        if self.count.is_some_and(|(from, _, _)| self.now + long + BREATH > from) {
            self.counted();
        }
        self.lines.push(Line { from: self.now, to: self.now + long, says: words.to_owned(), act, part });
        self.now += long + BREATH;
    }

    /// Tells that the last line goes on beyond this moment.
    fn over(&mut self, until: f64) {
        if let Some(line) = self.lines.last()
            && line.to > until + NOTHING
            && !matches!(self.told.last(), Some(Told::Over(at, _)) if *at + 1 == self.lines.len())
        {
            self.told.push(Told::Over(self.lines.len() - 1, line.to - until));
        }
    }

    /// What of a step's words is said while the hand is there for so many seconds, and what before.
    fn fitting(&mut self, at: usize, seconds: f64) -> (Vec<String>, Vec<String>) {
        let mut held: Vec<Held> = self.given.acts[at].holds.clone();
        held.retain(|h| !h.says.trim().is_empty());
        let room = seconds - 2.0 * BREATH;
        let long = |held: &[Held]| held.iter().map(|h| self.need(&h.says, self.rate) + BREATH).sum::<f64>() - BREATH;
        let mut told = Vec::new();
        while let Some(last) = held.iter().rposition(|h| h.spare)
            && long(&held) > room
        {
            told.push(Told::Spared(at, held.remove(last).says));
        }
        let mut earlier = Vec::new();
        while !held.is_empty() && long(&held) > room {
            let first = held.remove(0);
            told.push(Told::Earlier(at, first.says.clone()));
            earlier.push(first.says);
        }
        self.told.extend(told);
        (held.into_iter().map(|h| h.says).collect(), earlier)
    }

    /// The hand is there; what is said has to be over by `until`.
    fn hold(&mut self, at: usize, from: f64, to: f64, holds: &[String], until: Option<f64>) {
        self.now = self.now.max(from + BREATH);
        for words in holds {
            self.say(words, Part::Holds, Some(at));
            self.over(until.unwrap_or(f64::INFINITY));
        }
        if self.given.count.is_some() && to - COUNTED >= self.now {
            self.count = Some((to - COUNTED, to, at));
            if self.given.quiet {
                self.counted();
            }
        }
        self.acts.push(Act { from, to, ..self.given.acts[at].clone() });
    }

    /// The count is said; what follows comes after it.
    fn counted(&mut self) {
        if let (Some((from, to, act)), Some(count)) = (self.count.take(), self.given.count) {
            self.lines.push(Line { from, to, says: count.to_owned(), act: Some(act), part: Part::Counts });
            self.now = self.now.max(to + BREATH);
        }
    }

    fn close(&mut self) {
        self.counted();
        self.now = self.now.max(self.acts.last().map_or(0.0, |a| a.to) + BREATH);
        for words in self.given.closing {
            self.say(words, Part::Closing, None);
        }
    }

    fn whole(self, length: f64) -> Take {
        // In seconds without a long tail of digits.
        let length = (length * 10.0).ceil() / 10.0;
        let ms = |s: f64| (s * 1000.0).round() / 1000.0;
        let lines = self.lines.into_iter().map(|l| Line { from: ms(l.from), to: ms(l.to), ..l }).collect();
        Take { lines, acts: self.acts, told: self.told, length }
    }
}
