//! Rolling captions: each cue repeats what the one before said, and adds to it. They are read once.

use super::Piece;
use super::rows::Notes;

/// So many words at most are compared.
const WINDOW: usize = 60;

/// Whether so large a part of neighbours repeat each other that it is the captions' way and not the speaker's.
const SHARE: f64 = 0.4;

/// The pieces without what the piece before has said already, where the file is made so.
pub fn once(pieces: Vec<Piece>, notes: &mut Notes) -> Vec<Piece> {
    let words: Vec<Vec<(usize, String)>> = pieces.iter().map(words).collect();
    let overlaps: Vec<usize> =
        (0..pieces.len()).map(|i| if i == 0 { 0 } else { overlap(&words[i - 1], &words[i]) }).collect();
    let telling = |i: &usize| overlaps[*i] >= 2 || (overlaps[*i] == 1 && words[*i - 1].len().min(words[*i].len()) == 1);
    let repeats = (1..pieces.len()).filter(telling).count();
    if pieces.len() < 4 || (repeats as f64) < SHARE * (pieces.len() - 1) as f64 {
        return pieces;
    }
    notes.add(0, "each caption repeats the one before it (rolling captions): every word is read once");
    let cut = |(i, piece): (usize, Piece)| match words[i].get(overlaps[i]) {
        None => None,
        Some((0, _)) => Some(piece),
        Some((n, _)) => {
            let text = piece.text.chars().skip(*n).collect();
            Some(Piece { text, at: piece.at[*n..].to_vec(), ..piece })
        }
    };
    pieces.into_iter().enumerate().filter_map(cut).collect()
}

/// Each word, with the number of its first character.
fn words(piece: &Piece) -> Vec<(usize, String)> {
    let mut words: Vec<(usize, String)> = Vec::new();
    let mut inside = false;
    for (i, c) in piece.text.chars().enumerate() {
        if c == ' ' {
            inside = false;
        } else if let Some((_, word)) = words.last_mut().filter(|_| inside) {
            word.extend(c.to_lowercase());
        } else {
            inside = true;
            words.push((i, c.to_lowercase().collect()));
        }
    }
    words
}

/// How many words at the beginning of the one are the last words of the other.
fn overlap(above: &[(usize, String)], below: &[(usize, String)]) -> usize {
    let most = above.len().min(below.len()).min(WINDOW);
    let same = |n: &usize| above[above.len() - n..].iter().zip(&below[..*n]).all(|((_, a), (_, b))| a == b);
    (1..=most).rev().find(same).unwrap_or(0)
}
