-- Version 4. Following: what a visit's photographs say as numbers, days at home as numbers, weeks that end early, courses.

ALTER TABLE weeks ADD COLUMN ended TEXT;        -- the last day that counted, where they ended early
ALTER TABLE weeks ADD COLUMN ended_because TEXT
    CHECK ((ended IS NULL) = (ended_because IS NULL) AND (ended_because IS NULL OR trim(ended_because) <> ''));
DROP INDEX weeks_by_client;
CREATE INDEX weeks_by_client ON weeks (client, first, id, days, ended);

-- One value of one visit on one side. Whose and when stand here too, so that a value of a whole course lies together.
CREATE TABLE readings (
    name TEXT NOT NULL,
    side TEXT NOT NULL CHECK (side IN ('left', 'right', 'face')),
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    at INTEGER NOT NULL,
    visit INTEGER NOT NULL REFERENCES visits ON DELETE CASCADE,
    mean REAL NOT NULL,
    count INTEGER NOT NULL CHECK (count >= 1),
    ss REAL NOT NULL CHECK (ss >= 0),
    PRIMARY KEY (name, side, client, at, visit)
) STRICT, WITHOUT ROWID;
CREATE INDEX readings_by_visit ON readings (visit);
CREATE INDEX readings_by_client ON readings (client);

-- A home note as numbers: whether there was a session, minutes, and how somebody was before it (0 to 10).
CREATE TABLE home_days (
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    day TEXT NOT NULL,
    note INTEGER NOT NULL REFERENCES home_notes ON DELETE CASCADE,
    done INTEGER NOT NULL CHECK (done IN (0, 1)),
    minutes INTEGER NOT NULL,
    relaxed INTEGER CHECK (relaxed BETWEEN 0 AND 10),
    stress INTEGER CHECK (stress BETWEEN 0 AND 10),
    wellbeing INTEGER CHECK (wellbeing BETWEEN 0 AND 10),
    sleep INTEGER CHECK (sleep BETWEEN 0 AND 10),
    PRIMARY KEY (client, day, note)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX home_days_by_note ON home_days (note);

CREATE TABLE courses (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    first TEXT NOT NULL,
    days INTEGER NOT NULL CHECK (days BETWEEN 1 AND 366),
    at INTEGER NOT NULL,
    body TEXT NOT NULL,             -- JSON
    erased INTEGER NOT NULL DEFAULT 0 -- members whose whole record was erased
) STRICT;

-- Each leaving out of a course's numbers and each taking back, with its words.
CREATE TABLE course_words (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    course INTEGER NOT NULL REFERENCES courses,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    at INTEGER NOT NULL,
    left_out INTEGER NOT NULL CHECK (left_out IN (0, 1)), -- 0: taken back in
    reason TEXT NOT NULL CHECK (trim(reason, ' ' || char(9, 10, 13)) <> '')
) STRICT;
CREATE INDEX course_words_by_course ON course_words (course, client, id);
CREATE INDEX course_words_by_client ON course_words (client);

-- Everybody who joined, whatever became of them. Nobody is taken out; who is left out of the numbers has words that say why.
CREATE TABLE course_members (
    course INTEGER NOT NULL REFERENCES courses,
    client INTEGER NOT NULL REFERENCES clients ON DELETE CASCADE,
    joined INTEGER NOT NULL,
    left_out INTEGER REFERENCES course_words,
    PRIMARY KEY (course, client)
) STRICT, WITHOUT ROWID;
CREATE INDEX course_members_by_client ON course_members (client);
CREATE INDEX course_members_by_words ON course_members (left_out) WHERE left_out IS NOT NULL;

-- A client's own row is gone before its members' rows follow it: so an erasure passes, and nothing else does.
CREATE TRIGGER course_members_stay BEFORE DELETE ON course_members
WHEN EXISTS (SELECT 1 FROM clients WHERE id = old.client)
BEGIN SELECT RAISE(ABORT, 'a member of a course is never taken out'); END;
CREATE TRIGGER course_members_count AFTER DELETE ON course_members
BEGIN UPDATE courses SET erased = erased + 1 WHERE id = old.course; END;
CREATE TRIGGER course_members_keep BEFORE UPDATE OF course, client, joined ON course_members
BEGIN SELECT RAISE(ABORT, 'a member of a course is never another'); END;
-- The last words of somebody say whether they are out; no other state can be written.
CREATE TRIGGER course_members_said BEFORE UPDATE OF left_out ON course_members
WHEN new.left_out IS NOT (
    SELECT CASE WHEN w.left_out THEN w.id END FROM course_words w
    WHERE w.course = old.course AND w.client = old.client ORDER BY w.id DESC LIMIT 1
)
BEGIN SELECT RAISE(ABORT, 'leaving out of a course needs its words on record'); END;
CREATE TRIGGER course_members_begin BEFORE INSERT ON course_members WHEN new.left_out IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'who joins a course is in it'); END;
CREATE TRIGGER course_words_stay BEFORE DELETE ON course_words
WHEN EXISTS (SELECT 1 FROM clients WHERE id = old.client)
BEGIN SELECT RAISE(ABORT, 'what was said of a member stays'); END;
CREATE TRIGGER course_words_keep BEFORE UPDATE ON course_words
BEGIN SELECT RAISE(ABORT, 'what was said of a member stays'); END;
