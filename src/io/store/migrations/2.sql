-- Where the outdoor hours come from: a file that was taken in, or a service that was asked.
CREATE TABLE forecast (
    id INTEGER PRIMARY KEY,
    taken INTEGER NOT NULL,
    made INTEGER,
    origin TEXT NOT NULL CHECK (origin IN ('file', 'service')),
    name TEXT NOT NULL,
    met_norway INTEGER NOT NULL
) STRICT;

-- What is coming and, as time passes, what has been: °C, a fraction, millimetres, metres per second.
CREATE TABLE outdoor (
    at INTEGER PRIMARY KEY,
    air REAL NOT NULL,
    humidity REAL,
    rain REAL,
    wind REAL,
    forecast INTEGER NOT NULL REFERENCES forecast (id)
) STRICT;

CREATE INDEX outdoor_forecast ON outdoor (forecast);

-- What has to be remembered until a service is asked again. One row at most.
CREATE TABLE fetch (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    url TEXT NOT NULL,
    fetched INTEGER,
    expires INTEGER,
    last_modified TEXT,
    etag TEXT,
    tried INTEGER,
    held_until INTEGER,
    failures INTEGER NOT NULL,
    error TEXT
) STRICT;
