//! The whole practice in open formats: a folder with JSON, CSV and the photographs. It is not encrypted; that is its purpose.
//!
//! ```text
//! README.txt                       what is what
//! clients.csv consents.csv intakes.csv visits.csv sessions.csv notes.csv weeks.csv home_notes.csv
//! readings.csv courses.csv
//! clients/client-000012.json       everything about one client
//! photographs/client-000012/…      JPEG, PNG and WebP without place and device; HEIC as it was
//! practice.json                    own atlas, routines of no client, courses, texts, films, own rules, settings, the change log
//! ```

mod json;
mod strip;
mod tables;

use std::fs;
use std::path::Path;

use crate::access::Reader;
use crate::cabinet::Cabinet;
use crate::error::{Error, ErrorKind};
use crate::id::{ClientId, PhotographId};
use crate::place::{entries, make_folder, rename};

pub use self::strip::{Stripped, without_metadata};
use self::tables::Tables;
pub(crate) use self::tables::is_formula;

const README: &str = include_str!("README.txt");

/// What an export wrote.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Exported {
    /// Clients.
    pub clients: usize,
    /// Photographs.
    pub photographs: usize,
    /// Photographs that still carry what the camera wrote into them (place, device): formats whose metadata this does not take
    /// apart. Look at them before they are passed on.
    pub with_metadata: Vec<PhotographId>,
}

impl Cabinet {
    /// Writes everything into a folder, new or empty, in clear. It holds one moment; others may read and write meanwhile.
    /// It is written beside the folder first, as `NAME.unfinished`: a program that is killed meanwhile leaves that behind, in
    /// clear; the next export of the same name takes it away.
    ///
    /// # Errors
    /// It is locked; the folder is not empty; the disk. Nothing stays of an export that was cut off by an error.
    pub fn export(&self, folder: &Path) -> Result<Exported, Error> {
        self.export_these(folder, None)
    }

    /// Writes everything about one client into a folder, new or empty, in clear: for the client, who may ask for it.
    ///
    /// # Errors
    /// As [`Cabinet::export`]; there is no such client.
    pub fn export_client(&self, folder: &Path, client: ClientId) -> Result<Exported, Error> {
        self.read(|r| r.client(client).map(drop))?;
        self.export_these(folder, Some(client))
    }

    /// Hands the files of an export out one by one, each whole: its path inside of the export, with `/` between the parts, and
    /// its bytes. Nothing is written anywhere. At any time one photograph, one client and the tables are in memory. The moment that it
    /// shows, and the cabinet's lock, wait until the last file is taken.
    ///
    /// # Errors
    /// As [`Cabinet::export`] and [`Cabinet::export_client`]; whatever `take` answers with ends it.
    pub fn export_to(&self, only: Option<ClientId>, take: &mut Take<'_>) -> Result<Exported, Error> {
        self.read(|r| {
            if let Some(id) = only {
                r.client(id)?;
            }
            write(r, take, only)
        })
    }

    fn export_these(&self, folder: &Path, only: Option<ClientId>) -> Result<Exported, Error> {
        if folder.exists() {
            if !folder.is_dir() || !entries(folder)?.is_empty() {
                return Err(ErrorKind::NotEmpty(folder.to_owned()).into());
            }
            fs::remove_dir(folder).map_err(|e| Error::io(folder, &e))?;
        }
        let mut name = folder.file_name().unwrap_or_default().to_owned();
        name.push(".unfinished");
        let unfinished = folder.with_file_name(name);
        if unfinished.exists() {
            fs::remove_dir_all(&unfinished).map_err(|e| Error::io(&unfinished, &e))?;
        }
        let mut take = |path: &str, bytes: &[u8]| put(&unfinished.join(path), bytes);
        let written = make_folder(&unfinished).and_then(|()| self.read(|r| write(r, &mut take, only)));
        match written {
            Ok(exported) => rename(&unfinished, folder).map(|()| exported),
            Err(error) => {
                let _ = fs::remove_dir_all(&unfinished);
                Err(error)
            }
        }
    }
}

/// Takes one file of an export.
pub type Take<'t> = dyn FnMut(&str, &[u8]) -> Result<(), Error> + 't;

fn write(r: &Reader<'_>, take: &mut Take<'_>, only: Option<ClientId>) -> Result<Exported, Error> {
    take("README.txt", README.as_bytes())?;
    let mut tables = Tables::new();
    let mut exported = Exported::default();
    let ids = match only {
        Some(id) => vec![id],
        None => r.all("SELECT id FROM clients ORDER BY id", [], |row| row.get(0))?,
    };
    for id in ids {
        let name = format!("client-{:06}", id.number());
        let mut pictures = Vec::new();
        for visit in r.visits(id)? {
            for photo in r.photographs(visit.id)? {
                let stripped = without_metadata(&r.photograph_bytes(photo.id)?);
                let file = format!("photographs/{name}/photograph-{:06}.{}", photo.id.number(), stripped.ending());
                take(&file, stripped.bytes())?;
                if !stripped.is_clean() {
                    exported.with_metadata.push(photo.id);
                }
                pictures.push((photo.id, file));
                exported.photographs += 1;
            }
        }
        let whole = json::client(r, id, &pictures)?;
        take(&format!("clients/{name}.json"), &json::pretty(&whole)?)?;
        tables.add(r, id)?;
        exported.clients += 1;
    }
    for (name, bytes) in tables.finish()? {
        take(name, &bytes)?;
    }
    if only.is_none() {
        take("practice.json", &json::pretty(&json::practice(r)?)?)?;
    }
    Ok(exported)
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    if let Some(folder) = path.parent() {
        make_folder(folder)?;
    }
    fs::write(path, bytes).map_err(|e| Error::io(path, &e))
}
