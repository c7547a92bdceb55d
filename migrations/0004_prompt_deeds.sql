-- Which record did what was asked: its own time is when it was done, and who tapped it is who acknowledged the prompt. Absent in
-- lines from before this was kept, and where nothing was done.
ALTER TABLE prompt_log ADD COLUMN record TEXT;
