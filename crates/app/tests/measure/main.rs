//! `measure` and the truth that `phantom` prints with the same keys: the contract, several photographs and folders, the card, and
//! what is refused. Every face is invented.

#[path = "../house/mod.rs"]
mod house;

mod card;
mod contract;
mod many;
mod page;
mod refused;

use std::sync::OnceLock;

use house::{Folder, run};
use serde_json::Value;

/// A photograph as a visit asks for, with the truth beside it.
pub struct Shown {
    /// The file.
    pub bytes: Vec<u8>,
    /// What `phantom --json` said.
    pub truth: Value,
}

/// Draws one; `more` as `phantom` takes it.
pub fn drawn(name: &str, more: &[&str]) -> Shown {
    let folder = Folder::new(&format!("measure-{name}"));
    let file = folder.file("nobody.jpg");
    let said = run(&[&["phantom", &file, "--json"], more].concat());
    assert_eq!(said.code, 0, "{}", said.err);
    Shown { bytes: std::fs::read(&file).expect("the picture"), truth: said.json() }
}

/// The photograph that most tests look at.
pub fn usual() -> &'static Shown {
    static ONE: OnceLock<Shown> = OnceLock::new();
    ONE.get_or_init(|| drawn("usual", &["--seed", "26", "--tone", "light", "--light", "d65", "--severity", "2.5"]))
}

/// The same with the card.
pub fn with_card() -> &'static Shown {
    static ONE: OnceLock<Shown> = OnceLock::new();
    ONE.get_or_init(|| {
        drawn("card", &["--seed", "8", "--tone", "light", "--light", "d65", "--severity", "2.5", "--card"])
    })
}

/// The number at a dotted path.
pub fn number(of: &Value, path: &str) -> f64 {
    let found = path.split('.').fold(of, |v, key| &v[key]);
    found.as_f64().unwrap_or_else(|| panic!("{path} is no number: {found} in {of}"))
}
