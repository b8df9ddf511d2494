//! Light lemmatisation of English: inflections off, British and American spelling made one. Both the lexicon and the text go through it,
//! so it need only be consistent, not pretty.

/// Words whose ending is no inflection, or whose inflected form means something of its own.
const WHOLE: &[&str] = &[
    "during",
    "evening",
    "morning",
    "nothing",
    "something",
    "anything",
    "everything",
    "ceiling",
    "sibling",
    "this",
    "his",
    "its",
    "us",
    "is",
    "was",
    "has",
    "does",
    "yes",
    "thus",
    "plus",
    "gas",
    "bus",
    "less",
    "unless",
    "always",
    "perhaps",
    "naked",
    "sacred",
    "scared",
    "hundred",
    "red",
    "bed",
    "shed",
    "need",
    "speed",
    "feed",
    "bleed",
    "seed",
    "indeed",
    "exceed",
    "proceed",
    "used",
    "being",
    "king",
    "ring",
    "sing",
    "wing",
    "thing",
    "bring",
    "string",
    "spring",
    "swing",
    "sting",
    "cling",
    "news",
    "series",
    "species",
    "lens",
    "diabetes",
    "herpes",
    "rabies",
    "tetanus",
    "lupus",
    "sinus",
    "tinnitus",
    "virus",
    "pus",
    "thrombus",
    "one",
    "once",
    "united",
    "gone",
    "ageless",
    "better",
    "best",
    "under",
    "over",
    "older",
    "younger",
    "aging",
    "ageing",
    "aged",
    "hers",
    "yours",
    "ours",
    "theirs",
    "gods",
    "mars",
    "atlas",
    "bias",
    "canvas",
    "pancreas",
    "psoriasis",
    "lined",
    "lining",
    "organic",
    "meaning",
    "feeling",
    "healing",
    "healer",
    "lifting",
    "wedding",
    "painting",
    "building",
    "buildings",
    "darling",
    "facing",
    "faced",
    "celled",
    "pored",
    "nosed",
    "eyed",
    "lipped",
    "cheeked",
    "backed",
    "handed",
    "armed",
    "necked",
    "boned",
    "proven",
    "pointed",
    "pressing",
    "dressing",
    "blessing",
    "stunning",
    "amazing",
    "interesting",
    "exciting",
    "charming",
];

/// Irregular forms.
const IRREGULAR: &[(&str, &str)] = &[
    ("lost", "lose"),
    ("losing", "lose"),
    ("went", "go"),
    ("goes", "go"),
    ("going", "go"),
    ("got", "get"),
    ("gotten", "get"),
    ("said", "say"),
    ("took", "take"),
    ("taken", "take"),
    ("made", "make"),
    ("felt", "feel"),
    ("saw", "see"),
    ("seen", "see"),
    ("woke", "wake"),
    ("woken", "wake"),
    ("grew", "grow"),
    ("grown", "grow"),
    ("shrank", "shrink"),
    ("shrunk", "shrink"),
    ("shrunken", "shrink"),
    ("fought", "fight"),
    ("beaten", "beat"),
    ("swore", "swear"),
    ("sworn", "swear"),
    ("broke", "break"),
    ("broken", "break"),
    ("shook", "shake"),
    ("shaken", "shake"),
    ("kept", "keep"),
    ("gave", "give"),
    ("given", "give"),
    ("became", "become"),
    ("threw", "throw"),
    ("thrown", "throw"),
    ("drove", "drive"),
    ("driven", "drive"),
    ("undid", "undo"),
    ("undone", "undo"),
    ("slept", "sleep"),
    ("dealt", "deal"),
    ("men", "man"),
    ("women", "woman"),
    ("children", "child"),
    ("feet", "foot"),
    ("teeth", "tooth"),
    ("lives", "life"),
    ("wives", "wife"),
    ("knives", "knife"),
    ("came", "come"),
    ("ran", "run"),
    ("rose", "rise"),
    ("risen", "rise"),
    ("sank", "sink"),
    ("sunk", "sink"),
    ("knew", "know"),
    ("known", "know"),
    ("told", "tell"),
    ("thought", "think"),
    ("bought", "buy"),
    ("sold", "sell"),
    ("brought", "bring"),
    ("found", "find"),
    ("paid", "pay"),
    ("built", "build"),
    ("rebuilt", "rebuild"),
    ("sent", "send"),
    ("fed", "feed"),
    ("chose", "choose"),
    ("chosen", "choose"),
    ("froze", "freeze"),
    ("frozen", "freeze"),
    ("wore", "wear"),
    ("worn", "wear"),
    ("tore", "tear"),
    ("torn", "tear"),
    ("stole", "steal"),
    ("stolen", "steal"),
    ("spoke", "speak"),
    ("spoken", "speak"),
    ("swept", "sweep"),
    ("wept", "weep"),
    ("had", "have"),
    ("has", "have"),
    ("having", "have"),
    ("did", "do"),
    ("does", "do"),
    ("done", "do"),
    ("am", "be"),
    ("is", "be"),
    ("are", "be"),
    ("was", "be"),
    ("were", "be"),
    ("been", "be"),
    ("being", "be"),
    ("dying", "die"),
    ("died", "die"),
    ("dies", "die"),
    ("lying", "lie"),
    ("tying", "tie"),
    ("fell", "fall"),
    ("fallen", "fall"),
    ("held", "hold"),
    ("began", "begin"),
    ("begun", "begin"),
    ("led", "lead"),
    ("met", "meet"),
    ("stood", "stand"),
    ("understood", "understand"),
    ("wrote", "write"),
    ("written", "write"),
    ("ate", "eat"),
    ("eaten", "eat"),
    ("drew", "draw"),
    ("drawn", "draw"),
    ("won", "win"),
    ("sprang", "spring"),
    ("sprung", "spring"),
    ("drunk", "drink"),
    ("drank", "drink"),
    ("flown", "fly"),
    ("flew", "fly"),
    ("outgrew", "outgrow"),
    ("overcame", "overcome"),
    ("aging", "age"),
    ("ageing", "age"),
    ("aged", "age"),
    ("aging-related", "age"),
    ("healing", "heal"),
    ("lifting", "lift"),
    ("pressing", "press"),
    ("diagnoses", "diagnose"),
    ("analyses", "analyse"),
    ("bodies", "body"),
    ("vertebrae", "vertebra"),
    ("shone", "shine"),
    ("dug", "dig"),
    ("bade", "bid"),
    ("fled", "flee"),
    ("wrung", "wring"),
    ("slung", "sling"),
];

fn vowel(text: &str) -> bool {
    text.bytes().any(|b| matches!(b, b'a' | b'e' | b'i' | b'o' | b'u' | b'y'))
}

/// British and American spelling as one (neither, at times).
fn spelling(word: &mut String) {
    for (from, to) in [
        ("aemi", "emi"),
        ("aemo", "emo"),
        ("aema", "ema"),
        ("oede", "ede"),
        ("oest", "est"),
        ("oeso", "eso"),
        ("rrhoea", "rrhea"),
        ("aesth", "esth"),
        ("paed", "ped"),
        ("leuk", "leuc"),
        ("yse", "yze"),
        ("ysing", "yzing"),
        ("ysed", "yzed"),
        ("isation", "ization"),
        ("mould", "mold"),
        ("sulph", "sulf"),
        ("grey", "gray"),
        ("sceptic", "skeptic"),
        ("fibre", "fiber"),
        ("centre", "center"),
        ("litre", "liter"),
        ("metre", "meter"),
        ("programme", "program"),
        ("licence", "license"),
        ("practise", "practice"),
        ("defence", "defense"),
        ("anaesth", "anesth"),
        ("orthop", "ortop"),
    ] {
        if word.contains(from) {
            *word = word.replace(from, to);
        }
    }
    if word.len() >= 6 {
        for (from, to) in [
            ("ise", "ize"),
            ("ises", "izes"),
            ("ised", "ized"),
            ("ising", "izing"),
            ("our", "or"),
            ("ours", "ors"),
            ("oured", "ored"),
            ("ouring", "oring"),
            ("elling", "eling"),
            ("elled", "eled"),
        ] {
            if let Some(head) = word.strip_suffix(from) {
                if head.len() >= 3 {
                    *word = format!("{head}{to}");
                    break;
                }
            }
        }
    }
}

/// Takes the doubled consonant off that an ending brought: `stopp` is `stop`.
fn single(stem: &str) -> &str {
    let bytes = stem.as_bytes();
    let n = bytes.len();
    if n >= 3
        && bytes[n - 1] == bytes[n - 2]
        && !matches!(bytes[n - 1], b'l' | b's' | b'z' | b'f' | b'a' | b'e' | b'i' | b'o' | b'u')
    {
        return &stem[..n - 1];
    }
    stem
}

/// The stem of a word in small letters.
pub(super) fn stem(word: &str) -> String {
    if let Some((_, base)) = IRREGULAR.iter().find(|(form, _)| *form == word) {
        return ended(base);
    }
    if !word.is_ascii() || WHOLE.contains(&word) {
        return ended(word);
    }
    let mut w = word.to_owned();
    spelling(&mut w);
    let n = w.len();
    let cut = if n > 4 && w.ends_with("ies") {
        format!("{}y", &w[..n - 3])
    } else if n > 4 && ["sses", "ches", "shes", "xes", "zzes"].iter().any(|e| w.ends_with(e)) {
        w[..n - 2].to_owned()
    } else if n > 3 && w.ends_with('s') && !["ss", "us", "is"].iter().any(|e| w.ends_with(e)) {
        w[..n - 1].to_owned()
    } else if n > 4 && w.ends_with("ing") && vowel(&w[..n - 3]) {
        single(&w[..n - 3]).to_owned()
    } else if n > 4 && w.ends_with("ied") {
        format!("{}y", &w[..n - 3])
    } else if n > 4 && w.ends_with("ed") && !w.ends_with("eed") && vowel(&w[..n - 2]) {
        single(&w[..n - 2]).to_owned()
    } else {
        w
    };
    ended(&cut)
}

/// Without a final silent e, and y as i.
fn ended(word: &str) -> String {
    let mut w = word.to_owned();
    spelling(&mut w);
    let n = w.len();
    if n > 3 && w.ends_with('e') && !w.ends_with("ee") {
        w.truncate(n - 1);
    } else if n > 3 && w.ends_with('y') && !matches!(w.as_bytes()[n - 2], b'a' | b'e' | b'o' | b'u') {
        w.truncate(n - 1);
        w.push('i');
    }
    w
}

#[cfg(test)]
mod tests {
    use super::stem;

    #[test]
    fn forms_of_a_word_have_one_stem() {
        for family in [
            &["remove", "removes", "removing", "removed"][..],
            &["erase", "erases", "erasing", "erased"],
            &["tone", "tones", "toning", "toned"],
            &["lift", "lifts", "lifting", "lifted"],
            &["stop", "stops", "stopping", "stopped"],
            &["stimulate", "stimulates", "stimulating", "stimulated"],
            &["minimise", "minimize", "minimises", "minimized", "minimising"],
            &["tumour", "tumor", "tumours"],
            &["oedema", "edema"],
            &["anaemia", "anemia"],
            &["shrink", "shrank", "shrunk", "shrinking"],
            &["ageing", "aging", "aged", "age"],
            &["body", "bodies"],
            &["allergy", "allergies"],
            &["smooth", "smooths", "smoothing", "smoothed"],
            &["colour", "color", "colours"],
            &["press", "presses", "pressing", "pressed"],
            &["firm", "firms", "firming", "firmed"],
        ] {
            for word in family {
                assert_eq!(stem(word), stem(family[0]), "{word} and {}", family[0]);
            }
        }
        assert_ne!(stem("scared"), stem("scar"));
        assert_ne!(stem("evening"), stem("even"));
        assert_ne!(stem("organic"), stem("organ"));
    }
}
