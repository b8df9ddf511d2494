//! The planning aid: with this client's noise, which change would be found with how many days. A picture, the same numbers as a table, a
//! sentence.

use cabinet::{ClientId, Error, Reader};
use follow::{Design, Plan, Prior, PriorSource, Value, power, smallest_seen};
use maud::{Markup, html};
use vocab::Date;

use crate::catalogue::{fill, text};
use crate::following::body::Body;
use crate::following::days::LEVELS;
use crate::following::many::practice_prior;
use crate::following::measured::{Measured, Noise};
use crate::following::words::{amount, size};

/// Baseline days that are drawn.
const MOST_BASELINE: u8 = 12;
/// Days that are held beside each other in the table.
const SPANS: [u16; 5] = [14, 28, 42, 56, 84];

/// What a plan is expected to meet and to find.
pub struct Aid {
    plan: Plan,
    noise: Noise,
    prior: Prior,
    /// Visits a baseline can still have, and those it has.
    room: Room,
}

/// The baseline days that are there or can still be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Room {
    there: usize,
    ahead: i64,
}

/// One curve: the smallest change found, by baseline days from 1 on.
struct Curve {
    every: u8,
    seen: Vec<(u8, f64)>,
}

impl Aid {
    /// For a plan of a client that is not kept yet.
    ///
    /// # Errors
    /// Of the store.
    pub fn of(r: &Reader<'_>, client: ClientId, body: &Body, today: Date) -> Result<Option<Aid>, Error> {
        let Some(fixed) = &body.fixed else { return Ok(None) };
        let Some(plan) = body.plan(None) else { return Ok(None) };
        let prior = practice_prior(r, fixed.value)?;
        let (noise, there) = if fixed.value.said {
            let days = crate::following::days::days(r, client, body)?;
            let said = said_levels(&days, fixed.value);
            (Noise::of(&said, &prior), said.iter().filter(|v| v.day <= 0).count())
        } else {
            let measured = Measured::read(r, client)?;
            let earlier: Vec<Body> = r.weeks(client)?.iter().map(Body::read).collect();
            let there = measured.of(fixed.value, fixed.side, body).iter().filter(|v| v.day <= 0).count();
            (measured.noise(fixed.value, fixed.side, &prior, &earlier, today), there)
        };
        let ahead = body.first.days_since(today).max(0);
        Ok(Some(Aid { plan, noise, prior, room: Room { there, ahead } }))
    }

    fn seen(&self, plan: &Plan) -> Option<f64> {
        smallest_seen(&Design::of(plan, self.noise.sd, self.noise.within), &self.prior)
    }

    fn curve(&self, every: u8) -> Curve {
        let of = |baseline: u8| Some((baseline, self.seen(&Plan { every, baseline, ..self.plan.clone() })?));
        Curve { every, seen: (1..=MOST_BASELINE).filter_map(of).collect() }
    }

    /// The fewest baseline days with which a change of the plan's size would be found; none up to the most that can be asked for.
    fn needed(&self) -> Option<u8> {
        (3..=30).find(|b| {
            let plan = Plan { baseline: *b, ..self.plan.clone() };
            let design = Design::of(&plan, self.noise.sd, self.noise.within);
            power(&design, plan.size, &self.prior).is_some_and(|p| p >= 0.8)
        })
    }

    /// The picture, the sentence, the table.
    pub fn show(&self) -> Markup {
        let value = self.plan.value;
        let asked = self.curve(self.plan.every);
        let mut curves = vec![asked];
        if self.plan.every > 1 {
            curves.push(self.curve(1));
        }
        html! {
            section.aid aria-labelledby="aid-title" {
                h2 #aid-title { (text("aid.title")) }
                p.finding role="status" { (self.finding(value)) }
                @for said in self.more(value) { p { (said) } }
                (super::chart::aid(&picture(&self.plan, &curves)))
                p.hint { (self.noise_words(value)) }
                details {
                    summary { (text("aid.numbers")) }
                    (self.table(value, &curves))
                    (self.spans(value))
                }
            }
        }
    }

    fn finding(&self, value: &Value) -> String {
        let photographs = self.plan.measure_later && !value.said;
        if photographs {
            return text("aid.later").to_owned();
        }
        if usize::from(self.plan.baseline) < Plan::LEAST_BASELINE {
            return fill("aid.few", &[("n", &self.plan.baseline)]);
        }
        self.seen(&self.plan).map_or_else(String::new, |seen| fill("aid.found", &[("size", &amount(seen, value))]))
    }

    /// What follows for the size that was asked for, and for the room there is.
    fn more(&self, value: &Value) -> Vec<String> {
        let mut said = Vec::new();
        if self.plan.measure_later && !value.said {
            return said;
        }
        let asked = size(self.plan.size, value);
        let enough = self.seen(&self.plan).is_some_and(|seen| seen <= self.plan.size);
        let enough = enough && usize::from(self.plan.baseline) >= Plan::LEAST_BASELINE;
        if !enough {
            said.push(match self.needed() {
                Some(n) => fill("aid.needed", &[("size", &asked), ("n", &n)]),
                None => fill("aid.not_found", &[("size", &asked)]),
            });
        }
        let every = i64::from(self.plan.every.max(1));
        let fit = usize::try_from(self.room.ahead.max(0) / every).unwrap_or(0);
        if self.room.there + fit < usize::from(self.plan.baseline) {
            let places: [(&str, &dyn std::fmt::Display); 3] =
                [("there", &self.room.there), ("fit", &fit), ("n", &self.plan.baseline)];
            said.push(fill("aid.no_room", &places));
        }
        said
    }

    fn noise_words(&self, value: &Value) -> String {
        let sd = amount(self.noise.sd, value);
        if self.noise.own > 0 {
            return fill("aid.noise_own", &[("sd", &sd), ("n", &self.noise.own)]);
        }
        match self.prior.source {
            PriorSource::Practice(n) => fill("aid.noise_practice", &[("sd", &sd), ("n", &n)]),
            _ => fill("aid.noise_stated", &[("sd", &sd)]),
        }
    }

    fn table(&self, value: &Value, curves: &[Curve]) -> Markup {
        html! {
            table.numbers {
                caption { (fill("aid.table", &[("days", &self.plan.days)])) }
                thead { tr {
                    th scope="col" { (text("aid.baseline_days")) }
                    @for curve in curves { th scope="col" { (every_words(curve.every)) } }
                } }
                tbody {
                    @for baseline in 1..=MOST_BASELINE {
                        tr {
                            th scope="row" { (baseline) @if usize::from(baseline) < Plan::LEAST_BASELINE { " " (text("aid.no_verdict")) } }
                            @for curve in curves {
                                td { @if let Some((_, seen)) = curve.seen.iter().find(|s| s.0 == baseline) { (amount(*seen, value)) } }
                            }
                        }
                    }
                }
            }
        }
    }

    fn spans(&self, value: &Value) -> Markup {
        let mut spans: Vec<u16> = SPANS.to_vec();
        spans.push(self.plan.days);
        spans.sort_unstable();
        spans.dedup();
        html! {
            table.numbers {
                caption { (fill("aid.spans", &[("n", &self.plan.baseline), ("every", &every_words(self.plan.every))])) }
                thead { tr { th scope="col" { (text("aid.days")) } th scope="col" { (text("aid.smallest")) } } }
                tbody {
                    @for days in spans {
                        tr {
                            th scope="row" { (days) }
                            td { @if let Some(seen) = self.seen(&Plan { days, ..self.plan.clone() }) { (amount(seen, value)) } }
                        }
                    }
                }
            }
        }
    }
}

/// How often, in words.
pub fn every_words(every: u8) -> String {
    if every == 1 { text("aid.daily").to_owned() } else { fill("aid.every", &[("n", &every)]) }
}

fn said_levels(
    days: &std::collections::BTreeMap<i32, crate::following::days::Day>,
    value: &Value,
) -> Vec<follow::Visit> {
    let Some(which) = LEVELS.iter().position(|name| *name == value.name) else { return Vec::new() };
    days.iter().filter_map(|(day, d)| follow::Visit::of(*day, &[d.level(which)?])).collect()
}

/// The curves as places.
fn picture(plan: &Plan, curves: &[Curve]) -> super::chart::Picture {
    let highest = curves.iter().flat_map(|c| &c.seen).map(|s| s.1).fold(plan.size, f64::max);
    let lines = curves.iter().map(|c| super::chart::Line {
        words: every_words(c.every),
        points: c.seen.iter().map(|(b, seen)| [f64::from(*b), *seen]).collect(),
    });
    let asked =
        curves.first().and_then(|c| c.seen.iter().find(|s| s.0 == plan.baseline)).map(|s| [f64::from(s.0), s.1]);
    super::chart::Picture {
        title: text("aid.picture").to_owned(),
        description: fill(
            "aid.picture_says",
            &[("size", &size(plan.size, plan.value)), ("most", &MOST_BASELINE), ("days", &plan.days)],
        ),
        across: [1.0, f64::from(MOST_BASELINE)],
        across_words: text("aid.across").to_owned(),
        up_words: fill("aid.up", &[("unit", &crate::following::words::unit(plan.value))]),
        highest,
        level: (plan.size, fill("aid.asked", &[("size", &size(plan.size, plan.value))])),
        shaded: (Plan::LEAST_BASELINE as f64 - 0.5, text("aid.no_verdict_here").to_owned()),
        lines: lines.collect(),
        here: asked,
    }
}
