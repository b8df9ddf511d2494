//! `product FILE`: what stands on an ingredient list, and what it means for one person.

use std::path::PathBuf;

use clap::ArgMatches;
use plan::product::{Judged, MOST_CHARS, Product};
use plan::screening::Answers;
use vocab::Finding;

use super::{atlas, day, json, path};
use crate::catalogue::{fill, text};
use crate::files;
use crate::json::product::Checked;
use crate::outcome::{Code, Outcome};
use crate::tell;

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (atlas, file) = (atlas(args)?, path(args, "file")?);
    let refuse = |message: String| vec![Finding::new(file.display().to_string(), 0, message)];
    let list = files::read(file)?;
    let long = list.chars().count();
    if long > MOST_CHARS {
        return Err(refuse(fill("product.too_many", &[("n", &long), ("most", &MOST_CHARS)])));
    }
    let product = Product::read(&atlas, &list);
    if product.names == 0 {
        return Err(refuse(text("product.no_names").to_owned()));
    }
    let answers = match args.get_one::<PathBuf>("answers") {
        None => None,
        Some(path) => {
            let answers = Answers::parse(&path.display().to_string(), &files::read(path)?, &atlas)?;
            Some((answers, day(args)?))
        }
    };
    let judged = Judged::new(&atlas, &product, answers.as_ref().map(|(answers, today)| (answers, *today)));
    if args.get_flag("json") {
        return Ok(json(&Checked::new(&atlas, &product, &judged), Code::Done));
    }
    Ok(Outcome::done(tell::product::plain(&atlas, &product, &judged)))
}
