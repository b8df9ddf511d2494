//! The cue track: chimes to film along with, as WAV (RIFF, PCM of 16 bit, one channel, 24 000 samples a second).

use std::f64::consts::TAU;

use crate::script::Act;

/// Samples a second.
pub const RATE: u32 = 24_000;
/// So long a sound swells, in seconds: none begins with a click.
const SWELL: f64 = 0.006;
/// And so long it fades to nothing at its end.
const FADE: f64 = 0.02;

/// What is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sound {
    /// A second of the count before the first step, or one of a hold's last three.
    Tick,
    /// A step begins.
    Start,
    /// A step begins on the other side.
    Side,
    /// It is over.
    End,
}

/// How a sound is made: its tones (Hz, share), its length in seconds, how fast it dies away (a second), how loud (of full scale).
struct Voice {
    tones: &'static [(f64, f64)],
    seconds: f64,
    dies: f64,
    loud: f64,
}

impl Sound {
    fn voice(self) -> Voice {
        match self {
            Sound::Tick => Voice { tones: &[(1760.0, 1.0)], seconds: 0.06, dies: 40.0, loud: 0.16 },
            Sound::Start => Voice { tones: &[(660.0, 0.7), (1320.0, 0.3)], seconds: 1.2, dies: 4.0, loud: 0.3 },
            Sound::Side => Voice { tones: &[(495.0, 0.6), (742.5, 0.4)], seconds: 1.2, dies: 4.0, loud: 0.3 },
            Sound::End => Voice { tones: &[(220.0, 0.8), (330.0, 0.2)], seconds: 2.4, dies: 2.0, loud: 0.4 },
        }
    }
}

/// When what is heard: three ticks before the first step, a chime as each begins (another one where the side changes from left to right or
/// back, as `sides` says: one for each step, 'l', 'r' or anything else), three ticks in its last three seconds, a low one at the end.
pub fn marks(acts: &[Act], sides: &[char]) -> Vec<(f64, Sound)> {
    let mut all = Vec::new();
    let mut before = None;
    for (at, act) in acts.iter().enumerate() {
        if at == 0 {
            all.extend([3.0, 2.0, 1.0].iter().filter(|s| act.from >= **s).map(|s| (act.from - s, Sound::Tick)));
        }
        let side = sides.get(at).copied().filter(|s| matches!(s, 'l' | 'r'));
        let crossed = before.is_some() && side.is_some() && before != side;
        all.push((act.from, if crossed { Sound::Side } else { Sound::Start }));
        before = side;
        // None of them in the first second of a hold.
        let ticks = [3.0, 2.0, 1.0].iter().map(|s| act.to - s).filter(|t| *t >= act.from + 1.0);
        all.extend(ticks.map(|t| (t, Sound::Tick)));
    }
    if let Some(last) = acts.last() {
        all.push((last.to, Sound::End));
    }
    all
}

/// The samples of a track of so many seconds.
pub fn samples(marks: &[(f64, Sound)], length: f64) -> Vec<i16> {
    let mut all = Vec::with_capacity(count(length));
    each(marks, length, |sample| all.push(sample));
    all
}

/// How many samples so many seconds are.
fn count(length: f64) -> usize {
    (length.max(0.0) * f64::from(RATE)).round() as usize
}

/// Gives each sample in order, made a second at a time: a long track takes no more room than its file.
fn each(marks: &[(f64, Sound)], length: f64, mut give: impl FnMut(i16)) {
    let rate = f64::from(RATE);
    let (n, fade) = (count(length), (FADE * rate) as usize);
    let at = |mark: &(f64, Sound)| (mark.0.max(0.0) * rate).round() as usize;
    for begin in (0..n).step_by(RATE as usize) {
        let mut block = vec![0.0_f64; (n - begin).min(RATE as usize)];
        for mark in marks {
            let (voice, from) = (mark.1.voice(), at(mark));
            let until = from + (voice.seconds * rate) as usize;
            for i in from.max(begin)..until.min(begin + block.len()) {
                let t = (i - from) as f64 / rate;
                let left = voice.seconds - t;
                let loud = voice.loud * (-voice.dies * t).exp() * (t / SWELL).min(1.0) * (left / FADE).min(1.0);
                block[i - begin] +=
                    loud * voice.tones.iter().map(|(hz, share)| share * (TAU * hz * t).sin()).sum::<f64>();
            }
        }
        for (i, sample) in block.into_iter().enumerate() {
            // A track that ends within a sound ends without a click, too.
            let left = n - 1 - (begin + i);
            let sample = if left < fade { sample * left as f64 / fade as f64 } else { sample };
            give((sample.clamp(-0.98, 0.98) * f64::from(i16::MAX)).round() as i16);
        }
    }
}

/// The track as a file.
pub fn wav(marks: &[(f64, Sound)], length: f64) -> Vec<u8> {
    let data = count(length) as u32 * 2;
    let mut file = Vec::with_capacity(44 + data as usize);
    file.extend_from_slice(b"RIFF");
    file.extend_from_slice(&(36 + data).to_le_bytes());
    file.extend_from_slice(b"WAVEfmt ");
    file.extend_from_slice(&16_u32.to_le_bytes());
    // PCM, one channel.
    file.extend_from_slice(&1_u16.to_le_bytes());
    file.extend_from_slice(&1_u16.to_le_bytes());
    file.extend_from_slice(&RATE.to_le_bytes());
    file.extend_from_slice(&(RATE * 2).to_le_bytes());
    file.extend_from_slice(&2_u16.to_le_bytes());
    file.extend_from_slice(&16_u16.to_le_bytes());
    file.extend_from_slice(b"data");
    file.extend_from_slice(&data.to_le_bytes());
    each(marks, length, |sample| file.extend_from_slice(&sample.to_le_bytes()));
    file
}

#[cfg(test)]
mod tests;
