//! The header: a small text beside the store, in clear, with what makes the key of the passphrase. Without it there is no way
//! to the key, so it stands there twice, and in every backup.
//!
//! ```toml
//! # How the key of this cabinet is made of its passphrase. Without this file the cabinet can't be opened: keep it.
//! format = 1
//! store = "store-1.db"
//! argon2id = { memory_kib = 65536, passes = 3, lanes = 4 }
//! salt = "…32 hexadecimal digits…"
//! check = "…32 hexadecimal digits…"
//! sum = "…the first 32 hexadecimal digits of the SHA-256 of all lines above…"
//! ```
//! `store` makes this file the one switch between two stores: a restore or a new passphrase first builds the new store, then
//! replaces the header in one step. `replaces` names the store before, and `replaced_goes` where it goes: `aside` or `away`.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};
use toml::de::{DeTable, DeValue};

use crate::key::Recipe;
use crate::passphrase::Cost;

/// The format of header and folder that this program writes.
pub const FORMAT: u32 = 1;

/// What becomes of the store that was in use before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Replaced {
    pub store: String,
    pub aside: bool,
}

/// The header's contents.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    pub store: String,
    pub recipe: Recipe,
    pub replaced: Option<Replaced>,
}

/// Why a header can't be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unread {
    Damaged,
    Newer(u32),
}

/// The name of the `n`th store of a folder.
pub fn store_name(n: u32) -> String {
    format!("store-{n}.db")
}

/// The number in a store's name.
pub fn store_number(name: &str) -> Option<u32> {
    name.strip_prefix("store-")?.strip_suffix(".db")?.parse().ok()
}

impl Header {
    pub fn text(&self) -> String {
        let Cost { memory_kib, passes, lanes } = self.recipe.cost;
        let mut text = format!(
            "# How the key of this cabinet is made of its passphrase. Without this file the cabinet can't be opened: keep it.\n\
             format = {FORMAT}\n\
             store = \"{}\"\n\
             argon2id = {{ memory_kib = {memory_kib}, passes = {passes}, lanes = {lanes} }}\n\
             salt = \"{}\"\n\
             check = \"{}\"\n",
            self.store,
            hex(&self.recipe.salt),
            hex(&self.recipe.check),
        );
        if let Some(replaced) = &self.replaced {
            let goes = if replaced.aside { "aside" } else { "away" };
            text.push_str(&format!("replaces = \"{}\"\nreplaced_goes = \"{goes}\"\n", replaced.store));
        }
        sealed(text)
    }

    pub fn parse(bytes: &[u8]) -> Result<Header, Unread> {
        let fields = Fields::parse(bytes)?;
        let bad = Unread::Damaged;
        let store = fields.text("store").filter(|name| store_number(name).is_some()).ok_or(bad)?;
        let recipe = fields.recipe().ok_or(bad)?;
        let replaced = match fields.text("replaces") {
            None => None,
            Some(store) => {
                let store = Some(store).filter(|name| store_number(name).is_some()).ok_or(bad)?;
                Some(Replaced { store, aside: fields.text("replaced_goes").as_deref() != Some("away") })
            }
        };
        Ok(Header { store, recipe, replaced })
    }
}

/// A text with its `sum` line.
pub fn sealed(mut text: String) -> String {
    let sum = sum(text.as_bytes());
    text.push_str(&format!("sum = \"{sum}\"\n"));
    text
}

fn sum(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes)[..16])
}

/// The lines of a sealed text whose sum holds.
pub struct Fields {
    values: BTreeMap<String, String>,
    numbers: BTreeMap<String, i64>,
}

impl Fields {
    /// Reads a sealed text; blanks and line ends after the sum are no matter.
    pub fn parse(bytes: &[u8]) -> Result<Fields, Unread> {
        let text = std::str::from_utf8(bytes).map_err(|_| Unread::Damaged)?;
        let at = text.rfind("sum = \"").ok_or(Unread::Damaged)?;
        let (above, last) = text.split_at(at);
        if last.trim_end() != format!("sum = \"{}\"", sum(above.as_bytes())) {
            return Err(Unread::Damaged);
        }
        let table = DeTable::parse(above).map_err(|_| Unread::Damaged)?.into_inner();
        let mut fields = Fields { values: BTreeMap::new(), numbers: BTreeMap::new() };
        fields.take("", &table);
        match fields.number("format") {
            Some(found) if found == i64::from(FORMAT) => Ok(fields),
            Some(found) if found > i64::from(FORMAT) => Err(Unread::Newer(u32::try_from(found).unwrap_or(u32::MAX))),
            _ => Err(Unread::Damaged),
        }
    }

    fn take(&mut self, above: &str, table: &DeTable<'_>) {
        for (key, value) in table {
            let name = format!("{above}{}", key.get_ref());
            match value.get_ref() {
                DeValue::String(text) => {
                    self.values.insert(name, text.to_string());
                }
                DeValue::Integer(number) => {
                    if let Ok(number) = i64::from_str_radix(number.as_str(), number.radix()) {
                        self.numbers.insert(name, number);
                    }
                }
                DeValue::Table(inner) => self.take(&format!("{name}."), inner),
                _ => {}
            }
        }
    }

    pub fn text(&self, key: &str) -> Option<String> {
        self.values.get(key).cloned()
    }

    pub fn number(&self, key: &str) -> Option<i64> {
        self.numbers.get(key).copied()
    }

    pub fn recipe(&self) -> Option<Recipe> {
        let number = |key: &str| u32::try_from(self.number(key)?).ok();
        let cost =
            Cost::new(number("argon2id.memory_kib")?, number("argon2id.passes")?, number("argon2id.lanes")?).ok()?;
        let digits = |key: &str| self.values.get(key).and_then(|text| unhex(text));
        Some(Recipe { cost, salt: digits("salt")?, check: digits("check")? })
    }
}

/// Lower-case hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    if text.len() != 2 * N || !text.is_ascii() {
        return None;
    }
    let mut bytes = [0; N];
    for (i, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&text[2 * i..2 * i + 2], 16).ok()?;
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn header() -> Header {
        let recipe = Recipe { cost: Cost::STANDARD, salt: [7; 16], check: [0xa5; 16] };
        Header { store: store_name(3), recipe, replaced: Some(Replaced { store: store_name(2), aside: true }) }
    }

    #[test]
    fn what_is_written_is_read() {
        let header = header();
        assert_eq!(Header::parse(header.text().as_bytes()), Ok(header.clone()));
        let plain = Header { replaced: None, ..header };
        assert_eq!(Header::parse(plain.text().as_bytes()), Ok(plain));
    }

    #[test]
    fn any_flipped_bit_and_any_cut_is_seen() {
        let text = header().text().into_bytes();
        for at in 0..text.len() {
            for bit in 0..8 {
                let mut bytes = text.clone();
                bytes[at] ^= 1 << bit;
                // The last byte is the line end; a blank there is still the same header.
                let same = Header::parse(&bytes).is_ok_and(|h| h == header());
                assert!(Header::parse(&bytes).is_err() || (same && at == text.len() - 1), "byte {at}, bit {bit}");
            }
            let cut = Header::parse(&text[..at]);
            assert!(cut.is_err() || at == text.len() - 1, "cut at {at}");
        }
    }

    #[test]
    fn a_forged_header_can_ask_for_no_gigabytes_and_no_path() {
        let text = |from: &str, to: &str| {
            let full = header().text();
            let above = &full[..full.rfind("sum = ").expect("sealed")];
            assert!(above.contains(from));
            sealed(above.replace(from, to))
        };
        let check = |from: &str, to: &str, expected: Unread| {
            assert_eq!(Header::parse(text(from, to).as_bytes()), Err(expected), "{from} → {to}");
        };
        check("65536", "4000000000", Unread::Damaged);
        check("passes = 3", "passes = 1000000", Unread::Damaged);
        check("store-3.db", "../store-3.db", Unread::Damaged);
        check("store-2.db", "/etc/store-2.db", Unread::Damaged);
        check("format = 1", "format = 9", Unread::Newer(9));
        check("format = 1", "format = 0", Unread::Damaged);
    }
}
