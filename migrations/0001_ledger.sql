-- The first shape of the ledger: what a department's server must remember. Records are kept as the exact text that the
-- hash chain runs over, in the order they were committed; nothing on the record is ever changed or taken away.

-- One row: this server's life. `run` is raised durably at each start; the last three columns carry the clock over.
CREATE TABLE server (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    run INTEGER NOT NULL,
    boot_id TEXT NOT NULL,
    boot_ms INTEGER NOT NULL,
    server_ms INTEGER NOT NULL,
    wall_ms INTEGER NOT NULL
) STRICT;

-- A paired device. The token itself is never stored.
CREATE TABLE device (
    place INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    location TEXT,
    home_role TEXT,
    token_hash BLOB NOT NULL UNIQUE,
    paired_at TEXT NOT NULL,
    removed_at TEXT
) STRICT;

-- A code. `place` is the order of opening and the short key of its records.
CREATE TABLE code (
    place INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    location TEXT,
    opened_at TEXT NOT NULL,
    epoch_ms INTEGER,
    closed INTEGER NOT NULL DEFAULT 0
) STRICT;

-- The exact text of every protocol a code ran under.
CREATE TABLE code_protocol (
    code INTEGER NOT NULL REFERENCES code (place),
    id TEXT NOT NULL,
    version INTEGER NOT NULL,
    text TEXT NOT NULL,
    PRIMARY KEY (code, id, version)
) STRICT;

-- The chain. Appended in order of `place`; the index grows at the end of each code only, so group commit stays cheap.
CREATE TABLE record (
    place INTEGER PRIMARY KEY,
    code INTEGER NOT NULL REFERENCES code (place),
    seq INTEGER NOT NULL,
    text TEXT NOT NULL,
    hash BLOB NOT NULL
) STRICT;
CREATE UNIQUE INDEX record_by_code ON record (code, seq);

CREATE TRIGGER record_is_never_edited BEFORE UPDATE ON record
BEGIN
    SELECT RAISE(ABORT, 'a record is never edited');
END;
CREATE TRIGGER record_is_never_deleted BEFORE DELETE ON record
BEGIN
    SELECT RAISE(ABORT, 'a record is never deleted');
END;

-- Which devices were bound to a code, in order of joining.
CREATE TABLE member (
    place INTEGER PRIMARY KEY,
    code INTEGER NOT NULL REFERENCES code (place),
    device TEXT NOT NULL
) STRICT;
CREATE INDEX member_by_code ON member (code);

-- What was asked of whom, and what became of it: whether announcing ahead worked can be seen afterwards.
CREATE TABLE prompt_log (
    place INTEGER PRIMARY KEY,
    code INTEGER NOT NULL REFERENCES code (place),
    key TEXT NOT NULL,
    became TEXT NOT NULL CHECK (became IN ('shown', 'done', 'withdrawn')),
    at_ms INTEGER NOT NULL,
    devices TEXT NOT NULL
) STRICT;
CREATE INDEX prompt_log_by_code ON prompt_log (code);
