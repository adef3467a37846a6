-- A job may name another one that is not in this book (it came from another shop), and undo is found without reading all.
CREATE TABLE job_2 (
    number TEXT PRIMARY KEY,
    title TEXT NOT NULL,
    kind TEXT NOT NULL,
    stage TEXT NOT NULL,
    other_job TEXT,
    started_at TEXT NOT NULL,
    changed_at TEXT NOT NULL
) STRICT;

INSERT INTO job_2 (number, title, kind, stage, other_job, started_at, changed_at)
SELECT number, title, kind, stage, sister_of, started_at, changed_at FROM job;

DROP TABLE job;

ALTER TABLE job_2 RENAME TO job;

CREATE INDEX change_undoes ON change (undoes) WHERE undoes IS NOT NULL;
