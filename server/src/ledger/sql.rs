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
    ADD_PROMPT = "INSERT INTO prompt_log (code, key, became, at_ms, devices) VALUES (?1, ?2, ?3, ?4, ?5)";
    LAST_RECORD = "SELECT seq, hash FROM record WHERE code = ?1 ORDER BY seq DESC LIMIT 1";

    LAST_CODE = "SELECT COALESCE(MAX(place), 0) FROM code";
    OPEN_CODES = "SELECT id FROM code WHERE closed = 0 ORDER BY place";
    CODES = "SELECT id, location, opened_at, closed, (SELECT COUNT(*) FROM record WHERE record.code = code.place) \
        FROM code ORDER BY place DESC LIMIT ?1";
    CODE = "SELECT place, location, epoch_ms, closed FROM code WHERE id = ?1";
    CODE_IDS = "SELECT id, place FROM code ORDER BY place";
    CODES_SINCE = "SELECT id, (SELECT hash FROM record WHERE record.code = code.place ORDER BY seq DESC LIMIT 1) FROM code \
        WHERE opened_at >= ?1 ORDER BY place";
    PROTOCOLS = "SELECT id, version, text FROM code_protocol WHERE code = ?1";
    RECORDS = "SELECT seq, text, hash FROM record WHERE code = ?1 ORDER BY seq";
    MEMBERS = "SELECT DISTINCT device FROM member WHERE code = ?1";
    PROMPTS = "SELECT key, became, at_ms, devices FROM prompt_log WHERE code = ?1 ORDER BY place";
}
