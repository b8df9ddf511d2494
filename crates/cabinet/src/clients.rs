//! Clients: who they are, in lists and under a search.

use rusqlite::{Row, params};
use vocab::{Date, folded};

use crate::access::{Done, Reader, Writer, choice, time, unreadable, word_of};
use crate::error::{Error, ErrorKind};
use crate::id::ClientId;
use crate::text::{bounded, quiet, said};
use crate::time::Time;

quiet!(Details, OwnTone, Client, Line, Place);

/// The longest name, in characters.
pub const LONGEST_NAME: usize = 200;

/// When somebody was born, as exactly as they care to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Birth {
    /// The year, 1850 to 2200.
    Year(u16),
    /// The day.
    Day(Date),
}

impl Birth {
    /// Reads `YYYY` or `YYYY-MM-DD`.
    pub fn parse(text: &str) -> Option<Birth> {
        if text.len() == 4 && text.bytes().all(|b| b.is_ascii_digit()) {
            return text.parse().ok().filter(|y| (1850..=2200).contains(y)).map(Birth::Year);
        }
        Date::parse(text).filter(|d| ("1850-01-01"..="2200-12-31").contains(&d.to_string().as_str())).map(Birth::Day)
    }

    /// The year.
    pub fn year(self) -> u16 {
        match self {
            Birth::Year(year) => year,
            Birth::Day(day) => day.to_string()[..4].parse().unwrap_or(0),
        }
    }
}

impl std::fmt::Display for Birth {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Birth::Year(year) => write!(f, "{year:04}"),
            Birth::Day(day) => day.fmt(f),
        }
    }
}

/// The hands somebody can work on their own face with; left and right are their own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Hands {
    /// Both.
    #[default]
    Both,
    /// The left alone.
    Left,
    /// The right alone.
    Right,
}

impl Hands {
    const ALL: [(Hands, &'static str); 3] = [(Hands::Both, "both"), (Hands::Left, "left"), (Hands::Right, "right")];

    /// The word in files.
    pub fn word(self) -> &'static str {
        word_of(&Hands::ALL, self)
    }
}

/// What a person says of themselves at the desk. Everything but the name may be empty.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Details {
    /// The name as they write it, up to [`LONGEST_NAME`] characters.
    pub name: String,
    /// Year or day of birth.
    pub birth: Option<Birth>,
    /// A language tag (BCP 47), or empty.
    pub language: String,
    /// Mail address.
    pub email: String,
    /// Telephone.
    pub phone: String,
    /// Postal address, lines parted by line ends.
    pub address: String,
    /// The practitioner's own words.
    pub notes: String,
    /// Hands that can work.
    pub hands: Hands,
}

impl Details {
    /// Refuses what can't be kept.
    ///
    /// # Errors
    /// The first field that is out of its bounds.
    pub fn check(&self) -> Result<(), Error> {
        said("name", &self.name)?;
        let length = self.name.chars().count();
        if length > LONGEST_NAME {
            return Err(Error::bad("name", format!("it has {length} characters, at most {LONGEST_NAME} are kept")));
        }
        let tag = self.language.len() <= 35 && self.language.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
        if !tag {
            return Err(Error::bad("language", "a language tag is needed, as in `en`, `de` or `pt-BR`"));
        }
        bounded("mail address", &self.email)?;
        bounded("telephone", &self.phone)?;
        bounded("address", &self.address)?;
        bounded("notes", &self.notes)
    }
}

/// A person's own tone, fixed at the first visit: later photographs are read with it.
#[derive(Clone, PartialEq)]
pub struct OwnTone {
    /// The class, by the word that the measurement uses.
    pub class: String,
    /// Individual typology angle in degrees, -90 to 90, if it was measured.
    pub ita: Option<f64>,
    /// When it was fixed.
    pub at: Time,
}

/// A client.
#[derive(Clone, PartialEq)]
pub struct Client {
    /// Their number.
    pub id: ClientId,
    /// What they said.
    pub details: Details,
    /// Their own tone, once it is fixed.
    pub tone: Option<OwnTone>,
    /// When they were added.
    pub created: Time,
    /// When their details last changed.
    pub changed: Time,
}

/// A line of the list of clients.
#[derive(Clone, PartialEq, Eq)]
pub struct Line {
    /// Their number.
    pub id: ClientId,
    /// Their name.
    pub name: String,
    /// When they were born.
    pub birth: Option<Birth>,
    /// Their latest visit.
    pub last_visit: Option<Time>,
    /// Where the list goes on after this line.
    pub place: Place,
}

/// A place in the list of clients, which is in the order of the folded names.
#[derive(Clone, PartialEq, Eq)]
pub struct Place(String, i64);

const CLIENT: &str = "SELECT id, name, birth, language, email, phone, address, notes, hands, tone_class, tone_ita, \
                      tone_at, created, changed FROM clients";

fn client(row: &Row<'_>) -> rusqlite::Result<Client> {
    let class: Option<String> = row.get(9)?;
    let tone = match class {
        Some(class) => Some(OwnTone { class, ita: row.get(10)?, at: time(row, 11)? }),
        None => None,
    };
    Ok(Client {
        id: row.get(0)?,
        details: Details {
            name: row.get(1)?,
            birth: birth(row, 2)?,
            language: row.get(3)?,
            email: row.get(4)?,
            phone: row.get(5)?,
            address: row.get(6)?,
            notes: row.get(7)?,
            hands: choice(&Hands::ALL, row, 8)?,
        },
        tone,
        created: time(row, 12)?,
        changed: time(row, 13)?,
    })
}

fn birth(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<Birth>> {
    let text: Option<String> = row.get(column)?;
    text.map(|t| Birth::parse(&t).ok_or_else(|| unreadable(column))).transpose()
}

fn line(row: &Row<'_>) -> rusqlite::Result<Line> {
    let (id, folded): (ClientId, String) = (row.get(0)?, row.get(4)?);
    let last_visit = row.get::<_, Option<i64>>(3)?.map(Time::from_unix);
    Ok(Line { id, name: row.get(1)?, birth: birth(row, 2)?, last_visit, place: Place(folded, id.number()) })
}

const LINE: &str = "SELECT c.id, c.name, c.birth, \
                    (SELECT v.at FROM visits v WHERE v.client = c.id ORDER BY v.at DESC LIMIT 1), c.folded";

impl Reader<'_> {
    /// A client.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn client(&self, id: ClientId) -> Result<Client, Error> {
        self.first(&format!("{CLIENT} WHERE id = ?1"), [id], client)?
            .ok_or_else(|| ErrorKind::NoSuch(ClientId::WORD, id.number()).into())
    }

    /// How many clients there are.
    ///
    /// # Errors
    /// Of the store.
    pub fn client_count(&self) -> Result<u64, Error> {
        Ok(self.value::<i64>("SELECT count(*) FROM clients", [])?.unsigned_abs())
    }

    /// Up to `most` clients in the order of their names, after a place in the list or from its beginning.
    ///
    /// # Errors
    /// Of the store.
    pub fn clients(&self, after: Option<&Place>, most: u32) -> Result<Vec<Line>, Error> {
        let start = Place(String::new(), 0);
        let Place(name, id) = after.unwrap_or(&start);
        let sql = format!("{LINE} FROM clients c WHERE (c.folded, c.id) > (?1, ?2) ORDER BY c.folded, c.id LIMIT ?3");
        self.all(&sql, (name, id, most), line)
    }

    /// Where the list goes on after this client.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn place_of(&self, id: ClientId) -> Result<Place, Error> {
        self.first("SELECT folded FROM clients WHERE id = ?1", [id], |row| row.get(0))?
            .map(|folded| Place(folded, id.number()))
            .ok_or_else(|| ErrorKind::NoSuch(ClientId::WORD, id.number()).into())
    }

    /// Up to `most` clients whose name holds every word of `typed` somewhere, marks and case aside; names that begin with
    /// the first word come first, then those with a word that does. Nothing typed finds nobody.
    ///
    /// # Errors
    /// Of the store.
    pub fn search(&self, typed: &str, most: u32) -> Result<Vec<Line>, Error> {
        let typed = folded(typed);
        // More words than any name has would only make the statement long.
        let words: Vec<&str> = typed.split(' ').filter(|w| !w.is_empty()).take(8).collect();
        let Some(first) = words.first() else { return Ok(Vec::new()) };
        let all: Vec<String> = (0..words.len()).map(|i| format!("instr(folded, ?{}) > 0", i + 3)).collect();
        // The index alone holds folded name and id: some hundred kilobytes for ten thousand clients.
        let sql = format!(
            "WITH found AS MATERIALIZED (SELECT id FROM clients INDEXED BY clients_by_name WHERE {} \
             ORDER BY CASE instr(folded, ?3) WHEN 1 THEN 0 ELSE CASE WHEN instr(folded, ?2) > 0 THEN 1 ELSE 2 END END, \
             folded, id LIMIT ?1) {LINE} FROM found JOIN clients c USING (id) \
             ORDER BY CASE instr(c.folded, ?3) WHEN 1 THEN 0 ELSE CASE WHEN instr(c.folded, ?2) > 0 THEN 1 ELSE 2 END END, \
             c.folded, c.id",
            all.join(" AND ")
        );
        let inside = format!(" {first}");
        let mut params: Vec<&dyn rusqlite::ToSql> = vec![&most, &inside];
        params.extend(words.iter().map(|w| w as &dyn rusqlite::ToSql));
        self.all(&sql, params.as_slice(), line)
    }

    /// Clients of this name, marks and case aside, born at the same time as far as both are known.
    ///
    /// # Errors
    /// Of the store.
    pub fn doubles_of(&self, details: &Details) -> Result<Vec<ClientId>, Error> {
        let same = self.all(&format!("{CLIENT} WHERE folded = ?1 ORDER BY id"), [folded(&details.name)], client)?;
        let fits = |c: &Client| match (c.details.birth, details.birth) {
            (Some(Birth::Day(a)), Some(Birth::Day(b))) => a == b,
            (Some(a), Some(b)) => a.year() == b.year(),
            _ => true,
        };
        Ok(same.into_iter().filter(fits).map(|c| c.id).collect())
    }
}

impl Writer<'_> {
    /// Adds a client.
    ///
    /// # Errors
    /// A field is out of its bounds.
    pub fn add_client(&self, details: &Details) -> Result<ClientId, Error> {
        details.check()?;
        let d = details;
        let sql = "INSERT INTO clients (name, folded, birth, language, email, phone, address, notes, hands, created, \
                   changed) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?10)";
        let (fold, birth) = (folded(&d.name), d.birth.map(|b| b.to_string()));
        let (hands, now) = (d.hands.word(), self.now().unix());
        let row = params![d.name, fold, birth, d.language, d.email, d.phone, d.address, d.notes, hands, now];
        let id = self.insert(sql, row)?;
        self.log(Done::Added, ClientId::WORD, Some(id), Some(id))?;
        Ok(ClientId(id))
    }

    /// Replaces what a client said.
    ///
    /// # Errors
    /// There is no such client, or a field is out of its bounds.
    pub fn change_client(&self, id: ClientId, details: &Details) -> Result<(), Error> {
        details.check()?;
        let d = details;
        let sql = "UPDATE clients SET name = ?2, folded = ?3, birth = ?4, language = ?5, email = ?6, phone = ?7, \
                   address = ?8, notes = ?9, hands = ?10, changed = ?11 WHERE id = ?1";
        let (fold, birth) = (folded(&d.name), d.birth.map(|b| b.to_string()));
        let (hands, now) = (d.hands.word(), self.now().unix());
        let row = params![id, d.name, fold, birth, d.language, d.email, d.phone, d.address, d.notes, hands, now];
        if self.run(sql, row)? == 0 {
            return Err(ErrorKind::NoSuch(ClientId::WORD, id.number()).into());
        }
        self.log(Done::Changed, ClientId::WORD, Some(id.number()), Some(id.number()))
    }

    /// Fixes a client's own tone. Only once: visits are compared through it.
    ///
    /// # Errors
    /// There is no such client, it is fixed already, the class is empty or the angle out of its range.
    pub fn fix_tone(&self, id: ClientId, class: &str, ita: Option<f64>) -> Result<(), Error> {
        if self.client(id)?.tone.is_some() {
            return Err(ErrorKind::Unchangeable("tone").into());
        }
        self.replace_tone(id, class, ita)
    }

    /// Replaces a client's own tone, when it was taken wrongly.
    ///
    /// # Errors
    /// There is no such client, the class is empty or the angle out of its range.
    pub fn replace_tone(&self, id: ClientId, class: &str, ita: Option<f64>) -> Result<(), Error> {
        said("tone", class)?;
        if ita.is_some_and(|a| !(-90.0..=90.0).contains(&a)) {
            return Err(Error::bad("typology angle", "-90 to 90 degrees are possible"));
        }
        let sql = "UPDATE clients SET tone_class = ?2, tone_ita = ?3, tone_at = ?4 WHERE id = ?1";
        if self.run(sql, (id, class, ita, self.now().unix()))? == 0 {
            return Err(ErrorKind::NoSuch(ClientId::WORD, id.number()).into());
        }
        self.log(Done::Changed, ClientId::WORD, Some(id.number()), Some(id.number()))
    }
}
