//! A film of one invented person: the head turns, nods and tilts slowly, comes a little nearer, and talks a little.
//!
//! The mouth does not open in this crate's heads: talking is the mouth, the lips and the chin that move up and down with the speed
//! of syllables, as far as the shape's own modes reach.

use std::f64::consts::TAU;

use crate::{Mode, Person, Shot};

/// How a film is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    person: Person,
    shot: Shot,
    /// Frames a second.
    pub rate: f64,
}

/// The furthest turns of the head in degrees: yaw, pitch, roll. Somebody who looks into a mirror and works on their own face.
const TURNS: [f64; 3] = [16.0, 8.0, 9.0];
/// How long one turn to both sides takes, in seconds: yaw, pitch, roll. Their periods share no small multiple, so that the three meet
/// in many ways.
const PERIODS: [f64; 3] = [7.0, 5.3, 9.1];
/// How much of its usual size the face gains and loses, and how long that takes.
const NEARER: (f64, f64) = (0.05, 11.0);
/// Syllables a second, and how far the modes of mouth and chin go with them (standard deviations among people).
const TALK: (f64, f64) = (2.5, 1.2);

impl Film {
    /// A film of this person in a picture of this size. The light, the noise and the camera's distance come from the person's seed.
    pub fn of(person: &Person, width: usize, height: usize, rate: f64) -> Film {
        let drawn = Shot::random(person.seed);
        let (width, height) = (width.max(16), height.max(16));
        let shot = Shot { width, height, fill: 0.55, blur: 0.6, noise: drawn.noise.max(1.0), ..drawn };
        Film { person: person.clone(), shot, rate: if rate > 0.0 { rate } else { 10.0 } }
    }

    /// Who is seen in one frame, and how. The person is the same but for the mouth and the chin; their looks stay.
    pub fn frame(&self, number: usize) -> (Person, Shot) {
        let seconds = number as f64 / self.rate;
        let wave = |period: f64, begins: f64| (TAU * (seconds / period + begins)).sin();
        // Not all of them start in the middle: the first frame is a turned head, as it often is.
        let begins = [0.08, 0.37, 0.61];
        let [yaw, pitch, roll]: [f64; 3] = std::array::from_fn(|k| TURNS[k] * wave(PERIODS[k], begins[k]));
        let (mut person, mut shot) = (self.person.clone(), self.shot.clone());
        (shot.yaw, shot.pitch, shot.roll) = (yaw, pitch, roll);
        // The eyes stay on the mirror.
        shot.gaze = [-yaw, -pitch];
        shot.fill *= 1.0 + NEARER.0 * wave(NEARER.1, 0.2);
        // Words come and go.
        let words = wave(3.1, 0.0).max(0.0);
        let syllable = TALK.1 * words * wave(1.0 / TALK.0, 0.0);
        for (mode, share) in
            [(Mode::MouthHeight, -1.0), (Mode::LipFullness, 0.5), (Mode::ChinLength, 0.8), (Mode::MouthWidth, -0.4)]
        {
            person.build.modes[mode as usize] += share * syllable;
        }
        (person, shot)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_head_moves_slowly_and_stays_the_same_persons() {
        let person = Person::invented(4);
        let film = Film::of(&person, 64, 48, 15.0);
        let shots: Vec<Shot> = (0..300).map(|i| film.frame(i).1).collect();
        let most = |of: fn(&Shot) -> f64| shots.iter().map(|s| of(s).abs()).fold(0.0, f64::max);
        assert!(most(|s| s.yaw) > 15.0 && most(|s| s.pitch) > 7.0 && most(|s| s.roll) > 8.0);
        let speeds = shots.windows(2).map(|w| (w[1].yaw - w[0].yaw).hypot(w[1].pitch - w[0].pitch) * 15.0);
        let fastest = speeds.fold(0.0, f64::max);
        assert!((5.0..25.0).contains(&fastest), "{fastest} degrees a second");
        let (talking, _) = film.frame(10);
        assert_eq!((talking.seed, talking.tone, talking.hair), (person.seed, person.tone, person.hair));
        assert_eq!(film.frame(7), film.frame(7));
    }
}
