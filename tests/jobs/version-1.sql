-- A job of the first version, as the first program wrote it: its schema, a scheme, two coats, one entry taken
-- back, a logger's readings and an alert. It is never changed: jobs like it lie on people's disks.

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

INSERT INTO entry (id, at, recorded, body) VALUES (1, 1777611600, 1777611600, '{"what":"scheme","text":"name = \"Old hut\"\n[[area]]\nname = \"roof\"\nsquare_metres = 6.5\nminutes_per_square_metre = 4\nsteps = [{ coat = \"varnish-two-part\" }, { coat = \"varnish-two-part\" }]\n"}');
INSERT INTO entry (id, at, recorded, body) VALUES (2, 1777615200, 1777615200, '{"what":"import","file":"log.csv","readings":7}');
INSERT INTO entry (id, at, recorded, body) VALUES (3, 1777615500, 1777615500, '{"what":"coat","area":"roof","product":"varnish-two-part","finished":false}');
INSERT INTO entry (id, at, recorded, body) VALUES (4, 1777617060, 1777617060, '{"what":"finished","area":"roof"}');
INSERT INTO entry (id, at, recorded, body) VALUES (5, 1777618800, 1777618800, '{"what":"reading","place":"shop","air":19.5,"humidity_percent":55.0,"surface":18.25}');
INSERT INTO entry (id, at, recorded, body) VALUES (6, 1777619400, 1777619400, '{"what":"step","area":"roof","step":"tape-on"}');
INSERT INTO entry (id, at, recorded, body) VALUES (7, 1777619460, 1777619460, '{"what":"void","entry":6}');
INSERT INTO entry (id, at, recorded, body) VALUES (8, 1777633200, 1777633200, '{"what":"coat","area":"roof","product":"varnish-two-part","finished":true}');
INSERT INTO place (id, name) VALUES (1, 'shop');
INSERT INTO reading_block (place, block, packed) VALUES (1, 123444, x'08077017803E0000000000800200000018150C177440000000000080020000002823A8166842000000000080020000003831FFFF5C4400000000008002000000');
INSERT INTO reading_block (place, block, packed) VALUES (1, 123445, x'0807E01550460000000000800200000018157C1544480000000000800200000028231815384A00000000008002000000302A7C152C4C00004A47000005000000');
INSERT INTO reading_block (place, block, packed) VALUES (1, 123446, x'201C18159D4E00000000008000000000');
INSERT INTO alert (id, kind, subject, round, area, due, raised, told, acknowledged, text) VALUES (1, 'recoat_open', '3', 0, 'roof', 1777628400, 1777628460, 1777628460, NULL, 'Roof: the second coat may go on.');
INSERT INTO told (coat, open, close) VALUES (3, 1777628400, 1777654800);
PRAGMA application_id = 1131762277;
PRAGMA user_version = 1;
