//! The shot list: steps that are filmed alike and follow each other are one shot.

/// How one step is filmed; the words are the caller's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShotOf {
    /// From where.
    pub angle: String,
    /// On which side of the picture the worked side is, camera not mirrored; empty for none.
    pub screen: String,
    /// The same for a mirrored picture.
    pub mirrored: String,
    /// From where the hand comes, so that it does not hide the place.
    pub hand: String,
    /// What is to be seen.
    pub shows: Vec<String>,
    /// What the step is called in a list.
    pub step: String,
    /// The name of its still picture.
    pub still: String,
}

/// A shot.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    /// When it begins, in seconds of the video.
    pub from: f64,
    /// When it ends.
    pub to: f64,
    /// The steps in it, by their place; none: opening or closing words.
    pub acts: Vec<usize>,
    /// From where.
    pub angle: String,
    /// On which side of the picture the worked side is, camera not mirrored; with several, in their order.
    pub screen: String,
    /// The same for a mirrored picture.
    pub mirrored: String,
    /// From where the hand comes.
    pub hand: String,
    /// What is to be seen, each once.
    pub shows: Vec<String>,
    /// The steps in words.
    pub steps: Vec<String>,
    /// Names of the still pictures.
    pub stills: Vec<String>,
}

/// The shots of steps (`begins` when each is to be seen, rising; one more for the end of the last), neighbours joined that have the same angle
/// and the same way of the hand.
pub fn merged(steps: &[ShotOf], begins: &[f64]) -> Vec<Shot> {
    let mut shots: Vec<Shot> = Vec::new();
    for (at, (step, times)) in steps.iter().zip(begins.windows(2)).enumerate() {
        let (from, to) = (times[0], times[1]);
        if let Some(shot) = shots.last_mut().filter(|s| s.angle == step.angle && s.hand == step.hand) {
            shot.to = to;
            shot.acts.push(at);
            add(&mut shot.steps, &step.step);
            add(&mut shot.stills, &step.still);
            step.shows.iter().for_each(|s| add(&mut shot.shows, s));
            one_more(&mut shot.screen, &step.screen);
            one_more(&mut shot.mirrored, &step.mirrored);
            continue;
        }
        shots.push(Shot {
            from,
            to,
            acts: vec![at],
            angle: step.angle.clone(),
            screen: step.screen.clone(),
            mirrored: step.mirrored.clone(),
            hand: step.hand.clone(),
            shows: step.shows.clone(),
            steps: vec![step.step.clone()],
            stills: vec![step.still.clone()],
        });
    }
    shots
}

fn add(list: &mut Vec<String>, word: &str) {
    if !word.is_empty() && !list.iter().any(|w| w == word) {
        list.push(word.to_owned());
    }
}

fn one_more(sides: &mut String, side: &str) {
    let last = sides.rsplit(", ").next().unwrap_or_default();
    if side.is_empty() || last == side {
        return;
    }
    if !sides.is_empty() {
        sides.push_str(", ");
    }
    sides.push_str(side);
}
