//! The plan of weeks as it is kept, and read back.
//!
//! `{"times":"21:30","days_a_week":7,"plan":{"value":"dE00","others":["sleep"],"size":2.0,"baseline":5,"every":3,"photographs":2,
//! "looks":1,"side":null,"measure_later":false,"noise":{"dE00":{"sd":0.52,"clients":12}}}}`. Without `plan` it is a schedule: shown,
//! described, and without a verdict. `noise` is what the practice knew of the noise when the plan was kept: a verdict that was told
//! does not move because others have come since.

use colour::Tone;
use follow::{Eye, Looks, Plan, Prior, PriorSource, Value};
use serde_json::{Value as Json, json};
use vocab::{Date, Side};

/// How far before the first worked day a visit still is a baseline visit, in days, where the plan itself asks for no longer one.
const BASELINE_REACH: i32 = 28;

/// What was fixed beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Fixed {
    /// The primary value; it is locked.
    pub value: &'static Value,
    /// Values that are looked at beside it.
    pub others: Vec<&'static Value>,
    /// The size of the change that matters, in the primary value's unit.
    pub size: f64,
    /// Baseline days asked for.
    pub baseline: u8,
    /// A visit each so many days.
    pub every: u8,
    /// Photographs a visit.
    pub photographs: u8,
    /// How often the plan looks.
    pub looks: Looks,
    /// The one side that is worked, of a plan that wants to know.
    pub side: Option<Side>,
    /// Work now, measure later.
    pub measure_later: bool,
    /// What the practice knew of the noise when the plan was kept: standard deviation, and of how many clients. What is not in it is stated.
    pub noise: Vec<(&'static Value, f64, usize)>,
}

impl Fixed {
    /// Notes what the practice knows of the noise of a value; a stated prior needs no note.
    pub fn note(&mut self, value: &'static Value, prior: &Prior) {
        if let PriorSource::Practice(clients) = prior.source {
            self.noise.push((value, prior.sd, clients));
        }
    }
}

/// A plan of weeks, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// The first worked day: day 1.
    pub first: Date,
    /// How many days.
    pub days: u16,
    /// When in the day, in words.
    pub times: String,
    /// Sessions on so many days a week, 1 to 7.
    pub days_a_week: u8,
    /// What was fixed; none: a schedule alone.
    pub fixed: Option<Fixed>,
}

impl Body {
    /// Of a plan as the cabinet keeps it.
    pub fn read(weeks: &cabinet::Weeks) -> Body {
        Body::parse(weeks.first, weeks.days, weeks.body.as_str())
    }

    /// Of its parts. What can't be read of the plan is no plan: then there is a schedule alone.
    pub fn parse(first: Date, days: u16, body: &str) -> Body {
        let json: Json = serde_json::from_str(body).unwrap_or_default();
        Body {
            first,
            days,
            times: json["times"].as_str().unwrap_or_default().to_owned(),
            days_a_week: small(&json["days_a_week"]).filter(|n| (1..=7).contains(n)).unwrap_or(7),
            fixed: fixed(&json["plan"]),
        }
    }

    /// As it is kept.
    pub fn json(&self) -> String {
        let mut body = json!({ "times": self.times, "days_a_week": self.days_a_week });
        if let Some(f) = &self.fixed {
            body["plan"] = json!({
                "value": f.value.name,
                "others": f.others.iter().map(|v| v.name).collect::<Vec<_>>(),
                "size": f.size,
                "baseline": f.baseline,
                "every": f.every,
                "photographs": f.photographs,
                "looks": if f.looks == Looks::Two { 2 } else { 1 },
                "side": f.side.map(Side::word),
                "measure_later": f.measure_later,
            });
            if !f.noise.is_empty() {
                let one = |(v, sd, clients): &(&Value, f64, usize)| (v.name.to_owned(), json!({ "sd": sd, "clients": clients }));
                body["plan"]["noise"] = f.noise.iter().map(one).collect::<serde_json::Map<_, _>>().into();
            }
        }
        body.to_string()
    }

    /// What is taken of the noise of a value: as it was known when the plan was kept.
    pub fn prior(&self, value: &'static Value) -> Prior {
        let noted = self.fixed.as_ref().and_then(|f| f.noise.iter().find(|n| n.0.name == value.name));
        noted.map_or_else(|| Prior::stated(value), |(_, sd, clients)| Prior::practice(value, *sd, *clients))
    }

    /// The plan of its primary value; `tone`: the client's own, for what an eye sees.
    pub fn plan(&self, tone: Option<Tone>) -> Option<Plan> {
        let f = self.fixed.as_ref()?;
        Some(Plan { size: f.size, ..self.plan_of(f, f.value, tone) })
    }

    /// The same plan for another value, with the size that matters of that value.
    pub fn plan_for(&self, value: &'static Value, tone: Option<Tone>) -> Option<Plan> {
        Some(self.plan_of(self.fixed.as_ref()?, value, tone))
    }

    fn plan_of(&self, f: &Fixed, value: &'static Value, tone: Option<Tone>) -> Plan {
        let class = tone.and_then(|t| Tone::ALL.iter().position(|known| *known == t));
        Plan {
            value,
            days: self.days,
            looks: f.looks,
            size: value.size,
            baseline: f.baseline,
            every: f.every,
            photographs: f.photographs,
            eye: class.map_or(Eye::UNKNOWN, Eye::of_class),
            measure_later: f.measure_later,
        }
    }

    /// The number of a date: 1 is the first worked day.
    pub fn number(&self, day: Date) -> i32 {
        i32::try_from(day.days_since(self.first) + 1).unwrap_or(i32::MAX)
    }

    /// The date of a number.
    pub fn date(&self, number: i32) -> Date {
        self.first.plus(i64::from(number) - 1).unwrap_or(self.first)
    }

    /// The last day's number.
    pub fn end(&self) -> i32 {
        i32::from(self.days)
    }

    /// The first day whose visits and notes count for the baseline: far enough for what the plan asks, four weeks at least.
    pub fn earliest(&self) -> i32 {
        let asked = self.fixed.as_ref().map_or(0, |f| i32::from(f.baseline) * i32::from(f.every));
        1 - asked.max(BASELINE_REACH)
    }

    /// The first day on which the plan asks for anything: its first baseline day.
    pub fn begins(&self) -> i32 {
        let first = self.plan(None).and_then(|p| p.visit_days().first().copied());
        first.unwrap_or(1).min(1)
    }

    /// Sessions asked for up to a day of the weeks.
    pub fn asked_until(&self, day: i32) -> u32 {
        let days = day.clamp(0, self.end()).unsigned_abs();
        (days * u32::from(self.days_a_week)).div_ceil(7)
    }
}

fn small(json: &Json) -> Option<u8> {
    json.as_u64().and_then(|n| u8::try_from(n).ok())
}

fn noise((name, said): (&String, &Json)) -> Option<(&'static Value, f64, usize)> {
    let sd = said["sd"].as_f64().filter(|s| s.is_finite() && *s > 0.0)?;
    Some((Value::named(name)?, sd, usize::try_from(said["clients"].as_u64()?).ok()?))
}

fn fixed(json: &Json) -> Option<Fixed> {
    let value = Value::named(json["value"].as_str()?)?;
    let others = json["others"].as_array().into_iter().flatten().filter_map(|v| Value::named(v.as_str()?));
    let others: Vec<&'static Value> = others.filter(|v| v.name != value.name).collect();
    Some(Fixed {
        value,
        others,
        size: json["size"].as_f64().filter(|s| s.is_finite() && *s > 0.0).unwrap_or(value.size),
        baseline: small(&json["baseline"]).unwrap_or(5),
        every: small(&json["every"]).filter(|n| *n > 0).unwrap_or(3),
        photographs: small(&json["photographs"]).filter(|n| *n > 0).unwrap_or(2),
        looks: if json["looks"].as_u64() == Some(2) { Looks::Two } else { Looks::One },
        side: json["side"].as_str().and_then(Side::from_word).filter(|s| matches!(s, Side::Left | Side::Right)),
        measure_later: json["measure_later"].as_bool().unwrap_or(false),
        noise: json["noise"].as_object().into_iter().flatten().filter_map(noise).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Date {
        Date::parse(text).expect("a day")
    }

    #[test]
    fn a_plan_comes_back_as_it_was_kept() {
        let named = |n| Value::named(n).expect(n);
        let body = Body {
            first: day("2026-03-02"),
            days: 28,
            times: "21:30".to_owned(),
            days_a_week: 5,
            fixed: Some(Fixed {
                value: named("dE00"),
                others: vec![named("sleep"), named("brow")],
                size: 1.5,
                baseline: 5,
                every: 3,
                photographs: 3,
                looks: Looks::Two,
                side: Some(Side::Left),
                noise: vec![(named("dE00"), 0.52, 12)],
                measure_later: false,
            }),
        };
        assert_eq!(Body::parse(body.first, body.days, &body.json()), body);
        let plan = body.plan(Some(Tone::Dark)).expect("a plan");
        assert_eq!((plan.size, plan.end(), plan.looks().len()), (1.5, 28, 2));
        assert_eq!(plan.eye, Eye::of_class(5));
        assert_eq!(body.plan_for(named("brow"), None).map(|p| (p.size, p.eye)), Some((1.5, Eye::UNKNOWN)));
        assert_eq!((body.number(day("2026-03-01")), body.number(day("2026-03-02"))), (0, 1));
        assert_eq!(body.date(28), day("2026-03-29"));
        assert_eq!(body.begins(), -14);
        assert_eq!([0, 1, 7, 28, 90].map(|d| body.asked_until(d)), [0, 1, 5, 20, 20]);
    }

    #[test]
    fn without_a_plan_it_is_a_schedule() {
        for text in [r#"{"times":"at night","days_a_week":3}"#, r#"{"plan":{"value":"shine"}}"#, "{}", "[]"] {
            let body = Body::parse(day("2026-03-02"), 14, text);
            assert_eq!((body.plan(None), body.begins()), (None, 1), "{text}");
        }
    }
}
