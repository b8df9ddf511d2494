//! Routines with their versions, sessions that ran one, and the practitioner's own atlas.

use rusqlite::Row;

use crate::access::{Done, Reader, Writer, time};
use crate::error::{Error, ErrorKind};
use crate::id::{AtlasId, ClientId, RoutineId, SessionId, VersionId};
use crate::text::{Json, Toml, quiet, said};
use crate::time::Time;

quiet!(Routine, AtlasPart);

/// A routine; what it consists of stands in its versions.
#[derive(Clone, PartialEq, Eq)]
pub struct Routine {
    /// Its number.
    pub id: RoutineId,
    /// Whose it is, if it is bound to a client.
    pub client: Option<ClientId>,
    /// Its name.
    pub name: String,
    /// When it was begun.
    pub created: Time,
    /// Its latest version's number, 0 before there is one.
    pub versions: u32,
}

/// A version of a routine. It never changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Version {
    /// Its number among all versions.
    pub id: VersionId,
    /// Of which routine.
    pub routine: RoutineId,
    /// 1, 2, 3 … inside of the routine.
    pub number: u32,
    /// When it was saved.
    pub at: Time,
    /// The routine as the planner and the checker read it.
    pub body: Toml,
}

/// A session that was run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// Its number.
    pub id: SessionId,
    /// With whom; none: on oneself or to a class.
    pub client: Option<ClientId>,
    /// Which version it ran.
    pub version: VersionId,
    /// When it began.
    pub at: Time,
    /// What was done and for how long.
    pub log: Json,
    /// What was felt where.
    pub felt: Json,
}

/// One state of a part of the practitioner's own atlas.
#[derive(Clone, PartialEq, Eq)]
pub struct AtlasPart {
    /// Its number.
    pub id: AtlasId,
    /// Which part: points, lines, techniques, tools, products.
    pub name: String,
    /// When it was saved.
    pub at: Time,
    /// The part as the atlas reads it.
    pub body: Toml,
}

const ROUTINE: &str = "SELECT r.id, r.client, r.name, r.created, \
                       coalesce((SELECT max(number) FROM routine_versions v WHERE v.routine = r.id), 0) FROM routines r";
const VERSION: &str = "SELECT id, routine, number, at, body FROM routine_versions";
const SESSION: &str = "SELECT id, client, version, at, log, felt FROM sessions";

fn routine(row: &Row<'_>) -> rusqlite::Result<Routine> {
    Ok(Routine {
        id: row.get(0)?,
        client: row.get(1)?,
        name: row.get(2)?,
        created: time(row, 3)?,
        versions: row.get(4)?,
    })
}

fn version(row: &Row<'_>) -> rusqlite::Result<Version> {
    let body = Toml::kept(row.get(4)?);
    Ok(Version { id: row.get(0)?, routine: row.get(1)?, number: row.get(2)?, at: time(row, 3)?, body })
}

fn session(row: &Row<'_>) -> rusqlite::Result<Session> {
    Ok(Session {
        id: row.get(0)?,
        client: row.get(1)?,
        version: row.get(2)?,
        at: time(row, 3)?,
        log: Json::kept(row.get(4)?),
        felt: Json::kept(row.get(5)?),
    })
}

fn part(row: &Row<'_>) -> rusqlite::Result<AtlasPart> {
    Ok(AtlasPart { id: row.get(0)?, name: row.get(1)?, at: time(row, 2)?, body: Toml::kept(row.get(3)?) })
}

impl Reader<'_> {
    /// A routine.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn routine(&self, id: RoutineId) -> Result<Routine, Error> {
        self.first(&format!("{ROUTINE} WHERE r.id = ?1"), [id], routine)?
            .ok_or_else(|| ErrorKind::NoSuch(RoutineId::WORD, id.0).into())
    }

    /// The routines of a client, or with `None` those that belong to no client.
    ///
    /// # Errors
    /// Of the store.
    pub fn routines(&self, client: Option<ClientId>) -> Result<Vec<Routine>, Error> {
        self.all(&format!("{ROUTINE} WHERE r.client IS ?1 ORDER BY r.id"), [client], routine)
    }

    /// A version.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn version(&self, id: VersionId) -> Result<Version, Error> {
        self.first(&format!("{VERSION} WHERE id = ?1"), [id], version)?
            .ok_or_else(|| ErrorKind::NoSuch(VersionId::WORD, id.0).into())
    }

    /// The versions of a routine, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn versions(&self, routine: RoutineId) -> Result<Vec<Version>, Error> {
        self.all(&format!("{VERSION} WHERE routine = ?1 ORDER BY number"), [routine], version)
    }

    /// The sessions of a client, or with `None` those without one, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn sessions(&self, client: Option<ClientId>) -> Result<Vec<Session>, Error> {
        self.all(&format!("{SESSION} WHERE client IS ?1 ORDER BY at, id"), [client], session)
    }

    /// A session.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn session(&self, id: SessionId) -> Result<Session, Error> {
        self.first(&format!("{SESSION} WHERE id = ?1"), [id], session)?
            .ok_or_else(|| ErrorKind::NoSuch(SessionId::WORD, id.0).into())
    }

    /// The latest session of a client: what was felt last time.
    ///
    /// # Errors
    /// Of the store.
    pub fn last_session(&self, client: ClientId) -> Result<Option<Session>, Error> {
        self.first(&format!("{SESSION} WHERE client = ?1 ORDER BY at DESC, id DESC LIMIT 1"), [client], session)
    }

    /// The latest state of each part of the practitioner's own atlas, by name.
    ///
    /// # Errors
    /// Of the store.
    pub fn atlas(&self) -> Result<Vec<AtlasPart>, Error> {
        let sql = "SELECT id, name, at, body FROM atlas_parts p \
                   WHERE id = (SELECT max(id) FROM atlas_parts l WHERE l.name = p.name) ORDER BY name";
        self.all(sql, [], part)
    }

    /// Every state of one part, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn atlas_history(&self, name: &str) -> Result<Vec<AtlasPart>, Error> {
        self.all("SELECT id, name, at, body FROM atlas_parts WHERE name = ?1 ORDER BY id", [name], part)
    }

    /// Refuses a version whose routine is bound to another client.
    pub(crate) fn must_be_theirs(&self, version: VersionId, client: Option<ClientId>) -> Result<(), Error> {
        let bound = self.routine(self.version(version)?.routine)?.client;
        if bound.is_some() && bound != client { Err(ErrorKind::NotTheirs.into()) } else { Ok(()) }
    }
}

impl Writer<'_> {
    /// Begins a routine, for a client or for all.
    ///
    /// # Errors
    /// The name is empty, or there is no such client.
    pub fn add_routine(&self, client: Option<ClientId>, name: &str) -> Result<RoutineId, Error> {
        said("routine's name", name)?;
        if let Some(id) = client {
            self.must_have("clients", ClientId::WORD, id.0)?;
        }
        let sql = "INSERT INTO routines (client, name, created) VALUES (?1, ?2, ?3)";
        let row = (client, name, self.now().unix());
        self.add(RoutineId::WORD, client.map(|c| c.0), sql, row).map(RoutineId)
    }

    /// Saves a routine as its next version. The same text as the latest makes no new one: the answer is the latest.
    ///
    /// # Errors
    /// There is no such routine.
    pub fn add_version(&self, routine: RoutineId, body: &Toml) -> Result<VersionId, Error> {
        let known = self.routine(routine)?;
        let sql = format!("{VERSION} WHERE routine = ?1 ORDER BY number DESC LIMIT 1");
        if let Some(latest) = self.first(&sql, [routine], version)?
            && latest.body == *body
        {
            return Ok(latest.id);
        }
        let sql = "INSERT INTO routine_versions (routine, number, at, body) VALUES (?1, ?2, ?3, ?4)";
        let row = (routine, known.versions + 1, self.now().unix(), body.as_str());
        self.add(VersionId::WORD, known.client.map(|c| c.0), sql, row).map(VersionId)
    }

    /// Gives a routine another name; its versions stay as they are.
    ///
    /// # Errors
    /// The name is empty, or there is no such routine.
    pub fn rename_routine(&self, id: RoutineId, name: &str) -> Result<(), Error> {
        said("routine's name", name)?;
        let whose = self.routine(id)?.client;
        self.run("UPDATE routines SET name = ?2 WHERE id = ?1", (id, name))?;
        self.log(Done::Changed, RoutineId::WORD, Some(id.0), whose.map(|c| c.0))
    }

    /// Takes out a session.
    ///
    /// # Errors
    /// There is no such session.
    pub fn remove_session(&self, id: SessionId) -> Result<(), Error> {
        let whose = self.first("SELECT client FROM sessions WHERE id = ?1", [id], |r| r.get(0))?.flatten();
        self.remove("sessions", SessionId::WORD, id.0, whose)
    }

    /// Adds a session that began at `at`.
    ///
    /// # Errors
    /// There is no such client or version, or the version's routine belongs to another client.
    pub fn add_session(
        &self,
        client: Option<ClientId>,
        version: VersionId,
        at: Time,
        log: &Json,
        felt: &Json,
    ) -> Result<SessionId, Error> {
        if let Some(id) = client {
            self.must_have("clients", ClientId::WORD, id.0)?;
        }
        self.must_be_theirs(version, client)?;
        let sql = "INSERT INTO sessions (client, version, at, log, felt) VALUES (?1, ?2, ?3, ?4, ?5)";
        let row = (client, version, at.unix(), log.as_str(), felt.as_str());
        self.add(SessionId::WORD, client.map(|c| c.0), sql, row).map(SessionId)
    }

    /// Replaces log and felt of a session that goes on. A session is written every few seconds: the change log says when it was
    /// changed last, not how often.
    ///
    /// # Errors
    /// There is no such session.
    pub fn update_session(&self, id: SessionId, log: &Json, felt: &Json) -> Result<(), Error> {
        let client = self.session(id)?.client.map(|c| c.0);
        self.run("UPDATE sessions SET log = ?2, felt = ?3 WHERE id = ?1", (id, log.as_str(), felt.as_str()))?;
        let (kind, done, now) = (SessionId::WORD, Done::Changed.word(), self.now().unix());
        let sql = "UPDATE changes SET at = ?1 WHERE client IS ?2 AND kind = ?3 AND item = ?4 AND done = ?5";
        if self.run(sql, (now, client, kind, id.0, done))? == 0 {
            self.log(Done::Changed, kind, Some(id.0), client)?;
        }
        Ok(())
    }

    /// Saves a part of the practitioner's own atlas; the states before stay on record.
    ///
    /// # Errors
    /// The name is empty.
    pub fn save_atlas(&self, name: &str, body: &Toml) -> Result<AtlasId, Error> {
        said("name of an atlas part", name)?;
        let sql = "INSERT INTO atlas_parts (name, at, body) VALUES (?1, ?2, ?3)";
        self.add(AtlasId::WORD, None, sql, (name, self.now().unix(), body.as_str())).map(AtlasId)
    }
}
