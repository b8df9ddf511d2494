//! Many clients in one go, for bench/follow: reads `client,day,value` (lines of a client together, days in order), fits every client's
//! change and trend and summarises the group. Prints the group's numbers on one line, and every client's with `--each`.

// An example is an edge: it may read and print.
#![allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::disallowed_macros)]

use std::io::Write;

use follow::{Member, Plan, Prior, Standing, Value, Verdict, Visit, change, interval, summarise, trend};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let path = args.iter().find(|a| !a.starts_with("--")).ok_or("which file?")?;
    let text = std::fs::read_to_string(path)?;
    let mut clients: Vec<(u32, Vec<Visit>)> = Vec::new();
    for line in text.lines().skip(1) {
        let mut parts = line.split(',');
        let mut next = || parts.next().ok_or_else(|| format!("too few columns: {line}"));
        let (client, day, mean) = (next()?.parse()?, next()?.parse()?, next()?.parse()?);
        if clients.last().is_none_or(|c| c.0 != client) {
            clients.push((client, Vec::new()));
        }
        let visits = &mut clients.last_mut().ok_or("no client")?.1;
        visits.push(Visit { day, mean, count: 1, ss: 0.0 });
    }
    let value = Value::named("sleep").ok_or("no such value")?;
    let (plan, prior) = (Plan::usual(value), Prior::stated(value));
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut members = Vec::new();
    for (client, visits) in &clients {
        let fit = change(visits, plan.end(), &prior).ok_or("no change")?;
        let change = interval(&fit, 0.05);
        let run = trend(visits, plan.end(), &prior).ok_or("no trend")?;
        if args.iter().any(|a| a == "--each") {
            let numbers = [change.estimate, change.low, change.high, run.slope].map(|v| v.to_string());
            writeln!(out, "{client} {}", numbers.join(" "))?;
        }
        let clear = change.low > 0.0 || change.high < 0.0;
        let verdict = if clear { Verdict::ClearChange } else { Verdict::WithinNoise };
        members.push(Member { standing: Standing::Assessed { change, se: fit.se, verdict }, done: 28, asked: 28 });
    }
    let began = std::time::Instant::now();
    let group = summarise(&members);
    let took = began.elapsed().as_secs_f64() * 1e3;
    let (mean, next) = (group.mean.ok_or("no mean")?, group.next.ok_or("no prediction")?);
    let tau = group.between.ok_or("no tau")?;
    writeln!(
        out,
        "group {} {} {} {tau} {} {} {} {}",
        mean.estimate, mean.low, mean.high, next.low, next.high, group.clear[0], group.clear[1]
    )?;
    eprintln!("summarise {took:.2} ms");
    Ok(())
}
