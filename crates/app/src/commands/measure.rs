//! `measure PHOTO...`: what photographs say of a face, in numbers with their uncertainty. Answers are printed as they come, in the
//! order in which the photographs were named.

use std::io::{self, IsTerminal, Write as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::ArgMatches;
use clap::parser::ValueSource;
use colour::Tone;
use vocab::Finding;

use super::map::read_hands;
use crate::catalogue::{fill, text};
use crate::files;
use crate::json::measure::{PhotoOut, RefusedOut, VisitOut};
use crate::measuring::card::Asked;
use crate::measuring::figures::Looked;
use crate::measuring::visit::Gathering;
use crate::measuring::{Taken, Told, many, overlay};
use crate::outcome::{Code, Outcome};
use crate::own::{self, Refused};
use crate::tell;

/// From so many photographs on progress is told even where nobody seems to watch.
const MANY: usize = 4;
/// Progress is told this often.
const OFTEN: Duration = Duration::from_secs(1);

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let named = many::named(args.get_many::<PathBuf>("photo").into_iter().flatten())?;
    let told = told(args)?;
    let overlay = args.get_one::<PathBuf>("overlay");
    for (given, option) in [(overlay.is_some(), "--overlay"), (!told.hands.landmarks.is_empty(), "--hands")] {
        if given && named.photos.len() != 1 {
            return Err(usage(&fill("measure.one_only", &[("option", &option), ("n", &named.photos.len())])));
        }
    }
    let json = args.get_flag("json");
    let mut said =
        Said { json, first: true, failed: Vec::new(), gathering: Gathering::default(), drawn: None, gone: false };
    let mut err: String = named
        .skipped
        .iter()
        .map(|p| format!("{}\n", Finding::new(p.display().to_string(), 0, text("measure.skipped"))))
        .collect();
    said.print(if json { "{\n  \"photos\": [" } else { "" });
    let mut progress = Progress::new(named.photos.len());
    many::run(&named.photos, &told, |n| progress.tell(n), |path, answer| said.one(path, answer, overlay.is_some()))
        .map_err(|why| usage(&why.0))?;
    progress.end();
    if let (Some(out), Some((path, taken))) = (overlay, &said.drawn) {
        files::write(out, &draw(path, taken).map_err(|why| usage(&why.0))?, path)?;
    }
    err.extend(said.failed.iter().map(|f| format!("{f}\n")));
    let code = if said.failed.is_empty() { Code::Done } else { Code::Unusable };
    Ok(Outcome { out: said.end(named.photos.len()), err, code })
}

fn usage(why: &str) -> Vec<Finding> {
    vec![Finding::new("tragion", 0, why.to_owned())]
}

/// How the photographs are to be measured.
fn told(args: &ArgMatches) -> Result<Told, Vec<Finding>> {
    let target = args.get_one::<String>("target").map(String::as_str);
    let card = Asked::parse(args.get_one::<String>("card").map_or("auto", String::as_str), target)
        .map_err(|why| vec![Finding::new("--card", 0, why)])?;
    if args.value_source("target") == Some(ValueSource::CommandLine) && !card.is_taps() {
        return Err(vec![Finding::new("--target", 0, text("measure.target_taps"))]);
    }
    card.check()?;
    let mut told = Told {
        card,
        tone: args.get_one::<Tone>("tone").copied(),
        mirrored: args.get_flag("mirrored"),
        past_gates: args.get_flag("past-gates"),
        ..Told::default()
    };
    if let Some(first) = args.get_one::<PathBuf>("first") {
        let refused = |why: Refused| vec![Finding::new(first.display().to_string(), 0, why.0)];
        told.first = Some(own::signature(&files::bytes(first)?).map_err(refused)?);
    }
    if let Some(hands) = args.get_one::<PathBuf>("hands") {
        told.hands = read_hands(&hands.display().to_string(), &files::read(hands)?)?;
    }
    Ok(told)
}

/// The drawing over the photograph, which is read once more: no worker holds it any longer.
fn draw(path: &Path, taken: &Taken) -> Result<String, Refused> {
    let bytes = files::bytes(path).map_err(|f| Refused(f.first().map_or(String::new(), |f| f.message.clone())))?;
    let photo = own::photograph(&bytes)?;
    let photo = if taken.mirrored { own::turned_over(photo) } else { photo };
    Ok(overlay::svg(&Looked::of(taken), &overlay::carried(&photo)?, "tragion"))
}

/// What is printed, as it comes.
struct Said {
    json: bool,
    first: bool,
    failed: Vec<Finding>,
    gathering: Gathering,
    drawn: Option<(PathBuf, Taken)>,
    /// Nobody reads any longer.
    gone: bool,
}

impl Said {
    /// Prints at once; a reader that has gone away ends the work.
    fn print(&mut self, words: &str) {
        let mut out = io::stdout().lock();
        self.gone |= out.write_all(words.as_bytes()).and_then(|()| out.flush()).is_err();
    }

    /// One answer; whether to go on.
    fn one(&mut self, path: &Path, answer: many::Answer, keep: bool) -> bool {
        let name = path.display().to_string();
        let comma = if self.first { "" } else { "," };
        match answer {
            Ok(taken) => {
                self.gathering.add(&taken);
                let words = if self.json {
                    format!("{comma}\n    {}", indented(&PhotoOut::new(&name, &taken), 4))
                } else {
                    let apart = if self.first { "" } else { "\n" };
                    format!("{apart}{}", tell::measure::photo(&name, &taken))
                };
                self.print(&words);
                if keep {
                    self.drawn = Some((path.to_owned(), taken));
                }
                self.first = false;
            }
            Err(why) => {
                self.gathering.add_refused();
                if self.json {
                    self.print(&format!("{comma}\n    {}", indented(&RefusedOut::new(&name, &why.0), 4)));
                    self.first = false;
                }
                self.failed.push(Finding::new(name, 0, why.0));
            }
        }
        !self.gone
    }

    /// What is left to print when all are measured.
    fn end(self, photographs: usize) -> String {
        let combined = self.gathering.combined();
        if self.json {
            let visit = combined.as_ref().map(VisitOut::new);
            return format!("\n  ],\n  \"visit\": {}\n}}\n", indented(&visit, 2));
        }
        match &combined {
            Some(combined) if photographs > 1 => format!("\n{}", tell::measure::visit(combined)),
            _ => String::new(),
        }
    }
}

/// JSON whose lines after the first begin so many spaces further in.
fn indented(value: &impl serde::Serialize, by: usize) -> String {
    serde_json::to_string_pretty(value).unwrap_or_default().replace('\n', &format!("\n{}", " ".repeat(by)))
}

/// How far the work is, on standard error: where somebody watches, or where there are many photographs.
struct Progress {
    all: usize,
    told: Option<Instant>,
    shown: bool,
    watched: bool,
}

impl Progress {
    fn new(all: usize) -> Progress {
        let watched = io::stderr().is_terminal();
        let shown = all >= MANY || (watched && all > 1);
        Progress { all, told: Some(Instant::now()), shown, watched }
    }

    fn tell(&mut self, n: usize) {
        if !self.shown || self.told.is_some_and(|t| t.elapsed() < OFTEN) {
            return;
        }
        self.told = Some(Instant::now());
        self.say(n);
    }

    fn say(&self, n: usize) {
        let words = fill("measure.progress", &[("n", &grouped(n)), ("all", &grouped(self.all))]);
        // On a terminal the line is written over; in a log each stands for itself.
        let (before, after) = if self.watched { ("\r", "") } else { ("", "\n") };
        let _ = io::stderr().lock().write_all(format!("{before}{words}{after}").as_bytes());
    }

    fn end(&self) {
        if self.shown {
            self.say(self.all);
            if self.watched {
                let _ = io::stderr().lock().write_all(b"\n");
            }
        }
    }
}

/// A whole number in groups of three: 1 000.
fn grouped(n: usize) -> String {
    let digits = n.to_string();
    let head = digits.len() % 3;
    let mut out = digits[..head].to_owned();
    for (i, group) in digits.as_bytes()[head..].chunks(3).enumerate() {
        if head > 0 || i > 0 {
            out.push(' ');
        }
        out.extend(group.iter().map(|b| char::from(*b)));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::grouped;

    #[test]
    fn numbers_in_groups() {
        let written: Vec<String> = [0, 37, 999, 1000, 12_345, 1_000_000].into_iter().map(grouped).collect();
        assert_eq!(written, ["0", "37", "999", "1 000", "12 345", "1 000 000"]);
    }
}
