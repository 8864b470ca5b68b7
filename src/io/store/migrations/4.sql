-- Each entry and each block of readings has a checksum of all that it says, so that what the disk has altered is
-- noticed. They are calculated when this has run.
ALTER TABLE entry ADD COLUMN checksum INTEGER;
ALTER TABLE reading_block ADD COLUMN checksum INTEGER;

DROP TRIGGER entry_is_never_altered;
CREATE TRIGGER entry_is_never_altered BEFORE UPDATE ON entry WHEN OLD.checksum IS NOT NULL
BEGIN
    SELECT RAISE(ABORT, 'an entry is never altered');
END;

-- A process of an older version that still has the job open can write neither.
CREATE TRIGGER entry_has_a_checksum BEFORE INSERT ON entry WHEN NEW.checksum IS NULL
BEGIN
    SELECT RAISE(ABORT, 'the job is of a newer version: start the program again');
END;
CREATE TRIGGER reading_block_has_a_checksum BEFORE INSERT ON reading_block WHEN NEW.checksum IS NULL
BEGIN
    SELECT RAISE(ABORT, 'the job is of a newer version: start the program again');
END;

-- How many blocks a place has, and the sum of their numbers, so that one that an index has lost is noticed.
ALTER TABLE place ADD COLUMN blocks INTEGER NOT NULL DEFAULT 0;
ALTER TABLE place ADD COLUMN block_sum INTEGER NOT NULL DEFAULT 0;
UPDATE place SET
    blocks = (SELECT count(*) FROM reading_block WHERE place = id),
    block_sum = (SELECT coalesce(sum(block), 0) FROM reading_block WHERE place = id);

-- How many entries there are, and the number of the last; and the checksum of the tables as they were made. One row.
CREATE TABLE tally (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    entries INTEGER NOT NULL,
    last INTEGER NOT NULL,
    tables INTEGER NOT NULL
) STRICT;
INSERT INTO tally (one, entries, last, tables) SELECT 1, count(*), coalesce(max(id), 0), 0 FROM entry;
