-- Schema 1. Events are never changed or deleted; states and photos are stored once, by the SHA-256 of their bytes.
CREATE TABLE event (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    device TEXT NOT NULL,
    n INTEGER NOT NULL,
    lamport INTEGER NOT NULL,
    coil TEXT NOT NULL,
    spool TEXT NOT NULL,
    kind TEXT NOT NULL,
    line TEXT NOT NULL,
    received_at TEXT NOT NULL
) STRICT;
CREATE INDEX event_by_coil ON event (coil, seq);
CREATE INDEX event_by_spool ON event (spool, seq);
CREATE INDEX event_by_device ON event (device, n);
CREATE TABLE state (sha256 TEXT PRIMARY KEY, raw BLOB NOT NULL) STRICT;
CREATE TABLE photo (sha256 TEXT PRIMARY KEY, media TEXT NOT NULL, raw BLOB NOT NULL) STRICT;
CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
