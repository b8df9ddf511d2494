//! What the tests share: a folder that goes away, a cabinet in it, people who do not exist.
#![allow(dead_code, reason = "each test file uses its part")]

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use cabinet::{Cabinet, ClientId, ConsentKind, Cost, Details, Json, NewPhotograph, Passphrase, Time, Toml, VisitId};

/// 2023-11-14T22:13:20Z.
pub fn now() -> Time {
    Time::from_unix(1_700_000_000)
}

pub fn words() -> Passphrase {
    Passphrase::new("horse lamp river seven")
}

/// An empty folder under the temporary folder; gone when dropped.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new(name: &str) -> Folder {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let unique = format!("cabinet-{name}-{}-{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed));
        let path = std::env::temp_dir().join(unique);
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).expect("a temporary folder");
        Folder(path)
    }

    pub fn path(&self) -> &Path {
        &self.0
    }

    /// Where the cabinet goes.
    pub fn cabinet(&self) -> PathBuf {
        self.0.join("practice")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A new cabinet at the least cost of its key.
pub fn made(folder: &Folder) -> Cabinet {
    Cabinet::create(&folder.cabinet(), &words(), Cost::FOR_TESTS, now()).expect("a new cabinet")
}

pub fn named(name: &str) -> Details {
    Details { name: name.to_owned(), ..Details::default() }
}

pub fn json(text: &str) -> Json {
    Json::new(text).expect("JSON")
}

pub fn toml(text: &str) -> Toml {
    Toml::new(text).expect("TOML")
}

/// A client with a visit and the consents that photographs need.
pub fn visited(cabinet: &Cabinet, name: &str) -> (ClientId, VisitId) {
    cabinet
        .write(now(), |w| {
            let client = w.add_client(&named(name))?;
            w.record_consent(client, ConsentKind::Care, true, now(), "care 1")?;
            w.record_consent(client, ConsentKind::Photographs, true, now(), "photographs 1")?;
            Ok((client, w.add_visit(client, now(), &json("{}"))?))
        })
        .expect("a client with a visit")
}

pub fn photograph(bytes: &[u8]) -> NewPhotograph<'_> {
    NewPhotograph { shot: "front", media: "image/jpeg", width: 4, height: 3, bytes }
}
