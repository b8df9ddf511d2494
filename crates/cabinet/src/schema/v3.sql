-- Version 3. What was given to take home: the code that its home notes carry, and which version of a routine it runs.

CREATE TABLE takehomes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    client INTEGER REFERENCES clients ON DELETE CASCADE, -- none: for whoever takes it, as after a course
    version INTEGER NOT NULL REFERENCES routine_versions ON DELETE CASCADE,
    code TEXT NOT NULL,
    day TEXT NOT NULL,
    language TEXT NOT NULL,
    at INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX takehomes_by_code ON takehomes (code);
CREATE INDEX takehomes_by_client ON takehomes (client, id);
CREATE INDEX takehomes_by_version ON takehomes (version);
