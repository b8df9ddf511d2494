//! What the commands on a cabinet share: which folder, which passphrase, and how its errors are told.

use std::io::{IsTerminal, stderr, stdin};
use std::path::{Path, PathBuf};

use cabinet::{Cabinet, Error, ErrorKind, Passphrase, Time};
use clap::ArgMatches;
use vocab::Finding;

use super::{PASSPHRASE_FILE, passphrase_from_file};
use crate::catalogue::{fill, text};
use crate::desk::usual_folder;

/// The folder that `--cabinet` names, else the usual one.
pub fn folder(args: &ArgMatches) -> Result<PathBuf, Vec<Finding>> {
    let said = args.get_one::<PathBuf>("cabinet").cloned().or_else(|| usual_folder(false));
    said.ok_or_else(|| vec![Finding::new("tragion", 0, text("store.no_folder"))])
}

/// The passphrase: from the file that the environment names, else typed on the terminal, where it is not shown.
pub fn passphrase() -> Result<Passphrase, Vec<Finding>> {
    if let Some(passphrase) = passphrase_from_file()? {
        return Ok(passphrase);
    }
    let wrong = |said: String| vec![Finding::new("tragion", 0, said)];
    if !stdin().is_terminal() || !stderr().is_terminal() {
        return Err(wrong(fill("store.no_terminal", &[("variable", &PASSPHRASE_FILE)])));
    }
    let typed = rpassword::prompt_password(text("store.prompt"));
    typed
        .map(Passphrase::new)
        .map_err(|e| wrong(fill("store.not_typed", &[("error", &e), ("variable", &PASSPHRASE_FILE)])))
}

/// Opens the cabinet in a folder.
pub fn open(folder: &Path) -> Result<Cabinet, Vec<Finding>> {
    // Before anybody types a passphrase in vain.
    if !Cabinet::is_in(folder) {
        return Err(told(folder)(ErrorKind::NoCabinet(folder.to_owned()).into()));
    }
    Cabinet::open(folder, &passphrase()?, now()).map_err(told(folder))
}

/// An error of the cabinet, for standard error.
pub fn told(at: &Path) -> impl Fn(Error) -> Vec<Finding> + '_ {
    |error| vec![Finding::new(at.display().to_string(), 0, error.to_string())]
}

/// The moment.
pub fn now() -> Time {
    Time::from_unix(jiff::Timestamp::now().as_second())
}
