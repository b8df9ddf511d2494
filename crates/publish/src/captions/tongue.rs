//! Which words hold together and which open a new sense, by language: what a reader of captions should not find torn apart.

/// The small words of a language.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tongue {
    /// Words that belong to the one after them: articles and what stands in their place.
    pub articles: &'static [&'static str],
    /// Words that open a part of a sentence and so begin a line well.
    pub opens: &'static [&'static str],
    /// Words that may belong to the verb before them.
    pub particles: &'static [&'static str],
    /// Words after a number that belong to it.
    pub units: &'static [&'static str],
}

/// English.
pub const ENGLISH: Tongue = Tongue {
    articles: &[
        "a", "an", "the", "your", "my", "our", "his", "her", "its", "their", "this", "that", "these", "those", "each",
        "every", "no", "one", "two", "three",
    ],
    opens: &[
        "and", "or", "but", "nor", "so", "yet", "if", "when", "while", "until", "because", "since", "as", "where",
        "which", "who", "that", "than", "then", "with", "without", "from", "to", "toward", "towards", "into", "onto",
        "of", "on", "in", "at", "by", "for", "under", "over", "above", "below", "behind", "before", "after", "beside",
        "between", "along", "across", "through", "round", "around", "near", "within", "only", "not", "never",
    ],
    particles: &["in", "on", "out", "off", "up", "down", "back", "over", "through", "aside", "away"],
    units: &[
        "s", "second", "seconds", "min", "minute", "minutes", "hour", "hours", "day", "days", "week", "weeks", "mm",
        "cm", "laps", "lap", "steps", "step", "drops", "months", "years", "%",
    ],
};

/// German.
pub const GERMAN: Tongue = Tongue {
    articles: &[
        "der", "die", "das", "den", "dem", "des", "ein", "eine", "einen", "einem", "einer", "eines", "ihr", "ihre",
        "ihren", "ihrem", "ihrer", "ihres", "mein", "meine", "dieser", "diese", "dieses", "diesen", "diesem", "jede",
        "jeder", "jedes", "jeden", "jedem", "kein", "keine", "keinen", "zum", "zur", "vom", "beim", "im", "am", "ans",
        "ins", "zwei", "drei",
    ],
    opens: &[
        "und", "oder", "aber", "sondern", "denn", "wenn", "als", "bis", "weil", "da", "dass", "ob", "wo", "während",
        "bevor", "nachdem", "damit", "mit", "ohne", "von", "vom", "zu", "zum", "zur", "in", "im", "ins", "an", "am",
        "ans", "auf", "aus", "bei", "beim", "für", "über", "unter", "vor", "hinter", "neben", "zwischen", "entlang",
        "durch", "um", "nach", "nur", "nicht", "nie", "der", "die", "das",
    ],
    particles: &["ab", "an", "auf", "aus", "ein", "hin", "los", "mit", "nach", "vor", "vorbei", "weg", "zu", "zurück"],
    units: &[
        "s",
        "sekunde",
        "sekunden",
        "min",
        "minute",
        "minuten",
        "stunde",
        "stunden",
        "tag",
        "tage",
        "tagen",
        "woche",
        "wochen",
        "mm",
        "cm",
        "runde",
        "runden",
        "schritt",
        "schritte",
        "schritten",
        "tropfen",
        "monate",
        "monaten",
        "jahre",
        "jahren",
        "%",
    ],
};

/// A word as it is looked up: small, without what stands around it.
pub fn bare(word: &str) -> String {
    word.trim_matches(|c: char| !c.is_alphanumeric() && c != '%').to_lowercase()
}

/// Whether a word ends a sentence.
pub fn ends_sentence(word: &str) -> bool {
    word.trim_end_matches(['"', '”', '“', '’', ')', '»']).ends_with(['.', '?', '!', '…'])
}

/// Whether a word ends a clause.
pub fn ends_clause(word: &str) -> bool {
    word.trim_end_matches(['"', '”', '“', '’', ')', '»']).ends_with([',', ';', ':', '–', '—'])
}
