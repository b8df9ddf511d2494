//! What a course's numbers say, in sentences. A change is a change: nothing says that anything got better, or why.

use cabinet::Course;
use follow::{Change, Plan, Standing, TooEarly, Value, Verdict};

use crate::catalogue::{fill, text};
use crate::desk::keep::{date_in_words, day_in_words};
use crate::following::many::{Felt, Line, Many};
use crate::following::words::{amount, interval, size, value_name};

/// So many people.
pub fn people(n: usize) -> String {
    if n == 1 { text("course.one_person").to_owned() } else { fill("course.people", &[("n", &n)]) }
}

/// A share as a whole percentage; between two that would round to none or all, one decimal.
pub fn percent(share: f64) -> String {
    let hundred = 100.0 * share;
    if (hundred > 0.0 && hundred < 1.0) || (hundred > 99.0 && hundred < 100.0) {
        format!("{hundred:.1}\u{a0}%")
    } else {
        format!("{hundred:.0}\u{a0}%")
    }
}

/// What was fixed, and when.
pub fn plan(course: &Course, plan: &Plan) -> String {
    fill(
        "course.plan",
        &[
            ("value", &value_name(plan.value)),
            ("size", &size(plan.size, plan.value)),
            ("baseline", &plan.baseline),
            ("fixed", &day_in_words(course.at)),
        ],
    )
}

/// Who is in, and what became of them: every kind that there is, in the order of a table.
pub fn standings(many: &Many) -> Vec<(&'static str, usize)> {
    let g = &many.group;
    let all = [
        (text("course.n_assessed"), g.assessed),
        (text("course.n_running"), g.running),
        (text("course.n_dropped_out"), g.dropped_out),
        (text("course.n_not_measured"), g.not_measured.saturating_sub(many.withdrawn())),
        (text("course.n_withdrawn"), many.withdrawn()),
        (text("course.n_left_out"), g.left_out.len()),
        (text("course.n_erased"), many.course.erased as usize),
    ];
    // Nobody still running, withdrawn or erased need not be said; who dropped out or is left out always is.
    let always = [text("course.n_assessed"), text("course.n_dropped_out"), text("course.n_left_out")];
    all.into_iter().filter(|(words, n)| *n > 0 || always.contains(words)).collect()
}

/// Sessions done of those asked for.
pub fn sessions(many: &Many) -> String {
    match many.group.adherence {
        Some(share) => fill(
            "course.sessions",
            &[("done", &many.group.done), ("asked", &many.group.asked), ("share", &percent(share))],
        ),
        None => text("course.no_sessions").to_owned(),
    }
}

/// The mean change, where one more person would lie, and the shares; or why there is nothing to say yet.
pub fn change(many: &Many, plan: &Plan) -> Vec<String> {
    let (g, value) = (&many.group, plan.value);
    if !many.over() {
        let day = date_in_words(many.body.date(many.body.end()));
        return vec![fill("course.not_yet", &[("day", &day)])];
    }
    let Some(mean) = &g.mean else {
        return vec![fill("course.too_few", &[("n", &g.assessed)])];
    };
    let clear = mean.low > 0.0 || mean.high < 0.0;
    let said: [(&str, &dyn std::fmt::Display); 4] = [
        ("value", &value_name(value)),
        ("n", &g.assessed),
        ("by", &amount(mean.estimate, value)),
        ("interval", &interval(mean, value)),
    ];
    let mut all = match many.written_late() {
        // What was chosen with the numbers in sight has numbers, and no verdict.
        Some(day) => vec![fill("course.mean_late", &said), fill("course.written_late", &[("day", &day)])],
        None => vec![fill(if clear { "course.mean_clear" } else { "course.mean_unclear" }, &said)],
    };
    let late = many.late_assessed();
    if late > 0 {
        all.push(fill("course.late_assessed", &[("people", &people(late))]));
    }
    if let Some(next) = &g.next {
        all.push(fill("course.next", &[("interval", &interval(next, value))]));
    }
    if let Some([down, up]) = &g.clear_share {
        all.push(fill(
            "course.clear_shares",
            &[
                ("down", &g.clear[0]),
                ("down_share", &percent(down.share)),
                ("down_low", &percent(down.low)),
                ("down_high", &percent(down.high)),
                ("up", &g.clear[1]),
                ("up_share", &percent(up.share)),
                ("up_low", &percent(up.low)),
                ("up_high", &percent(up.high)),
            ],
        ));
    }
    all
}

/// One level's numbers: baseline, and once the course has come to its look also now and difference.
pub fn felt(of: &Felt) -> Vec<String> {
    let said = |c: &Change| format!("{} ({})", amount(c.estimate, of.value), interval(c, of.value));
    std::iter::once(&of.baseline).chain(of.later.iter().flatten()).map(said).collect()
}

/// How it stands with one member, in words.
pub fn stands(line: &Line, value: &Value) -> String {
    if line.stands_withdrawn() {
        return text("course.withdrawn").to_owned();
    }
    match &line.member.standing {
        Standing::Assessed { change, verdict, .. } => {
            let key = match verdict {
                Verdict::ClearChange if change.estimate < 0.0 => "course.clear_down",
                Verdict::ClearChange => "course.clear_up",
                Verdict::WithinNoise => "course.within_noise",
                Verdict::TooEarly(TooEarly::Unsure | TooEarly::BeforeLook(_) | TooEarly::NoVisitNow(_)) => {
                    "course.unsure"
                }
            };
            fill(key, &[("by", &amount(change.estimate, value)), ("interval", &interval(change, value))])
        }
        Standing::Running => text("course.running").to_owned(),
        Standing::DroppedOut => match line.last {
            Some(day) => fill("course.dropped_out_after", &[("day", &day)]),
            None => text("course.never_heard").to_owned(),
        },
        Standing::NotMeasured => text("course.not_measured").to_owned(),
        Standing::LeftOut(reason) => fill("course.out", &[("reason", &reason.words())]),
    }
}
