//! How a command ends: what it prints, where, and with which exit code.

use std::io::{self, Write};
use std::process::ExitCode;

use vocab::Finding;

/// The exit codes of the command line, documented in its help.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Code {
    /// Done, whatever the verdict.
    Done = 0,
    /// A routine has breaches.
    Breaches = 1,
    /// The input or the call can't be used.
    Unusable = 2,
    /// There is no draft.
    NoDraft = 3,
}

/// What a command answers.
#[derive(Debug)]
pub struct Outcome {
    /// For standard output.
    pub out: String,
    /// For standard error.
    pub err: String,
    /// The exit code.
    pub code: Code,
}

impl Outcome {
    /// Done, with something to print.
    pub fn done(out: String) -> Outcome {
        Outcome { out, err: String::new(), code: Code::Done }
    }

    /// Unusable input, with findings to name.
    pub fn unusable(findings: &[Finding]) -> Outcome {
        let err = findings.iter().map(|f| format!("{f}\n")).collect();
        Outcome { out: String::new(), err, code: Code::Unusable }
    }

    /// Prints both streams. A reader that has gone away (`tragion ... | head`) is no error.
    pub fn print(&self) -> ExitCode {
        let err = io::stderr().lock().write_all(self.err.as_bytes());
        let out = io::stdout().lock().write_all(self.out.as_bytes()).and_then(|()| io::stdout().lock().flush());
        for result in [err, out] {
            match result {
                Err(e) if e.kind() != io::ErrorKind::BrokenPipe => return ExitCode::from(Code::Unusable as u8),
                _ => {}
            }
        }
        ExitCode::from(self.code as u8)
    }
}
