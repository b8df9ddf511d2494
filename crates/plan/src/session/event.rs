//! What happens in a session.

/// What was felt at a hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Felt {
    /// Nothing in particular.
    Easy,
    /// Tender: the hold grows.
    Tender,
    /// Tight or stuck: the hold grows.
    Tight,
    /// The skin turns red: no longer, and lighter next time.
    Red,
    /// It hurts: lighter and shorter, or the hold ends.
    Painful,
    /// Everything ends.
    Dizzy,
    /// Everything ends.
    Numb,
}

/// What was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Do {
    /// The session begins.
    Start,
    /// Something was felt at the present hold, or, between two, at the one before.
    Felt(Felt),
    /// The present hold grows.
    Longer,
    /// The hold is enough; between two, the next begins at once.
    Next,
    /// The step is left out.
    Skip,
    /// The step before is done again.
    Back,
    /// Time stands still.
    Pause,
    /// Time goes on.
    Resume,
    /// The other side of the same target comes first.
    Swap,
    /// To the close, now.
    End,
    /// A warning sign: everything ends.
    Sign,
}

/// Something done at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Event {
    /// Milliseconds since the session's page began, pauses included.
    pub at: u64,
    /// What.
    pub what: Do,
}

impl Felt {
    /// Every word, in order.
    pub const ALL: [(Felt, &'static str); 7] = [
        (Felt::Easy, "easy"),
        (Felt::Tender, "tender"),
        (Felt::Tight, "tight"),
        (Felt::Red, "red"),
        (Felt::Painful, "painful"),
        (Felt::Dizzy, "dizzy"),
        (Felt::Numb, "numb"),
    ];

    /// The word in files.
    pub fn word(self) -> &'static str {
        Felt::ALL.iter().find(|(f, _)| *f == self).map_or("", |(_, word)| word)
    }

    /// Reads the word in files.
    pub fn from_word(word: &str) -> Option<Felt> {
        Felt::ALL.iter().find(|(_, w)| *w == word).map(|(f, _)| *f)
    }
}

/// Everything that is done without a word on what was felt.
const PLAIN: [(Do, &str); 10] = [
    (Do::Start, "start"),
    (Do::Longer, "longer"),
    (Do::Next, "next"),
    (Do::Skip, "skip"),
    (Do::Back, "back"),
    (Do::Pause, "pause"),
    (Do::Resume, "resume"),
    (Do::Swap, "swap"),
    (Do::End, "end"),
    (Do::Sign, "sign"),
];

impl Do {
    /// The word in files: `felt` for all that was felt.
    pub fn word(self) -> &'static str {
        PLAIN.iter().find(|(d, _)| *d == self).map_or("felt", |(_, word)| word)
    }

    /// Reads the words in files: what was done, and for `felt` what was felt.
    pub fn from_words(word: &str, felt: Option<&str>) -> Option<Do> {
        match (word, felt) {
            ("felt", Some(felt)) => Felt::from_word(felt).map(Do::Felt),
            (word, None) => PLAIN.iter().find(|(_, w)| *w == word).map(|(d, _)| *d),
            _ => None,
        }
    }

    /// What was felt, if that is what it is.
    pub fn felt(self) -> Option<Felt> {
        match self {
            Do::Felt(felt) => Some(felt),
            _ => None,
        }
    }
}
