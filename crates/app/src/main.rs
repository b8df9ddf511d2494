//! Tragion: the command line and the desk. The only crate that prints, reads the clock and files, and exits.

mod catalogue;
mod cli;
mod commands;
mod desk;
mod drawing;
mod files;
mod filming;
mod following;
mod json;
mod language;
mod measuring;
mod notes;
mod outcome;
mod own;
mod play;
mod recorded;
mod series;
mod takehome;
mod tell;
mod today;

use std::process::ExitCode;

fn main() -> ExitCode {
    match cli::matches(std::env::args_os()) {
        Ok(matches) => commands::run(&matches).print(),
        Err(ended) => ended.print(),
    }
}
