//! A plan as a file: what was decided before the weeks began. The form is in docs/series.md.

use follow::{Eye, Looks, Plan, Prior, Value};
use vocab::read::{Document, Table};
use vocab::{Date, Finding, Side};

/// A plan with what only a file says.
#[derive(Clone, Debug, PartialEq)]
pub struct SeriesPlan {
    /// What was decided.
    pub plan: Plan,
    /// The first worked day, where the plan names it.
    pub first: Option<Date>,
    /// The side that is worked, where the plan compares sides.
    pub side: Option<Side>,
    /// The prior of the noise.
    pub prior: Prior,
    /// Days a week with a session, where the plan asks for a number.
    pub days_a_week: Option<u8>,
}

impl SeriesPlan {
    /// What holds without a plan: one look at the end of the series, a change of the value's usual size.
    pub fn none() -> SeriesPlan {
        let value = Value::usual();
        SeriesPlan { plan: Plan::usual(value), first: None, side: None, prior: Prior::stated(value), days_a_week: None }
    }

    /// Reads a plan; `name` is what the file is called in errors.
    ///
    /// # Errors
    /// Everything that is wrong with it, by line.
    pub fn read(name: &str, text: &str) -> Result<SeriesPlan, Vec<Finding>> {
        let document = Document::parse(name, text)?;
        let root = document.root();
        let read = of(&root);
        root.finish();
        let findings = document.into_findings();
        if findings.is_empty() { Ok(read) } else { Err(findings) }
    }
}

fn of(root: &Table<'_, '_>) -> SeriesPlan {
    let names: Vec<(&str, &'static Value)> = follow::VALUES.iter().map(|v| (v.name, v)).collect();
    let value = if root.has("value") { root.choice("value", &names) } else { Some(Value::usual()) };
    let value = value.unwrap_or(Value::usual());
    let usual = Plan::usual(value);
    let small = |key, bounds: std::ops::RangeInclusive<i64>, or: u8| {
        root.int(key, bounds).and_then(|n| u8::try_from(n).ok()).unwrap_or(or)
    };
    // Larger than the whole range nothing can change; a thousandth of the usual size is nothing to look for.
    let sizes = usual.size / 1000.0..=value.range[1] - value.range[0];
    let tones: Vec<(&str, usize)> = colour::Tone::ALL.iter().enumerate().map(|(k, t)| (t.name(), k)).collect();
    let tone = root.choice("tone", &tones);
    let scatter = |key, or: f64| root.number(key, or / 1000.0..=or * 1000.0);
    let (between, within) = (scatter("between_sd", value.between), scatter("within_sd", value.within));
    let stated = Prior::stated(value);
    let prior = match (between, within) {
        (None, None) => stated,
        _ => Prior::given(between.unwrap_or(stated.sd), within.unwrap_or(stated.within)),
    };
    let plan = Plan {
        days: root.int("days", 7..=366).and_then(|n| u16::try_from(n).ok()).unwrap_or(usual.days),
        looks: if root.int("looks", 1..=2) == Some(2) { Looks::Two } else { Looks::One },
        size: root.number("size", sizes).unwrap_or(usual.size),
        baseline: small("baseline", 0..=100, usual.baseline),
        every: small("every", 1..=60, usual.every),
        photographs: small("photographs", 1..=20, usual.photographs),
        eye: tone.map_or(usual.eye, Eye::of_class),
        measure_later: root.flag("measure_later").unwrap_or(false),
        ..usual
    };
    SeriesPlan {
        plan,
        first: root.date("first"),
        side: root.choice("side", &[("left", Side::Left), ("right", Side::Right)]),
        prior,
        days_a_week: root.int("days_a_week", 1..=7).and_then(|n| u8::try_from(n).ok()),
    }
}
