//! From a passphrase to the key of the store.
//!
//! Argon2id (RFC 9106, version 0x13) of the passphrase's UTF-8 in NFC, with 16 random bytes of salt, gives 64 bytes: the
//! first 32 are the raw key of the store (AES-256 and, from it, the pages' HMAC: SQLCipher), the next 16 stand in the
//! header as the *check*, the rest is unused. All 64 are one BLAKE2b-512 output, so the check says nothing of the key. It tells a wrong
//! passphrase from a damaged store, and helps nobody to guess: a page's HMAC answers the same question at the same price.

use argon2::{Algorithm, Argon2, Params, Version};
use zeroize::Zeroizing;

use crate::error::Error;
use crate::passphrase::{Cost, Passphrase};

/// What a key is made with, beside the passphrase. Not secret.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recipe {
    pub cost: Cost,
    pub salt: [u8; 16],
    pub check: [u8; 16],
}

/// The raw key of the store; wiped when dropped. On the heap, since a value that moves leaves a copy behind.
pub struct StoreKey(Box<Zeroizing<[u8; 32]>>);

impl StoreKey {
    /// The value of `PRAGMA key` and `PRAGMA rekey`: a raw key, which SQLCipher takes without deriving.
    pub fn pragma(&self) -> Zeroizing<String> {
        let mut text = Zeroizing::new(String::with_capacity(70));
        text.push_str("\"x'");
        for byte in self.0.iter() {
            for half in [byte >> 4, byte & 15] {
                text.push(char::from_digit(u32::from(half), 16).unwrap_or('0'));
            }
        }
        text.push_str("'\"");
        text
    }
}

/// A new recipe with a random salt, and its key.
pub fn fresh(passphrase: &Passphrase, cost: Cost) -> Result<(Recipe, StoreKey), Error> {
    let mut salt = [0; 16];
    getrandom::fill(&mut salt).map_err(Error::internal)?;
    let (key, check) = derive(passphrase, cost, &salt)?;
    Ok((Recipe { cost, salt, check }, key))
}

/// The key of a recipe, or `None` if the passphrase is not the one.
pub fn open(passphrase: &Passphrase, recipe: &Recipe) -> Result<Option<StoreKey>, Error> {
    let (key, check) = derive(passphrase, recipe.cost, &recipe.salt)?;
    // Looks at all bytes, whatever the first ones are.
    let differs = check.iter().zip(&recipe.check).fold(0, |all, (a, b)| all | (a ^ b));
    Ok((differs == 0).then_some(key))
}

fn derive(passphrase: &Passphrase, cost: Cost, salt: &[u8]) -> Result<(StoreKey, [u8; 16]), Error> {
    let out = argon2id(passphrase.bytes(), cost, salt)?;
    let mut key = Box::new(Zeroizing::new([0; 32]));
    key.copy_from_slice(&out[..32]);
    let mut check = [0; 16];
    check.copy_from_slice(&out[32..48]);
    Ok((StoreKey(key), check))
}

fn argon2id(secret: &[u8], cost: Cost, salt: &[u8]) -> Result<Box<Zeroizing<[u8; 64]>>, Error> {
    let mut out = Box::new(Zeroizing::new([0; 64]));
    let params = Params::new(cost.memory_kib, cost.passes, cost.lanes, Some(64)).map_err(Error::internal)?;
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into(secret, salt, out.as_mut_slice())
        .map_err(Error::internal)?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The reference implementation, as argon2-cffi 25.1.0 wraps it:
    /// `hash_secret_raw(b"password", b"somesalt", 3, 65536, 4, 64, Type.ID)`, and with 2, 64, 1 for the smaller one.
    #[test]
    fn argon2id_is_the_reference_implementation_s() {
        let check = |cost: Cost, expected: &str| {
            let out = argon2id(b"password", cost, b"somesalt").expect("derives");
            let hex: String = out.iter().map(|b| format!("{b:02x}")).collect();
            assert_eq!(hex, expected);
        };
        check(
            Cost::STANDARD,
            "1c25171cc16aad2992685d4343518984b182f41bbefb34cd19d0a6b4795f8851\
             a4d39d368695ad56817f88e60b81828d8357f58a07cfe58cd4382cb6ca8b43b5",
        );
        check(
            Cost { memory_kib: 64, passes: 2, lanes: 1 },
            "3af1343719195f0aec85c38a855a9b7737bd6037bef7af654a0457ccecec1ed5\
             3f5f7a043e2a705432c959819f6ac62d88b570d9f767603c9c0aa39ce339ec1f",
        );
    }

    #[test]
    fn only_the_same_passphrase_opens_and_its_letters_are_normal() {
        let (recipe, key) = fresh(&Passphrase::new("caf\u{e9} au lait"), Cost::FOR_TESTS).expect("derives");
        let same = open(&Passphrase::new("cafe\u{301} au lait"), &recipe).expect("derives").expect("opens");
        assert_eq!(*key.pragma(), *same.pragma());
        assert_eq!(key.pragma().len(), 69);
        for wrong in ["cafe au lait", "café au lait ", "", "Café au lait"] {
            assert!(open(&Passphrase::new(wrong), &recipe).expect("derives").is_none(), "{wrong}");
        }
    }
}
