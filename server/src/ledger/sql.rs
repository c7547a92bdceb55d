//! Every SQL statement of the server, in one place, so that one test can prepare them all against a migrated file.

macro_rules! statements {
    ($($(#[$doc:meta])* $name:ident = $text:literal;)+) => {
        $($(#[$doc])* pub(super) const $name: &str = $text;)+
        /// All of them, by name.
        #[cfg(test)]
        pub(super) const ALL: &[(&str, &str)] = &[$((stringify!($name), $text)),+];
    };
}

statements! {
    BEGIN = "BEGIN IMMEDIATE";
    COMMIT = "COMMIT";
    ROLLBACK = "ROLLBACK";
    CHECKPOINT = "PRAGMA wal_checkpoint(TRUNCATE)";

    READ_MARK = "SELECT boot_id, boot_ms, server_ms, wall_ms FROM server WHERE id = 1";
    RAISE_RUN = "INSERT INTO server (id, run, boot_id, boot_ms, server_ms, wall_ms) VALUES (1, 1, ?1, ?2, ?3, ?4) \
        ON CONFLICT (id) DO UPDATE SET run = run + 1, boot_id = ?1, boot_ms = ?2, server_ms = ?3, wall_ms = ?4 RETURNING run";
    WRITE_MARK = "UPDATE server SET boot_id = ?1, boot_ms = ?2, server_ms = ?3, wall_ms = ?4 WHERE id = 1";

    ADD_DEVICE = "INSERT INTO device (id, name, location, home_role, token_hash, paired_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6) \
        ON CONFLICT DO NOTHING";
    CHANGE_DEVICE = "UPDATE device SET name = ?2, location = ?3, home_role = ?4 WHERE id = ?1";
    REMOVE_DEVICE = "UPDATE device SET removed_at = ?2 WHERE removed_at IS NULL AND (name = ?1 OR id = ?1)";
    DEVICE_BY_TOKEN = "SELECT id, name, location, home_role FROM device WHERE token_hash = ?1 AND removed_at IS NULL";
    DEVICES = "SELECT id, name, location, home_role FROM device WHERE removed_at IS NULL ORDER BY place";

    OPEN_CODE = "INSERT INTO code (place, id, location, opened_at) VALUES (?1, ?2, ?3, ?4) ON CONFLICT DO NOTHING";
    SET_CODE = "UPDATE code SET epoch_ms = ?2, closed = ?3 WHERE place = ?1";
    ADD_PROTOCOL = "INSERT INTO code_protocol (code, id, version, text) VALUES (?1, ?2, ?3, ?4) ON CONFLICT DO NOTHING";
    ADD_RECORD = "INSERT INTO record (code, seq, text, hash) VALUES (?1, ?2, ?3, ?4)";
    ADD_MEMBER = "INSERT INTO member (code, device) VALUES (?1, ?2)";
    ADD_PROMPT = "INSERT INTO prompt_log (code, key, became, at_ms, devices, roles, due_at_ms, late_at_ms, record) \
        VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";
    LAST_RECORD = "SELECT seq, hash FROM record WHERE code = ?1 ORDER BY seq DESC LIMIT 1";

    LAST_CODE = "SELECT COALESCE(MAX(place), 0) FROM code";
    OPEN_CODES = "SELECT id FROM code WHERE closed = 0 ORDER BY place";
    CODES = "SELECT id, location, opened_at, closed, (SELECT COUNT(*) FROM record WHERE record.code = code.place) \
        FROM code ORDER BY place DESC LIMIT ?1";
    CODE = "SELECT place, location, epoch_ms, closed FROM code WHERE id = ?1";
    CODE_IDS = "SELECT id, place FROM code ORDER BY place";
    HAS_LINES = "SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name = 'code_line'";
    CODE_TIMES_BEFORE_LINES = "SELECT id, NULL, opened_at, NULL FROM code WHERE ?1 IS NOT NULL ORDER BY place";
    CODE_TIMES = "SELECT id, (SELECT hash FROM record WHERE record.code = code.place ORDER BY seq DESC LIMIT 1), code.opened_at, \
        CASE WHEN code_line.stale = 0 AND code_line.made_by = ?1 THEN code_line.opened_at END \
        FROM code LEFT JOIN code_line ON code_line.code = code.place ORDER BY place";
    PROTOCOLS = "SELECT id, version, text FROM code_protocol WHERE code = ?1";
    RECORDS = "SELECT seq, text, hash FROM record WHERE code = ?1 ORDER BY seq";
    MEMBERS = "SELECT DISTINCT device FROM member WHERE code = ?1";
    PROMPTS = "SELECT key, became, at_ms, devices, roles, due_at_ms, late_at_ms, record FROM prompt_log WHERE code = ?1 ORDER BY place";
    IS_MEMBER = "SELECT EXISTS (SELECT 1 FROM member JOIN code ON code.place = member.code WHERE code.id = ?1 AND member.device = ?2)";
    CODES_OF = "SELECT id, location, opened_at, closed, (SELECT COUNT(*) FROM record WHERE record.code = code.place) \
        FROM code WHERE place IN (SELECT code FROM member WHERE device = ?2) ORDER BY place DESC LIMIT ?1";
    EVERY_DEVICE = "SELECT id, name FROM device";

    ADD_ACCOUNT = "INSERT INTO account (id, name, role, password_hash, added_at) VALUES (?1, ?2, ?3, ?4, ?5)";
    ACCOUNTS = "SELECT id, name, role, password_hash FROM account WHERE removed_at IS NULL ORDER BY place";
    ACCOUNT_BY_NAME = "SELECT id, name, role, password_hash FROM account WHERE removed_at IS NULL AND name = ?1 COLLATE NOCASE";
    REMOVE_ACCOUNT = "UPDATE account SET removed_at = ?2 WHERE id = ?1 AND removed_at IS NULL";
    END_SESSIONS_OF = "DELETE FROM review_session WHERE account = ?1";
    ADD_SESSION = "INSERT INTO review_session (token_hash, account, began_ms, seen_ms) VALUES (?1, ?2, ?3, ?3)";
    SESSION = "SELECT account.id, account.name, account.role, began_ms, seen_ms FROM review_session \
        JOIN account ON account.id = review_session.account WHERE token_hash = ?1 AND account.removed_at IS NULL";
    TOUCH_SESSION = "UPDATE review_session SET seen_ms = ?2 WHERE token_hash = ?1 AND seen_ms < ?2";
    END_SESSION = "DELETE FROM review_session WHERE token_hash = ?1";
    END_OLD_SESSIONS = "DELETE FROM review_session WHERE seen_ms < ?1 OR began_ms < ?2";
    LOG_ACCESS = "INSERT INTO access_log (at, account, name, deed, code, detail, address) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
    ACCESSES = "SELECT place, at, account, name, deed, code, detail, address FROM access_log \
        WHERE ?1 IS NULL OR code = ?1 ORDER BY place DESC LIMIT ?2 OFFSET ?3";
    COUNT_ACCESSES = "SELECT COUNT(*) FROM access_log WHERE ?1 IS NULL OR code = ?1";

    AGE_LINES = "UPDATE code_line SET stale = 1, opened_at = NULL, location = NULL, protocol = NULL, line = NULL, point = NULL \
        WHERE made_by <> ?1";
    STALE_OVER = "SELECT code.id FROM code_line CROSS JOIN code ON code.place = code_line.code \
        WHERE code_line.stale = 1 AND code.closed = 1 ORDER BY code_line.code DESC LIMIT ?1";
    STALE_RUNNING = "SELECT code.id FROM code_line CROSS JOIN code ON code.place = code_line.code \
        WHERE code_line.stale = 1 AND code.closed = 0 ORDER BY code_line.code DESC LIMIT ?1";
    COUNT_STALE = "SELECT COUNT(*) FROM code_line CROSS JOIN code ON code.place = code_line.code \
        WHERE code_line.stale = 1 AND (code.closed = 1 OR code_line.opened_at IS NULL)";
    KEEP_LINE = "UPDATE code_line SET stale = ((SELECT MAX(seq) FROM record WHERE record.code = code_line.code) <> ?2), \
        made_by = ?3, opened_at = ?4, location = ?5, protocol = ?6, training = ?7, outcome = ?8, signed = ?9, line = ?10, point = ?11 \
        WHERE code = ?1";
    NO_LINE = "UPDATE code_line SET stale = 0, made_by = ?2, opened_at = NULL, location = NULL, protocol = NULL, line = NULL, point = NULL \
        WHERE code = ?1";
    COUNT_UNREADABLE = "SELECT COUNT(*) FROM code_line WHERE opened_at IS NULL AND stale = 0";
    LINES = "SELECT line FROM code_line WHERE opened_at IS NOT NULL AND (?1 IS NULL OR opened_at >= ?1) \
        AND (?2 IS NULL OR opened_at < ?2) AND (?3 IS NULL OR IFNULL(location, '') = ?3) AND (?4 IS NULL OR protocol = ?4) \
        AND (?5 IS NULL OR training = ?5) AND (?6 IS NULL OR outcome = ?6) AND (?7 IS NULL OR signed = ?7) \
        ORDER BY opened_at DESC, code DESC LIMIT ?8 OFFSET ?9";
    /// Many points in one row: what a row costs on its way here is more than reading it.
    POINTS = "SELECT MAX(code), group_concat(point, ' ') FROM (SELECT code, point FROM code_line \
        WHERE code > ?8 AND opened_at IS NOT NULL AND (?1 IS NULL OR opened_at >= ?1) \
        AND (?2 IS NULL OR opened_at < ?2) AND (?3 IS NULL OR IFNULL(location, '') = ?3) AND (?4 IS NULL OR protocol = ?4) \
        AND (?5 IS NULL OR training = ?5) AND (?6 IS NULL OR outcome = ?6) AND (?7 IS NULL OR signed = ?7) \
        ORDER BY code LIMIT 1000)";
    COUNT_LINES = "SELECT COUNT(*) FROM code_line WHERE opened_at IS NOT NULL AND (?1 IS NULL OR opened_at >= ?1) \
        AND (?2 IS NULL OR opened_at < ?2) AND (?3 IS NULL OR IFNULL(location, '') = ?3) AND (?4 IS NULL OR protocol = ?4) \
        AND (?5 IS NULL OR training = ?5) AND (?6 IS NULL OR outcome = ?6) AND (?7 IS NULL OR signed = ?7)";
    LINE_LOCATIONS = "SELECT DISTINCT location FROM code_line WHERE location IS NOT NULL ORDER BY location LIMIT 500";
    LINE_PROTOCOLS = "SELECT DISTINCT protocol FROM code_line WHERE protocol IS NOT NULL ORDER BY protocol LIMIT 500";
}
