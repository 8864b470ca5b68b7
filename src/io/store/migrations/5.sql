-- Alerts that a person has put off: since when, and until when.
CREATE TABLE snooze (
    alert INTEGER PRIMARY KEY REFERENCES alert (id) ON DELETE CASCADE,
    since INTEGER NOT NULL,
    until INTEGER NOT NULL
) STRICT;
