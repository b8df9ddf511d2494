//! A score and a state as the pages' script takes them: plain JSON, its keys in the script's order, so that two states are equal exactly if
//! their texts are.

use std::fmt::Write;

use vocab::Pressure;

use super::engine::{Note, Over, Phase, State, Status};
use super::score::{Hold, Score};

impl Score {
    /// As `engine.js` takes it; see docs/json.md.
    pub fn json(&self) -> String {
        let steps = joined(self.steps.iter().map(hold));
        let [tool, side, zone] = self.change;
        let endings = joined(
            self.endings
                .iter()
                .map(|e| format!("{{\"after\":{},\"late\":{},\"drop\":{}}}", e.after, e.late, numbers(&e.drop))),
        );
        format!(
            "{{\"steps\":[{steps}],\"change\":{{\"tool\":{tool},\"side\":{side},\"zone\":{zone}}},\"lead\":{},\"talk\":{},\"budget\":{},\
             \"slack\":{},\"endings\":[{endings}]}}",
            self.lead, self.talk, self.budget, self.slack
        )
    }
}

fn hold(step: &Hold) -> String {
    let zone = step.zone.map_or("-1".to_owned(), |z| z.to_string());
    format!(
        "{{\"movement\":\"{}\",\"target\":{},\"side\":\"{}\",\"tool\":{},\"zone\":{zone},\"seconds\":{},\"least\":{},\"most\":{},\
         \"grow\":{},\"pressure\":{},\"softest\":{},\"delicate\":{},\"needs\":{},\"closes\":{},\"glides\":{}}}",
        step.movement,
        step.target,
        step.side,
        step.tool,
        step.seconds,
        step.least,
        step.most,
        step.grow,
        grade(step.pressure),
        grade(step.softest),
        step.delicate,
        numbers(&step.needs),
        numbers(&step.closes),
        step.glides,
    )
}

impl State {
    /// As `JSON.stringify` writes the script's state.
    pub fn json(&self) -> String {
        let mut out = String::new();
        let felt = self
            .felt
            .iter()
            .map(|(step, felt, at)| format!("{{\"step\":{step},\"felt\":\"{}\",\"at\":{at}}}", felt.word()));
        let status: Vec<u32> = self.status.iter().map(|s| stage(*s)).collect();
        let lighter: Vec<u32> = self.lighter.iter().map(|p| grade(*p)).collect();
        let _ = write!(
            out,
            "{{\"phase\":\"{}\",\"paused\":{},\"order\":{},\"at\":{},\"left\":{},\"hold\":{},\"barred\":{},\"pressure\":{},\"now\":{},\
             \"spent\":{},\"status\":{},\"lighter\":{},\"pains\":{},\"felt\":[{}],\"early\":{},\"over\":{},\"note\":{}}}",
            phase(self.phase),
            self.paused,
            numbers(&self.order),
            self.at,
            self.left,
            self.hold,
            self.barred,
            grade(self.pressure),
            self.now,
            self.spent,
            numbers(&status),
            numbers(&lighter),
            numbers(&self.pains),
            joined(felt),
            self.early,
            quoted(self.over.map(Over::word)),
            quoted(self.note.map(Note::word)),
        );
        out
    }
}

impl Over {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Over::Whole => "whole",
            Over::Early => "early",
            Over::Sign => "sign",
            Over::Dizzy => "dizzy",
            Over::Numb => "numb",
        }
    }

    /// Reads the word in files.
    pub fn from_word(word: &str) -> Option<Over> {
        [Over::Whole, Over::Early, Over::Sign, Over::Dizzy, Over::Numb].into_iter().find(|o| o.word() == word)
    }
}

impl Note {
    /// The word in the script.
    pub fn word(self) -> &'static str {
        match self {
            Note::Longer => "longer",
            Note::NoLonger => "no_longer",
            Note::Lighter => "lighter",
            Note::Ended => "ended",
            Note::Dropped => "dropped",
            Note::ShorterRest => "shorter_rest",
        }
    }
}

fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::Ready => "ready",
        Phase::Change => "change",
        Phase::Hold => "hold",
        Phase::Over => "over",
    }
}

fn stage(status: Status) -> u32 {
    match status {
        Status::ToCome => 0,
        Status::Done => 1,
        Status::LeftOut => 2,
        Status::Present => 3,
    }
}

fn grade(pressure: Pressure) -> u32 {
    match pressure {
        Pressure::Featherlight => 0,
        Pressure::Light => 1,
        Pressure::Firm => 2,
    }
}

fn quoted(word: Option<&str>) -> String {
    word.map_or("null".to_owned(), |w| format!("\"{w}\""))
}

fn joined(parts: impl Iterator<Item = String>) -> String {
    parts.collect::<Vec<_>>().join(",")
}

fn numbers<T: ToString>(all: &[T]) -> String {
    format!("[{}]", joined(all.iter().map(ToString::to_string)))
}
