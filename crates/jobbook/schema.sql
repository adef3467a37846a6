-- The whole schema. The ladder in migrations/ must arrive at exactly this; a test compares them.

CREATE TABLE "job" (
    number TEXT PRIMARY KEY,
    title TEXT NOT NULL,
    kind TEXT NOT NULL,
    stage TEXT NOT NULL,
    other_job TEXT,
    started_at TEXT NOT NULL,
    changed_at TEXT NOT NULL
) STRICT;

CREATE TABLE document (
    name TEXT PRIMARY KEY,
    job TEXT REFERENCES job (number),
    revision INTEGER NOT NULL,
    text TEXT NOT NULL
) STRICT;

CREATE INDEX document_of_job ON document (job);

CREATE TABLE change (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    document TEXT NOT NULL REFERENCES document (name),
    revision INTEGER NOT NULL,
    sent_as TEXT UNIQUE,
    who TEXT NOT NULL,
    device TEXT NOT NULL,
    at TEXT NOT NULL,
    undoes INTEGER REFERENCES change (id),
    at_byte INTEGER NOT NULL,
    removed TEXT NOT NULL,
    inserted TEXT NOT NULL,
    UNIQUE (document, revision)
) STRICT;

CREATE INDEX change_undoes ON change (undoes) WHERE undoes IS NOT NULL;

CREATE TABLE file (
    sha256 TEXT PRIMARY KEY,
    size_bytes INTEGER NOT NULL,
    content BLOB NOT NULL
) STRICT;
