-- Lines hold their figures as text of a kilobyte or more: what only counts, filters or sorts them must not read that text.
-- A code has a line exactly where `opened_at` is there.
DROP INDEX code_line_by_time;
CREATE INDEX code_line_by_time ON code_line (opened_at, code, location, protocol, training, outcome, signed, stale);
CREATE INDEX code_line_by_location ON code_line (location) WHERE location IS NOT NULL;
CREATE INDEX code_line_by_protocol ON code_line (protocol) WHERE protocol IS NOT NULL;
