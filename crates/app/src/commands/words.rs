//! `words FILE`: what the statements of a text or of captions mean, by country.

use std::path::PathBuf;

use clap::ArgMatches;
use publish::claims::{Claim, check};
use publish::timed::{self, MOST_BYTES, Sentence, Spoken};
use vocab::{Finding, nearest};

use super::{json, path};
use crate::catalogue::{fill, listed};
use crate::desk::publish::standing::Standing;
use crate::json::words::WordsOut;
use crate::outcome::{Code, Outcome};
use crate::{files, tell};

/// A file with what was found in it.
pub struct Checked {
    /// Its name as it was given.
    pub file: String,
    /// As it was read.
    pub spoken: Spoken,
    /// Its sentences.
    pub sentences: Vec<Sentence>,
    /// Where its lines begin, in code points.
    lines: Vec<usize>,
    /// The rules.
    pub standing: Standing,
    /// The countries' codes, in the order asked.
    pub countries: Vec<String>,
    /// What was found.
    pub claims: Vec<Claim>,
}

impl Checked {
    /// Reads and checks.
    ///
    /// # Errors
    /// A file that can't be read, and countries that nobody knows.
    pub fn new(file: &str, bytes: &[u8], standing: Standing, asked: &[String]) -> Result<Checked, Vec<Finding>> {
        let countries = countries(file, &standing, asked)?;
        let text = timed::decode(file, bytes)?;
        let spoken = timed::read(file, &text)?;
        let claims = check(&standing.rules, &spoken, &countries);
        let (sentences, lines) = (spoken.sentences(), timed::line_beginnings(&text));
        Ok(Checked { file: file.to_owned(), spoken, sentences, lines, standing, countries, claims })
    }

    /// The line of a place, from 1.
    pub fn line(&self, offset: usize) -> usize {
        self.lines.partition_point(|begins| *begins <= offset).max(1)
    }
}

/// The countries asked for, each once; all that are known where none was named.
fn countries(file: &str, standing: &Standing, asked: &[String]) -> Result<Vec<String>, Vec<Finding>> {
    let known = standing.codes();
    let mut countries: Vec<String> = Vec::new();
    for code in asked.iter().map(|code| code.trim().to_lowercase()).filter(|code| !code.is_empty()) {
        if !known.contains(&code) {
            let near = nearest(&code, known.iter().map(String::as_str)).filter(|_| code.chars().count() > 1);
            let values: [(&str, &dyn std::fmt::Display); 2] = [("code", &code), ("known", &listed(&known))];
            let near = near.map(|near| fill("wordscmd.nearest", &[("near", &near)])).unwrap_or_default();
            return Err(vec![Finding::new(file, 0, fill("wordscmd.no_country", &values) + &near)]);
        }
        if !countries.contains(&code) {
            countries.push(code);
        }
    }
    Ok(if countries.is_empty() { known } else { countries })
}

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let file = path(args, "file")?;
    let own = files::texts(args.get_many::<PathBuf>("rules").into_iter().flatten())?;
    let standing = Standing::new(own.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    if !standing.broken.is_empty() {
        return Err(standing.broken);
    }
    let asked: Vec<String> = args.get_many::<String>("country").into_iter().flatten().cloned().collect();
    let name = file.display().to_string();
    let checked = Checked::new(&name, &files::bytes_of(file, MOST_BYTES)?, standing, &asked)?;
    if args.get_flag("json") {
        return Ok(json(&WordsOut::new(&checked), Code::Done));
    }
    Ok(Outcome::done(tell::words::plain(&checked)))
}
