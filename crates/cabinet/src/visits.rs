//! Visits: photographs as they were taken, what was measured on them, corrections by hand.

use rusqlite::{Row, params};
use sha2::{Digest, Sha256};

use crate::access::{Reader, Writer, time};
use crate::consents::ConsentKind;
use crate::error::{Error, ErrorKind};
use crate::id::{ClientId, CorrectionId, MeasurementId, PhotographId, VisitId};
use crate::text::{Json, said};
use crate::time::Time;

/// The most bytes of one photograph.
pub const MOST_PHOTOGRAPH_BYTES: usize = 64 * 1024 * 1024;

/// A visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Visit {
    /// Its number.
    pub id: VisitId,
    /// Whose.
    pub client: ClientId,
    /// When it was.
    pub at: Time,
    /// Under which conditions: light, camera, distance, how they slept.
    pub conditions: Json,
}

/// A photograph without its pixels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photograph {
    /// Its number.
    pub id: PhotographId,
    /// Of which visit.
    pub visit: VisitId,
    /// Which shot of the visit.
    pub shot: String,
    /// Media type of the bytes.
    pub media: String,
    /// Width in pixels, upright.
    pub width: u32,
    /// Height in pixels, upright.
    pub height: u32,
    /// Bytes as taken.
    pub size: u64,
    /// SHA-256 of the bytes as taken.
    pub sha256: [u8; 32],
    /// When it was added.
    pub at: Time,
}

/// A photograph to be added.
#[derive(Clone, Copy)]
pub struct NewPhotograph<'b> {
    /// Which shot of the visit, as in `front`.
    pub shot: &'b str,
    /// Media type, as in `image/jpeg`.
    pub media: &'b str,
    /// Width in pixels, upright.
    pub width: u32,
    /// Height in pixels, upright.
    pub height: u32,
    /// The file's bytes as taken.
    pub bytes: &'b [u8],
}

/// What was measured on a visit or on one photograph of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Measurement {
    /// Its number.
    pub id: MeasurementId,
    /// On which photograph; none: on the visit's photographs together.
    pub photograph: Option<PhotographId>,
    /// When.
    pub at: Time,
    /// The answer of the measurement.
    pub body: Json,
}

/// Corrections by hand on a photograph; the latest holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// Its number.
    pub id: CorrectionId,
    /// When.
    pub at: Time,
    /// What was moved where.
    pub body: Json,
}

const PHOTOGRAPH: &str = "SELECT id, visit, shot, media, width, height, size, sha256, at FROM photographs";

fn visit(row: &Row<'_>) -> rusqlite::Result<Visit> {
    Ok(Visit { id: row.get(0)?, client: row.get(1)?, at: time(row, 2)?, conditions: Json::kept(row.get(3)?) })
}

fn photograph(row: &Row<'_>) -> rusqlite::Result<Photograph> {
    Ok(Photograph {
        id: row.get(0)?,
        visit: row.get(1)?,
        shot: row.get(2)?,
        media: row.get(3)?,
        width: row.get(4)?,
        height: row.get(5)?,
        size: row.get::<_, i64>(6)?.unsigned_abs(),
        sha256: row.get(7)?,
        at: time(row, 8)?,
    })
}

impl Reader<'_> {
    /// A visit.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn visit(&self, id: VisitId) -> Result<Visit, Error> {
        self.first("SELECT id, client, at, conditions FROM visits WHERE id = ?1", [id], visit)?
            .ok_or_else(|| ErrorKind::NoSuch(VisitId::WORD, id.0).into())
    }

    /// The visits of a client, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn visits(&self, client: ClientId) -> Result<Vec<Visit>, Error> {
        self.all("SELECT id, client, at, conditions FROM visits WHERE client = ?1 ORDER BY at, id", [client], visit)
    }

    /// A photograph, without its pixels.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn photograph(&self, id: PhotographId) -> Result<Photograph, Error> {
        self.first(&format!("{PHOTOGRAPH} WHERE id = ?1"), [id], photograph)?
            .ok_or_else(|| ErrorKind::NoSuch(PhotographId::WORD, id.0).into())
    }

    /// The photographs of a visit in the order they were added.
    ///
    /// # Errors
    /// Of the store.
    pub fn photographs(&self, visit: VisitId) -> Result<Vec<Photograph>, Error> {
        self.all(&format!("{PHOTOGRAPH} WHERE visit = ?1 ORDER BY id"), [visit], photograph)
    }

    /// The photograph of a visit that is these very bytes, if there is one.
    ///
    /// # Errors
    /// Of the store.
    pub fn photograph_of(&self, visit: VisitId, bytes: &[u8]) -> Result<Option<PhotographId>, Error> {
        let sha256: [u8; 32] = Sha256::digest(bytes).into();
        self.first("SELECT id FROM photographs WHERE visit = ?1 AND sha256 = ?2", (visit, sha256), |r| r.get(0))
    }

    /// Whether a client has a photograph that is these very bytes, of any visit.
    ///
    /// # Errors
    /// Of the store.
    pub fn has_photograph(&self, client: ClientId, bytes: &[u8]) -> Result<bool, Error> {
        let sha256: [u8; 32] = Sha256::digest(bytes).into();
        let sql = "SELECT EXISTS (SELECT 1 FROM visits v CROSS JOIN photographs p ON p.visit = v.id AND p.sha256 = ?2 \
                   WHERE v.client = ?1)";
        self.value(sql, (client, sha256))
    }

    /// The visits that have a photograph without a measurement, the lowest numbers first, up to `most`; and how many such photographs there are.
    ///
    /// # Errors
    /// Of the store.
    pub fn unmeasured(&self, most: u32) -> Result<(Vec<VisitId>, u64), Error> {
        let of = "FROM photographs p WHERE NOT EXISTS (SELECT 1 FROM measurements m WHERE m.photograph = p.id)";
        let count: i64 = self.value(&format!("SELECT count(*) {of}"), [])?;
        let visits = self.all(&format!("SELECT DISTINCT visit {of} ORDER BY visit LIMIT ?1"), [most], |r| r.get(0))?;
        Ok((visits, count.unsigned_abs()))
    }

    /// The bytes of a photograph as they were taken, held against their checksum.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn photograph_bytes(&self, id: PhotographId) -> Result<Vec<u8>, Error> {
        let known = self.photograph(id)?;
        let bytes: Vec<u8> = self.value("SELECT bytes FROM pixels WHERE photograph = ?1", [id])?;
        if <[u8; 32]>::from(Sha256::digest(&bytes)) != known.sha256 {
            return Err(rusqlite::Error::SqliteFailure(rusqlite::ffi::Error::new(11), None).into());
        }
        Ok(bytes)
    }

    /// The measurements of a visit, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn measurements(&self, visit: VisitId) -> Result<Vec<Measurement>, Error> {
        let sql = "SELECT id, photograph, at, body FROM measurements WHERE visit = ?1 ORDER BY id";
        self.all(sql, [visit], |row| {
            let body = Json::kept(row.get(3)?);
            Ok(Measurement { id: row.get(0)?, photograph: row.get(1)?, at: time(row, 2)?, body })
        })
    }

    /// The corrections on a photograph, oldest first; the last one holds.
    ///
    /// # Errors
    /// Of the store.
    pub fn corrections(&self, photograph: PhotographId) -> Result<Vec<Correction>, Error> {
        let sql = "SELECT id, at, body FROM corrections WHERE photograph = ?1 ORDER BY id";
        self.all(sql, [photograph], |row| {
            Ok(Correction { id: row.get(0)?, at: time(row, 1)?, body: Json::kept(row.get(2)?) })
        })
    }
}

impl Writer<'_> {
    /// Adds a visit that was at `at`.
    ///
    /// # Errors
    /// There is no such client.
    pub fn add_visit(&self, client: ClientId, at: Time, conditions: &Json) -> Result<VisitId, Error> {
        self.must_have("clients", ClientId::WORD, client.0)?;
        let sql = "INSERT INTO visits (client, at, conditions) VALUES (?1, ?2, ?3)";
        self.add(VisitId::WORD, Some(client.0), sql, (client, at.unix(), conditions.as_str())).map(VisitId)
    }

    /// Adds a photograph to a visit. The same bytes as the same shot of the same visit are kept once: the answer is the
    /// photograph that is there.
    ///
    /// # Errors
    /// There is no such visit; the client has not consented to photographs; empty or more than
    /// [`MOST_PHOTOGRAPH_BYTES`]; a side of 0 pixels.
    pub fn add_photograph(&self, visit: VisitId, new: &NewPhotograph<'_>) -> Result<PhotographId, Error> {
        let client = self.visit(visit)?.client;
        self.require(client, ConsentKind::Photographs)?;
        said("shot", new.shot)?;
        said("media type", new.media)?;
        if new.bytes.is_empty() || new.bytes.len() > MOST_PHOTOGRAPH_BYTES || new.width == 0 || new.height == 0 {
            let allowed = format!("1 byte to {MOST_PHOTOGRAPH_BYTES} and at least one pixel each way are needed");
            return Err(Error::bad("photograph", allowed));
        }
        let sha256: [u8; 32] = Sha256::digest(new.bytes).into();
        let sql = "SELECT id FROM photographs WHERE visit = ?1 AND sha256 = ?2 AND shot = ?3";
        if let Some(id) = self.first(sql, (visit, sha256, new.shot), |r| r.get(0))? {
            return Ok(id);
        }
        let sql = "INSERT INTO photographs (visit, shot, media, width, height, size, sha256, at) \
                   VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";
        let (size, now) = (new.bytes.len() as i64, self.now().unix());
        let row = params![visit, new.shot, new.media, new.width, new.height, size, sha256, now];
        let id = self.add(PhotographId::WORD, Some(client.0), sql, row)?;
        self.run("INSERT INTO pixels (photograph, bytes) VALUES (?1, ?2)", (id, new.bytes))?;
        Ok(PhotographId(id))
    }

    /// Adds a measurement of a visit, or of one photograph of it.
    ///
    /// # Errors
    /// There is no such visit, or the photograph is none of its.
    pub fn add_measurement(
        &self,
        visit: VisitId,
        photograph: Option<PhotographId>,
        body: &Json,
    ) -> Result<MeasurementId, Error> {
        let client = self.visit(visit)?.client;
        if let Some(id) = photograph
            && self.photograph(id)?.visit != visit
        {
            return Err(Error::bad("measurement", "its photograph belongs to another visit"));
        }
        let sql = "INSERT INTO measurements (visit, photograph, at, body) VALUES (?1, ?2, ?3, ?4)";
        let row = (visit, photograph, self.now().unix(), body.as_str());
        self.add(MeasurementId::WORD, Some(client.0), sql, row).map(MeasurementId)
    }

    /// Adds corrections by hand; those before stay on record.
    ///
    /// # Errors
    /// There is no such photograph.
    pub fn add_correction(&self, photograph: PhotographId, body: &Json) -> Result<CorrectionId, Error> {
        let client = self.visit(self.photograph(photograph)?.visit)?.client;
        let sql = "INSERT INTO corrections (photograph, at, body) VALUES (?1, ?2, ?3)";
        let row = (photograph, self.now().unix(), body.as_str());
        self.add(CorrectionId::WORD, Some(client.0), sql, row).map(CorrectionId)
    }

    /// Takes out a photograph with its pixels, measurements and corrections.
    ///
    /// # Errors
    /// There is no such photograph.
    pub fn remove_photograph(&self, id: PhotographId) -> Result<(), Error> {
        let client = self.visit(self.photograph(id)?.visit)?.client;
        self.remove("photographs", PhotographId::WORD, id.0, Some(client.0))
    }

    /// Takes out a visit with its photographs and measurements; its notes stay, with the client.
    ///
    /// # Errors
    /// There is no such visit.
    pub fn remove_visit(&self, id: VisitId) -> Result<(), Error> {
        let client = self.visit(id)?.client;
        self.remove("visits", VisitId::WORD, id.0, Some(client.0))
    }
}
