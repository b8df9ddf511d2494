//! What is left of a recording when its steps and cautions are taken.

use super::Said;
use super::clause::{Clause, Kind};
use super::fold::Open;
use super::stream::Stream;

/// What a hand was told to do that is in no step and no caution, with what was not understood already, in order.
pub(super) fn over(
    stream: &Stream,
    clauses: &[Clause],
    steps: &[Open],
    cautions: &[Said],
    unknown: Vec<Said>,
) -> Vec<Said> {
    let mut all: Vec<(usize, Said)> = Vec::new();
    let place = |said: &Said| clauses.iter().position(|c| stream.words[c.words.0].time == said.time).unwrap_or(0);
    all.extend(unknown.into_iter().map(|said| (place(&said), said)));
    let within = |c: &Clause, said: (usize, usize)| c.words.0 <= said.1 && said.0 < c.words.1;
    for (n, clause) in clauses.iter().enumerate() {
        let does =
            clause.kind >= Kind::Go && !clause.out && !clause.keep && (clause.hand || !clause.actions.is_empty());
        let taken =
            steps.iter().any(|s| within(clause, s.said) || s.first_said.is_some_and(|said| within(clause, said)));
        if !does || taken {
            continue;
        }
        let sentence = stream.words[clause.words.0].sentence;
        let words = stream.sentences[sentence].trim();
        let told = |said: &Said| said.words.contains(words) || words.contains(said.words.trim());
        if !cautions.iter().any(told) && !all.iter().any(|(_, said)| told(said)) {
            all.push((n, Said { time: stream.words[clause.words.0].time, words: words.to_owned() }));
        }
    }
    all.sort_by_key(|(n, _)| *n);
    all.into_iter().map(|(_, said)| said).collect()
}
