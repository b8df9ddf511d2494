-- Version 1. Every moment is unix seconds in UTC, every day a text YYYY-MM-DD, every id is never given twice.
-- AUTOINCREMENT keeps an erased number from coming back. Erasing a client takes all its rows along (ON DELETE CASCADE).

CREATE TABLE clients (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL,
    folded TEXT NOT NULL,           -- the name as it is searched
    birth TEXT,                     -- YYYY or YYYY-MM-DD
    language TEXT NOT NULL,
    email TEXT NOT NULL,
    phone TEXT NOT NULL,
    address TEXT NOT NULL,
    notes TEXT NOT NULL,
    hands TEXT NOT NULL CHECK (hands IN ('both', 'left', 'right')),
    tone_class TEXT,                -- fixed at the first visit
    tone_ita REAL,
    tone_at INTEGER,
    created INTEGER NOT NULL,
    changed INTEGER NOT NULL
) STRICT;
CREATE INDEX clients_by_name ON clients (folded, id);

CREATE TABLE consents (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    kind TEXT NOT NULL CHECK (kind IN ('care', 'photographs', 'publication')),
    given INTEGER NOT NULL CHECK (given IN (0, 1)),
    at INTEGER NOT NULL,
    wording TEXT NOT NULL           -- which version of the text was read
) STRICT;
CREATE INDEX consents_by_client ON consents (client, kind, id);

CREATE TABLE intakes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    at INTEGER NOT NULL,
    until TEXT,                     -- the day from which it must be asked again
    format TEXT NOT NULL CHECK (format IN ('toml', 'json')),
    answers TEXT NOT NULL
) STRICT;
CREATE INDEX intakes_by_client ON intakes (client, id);

CREATE TABLE clinician_words (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    condition TEXT NOT NULL,
    place TEXT NOT NULL,            -- where on the body; empty: wherever the condition is
    who TEXT NOT NULL,
    said TEXT NOT NULL,
    until TEXT NOT NULL,
    at INTEGER NOT NULL,
    withdrawn INTEGER
) STRICT;
CREATE INDEX clinician_words_by_client ON clinician_words (client, id);

CREATE TABLE visits (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    at INTEGER NOT NULL,
    conditions TEXT NOT NULL        -- JSON
) STRICT;
CREATE INDEX visits_by_client ON visits (client, at, id);

CREATE TABLE photographs (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    visit INTEGER NOT NULL REFERENCES visits ON DELETE CASCADE,
    shot TEXT NOT NULL,
    media TEXT NOT NULL,
    width INTEGER NOT NULL,
    height INTEGER NOT NULL,
    size INTEGER NOT NULL,
    sha256 BLOB NOT NULL CHECK (length(sha256) = 32),
    at INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX photographs_by_visit ON photographs (visit, sha256, shot);

-- Apart, so that lists never walk over pixels.
CREATE TABLE pixels (
    photograph INTEGER PRIMARY KEY REFERENCES photographs ON DELETE CASCADE,
    bytes BLOB NOT NULL
) STRICT;

CREATE TABLE measurements (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    visit INTEGER NOT NULL REFERENCES visits ON DELETE CASCADE,
    photograph INTEGER REFERENCES photographs ON DELETE CASCADE,
    at INTEGER NOT NULL,
    body TEXT NOT NULL              -- JSON
) STRICT;
CREATE INDEX measurements_by_visit ON measurements (visit, id);
CREATE INDEX measurements_by_photograph ON measurements (photograph);

CREATE TABLE corrections (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    photograph INTEGER NOT NULL REFERENCES photographs ON DELETE CASCADE,
    at INTEGER NOT NULL,
    body TEXT NOT NULL              -- JSON
) STRICT;
CREATE INDEX corrections_by_photograph ON corrections (photograph, id);

-- The practitioner's own points, lines, techniques, tools, products: every state of each part.
CREATE TABLE atlas_parts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL,
    at INTEGER NOT NULL,
    body TEXT NOT NULL              -- TOML
) STRICT;
CREATE INDEX atlas_parts_by_name ON atlas_parts (name, id);

CREATE TABLE routines (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER REFERENCES clients ON DELETE CASCADE,
    name TEXT NOT NULL,
    created INTEGER NOT NULL
) STRICT;
CREATE INDEX routines_by_client ON routines (client, id);

CREATE TABLE routine_versions (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    routine INTEGER NOT NULL REFERENCES routines ON DELETE CASCADE,
    number INTEGER NOT NULL,
    at INTEGER NOT NULL,
    body TEXT NOT NULL,             -- TOML
    UNIQUE (routine, number)
) STRICT;
CREATE TRIGGER routine_versions_stay BEFORE UPDATE ON routine_versions
BEGIN SELECT RAISE(ABORT, 'a routine version never changes'); END;

CREATE TABLE sessions (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER REFERENCES clients ON DELETE CASCADE,
    version INTEGER NOT NULL REFERENCES routine_versions,
    at INTEGER NOT NULL,
    log TEXT NOT NULL,              -- JSON
    felt TEXT NOT NULL              -- JSON
) STRICT;
CREATE INDEX sessions_by_client ON sessions (client, at, id);
CREATE INDEX sessions_by_version ON sessions (version);

CREATE TABLE notes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    visit INTEGER REFERENCES visits ON DELETE SET NULL,
    kind TEXT NOT NULL CHECK (kind IN ('note', 'incident')),
    at INTEGER NOT NULL,
    changed INTEGER NOT NULL,
    body TEXT NOT NULL
) STRICT;
CREATE INDEX notes_by_client ON notes (client, at, id);
CREATE INDEX notes_by_visit ON notes (visit);

CREATE TABLE weeks (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    version INTEGER REFERENCES routine_versions,
    first TEXT NOT NULL,
    days INTEGER NOT NULL CHECK (days BETWEEN 1 AND 366),
    at INTEGER NOT NULL,
    body TEXT NOT NULL              -- JSON
) STRICT;
CREATE INDEX weeks_by_client ON weeks (client, first, id);
CREATE INDEX weeks_by_version ON weeks (version);

CREATE TABLE home_notes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    weeks INTEGER REFERENCES weeks ON DELETE SET NULL,
    day TEXT NOT NULL,
    at INTEGER NOT NULL,
    body TEXT NOT NULL              -- JSON
) STRICT;
CREATE INDEX home_notes_by_client ON home_notes (client, day, id);
CREATE INDEX home_notes_by_weeks ON home_notes (weeks);

-- The practice's own settings.
CREATE TABLE settings (
    name TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

-- What was done, to which kind of thing with which number, when. Never a word of what it holds.
CREATE TABLE changes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at INTEGER NOT NULL,
    done TEXT NOT NULL CHECK (done IN ('added', 'changed', 'removed', 'erased')),
    kind TEXT NOT NULL,
    item INTEGER,                   -- none for an erasure
    client INTEGER                  -- whose; these rows go when the client is erased
) STRICT;
CREATE INDEX changes_by_client ON changes (client);
