//! What an assessment says, in sentences with their numbers; in the language of now.
//!
//! A change is told as a change: no sentence says that anything got better, or why it changed. [`cause`] and [`regression`] belong
//! once on every page that shows a verdict.

use follow::{Assessment, Change, Dose, NoVerdict, Plan, PriorSource, Sides, TooEarly, Trend, Value, Verdict};
use vocab::Date;

use crate::catalogue::{fill, listed, text};
use crate::desk::keep::date_in_words;
use crate::language::{self, Language};

/// What a value is called, within a sentence.
pub fn value_name(value: &Value) -> &'static str {
    text(keys(value)[0])
}

/// Its name, and how a change downward and upward is told.
fn keys(value: &Value) -> [&'static str; 3] {
    match value.name {
        "dE00" => ["follow.de00", "follow.de00_down", "follow.de00_up"],
        "dL" => ["follow.dl", "follow.dl_down", "follow.dl_up"],
        "brown" => ["follow.brown", "follow.brown_down", "follow.brown_up"],
        "blue_red" => ["follow.blue_red", "follow.blue_red_down", "follow.blue_red_up"],
        "relief" => ["follow.relief", "follow.relief_down", "follow.relief_up"],
        "redness" => ["follow.redness", "follow.redness_down", "follow.redness_up"],
        "yellowness" => ["follow.yellowness", "follow.yellowness_down", "follow.yellowness_up"],
        "lid_opening" => ["follow.lid_opening", "follow.lid_opening_down", "follow.lid_opening_up"],
        "brow" => ["follow.brow", "follow.brow_down", "follow.brow_up"],
        "mouth_corner" => ["follow.mouth_corner", "follow.mouth_corner_down", "follow.mouth_corner_up"],
        "relaxed" => ["follow.relaxed", "follow.relaxed_down", "follow.relaxed_up"],
        "stress" => ["follow.stress", "follow.stress_down", "follow.stress_up"],
        "wellbeing" => ["follow.wellbeing", "follow.wellbeing_down", "follow.wellbeing_up"],
        _ => ["follow.sleep", "follow.sleep_down", "follow.sleep_up"],
    }
}

/// The unit as people read it.
pub fn unit(value: &Value) -> &'static str {
    match value.unit {
        "points" => text("follow.unit_points"),
        "density" => text("follow.unit_density"),
        other => other,
    }
}

/// So many decimals are worth telling.
fn decimals(value: &Value) -> usize {
    if value.unit == "density" { 3 } else { 1 }
}

/// A number of this value, without its unit.
pub fn number(n: f64, value: &Value) -> String {
    written(n, decimals(value))
}

/// A number of this value with its unit.
pub fn amount(n: f64, value: &Value) -> String {
    with_unit(&number(n, value), value)
}

fn with_unit(n: &str, value: &Value) -> String {
    format!("{n}\u{a0}{}", unit(value))
}

/// A size that somebody chose: as they wrote it, "2" or "1.5".
pub fn size(n: f64, value: &Value) -> String {
    let long = written(n, decimals(value) + 1);
    let short = long.trim_end_matches('0').trim_end_matches(['.', ',']);
    with_unit(short, value)
}

/// With a minus sign that is one, and the decimal mark of the language. Never "-0".
fn written(n: f64, decimals: usize) -> String {
    let plain = format!("{:.*}", decimals, n.abs());
    let zero = plain.bytes().all(|b| b == b'0' || b == b'.');
    let signed = if n < 0.0 && !zero { format!("\u{2212}{plain}") } else { plain };
    if language::now() == Language::German { signed.replace('.', ",") } else { signed }
}

/// An interval is written so finely that an end which is not zero does not read as zero.
fn fine(ends: [f64; 2], value: &Value) -> usize {
    let least = decimals(value);
    let hidden = |d: usize| ends.iter().any(|e| *e != 0.0 && e.abs() < 0.5 * 0.1_f64.powi(d as i32));
    (least..least + 2).find(|d| !hidden(*d)).unwrap_or(least + 2)
}

/// "95 % interval 1.2 to 3.0".
pub fn interval(change: &Change, value: &Value) -> String {
    between(change.low, change.high, change.level, value)
}

fn between(low: f64, high: f64, level: f64, value: &Value) -> String {
    let fine = fine([low, high], value);
    let hundred = 100.0 * level;
    let level = written(hundred, usize::from((hundred - hundred.round()).abs() > 0.04));
    fill("follow.interval", &[("level", &level), ("low", &written(low, fine)), ("high", &written(high, fine))])
}

/// A day of the plan, with its date where it is known on which day the plan began.
pub fn day(n: i32, first: Option<Date>) -> String {
    match first.and_then(|f| f.plus(i64::from(n) - 1)) {
        Some(date) => fill("follow.day_on", &[("n", &written(f64::from(n), 0)), ("date", &date_in_words(date))]),
        None => fill("follow.day", &[("n", &written(f64::from(n), 0))]),
    }
}

/// A small number as a word, from two on.
fn count(n: usize) -> String {
    const WORDS: [&str; 11] = [
        "follow.n2",
        "follow.n3",
        "follow.n4",
        "follow.n5",
        "follow.n6",
        "follow.n7",
        "follow.n8",
        "follow.n9",
        "follow.n10",
        "follow.n11",
        "follow.n12",
    ];
    n.checked_sub(2).and_then(|at| WORDS.get(at)).map_or_else(|| n.to_string(), |key| text(key).to_owned())
}

/// The verdict with its numbers, or why there is none; a clear change of colour also says whether an eye would see it.
pub fn sentence(said: &Assessment, plan: &Plan) -> String {
    sentence_from(said, plan, None)
}

/// As [`sentence`], with dates: `first` is the first worked day.
pub fn sentence_from(said: &Assessment, plan: &Plan, first: Option<Date>) -> String {
    if let Some(why) = said.no_verdict {
        return no_verdict(why);
    }
    let value = plan.value;
    match (said.verdict, said.change.as_ref()) {
        (Some(Verdict::ClearChange), Some(change)) => {
            let one = clear(change, value);
            visible(said, plan).map_or_else(|| one.clone(), |seen| format!("{one} {seen}"))
        }
        (Some(Verdict::WithinNoise), Some(change)) => fill(
            "follow.noise",
            &[
                ("by", &amount(change.estimate, value)),
                ("interval", &interval(change, value)),
                ("size", &size(plan.size, value)),
                ("found", &found(said.power.unwrap_or(0.0))),
            ],
        ),
        (Some(Verdict::TooEarly(TooEarly::BeforeLook(on))), _) => {
            fill("follow.before_look", &[("day", &day(on, first))])
        }
        (Some(Verdict::TooEarly(TooEarly::Unsure)), Some(change)) => fill(
            "follow.early",
            &[
                ("by", &amount(change.estimate, value)),
                ("interval", &interval(change, value)),
                ("settle", &settle(said.visits_to_settle)),
            ],
        ),
        (Some(Verdict::TooEarly(TooEarly::NoVisitNow(on))), _) => {
            fill("follow.not_now", &[("day", &day(on, first)), ("settle", &settle(said.visits_to_settle))])
        }
        // `assess` gives each of the others its change, and a reason where it gives no verdict.
        _ => no_verdict(NoVerdict::NotBegun),
    }
}

/// "... came closer to the colour of the cheek by 2.1 dE00 (95 % interval 1.2 to 3.0)": the direction in words, sizes without sign.
fn clear(change: &Change, value: &Value) -> String {
    let [_, down, up] = keys(value);
    let (key, low, high) =
        if change.estimate < 0.0 { (down, -change.high, -change.low) } else { (up, change.low, change.high) };
    let moved = fill(key, &[("by", &amount(change.estimate.abs(), value))]);
    fill("follow.clear", &[("moved", &moved), ("interval", &between(low, high, change.level, value))])
}

fn found(power: f64) -> String {
    let hundred = (100.0 * power).round();
    if hundred > 99.0 {
        return text("follow.nearly_all").to_owned();
    }
    fill("follow.of_hundred", &[("n", &written(hundred, 0))])
}

/// What would settle it.
pub fn settle(visits: Option<u32>) -> String {
    match visits {
        None => text("follow.never").to_owned(),
        Some(1) => text("follow.one_more").to_owned(),
        Some(n) => fill("follow.more", &[("n", &count(n as usize))]),
    }
}

/// Why there is no verdict.
pub fn no_verdict(why: NoVerdict) -> String {
    match why {
        NoVerdict::FewBaseline(0) => text("follow.no_baseline").to_owned(),
        NoVerdict::FewBaseline(1) => text("follow.one_baseline").to_owned(),
        NoVerdict::FewBaseline(n) => fill("follow.few_baseline", &[("n", &count(n))]),
        NoVerdict::MeasureLater => text("follow.measure_later").to_owned(),
        NoVerdict::NotBegun => text("follow.not_begun").to_owned(),
    }
}

/// Of a clear change of colour, whether an eye would see it; of anything else nothing.
pub fn visible(said: &Assessment, plan: &Plan) -> Option<&'static str> {
    if said.verdict != Some(Verdict::ClearChange) || !plan.value.colour {
        return None;
    }
    Some(match said.visible {
        Some(true) => text("follow.seen"),
        Some(false) => text("follow.hardly_seen"),
        None => text("follow.may_be_seen"),
    })
}

/// What an earlier look of the same plan said.
pub fn earlier(said: &Assessment, plan: &Plan, first: Option<Date>) -> Option<String> {
    let (look, change) = said.earlier.as_ref()?;
    let (by, interval) = (amount(change.estimate, plan.value), interval(change, plan.value));
    Some(fill("follow.earlier", &[("day", &day(look.day, first)), ("by", &by), ("interval", &interval)]))
}

/// The baseline and the size of the noise; none without a baseline visit.
pub fn noise(said: &Assessment, plan: &Plan) -> Option<String> {
    let b = said.baseline.as_ref()?;
    let days = match b.n {
        1 => text("follow.baseline_day").to_owned(),
        n => fill("follow.baseline_days", &[("n", &count(n))]),
    };
    let base = fill("follow.baseline", &[("mean", &amount(b.mean, plan.value)), ("days", &days)]);
    let sem = fill("follow.sem", &[("sem", &amount(b.sem, plan.value)), ("mdc", &amount(b.mdc95, plan.value))]);
    let source = match b.source {
        PriorSource::Stated => text("follow.stated").to_owned(),
        PriorSource::Practice(n) => fill("follow.practice", &[("n", &n)]),
        PriorSource::Given => text("follow.given").to_owned(),
    };
    Some(format!("{base} {sem} {source}"))
}

/// The run of the worked days.
pub fn trend(trend: &Trend, value: &Value) -> String {
    // A day's share of a change is small.
    let fine = decimals(value) + 2;
    fill(
        "follow.trend",
        &[
            ("slope", &with_unit(&written(trend.slope, fine), value)),
            ("low", &written(trend.low, fine)),
            ("high", &written(trend.high, fine)),
        ],
    )
}

/// The worked side against the other one.
pub fn sides(sides: &Sides, value: &Value) -> String {
    let d = &sides.difference;
    let apart = d.low > 0.0 || d.high < 0.0;
    let by = fill("follow.sides", &[("by", &amount(d.estimate, value)), ("interval", &interval(d, value))]);
    format!("{by} {}", text(if apart { "follow.sides_apart" } else { "follow.sides_alike" }))
}

/// Sessions done of those asked for, and what they go with.
pub fn dose(dose: &Dose) -> String {
    let done = match (dose.done, dose.asked) {
        (done, Some(asked)) => fill("follow.dose", &[("done", &done), ("asked", &asked)]),
        (1, None) => text("follow.dose_one").to_owned(),
        (done, None) => fill("follow.dose_only", &[("done", &done)]),
    };
    let Some(with) = dose.association else { return done };
    let tau = written(with.tau, 2);
    // Below a tenth it goes neither way; our own choice.
    let key = match with.tau {
        t if t >= 0.1 => "follow.goes_up",
        t if t <= -0.1 => "follow.goes_down",
        _ => "follow.goes_not",
    };
    format!("{done} {}", fill(key, &[("visits", &with.visits), ("tau", &tau)]))
}

/// Visits that lie far from the others, by their days; none where there are none.
pub fn odd(days: &[i32], first: Option<Date>) -> Option<String> {
    let named: Vec<String> = days.iter().map(|d| day(*d, first)).collect();
    match named.len() {
        0 => None,
        1 => Some(fill("follow.one_odd", &[("days", &named[0])])),
        _ => Some(fill("follow.odd", &[("days", &listed(&named))])),
    }
}

/// That a change says nothing about its cause: once on every page with a verdict.
pub fn cause() -> &'static str {
    text("follow.cause")
}

/// That what begins at its worst comes back by itself: once on every page with a verdict.
pub fn regression() -> &'static str {
    text("follow.regression")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::in_language;
    use follow::{Look, Prior, Visit, assess};

    fn visits(baseline: &[f64], worked: &[f64]) -> Vec<Visit> {
        let before = baseline.iter().enumerate().map(|(i, v)| (3 * (i as i32 + 1 - baseline.len() as i32), v));
        let after = worked.iter().enumerate().map(|(i, v)| (1 + 3 * i as i32, v));
        before.chain(after).filter_map(|(day, v)| Visit::of(day, &[v - 0.1, v + 0.1])).collect()
    }

    const BEFORE: [f64; 5] = [6.1, 5.8, 6.4, 6.0, 6.2];
    const SAME: [f64; 10] = [6.0, 6.3, 5.9, 6.1, 6.2, 5.8, 6.0, 6.3, 6.1, 5.9];

    fn said(baseline: &[f64], worked: &[f64], plan: &Plan, today: i32) -> (Assessment, String) {
        let a = assess(plan, &Prior::stated(plan.value), &visits(baseline, worked), today);
        let words = sentence_from(&a, plan, Date::parse("2026-02-13"));
        (a, words)
    }

    /// The sentences of the verdicts, each from a series that has it; the numbers are those of the assessment.
    #[test]
    fn each_verdict_is_one_plain_sentence_with_its_numbers() {
        let plan = Plan::usual(Value::usual());
        let lower: Vec<f64> = SAME.iter().map(|v| v - 3.0).collect();
        let higher: Vec<f64> = SAME.iter().map(|v| v + 3.0).collect();
        let (a, words) = said(&BEFORE, &lower, &plan, 28);
        let change = a.change.expect("a change");
        let by = format!("{:.1}", -change.estimate);
        let (low, high) = (format!("{:.1}", -change.high), format!("{:.1}", -change.low));
        assert_eq!(
            words,
            format!(
                "The skin under the eyes came closer to the colour of the cheek by {by}\u{a0}dE00 (95 % interval {low} to {high}). {}",
                visible(&a, &plan).expect("a colour")
            )
        );
        let (_, words) = said(&BEFORE, &higher, &plan, 28);
        assert!(words.starts_with("The skin under the eyes moved away from the colour of the cheek by "), "{words}");
        let (a, words) = said(&BEFORE, &SAME, &plan, 28);
        assert_eq!(a.verdict, Some(Verdict::WithinNoise));
        assert!(words.starts_with("Nothing has changed beyond the noise: the change is estimated at "), "{words}");
        let tail =
            format!("and a change of 2\u{a0}dE00 would have been found in {}.", found(a.power.expect("a power")));
        assert!(words.ends_with(&tail), "{words}");
        let (_, words) = said(&BEFORE, &SAME[..3], &plan, 8);
        assert_eq!(words, "The plan looks on day 28 (12 March 2026); until then there is no verdict.");
        let (_, words) = said(&BEFORE[..2], &SAME, &plan, 28);
        assert_eq!(
            words,
            "There is no verdict: only two days before the first session were measured, and three at least are needed."
        );
        let (_, words) = said(&BEFORE, &SAME[..3], &plan, 28);
        assert!(
            words.starts_with(
                "It is too early to say: there is no visit in the seven days up to day 28 (12 March 2026); "
            ),
            "{words}"
        );
        assert!(words.ends_with(" would tell."), "{words}");
        let later = Plan { measure_later: true, ..plan };
        assert_eq!(said(&BEFORE, &SAME, &later, 28).1, text("follow.measure_later"));
    }

    #[test]
    fn too_early_says_what_would_settle_it() {
        let plan = Plan::usual(Value::usual());
        let (mut a, _) = said(&BEFORE, &SAME, &plan, 28);
        a.verdict = Some(Verdict::TooEarly(TooEarly::Unsure));
        for (visits, tail) in [
            (Some(1), "; one more visit would tell."),
            (Some(4), "; four more visits would tell."),
            (Some(13), "; 13 more visits would tell."),
            (None, "; no number of further visits would tell: the days before the first session were too few."),
        ] {
            a.visits_to_settle = visits;
            assert!(sentence(&a, &plan).ends_with(tail), "{visits:?}");
        }
    }

    #[test]
    fn an_eye_is_spoken_of_only_where_a_colour_clearly_changed() {
        let plan = Plan::usual(Value::usual());
        let (mut a, _) = said(&BEFORE, &SAME, &plan, 28);
        assert_eq!(visible(&a, &plan), None);
        a.verdict = Some(Verdict::ClearChange);
        for (visible_, words) in [
            (Some(true), "An eye would see it."),
            (Some(false), "An eye would hardly see it."),
            (None, "An eye may see it or may not: that depends on the skin, sooner on light skin than on dark."),
        ] {
            a.visible = visible_;
            assert_eq!(visible(&a, &plan), Some(words));
        }
        let sleep = Plan::usual(Value::named("sleep").expect("sleep"));
        assert_eq!(visible(&a, &sleep), None);
    }

    #[test]
    fn numbers_are_written_as_people_read_them() {
        let of = |name: &str| Value::named(name).expect("a value");
        assert_eq!(number(-0.04, of("dE00")), "0.0");
        assert_eq!(number(-2.16, of("dE00")), "\u{2212}2.2");
        assert_eq!(amount(0.0213, of("brown")), "0.021\u{a0}in density");
        assert_eq!(amount(1.25, of("brow")), "1.2\u{a0}mm");
        assert_eq!(size(2.0, of("dE00")), "2\u{a0}dE00");
        assert_eq!(size(1.5, of("sleep")), "1.5\u{a0}points of ten");
        assert_eq!(size(10.0, of("sleep")), "10\u{a0}points of ten");
        // An end that is not zero does not read as zero.
        assert_eq!(between(0.04, 1.5, 0.955, of("dE00")), "95.5 % interval 0.04 to 1.50");
        assert_eq!(between(-1.2, 0.0, 0.95, of("dE00")), "95 % interval \u{2212}1.2 to 0.0");
        let german = in_language(Language::German, || (size(1.5, of("dE00")), number(-2.16, of("dL"))));
        assert_eq!(german, ("1,5\u{a0}dE00".to_owned(), "\u{2212}2,2".to_owned()));
    }

    /// Every value and every part of what is said, in both languages: no key missing, no place empty, nothing that claims.
    #[test]
    fn every_value_has_its_sentences_in_both_languages() {
        for language in Language::ALL {
            in_language(language, || {
                for value in &follow::VALUES {
                    let plan = Plan { looks: follow::Looks::Two, ..Plan::usual(value) };
                    let (step, base) = (2.0 * value.size, 6.0);
                    let shifted = |by: f64| SAME.map(|v| base + (v - 6.0) * value.between + by);
                    let before = BEFORE.map(|v| base + (v - 6.0) * value.between);
                    for by in [-step, 0.0, step] {
                        let a = assess(&plan, &Prior::stated(value), &visits(&before, &shifted(by)), 28);
                        let look = Look { day: 14, alpha: 0.005 };
                        let mut words = vec![sentence(&a, &plan), value_name(value).to_owned()];
                        words.extend(noise(&a, &plan));
                        let change = a.change.expect("a change");
                        let earlier_one = Assessment { earlier: Some((look, change)), ..a.clone() };
                        words.extend(earlier(&earlier_one, &plan, None));
                        words.push(sides(&Sides { difference: change }, value));
                        words.push(trend(&Trend { slope: -0.04, low: -0.09, high: 0.01 }, value));
                        words.extend(odd(&[-3, 4], None));
                        for tau in [-0.4, 0.0, 0.4] {
                            let association = Some(follow::Association { tau, visits: 9 });
                            words.push(dose(&Dose { done: 18, asked: Some(24), association }));
                        }
                        for words in words {
                            assert!(!words.contains(['{', '}']) && !words.contains("follow."), "{words}");
                            assert!(!words.contains(" -") && !words.contains("\u{2212}0.0 "), "{words}");
                        }
                    }
                }
            });
        }
    }
}
