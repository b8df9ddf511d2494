//! A routine for an audience as what a video of it needs: script, shots, captions, chapters, description, cue track.
//!
//! The steps come out of [`Runnable`], the one gate; only a routine for an audience goes in. What is said comes from the catalogue and the
//! atlas in the video's language; what the kit says to the practitioner is English. Times are `publish::script`'s.

mod describe;
mod files;
mod minds;
mod options;
mod shots;
pub mod stills;
mod told;
mod words;

pub use options::{Disclosed, On, Options, pace};
pub use shots::still;
pub use told::{refused, wrong};

use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use plan::screening::Clearance;
use publish::captions::{self, Cue, Tongue, tongue};
use publish::chapters::{self, Chapter, Mark};
use publish::cue::{self, Sound};
use publish::script::{self, Act, Given, Line, Part, Shot, Take};
use vocab::Side;

use crate::catalogue::{Language, atlas_in, fill, in_language, text};
use crate::desk::editor::runnable::Runnable;

/// Everything that a video of a routine needs.
pub struct Kit {
    /// What the video is called.
    pub name: String,
    /// The language of what is said and written.
    pub language: Language,
    /// What is said, when.
    pub script: Vec<Line>,
    /// The steps with their times in the video.
    pub acts: Vec<Act>,
    /// What is filmed, from where.
    pub shots: Vec<Shot>,
    /// The captions.
    pub cues: Vec<Cue>,
    /// The chapters; empty where the video is too short for them.
    pub chapters: Vec<Chapter>,
    /// The title and the text under the video.
    pub description: String,
    /// How long the video is, in seconds.
    pub length: f64,
    /// How long the routine alone is, in seconds.
    pub routine: u32,
    /// What the practitioner is told: words that did not fit, steps that wait for words, in sentences, in English.
    pub told: Vec<String>,
    /// The places of the routine that not everybody may do, each once, in English.
    pub left_out: Vec<String>,
    on: On,
    chimes: Vec<(f64, Sound)>,
    names: Vec<String>,
    title: String,
}

impl Kit {
    /// The kit of what `runnable` gives of the routine. `atlas` is the practice's own, in English; `times`: when each step begins in the
    /// finished video, in seconds, one for each step of the runnable, rising.
    ///
    /// # Errors
    /// A sentence: the routine is not for an audience, the options contradict each other, or the times are not as many as the steps.
    pub fn new(
        atlas: &Atlas,
        name: &str,
        file: &RoutineFile,
        runnable: &Runnable,
        language: Language,
        options: &Options,
        times: Option<&[f64]>,
    ) -> Result<Kit, String> {
        if !file.audience {
            return Err(text("kit.not_audience").to_owned());
        }
        options.check(atlas)?;
        let steps = runnable.steps();
        if let Some(times) = times {
            check(times, steps.len(), options.length)?;
        }
        let name = one_line(name);
        let worded = atlas_in(language, atlas);
        let clearance = Clearance::audience(atlas);
        let made = in_language(language, || {
            let cautions = minds::cautions(&worded, &clearance, steps);
            let said = words::said(&worded, &name, runnable, options, &cautions);
            let count = options.count.then(|| text("say.count"));
            let given = Given {
                opening: &said.opening,
                acts: &said.acts,
                changes: &said.changes,
                closing: &said.closing,
                count,
                quiet: options.quiet,
                pace: options.pace,
                tongue: tongue_of(language),
            };
            let take = match times {
                Some(times) => script::retimed(&given, times, options.length),
                None => script::timed(&given),
            };
            let marks = marks(&take, &said);
            let chapters = chapters::chapters(&marks, take.length);
            let shots = shots::shots(&worded, steps, &take, options.on);
            let routine = plan::routine::total_s(atlas, steps);
            let title = describe::title(&name, take.length, options);
            let (description, kept) = describe::description(&describe::From {
                atlas: &worded,
                runnable,
                options,
                take: &take,
                cautions: &cautions,
                chapters: [&chapters, &chapters::by_part(&marks, take.length)],
                name: &name,
            });
            (take, chapters, shots, routine, title, description, kept)
        });
        let (take, chapters, shots, routine, title, description, kept) = made;
        let (cues, late) = captions::cues(&take.lines, tongue_of(language));
        let sides: Vec<char> = steps
            .iter()
            .map(|s| match s.side {
                Side::Left => 'l',
                Side::Right => 'r',
                _ => ' ',
            })
            .collect();
        let names = take
            .acts
            .iter()
            .map(|a| if a.side.is_empty() { a.place.clone() } else { format!("{}, {}", a.place, a.side) });
        // Whoever films reads it at the desk, which speaks English.
        let told =
            in_language(Language::English, || told::sentences(&take, &late, (&description, kept), chapters.is_empty()));
        Ok(Kit {
            names: names.collect(),
            chimes: cue::marks(&take.acts, &sides),
            left_out: words::left_out(atlas, file, runnable),
            name,
            language,
            script: take.lines,
            acts: take.acts,
            shots,
            cues,
            chapters,
            description,
            length: take.length,
            routine,
            told,
            on: options.on,
            title,
        })
    }

    /// The title that is suggested.
    pub fn title(&self) -> &str {
        &self.title
    }
}

/// The small words of a language.
pub fn tongue_of(language: Language) -> &'static Tongue {
    match language {
        Language::English => &tongue::ENGLISH,
        Language::German => &tongue::GERMAN,
    }
}

fn check(times: &[f64], steps: usize, length: Option<f64>) -> Result<(), String> {
    let good = times.iter().all(|t| t.is_finite() && *t >= 0.0 && *t <= publish::retime::MOST_S);
    if times.len() != steps || !good || times.windows(2).any(|w| w[1] <= w[0]) {
        return Err(fill("kit.bad_times", &[("n", &times.len()), ("steps", &steps)]));
    }
    if let (Some(length), Some(last)) = (length, times.last())
        && length <= *last
    {
        return Err(fill("kit.bad_length", &[("length", &files::clock(length)), ("start", &files::clock(*last))]));
    }
    Ok(())
}

/// One line, without what no reader shows.
fn one_line(name: &str) -> String {
    name.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Where chapters may begin: with the opening words, with who leaves it out, with each movement and each place of the work, and after it.
fn marks(take: &Take, said: &words::Said) -> Vec<Mark> {
    let mark = |from: f64, part: &str, place: &str| Mark { from, part: part.to_owned(), place: place.to_owned() };
    let mut marks = vec![mark(0.0, text("say.before"), "")];
    let opening: Vec<&Line> = take.lines.iter().filter(|l| l.part == Part::Opening).collect();
    if let Some(line) = opening.get(said.who_from) {
        marks.push(mark(line.from, text("say.who"), ""));
    }
    for (at, act) in take.acts.iter().enumerate() {
        let before = take.lines.iter().find(|l| l.act == Some(at)).map_or(act.from, |l| l.from.min(act.from));
        marks.push(mark(before, &act.movement, &act.place));
    }
    if let Some(line) = take.lines.iter().find(|l| l.part == Part::Closing) {
        marks.push(mark(line.from, text("say.after"), ""));
    }
    marks
}

#[cfg(test)]
mod tests;
