//! The files of a kit.

use std::fmt::Write as _;

use publish::script::Part;
use publish::{captions, chapters, cue, retime};

use super::Kit;
use crate::catalogue::{fill, in_language, text};

/// A time as on a clock: `M:SS`, or `H:MM:SS`.
pub fn clock(seconds: f64) -> String {
    let s = seconds.max(0.0) as u64;
    let (h, m, s) = (s / 3600, s / 60 % 60, s % 60);
    if h > 0 { format!("{h}:{m:02}:{s:02}") } else { format!("{m}:{s:02}") }
}

impl Kit {
    /// Every file: its name and what is in it.
    pub fn files(&self) -> Vec<(&'static str, Vec<u8>)> {
        let texts = self.texts().into_iter().map(|(name, text)| (name, text.into_bytes()));
        texts.chain([("cues.wav", cue::wav(&self.chimes, self.length))]).collect()
    }

    /// One of them; the cue track is made only where it is asked for.
    pub fn file(&self, name: &str) -> Option<(&'static str, Vec<u8>)> {
        if name == "cues.wav" {
            return Some(("cues.wav", cue::wav(&self.chimes, self.length)));
        }
        let texts = self.texts().into_iter();
        texts.map(|(known, text)| (known, text.into_bytes())).find(|(known, _)| *known == name)
    }

    /// The files that are text, so all but the cue track.
    pub fn texts(&self) -> Vec<(&'static str, String)> {
        in_language(self.language, || {
            vec![
                ("script.md", self.script_file()),
                ("shots.csv", self.shots_table()),
                ("shots.txt", self.shots_file()),
                ("captions.vtt", captions::webvtt(&self.cues)),
                ("captions.srt", captions::srt(&self.cues)),
                ("chapters.txt", chapters::list(&self.chapters)),
                ("description.txt", self.description.clone()),
                ("times.csv", self.times_file()),
            ]
        })
    }

    /// When each step begins, to be edited and read again.
    pub fn times_file(&self) -> String {
        retime::write(&self.acts.iter().map(|a| a.from).collect::<Vec<_>>(), &self.names)
    }

    /// The names of the steps, in order: the place and its side.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// What is said, to be read aloud: a heading for each part, a paragraph for each line with its time.
    fn script_file(&self) -> String {
        let mut out = format!("# {}\n", self.name);
        let mut head = "";
        let mut step = None;
        for line in &self.script {
            let now = match (line.part, line.act.and_then(|a| self.acts.get(a))) {
                (Part::Opening, _) => text("say.before"),
                (Part::Closing, _) => text("say.after"),
                // It may be said when the words of the next movement have begun.
                (Part::Counts, _) if !head.is_empty() => head,
                (_, Some(act)) => act.movement.as_str(),
                (_, None) => head,
            };
            if now != head {
                let _ = write!(out, "\n## {now}\n");
                head = now;
            }
            // A count of the hold before may come between the words of the next step.
            if line.act > step {
                step = line.act;
                if let (Some(at), Some(name)) = (step, step.and_then(|a| self.names.get(a))) {
                    let _ = write!(out, "\n### {}. {name}\n", at + 1);
                }
            }
            let _ = write!(out, "\n**{}** {}\n", clock(line.from), line.says);
        }
        out
    }

    /// The shots as a table for a spreadsheet.
    fn shots_table(&self) -> String {
        let mut out = csv::Writer::from_writer(Vec::new());
        let head =
            ["shot", "from", "to", "steps", "angle", "side", "side_mirrored", "hand", "in_the_picture", "stills"];
        let _ = out.write_record(head);
        for (i, s) in self.shots.iter().enumerate() {
            let row = [
                (i + 1).to_string(),
                clock(s.from),
                clock(s.to),
                s.steps.join("; "),
                s.angle.clone(),
                s.screen.clone(),
                s.mirrored.clone(),
                s.hand.clone(),
                s.shows.join("; "),
                s.stills.join("; "),
            ];
            let _ = out.write_record(row);
        }
        // Writing to memory does not fail.
        out.into_inner().map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).unwrap_or_default()
    }

    /// The shots to be read.
    fn shots_file(&self) -> String {
        let lead = if self.on.mirrored() { "shot.lead_mirrored" } else { "shot.lead_plain" };
        let mut out = format!("{}\n{}\n", fill("shot.title", &[("name", &self.name)]), text(lead));
        for (i, s) in self.shots.iter().enumerate() {
            let values: [(&str, &dyn std::fmt::Display); 4] =
                [("n", &(i + 1)), ("from", &clock(s.from)), ("to", &clock(s.to)), ("angle", &s.angle)];
            let _ = write!(out, "\n{}\n", fill("shot.line", &values));
            let _ = writeln!(out, "   {}", fill("shot.steps", &[("steps", &s.steps.join("; "))]));
            if !s.screen.is_empty() {
                let (here, there) =
                    if self.on.mirrored() { (&s.mirrored, &s.screen) } else { (&s.screen, &s.mirrored) };
                let _ = writeln!(out, "   {}", fill("shot.screen", &[("here", here), ("there", there)]));
            }
            if !s.hand.is_empty() {
                let _ = writeln!(out, "   {}", fill("shot.hand", &[("hand", &s.hand)]));
            }
            let _ = writeln!(out, "   {}", fill("shot.shows", &[("shows", &s.shows.join("; "))]));
            if !s.stills.is_empty() {
                let _ = writeln!(out, "   {}", fill("shot.stills", &[("stills", &s.stills.join(", "))]));
            }
        }
        out
    }
}
