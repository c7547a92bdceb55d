-- Trends are made of one small point a code: read from the lines, with all that the list shows, tens of thousands of codes took a
-- second. Made with the line, and again whenever that is.
ALTER TABLE code_line ADD COLUMN point TEXT;
UPDATE code_line SET stale = 1, opened_at = NULL, location = NULL, protocol = NULL, line = NULL;
