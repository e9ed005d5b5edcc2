-- What happened. `line` is the line of a job file; `mark` is a checksum over it and the mark before it.
CREATE TABLE about (name TEXT PRIMARY KEY, said TEXT NOT NULL) WITHOUT ROWID;

CREATE TABLE job (
    id INTEGER PRIMARY KEY,
    uid TEXT NOT NULL UNIQUE,
    events INTEGER NOT NULL DEFAULT 0,
    diverged_from TEXT,
    removed_at TEXT,
    price INTEGER,
    warranty_of TEXT
);
CREATE INDEX job_by_root ON job (diverged_from) WHERE diverged_from IS NOT NULL;
CREATE INDEX job_by_warranty ON job (warranty_of) WHERE warranty_of IS NOT NULL;

CREATE TABLE event (
    job INTEGER NOT NULL REFERENCES job (id),
    seq INTEGER NOT NULL,
    at TEXT NOT NULL,
    line TEXT NOT NULL,
    mark BLOB NOT NULL,
    PRIMARY KEY (job, seq)
) WITHOUT ROWID;

-- Everything below follows from the events and can be made again from them.
CREATE TABLE summary (
    job INTEGER PRIMARY KEY REFERENCES job (id),
    wiring TEXT NOT NULL,
    instrument TEXT NOT NULL,
    customer TEXT NOT NULL,
    technician TEXT NOT NULL,
    complaint TEXT NOT NULL,
    symptoms TEXT NOT NULL,
    opened_at TEXT NOT NULL,
    closed_at TEXT,
    opened_day REAL,
    closed_day REAL,
    search_minutes REAL NOT NULL,
    repair_minutes REAL NOT NULL,
    first_fault TEXT,
    first_kind TEXT,
    first_place TEXT,
    first_family TEXT,
    first_probability REAL,
    last_fault TEXT,
    last_kind TEXT,
    last_place TEXT,
    last_family TEXT,
    last_probability REAL,
    renamed INTEGER NOT NULL,
    ending TEXT NOT NULL,
    reason TEXT NOT NULL,
    readings INTEGER NOT NULL,
    skipped INTEGER NOT NULL,
    rounds INTEGER NOT NULL,
    owner TEXT
);
CREATE INDEX summary_by_day ON summary (opened_at);
CREATE INDEX summary_by_wiring ON summary (wiring, opened_at);
CREATE INDEX summary_by_technician ON summary (technician, opened_at);
CREATE INDEX summary_by_owner ON summary (owner, opened_day) WHERE owner IS NOT NULL;

CREATE TABLE measured (id INTEGER PRIMARY KEY, said TEXT NOT NULL UNIQUE);

CREATE TABLE reading (
    job INTEGER NOT NULL REFERENCES job (id),
    number INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    measured INTEGER NOT NULL REFERENCES measured (id),
    asked_by TEXT NOT NULL,
    seconds REAL NOT NULL,
    bits REAL NOT NULL,
    found INTEGER NOT NULL,
    PRIMARY KEY (job, number)
) WITHOUT ROWID;
CREATE INDEX reading_by_measured ON reading (measured, job, seconds, bits, found);

CREATE TABLE skip (
    job INTEGER NOT NULL REFERENCES job (id),
    measured INTEGER NOT NULL REFERENCES measured (id),
    reason TEXT NOT NULL,
    PRIMARY KEY (job, measured)
) WITHOUT ROWID;
CREATE INDEX skip_by_measured ON skip (measured, job);

CREATE VIRTUAL TABLE search USING fts5 (
    customer, instrument, complaint, faults, parts, repairs, remarks,
    tokenize = 'unicode61 remove_diacritics 2'
);
INSERT INTO search (search, rank) VALUES ('secure-delete', 1);
