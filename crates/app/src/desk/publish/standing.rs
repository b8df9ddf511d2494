//! The rules as they stand in this practice: those that ship, and its own countries and words.

use std::borrow::Cow;
use std::sync::OnceLock;

use cabinet::{Error, Reader};
use publish::claims::Rules;
use vocab::Finding;

/// The rules that hold now.
pub struct Standing {
    /// Those that ship, with the practice's own.
    pub rules: Cow<'static, Rules>,
    /// What of the practice's own could not be read; it holds not.
    pub broken: Vec<Finding>,
    names: Vec<(String, String)>,
}

fn shipped() -> &'static Rules {
    static SHIPPED: OnceLock<Rules> = OnceLock::new();
    SHIPPED.get_or_init(Rules::shipped)
}

impl Standing {
    /// Those that ship, and these files of own rules (name and TOML) in their order; one that can't be read is passed over and told.
    pub fn new<'o>(own: impl IntoIterator<Item = (&'o str, &'o str)>) -> Standing {
        let (mut rules, mut broken) = (Cow::Borrowed(shipped()), Vec::new());
        for (name, toml) in own {
            match rules.clone().into_owned().with(name, toml) {
                Ok(with) => rules = Cow::Owned(with),
                Err(findings) => broken.extend(findings),
            }
        }
        let names = rules.countries();
        Standing { rules, broken, names }
    }

    /// As the practice has them.
    ///
    /// # Errors
    /// Of the store.
    pub fn read(r: &Reader<'_>) -> Result<Standing, Error> {
        let own = r.own_rules()?;
        Ok(Standing::new(own.iter().map(|o| (o.name.as_str(), o.body.as_str()))))
    }

    /// The countries: code and name, those that ship first.
    pub fn countries(&self) -> &[(String, String)] {
        &self.names
    }

    /// All codes.
    pub fn codes(&self) -> Vec<String> {
        self.names.iter().map(|(code, _)| code.clone()).collect()
    }

    /// A country's name; its code in capitals where there is no such country any more.
    pub fn name(&self, code: &str) -> String {
        let known = self.names.iter().find(|(c, _)| c == code);
        known.map_or_else(|| code.to_uppercase(), |(_, name)| name.clone())
    }
}
