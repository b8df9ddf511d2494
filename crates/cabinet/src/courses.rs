//! Courses: many clients with one plan. Everybody who joined stays in; who is left out of the numbers has a reason on record.

use rusqlite::Row;
use vocab::Date;

use crate::access::{Done, Reader, Writer, date, time};
use crate::error::{Error, ErrorKind};
use crate::id::{ClientId, CourseId};
use crate::text::{Json, quiet, said};
use crate::time::Time;

quiet!(CourseMember, CourseWord, LeftOut);

/// A course.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// Its number.
    pub id: CourseId,
    /// Its name.
    pub name: String,
    /// The first worked day.
    pub first: Date,
    /// How many days, 1 to 366.
    pub days: u16,
    /// When it was made.
    pub at: Time,
    /// The plan.
    pub body: Json,
    /// Members whose whole record was erased; nothing else is known of them.
    pub erased: u32,
}

/// That somebody is left out of a course's numbers.
#[derive(Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Since when.
    pub at: Time,
    /// Why, in words.
    pub reason: String,
}

/// A member of a course.
#[derive(Clone, PartialEq, Eq)]
pub struct CourseMember {
    /// Who.
    pub client: ClientId,
    /// Their name.
    pub name: String,
    /// When they were added.
    pub joined: Time,
    /// That they are left out of the numbers, where they are.
    pub left_out: Option<LeftOut>,
}

/// A leaving out or a taking back, as it was recorded.
#[derive(Clone, PartialEq, Eq)]
pub struct CourseWord {
    /// Of whom.
    pub client: ClientId,
    /// When.
    pub at: Time,
    /// Left out; or taken back in.
    pub left_out: bool,
    /// Why, in words.
    pub reason: String,
}

const COURSE: &str = "SELECT id, name, first, days, at, body, erased FROM courses";

const MEMBER: &str = "SELECT m.client, c.name, m.joined, w.at, w.reason FROM course_members m \
                      JOIN clients c ON c.id = m.client LEFT JOIN course_words w ON w.id = m.left_out";

fn course(row: &Row<'_>) -> rusqlite::Result<Course> {
    Ok(Course {
        id: row.get(0)?,
        name: row.get(1)?,
        first: date(row, 2)?,
        days: row.get(3)?,
        at: time(row, 4)?,
        body: Json::kept(row.get(5)?),
        erased: row.get(6)?,
    })
}

fn member(row: &Row<'_>) -> rusqlite::Result<CourseMember> {
    let left_out = match row.get::<_, Option<i64>>(3)? {
        None => None,
        Some(at) => Some(LeftOut { at: Time::from_unix(at), reason: row.get(4)? }),
    };
    Ok(CourseMember { client: row.get(0)?, name: row.get(1)?, joined: time(row, 2)?, left_out })
}

impl Reader<'_> {
    /// All courses, the latest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn courses(&self) -> Result<Vec<Course>, Error> {
        self.all(&format!("{COURSE} ORDER BY first DESC, id DESC"), [], course)
    }

    /// A course.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn course(&self, id: CourseId) -> Result<Course, Error> {
        self.first(&format!("{COURSE} WHERE id = ?1"), [id], course)?
            .ok_or_else(|| ErrorKind::NoSuch(CourseId::WORD, id.0).into())
    }

    /// Everybody who joined a course, by number of the client; nobody is missing but whose record was erased.
    ///
    /// # Errors
    /// Of the store.
    pub fn course_members(&self, id: CourseId) -> Result<Vec<CourseMember>, Error> {
        self.all(&format!("{MEMBER} WHERE m.course = ?1 ORDER BY m.client"), [id], member)
    }

    /// How many joined a course and are known still.
    ///
    /// # Errors
    /// Of the store.
    pub fn course_size(&self, id: CourseId) -> Result<u64, Error> {
        self.value::<i64>("SELECT count(*) FROM course_members WHERE course = ?1", [id]).map(i64::unsigned_abs)
    }

    /// Whether somebody is a member of a course.
    ///
    /// # Errors
    /// Of the store.
    pub fn is_in_course(&self, id: CourseId, client: ClientId) -> Result<bool, Error> {
        self.value("SELECT EXISTS (SELECT 1 FROM course_members WHERE course = ?1 AND client = ?2)", (id, client))
    }

    /// The courses that a client joined, the latest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn courses_of(&self, client: ClientId) -> Result<Vec<(Course, CourseMember)>, Error> {
        let ids: Vec<CourseId> =
            self.all("SELECT course FROM course_members WHERE client = ?1 ORDER BY course DESC", [client], |r| {
                r.get(0)
            })?;
        let sql = format!("{MEMBER} WHERE m.course = ?1 AND m.client = ?2");
        let mut found = Vec::new();
        for id in ids {
            let theirs = self.first(&sql, (id, client), member)?;
            found.extend(theirs.map(|m| Ok::<_, Error>((self.course(id)?, m))).transpose()?);
        }
        Ok(found)
    }

    /// Every leaving out and taking back of a course, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn course_words(&self, id: CourseId) -> Result<Vec<CourseWord>, Error> {
        let sql = "SELECT client, at, left_out, reason FROM course_words WHERE course = ?1 ORDER BY id";
        self.all(sql, [id], |row| {
            Ok(CourseWord { client: row.get(0)?, at: time(row, 1)?, left_out: row.get(2)?, reason: row.get(3)? })
        })
    }
}

fn bounds(name: &str, days: u16) -> Result<(), Error> {
    said("course's name", name)?;
    if (1..=366).contains(&days) { Ok(()) } else { Err(Error::bad("course", "1 to 366 days are possible")) }
}

impl Writer<'_> {
    /// Adds a course, without anybody in it yet.
    ///
    /// # Errors
    /// The name is empty; not 1 to 366 days.
    pub fn add_course(&self, name: &str, first: Date, days: u16, body: &Json) -> Result<CourseId, Error> {
        bounds(name, days)?;
        let sql = "INSERT INTO courses (name, first, days, at, body) VALUES (?1, ?2, ?3, ?4, ?5)";
        let row = (name.trim(), first.to_string(), days, self.now().unix(), body.as_str());
        self.add(CourseId::WORD, None, sql, row).map(CourseId)
    }

    /// Gives a course another name, first day, length or plan. Whether a plan may still be changed is the caller's to know.
    ///
    /// # Errors
    /// There is no such course; the name is empty; not 1 to 366 days.
    pub fn change_course(&self, id: CourseId, name: &str, first: Date, days: u16, body: &Json) -> Result<(), Error> {
        bounds(name, days)?;
        self.course(id)?;
        let row = (id, name.trim(), first.to_string(), days, body.as_str());
        self.run("UPDATE courses SET name = ?2, first = ?3, days = ?4, body = ?5 WHERE id = ?1", row)?;
        self.log(Done::Changed, CourseId::WORD, Some(id.0), None)
    }

    /// Takes out a course that nobody ever joined.
    ///
    /// # Errors
    /// There is no such course, or somebody joined it.
    pub fn remove_course(&self, id: CourseId) -> Result<(), Error> {
        let known = self.course(id)?;
        if known.erased > 0 || self.course_size(id)? > 0 {
            return Err(ErrorKind::Unchangeable("course that somebody joined").into());
        }
        self.remove("courses", CourseId::WORD, id.0, None)
    }

    /// Puts a client into a course; answers whether they were not in it before. They stay in it.
    ///
    /// # Errors
    /// There is no such course or client.
    pub fn join_course(&self, id: CourseId, client: ClientId) -> Result<bool, Error> {
        self.must_have("courses", CourseId::WORD, id.0)?;
        self.must_have("clients", ClientId::WORD, client.0)?;
        let sql = "INSERT OR IGNORE INTO course_members (course, client, joined) VALUES (?1, ?2, ?3)";
        let new = self.run(sql, (id, client, self.now().unix()))? == 1;
        if new {
            self.log(Done::Changed, CourseId::WORD, Some(id.0), Some(client.0))?;
        }
        Ok(new)
    }

    /// Leaves a member out of a course's numbers, for a reason that is on record from now on.
    ///
    /// # Errors
    /// There are no words; they are no member, or left out already.
    pub fn leave_out(&self, id: CourseId, client: ClientId, reason: &str) -> Result<(), Error> {
        self.say(id, client, true, reason)
    }

    /// Takes a member back into a course's numbers; both are on record.
    ///
    /// # Errors
    /// There are no words; they are no member, or not left out.
    pub fn take_back(&self, id: CourseId, client: ClientId, reason: &str) -> Result<(), Error> {
        self.say(id, client, false, reason)
    }

    fn say(&self, id: CourseId, client: ClientId, leave: bool, reason: &str) -> Result<(), Error> {
        said("reason", reason)?;
        let sql = "SELECT left_out IS NOT NULL FROM course_members WHERE course = ?1 AND client = ?2";
        let Some(is_out) = self.first(sql, (id, client), |r| r.get::<_, bool>(0))? else {
            return Err(ErrorKind::NoSuch("member of the course", client.0).into());
        };
        if is_out == leave {
            let what = if is_out { "member who is left out already" } else { "member who is not left out" };
            return Err(ErrorKind::Unchangeable(what).into());
        }
        let sql = "INSERT INTO course_words (course, client, at, left_out, reason) VALUES (?1, ?2, ?3, ?4, ?5)";
        let words = self.insert(sql, (id, client, self.now().unix(), leave, reason.trim()))?;
        let sql = "UPDATE course_members SET left_out = ?3 WHERE course = ?1 AND client = ?2";
        self.run(sql, (id, client, leave.then_some(words)))?;
        self.log(Done::Changed, CourseId::WORD, Some(id.0), Some(client.0))
    }
}

#[cfg(test)]
mod tests {
    use rusqlite::Connection;

    use super::*;
    use crate::clients::Details;
    use crate::{conn, migrate};

    /// What no page and no method does, the schema refuses as well: a mistake of the program leaves nobody out in silence.
    #[test]
    fn the_schema_itself_lets_nobody_out_without_words() {
        let mut plain = Connection::open_in_memory().expect("opens");
        conn::settings(&plain).expect("settings");
        migrate::to_latest(&mut plain, std::path::Path::new("")).expect("migrated");
        let w = Writer::new(&plain, Time::from_unix(0));
        let course = w.add_course("c", w.now().date(), 28, &Json::new("1").expect("JSON")).expect("added");
        let [ana, bo] = ["Ana", "Bo"].map(|name| {
            let client = w.add_client(&Details { name: name.into(), ..Details::default() }).expect("added");
            assert!(w.join_course(course, client).expect("joined"));
            client
        });
        w.leave_out(course, bo, "why").expect("left out");
        let standing = || r_standing(&w, course);
        let before = standing();
        for sql in [
            "DELETE FROM course_members WHERE client = 1",
            "DELETE FROM course_members",
            "DELETE FROM course_words",
            "DELETE FROM courses",
            "UPDATE course_members SET left_out = 1 WHERE client = 1",
            "UPDATE course_members SET left_out = 99 WHERE client = 1",
            "UPDATE course_members SET left_out = NULL WHERE client = 2",
            "UPDATE course_members SET client = 9 WHERE client = 1",
            "UPDATE course_members SET course = 9 WHERE client = 1",
            "UPDATE course_words SET reason = 'another'",
            "UPDATE course_words SET left_out = 0",
            "INSERT INTO course_words (course, client, at, left_out, reason) VALUES (1, 1, 0, 1, ' ')",
            "INSERT OR REPLACE INTO course_members (course, client, joined, left_out) VALUES (1, 1, 0, 1)",
        ] {
            assert!(w.run(sql, []).is_err(), "{sql}");
            assert_eq!(standing(), before, "{sql}");
        }
        assert_eq!(before, [(ana, None), (bo, Some("why".to_owned()))]);
        crate::erase::erase(&w, bo).expect("an erasure passes");
        assert_eq!((standing().len(), w.course(course).expect("there").erased), (1, 1));
    }

    fn r_standing(r: &Reader<'_>, course: CourseId) -> Vec<(ClientId, Option<String>)> {
        let members = r.course_members(course).expect("read");
        members.into_iter().map(|m| (m.client, m.left_out.map(|l| l.reason))).collect()
    }
}
