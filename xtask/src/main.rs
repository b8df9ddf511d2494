//! Checks of the tree itself, run by `./check`: `cargo run -p xtask -- tidy [FOLDER]`.

mod tidy;

use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut args = std::env::args().skip(1);
    let here = || PathBuf::from(env!("CARGO_MANIFEST_DIR")).parent().map(PathBuf::from).unwrap_or_default();
    match (args.next().as_deref(), args.next(), args.next()) {
        (Some("tidy"), root, None) => {
            let report = tidy::run(&root.map_or_else(here, PathBuf::from));
            for finding in &report.findings {
                println!("{finding}");
            }
            for fact in &report.facts {
                println!("tidy: {fact}");
            }
            println!("tidy: {} checks, {} findings", report.checks, report.findings.len());
            if report.findings.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
        }
        _ => {
            eprintln!("usage: cargo run -p xtask -- tidy [FOLDER]");
            ExitCode::from(2)
        }
    }
}
