//! Timings taken anew by tapping along.

/// Two taps closer than this are one hand that tapped twice, in seconds.
pub const CLOSEST: f64 = 1.0;
/// The most seconds that are taken for a time: three hours. A routine has an hour at most, and the cue track is as long as the film.
pub const MOST_S: f64 = 10_800.0;

/// What is wrong with a list of times, or with one of its lines (counted from one).
#[derive(Clone, Debug, PartialEq)]
pub enum Wrong {
    /// The file has no line `step,starts,name` at its head.
    Head,
    /// A line can't be read as one of the list.
    Line(usize),
    /// A step of this line is none of the routine, which has so many.
    Step(usize, String, usize),
    /// A step is there twice: the line, the step.
    Twice(usize, usize),
    /// The time of a line is none.
    Time(usize, String),
    /// A step begins before the one ahead of it: the step, its time, the earlier step, its time.
    Order(usize, f64, usize, f64),
    /// Two steps begin within a second: a tap that was made twice. The later step, its time.
    Double(usize, f64),
    /// Steps without a time that have less than a second each before this one: the step, its time, how many they are.
    Room(usize, f64, usize),
    /// There are more times than steps: how many, and how many steps.
    Many(usize, usize),
    /// There is no time at all.
    None,
}

/// The times of a list as [`write`] makes it, edited by hand or by another program: commas, semicolons or tabs between the fields, seconds
/// (`83.5`), or `1:23.5`, or `1:02:03`; an empty time, or a step that is not there, is none. One for each of `steps` steps.
///
/// # Errors
/// All that is wrong, in the order of the lines.
pub fn read(text: &str, steps: usize) -> Result<Vec<Option<f64>>, Vec<Wrong>> {
    let text = text.trim_start_matches('\u{feff}');
    let head = text.lines().next().unwrap_or_default();
    let between = [b',', b';', b'\t'].into_iter().find(|b| head.as_bytes().contains(b)).unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().delimiter(between).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let names: Vec<String> = reader.headers().map(|h| h.iter().map(str::to_lowercase).collect()).unwrap_or_default();
    let column = |name: &str| names.iter().position(|n| n == name);
    let (Some(step), Some(starts)) = (column("step"), column("starts")) else { return Err(vec![Wrong::Head]) };
    let (mut times, mut wrong) = (vec![None; steps], Vec::new());
    let mut seen = vec![false; steps];
    for record in reader.records() {
        let Ok(record) = record else {
            wrong.push(Wrong::Line(0));
            break;
        };
        let line = record.position().map_or(0, |p| p.line() as usize);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let (Some(word), Some(time)) = (record.get(step), record.get(starts)) else {
            wrong.push(Wrong::Line(line));
            continue;
        };
        let Some(at) = word.parse::<usize>().ok().filter(|n| (1..=steps).contains(n)) else {
            wrong.push(Wrong::Step(line, word.chars().take(40).collect(), steps));
            continue;
        };
        if std::mem::replace(&mut seen[at - 1], true) {
            wrong.push(Wrong::Twice(line, at));
        } else if !time.is_empty() {
            match seconds(time) {
                Some(s) => times[at - 1] = Some(s),
                None => wrong.push(Wrong::Time(line, time.chars().take(40).collect())),
            }
        }
    }
    if wrong.is_empty() { Ok(times) } else { Err(wrong) }
}

/// A time as it is written: seconds, or minutes and seconds, or hours too; a comma may stand for the point.
pub fn seconds(word: &str) -> Option<f64> {
    let word = word.trim().replace(',', ".");
    let parts: Vec<&str> = word.split(':').collect();
    let plain = |part: &str| {
        let digits = !part.is_empty() && part.chars().all(|c| c.is_ascii_digit() || c == '.');
        part.parse::<f64>().ok().filter(|_| digits && part.len() < 16)
    };
    let (last, before) = parts.split_last()?;
    let mut total = plain(last)?;
    if before.len() > 2 || (!before.is_empty() && total >= 60.0) {
        return None;
    }
    for (i, part) in before.iter().rev().enumerate() {
        let whole = plain(part).filter(|_| !part.contains('.'))?;
        if i + 1 < before.len() && whole >= 60.0 {
            return None;
        }
        total += whole * 60_f64.powi(i as i32 + 1);
    }
    (total <= MOST_S).then_some(total)
}

/// A time for every step: those that were tapped, and between them the rest in proportion to `planned` (rising; one for each step); before the
/// first tap and after the last, at the pace of the plan.
///
/// # Errors
/// Taps out of order, tapped twice, too close for the steps between them, more than there are steps, or none.
pub fn filled(taps: &[Option<f64>], planned: &[f64]) -> Result<Vec<f64>, Vec<Wrong>> {
    let n = planned.len();
    if taps.len() > n {
        return Err(vec![Wrong::Many(taps.len(), n)]);
    }
    let known: Vec<(usize, f64)> = taps.iter().enumerate().filter_map(|(i, t)| t.map(|t| (i, t))).collect();
    let mut wrong = Vec::new();
    for (i, t) in &known {
        if !t.is_finite() || *t < 0.0 || *t > MOST_S {
            wrong.push(Wrong::Time(0, format!("{t} (step {})", i + 1)));
        }
    }
    for pair in known.windows(2) {
        let ((before, early), (at, t)) = (pair[0], pair[1]);
        if t < early {
            wrong.push(Wrong::Order(at + 1, t, before + 1, early));
        } else if t < early + CLOSEST {
            wrong.push(Wrong::Double(at + 1, t));
        }
    }
    // Those not tapped lie between the tapped ones, and before the first between the beginning and it.
    let mut before = (0, 0.0);
    for (at, t) in known.iter().filter(|_| wrong.is_empty()) {
        let among = at - before.0;
        if t - before.1 < among as f64 * CLOSEST {
            return Err(vec![Wrong::Room(at + 1, *t, among)]);
        }
        before = (at + 1, *t + CLOSEST);
    }
    let (Some((first, start)), Some((last, end))) = (known.first(), known.last()) else {
        return Err(vec![Wrong::None]);
    };
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let time = |i: usize| {
        if i <= *first {
            // Not before the video; where there is no time for it, evenly from its beginning.
            let plan = start - (planned[*first] - planned[i]);
            let ahead = planned[*first] - planned[0];
            return if start - ahead >= 0.0 || ahead <= 0.0 { plan } else { start * (planned[i] - planned[0]) / ahead };
        }
        if i >= *last {
            return end + (planned[i] - planned[*last]);
        }
        let after = known.iter().position(|(k, _)| *k >= i).unwrap_or(0);
        let (b, late) = known[after];
        if b == i {
            return late;
        }
        let (a, early) = known[after - 1];
        early + (late - early) * (planned[i] - planned[a]) / (planned[b] - planned[a]).max(f64::MIN_POSITIVE)
    };
    Ok((0..n).map(|i| (time(i) * 1000.0).round() / 1000.0).collect())
}

/// The list as a file: `step,starts,name`, a line for each step. A name that a spreadsheet would take for a formula has an apostrophe before it;
/// names are not read again.
pub fn write(starts: &[f64], names: &[String]) -> String {
    let mut out = String::from("step,starts,name\n");
    for (i, (start, name)) in starts.iter().zip(names).enumerate() {
        let name = name.replace(['\r', '\n', '\t'], " ").replace('"', "\"\"");
        let name = if is_formula(&name) { format!("'{name}") } else { name };
        out.push_str(&format!("{},{},\"{name}\"\n", i + 1, (start * 1000.0).round() / 1000.0));
    }
    out
}

/// OWASP, "CSV Injection", with full-width forms; spaces before it may be dropped by whoever opens the file.
fn is_formula(name: &str) -> bool {
    name.trim_start().starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠'])
}

#[cfg(test)]
mod tests;
