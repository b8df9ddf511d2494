//! A finding in words: what is to be done, which kind of statement it is, how sure the check is, how well a source is known.

use std::borrow::Cow;

use publish::claims::Verdict;

use crate::catalogue::{fill, text};

/// What is to be done, as a sentence's beginning.
pub fn verdict(verdict: Verdict) -> &'static str {
    text(match verdict {
        Verdict::Avoid => "found.avoid",
        Verdict::NeedsTrial => "found.trial",
        Verdict::NeedsDisclosure => "found.disclosure",
        Verdict::Ok => "found.ok",
    })
}

/// The same in two or three words.
pub fn short(verdict: Verdict) -> &'static str {
    text(match verdict {
        Verdict::Avoid => "found.short_avoid",
        Verdict::NeedsTrial => "found.short_trial",
        Verdict::NeedsDisclosure => "found.short_disclosure",
        Verdict::Ok => "found.short_ok",
    })
}

/// Which kind of statement it is.
pub fn kind(kind: &str) -> Cow<'_, str> {
    let key = match kind {
        "disease" => "found.kind_disease",
        "body" => "found.kind_body",
        "promise" => "found.kind_promise",
        "number" => "found.kind_number",
        "guarantee" => "found.kind_certain",
        "fear" => "found.kind_fear",
        "advice" => "found.kind_advice",
        "approval" => "found.kind_approval",
        "story" => "found.kind_story",
        "before_after" => "found.kind_before_after",
        "selling" => "found.kind_selling",
        "rivals" => "found.kind_rivals",
        "unclear" => "found.kind_unclear",
        "wellbeing" => "found.kind_wellbeing",
        "appearance" => "found.kind_appearance",
        own => return Cow::Owned(fill("found.kind_own", &[("kind", &own.replace('_', " "))])),
    };
    Cow::Borrowed(text(key))
}

/// How sure the check is, 0 to 1, in words.
pub fn sure(confidence: f64) -> &'static str {
    text(if confidence >= 0.9 {
        "found.sure"
    } else if confidence >= 0.7 {
        "found.fairly_sure"
    } else if confidence >= 0.5 {
        "found.not_sure"
    } else {
        "found.guess"
    })
}

/// How well a rule's source is known.
pub fn mark(mark: &str) -> &'static str {
    text(match mark {
        "found" => "found.mark_found",
        "secondary" => "found.mark_secondary",
        _ => "found.mark_memory",
    })
}

/// A kind of statement with what it is about.
pub fn statement(of: &str, topic: &str) -> String {
    fill("found.statement", &[("kind", &kind(of)), ("topic", &topic.replace('_', " "))])
}

/// A verdict by its word in the data, `none` among them.
pub fn of_data(word: &str) -> &'static str {
    match word {
        "avoid" => short(Verdict::Avoid),
        "needs_trial" => short(Verdict::NeedsTrial),
        "needs_disclosure" => short(Verdict::NeedsDisclosure),
        "ok" => short(Verdict::Ok),
        _ => text("found.short_none"),
    }
}

/// What a regulator makes of a text that says so, by the rule's word in the data; none where the rule itself says it.
pub fn means(verdict: &str) -> Option<&'static str> {
    let key = match verdict {
        "ok" | "ok-category" => "found.means_ok",
        "drug" => "found.means_drug",
        "device" => "found.means_device",
        "medicinal" => "found.means_medicinal",
        "needs RCT" => "found.means_trial",
        "disclose" | "disclose typical" => "found.means_disclose",
        "rule" | "criterion" => return None,
        _ => "found.means_no",
    };
    Some(text(key))
}
