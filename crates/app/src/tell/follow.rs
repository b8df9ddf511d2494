//! `follow` in plain text: the sentence first, then a small table, then the noise and what else there is.

use std::fmt::Write;

use follow::{Dose, TooEarly, Verdict};

use crate::catalogue::fill;
use crate::catalogue::text;
use crate::commands::follow::Told;
use crate::following::words;
use crate::series::words::note;

pub fn plain(told: &Told) -> String {
    let (plan, said, first) = (told.plan(), &told.said, Some(told.series.first));
    let mut out = words::sentence_from(said, plan, first);
    out.push_str("\n\n");
    table(&mut out, told);
    let mut more: Vec<String> = Vec::new();
    more.extend(words::noise(said, plan));
    more.extend(words::earlier(said, plan, first));
    more.extend(told.sides.as_ref().map(|s| words::sides(s, plan.value)));
    // Before the look nothing is said of how it runs: whoever reads it may stop, or go on, because of it.
    if matches!(said.verdict, Some(Verdict::TooEarly(TooEarly::BeforeLook(_)))) {
        more.push(words::dose(&Dose { association: None, ..told.dose }));
    } else {
        more.extend(said.trend.as_ref().map(|t| words::trend(t, plan.value)));
        more.push(words::dose(&told.dose));
        more.extend(words::odd(&told.odd_days(), first));
    }
    if said.change.is_some() {
        more.push(format!("{} {}", words::cause(), words::regression()));
    }
    more.extend(told.series.notes.iter().map(note));
    for line in more {
        let _ = writeln!(out, "{line}");
    }
    out
}

/// What was compared: where there is a change, levels of the fitted line, so that the one less the other is the change.
fn table(out: &mut String, told: &Told) {
    let (plan, said) = (told.plan(), &told.said);
    let value = plan.value;
    let look = said.look.map_or_else(|| plan.end(), |l| l.day);
    let [before, now] = told.counts(look);
    let fit = said.fit.filter(|_| said.change.is_some());
    let levels = fit.map(|f| [f.base, f.base + f.change].map(|n| words::amount(n, value)));
    let level = |k: usize| levels.as_ref().map_or("\u{2013}", |l| l[k].as_str());
    let on = words::day(look, Some(told.series.first));
    let rows = [
        (text("followcmd.row_before").to_owned(), before, level(0)),
        (fill("followcmd.row_now", &[("day", &on)]), now, level(1)),
    ];
    let wide = rows.iter().map(|(name, ..)| name.chars().count()).max().unwrap_or(0) + 2;
    let _ = writeln!(
        out,
        "{:<wide$}{:>8}{:>14}{:>16}",
        words::value_name(value),
        text("followcmd.head_visits"),
        text("followcmd.head_photographs"),
        text("followcmd.head_level")
    );
    for (name, (visits, photographs), level) in rows {
        let photographs = if value.said { String::from("\u{2013}") } else { photographs.to_string() };
        let _ = writeln!(out, "{name:<wide$}{visits:>8}{photographs:>14}{level:>16}");
    }
    if let Some(change) = &said.change {
        let by = words::amount(change.estimate, value);
        let _ =
            writeln!(out, "{:<wide$}{:>38}  ({})", text("followcmd.row_change"), by, words::interval(change, value));
    }
    out.push('\n');
}
