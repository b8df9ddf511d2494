//! How a statement is meant: negated, asked, denied, told of anatomy or of the hand, advised against, only of the look.

use super::find::Hit;
use super::lexicon::Lexicon;
use super::pattern::{Class, Marks};
use super::token::{Form, Kind, Token};

/// Classes of words around a statement (data/words/claims/context.csv).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    Negator,
    Affirmed,
    Hedge,
    Appearance,
    Denial,
    Open,
    Limits,
    Clinician,
    Others,
    Ours,
    Tool,
    Anatomy,
    Causes,
    Handverb,
    Motion,
    Person,
    Pronoun,
    Sellq,
    Yes,
    No,
    Disclosure,
    Disclaimer,
    Caution,
    If,
    Be,
    Foryou,
    Pitch,
    Brief,
    Bare,
    Worked,
}

const WAYS: &[(Way, &str)] = &[
    (Way::Negator, "negator"),
    (Way::Affirmed, "affirmed"),
    (Way::Hedge, "hedge"),
    (Way::Appearance, "appearance"),
    (Way::Denial, "denial"),
    (Way::Open, "open"),
    (Way::Limits, "limits"),
    (Way::Clinician, "clinician"),
    (Way::Others, "others"),
    (Way::Ours, "ours"),
    (Way::Tool, "tool"),
    (Way::Anatomy, "anatomy"),
    (Way::Causes, "causes"),
    (Way::Handverb, "handverb"),
    (Way::Motion, "motion"),
    (Way::Person, "person"),
    (Way::Pronoun, "pronoun"),
    (Way::Sellq, "sellq"),
    (Way::Yes, "yes"),
    (Way::No, "no_answer"),
    (Way::Disclosure, "disclosure"),
    (Way::Disclaimer, "disclaimer"),
    (Way::Caution, "caution"),
    (Way::If, "condition_if"),
    (Way::Be, "be"),
    (Way::Foryou, "foryou"),
    (Way::Pitch, "pitch"),
    (Way::Brief, "brief"),
    (Way::Bare, "bare"),
    (Way::Worked, "worked"),
];

/// After "what is": what follows is told, not asked.
const TOLD: &[&str] = &[
    "known",
    "certain",
    "sure",
    "clear",
    "proven",
    "proved",
    "true",
    "more",
    "important",
    "nice",
    "lovely",
    "great",
    "special",
    "new",
    "interesting",
    "wonderful",
    "brilliant",
    "best",
    "really",
    "amazing",
    "beyond",
    "shown",
    "established",
    "settled",
    "remarkable",
];

/// A sentence with its words marked.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    pub tokens: Vec<Token>,
    pub marks: Marks,
    ways: Vec<Class>,
    named: Vec<(Class, String)>,
}

impl Scene {
    /// Is this the class of that name (of the matters in the sentence)?
    pub fn named(&self, class: Class, name: &str) -> bool {
        self.named.iter().any(|(c, n)| *c == class && n == name)
    }

    /// Marks the words of a sentence.
    pub fn new(lexicon: &Lexicon, text: &str) -> Scene {
        let tokens = super::token::tokens(&lexicon.known, text);
        let marks = lexicon.marks(&tokens);
        let ways = WAYS.iter().map(|(_, name)| lexicon.class(name)).collect();
        let named = marks
            .all
            .iter()
            .filter(|m| lexicon.topic(m.class))
            .map(|m| (m.class, lexicon.name(m.class).to_owned()))
            .collect();
        Scene { tokens, marks, ways, named }
    }

    /// The class of a way.
    pub fn way(&self, way: Way) -> Class {
        self.ways[way as usize]
    }

    /// Is there such a word at all?
    pub fn has(&self, way: Way) -> bool {
        self.marks.of(self.way(way)).next().is_some()
    }

    /// Is there such a word from `lo` to before `hi`?
    pub fn within(&self, way: Way, lo: usize, hi: usize) -> bool {
        self.marks.within(self.way(way), lo, hi)
    }

    /// Does such a word cover the token?
    pub fn covers(&self, way: Way, at: usize) -> bool {
        self.marks.covers(self.way(way), at)
    }

    /// Where the clause of a token begins and ends: at marks other than commas.
    pub fn clause(&self, at: usize) -> (usize, usize) {
        let lo = (0..at).rev().find(|i| self.tokens[*i].hard()).map_or(0, |i| i + 1);
        let hi = (at..self.tokens.len()).find(|i| self.tokens[*i].hard()).unwrap_or(self.tokens.len());
        (lo, hi)
    }

    /// Do the commas here part the items of a list, not clauses?
    pub fn listed(&self, from: usize, to: usize) -> bool {
        for i in from..to {
            if self.tokens[i].comma() {
                let Some(next) = self.tokens.get(i + 1) else { return false };
                if next.any(&[
                    "it", "they", "you", "we", "i", "he", "she", "this", "but", "so", "which", "then", "just", "not",
                ]) {
                    return false;
                }
            }
        }
        true
    }

    /// Does the sentence ask, and does not sell by asking?
    pub fn question(&self) -> bool {
        let marked =
            self.tokens.iter().rev().find(|t| t.kind != Kind::Mark(')')).is_some_and(|t| t.kind == Kind::Mark('?'));
        let asks = self.inverted();
        let marked = marked && (asks || !self.tagged());
        if !marked && !asks {
            return false;
        }
        !self.sells()
    }

    /// Does only a tag ask: "we are treating it, okay?"
    fn tagged(&self) -> bool {
        let last: Vec<usize> = (0..self.tokens.len()).filter(|i| self.tokens[*i].comma()).collect();
        let Some(from) = last.last() else { return false };
        let words: Vec<&Token> = self.tokens[from + 1..].iter().filter(|t| t.kind == Kind::Word).collect();
        (1..=3).contains(&words.len())
            && words[0].any(&[
                "okay", "ok", "right", "yes", "see", "alright", "innit", "eh", "yeah", "you", "got", "is", "does",
                "are", "do", "can",
            ])
            && words.iter().all(|t| {
                t.any(&[
                    "okay", "ok", "right", "yes", "see", "alright", "innit", "eh", "yeah", "you", "know", "that", "it",
                    "is", "not", "does", "do", "they", "are", "got", "feel", "can",
                ])
            })
    }

    /// Verb before subject, as captions without marks ask: `does it remove wrinkles`.
    fn inverted(&self) -> bool {
        let words: Vec<&str> =
            self.tokens.iter().filter(|t| matches!(t.kind, Kind::Word)).take(4).map(|t| t.word.as_str()).collect();
        let skip = usize::from(
            words.first().is_some_and(|w| ["and", "so", "but", "now", "well", "ok", "okay", "or"].contains(w)),
        );
        let (Some(first), Some(second)) = (words.get(skip), words.get(skip + 1)) else { return false };
        let helper =
            ["does", "did", "can", "could", "will", "would", "should", "is", "are", "has", "have", "was", "were"]
                .contains(first);
        let subject = [
            "it",
            "this",
            "that",
            "they",
            "these",
            "massage",
            "facial",
            "you",
            "we",
            "i",
            "he",
            "she",
            "there",
            "gua",
            "any",
            "the",
            "your",
            "a",
            "face",
            "acupressure",
            "reflexology",
            "anyone",
            "anybody",
        ]
        .contains(second);
        // "What is known: this lifts." tells, though it begins as a question does.
        let tells = *first == "what"
            && ["is", "are"].contains(second)
            && (words.get(skip + 2).is_some_and(|w| TOLD.contains(w))
                || self.tokens.iter().take(8).any(|t| t.kind == Kind::Mark(':')));
        if tells {
            return false;
        }
        let wh = ["what", "why", "how", "who", "where", "which", "when"].contains(first)
            && ["do", "does", "did", "is", "are", "can", "will", "would", "could"].contains(second);
        let do_you =
            wh || *first == "do" && ["you", "they", "we", "i", "these", "those", "people", "clients"].contains(second);
        // "Have a glass of water" asks nothing.
        let told = ["have", "has"].contains(first) && ["a", "the", "your", "any"].contains(second);
        (helper && subject && !told) || do_you
    }

    /// Does the question sell?
    pub fn sells(&self) -> bool {
        self.marks
            .of(self.way(Way::Sellq))
            .any(|m| m.lo <= 1 || self.tokens.get(m.lo - 1).is_some_and(|t| t.comma() || t.hard()))
    }

    /// Does it begin with this kind of word?
    pub fn begins(&self, way: Way) -> bool {
        self.marks.of(self.way(way)).any(|m| m.lo == 0)
    }

    /// A word of this way that is not part of a wording of the other.
    fn free(&self, at: usize, way: Way) -> bool {
        self.covers(way, at) && !self.covers(Way::Affirmed, at)
    }

    /// Is the token within reach of a negation that stands before it?
    pub fn negated(&self, at: usize) -> bool {
        let form = self.tokens[at].form;
        let mut and = false;
        let mut steps = 0;
        for i in (0..at).rev() {
            let token = &self.tokens[i];
            if token.hard() {
                return false;
            }
            if token.any(&["but", "yet", "however", "because", "instead", "although", "since", "until", "except", "so"])
            {
                return false;
            }
            let next = &self.tokens[i + 1];
            if token.comma()
                && (next.any(&[
                    "it", "this", "that", "they", "these", "you", "we", "i", "she", "he", "my", "just", "only", "and",
                    "which", "the", "your", "our",
                ]) || !self.listed(i, i + 1))
            {
                return false;
            }
            if token.is("and") {
                and = true;
            }
            steps += 1;
            if steps > 16 {
                return false;
            }
            if !self.free(i, Way::Negator) {
                continue;
            }
            // "Without surgery it lifts": what without reaches ends with its own words.
            if token.is("without") {
                if at - i <= 3 {
                    return true;
                }
                continue;
            }
            let helper = i > 0 && token.is("not");
            let finite = form == Form::S
                && !self.tokens[at].is("years")
                && self.tokens[i..at].iter().all(|t| !t.any(&["that", "which", "who", "what"]));
            if helper && finite && (and || at - i > 2) {
                continue;
            }
            // "You do not need surgery to lift": the need is negated, not the lift.
            let needed = self.tokens[i..at].iter().position(|t| t.any(&["need", "have", "require"]));
            if let Some(n) = needed {
                let rest = &self.tokens[i + n + 1..at];
                if rest.len() >= 2
                    && !rest[0].any(&["me", "us", "you", "it", "any"])
                    && rest.iter().any(|t| t.is("to"))
                    && !rest[0].is("to")
                {
                    continue;
                }
            }
            return true;
        }
        false
    }

    /// Is the statement taken back after it: `removing wrinkles is not what this does`?
    fn taken_back(&self, hit: &Hit) -> bool {
        let (_, end) = self.clause(hit.at);
        let ing = self.tokens[hit.at].form == Form::Ing || hit.pair && self.tokens[hit.at].form == Form::Base;
        ing && (hit.hi..end.min(hit.hi + 4)).any(|i| {
            // "Isn't it?" takes nothing back.
            let tag =
                self.tokens.get(i + 1).is_some_and(|t| t.any(&["it", "they", "you", "this", "that", "she", "he"]));
            self.free(i, Way::Negator) && i > 0 && self.covers(Way::Be, i - 1) && !tag
        })
    }

    /// Is the sentence's statement denied, left open, or told with its limits?
    fn denied(&self, hit: &Hit) -> bool {
        [Way::Denial, Way::Open, Way::Limits].iter().any(|way| {
            self.marks.of(self.way(*way)).any(|m| {
                let overlaps = m.lo < hit.hi && hit.lo < m.hi;
                let (a, b) = if m.lo < hit.lo { (m.lo, hit.lo) } else { (hit.hi, m.lo.max(hit.hi)) };
                let turned =
                    self.tokens[a.min(b)..b].iter().any(|t| t.any(&["but", "yet", "however", "still", "nevertheless"]));
                let covered = self.covers(Way::Affirmed, m.lo);
                let before = m.lo < hit.lo;
                !(overlaps || covered || turned && before)
            })
        })
    }

    /// Who does it: words before the verb in its clause.
    fn subject(&self, hit: &Hit) -> (usize, usize) {
        let (lo, _) = self.clause(hit.at);
        let from = (lo..hit.at)
            .rev()
            .find(|i| {
                self.tokens[*i].comma() || self.tokens[*i].any(&["and", "but", "because", "so", "while", "when", "if"])
            })
            .map_or(lo, |i| i + 1);
        (from, hit.at)
    }

    /// Is this told of the body as it works by itself?
    fn anatomy(&self, hit: &Hit) -> bool {
        if !hit.pair && hit.kind != "body" {
            return false;
        }
        let (from, to) = self.subject(hit);
        let region = from..to;
        if region.is_empty() {
            return false;
        }
        let ours = region.clone().any(|i| self.covers(Way::Ours, i) && !self.anatomical(i));
        let only_skin = |i: usize| self.tokens[i].any(&["skin", "face", "tissue", "cells", "cell", "pores"]);
        let body = region.clone().any(|i| self.anatomical(i) && !(hit.topic == "toxins" && only_skin(i)));
        let (_, end) = self.clause(hit.at);
        let caused = (from..end).any(|i| (i < to || i >= hit.hi) && self.covers(Way::Causes, i));
        if hit.lo < hit.at && hit.pair {
            // "Skin gets thinner with age."
            let (lo, _) = self.clause(hit.at);
            let with_age = self.tokens[lo].any(&["with", "as", "over"])
                && self.tokens[lo..hit.lo].iter().take(3).any(|t| t.any(&["age", "years"]));
            return with_age || self.tokens[hit.at..].iter().any(|t| t.any(&["age", "older", "itself", "ageing"]));
        }
        let through = (hit.hi..end).any(|i| {
            self.tokens[i].any(&["thanks", "through", "with", "by", "after", "because"])
                && (i + 1..end.min(i + 4)).any(|j| self.covers(Way::Ours, j) && !self.anatomical(j))
        });
        body && !ours && !caused && !through
    }

    fn anatomical(&self, at: usize) -> bool {
        self.covers(Way::Anatomy, at)
    }

    /// Is it another's work: a clinician's, a medicine's, the sun's?
    fn anothers(&self, hit: &Hit) -> bool {
        let (from, to) = self.subject(hit);
        if hit.pair && hit.lo < hit.at {
            return false;
        }
        let other = (from..to).any(|i| self.covers(Way::Others, i) || self.covers(Way::Clinician, i));
        let ours = (from..to).any(|i| {
            self.tokens[i].any(&[
                "this", "it", "massage", "stroke", "routine", "we", "i", "you", "like", "our", "my", "with", "than",
                "without",
            ])
        });
        other && !ours
    }

    /// Is it told to the hand: an order without a promise?
    fn ordered(&self, hit: &Hit) -> bool {
        if !hit.pair || hit.lo < hit.at {
            return false;
        }
        let verb = &self.tokens[hit.at];
        if verb.form != Form::Base || !self.covers(Way::Handverb, hit.at) {
            return false;
        }
        let begins = hit.at == 0
            || self.tokens[hit.at - 1].comma()
            || self.tokens[hit.at - 1].hard()
            || self.tokens[hit.at - 1].any(&[
                "then",
                "now",
                "and",
                "please",
                "gently",
                "slowly",
                "softly",
                "next",
                "just",
                "okay",
                "ok",
                "carefully",
                "also",
                "or",
                "can",
                "lightly",
            ]);
        if !begins {
            return false;
        }
        let (lo, hi) = self.clause(hit.at);
        if self.within(Way::Pitch, lo, hi) {
            return false;
        }
        // What is worked on by the hand, not what is unwanted.
        matches!(hit.matter.as_str(), "face" | "muscle" | "cells" | "organs" | "skin_tone" | "lymph" | "circulation")
    }

    /// Is it a caution, or deferred to a clinician?
    fn caution(&self, hit: &Hit) -> bool {
        let (lo, hi) = self.clause(hit.at);
        let begins_if = (lo..hit.at).any(|i| {
            self.tokens[i].any(&["if", "while", "until", "unless", "anyone", "whoever", "during", "after"])
                && self.covers(Way::If, i)
        });
        let warns = self.has(Way::Clinician) || self.within(Way::Caution, lo, hi) || self.has(Way::Caution);
        begins_if && warns && hit.pair
    }

    /// Is it of the look alone?
    pub fn appearance(&self, hit: &Hit) -> bool {
        if !matches!(
            hit.topic.as_str(),
            "wrinkles" | "dark_circles" | "lift" | "inflammation" | "pigment" | "result" | "cells"
        ) || hit.kind == "disease"
        {
            return false;
        }
        let (lo, hi) = self.clause(hit.at);
        let young =
            (lo..hi).any(|i| self.tokens[i].any(&["younger", "years", "decade", "decades", "forever", "good", "gone"]));
        let brief = hit.kind != "promise" || self.within(Way::Brief, lo, hi);
        self.within(Way::Appearance, lo, hi) && !young && brief
    }

    /// Is it meant as a statement at all? None if not, else by how much less sure.
    pub fn meant(&self, hit: &Hit) -> Option<f64> {
        let mut sure = 1.0;
        if !hit.fixed {
            let deniable = !matches!(hit.kind.as_str(), "selling" | "before_after");
            if self.negated(hit.at)
                || self.negated_matter(hit)
                || self.taken_back(hit)
                || (deniable && self.denied(hit))
                || self.mentioned(hit)
            {
                return None;
            }
            if matches!(hit.kind.as_str(), "body" | "disease" | "wellbeing")
                && (self.anatomy(hit) || self.anothers(hit) || self.ordered(hit) || self.caution(hit))
            {
                return None;
            }
        } else if !matches!(hit.topic.as_str(), "legal_minimum" | "form")
            && self.marks.of(self.way(Way::Denial)).any(|m| m.lo >= hit.hi || m.hi <= hit.lo)
        {
            return None;
        }
        if self.question() {
            return None;
        }
        if (hit.kind == "number" && self.has(Way::Limits)) || (hit.kind == "fear" && self.has(Way::Clinician)) {
            return None;
        }
        if hit.pair && !self.pressed(hit) {
            return None;
        }
        let (lo, hi) = self.clause(hit.at);
        if self.within(Way::Hedge, lo, hi) {
            sure *= 0.75;
        }
        if self.tokens.last().is_some_and(|t| t.kind == Kind::Mark('?')) {
            sure *= 0.9;
        }
        // Somebody's words, perhaps not the speaker's own.
        if self.tokens[hit.lo..hit.hi].iter().all(|t| t.quoted) {
            sure *= 0.9;
        }
        Some(sure)
    }

    /// Advice, fear and approval made of an effect and a matter: not where the sentence warns or defers.
    fn pressed(&self, hit: &Hit) -> bool {
        let (lo, hi) = self.clause(hit.at);
        let warns = self.marks.of(self.way(Way::Caution)).any(|m| {
            m.lo >= lo && m.hi <= hi && (m.hi <= hit.lo || m.lo >= hit.hi) && !self.covers(Way::Affirmed, m.lo)
        });
        match hit.kind.as_str() {
            "advice" | "fear" => !warns,
            "approval" => !(lo..hit.hi).any(|i| self.tokens[i].is("your")),
            _ => true,
        }
    }

    /// Is it only mentioned: words in quotation marks of which the rest of the sentence tells?
    fn mentioned(&self, hit: &Hit) -> bool {
        if !self.tokens[hit.lo..hit.hi].iter().all(|t| t.quoted) {
            return false;
        }
        let around: Vec<usize> = (0..self.tokens.len()).filter(|i| !self.tokens[*i].quoted).collect();
        let tells = around.iter().any(|i| {
            self.tokens[*i].any(&[
                "call", "calls", "called", "said", "says", "printed", "wrote", "read", "reads", "phrase", "sentence",
                "caption", "word", "words", "claim", "claims", "claimed", "told", "advert", "adverts", "jar", "box",
                "label", "packet", "brochure", "booklet", "leaflet", "seller", "shop", "lid", "title", "comment",
                "rumour", "spoke", "slogan", "headline", "magazine", "article", "website", "video", "term", "promise",
                "promises", "line", "hear", "heard", "people", "they", "some", "hashtag", "post",
            ])
        });
        let persons = around.iter().any(|i| {
            (self.covers(Way::Person, *i) && !self.tokens[*i].is("people"))
                || (self.tokens[*i].capital
                    && *i > 0
                    && self.tokens[*i].exact == 0
                    && self.tokens[*i].kind == Kind::Word)
        });
        let own = around.iter().any(|i| self.tokens[*i].any(&["i", "we"]))
            && around.iter().any(|i| self.tokens[*i].any(&["call", "say", "this"]))
            && !around.iter().any(|i| self.tokens[*i].any(&["they", "he", "she"]));
        tells && !persons && !own
    }

    /// A matter of a sentence in which nothing else was found, if the words around it do not make it a bare mention.
    pub fn unexplained(&self, lo: usize, hi: usize, firm: bool) -> bool {
        let quiet = [
            Way::Negator,
            Way::Denial,
            Way::Open,
            Way::Limits,
            Way::Clinician,
            Way::Caution,
            Way::Bare,
            Way::Disclaimer,
            Way::Hedge,
        ]
        .iter()
        .any(|w| self.has(*w));
        let place = lo > 0
            && (lo.saturating_sub(3)..lo).any(|i| {
                self.tokens[i].any(&[
                    "on", "over", "along", "across", "around", "under", "below", "above", "beside", "near", "to",
                    "toward", "towards", "at", "from", "into", "between", "through", "where", "about",
                ])
            });
        // One word that also means something plain needs somebody whose it is.
        let plain = hi - lo == 1
            && self.tokens[lo].any(&[
                "fold", "folds", "lines", "fat", "cold", "colds", "blood", "veins", "collagen", "elastin", "crease",
                "creases", "furrow", "furrows", "oxygen", "lymph", "sag", "slack", "puff", "lump", "lumps", "cramp",
                "scar", "scars", "frown",
            ])
            && !(lo > 0 && self.tokens[lo - 1].any(&["your", "those", "these"]));
        let first = plain || self.tokens.iter().any(|t| t.any(&["my", "i", "me"]));
        let words = self.tokens.iter().filter(|t| t.kind == Kind::Word).count();
        let subject = lo <= 2 || (lo > 0 && self.tokens[lo - 1].any(&["your", "those", "that", "the", "these", "all"]));
        let moved = self.marks.of(self.way(Way::Worked)).any(|m| m.hi <= lo || m.lo >= hi);
        moved && !quiet && !place && !first && words >= hi - lo + 2 && !self.question() && (firm || subject)
    }

    /// A matter that is negated itself, before its verb: `no wrinkles are removed`.
    fn negated_matter(&self, hit: &Hit) -> bool {
        hit.pair && hit.lo < hit.at && self.negated(hit.lo)
    }
}

impl Scene {
    /// Does it go on about the person of the sentence before: "Paul had sinusitis." - "Now he is free of it."?
    pub fn goes_on(&self, earlier: &Scene) -> bool {
        let named = earlier.tokens.iter().any(|t| t.capital && t.exact == 0 && t.kind == Kind::Word)
            || earlier.has(Way::Person);
        let past = earlier.tokens.iter().any(|t| t.any(&["had", "was", "were", "suffered", "came", "meet", "is"]));
        named && past && self.tokens.iter().any(|t| t.any(&["he", "she", "her", "his", "they", "gone", "now"]))
    }

    /// Is a result told of somebody: a client's, a friend's, one's own?
    pub fn story(&self, hit: &Hit) -> bool {
        let (lo, hi) = self.clause(hit.at);
        let since = (lo..hi).any(|i| {
            self.tokens[i].is("since") && self.tokens.get(i + 1).is_some_and(|t| t.any(&["i", "she", "he", "starting"]))
        });
        let past = since
            || (hit.lo..hit.hi).any(|i| self.tokens[i].form == Form::Ed)
            || (lo..hi)
                .any(|i| self.tokens[i].any(&["gone", "had", "went", "got", "said", "says", "told", "was", "were"]));
        let person = (lo..hit.hi).any(|i| self.covers(Way::Person, i) && !self.tokens[i].any(&["people", "everyone"]));
        let named = (lo..hit.at)
            .any(|i| self.tokens[i].capital && self.tokens[i].exact == 0 && self.tokens[i].kind == Kind::Word);
        let own = (lo..hit.hi)
            .any(|i| self.tokens[i].any(&["my", "her", "his", "their"]) && self.tokens.get(i + 1).is_some());
        let hers = (hit.lo.saturating_sub(2)..hit.hi).any(|i| self.tokens[i].any(&["my", "her", "his"]));
        let lost = (lo..hit.at + 1).any(|i| self.tokens[i].any(&["i", "she", "he"]));
        past && ((person && (own || lost || named)) || hers || (person && past) || named || (lost && past))
    }
}
