-- Review: people with accounts look at finished codes, correct and sign them. Who did what must stay; and a list over tens
-- of thousands of codes must not read them all.

-- A person who may review. The password itself is never stored.
CREATE TABLE account (
    place INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('reviewer', 'administrator')),
    password_hash TEXT NOT NULL,
    added_at TEXT NOT NULL,
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX account_by_name ON account (name COLLATE NOCASE) WHERE removed_at IS NULL;

-- Who is signed in. The token itself is never stored; times are server time, which the wall clock cannot turn back.
CREATE TABLE review_session (
    token_hash BLOB NOT NULL PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (id),
    began_ms INTEGER NOT NULL,
    seen_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Every opening, export and change of a record, and every sign-in. Appended only.
CREATE TABLE access_log (
    place INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    account TEXT,
    name TEXT NOT NULL,
    deed TEXT NOT NULL,
    code TEXT,
    detail TEXT,
    address TEXT
) STRICT;
CREATE INDEX access_log_by_code ON access_log (code);

CREATE TRIGGER access_is_never_edited BEFORE UPDATE ON access_log
BEGIN
    SELECT RAISE(ABORT, 'the access log is never edited');
END;
CREATE TRIGGER access_is_never_deleted BEFORE DELETE ON access_log
BEGIN
    SELECT RAISE(ABORT, 'the access log is never deleted');
END;

-- One line for each code: what the list shows and filters by, with the figures that trends are made of. All of it is made
-- from the records by the engine and can be made again: `stale` says that it must be.
CREATE TABLE code_line (
    code INTEGER PRIMARY KEY REFERENCES code (place),
    stale INTEGER NOT NULL DEFAULT 1,
    made_by TEXT,
    opened_at TEXT,
    location TEXT,
    protocol TEXT,
    training INTEGER,
    outcome TEXT,
    signed INTEGER,
    line TEXT
) STRICT;
CREATE INDEX code_line_stale ON code_line (code) WHERE stale = 1;
CREATE INDEX code_line_by_time ON code_line (opened_at, code);

CREATE TRIGGER code_has_a_line AFTER INSERT ON code
BEGIN
    INSERT INTO code_line (code) VALUES (NEW.place);
END;
CREATE TRIGGER a_record_makes_the_line_stale AFTER INSERT ON record
BEGIN
    UPDATE code_line SET stale = 1 WHERE code = NEW.code AND stale = 0;
END;
INSERT INTO code_line (code) SELECT place FROM code;

-- How a prompt was followed is judged by what it asked then, not by what would be planned today. Absent in older lines.
ALTER TABLE prompt_log ADD COLUMN roles TEXT;
ALTER TABLE prompt_log ADD COLUMN due_at_ms INTEGER;
ALTER TABLE prompt_log ADD COLUMN late_at_ms INTEGER;
