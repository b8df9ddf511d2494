//! What a practitioner may choose for a video.

use plan::atlas::Atlas;
use publish::captions::MOST_RATE;
use publish::script::Pace;
use serde_json::{Value, json};

use crate::catalogue::{fill, text};

/// On whom it is shown, and whether the picture is mirrored. Left and right are always said as the person's own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum On {
    /// On the own face, the picture mirrored.
    #[default]
    Mirror,
    /// On the own face, as a camera sees it.
    Own,
    /// On somebody else, as a camera sees them.
    Model,
    /// On somebody else, the picture mirrored.
    ModelMirrored,
}

impl On {
    /// Each with its word in files and forms.
    pub const ALL: [(On, &'static str); 4] =
        [(On::Mirror, "mirror"), (On::Own, "own"), (On::Model, "model"), (On::ModelMirrored, "model-mirrored")];

    /// Of a word.
    pub fn from_word(word: &str) -> Option<On> {
        On::ALL.iter().find(|(_, w)| *w == word).map(|(on, _)| *on)
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        On::ALL.iter().find(|(on, _)| *on == self).map_or("mirror", |(_, word)| word)
    }

    /// Whether own left is on the left of the picture.
    pub fn mirrored(self) -> bool {
        matches!(self, On::Mirror | On::ModelMirrored)
    }

    /// Whether it is somebody else's face.
    pub fn model(self) -> bool {
        matches!(self, On::Model | On::ModelMirrored)
    }
}

/// What is disclosed in front of the description, each as the practitioner typed it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Disclosed {
    /// Who paid for the video; empty for nobody that is said.
    pub paid: String,
    /// What was given for free; empty for nothing that is said.
    pub gifted: String,
    /// Own products that are sold, each with its link.
    pub own: Vec<String>,
    /// Links that bring a commission.
    pub commission: Vec<String>,
    /// The practitioner says that nobody paid and nothing was given.
    pub unpaid: bool,
}

/// What may be chosen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Options {
    /// On whom.
    pub on: On,
    /// How fast it is spoken.
    pub pace: Pace,
    /// Whether the last five seconds of each hold are counted aloud.
    pub count: bool,
    /// Whether a hold stays silent once its own words are said; else the next step's words begin in it.
    pub quiet: bool,
    /// Which concerns it is about, by id: of these it is told what is known. Empty: those that the name names.
    pub concerns: Vec<String>,
    /// Payments, gifts, own products.
    pub disclosed: Disclosed,
    /// How long the finished video is, in seconds, where that is known.
    pub length: Option<f64>,
}

impl Options {
    /// That they don't contradict each other.
    ///
    /// # Errors
    /// A sentence.
    pub fn check(&self, atlas: &Atlas) -> Result<(), String> {
        let d = &self.disclosed;
        if d.unpaid && !(d.paid.trim().is_empty() && d.gifted.trim().is_empty() && d.commission.is_empty()) {
            return Err(text("kit.bad_unpaid").to_owned());
        }
        for id in &self.concerns {
            if !atlas.concerns.iter().any(|c| c.id == *id) {
                let near = vocab::nearest(id, atlas.concerns.iter().map(|c| c.id.as_str())).unwrap_or("tight_jaw");
                return Err(fill("kit.bad_concern", &[("id", id), ("near", &near)]));
            }
        }
        Ok(())
    }

    /// As it is kept.
    pub fn json(&self) -> Value {
        let d = &self.disclosed;
        json!({
            "on": self.on.word(), "pace": self.pace.rate(), "count": self.count, "quiet": self.quiet, "concerns": self.concerns, "length": self.length,
            "disclosed": {"paid": d.paid, "gifted": d.gifted, "own": d.own, "commission": d.commission, "unpaid": d.unpaid},
        })
    }

    /// Of what was kept; what is missing is as usual.
    pub fn from_json(kept: &Value) -> Options {
        let list = |v: &Value| -> Vec<String> {
            v.as_array().into_iter().flatten().filter_map(|w| w.as_str().map(str::to_owned)).collect()
        };
        let word = |v: &Value| v.as_str().unwrap_or_default().to_owned();
        let d = &kept["disclosed"];
        Options {
            on: kept["on"].as_str().and_then(On::from_word).unwrap_or_default(),
            pace: kept["pace"].as_f64().and_then(Pace::new).unwrap_or_default(),
            count: kept["count"].as_bool().unwrap_or_default(),
            quiet: kept["quiet"].as_bool().unwrap_or_default(),
            concerns: list(&kept["concerns"]),
            length: kept["length"].as_f64(),
            disclosed: Disclosed {
                paid: word(&d["paid"]),
                gifted: word(&d["gifted"]),
                own: list(&d["own"]),
                commission: list(&d["commission"]),
                unpaid: d["unpaid"].as_bool().unwrap_or_default(),
            },
        }
    }
}

/// A pace as it is typed.
///
/// # Errors
/// A sentence with the bounds.
pub fn pace(word: &str) -> Result<Pace, String> {
    let rate: f64 = word.trim().replace(',', ".").parse().map_err(|_| fill("filmcmd.bad_rate", &[("word", &word)]))?;
    let values: [(&str, &dyn std::fmt::Display); 3] =
        [("rate", &rate), ("least", &Pace::SLOWEST), ("most", &MOST_RATE)];
    Pace::new(rate).ok_or_else(|| fill("kit.bad_pace", &values))
}
