-- Version 5. Publishing: texts that were checked, films made of a routine, a practice's own rules. None of them points at a client.

CREATE TABLE texts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    title TEXT NOT NULL CHECK (trim(title) <> ''),
    kind TEXT NOT NULL CHECK (trim(kind) <> ''), -- what it is: a title, a description, captions
    file TEXT NOT NULL,             -- the name of the file it came in; empty: it was typed
    body TEXT NOT NULL,
    countries TEXT NOT NULL,        -- codes with commas between
    made INTEGER NOT NULL,
    changed INTEGER NOT NULL,
    rules TEXT NOT NULL,            -- the sum of the rules it was checked with last
    checked INTEGER NOT NULL,
    findings TEXT NOT NULL,         -- JSON
    before TEXT                     -- JSON: the findings before the rules changed, until somebody has looked at the difference
) STRICT;

CREATE TABLE films (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    version INTEGER NOT NULL REFERENCES routine_versions ON DELETE CASCADE,
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    language TEXT NOT NULL,
    made INTEGER NOT NULL,
    changed INTEGER NOT NULL,
    body TEXT NOT NULL              -- JSON
) STRICT;
CREATE INDEX films_by_version ON films (version);

CREATE TABLE own_rules (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    made INTEGER NOT NULL,
    changed INTEGER NOT NULL,
    body TEXT NOT NULL              -- TOML
) STRICT;
