-- All moments are in whole seconds of Unix time.

CREATE TABLE entry (
    id INTEGER PRIMARY KEY,
    at INTEGER NOT NULL,
    recorded INTEGER NOT NULL,
    body TEXT NOT NULL
) STRICT;

-- Every look at the readings asks which entries were taken back.
CREATE INDEX entry_void ON entry (id) WHERE body ->> 'what' = 'void';

CREATE TRIGGER entry_is_never_altered BEFORE UPDATE ON entry
BEGIN
    SELECT RAISE(ABORT, 'an entry is never altered');
END;

CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON entry
BEGIN
    SELECT RAISE(ABORT, 'an entry is never removed');
END;

CREATE TABLE place (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE COLLATE NOCASE
) STRICT;

CREATE TABLE reading_block (
    place INTEGER NOT NULL REFERENCES place (id),
    block INTEGER NOT NULL,
    packed BLOB NOT NULL,
    PRIMARY KEY (place, block)
) STRICT;

CREATE TABLE alert (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    round INTEGER NOT NULL,
    area TEXT,
    due INTEGER NOT NULL,
    raised INTEGER NOT NULL,
    told INTEGER NOT NULL,
    acknowledged INTEGER,
    text TEXT NOT NULL,
    UNIQUE (kind, subject, round)
) STRICT;

CREATE TABLE told (
    coat INTEGER PRIMARY KEY REFERENCES entry (id),
    open INTEGER,
    close INTEGER
) STRICT;
