use super::*;

fn act(from: f64, to: f64) -> Act {
    Act {
        movement: String::new(),
        says: String::new(),
        minds: Vec::new(),
        holds: Vec::new(),
        short: false,
        place: String::new(),
        side: String::new(),
        from,
        to,
    }
}

/// Where sounds begin, found in the samples alone: where it has been silent (within a thousandth) for a twentieth of a second, or where the
/// loudness of five milliseconds is more than twice that of the ten before.
fn onsets(samples: &[i16]) -> Vec<f64> {
    let window = (RATE / 200) as usize;
    let loud: Vec<f64> = samples
        .chunks(window)
        .map(|c| (c.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / c.len() as f64).sqrt())
        .collect();
    let mut found: Vec<f64> = Vec::new();
    for i in 0..loud.len() {
        let before = loud[i.saturating_sub(2)..i].iter().copied().fold(0.0, f64::max);
        let at = (i * window) as f64 / f64::from(RATE);
        if loud[i] > 300.0 && loud[i] > 2.0 * before && found.last().is_none_or(|last| at > last + 0.05) {
            found.push(at);
        }
    }
    found
}

/// How loud a tone is around a moment, by Goertzel's sum.
fn tone(samples: &[i16], at: f64, hz: f64) -> f64 {
    let (begin, n) = (((at + 0.02) * f64::from(RATE)) as usize, (RATE / 20) as usize);
    let w = TAU * hz / f64::from(RATE);
    let (mut a, mut b) = (0.0, 0.0);
    for s in &samples[begin..begin + n] {
        (a, b) = (f64::from(*s) + 2.0 * w.cos() * a - b, a);
    }
    (a * a + b * b - 2.0 * w.cos() * a * b).sqrt() / n as f64
}

fn track() -> (Vec<(f64, Sound)>, Vec<i16>) {
    let acts = [act(8.0, 18.0), act(22.0, 42.0), act(46.0, 51.0)];
    let marks = marks(&acts, &['l', 'r', ' ']);
    let samples = samples(&marks, 54.0);
    (marks, samples)
}

#[test]
fn every_sound_is_found_at_its_time_in_the_samples() {
    let (marks, samples) = track();
    let mut expected: Vec<f64> =
        vec![5.0, 6.0, 7.0, 8.0, 15.0, 16.0, 17.0, 22.0, 39.0, 40.0, 41.0, 46.0, 48.0, 49.0, 50.0, 51.0];
    assert_eq!(marks.iter().map(|(at, _)| *at).collect::<Vec<_>>(), expected);
    let found = onsets(&samples);
    expected.retain(|t| found.iter().any(|f| (f - t).abs() <= 0.006));
    assert_eq!(expected.len(), marks.len(), "found {found:?}");
    assert_eq!(found.len(), marks.len(), "more than there should be: {found:?}");
}

#[test]
fn a_change_of_side_and_the_end_sound_otherwise() {
    let (marks, samples) = track();
    let sound = |at: f64| marks.iter().find(|(t, _)| *t == at).map(|(_, s)| *s);
    assert_eq!(
        (sound(8.0), sound(22.0), sound(46.0), sound(51.0)),
        (Some(Sound::Start), Some(Sound::Side), Some(Sound::Start), Some(Sound::End))
    );
    let loudest = |at: f64| {
        [(660.0, "start"), (495.0, "side"), (220.0, "end"), (1760.0, "tick")]
            .into_iter()
            .max_by(|a, b| tone(&samples, at, a.0).total_cmp(&tone(&samples, at, b.0)))
            .map(|(_, name)| name)
    };
    assert_eq!((loudest(8.0), loudest(22.0), loudest(51.0)), (Some("start"), Some("side"), Some("end")));
    assert_eq!(loudest(15.0 - 0.018), Some("tick"));
}

#[test]
fn it_is_as_long_as_the_video_below_full_scale_and_without_clicks() {
    let (marks, samples) = track();
    assert_eq!(samples.len(), 54 * RATE as usize);
    let peak = samples.iter().map(|s| s.unsigned_abs()).max().unwrap_or_default();
    assert!((4_000..30_000).contains(&peak), "peak {peak}");
    // The steepest of these sounds: a full tick of 1760 Hz. A click would be a jump of many times that.
    let step = samples.windows(2).map(|w| (i32::from(w[1]) - i32::from(w[0])).abs()).max().unwrap_or_default();
    assert!(step < 4_500, "a jump of {step}");
    for (at, _) in &marks {
        let i = (at * f64::from(RATE)) as usize;
        let first = (i32::from(samples[i + 1]) - i32::from(samples[i])).abs();
        assert!(first < 400, "a click of {first} at {at}");
    }
    // A track that is cut off within a sound, and one of nothing.
    let cut = super::samples(&[(0.5, Sound::End)], 0.7);
    assert_eq!(cut.last(), Some(&0));
    assert!(super::samples(&[], 0.0).is_empty());
}

#[test]
fn many_sounds_at_once_stay_below_full_scale() {
    let all: Vec<(f64, Sound)> =
        [Sound::Start, Sound::Side, Sound::End, Sound::Tick].iter().flat_map(|s| [(0.1, *s); 3]).collect();
    assert!(samples(&all, 3.0).iter().all(|s| s.unsigned_abs() < 32_200));
}

#[test]
fn the_file_says_what_it_holds() {
    let file = wav(&[(0.5, Sound::Start)], 2.0);
    assert_eq!(file.len(), 44 + 2 * 2 * RATE as usize);
    let number = |at: usize| u32::from_le_bytes([file[at], file[at + 1], file[at + 2], file[at + 3]]);
    assert_eq!((&file[..4], &file[8..16], &file[36..40]), (&b"RIFF"[..], &b"WAVEfmt "[..], &b"data"[..]));
    assert_eq!(
        (number(4) as usize, number(24), number(28), number(40) as usize),
        (file.len() - 8, 24_000, 48_000, file.len() - 44)
    );
    assert_eq!(u16::from_le_bytes([file[20], file[21]]), 1, "PCM");
    assert_eq!((file[22], file[32], file[34]), (1, 2, 16), "one channel, two bytes, 16 bit");
}
